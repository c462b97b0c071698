//! A family side by side: a dot for every test over its deviation from the rating, and what comparing them gave, in words.

use super::figure::{Shown, as_given, decimals, shown, visit_step};
use crate::book::Id;
use crate::findings::{Compared, Family, Member, Scored};
use crate::stats::MIN_FAMILY;
use crate::units::{Degree, Kelvin};
use crate::view::{locale, words};

/// What the lines of the plot mean.
const LEGEND: [&str; 4] = ["Strong lines: limits.", "Dashed: median.", "Shaded: like the rest.", "Diamond: outlier."];
/// Heading of a member's numbers.
pub const NUMBERS: &str = "Every test in numbers";

/// One test as a dot. Lengths are shares of the plot's width.
#[derive(Clone, Debug, PartialEq)]
pub struct Dot {
    /// Where it lies, 0 at the left end and 1 at the right.
    pub at: f64,
    /// Its place above the line, from 0.
    pub lane: u32,
    /// Its tag, where it is flagged.
    pub flag: Option<String>,
}

/// A dot plot; places are shares of its width.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DotPlot {
    /// What it shows, in a sentence.
    pub label: String,
    /// Below the axis.
    pub axis: String,
    /// Places and texts of the axis.
    pub ticks: Vec<(f64, String)>,
    /// The limits that are drawn.
    pub limits: Vec<f64>,
    /// The median.
    pub median: f64,
    /// Where nothing stands apart.
    pub band: Option<(f64, f64)>,
    /// The tests, in the order of the rows.
    pub dots: Vec<Dot>,
}

/// One test in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct MemberRow {
    /// The test.
    pub test: Id,
    /// The detector's tag.
    pub tag: String,
    /// Deviation, uncertainty, score.
    pub detail: String,
    /// Whether it is flagged.
    pub flagged: bool,
}

/// A family on screen.
#[derive(Clone, Debug, PartialEq)]
pub struct FamilyView {
    /// What its tests have in common.
    pub title: String,
    /// What comparing them gave, a sentence each.
    pub words: Vec<String>,
    /// Those that stand apart and are not flagged, a sentence each, in grey.
    pub unlike: Vec<String>,
    /// The plot.
    pub plot: DotPlot,
    /// What is drawn in it.
    pub legend: String,
    /// Shifts, each with the figure it rests on.
    pub remarks: Vec<(String, Shown)>,
    /// Every test, lowest deviation first.
    pub rows: Vec<MemberRow>,
}

impl FamilyView {
    /// Shapes a family.
    pub fn of(family: &Family, unit: Degree) -> FamilyView {
        let row = |member: &Member| MemberRow {
            test: member.test,
            tag: member.tag().to_owned(),
            detail: detail(member, unit),
            flagged: member.flagged,
        };
        let standing = if family.as_left { "as left" } else { "as found" };
        let way = if family.estimated { " · from estimates" } else { "" };
        let rating = as_given(family.rating, unit);
        let title = format!("{} · {rating} · {} · {standing}{way}", family.detector_type.words(), family.procedure);
        let plot = plot(family, unit);
        FamilyView {
            words: said(family, unit),
            unlike: family
                .unlike()
                .filter_map(|(member, _)| Some(format!("{} reads {}.", member.tag(), unlike(family, member, unit)?)))
                .collect(),
            legend: legend(&plot),
            plot,
            remarks: family
                .remarks
                .iter()
                .map(|remark| (super::one::sentence(&remark.to_string()), shown(remark.figure(), unit)))
                .collect(),
            rows: family.members.iter().map(row).collect(),
            title,
        }
    }
}

/// What the strokes and signs mean that are there.
fn legend(plot: &DotPlot) -> String {
    let flagged = plot.dots.iter().any(|dot| dot.flag.is_some());
    let there = [!plot.limits.is_empty(), true, plot.band.is_some(), flagged];
    let words = LEGEND.into_iter().zip(there).filter(|(_, there)| *there).map(|(words, _)| words);
    words.collect::<Vec<_>>().join(" ")
}

/// A difference with its sign.
fn signed(value: Kelvin, unit: Degree, digits: usize) -> String {
    let text = locale::decimal(value.text(unit, digits));
    if text.starts_with('−') { text } else { format!("+{text}") }
}

/// A score, to one place.
pub(super) fn score(value: f64) -> String {
    locale::decimal(format!("{value:.1}").replace('-', "−"))
}

fn detail(member: &Member, unit: Degree) -> String {
    let digits = decimals(member.expanded, unit);
    let mut parts = vec![format!(
        "{} {} ± {}",
        signed(member.deviation, unit, digits),
        unit.symbol(),
        words::difference(member.expanded, unit, digits)
    )];
    parts.extend(member.score.map(|of| format!("score {}", score(of))));
    if member.flagged {
        parts.push("outlier".into());
    }
    if member.esd {
        parts.push("named by generalized ESD".into());
    }
    parts.join(" · ")
}

/// By how much a test that is not flagged reads unlike the rest, and why it is not; none where it does not stand apart.
pub(super) fn unlike(family: &Family, member: &Member, unit: Degree) -> Option<String> {
    let by = words::difference(family.apart(member), unit, decimals(member.expanded, unit));
    member.within.map(|within| format!("{by} unlike the rest, {}", within.words()))
}

