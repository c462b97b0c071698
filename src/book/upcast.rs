//! Lifts entries of older formats to today's shape, after hashing and before the fold.

use super::chain::FORMAT;
use serde_json::Value;
use std::borrow::Cow;

/// The entry as today's app would have written it. [`FORMAT`] is the first that was released, so nothing is lifted yet.
pub fn lift(v: i64, entry: &Value) -> Cow<'_, Value> {
    debug_assert!(v >= FORMAT, "a frame with a smaller version is refused before");
    Cow::Borrowed(entry)
}
