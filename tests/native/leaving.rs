//! Nobody drives off with something still off without having said so by name.

mod closing;
mod limits;
mod pages;
mod record;
mod sequences;
mod settling;
mod wrong_point;

use crate::kit::*;
use soakbook::book::body::{
    Answer, BreakKind, CircuitProof, Ending, Excuse, LeavingOff, LiftCheck, Method, NotTested, NotTestedWhy,
    NotifyAnswer, NotifyWhen, OpenPair, OtherMethod, Outputs, PhoneRef, Point, StationSaw, What, Who, Whom,
};
use soakbook::book::command::{Command, StartBreak};
use soakbook::book::entry::Hash;
use soakbook::book::refusal::Refusal;
use soakbook::book::visit::{Missing, StillOff};
use soakbook::units::Wall;

const HOUR: i64 = 3_600 * SECOND;

fn me() -> Who {
    Who::Person(id(PERSON))
}

fn close() -> Command {
    Command::CloseVisit { visit: id(VISIT) }
}

/// Left off until `until`, with one thing changed.
fn leave_off(off: Hash, until: Wall, change: impl FnOnce(&mut LeavingOff)) -> Command {
    let mut leaving = LeavingOff {
        off,
        accepted_by: named("O. Owner"),
        until: Some(until),
        notified: Some(named("Fire marshal")),
        note: None,
        happened: happened(MORNING),
    };
    change(&mut leaving);
    Command::LeaveOff { visit: id(VISIT), leaving: Box::new(leaving) }
}

fn not_tested(n: u8, why: NotTestedWhy, change: impl FnOnce(&mut NotTested)) -> Command {
    let mut of = NotTested {
        position: id(n),
        why,
        not_allowed_by: None,
        note: None,
        photo: None,
        by: me(),
        happened: happened(MORNING),
    };
    change(&mut of);
    Command::NotTested { visit: id(VISIT), not_tested: Box::new(of) }
}

/// A good functional result by warm air, with one thing changed.
fn other_method(n: u8, change: impl FnOnce(&mut OtherMethod)) -> Command {
    let mut other = OtherMethod {
        test: id(90),
        position: id(n),
        detector: None,
        method: Method::WarmAir,
        basis: Some("Page 12".into()),
        tripped: Answer::Yes,
        point: Point::Right,
        said: None,
        restored: Answer::Yes,
        by: me(),
        note: None,
        happened: happened(MORNING),
    };
    change(&mut other);
    Command::OtherMethod { visit: id(VISIT), other: Box::new(other) }
}

fn open_pair(change: impl FnOnce(&mut OpenPair)) -> Command {
    let mut pair =
        OpenPair { position: Some(id(POSITION)), circuit: None, label: None, by: me(), happened: happened(MORNING) };
    change(&mut pair);
    Command::OpenPair { visit: id(VISIT), pair: Box::new(pair) }
}

fn prove(outputs: Outputs) -> Command {
    let proof = CircuitProof {
        circuit: id(LOOP),
        trip: None,
        point: Point::Right,
        outputs,
        station: StationSaw::OnTest,
        by: me(),
        happened: happened(MORNING),
    };
    Command::ProveCircuit { visit: id(VISIT), proof: Box::new(proof) }
}

fn lift(good: bool) -> Command {
    let check =
        LiftCheck { lift: Some("Scissor lift 2".into()), good, note: None, by: me(), happened: happened(MORNING) };
    Command::CheckLift { visit: id(VISIT), check: Box::new(check) }
}

fn excuse(invitation: Hash) -> Command {
    let why = Hash::of(b"salted reason");
    let excuse = Excuse { of: PhoneRef::Invited(invitation), why, by: named("B. Boss"), happened: happened(MORNING) };
    Command::ExcusePhone { visit: id(VISIT), excuse: Box::new(excuse) }
}

fn start_break(put_back: &[Hash], left_off: &[Hash]) -> Command {
    Command::StartBreak(Box::new(StartBreak {
        visit: id(VISIT),
        kind: BreakKind::Day,
        put_back: put_back.to_vec(),
        left_off: left_off.iter().map(|off| (*off, named("O. Owner"))).collect(),
        by: me(),
        happened: happened(MORNING),
    }))
}

fn end_break() -> Command {
    Command::EndBreak { visit: id(VISIT) }
}

fn told_over() -> Command {
    notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| notice.when = NotifyWhen::After)
}

/// The notice that put the station on test.
fn station(world: &World) -> Hash {
    world.visit().notices.iter().find(|at| at.on_test).expect("on test").hash
}

/// What closing lacks, each in a word.
fn lacks(world: &World) -> Vec<&'static str> {
    match world.decide(close()) {
        Ok(_) => Vec::new(),
        Err(Refusal::VisitNotOver(missing)) => missing.iter().map(word).collect(),
        Err(other) => panic!("{other:?}"),
    }
}

fn word(missing: &Missing) -> &'static str {
    match missing {
        Missing::Test(_) => "test",
        Missing::Off(off) => off_word(&off.what),
        Missing::PanelNotSeen(_) => "panel not seen",
        Missing::PanelDiffers(_) => "panel differs",
        Missing::Untested(_) => "untested",
        Missing::Phone(_) => "phone",
        Missing::Circuit { .. } => "circuit",
    }
}

fn off_word(off: &StillOff) -> &'static str {
    match off {
        StillOff::Impaired(_) => "impaired",
        StillOff::Secured(_) => "secured",
        StillOff::Opened(_) => "open",
        StillOff::OnTest { .. } => "on test",
        StillOff::Permit(_) => "permit",
        StillOff::Unrestored { .. } => "unrestored",
        StillOff::NotOurs(_) => "not ours",
        StillOff::Panel(_) => "panel off",
    }
}

/// A functional test that tripped and was ended, its panel point and restore still to be said.
fn tripped(world: &mut World) -> Hash {
    world.wait(SECOND);
    world.act(start_with(|start| start.procedure = Some(id(FUNCTIONAL))));
    world.wait(30 * SECOND);
    let trip = world.mark(What::Tripped);
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::StoppedEarly });
    trip
}
