//! After a change of the panel's programming, and after a detector was taken out. Rules B15 and B16.

use crate::kit::*;
use soakbook::book::Id;
use soakbook::book::body::{Ending, Point, ProgrammingChange, RemovedWhy, What, Who};
use soakbook::book::command::Command;
use soakbook::book::kit::Kit;
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::book::visit::{Missing, Reaccepted, draw, drawn_of};
use soakbook::units::Degree;
use soakbook::view::forms::{self, Known, Making, Typed};
use soakbook::view::leaving::Leaving;
use soakbook::view::page::text::text;
use soakbook::view::route::Form;
use soakbook::view::visit::VisitScreen;
use std::collections::{BTreeMap, BTreeSet};

fn change(affected: &[Id]) -> Command {
    let (by, happened) = (Who::Person(id(PERSON)), happened(MORNING));
    let change = ProgrammingChange { affected: affected.to_vec(), note: None, by, happened };
    Command::ChangeProgramming { visit: id(VISIT), change: Box::new(change) }
}

/// With thirty positions more than the two that are given.
fn many() -> World {
    let mut world = World::given();
    for n in 160..190 {
        world.act(put_position_with(n, &format!("HD-{n}"), |put| put.detector = id(n + 40)));
    }
    world
}

fn closing(world: &World) -> String {
    let (register, visit) = (world.register(), world.visit());
    let now = world.phone.wall;
    text(&Leaving { book: &world.book, register: &register, visit: &visit, offset_min: 0, now }.closing())
}

fn visit_page(world: &World) -> String {
    let (register, now) = (world.register(), world.phone.wall);
    text(&VisitScreen::of(&world.book, &register, &world.visit(), None, Degree::F, 0, now).page(now))
}

/// A functional test with all three results.
fn passes(world: &mut World, test: u8, position: u8) {
    world.wait(SECOND).act(start_with(|start| {
        (start.test, start.position, start.procedure) = (id(test), id(position), Some(id(FUNCTIONAL)));
    }));
    let trip = world.wait(60 * SECOND).act(Command::Mark { of: id(test), what: What::Tripped });
    world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    world.wait(SECOND).act(Command::Mark { of: id(test), what: What::Restored });
}

#[test]
fn a_tenth_of_the_others_is_drawn_and_at_most_fifty() {
    // NFPA 72 (2013), reacceptance testing: 10 %, at most 50. Rounded up, own figure.
    for (others, drawn) in [(0, 0), (1, 1), (10, 1), (11, 2), (499, 50), (500, 50), (501, 50), (5_000, 50)] {
        assert_eq!(drawn_of(others), drawn, "{others}");
    }
}

#[test]
fn an_auditor_draws_the_same_from_the_seed() {
    // Python 3.11, hashlib.sha256(("a-1" + str(uuid.UUID(int=n))).encode()).hexdigest(): for 7, 8 and 9 it begins with 55ad, 830f, fd0a.
    let ids = [9, 7, 8].map(Id::from_u128);
    let by_hand = [7, 8, 9].map(Id::from_u128);
    assert_eq!(draw("a-1", &ids, 2), by_hand[..2]);
    let turned: Vec<Id> = ids.iter().rev().copied().collect();
    assert_eq!(draw("a-1", &turned, 3), by_hand, "the order in which they stand changed the draw");
}

#[test]
fn all_that_is_affected_and_what_is_drawn_goes_on_the_list() {
    let mut world = many();
    let affected = [id(POSITION), id(OTHER_POSITION)];
    let entry = world.act(change(&affected));
    let visit = world.visit();
    // By hand: a tenth of thirty.
    let sample = visit.record.samples[0].what.clone();
    assert_eq!((sample.from.len(), sample.drawn.len()), (30, 3));
    assert_eq!(sample.seed, format!("{}-1", id(VISIT)));
    assert_eq!(visit.planned(), sample.drawn.iter().chain(&affected).copied().collect::<BTreeSet<_>>());
    assert_eq!(visit.reacceptance(affected[0]).map(|(why, _)| why), Some(Reaccepted::Affected));
    assert_eq!(visit.reacceptance(sample.drawn[0]).map(|(why, _)| why), Some(Reaccepted::Drawn));
    let rest = sample.from.iter().find(|id| !sample.drawn.contains(id)).unwrap();
    assert_eq!(visit.reacceptance(*rest), None);
    for page in [visit_page(&world), closing(&world)] {
        assert!(page.contains("Reacceptance: affected") && page.contains("Reacceptance: drawn by the app"), "{page}");
    }
    assert!(visit_page(&world).contains("2 affected, 3 of 30 others drawn by the app"), "{}", visit_page(&world));
    // Undone and made once more it comes out the same: nobody draws until it suits.
    world.wait(SECOND).act(Command::Undo { target: entry });
    assert_eq!(world.visit().planned(), BTreeSet::new());
    world.wait(SECOND).act(change(&affected));
    assert_eq!(world.visit().record.samples[0].what, sample);
    // The next change draws by a seed of its own.
    world.wait(SECOND).act(change(&affected));
    assert_eq!(world.visit().record.samples[1].what.seed, format!("{}-2", id(VISIT)));
}

