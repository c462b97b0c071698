//! Marks, the three results and the end of a test.

use super::super::Id;
use super::super::body::{Answer, Body, Ending, Happened, ItemWhat, Point, RestoreWord, RetestWhy, What, Who};
use super::super::command::At;
use super::super::entries::Book;
use super::super::entry::{Chain, Entry, Hash, Scope};
use super::super::refusal::Refusal;
use super::super::seal::Draft;
use super::super::test::Test;
use super::super::timeline::{Phase, Timeline};
use super::super::visit::Visit;
use super::start::STAYS_AFTER_MS;
use super::{Drafts, draft, fields, items, record};
use crate::encoding::stored::Stored;
use crate::trade::detector::Marking;
use crate::trade::fields::Kind;
use crate::units::{Kelvin, TestTime};

/// How near to ambient a reading has to be to show that the heater has left the detector or cooled: 10 °F. Own figure.
const NEAR_AMBIENT: Kelvin = Kelvin(10.0 / 1.8);

/// A test that this phone keeps.
pub(super) fn mine(book: &Book, at: At, test: Id) -> Result<Test, Refusal> {
    let test = Test::of(book, test).ok_or(Refusal::UnknownTest)?;
    if test.kept_by(at.phone) { Ok(test) } else { Err(Refusal::OtherPhonesTest) }
}

fn in_progress(book: &Book, at: At, test: Id) -> Result<Test, Refusal> {
    let test = mine(book, at, test)?;
    if test.ended.is_none() { Ok(test) } else { Err(Refusal::TestEnded) }
}

pub(super) fn mark(book: &Book, at: At, id: Id, what: What) -> Drafts {
    // The panel may be reset when the test is over; the restore it covers is none of the test's own.
    let test = if what == What::PanelReset { mine(book, at, id)? } else { in_progress(book, at, id)? };
    let scope = Scope::Visit(test.visit);
    let mut drafts = vec![draft(scope, Body::Mark { of: id, what })];
    let tripped = || test.marks.iter().rfind(|mark| mark.what == What::Tripped);
    // With all three results a functional test is over.
    if what == What::Restored
        && !test.frozen.procedure.is_set_point()
        && tripped().is_some_and(|trip| test.panel(trip.hash).is_some())
    {
        drafts.push(draft(scope, Body::TestEnded { test: id, how: Ending::Done }));
    }
    Ok(drafts)
}

pub(super) fn say_panel(book: &Book, at: At, trip: Hash, point: Point, said: Option<String>) -> Drafts {
    fields::check_one("PanelSaid.said", Kind::Line, &said.to_value())?;
    let entry = book.get(trip).filter(|entry| !book.is_void(entry)).ok_or(Refusal::NoSuchMark)?;
    let Body::Mark { of, what: What::Tripped } = entry.body else { return Err(Refusal::NoSuchMark) };
    let test = Test::of(book, of).ok_or(Refusal::UnknownTest)?;
    let scope = entry.chain.scope;
    let mut drafts = vec![draft(scope, Body::PanelPoint { trip, point, said })];
    let wrong = match point {
        Point::Wrong => Some(ItemWhat::WrongPoint),
        Point::NotThere => Some(ItemWhat::NotAtPanel),
        Point::Right | Point::NotChecked => None,
    };
    // Said once more, such as which point it was, it is the same item.
    let again = test.panel(trip).is_some_and(|(said, _)| said == point);
    drafts.extend(wrong.filter(|_| !again).map(|what| item(&test, at, what)));
    drafts.extend(ends_by_panel(&test, at));
    Ok(drafts)
}

/// The end of a functional test of this phone that has restored, once the panel is answered, too.
pub(super) fn ends_by_panel(test: &Test, at: At) -> Option<Draft> {
    let restored = || test.marks.iter().any(|mark| mark.what == What::Restored);
    let ends = test.ended.is_none() && test.kept_by(at.phone) && !test.frozen.procedure.is_set_point() && restored();
    ends.then(|| draft(Scope::Visit(test.visit), Body::TestEnded { test: test.id, how: Ending::Done }))
}

pub(super) fn say_restore(book: &Book, at: At, id: Id, restored: Answer, happened: Happened) -> Drafts {
    let by = Who::Person(at.who.ok_or(Refusal::NoPerson)?);
    fields::happened(at, happened)?;
    let Some(test) = Test::of(book, id) else {
        return record::say_restore(book, at, RestoreWord { test: id, restored, by, happened });
    };
    // A trip that its phone marked after another took over is a trip of the detector.
    let is_trip = |entry: &Entry| matches!(entry.body, Body::Mark { what: What::Tripped, .. });
    let late = || test.after_take_over.iter().filter_map(|hash| book.get(*hash)).any(is_trip);
    if !test.marks.iter().any(|mark| mark.what == What::Tripped) && !late() {
        return Err(Refusal::NoTripYet);
    }
    if restored == Answer::No {
        stays_in_alarm(&test, at)?;
    }
    let scope = Scope::Visit(test.visit);
    let mut drafts = vec![draft(scope, Body::RestoreSaid(RestoreWord { test: id, restored, by, happened }.into()))];
    if restored == Answer::No {
        drafts.push(item(&test, at, ItemWhat::StaysInAlarm));
    }
    Ok(drafts)
}

