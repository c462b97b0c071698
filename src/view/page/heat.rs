//! The heater's temperature over a test as SVG: the estimate with its band, trips as flags, readings as diamonds, limits as broken lines
//! with their figures, and under it what the heater did. Shapes tell all of them apart, no colour has to. The Test screen draws the same
//! paths while the test goes on.

use super::drawing::Heated;
use super::svg::{flag, path, place, whole, words};
use crate::book::timeline::Stage;
use crate::units::TestTime;
use crate::view::test::Band;
use crate::view::time;
use crate::view::trace::Trace;

/// Left and right end of what is drawn.
pub const LEFT: f64 = 34.0;
/// See [`LEFT`].
pub const RIGHT: f64 = 314.0;
/// Upper and lower end of the temperatures.
pub const TOP: f64 = 29.0;
/// See [`TOP`].
pub const FOOT: f64 = 100.0;
/// Between the figures of two limits.
const APART: f64 = 13.0;
/// The strip of phases.
const STRIP: (f64, f64) = (102.0, 108.0);

/// Words beside what is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// Where.
    pub at: (f64, f64),
    /// Which end of the words is there.
    pub anchor: &'static str,
    /// The words.
    pub words: String,
    /// Whether they are of a limit.
    pub limit: bool,
}

/// Where a time of a test that ends then is.
pub fn x(at: TestTime, end: TestTime) -> f64 {
    LEFT + (RIGHT - LEFT) * (at.0 as f64 / end.0.max(1) as f64).clamp(0.0, 1.0)
}

/// Estimates and readings are at seconds.
fn x_of(at: f64, end: TestTime) -> f64 {
    x(TestTime((at * 1_000.0) as i64), end)
}

/// The line of the estimate and its band; what lies below the axis is to be cut off at its edge.
pub fn lines(heat: &Trace, end: TestTime) -> (String, String) {
    let up = &heat.temperature;
    let y = |at: f64| FOOT - (FOOT - TOP) * (at - up.from) / (up.to - up.from).max(1e-9);
    let (mut line, mut band) = (String::new(), String::new());
    for path in &heat.path {
        let mut back = String::new();
        for (index, (at, low, value, high)) in path.iter().enumerate() {
            let (x, step) = (x_of(*at, end), if index == 0 { 'M' } else { 'L' });
            line += &format!("{step}{x:.1} {:.1}", y(*value));
            band += &format!("{step}{x:.1} {:.1}", y(*high));
            back = format!("L{x:.1} {:.1}{back}", y(*low));
        }
        if !back.is_empty() {
            band += &format!("{back}Z");
        }
    }
    (line, band)
}

/// The lines of the axis and those of the limits.
pub fn rules(heat: &Trace) -> (String, String) {
    let rule = |at: f64| format!("M{LEFT} {:.1}H{RIGHT}", place(at, &heat.temperature, FOOT, TOP));
    (
        heat.temperature.ticks.iter().map(|(at, _)| rule(*at)).collect(),
        heat.limits.iter().map(|(at, _)| rule(*at)).collect(),
    )
}

/// The figures of the axis and of the limits. Two limits close together keep theirs apart.
pub fn beside(heat: &Trace) -> Vec<Beside> {
    let (up, limits) = (&heat.temperature, &heat.limits);
    let y = |at: f64| place(at, up, FOOT, TOP);
    let words = |at: (f64, f64), anchor, words: &str, limit| Beside { at, anchor, words: words.to_string(), limit };
    let mut all: Vec<Beside> =
        up.ticks.iter().map(|(at, figure)| words((LEFT - 4.0, y(*at) + 4.0), "end", figure, false)).collect();
    let ys: Vec<f64> = limits.iter().map(|(at, _)| y(*at)).collect();
    let gap = match ys[..] {
        [lower, upper] => (APART - (lower - upper)).max(0.0) / 2.0,
        _ => 0.0,
    };
    let limits = limits.iter().zip(ys).zip([gap, -gap]);
    all.extend(limits.map(|(((_, figure), y), by)| words((RIGHT + 4.0, y + by + 4.0), "start", figure, true)));
    all.push(words((LEFT - 4.0, 24.0), "end", heat.unit, false));
    all
}

/// What the heater did, one shape for each stage.
pub fn strip(bands: &[Band], end: TestTime) -> String {
    let (high, low) = STRIP;
    let shape = |band: &Band| {
        let (from, to) = (x(band.from, end), x(band.to, end));
        match band.stage {
            Stage::HeatUp => format!("M{from:.1} {low}L{to:.1} {high}V{low}Z"),
            Stage::Hold => format!("M{from:.1} {low}V{high}H{to:.1}V{low}Z"),
            Stage::Off => format!("M{from:.1} {high}L{to:.1} {low}H{from:.1}Z"),
        }
    };
    bands.iter().map(shape).collect()
}

/// Where the heater is off.
pub fn off(bands: &[Band], end: TestTime) -> String {
    let shape = |band: &Band| {
        let (from, to) = (x(band.from, end), x(band.to, end));
        format!("M{from:.1} {TOP}H{to:.1}V{FOOT}H{from:.1}Z")
    };
    bands.iter().filter(|band| band.stage == Stage::Off).map(shape).collect()
}

/// The readings.
pub fn readings(heat: &Trace, end: TestTime) -> String {
    let sign = |(at, value, _): &(f64, f64, String)| {
        format!("M{:.1} {:.1}l5 5l-5 5l-5-5z", x_of(*at, end), place(*value, &heat.temperature, FOOT, TOP) - 5.0)
    };
    heat.readings.iter().map(sign).collect()
}

/// Where the figure of each reading is, and the figure.
pub fn figures(heat: &Trace, end: TestTime) -> Vec<(f64, String)> {
    heat.readings.iter().map(|(at, _, figure)| (x_of(*at, end), figure.clone())).collect()
}

/// A test that is over.
pub(super) fn heat(of: &Heated) -> String {
    let Heated { trace, bands, ticks } = of;
    let end = bands.last().map_or(TestTime(1), |band| band.to).max(TestTime(1));
    let ((line, band), (grid, limits)) = (lines(trace, end), rules(trace));
    let clip = format!(
        "<svg x=\"{LEFT}\" y=\"{TOP}\" width=\"{0}\" height=\"{1}\" viewBox=\"{LEFT} {TOP} {0} {1}\">{2}{3}</svg>",
        RIGHT - LEFT,
        FOOT - TOP,
        path("fill", &band),
        path("past", &line)
    );
    let class = |limit: bool| if limit { "limit-text" } else { "" };
    let inside = [
        path("cool", &off(bands, end)),
        path("base", &grid),
        clip,
        path("limit", &limits),
        beside(trace).iter().map(|of| words(class(of.limit), of.at, of.anchor, &of.words)).collect(),
        ticks.iter().map(|tick| flag(tick, x(tick.at, end), FOOT)).collect(),
        figures(trace, end).iter().map(|(x, figure)| words("read-text", (*x, 27.0), "middle", figure)).collect(),
        path("read", &readings(trace, end)),
        path("strip", &strip(bands, end)),
        words("", (LEFT, 120.0), "start", "0:00"),
        words("", (RIGHT, 120.0), "end", &time::gone(end.since_heat_on())),
    ];
    whole("track heat", 123.0, &trace.label, "heat", &inside.concat())
}
