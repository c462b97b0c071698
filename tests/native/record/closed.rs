//! A visit that was closed, closed with something left off, and closed again.

use super::*;
use soakbook::book::body::LeavingOff;

fn tested() -> World {
    let mut world = given();
    passes(&mut world, TEST, POSITION);
    passes(&mut world, OTHER_TEST, OTHER_POSITION);
    world
}

fn across(world: &World) -> String {
    page(&world.book, id(VISIT), record::record).running.expect("every sheet").across
}

#[test]
fn a_closed_visit_is_no_draft() {
    // rules C2, C12.
    let mut world = tested();
    assert_eq!(across(&world), "Draft, visit open · Demo, invented");
    world.close();
    assert_eq!(across(&world), "Demo, invented");
    let page = record(&world);
    assert!(page.contains("* 2 of 2 detectors passed\n"), "{page}");
    assert!(section(&page, "Impairments left").contains("None. Nothing was left"), "{page}");
    assert!(fact(&page, "Panel as left").starts_with("Normal · 2026-03-02"), "{page}");
    assert!(fact(&page, "Notified that testing is over").starts_with("Supervising station (2026"), "{page}");
    assert!(!page.contains("Amendments"), "{page}");
}

#[test]
fn what_is_left_off_stands_on_page_1_with_who_accepted_it() {
    // rules B20, C2.
    let mut world = tested();
    let off = world.act(impair(Some(LOOP)));
    world.leave();
    let leaving = LeavingOff {
        off,
        accepted_by: Who::Person(id(PARTNER)),
        until: Some(MORNING + 48 * 3_600 * SECOND),
        notified: Some(named("Fire marshal")),
        note: None,
        happened: happened(MORNING),
    };
    world.act(Command::LeaveOff { visit: id(VISIT), leaving: Box::new(leaving) });
    world.wait(SECOND);
    world.act(Command::CloseVisit { visit: id(VISIT) });
    let page = record(&world);
    let left = section(&page, "Impairments left");
    // 48 h after 09:00 of the second of March.
    assert!(left.contains("| Zone 1 impaired | 2026-03-02 09:00 | someone | 2026-03-04 09:00 |"), "{left}");
    assert_eq!(across(&world), "Demo, invented");
}

#[test]
fn a_merge_that_brings_something_off_makes_it_a_draft() {
    // rule B18.
    let mut world = tested();
    let mut other = world.other_phone();
    other.act(secure("Foam"));
    world.close();
    let merged = world.merged(&other);
    assert_eq!(across(&merged), "Draft, still off · Demo, invented");
    assert!(fact(&record(&merged), "Closed").ends_with("still off: this is a draft"));
}

#[test]
fn what_came_after_a_closing_is_an_amendment() {
    // rule C11.
    let mut world = tested();
    world.close();
    let why = attach(&mut world, "Forgot HD-1");
    world.wait(3_600 * SECOND);
    let earlier = record::digest(&world.book, &world.register(), &world.visit());
    world.act(Command::ReopenVisit { visit: id(VISIT), why, amends: Some(earlier) });
    world.act(notify(
        soakbook::book::body::Whom::SupervisingStation,
        soakbook::book::body::NotifyAnswer::Notified,
        |_| {},
    ));
    passes(&mut world, 80, POSITION);
    world.close();
    let page = record(&world);
    let amended = section(&page, "Amendments");
    let closings = world.book.entries().filter(|entry| matches!(entry.body.name(), "visit_closed"));
    let closing = closings.min_by_key(|entry| entry.stamp.wall);
    let code = closing.expect("a closing").hash.to_string()[..8].to_string();
    assert!(amended.contains("| Closed | 2026-03-02 09:"), "{amended}");
    assert!(amended.contains(&format!("earlier record made from closing {code}")), "{amended}");
    assert!(amended.contains("Forgot HD-1"), "{amended}");
    assert!(amended.contains(&format!("earlier digest {}", &earlier.to_string()[..8])), "{amended}");
    assert_ne!(earlier, record::digest(&world.book, &world.register(), &world.visit()));
    assert!(amended.contains("1 × test started"), "{amended}");
}
