//! Modified z scores: Iglewicz & Hoaglin (1993), How to Detect and Handle Outliers, ASQC Quality Press.

/// Φ⁻¹(0.75) as Iglewicz & Hoaglin print it; with it the score of a normal sample has a spread near 1.
pub const NORMAL_MAD: f64 = 0.6745;
/// √(π/2): by it the mean absolute deviation of a normal sample estimates its standard deviation.
pub const NORMAL_MEAN_AD: f64 = 1.253314;

/// Beyond this size values are scored as this share of themselves, a power of two.
const LARGE: f64 = 1e290;
const SCALE: f64 = 1.0 / (1_u64 << 62) as f64;

/// Scores of a sample by its own median.
#[derive(Clone, Debug, PartialEq)]
pub struct ModifiedZ {
    /// Median.
    pub median: f64,
    /// Median absolute deviation from it, unscaled.
    pub mad: f64,
    /// Mean absolute deviation from the median.
    pub mean_ad: f64,
    /// 0.6745 (x − median)/MAD, in the order of the values; none where MAD = 0.
    pub scores: Option<Vec<f64>>,
    /// (x − median)/(1.253314 · mean absolute deviation) where MAD = 0 and not all values are equal; common practice of
    /// statistics packages, from memory.
    pub fallback: Option<Vec<f64>>,
    /// Which values score above the cut-off, from 0; none where there is no score.
    pub outliers: Option<Vec<usize>>,
}

/// The scores of `values`, flagged where |score| > `cutoff`; none when there are no values or one is not finite.
pub fn modified_z(values: &[f64], cutoff: f64) -> Option<ModifiedZ> {
    // Differences and sums of numbers this large would overflow.
    if values.iter().any(|value| value.is_finite() && value.abs() > LARGE) {
        let small: Vec<f64> = values.iter().map(|value| value * SCALE).collect();
        let of = modified_z(&small, cutoff)?;
        let [median, mad, mean_ad] = [of.median, of.mad, of.mean_ad].map(|size| size / SCALE);
        return Some(ModifiedZ { median, mad, mean_ad, ..of });
    }
    let median = median(values)?;
    let deviations: Vec<f64> = values.iter().map(|value| value - median).collect();
    let sizes: Vec<f64> = deviations.iter().map(|d| d.abs()).collect();
    let mad = self::median(&sizes)?;
    let mean_ad = sizes.iter().sum::<f64>() / sizes.len() as f64;
    let scores = (mad > 0.0).then(|| deviations.iter().map(|d| NORMAL_MAD * d / mad).collect());
    let fallback =
        (mad == 0.0 && mean_ad > 0.0).then(|| deviations.iter().map(|d| d / (NORMAL_MEAN_AD * mean_ad)).collect());
    // In whole numbers (6745 and 10 000), so that a value exactly at the cut-off is not flagged by a rounded 0.6745.
    let flagged = |size: f64| size * (NORMAL_MAD * 1e4).round() > cutoff * 1e4 * mad;
    let outliers = (mad > 0.0).then(|| (0..sizes.len()).filter(|&i| flagged(sizes[i])).collect());
    Some(ModifiedZ { median, mad, mean_ad, scores, fallback, outliers })
}

/// The middle value, or the mean of the two middle ones; none when there are none or one is not finite.
pub fn median(values: &[f64]) -> Option<f64> {
    if values.is_empty() || !values.iter().all(|value| value.is_finite()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    Some(median_of_sorted(&sorted))
}

pub(super) fn median_of_sorted(sorted: &[f64]) -> f64 {
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 { sorted[middle] } else { 0.5 * sorted[middle - 1] + 0.5 * sorted[middle] }
}
