//! Opening and closing steps of a visit.

use super::kit::*;
use soakbook::book::body::{Disposition, Ending, Fault, RetestWhy, Told, Watcher};
use soakbook::book::command::Command;
use soakbook::book::entry::Hash;
use soakbook::book::refusal::{Field, Refusal};
use soakbook::trade::conditions::{Restores, Visual};

fn open(visit: u8, site: u8) -> Command {
    Command::OpenVisit { visit: id(visit), site: id(site) }
}

fn close() -> Command {
    Command::CloseVisit { visit: id(VISIT) }
}

fn secure() -> Command {
    Command::Secure { visit: id(VISIT), release: "Door 7".into(), by: id(PERSON) }
}

#[test]
fn a_visit_is_opened_on_a_known_site_and_joined_by_other_phones() {
    check(World::given(), open(200, SITE), Ok(&["visit_opened"]));
    check(World::given(), open(200, 201), Err(Refusal::UnknownSite));
    check(World::given(), open(VISIT, SITE), Ok(&[]));
    let mut other = World::given();
    other.phone = Phone::new(110);
    check(other, open(VISIT, SITE), Ok(&["visit_opened"]));
    let given = World::given();
    assert_eq!(given.other_phone().visit().phones.len(), 2);
}

#[test]
fn a_visit_closes_when_nothing_is_left_open() {
    check(World::given(), close(), Ok(&["visit_closed"]));
    let running = World::running(SELF_HEATER, SET_POINT, Restores::NotWatched);
    check(running, close(), Err(Refusal::VisitNotOver { tests: 1, ends: 0 }));
    let mut world = World::given();
    let securing = world.act(secure());
    let outage = world.act(Command::TakeOut { visit: id(VISIT), circuit: None });
    check(world.clone(), close(), Err(Refusal::VisitNotOver { tests: 0, ends: 2 }));
    world.act(Command::Restore { securing, by: id(PERSON) });
    world.act(Command::PutBack { outage });
    check(world.clone(), close(), Ok(&["visit_closed"]));
    world.wait(SECOND);
    let closing = world.act(close());
    for command in [close(), open(VISIT, SITE), secure(), Command::TakeOut { visit: id(VISIT), circuit: None }] {
        check(world.clone(), command, Err(Refusal::NoOpenVisit));
    }
    world.wait(SECOND).act(Command::Undo { target: closing });
    check(world, secure(), Ok(&["secured"]));
}

#[test]
fn only_what_is_in_force_can_be_ended_and_only_once() {
    let mut world = World::given();
    let (securing, outage) = (world.act(secure()), world.act(Command::TakeOut { visit: id(VISIT), circuit: None }));
    let restore = |securing| Command::Restore { securing, by: id(PERSON) };
    let back = |outage| Command::PutBack { outage };
    check(world.clone(), restore(outage), Err(Refusal::NothingToEnd));
    check(world.clone(), back(securing), Err(Refusal::NothingToEnd));
    check(world.clone(), restore(Hash::of(b"")), Err(Refusal::NothingToEnd));
    world.wait(SECOND);
    let restored = world.act(restore(securing));
    check(world.clone(), restore(securing), Err(Refusal::NothingToEnd));
    // A restoring that was a slip is undone, and the securing is in force again.
    world.wait(SECOND).act(Command::Undo { target: restored });
    assert!(world.visit().is_secured("Door 7"));
    check(world, restore(securing), Ok(&["restored"]));
}

#[test]
fn what_one_phone_secured_another_restores() {
    let mut one = World::given();
    let securing = one.act(secure());
    let mut two = one.other_phone();
    two.act(Command::Restore { securing, by: id(PERSON) });
    let visit = one.merged(&two).visit();
    assert_eq!(visit.securings.iter().map(|s| s.restored.is_some()).collect::<Vec<_>>(), [true]);
    assert_eq!(one.visit().open_ends(), 1);
}

#[test]
fn who_was_told_is_kept() {
    let mut world = World::given();
    let tell = |whom, when| Command::Tell { visit: id(VISIT), whom, when, by: None };
    world.act(tell(Watcher::Occupants, Told::Before));
    world.wait(SECOND).act(tell(Watcher::Occupants, Told::After));
    let told = world.visit().told;
    // A second after the morning.
    assert_eq!(
        told,
        [(Watcher::Occupants, Told::Before, MORNING), (Watcher::Occupants, Told::After, MORNING + SECOND),]
    );
    check(
        world,
        Command::Tell { visit: id(200), whom: Watcher::Owner, when: Told::Before, by: None },
        Err(Refusal::NoOpenVisit),
    );
}

#[test]
fn a_permit_has_number_gas_test_and_an_end() {
    let permit = |number: &str, gas_test: &str, tested_at, until| Command::TakePermit {
        visit: id(VISIT),
        area: None,
        number: number.into(),
        gas_test: gas_test.into(),
        tested_at,
        until,
    };
    let empty = |name| Err(Refusal::Field(Field::Empty { name }));
    let date = |name| Err(Refusal::Field(Field::Date { name }));
    check(World::given(), permit("P-17", "0 % LEL", 0, 1), Ok(&["permit_taken"]));
    check(World::given(), permit("", "0 % LEL", 0, 1), empty("Permit number"));
    check(World::given(), permit("P-17", "", 0, 1), empty("Gas test"));
    check(World::given(), permit("P-17", "0 % LEL", 1, 1), date("Permit holds until"));
    check(World::given(), permit("P-17", "0 % LEL", 0, i64::MAX), date("Permit holds until"));
    check(World::given(), permit("P-17", "0 % LEL", i64::MIN, 1), date("Time of the gas test"));
}

#[test]
fn a_detector_can_be_looked_at_without_a_test() {
    let look = |n| Command::LookAt { visit: id(VISIT), detector: id(n), visual: Visual::Damaged };
    check(World::given(), look(DETECTOR), Ok(&["looked_at"]));
    check(World::given(), look(200), Err(Refusal::UnknownDetector));
}

#[test]
fn a_deficiency_is_found_and_disposed_of() {
    let mut world = World::given();
    let (visit, detector) = (id(VISIT), id(DETECTOR));
    let found = world.act(Command::FindDeficiency { visit, detector, test: None, fault: Fault::Visual, note: None });
    let dispose = |deficiency, how| Command::DisposeDeficiency { deficiency, how, note: None };
    check(world.clone(), dispose(Hash::of(b""), Disposition::Replaced), Err(Refusal::NothingToEnd));
    world.wait(SECOND).act(dispose(found, Disposition::OwnerNotified));
    world.wait(SECOND).act(dispose(found, Disposition::Replaced));
    assert_eq!(world.visit().deficiencies[0].disposed, [Disposition::OwnerNotified, Disposition::Replaced]);
}

#[test]
fn notes_and_looking_again_name_what_they_are_about() {
    let mut world = World::running(SELF_HEATER, SET_POINT, Restores::NotWatched);
    let note = Hash::of(b"salted words");
    world.wait(SECOND).act(Command::Note { visit: id(VISIT), about: id(TEST), note });
    assert_eq!(world.test().notes, [note]);
    check(world.clone(), Command::Note { visit: id(200), about: id(TEST), note }, Err(Refusal::NoOpenVisit));
    check(world.clone(), Command::Retest { test: id(TEST), why: RetestWhy::Wanted }, Ok(&["retest"]));
    check(world.clone(), Command::Retest { test: id(200), why: RetestWhy::Wanted }, Err(Refusal::UnknownTest));
    check(world, Command::End { test: id(200), how: Ending::Done }, Err(Refusal::UnknownTest));
}
