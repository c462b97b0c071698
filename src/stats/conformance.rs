//! Does a value with its uncertainty lie within limits: conformance probability (JCGM 106:2012, 7) and decisions with a
//! guard band (ILAC-G8:09/2019, 4.2).

use super::{t_cdf, t_sf};

/// Limits of permissible values; both belong to the interval, either may be missing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Lower limit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
}

/// A result to be judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// Best estimate.
    pub value: f64,
    /// Its standard uncertainty, or the scale of its t distribution.
    pub u: f64,
    /// Degrees of freedom of that distribution; none means normal.
    pub df: Option<f64>,
    /// The guard band w: the expanded uncertainty.
    pub guard: f64,
}

/// What can be said of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conformance {
    /// Probability that the true value lies within the limits.
    pub p_conform: f64,
    /// Probability that it does not, accurate where it is small.
    pub p_nonconform: f64,
    /// The limits drawn in by the guard band.
    pub acceptance: Limits,
    /// The drawn-in limits have crossed: no value can pass.
    pub acceptance_empty: bool,
    /// Whether the value itself lies within the limits.
    pub within_limits: bool,
    /// The non-binary limit result.
    pub limit_result: LimitResult,
}

/// A non-binary limit result with guard band (ILAC-G8:09/2019, figure 5).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitResult {
    /// Within the acceptance limits.
    Within,
    /// Within the limits, but closer to one than the guard band.
    WithinCloseToLimit,
    /// Outside the limits, but by no more than the guard band.
    OutsideWithinUncertainty,
    /// Outside by more.
    Outside,
}

impl Limits {
    /// Whether `value` lies within, limits included.
    pub fn contain(&self, value: f64) -> bool {
        self.lower.is_none_or(|lower| value >= lower) && self.upper.is_none_or(|upper| value <= upper)
    }

    /// The limits moved inwards by `distance`, or outwards where it is negative.
    pub fn drawn_in(&self, distance: f64) -> Limits {
        Limits { lower: self.lower.map(|lower| lower + distance), upper: self.upper.map(|upper| upper - distance) }
    }

    /// The limits have crossed, so that no value lies within.
    pub fn are_empty(&self) -> bool {
        matches!((self.lower, self.upper), (Some(lower), Some(upper)) if lower > upper)
    }
}

/// Judges `measured` by `limits`; none when a number is not finite, an uncertainty is negative, degrees of freedom are
/// not above 0 or the limits are crossed.
pub fn conformance(measured: &Measured, limits: &Limits) -> Option<Conformance> {
    let Measured { value, u, df, guard } = *measured;
    let numbers = [Some(value), Some(u), Some(guard), limits.lower, limits.upper];
    let finite = numbers.into_iter().flatten().all(f64::is_finite);
    if !finite || u < 0.0 || guard < 0.0 || !df.is_none_or(|df| df > 0.0) || limits.are_empty() {
        return None;
    }
    let within_limits = limits.contain(value);
    let (p_conform, p_nonconform) =
        if u == 0.0 { if within_limits { (1.0, 0.0) } else { (0.0, 1.0) } } else { probabilities(measured, limits) };
    let acceptance = limits.drawn_in(guard);
    let limit_result = if acceptance.contain(value) {
        LimitResult::Within
    } else if within_limits {
        LimitResult::WithinCloseToLimit
    } else if limits.drawn_in(-guard).contain(value) {
        LimitResult::OutsideWithinUncertainty
    } else {
        LimitResult::Outside
    };
    let acceptance_empty = acceptance.are_empty();
    Some(Conformance { p_conform, p_nonconform, acceptance, acceptance_empty, within_limits, limit_result })
}

/// Probability inside and outside, each as a sum or difference of tails on its own side of the value, so that neither
/// drowns in one.
fn probabilities(measured: &Measured, limits: &Limits) -> (f64, f64) {
    let Measured { value, u, df, .. } = *measured;
    let standard = |limit: f64| (limit - value) / u;
    let (lower, upper) = (limits.lower.map(standard), limits.upper.map(standard));
    let below = lower.map_or(0.0, |z| t_cdf(z, df));
    let above = upper.map_or(0.0, |z| t_sf(z, df));
    let inside = match (lower, upper) {
        (Some(lower), _) if lower > 0.0 => t_sf(lower, df) - above,
        (_, Some(upper)) if upper < 0.0 => t_cdf(upper, df) - below,
        _ => 1.0 - below - above,
    };
    (inside.clamp(0.0, 1.0), (below + above).min(1.0))
}
