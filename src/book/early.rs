//! Trips that come so early that they may be another detector's: the test decides nothing until someone says whose it was.

use super::entry::Hash;
use super::test::Test;
use super::timeline::Timeline;
use crate::trade::conditions::Warmth;
use crate::trade::detector_type::DetectorType;
use crate::units::{Celsius, Kelvin, Reading, TestTime};

/// How far below its rating a trip of a fixed-temperature or rate-compensated detector is early: 20 °F. Own figure.
pub const EARLY_BELOW: Kelvin = Kelvin(20.0 / 1.8);

/// How soon after heat on a trip of a detector at ambient temperature is early, ms. Own figure.
pub const EARLY_WITHIN_MS: i64 = 10_000;

/// Why a trip is early.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EarlyWhy {
    /// So far below the rating.
    Below(Kelvin),
    /// So soon after heat on, ms.
    Within(i64),
}

/// A trip that may be another detector's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EarlyTrip {
    /// The trip's mark.
    pub trip: Hash,
    /// Why.
    pub why: EarlyWhy,
    /// Whether it was confirmed as this detector's.
    pub confirmed: bool,
}

/// The first trip that is early by readings and time alone: a profile's estimate may find another one. An unanswered one before an answered one.
pub fn early_so_far(test: &Test, timeline: &Timeline) -> Option<EarlyTrip> {
    let read = |mark| test.reading_of(mark).map(|taken| taken.reading.celsius());
    first_early(test, timeline.trips.iter().map(|trip| (trip.mark, trip.at, read(trip.mark))))
}

/// The same by what is known of each trip: its mark, when it came, and the temperature then.
pub fn first_early(test: &Test, trips: impl Iterator<Item = (Hash, TestTime, Option<Celsius>)>) -> Option<EarlyTrip> {
    let marking = test.marking();
    let by_rating = matches!(marking.detector_type, DetectorType::RateCompensated | DetectorType::FixedRestorable);
    let rating = marking.rating.filter(|_| by_rating).map(Reading::celsius);
    let all = trips.filter_map(|(trip, at, temperature)| {
        let below = rating.zip(temperature).map(|(rating, at)| rating - at);
        let at_once = at.since_heat_on() <= EARLY_WITHIN_MS && test.frozen.detector_warmth == Warmth::Cold;
        let why = match below.filter(|below| *below > EARLY_BELOW) {
            Some(below) => EarlyWhy::Below(below),
            None if at_once => EarlyWhy::Within(at.since_heat_on()),
            None => return None,
        };
        let confirmed = test.early.get(&trip).copied().unwrap_or(false);
        Some(EarlyTrip { trip, why, confirmed })
    });
    let all: Vec<EarlyTrip> = all.collect();
    all.iter().find(|early| !early.confirmed).or(all.first()).copied()
}
