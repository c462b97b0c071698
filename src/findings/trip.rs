//! One trip: whether it counts, where the heater was, read or estimated, and how well that is known.

use super::at_trip::{Late, estimated, late};
use super::figure::{Figure, Input, Quantity};
use super::live::LiveEstimator;
use super::methods;
use crate::book::body::{HeaterSnapshot, Point, TestStart, What};
use crate::book::entry::Hash;
use crate::book::test::Test;
use crate::book::timeline::{NotCounted, Stage, Timeline, Trip};
use crate::trade::conditions::Warmth;
use crate::units::{Celsius, Kelvin, KelvinPerSecond, Reading, TestTime};

/// One trip of a test.
#[derive(Clone, Debug, PartialEq)]
pub struct TripFinding {
    /// Its number in the test, from 1.
    pub number: usize,
    /// Its mark.
    pub mark: Hash,
    /// The heat-up it belongs to, from 1.
    pub heat_up: u32,
    /// What the heater did.
    pub stage: Stage,
    /// Test time, ms since heat on.
    pub at: TestTime,
    /// Time since its heat-up began, ms.
    pub into_heat_up: i64,
    /// Why it does not count; absent when it does.
    pub not_counted: Option<NotCounted>,
    /// Time from trip to restore, ms, where one was seen.
    pub restore_after: Option<i64>,
    /// The heater's display at the trip, as displayed.
    pub reading: Option<Reading>,
    /// The trip temperature, where it was read or the heater profile says it.
    pub temperature: Option<TripTemperature>,
    /// What the panel showed, if answered.
    pub panel: Option<(Point, Option<String>)>,
}

/// Where a trip temperature comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// The display was read.
    Read,
    /// From the time and the heater profile: between the trough of cool-down and the top temperature a trip can lie nowhere else, so nothing
    /// is decided by it.
    Estimated,
}

/// The heater's temperature at a trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TripTemperature {
    /// Its value, less what the heater rose before the trip was noticed as far as that is known.
    pub value: Celsius,
    /// Its standard uncertainty, of the parts that are known.
    pub u: Kelvin,
    /// Whether it was read.
    pub way: Way,
    /// What the heater rose before the trip was noticed; none where a lag is there and the heater profile does not say.
    pub late: Option<Late>,
    /// One step of the display.
    pub(super) step: Kelvin,
    /// Standard uncertainty of what was read, its rounding, or of the estimate.
    pub(super) own: Kelvin,
    calibration: Option<Kelvin>,
    noticed: Celsius,
}

impl TripFinding {
    /// Whether it goes into the operating temperature.
    pub fn counted(&self) -> bool {
        self.not_counted.is_none()
    }
}

/// The trips of a test in order; `follower` is its heater profile at heat on, where it has one.
pub(super) fn trips(test: &Test, timeline: &Timeline, follower: Option<&LiveEstimator>) -> Vec<TripFinding> {
    let most = most_rate(test);
    let finding = |(index, trip): (usize, &Trip)| {
        let reading = test.reading_of(trip.mark).map(|taken| taken.reading);
        TripFinding {
            number: index + 1,
            mark: trip.mark,
            heat_up: trip.heat_up,
            stage: trip.stage,
            at: trip.at,
            into_heat_up: trip.at.saturating_sub(trip.heat_up_from),
            not_counted: trip.not_counted,
            restore_after: trip.restore_at.map(|restore| restore.saturating_sub(trip.at)),
            reading,
            temperature: temperature(&test.frozen, reading, trip, follower, most),
            panel: test.panel(trip.mark),
        }
    };
    let mut trips: Vec<TripFinding> = timeline.trips.iter().enumerate().map(finding).collect();
    // A mean of corrected and uncorrected values would be neither.
    let counted = trips.iter().filter(|trip| trip.counted()).filter_map(|trip| trip.temperature);
    if counted.clone().any(|temperature| temperature.late.is_none()) {
        for temperature in trips.iter_mut().filter_map(|trip| trip.temperature.as_mut()) {
            *temperature = temperature.uncorrected();
        }
    }
    trips
}

/// One step of the display: the heater's as registered, or that of the digits kept, whichever is coarser. A display that
/// steps by five tenths shows more digits than it knows, and a reader who rounds keeps fewer than it shows.
pub(super) fn step(heater: &HeaterSnapshot, reading: Reading) -> Kelvin {
    let digits = reading.resolution();
    heater.heating.resolution.map_or(digits, |registered| Kelvin(registered.kelvin().0.max(digits.0)))
}

