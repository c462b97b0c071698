//! The operating temperature: the mean of the counted trips with its uncertainty (GUM 4.2, 5.1.2, G.4.1).

use super::at_trip::Late;
use super::figure::{COVERAGE, Figure, Input, Quantity};
use super::methods;
use super::settling::{Settling, settling};
use super::trip::{TripFinding, Way, rounding};
use crate::book::body::{Ending, HeaterSnapshot, TestStart};
use crate::book::test::Test;
use crate::book::timeline::{Phase, Timeline};
use crate::stats::{Component, Coverage, EffectiveDf, Summary, mean_sd, welch_satterthwaite};
use crate::units::{Celsius, Kelvin, KelvinPerSecond};
use std::fmt;

/// Why a test has no operating temperature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoOperating {
    /// It is not over.
    Running,
    /// It was stopped for a reason that makes its temperatures doubtful.
    Stopped(Ending),
    /// No trip counted.
    NoCountedTrip,
    /// Counted heat-ups, by number, ended without a trip: a mean of the others would be biased towards passing.
    HeatUpWithoutTrip(Vec<u32>),
    /// Counted trips, by number, have no reading, and no heater profile says where they were.
    NotRead(Vec<usize>),
    /// A reading is out of any range.
    OutOfRange,
}

impl NoOperating {
    /// The name it has in files.
    pub fn name(&self) -> &'static str {
        match self {
            NoOperating::Running => "in_progress",
            NoOperating::Stopped(_) => "stopped",
            NoOperating::NoCountedTrip => "no_counted_trip",
            NoOperating::HeatUpWithoutTrip(_) => "heat_up_without_trip",
            NoOperating::NotRead(_) => "not_read",
            NoOperating::OutOfRange => "out_of_range",
        }
    }
}

impl fmt::Display for NoOperating {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoOperating::Running => f.write_str("test in progress"),
            NoOperating::Stopped(Ending::Mistake) => f.write_str("stopped as a mistake: test the right detector"),
            NoOperating::Stopped(_) => f.write_str("stopped, heater problem: check the heater, then retest"),
            NoOperating::NoCountedTrip => f.write_str("no trip counted: retest"),
            NoOperating::HeatUpWithoutTrip(heat_ups) => {
                write!(f, "no trip in heat-up {}, and a mean of the rest would look too good: retest", list(heat_ups))
            }
            NoOperating::NotRead(trips) => {
                write!(f, "no reading at trip {}: next time read the display at every counted trip", list(trips))
            }
            NoOperating::OutOfRange => f.write_str("a reading is impossible: change it"),
        }
    }
}

fn list<T: ToString>(numbers: &[T]) -> String {
    numbers.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

/// A part of the uncertainty that is not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    /// The heater's calibration.
    Calibration,
    /// The fit from heater to detector.
    Fit,
    /// The step of the display.
    Resolution,
    /// What the lag of the indication does: it needs the heating rate, from a heater profile and the ambient temperature.
    Lag,
    /// The spread between trips: one trip shows none.
    Spread,
    /// Where the number of the fit comes from.
    FitSource,
}

impl Unknown {
    /// The name it has in files.
    pub fn name(self) -> &'static str {
        match self {
            Unknown::Calibration => "calibration",
            Unknown::Fit => "fit",
            Unknown::FitSource => "fit_source",
            Unknown::Resolution => "resolution",
            Unknown::Lag => "lag",
            Unknown::Spread => "spread",
        }
    }
}

impl fmt::Display for Unknown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Unknown::Calibration => "heater's calibration uncertainty: enter it from the certificate, under Devices",
            Unknown::Fit => "heater's fit error: enter it under Devices",
            Unknown::Resolution => "step of the heater's display: enter it under Devices",
            Unknown::Lag => {
                "heating rate, for the lag in seeing the trip: mark “At top temp” in the first heat-up from cold, with the ambient temperature \
                 entered, or profile the heater"
            }
            Unknown::Spread => "spread between trips: take two or more counted trips",
            Unknown::FitSource => "where the fit error is from: enter it under Devices",
        })
    }
}

