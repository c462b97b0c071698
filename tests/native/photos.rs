//! Photos: recorded, named, taken back, erased, shown, sent and loaded.

use crate::kit::*;
use soakbook::book::acts::{About, ItemWhat};
use soakbook::book::body::Body;
use soakbook::book::command::Command;
use soakbook::book::entries::{Attachment, Book};
use soakbook::book::entry::{Hash, Scope};
use soakbook::book::integrity::anomalies;
use soakbook::book::kit::Kit;
use soakbook::book::photos::{PhotoOf, photos_of, scope_of};
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::encoding::picture::NoPicture;
use soakbook::handover::sealed::Seal;
use soakbook::handover::{
    BundleFault, BundlePictures, Cover, MAX_BYTES, Made, Select, bundle_of, bundle_with, pictures_of, read_bundle,
};
use soakbook::view::forms::Known;
use soakbook::view::page::html::html;
use soakbook::view::page::text::text;
use soakbook::view::page::{Action, Kind, Page, Request};
use soakbook::view::photos;
use soakbook::view::route::{Form, Route};

fn photo(n: u8) -> Attachment {
    Attachment { salt: [n; 16], media: "image/jpeg".into(), bytes: vec![n; 2_000] }
}

fn about(n: u8) -> About {
    About::Thing(id(n))
}

/// The photos of something.
fn of_this(book: &Book, about: About) -> Vec<PhotoOf> {
    photos_of(book, &Register::of(book), &Kit::of(book), about)
}

fn add(of: u8, photo: &Attachment) -> Command {
    Command::AddPhoto { about: about(of), photo: photo.hash(), caption: None }
}

/// A world in which the position has one photo, its picture kept elsewhere, and the entry that says so.
fn with_photo() -> (World, Hash) {
    let mut world = World::given();
    let entry = world.act(add(POSITION, &photo(1)));
    world.book.attach_elsewhere(photo(1).hash());
    (world, entry)
}

