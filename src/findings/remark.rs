//! What heater and limits can and cannot decide between them: known before the start, and again with the result.

use super::figure::{Figure, Input, Quantity};
use super::limits::LimitsGiven;
use super::methods;
use super::operating::{COVERAGE, NoOperating, Operating, Shared, Unknown, least_expanded};
use crate::book::body::FrozenHeater;
use crate::stats::welch_satterthwaite;
use crate::trade::detector::Marking;
use crate::trade::procedure::{Procedure, Template};
use crate::units::{Celsius, Kelvin};
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
    NoPlainPass {
        /// The expanded uncertainty.
        expanded: Kelvin,
        /// From lower to upper limit.
        window: Kelvin,
        /// Whether it exceeds it however close together the trips lie.
        whatever_trips: bool,
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
                    Input::new("top temperature H = setting + heat-up above it", reach.0, Quantity::Point),
                    Input::new("U(H)", expanded.0, Quantity::Difference),
                    Input::new("upper limit", limit.0, Quantity::Point),
                ],
            },
            Remark::NoPlainPass { expanded, window, .. } => Figure {
                method: &methods::TWICE,
                value: (expanded * 2.0).0,
                u: None,
                quantity: Quantity::Difference,
                inputs: vec![
                    Input::new("U", expanded.0, Quantity::Difference),
                    Input::new("window between the limits", window.0, Quantity::Difference),
                ],
            },
        }
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Remark::CannotDecideUpwards { .. } => {
                "cannot decide upwards: the heater does not surely heat-up to the upper limit, so a detector that operates \
                 above it shows as no trip; a higher setting would help where the detector allows it"
            }
            Remark::NoPlainPass { whatever_trips: false, .. } => {
                "no plain pass is possible: the trips lie so far apart that the uncertainty is wider than the limits; retest"
            }
            Remark::NoPlainPass { .. } => {
                "no plain pass is possible: the uncertainty is wider than the limits; a better calibration or fit, a \
                 finer display or wider limits from the owner would help"
            }
        })
    }
}

/// What can be said before the start; nothing when there are no limits, and nothing of a functional test, which decides no limit.
pub fn before(heater: &FrozenHeater, marking: &Marking, procedure: &Procedure) -> Vec<Remark> {
    if procedure.template == Template::Functional {
        return Vec::new();
    }
    let Ok(limits) = LimitsGiven::of(marking, procedure) else { return Vec::new() };
    remarks(heater, &limits, least_expanded(heater))
}

/// What a limit result will lack, as far as it is known before the start; nothing where none is asked for.
pub fn lacking(heater: &FrozenHeater, marking: &Marking, procedure: &Procedure) -> Vec<Unknown> {
    let judged = procedure.template != Template::Functional && LimitsGiven::of(marking, procedure).is_ok();
    if judged { Shared::of(heater).unknown } else { Vec::new() }
}

pub(super) fn after(
    heater: &FrozenHeater,
    limits: &LimitsGiven,
    operating: &Result<Operating, NoOperating>,
) -> Vec<Remark> {
    // What an estimate leaves open is mended by reading, not by a better heater.
    let read = operating.as_ref().ok().filter(|operating| operating.estimated == 0);
    remarks(heater, limits, read.map_or_else(|| least_expanded(heater), |operating| Some(operating.expanded)))
}

fn remarks(heater: &FrozenHeater, limits: &LimitsGiven, expanded: Option<Kelvin>) -> Vec<Remark> {
    let window = limits.window();
    let too_wide = |expanded: Kelvin| window.filter(|window| expanded * 2.0 > *window);
    let whatever_trips = least_expanded(heater).and_then(too_wide).is_some();
    let plain_pass = expanded
        .and_then(|expanded| too_wide(expanded).map(|window| Remark::NoPlainPass { expanded, window, whatever_trips }));
    upwards(heater, limits).into_iter().chain(plain_pass).collect()
}

fn upwards(heater: &FrozenHeater, limits: &LimitsGiven) -> Option<Remark> {
    let limit = limits.upper()?;
    let reach = heater.heating.top(&heater.setting);
    // Parts that nobody knows count as nothing here: more uncertainty only makes the remark truer.
    let expanded = Kelvin(welch_satterthwaite(&Shared::of(heater).components())?.expand(COVERAGE)?.expanded);
    (reach - expanded < limit).then_some(Remark::CannotDecideUpwards { reach, expanded, limit })
}
