//! The heater's temperature over a test: the estimate with its band, trips as flags, readings as diamonds, limits as broken lines
//! with their figures, and under it what the heater did. Shapes tell all of them apart, no colour has to.

use super::track::{end, flag};
use crate::book::timeline::Stage;
use crate::ui::memo::memo;
use crate::units::TestTime;
use crate::view::page::drawing::Tick;
use crate::view::page::svg::place;
use crate::view::profile::Axis;
use crate::view::test::Band;
use crate::view::time;
use crate::view::trace::Trace;
use leptos::prelude::*;

const LEFT: f64 = 34.0;
const RIGHT: f64 = 314.0;
const TOP: f64 = 29.0;
const FOOT: f64 = 100.0;
/// Between the figures of two limits.
const APART: f64 = 13.0;
/// The strip of phases.
const STRIP: (f64, f64) = (102.0, 108.0);

/// The drawing. `spans` follow one another without gaps, past ones first.
#[component]
pub fn heated(
    /// What is drawn.
    #[prop(into)]
    heat: Signal<Trace>,
    /// The phases.
    #[prop(into)]
    spans: Signal<Vec<Band>>,
    /// The trips.
    #[prop(into)]
    ticks: Signal<Vec<Tick>>,
    /// Test time, ms since heat on.
    #[prop(into)]
    now: Signal<TestTime>,
) -> impl IntoView {
    let end = end(spans, now);
    let x = move |at: TestTime| LEFT + (RIGHT - LEFT) * (at.0 as f64 / end.get().0 as f64).clamp(0.0, 1.0);
    // Estimates and readings are at seconds.
    let x_of = move |at: f64| x(TestTime((at * 1_000.0) as i64));
    let y = |at: f64, up: &Axis| FOOT - (FOOT - TOP) * (at - up.from) / (up.to - up.from).max(1e-9);
    let lines = move || {
        heat.with(|heat| {
            let (mut line, mut band) = (String::new(), String::new());
            for path in &heat.path {
                let mut back = String::new();
                for (index, (at, low, value, high)) in path.iter().enumerate() {
                    let (x, step) = (x_of(*at), if index == 0 { 'M' } else { 'L' });
                    line += &format!("{step}{x:.1} {:.1}", y(*value, &heat.temperature));
                    band += &format!("{step}{x:.1} {:.1}", y(*high, &heat.temperature));
                    back = format!("L{x:.1} {:.1}{back}", y(*low, &heat.temperature));
                }
                if !back.is_empty() {
                    band += &format!("{back}Z");
                }
            }
            (line, band)
        })
    };
    let lines = memo(lines);
    let fixed = memo(move || heat.with(|heat| (heat.temperature.clone(), heat.limits.clone(), heat.unit)));
    let texts = move || {
        let (up, limits, unit) = fixed.get();
        let text = |x: f64, y: f64, anchor: &'static str, text: String| {
            view! { <text x=x y=format!("{:.1}", y + 4.0) text-anchor=anchor>{text}</text> }
        };
        let ticks =
            up.ticks.iter().map(|(at, figure)| text(LEFT - 4.0, place(*at, &up, FOOT, TOP), "end", figure.clone()));
        // Two limits close together keep their figures apart.
        let ys: Vec<f64> = limits.iter().map(|(at, _)| place(*at, &up, FOOT, TOP)).collect();
        let gap = match ys[..] {
            [lower, upper] => (APART - (lower - upper)).max(0.0) / 2.0,
            _ => 0.0,
        };
        let beside = limits.iter().zip(ys).zip([gap, -gap]).map(|(((_, figure), y), by)| {
            view! { <g class="limit-text">{text(RIGHT + 4.0, y + by, "start", figure.clone())}</g> }
        });
        view! { {ticks.collect_view()} {beside.collect_view()} {text(LEFT - 4.0, 20.0, "end", unit.to_string())} }
    };
    let rules = move || {
        fixed.with(|(up, limits, _)| {
            let mut grid = String::new();
            let mut broken = String::new();
            up.ticks.iter().for_each(|(at, _)| grid += &format!("M{LEFT} {:.1}H{RIGHT}", place(*at, up, FOOT, TOP)));
            limits.iter().for_each(|(at, _)| broken += &format!("M{LEFT} {:.1}H{RIGHT}", place(*at, up, FOOT, TOP)));
            (grid, broken)
        })
    };
    let rules = memo(rules);
    let strip = move |stage: Stage| {
        let mut path = String::new();
        spans.with(|all| {
            for span in all.iter().filter(|span| span.stage == stage) {
                let (from, to, (high, low)) = (x(span.from), x(span.to), STRIP);
                path += &match stage {
                    Stage::HeatUp => format!("M{from:.1} {low}L{to:.1} {high}V{low}Z"),
                    Stage::Hold => format!("M{from:.1} {low}V{high}H{to:.1}V{low}Z"),
                    Stage::Off => format!("M{from:.1} {high}L{to:.1} {low}H{from:.1}Z"),
                };
            }
        });
        path
    };
    let off = move || {
        let mut path = String::new();
        spans.with(|all| {
            for span in all.iter().filter(|span| span.stage == Stage::Off) {
                path += &format!("M{:.1} {TOP}H{:.1}V{FOOT}H{:.1}Z", x(span.from), x(span.to), x(span.from));
            }
        });
        path
    };
    let readings = move || {
        heat.with(|heat| {
            let mut path = String::new();
            for (at, value, _) in &heat.readings {
                path += &format!(
                    "M{:.1} {:.1}l5 5l-5 5l-5-5z",
                    x_of(*at),
                    place(*value, &heat.temperature, FOOT, TOP) - 5.0
                );
            }
            path
        })
    };
    let figures = move || {
        let figure = |(at, _, text): (f64, f64, String)| {
            view! { <text class="read-text" x=format!("{:.1}", x_of(at)) y="27" text-anchor="middle">{text}</text> }
        };
        heat.with(|heat| heat.readings.clone()).into_iter().map(figure).collect_view()
    };
    let flag = move |tick: Tick| flag(tick, x(tick.at), FOOT);
    view! {
        <svg class="track heat" viewBox="0 0 360 123" role="img" aria-label=move || heat.with(|heat| heat.label.clone()) data-testid="heat">
            <path class="cool" d=off />
            <path class="base" d=move || rules.get().0 />
            // What lies below the axis is cut off at its edge.
            <svg x=LEFT y=TOP width=RIGHT - LEFT height=FOOT - TOP viewBox=format!("{LEFT} {TOP} {} {}", RIGHT - LEFT, FOOT - TOP)>
                <path class="fill" d=move || lines.get().1 />
                <path class="past" d=move || lines.get().0 />
            </svg>
            <path class="limit" d=move || rules.get().1 />
            {texts}
            {move || ticks.get().into_iter().map(flag).collect_view()}
            {figures}
            <path class="read" d=readings />
            <path class="strip" d=move || [Stage::HeatUp, Stage::Hold, Stage::Off].map(strip).concat() />
            <path class="now" d=move || { let at = x(now.get()); format!("M{at:.1} {TOP}V104l-4 7h8l-4-7") } />
            <text x=LEFT y="120">"0:00"</text>
            <text x=RIGHT y="120" text-anchor="end">
                {move || time::gone(end.get().since_heat_on())}
            </text>
        </svg>
    }
}
