//! The limits an operating temperature is held against, and who gave them.

use super::figure::{Figure, Input, Quantity};
use super::methods;
use crate::stats;
use crate::trade::detector::{LimitsFrom, Marking};
use crate::trade::procedure::Procedure;
use crate::units::{Celsius, Difference, Kelvin};
use std::fmt;

/// Who gave the limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitsSource {
    /// The owner, in the procedure, for this method.
    Procedure,
    /// The owner, for this detector.
    Owner,
    /// The marking or listing of the detector.
    Marking,
}

impl LimitsSource {
    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            LimitsSource::Procedure => "given by the owner in the procedure",
            LimitsSource::Owner => "given by the owner for this detector",
            LimitsSource::Marking => "marked on the detector or in its listing",
        }
    }
}

/// Why there are no limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoLimits {
    /// A rate element has no set point.
    NoSetPoint,
    /// No rating is registered.
    NoRating,
    /// Neither procedure nor register gives a tolerance.
    NoTolerance,
    /// The window of an EN 54-5 class is an air temperature at vanishing rate and judges nothing here.
    ClassOnly,
    /// The lower limit lies above the upper one.
    Crossed,
}

impl NoLimits {
    /// The name it has in files.
    pub fn name(self) -> &'static str {
        match self {
            NoLimits::NoSetPoint => "no_set_point",
            NoLimits::NoRating => "no_rating",
            NoLimits::NoTolerance => "no_tolerance",
            NoLimits::ClassOnly => "class_only",
            NoLimits::Crossed => "limits_reversed",
        }
    }
}

impl fmt::Display for NoLimits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NoLimits::NoSetPoint => "a rate element has no set point: no limits apply",
            NoLimits::NoRating => "no rating on file: enter it under Devices",
            NoLimits::NoTolerance => {
                "no tolerance on file: enter the owner's or the marked one under Devices"
            }
            NoLimits::ClassOnly => {
                "EN 54-5 class limits apply to slowly rising air, not this heater: ask the owner for limits for this method"
            }
            NoLimits::Crossed => "limits reversed: minus is zero or below, plus zero or above",
        })
    }
}

/// Rating and limits.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitsGiven {
    /// Marked operating temperature.
    pub rating: Celsius,
    /// Lower limit, as a difference from the rating.
    pub minus: Option<Kelvin>,
    /// Upper limit, as a difference from the rating.
    pub plus: Option<Kelvin>,
    /// Who gave them.
    pub from: LimitsSource,
}

impl LimitsGiven {
    /// The limits by procedure, then by marking.
    ///
    /// # Errors
    /// Why there are none.
    pub fn of(marking: &Marking, procedure: &Procedure) -> Result<LimitsGiven, NoLimits> {
        if marking.detector_type.has_rate_element() {
            return Err(NoLimits::NoSetPoint);
        }
        let rating = marking.rating.ok_or(NoLimits::NoRating)?.celsius();
        let (minus, plus, from) = match (procedure.limits.as_ref(), marking.limits_from) {
            (Some(own), _) => (Some(own.minus), Some(own.plus), LimitsSource::Procedure),
            (None, Some(LimitsFrom::Owner)) => (marking.minus, marking.plus, LimitsSource::Owner),
            (None, _) if marking.class.is_some() => return Err(NoLimits::ClassOnly),
            (None, _) => (marking.minus, marking.plus, LimitsSource::Marking),
        };
        if minus.is_none() && plus.is_none() {
            return Err(NoLimits::NoTolerance);
        }
        let given =
            LimitsGiven { rating, minus: minus.map(Difference::kelvin), plus: plus.map(Difference::kelvin), from };
        if given.bounds().are_empty() { Err(NoLimits::Crossed) } else { Ok(given) }
    }

    /// Lower limit.
    pub fn lower(&self) -> Option<Celsius> {
        self.minus.map(|minus| self.rating + minus)
    }

    /// Upper limit.
    pub fn upper(&self) -> Option<Celsius> {
        self.plus.map(|plus| self.rating + plus)
    }

    /// From lower to upper limit, where there are both.
    pub fn window(&self) -> Option<Kelvin> {
        Some(self.plus? - self.minus?)
    }

    /// Both limits, °C.
    pub fn bounds(&self) -> stats::Limits {
        stats::Limits { lower: self.lower().map(|limit| limit.0), upper: self.upper().map(|limit| limit.0) }
    }

    /// The limits as figures, lower one first.
    pub fn figures(&self) -> Vec<Figure> {
        let figure = |method, tolerance: Kelvin| Figure {
            method,
            value: (self.rating + tolerance).0,
            u: None,
            quantity: Quantity::Point,
            inputs: vec![
                Input::new("rating", self.rating.0, Quantity::Point),
                Input::new("tolerance", tolerance.0, Quantity::Difference),
            ],
        };
        let lower = self.minus.map(|minus| figure(&methods::LOWER_LIMIT, minus));
        let upper = self.plus.map(|plus| figure(&methods::UPPER_LIMIT, plus));
        lower.into_iter().chain(upper).collect()
    }
}
