//! The heat curve of one head in one mode at one setting: several guided ramps with a detector in place, fitted together.
//!
//! Heating dT/dt = (Ta + R − T)/τh or at a constant rate, whichever AICc prefers; cooling dT/dt = (Ta − T)/τc. Heat reaches
//! the display with a lag λ where AICc asks for one ([`super::response`]). The supply scales the heating rate and differs from
//! ramp to ramp, so every ramp has its own; τh and λ belong to the head with its detector and are common to all.

use super::climb::{Climbs, Points, fit};
use super::cooling::{Cooling, UNKNOWN, cooling};
use super::exp_fit::Refused;
use super::hold::{Hold, hold};
use super::live::FINGER;
use super::place::{LOSS, RATE};
use super::response::climb;
use super::spread::{ASSUMED, ENOUGH, Spread, Square, spread};
use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds};

/// One guided ramp with a detector in place.
#[derive(Clone, Debug, PartialEq)]
pub struct Ramp {
    /// Readings of the display while heat is on: time since heat on.
    pub heating: Vec<(Seconds, Celsius)>,
    /// Readings after heat off: time since heat off.
    pub cooling: Vec<(Seconds, Celsius)>,
    /// Ambient temperature.
    pub ambient: Celsius,
    /// Its standard uncertainty.
    pub ambient_u: Kelvin,
    /// Whether the head was at ambient temperature at heat on.
    pub cold: bool,
    /// When the head reached its upper temperature, since heat on; readings after it show how well it holds.
    pub upper_at: Option<Seconds>,
    /// When heat went off, since heat on.
    pub off_at: Option<Seconds>,
    /// One step of the display.
    pub resolution: Kelvin,
}

impl Ramp {
    fn without_finger(&self) -> Ramp {
        let earlier = |t: Seconds| Seconds((t.0 - FINGER).max(0.0));
        let all = |readings: &[(Seconds, Celsius)]| readings.iter().map(|(t, shown)| (earlier(*t), *shown)).collect();
        Ramp {
            heating: all(&self.heating),
            cooling: all(&self.cooling),
            upper_at: self.upper_at.map(earlier),
            ..self.clone()
        }
    }
}

/// The two ways of heating.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Climbing {
    /// dT/dt = (Ta + R − T)/τh.
    Exponential,
    /// dT/dt is constant.
    ConstantRate,
}

/// Both criteria: the smaller one is preferred. None where the readings are too few for it or refuse that curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aicc {
    /// Of the exponential approach.
    pub exponential: Option<f64>,
    /// Of the constant rate.
    pub constant_rate: Option<f64>,
}

/// One parameter of a head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameter {
    /// Its value: the mean over the ramps, or the value common to all.
    pub value: f64,
    /// Standard uncertainty of `value`, from the readings within ramps and the spread between ramps.
    pub u: f64,
    /// Standard deviation between ramps; none with one ramp, and for what is common to all.
    pub between: Option<f64>,
    /// Number of ramps it comes from.
    pub ramps: usize,
}

/// What one ramp gives to the curve.
#[derive(Clone, Debug, PartialEq)]
pub struct RampFit {
    /// Heating rate at ambient temperature.
    pub rate: KelvinPerSecond,
    /// Where the fitted climb starts, above ambient.
    pub start: Kelvin,
    /// Its own time constant of cooling.
    pub cooling_tau: Option<Seconds>,
    /// Readings minus curve while climbing, by time since heat on.
    pub climbing: Vec<(Seconds, Kelvin)>,
    /// Readings minus curve after heat off, by time since heat off.
    pub cooling: Vec<(Seconds, Kelvin)>,
    ambient: Celsius,
    cools: Option<Cooling>,
}

/// A fitted heat curve.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatCurve {
    /// Which way of heating fits better.
    pub climbing: Climbing,
    /// By which criteria.
    pub aicc: Aicc,
    /// Heating rate at ambient temperature, K/s; with a constant rate the rate itself.
    pub rate: Parameter,
    /// τh, s; none with a constant rate.
    pub heating_tau: Option<Parameter>,
    /// R, K: how far it would climb above ambient; none with a constant rate.
    pub rise: Option<Parameter>,
    /// λ, s: by how much the display lags behind the heat; none where the readings show none.
    pub lag: Option<Parameter>,
    /// τc, s, or why the cooling readings carry none. Without it nothing can be said after heat off.
    pub cooling_tau: Result<Parameter, Refused>,
    /// The temperature it holds after reaching the upper one, °C; none where fewer than two readings show it.
    pub held: Option<Parameter>,
    /// Residual standard deviation, K.
    pub residual_sd: Kelvin,
    /// Each ramp, in the order given.
    pub ramps: Vec<RampFit>,
    pub(super) prior: Prior,
}

