//! Where the head's display stands without anybody seeing it: an estimate carried from heat on through climbing, hold and
//! heat-off, narrowed by readings and by reaching the upper temperature.
//!
//! What is estimated is the temperature that the display shows: its calibration is common to curve, readings and estimate
//! and is no part of the band.

use super::curve::HeatCurve;
use super::gaussian::{Gaussian, N, Projected};
use super::response::{Law, State};
use crate::stats::t_quantile;
use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds};

/// How a run begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// Ambient temperature.
    pub ambient: Celsius,
    /// Its standard uncertainty.
    pub ambient_u: Kelvin,
    /// Whether the head is at ambient temperature. A warm or hot one may be anywhere between ambient and upper temperature.
    pub cold: bool,
    /// The upper temperature as set.
    pub upper: Celsius,
    /// Its standard uncertainty where no ramp has shown how the head holds it: the thermostat's swing and the display's step.
    pub upper_u: Kelvin,
    /// One step of the display.
    pub resolution: Kelvin,
}

/// What happened to the head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// It reached its upper temperature. Not `seen`: by its nominal times, which say nothing of the temperature.
    AtUpper {
        /// Whether somebody saw it.
        seen: bool,
    },
    /// It went off.
    HeadOff {
        /// Whether somebody saw it.
        seen: bool,
    },
    /// It came on.
    HeadOn {
        /// Whether somebody saw it.
        seen: bool,
    },
    /// The display showed this.
    Reading(Celsius),
}

/// The temperature of the display at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The most likely temperature.
    pub value: Celsius,
    /// Its standard uncertainty.
    pub u: Kelvin,
    /// Lower end of the 95 % band.
    pub lo: Celsius,
    /// Upper end of the 95 % band.
    pub hi: Celsius,
    /// How fast it changes.
    pub rate: KelvinPerSecond,
    /// Standard uncertainty of the rate.
    pub rate_u: KelvinPerSecond,
}

/// Probability that the band is meant to cover.
pub const BAND: f64 = 0.95;

/// Places in the state: temperature above ambient and heat, heating rate, k, λ, 1/τc, the curve's own error, the held level
/// above ambient, how far the head's clockwork is behind the app's.
const ABOVE: usize = 0;
const HEAT: usize = 1;
const RATE: usize = 2;
const LOSS: usize = 3;
const LAG: usize = 4;
const COOL: usize = 5;
const ERROR: usize = 6;
const LEVEL: usize = 7;
const CLOCK: usize = 8;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    Climb,
    Hold,
    Off,
}

/// An estimate under way.
#[derive(Clone, Debug, PartialEq)]
pub struct Live {
    state: Gaussian,
    /// The same still climbing, while nobody has seen the upper temperature reached.
    climbing: Option<Gaussian>,
    stage: Stage,
    at: f64,
    ambient: f64,
    /// The lowest temperature above ambient that is believed.
    floor: f64,
    cools: bool,
    /// Variance of the thermostat's swing.
    swing: f64,
    /// Temperature above ambient at the mark "at upper temperature", and its variance.
    reach: (f64, f64),
    /// What one reading's rounding adds.
    rounding: f64,
    discrepancy: [f64; 2],
    /// Degrees of freedom of the spread between ramps.
    df: f64,
}

/// How late or early a tap on "at upper temperature" may be, s, while no three ramps have shown it. From memory: a glance
/// every second; no published source.
const TAP_U: f64 = 1.0;

