//! What an estimate starts from, the events it takes, and its result.

use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds};

/// How a test begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// Ambient temperature.
    pub ambient: Celsius,
    /// Its standard uncertainty.
    pub ambient_u: Kelvin,
    /// Whether the heater is at ambient temperature. A warm or hot one may be anywhere between ambient and top temperature.
    pub cold: bool,
    /// The top temperature as set.
    pub top: Celsius,
    /// Its standard uncertainty where no profile run has shown how the heater holds it: the thermostat's swing and the display's step.
    pub top_u: Kelvin,
    /// One step of the display.
    pub resolution: Kelvin,
    /// What the heater does by itself; none for one that is switched by hand.
    pub clockwork: Option<Clockwork>,
}

/// Times that a heater keeps by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clockwork {
    /// Hold at the top temperature after the first heat-up.
    pub hold_first: Seconds,
    /// Hold after each later heat-up.
    pub hold_again: Seconds,
    /// Time without heat between heat-ups.
    pub off: Seconds,
}

/// What was seen of the heater. Heat-ups are numbered from 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// It reached its top temperature in this heat-up.
    AtTop(u32),
    /// It went off after this heat-up.
    HeaterOff(u32),
    /// It came on for this heat-up.
    HeaterOn(u32),
    /// The display showed this.
    Reading(Celsius),
    /// The display showed this when a trip was noticed, so long after it. Nothing but heat trips a detector.
    AtTrip(Celsius, Seconds),
}

/// Why there is no estimate at some time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    /// The heater is off, and its profile runs carry no cooling.
    NoCooling,
    /// It went beyond all that the heater can have.
    OutOfRange,
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
    /// Standard uncertainty of how far the heater's own clockwork is behind or ahead; nothing if it was seen.
    pub clock_u: Seconds,
}
