//! The standard normal distribution.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// P(|Z| > z), or P(|Z| ≤ z), without cancellation.
pub(super) fn share(z: f64, tail: bool) -> f64 {
    if tail { libm::erfc(z * FRAC_1_SQRT_2) } else { libm::erf(z * FRAC_1_SQRT_2) }
}

/// Density of the standard normal distribution.
pub(super) fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// z with P(|Z| > z) ≈ `tail`, to 4.5e-4: Abramowitz & Stegun (1964), 26.2.23. A start for an iteration.
pub(super) fn rough_quantile(tail: f64) -> f64 {
    let w = (-2.0 * (0.5 * tail).ln()).sqrt();
    let above = 2.515517 + w * (0.802853 + w * 0.010328);
    let below = 1.0 + w * (1.432788 + w * (0.189269 + w * 0.001308));
    w - above / below
}
