//! The simulation that made the table of cut-offs, and its check with other seeds.

use soakbook::stats::{
    ALPHA, CUT_OFF_FAMILIES as FAMILIES, CUT_OFF_SEED, MIN_ESD, MIN_FAMILY, SHARE, cut_offs, modified_z,
    modified_z_cut_off, t_upper_quantile,
};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Normal deviates from a seed: the uniform generator of Steele, Lea & Flood (2014), Fast splittable pseudorandom number generators,
/// OOPSLA, and Marsaglia's polar method (Marsaglia & Bray 1964, SIAM Review 6, 260).
pub(crate) struct Deviates {
    state: u64,
    spare: Option<f64>,
}

impl Deviates {
    pub(crate) fn new(seed: u64) -> Deviates {
        Deviates { state: seed, spare: None }
    }

    /// Uniform in −1 to 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }

    pub(crate) fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        loop {
            let (u, v) = (self.uniform(), self.uniform());
            let square = u * u + v * v;
            if square > 0.0 && square < 1.0 {
                let factor = (-2.0 * square.ln() / square).sqrt();
                self.spare = Some(v * factor);
                return u * factor;
            }
        }
    }
}

fn middle(sorted: &[f64]) -> f64 {
    let half = sorted.len() / 2;
    if sorted.len() % 2 == 1 { sorted[half] } else { 0.5 * (sorted[half - 1] + sorted[half]) }
}

/// Both tests of `stats::outliers` for millions of samples of `n`: what costs there is done once here, and samples come sorted.
pub(crate) struct Fast {
    /// Of m values, how many standard deviations of the others the most deviant may lie from their mean.
    reach: Vec<f64>,
    steps: usize,
    sizes: Vec<f64>,
}

impl Fast {
    /// For samples of `n` values.
    pub(crate) fn new(n: usize) -> Fast {
        let steps = if n < MIN_ESD { 0 } else { n / 5 };
        let reach = |m: usize| {
            let of = m as f64;
            let t = t_upper_quantile(ALPHA / (2.0 * of), Some(of - 2.0)).expect("a quantile");
            t * (of / (of - 1.0)).sqrt()
        };
        let reach = (0..=n).map(|m| if m + steps > n { reach(m) } else { 0.0 }).collect();
        Fast { reach, steps, sizes: Vec::new() }
    }

    /// What a deviation from the median, times 0.6745, is divided by, and the median.
    pub(crate) fn scale(&mut self, sorted: &[f64], step: f64) -> (f64, f64) {
        let median = middle(sorted);
        self.sizes.clear();
        // Distances grow from the middle to both sides: up to the middle one of them, the nearer end comes next.
        let (mut low, mut high) = (sorted.partition_point(|value| *value < median), 0);
        high += low;
        while self.sizes.len() <= sorted.len() / 2 {
            let below = low.checked_sub(1).map_or(f64::INFINITY, |place| median - sorted[place]);
            let above = sorted.get(high).map_or(f64::INFINITY, |value| value - median);
            self.sizes.push(below.min(above));
            if below < above {
                low -= 1;
            } else {
                high += 1;
            }
        }
        let half = sorted.len() / 2;
        let mad =
            if sorted.len() % 2 == 1 { self.sizes[half] } else { 0.5 * (self.sizes[half - 1] + self.sizes[half]) };
        ((mad + step / 12.0_f64.sqrt()).max(step / 2.0), median)
    }

    /// The largest |modified z|.
    pub(crate) fn largest_score(&mut self, sorted: &[f64], step: f64) -> f64 {
        let (scale, median) = self.scale(sorted, step);
        let ends = (median - sorted[0]).max(sorted[sorted.len() - 1] - median);
        0.6745 * ends / scale
    }

