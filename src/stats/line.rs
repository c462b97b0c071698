//! A straight line by ordinary least squares, with the standard error of its slope: NIST/SEMATECH e-Handbook 4.1.4.1, 5.5.

use super::summary::Centre;

/// A line through points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Slope.
    pub slope: f64,
    /// Standard deviation of the residuals with divisor n − 2; none for two points.
    pub sd: Option<f64>,
    /// Degrees of freedom, n − 2.
    pub df: usize,
    /// Σ (x − mean x)², by whose root a standard deviation of y becomes one of the slope.
    pub sxx: f64,
}

/// The line of `y` over `x`. None where it is undefined: no two different x, lists of different length, a number that is not
/// finite.
pub fn line(x: &[f64], y: &[f64]) -> Option<Line> {
    if x.len() != y.len() || x.len() < 2 {
        return None;
    }
    let (of_x, of_y) = (Centre::of(x)?, Centre::of(y)?);
    let mut sxx = 0.0;
    let mut sxy = 0.0;
    for (&x, &y) in x.iter().zip(y) {
        sxx += of_x.deviation(x).powi(2);
        sxy += of_x.deviation(x) * of_y.deviation(y);
    }
    let slope = sxy / sxx;
    if !(slope.is_finite() && sxx > 0.0) {
        return None;
    }
    let mut squares = 0.0;
    for (&x, &y) in x.iter().zip(y) {
        squares += (of_y.deviation(y) - slope * of_x.deviation(x)).powi(2);
    }
    let df = x.len() - 2;
    let sd = (df > 0).then(|| (squares / df as f64).sqrt());
    Some(Line { slope, sd, df, sxx })
}

impl Line {
    /// Standard error of the slope; none for two points.
    pub fn se_slope(&self) -> Option<f64> {
        self.sd.map(|sd| sd / self.sxx.sqrt())
    }
}
