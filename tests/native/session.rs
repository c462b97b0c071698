//! What the app holds, what changes it, and what is to be done about each change.

mod delivery;
mod offers;
mod over;
mod photos;
mod refusals;
mod sealing;
mod start;
mod writes;

use crate::kit::*;
use soakbook::book::body::What;
use soakbook::book::command::{Command, StartProfileRun};
use soakbook::book::entries::Book;
use soakbook::book::entry::Entry;
use soakbook::session::{Effect, Loaded, Session, Stage, Tap, batch};
use soakbook::storage::{Attachments, Batch, Found, Record, Settled};
use soakbook::trade::conditions::{Restores, Warmth};
use soakbook::view::prefs::Prefs;

/// A session of the phone of a world, and the clocks of that world.
struct Held {
    session: Session,
    phone: Phone,
}

fn records(book: &Book) -> Vec<Record> {
    batch(&book.entries().cloned().collect::<Vec<Entry>>(), &[]).records
}

fn loaded(world: &World) -> Loaded {
    Loaded {
        phone: world.phone.id,
        phone_not_kept: None,
        session: world.phone.session,
        found: Found { records: records(&world.book), ..Found::default() },
        attachments: Ok(Attachments::default()),
        drafts: Ok(Vec::new()),
        settled: Settled::default(),
        plain: true,
    }
}

fn prefs() -> Prefs {
    Prefs { visit: Some(id(VISIT)), ..Prefs::default() }
}

/// The app is killed in this world and started again, everything read and nothing done about it yet.
fn restarted(mut world: World, change: impl FnOnce(&mut Loaded)) -> Held {
    world.restart(60 * SECOND);
    let mut found = loaded(&world);
    change(&mut found);
    let mut session = Session::new(prefs());
    session.all_rules();
    session.loaded(found);
    Held { session, phone: world.phone }
}

/// The same, and what the start asked for is done.
fn started(world: World) -> Held {
    let mut held = restarted(world, |_| {});
    assert_eq!(held.session.stage(), Stage::Ready);
    let _ = held.session.effects();
    held
}

/// The phone in the hand of the one who has it in this world.
fn handed(mut world: World) -> World {
    world.act(Command::HandPhone { to: id(PERSON) });
    world
}

fn given() -> World {
    handed(World::given())
}

/// The visit of the kit, closed.
fn closed() -> World {
    let mut world = given();
    world.leave().act(Command::CloseVisit { visit: id(VISIT) });
    world
}

/// With a profile run in progress.
fn on_profile_run() -> World {
    let mut world = given();
    world.wait(SECOND).act(Command::StartProfileRun(Box::new(StartProfileRun {
        run: id(20),
        heater: id(SELF_HEATER),
        mode: None,
        setting: c(90),
        position: None,
        ambient: c(20),
        heater_warmth: Warmth::Cold,
    })));
    world
}

fn on_test() -> World {
    handed(World::running(SELF_HEATER, SET_POINT, Restores::Watched))
}

impl Held {
    fn tap(&mut self) -> Tap {
        (self.phone.mono, self.phone.wall) = (self.phone.mono + SECOND, self.phone.wall + SECOND);
        Tap {
            wall_ms: self.phone.wall,
            mono_ms: self.phone.mono,
            offset_min: self.phone.offset_min,
            durable: self.phone.durable,
            zone: || "Europe/Berlin".into(),
        }
    }

    fn act(&mut self, command: Command) -> Vec<Effect> {
        let tap = self.tap();
        self.session.act(&tap, command).expect("allowed");
        self.session.effects()
    }

    fn mark(&mut self, what: What) -> Vec<Effect> {
        self.act(Command::Mark { of: id(TEST), what })
    }

    /// What is written of a mark, and nothing else.
    fn marked(&mut self, what: What) -> Batch {
        only_write(self.mark(what))
    }
}

fn only_write(effects: Vec<Effect>) -> Batch {
    match effects.as_slice() {
        [Effect::Append(batch)] => batch.clone(),
        other => panic!("one write: {other:?}"),
    }
}

fn hashes(batch: &Batch) -> Vec<String> {
    batch.records.iter().map(|record| record.hash.clone()).collect()
}
