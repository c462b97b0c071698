//! How often a healthy family has a flag, and how often an outlier is found, by simulated families.
//!
//! Detectors scatter by 1; everything else is in that unit. Each is tested with a heater, whose error all its tests share, for some trips
//! that scatter too; every reading is rounded to a step of the display. Some detectors are tested twice.

use crate::cut_off::{Deviates, Fast};
use crate::sample::{Phone, id, read, started};
use soakbook::book::body::Ending;
use soakbook::findings::BY_HEATERS;
use soakbook::stats::{MIN_ESD, modified_z_cut_off, outliers, t_quantile};
use soakbook::units::{Degree, Kelvin};

/// One test of a family.
#[derive(Clone, Debug)]
struct Tested {
    value: f64,
    heater: usize,
    detector: usize,
}

/// What a family is made of.
#[derive(Clone, Debug)]
struct Condition {
    detectors: usize,
    /// So many of them are tested twice.
    twice: usize,
    /// Step of the display.
    step: f64,
    /// Counted trips of a test, and their scatter.
    trips: (usize, f64),
    /// Tests with every heater but the first.
    others: Vec<usize>,
    /// Standard uncertainty of a heater.
    of_heaters: f64,
    /// How far the first detector is off; 0 in a healthy family.
    off: f64,
}

impl Condition {
    fn plain(detectors: usize, step: f64) -> Condition {
        Condition { detectors, twice: 0, step, trips: (1, 0.0), others: Vec::new(), of_heaters: 0.0, off: 0.0 }
    }

    fn tests(&self) -> usize {
        self.detectors + self.twice
    }

    /// Draws a family, lowest value first.
    fn draw(&self, deviates: &mut Deviates) -> Vec<Tested> {
        let start = deviates.uniform();
        let own: Vec<f64> = (0..self.detectors).map(|_| deviates.normal()).collect();
        let heaters: Vec<f64> = (0..=self.others.len()).map(|_| self.of_heaters * deviates.normal()).collect();
        // The last tests are those with the other heaters.
        let heater = |test: usize| {
            let mut from = self.tests();
            let of = self.others.iter().position(|tests| {
                from -= tests;
                test >= from
            });
            of.map_or(0, |of| of + 1)
        };
        let (trips, scatter) = self.trips;
        let mut tests: Vec<_> = (0..self.tests())
            .map(|test| {
                let (detector, heater) = (test % self.detectors, heater(test));
                let truth = if detector == 0 && self.off != 0.0 { self.off } else { own[detector] };
                let mut reading = || {
                    let value = truth + heaters[heater] + scatter * deviates.normal();
                    if self.step > 0.0 { (value / self.step + start).round() * self.step } else { value }
                };
                Tested { value: (0..trips).map(|_| reading()).sum::<f64>() / trips as f64, heater, detector }
            })
            .collect();
        tests.sort_unstable_by(|a, b| a.value.total_cmp(&b.value));
        tests
    }

    /// How far a test with each heater may lie from the rest, whose detectors scatter by `sd`.
    fn margin(&self, heater: usize, k: f64, sd: f64) -> f64 {
        let tests = match heater {
            0 => self.tests() - self.others.iter().sum::<usize>(),
            heater => self.others[heater - 1],
        };
        if 3 * tests >= 2 * self.tests() { 0.0 } else { k * (2.0 * self.of_heaters.powi(2) + sd * sd).sqrt() }
    }

    /// No less than this is the expanded uncertainty of a test.
    fn own(&self) -> f64 {
        let (trips, scatter) = self.trips;
        let random = (self.step / 12.0_f64.sqrt()).max(scatter / (trips as f64).sqrt());
        1.96 * random.hypot(self.of_heaters)
    }
}

/// The rule with what costs much done once for a condition.
struct Rule<'a> {
    of: &'a Condition,
    fast: Fast,
    cut_off: f64,
    k: f64,
    /// Its own uncertainty, where that counts.
    least: f64,
    means: Vec<f64>,
}

