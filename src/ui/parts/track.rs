//! The trace of a test, as a chart recorder would ink it: heat-ups rise, holds run level, cool-down falls; trips are flags, and a
//! line says where now is. The heights are the phases', not temperatures.

use crate::ui::memo::memo;
use crate::units::TestTime;
use crate::view::page::drawing::Tick;
use crate::view::page::svg::ink;
use crate::view::test::Band;
use crate::view::time;
use leptos::prelude::*;

const WIDE: f64 = 344.0;
const LEFT: f64 = 8.0;
const LOW: f64 = 46.0;

/// The trace. `spans` follow one another without gaps, past ones first; `now` divides ink from pencil.
#[component]
pub fn track(
    /// What the trace shows, in a sentence: the text alternative.
    #[prop(into)]
    label: Signal<String>,
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
    let x = move |at: TestTime| LEFT + WIDE * (at.0 as f64 / end.get().0 as f64).clamp(0.0, 1.0);
    let ahead = move || spans.with(|all| ink(all, TestTime::MAX, x));
    let past = move || spans.with(|all| ink(all, now.get(), x));
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
                {move || time::gone(end.get().since_heat_on())}
            </text>
        </svg>
    }
}

/// The end of what is drawn, ms since heat on.
pub(super) fn end(spans: Signal<Vec<Band>>, now: Signal<TestTime>) -> Memo<TestTime> {
    memo(move || {
        spans.with(|all| all.last().map_or(TestTime(60_000), |last| last.to)).max(now.get()).max(TestTime(1_000))
    })
}

/// The flag of a trip, its pole at `x` down to `foot`.
pub(super) fn flag(tick: Tick, x: f64, foot: f64) -> AnyView {
    view! {
        <path class="trip" class:open=!tick.counted d=format!("M{x:.1} {foot}V16M{:.1} 1.5h15v14h-15z", x - 7.5) />
        <text class="trip-num" x=format!("{x:.1}") y="12.5">{tick.number}</text>
    }
    .into_any()
}
