//! Ask the file: what an owner, an authority or an insurer is told of a visit file. Nothing of it is kept.

use super::handover::{Loading, Names, STOP_LOADING, anomaly_words, findings_lines, refused};
use super::page::sign::{Look, Says, Shape};
use super::page::{Action, Block, Button, Headline, Kind, Page, Request, Role, Row};
use super::route::Route;
use super::words::BACK;
use super::{office, record, time, words};
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::integrity::{Anomaly, anomalies};
use crate::book::register::Register;
use crate::book::visit::{Visit, headings};
use crate::encoding::sha256_hex;
use crate::handover::{BundleFault, FindingsCheck, Incoming};
use crate::order;

/// Title of the place.
pub const TITLE: &str = "Check a visit file";
const HELP: &str = "Choose a visit file you were sent, or drop it here. The app looks for gaps and changed records, and recalculates every result. The file stays with you: nothing of it is kept or sent.";
const CHOOSE: &str = "Choose a file";
const CHECKING: &str = "Checking the file…";
const SEALED: (&str, &str) = ("Sealed", "Enter the passphrase the sender gave you.");
/// Key that opens sealed files.
pub const OPEN: &str = "Open and check";
const FITS: &str = "Fits together: no gap, no altered record";
const NOT_WHOLE: &str = "Not whole: something is missing or was changed";
const NO_FILE: &str = "Not checked: not a visit file this app can read";
const DIFFER: &str = "Fits together, but its results differ";
const MISFITS: &str = "Not sure: some records do not fit together";
const NOT_ALL: &str = "Fits together, but not everything is in the file";
const TOO_OLD: &str = "Fits together, but this app is too old to read all of it: update it";
const NEWER: &str = "Fits together, but this app is too old to compare the results: update it";
const NONE: &str = "Fits together, but it has no results to compare";
/// What nobody can see in a file alone.
const END: &str = "A file alone cannot show records left off at the end, or a whole phone left out. The digest can: for each visit below, compare the eight characters with the signed record.";
const RESULTS: &str = "Results recalculated";
const NOT_WHOLE_WORDS: &str =
    "Ask whoever sent it for the file again. If the new one says the same, do not rely on it.";
/// Visits of one file that are worked out; each takes a moment.
const MOST_VISITS: usize = 20;

/// What is on the page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    /// What was found in each file, by name.
    pub said: Vec<(String, Vec<Block>)>,
    /// Sealed files that wait for their passphrase: name and text.
    pub sealed: Vec<(String, String)>,
}

/// The key that leads here.
pub fn way_here() -> Block {
    Block::buttons(vec![Button::to("to-check-file", TITLE, Route::CheckFile).icon(Shape::Tick).wide()])
}

/// The page.
pub fn page(state: &State, loading: Option<&Loading>) -> Page {
    let choose = Action::Do(Request::Office(office::Ask::ChooseFile));
    let choose = Button::new("choose-file", CHOOSE, choose).look(Look::Primary).icon(Shape::TakeIn).wide();
    let mut blocks = vec![Block::text("help", Role::Plain, HELP), Block::buttons(vec![choose.off(loading.is_some())])];
    if let Some(loading) = loading {
        blocks.push(Block::notice("checking", Says::Info, CHECKING, loading.words()));
        blocks.push(Block::buttons(vec![Button::new("import-stop", STOP_LOADING, Action::Do(Request::StopLoading))]));
    }
    for (name, _) in &state.sealed {
        blocks.push(Block::section(
            "sealed",
            name.clone(),
            vec![Block::notice("is-sealed", Says::Info, SEALED.0, SEALED.1)],
        ));
    }
    if !state.sealed.is_empty() {
        let open = Button::to("unseal", OPEN, Route::Passphrase).look(Look::Primary).wide();
        blocks.push(Block::buttons(vec![open.off(loading.is_some())]));
    }
    let file = |(name, said): &(String, Vec<Block>)| Block::section("file", name.clone(), said.clone());
    blocks.extend(state.said.iter().map(file));
    Page {
        name: "check-file",
        title: TITLE.into(),
        back: Some(Button::back(BACK, Route::Handover)),
        menu: vec![Button::print()],
        long: true,
        blocks,
        ..Page::default()
    }
}

fn headline(shape: Shape, words: &'static str) -> Block {
    Block::new("verdict", Kind::Headline(Headline { shape, words: words.into(), badge: None }))
}

fn list(label: &'static str, lines: Vec<String>) -> Block {
    Block::rows(label, lines.into_iter().map(|line| Row::new("line", "", line)).collect())
}

/// A file of which nothing can be said, and why, as sentences.
pub fn unread(lines: Vec<String>) -> Vec<Block> {
    vec![headline(Shape::Warning, NO_FILE), list(NO_FILE, lines)]
}

