//! What the heater's own clockwork leaves open: it may be ahead of the app's idea of it, or behind.

use super::super::cycle_position::{
    ABOVE, CLOCK, COOL, CyclePosition, LAG, LAST, LEVEL, RATE, Stage, rate, steady_heat,
};
use super::Live;
use super::band::Band;

/// Places looked at to find how high and low the display may be when the heater's clockwork is uncertain.
const LOOKS: i32 = 12;

/// Times looked at to find where in its cycle a heater is whose clockwork is uncertain.
const TIMES: i32 = 60;

/// A reading that is more improbable than this, as a logarithm, at every time within reach is explained by none of them: four
/// standard deviations.
const UNEXPLAINED: f64 = -8.0;

impl Live {
    /// Where the heater is in its cycle when a reading says so and the heater's clockwork may be in more than one place: the likeliest of
    /// its times with their variance; none where there is one place, or no time explains the reading. At such a
    /// time the heater is off for no longer than `off` seconds.
    pub(super) fn weighed(&self, before: &Live, shown: f64, off: f64) -> Option<(Live, f64)> {
        let variance = if self.place.1 == Stage::HeatUp { self.loose } else { self.state.all[CLOCK][CLOCK] };
        let half = 2.0 * variance.sqrt();
        if half <= 0.0 {
            return None;
        }
        let mut path = Live { state: before.state.known(), ..before.clone() };
        // Without a cooling profile its rate is none, and has no variance either.
        let relative = |at: usize| self.state.all[at][at] / self.state.mean[at].powi(2).max(f64::MIN_POSITIVE);
        let swing = self.hold.map_or(0.0, |hold| hold.swing);
        let (level, own) = (self.state.mean[LEVEL], self.state.all[LEVEL][LEVEL] + swing + self.discrepancy[0]);
        let step = 2.0 * half / f64::from(TIMES);
        // How far the clockwork is behind, the place, and the weight of it: normal about 0 and about the reading.
        let mut times: Vec<(f64, CyclePosition, f64)> = Vec::new();
        for look in 0..=TIMES {
            let behind = half - step * f64::from(look);
            if self.at - behind < before.at {
                continue;
            }
            path.go_to(self.at - behind, LAST);
            if path.place.1 == Stage::Off && path.at - path.since > off {
                continue;
            }
            let x = &path.state.mean;
            let below = match path.place.1 {
                Stage::HeatUp => (relative(RATE) + relative(COOL)) * (level - x[ABOVE]).powi(2),
                Stage::Hold => path.swings()[1],
                Stage::Off => relative(COOL) * (level - x[ABOVE]).powi(2) + self.new_off(),
            };
            // Between two of these times the heater moves by so much (rectangular, GUM 4.3.7).
            let between = (rate(path.place.1)(x) * step).powi(2) / 12.0;
            let far = (shown - x[ABOVE] - path.begins()).powi(2) / (own + self.rounding + below + between);
            times.push((behind, path.place, -0.5 * (far + behind * behind / variance)));
        }
        if times.iter().all(|(_, place, _)| *place == self.place) {
            return None;
        }
        let most = times.iter().map(|(.., weight)| *weight).fold(f64::NEG_INFINITY, f64::max);
        if most < UNEXPLAINED {
            return None;
        }
        let weight = |of: &dyn Fn(&(f64, CyclePosition, f64)) -> f64| -> f64 {
            times.iter().map(|time| (time.2 - most).exp() * of(time)).sum()
        };
        let of_place = |place: CyclePosition| weight(&|time| if time.1 == place { 1.0 } else { 0.0 });
        let place = times.iter().map(|time| time.1).max_by(|a, b| of_place(*a).total_cmp(&of_place(*b)))?;
        let behind = weight(&|time| if time.1 == place { time.0 } else { 0.0 }) / of_place(place);
        let mut found = before.clone();
        found.go_to(self.at - behind, LAST);
        (found.at, found.since) = (self.at, found.since + behind);
        // Within a heat-up the reading itself says where the heater is; other places stay possible.
        let counts = |other: CyclePosition| place.1 != Stage::HeatUp || other != place;
        let squares = weight(&|time| if counts(time.1) { (time.0 - behind).powi(2) } else { 0.0 });
        let variance = squares / weight(&|_| 1.0) + if place.1 == Stage::HeatUp { 0.0 } else { step * step / 12.0 };
        if place.1 == Stage::HeatUp {
            found.loose = variance;
        }
        Some((found, variance))
    }

    /// Whether heat may be off at `at`, which is where this state is.
    pub(super) fn may_be_off(&self, at: f64) -> bool {
        match self.place.1 {
            Stage::HeatUp => false,
            Stage::Hold => self.end(at).is_some_and(|end| at + self.clock() >= end),
            Stage::Off => true,
        }
    }

    /// How far the clockwork may be ahead or behind, s, with the probability of the band.
    pub(super) fn clock(&self) -> f64 {
        let variance = self.state.all[CLOCK][CLOCK];
        if variance > 0.0 { self.factor(variance, self.state.between[CLOCK][CLOCK]) * variance.sqrt() } else { 0.0 }
    }

    /// Widens `band` at `at`, where the heater is in `here`, by what lies within `clock` seconds of it on the path.
    pub(super) fn around(&self, at: f64, clock: f64, here: CyclePosition, band: &mut Band) {
        let mut path = Live { state: self.state.known(), ..self.clone() };
        let (_, level) = self.level();
        let (below, above) = (band.below, band.above);
        let next_dip = 2.0 * self.new_off().sqrt();
        for look in 0..=LOOKS {
            let there = at - clock + 2.0 * clock * f64::from(look) / f64::from(LOOKS);
            path.go_to(there, LAST);
            let off = path.state.mean[ABOVE] + path.begins() - band.value;
            if path.place == here && here.1 == Stage::Off {
                // How the clock moves that is in its band.
                continue;
            }
            if path.place == here {
                band.below = band.below.max(below.hypot(-off.min(0.0)));
                band.above = band.above.max(above.hypot(off.max(0.0)));
                continue;
            }
            // Elsewhere in its cycle it is as sure as it was or will be there.
            let reach = match path.place.1 {
                Stage::Hold => level,
                _ if path.place > here => level.hypot(next_dip),
                _ => self.dip,
            };
            band.below = band.below.max(reach - off);
            band.above = band.above.max(reach + off);
        }
    }

    /// How far a cool-down after a hold may lie beside the level, as a variance: it starts beside it, with as much heat as is left then.
    fn new_off(&self) -> f64 {
        let x = &self.state.mean;
        let heat = x[RATE] * x[LAG] * steady_heat(x);
        self.cooling.map_or(0.0, |cooling| cooling.of_new[0][0]) + heat * heat / 3.0
    }
}
