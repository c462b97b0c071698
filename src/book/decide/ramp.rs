//! Guided ramps of a head: start, marks, readings, end.

use super::super::Id;
use super::super::body::{Body, RampStart, What};
use super::super::command::{At, StartRamp};
use super::super::entry::{Entry, Scope};
use super::super::kit::Kit;
use super::super::log::Book;
use super::super::ramp::{READINGS_AT_LEAST, Ramp, RampPhase, going_on};
use super::super::refusal::{Field, Refusal};
use super::super::register::Register;
use super::super::round::{Round, rounds};
use super::super::seal::Draft;
use super::run::MOVE_AT_MOST_MS;
use super::start::{alike_at_panel, duty_allows, freeze_detector, freeze_head};
use super::{draft, fields};
use crate::trade::heating::{Heat, may_heat};
use crate::trade::procedure::Template;
use crate::trade::seen::Sign;
use crate::units::{Celsius, Kelvin, Reading};
use std::sync::Arc;

type Drafts = Result<Vec<Draft>, Refusal>;

/// Starts a ramp and marks heat on: one tap, one transaction.
pub(super) fn start(book: &Book, at: At, start: StartRamp) -> Drafts {
    let started = ready(book, at, &start)?;
    let run = start.ramp;
    Ok(vec![
        draft(Scope::Kit, Body::RampStarted(Arc::new(started))),
        draft(Scope::Kit, Body::Mark { run, what: What::HeatOn }),
    ])
}

/// Why a ramp could not start now; for the screen that asks before "start heating".
///
/// # Errors
/// The first refusal, as [`decide`](super::decide) would give it.
pub fn refusals_of(book: &Book, at: At, start: &StartRamp) -> Result<(), Refusal> {
    ready(book, at, start).map(|_| ())
}

fn ready(book: &Book, at: At, start: &StartRamp) -> Result<RampStart, Refusal> {
    if !at.durable {
        return Err(Refusal::NotDurable);
    }
    let head = freeze_head(&Kit::of(book), start.head, start.setting, start.mode.as_ref())?;
    if start.mode.is_none() && !head.heating.modes.is_empty() {
        return Err(Refusal::Field(Field::Choose { name: "Heating mode" }));
    }
    fields::temperature("Ambient temperature", &start.ambient, fields::AMBIENT)?;
    let others = going_on(book, at.phone);
    if others.iter().any(|ramp| ramp.frozen.head.of == start.head) {
        return Err(Refusal::HeadInRamp);
    }
    let rounds = rounds(book);
    let active = || rounds.iter().flat_map(Round::active);
    if let Some(run) = active().find(|run| run.frozen.head.of == start.head) {
        return Err(Refusal::HeadBusy { run: run.id });
    }
    let mut frozen = None;
    if let Some(of) = start.detector {
        let register = Register::of(book);
        let detector = register.detectors.get(&of).ok_or(Refusal::UnknownDetector)?;
        let now = freeze_detector(of, detector)?;
        // A ramp climbs to the upper temperature and stays there, which is what a set-point check does to an element.
        if may_heat(now.marking.kind, false, Template::SetPoint) == Heat::UsesUpElement {
            return Err(Refusal::Heat(Heat::UsesUpElement));
        }
        let here = |round: &&Round| round.closed.is_empty() && register.site_of(of) == Some(round.site);
        let open: Vec<Round> = rounds.iter().filter(here).cloned().collect();
        duty_allows(at, &open, detector, &head.name)?;
        if others.iter().filter_map(|ramp| ramp.frozen.detector.as_ref()).any(|other| other.of == of) {
            return Err(Refusal::DetectorInRamp);
        }
        for run in active() {
            if run.frozen.detector.of == of {
                return Err(Refusal::DetectorBusy);
            }
            if run.frozen.seen_by.sign != Sign::OwnLamp && alike_at_panel(&register, &now, &run.frozen.detector) {
                return Err(Refusal::TripsNotTellable { run: run.id });
            }
        }
        frozen = Some(now);
    }
    // A ramp is what a curve is made of, so the head it freezes names none.
    let StartRamp { ramp, ambient, head_warmth, by, .. } = *start;
    Ok(RampStart { ramp, head, detector: frozen, ambient, head_warmth, by })
}

