//! Texts of heater profiles and profile runs.

#![allow(missing_docs, reason = "each is its own text")]

use crate::thermal::{HeaterProfile, HeatingUp};
use crate::view::time;
use crate::view::words::plural;

pub const HEATER_PROFILE: &str = "Heater profile";
pub const TAKE_PROFILE_RUN: &str = "Profile this heater";
pub const PROFILE_RUN_GOES_ON: &str = "Profile run in progress";
pub const PROFILE_RUN_GOES_ON_WORDS: &str = "Its clock keeps running, whatever is on screen.";
pub const TO_PROFILE_RUN: &str = "Continue";
pub const PROFILE_RUNS: &str = "Profile runs";
pub const NO_PROFILE_RUNS: &str = "No profile run yet.";
pub const NO_PROFILE_WORD: &str = "No profile";
pub const NO_PROFILE: &str = "No profile: the app can't estimate heater temperature and asks for readings. A profile run takes one heat-up and one cool-down.";
pub const USABLE: &str = "Usable";
pub const NO_PROFILE_OF_IT: &str = "No fit";
pub const NOT_USABLE: &str = "Rejected";
pub const OLDER: &str = "Older, not used";
pub const GOES_ON: &str = "In progress";
pub const NOT_AFTER_ALL: &str = "Reject after all";
pub const UNDO_END: &str = "Undo its end";
pub const READINGS: &str = "Readings";
pub const RESIDUALS: &str = "Reading minus profile";
pub const PARAMETERS: &str = "What the profile says";
pub const BEFORE_PROFILE_RUN: &str = "Set up the profile run";
pub const PROFILE_RUN_WHY: &str = "One heat-up and one cool-down with a detector in place. Read the display as often as you can; the app keeps the time.";
pub const DETECTOR_IN_PLACE: &str = "Detector in place";
pub const DETECTOR_NONE: &str = "Not on the list";
pub const DETECTOR_NONE_HELP: &str = "A spare of the same type is best.";
pub const DIAL_AMBIENT: &str = "Enter it";
pub const NOT_DIALLED: &str = "not entered";
pub const BELOW_ZERO: &str = "below 0";
pub const START_HEATING: &str = "Start heating";
pub const START_HINT: &str = "Tap as heat comes on";
pub const AMBIENT_FIRST: &str = "Enter the ambient temperature first: a heater profile is a difference from it.";
pub const READ_NOW: &str = "Read now";
pub const READ_HINT: &str = "Tap, then enter the reading";
pub const DIAL_READING: &str = "What the display showed";
pub const NOT_SEEN: &str = "Couldn't read it";
pub const END_PROFILE_RUN: &str = "End";
pub const THIS_PROFILE_RUN: &str = "This profile run";
pub const END_HOW: &str = "End this profile run";
pub const END_USABLE: &str = "End: use it";
pub const END_NOT_USABLE: &str = "End: reject it";
pub const END_WORDS: &str = "Use it if heater and detector were left alone and the readings are right. Reject it if it was disturbed (hand, draft, wrong setting); it stays on record.";
pub const MOVE_LAST: &str = "Last mark";
pub const PROFILE_RUN_CAUTIONS: [(&str, &str); 3] = [
    (
        "Take a spare detector, or one whose circuit is impaired and whose releases are secured: it will trip.",
        "NFPA 72, chapter 14, releasing systems",
    ),
    ("Never a nonrestorable element: heat would destroy it.", "NFPA 72 table 14.4.3.2"),
    (
        "Metal at 140 °F (60 °C) burns skin within seconds. Gloves on until you have touch-tested it.",
        "burn times as quoted for metal surfaces; ISO 13732-1 gives the method",
    ),
];

/// How many profile runs a profile rests on, and what that says of its spread.
pub fn profile_runs_behind(profile: &HeaterProfile) -> String {
    match profile.profile_runs.len() {
        1 => "One profile run: the spread between profile runs is unknown. A standard deviation of 12% of the heating rate is assumed (supply within ±10%); three profile runs show the heater's own.".into(),
        count if profile.spread_seen() => format!("{count} profile runs; their spread is in every standard uncertainty."),
        count => format!("{count} profile runs: too few to tell their spread. A standard deviation of 12% of the heating rate is assumed (supply within ±10%); three profile runs show the heater's own."),
    }
}

/// Which way of heating was chosen, and by which figures.
pub fn chosen(profile: &HeaterProfile) -> String {
    let (name, other) = match profile.heating_up {
        HeatingUp::Exponential => ("Exponential approach", "a constant rate"),
        HeatingUp::ConstantRate => ("Constant rate", "an exponential approach"),
    };
    match (profile.aicc.exponential, profile.aicc.constant_rate) {
        (Some(bent), Some(straight)) => {
            let (mine, theirs) =
                if profile.heating_up == HeatingUp::Exponential { (bent, straight) } else { (straight, bent) };
            let text = format!("{name}: AICc prefers it to {other} ({mine:.1} against {theirs:.1}; less is better).");
            text.replace('-', "−")
        }
        _ => format!("{name}: the readings cannot carry {other}."),
    }
}

/// How many readings are still asked for, and how often.
pub fn more_readings(more: usize, often: &str) -> String {
    format!("{}, one every {often}.", plural(more, "more reading", "more readings"))
}

/// How many readings.
pub fn readings(count: usize) -> String {
    plural(count, "reading", "readings")
}

/// On the key that asks for a reading: how many there are and when the next is due.
pub fn reading_due(count: usize, left_ms: i64) -> String {
    match (count, left_ms) {
        (0, _) => READ_HINT.into(),
        (_, left) if left <= 0 => format!("{} · next one due", readings(count)),
        (_, left) => format!("{} · next in {}", readings(count), time::left(left)),
    }
}

/// Text alternative of the plot.
pub fn plot(heater: &str, profile_runs: usize, readings: usize) -> String {
    let of = plural(profile_runs, "profile run", "profile runs");
    format!(
        "Heater profile of {heater}: {readings} readings of {of} against time since heat on, the fitted profile, and below it readings minus profile"
    )
}
