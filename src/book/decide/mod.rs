//! Every rule, and the only place that may say no.

mod fields;
mod items;
mod kit;
mod leaving;
mod panel_side;
mod photos;
mod plan;
mod profile_run;
mod readings;
mod record;
mod register;
mod sheet;
mod side_by_side;
mod start;
mod test;
mod visit;

pub use fields::{day, fault};
pub use profile_run::refusals_of as profile_run_refusals;
pub use register::position_fields;
pub use sheet::Importing;
pub use start::{STAYS_AFTER_MS, would_start};

use super::Id;
use super::body::{Body, What};
use super::command::{At, Command};
use super::entries::Book;
use super::entry::{Chain, Entry, Hash, Scope};
use super::refusal::Refusal;
use super::seal::Draft;
use super::test::Test;
use super::visit::{Visit, headings};
use std::collections::BTreeSet;
use std::ops::ControlFlow;

/// How far a mark may be moved from its tap: fingers are late by seconds, and an hour is surely another event.
const MOVE_AT_MOST_MS: u64 = 3_600_000;

/// What a rule lets through.
type Drafts = Result<Vec<Draft>, Refusal>;

/// What a command makes of the book: bodies to be sealed, each for its chain.
///
/// # Errors
/// When a rule says no. Nothing is to be stored then.
pub fn decide(book: &Book, at: At, command: Command) -> Result<Vec<Draft>, Refusal> {
    let drafts = match rule_of_a_test(book, at, command) {
        ControlFlow::Break(drafts) => drafts?,
        ControlFlow::Continue(command) => other_rule(book, at, command)?,
    };
    visit::enrol(book, at, drafts)
}

/// The same of what the first screen and a test give. It refers to no other rule, so that those may load later; what they decide
/// is refused.
///
/// # Errors
/// When a rule says no, or is one of the others.
pub fn first(book: &Book, at: At, command: Command) -> Result<Vec<Draft>, Refusal> {
    match rule_of_a_test(book, at, command) {
        ControlFlow::Break(drafts) => visit::enrol(book, at, drafts?),
        ControlFlow::Continue(_) => Err(Refusal::NotHereYet),
    }
}

/// Decides what the first screen and a test give, and goes on with every other command.
fn rule_of_a_test(book: &Book, at: At, command: Command) -> ControlFlow<Drafts, Command> {
    ControlFlow::Break(match command {
        Command::HandPhone { to } => kit::hand_phone(book, at, to),
        Command::OpenVisit { visit, site, plan } => visit::open(book, at, visit, site, plan),
        Command::AlarmNotOurs { visit, what, note } => visit::alarm_not_ours(book, at, visit, what, note),
        Command::CheckVisual { visit, position, found } => visit::check_visual(book, at, visit, position, found),
        Command::Start(start) => start::start(book, at, *start),
        Command::Mark { of, what } if !book.profile_run_started(of) => test::mark(book, at, of, what),
        Command::StrikeMark { mark, why } => readings::strike(book, at, mark, why),
        Command::Read { of, reading, trip } if !book.profile_run_started(of) => {
            readings::read(book, at, of, reading, trip)
        }
        Command::CorrectReading { reading, now, why } => readings::correct(book, at, reading, now, why),
        Command::ConfirmReading { reading } => readings::confirm(book, at, reading),
        Command::AnswerEarlyTrip { trip, this_detector } => readings::answer_early(book, at, trip, this_detector),
        Command::SayPanel { trip, point, said } => test::say_panel(book, at, trip, point, said),
        Command::SayRestore { test, restored, happened } => test::say_restore(book, at, test, restored, happened),
        Command::End { test, how } => test::end(book, at, test, how),
        Command::TakeOver { test } => test::take_over(book, at, test),
        Command::Undo { target } => undo(book, at, target),
        Command::Move { mark, by_ms } => readings::shift(book, at, mark, by_ms),
        Command::NoteGap { scope, wall_ms, mono_ms, hidden } => readings::note_gap(scope, wall_ms, mono_ms, hidden),
        Command::AnswerGap { gap, asleep } => readings::answer_gap(book, gap, asleep),
        other => return ControlFlow::Continue(other),
    })
}

