//! Tests side by side: which of a family stand apart from their neighbours.

use super::families::{Family, Member};
use super::figure::{Figure, Input, Quantity};
use super::methods;
use super::trip::rounding;
use crate::stats::{MIN_FAMILY, NORMAL_MAD, gesd, modified_z, modified_z_cut_off};
use crate::units::Kelvin;

/// From this many values generalized ESD stands beside the scores: below, its critical values are not good enough.
/// Source: NIST/SEMATECH e-Handbook 1.3.5.17.3.
pub const MIN_ESD: usize = 15;

/// Share of healthy families in which generalized ESD may name one.
pub const ALPHA: f64 = 0.05;

/// What comparing a family gave.
#[derive(Clone, Debug, PartialEq)]
pub enum Compared {
    /// Too few detectors to tell an flagged one from chance: a plot and no flag.
    TooFew,
    /// More than any cut-off was made for.
    TooMany,
    /// Scored.
    Scored(Scored),
}

/// How a family was scored.
#[derive(Clone, Debug, PartialEq)]
pub struct Scored {
    /// |score| beyond which one is flagged, where its uncertainty allows it.
    pub cut_off: f64,
    /// What a deviation is divided by, K: the median absolute deviation and the rounding of a reading d/√12, at least half a step
    /// d/2. Readings in steps can make the plain median absolute deviation far too small, and then healthy ones are flagged.
    pub scale: Kelvin,
    /// Median absolute deviation as it is, K; zero where more than half are alike.
    pub mad: Kelvin,
    /// One step of the coarsest display d, K.
    pub step: Kelvin,
    /// How many generalized ESD names; none below [`MIN_ESD`] or where all are alike.
    pub esd: Option<usize>,
}

/// Scores the members of a family and flags those that stand apart.
pub(super) fn compare(family: &mut Family) {
    let deviations: Vec<f64> = family.members.iter().map(|member| member.deviation.0).collect();
    let n = deviations.len();
    let cut_off = modified_z_cut_off(n).filter(|_| family.detectors >= MIN_FAMILY);
    let Some(of) = modified_z(&deviations, cut_off.unwrap_or(f64::INFINITY)) else { return };
    family.median = Kelvin(of.median);
    let Some(cut_off) = cut_off else {
        family.compared = if family.detectors < MIN_FAMILY { Compared::TooFew } else { Compared::TooMany };
        return;
    };
    let step = Kelvin(family.members.iter().map(|member| member.step.0).fold(0.0, f64::max));
    let scale = (of.mad + rounding(step).0).max(step.0 / 2.0);
    let esd = if n >= MIN_ESD { gesd(&deviations, n / 5, ALPHA).filter(|esd| !esd.steps.is_empty()) } else { None };
    for (index, member) in family.members.iter_mut().enumerate() {
        let apart = member.deviation.0 - of.median;
        let score = NORMAL_MAD * apart / scale;
        member.score = score.is_finite().then_some(score);
        member.flagged = score.abs() > cut_off && apart.abs() > member.expanded.0;
        member.esd = esd.as_ref().is_some_and(|esd| esd.outlier_indices().any(|at| at == index));
    }
    family.compared = Compared::Scored(Scored {
        cut_off,
        scale: Kelvin(scale),
        mad: Kelvin(of.mad),
        step,
        esd: esd.map(|esd| esd.outliers),
    });
}

impl Family {
    /// The score of a member, to be opened; none where the family is not scored.
    pub fn score(&self, member: &Member) -> Option<Figure> {
        let Compared::Scored(scored) = &self.compared else { return None };
        Some(Figure {
            method: &methods::SCORE,
            value: member.score?,
            u: None,
            quantity: Quantity::Number,
            inputs: vec![
                Input::new("deviation from the rating x", member.deviation.0, Quantity::Difference),
                Input::new("median of the family", self.median.0, Quantity::Difference),
                Input::new("median absolute deviation MAD", scored.mad.0, Quantity::Difference),
                Input::new("step of the display d", scored.step.0, Quantity::Difference),
                Input::new("expanded uncertainty U", member.expanded.0, Quantity::Difference),
                Input::new("cut-off", scored.cut_off, Quantity::Number),
                Input::new("tests in the family n", self.members.len() as f64, Quantity::Count),
            ],
        })
    }

    /// Where the cut-off lies on both sides of the median; none where the family is not scored.
    pub fn band(&self) -> Option<(Kelvin, Kelvin)> {
        let Compared::Scored(scored) = &self.compared else { return None };
        let half = scored.scale * (scored.cut_off / NORMAL_MAD);
        Some((self.median - half, self.median + half))
    }

    /// The members that are flagged.
    pub fn flagged(&self) -> impl Iterator<Item = &Member> {
        self.members.iter().filter(|member| member.flagged)
    }
}
