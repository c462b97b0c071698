//! The trip temperatures of a position over the years.

use super::{Shown, signed};
use crate::findings::methods::TREND;
use crate::findings::trend::{LEAST_POINTS, NoSlope, Point, Slope, Stretch, stretches};
use crate::units::{Celsius, Degree, Wall};
use crate::view::findings::figure::{self, decimals, explained, visit_step};
use crate::view::page::drawing::Drawing;
use crate::view::page::{Block, Kind, Role};
use crate::view::profile::{Axis, Dot, Plot};
use crate::view::{locale, time, words};

/// Heading.
const OVER_YEARS: &str = "Over the years";
/// Heading of the points in numbers.
const NUMBERS: &str = "In numbers";
const UP: &str = "It trips hotter from year to year.";
const DOWN: &str = "It trips cooler from year to year.";
const NO_DRIFT: &str = "No drift shown.";

/// A Julian year, ms.
const YEAR_MS: f64 = 365.25 * 86_400_000.0;
/// Most figures below the plot.
const MOST_TICKS: f64 = 5.0;

/// The plot, each slope or why there is none, and the points in numbers. Nothing where no test has a mean of readings.
pub(super) fn section(shown: &Shown<'_>) -> Option<Block> {
    let stretches = stretches(shown.done);
    if stretches.is_empty() {
        return None;
    }
    let points: usize = stretches.iter().map(|stretch| stretch.points.len()).sum();
    let mut blocks = Vec::new();
    // One point shows nothing that its number does not.
    if points > 1 {
        let plot = Box::new(Drawing::Curve(plot(shown, &stretches, points)));
        blocks.push(Block::new("years", Kind::Drawing(plot)));
    }
    blocks
        .extend(stretches.iter().enumerate().flat_map(|(place, stretch)| said(shown, stretches.len(), place, stretch)));
    let numbers = stretches.iter().flat_map(|stretch| &stretch.points).map(|point| number(shown, point));
    let numbers = numbers.map(|(day, value)| (day.into(), value.into())).collect();
    blocks.push(Block::fold("years-numbers", NUMBERS, vec![Block::new("points", Kind::Facts(numbers))]));
    Some(Block::section("over-years", OVER_YEARS, blocks))
}

fn day(shown: &Shown<'_>, point: &Point) -> String {
    time::date(point.at, (shown.offset)(point.at))
}

fn number(shown: &Shown<'_>, point: &Point) -> (String, String) {
    let digits = decimals(point.expanded, shown.unit);
    let value = words::degrees(point.mean, shown.unit, digits);
    (day(shown, point), format!("{value} ± {}", words::difference(point.expanded, shown.unit, digits)))
}

/// What the points of a stretch say, or what they cannot.
fn said(shown: &Shown<'_>, of: usize, place: usize, stretch: &Stretch) -> Vec<Block> {
    let (first, last) = (stretch.points.first(), stretch.points.last());
    let since = first.map(|point| day(shown, point)).unwrap_or_default();
    let sign = if of > 1 {
        format!("{} ", super::super::page::svg::SIGNS[place % super::super::page::svg::SIGNS.len()])
    } else {
        String::new()
    };
    let visits = words::plural(stretch.points.len(), "visit", "visits");
    let head = format!("{sign}{}, {visits} since {since}", stretch.heater);
    match &stretch.slope {
        Ok(slope) => {
            let until = last.map(|point| day(shown, point)).unwrap_or_default();
            let verdict = match slope.is_shown() {
                false => NO_DRIFT,
                true if slope.per_year.0 > 0.0 => UP,
                true => DOWN,
            };
            let label = format!("{sign}Slope, {}, {since} to {until}", stretch.heater);
            vec![
                Block::figure("slope", figure(shown, label, slope, &stretch.points)),
                Block::text("verdict", Role::Plain, verdict),
            ]
        }
        Err(NoSlope::TooFew) => {
            let words = format!(
                "{head}. A slope takes {LEAST_POINTS} visits with one detector and one calibration: no word on drift."
            );
            vec![Block::text("no-slope", Role::Soft, words)]
        }
        Err(NoSlope::TooShort) => {
            vec![Block::text(
                "no-slope",
                Role::Soft,
                format!("{head}. A slope takes a year or more: no word on drift."),
            )]
        }
    }
}

