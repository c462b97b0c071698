//! Drawings as SVG text, the same on screen and on paper. Shapes and lines carry the meaning, classes only the colour.

use super::drawing::{Drawing, Drawn, Tick, Trace};
use super::html::escaped;
use crate::book::timeline::Stage;
use crate::encoding::strokes::{HIGH, WIDE};
use crate::units::TestTime;
use crate::view::findings::family::DotPlot;
use crate::view::profile::{Axis, Plot};
use crate::view::test::Band;
use crate::view::time;
use crate::view::words::RESIDUALS;

/// Width of every drawing, in its own units.
pub const WIDTH: f64 = 360.0;
/// The signs of the series of a curve, in words' reach: the same shapes as are drawn.
pub const SIGNS: [&str; 5] = ["○", "□", "△", "◇", "+"];

/// The drawing.
pub fn svg(of: &Drawing) -> String {
    match of {
        Drawing::Dots(plot, _) => dots(plot),
        Drawing::Curve(plot) => curve(plot, false),
        Drawing::Trace(trace) => self::trace(trace),
        Drawing::Signature(drawn) => signature(drawn),
        Drawing::Heat(heated) => super::heat::heat(heated),
        Drawing::Intervals(intervals) => super::intervals::intervals(intervals),
    }
}

pub(super) fn whole(class: &str, height: f64, label: &str, testid: &str, inside: &str) -> String {
    let label = escaped(label);
    format!(
        "<svg class=\"{class}\" viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" aria-label=\"{label}\" data-testid=\"{testid}\">{inside}</svg>"
    )
}

pub(super) fn path(class: &str, strokes: &str) -> String {
    format!("<path{} d=\"{strokes}\"/>", class_of(class))
}

fn class_of(class: &str) -> String {
    if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") }
}

pub(super) fn words(class: &str, (x, y): (f64, f64), anchor: &str, text: &str) -> String {
    let class = class_of(class);
    format!("<text{class} x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{}</text>", escaped(text))
}

/// A signature over its line, with whose it is below, where the words find room on several lines.
fn signature(of: &Drawn) -> String {
    let (label, line) = (escaped(&of.label), HIGH / 5 * 4);
    format!(
        "<figure class=\"signed\"><svg class=\"strokes\" viewBox=\"0 0 {WIDE} {HIGH}\" role=\"img\" aria-label=\"Signature\" data-testid=\"signature\"><path class=\"pad-line\" d=\"M0 {line}H{WIDE}\"/>{}</svg><figcaption>{label}</figcaption></figure>",
        path("", &of.strokes.path())
    )
}

const DOTS_LEFT: f64 = 12.0;
const DOTS_WIDE: f64 = 336.0;
const LANE: f64 = 14.0;
/// Room above the highest dot, for names.
const DOTS_TOP: f64 = 24.0;
/// Room below the line, for the axis.
const DOTS_FOOT: f64 = 46.0;

/// The line on which the dots of a plot stand.
fn base(plot: &DotPlot) -> f64 {
    let lanes = plot.dots.iter().map(|dot| dot.lane + 1).max().unwrap_or(1);
    DOTS_TOP + LANE * f64::from(lanes.max(3)) + 6.0
}

/// The centre of each dot, in units of the drawing.
pub fn dot_places(plot: &DotPlot) -> Vec<(f64, f64)> {
    let base = base(plot);
    plot.dots.iter().map(|dot| (dots_x(dot.at), base - 10.0 - LANE * f64::from(dot.lane))).collect()
}

fn dots_x(at: f64) -> f64 {
    DOTS_LEFT + DOTS_WIDE * at
}

