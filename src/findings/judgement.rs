//! What limits say of an operating temperature: as read, and the limit result where the budget allows one.

use super::figure::{Figure, Input, Quantity};
use super::limits::{LimitsGiven, LimitsSource, NoLimits};
use super::methods;
use super::operating::{NoOperating, Operating, Unknown};
use super::remark::{Remark, after, element_lags};
use crate::book::body::TestStart;
use crate::book::entry::Hash;
use crate::stats::{self, LimitResult, Measured, conformance};
use crate::trade::detector::{Marking, RateFunction};
use crate::trade::heating::{Heat, may_heat};
use crate::trade::procedure::ProcedureKind;
use crate::units::KelvinPerSecond;
use std::fmt;

/// The mean against the limits, without any uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AsRead {
    /// Within.
    Within,
    /// Outside.
    Outside,
}

impl AsRead {
    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            AsRead::Within => "Mean within limits",
            AsRead::Outside => "Mean outside limits",
        }
    }
}

/// Why there is no limit result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Missing {
    /// There is no operating temperature.
    Operating(NoOperating),
    /// There are no limits.
    Limits(NoLimits),
    /// The uncertainty budget is not complete.
    Part(Unknown),
    /// The heater profile says where some of the counted trips were.
    Estimated {
        /// How many of them have no reading.
        estimated: usize,
        /// Trips that counted.
        of: usize,
    },
    /// A functional test says whether a detector operates, not where.
    FunctionalTest,
    /// The element lags behind the heater by an unknown amount, so marked limits say nothing of the heater's temperature.
    ElementLags,
    /// No set point can be taken of this type, or a question that comes first is not answered.
    TypeNotAllowed,
    /// The question whose trip an early one is has no answer yet.
    EarlyTrip,
    /// The test ended before the procedure's trips were taken.
    FewerTrips {
        /// Trips that counted.
        counted: usize,
        /// Trips that should have.
        wanted: usize,
    },
}

impl Missing {
    /// The name it has in files.
    pub fn name(&self) -> &'static str {
        match self {
            Missing::Operating(why) => why.name(),
            Missing::Limits(why) => why.name(),
            Missing::Part(part) => part.name(),
            Missing::Estimated { .. } => "estimated",
            Missing::FunctionalTest => "functional_test",
            Missing::ElementLags => "element_lags",
            Missing::TypeNotAllowed => "type_not_allowed",
            Missing::EarlyTrip => "early_trip",
            Missing::FewerTrips { .. } => "fewer_trips",
        }
    }
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Missing::Operating(why) => why.fmt(f),
            Missing::Limits(why) => why.fmt(f),
            Missing::Part(part) => part.fmt(f),
            Missing::Estimated { estimated, of } => write!(
                f,
                "{estimated} of {of} counted trips were not read, only estimated: next time read the display at every counted trip"
            ),
            Missing::FunctionalTest => {
                f.write_str("a functional test shows that it operates, not at what temperature: use a set-point test")
            }
            Missing::ElementLags => f.write_str(
                "this type's element lags behind the heater by an unknown amount: only limits that the owner gave for this method apply",
            ),
            Missing::TypeNotAllowed => f.write_str("no set point can be taken of this type as it was tested"),
            Missing::EarlyTrip => f.write_str("an early trip: say whether it was this detector"),
            Missing::FewerTrips { counted, wanted } => {
                write!(f, "{counted} of {wanted} counted trips taken: complete the procedure")
            }
        }
    }
}

/// The limit result, with what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stated {
    /// Within or outside, with the uncertainty.
    pub limit_result: LimitResult,
    /// Probability that the operating temperature lies within the limits.
    pub p_conform: f64,
    measured: Measured,
    bounds: stats::Limits,
}

impl Stated {
    /// The conformance probability, to be opened.
    pub fn figure(&self) -> Figure {
        let Measured { value, u, df, guard } = self.measured;
        let mut inputs = vec![
            Input::new("operating temperature", value, Quantity::Point),
            Input::new("u", u, Quantity::Difference),
            Input::new("degrees of freedom ν", df.unwrap_or(f64::INFINITY), Quantity::Count),
            Input::new("guard band w = U", guard, Quantity::Difference),
        ];
        inputs.extend(self.bounds.lower.map(|limit| Input::new("lower limit", limit, Quantity::Point)));
        inputs.extend(self.bounds.upper.map(|limit| Input::new("upper limit", limit, Quantity::Point)));
        Figure { method: &methods::CONFORMANCE, value: self.p_conform, u: None, quantity: Quantity::Number, inputs }
    }
}

