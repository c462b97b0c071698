//! What the Test screen knows of the heater's temperature: the number, its trace over the test, and a reading that is asked about.

use super::profile::{Axis, axis};
use super::words;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::test::Test;
use crate::book::timeline::Timeline;
use crate::findings::{Estimates, LimitsGiven, NoEstimate, Sample, asked_about};
use crate::thermal::Estimate;
use crate::units::{Celsius, Degree, TestTime};

/// A point of the trace: s since heat on, lower end of the 95 % band, value, upper end.
pub type Point = (f64, f64, f64, f64);

/// The heater's temperature over the test. Temperatures in degrees of the screen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trace {
    /// Text alternative.
    pub label: String,
    /// The axis of temperature.
    pub temperature: Axis,
    /// Unit of the temperature.
    pub unit: &'static str,
    /// The estimate up to now, in stretches; without any there is none to be shown now.
    pub path: Vec<Vec<Point>>,
    /// Readings: s since heat on, temperature, as displayed.
    pub readings: Vec<(f64, f64, String)>,
    /// Limits with what stands beside them.
    pub limits: Vec<(f64, String)>,
}

/// A reading that is asked about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// The reading.
    pub reading: Hash,
    /// What was read and what had been estimated.
    pub words: String,
    /// Whether it can be read again once it is undone.
    pub again: bool,
}

/// What is known of the heater's temperature in one test.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Known {
    /// The value, and its 95 % band or why there is no estimate.
    pub(super) live: (String, String),
    /// Why the heater has no estimates any more; empty while it has.
    pub(super) withdrawn: String,
    /// The trace, where the heater has a profile.
    pub(super) trace: Option<Trace>,
    /// A reading that is asked about.
    pub(super) asked: Option<Asked>,
}

impl Known {
    /// While a reading is asked for (`hidden`) nothing is shown of the estimate, so that nobody reads off the display what the
    /// app expects.
    pub(super) fn of(
        book: &Book,
        test: &Test,
        timeline: &Timeline,
        unit: Degree,
        hidden: bool,
        estimates: &mut Estimates,
    ) -> Known {
        let none = |why: String| (words::NO_ESTIMATE_VALUE.to_string(), why);
        let trace = |samples: &[Sample], tip| {
            let given = LimitsGiven::of(&test.frozen.detector.marking, &test.frozen.procedure).ok();
            trace(test, timeline, unit, given.as_ref(), samples, tip)
        };
        if test.ended.is_some() {
            return Known { live: none(String::new()), ..Known::default() };
        }
        let (live, trace) = match estimates.path(book, test, timeline.now) {
            Ok(_) if hidden => (none(words::AFTER_READING.into()), Some(trace(&[], None))),
            Ok((samples, now)) => {
                let live = (words::degrees(now.value, unit, 0), words::band(now.lo, now.hi, unit));
                (live, Some(trace(samples, Some(now))))
            }
            Err(NoEstimate::Withdrawn(share)) => {
                let withdrawn = words::withdrawn(share);
                return Known { live: none(words::WITHDRAWN.into()), withdrawn, ..Known::default() };
            }
            Err(NoEstimate::OutOfRange) if !hidden => {
                let live = none(NoEstimate::OutOfRange.to_string());
                return Known { live, withdrawn: words::OUT_OF_RANGE.into(), ..Known::default() };
            }
            Err(NoEstimate::Contradicted) => {
                return Known { live: none(NoEstimate::Contradicted.to_string()), ..Known::default() };
            }
            Err(_) if hidden => (none(words::AFTER_READING.into()), None),
            Err(why) => (none(why.to_string()), None),
        };
        let asked = if hidden { None } else { asked(book, test, timeline, estimates) };
        Known { live, trace, asked, ..Known::default() }
    }
}

