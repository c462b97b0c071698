//! The heater profile of one heater in one mode at one setting: several profile runs with a detector in place, fitted together.
//!
//! Heating dT/dt = (Ta + R − T)/τh or at a constant rate, whichever AICc prefers; cooling dT/dt = (Ta − T)/τc. Heat reaches
//! the display with a lag λ where AICc asks for one ([`super::response`]). The supply scales the heating rate and differs from
//! profile run to profile run, so every profile run has its own; τh and λ belong to the heater with its detector and are common to all.

use super::cooling::{Cooling, UNKNOWN, cooling};
use super::cycle_position::{LOSS, RATE};
use super::exp_fit::Refused;
use super::heat_up::{HeatUps, Points, fit};
use super::hold::hold;
use super::prior::Prior;
use super::profile_run::{ProfileRun, rises};
use super::response::heat_up;
use super::spread::{ASSUMED, ENOUGH, Spread, Square, spread};
use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds};

/// The two ways of heating.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeatingUp {
    /// dT/dt = (Ta + R − T)/τh.
    Exponential,
    /// dT/dt is constant.
    ConstantRate,
}

/// Both criteria: the smaller one is preferred. None where the readings are too few for it or refuse that profile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aicc {
    /// Of the exponential approach.
    pub exponential: Option<f64>,
    /// Of the constant rate.
    pub constant_rate: Option<f64>,
}

/// One parameter of a heater.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameter {
    /// Its value: the mean over the profile runs, or the value common to all.
    pub value: f64,
    /// Standard uncertainty of `value`, from the readings within profile runs and the spread between profile runs.
    pub u: f64,
    /// Standard deviation between profile runs; none with one profile run, and for what is common to all.
    pub between: Option<f64>,
    /// Number of profile runs it comes from.
    pub profile_runs: usize,
}

/// What one profile run gives to the profile.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfileRunFit {
    /// Heating rate at ambient temperature.
    pub rate: KelvinPerSecond,
    /// Where the fitted heat-up starts, above ambient.
    pub start: Kelvin,
    /// Its own time constant of cooling.
    pub cooling_tau: Option<Seconds>,
    /// Readings minus profile while heating up, by time since heat on.
    pub heating_up: Vec<(Seconds, Kelvin)>,
    /// Readings minus profile after heat off, by time since heat off.
    pub cooling: Vec<(Seconds, Kelvin)>,
    ambient: Celsius,
    cools: Option<Cooling>,
}

/// A fitted heater profile.
#[derive(Clone, Debug, PartialEq)]
pub struct HeaterProfile {
    /// Which way of heating fits better.
    pub heating_up: HeatingUp,
    /// By which criteria.
    pub aicc: Aicc,
    /// Heating rate at ambient temperature, K/s; with a constant rate the rate itself.
    pub rate: Parameter,
    /// τh, s; none with a constant rate.
    pub heating_tau: Option<Parameter>,
    /// R, K: how far it would heat up above ambient; none with a constant rate.
    pub rise: Option<Parameter>,
    /// λ, s: by how much the display lags behind the heat; none where the readings show none.
    pub lag: Option<Parameter>,
    /// τc, s, or why the cooling readings carry none. Without it nothing can be said after heat off.
    pub cooling_tau: Result<Parameter, Refused>,
    /// The temperature it holds after reaching the upper one, °C; none where fewer than two readings show it.
    pub held: Option<Parameter>,
    /// Residual standard deviation, K.
    pub residual_sd: Kelvin,
    /// Each profile run, in the order given.
    pub profile_runs: Vec<ProfileRunFit>,
    pub(super) prior: Prior,
}

impl HeaterProfile {
    /// Fits `profile_runs`. Readings and "at top temperature" are taken as half a second before their taps
    /// ([`super::TAP_LATENCY`]).
    ///
    /// # Errors
    /// Why the readings cannot carry a profile.
    pub fn fit(profile_runs: &[ProfileRun]) -> Result<HeaterProfile, Refused> {
        let profile_runs: Vec<ProfileRun> = profile_runs.iter().map(ProfileRun::without_finger).collect();
        let profile_runs = &profile_runs[..];
        let points = profile_runs.iter().map(heat_up_points).collect::<Result<Vec<Points>, Refused>>()?;
        // Residuals below the rounding of the display tell nothing.
        let rounding =
            profile_runs.iter().map(|profile_run| profile_run.resolution.0.powi(2) / 12.0).fold(0.0, f64::max);
        let least = rounding * points.iter().map(Vec::len).sum::<usize>() as f64;
        let better = |bends: bool| {
            let straight = fit(&points, bends, false)?;
            let Ok(lagging) = fit(&points, bends, true) else { return Ok(straight) };
            Ok(if lagging.aicc(least) < straight.aicc(least) { lagging } else { straight })
        };
        let (exponential, constant): (Result<HeatUps, Refused>, HeatUps) = (better(true), better(false)?);
        let score = |heat_ups: &HeatUps| heat_ups.aicc(least);
        let aicc = Aicc { exponential: exponential.as_ref().ok().and_then(score), constant_rate: score(&constant) };
        let Some(straight) = aicc.constant_rate else { return Err(Refused::TooFewClimbing) };
        let chosen = match exponential {
            Ok(heat_ups) if aicc.exponential.is_some_and(|bent| bent < straight) => heat_ups,
            _ => constant,
        };
        match chosen.refused {
            Some(why) => Err(why),
            None => HeaterProfile::of(profile_runs, &chosen, aicc, rounding),
        }
    }

