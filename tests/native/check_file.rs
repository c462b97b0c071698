//! What somebody is told who checks a visit file that he was sent.

use crate::kit::*;
use crate::record::{not_tested, passes};
use soakbook::book::acts::About;
use soakbook::book::body::{Body, NotTestedWhy};
use soakbook::book::command::Command;
use soakbook::book::entries::{Attachment, Book};
use soakbook::book::entry::{Chain, Hash, Scope};
use soakbook::handover::{Made, Select, bundle_of, read_bundle};
use soakbook::view::check_file::{self, State};
use soakbook::view::handover::Loading;
use soakbook::view::page::text::text;
use soakbook::view::record;

fn closed() -> World {
    let mut world = World::given();
    passes(&mut world, TEST, POSITION);
    world.wait(SECOND);
    world.act(not_tested(OTHER_POSITION, NotTestedWhy::Obstructed));
    world.close();
    for what in ["name", "firm", "license"] {
        world.book.attach(of_person(what, PERSON));
    }
    world
}

fn file_of(book: &Book) -> String {
    let made = Made { at: MORNING, app: "0.1.0".into(), phone: id(100) };
    bundle_of(book, Select::Visit(id(VISIT)), &made).expect("a visit").text
}

fn said(file: &str) -> String {
    let blocks = match read_bundle(file) {
        Ok(incoming) => check_file::read(&incoming, file, 60),
        Err(faults) => check_file::faulty(&faults),
    };
    text(&check_file::page(&State { said: vec![("day.json".into(), blocks)], sealed: Vec::new() }, None))
}

#[track_caller]
fn says(page: &str, all: &[&str]) {
    for words in all {
        assert!(page.contains(words), "{words} is not in\n{page}");
    }
}

#[test]
fn a_whole_file_says_so_with_its_digest_and_what_it_comes_to() {
    let world = closed();
    let page = said(&file_of(&world.book));
    let digest = record::digest(&world.book, &world.register(), &world.visit()).to_string();
    says(&page, &["Fits together: no gap, no altered record", "Results recalculated: Yes, the same"]);
    says(&page, &[&format!("Digest: {}", &digest[..8]), &digest]);
    says(&page, &["1 of 2 detectors passed", "In scope: 2", "Why not tested: obstructed 1"]);
    says(&page, &["None. Nothing was left impaired, secured, open or on test."]);
    assert!(!page.contains("Draft"), "{page}");
}

#[test]
fn what_is_still_off_stands_under_impairments_left_and_an_open_visit_is_a_draft() {
    let mut world = World::given();
    world.act(impair(Some(LOOP)));
    let page = said(&file_of(&world.book));
    says(&page, &["Impairments left", "Nobody", "Draft, visit open"]);
    assert!(!page.contains("None. Nothing was left"), "{page}");
}

#[test]
fn a_flipped_bit_and_a_missing_record_are_told() {
    let file = file_of(&closed().book);
    let flipped = file.replacen("\"what\":\"tripped\"", "\"what\":\"lowered\"", 1);
    assert_ne!(file, flipped);
    says(&said(&flipped), &["Not whole: something is missing or was changed", "was altered", "Do not rely on it"]);
    let at = file.lines().position(|line| line.contains("\"type\":\"panel_point\"")).expect("an entry");
    let without: Vec<&str> = file.lines().enumerate().filter(|(line, _)| *line != at).map(|(_, line)| line).collect();
    says(&said(&without.join("\n")), &["Not whole", "is missing"]);
    let cut = &file[..file.len() / 2];
    says(&said(cut), &["Not whole", "ends too early"]);
}

#[test]
fn a_gap_that_the_sender_admits_is_a_gap() {
    let world = closed();
    let mut book = Book::default();
    let lost = world.book.scope(Scope::Visit(id(VISIT))).nth(5).expect("an entry").hash;
    world.book.entries().filter(|entry| entry.hash != lost).cloned().for_each(|entry| book.apply(entry));
    says(&said(&file_of(&book)), &["Not whole: something is missing or was changed", "are not here"]);
}

