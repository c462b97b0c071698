//! Tests side by side: which of a family stand apart from their neighbours.
//!
//! What all tests of a heater have in common, its calibration and fit, cancels where all are made with one. Where several are used it
//! does not: without regard to it up to 99 % of healthy families have a flag, with [`BY_HEATERS`] at most 5 %. That, and the rates by
//! number, display and trips, is simulated in `tests/native/healthy.rs`.

use super::family::{Compared, Esd, Family, Member, Scored, Within};
use crate::book::Id;
use crate::stats::{MIN_ESD, MIN_FAMILY, NORMAL_MAD, median, outliers, t_quantile};
use crate::units::Kelvin;
use std::collections::BTreeMap;

/// Share of healthy families that may have a flag because their heaters differ.
pub const BY_HEATERS: f64 = 0.0025;

/// Compares the members of a family and flags those that stand apart.
pub(super) fn compare(family: &mut Family) {
    let deviations = by_detector(&family.members);
    let Some(middle) = median(&deviations) else { return };
    family.median = Kelvin(middle);
    if family.detectors < MIN_FAMILY {
        return;
    }
    let step = Kelvin(family.members.iter().map(|member| member.step.0).fold(0.0, f64::max));
    let Some(of) = outliers(&deviations, step.0) else {
        family.compared = Compared::TooMany;
        return;
    };
    let heaters = heaters(&family.members, of.scale / NORMAL_MAD);
    let few = family.detectors < MIN_ESD || family.estimated;
    for member in &mut family.members {
        let score = of.score(member.deviation.0);
        member.score = score.is_finite().then_some(score);
        member.esd = of.names(member.deviation.0);
        member.heaters = heaters.get(&member.heater()).copied().flatten();
        let apart = (member.deviation.0 - of.median).abs();
        let own = few || member.heaters.is_none();
        let within = if own && apart <= member.expanded.0 {
            Some(Within::Itself)
        } else {
            member.heaters.filter(|heaters| apart <= heaters.0).map(|_| Within::Heaters)
        };
        let found = of.finds(member.deviation.0);
        member.flagged = found && within.is_none();
        member.within = within.filter(|_| found);
    }
    let kelvin = |(low, high)| (Kelvin(low), Kelvin(high));
    let named = family.members.iter().filter(|member| member.esd).count();
    family.compared = Compared::Scored(Scored {
        cut_off: of.cut_off,
        scale: Kelvin(of.scale),
        mad: Kelvin(of.mad),
        step,
        esd: of.esd.map(|ends| Esd { named, ends: kelvin(ends) }),
        band: kelvin(of.ends()),
    });
}

/// The mean deviation of each detector, lowest first: repeats say nothing new of how detectors scatter.
fn by_detector(members: &[Member]) -> Vec<f64> {
    let mut of: BTreeMap<Id, (f64, f64)> = BTreeMap::new();
    for member in members {
        let (sum, tests) = of.entry(member.position).or_default();
        *sum += member.deviation.0;
        *tests += 1.0;
    }
    let mut means: Vec<f64> = of.into_values().map(|(sum, tests)| sum / tests).collect();
    means.sort_by(f64::total_cmp);
    means
}

/// How far the tests of each heater may lie from the rest, whose detectors scatter by `sd`, because heaters differ; none if unknown.
/// One that has two thirds of the tests holds the median, so that those of the others deviate from it.
fn heaters(members: &[Member], sd: f64) -> BTreeMap<Id, Option<Kelvin>> {
    let mut of: BTreeMap<Id, (usize, Option<f64>)> = BTreeMap::new();
    for member in members {
        let (tests, u) = of.entry(member.heater()).or_insert((0, Some(0.0)));
        *tests += 1;
        *u = u.zip(member.shared).map(|(most, u)| most.max(u.0));
    }
    // Each further heater is a chance more to differ (Bonferroni).
    let k = t_quantile(1.0 - BY_HEATERS / of.len().saturating_sub(1).max(1) as f64, None);
    let may = |heater: &Id, tests: usize, u: Option<f64>| {
        if 3 * tests >= 2 * members.len() {
            return Some(Kelvin(0.0));
        }
        let mut others = of.iter().filter(|(other, _)| *other != heater).map(|(_, (_, u))| *u);
        let most = others.try_fold(0.0, |most: f64, u| u.map(|u| most.max(u)))?;
        Some(Kelvin(k? * u?.hypot(most).hypot(sd)))
    };
    of.iter().map(|(heater, (tests, u))| (*heater, may(heater, *tests, *u))).collect()
}
