//! Where the detectors of a position operated over the years.
//!
//! One point a visit, its first test with a mean of readings: what was done to the detector in the visit came after it. A new line begins
//! where something else than the detector may have moved the points: with another detector, another heater, another calibration of it and,
//! for a type that lags behind the heater, another setting or mode.

use super::history::{Done, DoneWhat, TestDone};
use super::outcome::Outcome;
use crate::book::Id;
use crate::stats::theil_sen;
use crate::units::{Celsius, Kelvin, Wall};

/// Fewest points of a slope. Below it no order of the points is rarer than 5 % by Kendall's test: 2/4! is 8 %, 2/5! is 2 %.
pub const LEAST_POINTS: usize = 5;

/// A slope per year needs as much time. Own figure.
pub const LEAST_YEARS: f64 = 1.0;

/// The share of cases in which the interval is meant to hold the slope.
const CONFIDENCE: f64 = 0.95;

/// A Julian year, ms.
const YEAR_MS: f64 = 365.25 * 86_400_000.0;

/// One visit's temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// The test.
    pub test: Id,
    /// When it started, UTC ms.
    pub at: Wall,
    /// Mean of its counted trips.
    pub mean: Celsius,
    /// Its expanded uncertainty.
    pub expanded: Kelvin,
}

/// Points that may be held against each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// The detector.
    pub detector: Id,
    /// The heater's name at the first of them.
    pub heater: String,
    /// In the order of time.
    pub points: Vec<Point>,
    /// The slope, or why there is none.
    pub slope: Result<Slope, NoSlope>,
}

/// A slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// Per year.
    pub per_year: Kelvin,
    /// Lower and upper end of its interval.
    pub interval: Option<[Kelvin; 2]>,
    /// The line at the first point and at the last.
    pub line: [Celsius; 2],
}

impl Slope {
    /// Whether the interval lies on one side of no slope.
    pub fn is_shown(&self) -> bool {
        self.interval.is_some_and(|[low, high]| low > Kelvin(0.0) || high < Kelvin(0.0))
    }
}

/// Why there is no slope.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoSlope {
    /// Fewer than [`LEAST_POINTS`].
    TooFew,
    /// They lie within [`LEAST_YEARS`].
    TooShort,
}

/// The stretches of a position, each by its first point; from everything that was done there, in the order of time.
pub fn stretches(done: &[Done]) -> Vec<Stretch> {
    let mut stretches: Vec<(&TestDone, Vec<Point>)> = Vec::new();
    let mut visits: Vec<(Id, Id)> = Vec::new();
    for done in done {
        let DoneWhat::Test(test) = &done.what else { continue };
        let Some(point) = point(done.at, test) else { continue };
        let visit = (done.visit, test.frozen.detector.of);
        if visits.contains(&visit) {
            continue;
        }
        visits.push(visit);
        match stretches.iter_mut().find(|(first, _)| alike(first, test)) {
            Some((_, points)) => points.push(point),
            None => stretches.push((test, vec![point])),
        }
    }
    let whole = |(first, points): (&TestDone, Vec<Point>)| Stretch {
        detector: first.frozen.detector.of,
        heater: first.frozen.heater.name.name.clone(),
        slope: slope(&points),
        points,
    };
    stretches.into_iter().map(whole).collect()
}

fn point(at: Wall, test: &TestDone) -> Option<Point> {
    let doubtful = matches!(test.outcome, Outcome::Mistake | Outcome::InProgress | Outcome::EarlyTrip);
    let (mean, expanded) = test.operating.filter(|_| test.estimated == 0 && !doubtful)?;
    Some(Point { test: test.test, at, mean, expanded })
}

/// Whether nothing but the detector can have moved one test's temperature against the other's, as far as the record says.
fn alike(one: &TestDone, other: &TestDone) -> bool {
    let (one, other) = (&one.frozen, &other.frozen);
    let (a, b) = (&one.heater, &other.heater);
    let calibrated = a.metrology.certificate == b.metrology.certificate && a.metrology.due == b.metrology.due;
    let as_fast = a.setting == b.setting && a.mode == b.mode;
    one.detector.of == other.detector.of
        && a.of == b.of
        && calibrated
        && (as_fast || one.detector.marking.detector_type.follows_heater())
}

fn slope(points: &[Point]) -> Result<Slope, NoSlope> {
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return Err(NoSlope::TooFew) };
    if points.len() < LEAST_POINTS {
        return Err(NoSlope::TooFew);
    }
    let years = |point: &Point| point.at.saturating_sub(first.at) as f64 / YEAR_MS;
    if years(last) < LEAST_YEARS {
        return Err(NoSlope::TooShort);
    }
    let x: Vec<f64> = points.iter().map(years).collect();
    let y: Vec<f64> = points.iter().map(|point| point.mean.0).collect();
    let fit = theil_sen(&x, &y, CONFIDENCE).ok_or(NoSlope::TooShort)?;
    let at = |point: &Point| Celsius(fit.intercept_joint + fit.slope * years(point));
    Ok(Slope {
        per_year: Kelvin(fit.slope),
        interval: fit.interval.map(|ends| ends.map(Kelvin)),
        line: [at(first), at(last)],
    })
}