/// Deviations on one line. Limits are strong lines, the median a dashed one, a band shows where nothing is flagged; what is flagged is
/// a diamond with its name.
fn dots(plot: &DotPlot) -> String {
    let (base, x, top) = (base(plot), dots_x, DOTS_TOP);
    let (mut marks, mut flags, mut names) = (String::new(), String::new(), String::new());
    for (dot, (x, y)) in plot.dots.iter().zip(dot_places(plot)) {
        match &dot.flag {
            None => marks += &format!("M{:.1} {y:.1}a5.5 5.5 0 1 0 11 0a5.5 5.5 0 1 0 -11 0z", x - 5.5),
            Some(name) => {
                flags += &format!("M{x:.1} {:.1}l8 8l-8 8l-8 -8z", y - 8.0);
                names += &words("name", (x, y - 13.0), anchor(dot.at), name);
            }
        }
    }
    let band = plot.band.map_or_else(String::new, |(low, high)| {
        let (x, wide) = (x(low), DOTS_WIDE * (high - low));
        format!("<rect class=\"band\" x=\"{x:.1}\" y=\"{top}\" width=\"{wide:.1}\" height=\"{:.1}\"/>", base - top)
    });
    let limits: String = plot.limits.iter().map(|at| format!("M{:.1} {top}V{base}", x(*at))).collect();
    let ticks: String = plot.ticks.iter().map(|(at, _)| format!("M{:.1} {base}v5", x(*at))).collect();
    let numbers: String =
        plot.ticks.iter().map(|(at, text)| words("", (x(*at), base + 19.0), "middle", text)).collect();
    let inside = [
        band,
        path("base", &format!("M{DOTS_LEFT} {base}H{}{ticks}", DOTS_LEFT + DOTS_WIDE)),
        path("median", &format!("M{:.1} {top}V{base}", x(plot.median))),
        path("limit", &limits),
        path("dot", &marks),
        path("flag", &flags),
        names,
        numbers,
        words("", (WIDTH / 2.0, base + 37.0), "middle", &plot.axis),
    ];
    whole("dots", base + DOTS_FOOT, &plot.label, "dots", &inside.concat())
}

/// Names near an end are written towards the middle.
fn anchor(at: f64) -> &'static str {
    match at {
        at if at < 0.15 => "start",
        at if at > 0.85 => "end",
        _ => "middle",
    }
}

const CURVE_LEFT: f64 = 46.0;
const CURVE_RIGHT: f64 = 338.0;
const CURVE_TOP: f64 = 22.0;

/// Readings, the curve through them, and below it by how much each reading lies off the curve. Every series has its own shape, so that no
/// colour has to be told apart. A `low` one leaves room for a mark beside it.
pub fn curve(plot: &Plot, low: bool) -> String {
    let foot = CURVE_TOP + if low { 88.0 } else { 170.0 };
    let panel = (!plot.residuals.is_empty()).then_some((foot + 34.0, foot + 94.0));
    let bottom = panel.map_or(foot, |(_, low)| low);
    let x = |at: f64| place(at, &plot.time, CURVE_LEFT, CURVE_RIGHT);
    let y = |at: f64| place(at, &plot.temperature, foot, CURVE_TOP);
    let (mut grid, mut texts) = (String::new(), String::new());
    let mut level = |y: f64, figure: &str| {
        grid += &format!("M{CURVE_LEFT} {y:.1}H{CURVE_RIGHT}");
        texts += &words("", (CURVE_LEFT - 5.0, y + 4.5), "end", figure);
    };
    plot.temperature.ticks.iter().for_each(|(at, figure)| level(y(*at), figure));
    let mut residuals = String::new();
    if let Some((high, low)) = panel {
        let y = |at: f64| place(at, &plot.residual, low, high);
        plot.residual.ticks.iter().for_each(|(at, figure)| level(y(*at), figure));
        plot.residuals.iter().for_each(|(at, value, series)| sign(&mut residuals, x(*at), y(*value), *series));
        texts += &words("", (CURVE_LEFT, high - 6.0), "start", &format!("{RESIDUALS}, {}", plot.units.1));
    }
    for (at, figure) in &plot.time.ticks {
        grid += &format!("M{:.1} {bottom:.1}v5", x(*at));
        texts += &words("", (x(*at), bottom + 18.0), "middle", figure);
    }
    texts += &words("", (CURVE_LEFT, CURVE_TOP - 8.0), "start", plot.units.0);
    let mut lines = String::new();
    for line in &plot.lines {
        for (index, (at, value)) in line.iter().enumerate() {
            lines += &format!("{}{:.1} {:.1}", if index == 0 { 'M' } else { 'L' }, x(*at), y(*value));
        }
    }
    let mut readings = String::new();
    plot.dots.iter().for_each(|(at, value, series)| sign(&mut readings, x(*at), y(*value), *series));
    let inside =
        [path("grid", &grid), path("curve", &lines), path("points", &readings), path("points", &residuals), texts];
    whole("plot", bottom + 24.0, &plot.label, "plot", &inside.concat())
}

