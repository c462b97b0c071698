//! A body that follows its surroundings with one time constant: dT/dt = (Tg − T)/τ, τ = RTI/√u (Heskestad & Bill 1989,
//! Fire Safety Journal 14, 113). A detector's τ holds for its own airflow and must not be carried to another.

use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds};

/// τ of a detector with response time index `rti` (m^½ s^½) in gas moving at `speed` (m/s).
pub fn time_constant(rti: f64, speed: f64) -> Seconds {
    Seconds(rti / speed.sqrt())
}

/// When a body that starts at `start` in gas at `gas`, warmer or cooler, reaches `trip`; none when it never does.
pub fn step_trip(start: Celsius, gas: Celsius, trip: Celsius, tau: Seconds) -> Option<Seconds> {
    let t = tau.0 * ((gas - start).0 / (gas - trip).0).ln();
    (t.is_finite() && t >= 0.0).then_some(Seconds(t))
}

/// A trip in air that warms steadily.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RampTrip {
    /// Time from the start of the ramp.
    pub time: Seconds,
    /// Air temperature then.
    pub air: Celsius,
    /// How far the air is ahead of the body; it nears rate · τ.
    pub lag: Kelvin,
}

/// How far a body of time constant `tau` lags behind air that has warmed by `rise` at a steady `rate`, both having begun together:
/// r τ (1 − e^(−t/τ)) with t = rise/r.
pub fn ramp_lag(rate: KelvinPerSecond, rise: Kelvin, tau: Seconds) -> Kelvin {
    if rate.0 <= 0.0 || rise.0 <= 0.0 {
        return Kelvin(0.0);
    }
    Kelvin(-rate.0 * tau.0 * (-rise.0 / (rate.0 * tau.0)).exp_m1())
}

/// When a body of time constant `tau`, at `start` with the air, reaches `trip` as the air warms at `rate`:
/// T = T0 + r [t − τ (1 − e^(−t/τ))]. None when it never does.
pub fn ramp_trip(start: Celsius, rate: KelvinPerSecond, trip: Celsius, tau: Seconds) -> Option<RampTrip> {
    // In units of τ: s − (1 − e^(−s)) = q. It is increasing and convex, so Newton's method from above converges.
    let q = (trip - start).0 / (rate.0 * tau.0);
    if !(q >= 0.0 && q.is_finite() && rate.0 > 0.0) {
        return None;
    }
    let mut s = q + (2.0 * q).sqrt();
    for _ in 0..100 {
        let excess = s + (-s).exp_m1() - q;
        let step = excess / -(-s).exp_m1();
        if !step.is_finite() || step.abs() <= f64::EPSILON * s {
            break;
        }
        s -= step;
    }
    let air = start + rate * (tau * s);
    Some(RampTrip { time: tau * s, air, lag: air - trip })
}
