//! Readings, what is said of a mark later, and the clocks.

use super::super::Id;
use super::super::body::{Body, Ending, ItemWhat, ReadingCorrection, What};
use super::super::clock::GAP_MS;
use super::super::command::At;
use super::super::entries::Book;
use super::super::entry::{Entry, Hash, MAX_INTEGER, Scope};
use super::super::refusal::Refusal;
use super::super::seal::Draft;
use super::super::test::Test;
use super::test::mine;
use super::{Drafts, MOVE_AT_MOST_MS, draft, fields};
use crate::encoding::stored::Stored;
use crate::trade::fields::{Kind, TEMPERATURE};
use crate::units::{Celsius, Reading, TestTime};

pub(super) fn read(book: &Book, at: At, id: Id, reading: Reading, trip: Option<Hash>) -> Drafts {
    let test = mine(book, at, id)?;
    within_test(&test, &reading)?;
    if trip.is_some_and(|trip| !test.marks.iter().any(|mark| mark.hash == trip && mark.what == What::Tripped)) {
        return Err(Refusal::NoSuchMark);
    }
    Ok(vec![draft(Scope::Visit(test.visit), Body::ReadingTaken { of: id, reading, trip })])
}

fn within_test(test: &Test, reading: &Reading) -> Result<(), Refusal> {
    let ambient = test.frozen.ambient.map_or(Celsius(-40.0), Reading::celsius);
    fields::check_one("ReadingCorrection.now", Kind::Temperature(ambient, TEMPERATURE.1), &reading.to_value())
}

/// A valid reading, and its test or profile run.
fn reading_at(book: &Book, at: At, reading: Hash) -> Result<(&Entry, Id), Refusal> {
    let entry = book.get(reading).filter(|entry| !book.is_void(entry)).ok_or(Refusal::NoSuchReading)?;
    match entry.body {
        Body::ReadingTaken { of, .. } if entry.chain.phone == at.phone || !book.profile_run_started(of) => {
            Ok((entry, of))
        }
        _ => Err(Refusal::NoSuchReading),
    }
}

pub(super) fn correct(book: &Book, at: At, reading: Hash, now: Option<Reading>, why: Option<Hash>) -> Drafts {
    let (entry, of) = reading_at(book, at, reading)?;
    if let Some(now) = &now {
        if book.profile_run_started(of) {
            super::profile_run::within(book, at, of, now)?;
        } else {
            within_test(&mine(book, at, of)?, now)?;
        }
    } else if !book.profile_run_started(of) {
        mine(book, at, of)?;
    }
    Ok(vec![draft(entry.chain.scope, Body::ReadingCorrected(ReadingCorrection { reading, now, why }.into()))])
}

/// Whether a reading is far enough out to be asked about is no rule: nothing is refused or undone by it.
pub(super) fn confirm(book: &Book, at: At, reading: Hash) -> Drafts {
    let (entry, of) = reading_at(book, at, reading).map_err(|_| Refusal::NothingToAnswer)?;
    mine(book, at, of)?;
    if book.naming(reading).any(|other| matches!(other.body, Body::ReadingConfirmed { .. })) {
        return Err(Refusal::NothingToAnswer);
    }
    Ok(vec![draft(entry.chain.scope, Body::ReadingConfirmed { reading })])
}

/// A valid mark in a test of this phone.
fn marked(book: &Book, at: At, mark: Hash) -> Result<(&Entry, Id, What), Refusal> {
    let entry = book.get(mark).filter(|entry| !book.is_void(entry)).ok_or(Refusal::NoSuchMark)?;
    let Body::Mark { of, what } = entry.body else { return Err(Refusal::NoSuchMark) };
    if !book.profile_run_started(of) {
        mine(book, at, of)?;
    }
    Ok((entry, of, what))
}

pub(super) fn strike(book: &Book, at: At, mark: Hash, why: Option<Hash>) -> Drafts {
    let (entry, of, what) = marked(book, at, mark)?;
    // Without heat on there is no test, and a profile run is made of its marks.
    if what == What::HeatOn || book.profile_run_started(of) {
        return Err(Refusal::NoSuchMark);
    }
    if book.naming(mark).any(|other| matches!(other.body, Body::MarkStruck { .. })) {
        return Err(Refusal::NothingToAnswer);
    }
    let mut drafts = vec![draft(entry.chain.scope, Body::MarkStruck { mark, why })];
    drafts.extend(last_trip_gone(&mine(book, at, of)?, at, mark));
    Ok(drafts)
}

