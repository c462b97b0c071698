//! The first trip, which is not counted: how much earlier it came than the settled ones. Not a test of the listing.

use super::figure::{COVERAGE, Figure, Input, Quantity};
use super::methods;
use super::operating::{Operating, Unknown};
use super::trip::{TripFinding, Way};
use crate::book::body::TestStart;
use crate::stats::{Component, welch_satterthwaite};
use crate::trade::conditions::Warmth;
use crate::trade::detector_type::DetectorType;
use crate::units::{Celsius, Kelvin};

/// What is expected of a first trip, and whether it was so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Earlier {
    /// Rate-compensated, from cold, and earlier by more than the uncertainty of the difference.
    AsExpected,
    /// Rate-compensated, from cold, and not earlier by more than that: a remark, no reason to test again.
    NotEarlier,
    /// One of the two is estimated, and the estimate is not good enough to tell.
    NotSure,
    /// Nothing is expected of this type.
    OtherDetectorType,
    /// Heater or detector was not cold, and earlier heat shifts the first trip.
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
                "not earlier beyond the uncertainty, though a rate-compensated detector heated fast from cold usually is"
            }
            Earlier::NotSure => {
                "an estimate is not sure enough to tell: read the display at the first trip and at every counted one"
            }
            Earlier::OtherDetectorType => "nothing is expected of the first trip of this type",
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
    /// Whether the first trip or one of the counted ones has no reading.
    pub estimated: bool,
    operating: Celsius,
    first: Celsius,
    spread: Kelvin,
    n: usize,
    /// What the estimate of the first trip, that of the counted ones and the lag of the indication add.
    adds: [Kelvin; 3],
}

/// The first trip against `operating`; none where the first one counts, or one of the two has no temperature.
pub(super) fn first_trip(started: &TestStart, trips: &[TripFinding], operating: &Operating) -> Option<FirstTrip> {
    let first = trips.first().filter(|trip| !trip.counted() && trip.heat_up == 1)?.temperature?;
    let corrected = !operating.unknown.contains(&Unknown::Lag);
    if corrected && first.late.is_none() {
        return None;
    }
    let (n, spread) = (operating.n, operating.spread);
    let own = if first.way == Way::Estimated { first.own } else { Kelvin(0.0) };
    // Calibration, fit and the error of the lag are the same on both sides of the difference and drop out, the last as far as the
    // heater rises as fast. The profile from cold and the profile after a short cool-down err each in their own way.
    let late = first.late.zip(operating.late).map_or(Kelvin(0.0), |(first, others)| {
        let lag = (first.by_lag - others.by_lag).0;
        Kelvin(lag.hypot(first.by_profile.0).hypot(others.by_profile.0))
    });
    let adds = [own, operating.profile.unwrap_or(Kelvin(0.0)), late];
    let of_spread = spread.0 * (1.0 + 1.0 / n as f64).sqrt();
    let known = adds.map(|u| Component { sensitivity: 1.0, u: u.0, df: None });
    let [own, profile, late] = known;
    let combined = welch_satterthwaite(&[
        Component { sensitivity: 1.0, u: of_spread, df: operating.spread_df },
        own,
        profile,
        late,
    ])?;
    let by = operating.mean - first.value;
    let several = n > 1;
    let expanded = if several { combined.expand(COVERAGE).map(|coverage| coverage.expanded) } else { None };
    let estimated = first.way == Way::Estimated || operating.estimated > 0;
    let cold = started.heater_warmth == Warmth::Cold && started.detector_warmth == Warmth::Cold;
    let earlier = match expanded {
        _ if started.detector.marking.detector_type != DetectorType::RateCompensated => Earlier::OtherDetectorType,
        _ if !cold => Earlier::NotFromCold,
        None => Earlier::NoSpread,
        Some(expanded) if by.0 > expanded => Earlier::AsExpected,
        // A poor estimate cannot tell.
        Some(expanded) if estimated && by.0 >= -expanded => Earlier::NotSure,
        Some(_) => Earlier::NotEarlier,
    };
    Some(FirstTrip {
        by,
        u: several.then_some(Kelvin(combined.u)),
        expanded: expanded.map(Kelvin),
        earlier,
        estimated,
        operating: operating.mean,
        first: first.value,
        spread,
        n,
        adds,
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
            inputs: self.inputs(),
        }
    }

    fn inputs(&self) -> Vec<Input> {
        let difference = |name: &'static str, value: Kelvin| Input::new(name, value.0, Quantity::Difference);
        let names = [
            "estimate of the first trip u(T)",
            "heater profile, of the others u(crv)",
            "lag of the indication u(late)",
        ];
        let adds = names.into_iter().zip(self.adds).filter(|(_, u)| u.0 != 0.0);
        let mut inputs = vec![
            Input::new("operating temperature", self.operating.0, Quantity::Point),
            Input::new("first trip", self.first.0, Quantity::Point),
            difference("spread of one trip σ", self.spread),
            Input::new("number of counted trips n", self.n as f64, Quantity::Count),
        ];
        inputs.extend(adds.map(|(name, u)| difference(name, u)));
        inputs
    }
}
