//! Signatures: typed, declined, absent; never under a draft.

use super::*;
use soakbook::book::body::Body;
use soakbook::book::body::{Signature, Signed, Signer};
use soakbook::book::entry::Scope;
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::book::seal::{Draft, seal};
use soakbook::units::Degree;
use soakbook::view::forms::{self, Known, Making};
use soakbook::view::page::text::text as read;
use soakbook::view::route::{Form, Route};

fn sign(world: &World, how: Signed, change: impl FnOnce(&mut Signature)) -> Command {
    let digest = record::digest(&world.book, &world.register(), &world.visit());
    let happened = happened(MORNING);
    let (signer, covers) = (Signer::Owner, Vec::new());
    let mut signature = Signature { signer, how, name: None, drawn: None, note: None, digest, covers, happened };
    change(&mut signature);
    Command::Sign { visit: id(VISIT), signature: Box::new(signature) }
}

/// What a file of other software may say, whatever the rules here are.
fn said(world: &mut World, how: Signed, change: impl FnOnce(&mut Signature)) {
    let Command::Sign { signature, .. } = sign(world, how, change) else { unreachable!() };
    let body = Body::Signature((*signature).into());
    let phone = &mut world.phone;
    let draft = vec![Draft { scope: Scope::Visit(id(VISIT)), body }];
    let sealed = seal(&world.book, phone.id, phone.stamp(), phone.decision, &phone.opens(), draft);
    phone.decision += 1;
    sealed.into_iter().for_each(|entry| world.book.apply(entry));
}

/// Reopened and closed again: another record.
fn amended(world: &mut World) {
    let why = attach(world, "One more look");
    world.wait(SECOND);
    world.act(Command::ReopenVisit { visit: id(VISIT), why, amends: None });
    world.close();
}

