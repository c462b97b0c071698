//! Results with their uncertainty, one below the other, against the limits they share.

use super::drawing::{Interval, Intervals};
use super::svg::{path, whole, words};

const LEFT: f64 = 84.0;
const RIGHT: f64 = 262.0;
const TOP: f64 = 22.0;
const LINE: f64 = 18.0;
/// The line above a bar whose name has no room beside it.
const ABOVE: f64 = 14.0;
/// Most letters of a name beside its bar.
const NAME: usize = 15;
/// Most letters of a name above it.
const LONG: usize = 56;

/// Bars of the uncertainty with a dot at the mean, a diamond where it asks for attention; limits are strong lines.
pub(super) fn intervals(of: &Intervals) -> String {
    let x = |at: f64| LEFT + (RIGHT - LEFT) * at.clamp(0.0, 1.0);
    let (mut top, mut gaps) = (TOP, Vec::new());
    let (mut spans, mut dots, mut flags, mut names) = (String::new(), String::new(), String::new(), String::new());
    for Interval { name, low, at, high, word, flagged } in &of.rows {
        let beside = name.chars().count() <= NAME;
        let named = top + LINE / 2.0 + 3.0;
        let y = if beside { named } else { named + ABOVE };
        let (low, at, high) = (x(*low), x(*at), x(*high));
        spans += &format!("M{low:.1} {y}H{high:.1}M{low:.1} {0}v8M{high:.1} {0}v8", y - 4.0);
        match flagged {
            false => dots += &format!("M{:.1} {y}a4 4 0 1 0 8 0a4 4 0 1 0-8 0z", at - 4.0),
            true => flags += &format!("M{at:.1} {}l6 6l-6 6l-6-6z", y - 6.0),
        }
        names += &words("", (2.0, named + 4.0), "start", &cut(name));
        gaps.extend((!beside).then_some((top, named + 8.0)));
        top = y + LINE / 2.0 - 3.0;
        names += &words("", (RIGHT + 8.0, y + 4.0), "start", word);
    }
    let base = top + 6.0;
    // A limit is not drawn across a name.
    let down = |at: f64| {
        let gaps: String = gaps.iter().map(|(from, to)| format!("V{from}M{at:.1} {to}")).collect();
        format!("M{at:.1} {TOP}{gaps}V{base}")
    };
    let limits: String = of.limits.iter().map(|(at, _)| down(x(*at))).collect();
    // Two close together keep their figures apart.
    let side = |index: usize| if of.limits.len() > 1 && index == 0 { ("end", 3.0) } else { ("start", -3.0) };
    let figures = of.limits.iter().enumerate().map(|(index, (at, figure))| {
        let (anchor, by) = side(index);
        words("limit-text", (x(*at) + by, TOP - 6.0), anchor, figure)
    });
    let figures: String = figures.collect();
    let ticks: String = of.ticks.iter().map(|(at, _)| format!("M{:.1} {base}v5", x(*at))).collect();
    let numbers: String =
        of.ticks.iter().map(|(at, figure)| words("", (x(*at), base + 17.0), "middle", figure)).collect();
    let inside = [
        path("base", &format!("M{LEFT} {base}H{RIGHT}{ticks}")),
        path("limit", &limits),
        path("span", &spans),
        path("dot", &dots),
        path("flag", &flags),
        figures,
        names,
        numbers,
        words("", (f64::midpoint(LEFT, RIGHT), base + 33.0), "middle", &of.axis),
    ];
    whole("intervals", base + 40.0, &of.label, "intervals", &inside.concat())
}

/// A name as long as there is room for. Both ends tell it from others: the end has the number, and whether it is as left.
fn cut(name: &str) -> String {
    let (all, half) = (name.chars().count(), LONG / 2);
    if all <= LONG {
        return name.to_string();
    }
    name.chars().take(half).chain(['…']).chain(name.chars().skip(all - half)).collect()
}