/// Where a value of an axis stands between two ends of the drawing; nothing leaves its panel.
pub fn place(at: f64, axis: &Axis, low: f64, high: f64) -> f64 {
    let span = if axis.to > axis.from { axis.to - axis.from } else { 1.0 };
    low + (high - low) * ((at - axis.from) / span).clamp(0.0, 1.0)
}

/// The sign of a series as part of a path.
fn sign(path: &mut String, x: f64, y: f64, series: usize) {
    *path += &match series % SIGNS.len() {
        0 => format!("M{:.1} {y:.1}a3.5 3.5 0 1 0 7 0a3.5 3.5 0 1 0-7 0z", x - 3.5),
        1 => format!("M{:.1} {:.1}h6v6h-6z", x - 3.0, y - 3.0),
        2 => format!("M{x:.1} {:.1}l4 7h-8z", y - 4.0),
        3 => format!("M{x:.1} {:.1}l4.2 4.2l-4.2 4.2l-4.2-4.2z", y - 4.2),
        _ => format!("M{:.1} {y:.1}h8M{x:.1} {:.1}v8", x - 4.0, y - 4.0),
    };
}

const TRACE_LEFT: f64 = 8.0;
const TRACE_WIDE: f64 = 344.0;
const TRACE_HIGH: f64 = 19.0;
const TRACE_LOW: f64 = 46.0;

/// The line through what a heater did, up to a time, ms since heat on; `x` is where a time stands.
pub fn ink(bands: &[Band], until: TestTime, x: impl Fn(TestTime) -> f64) -> String {
    let mut ink = String::new();
    for band in bands.iter().filter(|band| band.from < until && band.to > band.from) {
        let (low, high) = match band.stage {
            Stage::HeatUp => (TRACE_LOW, TRACE_HIGH),
            Stage::Hold => (TRACE_HIGH, TRACE_HIGH),
            Stage::Off => (TRACE_HIGH, TRACE_LOW),
        };
        let to = until.min(band.to);
        let share = (to - band.from) as f64 / (band.to - band.from) as f64;
        if ink.is_empty() {
            ink = format!("M{:.1} {low:.1}", x(band.from));
        }
        ink += &format!("L{:.1} {:.1}", x(to), low + share * (high - low));
    }
    ink
}

/// The flag of a trip, its pole at `x` down to `foot`.
pub(super) fn flag(tick: &Tick, x: f64, foot: f64) -> String {
    let class = if tick.counted { "trip" } else { "trip open" };
    path(class, &format!("M{x:.1} {foot}V16M{:.1} 1.5h15v14h-15z", x - 7.5))
        + &format!("<text class=\"trip-num\" x=\"{x:.1}\" y=\"12.5\">{}</text>", tick.number)
}

/// What a heater did, as a chart recorder would ink it: heat-ups rise, soaks run level, cool-down falls; trips are flags. The heights
/// are the phases', not temperatures.
fn trace(of: &Trace) -> String {
    let end = of.bands.last().map_or(TestTime(1), |band| band.to).max(TestTime(1));
    let x = |at: TestTime| TRACE_LEFT + TRACE_WIDE * (at.0 as f64 / end.0 as f64).clamp(0.0, 1.0);
    let ink = ink(&of.bands, TestTime::MAX, x);
    let fill = if ink.is_empty() {
        String::new()
    } else {
        format!("{ink}L{:.1} {TRACE_LOW}L{TRACE_LEFT} {TRACE_LOW}Z", x(end))
    };
    let flags: String = of.ticks.iter().map(|tick| flag(tick, x(tick.at), 47.0)).collect();
    let inside = [
        path("fill", &fill),
        path("base", &format!("M{TRACE_LEFT} {TRACE_LOW}H{}", TRACE_LEFT + TRACE_WIDE)),
        path("past", &ink),
        flags,
        words("", (TRACE_LEFT, 58.0), "start", "0:00"),
        words("", (TRACE_LEFT + TRACE_WIDE, 58.0), "end", &time::gone(end.since_heat_on())),
    ];
    whole("track", 61.0, &of.label, "track", &inside.concat())
}