/// Whether a detector may be said to stay in alarm: long enough without the heater, or by a reading near ambient.
fn stays_in_alarm(test: &Test, at: At) -> Result<(), Refusal> {
    let now = test.time_on(at.phone, at.stamp);
    let lowered = test.marks.iter().rfind(|mark| mark.what == What::Lowered).map(|mark| mark.at);
    // The heater was lowered when the test ended, at the latest.
    let since = lowered.or(test.ended.map(|(_, at)| at));
    let tripped = test.marks.iter().rfind(|mark| mark.what == What::Tripped).map_or(TestTime::MAX, |mark| mark.at);
    let cool = test.frozen.ambient.is_some_and(|ambient| {
        let near = ambient.celsius() + NEAR_AMBIENT;
        test.readings.iter().any(|reading| reading.at > tripped && reading.reading.celsius() <= near)
    });
    let long = since.is_some_and(|since| now.saturating_sub(since) >= STAYS_AFTER_MS);
    if long || cool {
        return Ok(());
    }
    Err(match since {
        Some(since) => Refusal::NotRestoredYet { wait_ms: STAYS_AFTER_MS - now.saturating_sub(since) },
        None => Refusal::HeaterNotLowered,
    })
}

pub(super) fn end(book: &Book, at: At, id: Id, how: Ending) -> Drafts {
    let test = in_progress(book, at, id)?;
    let scope = Scope::Visit(test.visit);
    let timeline = Timeline::of(&test, test.time_on(at.phone, at.stamp));
    let tripped = !timeline.trips.is_empty();
    match how {
        Ending::Done if !matches!(timeline.phase, Phase::Complete { .. } | Phase::AwaitRestore { .. }) => {
            return Err(Refusal::NotComplete);
        }
        Ending::NoTrip if tripped => return Err(Refusal::HasTripped),
        Ending::StoppedEarly | Ending::StaysInAlarm if !tripped => return Err(Refusal::NoTripYet),
        Ending::StaysInAlarm => stays_in_alarm(&test, at)?,
        _ => {}
    }
    let mut drafts = vec![draft(scope, Body::TestEnded { test: id, how })];
    if how == Ending::Done && !timeline.missing.is_empty() {
        drafts.push(retest(&test, RetestWhy::MissingTrip));
    }
    match how {
        Ending::StaysInAlarm => drafts.push(item(&test, at, ItemWhat::StaysInAlarm)),
        // Nothing was heated of the detector that was meant.
        Ending::Mistake => {}
        // A dead detector never leaves without a trace.
        _ if !tripped => drafts.push(item(&test, at, ItemWhat::OperationNotProven)),
        _ => {}
    }
    Ok(drafts)
}

pub(super) fn item(test: &Test, at: At, what: ItemWhat) -> Draft {
    let found = items::item(at, what, None, Some(test.frozen.position.of), Some(test.id), None, at.happened());
    draft(Scope::Visit(test.visit), Body::ItemFound(found.into()))
}

fn retest(test: &Test, why: RetestWhy) -> Draft {
    let body = Body::RetestListed { position: test.frozen.position.of, test: Some(test.id), why };
    draft(Scope::Visit(test.visit), body)
}

pub(super) fn list_retest(book: &Book, test: Id, why: RetestWhy) -> Drafts {
    let test = Test::of(book, test).ok_or(Refusal::UnknownTest)?;
    let listed = |visit: &Visit| visit.retests.iter().any(|r| r.position == test.frozen.position.of && !r.taken);
    let there = Visit::of(book, test.visit).is_some_and(|visit| listed(&visit));
    Ok(if there { Vec::new() } else { vec![retest(&test, why)] })
}

pub(super) fn judge(book: &Book, at: At, id: Id, did_not_operate: bool, note: Option<Hash>) -> Drafts {
    let test = Test::of(book, id).ok_or(Refusal::UnknownTest)?;
    let by = at.who.ok_or(Refusal::NoPerson)?;
    if test.ended.is_none() {
        return Err(Refusal::TestInProgress);
    }
    if test.marks.iter().any(|mark| mark.what == What::Tripped) {
        return Err(Refusal::HasTripped);
    }
    Ok(vec![draft(Scope::Visit(test.visit), Body::TestJudged { test: id, did_not_operate, by, note })])
}

pub(super) fn correct_marking(book: &Book, id: Id, marking: Marking, why: Hash) -> Drafts {
    let test = Test::of(book, id).ok_or(Refusal::UnknownTest)?;
    if test.ended.is_none() {
        return Err(Refusal::TestInProgress);
    }
    fields::marking(&marking)?;
    if *test.marking() == marking {
        return Err(Refusal::SameMarking);
    }
    Ok(vec![draft(Scope::Visit(test.visit), Body::MarkingCorrected { test: id, marking: marking.into(), why })])
}

pub(super) fn take_over(book: &Book, at: At, id: Id) -> Drafts {
    let test = Test::of(book, id).ok_or(Refusal::UnknownTest)?;
    at.who.ok_or(Refusal::NoPerson)?;
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
