//! What was done at a position, and which detectors hung there.

use super::{Fact, Shown};
use crate::book::register::{Installed, Position};
use crate::encoding::stored;
use crate::findings::history::{Done, DoneWhat, TestDone};
use crate::view::before::marked;
use crate::view::findings::figure::decimals;
use crate::view::findings::{Sign, lower, outcome_sign};
use crate::view::page::sign::Shape;
use crate::view::page::{Block, Row};
use crate::view::route::Route;
use crate::view::{time, words};

/// Heading of the detectors that hung here.
const DETECTORS: &str = "Detectors so far";
const NOW: &str = "Here now";
const BEFORE: &str = "Taken out";
/// Said of a result of another detector.
const EARLIER: &str = " · earlier detector";

/// The last ones, newest first: day, what came of it, heater.
pub(super) fn lines(shown: &Shown<'_>, most: usize) -> Vec<Fact> {
    let line = |done: &Done| {
        // Short enough for one line of a phone; the digits are with the results in full.
        let (title, heater) = match &done.what {
            DoneWhat::Test(test) => {
                let how = if test.estimated > 0 { " estimated" } else { "" };
                let at = test.operating.map(|(mean, _)| format!(" · {}{how}", words::degrees(mean, shown.unit, 0)));
                let title = format!("{}{}", test.outcome.words(), at.unwrap_or_default());
                (title, format!(" · {}", test.frozen.heater.name.name))
            }
            _ => (said(shown, done).1, String::new()),
        };
        let hung = shown.known.register.positions.get(&shown.id).and_then(Position::detector);
        let other = if done.detector.is_some_and(|of| Some(of) != hung) { EARLIER } else { "" };
        (day(shown, done).into(), format!("{title}{heater}{other}").into())
    };
    shown.done.iter().rev().take(most).map(line).collect()
}

/// Everything that was done, newest first.
pub(super) fn rows(shown: &Shown<'_>, position: &Position) -> Vec<Row> {
    shown.done.iter().rev().map(|done| row(shown, position, done)).collect()
}

fn day(shown: &Shown<'_>, done: &Done) -> String {
    time::date(done.at, (shown.offset)(done.at))
}

/// What came of it, and its sign.
fn said(shown: &Shown<'_>, done: &Done) -> (Sign, String) {
    let (sign, title) = came(done);
    match &done.what {
        DoneWhat::Test(test) => (sign, [title].into_iter().chain(as_read(shown, test)).collect::<Vec<_>>().join(" · ")),
        _ => (sign, title),
    }
}

/// The same without numbers.
pub(in crate::view) fn came(done: &Done) -> (Sign, String) {
    match &done.what {
        DoneWhat::Test(test) => (outcome_sign(test.outcome), test.outcome.words().to_string()),
        DoneWhat::Other(..) if done.is_electrical_only() => (Sign::Open, words::ELECTRICAL_ONLY.to_string()),
        DoneWhat::Other(_, outcome) => (outcome_sign(*outcome), outcome.words().to_string()),
        DoneWhat::Visual(found) if found.is_empty() => (Sign::Good, "Visual check: good".to_string()),
        DoneWhat::Visual(found) => {
            let seen: Vec<&str> = found.iter().map(|finding| finding.words()).collect();
            (Sign::Bad, format!("Visual check: {}", lower(&seen.join(", "))))
        }
        DoneWhat::Repaired(work) => (Sign::Open, format!("Work: {}", plain(&stored::name(work)))),
        DoneWhat::NotTested(of) => (Sign::Open, format!("Not tested: {}", plain(&stored::name(&of.why)))),
    }
}

fn row(shown: &Shown<'_>, position: &Position, done: &Done) -> Row {
    let (sign, title) = said(shown, done);
    let mut parts = vec![day(shown, done)];
    match &done.what {
        DoneWhat::Test(test) => {
            parts.extend(test.as_read.map(|as_read| lower(as_read.words())));
            parts.push(test.frozen.heater.name.name.clone());
        }
        DoneWhat::Other(..) if done.is_electrical_only() => {}
        DoneWhat::Other(other, _) => parts.push(plain(&stored::name(&other.method))),
        DoneWhat::Visual(_) | DoneWhat::NotTested(_) | DoneWhat::Repaired(_) => {}
    }
    // Of the one that hangs now nothing need be said.
    let hangs = |detector| position.hanging().any(|installed| installed.detector == detector);
    if let Some(other) = done.detector.filter(|detector| !hangs(*detector)) {
        let serial = shown.known.register.detectors.get(&other).and_then(|of| of.make.now()?.serial.clone());
        parts.push(serial.map_or_else(|| "earlier detector".into(), |serial| format!("earlier detector {serial}")));
    }
    let (shape, _) = sign.drawn();
    let row = Row::new("result", title, parts.join(" · ")).sign(shape);
    match &done.what {
        DoneWhat::Test(test) => row.to(Route::Finding(test.test)),
        _ => row,
    }
}

/// A stored name in words: they are the trade's.
fn plain(name: &str) -> String {
    name.replace('_', " ")
}

/// Mean of the counted trips.
fn as_read(shown: &Shown<'_>, test: &TestDone) -> Option<String> {
    let (mean, expanded) = test.operating?;
    let digits = decimals(expanded, shown.unit);
    let how = if test.estimated > 0 { "estimated" } else { "as read" };
    Some(format!("{} {how}", words::degrees(mean, shown.unit, digits)))
}

/// Whether the detector that hangs now came in place of another one and no test of it has passed.
pub(super) fn is_unproven(position: &Position, done: &[Done]) -> bool {
    let came_later = position.installed.len() > 1;
    let proven = |detector| done.iter().any(|done| done.detector == Some(detector) && done.passed());
    position.detector().is_some_and(|detector| came_later && !proven(detector))
}

/// Every detector that hung here, the one of now first; nothing where there was one only.
pub(super) fn detectors(shown: &Shown<'_>, position: &Position) -> Option<Block> {
    let register = shown.known.register;
    let day = |of: Option<crate::book::body::Happened>| of.map(|of| time::date(of.at, of.offset));
    let row = |installed: &Installed| {
        let detector = register.detectors.get(&installed.detector);
        let marking = detector.and_then(|detector| detector.marking.now()).map(|of| marked(of, shown.unit));
        let serial = detector.and_then(|detector| detector.make.now()?.serial.as_ref());
        let mut parts: Vec<String> = marking.into_iter().chain(serial.map(|of| format!("serial {of}"))).collect();
        parts.extend(day(installed.happened).map(|day| format!("in {day}")));
        if let Some((why, happened)) = installed.removed {
            parts.extend(day(happened).map(|day| format!("out {day}")));
            parts.push(plain(&stored::name(&why)));
        }
        let title = if installed.removed.is_none() { NOW } else { BEFORE };
        Row::new("detector", title, parts.join(" · ")).sign(Shape::Detector)
    };
    let (out, here): (Vec<&Installed>, Vec<&Installed>) =
        position.installed.iter().partition(|installed| installed.removed.is_some());
    let rows: Vec<Row> = here.into_iter().chain(out).map(row).collect();
    (rows.len() > 1).then(|| Block::fold("detectors", DETECTORS, vec![Block::rows(DETECTORS, rows)]))
}
