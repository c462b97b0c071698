//! What an estimate starts from, what it is told, and what it says.

use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds};

/// How a run begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// Ambient temperature.
    pub ambient: Celsius,
    /// Its standard uncertainty.
    pub ambient_u: Kelvin,
    /// Whether the head is at ambient temperature. A warm or hot one may be anywhere between ambient and upper temperature.
    pub cold: bool,
    /// The upper temperature as set.
    pub upper: Celsius,
    /// Its standard uncertainty where no ramp has shown how the head holds it: the thermostat's swing and the display's step.
    pub upper_u: Kelvin,
    /// One step of the display.
    pub resolution: Kelvin,
    /// What the head does by itself; none for one that is switched by hand.
    pub clockwork: Option<Clockwork>,
}

/// Times that a head keeps by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clockwork {
    /// Hold at the upper temperature after the first climb.
    pub hold_first: Seconds,
    /// Hold after each later climb.
    pub hold_again: Seconds,
    /// Time without heat between climbs.
    pub off: Seconds,
}

/// What somebody saw of the head. Climbs are numbered from 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// It reached its upper temperature in this climb.
    AtUpper(u32),
    /// It went off after this climb.
    HeadOff(u32),
    /// It came on for this climb.
    HeadOn(u32),
    /// The display showed this.
    Reading(Celsius),
    /// The display showed this when a trip was noticed, so long after it. Nothing but heat trips a detector.
    AtTrip(Celsius, Seconds),
}

/// The temperature of the display at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The most likely temperature.
    pub value: Celsius,
    /// Its standard uncertainty.
    pub u: Kelvin,
    /// Lower end of the 95 % band.
    pub lo: Celsius,
    /// Upper end of the 95 % band.
    pub hi: Celsius,
    /// How fast it changes.
    pub rate: KelvinPerSecond,
    /// Standard uncertainty of the rate.
    pub rate_u: KelvinPerSecond,
    /// Standard uncertainty of how far the head's own clockwork is behind or ahead; nothing where somebody saw it.
    pub clock_u: Seconds,
}
