//! A body that follows its surroundings with one time constant: dT/dt = (Tg − T)/τ, τ = RTI/√u (Heskestad & Bill 1989,
//! Fire Safety Journal 14, 113). A detector's τ holds for its own airflow and must not be carried to another.

use crate::units::{Kelvin, KelvinPerSecond, Seconds};

/// How far a body of time constant `tau` lags behind air that has warmed by `rise` at a steady `rate`, both having begun together:
/// r τ (1 − e^(−t/τ)) with t = rise/r.
pub fn ramp_lag(rate: KelvinPerSecond, rise: Kelvin, tau: Seconds) -> Kelvin {
    if rate.0 <= 0.0 || rise.0 <= 0.0 {
        return Kelvin(0.0);
    }
    Kelvin(-rate.0 * tau.0 * (-rise.0 / (rate.0 * tau.0)).exp_m1())
}
