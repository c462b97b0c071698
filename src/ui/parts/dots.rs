//! A dot plot on one line: how far each of a family lies from a nominal value, stacked where they are close. Limits are strong lines,
//! the median a dashed one, a band shows where nothing is called flagged. What is flagged is a diamond with its name.
//!
//! A finger is wider than a dot, so a tap takes the nearest one. The plot is a picture for those who see it: beside it stands a list.

use leptos::{ev, prelude::*};
use wasm_bindgen::JsCast;

/// One dot; lengths are shares of the plot's width.
#[derive(Clone, PartialEq, Debug)]
pub struct Dot {
    /// 0 at the left end, 1 at the right.
    pub at: f64,
    /// Its place above the line, from 0.
    pub lane: u32,
    /// Its name, which makes it a diamond.
    pub name: Option<String>,
}

/// What is drawn.
#[derive(Clone, PartialEq, Debug)]
pub struct Plot {
    /// What it shows, in a sentence: the text alternative.
    pub label: String,
    /// Below the axis.
    pub axis: String,
    /// Places and texts of the axis.
    pub ticks: Vec<(f64, String)>,
    /// Strong lines.
    pub limits: Vec<f64>,
    /// The dashed line.
    pub median: f64,
    /// From where to where nothing is flagged.
    pub band: Option<(f64, f64)>,
    /// The dots.
    pub dots: Vec<Dot>,
}

const LEFT: f64 = 12.0;
const WIDE: f64 = 336.0;
const LANE: f64 = 14.0;
/// Room above the highest dot, for names.
const TOP: f64 = 24.0;
/// Room below the line, for the axis.
const FOOT: f64 = 46.0;
/// How far a finger may be from the dot it means.
const REACH: f64 = 40.0;

fn x(at: f64) -> f64 {
    LEFT + WIDE * at
}

/// The plot; `on_pick` is told which dot was meant.
#[component]
pub fn dots(
    /// What is drawn.
    of: Plot,
    /// Called with the number of the nearest dot.
    on_pick: Callback<usize>,
    /// The name by which a test finds it.
    #[prop(into)]
    testid: String,
) -> impl IntoView {
    let Plot { label, axis, ticks, limits, median, band, dots } = of;
    let lanes = dots.iter().map(|dot| dot.lane + 1).max().unwrap_or(1);
    let line = TOP + LANE * f64::from(lanes.max(3)) + 6.0;
    let y = move |lane: u32| line - 10.0 - LANE * f64::from(lane);
    let places: Vec<(f64, f64)> = dots.iter().map(|dot| (x(dot.at), y(dot.lane))).collect();
    let pick = move |event: ev::MouseEvent| {
        if let Some(nearest) = meant(&event, &places) {
            on_pick.run(nearest);
        }
    };
    let mut marks = String::new();
    let mut flag = String::new();
    let mut names = Vec::new();
    for dot in dots {
        let (x, y) = (x(dot.at), y(dot.lane));
        match dot.name {
            None => marks += &format!("M{:.1} {y:.1}a5.5 5.5 0 1 0 11 0a5.5 5.5 0 1 0 -11 0z", x - 5.5),
            Some(name) => {
                flag += &format!("M{x:.1} {:.1}l8 8l-8 8l-8 -8z", y - 8.0);
                names.push(view! { <text class="name" x=format!("{x:.1}") y=format!("{:.1}", y - 13.0) text-anchor=anchor(dot.at)>{name}</text> });
            }
        }
    }
    let strokes: String = limits.iter().map(|at| format!("M{:.1} {TOP}V{line}", x(*at))).collect();
    let tick_path: String = ticks.iter().map(|(at, _)| format!("M{:.1} {line}v5", x(*at))).collect();
    let numbers = ticks.into_iter().map(|(at, text)| {
        view! { <text x=format!("{:.1}", x(at)) y=line + 19.0 text-anchor="middle">{text}</text> }
    });
    view! {
        <svg
            class="dots"
            viewBox=format!("0 0 360 {}", line + FOOT)
            role="img"
            aria-label=label
            data-testid=testid
            on:click=pick
        >
            {band.map(|(low, high)| view! {
                <rect class="band" x=x(low) y=TOP width=WIDE * (high - low) height=line - TOP />
            })}
            <path class="base" d=format!("M{LEFT} {line}H{}{tick_path}", LEFT + WIDE) />
            <path class="median" d=format!("M{:.1} {TOP}V{line}", x(median)) />
            <path class="limit" d=strokes />
            <path class="dot" d=marks />
            <path class="flag" d=flag />
            {names}
            {numbers.collect_view()}
            <text x="180" y=line + 37.0 text-anchor="middle">{axis}</text>
        </svg>
    }
}

/// Names near an end are written towards the middle.
fn anchor(at: f64) -> &'static str {
    match at {
        at if at < 0.15 => "start",
        at if at > 0.85 => "end",
        _ => "middle",
    }
}

/// Which of `places` a tap means; none where all are far off.
fn meant(event: &ev::MouseEvent, places: &[(f64, f64)]) -> Option<usize> {
    let plot = event.current_target()?.dyn_into::<web_sys::Element>().ok()?.get_bounding_client_rect();
    let scale = 360.0 / plot.width();
    let (x, y) =
        ((f64::from(event.client_x()) - plot.left()) * scale, (f64::from(event.client_y()) - plot.top()) * scale);
    let mut best = (REACH * scale, None);
    for (index, place) in places.iter().enumerate() {
        let off = (place.0 - x).hypot(place.1 - y);
        if off < best.0 {
            best = (off, Some(index));
        }
    }
    best.1
}
