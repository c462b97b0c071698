//! Exact bounds for the number of defectives in a finite population after a sample without replacement: the
//! hypergeometric distribution (Johnson, Kemp & Kotz, Univariate Discrete Distributions, chapter 6).

/// Bounds on the number D of defectives in the population, those found included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bound {
    /// The largest D under which so few defectives would be found with probability above 1 − confidence.
    pub upper: u64,
    /// That probability at `upper`.
    pub p_at_upper: f64,
    /// The probability at `upper` + 1, not above 1 − confidence.
    pub p_above: f64,
    /// The smallest D under which so many would be found with probability above 1 − confidence: a bound of its own, not
    /// the other end of an interval.
    pub lower: u64,
}

/// The largest population that is computed: every step of the search costs one pass over the sample.
pub const MAX_POPULATION: u64 = 10_000_000;

/// A probability this close above 1 − confidence equals it: 0.95 and 0.05 have no exact binary form.
pub(super) const EQUAL: f64 = 1.0 + 1e-12;

/// One-sided bounds for the defectives among `population` after `sample` were tested and `found` of them were defective.
/// None when the numbers contradict each other, the population is above [`MAX_POPULATION`] or the confidence is not
/// between 0 and 1.
pub fn hypergeom_bound(population: u64, sample: u64, found: u64, confidence: f64) -> Option<Bound> {
    let valid = population <= MAX_POPULATION && sample <= population && found <= sample;
    let usable = valid && confidence > 0.0 && confidence < 1.0;
    if !usable {
        return None;
    }
    let least = (1.0 - confidence) * EQUAL;
    let most = population - sample + found;
    let few = |defective: u64| share_up_to(found, population, defective, sample);
    let upper = last_that(found, most, |defective| few(defective) > least);
    let many =
        |defective: u64| if found == 0 { 1.0 } else { 1.0 - share_up_to(found - 1, population, defective, sample) };
    // Below `lower` it is improbable to find so many; with all of `found` there, or more, the search has an end.
    let lower = if many(found) > least { found } else { last_that(found, most, |d| many(d) <= least) + 1 };
    Some(Bound { upper, p_at_upper: few(upper), p_above: few(upper + 1), lower })
}

/// The last number in `from..=to` that satisfies a condition which holds at first and then no more.
fn last_that(from: u64, to: u64, condition: impl Fn(u64) -> bool) -> u64 {
    let (mut low, mut high) = (from, to);
    while low < high {
        let middle = high - (high - low) / 2;
        if condition(middle) { low = middle } else { high = middle - 1 }
    }
    low
}

/// P(X ≤ x) of the hypergeometric distribution. Summed away from x on the side of the shorter tail, so that no large
/// numbers cancel.
fn share_up_to(x: u64, population: u64, defective: u64, sample: u64) -> f64 {
    if defective > population || x + population < sample + defective {
        return 0.0;
    }
    if x >= defective.min(sample) {
        return 1.0;
    }
    let (d, n, all) = (defective as f64, sample as f64, population as f64);
    let up = |k: f64| (d - k) * (n - k) / ((k + 1.0) * (all - d - n + k + 1.0));
    let x_number = x as f64;
    if x_number * all < n * d {
        let (mut k, mut term, mut sum) = (x_number, 1.0, 1.0);
        while k > 0.0 && term > sum * f64::EPSILON * 0.1 {
            k -= 1.0;
            let step = up(k);
            if step == f64::INFINITY {
                break;
            }
            term /= step;
            sum += term;
        }
        share_of(x, population, defective, sample) * sum
    } else {
        let first = x_number + 1.0;
        let (mut k, mut term, mut sum) = (first, 1.0, 1.0);
        while k < d.min(n) && term > sum * f64::EPSILON * 0.1 {
            term *= up(k);
            sum += term;
            k += 1.0;
        }
        1.0 - share_of(x + 1, population, defective, sample) * sum
    }
}

/// P(X = x) = C(n, x) · (D)ₓ · (N − D)ₙ₋ₓ / (N)ₙ with falling factorials, as one product whose running value is kept in
/// range by powers of two.
fn share_of(x: u64, population: u64, defective: u64, sample: u64) -> f64 {
    // Defectives and sample may change places; the product then has fewer factors.
    let (defective, sample) = if defective < sample { (sample, defective) } else { (defective, sample) };
    let (d, n, all) = (defective as f64, sample as f64, population as f64);
    let (mut product, mut exponent) = (1.0_f64, 0_i32);
    let mut take = |factor: f64| {
        product *= factor;
        if product < 1e-100 {
            product *= 2.0_f64.powi(300);
            exponent -= 300;
        } else if product > 1e100 {
            product *= 2.0_f64.powi(-300);
            exponent += 300;
        }
    };
    for i in 0..x {
        let i = i as f64;
        take((d - i) * (n - i) / ((all - i) * (x as f64 - i)));
    }
    for j in 0..sample.saturating_sub(x) {
        let j = j as f64;
        let left = all - d - j;
        if left <= 0.0 {
            return 0.0;
        }
        take(left / (all - x as f64 - j));
    }
    product * 2.0_f64.powi(exponent)
}