    /// The ends beyond which generalized ESD names a value; none with too few of them.
    pub(crate) fn ends(&self, sorted: &[f64], step: f64) -> Option<(f64, f64)> {
        // About the middle, so that sums of squares lose no digits.
        let at = |place: usize| sorted[place] - sorted[sorted.len() / 2];
        let (mut low, mut high) = (0, sorted.len());
        let (mut sum, mut squares) = (low..high).map(at).fold((0.0, 0.0), |(s, q), x| (s + x, q + x * x));
        let mut ends = None;
        for _ in 0..self.steps {
            let m = high - low;
            let mean = sum / m as f64;
            let suspect = if at(high - 1) - mean > mean - at(low) {
                high -= 1;
                at(high)
            } else {
                low += 1;
                at(low - 1)
            };
            sum -= suspect;
            squares -= suspect * suspect;
            let others = (m - 1) as f64;
            let sd = ((squares - sum * sum / others).max(0.0) / (others - 1.0)).sqrt();
            // What lies on an end but for the last bits is not beyond it.
            let (mean, reach) = (sum / others, self.reach[m] * sd.max(step / 2.0) * (1.0 + 1e-9));
            if ends.is_none() || (suspect - mean).abs() > reach {
                let mean = mean + sorted[sorted.len() / 2];
                ends = Some((mean - reach, mean + reach));
            }
        }
        ends
    }
}

/// A healthy sample of standard normal values, sorted. With a `step` they are read in such steps; a row of readings starts anywhere
/// within one.
fn healthy(deviates: &mut Deviates, values: &mut [f64], step: f64) {
    values.iter_mut().for_each(|value| *value = deviates.normal());
    if step > 0.0 {
        let start = deviates.uniform();
        values.iter_mut().for_each(|value| *value = (*value / step + start).round() * step);
    }
    values.sort_unstable_by(f64::total_cmp);
}

/// The largest |modified z| of each of `families` healthy families of `n`, smallest first; infinite where generalized ESD names one.
fn largest_scores(n: usize, families: usize, seed: u64, step: f64) -> Vec<f64> {
    let (mut deviates, mut fast, mut values) = (Deviates::new(seed), Fast::new(n), vec![0.0; n]);
    let one = |_| {
        healthy(&mut deviates, &mut values, step);
        let named = fast.ends(&values, step).is_some_and(|(low, high)| values[0] < low || values[n - 1] > high);
        if named { f64::INFINITY } else { fast.largest_score(&values, step) }
    };
    let mut largest: Vec<f64> = (0..families).map(one).collect();
    largest.sort_unstable_by(f64::total_cmp);
    largest
}

/// Share of healthy families that the row for `n` is made for.
fn share(n: usize) -> f64 {
    if n < MIN_ESD { 0.05 } else { SHARE }
}

/// Steps in standard deviations. Where many values hardly scatter, half of them lie within one step of the median for those just beyond
/// 0.4497 (within one and a half steps 2 · 0.6745 of a normal distribution lie), and within two for those beyond 0.2698: then the median
/// absolute deviation falls furthest short.
const STEPS: [f64; 6] = [0.0, 0.27, 0.28, 0.45, 0.46, 0.48];

/// The score with which at most the share of healthy families has a find, two standard errors of the simulation on the safe side and
/// rounded up to two decimals.
fn cut_off(n: usize, step: f64) -> f64 {
    let (families, share) = (FAMILIES as f64, share(n));
    let rank = (1.0 - share) * families + 2.0 * (share * (1.0 - share) * families).sqrt();
    (largest_scores(n, FAMILIES, CUT_OFF_SEED + n as u64, step)[rank as usize] * 100.0).ceil() / 100.0
}

/// The row for the numbers of values from one to another: up to 60 values without steps, which make less there; beyond, where it stands
/// for many, the larger of its ends.
fn row(from: usize, to: usize) -> f64 {
    let steps = if to > 60 { &STEPS[..] } else { &STEPS[..1] };
    let ends = if from == to { vec![from] } else { vec![from, to] };
    let all = ends.iter().flat_map(|n| steps.iter().map(|step| cut_off(*n, *step)));
    all.fold(0.0, f64::max)
}

/// Share of `families` simulated healthy families with a find, and the standard error of that share at 1 in 20.
fn found(n: usize, families: usize, seed: u64, step: f64) -> (f64, f64) {
    let cut_off = modified_z_cut_off(n).expect("a cut-off");
    let scores = largest_scores(n, families, seed, step);
    let over = scores.iter().filter(|score| **score > cut_off).count() as f64;
    (over / families as f64, (0.05 * 0.95 / families as f64).sqrt())
}