/// The item that an ended test leaves when its only trip turns out to be none: nothing shows any more that it operates.
pub(super) fn last_trip_gone(test: &Test, at: At, trip: Hash) -> Option<Draft> {
    let mut trips = test.marks.iter().filter(|mark| mark.what == What::Tripped);
    let only = trips.next().is_some_and(|first| first.hash == trip) && trips.next().is_none();
    let heated = test.ended.is_some_and(|(how, _)| how != Ending::Mistake);
    (only && heated).then(|| super::test::item(test, at, ItemWhat::OperationNotProven))
}

pub(super) fn answer_early(book: &Book, at: At, trip: Hash, this_detector: bool) -> Drafts {
    let (entry, of, what) = marked(book, at, trip)?;
    let by = at.who.ok_or(Refusal::NoPerson)?;
    if what != What::Tripped {
        return Err(Refusal::NoSuchMark);
    }
    let scope = entry.chain.scope;
    let mut drafts = vec![draft(scope, Body::EarlyTripAnswered { trip, this_detector, by })];
    if !this_detector {
        drafts.push(draft(scope, Body::MarkStruck { mark: trip, why: None }));
        drafts.extend(last_trip_gone(&mine(book, at, of)?, at, trip));
    }
    Ok(drafts)
}

pub(super) fn shift(book: &Book, at: At, mark: Hash, by_ms: i64) -> Drafts {
    let entry = book.get(mark).filter(|entry| entry.chain.phone == at.phone).ok_or(Refusal::NoSuchMark)?;
    let Body::Mark { of, .. } = entry.body else { return Err(Refusal::NoSuchMark) };
    if book.profile_run_started(of) {
        return super::profile_run::shift(book, at, entry, of, by_ms);
    }
    let test = mine(book, at, of)?;
    let marked = test.marks.iter().find(|marked| marked.hash == mark).ok_or(Refusal::NoSuchMark)?;
    let to = marked.at.saturating_add(by_ms);
    if marked.moved_ms.saturating_add(by_ms).unsigned_abs() > MOVE_AT_MOST_MS {
        return Err(Refusal::MoveOutside);
    }
    // Heat on is the zero of the test and may be moved itself; nothing happened before it and nothing after now.
    let earliest = if marked.what == What::HeatOn { TestTime::MIN } else { TestTime::HEAT_ON };
    let latest = match marked.what {
        What::HeatOn => test.marks.iter().filter(|m| m.hash != mark).map(|m| m.at).min().unwrap_or(TestTime::MAX),
        _ => TestTime::MAX,
    };
    let now = test.time_on(at.phone, at.stamp);
    // What happened in a test happened before its end.
    let over = test.ended.map_or(now, |(_, ended)| ended.min(now));
    if to < earliest || to > latest.min(over) {
        return Err(Refusal::MoveOutside);
    }
    let session = marked.stamp.session;
    let to_mono = test.mono_at(session, to).ok_or(Refusal::NoSuchMark)?;
    let moved = Body::Moved { mark, to_session: session, to_mono };
    Ok(vec![draft(entry.chain.scope, moved)])
}

pub(super) fn note_gap(scope: Scope, wall_ms: i64, mono_ms: i64, hidden: bool) -> Drafts {
    let within = |ms: i64| ms.clamp(-MAX_INTEGER, MAX_INTEGER);
    let (wall_ms, mono_ms) = (within(wall_ms), within(mono_ms));
    if wall_ms.abs_diff(mono_ms) <= GAP_MS.unsigned_abs() {
        return Ok(Vec::new());
    }
    Ok(vec![draft(scope, Body::ClockGap { wall_ms, mono_ms, hidden })])
}

pub(super) fn answer_gap(book: &Book, gap: Hash, asleep: bool) -> Drafts {
    let entry = book.get(gap).filter(|entry| matches!(entry.body, Body::ClockGap { .. }));
    let entry = entry
        .filter(|_| !book.naming(gap).any(|other| matches!(other.body, Body::ClockAnswered { .. })))
        .ok_or(Refusal::NothingToAnswer)?;
    Ok(vec![draft(entry.chain.scope, Body::ClockAnswered { gap, asleep })])
}
