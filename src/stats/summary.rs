//! Mean, sample standard deviation and Student's t interval of the mean.

use super::t_quantile;

/// What a sample says about its mean. NIST/SEMATECH e-Handbook 1.3.5.2; JCGM 100:2008 (GUM) 4.2.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// Number of values, at least 1.
    pub n: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Sample standard deviation with divisor n − 1; none for one value.
    pub sd: Option<f64>,
}

/// A two-sided interval of the mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The quantile of Student's t for n − 1 degrees of freedom.
    pub t: f64,
    /// t times the standard error.
    pub half_width: f64,
    /// Lower end.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
}

/// Mean and standard deviation of `values`; none when there are none or one of them is not a finite number.
pub fn mean_sd(values: &[f64]) -> Option<Summary> {
    let centre = Centre::of(values)?;
    let n = values.len();
    let sd = (n > 1).then(|| centre.root_sum_of_squares(values, (n - 1) as f64));
    Some(Summary { n, mean: centre.mean, sd })
}

impl Summary {
    /// Degrees of freedom, n − 1.
    pub fn df(&self) -> usize {
        self.n - 1
    }

    /// Standard error of the mean, s/√n; none for one value.
    pub fn sem(&self) -> Option<f64> {
        self.sd.map(|sd| sd / (self.n as f64).sqrt())
    }

    /// The interval that holds the mean with probability `confidence`; none for one value or a confidence outside 0 to
    /// 1. Where all values are equal it is a point.
    pub fn interval(&self, confidence: f64) -> Option<Interval> {
        let sem = self.sem()?;
        let t = t_quantile(confidence, Some(self.df() as f64))?;
        let half_width = t * sem;
        Some(Interval { t, half_width, lo: self.mean - half_width, hi: self.mean + half_width })
    }
}

/// A mean with the part that one double cannot hold, so that deviations from it are right to the last digit: values
/// with a large common part and a small spread are the ordinary case here.
#[derive(Clone, Copy, Debug)]
pub(super) struct Centre {
    /// The mean.
    pub(super) mean: f64,
    rest: f64,
}

impl Centre {
    /// The mean of `values`; none when there are none or one of them is not a finite number.
    pub(super) fn of(values: &[f64]) -> Option<Centre> {
        if values.is_empty() || !values.iter().all(|value| value.is_finite()) {
            return None;
        }
        let n = values.len() as f64;
        let (mut sum, mut lost) = (0.0, 0.0);
        for &value in values {
            let (next, error) = two_sum(sum, value);
            sum = next;
            lost += error;
        }
        if !sum.is_finite() {
            // The sum is out of range though the mean is not; the last digit is given up here.
            let mean = values.iter().map(|value| value / n).sum();
            return Some(Centre { mean, rest: 0.0 });
        }
        let quotient = sum / n;
        let rest = (-quotient).mul_add(n, sum) + lost;
        let (mean, rest) = two_sum(quotient, rest / n);
        Some(Centre { mean, rest })
    }

    /// `value` minus the mean.
    pub(super) fn deviation(&self, value: f64) -> f64 {
        (value - self.mean) - self.rest
    }

    /// √(Σ deviation² / `divisor`), scaled where the squares would leave the range of doubles.
    pub(super) fn root_sum_of_squares(&self, values: &[f64], divisor: f64) -> f64 {
        let squares = |scale: f64| values.iter().map(|&v| (self.deviation(v) / scale).powi(2)).sum::<f64>();
        let plain = squares(1.0);
        if plain.is_normal() {
            return (plain / divisor).sqrt();
        }
        let largest = values.iter().map(|&v| self.deviation(v).abs()).fold(0.0, f64::max);
        if largest == 0.0 { 0.0 } else { largest * (squares(largest) / divisor).sqrt() }
    }
}

/// Sum of two doubles and the part that rounding took from it (Knuth, The Art of Computer Programming 2, 4.2.2).
fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let from_b = sum - a;
    (sum, (a - (sum - from_b)) + (b - from_b))
}
