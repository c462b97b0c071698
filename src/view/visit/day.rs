//! What is left of the day, and what is tested again because the panel's programming changed.

use crate::book::body::{ImpairedWhat, SampleWhy, Who};
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::register::Register;
use crate::book::visit::Visit;
use crate::findings::day::{LEAST_INTERVALS, Limit, LimitOf, Pace, day};
use crate::units::Wall;
use crate::view::visit::{A_CIRCUIT, circuit_name};
use crate::view::{time, words};

/// What is left, when that may be done, and the first limit before; nothing where nothing is left.
pub(super) fn facts(
    book: &Book,
    register: &Register,
    visit: &Visit,
    offset_min: i64,
    now: Wall,
) -> Vec<(&'static str, String)> {
    let day = day(book, register, visit, now);
    if day.left == 0 {
        return Vec::new();
    }
    let mut facts = vec![("Left", words::plural(day.left, "position", "positions"))];
    facts.push(("Finish", day.pace.map_or_else(not_known, |pace| done(&pace, offset_min))));
    facts.extend(day.first.map(|first| ("First limit", limit(register, &first, day.pace, offset_min, now))));
    facts
}

const BETWEEN: &str = "Between ";

/// Whether the facts give an estimate of the end.
pub(super) fn has_estimate(facts: &[(&'static str, String)]) -> bool {
    facts.iter().any(|(_, said)| said.starts_with(BETWEEN) || said.starts_with("About "))
}

fn not_known() -> String {
    format!("Not known yet: needs {} tests.", LEAST_INTERVALS + 1)
}

fn done(pace: &Pace, offset_min: i64) -> String {
    let [from, to] = [pace.earliest, pace.latest].map(|at| time::of_day(at, offset_min));
    let each = time::gone(pace.mean_ms.round() as i64);
    let tests = pace.intervals + 1;
    if from == to {
        return format!("About {to}, at {each} min a test ({tests} tests)");
    }
    format!("{BETWEEN}{from} and {to}, at {each} min a test ({tests} tests)")
}

fn limit(register: &Register, of: &Limit, pace: Option<Pace>, offset_min: i64, now: Wall) -> String {
    let at = time::wall(of.at, offset_min);
    let what = match &of.what {
        LimitOf::Station => format!("Station's time on test ends {at}"),
        LimitOf::Impairment(None) => format!("Impairment limit of the system {at}"),
        LimitOf::Impairment(Some(item)) => {
            let name = match item.what {
                ImpairedWhat::Whole => "the system".to_string(),
                ImpairedWhat::Circuit => {
                    item.circuit.map_or_else(|| A_CIRCUIT.to_string(), |circuit| circuit_name(register, circuit))
                }
                ImpairedWhat::Zone | ImpairedWhat::Output => item.label.clone().unwrap_or_default(),
            };
            format!("Impairment limit of {name} {at}")
        }
        LimitOf::Permit(number) => format!("Permit {number} runs out {at}"),
        LimitOf::Lift => format!("Next lift check {at}, a shift of 8 h after the last"),
    };
    if of.at <= now {
        return format!("{what}: already past");
    }
    let side = pace.map(|pace| match of.at {
        at if at < pace.earliest => ": likely before you're done",
        at if at <= pace.latest => ": maybe before you're done",
        _ => ": likely after you're done",
    });
    format!("{what}{}", side.unwrap_or_default())
}

/// Changes of the programming: the entry, what was affected and drawn, and how an auditor draws it again.
pub(super) fn programming(
    visit: &Visit,
    offset_min: i64,
    said: &impl Fn(Who) -> String,
) -> Vec<(Hash, String, String)> {
    let row = |change: &crate::book::visit::Said<crate::book::body::ProgrammingChange>| {
        let at = time::of_day(change.what.happened.at, offset_min);
        let affected = change.what.affected.len();
        // Drawn in the same decision.
        let sample = visit.record.samples.iter().find(|sample| {
            (sample.phone, sample.wall, sample.what.why) == (change.phone, change.wall, SampleWhy::Reacceptance)
        });
        let drawn = sample.map_or(0, |sample| sample.what.drawn.len());
        let others = sample.map_or(0, |sample| sample.what.from.len());
        let what = format!("{at} · {affected} affected, {drawn} of {others} others drawn by the app");
        let how = sample.map(|sample| {
            format!(
                "{}. To draw them again: of the {others}, those with the lowest SHA-256 of the seed followed by the position's id. Seed {}",
                said(change.what.by),
                sample.what.seed
            )
        });
        (change.hash, what, how.unwrap_or_else(|| said(change.what.by)))
    };
    visit.record.programming.iter().map(row).collect()
}