impl Rule<'_> {
    fn of(of: &Condition) -> Rule<'_> {
        Rule {
            of,
            fast: Fast::new(of.detectors),
            cut_off: modified_z_cut_off(of.detectors).expect("a cut-off"),
            k: t_quantile(1.0 - BY_HEATERS / of.others.len().max(1) as f64, None).expect("a quantile"),
            least: if of.detectors < MIN_ESD { of.own() } else { 0.0 },
            means: Vec::new(),
        }
    }

    /// The places of the flagged.
    fn flagged(&mut self, family: &[Tested]) -> Vec<usize> {
        self.means.clear();
        if self.of.twice == 0 {
            self.means.extend(family.iter().map(|test| test.value));
        } else {
            let mut sums = vec![(0.0, 0.0); self.of.detectors];
            for test in family {
                sums[test.detector].0 += test.value;
                sums[test.detector].1 += 1.0;
            }
            self.means.extend(sums.into_iter().map(|(sum, tests)| sum / tests));
            self.means.sort_unstable_by(f64::total_cmp);
        }
        let (scale, median) = self.fast.scale(&self.means, self.of.step);
        let ends = self.fast.ends(&self.means, self.of.step);
        let flagged = |place: &usize| {
            let test = &family[*place];
            let apart = (test.value - median).abs();
            let named = ends.is_some_and(|(low, high)| test.value < low || test.value > high);
            let margin = self.of.margin(test.heater, self.k, scale / 0.6745).max(self.least);
            (named || 0.6745 * apart > self.cut_off * scale) && apart > margin
        };
        (0..family.len()).filter(flagged).collect()
    }
}

/// Share of `families` with a flag, or with the first detector flagged where it is off.
fn flagged(condition: &Condition, families: usize, seed: u64) -> f64 {
    let (mut deviates, mut rule) = (Deviates::new(seed), Rule::of(condition));
    let hits = (0..families).filter(|_| {
        let family = condition.draw(&mut deviates);
        rule.flagged(&family).into_iter().any(|place| condition.off == 0.0 || family[place].detector == 0)
    });
    hits.count() as f64 / families as f64
}

/// Every condition of the grid for so many detectors.
fn grid(detectors: usize) -> Vec<Condition> {
    let mut all = Vec::new();
    for step in [0.0, 0.05, 0.1, 0.3, 0.45, 0.5, 0.7, 1.0, 1.25, 2.0, 3.0, 5.0, 10.0] {
        let plain = Condition::plain(detectors, step);
        for trips in [(1, 0.0), (2, 0.5), (4, 0.2), (4, 1.0)] {
            all.push(Condition { trips, ..plain.clone() });
        }
        // A detector tested twice has two chances to be off its mean. Where all are, that makes up to 5.8 % with a display without steps,
        // which there is none of.
        let twice = [1, 3, detectors].into_iter().filter(|twice| step > 0.0 || *twice < detectors);
        all.extend(twice.map(|twice| Condition { twice, trips: (4, 0.2), ..plain.clone() }));
    }
    let (third, fifth) = (detectors / 3, detectors / 5);
    let others = [
        vec![1],
        vec![3],
        vec![third],
        vec![third + 1],
        vec![detectors / 2],
        vec![third, third],
        vec![1, 1],
        vec![1, 1, 1, 1],
        vec![fifth; 4],
    ];
    for others in others {
        for step in [0.0, 0.3, 1.0, 3.0] {
            for of_heaters in [0.3, 0.6, 1.0, 1.4, 2.0, 4.0, 10.0] {
                all.push(Condition { others: others.clone(), of_heaters, ..Condition::plain(detectors, step) });
            }
        }
    }
    all
}

/// Three standard errors above 1 in 20.
fn at_most(families: usize) -> f64 {
    0.05 + 3.0 * (0.05 * 0.95 / families as f64).sqrt()
}

#[test]
fn at_most_one_healthy_family_in_twenty_is_flagged() {
    // What makes most flags in the grid.
    let heaters = |detectors, others: &[usize], of_heaters, step| Condition {
        others: others.to_vec(),
        of_heaters,
        ..Condition::plain(detectors, step)
    };
    let conditions = [
        Condition { trips: (4, 0.2), twice: 3, ..Condition::plain(15, 0.1) },
        Condition { twice: 15, trips: (4, 0.2), ..Condition::plain(15, 0.3) },
        Condition::plain(15, 0.05),
        Condition::plain(40, 3.0),
        heaters(8, &[3], 10.0, 0.3),
        heaters(15, &[3], 1.4, 0.0),
        heaters(20, &[10], 10.0, 0.3),
        heaters(40, &[1, 1], 1.0, 0.3),
    ];
    for (condition, seed) in conditions.iter().zip(31..) {
        let share = flagged(condition, 4_000, seed);
        assert!(share <= at_most(4_000), "{condition:?}: {share}");
    }
}

