//! Marks, readings and ends of a test.

use super::super::Id;
use super::super::body::{Body, Ending, Fault, Point, RetestWhy, What};
use super::super::clock::GAP_MS;
use super::super::command::At;
use super::super::entry::{Chain, Hash, MAX_INTEGER, Scope};
use super::super::log::Book;
use super::super::phase::{Phase, Timeline};
use super::super::refusal::Refusal;
use super::super::seal::Draft;
use super::super::test::Test;
use super::fields::TEMPERATURE;
use super::{draft, fields};
use crate::trade::detector::Marking;
use crate::trade::procedure::Template;
use crate::units::{Celsius, Reading};

type Drafts = Result<Vec<Draft>, Refusal>;

/// How far a mark may be moved from its tap: fingers are late by seconds, and an hour is surely another event.
pub(super) const MOVE_AT_MOST_MS: u64 = 3_600_000;

fn mine(book: &Book, at: At, test: Id) -> Result<Test, Refusal> {
    let test = Test::of(book, test).ok_or(Refusal::UnknownTest)?;
    if test.kept_by(at.phone) { Ok(test) } else { Err(Refusal::OtherPhonesTest) }
}

fn going_on(book: &Book, at: At, test: Id) -> Result<Test, Refusal> {
    let test = mine(book, at, test)?;
    if test.ended.is_none() { Ok(test) } else { Err(Refusal::TestEnded) }
}

pub(super) fn mark(book: &Book, at: At, id: Id, what: What) -> Drafts {
    let test = going_on(book, at, id)?;
    let scope = Scope::Visit(test.visit);
    let mut drafts = vec![draft(scope, Body::Mark { test: id, what })];
    // The restore is the last thing a functional test asks for, so it is also its end.
    let timeline = Timeline::of(&test, test.time_on(at.phone, at.stamp));
    if what == What::Restore
        && test.frozen.procedure.template == Template::Functional
        && matches!(timeline.phase, Phase::AwaitRestore { .. })
    {
        drafts.push(draft(scope, Body::TestEnded { test: id, how: Ending::Done }));
    }
    Ok(drafts)
}

pub(super) fn read(book: &Book, at: At, id: Id, reading: Reading, trip: Option<Hash>) -> Drafts {
    let test = mine(book, at, id)?;
    let ambient = test.frozen.ambient.map_or(Celsius(-40.0), Reading::celsius);
    let to = TEMPERATURE.1;
    fields::temperature("Reading", &reading, (ambient, to))?;
    if trip.is_some_and(|trip| !test.marks.iter().any(|mark| mark.hash == trip && mark.what == What::Tripped)) {
        return Err(Refusal::NoSuchMark);
    }
    Ok(vec![draft(Scope::Visit(test.visit), Body::ReadingTaken { test: id, reading, trip })])
}

/// Whether a reading is far enough out to be asked about is no rule: nothing is refused or undone by it.
pub(super) fn let_stand(book: &Book, at: At, reading: Hash) -> Drafts {
    let entry = book.get(reading).filter(|_| !book.is_void(reading)).ok_or(Refusal::NothingToAnswer)?;
    let Body::ReadingTaken { test, .. } = entry.body else { return Err(Refusal::NothingToAnswer) };
    let test = mine(book, at, test)?;
    if book.naming(reading).any(|other| matches!(other.body, Body::ReadingStands { .. })) {
        return Err(Refusal::NothingToAnswer);
    }
    Ok(vec![draft(Scope::Visit(test.visit), Body::ReadingStands { reading })])
}

pub(super) fn say_panel(book: &Book, trip: Hash, point: Point, said: Option<String>) -> Drafts {
    fields::line("What the panel said", said.as_ref())?;
    let entry = book.get(trip).filter(|_| !book.is_void(trip)).ok_or(Refusal::NoSuchMark)?;
    let Body::Mark { test, what: What::Tripped } = entry.body else { return Err(Refusal::NoSuchMark) };
    let test = Test::of(book, test).ok_or(Refusal::UnknownTest)?;
    let scope = entry.chain.scope;
    let mut drafts = vec![draft(scope, Body::PanelPoint { trip, point, said })];
    if point == Point::Wrong {
        drafts.push(deficiency(&test, Fault::WrongPoint));
    }
    Ok(drafts)
}

