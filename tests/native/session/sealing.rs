//! A large sheet is sealed and written in pieces; nothing of it counts before its commit.

use super::*;
use soakbook::book::Id;
use soakbook::book::body::{Area, Body, SheetColumns};
use soakbook::book::command::{ImportSheet, PutPosition};
use soakbook::book::decide::Importing;
use soakbook::book::entries::Part;
use soakbook::book::entry::Scope;
use soakbook::book::register::Register;
use soakbook::session::{NotSealed, Sealing};
use soakbook::trade::detector::AreaConditions;

/// Positions of the sheet: at least two parts.
const ROWS: u128 = 100;

fn register(held: &Held) -> Register {
    Register::of(held.session.book())
}

fn sites(held: &Held) -> u64 {
    held.session.book().revision(Part::Sites)
}

/// Copies of the kit's position under names of their own, sealed and not written.
fn sealed(held: &mut Held) -> Sealing {
    let register = register(held);
    let kit = &register.positions[&id(POSITION)];
    let hangs = kit.detector().unwrap();
    let site = register.site_of(id(POSITION)).unwrap();
    let sheet = ImportSheet {
        site,
        import: Id::from_u128(70_000),
        columns: SheetColumns { columns: Vec::new() },
        areas: Vec::new(),
        circuits: Vec::new(),
    };
    let mut importing = Importing::begin(&register, sheet).expect("allowed");
    for row in 0..ROWS {
        let mut put = PutPosition {
            position: Id::from_u128(71_000 + row),
            detector: Id::from_u128(72_000 + row),
            place: kit.place.now().unwrap().clone(),
            access: kit.access.now().cloned().unwrap_or_default(),
            duty: kit.duty.now().cloned().unwrap_or_default(),
            marking: register.detectors[&hangs].marking.now().unwrap().clone(),
            make: register.detectors[&hangs].make.now().cloned().unwrap_or_default(),
        };
        put.place.tag = format!("ROW-{row}");
        importing.next(&register, put).expect("allowed");
    }
    let tap = held.tap();
    let mut sealing = held.session.begin_sealing(&tap, Scope::Site(site)).expect("allowed");
    for draft in importing.end().expect("allowed") {
        held.session.seal_next(&mut sealing, draft);
    }
    let _ = held.session.effects();
    sealing
}

#[test]
fn its_rows_say_nothing_before_the_commit_and_all_of_it_after() {
    let mut held = started(given());
    let mut sealing = sealed(&mut held);
    let (before, revision) = (register(&held), sites(&held));
    let mut parts = 0;
    while held.session.write_next(&mut sealing).unwrap() {
        parts += 1;
        assert!(matches!(&held.session.effects()[..], [Effect::Append(batch)] if batch.records.len() == 1));
        assert_eq!((register(&held) == before, sites(&held)), (true, revision), "part {parts}");
    }
    assert!(parts > 1, "{parts} parts");
    let mut folding = held.session.fold(&sealing);
    while folding.step() {}
    let folded = folding.end();
    let entry = held.session.end_sealing(sealing).unwrap().expect("the commit");
    assert_eq!(held.session.effects().len(), 1);
    assert_ne!(sites(&held), revision);
    assert!(folded == register(&held), "folded beforehand, and from the book");
    assert_eq!(folded.positions.len(), before.positions.len() + ROWS as usize);
    // One undo takes all of it back.
    let tap = held.tap();
    held.session.undo(&tap, entry, "Spreadsheet".into()).expect("allowed");
    assert!(register(&held) == before);
}

#[test]
fn a_site_that_changes_in_the_meantime_ends_it_and_its_rows_never_count() {
    let mut held = started(given());
    let mut sealing = sealed(&mut held);
    assert_eq!(held.session.write_next(&mut sealing), Ok(true));
    let site = register(&held).site_of(id(POSITION)).unwrap();
    let (area, now) = (Id::from_u128(73_000), Area { site, name: "Loft".into() });
    held.act(Command::PutArea { area, now, conditions: AreaConditions::default() });
    let changed = register(&held);
    assert_eq!(held.session.write_next(&mut sealing), Err(NotSealed::Changed));
    assert_eq!(held.session.end_sealing(sealing), Err(NotSealed::Changed));
    assert_eq!(held.session.effects(), []);
    assert!(register(&held) == changed);
}

#[test]
fn parts_that_come_after_their_commit_count() {
    let mut held = started(given());
    let sealing = sealed(&mut held);
    held.session.end_sealing(sealing).unwrap();
    let whole = held.session.book();
    let (parts, others): (Vec<_>, Vec<_>) =
        whole.entries().cloned().partition(|entry| matches!(entry.body, Body::RowsImported { .. }));
    let mut book = Book::default();
    book.apply_all(others);
    for part in parts {
        let before = book.revision(Part::Sites);
        book.apply(part);
        assert_ne!(book.revision(Part::Sites), before);
    }
    assert!(Register::of(&book) == Register::of(whole));
}