impl Live {
    /// The estimate at heat on.
    pub fn start(curve: &HeatCurve, start: &Start) -> Live {
        let prior = &curve.prior;
        let ambient = start.ambient.0;
        let mut mean = [0.0; N];
        let mut all = [[0.0; N]; N];
        let mut between = [[0.0; N]; N];
        // Start and rate, with what they owe to k and λ.
        let places = [ABOVE, RATE];
        let common = [LOSS, LAG];
        let (by, shared) = (&prior.by_shared, &prior.shared);
        for i in 0..2 {
            mean[places[i]] = prior.own.mean[i];
            mean[common[i]] = prior.common[i];
            for j in 0..2 {
                let owed: f64 = (0..4).map(|at| by[i][at / 2] * shared[at / 2][at % 2] * by[j][at % 2]).sum();
                all[places[i]][places[j]] = prior.own.of_new[i][j] + owed;
                all[common[i]][common[j]] = shared[i][j];
                let cross = by[i][0] * shared[0][j] + by[i][1] * shared[1][j];
                all[places[i]][common[j]] = cross;
                all[common[j]][places[i]] = cross;
                if prior.own.df.is_some() {
                    between[places[i]][places[j]] = prior.own.of_new[i][j];
                }
            }
        }
        if let Some(cooling) = &prior.cooling {
            mean[COOL] = cooling.mean[0];
            all[COOL][COOL] = cooling.of_new[0][0];
            between[COOL][COOL] = cooling.df.map_or(0.0, |_| cooling.of_new[0][0]);
        }
        all[ERROR][ERROR] = prior.discrepancy[0];
        let rounding = start.resolution.0.powi(2) / 12.0;
        let upper = start.upper.0 - ambient;
        let declared = start.upper_u.0.powi(2).max(rounding);
        let (mut swing, mut reach) = (0.0, (upper, declared + (prior.own.mean[1] * TAP_U).powi(2)));
        mean[LEVEL] = upper;
        all[LEVEL][LEVEL] = declared;
        if let Some(hold) = &prior.hold {
            mean[LEVEL] = hold.level.mean[0] - ambient;
            all[LEVEL][LEVEL] = hold.level.of_new[0][0];
            between[LEVEL][LEVEL] = hold.level.df.map_or(0.0, |_| hold.level.of_new[0][0]);
            swing = hold.swing;
            if hold.level.df.is_some() {
                reach = (hold.level.mean[1] - ambient, hold.level.of_new[1][1]);
            }
        }
        let dfs =
            [prior.own.df, prior.cooling.and_then(|cooling| cooling.df), prior.hold.and_then(|hold| hold.level.df)];
        let df = dfs.into_iter().flatten().fold(f64::INFINITY, f64::min);
        all[ABOVE][ABOVE] += (start.ambient_u.0.powi(2) - prior.ambient_variance).max(0.0);
        let floor = mean[ABOVE] - 2.0 * all[ABOVE][ABOVE].sqrt();
        if !start.cold {
            // Anywhere between ambient and upper temperature: a rectangular distribution (GUM 4.3.7).
            for i in 0..N {
                (all[ABOVE][i], all[i][ABOVE], between[ABOVE][i], between[i][ABOVE]) = (0.0, 0.0, 0.0, 0.0);
            }
            mean[ABOVE] = mean[LEVEL] / 2.0;
            all[ABOVE][ABOVE] = mean[LEVEL].powi(2) / 12.0;
        }
        let state = Gaussian { mean, all, between };
        let cools = prior.cooling.is_some();
        let (stage, discrepancy) = (Stage::Climb, prior.discrepancy);
        Live { state, climbing: None, stage, at: 0.0, ambient, floor, cools, swing, reach, rounding, discrepancy, df }
    }

    /// Takes what happened at `at`, since heat on; events come in the order of their times.
    pub fn take(&mut self, at: Seconds, event: Event) {
        self.go_to(at.0);
        match event {
            Event::AtUpper { seen } if self.stage == Stage::Climb => self.hold(seen),
            Event::HeadOff { seen } if self.stage != Stage::Off => {
                if self.stage == Stage::Hold {
                    self.state.all[ABOVE][ABOVE] += self.swing;
                } else if self.state.mean[ABOVE] > self.state.mean[LEVEL] {
                    // It must have held its upper temperature meanwhile.
                    self.state = self.state.through(&held);
                    self.state.all[ABOVE][ABOVE] += self.swing;
                }
                self.switch(Stage::Off, seen);
            }
            Event::HeadOn { seen } if self.stage == Stage::Off => self.switch(Stage::Climb, seen),
            Event::Reading(shown) => {
                let swing = if self.stage == Stage::Hold { self.swing } else { 0.0 };
                let of = self.output(self.stage);
                self.state.observe(&*of, shown.0 - self.ambient, self.rounding + swing);
            }
            _ => {}
        }
    }

    /// The estimate at `at`, since heat on, not before the last event; none after heat off without a cooling curve.
    pub fn at(&self, at: Seconds) -> Option<Estimate> {
        let mut then = self.clone();
        then.go_to(at.0);
        if then.stage == Stage::Off && !then.cools {
            return None;
        }
        let swing = if then.stage == Stage::Hold { then.swing } else { 0.0 };
        let stage = then.stage;
        let now = then.band(&then.state, stage, swing);
        let level = then.band(&then.state.through(&held), Stage::Hold, then.swing);
        let (mut value, mut lo, mut hi, mut rate_of) = (now.0, now.1, now.2, (&then.state, stage));
        if let Some(climbing) = &then.climbing {
            let climb = then.band(climbing, Stage::Climb, 0.0);
            if climb.0 < value {
                (value, rate_of) = (climb.0, (climbing, Stage::Climb));
            }
            lo = lo.min(climb.1);
        }
        if stage == Stage::Climb {
            // The head goes no higher than it holds.
            if value > level.0 {
                rate_of.1 = Stage::Hold;
            }
            (value, lo, hi) = (value.min(level.0), lo.min(level.1), hi.min(level.2));
        }
        lo = lo.max(then.floor);
        let rate = rate_of.0.project(&rate(rate_of.1));
        let point = |above: f64| Celsius(then.ambient + above);
        Some(Estimate {
            value: point(value),
            u: Kelvin(((hi - lo) / (now.2 - now.1) * now.3).min(now.3)),
            lo: point(lo),
            hi: point(hi),
            rate: KelvinPerSecond(rate.value),
            rate_u: KelvinPerSecond(rate.variance.sqrt()),
        })
    }

