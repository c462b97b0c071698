//! Numbers as the findings of a bundle carry them.

use serde_json::Value;

/// Digits after the point of every number in the findings of a bundle: m°C, mK, and thousandths of a probability.
pub const DIGITS: i32 = 3;

/// A number to the digits that a bundle carries.
pub(super) fn rounded(value: f64) -> Value {
    let unit = 10_f64.powi(DIGITS);
    let rounded = (value * unit).round() / unit;
    // Adding zero turns −0 into 0.
    serde_json::Number::from_f64(rounded + 0.0).map_or(Value::Null, Value::Number)
}
