//! Which of several rounded values stand apart from the rest: modified z scores and, from [`MIN_ESD`] values on, generalized ESD, both
//! with an allowance for the rounding and with cut-offs for the two together.
//!
//! Rounding can make all but a few values alike; both then take what one step may hide for the spread. Without that allowance
//! generalized ESD finds an outlier in up to 75 % of healthy samples.
//!
//! The cut-offs leave 4.75 % of healthy families flagged, and 0.25 % more for what heaters differ by. With a spread of 0.8 °F and a display in
//! whole °F, one of 15 that is 6 standard deviations off is flagged in 97.8 %, one of 40 in 100 % (`an_outlier_is_found`); of 8 one is in 22 %
//! whatever its uncertainty, because of the 1 in 20.

use super::cut_off::{ALPHA, MIN_ESD, modified_z_cut_off};
use super::gesd::gesd;
use super::modified_z::{NORMAL_MAD, modified_z};

/// How far several values stand apart from one another.
#[derive(Clone, Debug, PartialEq)]
pub struct Outliers {
    /// Median of the values.
    pub median: f64,
    /// Median absolute deviation from it.
    pub mad: f64,
    /// What a deviation, times 0.6745, is divided by to make its score: MAD and step/√12, at least half a step.
    pub scale: f64,
    /// |score| beyond which a value is an outlier.
    pub cut_off: f64,
    /// The ends beyond which generalized ESD names a value; none with too few of them or where all are alike.
    pub esd: Option<(f64, f64)>,
}

/// Compares `values` that are rounded to `step`. None where one is not finite or no cut-off was made for so many.
pub fn outliers(values: &[f64], step: f64) -> Option<Outliers> {
    let n = values.len();
    let cut_off = modified_z_cut_off(n)?;
    let of = modified_z(values, cut_off)?;
    let esd = if n < MIN_ESD { None } else { gesd(values, n / 5, ALPHA, step / 2.0) };
    Some(Outliers {
        median: of.median,
        mad: of.mad,
        scale: (of.mad + step / 12.0_f64.sqrt()).max(step / 2.0),
        cut_off,
        esd: esd.and_then(|esd| esd.ends()),
    })
}

impl Outliers {
    /// The modified z score of a value.
    pub fn score(&self, value: f64) -> f64 {
        NORMAL_MAD * (value - self.median) / self.scale
    }

    /// Whether generalized ESD names a value.
    pub fn names(&self, value: f64) -> bool {
        self.esd.is_some_and(|(low, high)| value < low || value > high)
    }

    /// Whether a value is an outlier by either.
    pub fn finds(&self, value: f64) -> bool {
        self.score(value).abs() > self.cut_off || self.names(value)
    }

    /// The ends beyond which a value is an outlier by either.
    pub fn ends(&self) -> (f64, f64) {
        let half = self.scale * (self.cut_off / NORMAL_MAD);
        let (low, high) = (self.median - half, self.median + half);
        self.esd.map_or((low, high), |(from, to)| (low.max(from), high.min(to)))
    }
}
