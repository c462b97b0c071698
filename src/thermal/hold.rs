//! How the heater holds its top temperature, from the readings that profile runs took after reaching it.

use super::profile_run::ProfileRun;
use super::spread::{Pair, Spread, spread};
use crate::units::Seconds;

/// The held temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Hold {
    /// Level, °C, and the temperature when "at top temperature" is marked, °C; the latter as far as it was marked.
    pub(super) level: Spread,
    /// Variance of one reading about the level of its profile run, late: the thermostat's swing.
    pub(super) swing: f64,
    /// How much more that is about what it begins with.
    early: f64,
    /// What it begins with, K above the level at each of [`SETTLES`].
    begins: Begins,
    /// Whether there are enough readings to tell that from the level.
    pub(super) settles_seen: bool,
}

/// Times since "at top temperature", s, between which the beginning of a hold is drawn by straight lines: the display runs on behind a hotter
/// block, or catches up with it. At the last it has settled. The project's own figure.
const SETTLES: [f64; 5] = [0.0, 8.0, 20.0, 40.0, 60.0];
type Begins = [f64; SETTLES.len()];

/// Sweeps over the times; neighbours share readings, so that a few settle it.
const SWEEPS: usize = 20;

/// A rate is taken over so many seconds on either side.
const NEAR: f64 = 4.0;

/// Fewer readings than this tell no spread of their own.
const FEW: f64 = 3.0;

/// Readings from then on show the level, s.
const LATE: f64 = 40.0;

impl Hold {
    /// How far the display is above its level `time` after it reached its top temperature with full heat.
    pub(super) fn begins_with(&self, time: f64) -> f64 {
        begins_with(&self.begins, time.max(0.0))
    }

    /// How fast that changes, K/s, over some seconds.
    pub(super) fn begins_rate(&self, time: f64) -> f64 {
        let (from, to) = ((time - NEAR).max(0.0), time.max(0.0) + NEAR);
        (self.begins_with(to) - self.begins_with(from)) / (to - from)
    }

    /// What it is less sure than late, as a variance.
    pub(super) fn unsure(&self, time: f64) -> f64 {
        let [.., late, settled] = SETTLES;
        self.early * ((settled - time) / (settled - late)).clamp(0.0, 1.0)
    }

    /// The most of it.
    pub(super) fn most(&self) -> f64 {
        self.begins.into_iter().fold(0.0, f64::max)
    }

    /// The least of it.
    pub(super) fn least(&self) -> f64 {
        self.begins.into_iter().fold(0.0, f64::min)
    }
}

fn begins_with(begins: &Begins, time: f64) -> f64 {
    hats(time).iter().zip(begins).map(|(hat, at)| hat * at).sum()
}

/// How much each of the times has to say of `time`.
fn hats(time: f64) -> Begins {
    std::array::from_fn(|i| {
        let here = SETTLES[i];
        let other = if time < here { i.checked_sub(1) } else { Some(i + 1) };
        match other.and_then(|other| SETTLES.get(other)) {
            Some(other) => (1.0 - (time - here) / (other - here)).max(0.0),
            None => 0.0,
        }
    })
}

