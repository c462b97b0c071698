//! Sequences after which the app would say something unsafe or wrong of a detector. Each expectation names the rule it is held against.

mod bundle;
mod heat;
mod limits;
mod results;
mod silence;
mod traces;

use crate::kit::*;
use crate::visit_rules::{found, functional, given, known, outcome, shown, tenths};
use soakbook::book::body::{Ending, ItemWhat, Point, What};
use soakbook::book::command::Command;
use soakbook::book::entry::Hash;
use soakbook::findings::{Outcome, of_test};
use soakbook::trade::detector::Marking;
use soakbook::units::Degree;
use soakbook::view::visit::{Standing, VisitScreen};

fn rated_80() -> World {
    given(|marking| marking.rating = Some(c(80)))
}

fn another() -> Command {
    functional(|start| start.test = id(OTHER_TEST))
}

fn end(how: Ending) -> Command {
    Command::End { test: id(TEST), how }
}

/// A functional test that tripped at 50 s, and the trip.
fn tripped() -> (World, Hash) {
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    let trip = world.taps(&[(50, What::Tripped)])[0];
    world.wait(SECOND);
    (world, trip)
}

/// The first position passed, all three results seen; the trip and the restore.
fn passed() -> (World, Hash, Hash) {
    let (mut world, trip) = tripped();
    world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    let restore = world.wait(SECOND).mark(What::Restored);
    assert_eq!(outcome(&world), Outcome::Passed);
    world.wait(SECOND);
    (world, trip, restore)
}

/// All three results in the second test, the trip so many seconds after heat on.
fn pass_another(world: &mut World, second: i64) -> Hash {
    world.act(another());
    world.wait(second * SECOND);
    let trip = world.act(Command::Mark { of: id(OTHER_TEST), what: What::Tripped });
    world.wait(SECOND).act(Command::SayPanel { trip, point: Point::Right, said: None });
    world.wait(SECOND).act(Command::Mark { of: id(OTHER_TEST), what: What::Restored });
    world.wait(SECOND);
    trip
}

/// A test of the first position that ended without a trip and decides nothing.
fn undecided() -> World {
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    world.wait_until(100);
    world.act(end(Ending::NoTrip));
    world.wait(SECOND);
    world
}

/// Whether "operation not proven" is open on the first position.
fn not_proven_is_open(world: &World) -> bool {
    let of = |item: &&soakbook::book::visit::Item| {
        item.found.what == ItemWhat::OperationNotProven && item.found.position == Some(id(POSITION))
    };
    world.visit().items.iter().filter(of).any(soakbook::book::visit::Item::is_open)
}

/// How the list shows the first position.
fn standing(world: &World) -> Standing {
    let of = world.visit();
    let found = soakbook::findings::visit(&world.book, &of);
    let screen = VisitScreen::of(&world.book, &world.register(), &of, Some(&found), Degree::F, 0, world.phone.wall);
    screen.areas.iter().flat_map(|(_, rows)| rows).find(|row| row.id == id(POSITION)).expect("its row").standing
}