fn known<T>(world: &World, with: impl FnOnce(Known<'_>) -> T) -> T {
    let (register, kit) = (Register::of(&world.book), Kit::of(&world.book));
    let (book, visit, at) = (&world.book, Some(id(VISIT)), world.phone.at());
    with(Known { register: &register, kit: &kit, book, visit, at })
}

fn page(world: &World) -> Page {
    let blocks = known(world, |known| photos::blocks(known, about(POSITION)));
    Page { name: "photos", title: "HD-1".into(), blocks, ..Page::default() }
}

#[test]
fn a_photo_is_recorded_where_its_thing_is() {
    let world = World::running(SELF_HEATER, SET_POINT, soakbook::trade::conditions::Restores::Watched);
    for (of, scope) in [
        (POSITION, Scope::Site(id(SITE))),
        (HALL, Scope::Site(id(SITE))),
        (LOOP, Scope::Site(id(SITE))),
        (SITE, Scope::Site(id(SITE))),
        (SELF_HEATER, Scope::Kit),
        (SET_POINT, Scope::Kit),
        (VISIT, Scope::Visit(id(VISIT))),
        (TEST, Scope::Visit(id(VISIT))),
    ] {
        assert_eq!(scope_of(&world.book, &world.register(), &Kit::of(&world.book), about(of)), Some(scope), "{of}");
        check(world.clone(), add(of, &photo(1)), Ok(&["photo"]));
    }
}

#[test]
fn a_photo_of_nothing_that_is_here_is_refused() {
    check(World::given(), add(99, &photo(1)), Err(Refusal::NothingToPhotograph));
    let act = |act| Command::AddPhoto { about: About::Act(act), photo: photo(1).hash(), caption: None };
    check(World::given(), act(Hash::of(b"nothing")), Err(Refusal::NothingToPhotograph));
    let (mut world, entry) = with_photo();
    check(world.clone(), act(entry), Ok(&["photo"]));
    world.act(Command::Undo { target: entry });
    check(world, act(entry), Err(Refusal::NothingToPhotograph));
}

#[test]
fn without_a_database_no_photo_is_taken() {
    // Unlike an entry a picture has no second copy.
    let mut world = World::given();
    world.phone.durable = false;
    check(world, add(POSITION, &photo(1)), Err(Refusal::NotDurable));
}

#[test]
fn the_newest_word_is_the_caption_and_each_can_be_undone() {
    let (mut world, first) = with_photo();
    let caption = |of, words: &str| Command::CaptionPhoto { of, caption: Some(Hash::of(words.as_bytes())) };
    let second = world.wait(SECOND).act(caption(first, "East side"));
    // Another phone may call it something else.
    let mut other = world.other_phone();
    let third = other.wait(SECOND).act(caption(second, "West side"));
    let merged = world.merged(&other);
    let of = |world: &World| of_this(&world.book, about(POSITION));
    let said = |entries: Vec<Hash>, words: Option<&str>| PhotoOf {
        entries,
        photo: photo(1).hash(),
        caption: words.map(|words| Hash::of(words.as_bytes())),
    };
    assert_eq!(of(&merged), [said(vec![third, second, first], Some("West side"))]);
    assert_eq!(of(&other.merged(&world)), of(&merged), "in whichever order they came");
    world.act(Command::Undo { target: second });
    assert_eq!(of(&world), [said(vec![first], None)]);
    world.act(Command::Undo { target: first });
    assert_eq!(of(&world), []);
    check(world, caption(first, "Gone"), Err(Refusal::NothingToPhotograph));
}

#[test]
fn the_same_caption_again_writes_nothing_and_only_a_photo_has_one() {
    let (world, entry) = with_photo();
    check(world.clone(), Command::CaptionPhoto { of: entry, caption: None }, Ok(&[]));
    let opened = world.book.scope(Scope::Visit(id(VISIT))).next().expect("an entry").hash;
    check(world, Command::CaptionPhoto { of: opened, caption: None }, Err(Refusal::NothingToPhotograph));
}

#[test]
fn the_photo_of_an_item_is_shown_with_the_item() {
    let mut world = World::given();
    let happened = world.phone.at().happened();
    let (what, position) = (ItemWhat::Other, Some(id(POSITION)));
    let (class, test, note) = (None, None, None);
    let find = Command::FindItem { visit: id(VISIT), what, class, position, test, note, happened };
    let item = world.act(find);
    world.act(Command::AddPhoto { about: About::Act(item), photo: photo(2).hash(), caption: None });
    let found = of_this(&world.book, About::Act(item));
    assert_eq!(found.iter().map(|photo| photo.photo).collect::<Vec<_>>(), [photo(2).hash()]);
    assert_eq!(of_this(&world.book, about(POSITION)), []);
}

#[test]
fn an_erased_photo_leaves_every_chain_whole_and_says_so() {
    let (mut world, entry) = with_photo();
    assert_eq!(text(&page(&world)).matches("[Photo]").count(), 2, "in the row and large");
    assert!(world.book.erase(photo(1).hash()));
    assert!(!world.book.erase(photo(1).hash()), "once is enough");
    assert!(world.book.get(entry).is_some());
    assert!(anomalies(&world.book).is_empty());
    let said = text(&page(&world));
    assert!(said.contains("[Photo · Erased, or still on another phone]"), "{said}");
    assert!(!said.contains("Erase for good"), "{said}");
    assert!(html(&page(&world)).contains(" · Erased, or still on another phone</p>"));
}

#[test]
fn a_page_of_photos_reads_as_what_can_be_done_with_them() {
    let (mut world, first) = with_photo();
    let caption = Attachment::text([8; 16], "Above <the> kettle");
    let caption_it = Command::CaptionPhoto { of: first, caption: Some(caption.hash()) };
    world.book.attach(caption);
    world.wait(SECOND).act(caption_it);
    let said = text(&page(&world));
    let expected = "# HD-1\n## Photos\n  [Photo: Above <the> kettle]\n  [Add photo]\n  ## Above <the> kettle\n    [Photo: Above <the> kettle]\n    \
         [Caption] [Remove] [Erase for good]\n  ## Erase this photo for good?\n    The picture goes from this phone. The record stays complete and \
         shows that a photo was erased. Visit files already sent or waiting to be sent still have it, and loading one brings it back.\n    [Keep it] [Erase for good]\n";
    assert_eq!(said, expected);
    // On paper there is no picture, but that there is one; nothing that is only pressed.
    assert!(html(&page(&world)).contains("<p class=\"soft\">Above &lt;the&gt; kettle · "));
    // Another phone can call it something else, and cannot take it back.
    assert!(!text(&page(&world.other_phone())).contains("[Remove]"));
}

#[test]
fn the_first_photo_is_one_tap_away() {
    let shown = page(&World::given());
    assert_eq!(text(&shown), "# HD-1\n## Photos\n  [Add photo]\n");
    let Kind::Section(section) = &shown.blocks[0].kind else { panic!("{shown:?}") };
    let Kind::Buttons(keys) = &section.blocks[0].kind else { panic!("{section:?}") };
    assert_eq!(keys[0].action, Action::Do(Request::TakePhoto(about(POSITION))));
    for form in [Form::Position(Some(id(POSITION))), Form::Visual(id(POSITION)), Form::NotTested(id(POSITION))] {
        assert_eq!(photos::of_form(form, None), Some(about(POSITION)));
    }
    assert_eq!(photos::of_form(Form::Position(None), Some(id(VISIT))), None);
    // rule B4: before anything of the panel is recorded.
    assert_eq!(photos::of_form(Form::Panel(0), Some(id(VISIT))), Some(about(VISIT)));
    assert_eq!(photos::of_form(Form::Panel(0), None), None);
}

#[test]
fn a_caption_leads_back_to_what_its_photo_is_of() {
    let world = World::given();
    for (of, form) in [
        (POSITION, Form::Position(Some(id(POSITION)))),
        (HALL, Form::Area(Some(id(HALL)))),
        (SELF_HEATER, Form::Heater(Some(id(SELF_HEATER)))),
    ] {
        let mut world = world.clone();
        let entry = world.act(add(of, &photo(1)));
        let back = soakbook::view::forms::leads_back(Form::Caption(entry), &world.book);
        assert_eq!(back, Route::Form(form));
    }
}

#[test]
fn every_refusal_of_a_file_says_what_to_do() {
    let all = [
        (NoPicture::FileTooLarge(40 << 20), "40 MB; at most 32 MB"),
        (NoPicture::NotAPicture, "JPEG, PNG or WebP"),
        (NoPicture::Heif, "Set the camera to JPEG"),
        (NoPicture::TooManyPixels(3_600), "3600 megapixels; at most 64"),
        (NoPicture::TooSmall, "at least 64 pixels"),
        (NoPicture::Broken, "Take it again"),
        (NoPicture::Failed("no memory".into()), "no memory"),
    ];
    for (why, words) in all {
        let said = photos::refused(&why);
        assert!(said.starts_with("No photo recorded.") && said.contains(words), "{said}");
    }
}

fn made() -> Made {
    Made { at: MORNING, app: "0.1.0".into(), phone: id(100) }
}

fn bundle(world: &World, pictures: &[Attachment]) -> soakbook::handover::Bundle {
    let mut added = BundlePictures::beside(&world.book, Select::Everything, Cover::Open);
    pictures.iter().for_each(|picture| assert!(added.add(picture)));
    bundle_with(&world.book, Select::Everything, &made(), added).expect("a bundle")
}

#[test]
fn pictures_travel_with_their_visit_and_are_checked_by_their_hash() {
    let (mut world, _) = with_photo();
    // Another one, about the visit, whose picture is not here.
    world.act(add(VISIT, &photo(2)));
    for select in [Select::Visit(id(VISIT)), Select::Site(id(SITE)), Select::Everything] {
        assert_eq!(pictures_of(&world.book, select), [photo(1).hash()], "{select:?}");
    }
    let sent = bundle(&world, &[photo(1)]);
    let incoming = read_bundle(&sent.text).expect("a sound bundle");
    assert_eq!(incoming.book.attachment(photo(1).hash()), Some(&photo(1)));
    assert_eq!(incoming.against(&Book::default()).attachments, 1);
    // A book that has the name alone has the picture.
    assert_eq!(incoming.against(&world.book).attachments, 0);
    assert!(incoming.new_to(&world.book).1.is_empty());
    // One that was erased comes back.
    let mut erased = world.book.clone();
    assert!(erased.erase(photo(1).hash()));
    assert_eq!(incoming.new_to(&erased), (vec![], vec![photo(1)]));
    // From a book with the bytes, as on a computer, it is the same file.
    assert_eq!(bundle_of(&incoming.book, Select::Everything, &made()).expect("a bundle").text, sent.text);
    // One byte of the picture is another.
    let altered = sent.text.replace("\"bytes\":\"AQEB", "\"bytes\":\"AQEC");
    assert_ne!(altered, sent.text);
    assert_eq!(read_bundle(&altered), Err(vec![BundleFault::Attachment { number: 1 }]));
}

#[test]
fn pictures_for_which_a_file_has_no_room_stay() {
    let (world, _) = with_photo();
    let large = |n: u8| Attachment { bytes: vec![n; 30_000], ..photo(n) };
    // In base64 (RFC 4648) 30,000 bytes are 40,000 characters.
    let mut added = BundlePictures::within(81_000);
    assert!(added.add(&large(1)) && added.add(&large(2)));
    assert!(!added.add(&large(3)) && !added.add(&photo(4)));
    let sent = bundle_with(&world.book, Select::Everything, &made(), added).expect("a bundle");
    assert_eq!(sent.attachments, 2);
    // What the line has beside its bytes counts too.
    assert!(!BundlePictures::within(40_000).add(&large(1)));
    let mut beside = BundlePictures::beside(&world.book, Select::Everything, Cover::Open);
    assert!(beside.add(&large(1)));
}

#[test]
fn a_sealed_file_can_be_loaded_again() {
    let (world, _) = with_photo();
    // As much as it has room for, findings of 2 MiB, and the tag of AES-GCM of 16 bytes (NIST SP 800-38D).
    let encrypted = vec![0; Cover::Sealed.room() + (2 << 20) + 16];
    assert!(Seal::new([1; 16], [2; 12]).file(&encrypted).len() <= MAX_BYTES);
    // In base64 (RFC 4648) these bytes are more than that, and less than there is room for in a file that is not sealed.
    let large = Attachment { bytes: vec![0; Cover::Sealed.room() / 4 * 3 + 3], ..photo(1) };
    assert!(large.bytes.len() / 3 * 4 < Cover::Open.room());
    assert!(!BundlePictures::beside(&world.book, Select::Everything, Cover::Sealed).add(&large));
}

#[test]
fn a_picture_that_is_attached_twice_is_one() {
    let mut world = World::given();
    let put = |world: &mut World, n: u8| world.act(add(n, &photo(1)));
    put(&mut world, POSITION);
    put(&mut world, HALL);
    world.book.attach_elsewhere(photo(1).hash());
    assert_eq!(pictures_of(&world.book, Select::Everything), [photo(1).hash()]);
    let bodies = world.book.entries().filter(|entry| matches!(entry.body, Body::Photo(_))).count();
    assert_eq!(bodies, 2);
}
