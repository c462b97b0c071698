//! How the heater holds its top temperature, from the readings that profile runs took after reaching it.

use super::profile::ProfileRun;
use super::spread::{Pair, Spread, spread};
use crate::units::Seconds;

/// The held temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Hold {
    /// Level, °C, and the temperature when "at top temperature" is marked, °C; the latter as far as it was marked.
    pub(super) level: Spread,
    /// Variance of one reading about the level of its profile run: the thermostat's swing.
    pub(super) swing: f64,
}

/// What the readings after "at top temperature" say; `reached` is the fitted temperature of each profile run at that mark. None
/// where no profile run has two such readings.
pub(super) fn hold(profile_runs: &[ProfileRun], reached: &[Option<f64>]) -> Option<Hold> {
    let mut levels: Vec<Pair> = Vec::new();
    let (mut squares, mut df) = (0.0, 0.0);
    for (profile_run, reached) in profile_runs.iter().zip(reached) {
        let (Some(top_at), Some(reached)) = (profile_run.top_at, *reached) else { continue };
        let held = readings(profile_run, top_at);
        let Some(mean) = level(profile_run) else { continue };
        squares += held.iter().map(|held| (held - mean).powi(2)).sum::<f64>();
        df += held.len() as f64 - 1.0;
        levels.push([mean, reached]);
    }
    let step = profile_runs.iter().map(|profile_run| profile_run.resolution.0.abs()).fold(0.0, f64::max);
    let rounding = step * step / 12.0;
    // A swing within one step does not show: then it is anywhere within that step.
    let swing = (squares / df - rounding).max(rounding);
    // With few profile runs the level is taken to differ between them as much as it swings within one.
    let assumed = swing.sqrt();
    Some(Hold { level: spread(&levels, [[0.0; 2]; 2], [assumed, assumed])?, swing })
}

/// The mean of the readings after "at top temperature", °C; none from fewer than two.
pub(super) fn level(profile_run: &ProfileRun) -> Option<f64> {
    let held = readings(profile_run, profile_run.top_at?);
    (held.len() > 1).then(|| held.iter().sum::<f64>() / held.len() as f64)
}

fn readings(profile_run: &ProfileRun, top_at: Seconds) -> Vec<f64> {
    profile_run.heating.iter().filter(|(t, _)| *t > top_at).map(|(_, held)| held.0).collect()
}