fn figure(shown: &Shown<'_>, label: String, slope: &Slope, points: &[Point]) -> figure::Shown {
    let unit = shown.unit;
    let spread = slope.interval.map(|[low, high]| format!("95%: {} to {}", signed(low, unit), signed(high, unit)));
    figure::Shown {
        label,
        value: signed(slope.per_year, unit),
        unit: match unit {
            Degree::C => "°C a year".into(),
            Degree::F => "°F a year".into(),
        },
        spread: spread.unwrap_or_default(),
        inputs: points.iter().map(|point| number(shown, point)).collect(),
        ..explained(&TREND)
    }
}

fn plot(shown: &Shown<'_>, stretches: &[Stretch], points: usize) -> Plot {
    let unit = shown.unit;
    let degrees = |value: Celsius| value.in_degrees(unit);
    let all = || stretches.iter().flat_map(|stretch| &stretch.points);
    let first = all().map(|point| point.at).min().unwrap_or_default();
    let last = all().map(|point| point.at).max().unwrap_or_default();
    let years = |at: Wall| at.saturating_sub(first) as f64 / YEAR_MS;
    let dots = stretches.iter().enumerate().flat_map(|(series, stretch)| {
        stretch.points.iter().map(move |point| (years(point.at), degrees(point.mean), series))
    });
    let dots: Vec<Dot> = dots.collect();
    let lines = stretches.iter().filter_map(|stretch| {
        let (slope, ends) = (stretch.slope.as_ref().ok()?, (stretch.points.first()?, stretch.points.last()?));
        Some(vec![(years(ends.0.at), degrees(slope.line[0])), (years(ends.1.at), degrees(slope.line[1]))])
    });
    let low = dots.iter().map(|dot| dot.1).fold(f64::INFINITY, f64::min);
    let high = dots.iter().map(|dot| dot.1).fold(f64::NEG_INFINITY, f64::max);
    let lines_drawn = words::plural(stretches.len(), "line", "lines");
    Plot {
        label: format!(
            "Operating temperature over the years: {}, {lines_drawn}.",
            words::plural(points, "visit", "visits")
        ),
        time: time_axis(shown, first, last),
        temperature: axis(low, high),
        lines: lines.collect(),
        dots,
        units: (unit.symbol(), ""),
        ..Plot::default()
    }
}

/// Whole steps around what is drawn, with room above and below.
fn axis(low: f64, high: f64) -> Axis {
    let step = visit_step(((high - low) / 4.0).max(2.0));
    let (from, to) = ((low / step).floor() - 1.0, (high / step).ceil() + 1.0);
    let ticks = (from as i64..=to as i64).map(|at| at as f64 * step);
    Axis {
        from: from * step,
        to: to * step,
        ticks: ticks.map(|at| (at, locale::decimal(format!("{at:.0}")))).collect(),
    }
}

/// The days of the first and the last point, and years between.
fn time_axis(shown: &Shown<'_>, first: Wall, last: Wall) -> Axis {
    let to = (last.saturating_sub(first) as f64 / YEAR_MS).max(0.1);
    let year = |at: f64| {
        let at = first.saturating_add((at * YEAR_MS) as i64);
        let day = time::moment_text(at, (shown.offset)(at));
        day.split('-').next().unwrap_or_default().to_string()
    };
    let step = (to / MOST_TICKS).ceil().max(1.0);
    let count = (to / step).floor() as i64;
    let room = to * 0.05;
    let ticks = (0..=count).map(|tick| tick as f64 * step).map(|at| (at, year(at))).collect();
    Axis { from: -room, to: to + room, ticks }
}