    fn of(
        profile_runs: &[ProfileRun],
        heat_ups: &HeatUps,
        aicc: Aicc,
        rounding: f64,
    ) -> Result<HeaterProfile, Refused> {
        if heat_ups.own.iter().any(|own| own.value[1] <= 0.0) {
            return Err(Refused::WrongDirection);
        }
        let cools: Vec<Result<Cooling, Refused>> = profile_runs
            .iter()
            .zip(&heat_ups.own)
            .map(|(profile_run, own)| cooling(profile_run, heat_ups, own.value))
            .collect();
        let fits: Vec<ProfileRunFit> =
            (0..profile_runs.len()).map(|i| profile_run_fit(&profile_runs[i], heat_ups, i, &cools[i])).collect();

        let cooled = || cools.iter().filter_map(|cooling| cooling.as_ref().ok());
        let sse = heat_ups.sse + cooled().map(|cooling| cooling.sse).sum::<f64>();
        let df = heat_ups.df() + cooled().map(|cooling| cooling.df).sum::<usize>();
        let variance = (sse / df.max(1) as f64).max(rounding);
        let discrepancy = discrepancy(&fits, variance, rounding);
        // Residuals that hang together carry less than as many free ones: (1 + ρ)/(1 − ρ) for a first-order autoregression
        // (Bayley & Hammersley 1946, Suppl. J. R. Stat. Soc. 8, 184).
        let inflated = variance * (1.0 + discrepancy.correlation) / (1.0 - discrepancy.correlation);
        let scaled = |m: Square| m.map(|row| row.map(|entry| entry * inflated));
        let shared = scaled(heat_ups.shared);

        let n = profile_runs.len() as f64;
        let mean = |of: &dyn Fn(&super::heat_up::Own) -> Square| {
            let mut sum = [[0.0; 2]; 2];
            for own in &heat_ups.own {
                let square = of(own);
                (0..4).for_each(|at| sum[at / 2][at % 2] += square[at / 2][at % 2] / n);
            }
            sum
        };
        let within = scaled(mean(&|own| own.covariance));
        let by_shared = mean(&|own| own.by_shared);
        let ambient_variance = profile_runs.iter().map(|profile_run| profile_run.ambient_u.0.powi(2)).sum::<f64>() / n;
        let rates: Vec<[f64; 2]> = heat_ups.own.iter().map(|own| own.value).collect();
        let rate = rates.iter().map(|own| own[1]).sum::<f64>() / n;
        // From cold the start is known to lie near ambient; a profile run from warm says nothing about that.
        let cold: Vec<[f64; 2]> =
            profile_runs.iter().zip(&rates).filter(|(profile_run, _)| profile_run.cold).map(|(_, own)| *own).collect();
        let assumed = [ambient_variance.sqrt(), ASSUMED * rate];
        let all = spread(&rates, within, assumed).ok_or(Refused::TooFewClimbing)?;
        let own = if cold.len() >= ENOUGH.min(profile_runs.len()) { spread(&cold, within, assumed) } else { None };
        let own = own.unwrap_or(Spread {
            mean: [0.0, all.mean[1]],
            of_new: [[within[0][0] + ambient_variance, 0.0], [0.0, all.of_new[1][1]]],
            ..all
        });

        let losses: Vec<[f64; 2]> = cooled().map(|cooling| [cooling.step, cooling.loss]).collect();
        let mean_loss = losses.iter().map(|pair| pair[1]).sum::<f64>() / losses.len().max(1) as f64;
        let within_loss = cooled().map(|cooling| cooling.variance).sum::<f64>() / losses.len().max(1) as f64;
        let cooling =
            spread(&losses, [[0.0; 2], [0.0, within_loss * inflated]], [variance.sqrt(), ASSUMED * mean_loss]);
        let reached: Vec<Option<f64>> = profile_runs
            .iter()
            .zip(&heat_ups.own)
            .map(|(profile_run, own)| reached(profile_run, heat_ups, own.value))
            .collect();
        let hold = hold(profile_runs, &reached);
        // The air that cools the heater after heat off takes heat from it while it heats up too, so k differs from test to run as
        // much as 1/τc does.
        let mut of_test = shared;
        of_test[0][0] += cooling.map_or(0.0, |spread| spread.of_new[1][1] * (heat_ups.loss / spread.mean[1]).powi(2));

        let [loss, lag] = [heat_ups.loss, heat_ups.lag];
        let (to_rate, to_loss) = (by_shared[1], shared);
        let rate_by_loss = to_rate[0] * to_loss[0][0] + to_rate[1] * to_loss[1][0];
        let from_shared: f64 = (0..4).map(|at| to_rate[at / 2] * to_loss[at / 2][at % 2] * to_rate[at % 2]).sum();
        let of_rate = all.of_mean[1][1] + from_shared;
        if (within[1][1] / n).sqrt() > UNKNOWN * rate {
            return Err(Refused::Scattered);
        }
        let common = |value: f64, variance: f64| Parameter {
            value,
            u: variance.sqrt(),
            between: None,
            profile_runs: profile_runs.len(),
        };
        let rise = of_rate / loss.powi(2) + rate.powi(2) / loss.powi(4) * shared[0][0]
            - 2.0 * rate / loss.powi(3) * rate_by_loss;
        let between = |spread: &Spread, i: usize| spread.sd.map(|sd| sd[i]);
        let bends = loss > 0.0;
        let cooling_tau = match (&cooling, cools.into_iter().find_map(Result::err)) {
            (Some(spread), _) => {
                let [_, k] = spread.mean;
                Ok(Parameter {
                    value: 1.0 / k,
                    u: spread.of_mean[1][1].sqrt() / (k * k),
                    between: between(spread, 1).map(|sd| sd / (k * k)),
                    profile_runs: spread.profile_runs,
                })
            }
            (None, why) => Err(why.unwrap_or(Refused::TooFew)),
        };
        Ok(HeaterProfile {
            heating_up: if bends { HeatingUp::Exponential } else { HeatingUp::ConstantRate },
            aicc,
            rate: Parameter {
                value: rate,
                u: of_rate.sqrt(),
                between: between(&all, 1),
                profile_runs: profile_runs.len(),
            },
            heating_tau: bends.then(|| common(1.0 / loss, shared[0][0] / loss.powi(4))),
            rise: bends.then(|| Parameter {
                value: rate / loss,
                u: rise.max(0.0).sqrt(),
                between: between(&all, 1).map(|sd| sd / loss),
                profile_runs: profile_runs.len(),
            }),
            lag: (lag > 0.0).then(|| common(lag, shared[1][1])),
            cooling_tau,
            held: hold.map(|hold| Parameter {
                value: hold.level.mean[0],
                // Readings that are all alike are no surer than the display.
                u: hold.level.of_mean[0][0].max(rounding).sqrt(),
                between: between(&hold.level, 0),
                profile_runs: hold.level.profile_runs,
            }),
            residual_sd: Kelvin(variance.sqrt()),
            profile_runs: fits,
            prior: Prior {
                own,
                common: [loss, lag],
                shared: of_test,
                by_shared,
                cooling,
                hold,
                discrepancy: [discrepancy.variance, discrepancy.time],
                ambient_variance,
            },
        })
    }