/// Standard uncertainty of a reading that lies anywhere within one step: step/√12 (GUM F.2.2.1).
pub(super) fn rounding(step: Kelvin) -> Kelvin {
    Kelvin(step.0.abs() / 12.0_f64.sqrt())
}

fn temperature(
    frozen: &TestStart,
    reading: Option<Reading>,
    trip: &Trip,
    follower: Option<&LiveEstimator>,
    most: Option<KelvinPerSecond>,
) -> Option<TripTemperature> {
    let TestStart { heater, indication, .. } = frozen;
    // If it was switched on by hand unseen, the profile does not know since when it heats.
    let unseen = trip.heat_up_from == trip.at && !heater.heating.cycle.is_auto();
    let follower = follower.filter(|_| !unseen);
    let registered = || heater.heating.resolution.map_or(Kelvin(1.0), |step| step.kelvin().abs());
    let (way, noticed, step, own) = match reading {
        Some(reading) => {
            let step = step(heater, reading);
            (Way::Read, reading.celsius(), step, rounding(step))
        }
        None => {
            let within = (frozen.ambient?.celsius(), heater.heating.top(&heater.setting));
            let (value, u) = estimated(follower?, trip.at, within)?;
            (Way::Estimated, value, registered(), u)
        }
    };
    let instant = indication.lag_ms <= 0 && indication.lag_u_ms <= 0;
    let late = match follower {
        _ if instant => Some(Late::NONE),
        None if trip.stage == Stage::Off => None,
        None => most.map(|most| Late::bounded(indication, most)),
        Some(follower) => late(follower, indication, trip.at, reading.map(|_| noticed + step / 2.0)),
    };
    let calibration = heater.metrology.calibration_u.map(|u| u.kelvin().abs());
    let found = TripTemperature { value: noticed, u: own, way, late, step, own, calibration, noticed };
    Some(found.with(late))
}

/// The fastest that the heater may have risen at a trip, by its own first heat-up from cold: twice the mean rate to the top
/// temperature, where that was marked. Own figure; a heater slows down towards its top.
pub(super) fn most_rate(test: &Test) -> Option<KelvinPerSecond> {
    let frozen = &test.frozen;
    let whole = frozen.heater.heating.top(&frozen.heater.setting) - frozen.ambient?.celsius();
    let top = test.marks.iter().find(|mark| mark.what == What::AtTop && mark.at > TestTime::HEAT_ON)?;
    let cold = frozen.heater_warmth == Warmth::Cold && whole.0 > 0.0;
    cold.then(|| KelvinPerSecond(2.0 * whole.0 / top.at.seconds().0))
}

impl TripTemperature {
    fn with(self, late: Option<Late>) -> TripTemperature {
        let (rise, u) = late.map_or((Kelvin(0.0), Kelvin(0.0)), |late| (late.rise, late.u()));
        let known = self.own.0.hypot(self.calibration.map_or(0.0, |u| u.0)).hypot(u.0);
        TripTemperature { value: self.noticed - rise, u: Kelvin(known), late, ..self }
    }

    /// As if nothing were known of the lag.
    fn uncorrected(self) -> TripTemperature {
        self.with(None)
    }

    /// Whether what the indication's lag makes of it is more than nothing.
    pub fn shifted(&self) -> Option<Late> {
        self.late.filter(|late| *late != Late::NONE)
    }

    /// The temperature, to be opened.
    pub fn figure(&self) -> Figure {
        let difference = |name: &'static str, value: Kelvin| Input::new(name, value.0, Quantity::Difference);
        let mut inputs = match self.way {
            Way::Read => vec![
                Input::new("reading of the heater's display", self.noticed.0, Quantity::Point),
                difference("step of the display d", self.step),
            ],
            Way::Estimated => vec![
                Input::new("estimate from the heater profile", self.noticed.0, Quantity::Point),
                difference("its standard uncertainty u(T)", self.own),
            ],
        };
        inputs.extend(self.calibration.map(|u| difference("calibration u(cal)", u)));
        let shifted = self.shifted();
        inputs.extend(shifted.iter().flat_map(Late::inputs));
        Figure {
            method: match self.way {
                Way::Read => &methods::TRIP_READ,
                Way::Estimated => &methods::TRIP_ESTIMATED,
            },
            value: self.value.0,
            u: Some(self.u.0),
            quantity: Quantity::Point,
            inputs,
        }
    }
}
