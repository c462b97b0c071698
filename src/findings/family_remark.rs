//! Shifts of a whole family, of one head in it, or with ambient temperature. They never excuse a detector.

use super::area::Compared;
use super::families::{Family, Member};
use super::figure::{Figure, Input, Quantity};
use super::methods;
use super::operating::COVERAGE;
use crate::book::Id;
use crate::order;
use crate::stats::{Component, NORMAL_MAD, NORMAL_MEAN_AD, line, mean_sd, t_quantile, welch_satterthwaite};
use crate::units::Kelvin;
use std::fmt;

/// The fewest runs of a head that can be held against those of the others.
pub const LEAST_OF_A_HEAD: usize = 3;

/// Something common to many of a family. The figure opens it.
#[derive(Clone, Debug, PartialEq)]
pub enum FamilyRemark {
    /// The median of all deviates from the rating by more than its uncertainty.
    AllShifted(Figure),
    /// The runs of one head deviate from those of the others.
    HeadApart {
        /// The head's name.
        head: String,
        /// By how much.
        by: Figure,
    },
    /// The deviation goes with ambient temperature.
    WithAmbient(Figure),
}

impl FamilyRemark {
    /// The number it rests on.
    pub fn figure(&self) -> &Figure {
        match self {
            FamilyRemark::AllShifted(figure) | FamilyRemark::WithAmbient(figure) => figure,
            FamilyRemark::HeadApart { by, .. } => by,
        }
    }
}

impl fmt::Display for FamilyRemark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FamilyRemark::AllShifted(_) => f.write_str(
                "the whole family is shifted from its rating: detectors or head? Run two of these with the other head. It excuses no \
                 detector",
            ),
            FamilyRemark::HeadApart { head, .. } => write!(
                f,
                "the runs with {head} stand apart from those with other heads: head or detectors? Run two of these with the other head. It \
                 excuses no detector"
            ),
            FamilyRemark::WithAmbient(_) => f.write_str(
                "the deviation goes with the ambient temperature: air or detectors? Run two of these again at another ambient temperature. \
                 It excuses no detector",
            ),
        }
    }
}

pub(super) fn remarks(family: &Family) -> Vec<FamilyRemark> {
    let Compared::Scored(scored) = &family.compared else { return Vec::new() };
    // What stands apart by itself would draw a mean or a line to it.
    let plain: Vec<&Member> = family.members.iter().filter(|member| !member.flagged).collect();
    let mut remarks = Vec::new();
    remarks.extend(all_shifted(family, scored.scale).map(FamilyRemark::AllShifted));
    remarks.extend(heads_apart(&plain));
    remarks.extend(with_ambient(&plain).map(FamilyRemark::WithAmbient));
    remarks
}

fn all_shifted(family: &Family, scale: Kelvin) -> Option<Figure> {
    let n = family.members.len() as f64;
    let sd = scale.0 / NORMAL_MAD;
    let own = NORMAL_MEAN_AD * sd / n.sqrt();
    let shared = family.members.iter().map(|member| member.shared.0).fold(0.0, f64::max);
    let parts = [
        Component { sensitivity: 1.0, u: own, df: Some(n - 1.0) },
        Component { sensitivity: 1.0, u: shared, df: None },
    ];
    let combined = welch_satterthwaite(&parts)?;
    let expanded = combined.expand(COVERAGE)?.expanded;
    (family.median.0.abs() > expanded).then(|| Figure {
        method: &methods::ALL_SHIFTED,
        value: family.median.0,
        u: Some(combined.u),
        quantity: Quantity::Difference,
        inputs: vec![
            Input::new("runs in the family n", n, Quantity::Count),
            Input::new("spread of the family σ", sd, Quantity::Difference),
            Input::new("calibration and coupling, the largest of its heads", shared, Quantity::Difference),
            Input::new("U", expanded, Quantity::Difference),
        ],
    })
}

fn heads_apart(plain: &[&Member]) -> Vec<FamilyRemark> {
    let heads: Vec<Id> = order::set(plain.iter().map(|member| member.head)).into_iter().collect();
    // Of two heads each stands apart from the other by the same: one remark is enough.
    let compared = if heads.len() == 2 { &heads[..1] } else { &heads[..] };
    let mut remarks = Vec::new();
    for head in compared {
        let (mut own, mut others, mut name) = (Vec::new(), Vec::new(), "");
        for member in plain {
            if member.head == *head {
                own.push(member.deviation.0);
                name = &member.head_name;
            } else {
                others.push(member.deviation.0);
            }
        }
        // As many chances of a false remark as heads share the one in twenty (Bonferroni).
        let confidence = 1.0 - (1.0 - COVERAGE) / compared.len().max(1) as f64;
        remarks
            .extend(apart(&own, &others, confidence).map(|by| FamilyRemark::HeadApart { head: name.to_string(), by }));
    }
    remarks
}

fn apart(own: &[f64], others: &[f64], confidence: f64) -> Option<Figure> {
    if own.len() < LEAST_OF_A_HEAD || others.len() < LEAST_OF_A_HEAD {
        return None;
    }
    let (own, others) = (mean_sd(own)?, mean_sd(others)?);
    let (a, b) = (own.n as f64, others.n as f64);
    let squares = (a - 1.0) * own.sd?.powi(2) + (b - 1.0) * others.sd?.powi(2);
    let sd = (squares / (a + b - 2.0)).sqrt();
    let u = sd * (1.0 / a + 1.0 / b).sqrt();
    let by = own.mean - others.mean;
    let expanded = t_quantile(confidence, Some(a + b - 2.0))? * u;
    (by.abs() > expanded).then(|| Figure {
        method: &methods::HEAD_APART,
        value: by,
        u: Some(u),
        quantity: Quantity::Difference,
        inputs: vec![
            Input::new("mean with this head", own.mean, Quantity::Difference),
            Input::new("mean with the others", others.mean, Quantity::Difference),
            Input::new("runs with this head a", a, Quantity::Count),
            Input::new("runs with the others b", b, Quantity::Count),
            Input::new("pooled standard deviation s", sd, Quantity::Difference),
            Input::new("t · u", expanded, Quantity::Difference),
        ],
    })
}

fn with_ambient(plain: &[&Member]) -> Option<Figure> {
    let known = plain.iter().filter_map(|member| Some((member.ambient?.0, member.deviation.0)));
    let (ambient, deviations): (Vec<f64>, Vec<f64>) = known.unzip();
    if ambient.len() < crate::stats::MIN_FAMILY {
        return None;
    }
    let line = line(&ambient, &deviations)?;
    let u = line.se_slope()?;
    let t = t_quantile(COVERAGE, Some(line.df as f64))?;
    (line.slope.abs() > t * u).then(|| Figure {
        method: &methods::WITH_AMBIENT,
        value: line.slope,
        u: None,
        quantity: Quantity::Number,
        inputs: vec![
            Input::new("u(b)", u, Quantity::Number),
            Input::new("t(95 %)", t, Quantity::Number),
            Input::new("runs with an ambient temperature", ambient.len() as f64, Quantity::Count),
        ],
    })
}