fn asked(book: &Book, test: &Test, timeline: &Timeline, estimates: &mut Estimates) -> Option<Asked> {
    let score = asked_about(book, test, estimates.scores(book, test))?;
    let trip = score.trip.and_then(|trip| timeline.trips.iter().find(|other| other.mark == trip));
    Some(Asked {
        reading: score.reading,
        words: words::far(&score.shown, trip.map(|trip| trip.heat_up)),
        // Only what the display shows at the newest trip can still be seen.
        again: trip.is_some_and(|trip| timeline.trips.last() == Some(trip)),
    })
}

/// The heater's temperature over a test that is over, with the limits that hold for it now; none where it has no heater profile that fits.
pub(super) fn of_ended(
    book: &Book,
    test: &Test,
    timeline: &Timeline,
    unit: Degree,
    limits: Option<&LimitsGiven>,
    estimates: &mut Estimates,
) -> Option<Trace> {
    let samples = estimates.course(book, test, timeline.now).ok()?;
    let any = samples.iter().any(|(_, found)| found.is_some());
    any.then(|| trace(test, timeline, unit, limits, &samples, None))
}

fn trace(
    test: &Test,
    timeline: &Timeline,
    unit: Degree,
    given: Option<&LimitsGiven>,
    samples: &[Sample],
    now: Option<Estimate>,
) -> Trace {
    let degrees = |at: Celsius| at.in_degrees(unit);
    let frozen = &test.frozen;
    let mut path: Vec<Vec<Point>> = vec![Vec::new()];
    let tip = now.map(|now| (timeline.now, Some(now)));
    for (at, found) in samples.iter().copied().chain(tip) {
        match (found, path.last_mut()) {
            (Some(found), Some(line)) => {
                line.push((seconds(at), degrees(found.lo), degrees(found.value), degrees(found.hi)));
            }
            (None, Some(line)) if !line.is_empty() => path.push(Vec::new()),
            _ => {}
        }
    }
    let bounds = given.map(|given| [(given.lower(), false), (given.upper(), true)]);
    let limits = bounds.into_iter().flatten().filter_map(|(limit, top)| {
        let limit = limit?;
        Some((degrees(limit), words::limit(&limit.text(unit, 0), top)))
    });
    let limits: Vec<(f64, String)> = limits.collect();
    let at_trip = |trip: Hash| test.marks.iter().find(|mark| mark.hash == trip).map(|mark| mark.at);
    let readings = test.readings.iter().filter_map(|taken| {
        let at = taken.trip.map_or(Some(taken.at), at_trip)?;
        Some((seconds(at), degrees(taken.reading.celsius()), taken.reading.text()))
    });
    let readings: Vec<(f64, f64, String)> = readings.collect();
    // After the first heat-up the temperatures below the deepest cooling take no room: there is nothing to be read there.
    let first_heat_up = timeline.stretches.get(1).map_or(TestTime::HEAT_ON, |stretch| stretch.from);
    let shown = path.iter().flatten().filter(|point| point.0 >= seconds(first_heat_up));
    let top = degrees(frozen.heater.heating.top(&frozen.heater.setting));
    let ambient =
        frozen.ambient.filter(|_| first_heat_up == TestTime::HEAT_ON).map(|ambient| degrees(ambient.celsius()));
    let values = shown.flat_map(|point| [point.1, point.3]).chain([top]).chain(ambient);
    let values = values.chain(limits.iter().map(|limit| limit.0)).chain(readings.iter().map(|reading| reading.1));
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
    // No more room than what is drawn needs.
    let edge = (high - low) / 20.0;
    let mut temperature = axis([low, high].into_iter(), 4, false);
    (temperature.from, temperature.to) = (low - edge, high + edge);
    temperature.ticks.retain(|tick| (low - edge..=high + edge).contains(&tick.0));
    Trace {
        label: words::trace_of(frozen.position.place.name(), now.as_ref(), &limits, timeline.trips.len(), unit),
        temperature,
        unit: unit.symbol(),
        path,
        readings,
        limits,
    }
}

fn seconds(at: TestTime) -> f64 {
    at.seconds().0
}