/// What the curve says of a run before it starts.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Prior {
    /// Start above ambient from cold, K, and heating rate, K/s.
    pub(super) own: Spread,
    /// k and λ.
    pub(super) common: [f64; 2],
    /// Their covariance for a new run.
    pub(super) shared: Square,
    /// How start and rate change with k and λ.
    pub(super) by_shared: Square,
    /// How far the cooling starts above where heat off found the head, K, and 1/τc, 1/s.
    pub(super) cooling: Option<Spread>,
    pub(super) hold: Option<Hold>,
    /// What the curve leaves over: variance, K², and correlation time, s.
    pub(super) discrepancy: [f64; 2],
    /// Mean variance of the ramps' ambient temperatures, K².
    pub(super) ambient_variance: f64,
}

impl HeatCurve {
    /// Fits `ramps`. Readings and "at upper temperature" are taken as half a second before their taps
    /// ([`super::live::FINGER`]).
    ///
    /// # Errors
    /// Why the readings cannot carry a curve.
    pub fn fit(ramps: &[Ramp]) -> Result<HeatCurve, Refused> {
        let ramps: Vec<Ramp> = ramps.iter().map(Ramp::without_finger).collect();
        let ramps = &ramps[..];
        let points = ramps.iter().map(climb_points).collect::<Result<Vec<Points>, Refused>>()?;
        // Residuals below the rounding of the display tell nothing.
        let rounding = ramps.iter().map(|ramp| ramp.resolution.0.powi(2) / 12.0).fold(0.0, f64::max);
        let least = rounding * points.iter().map(Vec::len).sum::<usize>() as f64;
        let better = |bends: bool| {
            let straight = fit(&points, bends, false)?;
            let Ok(lagging) = fit(&points, bends, true) else { return Ok(straight) };
            Ok(if lagging.aicc(least) < straight.aicc(least) { lagging } else { straight })
        };
        let (exponential, constant): (Result<Climbs, Refused>, Climbs) = (better(true), better(false)?);
        let score = |climbs: &Climbs| climbs.aicc(least);
        let aicc = Aicc { exponential: exponential.as_ref().ok().and_then(score), constant_rate: score(&constant) };
        let Some(straight) = aicc.constant_rate else { return Err(Refused::TooFewClimbing) };
        let chosen = match exponential {
            Ok(climbs) if aicc.exponential.is_some_and(|bent| bent < straight) => climbs,
            _ => constant,
        };
        match chosen.refused {
            Some(why) => Err(why),
            None => HeatCurve::of(ramps, &chosen, aicc, rounding),
        }
    }