    /// Value, both ends of the band and standard uncertainty, above ambient.
    fn band(&self, state: &Gaussian, stage: Stage, swing: f64) -> (f64, f64, f64, f64) {
        let Projected { value, variance, between } = state.project(&*self.output(stage));
        let variance = variance + swing;
        // Welch–Satterthwaite with one part of finite degrees of freedom (GUM G.4.1).
        let df = (between > 0.0).then(|| self.df * (variance / between).powi(2));
        let factor = t_quantile(BAND, df.filter(|df| df.is_finite())).unwrap_or(f64::INFINITY);
        let u = variance.sqrt();
        (value, value - factor * u, value + factor * u, u)
    }

    /// The displayed temperature above ambient. A clockwork that is behind shows what the app's showed then.
    fn output(&self, stage: Stage) -> Box<dyn Fn(&[f64; N]) -> f64> {
        let rate = rate(stage);
        Box::new(move |x| x[ABOVE] + x[ERROR] - x[CLOCK] * rate(x))
    }

    fn go_to(&mut self, at: f64) {
        let t = at - self.at;
        if !(t > 0.0) {
            return;
        }
        self.at = at;
        let forward = |state: &Gaussian, stage: Stage| {
            let [variance, time] = self.discrepancy;
            let left = (-t / time).exp();
            let mut next = state.through(&|x| {
                let mut next = *x;
                if stage != Stage::Hold {
                    let after = law(x, stage).after(State { above: x[ABOVE], heat: x[HEAT] }, t);
                    (next[ABOVE], next[HEAT]) = (after.above, after.heat);
                    next[ERROR] = x[ERROR] * left;
                }
                next
            });
            if stage != Stage::Hold {
                next.all[ERROR][ERROR] += variance * (1.0 - left * left);
            }
            next
        };
        self.state = forward(&self.state, self.stage);
        self.climbing = self.climbing.take().map(|state| forward(&state, Stage::Climb));
    }

    fn hold(&mut self, seen: bool) {
        if seen {
            let of = self.output(Stage::Climb);
            self.state.observe(&*of, self.reach.0, self.reach.1);
            self.state = self.state.through(&held);
        } else {
            self.climbing = Some(self.state.clone());
            self.state = self.state.through(&|x| {
                let mut next = held(x);
                // The climb's nominal time and its end by the curve differ: so much is the clockwork behind.
                let slowest = 0.1 * x[RATE];
                next[CLOCK] = (x[LEVEL] - x[ABOVE] - x[ERROR]) / rate(Stage::Climb)(x).max(slowest) + x[CLOCK];
                next
            });
        }
        self.stage = Stage::Hold;
    }

    fn switch(&mut self, stage: Stage, seen: bool) {
        self.climbing = None;
        self.stage = stage;
        if seen {
            self.state = self.state.through(&|x| {
                let mut next = *x;
                next[CLOCK] = 0.0;
                next
            });
        }
    }
}

/// The state once the head holds: at its level, with as much heat as the losses take, and the curve's error gone.
fn held(x: &[f64; N]) -> [f64; N] {
    let mut next = *x;
    let loss = if x[COOL] > 0.0 { x[COOL] } else { x[LOSS] };
    next[ABOVE] = x[LEVEL];
    next[HEAT] = (loss * x[LEVEL] / x[RATE]).clamp(0.0, 1.0);
    (next[ERROR], next[CLOCK]) = (0.0, 0.0);
    next
}

fn law(x: &[f64; N], stage: Stage) -> Law {
    let (loss, switch) = if stage == Stage::Off { (x[COOL], 0.0) } else { (x[LOSS], 1.0) };
    Law { power: x[RATE], loss, lag: x[LAG].max(0.0), switch }
}

fn rate(stage: Stage) -> impl Fn(&[f64; N]) -> f64 {
    move |x| match stage {
        Stage::Hold => 0.0,
        _ => law(x, stage).rate(State { above: x[ABOVE], heat: x[HEAT] }),
    }
}
