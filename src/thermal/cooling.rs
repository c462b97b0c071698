//! The coolings of several profile runs, each with its own time constant: air moves more on one day than on another.

use super::exp_fit::{ExpFit, Refused, Shape, exp_fit};
use super::heat_up::HeatUps;
use super::hold::level;
use super::profile_run::{ProfileRun, rises};
use super::response::{Law, State, heat_up};
use crate::units::{Celsius, Seconds};

/// The cooling of one profile run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Cooling {
    /// k = 1/τc, 1/s.
    pub(super) loss: f64,
    /// Its variance within the profile run, over the residual variance.
    pub(super) variance: f64,
    /// Temperature above ambient and heat at heat off.
    pub(super) from: State,
    /// How far that temperature lies above the one that hold or heat-up ended with, K.
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

/// The cooling of `profile_run`, whose heat-up starts and heats as `own` says.
///
/// # Errors
/// Why the readings carry none.
pub(super) fn cooling(profile_run: &ProfileRun, heat_ups: &HeatUps, own: [f64; 2]) -> Result<Cooling, Refused> {
    let (ambient, [start, rate]) = (profile_run.ambient, own);
    if profile_run.cooling.first().is_some_and(|(_, first)| profile_run.cooling.iter().all(|(_, shown)| shown == first))
    {
        return Err(Refused::Flat);
    }
    if rises(&profile_run.cooling.iter().map(|(t, shown)| (t.0, shown.0)).collect::<Vec<_>>()) {
        return Err(Refused::WrongDirection);
    }
    // Two readings fit a profile to the ambient temperature exactly, whatever they are worth.
    if profile_run.cooling.len() < 3 {
        return Err(Refused::TooFew);
    }
    let held = |off: &Seconds| profile_run.top_at.is_some_and(|top| top <= *off);
    // While it heats up heat is nearly full; while it holds heat is what the losses take.
    let full = profile_run.off_at.filter(|off| !held(off)).map(|off| heat_up_heat(heat_ups.lag, off.0));
    let mut loss = heat_ups.loss;
    let mut heat = full.unwrap_or(0.0);
    let mut found: Option<ExpFit> = None;
    // What is left of the heat at heat off depends on the loss that is looked for: once more with the one found.
    for _ in 0..2 {
        if full.is_none() {
            let above = profile_run.cooling.first().map_or(0.0, |(_, first)| (*first - ambient).0);
            heat = (loss * above / rate).clamp(0.0, 1.0);
        }
        let left = Law { power: rate, loss, lag: heat_ups.lag, switch: 0.0 };
        let corrected: Vec<(Seconds, Celsius)> = profile_run
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
    let ended = match profile_run.off_at {
        Some(off) if full.is_some() => {
            let [left, rise] = heat_up(heat_ups.loss, heat_ups.lag, off.0);
            Some(start * left + rate * rise)
        }
        _ => level(profile_run).map(|held| held - ambient.0),
    };
    let above = fitted.amplitude.0;
    let step = ended.map_or(0.0, |ended| above - ended);
    Ok(Cooling { loss, variance, from: State { above, heat }, step, sse: fitted.sse, df: fitted.df() })
}

fn heat_up_heat(lag: f64, t: f64) -> f64 {
    if lag > 0.0 { -(-t / lag).exp_m1() } else { 1.0 }
}

/// A time constant that is known to no better than half of itself is none. The project's own figure.
pub const UNKNOWN: f64 = 0.5;
