//! One profile run as the fits want it.

use crate::units::{Celsius, Kelvin, Seconds};

/// A tap comes after what it marks, by up to a second: half of that is taken off, and it may be that much on either side
/// (rectangular, GUM 4.3.7). The project's own figure, no published source. A person is late in the same way every time, so no
/// number of readings makes this smaller.
pub const TAP_LATENCY: f64 = 0.5;

/// One profile run with a detector in place.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfileRun {
    /// Readings of the display while heat is on: time since heat on.
    pub heating: Vec<(Seconds, Celsius)>,
    /// Readings after heat off: time since heat off.
    pub cooling: Vec<(Seconds, Celsius)>,
    /// Ambient temperature.
    pub ambient: Celsius,
    /// Its standard uncertainty.
    pub ambient_u: Kelvin,
    /// Whether the heater was at ambient temperature at heat on.
    pub cold: bool,
    /// When the heater reached its top temperature, since heat on; readings after it show how well it holds.
    pub top_at: Option<Seconds>,
    /// When heat went off, since heat on.
    pub off_at: Option<Seconds>,
    /// One step of the display.
    pub resolution: Kelvin,
}

impl ProfileRun {
    /// The same with readings and "at top temperature" as early as they were seen.
    pub(super) fn without_finger(&self) -> ProfileRun {
        let earlier = |t: Seconds| Seconds((t.0 - TAP_LATENCY).max(0.0));
        let all = |readings: &[(Seconds, Celsius)]| readings.iter().map(|(t, shown)| (earlier(*t), *shown)).collect();
        ProfileRun {
            heating: all(&self.heating),
            cooling: all(&self.cooling),
            top_at: self.top_at.map(earlier),
            ..self.clone()
        }
    }
}

/// Whether a straight line through the points rises.
pub(super) fn rises(points: &[(f64, f64)]) -> bool {
    let mean = |of: &dyn Fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / points.len() as f64;
    let (time, temperature) = (mean(&|point| point.0), mean(&|point| point.1));
    points.iter().map(|(t, y)| (t - time) * (y - temperature)).sum::<f64>() > 0.0
}
