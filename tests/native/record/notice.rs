//! The notice of deficiencies, in the middle of a visit and after it.

use super::*;

#[test]
fn it_lists_what_is_open_with_what_to_do() {
    // rule C8.
    let mut world = given();
    functional(&mut world, TEST, POSITION, Point::Wrong, Answer::Yes);
    let item = world.item(ItemWhat::WrongPoint, Some(ItemClass::Deficiency));
    let page = notice(&world);
    assert!(page.starts_with("# Notice of deficiencies\n"), "{page}");
    assert!(page.contains("Draft, visit open"), "{page}");
    assert_eq!(fact(&page, "Open items"), "1");
    assert!(fact(&page, "As of").ends_with("visit still open"), "{page}");
    assert_eq!(fact(&page, "Reference"), "NFPA 72, chapter 14 · edition asked for: not recorded");
    let row = line(&page, "1 | Wrong point at panel");
    assert!(row.contains("| HD-1 · Hall | Deficiency | Correct address or panel text, then test again. |"), "{row}");
    assert!(row.ends_with("| Not yet | Not yet"), "{row}");
    assert!(section(&page, "Reply slip").contains("| 1 |  |  | "), "{page}");
    world.act(Command::TellItem { item, to: named("O. Owner"), in_writing: false, happened: happened(MORNING) });
    let row = notice(&world);
    let row = line(&row, "1 | Wrong point at panel");
    assert!(row.ends_with("| someone · 2026-03-02 09:00 | Not yet"), "{row}");
}

#[test]
fn what_was_corrected_is_named_and_asks_for_nothing() {
    let mut world = given();
    functional(&mut world, TEST, POSITION, Point::Wrong, Answer::Yes);
    let item = world.item(ItemWhat::WrongPoint, Some(ItemClass::Deficiency));
    world.wait(60 * SECOND);
    let (visit, position) = (id(VISIT), id(POSITION));
    let work = soakbook::book::body::Work::Programming;
    let done = happened(MORNING);
    world.act(Command::Repair { visit, position, work, item: Some(item), note: None, happened: done });
    passes(&mut world, OTHER_TEST, POSITION);
    let (how, by) = (soakbook::book::body::ItemClosed::RepairedAndTested, Who::Person(id(PERSON)));
    world.act(Command::CloseItem { item, how, by, note: None, happened: done });
    let page = notice(&world);
    assert!(section(&page, "What was found, and what to do").contains("No open item."), "{page}");
    assert!(section(&page, "Found and already corrected").contains("Repaired, tested again"), "{page}");
    assert!(line(&record(&world), "1 | Wrong point").contains("Repaired, tested again · 2026-03-02 09:00"));
}

#[test]
fn what_is_off_stands_on_it() {
    let mut world = given();
    world.act(impair(None));
    world.wait(SECOND);
    assert!(section(&notice(&world), "Impaired or still off").contains("| Whole system impaired |"));
}