/// Where a detector operates, as heater temperature at trip.
#[derive(Clone, Debug, PartialEq)]
pub struct Operating {
    /// Number of counted trips.
    pub n: usize,
    /// How many of them have no reading and come from the heater profile.
    pub estimated: usize,
    /// Mean of the counted trips.
    pub mean: Celsius,
    /// Combined standard uncertainty of the parts that are known.
    pub u: Kelvin,
    /// Effective degrees of freedom of `u`, truncated; none means infinite.
    pub df: Option<f64>,
    /// Expanded uncertainty of the parts that are known.
    pub expanded: Kelvin,
    /// Parts that are not known; with none missing the budget is complete.
    pub unknown: Vec<Unknown>,
    /// Largest minus smallest counted trip temperature.
    pub range: Kelvin,
    /// How fast the heater heats up at the mean by its heater profile, with its standard uncertainty; none without a profile that fits and the
    /// ambient temperature, and where a counted trip came in the hold.
    pub rate: Option<(KelvinPerSecond, KelvinPerSecond)>,
    /// One step of the display, the coarsest of the counted readings.
    pub step: Kelvin,
    /// Lag correction of the mean; none without a lag or if it is unknown.
    pub late: Option<Late>,
    /// What the heater profile adds where it said temperatures, common to all trips.
    pub profile: Option<Kelvin>,
    /// Spread of one trip: the standard deviation of the counted ones, never less than the rounding of a reading.
    pub spread: Kelvin,
    /// Its degrees of freedom; none means infinite.
    pub spread_df: Option<f64>,
    /// The slope over the counted trips; none for fewer than three or where one is estimated.
    pub settling: Option<Settling>,
    sd: Option<Kelvin>,
    type_a: Kelvin,
    k: Option<f64>,
    calibration: Option<Kelvin>,
    fit: Option<Kelvin>,
}

impl Operating {
    /// Whether the uncertainty budget is complete.
    pub fn complete(&self) -> bool {
        self.unknown.is_empty()
    }

    /// What the drift of trips that still settle adds.
    fn drift(&self) -> Option<Kelvin> {
        self.settling.filter(|settling| settling.still).map(|settling| settling.widens)
    }

    /// The mean over the counted ones of `trips`, those of the test, to be opened.
    pub fn mean_figure(&self, trips: &[TripFinding]) -> Figure {
        Figure {
            method: &methods::OPERATING,
            value: self.mean.0,
            u: Some(self.u.0),
            quantity: Quantity::Point,
            inputs: counted(trips).into_iter().chain(self.rate_inputs()).collect(),
        }
    }

    /// The heating rate and its uncertainty as inputs of a figure.
    fn rate_inputs(&self) -> impl Iterator<Item = Input> {
        let named = |(rate, u): (KelvinPerSecond, KelvinPerSecond)| {
            [("heating rate r there, by the heater profile", rate), ("u(r)", u)]
        };
        self.rate.into_iter().flat_map(named).map(|(name, rate)| Input::new(name, rate.0, Quantity::Rate))
    }

    /// The range of the counted ones of `trips`, those of the test, to be opened.
    pub fn range_figure(&self, trips: &[TripFinding]) -> Figure {
        Figure {
            method: &methods::RANGE,
            value: self.range.0,
            u: None,
            quantity: Quantity::Difference,
            inputs: counted(trips),
        }
    }

    /// The standard uncertainty, to be opened.
    pub fn u_figure(&self) -> Figure {
        let difference = |name: &'static str, value: Kelvin| Input::new(name, value.0, Quantity::Difference);
        let drift = self.drift();
        let inputs = [
            Some(Input::new("number of counted trips n", self.n as f64, Quantity::Count)),
            self.sd.map(|sd| difference("standard deviation of the trips s", sd)),
            Some(difference("step of the display d", self.step)),
            Some(difference("from the trips u(A)", self.type_a)),
            self.calibration.map(|u| difference("calibration u(cal)", u)),
            self.fit.map(|u| difference("fit u(cpl)", u)),
            self.late.map(|late| difference("lag of the indication u(late)", late.u())),
            self.profile.map(|u| difference("heater profile u(crv)", u)),
            drift.map(|u| difference("still settling u(set)", u)),
        ];
        Figure {
            method: &methods::UNCERTAINTY,
            value: self.u.0,
            u: None,
            quantity: Quantity::Difference,
            inputs: inputs.into_iter().flatten().collect(),
        }
    }