fn with_known<T>(world: &World, visit: Option<Id>, with: impl FnOnce(Known<'_>) -> T) -> T {
    let (register, kit) = (world.register(), soakbook::book::kit::Kit::of(&world.book));
    with(Known { register: &register, kit: &kit, book: &world.book, visit, at: world.phone.at() })
}

fn closed() -> World {
    let mut world = given();
    passes(&mut world, TEST, POSITION);
    world.act(not_tested(OTHER_POSITION, NotTestedWhy::OutOfTime));
    world.close();
    world
}

#[test]
fn a_draft_is_not_signed() {
    // rule C7, and B18 of what a merge brings.
    let open = given();
    check(open.clone(), sign(&open, Signed::Absent, |_| {}), Err(Refusal::Draft));
    let world = closed();
    let mut other = given().other_phone();
    other.act(secure("Foam"));
    let merged = world.merged(&other);
    check(merged.clone(), sign(&merged, Signed::Absent, |_| {}), Err(Refusal::Draft));
    check(world.clone(), sign(&world, Signed::Absent, |_| {}), Ok(&["signature"]));
}

#[test]
fn a_typed_one_has_a_name() {
    let world = closed();
    let nameless = Err(Refusal::Field("Signature.name", Fault::Empty));
    check(world.clone(), sign(&world, Signed::Typed, |_| {}), nameless);
    let later = sign(&world, Signed::Declined, |of| of.happened = happened(MORNING + 3_600 * 1_000 * SECOND));
    assert!(world.decide(later).is_err());
}

#[test]
fn all_sign_the_same_and_what_comes_later_shows() {
    // rule C7.
    let mut world = closed();
    let before = fact(&record(&world), "Digest (SHA-256)").to_string();
    let name = attach(&mut world, "O. Owner");
    world.wait(26 * 3_600 * SECOND);
    let owner = world.act(sign(&world.clone(), Signed::Typed, |of| of.name = Some(name)));
    world.act(sign(&world.clone(), Signed::Absent, |of| of.signer = Signer::Authority));
    let page = record(&world);
    assert_eq!(fact(&page, "Digest (SHA-256)"), before);
    // Who signs the day after makes the visit no longer.
    assert!(page.contains("Invented mill · 2026-03-02\n"), "{page}");
    let signed = line(&page, "Owner's representative");
    assert!(signed.contains(&format!("| O. Owner | typed, digest {} |", &before[..8])), "{signed}");
    assert!(line(&page, "Authority (AHJ)").contains("| – | absent, digest "), "{page}");
    assert!(line(&page, "Tester").ends_with("|  |  |"), "{page}");
    assert!(!page.contains("Amendments"), "{page}");
    // A phone that comes only to sign has no part in the visit.
    let mut office = world.other_phone();
    office.phone.who = Some(id(PARTNER));
    office.act(sign(&office.clone(), Signed::Declined, |of| of.signer = Signer::Tester));
    let theirs = record(&office);
    assert_eq!(fact(&theirs, "Digest (SHA-256)"), before);
    assert!(line(&theirs, "Tester").contains("| – | declined, digest "), "{theirs}");
    assert!(!theirs.contains("Amendments") && !theirs.contains("has changed since"), "{theirs}");
    assert_eq!(fact(&theirs, "Tested by"), fact(&page, "Tested by"));
    // Taken back it leaves nothing.
    world.act(Command::Undo { target: owner });
    let page = record(&world);
    assert_eq!(fact(&page, "Digest (SHA-256)"), before);
    assert!(line(&page, "Owner's representative").ends_with("|  |  |") && !page.contains("Amendments"), "{page}");
}

#[test]
fn the_keys_lead_to_the_forms_once_it_is_closed() {
    let open = page(&given().book, id(VISIT), record::record);
    assert!(!read(&open).contains("[Owner's representative]"));
    let world = closed();
    assert!(record(&world).contains("[Tester] [Owner's representative] [Authority (AHJ)]"));
    let (register, kit) = (world.register(), soakbook::book::kit::Kit::of(&world.book));
    let known =
        Known { register: &register, kit: &kit, book: &world.book, visit: Some(id(VISIT)), at: world.phone.at() };
    let signs = |texts: &[(&str, &str)]| {
        let mut typed = forms::open(Form::Sign(1), known, Degree::F);
        texts.iter().for_each(|(key, text)| typed.set(key, text));
        let attached = forms::texts(Form::Sign(1), &typed, known).into_iter();
        let attached = attached.map(|(key, text)| (key, Hash::of(text.as_bytes()))).collect();
        let making = Making { id: id(90), other: id(91), attached: &attached };
        forms::command(Form::Sign(1), &typed, making, known)
    };
    assert!(signs(&[("sign-how", "typed")]).is_err());
    let commands = signs(&[("sign-how", "typed"), ("sign-name", "O. Owner")]).expect("a command");
    let [Command::Sign { signature, .. }] = commands.as_slice() else { panic!("{commands:?}") };
    assert_eq!((signature.signer, signature.how), (Signer::Owner, Signed::Typed));
    assert_eq!(signature.name, Some(Hash::of(b"O. Owner")));
    assert_eq!(signature.digest, record::digest(&world.book, &register, &world.visit()));
    assert_eq!(forms::back(Form::Sign(1)), Route::Record);
    assert_eq!(Route::read("#/sign/2"), Route::Form(Form::Sign(2)));
}

#[test]
fn a_drawn_one_is_drawn_on_paper_from_the_file_too() {
    use soakbook::desk::record::{Which, print};
    use soakbook::handover::{Made, Select, bundle_of};
    use soakbook::view::page::html::document;
    let mut world = closed();
    check(world.clone(), sign(&world, Signed::Drawn, |_| {}), Err(Refusal::Field("Signature.drawn", Fault::Empty)));
    let before = fact(&record(&world), "Digest (SHA-256)").to_string();
    let (name, drawn) = (attach(&mut world, "O. Owner"), attach(&mut world, "M100 300L200 100 300 300M900 90"));
    let signed = world.act(sign(&world.clone(), Signed::Drawn, |of| (of.name, of.drawn) = (Some(name), Some(drawn))));
    let page = record(&world);
    assert_eq!(fact(&page, "Digest (SHA-256)"), before);
    let row = line(&page, "Owner's representative");
    assert!(row.contains(&format!("| O. Owner | drawn on the phone, digest {} |", &before[..8])), "{row}");
    assert!(page.contains("[Signature: Owner's representative · O. Owner]"), "{page}");
    let html = document(&self::page(&world.book, id(VISIT), record::record));
    assert!(html.contains("<path d=\"M100 300L200 100 300 300M900 90h0\"/>"), "{html}");
    let made = Made { at: MORNING, app: "0.1.0".into(), phone: world.phone.id };
    let file = bundle_of(&world.book, Select::Visit(id(VISIT)), &made).expect("a bundle").text;
    assert_eq!(print(&file, Which::Record, None, true).expect("a page").0, html);
    // Erased, it says so; anything else in its place is not drawn.
    let mut erased = world.clone();
    erased.book.erase(drawn);
    assert!(line(&record(&erased), "Owner's").contains("; the drawing was erased or can't be read |"));
    world.act(Command::Undo { target: signed });
    let script = attach(&mut world, "M0 0\"/><script>alert(1)</script>");
    world.act(sign(&world.clone(), Signed::Drawn, |of| of.drawn = Some(script)));
    let page = record(&world);
    assert!(page.contains("; the drawing was erased or can't be read |") && !page.contains("[Signature"), "{page}");
    assert!(!document(&self::page(&world.book, id(VISIT), record::record)).contains("<script"));
}

#[test]
fn the_form_refuses_a_dot_and_keeps_what_is_drawn() {
    let world = closed();
    let (register, kit) = (world.register(), soakbook::book::kit::Kit::of(&world.book));
    let known =
        Known { register: &register, kit: &kit, book: &world.book, visit: Some(id(VISIT)), at: world.phone.at() };
    let signs = |drawn: &str| {
        let mut typed = forms::open(Form::Sign(1), known, Degree::F);
        assert_eq!(typed.get("sign-how"), "drawn");
        typed.set("sign-drawn", drawn);
        typed.set("sign-name", "O. Owner");
        let attached = forms::texts(Form::Sign(1), &typed, known).into_iter();
        let attached = attached.map(|(key, text)| (key, Hash::of(text.as_bytes()))).collect();
        forms::command(Form::Sign(1), &typed, Making { id: id(90), other: id(91), attached: &attached }, known)
    };
    let says = |drawn: &str| signs(drawn).expect_err("a fault")["sign-drawn"].say.clone();
    assert_eq!(says(""), "Nothing is drawn. Sign in the box.");
    assert_eq!(says("M500 250"), "That is only a dot. Clear it and sign again.");
    assert_eq!(says("a cross"), "Nothing is drawn. Sign in the box.");
    let commands = signs("M100 300L200 100").expect("a command");
    let [Command::Sign { signature, .. }] = commands.as_slice() else { panic!("{commands:?}") };
    assert_eq!((signature.how, signature.drawn), (Signed::Drawn, Some(Hash::of(b"M100 300L200 100"))));
    assert_eq!(signature.name, Some(Hash::of(b"O. Owner")));
}

#[test]
fn what_was_drawn_for_one_record_never_comes_under_another() {
    let form = Form::Sign(1);
    let mut world = closed();
    let here = Some(id(VISIT));
    let mut typed = with_known(&world, here, |known| forms::open(form, known, Degree::F));
    typed.set("sign-drawn", "M100 300L200 100");
    typed.set("sign-name", "O. Owner");
    let draft = soakbook::encoding::stored::write(&typed);
    let taken_up = |world: &World, visit| with_known(world, visit, |known| forms::take_up(form, &draft, known));
    let saves = |world: &World| {
        with_known(world, here, |known| {
            let attached = forms::texts(form, &typed, known).into_iter();
            let attached = attached.map(|(key, text)| (key, Hash::of(text.as_bytes()))).collect();
            forms::command(form, &typed, Making { id: id(90), other: id(91), attached: &attached }, known)
        })
    };
    assert_eq!(taken_up(&world, here).as_ref(), Some(&typed));
    assert!(saves(&world).is_ok());
    // The tester signs meanwhile: the record is the same.
    world.act(sign(&world.clone(), Signed::Absent, |of| of.signer = Signer::Tester));
    assert!(taken_up(&world, here).is_some() && saves(&world).is_ok());
    // Another visit on screen, or the same one after it was reopened.
    world.act(Command::OpenVisit { visit: id(92), site: id(SITE), plan: plan() });
    assert_eq!((taken_up(&world, Some(id(92))), taken_up(&world, None)), (None, None));
    amended(&mut world);
    assert_eq!(taken_up(&world, here), None);
    let wrongs = saves(&world).expect_err("the record changed");
    assert!(wrongs[""].say.starts_with("The record changed after this form was opened."), "{wrongs:?}");
    // Any other form comes back as it was left.
    assert!(with_known(&world, here, |known| forms::take_up(Form::Break, "{\"why\":\"Lunch\"}", known)).is_some());
}

#[test]
fn of_two_signatures_on_two_phones_the_later_counts() {
    for later_is_the_first_phone in [false, true] {
        let mut world = closed();
        let mut other = world.other_phone();
        let (early, late) = if later_is_the_first_phone { (&mut other, &mut world) } else { (&mut world, &mut other) };
        early.wait(SECOND);
        early.act(sign(&early.clone(), Signed::Declined, |_| {}));
        late.wait(60 * SECOND);
        let name = attach(late, "O. Owner");
        late.act(sign(&late.clone(), Signed::Typed, |of| of.name = Some(name)));
        let page = record(&world.merged(&other));
        assert!(line(&page, "Owner's").contains("| O. Owner | typed, digest "), "{page}");
    }
}

#[test]
fn ink_for_an_earlier_record_says_so_and_leaves_the_line() {
    let mut world = closed();
    let before = fact(&record(&world), "Digest (SHA-256)")[..8].to_string();
    let (name, drawn) = (attach(&mut world, "O. Owner"), attach(&mut world, "M100 300L200 100"));
    world.act(sign(&world.clone(), Signed::Drawn, |of| (of.name, of.drawn) = (Some(name), Some(drawn))));
    let owners = |page: &str| page.lines().filter(|line| line.trim().starts_with("| Owner's")).count();
    assert_eq!(owners(&record(&world)), 1);
    amended(&mut world);
    let page = record(&world);
    let old =
        format!("[Signature: Owner's representative · O. Owner · for digest {before}; the record has changed since]");
    assert!(page.contains(&old), "{page}");
    assert!(page.contains("\n  | Owner's representative |  |  | \n") && owners(&page) == 2, "{page}");
    // Signed anew, the old ink is gone.
    world.wait(SECOND);
    world.act(sign(&world.clone(), Signed::Drawn, |of| (of.name, of.drawn) = (Some(name), Some(drawn))));
    let page = record(&world);
    assert!(page.contains("[Signature: Owner's representative · O. Owner]") && owners(&page) == 1, "{page}");
}

#[test]
fn only_who_signed_with_a_drawing_has_one() {
    let mut world = closed();
    let drawn = attach(&mut world, "M100 300L200 100");
    said(&mut world, Signed::Declined, |of| of.drawn = Some(drawn));
    said(&mut world, Signed::Drawn, |of| of.signer = Signer::Authority);
    let page = record(&world);
    assert!(!page.contains("[Signature"), "{page}");
    assert!(!line(&page, "Owner's").contains("drawing") && line(&page, "Owner's").contains("declined"), "{page}");
    assert!(line(&page, "Authority").contains("; the drawing is not in this file |"), "{page}");
}

#[test]
fn a_long_name_is_whole_below_its_signature() {
    use soakbook::view::page::html::document;
    let mut world = closed();
    // 40 letters.
    let long = "Bartholomew Featherstonehaugh-Cholmondel";
    assert_eq!(long.chars().count(), 40);
    let (name, drawn) = (attach(&mut world, long), attach(&mut world, "M100 300L200 100"));
    world.act(sign(&world.clone(), Signed::Drawn, |of| (of.name, of.drawn) = (Some(name), Some(drawn))));
    let html = document(&page(&world.book, id(VISIT), record::record));
    let drawing = html.split("<figure class=\"signed\">").nth(1).and_then(|rest| rest.split("</figure>").next());
    let drawing = drawing.expect("a signature");
    // Words of a drawing never wrap; those below it do.
    assert!(!drawing.contains("<text"), "{drawing}");
    let caption = format!("<figcaption>Signature: Owner&#39;s representative · {long}</figcaption>");
    assert!(drawing.ends_with(&caption), "{drawing}");
}

#[test]
fn erasing_names_leaves_the_record_that_was_signed() {
    let mut world = given();
    let name = attach(&mut world, "T. Tester");
    passes(&mut world, TEST, POSITION);
    let Command::NotTested { visit, mut not_tested } = not_tested(OTHER_POSITION, NotTestedWhy::OutOfTime) else {
        unreachable!()
    };
    not_tested.by = Who::Named(name);
    world.act(Command::NotTested { visit, not_tested });
    world.close();
    let before = fact(&record(&world), "Digest (SHA-256)").to_string();
    assert!(line(&record(&world), "HD-2").contains("T. Tester"));
    assert!(world.book.erase(name));
    assert!(!record(&world).contains("T. Tester"));
    assert_eq!(fact(&record(&world), "Digest (SHA-256)"), before);
}

#[test]
fn words_that_call_themselves_a_picture_are_none_on_the_phone_and_on_a_computer() {
    use soakbook::desk::record::{Which, print};
    use soakbook::handover::{BundlePictures, Cover, Made, Select, bundle_with};
    use soakbook::view::page::html::document;
    let mut world = closed();
    let relabelled = |media: &str, words: &str| Attachment { media: media.into(), ..Attachment::text([8; 16], words) };
    let (name, drawn) = (relabelled("image/png", "O. Owner"), relabelled("image/x", "M100 300L200 100"));
    // As a phone takes them in: what is no picture goes into the book, a picture stays in the store.
    world.book.attach_elsewhere(name.hash());
    world.book.attach(drawn.clone());
    let (of_name, of_drawn) = (name.hash(), drawn.hash());
    world.act(sign(&world.clone(), Signed::Drawn, |of| (of.name, of.drawn) = (Some(of_name), Some(of_drawn))));
    let made = Made { at: MORNING, app: "0.1.0".into(), phone: world.phone.id };
    let mut pictures = BundlePictures::beside(&world.book, Select::Visit(id(VISIT)), Cover::Open);
    assert!(pictures.add(&name));
    let file = bundle_with(&world.book, Select::Visit(id(VISIT)), &made, pictures).expect("a bundle").text;
    let html = document(&page(&world.book, id(VISIT), record::record));
    assert!(html.contains("M100 300L200 100") && html.contains("(erased or not in this file)"), "{html}");
    assert_eq!(print(&file, Which::Record, None, true).expect("a page").0, html);
}
