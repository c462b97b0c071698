//! The first trip, which is not counted: how much earlier it came than the settled ones. Not a test of the listing.

use super::figure::{Figure, Input, Quantity};
use super::methods;
use super::operating::{COVERAGE, Operating};
use super::trip::TripFinding;
use crate::book::body::Started;
use crate::stats::t_quantile;
use crate::trade::kind::Kind;
use crate::trade::seen::Warmth;
use crate::units::{Celsius, Kelvin};

/// What is expected of a first trip, and whether it was so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Earlier {
    /// Rate-compensated, from cold, and earlier by more than the uncertainty of the difference.
    AsExpected,
    /// Rate-compensated, from cold, and not earlier by more than that: look again.
    NotEarlier,
    /// Nothing is expected of this kind.
    OtherKind,
    /// Head or detector was not cold, and earlier heat shifts the first trip.
    NotFromCold,
    /// One counted trip has no spread to hold a difference against.
    NoSpread,
}

impl Earlier {
    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Earlier::AsExpected => "earlier, as expected of a rate-compensated detector heated fast from cold",
            Earlier::NotEarlier => {
                "not earlier beyond the uncertainty, though a rate-compensated detector heated fast from cold should be: look again"
            }
            Earlier::OtherKind => "nothing is expected of the first trip of this kind",
            Earlier::NotFromCold => "not from cold, so nothing is expected of it: earlier heat shifts a first trip",
            Earlier::NoSpread => "one counted trip shows no spread, so nothing can be said of the difference",
        }
    }
}

/// The first trip against the settled ones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FirstTrip {
    /// How much earlier it came; negative when it came later.
    pub by: Kelvin,
    /// Its standard uncertainty; none with one counted trip.
    pub u: Option<Kelvin>,
    /// Expanded uncertainty of the difference; none with one counted trip.
    pub expanded: Option<Kelvin>,
    /// What is to be said of it.
    pub earlier: Earlier,
    operating: Celsius,
    first: Celsius,
    spread: Kelvin,
    n: usize,
}

/// The first trip against `operating`; none where the first one counts, or one of the two has no temperature.
pub(super) fn first_trip(started: &Started, trips: &[TripFinding], operating: &Operating) -> Option<FirstTrip> {
    let first = trips.first().filter(|trip| !trip.counted() && trip.climb == 1)?;
    let first = first.temperature?.value;
    let (n, spread) = (operating.n as f64, operating.spread.0);
    // Calibration and coupling are the same on both sides of the difference and drop out.
    let u = spread * (1.0 + 1.0 / n).sqrt();
    let by = operating.mean - first;
    let several = operating.n > 1;
    let expanded = if several { t_quantile(COVERAGE, operating.spread_df).map(|t| t * u) } else { None };
    let cold = started.head_warmth == Warmth::Cold && started.detector_warmth == Warmth::Cold;
    let earlier = match expanded {
        _ if started.detector.marking.kind != Kind::RateCompensated => Earlier::OtherKind,
        _ if !cold => Earlier::NotFromCold,
        None => Earlier::NoSpread,
        Some(expanded) if by.0 > expanded => Earlier::AsExpected,
        Some(_) => Earlier::NotEarlier,
    };
    Some(FirstTrip {
        by,
        u: several.then_some(Kelvin(u)),
        expanded: expanded.map(Kelvin),
        earlier,
        operating: operating.mean,
        first,
        spread: operating.spread,
        n: operating.n,
    })
}

impl FirstTrip {
    /// How much earlier it came, to be opened.
    pub fn figure(&self) -> Figure {
        Figure {
            method: &methods::FIRST_TRIP,
            value: self.by.0,
            u: self.u.map(|u| u.0),
            quantity: Quantity::Difference,
            inputs: vec![
                Input::new("operating temperature", self.operating.0, Quantity::Point),
                Input::new("first trip", self.first.0, Quantity::Point),
                Input::new("spread of one trip σ", self.spread.0, Quantity::Difference),
                Input::new("number of counted trips n", self.n as f64, Quantity::Count),
            ],
        }
    }
}
