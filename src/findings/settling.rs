//! Still settling: a slope over the counted trips, and what it does to the uncertainty of their mean.

use super::figure::{COVERAGE, Figure, Input, Quantity};
use super::methods;
use super::trip::rounding;
use crate::stats::{line, t_quantile};
use crate::units::Kelvin;

/// The slope over the counted trips.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settling {
    /// The slope, from one trip to the next.
    pub slope: Kelvin,
    /// Its standard uncertainty.
    pub u: Kelvin,
    /// Its expanded uncertainty.
    pub expanded: Kelvin,
    /// Whether the slope exceeds it: the trips are still settling.
    pub still: bool,
    /// What the drift adds to the uncertainty of the mean, as a standard uncertainty; nothing unless `still`.
    pub widens: Kelvin,
    n: usize,
    sd: Kelvin,
    step: Kelvin,
    t: f64,
}

/// The slope over trips of `numbers`, at `temperatures` in °C, read in steps of `step`; none for fewer than three: two trips differ
/// or they do not, and no slope can be distinguished from chance.
pub(super) fn settling(numbers: &[f64], temperatures: &[f64], step: Kelvin) -> Option<Settling> {
    let line = line(numbers, temperatures)?;
    let (n, sd) = (numbers.len(), line.sd?);
    // As with the mean, residuals are never better than the rounding of a reading (GUM F.2.2.1).
    let floor = rounding(step).0;
    let (spread, df) = if sd > floor { (sd, Some(line.df as f64)) } else { (floor, None) };
    let u = spread / line.sxx.sqrt();
    let t = t_quantile(COVERAGE, df)?;
    let expanded = t * u;
    let still = line.slope.abs() > expanded;
    let over = line.slope.abs() * (n - 1) as f64;
    Some(Settling {
        slope: Kelvin(line.slope),
        u: Kelvin(u),
        expanded: Kelvin(expanded),
        still,
        widens: Kelvin(if still { over / 12.0_f64.sqrt() } else { 0.0 }),
        n,
        sd: Kelvin(sd),
        step,
        t,
    })
}

impl Settling {
    /// The slope, to be opened.
    pub fn figure(&self) -> Figure {
        Figure {
            method: &methods::SLOPE,
            value: self.slope.0,
            u: Some(self.u.0),
            quantity: Quantity::Difference,
            inputs: vec![
                Input::new("number of counted trips n", self.n as f64, Quantity::Count),
                Input::new("standard deviation of the residuals", self.sd.0, Quantity::Difference),
                Input::new("step of the display d", self.step.0, Quantity::Difference),
                Input::new("t(95%)", self.t, Quantity::Number),
            ],
        }
    }
}
