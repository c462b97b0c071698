//! Readings, the curve through them, and below it by how much each reading lies off the curve. Every series has its own
//! shape, so that no colour has to be told apart.

use leptos::prelude::*;

/// An axis: from, to, and the figures on it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Scale {
    /// Its low end.
    pub from: f64,
    /// Its high end.
    pub to: f64,
    /// Where its figures stand, and their texts.
    pub ticks: Vec<(f64, String)>,
}

/// What is drawn.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Drawing {
    /// The text alternative.
    pub label: String,
    /// The axis along the bottom.
    pub across: Scale,
    /// The axis of the upper panel.
    pub up: Scale,
    /// The axis of the lower panel, the one of residuals.
    pub off: Scale,
    /// Lines in the upper panel.
    pub lines: Vec<Vec<(f64, f64)>>,
    /// Points in the upper panel: across, up, number of the series.
    pub dots: Vec<(f64, f64, usize)>,
    /// Points in the lower panel; without any there is no lower panel.
    pub offs: Vec<(f64, f64, usize)>,
    /// What stands above the two panels, in short.
    pub heads: (String, String),
}

/// The signs of the series, in words' reach: the same shapes as are drawn.
pub const SIGNS: [&str; 5] = ["○", "□", "△", "◇", "+"];

const LEFT: f64 = 46.0;
const RIGHT: f64 = 338.0;
const TOP: f64 = 22.0;

/// The plot. `low` takes less height, for beside a mark.
#[component]
pub fn plot(
    /// What is drawn.
    drawing: Drawing,
    /// Less high.
    #[prop(optional)]
    low: bool,
) -> impl IntoView {
    let Drawing { label, across, up, off, lines, dots, offs, heads } = drawing;
    let foot = TOP + if low { 88.0 } else { 170.0 };
    let panel = (!offs.is_empty()).then_some((foot + 34.0, foot + 94.0));
    let bottom = panel.map_or(foot, |(_, low)| low);
    let x = |at: f64| place(at, &across, LEFT, RIGHT);
    let y = |at: f64| place(at, &up, foot, TOP);
    let mut grid = String::new();
    let mut texts: Vec<AnyView> = Vec::new();
    let mut text = |x: f64, y: f64, anchor: &'static str, text: String| {
        let (x, y) = (format!("{x:.1}"), format!("{y:.1}"));
        texts.push(view! { <text x=x y=y text-anchor=anchor>{text}</text> }.into_any());
    };
    let mut rule = |y: f64| grid += &format!("M{LEFT} {y:.1}H{RIGHT}");
    for (at, figure) in up.ticks.iter().cloned() {
        rule(y(at));
        text(LEFT - 5.0, y(at) + 4.5, "end", figure);
    }
    let mut rest = String::new();
    if let Some((high, low)) = panel {
        for (at, figure) in off.ticks.iter().cloned() {
            let y = place(at, &off, low, high);
            rule(y);
            text(LEFT - 5.0, y + 4.5, "end", figure);
        }
        text(LEFT, high - 6.0, "start", heads.1);
        for (at, value, series) in offs {
            sign(&mut rest, x(at), place(value, &off, low, high), series);
        }
    }
    for (at, figure) in across.ticks.iter() {
        grid += &format!("M{:.1} {bottom:.1}v5", x(*at));
        text(x(*at), bottom + 18.0, "middle", figure.clone());
    }
    text(LEFT, TOP - 8.0, "start", heads.0);
    let mut curve = String::new();
    for line in lines {
        for (index, (at, value)) in line.into_iter().enumerate() {
            curve += &format!("{}{:.1} {:.1}", if index == 0 { 'M' } else { 'L' }, x(at), y(value));
        }
    }
    let mut points = String::new();
    dots.into_iter().for_each(|(at, value, series)| sign(&mut points, x(at), y(value), series));
    view! {
        <svg class="plot" viewBox=format!("0 0 360 {:.0}", bottom + 24.0) role="img" aria-label=label data-testid="plot">
            <path class="grid" d=grid />
            <path class="curve" d=curve />
            <path class="points" d=points />
            <path class="points" d=rest />
            {texts}
        </svg>
    }
}

/// Where a value of a scale stands between two ends of the drawing; nothing leaves its panel.
pub(super) fn place(at: f64, scale: &Scale, low: f64, high: f64) -> f64 {
    let span = if scale.to > scale.from { scale.to - scale.from } else { 1.0 };
    low + (high - low) * ((at - scale.from) / span).clamp(0.0, 1.0)
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