pub(super) fn shift(book: &Book, at: At, mark: Hash, by_ms: i64) -> Drafts {
    let entry = book.get(mark).filter(|entry| entry.chain.phone == at.phone).ok_or(Refusal::NoSuchMark)?;
    let Body::Mark { test, .. } = entry.body else { return Err(Refusal::NoSuchMark) };
    if book.profile_run_started(test) {
        return super::profile_run::shift(book, at, entry, test, by_ms);
    }
    let test = mine(book, at, test)?;
    let marked = test.marks.iter().find(|marked| marked.hash == mark).ok_or(Refusal::NoSuchMark)?;
    let to = marked.at.saturating_add(by_ms);
    if marked.moved_ms.saturating_add(by_ms).unsigned_abs() > MOVE_AT_MOST_MS {
        return Err(Refusal::MoveOutside);
    }
    // Heat on is the zero of the test and may be moved itself; nothing happened before it and nothing after now.
    let earliest = if marked.what == What::HeatOn { i64::MIN } else { 0 };
    let latest = match marked.what {
        What::HeatOn => test.marks.iter().filter(|m| m.hash != mark).map(|m| m.at).min().unwrap_or(i64::MAX),
        _ => i64::MAX,
    };
    if to < earliest || to > latest.min(test.time_on(at.phone, at.stamp)) {
        return Err(Refusal::MoveOutside);
    }
    let session = marked.stamp.session;
    let to_mono = test.mono_at(session, to).ok_or(Refusal::NoSuchMark)?;
    let moved = Body::Moved { mark, to_session: session, to_mono };
    Ok(vec![draft(entry.chain.scope, moved)])
}

pub(super) fn end(book: &Book, at: At, id: Id, how: Ending) -> Drafts {
    let test = going_on(book, at, id)?;
    let scope = Scope::Visit(test.visit);
    let timeline = Timeline::of(&test, test.time_on(at.phone, at.stamp));
    let tripped = !timeline.trips.is_empty();
    match how {
        Ending::Done if !matches!(timeline.phase, Phase::Complete { .. } | Phase::AwaitRestore { .. }) => {
            return Err(Refusal::NotComplete);
        }
        Ending::DidNotOperate if tripped => return Err(Refusal::HasTripped),
        Ending::DidNotOperate if !matches!(timeline.phase, Phase::NoTrip { .. }) => return Err(Refusal::NotComplete),
        Ending::Enough | Ending::StaysInAlarm if !tripped => return Err(Refusal::NoTripYet),
        _ => {}
    }
    let mut drafts = vec![draft(scope, Body::TestEnded { test: id, how })];
    match how {
        Ending::DidNotOperate => drafts.push(deficiency(&test, Fault::DidNotOperate)),
        Ending::StaysInAlarm => drafts.push(deficiency(&test, Fault::StaysInAlarm)),
        Ending::Done if !timeline.missing.is_empty() => drafts.push(again(&test, RetestWhy::MissingTrip)),
        Ending::HeaterTrouble | Ending::SiteAsked if !tripped => drafts.push(again(&test, RetestWhy::NotFinished)),
        _ => {}
    }
    Ok(drafts)
}

fn deficiency(test: &Test, fault: Fault) -> Draft {
    let body = Body::DeficiencyFound { detector: test.frozen.detector.of, test: Some(test.id), fault, note: None };
    draft(Scope::Visit(test.visit), body)
}

fn again(test: &Test, why: RetestWhy) -> Draft {
    draft(Scope::Visit(test.visit), Body::Retest { detector: test.frozen.detector.of, test: test.id, why })
}

pub(super) fn retest(book: &Book, test: Id, why: RetestWhy) -> Drafts {
    let test = Test::of(book, test).ok_or(Refusal::UnknownTest)?;
    Ok(vec![again(&test, why)])
}

pub(super) fn correct_marking(book: &Book, id: Id, marking: Marking, reason: Hash) -> Drafts {
    let test = Test::of(book, id).ok_or(Refusal::UnknownTest)?;
    if test.ended.is_none() {
        return Err(Refusal::TestGoesOn);
    }
    fields::marking(&marking)?;
    if *test.marking() == marking {
        return Err(Refusal::SameMarking);
    }
    Ok(vec![draft(Scope::Visit(test.visit), Body::MarkingCorrected { test: id, marking: marking.into(), reason })])
}

pub(super) fn take_over(book: &Book, at: At, id: Id) -> Drafts {
    let test = Test::of(book, id).ok_or(Refusal::UnknownTest)?;
    if test.kept_by(at.phone) {
        return Ok(Vec::new());
    }
    if test.ended.is_some() {
        return Err(Refusal::TestEnded);
    }
    let scope = Scope::Visit(test.visit);
    let last = book.tip(Chain { scope, phone: test.keeper }).ok_or(Refusal::UnknownTest)?.hash;
    Ok(vec![draft(scope, Body::TestTakenOver { test: id, last })])
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
