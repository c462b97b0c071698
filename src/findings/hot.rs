//! Hot until at least: how long heater and detector still burn skin after a test. A caution, never an all-clear.

use super::figure::{Figure, Input, Quantity};
use super::methods;
use super::operating::{COVERAGE, Shared};
use crate::book::body::{FrozenHeater, Started};
use crate::stats::welch_satterthwaite;
use crate::thermal::step_trip;
use crate::units::{Celsius, Kelvin, Seconds};
use std::fmt;

/// The temperature from which touched metal counts as hot: the burn threshold for a contact of ten minutes, whatever the surface.
/// Source: ISO 13732-1:2006, from memory; thresholds for shorter contacts are higher.
pub const TOUCH: Celsius = Celsius(48.0);

/// How a heater cools, as a heater profile knows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooling {
    /// Time constant τc.
    pub tau: Seconds,
    /// Standard uncertainty of a single cooling: that of the time constant and the spread between profile runs.
    pub u_tau: Seconds,
}

/// Why it cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HotUnknown {
    /// The heater has no heater profile with its cooling.
    NoProfile,
    /// Nobody took the ambient temperature.
    NoAmbient,
    /// The surroundings are no cooler than the threshold.
    AmbientHot,
    /// The test goes on.
    Running,
}

impl fmt::Display for HotUnknown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            HotUnknown::NoProfile => {
                "how long heater and detector stay hot cannot be computed, the heater has no heater profile: gloves on until both are \
                 surely cool"
            }
            HotUnknown::NoAmbient => {
                "how long heater and detector stay hot cannot be computed without the ambient temperature: gloves on until both \
                 are surely cool"
            }
            HotUnknown::AmbientHot => "the surroundings are as hot as what burns skin: gloves on, heater and detector do not cool",
            HotUnknown::Running => "the heater is in use: gloves on",
        })
    }
}

/// How long it stays hot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HotUntil {
    /// Time after the end of the test.
    pub after: Seconds,
    from: Celsius,
    ambient: Celsius,
    cooling: Cooling,
}

/// How long after the end of a test `started` so heater and detector stay hot.
///
/// # Errors
/// Why it cannot be computed.
pub(super) fn hot(started: &Started, cooling: Option<Cooling>) -> Result<HotUntil, HotUnknown> {
    let cooling = cooling.ok_or(HotUnknown::NoProfile)?;
    let ambient = started.ambient.ok_or(HotUnknown::NoAmbient)?.celsius();
    hot_until(hottest(&started.heater), ambient, cooling)
}

/// How long what is at `from` stays above [`TOUCH`] in surroundings at `ambient`, by the upper bound of the time constant.
///
/// # Errors
/// When it never cools below.
pub fn hot_until(from: Celsius, ambient: Celsius, cooling: Cooling) -> Result<HotUntil, HotUnknown> {
    if ambient >= TOUCH {
        return Err(HotUnknown::AmbientHot);
    }
    let tau = cooling.tau + cooling.u_tau * 2.0;
    let after = step_trip(from, ambient, TOUCH, tau).unwrap_or(Seconds(0.0));
    Ok(HotUntil { after, from, ambient, cooling })
}

impl HotUntil {
    /// The time, to be opened.
    pub fn figure(&self) -> Figure {
        Figure {
            method: &methods::HOT,
            value: self.after.0,
            u: None,
            quantity: Quantity::Duration,
            inputs: vec![
                Input::new("top temperature of the heater with its uncertainty T₀", self.from.0, Quantity::Point),
                Input::new("ambient temperature Tₐ", self.ambient.0, Quantity::Point),
                Input::new("burns skin from T", TOUCH.0, Quantity::Point),
                Input::new("time constant of cooling τc", self.cooling.tau.0, Quantity::Duration),
                Input::new("u(τc)", self.cooling.u_tau.0, Quantity::Duration),
            ],
        }
    }
}

/// The heater's top temperature and its expanded uncertainty, as far as known.
fn hottest(heater: &FrozenHeater) -> Celsius {
    let combined = welch_satterthwaite(&Shared::of(heater).components());
    let expanded = combined.and_then(|combined| combined.expand(COVERAGE));
    heater.heating.top(&heater.setting) + Kelvin(expanded.map_or(0.0, |coverage| coverage.expanded))
}