/// The words of a limit result on screen and in print.
pub fn limit_result_words(limit_result: LimitResult) -> &'static str {
    match limit_result {
        LimitResult::Within => "Within",
        LimitResult::WithinCloseToLimit => "Within, close to limit",
        LimitResult::OutsideWithinUncertainty => "Outside, within uncertainty",
        LimitResult::Outside => "Outside",
    }
}

/// A test judged by one marking.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// The correction it rests on; none for the marking frozen at the start.
    pub corrected_by: Option<Hash>,
    /// The attachment with the reason of the correction.
    pub reason: Option<Hash>,
    /// What judges.
    pub marking: Marking,
    /// The limits, or why there are none.
    pub limits: Result<LimitsGiven, NoLimits>,
    /// The mean alone against the limits; none where trips are estimated.
    pub as_read: Option<AsRead>,
    /// The limit result, or everything that is missing for one.
    pub limit_result: Result<Stated, Vec<Missing>>,
    /// What else is to be known.
    pub remarks: Vec<Remark>,
}

/// Judges a test by `marking`; `wanted` is the number of trips that should have counted, `early` whether a trip waits for the answer
/// whose it is.
pub(super) fn judge(
    started: &TestStart,
    marking: &Marking,
    operating: &Result<Operating, NoOperating>,
    (counted, wanted): (usize, usize),
    rate: Option<KelvinPerSecond>,
    early: bool,
) -> Judgement {
    let limits = LimitsGiven::of(marking, &started.procedure);
    let mut missing = Vec::new();
    match operating {
        Err(why) => missing.push(Missing::Operating(why.clone())),
        Ok(operating) => {
            if !started.procedure.is_set_point() {
                missing.push(Missing::FunctionalTest);
            } else if counted < wanted {
                missing.push(Missing::FewerTrips { counted, wanted });
            }
            if operating.estimated > 0 {
                missing.push(Missing::Estimated { estimated: operating.estimated, of: operating.n });
            }
            missing.extend(operating.unknown.iter().copied().map(Missing::Part));
        }
    }
    missing.extend(limits.as_ref().err().copied().map(Missing::Limits));
    let marked = limits.as_ref().is_ok_and(|limits| limits.from == LimitsSource::Marking);
    if marked && !marking.detector_type.follows_heater() {
        missing.push(Missing::ElementLags);
    }
    // A marking that was corrected later may be of a type that would have been refused.
    let allowed = match may_heat(marking.detector_type, ProcedureKind::SetPoint) {
        Heat::Allowed => true,
        Heat::RateFunctionAsked => started.rate_answer.is_some() || marking.rate_function == Some(RateFunction::Off),
        _ => false,
    };
    if started.procedure.is_set_point() && !allowed && !matches!(limits, Err(NoLimits::NoSetPoint)) {
        missing.push(Missing::TypeNotAllowed);
    }
    if early {
        missing.push(Missing::EarlyTrip);
    }
    let both = operating.as_ref().ok().filter(|operating| operating.estimated == 0).zip(limits.as_ref().ok());
    let as_read = both.map(
        |(operating, limits)| {
            if limits.bounds().contain(operating.mean.0) { AsRead::Within } else { AsRead::Outside }
        },
    );
    let stated = both.filter(|_| missing.is_empty()).and_then(|(operating, limits)| state(operating, limits));
    let mut remarks = limits.as_ref().map_or_else(|_| Vec::new(), |limits| after(&started.heater, limits, operating));
    remarks.extend(element_lags(started, marking, operating, rate));
    Judgement {
        corrected_by: None,
        reason: None,
        marking: marking.clone(),
        limits,
        as_read,
        limit_result: stated.ok_or(missing),
        remarks,
    }
}

fn state(operating: &Operating, limits: &LimitsGiven) -> Option<Stated> {
    let guard = operating.expanded.0;
    let measured = Measured { value: operating.mean.0, u: operating.u.0, df: operating.df, guard };
    let bounds = limits.bounds();
    let result = conformance(&measured, &bounds)?;
    Some(Stated { limit_result: result.limit_result, p_conform: result.p_conform, measured, bounds })
}