/// Every other rule. [`first`] does not refer to it.
fn other_rule(book: &Book, at: At, command: Command) -> Drafts {
    match command {
        Command::PutSite { site, now } => register::put_site(book, site, now),
        Command::PutSiteRules { site, now } => plan::put_rules(book, site, *now),
        Command::PutArea { area, now, conditions } => register::put_area(book, area, now, conditions),
        Command::PutCircuit { circuit, now } => register::put_circuit(book, circuit, now),
        Command::PutPosition(put) => register::put_position(book, *put, false),
        Command::PutUnlisted(put) => register::put_position(book, *put, true),
        Command::PutInOrder { positions } => register::put_in_order(book, &positions),
        Command::ImportSheet { sheet, positions } => sheet::import(book, *sheet, positions),
        Command::AnswerReleases { position, releases } => register::answer_releases(book, position, releases),
        Command::RetirePosition { position, retired } => register::retire(book, position, retired),
        Command::PutHeater { heater, name, heating, metrology } => {
            kit::put_heater(book, heater, name, *heating, metrology)
        }
        Command::PutProcedure { procedure, now } => kit::put_procedure(book, procedure, *now),
        Command::PutPerson { person, now } => kit::put_person(book, person, now),
        Command::NamePhone { name } => kit::name_phone(book, at, name),
        Command::PlanVisit { visit, plan } => visit::plan(book, visit, plan),
        Command::PlanPositions { visit, positions, planned, why } => {
            plan::positions(book, visit, positions, planned, why)
        }
        Command::CloseVisit { visit } => leaving::close(book, at, visit),
        Command::ReopenVisit { visit, why, amends } => leaving::reopen(book, at, visit, why, amends),
        Command::Sign { visit, signature } => leaving::sign(book, at, visit, *signature),
        Command::Notify { visit, notice } => visit::notify(book, at, visit, *notice),
        Command::Impair { visit, impaired } => visit::impair(book, at, visit, *impaired),
        Command::Secure { visit, secured } => visit::secure(book, at, visit, *secured),
        Command::Restore { ends, by, happened } => visit::restore(book, at, ends, by, happened),
        Command::TakePermit { visit, permit } => visit::permit(book, at, visit, *permit),
        Command::HoldApproval { visit, heater, area, fits } => visit::approve(book, at, visit, heater, area, fits),
        Command::ClearAlarm { alarm, by, note } => visit::clear_alarm(book, at, alarm, by, note),
        Command::SeePanel { visit, panel } => record::see_panel(book, at, visit, *panel),
        Command::CompareClock { visit, offset } => record::compare_clock(book, at, visit, *offset),
        Command::OpenPair { visit, pair } => record::open_pair(book, at, visit, *pair),
        Command::ProveCircuit { visit, proof } => record::prove_circuit(book, at, visit, *proof),
        Command::CheckLift { visit, check } => record::check_lift(book, at, visit, *check),
        Command::InvitePhone { visit, name } => record::invite(book, visit, name),
        Command::ExcusePhone { visit, excuse } => record::excuse(book, at, visit, *excuse),
        Command::LeaveOff { visit, leaving } => leaving::leave_off(book, at, visit, *leaving),
        Command::StartBreak(start) => leaving::start_break(book, at, *start),
        Command::EndBreak { visit } => leaving::end_break(book, at, visit),
        Command::OffAgain { off } => leaving::off_again(book, at, off),
        Command::NotTested { visit, not_tested } => record::not_tested(book, at, visit, *not_tested),
        Command::OtherMethod { visit, other } => record::other_method(book, at, visit, *other),
        Command::StartProfileRun(start) => profile_run::start(book, at, *start),
        Command::EndProfileRun { run, usable } => profile_run::end(book, at, run, usable),
        // Of a profile run: those of a test are decided first.
        Command::Mark { of, what } => profile_run::mark(book, at, of, what),
        Command::Read { of, reading, .. } => profile_run::read(book, at, of, reading),
        Command::SawAtPanel { visit, seen } => panel_side::saw(book, at, visit, *seen),
        Command::TakeSightings { visit, of } => panel_side::take(book, at, visit, of),
        Command::Judge { test, did_not_operate, note } => test::judge(book, at, test, did_not_operate, note),
        Command::CorrectMarking { test, marking, why } => test::correct_marking(book, test, *marking, why),
        Command::ListRetest { test, why } => test::list_retest(book, test, why),
        Command::FindItem { visit, what, class, position, test, note, happened } => {
            items::find(book, at, visit, items::item(at, what, class, position, test, note, happened))
        }
        Command::FindSwapped { visit, one, other } => record::find_swapped(book, at, visit, one, other),
        Command::ClassItem { item, class } => items::class(book, at, item, class),
        Command::TellItem { item, to, in_writing, happened } => items::tell(book, at, item, to, in_writing, happened),
        Command::CloseItem { item, how, by, note, happened } => items::close(book, at, item, how, by, note, happened),
        Command::Repair { visit, position, work, item, note, happened } => {
            items::repair(book, at, visit, position, work, item, note, happened)
        }
        Command::ChangeProgramming { visit, change } => plan::programming(book, at, visit, *change),
        Command::Replace(replace) => items::replace(book, at, *replace),
        Command::AddPhoto { about, photo, caption } => photos::add(book, at, about, photo, caption),
        Command::CaptionPhoto { of, caption } => photos::caption(book, of, caption),
        Command::Note { visit, about, note } => visit::note(book, visit, about, note),
        // Decided by `rule_of_a_test`, which takes each of these.
        Command::HandPhone { .. }
        | Command::OpenVisit { .. }
        | Command::AlarmNotOurs { .. }
        | Command::CheckVisual { .. }
        | Command::Start(_)
        | Command::StrikeMark { .. }
        | Command::CorrectReading { .. }
        | Command::ConfirmReading { .. }
        | Command::AnswerEarlyTrip { .. }
        | Command::SayPanel { .. }
        | Command::SayRestore { .. }
        | Command::End { .. }
        | Command::TakeOver { .. }
        | Command::Undo { .. }
        | Command::Move { .. }
        | Command::NoteGap { .. }
        | Command::AnswerGap { .. } => Err(Refusal::NotHereYet),
    }
}

