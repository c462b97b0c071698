//! The first-order heating or cooling curve fitted to readings by least squares.

use std::fmt;

use super::least_squares::{NoMinimum, least_squares};
use crate::stats::t_quantile;
use crate::units::{Celsius, Kelvin, Seconds};

/// Which of the two curves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// T = Ta + A (1 − e^(−t/τ)).
    Heating,
    /// T = Ta + A e^(−t/τ).
    Cooling,
}

/// A fitted curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpFit {
    /// Which curve.
    pub shape: Shape,
    /// Ta: where heating starts, where cooling ends; fitted unless it was given.
    pub ambient: Celsius,
    /// Whether `ambient` was given.
    pub ambient_given: bool,
    /// A: how far the heater heats up above, or starts above, `ambient`.
    pub amplitude: Kelvin,
    /// τ, the time constant.
    pub tau: Seconds,
    /// Number of readings.
    pub n: usize,
    /// Sum of squared residuals, K².
    pub sse: f64,
    /// Covariance of (Ta in °C, A in K, τ in s), with zeros for a given Ta; none for as many parameters as readings.
    pub covariance: Option<[[f64; 3]; 3]>,
}

/// What the curve says for one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prediction {
    /// The curve's temperature.
    pub value: Celsius,
    /// Its standard uncertainty and that of one reading, with the interval; none without degrees of freedom.
    pub spread: Option<Spread>,
}

/// The uncertainty of a prediction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Standard error of the curve.
    pub se_mean: Kelvin,
    /// Standard error of one new reading.
    pub se_pred: Kelvin,
    /// Lower end of the interval for one new reading.
    pub lo: Celsius,
    /// Upper end of the interval for one new reading.
    pub hi: Celsius,
}

/// Why the readings cannot carry the curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    /// Fewer different times than the curve has parameters, or fewer than three readings of a cooling.
    TooFew,
    /// Fewer readings of the heat-up than a choice between the curves needs.
    TooFewClimbing,
    /// A time or temperature is not a finite number.
    NotFinite,
    /// All temperatures are equal.
    Flat,
    /// A straight line fits as well: the end temperature and the time constant are open.
    Straight,
    /// The temperature changes faster and faster.
    Accelerating,
    /// It falls where it should rise, or rises where it should fall.
    WrongDirection,
    /// The change happens between two readings; the time constant is open.
    TooFast,
    /// The rate is known to no better than half of itself.
    Scattered,
    /// The fit did not settle.
    NotReached,
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Refused::TooFew => "too few readings: take at least three, at different times",
            Refused::TooFewClimbing => {
                "too few readings of the heat-up: take at least six in one profile run, at least four in each of several"
            }
            Refused::NotFinite => "a time or temperature is not a number",
            Refused::Flat => "all temperatures are equal: no rise or fall to fit",
            Refused::Straight => "a straight line fits as well: go on reading until the curve bends",
            Refused::Accelerating => "the temperature changes faster and faster, which such a curve cannot do",
            Refused::WrongDirection => "the temperature goes the other way",
            Refused::TooFast => "the change lies between two readings: read more often",
            Refused::Scattered => "the readings scatter so much that they tell no rate",
            Refused::NotReached => "the fit does not settle on these readings",
        })
    }
}

impl std::error::Error for Refused {}

/// Fits the curve of `shape` to `readings` of time and temperature, with Ta as given or, where none is, fitted too.
pub fn exp_fit(shape: Shape, readings: &[(Seconds, Celsius)], ambient: Option<Celsius>) -> Result<ExpFit, Refused> {
    let points: Vec<(f64, f64)> = readings.iter().map(|(time, temperature)| (time.0, temperature.0)).collect();
    let given = ambient.map(|ambient| ambient.0);
    let k = starting_rate(shape, &points, given)?;
    let line = Line::at(shape, &points, given, k);
    // A given Ta has no derivative, which holds it where it starts.
    let by_ambient = if given.is_some() { 0.0 } else { 1.0 };
    let model = |t: f64, &[ambient, amplitude, tau]: &[f64; 3]| {
        let (height, by_tau) = height(shape, t, tau);
        (ambient + amplitude * height, [by_ambient, height, amplitude * by_tau])
    };
    let start = [given.unwrap_or(line.ambient), line.amplitude, 1.0 / k];
    let minimum = least_squares(&points, start, model).map_err(refused)?;
    let [ambient, amplitude, tau] = minimum.parameters;
    if !(amplitude > 0.0 && tau > 0.0) {
        return Err(Refused::WrongDirection);
    }
    let information = minimum.inverse_information;
    if information[1][1] == 0.0 || information[2][2] == 0.0 {
        return Err(Refused::TooFast);
    }
    let parameters = if given.is_some() { 2 } else { 3 };
    let df = points.len() - parameters;
    let variance = minimum.sse / df as f64;
    Ok(ExpFit {
        shape,
        ambient: Celsius(ambient),
        ambient_given: given.is_some(),
        amplitude: Kelvin(amplitude),
        tau: Seconds(tau),
        n: points.len(),
        sse: minimum.sse,
        covariance: (df > 0).then(|| information.map(|row| row.map(|entry| entry * variance))),
    })
}

