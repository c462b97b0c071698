//! The trace of a test, as a chart recorder would ink it: heat-ups rise, holds run level, cool-down falls; trips are flags, and a
//! line says where now is. The heights are the phases', not temperatures.

use crate::ui::follow::memo;
use leptos::prelude::*;

/// What the heater does in a span.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Leg {
    /// Heat on, rising.
    HeatUp,
    /// Held at the top temperature: the soak.
    Hold,
    /// Heat off, cooling.
    Off,
}

/// One phase, in seconds since heat on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Span {
    /// What the heater does.
    pub leg: Leg,
    /// Its start.
    pub from: f64,
    /// Its end, past or expected.
    pub to: f64,
}

/// One trip, in seconds since heat on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Tick {
    /// When.
    pub at: f64,
    /// Its number.
    pub number: u32,
    /// Whether it counts: a filled flag, else an open one.
    pub counted: bool,
}

const WIDE: f64 = 344.0;
const LEFT: f64 = 8.0;
const HIGH: f64 = 19.0;
const LOW: f64 = 46.0;

/// The trace. `spans` follow one another without gaps, past ones first; `now` divides ink from pencil.
#[component]
pub fn track(
    /// What the trace shows, in a sentence: the text alternative.
    #[prop(into)]
    label: Signal<String>,
    /// The phases.
    #[prop(into)]
    spans: Signal<Vec<Span>>,
    /// The trips.
    #[prop(into)]
    ticks: Signal<Vec<Tick>>,
    /// Seconds since heat on.
    #[prop(into)]
    now: Signal<f64>,
) -> impl IntoView {
    let end = end(spans, now);
    let x = move |at: f64| LEFT + WIDE * (at / end.get()).clamp(0.0, 1.0);
    let ahead = move || spans.with(|all| line(all, f64::INFINITY, x));
    let past = move || spans.with(|all| line(all, now.get(), x));
    let fill = move || match past() {
        ink if ink.is_empty() => ink,
        ink => format!("{ink}L{:.1} {LOW}L{LEFT} {LOW}Z", x(now.get())),
    };
    let flag = move |tick: Tick| flag(tick, x(tick.at), 47.0);
    view! {
        <svg class="track" viewBox="0 0 360 61" role="img" aria-label=label data-testid="track">
            <path class="fill" d=fill />
            <path class="base" d=format!("M{LEFT} {LOW}H{}", LEFT + WIDE) />
            <path class="ahead" d=ahead />
            <path class="past" d=past />
            {move || ticks.get().into_iter().map(flag).collect_view()}
            <path class="now" d=move || { let at = x(now.get()); format!("M{at:.1} 17V51l-4 7h8l-4-7") } />
            <text x=LEFT y="58">"0:00"</text>
            // Beside the foot of the line that says where now is.
            <text x=LEFT + WIDE - 7.0 y="58" text-anchor="end">
                {move || minutes(end.get())}
            </text>
        </svg>
    }
}

/// The last second that is drawn.
pub(super) fn end(spans: Signal<Vec<Span>>, now: Signal<f64>) -> Memo<f64> {
    memo(move || spans.with(|all| all.last().map_or(60.0, |last| last.to)).max(now.get()).max(1.0))
}

/// The flag of a trip, its pole at `x` down to `foot`.
pub(super) fn flag(tick: Tick, x: f64, foot: f64) -> AnyView {
    view! {
        <path class="trip" class:open=!tick.counted d=format!("M{x:.1} {foot}V16M{:.1} 1.5h15v14h-15z", x - 7.5) />
        <text class="trip-num" x=format!("{x:.1}") y="12.5">{tick.number}</text>
    }
    .into_any()
}

/// Seconds as minutes and seconds, such as 3:30.
pub(super) fn minutes(seconds: f64) -> String {
    let whole = seconds as u32;
    format!("{}:{:02}", whole / 60, whole % 60)
}

/// The line through the spans up to a time, as an SVG path.
fn line(spans: &[Span], until: f64, x: impl Fn(f64) -> f64) -> String {
    let mut path = String::new();
    for span in spans.iter().filter(|span| span.from < until && span.to > span.from) {
        let (low, high) = match span.leg {
            Leg::HeatUp => (LOW, HIGH),
            Leg::Hold => (HIGH, HIGH),
            Leg::Off => (HIGH, LOW),
        };
        let share = ((until - span.from) / (span.to - span.from)).min(1.0);
        let at = x(span.from + share * (span.to - span.from));
        if path.is_empty() {
            path = format!("M{:.1} {low:.1}", x(span.from));
        }
        path += &format!("L{at:.1} {:.1}", low + share * (high - low));
    }
    path
}