fn mine(book: &Book, at: At, ramp: Id) -> Result<Ramp, Refusal> {
    let ramp = Ramp::of(book, ramp).ok_or(Refusal::UnknownRamp)?;
    if ramp.phone == at.phone { Ok(ramp) } else { Err(Refusal::OtherPhonesRamp) }
}

fn taken_now(book: &Book, at: At, ramp: Id) -> Result<Ramp, Refusal> {
    let ramp = mine(book, at, ramp)?;
    if ramp.ended.is_none() { Ok(ramp) } else { Err(Refusal::RampEnded) }
}

pub(super) fn mark(book: &Book, at: At, id: Id, what: What) -> Drafts {
    match (taken_now(book, at, id)?.phase(), what) {
        (RampPhase::Heating { .. }, What::AtUpper | What::HeadOff) | (RampPhase::Holding { .. }, What::HeadOff) => {
            Ok(vec![draft(Scope::Kit, Body::Mark { run: id, what })])
        }
        _ => Err(Refusal::NotInRamp),
    }
}

/// How much less than the ambient temperature a reading in a ramp may be. The project's own figure.
const COLDER: Kelvin = Kelvin(10.0);

pub(super) fn read(book: &Book, at: At, id: Id, reading: Reading) -> Drafts {
    let ramp = taken_now(book, at, id)?;
    // A cold head may show less than the thermometer that took the ambient temperature, but a reading without its last digit shows far less.
    let least = Celsius((ramp.frozen.ambient.celsius() - COLDER).0.max(fields::AMBIENT.0.0));
    fields::temperature("Reading", &reading, (least, fields::TEMPERATURE.1))?;
    Ok(vec![draft(Scope::Kit, Body::ReadingTaken { run: id, reading, trip: None })])
}

pub(super) fn end(book: &Book, at: At, id: Id, usable: bool) -> Drafts {
    let ramp = taken_now(book, at, id)?;
    if usable && ramp.at(What::HeadOff).is_none() {
        return Err(Refusal::HeadStillOn);
    }
    if usable && !ramp.is_whole() {
        return Err(Refusal::TooFewReadings { have: ramp.while_heating().len(), least: READINGS_AT_LEAST });
    }
    Ok(vec![draft(Scope::Kit, Body::RampEnded { ramp: id, usable })])
}

/// Moves a mark between its neighbours: the parts of a ramp keep their order, and readings stay behind heat on.
pub(super) fn shift(book: &Book, at: At, entry: &Entry, id: Id, by_ms: i64) -> Drafts {
    let ramp = mine(book, at, id)?;
    let index = ramp.marks.iter().position(|mark| mark.hash == entry.hash).ok_or(Refusal::NoSuchMark)?;
    let marked = ramp.marks[index];
    if marked.moved_ms.saturating_add(by_ms).unsigned_abs() > MOVE_AT_MOST_MS {
        return Err(Refusal::MoveOutside);
    }
    let to = marked.at.saturating_add(by_ms);
    let before = index.checked_sub(1).map_or(i64::MIN, |before| ramp.marks[before].at);
    let now = ramp.ended.map_or_else(|| ramp.time_on(at.phone, at.stamp), |end| end.at);
    let mut after = ramp.marks.get(index + 1).map_or(now, |mark| mark.at);
    if marked.what == What::HeatOn {
        after = ramp.readings.first().map_or(after, |reading| reading.at.min(after));
    }
    if !(before..=after).contains(&to) {
        return Err(Refusal::MoveOutside);
    }
    let session = marked.stamp.session;
    let to_mono = ramp.mono_at(session, to).ok_or(Refusal::NoSuchMark)?;
    Ok(vec![draft(entry.chain.scope, Body::Moved { mark: entry.hash, to_session: session, to_mono })])
}