fn refused(why: NoMinimum) -> Refused {
    match why {
        NoMinimum::Unusable => Refused::NotFinite,
        NoMinimum::NotIdentifiable => Refused::TooFast,
        NoMinimum::NotReached => Refused::NotReached,
    }
}

impl ExpFit {
    /// Degrees of freedom of the residuals.
    pub fn df(&self) -> usize {
        self.n - if self.ambient_given { 2 } else { 3 }
    }

    /// Standard deviation of the residuals; none without degrees of freedom.
    pub fn residual_sd(&self) -> Option<Kelvin> {
        (self.df() > 0).then(|| Kelvin((self.sse / self.df() as f64).sqrt()))
    }

    /// Standard errors of Ta (0 where it was given), A and τ; none without degrees of freedom.
    pub fn std_errors(&self) -> Option<(Kelvin, Kelvin, Seconds)> {
        self.covariance.map(|c| (Kelvin(c[0][0].sqrt()), Kelvin(c[1][1].sqrt()), Seconds(c[2][2].sqrt())))
    }

    /// The curve at `time` with the interval that holds one new reading with probability `confidence`.
    pub fn predict(&self, time: Seconds, confidence: f64) -> Prediction {
        let (height, by_tau) = height(self.shape, time.0, self.tau.0);
        let gradient = [1.0, height, self.amplitude.0 * by_tau];
        let value = self.ambient + self.amplitude * height;
        let spread = || {
            let covariance = self.covariance?;
            let residual = self.residual_sd()?.0;
            let t = t_quantile(confidence, Some(self.df() as f64))?;
            let terms = (0..3).flat_map(|i| (0..3).map(move |j| gradient[i] * covariance[i][j] * gradient[j]));
            let variance = terms.sum::<f64>().max(0.0);
            let se_pred = Kelvin((residual * residual + variance).sqrt());
            Some(Spread { se_mean: Kelvin(variance.sqrt()), se_pred, lo: value - se_pred * t, hi: value + se_pred * t })
        };
        Prediction { value, spread: spread() }
    }

    /// When the curve passes `temperature`, before time 0 as a negative duration; none where it never does.
    pub fn time_to_reach(&self, temperature: Celsius) -> Option<Seconds> {
        let share = (temperature - self.ambient).0 / self.amplitude.0;
        let left = match self.shape {
            Shape::Heating => (-share).ln_1p(),
            Shape::Cooling => share.ln(),
        };
        let time = -self.tau.0 * left;
        time.is_finite().then_some(Seconds(time))
    }
}

/// The curve for Ta = 0 and A = 1, and its derivative by τ.
fn height(shape: Shape, t: f64, tau: f64) -> (f64, f64) {
    let left = (-t / tau).exp();
    let left_by_tau = left * t / (tau * tau);
    match shape {
        Shape::Heating => (-(-t / tau).exp_m1(), -left_by_tau),
        Shape::Cooling => (left, left_by_tau),
    }
}

/// How far the rates searched reach beyond what the readings can tell: 1/k from this many spans of the readings down to
/// this share of their closest gap.
const SLOWEST: f64 = 1e4;
const FASTEST: f64 = 40.0;
/// Rates tried per sign.
const TRIED: i32 = 240;

