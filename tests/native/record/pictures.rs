//! Photos of the record: on paper from the file, left out, or gone.

use super::*;
use soakbook::book::acts::About;
use soakbook::book::kit::Kit;
use soakbook::book::photos::photos_of;
use soakbook::desk::record::{Which, print};
use soakbook::handover::{BundlePictures, Cover, Made, Select, bundle_with};
use soakbook::view::handover::Left;
use soakbook::view::page::html::{data_url, document_with, html_with, left_out, pictures_of};
use soakbook::view::record::{PaperFile, with_file};

fn photo(n: u8) -> Attachment {
    Attachment { salt: [n; 16], media: "image/jpeg".into(), bytes: vec![n; 3] }
}

fn add(world: &mut World, about: About, n: u8, caption: Option<&str>) -> Hash {
    let caption = caption.map(|words| attach(world, words));
    // A phone knows the picture by its name alone.
    world.book.attach_elsewhere(photo(n).hash());
    world.act(Command::AddPhoto { about, photo: photo(n).hash(), caption })
}

/// A visit with photos of a position and of the visit.
fn pictured() -> World {
    let mut world = given();
    functional(&mut world, TEST, POSITION, Point::Wrong, Answer::Yes);
    add(&mut world, About::Thing(id(POSITION)), 1, Some("Cover <cracked>"));
    add(&mut world, About::Thing(id(VISIT)), 2, None);
    world
}

fn bundle(world: &World, photos: &[Attachment]) -> String {
    let made = Made { at: MORNING, app: "0.1.0".into(), phone: world.phone.id };
    let mut pictures = BundlePictures::beside(&world.book, Select::Visit(id(VISIT)), Cover::Open);
    photos.iter().for_each(|photo| assert!(pictures.add(photo)));
    bundle_with(&world.book, Select::Visit(id(VISIT)), &made, pictures).expect("a bundle").text
}

#[test]
fn pictures_are_in_the_page_where_they_are_in_the_file() {
    // rule C10.
    let world = pictured();
    let page = page(&world.book, id(VISIT), record::record);
    let mut shown = pictures_of(&page.blocks);
    shown.sort();
    let mut both = [photo(1).hash(), photo(2).hash()];
    both.sort();
    assert_eq!(shown, both);
    // As the phone makes it, each read from its store.
    let address =
        |hash| [photo(1), photo(2)].iter().find(|of| of.hash() == hash).and_then(|of| data_url(&of.media, &of.bytes));
    let made = document_with(&page, &address);
    let file = bundle(&world, &[photo(1), photo(2)]);
    assert_eq!(print(&file, Which::Record, None, true).expect("a page").0, made);
    // `printf '\x01\x01\x01' | base64`.
    assert_eq!(made.matches("<img src=\"data:image/jpeg;base64,AQEB\"").count(), 1);
    let code = &photo(1).hash().to_string()[..8];
    assert!(made.contains(&format!("HD-1 · Cover &lt;cracked&gt; · {code}</figcaption>")), "{made}");
    // Left out, or not in the file, each is named.
    let without = document_with(&page, &|_| None);
    assert_eq!(print(&file, Which::Record, None, false).expect("a page").0, without);
    assert_eq!(print(&bundle(&world, &[]), Which::Record, None, true).expect("a page").0, without);
    assert!(
        without.contains(&format!("HD-1 · Cover &lt;cracked&gt; · {code} · picture not in this file")),
        "{without}"
    );
    assert!(!without.contains("<img"));
    // A browser that prints by itself has none, and does not say that the file has none.
    let by_browser = html_with(&page, &|_| None, left_out(&page));
    assert!(
        by_browser.contains(&format!("{code} · picture left out: print with the app&#39;s Print key")),
        "{by_browser}"
    );
    assert!(!by_browser.contains("picture not in this file"));
    assert_eq!(left_out(&soakbook::view::page::Page::default()), "picture left out");
    // What calls itself something else is not drawn.
    assert_eq!(data_url("image/svg+xml", b"<svg/>"), None);
}

#[test]
fn of_captions_on_two_phones_the_later_counts() {
    for later_is_the_first_phone in [false, true] {
        let mut world = given();
        functional(&mut world, TEST, POSITION, Point::Wrong, Answer::Yes);
        let mut other = world.other_phone();
        let (early, late) = if later_is_the_first_phone { (&mut other, &mut world) } else { (&mut world, &mut other) };
        early.wait(SECOND);
        add(early, About::Thing(id(VISIT)), 1, Some("Early"));
        late.wait(60 * SECOND);
        add(late, About::Thing(id(VISIT)), 1, Some("Late"));
        let page = record(&world.merged(&other));
        assert!(page.contains("Late") && !page.contains("Early"), "{page}");
    }
}