    /// The expanded uncertainty, to be opened.
    pub fn expanded_figure(&self) -> Figure {
        let dfs = match self.df {
            Some(df) => Input::new("effective degrees of freedom ν, truncated", df, Quantity::Count),
            None => Input::new("degrees of freedom ν", f64::INFINITY, Quantity::Count),
        };
        let mut inputs = vec![Input::new("u", self.u.0, Quantity::Difference), dfs];
        inputs.extend(self.k.map(|k| Input::new("coverage factor k = t(95%, ν)", k, Quantity::Number)));
        Figure { method: &methods::EXPANDED, value: self.expanded.0, u: None, quantity: Quantity::Difference, inputs }
    }
}

/// The counted trips as inputs of a figure.
fn counted(trips: &[TripFinding]) -> Vec<Input> {
    let input = |trip: &TripFinding| {
        let temperature = trip.temperature.filter(|_| trip.counted())?;
        Some(Input::new(format!("trip {}", trip.number), temperature.value.0, Quantity::Point))
    };
    trips.iter().filter_map(input).collect()
}

/// Calibration, fit and rounding of a heater as far as they are known, and what is not.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Shared {
    pub(super) calibration: Option<Kelvin>,
    pub(super) fit: Option<Kelvin>,
    pub(super) unknown: Vec<Unknown>,
}

impl Shared {
    pub(super) fn of(heater: &HeaterSnapshot) -> Shared {
        let calibration = heater.metrology.calibration_u.map(|u| u.kelvin().abs());
        let fit = heater.metrology.fit_u.map(|u| u.kelvin().abs());
        let gaps = [
            calibration.is_none().then_some(Unknown::Calibration),
            fit.is_none().then_some(Unknown::Fit),
            (fit.is_some() && heater.metrology.fit_from.is_none()).then_some(Unknown::FitSource),
            heater.heating.resolution.is_none().then_some(Unknown::Resolution),
        ];
        Shared { calibration, fit, unknown: gaps.into_iter().flatten().collect() }
    }

    /// The components that do not shrink with the number of trips; what is not known counts as nothing.
    pub(super) fn components(&self) -> [Component; 2] {
        [self.calibration, self.fit].map(known)
    }
}

/// A component that is taken as known; one that is not there adds nothing.
pub(super) fn known(u: Option<Kelvin>) -> Component {
    Component { sensitivity: 1.0, u: u.map_or(0.0, |u| u.0), df: None }
}

/// The operating temperature of a test.
///
/// # Errors
/// Why there is none.
pub(super) fn operating(test: &Test, timeline: &Timeline, trips: &[TripFinding]) -> Result<Operating, NoOperating> {
    match (test.ended, timeline.phase) {
        (Some((how @ (Ending::Mistake | Ending::HeaterProblem), _)), _) => return Err(NoOperating::Stopped(how)),
        (Some(_), _) | (None, Phase::Complete { .. } | Phase::AwaitRestore { .. }) => {}
        _ => return Err(NoOperating::Running),
    }
    let without: Vec<u32> =
        timeline.missing.iter().copied().filter(|heat_up| *heat_up > test.frozen.procedure.not_averaged).collect();
    if !without.is_empty() {
        return Err(NoOperating::HeatUpWithoutTrip(without));
    }
    let counted = || trips.iter().filter(|trip| trip.counted());
    if counted().next().is_none() {
        return Err(NoOperating::NoCountedTrip);
    }
    let unread = counted().filter(|trip| trip.temperature.is_none() && trip.reading.is_none());
    let unread: Vec<usize> = unread.map(|trip| trip.number).collect();
    if !unread.is_empty() {
        return Err(NoOperating::NotRead(unread));
    }
    of_trips(&test.frozen, trips).ok_or(NoOperating::OutOfRange)
}

