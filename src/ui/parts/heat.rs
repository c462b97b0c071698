//! The heater's temperature over the test that goes on, with the shapes that paper has too.

use super::track::{end, flag};
use crate::ui::memo::memo;
use crate::units::TestTime;
use crate::view::page::drawing::Tick;
use crate::view::page::heat::{Beside, FOOT, LEFT, RIGHT, TOP, beside, figures, lines, off, readings, rules, strip, x};
use crate::view::test::Band;
use crate::view::time;
use crate::view::trace::Trace;
use leptos::prelude::*;

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
    let drawn = memo(move || heat.with(|heat| lines(heat, end.get())));
    let rules = memo(move || heat.with(rules));
    let beside = memo(move || heat.with(beside));
    let words = |of: Beside| {
        let Beside { at: (x, y), anchor, words, limit } = of;
        view! { <text class:limit-text=limit x=x y=format!("{y:.1}") text-anchor=anchor>{words}</text> }
    };
    let figure = |(x, words): (f64, String)| {
        view! { <text class="read-text" x=format!("{x:.1}") y="27" text-anchor="middle">{words}</text> }
    };
    view! {
        <div class="heat-room"><svg class="track heat" viewBox="0 0 360 123" role="img" aria-label=move || heat.with(|heat| heat.label.clone()) data-testid="heat">
            <path class="cool" d=move || spans.with(|all| off(all, end.get())) />
            <path class="base" d=move || rules.get().0 />
            // What lies below the axis is cut off at its edge.
            <svg x=LEFT y=TOP width=RIGHT - LEFT height=FOOT - TOP viewBox=format!("{LEFT} {TOP} {} {}", RIGHT - LEFT, FOOT - TOP)>
                <path class="fill" d=move || drawn.get().1 />
                <path class="past" d=move || drawn.get().0 />
            </svg>
            <path class="limit" d=move || rules.get().1 />
            {move || beside.get().into_iter().map(words).collect_view()}
            {move || ticks.get().into_iter().map(|tick| flag(tick, x(tick.at, end.get()), FOOT)).collect_view()}
            {move || heat.with(|heat| figures(heat, end.get())).into_iter().map(figure).collect_view()}
            <path class="read" d=move || heat.with(|heat| readings(heat, end.get())) />
            <path class="strip" d=move || spans.with(|all| strip(all, end.get())) />
            <path class="now" d=move || { let at = x(now.get(), end.get()); format!("M{at:.1} {TOP}V104l-4 7h8l-4-7") } />
            <text x=LEFT y="120">"0:00"</text>
            <text x=RIGHT y="120" text-anchor="end">
                {move || time::gone(end.get().since_heat_on())}
            </text>
        </svg></div>
    }
}