    fn of(ramps: &[Ramp], climbs: &Climbs, aicc: Aicc, rounding: f64) -> Result<HeatCurve, Refused> {
        if climbs.own.iter().any(|own| own.value[1] <= 0.0) {
            return Err(Refused::WrongDirection);
        }
        let cools: Vec<Result<Cooling, Refused>> =
            ramps.iter().zip(&climbs.own).map(|(ramp, own)| cooling(ramp, climbs, own.value)).collect();
        let fits: Vec<RampFit> = (0..ramps.len()).map(|i| ramp_fit(&ramps[i], climbs, i, &cools[i])).collect();

        let cooled = || cools.iter().filter_map(|cooling| cooling.as_ref().ok());
        let sse = climbs.sse + cooled().map(|cooling| cooling.sse).sum::<f64>();
        let df = climbs.df() + cooled().map(|cooling| cooling.df).sum::<usize>();
        let variance = (sse / df.max(1) as f64).max(rounding);
        let discrepancy = discrepancy(&fits, variance, rounding);
        // Residuals that hang together carry less than as many free ones: (1 + ρ)/(1 − ρ) for a first-order autoregression
        // (Bayley & Hammersley 1946, Suppl. J. R. Stat. Soc. 8, 184).
        let inflated = variance * (1.0 + discrepancy.correlation) / (1.0 - discrepancy.correlation);
        let scaled = |m: Square| m.map(|row| row.map(|entry| entry * inflated));
        let shared = scaled(climbs.shared);

        let n = ramps.len() as f64;
        let mean = |of: &dyn Fn(&super::climb::Own) -> Square| {
            let mut sum = [[0.0; 2]; 2];
            for own in &climbs.own {
                let square = of(own);
                (0..4).for_each(|at| sum[at / 2][at % 2] += square[at / 2][at % 2] / n);
            }
            sum
        };
        let within = scaled(mean(&|own| own.covariance));
        let by_shared = mean(&|own| own.by_shared);
        let ambient_variance = ramps.iter().map(|ramp| ramp.ambient_u.0.powi(2)).sum::<f64>() / n;
        let rates: Vec<[f64; 2]> = climbs.own.iter().map(|own| own.value).collect();
        let rate = rates.iter().map(|own| own[1]).sum::<f64>() / n;
        // From cold the start is known to lie near ambient; a ramp from warm says nothing about that.
        let cold: Vec<[f64; 2]> = ramps.iter().zip(&rates).filter(|(ramp, _)| ramp.cold).map(|(_, own)| *own).collect();
        let assumed = [ambient_variance.sqrt(), ASSUMED * rate];
        let all = spread(&rates, within, assumed).ok_or(Refused::TooFewClimbing)?;
        let own = if cold.len() >= ENOUGH.min(ramps.len()) { spread(&cold, within, assumed) } else { None };
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
        let reached: Vec<Option<f64>> =
            ramps.iter().zip(&climbs.own).map(|(ramp, own)| reached(ramp, climbs, own.value)).collect();
        let hold = hold(ramps, &reached);
        // The air that cools the head after heat off takes heat from it while it climbs too, so k differs from run to run as
        // much as 1/τc does.
        let mut of_run = shared;
        of_run[0][0] += cooling.map_or(0.0, |spread| spread.of_new[1][1] * (climbs.loss / spread.mean[1]).powi(2));

        let [loss, lag] = [climbs.loss, climbs.lag];
        let (to_rate, to_loss) = (by_shared[1], shared);
        let rate_by_loss = to_rate[0] * to_loss[0][0] + to_rate[1] * to_loss[1][0];
        let from_shared: f64 = (0..4).map(|at| to_rate[at / 2] * to_loss[at / 2][at % 2] * to_rate[at % 2]).sum();
        let of_rate = all.of_mean[1][1] + from_shared;
        if (within[1][1] / n).sqrt() > UNKNOWN * rate {
            return Err(Refused::Scattered);
        }
        let common =
            |value: f64, variance: f64| Parameter { value, u: variance.sqrt(), between: None, ramps: ramps.len() };
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
                    ramps: spread.ramps,
                })
            }
            (None, why) => Err(why.unwrap_or(Refused::TooFew)),
        };
        Ok(HeatCurve {
            climbing: if bends { Climbing::Exponential } else { Climbing::ConstantRate },
            aicc,
            rate: Parameter { value: rate, u: of_rate.sqrt(), between: between(&all, 1), ramps: ramps.len() },
            heating_tau: bends.then(|| common(1.0 / loss, shared[0][0] / loss.powi(4))),
            rise: bends.then(|| Parameter {
                value: rate / loss,
                u: rise.max(0.0).sqrt(),
                between: between(&all, 1).map(|sd| sd / loss),
                ramps: ramps.len(),
            }),
            lag: (lag > 0.0).then(|| common(lag, shared[1][1])),
            cooling_tau,
            held: hold.map(|hold| Parameter {
                value: hold.level.mean[0],
                // Readings that are all alike are no surer than the display.
                u: hold.level.of_mean[0][0].max(rounding).sqrt(),
                between: between(&hold.level, 0),
                ramps: hold.level.ramps,
            }),
            residual_sd: Kelvin(variance.sqrt()),
            ramps: fits,
            prior: Prior {
                own,
                common: [loss, lag],
                shared: of_run,
                by_shared,
                cooling,
                hold,
                discrepancy: [discrepancy.variance, discrepancy.time],
                ambient_variance,
            },
        })
    }

    /// Whether the spread between ramps is seen, rather than assumed.
    pub fn spread_seen(&self) -> bool {
        self.ramps.len() >= ENOUGH
    }

    /// The time constant of a single cooling with its standard uncertainty: that of the mean and the spread between ramps, seen or
    /// assumed.
    pub fn single_cooling(&self) -> Option<(Seconds, Seconds)> {
        let [_, loss] = self.prior.cooling?.mean;
        let variance = self.prior.cooling?.of_new[1][1];
        Some((Seconds(1.0 / loss), Seconds(variance.sqrt() / (loss * loss))))
    }

    /// How fast a run climbs where it is `above` ambient, with its standard uncertainty.
    pub fn rate_at(&self, above: Kelvin) -> (KelvinPerSecond, KelvinPerSecond) {
        let found = self.prior.state().project(&|x| x[RATE] - x[LOSS] * above.0);
        (KelvinPerSecond(found.value), KelvinPerSecond(found.variance.sqrt()))
    }

    /// The fitted climb of ramp `index`, at `time` since heat on.
    pub fn climb_at(&self, index: usize, time: Seconds) -> Option<Celsius> {
        let ramp = self.ramps.get(index)?;
        let [left, rise] = climb(self.prior.common[0], self.prior.common[1], time.0);
        Some(ramp.ambient + ramp.start * left + ramp.rate * Seconds(rise))
    }

    /// The fitted cooling of ramp `index`, at `time` since heat off; none where its readings carry none.
    pub fn cooling_at(&self, index: usize, time: Seconds) -> Option<Celsius> {
        let ramp = self.ramps.get(index)?;
        let cools = ramp.cools.as_ref()?;
        Some(ramp.ambient + Kelvin(cools.law(self.prior.common[1], ramp.rate.0).after(cools.from, time.0).above))
    }
}

