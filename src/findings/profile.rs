//! The heater profile that profile runs make, as the fit wants them.

use crate::book::body::What;
use crate::book::profile_run::ProfileRun;
use crate::thermal::{self, HeaterProfile, Refused, TAP_LATENCY};
use crate::trade::conditions::Warmth;
use crate::units::{Celsius, Kelvin, Reading, Seconds, TestTime};
use std::fmt;

/// Standard uncertainty of a typed ambient temperature, K: a room thermometer good to ±2 K with coverage factor
/// 2. The project's own figure.
pub const AMBIENT_U: Kelvin = Kelvin(1.0);

/// Why there is no heater profile.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoProfile {
    /// No usable profile run.
    NoProfileRun,
    /// Its readings cannot carry one.
    Refused(Refused),
}

impl fmt::Display for NoProfile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoProfile::NoProfileRun => f.write_str("no usable profile run yet"),
            NoProfile::Refused(why) => why.fmt(f),
        }
    }
}

/// The profile of these profile runs for a heater at `setting`. Profile runs of another setting show how the heater heats up and cools, but not what
/// it holds, so their readings at the top temperature stay out.
///
/// # Errors
/// Why there is none.
pub fn heater_profile(profile_runs: &[ProfileRun], setting: Reading) -> Result<HeaterProfile, NoProfile> {
    if profile_runs.is_empty() {
        return Err(NoProfile::NoProfileRun);
    }
    let given: Vec<thermal::ProfileRun> =
        profile_runs.iter().map(|profile_run| for_fit(profile_run, setting)).collect();
    HeaterProfile::fit(&given).map_err(NoProfile::Refused)
}

fn for_fit(profile_run: &ProfileRun, setting: Reading) -> thermal::ProfileRun {
    let start = &profile_run.frozen;
    let (top, off) = (profile_run.at(What::AtTop), off(profile_run));
    let same = start.heater.setting.celsius() == setting.celsius();
    let until = if same { off } else { top.or(off) };
    let (mut heating, mut cooling) = (Vec::new(), Vec::new());
    for reading in &profile_run.readings {
        let point = |from: TestTime| (Seconds::from_millis(reading.at.saturating_sub(from)), reading.reading.celsius());
        match off {
            Some(off) if reading.at > off => cooling.push(point(off)),
            _ if reading.at <= until.unwrap_or(TestTime::MAX) => heating.push(point(TestTime::HEAT_ON)),
            _ => {}
        }
    }
    let step = profile_run.readings.first().map_or(Kelvin(0.0), |first| first.reading.resolution());
    thermal::ProfileRun {
        heating,
        cooling,
        ambient: start.ambient.celsius(),
        ambient_u: AMBIENT_U,
        cold: start.heater_warmth == Warmth::Cold,
        top_at: top.map(TestTime::seconds),
        off_at: off.map(TestTime::seconds),
        resolution: start.heater.heating.resolution.map_or(step, |given| Kelvin(given.kelvin().0.max(step.0))),
    }
}

/// When heat went off, ms since heat on. On a heater that cycles by itself that was seen, and tapped as late as a reading; by
/// hand it is the tap itself.
fn off(profile_run: &ProfileRun) -> Option<TestTime> {
    let late = if profile_run.frozen.heater.heating.cycle.is_auto() { (TAP_LATENCY * 1_000.0) as i64 } else { 0 };
    profile_run.at(What::HeaterOff).map(|off| off - late)
}

/// What a reading of a profile run lies above the profile, by the time of its tap since heat on.
pub fn residuals(profile_run: &ProfileRun, profile: &HeaterProfile, index: usize) -> Vec<(Seconds, Kelvin)> {
    let Some(fit) = profile.profile_runs.get(index) else { return Vec::new() };
    let tapped =
        |from: f64| move |(time, residual): &(Seconds, Kelvin)| (Seconds(from + time.0 + TAP_LATENCY), *residual);
    let off = off(profile_run).map_or(0.0, |off| off.seconds().0);
    fit.heating_up.iter().map(tapped(0.0)).chain(fit.cooling.iter().map(tapped(off))).collect()
}

/// The fitted temperature of a profile run that a tap at profile run time `at` saw; none while it holds and where its readings carry no cooling.
pub fn fitted(profile_run: &ProfileRun, profile: &HeaterProfile, index: usize, at: Seconds) -> Option<Celsius> {
    let seen = at - Seconds(TAP_LATENCY);
    match (profile_run.at(What::AtTop).map(TestTime::seconds), off(profile_run).map(TestTime::seconds)) {
        (_, Some(off)) if seen >= off => profile.cooling_at(index, seen - off),
        (Some(top), _) if at > top => None,
        _ => profile.heat_up_at(index, Seconds(seen.0.max(0.0))),
    }
}