#[test]
fn what_was_tested_before_the_change_is_tested_again() {
    let mut world = World::given();
    passes(&mut world, TEST, POSITION);
    assert!(world.visit().has_result(id(POSITION)));
    world.wait(SECOND).act(change(&[id(POSITION)]));
    assert!(!world.visit().has_result(id(POSITION)), "a test before the change counted");
    assert!(world.visit().missing(world.phone.wall).contains(&Missing::Untested(id(POSITION))));
    assert!(visit_page(&world).contains("<Retest>"), "{}", visit_page(&world));
    passes(&mut world, OTHER_TEST, POSITION);
    assert!(world.visit().has_result(id(POSITION)));
}

#[test]
fn a_change_says_what_it_affects_and_is_of_this_site() {
    check(World::given(), change(&[]), Err(Refusal::Field("ProgrammingChange.affected", Fault::Choose)));
    check(World::given(), change(&[id(200)]), Err(Refusal::UnknownPosition));
    let types = ["programming_changed", "sample_drawn", "positions_planned"];
    check(World::given(), change(&[id(POSITION)]), Ok(&types));
    check(World::given(), change(&[id(POSITION), id(OTHER_POSITION)]), Ok(&[types[0], types[2]]));
}

#[test]
fn the_form_takes_circuits_and_single_positions() {
    let mut world = many();
    world.act(put_position_with(OTHER_POSITION, "HD-2", |put| put.place.circuit = Some(id(LINE))));
    let (register, kit) = (world.register(), Kit::of(&world.book));
    let known =
        Known { register: &register, kit: &kit, book: &world.book, visit: Some(id(VISIT)), at: world.phone.at() };
    let made = |typed: &Typed| {
        let making = Making { id: id(201), other: id(202), attached: &BTreeMap::new() };
        forms::command(Form::Programming, typed, making, known)
    };
    let mut typed = forms::open(Form::Programming, known, Degree::F);
    assert!(made(&typed).is_err(), "nothing was ticked");
    typed.set("affected-circuits", &id(LINE).to_string());
    typed.set("affected", &id(160).to_string());
    let commands = made(&typed).expect("a command");
    let [Command::ChangeProgramming { change, .. }] = &commands[..] else { panic!("{commands:?}") };
    assert_eq!(change.affected.iter().copied().collect::<BTreeSet<_>>(), BTreeSet::from([id(OTHER_POSITION), id(160)]));
}

#[test]
fn a_detector_that_was_taken_out_asks_for_another_one_on_its_circuit() {
    let mut world = World::given();
    passes(&mut world, TEST, OTHER_POSITION);
    let Command::Replace(mut taken_out) = replace(POSITION) else { unreachable!() };
    (taken_out.new, taken_out.why) = (None, RemovedWhy::Failed);
    world.wait(SECOND).act(Command::Replace(taken_out));
    let asks = |world: &World| {
        let missing = world.visit().missing(world.phone.wall);
        missing.into_iter().any(|missing| matches!(missing, Missing::Circuit { .. }))
    };
    assert!(asks(&world), "a test before it counted");
    let page = closing(&world);
    assert!(page.contains("Zone 1: HD-1 was taken out") && page.contains("[Test HD-2]"), "{page}");
    let refused = world.decide(Command::CloseVisit { visit: id(VISIT) });
    assert!(matches!(refused, Err(Refusal::VisitNotOver(_))));
    // One without the right point at the panel proves no circuit.
    world.wait(SECOND).act(start_with(|start| {
        (start.test, start.position, start.procedure) = (id(OTHER_TEST), id(OTHER_POSITION), Some(id(FUNCTIONAL)));
    }));
    let trip = world.wait(60 * SECOND).act(Command::Mark { of: id(OTHER_TEST), what: What::Tripped });
    world.wait(SECOND).act(Command::End { test: id(OTHER_TEST), how: Ending::StoppedEarly });
    assert!(asks(&world));
    world.wait(SECOND).act(Command::SayPanel { trip, point: Point::Right, said: None });
    assert!(!asks(&world));
}

#[test]
fn a_position_that_is_given_up_and_an_item_that_is_closed_ask_for_nothing() {
    let mut world = World::given();
    let Command::Replace(mut taken_out) = replace(POSITION) else { unreachable!() };
    (taken_out.new, taken_out.why) = (None, RemovedWhy::PositionGone);
    world.wait(SECOND).act(Command::Replace(taken_out.clone()));
    let asks = |world: &World| closing(world).contains("was taken out");
    assert!(!asks(&world));
    let mut world = World::given();
    taken_out.why = RemovedWhy::Failed;
    world.wait(SECOND).act(Command::Replace(taken_out));
    assert!(asks(&world));
    let item = world.visit().items[0].hash;
    let (how, by) = (soakbook::book::body::ItemClosed::Accepted, named("O. Owner"));
    let close = Command::CloseItem { item, how, by, note: None, happened: happened(MORNING) };
    world.wait(SECOND).act(close);
    assert!(!asks(&world));
}