/// Undoes the decision of an entry, in every chain it wrote to. Undoing the only trip of a test leaves its readings without
/// one, which the test shows.
fn undo(book: &Book, at: At, target: Hash) -> Drafts {
    let entry = book.get(target).ok_or(Refusal::NothingToUndo)?;
    if entry.chain.phone != at.phone || book.is_void(entry) || !entry.body.can_be_undone() {
        return Err(Refusal::NothingToUndo);
    }
    let decision = entry.decision();
    let mut scopes = entry.scopes.to_vec();
    if scopes.is_empty() {
        scopes.push(entry.chain.scope);
    }
    let together = |scope: &Scope| {
        let chain = Chain { scope: *scope, phone: at.phone };
        book.chain(chain).filter(|other| other.decision() == decision)
    };
    if scopes.iter().flat_map(together).any(|other| starts_again(book, other)) {
        return Err(Refusal::TestStarted);
    }
    let closes = |other: &Entry| matches!(other.body, Body::VisitClosed { .. });
    if scopes.iter().flat_map(together).any(|other| closes(other) && leaving::is_settled(at, other)) {
        return Err(Refusal::ReopenTooLate);
    }
    // An alarm that is not ours is cleared by a named person, never undone; until then no undo brings heat back.
    let is_alarm = |other: &Entry| matches!(other.body, Body::AlarmNotOurs(_));
    let brings_heat = |other: &Entry| matches!(other.body, Body::TestEnded { .. } | Body::Undone { .. });
    let alarm_stands = scopes.iter().flat_map(together).any(is_alarm)
        || (scopes.iter().flat_map(together).any(brings_heat) && visit::alarm_stands(book));
    if alarm_stands {
        return Err(Refusal::AlarmNotCleared);
    }
    let trips = scopes.iter().flat_map(together).filter_map(|other| match other.body {
        Body::Mark { of, what: What::Tripped } => Some((of, other.hash)),
        _ => None,
    });
    let left = trips.filter_map(|(of, trip)| readings::last_trip_gone(&Test::of(book, of)?, at, trip));
    let left: Vec<Draft> = left.collect();
    let undone = scopes.into_iter().map(|scope| draft(scope, Body::Undone { undoes: decision }));
    Ok(undone.chain(left).collect())
}

/// Whether taking this entry back brings back the start of a test that was started anew since.
fn starts_again(book: &Book, undone: &Entry) -> bool {
    // Down a chain of undoes to what they are about: taking back the first one turns all of them round.
    let (mut entry, mut seen) = (undone, BTreeSet::new());
    while let Body::Undone { undoes } = entry.body {
        let first = book.chain(undone.chain).find(|other| other.decision() == undoes);
        match first.filter(|_| seen.insert(undoes)) {
            Some(first) => entry = first,
            None => return false,
        }
    }
    let started = |other: &Entry| match &other.body {
        Body::TestStarted(frozen) => book.test_origins(frozen.test).next().is_some(),
        _ => false,
    };
    let decision = entry.decision();
    book.is_undone(decision) && book.chain(undone.chain).filter(|other| other.decision() == decision).any(started)
}

fn draft(scope: Scope, body: Body) -> Draft {
    Draft { scope, body }
}

/// The visit, if it is open.
fn open_visit(book: &Book, id: Id) -> Result<Visit, Refusal> {
    Visit::of(book, id).filter(|visit| visit.closed.is_empty()).ok_or(Refusal::NoOpenVisit)
}

/// The visit, if it is open, or closed with something still off, accepted or not: what puts that right is welcome at any time.
fn unsettled(book: &Book, id: Id) -> Result<Visit, Refusal> {
    Visit::of(book, id).filter(|visit| !visit.over()).ok_or(Refusal::NoOpenVisit)
}

/// The visits that are not closed.
fn open_visits(book: &Book) -> impl Iterator<Item = Visit> + '_ {
    headings(book).into_iter().filter(|heading| !heading.closed).filter_map(|heading| Visit::of(book, heading.id))
}

/// A fact of one visit.
fn in_visit(visit: super::Id, body: Body) -> Drafts {
    Ok(vec![draft(Scope::Visit(visit), body)])
}