/// The points of a climb above ambient. A start from cold counts as a reading at ambient where none was taken at heat on.
fn climb_points(ramp: &Ramp) -> Result<Points, Refused> {
    let finite = |readings: &[(Seconds, Celsius)]| readings.iter().all(|(t, y)| t.0.is_finite() && y.0.is_finite());
    if !(finite(&ramp.heating) && finite(&ramp.cooling) && ramp.ambient.0.is_finite()) {
        return Err(Refused::NotFinite);
    }
    let upper = ramp.upper_at.map_or(f64::INFINITY, |upper| upper.0);
    let climbing = ramp.heating.iter().filter(|(t, _)| t.0 >= 0.0 && t.0 <= upper);
    let mut points: Points = climbing.map(|(t, y)| (t.0, (*y - ramp.ambient).0)).collect();
    if ramp.cold && points.iter().all(|(t, _)| *t > AT_ONCE) {
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

/// Whether a straight line through the points rises.
pub(super) fn rises(points: &[(f64, f64)]) -> bool {
    let mean = |of: &dyn Fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / points.len() as f64;
    let (time, temperature) = (mean(&|point| point.0), mean(&|point| point.1));
    points.iter().map(|(t, y)| (t - time) * (y - temperature)).sum::<f64>() > 0.0
}

/// A reading within so many seconds of heat on is one at heat on: half the time between two taps.
const AT_ONCE: f64 = 1.0;

fn ramp_fit(ramp: &Ramp, climbs: &Climbs, index: usize, cools: &Result<Cooling, Refused>) -> RampFit {
    let [start, rate] = climbs.own[index].value;
    let upper = ramp.upper_at.map_or(f64::INFINITY, |upper| upper.0);
    let over = |t: f64| climb(climbs.loss, climbs.lag, t);
    let climbing = ramp.heating.iter().filter(|(t, _)| t.0 >= 0.0 && t.0 <= upper);
    let climbing = climbing.map(|(t, y)| {
        let [left, rise] = over(t.0);
        (*t, *y - ramp.ambient - Kelvin(start * left + rate * rise))
    });
    let cools = cools.as_ref().ok().copied();
    let cooling = cools.iter().flat_map(|cools| {
        let law = cools.law(climbs.lag, rate);
        ramp.cooling.iter().map(move |(t, y)| (*t, *y - ramp.ambient - Kelvin(law.after(cools.from, t.0).above)))
    });
    RampFit {
        rate: KelvinPerSecond(rate),
        start: Kelvin(start),
        cooling_tau: cools.map(|cools| Seconds(1.0 / cools.loss)),
        climbing: climbing.collect(),
        cooling: cooling.collect(),
        ambient: ramp.ambient,
        cools,
    }
}

/// The fitted temperature of a ramp when "at upper temperature" was marked, °C.
fn reached(ramp: &Ramp, climbs: &Climbs, [start, rate]: [f64; 2]) -> Option<f64> {
    let [left, rise] = climb(climbs.loss, climbs.lag, ramp.upper_at?.0);
    Some(ramp.ambient.0 + start * left + rate * rise)
}

struct Discrepancy {
    /// K².
    variance: f64,
    /// s.
    time: f64,
    /// Between neighbouring readings.
    correlation: f64,
}

/// What the readings say of the curve's own error: the residual variance less the rounding, and how long an error lasts, from
/// the correlation of neighbouring residuals (a first-order autoregression, so a correlation e^(−gap/θ)).
fn discrepancy(fits: &[RampFit], variance: f64, rounding: f64) -> Discrepancy {
    let (mut products, mut squares, mut gaps, mut pairs) = (0.0, 0.0, 0.0, 0.0);
    for residuals in fits.iter().flat_map(|fit| [&fit.climbing, &fit.cooling]) {
        squares += residuals.iter().map(|(_, r)| r.0 * r.0).sum::<f64>();
        for pair in residuals.windows(2) {
            products += pair[0].1.0 * pair[1].1.0;
            gaps += pair[1].0.0 - pair[0].0.0;
            pairs += 1.0;
        }
    }
    let correlation = if squares > 0.0 { (products / squares).clamp(0.0, 0.9) } else { 0.0 };
    let gap = if pairs > 0.0 { gaps / pairs } else { 1.0 };
    // Rounding does not hang together, so the curve's own error does so all the more. Where neighbours do not hang together
    // at all it is gone before the next reading.
    let own = (variance - rounding).max(0.0);
    let persists = if own > 0.0 { correlation * variance / own } else { 0.0 };
    Discrepancy { variance: own, time: gap / -persists.clamp(0.05, 0.95).ln(), correlation }
}
