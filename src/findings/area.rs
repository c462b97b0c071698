//! Tests side by side: which of a family stand apart from their neighbours.
//!
//! What all tests of a heater have in common, its calibration and fit, cancels where all are made with one. Where several are used it
//! does not: without regard to it up to 99 % of healthy families have a flag, with [`BY_HEATERS`] at most 5 %. That, and the rates by
//! number, display and trips, is simulated in `tests/native/healthy.rs`.

use super::families::{Family, Member};
use super::figure::{Figure, Input, Quantity};
use super::methods;
use crate::book::Id;
use crate::stats::{MIN_ESD, MIN_FAMILY, NORMAL_MAD, median, outliers, t_quantile};
use crate::units::Kelvin;
use std::collections::BTreeMap;

/// Share of healthy families that may have a flag because their heaters differ.
pub const BY_HEATERS: f64 = 0.0025;

/// What comparing a family gave.
#[derive(Clone, Debug, PartialEq)]
pub enum Compared {
    /// Too few detectors to tell an outlier from chance: a plot and no flag.
    TooFew,
    /// More than any cut-off was made for.
    TooMany,
    /// Scored.
    Scored(Scored),
}

/// How a family was scored.
#[derive(Clone, Debug, PartialEq)]
pub struct Scored {
    /// |score| beyond which one stands apart.
    pub cut_off: f64,
    /// What a deviation is divided by, K: the median absolute deviation and the rounding of a reading d/√12, at least half a step
    /// d/2. Readings in steps can make the plain median absolute deviation far too small, and then healthy ones are flagged.
    pub scale: Kelvin,
    /// Median absolute deviation as it is, K; zero where more than half are alike.
    pub mad: Kelvin,
    /// One step of the coarsest display d, K.
    pub step: Kelvin,
    /// Generalized ESD; none below [`MIN_ESD`] detectors or where all are alike.
    pub esd: Option<Esd>,
    /// The deviations beyond which one stands apart by score or generalized ESD.
    pub band: (Kelvin, Kelvin),
}

/// What generalized ESD says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Esd {
    /// How many it names.
    pub named: usize,
    /// The deviations beyond which it names one.
    pub ends: (Kelvin, Kelvin),
}

/// Why a test that stands apart from the rest is not flagged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Within {
    /// It does so by no more than its own uncertainty, which counts among few detectors, among estimates, and where nobody knows how far
    /// the heaters may be off.
    Itself,
    /// It does so by no more than heaters may differ.
    Heaters,
}

impl Within {
    /// What is said of it, after by how much it reads unlike the rest.
    pub fn words(self) -> &'static str {
        match self {
            Within::Itself => "within its own uncertainty: retest with readings",
            Within::Heaters => "within what the heaters may differ by: retest with another heater",
        }
    }
}

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

/// How far the tests of each heater may lie from the rest, whose detectors scatter by `sd`, because heaters differ; none where nobody knows.
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

impl Family {
    /// The score of a member, to be opened; none where the family is not scored.
    pub fn score(&self, member: &Member) -> Option<Figure> {
        let Compared::Scored(scored) = &self.compared else { return None };
        let difference = |name, value: Kelvin| Input::new(name, value.0, Quantity::Difference);
        let mut inputs = vec![
            difference("deviation from the rating x", member.deviation),
            difference("median of the family", self.median),
            difference("median absolute deviation MAD", scored.mad),
            difference("step of the display d", scored.step),
            difference("expanded uncertainty U", member.expanded),
            Input::new("cut-off", scored.cut_off, Quantity::Number),
            Input::new("detectors in the family n", self.detectors as f64, Quantity::Count),
        ];
        if let Some(esd) = &scored.esd {
            inputs.push(difference("generalized ESD names those below", esd.ends.0));
            inputs.push(difference("generalized ESD names those above", esd.ends.1));
        }
        let heaters = member.heaters.filter(|heaters| *heaters > Kelvin(0.0));
        inputs.extend(heaters.map(|heaters| difference("what the heaters may differ by U(heaters)", heaters)));
        Some(Figure { method: &methods::SCORE, value: member.score?, u: None, quantity: Quantity::Number, inputs })
    }

    /// Where neither score nor generalized ESD finds one; none where the family is not scored.
    pub fn band(&self) -> Option<(Kelvin, Kelvin)> {
        let Compared::Scored(scored) = &self.compared else { return None };
        Some(scored.band)
    }

    /// The members that are flagged.
    pub fn flagged(&self) -> impl Iterator<Item = &Member> {
        self.members.iter().filter(|member| member.flagged)
    }

    /// The members that stand apart and are not flagged, with why.
    pub fn unlike(&self) -> impl Iterator<Item = (&Member, Within)> {
        self.members.iter().filter_map(|member| Some((member, member.within?)))
    }

    /// How far a member lies from the median.
    pub fn apart(&self, member: &Member) -> Kelvin {
        (member.deviation - self.median).abs()
    }
}