    /// Whether the spread between profile runs is seen, rather than assumed.
    pub fn spread_seen(&self) -> bool {
        self.profile_runs.len() >= ENOUGH
    }

    /// How fast a test heats up where it is `above` ambient, with its standard uncertainty.
    pub fn rate_at(&self, above: Kelvin) -> (KelvinPerSecond, KelvinPerSecond) {
        let found = self.prior.state().project(&|x| x[RATE] - x[LOSS] * above.0);
        (KelvinPerSecond(found.value), KelvinPerSecond(found.variance.sqrt()))
    }

    /// The fitted heat-up of profile run `index`, at `time` since heat on.
    pub fn heat_up_at(&self, index: usize, time: Seconds) -> Option<Celsius> {
        let profile_run = self.profile_runs.get(index)?;
        let [left, rise] = heat_up(self.prior.common[0], self.prior.common[1], time.0);
        Some(profile_run.ambient + profile_run.start * left + profile_run.rate * Seconds(rise))
    }

    /// The fitted cooling of profile run `index`, at `time` since heat off; none where its readings carry none.
    pub fn cooling_at(&self, index: usize, time: Seconds) -> Option<Celsius> {
        let profile_run = self.profile_runs.get(index)?;
        let cools = profile_run.cools.as_ref()?;
        Some(
            profile_run.ambient
                + Kelvin(cools.law(self.prior.common[1], profile_run.rate.0).after(cools.from, time.0).above),
        )
    }
}

