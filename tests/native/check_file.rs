//! What somebody is told who checks a visit file that he was sent.

use crate::kit::*;
use crate::record::{not_tested, passes};
use soakbook::book::body::NotTestedWhy;
use soakbook::book::entries::Book;
use soakbook::book::entry::Scope;
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
    says(&page, &["Whole: nothing is missing or was changed", "Results recalculated: Yes, the same"]);
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
    says(&said(&file), &["Whole, but its results differ", "Yes, and they differ", "the file says \"no_alarm\""]);
}

#[test]
fn what_is_no_visit_file_is_not_checked_and_says_why() {
    for foreign in ["", "Dear colleague", "{\"a\":1}", "PK\u{3}\u{4}", "{\"format\":\"soakbook bundle\",\"v\":99}"] {
        let page = said(foreign);
        says(&page, &["Not checked: not a visit file this app can read"]);
        assert!(!page.contains("Whole"), "{page}");
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
