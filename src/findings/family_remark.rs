//! Shifts of a whole family, of one heater in it, or with ambient temperature. They never excuse a detector.
//!
//! In a healthy family each remark comes at most 1 time in 20, by simulation (numpy 2.4.6, 20,000 families each of 8, 9, 12, 20 and 40
//! tests; detectors 0.1 to 1 K apart, steps of 0.1 to 1 K, one to three heaters with errors as large as their uncertainties say): all
//! shifted 0.0 to 5.0 %, a heater apart 0.7 to 5.4 %, with ambient temperature 2.8 to 5.4 % (each ± 0.3 %). Without the heater's parts in
//! the difference a heater stood apart in 6 to 53 %; where they are not known nothing is said of a heater or of all, because healthy heaters
//! then made 8 to 46 %.

use super::family::{Compared, Family, FamilyRemark, Member, Scored};
use super::figure::{COVERAGE, Figure, Input, Quantity};
use super::methods;
use super::trip::rounding;
use crate::book::Id;
use crate::order;
use crate::stats::{Component, NORMAL_MAD, NORMAL_MEAN_AD, line, mean_sd, t_quantile, welch_satterthwaite};
use crate::units::Kelvin;

/// The fewest tests of a heater that can be held against those of the others.
pub const LEAST_OF_A_HEATER: usize = 3;

/// Share of the n − 1 degrees of freedom of a standard deviation that one from the median absolute deviation has: it uses less of
/// what the values say. The project's own figure: with all of them one healthy family of nine in twelve was remarked, with these at
/// most one in twenty.
const OF_MAD: f64 = 0.5;

pub(super) fn remarks(family: &Family) -> Vec<FamilyRemark> {
    let Compared::Scored(scored) = &family.compared else { return Vec::new() };
    // An outlier would pull a mean or a line towards itself.
    let plain: Vec<&Member> = family.members.iter().filter(|member| !member.flagged).collect();
    let mut remarks = Vec::new();
    remarks.extend(all_shifted(family, scored).map(FamilyRemark::AllShifted));
    remarks.extend(heaters_apart(&plain));
    remarks.extend(with_ambient(&plain).map(FamilyRemark::WithAmbient));
    remarks
}

fn all_shifted(family: &Family, scored: &Scored) -> Option<Figure> {
    let n = family.members.len() as f64;
    let sd = scored.scale.0 / NORMAL_MAD;
    // As with the mean of trips, the rounding of detectors that are all alike is the same for all, and no number of them removes it.
    let own = (NORMAL_MEAN_AD * sd / n.sqrt()).max(rounding(scored.step).0);
    let shared = shared(family.members.iter())?;
    let parts = [
        Component { sensitivity: 1.0, u: own, df: Some(OF_MAD * (n - 1.0)) },
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
            Input::new("tests in the family n", n, Quantity::Count),
            Input::new("spread of the family σ", sd, Quantity::Difference),
            Input::new("step of the display d", scored.step.0, Quantity::Difference),
            Input::new("common to the trips of a test u(sys), the largest of its tests", shared, Quantity::Difference),
            Input::new("U", expanded, Quantity::Difference),
        ],
    })
}

/// The largest calibration and fit of the heaters of these tests, K; none where one is not known.
fn shared<'a>(mut members: impl Iterator<Item = &'a Member>) -> Option<f64> {
    members.try_fold(0.0, |most: f64, member| Some(most.max(member.shared?.0)))
}

fn heaters_apart(plain: &[&Member]) -> Vec<FamilyRemark> {
    let heaters: Vec<Id> = order::set(plain.iter().map(|member| member.heater())).into_iter().collect();
    // Two heaters differ from each other by the same amount: one remark is enough.
    let compared = if heaters.len() == 2 { &heaters[..1] } else { &heaters[..] };
    // As many chances of a false remark as heaters share the one in twenty (Bonferroni).
    let confidence = 1.0 - (1.0 - COVERAGE) / compared.len().max(1) as f64;
    let mut remarks = Vec::new();
    for heater in compared {
        let (own, others): (Vec<&Member>, Vec<&Member>) = plain.iter().partition(|member| member.heater() == *heater);
        let name = own.first().map_or(String::new(), |member| member.frozen.heater.name.name.clone());
        remarks.extend(
            apart(&own, &others, &heaters, confidence).map(|by| FamilyRemark::HeaterApart { heater: name, by }),
        );
    }
    remarks
}

fn apart(own: &[&Member], others: &[&Member], heaters: &[Id], confidence: f64) -> Option<Figure> {
    if own.len() < LEAST_OF_A_HEATER || others.len() < LEAST_OF_A_HEATER {
        return None;
    }
    let deviations = |of: &[&Member]| of.iter().map(|member| member.deviation.0).collect::<Vec<f64>>();
    let (this, rest) = (mean_sd(&deviations(own))?, mean_sd(&deviations(others))?);
    let (a, b) = (this.n as f64, rest.n as f64);
    let squares = (a - 1.0) * this.sd?.powi(2) + (b - 1.0) * rest.sd?.powi(2);
    let step = own.iter().chain(others).map(|member| member.step.0).fold(0.0, f64::max);
    let sd = (squares / (a + b - 2.0)).sqrt().max(rounding(Kelvin(step)).0);
    let random = sd * (1.0 / a + 1.0 / b).sqrt();
    // Each heater brings its own calibration and fit; of the others' as much as it has a share in their mean.
    let mut of_heaters = shared(own.iter().copied())?.powi(2);
    for heater in heaters {
        let tests = || others.iter().copied().filter(|member| member.heater() == *heater);
        of_heaters += (shared(tests())? * tests().count() as f64 / b).powi(2);
    }
    let of_heaters = of_heaters.sqrt();
    let parts = [
        Component { sensitivity: 1.0, u: random, df: Some(a + b - 2.0) },
        Component { sensitivity: 1.0, u: of_heaters, df: None },
    ];
    let combined = welch_satterthwaite(&parts)?;
    let expanded = combined.expand(confidence)?.expanded;
    let by = this.mean - rest.mean;
    (by.abs() > expanded).then(|| Figure {
        method: &methods::HEATER_APART,
        value: by,
        u: Some(combined.u),
        quantity: Quantity::Difference,
        inputs: vec![
            Input::new("mean with this heater", this.mean, Quantity::Difference),
            Input::new("mean with the others", rest.mean, Quantity::Difference),
            Input::new("tests with this heater a", a, Quantity::Count),
            Input::new("tests with the others b", b, Quantity::Count),
            Input::new("pooled standard deviation s", sd, Quantity::Difference),
            Input::new("calibration and fit of the heaters u(heaters)", of_heaters, Quantity::Difference),
            Input::new("U", expanded, Quantity::Difference),
        ],
    })
}

fn with_ambient(plain: &[&Member]) -> Option<Figure> {
    let known = plain.iter().filter_map(|member| Some((member.frozen.ambient?.celsius().0, member.deviation.0)));
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
            Input::new("t(95%)", t, Quantity::Number),
            Input::new("tests with an ambient temperature", ambient.len() as f64, Quantity::Count),
        ],
    })
}
