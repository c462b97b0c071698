//! What is drawn on a page. A drawing says in words what it shows, so that it can be read out.

use super::Action;
use crate::encoding::strokes::Strokes;
use crate::units::TestTime;
use crate::view::findings::family::DotPlot;
use crate::view::profile::Plot;
use crate::view::test::Band;
use crate::view::trace;

/// A drawing.
#[derive(Clone, Debug, PartialEq)]
pub enum Drawing {
    /// Deviations on one line, and what a tap on each dot does.
    Dots(DotPlot, Vec<Action>),
    /// Readings with the curve through them.
    Curve(Plot),
    /// What a heater did over a test, with the trips on it.
    Trace(Trace),
    /// What somebody drew as a signature.
    Signature(Drawn),
    /// The heater's temperature over a test.
    Heat(Heated),
    /// Results with their uncertainty against limits.
    Intervals(Intervals),
}

/// The heater's temperature over a test that has ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Heated {
    /// The temperatures.
    pub trace: trace::Trace,
    /// What the heater did, without gaps.
    pub bands: Vec<Band>,
    /// The trips on it.
    pub ticks: Vec<Tick>,
}

/// Results with their uncertainty, one below the other. Lengths are shares of the plot's width.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Intervals {
    /// What it shows, in a sentence.
    pub label: String,
    /// Below the axis.
    pub axis: String,
    /// Places and texts of the axis.
    pub ticks: Vec<(f64, String)>,
    /// The limits with their figures, the lower one first.
    pub limits: Vec<(f64, String)>,
    /// The results.
    pub rows: Vec<Interval>,
}

/// One result.
#[derive(Clone, Debug, PartialEq)]
pub struct Interval {
    /// Whose it is.
    pub name: String,
    /// Lower end.
    pub low: f64,
    /// Mean.
    pub at: f64,
    /// Upper end.
    pub high: f64,
    /// What it comes to, in a word or two.
    pub word: String,
    /// Whether it asks for attention.
    pub flagged: bool,
}

/// A signature that was drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// Whose it is.
    pub label: String,
    /// The strokes.
    pub strokes: Strokes,
}

/// What a heater did over a test that has ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// What it shows, in a sentence.
    pub label: String,
    /// What the heater did, without gaps.
    pub bands: Vec<Band>,
    /// The trips on it.
    pub ticks: Vec<Tick>,
}

/// A trip on a trace.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tick {
    /// When, ms since heat on.
    pub at: TestTime,
    /// Its number.
    pub number: u32,
    /// Whether it counts.
    pub counted: bool,
}

impl Drawing {
    /// What it shows, in a sentence.
    pub fn label(&self) -> &str {
        match self {
            Drawing::Dots(plot, _) => &plot.label,
            Drawing::Curve(plot) => &plot.label,
            Drawing::Trace(trace) => &trace.label,
            Drawing::Signature(drawn) => &drawn.label,
            Drawing::Heat(heated) => &heated.trace.label,
            Drawing::Intervals(intervals) => &intervals.label,
        }
    }
}
