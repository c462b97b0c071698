//! What the page says, and what its keys ask for.

use super::desk::{Desk, SITE};
use soakbook::book::entry::Hash;
use soakbook::units::Degree;
use soakbook::view::page::html::html;
use soakbook::view::page::text::text;
use soakbook::view::page::{Action, Button, Kind, Page, Request};
use soakbook::view::sheet::load::NoSheet;
use soakbook::view::sheet::page::{Ready, Stage, State, page};
use soakbook::view::sheet::{Ask, Pick};
use std::sync::Arc;

fn shown(desk: &Desk, stage: Stage, pick: Option<Pick>) -> Page {
    desk.known(|known| page(known, SITE, &State { site: Some(SITE), stage, pick }))
}

fn ready(desk: &Desk, ready: &Ready) -> String {
    text(&shown(desk, Stage::Ready(Arc::new(ready.clone())), None))
}

#[track_caller]
fn says(page: &str, lines: &[&str]) {
    for line in lines {
        assert!(page.contains(line), "no {line:?} in\n{page}");
    }
}

#[test]
fn it_begins_with_a_file_or_pasted_cells_and_offers_what_is_there() {
    let mut desk = Desk::new();
    let start = text(&shown(&desk, Stage::Start, None));
    says(&start, &["# Spreadsheet\nWorks", "[Choose a file]", "[Pasted cells: ", "[Read the pasted cells]"]);
    assert!(!start.contains("Save as a spreadsheet"));
    desk.take("Tag,Area\nH-1,A\n");
    says(&text(&shown(&desk, Stage::Start, None)), &["[Save as a spreadsheet]"]);
    // What is going on at another site is not shown here.
    let other = State { site: None, stage: Stage::Working("Importing", 7), pick: None };
    says(&text(&desk.known(|known| page(known, SITE, &other))), &["[Choose a file]"]);
    let refused = Stage::Refused("a.csv".into(), NoSheet::TooManyRows.words());
    let words =
        "! Not imported: a.csv: It has more than 10,000 rows. Save only the rows of this site. Nothing was changed.";
    says(&text(&shown(&desk, refused, None)), &[words, "[Choose a file]"]);
    says(&text(&shown(&desk, Stage::Working("Importing", 7), None)), &["! Importing: 7%", "[Cancel]"]);
}

#[test]
fn it_shows_what_was_guessed_what_is_asked_and_what_would_be_done() {
    let mut desk = Desk::new();
    desk.take("Tag,Area,Point,Location,Serial\nH-1,A,7,Here,S1\nH-2,A,8,,\nH-3,A,9,,\n");
    let sheet = "Tag;Room;Address;Set point;Kind;Description;Serial;Price\n\
        H-1;A;7;57,2;fusible;There;S1;1\nH-22;A;8;57,2;magic;;;1\nH-4;Oven;;57,2;;;;1\nH-5;A;;hot;;;;1\nH-6;A;;;;;;1\nH-6;A;;;;;;1\n";
    let read = desk.ready(sheet);
    let page = ready(&desk, &read);
    says(
        &page,
        &[
            "a.csv: 6 rows.",
            "- Separator: Semicolon >",
            "- Encoding: UTF-8 >",
            "- Decimal sign: Comma, 57,2 >",
            "- Headers: Line 1 >",
            "- Room: A · A · Oven <Area> >",
            "- Price: 1 · 1 · 1 <Left out> >",
            "- fusible: 1 row <Fixed-temperature, nonrestorable> >",
            "! Unit: Set point: these temperatures have no unit. Which one is it?",
            "[°F] [°C]",
            "[Nothing to import, off]",
        ],
    );
    // No date column, so nothing about dates.
    assert!(!page.contains("Dates"));
    let celsius = desk.with(read, &[Ask::Unit(3, Degree::C)]);
    let page = ready(&desk, &celsius);
    says(
        &page,
        &[
            "New: 1",
            "Changed: 1",
            "Not in the sheet: 1",
            "Questions: 1",
            "Can't be imported: 3",
            "New areas: Oven.",
            "- Line 3 · H-22: point 8: tag H-2 here, H-22 in the sheet. Same position? <Question>",
            "[Same position] [Another position]",
            "- Line 5 · H-5: Set point: “hot” isn't a temperature. Write one, e.g. 135 °F",
            "- Line 6 · H-6: Tag H-6 is in several rows",
            "- Line 2 · H-1: Type: Not known → Fixed-temperature, nonrestorable · Rating: blank → 57.2 °C · Location: Here → There",
            "- H-3",
            "They stay as they are.",
            "Blank cells leave what's on file. Rows that aren't in the sheet stay.",
            "[Import 2 rows without these 4]",
        ],
    );
    // On paper it is there, too.
    assert!(html(&shown(&desk, Stage::Ready(Arc::new(celsius)), None)).contains("57.2 °C"));
}

#[test]
fn every_choice_opens_with_what_is_so_now() {
    let mut desk = Desk::new();
    let read = desk.ready("Tag,Area,Type,Installed,Rating\nH-1,A,magic,17/05/2022,135 F\n");
    let picks = [
        (Pick::Separator, "- Comma <Now> >"),
        (Pick::Charset, "- UTF-8 <Now> >"),
        (Pick::Decimal, "- Point, 57.2 <Now> >"),
        (Pick::Dates, "- Day first, 17/05/2022 <Now> >"),
        (Pick::Head, "- Line 1: Tag · Area · Type · Installed <Now> >"),
        (Pick::Column(1), "- Area <Now> >"),
        (Pick::Type(0), "- Not known <Now> >"),
    ];
    for (pick, now) in picks {
        says(&text(&shown(&desk, Stage::Ready(Arc::new(read.clone())), Some(pick))), &[now]);
    }
}

#[test]
fn what_was_imported_can_be_undone_from_there() {
    let desk = Desk::new();
    let entry = Hash::of(b"commit");
    let done = shown(&desk, Stage::Done("3 rows imported.".into(), entry), None);
    says(&text(&done), &["3 rows imported. [Undo]", "[To the devices]"]);
    let undo = done.blocks.iter().find_map(|block| match &block.kind {
        Kind::Undo(of) => Some(of.action.clone()),
        _ => None,
    });
    let again = Action::Do(Request::Sheet(Ask::Again));
    assert_eq!(undo, Some(Action::Undo(entry, "Spreadsheet".into()).then(again)));
    let back: Vec<&Button> = done.back.iter().collect();
    assert_eq!(back.len(), 1);
}
