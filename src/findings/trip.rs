//! One trip: whether it counts, where the head was, read or estimated, and how well that is known.

use super::at_trip::{Late, estimated, late};
use super::figure::{Figure, Input, Quantity};
use super::live::Follower;
use super::methods;
use crate::book::body::{FrozenHead, Point, Started};
use crate::book::entry::Hash;
use crate::book::phase::{NotCounted, Stage, Timeline, Trip};
use crate::book::run::Run;
use crate::units::{Celsius, Kelvin, Reading};

/// One trip of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct TripFinding {
    /// Its number in the run, from 1.
    pub number: usize,
    /// Its mark.
    pub mark: Hash,
    /// The climb it belongs to, from 1.
    pub climb: u32,
    /// What the head did.
    pub stage: Stage,
    /// Run time, ms since heat on.
    pub at: i64,
    /// Time since its climb began, ms.
    pub into_climb: i64,
    /// Why it does not count; absent when it does.
    pub not_counted: Option<NotCounted>,
    /// Time from trip to reset, ms, where one was seen.
    pub reset_after: Option<i64>,
    /// The head's display at the trip, as displayed.
    pub reading: Option<Reading>,
    /// The trip temperature, where it was read or the heat curve says it.
    pub temperature: Option<TripTemperature>,
    /// What the panel showed, where somebody said.
    pub panel: Option<(Point, Option<String>)>,
}

/// Where a trip temperature comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Somebody read the display.
    Read,
    /// From the time and the heat curve: between the trough of heat-off and the upper temperature a trip can lie nowhere else, so nothing
    /// is decided by it.
    Estimated,
}

/// The head's temperature at a trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TripTemperature {
    /// Its value, less what the head rose before the trip was noticed as far as that is known.
    pub value: Celsius,
    /// Its standard uncertainty, of the parts that are known.
    pub u: Kelvin,
    /// Whether it was read.
    pub way: Way,
    /// What the head rose before the trip was noticed; none where a delay is there and the heat curve does not say.
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

/// The trips of a run in order; `follower` is its heat curve at heat on, where it has one.
pub(super) fn trips(run: &Run, timeline: &Timeline, follower: Option<&Follower>) -> Vec<TripFinding> {
    let finding = |(index, trip): (usize, &Trip)| {
        let reading = run.reading_of(trip.mark).map(|taken| taken.reading);
        TripFinding {
            number: index + 1,
            mark: trip.mark,
            climb: trip.climb,
            stage: trip.stage,
            at: trip.at,
            into_climb: trip.at.saturating_sub(trip.climb_from),
            not_counted: trip.not_counted,
            reset_after: trip.reset_at.map(|reset| reset.saturating_sub(trip.at)),
            reading,
            temperature: temperature(&run.frozen, reading, trip, follower),
            panel: run.panel(trip.mark),
        }
    };
    let mut trips: Vec<TripFinding> = timeline.trips.iter().enumerate().map(finding).collect();
    // A mean of which some are corrected and some are not would be neither.
    let counted = trips.iter().filter(|trip| trip.counted()).filter_map(|trip| trip.temperature);
    if counted.clone().any(|temperature| temperature.late.is_none()) {
        for temperature in trips.iter_mut().filter_map(|trip| trip.temperature.as_mut()) {
            *temperature = temperature.uncorrected();
        }
    }
    trips
}

/// One step of the display: the head's as registered, or that of the digits kept, whichever is coarser. A display that
/// steps by five tenths shows more digits than it knows, and somebody who rounds keeps fewer than it shows.
pub(super) fn step(head: &FrozenHead, reading: Reading) -> Kelvin {
    let digits = reading.resolution();
    head.heating.resolution.map_or(digits, |registered| Kelvin(registered.kelvin().0.max(digits.0)))
}

/// Standard uncertainty of a reading that lies anywhere within one step: step/√12 (GUM F.2.2.1).
pub(super) fn rounding(step: Kelvin) -> Kelvin {
    Kelvin(step.0.abs() / 12.0_f64.sqrt())
}

fn temperature(
    frozen: &Started,
    reading: Option<Reading>,
    trip: &Trip,
    follower: Option<&Follower>,
) -> Option<TripTemperature> {
    let Started { head, seen_by, .. } = frozen;
    // Where nobody saw it switched on by hand, the curve does not know since when it climbs.
    let unseen = trip.climb_from == trip.at && !head.heating.cycle.by_itself();
    let follower = follower.filter(|_| !unseen);
    let registered = || head.heating.resolution.map_or(Kelvin(1.0), |step| step.kelvin().abs());
    let (way, noticed, step, own) = match reading {
        Some(reading) => {
            let step = step(head, reading);
            (Way::Read, reading.celsius(), step, rounding(step))
        }
        None => {
            let within = (frozen.ambient?.celsius(), head.heating.upper(&head.setting));
            let (value, u) = estimated(follower?, trip.at, within)?;
            (Way::Estimated, value, registered(), u)
        }
    };
    let instant = seen_by.delay_ms <= 0 && seen_by.delay_u_ms <= 0;
    let late = match follower {
        _ if instant => Some(Late::NONE),
        None => None,
        Some(follower) => late(follower, seen_by, trip.at, reading.map(|_| noticed + step / 2.0)),
    };
    let calibration = head.metrology.calibration_u.map(|u| u.kelvin().abs());
    let found = TripTemperature { value: noticed, u: own, way, late, step, own, calibration, noticed };
    Some(found.with(late))
}

impl TripTemperature {
    fn with(self, late: Option<Late>) -> TripTemperature {
        let (rise, u) = late.map_or((Kelvin(0.0), Kelvin(0.0)), |late| (late.rise, late.u()));
        let known = self.own.0.hypot(self.calibration.map_or(0.0, |u| u.0)).hypot(u.0);
        TripTemperature { value: self.noticed - rise, u: Kelvin(known), late, ..self }
    }

    /// As if nothing were known of the delay.
    fn uncorrected(self) -> TripTemperature {
        self.with(None)
    }

    /// Whether what the sign's delay makes of it is more than nothing.
    pub fn shifted(&self) -> Option<Late> {
        self.late.filter(|late| *late != Late::NONE)
    }

    /// The temperature, to be opened.
    pub fn figure(&self) -> Figure {
        let difference = |name: &'static str, value: Kelvin| Input::new(name, value.0, Quantity::Difference);
        let mut inputs = match self.way {
            Way::Read => vec![
                Input::new("reading of the head's display", self.noticed.0, Quantity::Point),
                difference("step of the display d", self.step),
            ],
            Way::Estimated => vec![
                Input::new("estimate from the heat curve", self.noticed.0, Quantity::Point),
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
