//! Every rule, and the only place that may say no.

mod fields;
mod profile_run;
mod register;
mod start;
mod test;
mod visit;

pub use fields::{RATING, TEMPERATURE, day};
pub use profile_run::refusals_of as profile_run_refusals;
pub use start::would_start;

use super::command::{At, Command};
use super::entry::{Entry, Hash, Scope};
use super::log::Book;
use super::refusal::Refusal;
use super::seal::Draft;

/// What a command makes of the book: bodies to be sealed, each for its chain.
///
/// # Errors
/// When a rule says no. Nothing is to be stored then.
pub fn decide(book: &Book, at: At, command: Command) -> Result<Vec<Draft>, Refusal> {
    match command {
        Command::PutSite { site, now } => register::put_site(book, site, now),
        Command::PutArea { area, now } => register::put_area(book, area, now),
        Command::PutCircuit { circuit, now } => register::put_circuit(book, circuit, now),
        Command::PutDetector { detector, place, marking, duty } => {
            register::put_detector(book, detector, place, *marking, duty)
        }
        Command::RetireDetector { detector, retired } => register::retire(book, detector, retired),
        Command::PutHeater { heater, name, heating, metrology } => {
            register::put_heater(book, heater, name, *heating, metrology)
        }
        Command::PutProcedure { procedure, now } => register::put_procedure(book, procedure, *now),
        Command::PutPerson { person, name } => register::put_person(book, person, name),
        Command::OpenVisit { visit, site } => visit::open(book, at, visit, site),
        Command::CloseVisit { visit } => visit::close(book, visit),
        Command::Tell { visit, whom, when, by } => visit::tell(book, visit, whom, when, by),
        Command::TakeOut { visit, circuit } => visit::take_out(book, visit, circuit),
        Command::PutBack { outage } => visit::put_back(book, outage),
        Command::Secure { visit, release, by } => visit::secure(book, visit, release, by),
        Command::Restore { securing, by } => visit::restore(book, securing, by),
        Command::TakePermit { visit, area, number, gas_test, tested_at, until } => {
            visit::permit(book, visit, area, number, gas_test, tested_at, until)
        }
        Command::LookAt { visit, detector, visual } => visit::look_at(book, visit, detector, visual),
        Command::Start(start) => start::start(book, at, *start),
        Command::StartProfileRun(start) => profile_run::start(book, at, *start),
        Command::EndProfileRun { profile_run, usable } => profile_run::end(book, at, profile_run, usable),
        Command::Mark { test, what } if book.profile_run_started(test) => profile_run::mark(book, at, test, what),
        Command::Mark { test, what } => test::mark(book, at, test, what),
        Command::Read { test, reading, .. } if book.profile_run_started(test) => {
            profile_run::read(book, at, test, reading)
        }
        Command::Read { test, reading, trip } => test::read(book, at, test, reading, trip),
        Command::LetStand { reading } => test::let_stand(book, at, reading),
        Command::SayPanel { trip, point, said } => test::say_panel(book, trip, point, said),
        Command::Note { visit, about, note } => visit::note(book, visit, about, note),
        Command::Undo { target } => undo(book, at, target),
        Command::Move { mark, by_ms } => test::shift(book, at, mark, by_ms),
        Command::End { test, how } => test::end(book, at, test, how),
        Command::TakeOver { test } => test::take_over(book, at, test),
        Command::NoteGap { scope, wall_ms, mono_ms, hidden } => test::note_gap(scope, wall_ms, mono_ms, hidden),
        Command::AnswerGap { gap, asleep } => test::answer_gap(book, gap, asleep),
        Command::FindDeficiency { visit, detector, test, fault, note } => {
            visit::find(book, visit, detector, test, fault, note)
        }
        Command::DisposeDeficiency { deficiency, how, note } => visit::dispose(book, deficiency, how, note),
        Command::Retest { test, why } => test::retest(book, test, why),
        Command::CorrectMarking { test, marking, reason } => test::correct_marking(book, test, *marking, reason),
    }
}

/// Undoes an entry and everything that was decided with it: same chain, same stamp. Undoing the only trip of a test leaves
/// its readings without one, which the test shows.
fn undo(book: &Book, at: At, target: Hash) -> Result<Vec<Draft>, Refusal> {
    use super::body::Body;
    let entry = book.get(target).ok_or(Refusal::NothingToUndo)?;
    if entry.chain.phone != at.phone || book.is_void(target) {
        return Err(Refusal::NothingToUndo);
    }
    let together = |other: &&Entry| other.stamp == entry.stamp && !book.is_void(other.hash);
    let targets = book.chain(entry.chain).filter(together);
    // The clocks are facts of the phone; taking back a mark does not take them back.
    let targets: Vec<&Entry> = targets.filter(|other| !matches!(other.body, Body::ClockGap { .. })).collect();
    if targets.iter().any(|other| starts_again(book, &other.body)) {
        return Err(Refusal::TestStarted);
    }
    let undone: Vec<Draft> =
        targets.iter().map(|other| draft(entry.chain.scope, Body::Undone { target: other.hash })).collect();
    if undone.is_empty() { Err(Refusal::NothingToUndo) } else { Ok(undone) }
}

/// Whether taking this back brings back the start of a test that was started anew since.
fn starts_again(book: &Book, undone: &super::body::Body) -> bool {
    use super::body::Body;
    let (mut body, mut void) = (undone, false);
    while let Body::Undone { target } = body {
        let Some(entry) = book.get(*target) else { return false };
        (body, void) = (&entry.body, book.is_void(entry.hash));
    }
    matches!(body, Body::TestStarted(frozen) if void && book.test_origins(frozen.test).next().is_some())
}

fn draft(scope: Scope, body: super::body::Body) -> Draft {
    Draft { scope, body }
}