fn said(family: &Family, unit: Degree) -> Vec<String> {
    let mut words = Vec::new();
    match &family.compared {
        Compared::TooFew => words.push(format!(
            "{}: fewer than {MIN_FAMILY} can't tell an outlier from chance: plotted, not flagged.",
            words::plural(family.detectors, "detector", "detectors")
        )),
        Compared::TooMany => words.push("Too many for a cut-off: plotted, not flagged.".into()),
        Compared::Scored(scored) => scored_words(family, scored, unit, &mut words),
    }
    if family.limits.is_none() {
        words.push("No limits that all of them share, so none are drawn.".into());
    }
    if family.as_left && family.flagged().next().is_some() {
        words.push("The as-found result stays on record; this is added.".into());
    }
    words
}

fn scored_words(family: &Family, scored: &Scored, unit: Degree, words: &mut Vec<String>) {
    let flagged: Vec<&str> = family.flagged().map(Member::tag).collect();
    let cut_off = scored.cut_off;
    words.push(if flagged.is_empty() {
        format!("None of {} is an outlier (cut-off {cut_off:.2}).", family.members.len())
    } else {
        format!("Outlier: {}. Retest (cut-off {cut_off:.2}).", flagged.join(", "))
    });
    let step = words::difference(scored.step, unit, decimals(scored.step, unit));
    if scored.mad == Kelvin(0.0) {
        words.push(format!(
            "More than half are alike: what a step of the display ({step}) may hide is taken as their spread."
        ));
    } else if scored.mad.0 * 2.0 < scored.step.0 {
        words.push(format!("Their spread is finer than a step of the display ({step}), which is allowed for."));
    }
    if let Some(esd) = scored.esd {
        let named: Vec<&str> = family.members.iter().filter(|member| member.esd).map(Member::tag).collect();
        words.push(match esd.named {
            0 => "Generalized ESD names none.".into(),
            _ => format!("Generalized ESD names {}.", named.join(", ")),
        });
    }
}

/// The width of a dot and of a letter of a label, in shares of the plot.
const DOT: f64 = 0.042;
/// Dots are stacked up to here; beyond, they lie on one another.
const LANES: u32 = 12;

fn plot(family: &Family, unit: Degree) -> DotPlot {
    let degrees = |value: Kelvin| value.in_degrees(unit);
    let (lower, top) = family.limits.unwrap_or_default();
    let limits: Vec<f64> = lower.into_iter().chain(top).map(degrees).collect();
    let deviations: Vec<f64> = family.members.iter().map(|member| degrees(member.deviation)).collect();
    let (mut low, mut high) = (0.0_f64, 0.0_f64);
    for value in limits.iter().chain(&deviations) {
        (low, high) = (low.min(*value), high.max(*value));
    }
    // Three to seven steps.
    let step = visit_step((high - low).max(0.1) / 5.0);
    (low, high) = (low - 0.4 * step, high + 0.4 * step);
    let place = |value: f64| ((value - low) / (high - low)).clamp(0.0, 1.0);
    // As many places after the point as the step has.
    let digits = if step < 0.1 { 2 } else { usize::from(step < 1.0) };
    let tick = |n: i64| {
        let value = n as f64 * step;
        let text = locale::decimal(format!("{value:+.digits$}").replace('-', "−"));
        (place(value), if n == 0 { "0".to_string() } else { text })
    };
    let ticks = ((low / step).ceil() as i64..=(high / step).floor() as i64).map(tick).collect();
    let mut ends: Vec<f64> = Vec::new();
    let dots = family.members.iter().zip(&deviations).map(|(member, deviation)| {
        let at = place(*deviation);
        let free = ends.iter().position(|end| at - end >= DOT).unwrap_or(ends.len()).min(LANES as usize - 1);
        match ends.get_mut(free) {
            Some(end) => *end = at,
            None => ends.push(at),
        }
        Dot { at, lane: free as u32, flag: member.flagged.then(|| member.tag().to_owned()) }
    });
    DotPlot {
        label: label(family, unit),
        axis: format!("Deviation from the rating, {}", unit.symbol()),
        dots: dots.collect(),
        ticks,
        limits: limits.into_iter().map(place).collect(),
        median: place(degrees(family.median)),
        band: family.band().map(|(low, high)| (place(degrees(low)), place(degrees(high)))),
    }
}

/// The text alternative of the plot.
fn label(family: &Family, unit: Degree) -> String {
    let of = |member: Option<&Member>| {
        member.map_or_else(String::new, |member| words::difference(member.deviation, unit, 1))
    };
    let flagged: Vec<&str> = family.flagged().map(Member::tag).collect();
    let flag = if flagged.is_empty() { "none flagged".to_string() } else { format!("flagged: {}", flagged.join(", ")) };
    format!(
        "{}, deviation from the rating from {} to {}, median {}, {flag}. The list below has every test.",
        words::plural(family.members.len(), "test", "tests"),
        of(family.members.first()),
        of(family.members.last()),
        words::difference(family.median, unit, 1)
    )
}
