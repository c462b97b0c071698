//! One trip: whether it counts, what the head's display showed and how well that is known.

use super::figure::{Figure, Input, Quantity};
use super::methods;
use crate::book::body::{FrozenHead, Point};
use crate::book::entry::Hash;
use crate::book::log::Book;
use crate::book::phase::{NotCounted, Stage, Timeline};
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
    /// The trip temperature, where it was read.
    pub temperature: Option<TripTemperature>,
    /// What the panel showed, where somebody said.
    pub panel: Option<(Point, Option<String>)>,
}

/// The head's temperature at a trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TripTemperature {
    /// Its value.
    pub value: Celsius,
    /// Its standard uncertainty, of the parts that are known.
    pub u: Kelvin,
    /// One step of the display.
    pub(super) step: Kelvin,
    calibration: Option<Kelvin>,
}

impl TripFinding {
    /// Whether it goes into the operating temperature.
    pub fn counted(&self) -> bool {
        self.not_counted.is_none()
    }
}

/// The trips of a run in order.
pub(super) fn trips(book: &Book, run: &Run, timeline: &Timeline) -> Vec<TripFinding> {
    let finding = |(index, trip): (usize, &crate::book::phase::Trip)| {
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
            temperature: reading.map(|reading| temperature(&run.frozen.head, reading)),
            panel: run.panel(book, trip.mark),
        }
    };
    timeline.trips.iter().enumerate().map(finding).collect()
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

fn temperature(head: &FrozenHead, reading: Reading) -> TripTemperature {
    let step = step(head, reading);
    let calibration = head.metrology.calibration_u.map(|u| u.kelvin().abs());
    let u = Kelvin(rounding(step).0.hypot(calibration.map_or(0.0, |u| u.0)));
    TripTemperature { value: reading.celsius(), u, step, calibration }
}

impl TripTemperature {
    /// The temperature, to be opened.
    pub fn figure(&self) -> Figure {
        let mut inputs = vec![
            Input::new("reading of the head's display", self.value.0, Quantity::Point),
            Input::new("step of the display d", self.step.0, Quantity::Difference),
        ];
        inputs.extend(self.calibration.map(|u| Input::new("calibration u(cal)", u.0, Quantity::Difference)));
        Figure {
            method: &methods::TRIP_READ,
            value: self.value.0,
            u: Some(self.u.0),
            quantity: Quantity::Point,
            inputs,
        }
    }
}
