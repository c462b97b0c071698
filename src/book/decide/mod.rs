//! Every rule, and the only place that may say no.

mod fields;
mod ramp;
mod register;
mod round;
mod run;
mod start;

pub use fields::{RATING, TEMPERATURE, day};
pub use ramp::refusals_of as ramp_refusals;
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
        Command::PutHead { head, name, heating, metrology } => {
            register::put_head(book, head, name, *heating, metrology)
        }
        Command::PutProcedure { procedure, now } => register::put_procedure(book, procedure, *now),
        Command::PutPerson { person, name } => register::put_person(book, person, name),
        Command::OpenRound { round, site } => round::open(book, at, round, site),
        Command::CloseRound { round } => round::close(book, round),
        Command::Tell { round, whom, when, by } => round::tell(book, round, whom, when, by),
        Command::TakeOut { round, circuit } => round::take_out(book, round, circuit),
        Command::PutBack { outage } => round::put_back(book, outage),
        Command::Secure { round, release, by } => round::secure(book, round, release, by),
        Command::Restore { securing, by } => round::restore(book, securing, by),
        Command::TakePermit { round, area, number, gas_test, tested_at, until } => {
            round::permit(book, round, area, number, gas_test, tested_at, until)
        }
        Command::LookAt { round, detector, visual } => round::look_at(book, round, detector, visual),
        Command::Start(start) => start::start(book, at, *start),
        Command::StartRamp(start) => ramp::start(book, at, *start),
        Command::EndRamp { ramp, usable } => ramp::end(book, at, ramp, usable),
        Command::Mark { run, what } if book.ramp_started(run) => ramp::mark(book, at, run, what),
        Command::Mark { run, what } => run::mark(book, at, run, what),
        Command::Read { run, reading, .. } if book.ramp_started(run) => ramp::read(book, at, run, reading),
        Command::Read { run, reading, trip } => run::read(book, at, run, reading, trip),
        Command::LetStand { reading } => run::let_stand(book, at, reading),
        Command::SayPanel { trip, point, said } => run::say_panel(book, trip, point, said),
        Command::Note { round, about, note } => round::note(book, round, about, note),
        Command::Undo { target } => undo(book, at, target),
        Command::Move { mark, by_ms } => run::shift(book, at, mark, by_ms),
        Command::End { run, how } => run::end(book, at, run, how),
        Command::TakeOver { run } => run::take_over(book, at, run),
        Command::NoteGap { scope, wall_ms, mono_ms, hidden } => run::note_gap(scope, wall_ms, mono_ms, hidden),
        Command::AnswerGap { gap, asleep } => run::answer_gap(book, gap, asleep),
        Command::FindDeficiency { round, detector, run, fault, note } => {
            round::find(book, round, detector, run, fault, note)
        }
        Command::DisposeDeficiency { deficiency, how, note } => round::dispose(book, deficiency, how, note),
        Command::LookAgain { run, why } => run::look_again(book, run, why),
        Command::CorrectMarking { run, marking, reason } => run::correct_marking(book, run, *marking, reason),
    }
}

/// Undoes an entry and everything that was decided with it: same chain, same stamp. Undoing the only trip of a run leaves
/// its readings without one, which the run shows.
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
        return Err(Refusal::RunStarted);
    }
    let undone: Vec<Draft> =
        targets.iter().map(|other| draft(entry.chain.scope, Body::Undone { target: other.hash })).collect();
    if undone.is_empty() { Err(Refusal::NothingToUndo) } else { Ok(undone) }
}

/// Whether taking this back brings back the start of a run that was started anew since.
fn starts_again(book: &Book, undone: &super::body::Body) -> bool {
    use super::body::Body;
    let (mut body, mut void) = (undone, false);
    while let Body::Undone { target } = body {
        let Some(entry) = book.get(*target) else { return false };
        (body, void) = (&entry.body, book.is_void(entry.hash));
    }
    matches!(body, Body::RunStarted(frozen) if void && book.run_origins(frozen.run).next().is_some())
}

fn draft(scope: Scope, body: super::body::Body) -> Draft {
    Draft { scope, body }
}
