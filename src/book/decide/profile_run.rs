//! Profile runs of a heater: start, marks, readings, end.

use super::super::Id;
use super::super::body::{Body, ProfileRunStart, What};
use super::super::command::{At, StartProfileRun};
use super::super::entries::Book;
use super::super::entry::{Entry, Scope};
use super::super::kit::Kit;
use super::super::profile_run::{ProfileRun, ProfileRunPhase, READINGS_AT_LEAST, going_on};
use super::super::refusal::{Fault, Refusal};
use super::super::register::Register;
use super::super::visit::{Station, Visit, visits};
use super::side_by_side::alike_at_panel;
use super::start::{duty_allows, freeze_detector, freeze_heater, freeze_position};
use super::{Drafts, MOVE_AT_MOST_MS, draft, fields};
use crate::encoding::stored::Stored;
use crate::trade::detector::Marking;
use crate::trade::fields::{AMBIENT, Kind, TEMPERATURE};
use crate::trade::heating::{Heat, may_heat};
use crate::trade::procedure::ProcedureKind;
use crate::units::{Celsius, Kelvin, Reading, TestTime};
use std::sync::Arc;

/// Starts a profile run and marks heat on: one tap, one transaction.
pub(super) fn start(book: &Book, at: At, start: StartProfileRun) -> Drafts {
    let of = start.run;
    let started = ready(book, at, &start)?;
    Ok(vec![
        draft(Scope::Kit, Body::ProfileRunStarted(Arc::new(started))),
        draft(Scope::Kit, Body::Mark { of, what: What::HeatOn }),
    ])
}

/// Why a profile run could not start now; for the screen that asks before "start heating".
///
/// # Errors
/// The first refusal, as [`decide`](super::decide) would give it.
pub fn refusals_of(book: &Book, at: At, start: &StartProfileRun) -> Result<(), Refusal> {
    ready(book, at, start).map(|_| ())
}

fn ready(book: &Book, at: At, start: &StartProfileRun) -> Result<ProfileRunStart, Refusal> {
    if !at.durable {
        return Err(Refusal::NotDurable);
    }
    let kit = Kit::of(book);
    let heater = freeze_heater(&kit, start.heater, start.setting, start.mode.as_ref())?;
    if start.mode.is_none() && !heater.heating.modes.is_empty() {
        return Err(Refusal::Field("HeaterSnapshot.mode", Fault::Choose));
    }
    let ambient = Kind::Temperature(AMBIENT.0, AMBIENT.1);
    fields::check_one("ProfileRunStart.ambient", ambient, &start.ambient.to_value())?;
    let others = going_on(book, at.phone);
    if others.iter().any(|run| run.frozen.heater.of == start.heater) {
        return Err(Refusal::HeaterInProfileRun);
    }
    let visits = visits(book);
    if visits.iter().any(|visit| visit.alarms_not_cleared().next().is_some()) {
        return Err(Refusal::AlarmNotCleared);
    }
    let active = || visits.iter().flat_map(Visit::active);
    if let Some(test) = active().find(|test| test.frozen.heater.of == start.heater) {
        return Err(Refusal::HeaterBusy { test: test.id });
    }
    let mut marking = None;
    if let Some(of) = start.position {
        let register = Register::of(book);
        let position = register.positions.get(&of).ok_or(Refusal::UnknownPosition)?;
        let frozen = freeze_position(of, position)?;
        let detector = freeze_detector(&register, position)?;
        // A profile run heats to the top temperature and stays there, which is what a set-point test does to an element.
        let verdict = may_heat(detector.marking.detector_type, ProcedureKind::SetPoint);
        if matches!(verdict, Heat::UsesUpElement | Heat::TypeUnknown) {
            return Err(Refusal::Heat(verdict));
        }
        let here = |visit: &&Visit| visit.closed.is_empty() && register.site_of(of) == Some(visit.site);
        let open: Vec<Visit> = visits.iter().filter(here).cloned().collect();
        // A detector that hangs in a system trips it, whatever the heat is for.
        if !open.iter().any(|visit| visit.station(at.stamp.wall) == Station::Answered) {
            return Err(Refusal::StationNotNotified);
        }
        duty_allows(&register, &kit, at, &open, position, start.heater)?;
        if others.iter().any(|run| run.frozen.position == Some(of)) {
            return Err(Refusal::DetectorInProfileRun);
        }
        for test in active() {
            let other = &test.frozen.position;
            if other.of == of {
                return Err(Refusal::PositionBusy);
            }
            let alike = alike_at_panel(&register, frozen.place.circuit, other.place.circuit);
            if !test.frozen.indication.by.is_local() && alike {
                return Err(Refusal::TripsNotTellable { test: test.id });
            }
        }
        // Whose limits they are stays with the customer: a profile goes along with other customers' visits.
        marking = Some(Marking { agreed: None, ..detector.marking });
    }
    // A profile run is what a profile is made of, so the heater it freezes names none.
    let StartProfileRun { run, position, ambient, heater_warmth, .. } = *start;
    Ok(ProfileRunStart { run, heater, position, marking, ambient, heater_warmth, by: at.who })
}

