//! The coolings of several ramps, each with its own time constant: air moves more on one day than on another.

use super::climb::Climbs;
use super::curve::{Ramp, rises};
use super::exp_fit::{ExpFit, Refused, Shape, exp_fit};
use super::hold::level;
use super::response::{Law, State, climb};
use crate::units::{Celsius, Seconds};

/// The cooling of one ramp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Cooling {
    /// k = 1/τc, 1/s.
    pub(super) loss: f64,
    /// Its variance within the ramp, over the residual variance.
    pub(super) variance: f64,
    /// Temperature above ambient and heat at heat off.
    pub(super) from: State,
    /// How far that temperature lies above the one that hold or climb ended with, K.
    pub(super) step: f64,
    pub(super) sse: f64,
    pub(super) df: usize,
}

impl Cooling {
    /// The law it follows.
    pub(super) fn law(&self, lag: f64, rate: f64) -> Law {
        Law { power: rate, loss: self.loss, lag, switch: 0.0 }
    }
}

/// The cooling of `ramp`, whose climb starts and heats as `own` says.
///
/// # Errors
/// Why the readings carry none.
pub(super) fn cooling(ramp: &Ramp, climbs: &Climbs, own: [f64; 2]) -> Result<Cooling, Refused> {
    let (ambient, [start, rate]) = (ramp.ambient, own);
    if ramp.cooling.first().is_some_and(|(_, first)| ramp.cooling.iter().all(|(_, shown)| shown == first)) {
        return Err(Refused::Flat);
    }
    if rises(&ramp.cooling.iter().map(|(t, shown)| (t.0, shown.0)).collect::<Vec<_>>()) {
        return Err(Refused::WrongDirection);
    }
    // Two readings fit a curve to the ambient temperature exactly, whatever they are worth.
    if ramp.cooling.len() < 3 {
        return Err(Refused::TooFew);
    }
    let held = |off: &Seconds| ramp.upper_at.is_some_and(|upper| upper <= *off);
    // While it climbs heat is nearly full; while it holds heat is what the losses take.
    let full = ramp.off_at.filter(|off| !held(off)).map(|off| climb_heat(climbs.lag, off.0));
    let mut loss = climbs.loss;
    let mut heat = full.unwrap_or(0.0);
    let mut found: Option<ExpFit> = None;
    // What is left of the heat at heat off depends on the loss that is looked for: once more with the one found.
    for _ in 0..2 {
        if full.is_none() {
            let above = ramp.cooling.first().map_or(0.0, |(_, first)| (*first - ambient).0);
            heat = (loss * above / rate).clamp(0.0, 1.0);
        }
        let left = Law { power: rate, loss, lag: climbs.lag, switch: 0.0 };
        let corrected: Vec<(Seconds, Celsius)> = ramp
            .cooling
            .iter()
            .map(|(t, temperature)| {
                let warmed = left.after(State { above: 0.0, heat }, t.0).above;
                (*t, Celsius(temperature.0 - warmed))
            })
            .collect();
        let fitted = exp_fit(Shape::Cooling, &corrected, Some(ambient))?;
        loss = 1.0 / fitted.tau.0;
        found = Some(fitted);
    }
    let fitted = found.ok_or(Refused::NotReached)?;
    let residual = fitted.sse / fitted.df().max(1) as f64;
    // The variance of τ carries over to 1/τ by its derivative.
    let variance = fitted.covariance.filter(|_| residual > 0.0).map_or(0.0, |c| c[2][2] * loss.powi(4) / residual);
    if variance * residual > (loss * UNKNOWN).powi(2) {
        return Err(Refused::Straight);
    }
    let ended = match ramp.off_at {
        Some(off) if full.is_some() => {
            let [left, rise] = climb(climbs.loss, climbs.lag, off.0);
            Some(start * left + rate * rise)
        }
        _ => level(ramp).map(|held| held - ambient.0),
    };
    let above = fitted.amplitude.0;
    let step = ended.map_or(0.0, |ended| above - ended);
    Ok(Cooling { loss, variance, from: State { above, heat }, step, sse: fitted.sse, df: fitted.df() })
}

fn climb_heat(lag: f64, t: f64) -> f64 {
    if lag > 0.0 { -(-t / lag).exp_m1() } else { 1.0 }
}

/// A time constant that is known to no better than half of itself is none. The project's own figure.
pub const UNKNOWN: f64 = 0.5;
