//! Words of what is due.

use crate::book::body::RuleSet;
use crate::findings::due::{State, Why};
use crate::view::locale;
use crate::view::page::sign::{Shape, Tone};
use chrono::NaiveDate;

pub(super) use crate::view::words::DUE as TITLE;
pub(super) const COVERAGE: &str = "Coverage";
pub(super) const TRUCK: &str = "Truck list";
pub(super) const RULES: &str = "Rules of this site";
pub(super) const WORKING: &str = "Calculating";
pub(super) const WORKING_WORDS: &str = "Going through every visit to this site.";
pub(super) const NOTHING: &str = "No positions yet";
pub(super) const NOTHING_WORDS: &str = "Add areas and positions under Devices. What is due follows.";
pub(super) const PROPOSAL: &str = "Proposal for this visit";
pub(super) const PLAN: &str = "Plan these for the visit";
pub(super) const PLAN_NEW: &str = "Open a visit with these";
pub(super) const ALL_PLANNED: &str = "Nothing left to plan: these are on the list, or were taken off it by hand.";
pub(super) const NONE_DUE: &str = "No functional test is due before the next visit.";
pub(super) const BY_HAND: &str = "Tap a position to put it on the list or take it off, with a reason that prints.";
pub(super) const SHARES: &str = "Yearly minimum per circuit";
pub(super) const SAY_AUTHORITY: &str = "Check with the AHJ";
pub(super) const FROM_MEMORY: &str = "Rule not checked against the standard's text.";
pub(super) const VISUAL_DUE: &str = "visual check due";
pub(super) const SETTLE: &str = "Pick the right one";
pub(super) const PARTED: &str =
    "Two phones chose different rules for this site. Until one is picked, the strictest of both applies.";
pub(super) const CHANGED: &str = "Changed by hand";
pub(super) const ERASED: &str = "reason erased";
pub(super) const NOT_DUE: &str = "Test not due";
pub(super) const TAKEN_OFF: &str = "Off the list";
pub(super) const PLANNED: &str = "Planned";

/// A day.
pub(super) fn date(day: NaiveDate) -> String {
    locale::date(day.and_time(chrono::NaiveTime::MIN))
}

/// A state in words.
pub(super) fn state(state: State) -> String {
    match state {
        State::Overdue(since) => format!("Overdue since {}", date(since)),
        State::Now => "Due now".into(),
        State::ByNextVisit(by) => format!("Due by next visit ({})", date(by)),
        State::NotUntil(by) => format!("Test not due until {}", date(by)),
    }
}

/// Its drawing and colour.
pub(super) fn sign(state: State) -> (Shape, Tone) {
    match state {
        State::Overdue(_) => (Shape::Alarm, Tone::Bad),
        State::Now => (Shape::Time, Tone::Warn),
        State::ByNextVisit(_) => (Shape::Time, Tone::Note),
        State::NotUntil(_) => (Shape::Done, Tone::Good),
    }
}

/// A reason in words.
pub(super) fn why(why: Why) -> String {
    match why {
        Why::NoDetector => "not exactly one detector on file".into(),
        Why::Provisional => "provisional: settle it first".into(),
        Why::NeverPassed => "no passed test of this detector on record".into(),
        Why::NotPassed(outcome) => format!("last test: {}", lower(outcome.words())),
        Why::Repaired => "repaired since its last test".into(),
        Why::Found(found) => format!("last visual: {}", lower(found.words())),
        Why::Ahead => "its date on record can't be right".into(),
        Why::InstallUnknown => "installation date not on record".into(),
        Why::NeverLooked => "no visual check on record".into(),
        Why::Last(day) => format!("last {}", date(day)),
        Why::Installed(day) => format!("installed {}", date(day)),
        Why::Sampled(day) => format!("sample tested {}", date(day)),
        Why::SampleFailed => "a sample failed in the laboratory".into(),
        Why::Share => "picked for its circuit's minimum".into(),
        Why::Repeat => "picked for its circuit's minimum, tested last time too".into(),
    }
}

fn lower(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// With a capital, at the start of a line.
pub(super) fn upper(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Months as people say them.
pub(super) fn months(count: u32) -> String {
    match count {
        1 => "month".into(),
        12 => "year".into(),
        count if count % 12 == 0 => format!("{} years", count / 12),
        count => format!("{count} months"),
    }
}

/// So many months, as people say them.
fn span(count: u32) -> String {
    if count == 1 || count == 12 { format!("1 {}", months(count)) } else { months(count) }
}

/// The numbers of a rule in a line.
pub(super) fn numbers(rule: &RuleSet) -> String {
    let mut parts = Vec::new();
    match rule.least_per_circuit {
        Some(fewest) => parts.push(format!("{fewest} or more per circuit every {}", months(rule.every_months))),
        None => parts.push(format!("every {}", months(rule.every_months))),
    }
    parts.extend(rule.all_within_months.map(|within| format!("all within {}", span(within))));
    parts.extend(rule.first_after_months.map(|first| format!("starting {} after installation", span(first))));
    parts.extend(rule.sample_per_100.map(|of| format!("sample {of} of 100")));
    upper(&parts.join(" · "))
}
