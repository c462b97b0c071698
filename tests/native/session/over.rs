//! Closed visits: left for later by the next start, and not over again once something is written to them.

use super::*;
use soakbook::book::command::Command;
use soakbook::book::entry::{Chain, Hash, Scope};
use soakbook::session::Setting;
use soakbook::view::handover::HandedOver;

const SECOND_VISIT: u8 = 30;

fn scope(visit: u8) -> String {
    Scope::Visit(id(visit)).to_string()
}

/// A stretch as it is kept: `Settled` writes the first and the last scope of a line.
fn stretch(visits: [u8; 2]) -> Vec<Effect> {
    vec![Effect::Put(Setting::Over, format!("{} {}\n", scope(visits[0]), scope(visits[1])))]
}

fn note(visit: u8) -> Command {
    Command::Note { visit: id(visit), about: id(visit), note: Hash::of(b"a note, salted") }
}

/// A phone on which everything is read.
fn all_read(world: World) -> (Held, Vec<Effect>) {
    let mut held = started(world);
    held.session.read_all(Ok(()), &HandedOver::new());
    let effects = held.session.effects();
    (held, effects)
}

/// Two closed visits, neighbours in the database.
fn two_closed() -> World {
    let mut world = closed();
    world.wait(SECOND).act(Command::OpenVisit { visit: id(SECOND_VISIT), site: id(SITE), plan: plan() });
    world.wait(SECOND).act(Command::CloseVisit { visit: id(SECOND_VISIT) });
    world
}

#[test]
fn only_what_is_closed_is_left_for_later() {
    assert_eq!(all_read(given()).1, []);
    assert_eq!(all_read(closed()).1, stretch([VISIT, VISIT]));
    assert_eq!(all_read(two_closed()).1, stretch([VISIT, SECOND_VISIT]));
}

#[test]
fn what_is_known_already_is_not_written_again() {
    let mut held = restarted(closed(), |loaded| {
        loaded.settled = Settled::read(&format!("{} {}\n", scope(VISIT), scope(VISIT)));
    });
    held.session.read_all(Ok(()), &HandedOver::new());
    assert_eq!(held.session.effects(), []);
    assert!(held.session.settled().has(&scope(VISIT)));
}

#[test]
fn second_copies_go_once_the_visit_has_left_the_phone() {
    let world = closed();
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let (count, last) = (world.book.chain(chain).count(), world.book.tip(chain).unwrap().hash.to_string());
    let handed = HandedOver::from([(format!("{} {}", chain.scope, chain.phone), (count, last))]);
    let mut held = started(world);
    held.session.read_all(Ok(()), &handed);
    assert_eq!(held.session.effects()[0], Effect::ForgetCopies(scope(VISIT)));
}

#[test]
fn a_visit_that_something_is_written_to_is_not_over_and_its_neighbours_are() {
    let (mut held, _) = all_read(two_closed());
    let effects = held.act(note(VISIT));
    assert!(matches!(effects[0], Effect::Append(_)), "the write comes first: {effects:?}");
    assert_eq!(effects[1..], stretch([SECOND_VISIT, SECOND_VISIT]));
    // Said once: the next tap writes no setting.
    only_write(held.act(note(VISIT)));
}

#[test]
fn before_all_is_read_the_whole_stretch_is_read_at_once_next_time() {
    let mut held = restarted(two_closed(), |loaded| {
        loaded.settled = Settled::read(&format!("{} {}\n", scope(VISIT), scope(SECOND_VISIT)));
    });
    assert_eq!(held.act(note(VISIT))[1..], [Effect::Put(Setting::Over, String::new())]);
    // Once it is, what is closed is over again.
    held.session.read_all(Ok(()), &HandedOver::new());
    assert_eq!(held.session.effects(), stretch([VISIT, SECOND_VISIT]));
}

#[test]
fn what_comes_in_from_elsewhere_ends_it_too() {
    let world = two_closed();
    let (mut held, _) = all_read(world.clone());
    let mut other = handed(world.other_phone());
    other.wait(SECOND).act(note(SECOND_VISIT));
    let new = other.book.entries().filter(|entry| world.book.get(entry.hash).is_none());
    let entries = new.cloned().collect();
    held.session.imported(entries, Vec::new(), Vec::new());
    assert_eq!(held.session.effects(), stretch([VISIT, VISIT]));
    assert!(*held.session.book() == other.book);
}

#[test]
fn a_tap_in_an_open_visit_writes_no_setting() {
    let mut held = started(on_test());
    for what in [What::Tripped, What::AtTop, What::HeaterOff] {
        held.marked(what);
    }
}

#[test]
fn open_visits_keep_second_copies() {
    let mut held = started(given());
    held.session.keep_copies_of_open_visits();
    let copies = |effects: Vec<Effect>| match effects.as_slice() {
        [Effect::KeepCopies(records)] => records.iter().map(|record| record.scope.clone()).collect::<Vec<_>>(),
        other => panic!("{other:?}"),
    };
    let kept = copies(held.session.effects());
    assert!(!kept.is_empty() && kept.iter().all(|of| *of == scope(VISIT)));
    let mut held = started(closed());
    held.session.keep_copies_of_open_visits();
    assert_eq!(copies(held.session.effects()), Vec::<String>::new());
}
