//! The heat curve that ramps make, as the fit wants them.

use crate::book::ramp::Ramp;
use crate::thermal::{self, HeatCurve, Refused};
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
    use crate::book::body::What;
    let start = &ramp.frozen;
    let (upper, off) = (ramp.at(What::AtUpper), ramp.at(What::HeadOff));
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

/// What a reading of a ramp lies above the curve, by ramp time: heating from heat on, cooling behind head off.
pub fn residuals(ramp: &Ramp, curve: &HeatCurve, index: usize) -> Vec<(Seconds, Kelvin)> {
    let Some(fit) = curve.ramps.get(index) else { return Vec::new() };
    let off = Seconds::from_millis(ramp.while_cooling().0);
    let cooling = fit.cooling.iter().map(|(time, residual)| (*time + off, *residual));
    fit.climbing.iter().copied().chain(cooling).collect()
}

/// The fitted temperature of a ramp at ramp time `at`; none while it holds and where its readings carry no cooling.
pub fn fitted(ramp: &Ramp, curve: &HeatCurve, index: usize, at: Seconds) -> Option<Celsius> {
    use crate::book::body::What;
    let ms = |what| ramp.at(what).map(Seconds::from_millis);
    match (ms(What::AtUpper), ms(What::HeadOff)) {
        (_, Some(off)) if at >= off => curve.cooling_at(index, at - off),
        (Some(upper), _) if at > upper => None,
        _ => curve.climb_at(index, at),
    }
}
