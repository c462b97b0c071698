//! The upper tail of the binomial distribution (Johnson, Kemp & Kotz, Univariate Discrete Distributions, chapter 3).

/// P(X ≥ `k`) in `n` independent trials that each come off with probability `p`, 0 < p < 1. Summed from `k` on upwards, so that
/// a small tail keeps its digits.
pub fn binomial_tail(n: u32, k: u32, p: f64) -> f64 {
    let (odds, all) = ((p / (1.0 - p)).ln(), f64::from(n));
    // In logarithms, because (1 − p)ⁿ alone is no longer a double for many trials.
    let mut term = all * (1.0 - p).ln();
    let mut tail = 0.0;
    for hits in 0..=n {
        if hits >= k {
            tail += term.exp();
        }
        term += ((all - f64::from(hits)) / (f64::from(hits) + 1.0)).ln() + odds;
    }
    tail.min(1.0)
}