/// A file with faults.
pub fn faulty(faults: &[BundleFault]) -> Vec<Block> {
    let lines = refused("", faults).lines;
    let no_file = |fault: &BundleFault| {
        matches!(
            fault,
            BundleFault::TooLarge
                | BundleFault::Empty
                | BundleFault::NotJson(_)
                | BundleFault::NotABundle
                | BundleFault::NeedsNewerApp { .. }
                | BundleFault::Unreleased
        )
    };
    if faults.iter().any(no_file) {
        return unread(lines);
    }
    vec![
        headline(Shape::Fail, NOT_WHOLE),
        list(NOT_WHOLE, lines),
        Block::notice("not-whole", Says::Warning, "Do not rely on it", NOT_WHOLE_WORDS),
    ]
}

/// How many photos, names, notes and signatures a book names and does not have.
fn not_in(book: &Book) -> usize {
    let named = book.entries().flat_map(|entry| entry.body.attachments());
    order::set(named.filter(|hash| !book.has_attachment(*hash))).len()
}

/// A file that could be read, and its text; `offset` is local time minus UTC here, minutes.
pub fn read(incoming: &Incoming, text: &str, offset: i64) -> Vec<Block> {
    let book = &incoming.book;
    let register = Register::of(book);
    let names = Names::of(book, &register, Id::nil(), offset);
    let all = headings(book);
    let found = anomalies(book);
    let breaks = found.iter().any(Anomaly::breaks);
    let misfits: Vec<String> = found.iter().map(|anomaly| anomaly_words(book, &names, anomaly)).collect();
    let mut lines = Vec::new();
    let differ = findings_lines(&incoming.findings, book, &mut lines);
    let too_old = |anomaly: &Anomaly| matches!(anomaly, Anomaly::NeedsNewerApp { .. });
    let without = not_in(book);
    let (shape, verdict) = match &incoming.findings {
        _ if breaks => (Shape::Fail, NOT_WHOLE),
        _ if differ => (Shape::Fail, DIFFER),
        _ if !found.iter().all(too_old) => (Shape::Warning, MISFITS),
        _ if without > 0 => (Shape::Warning, NOT_ALL),
        _ if !found.is_empty() => (Shape::Warning, TOO_OLD),
        FindingsCheck::NewerMethod => (Shape::Warning, NEWER),
        FindingsCheck::None => (Shape::Warning, NONE),
        FindingsCheck::Same | FindingsCheck::OlderMethod(_) | FindingsCheck::Differ(_) => (Shape::Done, FITS),
    };
    let same = match &incoming.findings {
        FindingsCheck::Same => "Yes, the same",
        FindingsCheck::Differ(_) => "Yes, and they differ",
        FindingsCheck::None => "Yes; the file has none to compare",
        FindingsCheck::OlderMethod(_) => "Yes, by a newer method",
        FindingsCheck::NewerMethod => "No, this app is too old for them",
    };
    let code = sha256_hex(text.as_bytes()).chars().take(8).collect();
    let made = format!("{}, {}", time::wall(incoming.made.at, offset), names.phone(incoming.made.phone));
    let facts: [(&'static str, String); 4] =
        [(RESULTS, same.into()), ("Records", book.len().to_string()), ("Made", made), ("Code of the file", code)];
    let facts = facts.into_iter().map(|(name, value)| (name.into(), value.into())).collect();
    let mut blocks = vec![headline(shape, verdict), Block::new("facts", Kind::Facts(facts))];
    if breaks {
        blocks.push(Block::notice("not-whole", Says::Warning, "Do not rely on it", NOT_WHOLE_WORDS));
    }
    if without > 0 {
        let words = words::plural(
            without,
            "photo, name, note or signature is not in it: left out",
            "photos, names, notes or signatures are not in it: left out",
        );
        blocks.push(Block::notice("without", Says::Warning, "Not in the file", format!("{words}, or erased.")));
    }
    if !breaks && !all.is_empty() {
        blocks.push(Block::text("end", Role::Plain, END));
    }
    if !matches!(incoming.findings, FindingsCheck::Same) {
        blocks.push(list(RESULTS, lines));
    }
    if !misfits.is_empty() {
        blocks.push(list("What does not fit", misfits));
    }
    let visits = all.iter().take(MOST_VISITS).filter_map(|heading| Visit::of(book, heading.id));
    blocks.extend(visits.map(|visit| record::checked(book, &register, &visit)));
    if all.len() > MOST_VISITS {
        let more = words::plural(all.len() - MOST_VISITS, "older visit", "older visits");
        blocks.push(Block::text("more", Role::Soft, format!("{more} are in the file and not shown.")));
    }
    if all.is_empty() {
        blocks.push(Block::text("no-visit", Role::Plain, "The file has no visit in it."));
    }
    blocks
}