#[test]
fn the_simulation_finds_what_the_statistics_find() {
    // With an outlier, so that there is something to find; a step that is no multiple of a power of two, so that nothing lies on an edge.
    for (detectors, step, seed) in [(8, 0.0, 1), (15, 0.0, 2), (16, 0.7, 3), (21, 1.3, 4), (40, 3.1, 5)] {
        let condition = Condition { off: 5.0, trips: (4, 0.2), ..Condition::plain(detectors, step) };
        let (mut deviates, mut rule) = (Deviates::new(seed), Rule::of(&condition));
        rule.least = 0.0;
        for _ in 0..40 {
            let family = condition.draw(&mut deviates);
            let values: Vec<f64> = family.iter().map(|test| test.value).collect();
            let of = outliers(&values, step).expect("a comparison");
            let found = |place: &usize| of.finds(values[*place]);
            let all: Vec<usize> = (0..values.len()).filter(found).collect();
            assert_eq!(rule.flagged(&family), all, "{condition:?}: {values:?}");
            let (low, high) = of.ends();
            let beyond = |place: &usize| values[*place] < low || values[*place] > high;
            assert_eq!((0..values.len()).filter(beyond).collect::<Vec<_>>(), all, "{low} to {high}: {values:?}");
        }
    }
}

#[test]
fn the_simulation_flags_as_the_findings_do() {
    // Each heater of the sample is known to √(0.3² + 0.4²) = 0.5 K; here detectors scatter by 0.4 K, and the display shows tenths.
    let unit = 0.4;
    let of_heaters = 0.5 / unit;
    let conditions = [
        Condition { off: 4.5, ..Condition::plain(15, 0.1 / unit) },
        Condition { others: vec![4], of_heaters, off: 5.5, ..Condition::plain(16, 0.1 / unit) },
        Condition { others: vec![7], of_heaters, off: 6.0, ..Condition::plain(16, 0.1 / unit) },
    ];
    for condition in conditions {
        let (mut deviates, mut rule) = (Deviates::new(77), Rule::of(&condition));
        for _ in 0..4 {
            let family = condition.draw(&mut deviates);
            let mut phone = Phone::new();
            for (test, Tested { value, heater, .. }) in (1..).zip(&family) {
                let mut start = started(test);
                start.heater.of = id(40 + *heater as u128);
                let text = Kelvin(88.0 + unit * value).text(Degree::C, 1);
                phone.test(start, &read(&["80.0", &text, &text, &text, &text]), Ending::Done);
            }
            let found = phone.visit().families.remove(0);
            let mut flags: Vec<_> = found.flagged().map(|member| member.test).collect();
            flags.sort_unstable();
            let expected: Vec<_> = rule.flagged(&family).into_iter().map(|place| id(place as u128 + 1)).collect();
            assert_eq!(flags, expected, "{condition:?}: {family:?}");
        }
    }
}

/// Prints the highest shares and the power: `cargo test --release --test native -- --ignored healthy_families --nocapture`.
#[test]
#[ignore = "prints figures, and takes minutes in a release build"]
fn healthy_families_over_the_whole_grid() {
    const FAMILIES: usize = 40_000;
    let mut above = 0;
    for detectors in [8, 9, 12, 14, 15, 16, 20, 30, 40, 60, 61, 100, 101, 250, 400, 501, 1000] {
        let mut shares: Vec<(f64, Condition)> = Vec::new();
        // Shares of large families are as large with fewer of them.
        let families = FAMILIES.min(4_000_000 / detectors);
        for (condition, seed) in grid(detectors).into_iter().zip(1_000..) {
            shares.push((flagged(&condition, families, seed), condition));
        }
        shares.sort_by(|a, b| b.0.total_cmp(&a.0));
        above += shares.iter().filter(|(share, _)| *share > at_most(families)).count();
        println!("{detectors} detectors, {} conditions of {families} families", shares.len());
        shares.iter().take(4).for_each(|(share, condition)| println!("  {:.2} % {condition:?}", 100.0 * share));
    }
    assert_eq!(above, 0, "conditions beyond 1 in 20 by three standard errors");
}

/// Prints how often a detector that is off is flagged: spread 0.8 °F, a display in whole °F, four counted trips.
#[test]
#[ignore = "prints figures"]
fn an_outlier_is_found() {
    for detectors in [8, 14, 15, 20, 40, 100] {
        for off in [4.0, 5.0, 6.0] {
            let condition = Condition { trips: (4, 0.2), off, ..Condition::plain(detectors, 1.0 / 0.8) };
            println!("{detectors} detectors, {off} off: {:.1} %", 100.0 * flagged(&condition, 20_000, 5));
        }
    }
}
