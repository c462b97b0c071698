//! What is drawn on a page. A drawing says in words what it shows, so that it can be read out.

use super::Action;
use crate::units::TestTime;
use crate::view::findings::family::DotPlot;
use crate::view::profile::Plot;
use crate::view::test::Band;

/// A drawing.
#[derive(Clone, Debug, PartialEq)]
pub enum Drawing {
    /// Deviations on one line, and what a tap on each dot does.
    Dots(DotPlot, Vec<Action>),
    /// Readings with the curve through them.
    Curve(Plot),
    /// What a heater did over a test, with the trips on it.
    Trace(Trace),
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
        }
    }
}
