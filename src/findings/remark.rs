//! What heater and limits can and cannot decide between them: known before the start, and again with the result.

use super::figure::{COVERAGE, Figure, Input, Quantity};
use super::limits::LimitsGiven;
use super::methods;
use super::no_alarm::{LONGEST_TAU_S, SHORTEST_TAU_S};
use super::operating::{NoOperating, Operating, Shared, Unknown, least_expanded};
use crate::book::body::HeaterSnapshot;
use crate::book::body::TestStart;
use crate::stats::welch_satterthwaite;
use crate::thermal::ramp_lag;
use crate::trade::detector::Marking;
use crate::trade::procedure::Procedure;
use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds};
use std::fmt;

/// Something to be known beside a judgement. The figure opens it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Remark {
    /// The heater's top temperature, less its uncertainty, lies below the upper limit: no trip above the limit can show.
    CannotDecideUpwards {
        /// The heater's top temperature.
        reach: Celsius,
        /// Its expanded uncertainty.
        expanded: Kelvin,
        /// The upper limit.
        limit: Celsius,
    },
    /// Twice the expanded uncertainty exceeds the window between the limits.
    NoClearResult {
        /// The expanded uncertainty.
        expanded: Kelvin,
        /// From lower to upper limit.
        window: Kelvin,
        /// Whether it exceeds it however close together the trips lie.
        whatever_trips: bool,
    },
    /// By how much the element may lag behind the heater, over a stated range of time constants. Information, never a correction.
    ElementLags {
        /// How fast the heater rises.
        rate: KelvinPerSecond,
        /// With the shortest time constant.
        low: Kelvin,
        /// With the longest.
        high: Kelvin,
    },
}

impl Remark {
    /// The number it rests on, to be opened.
    pub fn figure(&self) -> Figure {
        match *self {
            Remark::CannotDecideUpwards { reach, expanded, limit } => Figure {
                method: &methods::REACH,
                value: (reach - expanded).0,
                u: None,
                quantity: Quantity::Point,
                inputs: vec![
                    Input::new("top temperature H = setting + overshoot", reach.0, Quantity::Point),
                    Input::new("U(H)", expanded.0, Quantity::Difference),
                    Input::new("upper limit", limit.0, Quantity::Point),
                ],
            },
            Remark::NoClearResult { expanded, window, .. } => Figure {
                method: &methods::TWICE,
                value: (expanded * 2.0).0,
                u: None,
                quantity: Quantity::Difference,
                inputs: vec![
                    Input::new("U", expanded.0, Quantity::Difference),
                    Input::new("window between the limits", window.0, Quantity::Difference),
                ],
            },
            Remark::ElementLags { rate, low, high } => Figure {
                method: &methods::ELEMENT_LAG,
                value: high.0,
                u: None,
                quantity: Quantity::Difference,
                inputs: vec![
                    Input::new("heating rate r", rate.0, Quantity::Rate),
                    Input::new("shortest time constant τ", SHORTEST_TAU_S, Quantity::Duration),
                    Input::new("lag with it", low.0, Quantity::Difference),
                    Input::new("longest time constant τ", LONGEST_TAU_S, Quantity::Duration),
                ],
            },
        }
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Remark::CannotDecideUpwards { .. } => {
                "cannot decide upwards: the heater may not reach the upper limit, so a detector that operates above it shows as no trip; \
                 a higher setting helps where the detector allows it"
            }
            Remark::NoClearResult { whatever_trips: false, .. } => {
                "no clear result is possible: the trips are so far apart that the uncertainty is wider than the limits; retest"
            }
            Remark::ElementLags { .. } => {
                "the element lags behind the heater: its own temperature at trip was lower by an unmeasured amount"
            }
            Remark::NoClearResult { .. } => {
                "no clear result is possible: the uncertainty is wider than the limits; a better calibration or fit, a \
                 finer display or wider limits from the owner help"
            }
        })
    }
}

/// What can be said before the start; nothing when there are no limits, and nothing of a functional test, which decides no limit.
pub fn before(heater: &HeaterSnapshot, marking: &Marking, procedure: &Procedure) -> Vec<Remark> {
    if !procedure.is_set_point() {
        return Vec::new();
    }
    let Ok(limits) = LimitsGiven::of(marking, procedure) else { return Vec::new() };
    remarks(heater, &limits, least_expanded(heater))
}

/// What a limit result will lack, as far as it is known before the start; nothing where none is asked for.
pub fn lacking(heater: &HeaterSnapshot, marking: &Marking, procedure: &Procedure) -> Vec<Unknown> {
    let judged = procedure.is_set_point() && LimitsGiven::of(marking, procedure).is_ok();
    if judged { Shared::of(heater).unknown } else { Vec::new() }
}

pub(super) fn after(
    heater: &HeaterSnapshot,
    limits: &LimitsGiven,
    operating: &Result<Operating, NoOperating>,
) -> Vec<Remark> {
    // What an estimate leaves open is mended by reading, not by a better heater.
    let read = operating.as_ref().ok().filter(|operating| operating.estimated == 0);
    remarks(heater, limits, read.map_or_else(|| least_expanded(heater), |operating| Some(operating.expanded)))
}

fn remarks(heater: &HeaterSnapshot, limits: &LimitsGiven, expanded: Option<Kelvin>) -> Vec<Remark> {
    let window = limits.window();
    let too_wide = |expanded: Kelvin| window.filter(|window| expanded * 2.0 > *window);
    let whatever_trips = least_expanded(heater).and_then(too_wide).is_some();
    let clear_result = expanded.and_then(|expanded| {
        too_wide(expanded).map(|window| Remark::NoClearResult { expanded, window, whatever_trips })
    });
    upwards(heater, limits).into_iter().chain(clear_result).collect()
}

fn upwards(heater: &HeaterSnapshot, limits: &LimitsGiven) -> Option<Remark> {
    let limit = limits.upper()?;
    let reach = heater.heating.top(&heater.setting);
    // Unknown parts count as nothing here: more uncertainty only makes the remark truer.
    let expanded = Kelvin(welch_satterthwaite(&Shared::of(heater).components())?.expand(COVERAGE)?.expanded);
    (reach - expanded < limit).then_some(Remark::CannotDecideUpwards { reach, expanded, limit })
}

/// By how much the element of a type that lags may have lagged at its trips; none without a mean or a heating rate.
///
/// r τ (1 − e^(−rise/(r τ))) with the rise from ambient (Heskestad & Bill), at both ends of the stated range of time constants.
pub(super) fn element_lags(
    started: &TestStart,
    marking: &Marking,
    operating: &Result<Operating, NoOperating>,
    rate: Option<KelvinPerSecond>,
) -> Option<Remark> {
    let (operating, rate) = (operating.as_ref().ok()?, rate?);
    if marking.detector_type.follows_heater() || marking.detector_type.has_rate_element() {
        return None;
    }
    let rise = operating.mean - started.ambient?.celsius();
    let lag = |tau| ramp_lag(rate, rise, Seconds(tau));
    Some(Remark::ElementLags { rate, low: lag(SHORTEST_TAU_S), high: lag(LONGEST_TAU_S) })
}