fn of_trips(frozen: &TestStart, trips: &[TripFinding]) -> Option<Operating> {
    let temperatures = || trips.iter().filter(|trip| trip.counted()).filter_map(|trip| trip.temperature.as_ref());
    let (mut numbers, mut values) = (Vec::with_capacity(trips.len()), Vec::with_capacity(trips.len()));
    for trip in trips.iter().filter(|trip| trip.counted()) {
        numbers.push(trip.number as f64);
        values.extend(trip.temperature.map(|temperature| temperature.value.0));
    }
    let coarsest = temperatures().map(|temperature| temperature.step.0).fold(0.0, f64::max);
    let summary = mean_sd(&values)?;
    let floor = rounding(Kelvin(coarsest)).0;
    let type_a = type_a(&summary, floor);
    let (spread, spread_df) = match summary.sd.filter(|sd| *sd > floor) {
        Some(sd) => (sd, Some(summary.df() as f64)),
        None => (floor, None),
    };
    let estimates = || temperatures().filter(|temperature| temperature.way == Way::Estimated);
    let estimated = estimates().count();
    // A slope of estimates is one of the profile and the clockwork, not of the detector.
    let settling = if estimated == 0 { settling(&numbers, &values, Kelvin(coarsest)) } else { None };
    let widens = settling.filter(|settling| settling.still).map(|settling| settling.widens);
    // The profile errs in one direction at all of its trips: what it adds is averaged as it is (GUM 5.2.2, note 1).
    let of_profile = || estimates().map(|temperature| temperature.own.0).sum::<f64>();
    let profile = (estimated > 0).then(|| Kelvin(of_profile() / summary.n as f64));
    // A lag of nothing is one of the whole test, so that either all are left out here or none is.
    let lates = temperatures().map(|temperature| temperature.late).filter(|late| *late != Some(Late::NONE));
    let lates: Option<Vec<Late>> = lates.collect();
    let late = lates.as_deref().and_then(Late::mean);
    let shared = Shared::of(&frozen.heater);
    let [calibrated, coupled] = shared.components();
    let [late_u, profile_u, widens_u] = [late.map(|late| late.u()), profile, widens].map(known);
    let combined = welch_satterthwaite(&[type_a, calibrated, coupled, late_u, profile_u, widens_u])?;
    let Coverage { k, expanded } = combined.expand(COVERAGE)?;

    let Shared { calibration, fit, mut unknown } = shared;
    if lates.is_none() {
        unknown.push(Unknown::Lag);
    }
    if summary.n == 1 {
        unknown.push(Unknown::Spread);
    }
    let (low, high) = values.iter().fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(*v), high.max(*v)));
    Some(Operating {
        n: summary.n,
        estimated,
        mean: Celsius(summary.mean),
        u: Kelvin(combined.u),
        df: combined.df.truncated().finite(),
        expanded: Kelvin(expanded),
        unknown,
        range: Kelvin(high - low),
        rate: None,
        step: Kelvin(coarsest),
        late,
        profile,
        spread: Kelvin(spread),
        spread_df,
        settling,
        sd: summary.sd.map(Kelvin),
        type_a: Kelvin(type_a.u),
        k,
        calibration,
        fit,
    })
}

/// What the trips themselves say of their mean: s/√n with n − 1 degrees of freedom, but never less than the rounding of one
/// reading. Below that the rounding is common to all readings and no mean removes it; it is a rectangular distribution,
/// known as such, so its degrees of freedom are infinite (GUM F.2.2.1, G.4.3).
fn type_a(summary: &Summary, floor: f64) -> Component {
    match summary.sem().filter(|sem| *sem > floor) {
        Some(sem) => Component { sensitivity: 1.0, u: sem, df: Some(summary.df() as f64) },
        None => Component { sensitivity: 1.0, u: floor, df: None },
    }
}

/// The smallest expanded uncertainty that a heater allows, whatever the trips show, from the parts that are known.
pub(super) fn least_expanded(heater: &HeaterSnapshot) -> Option<Kelvin> {
    let [calibrated, coupled] = Shared::of(heater).components();
    let rounding = known(heater.heating.resolution.map(|step| rounding(step.kelvin())));
    let combined = welch_satterthwaite(&[calibrated, coupled, rounding])?;
    debug_assert!(!matches!(combined.df, EffectiveDf::Finite(_)), "all parts are of type B");
    combined.expand(COVERAGE).map(|coverage| Kelvin(coverage.expanded))
}
