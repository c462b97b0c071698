//! Theil–Sen slope with Sen's interval: Sen (1968), Journal of the American Statistical Association 63, 1379.

use super::modified_z::{median, median_of_sorted};
use super::t_quantile;

/// A line through the medians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TheilSen {
    /// Median of the slopes of all pairs.
    pub slope: f64,
    /// Median of y minus slope times median of x.
    pub intercept_separate: f64,
    /// Median of y − slope · x.
    pub intercept_joint: f64,
    /// Lower and upper end of the interval of the slope; none where ties leave Kendall's statistic a variance below 0.
    pub interval: Option<[f64; 2]>,
    /// Number of pairs with different x.
    pub slopes: usize,
}

/// Points beyond this number are refused: the pairs grow with its square.
pub const MAX_POINTS: usize = 4000;

/// The slope of y over x and its interval for `confidence`. None where it is undefined: no two different x, lists of
/// different length or longer than [`MAX_POINTS`], a number that is not finite, a confidence outside 0 to 1.
pub fn theil_sen(x: &[f64], y: &[f64], confidence: f64) -> Option<TheilSen> {
    if x.len() != y.len() || x.len() > MAX_POINTS || !x.iter().chain(y).all(|value| value.is_finite()) {
        return None;
    }
    let mut slopes = Vec::new();
    for i in 0..x.len() {
        for j in 0..i {
            if x[i] != x[j] {
                slopes.push((y[i] - y[j]) / (x[i] - x[j]));
            }
        }
    }
    if slopes.is_empty() {
        return None;
    }
    slopes.sort_by(f64::total_cmp);
    let slope = median_of_sorted(&slopes);
    let intercept_separate = median(y)? - slope * median(x)?;
    let residuals: Vec<f64> = x.iter().zip(y).map(|(x, y)| y - slope * x).collect();
    let intercept_joint = median(&residuals)?;
    let n = x.len() as f64;
    let variance = (tie_sum(n) - ties(x) - ties(y)) / 18.0;
    let quantile = t_quantile(confidence, None)?;
    let interval = (variance >= 0.0).then(|| {
        let spread = quantile * variance.sqrt();
        // Ranks from 0; a half rounds to the even rank.
        let count = slopes.len() as f64;
        let lower = (((count - spread) / 2.0).round_ties_even() - 1.0).max(0.0);
        let upper = ((count + spread) / 2.0).round_ties_even().min(count - 1.0);
        [slopes[lower as usize], slopes[upper as usize]]
    });
    Some(TheilSen { slope, intercept_separate, intercept_joint, interval, slopes: slopes.len() })
}

/// k (k − 1)(2k + 5) of the variance of Kendall's statistic, for a group of k ties or for all n points.
fn tie_sum(k: f64) -> f64 {
    k * (k - 1.0) * (2.0 * k + 5.0)
}

fn ties(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.chunk_by(|a, b| a == b).map(|group| tie_sum(group.len() as f64)).sum()
}