/// The rate k = 1/τ to start from: for a given k the curve is a straight line in Ta and A, so the whole range of k is
/// searched and no other minimum can be missed. Negative rates, which accelerate, and a straight line compete too.
fn starting_rate(shape: Shape, points: &[(f64, f64)], given: Option<f64>) -> Result<f64, Refused> {
    if !points.iter().all(|(t, y)| t.is_finite() && y.is_finite()) || given.is_some_and(|given| !given.is_finite()) {
        return Err(Refused::NotFinite);
    }
    let mut times: Vec<f64> = points.iter().map(|(t, _)| *t).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    if times.len() < if given.is_some() { 2 } else { 3 } {
        return Err(Refused::TooFew);
    }
    let first = points[0].1;
    if points.iter().all(|(_, y)| *y == first) {
        return Err(Refused::Flat);
    }
    let span = times[times.len() - 1] - times[0];
    let gap = times.windows(2).map(|pair| pair[1] - pair[0]).fold(span, f64::min);
    let slowest = 1.0 / (SLOWEST * span);
    let best = |sign: f64, fastest: f64| {
        let spacing = (fastest / slowest).ln() / f64::from(TRIED);
        (0..=TRIED)
            .map(|i| sign * slowest * (spacing * f64::from(i)).exp())
            .map(|k| (Line::at(shape, points, given, k).sse, k))
            .filter(|(sse, _)| sse.is_finite())
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap_or((f64::INFINITY, sign))
    };
    let (slowing, k) = best(1.0, FASTEST / gap);
    let (accelerating, _) = best(-1.0, FASTEST / span);
    let straight = Line::at(shape, points, given, 0.0).sse;
    // What rounding of the readings alone leaves behind counts as nothing.
    let nothing = 1e-29 * points.iter().map(|(_, y)| y * y).sum::<f64>();
    if straight <= nothing {
        return Err(Refused::Straight);
    }
    if accelerating < slowing && accelerating < straight {
        return Err(Refused::Accelerating);
    }
    if straight <= slowing {
        return Err(Refused::Straight);
    }
    let step = Line::at(shape, points, given, 1e4 / gap).sse;
    if step <= slowing + nothing {
        return Err(Refused::TooFast);
    }
    if Line::at(shape, points, given, k).amplitude <= 0.0 {
        return Err(Refused::WrongDirection);
    }
    Ok(k)
}

/// The best Ta and A for one rate.
struct Line {
    ambient: f64,
    amplitude: f64,
    sse: f64,
}

impl Line {
    /// For k = 0 the limit of the curves, a straight line (a constant for cooling to a given Ta), whose `amplitude` is
    /// its slope.
    fn at(shape: Shape, points: &[(f64, f64)], given: Option<f64>, k: f64) -> Line {
        // The curve's bend with a finite limit for k → 0; times from the first reading where Ta is free to take up the
        // shift, so that nothing overflows.
        let origin = if given.is_some() { 0.0 } else { points.iter().map(|(t, _)| *t).fold(f64::INFINITY, f64::min) };
        let decays = given.is_some() && shape == Shape::Cooling;
        let bend = |t: f64| match k {
            _ if decays => (-k * t).exp(),
            0.0 => t - origin,
            _ => -(-k * (t - origin)).exp_m1() / k,
        };
        let n = points.len() as f64;
        let (mean_bend, mean_y) = match given {
            Some(ambient) => (0.0, ambient),
            None => {
                (points.iter().map(|(t, _)| bend(*t)).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n)
            }
        };
        let (mut across, mut along) = (0.0, 0.0);
        for &(t, y) in points {
            across += (bend(t) - mean_bend) * (y - mean_y);
            along += (bend(t) - mean_bend).powi(2);
        }
        let slope = if along > 0.0 { across / along } else { 0.0 };
        let residual = |&(t, y): &(f64, f64)| (y - mean_y) - slope * (bend(t) - mean_bend);
        let sse = points.iter().map(|point| residual(point).powi(2)).sum();
        let at_origin = mean_y - slope * mean_bend;
        let (ambient, amplitude) = match shape {
            _ if k == 0.0 => (at_origin, slope),
            _ if decays => (at_origin, slope),
            // T = at_origin + (slope/k)(1 − e^(−k (t − origin))), read in the terms of each shape.
            Shape::Heating => {
                let end = at_origin + slope / k;
                let amplitude = slope / k * (k * origin).exp();
                (end - amplitude, amplitude)
            }
            Shape::Cooling => (at_origin + slope / k, -slope / k * (k * origin).exp()),
        };
        Line { ambient, amplitude, sse }
    }
}
