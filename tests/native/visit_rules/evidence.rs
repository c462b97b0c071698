//! Items are closed by what shows it: 0.14. An alarm that is not ours: 0.21.

use super::*;
use soakbook::book::body::What::{Lowered, Restored, Tripped};
use soakbook::book::body::{Ending, ItemClosed, ItemWhat, NotOurs, Point, Who, Work};
use soakbook::book::entry::Hash;
use soakbook::book::refusal::Refusal;

const LAST_TEST: u8 = 40;

fn close(item: Hash, how: ItemClosed) -> Command {
    Command::CloseItem { item, how, by: Who::Person(id(PERSON)), note: None, happened: happened(MORNING) }
}

/// A functional test of this number with all three results; it ends by itself once the heater is lowered.
fn passes(world: &mut World, test: u8) {
    world.wait(SECOND).act(functional(|start| start.test = id(test)));
    for what in [Tripped, Lowered, Restored] {
        world.wait(50 * SECOND);
        let hash = world.act(Command::Mark { of: id(test), what });
        if what == Tripped {
            world.act(Command::SayPanel { trip: hash, point: Point::Right, said: None });
        }
    }
}

/// A test that decided nothing, and the item it left.
fn not_proven() -> (World, Hash) {
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    world.wait(60 * SECOND).act(Command::End { test: id(TEST), how: Ending::NoTrip });
    let visit = world.visit();
    let item = visit.items.iter().find(|item| item.found.what == ItemWhat::OperationNotProven).expect("an item");
    (world, item.hash)
}

#[test]
fn v0_14_repaired_and_tested_needs_the_repair_and_a_later_passed_test() {
    let (mut world, item) = not_proven();
    let how = ItemClosed::RepairedAndTested;
    assert_eq!(world.try_act(close(item, how)).map(|_| ()), Err(Refusal::NoWorkDone { replaced: false }));
    let repair = Command::Repair {
        visit: id(VISIT),
        position: id(POSITION),
        work: Work::Wiring,
        item: Some(item),
        note: None,
        happened: happened(MORNING),
    };
    world.wait(SECOND).act(repair);
    assert_eq!(world.try_act(close(item, how)).map(|_| ()), Err(Refusal::NoPassedTest));
    passes(&mut world, OTHER_TEST);
    world.wait(SECOND).act(close(item, how));
    let visit = world.visit();
    let closed = &visit.items.iter().find(|other| other.hash == item).expect("the item").closed;
    assert_eq!(closed[..], [(ItemClosed::RepairedAndTested, Who::Person(id(PERSON)))]);
}

#[test]
fn v0_14_replaced_is_a_replacement_entry() {
    let (mut world, item) = not_proven();
    let how = ItemClosed::ReplacedAndTested;
    passes(&mut world, OTHER_TEST);
    world.wait(SECOND);
    assert_eq!(world.try_act(close(item, how)).map(|_| ()), Err(Refusal::NoWorkDone { replaced: true }));
    world.act(replace(POSITION));
    assert_eq!(world.try_act(close(item, how)).map(|_| ()), Err(Refusal::NoPassedTest), "that one was before it");
    passes(&mut world, LAST_TEST);
    // Rule B14: it is closed by itself.
    let closed =
        |world: &World| world.visit().items.iter().find(|other| other.hash == item).expect("the item").closed.clone();
    assert_eq!(closed(&world), [(how, Who::Person(id(PERSON)))]);
}

#[test]
fn b14_an_item_closes_by_itself_once_the_detector_put_in_for_it_has_passed() {
    let (mut world, item) = not_proven();
    let Command::Replace(mut replaced) = replace(POSITION) else { unreachable!() };
    replaced.item = Some(item);
    let work = world.wait(SECOND).act(Command::Replace(replaced));
    let closed = |world: &World| world.visit().items.into_iter().find(|of| of.hash == item).expect("the item").closed;
    assert!(closed(&world).is_empty(), "put in, and not tested");
    passes(&mut world, OTHER_TEST);
    assert_eq!(closed(&world), [(ItemClosed::ReplacedAndTested, Who::Person(id(PERSON)))]);
    // Taken back, the replacement answers nothing.
    world.wait(SECOND).act(Command::Undo { target: work });
    assert!(closed(&world).is_empty());
}

#[test]
fn v0_21_an_alarm_that_is_not_ours_ends_all_heats_until_a_named_person_clears_it() {
    for what in [NotOurs::Alarm, NotOurs::OutputMoved] {
        let mut world = given(|_| {});
        assert!(world.visit().is_on_test(), "the station is notified");
        world.act(functional(|_| {}));
        world.wait(30 * SECOND);
        let alarm = world.act(Command::AlarmNotOurs { visit: id(VISIT), what, note: None });
        let visit = world.visit();
        let said = visit.alarms_not_cleared().next().expect("recorded");
        assert_eq!((said.hash, said.what, said.by), (alarm, what, Who::Person(id(PERSON))));
        assert_eq!(said.happened.at.whole_minute(), world.phone.wall.whole_minute());
        assert_eq!(world.test().ended.map(|(how, _)| how), Some(Ending::AlarmNotOurs));
        // The detector that was being heated is not lost.
        assert!(visit.items.iter().any(|item| item.found.what == ItemWhat::OperationNotProven));
        let next = || functional(|start| start.test = id(OTHER_TEST));
        assert_eq!(world.wait(SECOND).try_act(next()).map(|_| ()), Err(Refusal::AlarmNotCleared));
        world.act(Command::ClearAlarm { alarm, by: named("Fire officer"), note: None });
        assert!(world.try_act(next()).is_ok());
    }
    // Where nothing is on test there is no such key.
    assert!(!World::not_notified().visit().is_on_test());
}
