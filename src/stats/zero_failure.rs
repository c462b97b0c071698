//! How many to test, all of them good, to show that the defective share is below a limit: the exact hypergeometric
//! condition for a finite population, (1 − p)ⁿ ≤ 1 − C for an infinite one.

use super::hypergeom_bound::{EQUAL, MAX_POPULATION};

/// Which sentence the sample is to prove about a population of N with the limit p.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Acceptable {
    /// "Fewer than p·N are defective": p·N, rounded up, must be excluded.
    FewerThanLimit,
    /// "At most p·N are defective": the next whole number above p·N must be excluded.
    UpToLimit,
}

impl Acceptable {
    /// The number of defectives that the sample must exclude; none when the limit is not between 0 and 1, or the
    /// sentence is true or false whatever is found.
    pub fn excluded(self, population: u64, limit: f64) -> Option<u64> {
        if !(0.0..=1.0).contains(&limit) || population > MAX_POPULATION {
            return None;
        }
        let product = limit * population as f64;
        // 0.07 · 100 is 7, whatever its binary neighbours make of it: the limit and the product are each rounded once.
        let whole = (product - product.round()).abs() <= 2.0 * f64::EPSILON * product;
        let product = if whole { product.round() } else { product };
        let excluded = match self {
            Acceptable::FewerThanLimit => product.ceil(),
            Acceptable::UpToLimit => product.floor() + 1.0,
        } as u64;
        (1..=population).contains(&excluded).then_some(excluded)
    }
}

/// The smallest sample without replacement from `population` that, free of defectives, shows with `confidence` that
/// fewer than `excluded` are defective. None when that is impossible or the confidence is not between 0 and 1.
pub fn zero_failure_n(population: u64, excluded: u64, confidence: f64) -> Option<u64> {
    let valid = population <= MAX_POPULATION && (1..=population).contains(&excluded);
    let usable = valid && confidence > 0.0 && confidence < 1.0;
    if !usable {
        return None;
    }
    let most = (1.0 - confidence) * EQUAL;
    let (mut all_good, mut n) = (1.0, 0);
    while all_good > most && n < population {
        all_good *= (population - n).saturating_sub(excluded) as f64 / (population - n) as f64;
        n += 1;
    }
    (all_good <= most).then_some(n)
}

/// The same from a population without end, for a defective share of `limit`: n = ⌈ln(1 − C)/ln(1 − p)⌉.
pub fn zero_failure_n_infinite(limit: f64, confidence: f64) -> Option<u64> {
    let open = |share: f64| share > 0.0 && share < 1.0;
    if !open(limit) || !open(confidence) {
        return None;
    }
    let n = (-confidence).ln_1p() / (-limit).ln_1p();
    Some((n * (2.0 - EQUAL)).ceil() as u64)
}