#[test]
fn a_photo_taken_after_the_visit_is_none_of_it() {
    let mut world = given();
    passes(&mut world, TEST, POSITION);
    world.act(not_tested(OTHER_POSITION, NotTestedWhy::OutOfTime));
    world.close();
    world.wait(3_600 * SECOND);
    add(&mut world, About::Thing(id(POSITION)), 1, None);
    assert!(!record(&world).contains("## Photos"));
}

#[test]
fn the_file_is_named_and_weighed_before_it_leaves() {
    let world = pictured();
    let base = page(&world.book, id(VISIT), record::record);
    let file = base.running.as_ref().expect("a running head").file.clone();
    let digest = fact(&text(&base), "Digest (SHA-256)").chars().take(8).collect::<String>();
    assert_eq!(file, format!("soakbook-record-invented-mill-2026-03-02-{digest}.html"));
    let notice = page(&world.book, id(VISIT), record::notice).running.expect("a running head").file;
    assert_eq!(notice, format!("soakbook-notice-invented-mill-2026-03-02-{digest}.html"));
    let said = |file: PaperFile| {
        let page = with_file(base.clone(), Some(&file));
        // Nothing of it is on paper.
        assert_eq!(document_with(&page, &|_| None), document_with(&base, &|_| None));
        section(&text(&page), record::FILE)
    };
    let made = PaperFile { name: file.clone(), bytes: 1_234_567, pictures: 2, with: true, ..PaperFile::default() };
    let words = said(made.clone());
    assert!(words.contains(&format!("{file}, 1.2 MB with 2 pictures.")), "{words}");
    assert!(words.contains("[Pictures in the file: on] [Send] [Save]"), "{words}");
    assert!(said(PaperFile { gone: 1, ..made.clone() }).contains("with 1 picture, 1 not on this phone."));
    let without = said(PaperFile { with: false, bytes: 200, left: Some(Left::Cancelled), ..made.clone() });
    assert!(
        without.contains("1 kB without its 2 pictures.") && without.contains("Nothing left the phone."),
        "{without}"
    );
    assert!(!said(PaperFile { pictures: 0, ..made }).contains("Pictures in the file"));
    assert!(text(&with_file(base.clone(), None)).contains("Making the file…"));
}

#[test]
fn each_photo_says_what_it_is_of() {
    // A photo of the panel is one of the visit.
    let page = record(&pictured());
    let photos = section(&page, "Photos");
    assert!(photos.contains("[HD-1 · Cover <cracked>") && photos.contains("[The visit · no caption"), "{photos}");
    assert!(!photos.contains("Unknown"), "{photos}");
}

#[test]
fn the_digest_is_of_the_photos_that_are_printed_too() {
    // Those of a position are in the chains of the site, which the digest does not list.
    let digest = |world: &World| fact(&record(world), "Digest (SHA-256)").to_string();
    let mut world = given();
    functional(&mut world, TEST, POSITION, Point::Wrong, Answer::Yes);
    let bare = digest(&world);
    let mut partner = world.other_phone();
    let photo = add(&mut world, About::Thing(id(POSITION)), 1, None);
    let one = digest(&world);
    assert_ne!(one, bare);
    let caption = attach(&mut world, "Cover cracked");
    world.wait(SECOND).act(Command::CaptionPhoto { of: photo, caption: Some(caption) });
    let captioned = digest(&world);
    assert_ne!(captioned, one);
    // A partner's site chain that comes later.
    add(&mut partner, About::Thing(id(OTHER_POSITION)), 2, None);
    let merged = [world.merged(&partner), partner.merged(&world)].map(|world| digest(&world));
    assert_ne!(merged[0], captioned);
    assert_eq!(merged[0], merged[1], "whichever phone prints it");
    for entry in
        photos_of(&world.book, &world.register(), &Kit::of(&world.book), About::Thing(id(POSITION)))[0].entries.clone()
    {
        world.wait(SECOND).act(Command::Undo { target: entry });
    }
    assert_eq!(digest(&world), bare);
    // One of a thing that the record does not name is none of it.
    add(&mut world, About::Thing(id(SITE)), 3, None);
    assert_eq!(digest(&world), bare);
}
