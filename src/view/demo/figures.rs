//! The invented figures: what a heater does by a first-order model, and a scatter that is always the same.

use crate::units::{Degree, Reading};

const SECOND: i64 = 1_000;

/// What the heater would reach in the long run, what it cools down to between heat-ups, and what it starts from, °F, and its time
/// constant, s: the model that the profile runs of the small works were drawn from.
const REACHES: f64 = 251.0;
pub(super) const COOLED: f64 = 183.0;
pub(super) const AMBIENT: i64 = 70;
const TAU_S: f64 = 150.0;
/// Seconds after heat on at which its heat-ups begin and at which it shuts off: from its own times.
pub(super) const HEAT_UPS: [i64; 4] = [0, 439, 540, 641];
pub(super) const SHUTS_OFF: [i64; 3] = [396, 497, 598];

/// From −2 to 2, invented and always the same.
pub(super) fn scatter(number: usize, index: usize, turn: usize) -> i64 {
    let mixed = (number * 131 + index * 31 + turn * 7 + 1).wrapping_mul(40_503) >> 4;
    i64::try_from(mixed % 5).unwrap_or_default() - 2
}

/// How long the heater takes from one temperature to another, ms: a first-order heat-up.
pub(super) fn heats_to(from: f64, to: f64) -> i64 {
    (TAU_S * ((REACHES - from) / (REACHES - to)).ln() * SECOND as f64) as i64
}

pub(super) fn fahrenheit(value: i64) -> Reading {
    Reading { value, scale: 0, unit: Degree::F }
}

/// A whole number of °F or °C, °F.
pub(super) fn fahrenheit_of(reading: Reading) -> f64 {
    reading.celsius().0 * 1.8 + 32.0
}
