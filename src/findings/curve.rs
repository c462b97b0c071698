//! The heat curve that ramps make, as the fit wants them.

use crate::book::body::What;
use crate::book::ramp::Ramp;
use crate::thermal::{self, FINGER, HeatCurve, Refused};
use crate::trade::seen::Warmth;
use crate::units::{Celsius, Kelvin, Reading, Seconds};
use std::fmt;

/// Standard uncertainty of an ambient temperature that somebody typed in, K: a room thermometer good to ±2 K with coverage factor
/// 2. The project's own figure.
pub const AMBIENT_U: Kelvin = Kelvin(1.0);

/// Why there is no heat curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoCurve {
    /// No usable ramp.
    NoRamp,
    /// Its readings cannot carry one.
    Refused(Refused),
}

impl fmt::Display for NoCurve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoCurve::NoRamp => f.write_str("no usable ramp yet"),
            NoCurve::Refused(why) => why.fmt(f),
        }
    }
}

/// The curve of these ramps for a head at `setting`. Ramps of another setting tell how the head climbs and cools, but not what
/// it holds, so their readings at the upper temperature stay out.
///
/// # Errors
/// Why there is none.
pub fn heat_curve(ramps: &[Ramp], setting: Reading) -> Result<HeatCurve, NoCurve> {
    if ramps.is_empty() {
        return Err(NoCurve::NoRamp);
    }
    let given: Vec<thermal::Ramp> = ramps.iter().map(|ramp| for_fit(ramp, setting)).collect();
    HeatCurve::fit(&given).map_err(NoCurve::Refused)
}

fn for_fit(ramp: &Ramp, setting: Reading) -> thermal::Ramp {
    let start = &ramp.frozen;
    let (upper, off) = (ramp.at(What::AtUpper), off(ramp));
    let same = start.head.setting.celsius() == setting.celsius();
    let until = if same { off } else { upper.or(off) };
    let (mut heating, mut cooling) = (Vec::new(), Vec::new());
    for reading in &ramp.readings {
        let point = |from: i64| (Seconds::from_millis(reading.at.saturating_sub(from)), reading.reading.celsius());
        match off {
            Some(off) if reading.at > off => cooling.push(point(off)),
            _ if reading.at <= until.unwrap_or(i64::MAX) => heating.push(point(0)),
            _ => {}
        }
    }
    let step = ramp.readings.first().map_or(Kelvin(0.0), |first| first.reading.resolution());
    thermal::Ramp {
        heating,
        cooling,
        ambient: start.ambient.celsius(),
        ambient_u: AMBIENT_U,
        cold: start.head_warmth == Warmth::Cold,
        upper_at: upper.map(Seconds::from_millis),
        off_at: off.map(Seconds::from_millis),
        resolution: start.head.heating.resolution.map_or(step, |given| Kelvin(given.kelvin().0.max(step.0))),
    }
}

/// When heat went off, ms since heat on. On a head that cycles by itself somebody saw that, and tapped as late as at a reading; by
/// hand it is the tap itself.
fn off(ramp: &Ramp) -> Option<i64> {
    let late = if ramp.frozen.head.heating.cycle.by_itself() { (FINGER * 1_000.0) as i64 } else { 0 };
    ramp.at(What::HeadOff).map(|off| off.saturating_sub(late))
}

/// What a reading of a ramp lies above the curve, by the time of its tap since heat on.
pub fn residuals(ramp: &Ramp, curve: &HeatCurve, index: usize) -> Vec<(Seconds, Kelvin)> {
    let Some(fit) = curve.ramps.get(index) else { return Vec::new() };
    let tapped = |from: f64| move |(time, residual): &(Seconds, Kelvin)| (Seconds(from + time.0 + FINGER), *residual);
    let off = off(ramp).map_or(0.0, |off| Seconds::from_millis(off).0);
    fit.climbing.iter().map(tapped(0.0)).chain(fit.cooling.iter().map(tapped(off))).collect()
}

/// The fitted temperature of a ramp that a tap at ramp time `at` saw; none while it holds and where its readings carry no cooling.
pub fn fitted(ramp: &Ramp, curve: &HeatCurve, index: usize, at: Seconds) -> Option<Celsius> {
    let seen = at - Seconds(FINGER);
    match (ramp.at(What::AtUpper).map(Seconds::from_millis), off(ramp).map(Seconds::from_millis)) {
        (_, Some(off)) if seen >= off => curve.cooling_at(index, seen - off),
        (Some(upper), _) if at > upper => None,
        _ => curve.climb_at(index, Seconds(seen.0.max(0.0))),
    }
}