/// What the readings after "at top temperature" say; `reached` is the fitted temperature of each profile run at that mark. None
/// where no profile run has two such readings.
pub(super) fn hold(profile_runs: &[ProfileRun], reached: &[Option<f64>]) -> Option<Hold> {
    let mut levels: Vec<Pair> = Vec::new();
    let mut held: Vec<Held> = Vec::new();
    for (profile_run, reached) in profile_runs.iter().zip(reached) {
        let (Some(top_at), Some(reached), Some(level)) = (profile_run.top_at, *reached, level(profile_run)) else {
            continue;
        };
        held.extend(readings(profile_run, top_at).map(|(t, held)| (levels.len(), t, held)));
        levels.push([level, reached]);
    }
    let flat = Fit::of(&levels, &held, 0);
    let settling = Fit::of(&levels, &held, SETTLES.len() - 2);
    let step = profile_runs.iter().map(|profile_run| profile_run.resolution.0.abs()).fold(0.0, f64::max);
    let rounding = step * step / 12.0;
    let of_settling = settling.aicc(&held, rounding);
    let fit = if of_settling < flat.aicc(&held, rounding) { settling } else { flat };
    // What is left of early and late readings, for as many as are free of the fit.
    let free = (held.len() as f64 - fit.fitted()).max(1.0) / held.len() as f64;
    let left = |late: bool| {
        let of = || held.iter().filter(|(_, t, _)| (*t >= LATE) == late);
        (of().map(|reading| fit.left(reading).powi(2)).sum::<f64>() / free, of().count() as f64)
    };
    let (early, late) = (left(false), left(true));
    let mean =
        |(squares, of): (f64, f64)| if of >= FEW { squares / of } else { (early.0 + late.0) / (early.1 + late.1) };
    // A swing within one step does not show: then it is anywhere within that step.
    let swing = (mean(late) - rounding).max(rounding);
    let early = (mean(early) - rounding - swing).max(0.0);
    // With few profile runs the level is taken to differ between them as much as it swings within one.
    let assumed = swing.sqrt();
    Some(Hold {
        level: spread(&fit.levels, [[0.0; 2]; 2], [assumed, assumed])?,
        swing,
        early,
        begins: fit.begins,
        settles_seen: of_settling.is_finite() && late.1 >= FEW,
    })
}

/// The place of its level, the time and the temperature of a reading.
type Held = (usize, f64, f64);

/// Levels and what a hold begins with, by least squares.
struct Fit {
    levels: Vec<Pair>,
    begins: Begins,
    /// How many of the times are fitted.
    times: usize,
}

impl Fit {
    fn of(levels: &[Pair], held: &[Held], times: usize) -> Fit {
        let mut fit = Fit { levels: levels.to_vec(), begins: [0.0; SETTLES.len()], times };
        // One unknown after the other. What a hold begins with is held to nothing by as much as one reading.
        for _ in 0..SWEEPS {
            fit.begins[0] =
                levels.iter().zip(&fit.levels).map(|(of, now)| of[1] - now[0]).sum::<f64>() / levels.len() as f64;
            for i in 1..=times {
                let (mut sum, mut weights) = (0.0, 1.0);
                for reading in held {
                    let hat = hats(reading.1)[i];
                    sum += hat * (fit.left(reading) + hat * fit.begins[i]);
                    weights += hat * hat;
                }
                fit.begins[i] = sum / weights;
            }
            for run in 0..levels.len() {
                let own = || held.iter().filter(|(of, ..)| *of == run);
                fit.levels[run][0] += own().map(|reading| fit.left(reading)).sum::<f64>() / own().count() as f64;
            }
        }
        fit
    }

    /// What is left of a reading.
    fn left(&self, (run, t, held): &Held) -> f64 {
        held - self.levels[*run][0] - begins_with(&self.begins, *t)
    }

    fn fitted(&self) -> f64 {
        (self.levels.len() + self.times) as f64
    }

    /// The criterion of [`super::heat_up::HeatUps::aicc`]; infinite where the readings are too few for it.
    fn aicc(&self, held: &[Held], rounding: f64) -> f64 {
        let (n, p) = (held.len() as f64, self.fitted() + 1.0);
        let spare = n - p - 1.0;
        let squares = held.iter().map(|reading| self.left(reading).powi(2)).sum::<f64>();
        if spare <= 0.0 {
            return f64::INFINITY;
        }
        n * (squares / n).max(rounding).ln() + 2.0 * p + 2.0 * p * (p + 1.0) / spare
    }
}

/// The mean of the readings after "at top temperature", °C, of the late ones where there are two; none from fewer than two.
pub(super) fn level(profile_run: &ProfileRun) -> Option<f64> {
    let top_at = profile_run.top_at?;
    let since = |from: f64| readings(profile_run, top_at).filter(move |(t, _)| *t >= from).map(|(_, held)| held);
    let from = if since(LATE).count() > 1 { LATE } else { 0.0 };
    let of = since(from).count();
    (of > 1).then(|| since(from).sum::<f64>() / of as f64)
}

fn readings(profile_run: &ProfileRun, top_at: Seconds) -> impl Iterator<Item = (f64, f64)> {
    let after = profile_run.heating.iter().filter(move |(t, _)| *t > top_at);
    after.map(move |(t, held)| ((*t - top_at).0, held.0))
}
