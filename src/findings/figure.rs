//! A number with everything needed to compute it again: formula, inputs, source. Findings hold numbers; a figure is made of them when
//! it is opened, because a screen opens one of a thousand.

use super::methods::Method;
use std::borrow::Cow;

/// Probability that an expanded uncertainty is meant to cover.
pub const COVERAGE: f64 = 0.95;

/// What kind of quantity a number is; a screen converts points and differences each in their own way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// A temperature, °C.
    Point,
    /// A temperature difference, K.
    Difference,
    /// A heating rate, K/s.
    Rate,
    /// A length of time, s.
    Duration,
    /// A number of things, or degrees of freedom.
    Count,
    /// A plain number: a factor or a probability.
    Number,
}

/// One number that went into a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// What it is, with the symbol used in the formula.
    pub name: Cow<'static, str>,
    /// Its value, in the unit of `quantity`.
    pub value: f64,
    /// What kind of quantity it is.
    pub quantity: Quantity,
}

impl Input {
    /// An input by name.
    pub fn new(name: impl Into<Cow<'static, str>>, value: f64, quantity: Quantity) -> Input {
        Input { name: name.into(), value, quantity }
    }
}

/// One number that was worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// What it is, its formula and where that comes from.
    pub method: &'static Method,
    /// Its value, in the unit of `quantity`.
    pub value: f64,
    /// Its standard uncertainty, K, where it has one.
    pub u: Option<f64>,
    /// What kind of quantity it is.
    pub quantity: Quantity,
    /// What went in, in the order of the formula.
    pub inputs: Vec<Input>,
}