#[test]
fn results_that_do_not_follow_from_the_records_are_told() {
    let file = file_of(&closed().book).replacen("\"outcome\":\"passed\"", "\"outcome\":\"no_alarm\"", 1);
    says(
        &said(&file),
        &["Fits together, but its results differ", "Yes, and they differ", "the file says \"no_alarm\""],
    );
}

#[test]
fn what_was_left_out_is_counted() {
    let mut world = closed();
    let photo = |n: u8| Attachment { salt: [n; 16], media: "image/jpeg".into(), bytes: vec![n; 3] };
    for n in 1..=3 {
        let (about, photo) = (About::Thing(id(POSITION)), photo(n).hash());
        world.act(Command::AddPhoto { about, photo, caption: None });
    }
    let (fits, not_all) =
        ("Fits together: no gap, no altered record", "Fits together, but not everything is in the file");
    let page = said(&file_of(&world.book));
    says(&page, &[not_all, "3 photos, names, notes or signatures are not in it: left out, or erased."]);
    assert!(!page.contains(fits), "{page}");
    (1..=2).for_each(|n| world.book.attach(photo(n)));
    says(&said(&file_of(&world.book)), &[not_all, "1 photo, name, note or signature is not in it"]);
    world.book.attach(photo(3));
    says(&said(&file_of(&world.book)), &[fits]);
}

#[test]
fn what_names_something_unknown_is_not_sure() {
    let mut world = closed();
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let tip = world.book.tip(chain).cloned().expect("an entry");
    let unknown = Body::PanelSawAccepted { saw: Hash::of(b"one"), trip: Hash::of(b"other") };
    world.book.apply(sealed(chain, tip.seq + 1, Some(tip.hash), tip.stamp, unknown));
    let page = said(&file_of(&world.book));
    says(&page, &["Not sure: some records do not fit together", "names something that is not here"]);
    assert!(!page.contains("Fits together"), "{page}");
}

#[test]
fn a_tail_that_was_cut_shows_in_the_digest_only_and_the_page_says_so() {
    let world = closed();
    let chain: Vec<_> = world.book.scope(Scope::Visit(id(VISIT))).map(|entry| entry.hash).collect();
    let tail = &chain[chain.len() - 4..];
    let mut cut = Book::default();
    world.book.entries().filter(|entry| !tail.contains(&entry.hash)).cloned().for_each(|entry| cut.apply(entry));
    let page = said(&file_of(&cut));
    says(&page, &["A file alone cannot show records left off at the end", "Digest: "]);
    assert!(!page.contains("nothing is missing"), "{page}");
    let digest = record::digest(&world.book, &world.register(), &world.visit()).to_string();
    assert!(!page.contains(&digest[..8]), "the signed record has another one: {page}");
}

#[test]
fn results_that_were_not_compared_are_a_warning() {
    let file = file_of(&closed().book);
    let method = format!("\"findings\":{{\"method\":{},", soakbook::findings::METHOD);
    let newer = file.replacen(&method, "\"findings\":{\"method\":99,", 1);
    assert_ne!(file, newer);
    says(&said(&newer), &["Fits together, but this app is too old to compare the results"]);
    let at = file.find(",\n\"findings\":").expect("findings");
    let page = said(&format!("{}}}\n", &file[..at]));
    says(&page, &["Fits together, but it has no results to compare"]);
}

#[test]
fn what_is_no_visit_file_is_not_checked_and_says_why() {
    for foreign in ["", "Dear colleague", "{\"a\":1}", "PK\u{3}\u{4}", "{\"format\":\"soakbook bundle\",\"v\":99}"] {
        let page = said(foreign);
        says(&page, &["Not checked: not a visit file this app can read"]);
        assert!(!page.contains("Fits together"), "{page}");
    }
}

#[test]
fn a_sealed_file_asks_for_its_passphrase_and_nothing_is_chosen_while_one_is_read() {
    let state = State { said: Vec::new(), sealed: vec![("day.sealed".into(), String::new())] };
    says(&text(&check_file::page(&state, None)), &["day.sealed", "Enter the passphrase", "[Open and check"]);
    let page = check_file::page(&state, Some(&Loading::default()));
    let text = text(&page);
    says(&text, &["Checking the file", "[Stop loading"]);
}