/// The points of a heat-up above ambient. A start from cold counts as a reading at ambient where none was taken at heat on.
fn heat_up_points(profile_run: &ProfileRun) -> Result<Points, Refused> {
    let finite = |readings: &[(Seconds, Celsius)]| readings.iter().all(|(t, y)| t.0.is_finite() && y.0.is_finite());
    if !(finite(&profile_run.heating) && finite(&profile_run.cooling) && profile_run.ambient.0.is_finite()) {
        return Err(Refused::NotFinite);
    }
    let top = profile_run.top_at.map_or(f64::INFINITY, |top| top.0);
    let heating_up = profile_run.heating.iter().filter(|(t, _)| t.0 >= 0.0 && t.0 <= top);
    let mut points: Points = heating_up.map(|(t, y)| (t.0, (*y - profile_run.ambient).0)).collect();
    if profile_run.cold && points.iter().all(|(t, _)| *t > AT_ONCE) {
        points.push((0.0, 0.0));
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let different = points.windows(2).filter(|pair| pair[1].0 > pair[0].0).count() + 1;
    if points.len() < 3 || different < 3 {
        return Err(Refused::TooFewClimbing);
    }
    if points.iter().all(|(_, y)| *y == points[0].1) {
        return Err(Refused::Flat);
    }
    if !rises(&points) {
        return Err(Refused::WrongDirection);
    }
    Ok(points)
}

/// A reading within so many seconds of heat on is one at heat on: half the time between two taps.
const AT_ONCE: f64 = 1.0;

fn profile_run_fit(
    profile_run: &ProfileRun,
    heat_ups: &HeatUps,
    index: usize,
    cools: &Result<Cooling, Refused>,
) -> ProfileRunFit {
    let [start, rate] = heat_ups.own[index].value;
    let top = profile_run.top_at.map_or(f64::INFINITY, |top| top.0);
    let over = |t: f64| heat_up(heat_ups.loss, heat_ups.lag, t);
    let heating_up = profile_run.heating.iter().filter(|(t, _)| t.0 >= 0.0 && t.0 <= top);
    let heating_up = heating_up.map(|(t, y)| {
        let [left, rise] = over(t.0);
        (*t, *y - profile_run.ambient - Kelvin(start * left + rate * rise))
    });
    let cools = cools.as_ref().ok().copied();
    let cooling = cools.iter().flat_map(|cools| {
        let law = cools.law(heat_ups.lag, rate);
        profile_run
            .cooling
            .iter()
            .map(move |(t, y)| (*t, *y - profile_run.ambient - Kelvin(law.after(cools.from, t.0).above)))
    });
    ProfileRunFit {
        rate: KelvinPerSecond(rate),
        start: Kelvin(start),
        cooling_tau: cools.map(|cools| Seconds(1.0 / cools.loss)),
        heating_up: heating_up.collect(),
        cooling: cooling.collect(),
        ambient: profile_run.ambient,
        cools,
    }
}

/// The fitted temperature of a profile run when "at top temperature" was marked, °C.
fn reached(profile_run: &ProfileRun, heat_ups: &HeatUps, [start, rate]: [f64; 2]) -> Option<f64> {
    let [left, rise] = heat_up(heat_ups.loss, heat_ups.lag, profile_run.top_at?.0);
    Some(profile_run.ambient.0 + start * left + rate * rise)
}

struct Discrepancy {
    /// K².
    variance: f64,
    /// s.
    time: f64,
    /// Between neighbouring readings.
    correlation: f64,
}

/// What the readings say of the profile's own error: the residual variance less the rounding, and how long an error lasts, from
/// the correlation of neighbouring residuals (a first-order autoregression, so a correlation e^(−gap/θ)).
fn discrepancy(fits: &[ProfileRunFit], variance: f64, rounding: f64) -> Discrepancy {
    let (mut products, mut squares, mut gaps, mut pairs) = (0.0, 0.0, 0.0, 0.0);
    for residuals in fits.iter().flat_map(|fit| [&fit.heating_up, &fit.cooling]) {
        squares += residuals.iter().map(|(_, r)| r.0 * r.0).sum::<f64>();
        for pair in residuals.windows(2) {
            products += pair[0].1.0 * pair[1].1.0;
            gaps += pair[1].0.0 - pair[0].0.0;
            pairs += 1.0;
        }
    }
    let correlation = if squares > 0.0 { (products / squares).clamp(0.0, 0.9) } else { 0.0 };
    let gap = if pairs > 0.0 { gaps / pairs } else { 1.0 };
    // Rounding does not hang together, so the profile's own error does so all the more. Where neighbours do not hang together
    // at all it is gone before the next reading.
    let own = (variance - rounding).max(0.0);
    let persists = if own > 0.0 { correlation * variance / own } else { 0.0 };
    Discrepancy { variance: own, time: gap / -persists.clamp(0.05, 0.95).ln(), correlation }
}