fn mine(book: &Book, at: At, profile_run: Id) -> Result<ProfileRun, Refusal> {
    let profile_run = ProfileRun::of(book, profile_run).ok_or(Refusal::UnknownProfileRun)?;
    if profile_run.phone == at.phone { Ok(profile_run) } else { Err(Refusal::OtherPhonesProfileRun) }
}

fn taken_now(book: &Book, at: At, profile_run: Id) -> Result<ProfileRun, Refusal> {
    let profile_run = mine(book, at, profile_run)?;
    if profile_run.ended.is_none() { Ok(profile_run) } else { Err(Refusal::ProfileRunEnded) }
}

pub(super) fn mark(book: &Book, at: At, id: Id, what: What) -> Drafts {
    match (taken_now(book, at, id)?.phase(), what) {
        (ProfileRunPhase::Heating { .. }, What::AtTop | What::HeaterOff)
        | (ProfileRunPhase::Holding { .. }, What::HeaterOff) => {
            Ok(vec![draft(Scope::Kit, Body::Mark { of: id, what })])
        }
        _ => Err(Refusal::NotInProfileRun),
    }
}

/// How much less than the ambient temperature a reading in a profile run may be. The project's own figure.
const COLDER: Kelvin = Kelvin(10.0);

pub(super) fn read(book: &Book, at: At, id: Id, reading: Reading) -> Drafts {
    within(book, at, id, &reading)?;
    taken_now(book, at, id)?;
    Ok(vec![draft(Scope::Kit, Body::ReadingTaken { of: id, reading, trip: None })])
}

/// Whether a reading may be one of this profile run.
pub(super) fn within(book: &Book, at: At, id: Id, reading: &Reading) -> Result<(), Refusal> {
    let profile_run = mine(book, at, id)?;
    // A cold heater may show less than the thermometer that took the ambient temperature, but a reading without its last digit shows far less.
    let least = Celsius((profile_run.frozen.ambient.celsius() - COLDER).0.max(AMBIENT.0.0));
    fields::check_one("ReadingCorrection.now", Kind::Temperature(least, TEMPERATURE.1), &reading.to_value())
}

pub(super) fn end(book: &Book, at: At, id: Id, usable: bool) -> Drafts {
    let profile_run = taken_now(book, at, id)?;
    if usable && profile_run.at(What::HeaterOff).is_none() {
        return Err(Refusal::HeaterStillOn);
    }
    if usable && !profile_run.is_whole() {
        return Err(Refusal::TooFewReadings { have: profile_run.while_heating().len(), least: READINGS_AT_LEAST });
    }
    Ok(vec![draft(Scope::Kit, Body::ProfileRunEnded { run: id, usable })])
}

/// Moves a mark between its neighbours: the parts of a profile run keep their order, and readings stay behind heat on.
pub(super) fn shift(book: &Book, at: At, entry: &Entry, id: Id, by_ms: i64) -> Drafts {
    let profile_run = mine(book, at, id)?;
    let index = profile_run.marks.iter().position(|mark| mark.hash == entry.hash).ok_or(Refusal::NoSuchMark)?;
    let marked = profile_run.marks[index];
    if marked.moved_ms.saturating_add(by_ms).unsigned_abs() > MOVE_AT_MOST_MS {
        return Err(Refusal::MoveOutside);
    }
    let to = marked.at.saturating_add(by_ms);
    let before = index.checked_sub(1).map_or(TestTime::MIN, |before| profile_run.marks[before].at);
    let now = profile_run.ended.map_or_else(|| profile_run.time_on(at.phone, at.stamp), |end| end.at);
    let mut after = profile_run.marks.get(index + 1).map_or(now, |mark| mark.at);
    if marked.what == What::HeatOn {
        after = profile_run.readings.first().map_or(after, |reading| reading.at.min(after));
    }
    if !(before..=after).contains(&to) {
        return Err(Refusal::MoveOutside);
    }
    let session = marked.stamp.session;
    let to_mono = profile_run.mono_at(session, to).ok_or(Refusal::NoSuchMark)?;
    Ok(vec![draft(entry.chain.scope, Body::Moved { mark: entry.hash, to_session: session, to_mono })])
}