#[test]
fn a_healthy_family_has_a_find_as_seldom_as_the_row_says() {
    for n in [8, 9, 12, 14, 15, 21, 30, 60] {
        let (is, error) = found(n, 20_000, 7_000 + n as u64, 0.0);
        assert!(is <= share(n) + 3.0 * error, "{n}: {is}");
        // Nor much more seldom: a cut-off far too high would find nothing.
        assert!(is >= share(n) - 0.004 - 3.0 * error, "{n}: {is}");
    }
}

#[test]
fn readings_in_coarse_steps_find_no_more() {
    // From a step a tenth of the spread to one three times as coarse, where most readings are alike. Without the allowance for scores
    // one family of sixty in five is flagged at half a standard deviation, without that for generalized ESD more than half of them at three.
    for (n, step) in [8, 15, 19, 30, 60].into_iter().flat_map(|n| [0.1, 0.3, 0.5, 1.0, 3.0].map(|step| (n, step))) {
        let (is, error) = found(n, 10_000, 900 + n as u64, step);
        assert!(is <= share(n) + 3.0 * error, "{n} in steps of {step}: {is}");
    }
}

#[test]
fn the_cut_off_of_the_textbook_flags_one_healthy_family_of_eight_in_seven() {
    // Design: "3.5 flags one in seven at n = 8"; here by the simulation itself, so that it is known to see flags.
    let scores = largest_scores(8, 20_000, 4, 0.0);
    let share = scores.iter().filter(|score| **score > 3.5).count() as f64 / 20_000.0;
    assert!((0.12..0.17).contains(&share), "{share}");
}

#[test]
fn the_simulation_scores_as_the_statistic_does() {
    // Odd and even numbers of values, by both ways.
    for n in 8..14 {
        let (mut deviates, mut values) = (Deviates::new(n as u64), vec![0.0; n]);
        healthy(&mut deviates, &mut values, 0.0);
        let scores = modified_z(&values, 3.5).and_then(|of| of.scores).expect("scores");
        let largest = scores.iter().map(|score| score.abs()).fold(0.0, f64::max);
        assert!((Fast::new(n).largest_score(&values, 0.0) - largest).abs() < 1e-12);
    }
}

#[test]
fn the_list_of_cut_offs_is_what_a_family_gets() {
    let mut from = MIN_FAMILY;
    for (to, cut_off) in cut_offs() {
        assert!((from..=to).all(|n| modified_z_cut_off(n) == Some(cut_off)), "{from} to {to}");
        from = to + 1;
    }
    assert_eq!(modified_z_cut_off(from), None);
}

#[test]
fn there_is_no_cut_off_where_nothing_was_simulated() {
    for n in [0, 1, MIN_FAMILY - 1, 1001] {
        assert_eq!(modified_z_cut_off(n), None, "{n}");
    }
}

/// Makes every row anew with the table's own seeds: `cargo test --release --test native -- --ignored the_rows --nocapture`.
#[test]
#[ignore = "110 million families: ten minutes on two cores, and only in a release build"]
fn the_rows_of_the_table_are_what_the_simulation_makes() {
    let rows: Vec<(usize, f64)> = cut_offs().collect();
    let from = |at: usize| at.checked_sub(1).map_or(MIN_FAMILY, |before| rows[before].0 + 1);
    let (next, cores) = (AtomicUsize::new(0), std::thread::available_parallelism().map_or(1, usize::from));
    let work = || {
        let mut made = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some((to, cut_off)) = rows.get(at) else { return made };
            made.push((*to, *cut_off, row(from(at), *to)));
        }
    };
    let made: Vec<_> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..cores).map(|_| scope.spawn(work)).collect();
        workers.into_iter().flat_map(|worker| worker.join().expect("a worker")).collect()
    });
    let wrong: Vec<_> = made.into_iter().filter(|(_, is, of)| is != of).collect();
    assert!(wrong.is_empty(), "last n, in the table, made: {wrong:?}");
}
