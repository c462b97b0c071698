//! Where a heater is in its cycle, and the quantities that an estimate carries there.

use super::gaussian::{Gaussian, N};
use super::prior::Prior;
use super::response::{Law, State};

/// Places in the state: temperature above ambient and heat, heating rate, k, λ, 1/τc, the profile's own error, the held level
/// above ambient, how far the heater's clockwork is behind the app's, and what of the temperature is left from before heat came on.
pub(super) const ABOVE: usize = 0;
pub(super) const HEAT: usize = 1;
pub(super) const RATE: usize = 2;
pub(super) const LOSS: usize = 3;
pub(super) const LAG: usize = 4;
pub(super) const COOL: usize = 5;
pub(super) const ERROR: usize = 6;
pub(super) const LEVEL: usize = 7;
pub(super) const CLOCK: usize = 8;
pub(super) const FREE: usize = 9;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Stage {
    HeatUp,
    Hold,
    Off,
}

/// A place in the cycle, in the order of time: heat-up number and stage.
pub(super) type CyclePosition = (u32, Stage);

/// Beyond every place.
pub(super) const LAST: CyclePosition = (u32::MAX, Stage::Off);

pub(super) fn after((heat_up, stage): CyclePosition) -> CyclePosition {
    match stage {
        Stage::HeatUp => (heat_up, Stage::Hold),
        Stage::Hold => (heat_up, Stage::Off),
        Stage::Off => (heat_up.saturating_add(1), Stage::HeatUp),
    }
}

impl Prior {
    /// The state at heat on from cold, as far as the profile knows it: everything but the held level.
    pub(super) fn state(&self) -> Gaussian {
        let mut mean = [0.0; N];
        let mut all = [[0.0; N]; N];
        let mut between = [[0.0; N]; N];
        let (places, common) = ([ABOVE, RATE], [LOSS, LAG]);
        let (by, shared) = (&self.by_shared, &self.shared);
        for i in 0..2 {
            mean[places[i]] = self.own.mean[i];
            mean[common[i]] = self.common[i];
            for j in 0..2 {
                // Start and rate, with what they owe to k and λ.
                let owed: f64 = (0..4).map(|at| by[i][at / 2] * shared[at / 2][at % 2] * by[j][at % 2]).sum();
                all[places[i]][places[j]] = self.own.of_new[i][j] + owed;
                all[common[i]][common[j]] = shared[i][j];
                let cross = by[i][0] * shared[0][j] + by[i][1] * shared[1][j];
                all[places[i]][common[j]] = cross;
                all[common[j]][places[i]] = cross;
                if self.own.df.is_some() {
                    between[places[i]][places[j]] = self.own.of_new[i][j];
                }
            }
        }
        if let Some(cooling) = &self.cooling {
            mean[COOL] = cooling.mean[1];
            all[COOL][COOL] = cooling.of_new[1][1];
            between[COOL][COOL] = cooling.df.map_or(0.0, |_| cooling.of_new[1][1]);
        }
        all[ERROR][ERROR] = self.discrepancy[0];
        Gaussian { mean, all, between }
    }
}

/// The share of full heat that the losses take at the held level.
pub(super) fn steady_heat(x: &[f64; N]) -> f64 {
    let loss = if x[COOL] > 0.0 { x[COOL] } else { x[LOSS] };
    (loss * x[LEVEL] / x[RATE]).clamp(0.0, 1.0)
}

fn law(x: &[f64; N], stage: Stage) -> Law {
    let (loss, switch) = if stage == Stage::Off { (x[COOL], 0.0) } else { (x[LOSS], 1.0) };
    // A filter knows no signs, and a reading far from everything may draw these below what they can be.
    Law { power: x[RATE], loss: loss.max(0.0), lag: x[LAG].max(0.0), switch }
}

/// What heat has done since it came on. Bodies that exchange heat in proportion to their difference add up: what a heater had before
/// heat came on keeps cooling as the profile runs cooled, and on top of it the heater heats up as the profile runs did from cold.
fn heated(x: &[f64; N]) -> State {
    State { above: x[ABOVE] - x[FREE], heat: x[HEAT] }
}

/// The state after `t` seconds in one place.
pub(super) fn flowed(x: &[f64; N], stage: Stage, t: f64) -> [f64; N] {
    let mut next = *x;
    let after = law(x, stage).after(heated(x), t);
    next[FREE] = x[FREE] * (-x[COOL].max(0.0) * t).exp();
    (next[ABOVE], next[HEAT]) = (after.above + next[FREE], after.heat);
    next
}

pub(super) fn rate(stage: Stage) -> impl Fn(&[f64; N]) -> f64 {
    move |x| match stage {
        Stage::Hold => 0.0,
        _ => law(x, stage).rate(heated(x)) - x[COOL].max(0.0) * x[FREE],
    }
}

/// How fast it heats up just before it holds.
pub(super) fn at_level(x: &[f64; N]) -> f64 {
    let mut top = *x;
    (top[ABOVE], top[HEAT]) = (x[LEVEL], 1.0);
    rate(Stage::HeatUp)(&top)
}

/// How fast what is above ambient fades in `stage`, 1/s.
pub(super) fn fading(x: &[f64; N], stage: Stage) -> f64 {
    if x[FREE] > 0.0 { x[COOL].max(0.0) } else { law(x, stage).loss }
}
