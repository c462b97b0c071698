//! How the head holds its upper temperature, from the readings that ramps took after reaching it.

use super::curve::Ramp;
use super::spread::{Pair, Spread, spread};
use crate::units::Seconds;

/// The held temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Hold {
    /// Level, °C, and the temperature when "at upper temperature" is marked, °C; the latter as far as it was marked.
    pub(super) level: Spread,
    /// Variance of one reading about the level of its ramp: the thermostat's swing.
    pub(super) swing: f64,
}

/// What the readings after "at upper temperature" say; `reached` is the fitted temperature of each ramp at that mark. None
/// where no ramp has two such readings.
pub(super) fn hold(ramps: &[Ramp], reached: &[Option<f64>]) -> Option<Hold> {
    let mut levels: Vec<Pair> = Vec::new();
    let (mut squares, mut df) = (0.0, 0.0);
    for (ramp, reached) in ramps.iter().zip(reached) {
        let (Some(upper_at), Some(reached)) = (ramp.upper_at, *reached) else { continue };
        let held = readings(ramp, upper_at);
        let Some(mean) = level(ramp) else { continue };
        squares += held.iter().map(|held| (held - mean).powi(2)).sum::<f64>();
        df += held.len() as f64 - 1.0;
        levels.push([mean, reached]);
    }
    let step = ramps.iter().map(|ramp| ramp.resolution.0.abs()).fold(0.0, f64::max);
    let rounding = step * step / 12.0;
    // A swing within one step does not show: then it is anywhere within that step.
    let swing = (squares / df - rounding).max(rounding);
    // With few ramps the level is taken to differ between them as much as it swings within one.
    let assumed = swing.sqrt();
    Some(Hold { level: spread(&levels, [[0.0; 2]; 2], [assumed, assumed])?, swing })
}

/// The mean of the readings after "at upper temperature", °C; none from fewer than two.
pub(super) fn level(ramp: &Ramp) -> Option<f64> {
    let held = readings(ramp, ramp.upper_at?);
    (held.len() > 1).then(|| held.iter().sum::<f64>() / held.len() as f64)
}

fn readings(ramp: &Ramp, upper_at: Seconds) -> Vec<f64> {
    ramp.heating.iter().filter(|(t, _)| *t > upper_at).map(|(_, held)| held.0).collect()
}
