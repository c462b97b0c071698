//! What an estimate says: the value with its band, from the state.

use super::super::cycle_position::{ABOVE, CLOCK, ERROR, LAST, LEVEL, RATE, Stage, at_level, rate};
use super::super::estimate::{Estimate, Unknown};
use super::super::gaussian::Projected;
use super::super::profile_run::TAP_LATENCY;
use super::{BAND, FINGER_VARIANCE, Live, MOST_HEAT_UPS, SLOWEST};
use crate::stats::t_quantile;
use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds};

/// Half the 95 % range of a rectangular distribution in its standard deviations: 0.95 · √3 (GUM 4.3.7).
const RECTANGULAR: f64 = 1.645_448_267_190_434;

/// An estimate that lies further below ambient or above all that the heater reaches is dropped, K. The project's own figure.
const MARGIN: f64 = 5.0;

/// Above ambient: the value, how far below and above it the band reaches, the standard uncertainty.
#[derive(Clone, Copy)]
pub(super) struct Band {
    pub(super) value: f64,
    pub(super) below: f64,
    pub(super) above: f64,
    pub(super) u: f64,
}

impl Live {
    /// The estimate at `at`, since heat on, not before the last event.
    ///
    /// # Errors
    /// Why there is none: after heat off without a cooling profile, or out of range, as after [`MOST_HEAT_UPS`].
    pub fn at(&self, at: Seconds) -> Result<Estimate, Unknown> {
        let mut then = self.clone();
        then.go_to(at.0, LAST);
        let stage = then.place.1;
        if then.cooling.is_none() && then.may_be_off(at.0) {
            return Err(Unknown::NoCooling);
        }
        let (least, most) = then.range().filter(|_| then.place.0 < MOST_HEAT_UPS).ok_or(Unknown::OutOfRange)?;
        let mut moves = then.state.project(&rate(stage));
        let mut band = then.band(stage, moves.value);
        let (level, spread) = then.level();
        let clock = then.clock();
        if stage != Stage::HeatUp && clock > 0.0 {
            self.around(at.0, clock, then.place, &mut band);
        }
        let (mut lo, mut hi) = ((band.value - band.below).max(least), (band.value + band.above).min(most));
        if stage == Stage::HeatUp {
            // The heater goes no higher than it holds and runs on, and no lower than it was.
            let top = level.max(then.reach.0);
            if band.value > top {
                (band.value, moves) = (top, Projected { value: 0.0, ..moves });
            }
            hi = hi.min(level + then.hold.map_or(0.0, |hold| hold.most()) + spread);
            lo = lo.min(level - spread).min(hi);
            // A trough that the value itself lies below is none.
            if then.floor <= band.value {
                lo = lo.max(then.floor).min(hi);
            }
            // Readings that contradict each other may draw the top itself to where no heater is.
            lo = lo.max(least);
        }
        let sound = [band.value, band.u, lo, hi, moves.value, moves.variance].iter().all(|number| number.is_finite());
        if !sound || lo > hi || !(least..=most).contains(&band.value) {
            return Err(Unknown::OutOfRange);
        }
        let u = band.u.min((hi - lo) / 2.0);
        let loose = if stage == Stage::HeatUp { then.loose } else { 0.0 };
        let clock = then.state.all[CLOCK][CLOCK].max(loose);
        let point = |above: f64| Celsius(then.ambient + above);
        Ok(Estimate {
            value: point(band.value.max(lo).min(hi)),
            u: Kelvin(u),
            lo: point(lo),
            hi: point(hi),
            rate: KelvinPerSecond(moves.value),
            rate_u: KelvinPerSecond(moves.variance.sqrt()),
            clock_u: Seconds(clock.sqrt()),
        })
    }

    /// What the display showed to a person who tapped at `at`: a tap comes after what it marks.
    pub fn seen(&self, at: Seconds) -> Option<Estimate> {
        self.at(Seconds(at.0 - TAP_LATENCY)).ok()
    }

    /// Whether what was seen leaves open that the heater still heated up `ago` before a tap at `at`; not where the path says when it stopped.
    pub fn may_heat_up(&self, at: Seconds, ago: Seconds) -> bool {
        let (at, then) = (at.0 - TAP_LATENCY, at.0 - TAP_LATENCY - ago.0);
        let mut live = self.clone();
        live.go_to(at, LAST);
        let clock = live.clock();
        let held_until = |hold: f64| clock > 0.0 && then < live.since - hold + clock;
        match (live.place, live.clockwork) {
            ((_, Stage::HeatUp), _) => {
                let mut earlier = self.clone();
                earlier.go_to(then, LAST);
                let band = earlier.band(Stage::HeatUp, earlier.state.project(&rate(Stage::HeatUp)).value);
                let (level, spread) = live.level();
                band.value - level < band.below.hypot(spread)
            }
            ((_, Stage::Hold), _) => held_until(0.0),
            ((1, Stage::Off), Some(clockwork)) => held_until(clockwork.hold_first.0),
            ((_, Stage::Off), Some(clockwork)) => held_until(clockwork.hold_again.0),
            ((_, Stage::Off), None) => false,
        }
    }

    /// How fast the heater heats up just below its top temperature.
    pub fn top_rate(&self) -> KelvinPerSecond {
        KelvinPerSecond(at_level(&self.state.mean).max(SLOWEST * self.state.mean[RATE]))
    }

    /// The lowest and highest temperature above ambient that the heater can have, with a margin; none where the state says nothing.
    fn range(&self) -> Option<(f64, f64)> {
        let x = &self.state.mean;
        let finite = x.iter().chain(self.state.all.iter().flatten()).all(|number| number.is_finite());
        (finite && x[RATE] > 0.0).then_some((self.coldest - MARGIN, self.hottest + MARGIN))
    }

    pub(super) fn band(&self, stage: Stage, moves: f64) -> Band {
        let found = self.state.project(&|x| x[ABOVE] + x[ERROR] - x[CLOCK] * rate(stage)(x));
        let [swing, unsure] = self.swings();
        // The finger's lateness is in no covariance.
        let late = moves * moves * FINGER_VARIANCE;
        self.reaches(
            Projected { value: found.value + self.begins(), variance: found.variance + unsure + late, ..found },
            swing,
        )
    }

    /// With a part of `swing` that is rectangular.
    pub(super) fn reaches(&self, found: Projected, swing: f64) -> Band {
        let normal = (found.variance - self.anywhere).max(0.0);
        let flat = RECTANGULAR * (swing + self.anywhere).sqrt();
        let reach = (self.factor(normal, found.between) * normal.sqrt()).hypot(flat);
        Band { value: found.value, below: reach, above: reach, u: (normal + swing + self.anywhere).sqrt() }
    }

    /// The held level above ambient and how far its band reaches.
    pub(super) fn level(&self) -> (f64, f64) {
        let (variance, between) = (self.state.all[LEVEL][LEVEL], self.state.between[LEVEL][LEVEL]);
        let reach = self.factor(variance, between) * variance.sqrt();
        (self.state.mean[LEVEL], reach.hypot(RECTANGULAR * self.hold.map_or(0.0, |hold| hold.swing).sqrt()))
    }

    /// Welch–Satterthwaite with one part of finite degrees of freedom (GUM G.4.1), then Student's t.
    pub(super) fn factor(&self, variance: f64, between: f64) -> f64 {
        let df = (between > 0.0).then(|| self.df * (variance / between).powi(2).max(1.0));
        t_quantile(BAND, df.filter(|df| df.is_finite())).unwrap_or(f64::INFINITY)
    }
}
