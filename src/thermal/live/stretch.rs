//! How an estimate moves from stretch to stretch: heating up, holding, cooling down.

use super::super::cycle_position::{
    ABOVE, CLOCK, COOL, CyclePosition, ERROR, FREE, HEAT, LAG, LEVEL, RATE, Stage, after, fading, flowed, rate,
    steady_heat,
};
use super::super::gaussian::N;
use super::super::spread::Spread;
use super::{Live, MOST_HEAT_UPS, SLOWEST};

/// How far the heating rate and 1/τc of a stretch differ from those of the one before, as a share: profile runs have one heat-up from
/// cold and one cool-down after a long hold, so that of later ones they do not show how far they are from what is fitted. The project's
/// own figure, no published source.
const DIFFERS: f64 = 0.02;

/// And how far a later heat-up of a heater that cycles by itself differs in its length, as a share. The project's own figure.
const LATER: f64 = 0.1;

/// How well such a heater keeps its times, s. The project's own figure.
const TIMER: f64 = 1.0;

/// Quarters of its lag after which heat that came on raises the display again.
const RAISES: i32 = 16;

impl Live {
    /// Goes on to `at` by the profile and the heater's own clockwork, but not into `limit` or beyond.
    pub(super) fn go_to(&mut self, at: f64, limit: CyclePosition) {
        let goes_on = |live: &Live, end: f64| end <= at && after(live.place) < limit && live.place.0 < MOST_HEAT_UPS;
        while let Some(end) = self.end(at).filter(|end| goes_on(self, *end)) {
            self.flow(end);
            self.enter(after(self.place), false);
        }
        self.flow(at);
    }

    /// When this place ends by itself, as far as that is before `at`.
    pub(super) fn end(&self, at: f64) -> Option<f64> {
        let clockwork = self.clockwork?;
        Some(match self.place {
            (_, Stage::HeatUp) => self.crossing(at)?,
            (1, Stage::Hold) => self.since + clockwork.hold_first.0,
            (_, Stage::Hold) => self.since + clockwork.hold_again.0,
            (_, Stage::Off) => self.since + clockwork.off.0,
        })
    }

    /// When the heat-up reaches the level that the heater holds, if that is before `at`.
    fn crossing(&self, at: f64) -> Option<f64> {
        let x = &self.state.mean;
        let reached = |t: f64| {
            let then = flowed(x, Stage::HeatUp, t);
            then[ABOVE] + x[ERROR] >= self.reach.0 + self.ahead * (1.0 - then[HEAT])
        };
        let (mut low, mut high) = (0.0, at - self.at);
        if !(high >= 0.0 && reached(high)) {
            return None;
        }
        // Halved to a millisecond of an hour.
        for _ in 0..22 {
            let middle = (low + high) / 2.0;
            if reached(middle) { high = middle } else { low = middle }
        }
        Some(self.at + high)
    }

    /// Time passes within one place.
    pub(super) fn flow(&mut self, at: f64) {
        let t = at - self.at;
        let stage = self.place.1;
        if t.is_nan() || t <= 0.0 {
            return;
        }
        self.at = at;
        if stage == Stage::Hold {
            return;
        }
        let [variance, time] = self.discrepancy;
        let (left, faded) = ((-t / time).exp(), fading(&self.state.mean, stage));
        self.state = self.state.through(&|x| {
            let mut next = flowed(x, stage, t);
            next[ERROR] = x[ERROR] * left;
            next
        });
        self.state.add(ERROR, variance * (1.0 - left * left), 0.0);
        self.anywhere *= (-2.0 * faded * t).exp();
    }

    /// A stretch starts a little beside where the one before ended, as the profile runs show: at heat on like from cold, at heat off
    /// like after their heat-up or hold. `of` is that and the quantity at `with`, of which the state knows more by now: what goes with it is
    /// moved along with it, and only the rest is new.
    fn beside(&mut self, of: Option<Spread>, with: usize) {
        let Some(Spread { mean, of_new, df, .. }) = of else { return };
        let goes_along = if of_new[1][1] > 0.0 { of_new[0][1] / of_new[1][1] } else { 0.0 };
        self.state = self.state.through(&|x| {
            let mut next = *x;
            next[ABOVE] += mean[0] + goes_along * (x[with] - mean[1]);
            next
        });
        let rest = (of_new[0][0] - goes_along * of_new[0][1]).max(0.0);
        self.state.add(ABOVE, rest, if df.is_some() { rest } else { 0.0 });
    }

    /// How fast the thermostat's sensor heats up towards its end, K/s.
    pub(super) fn speed(&self, x: &[f64; N]) -> f64 {
        let nears = if x[LAG] > 0.0 { self.ahead * (1.0 - x[HEAT]) / x[LAG] } else { 0.0 };
        (rate(Stage::HeatUp)(x) + nears).max(SLOWEST * x[RATE])
    }

    /// The next place begins now; `seen` says that the heater's clockwork is in step.
    pub(super) fn enter(&mut self, place: CyclePosition, seen: bool) {
        match place.1 {
            Stage::Hold => self.enter_hold(place.0, self.clockwork.is_some() && !seen),
            Stage::Off => {
                self.state.forget(FREE, 0.0, 0.0);
                if self.place.1 == Stage::Hold {
                    self.leave_hold();
                }
                self.beside(self.cooling, COOL);
                self.differs(COOL);
            }
            Stage::HeatUp => self.enter_heat_up(),
        }
        if seen {
            self.state.forget(CLOCK, 0.0, 0.0);
            self.loose = 0.0;
        }
        (self.place, self.since) = (place, self.at);
        if place.1 == Stage::Hold {
            // A clockwork that is ahead began earlier.
            self.since += self.state.mean[CLOCK];
            self.state.mean[CLOCK] = 0.0;
        }
    }

    fn enter_hold(&mut self, heat_up: u32, by_itself: bool) {
        let (reach, variance, between) = self.reach;
        let (took, speed) = (self.at - self.since, self.speed(&self.state.mean));
        self.state = self.state.through(&|x| {
            let mut next = *x;
            next[ABOVE] = x[LEVEL];
            // Later than the profile says by as much as it then still has to heat up, and earlier by no more than it took.
            let left = reach - x[ABOVE] - x[ERROR] + self.ahead * (1.0 - x[HEAT]);
            next[CLOCK] = if by_itself { x[CLOCK] + (left / self.speed(x)).max(-took) } else { 0.0 };
            (next[ERROR], next[FREE]) = (0.0, 0.0);
            next
        });
        if by_itself {
            self.state.add(CLOCK, variance / (speed * speed), between / (speed * speed));
            if heat_up > 1 {
                self.state.add(CLOCK, (LATER * took).powi(2) + TIMER * TIMER, 0.0);
            }
        }
        self.anywhere = 0.0;
    }

    /// The display is where the beginning of its hold has left it, and heat what raises it and makes up for the losses there.
    fn leave_hold(&mut self) {
        let (begins, [swing, unsure], held) = (self.begins(), self.swings(), self.at - self.since);
        let rises = self.hold.map(|hold| self.runs_on() * hold.begins_rate(held));
        self.state = self.state.through(&|x| {
            let mut next = *x;
            let steady = steady_heat(x);
            let left = if x[LAG] > 0.0 { (-held / x[LAG]).exp() } else { 0.0 };
            next[ABOVE] += begins;
            next[HEAT] = match rises {
                Some(rises) => (steady + (rises + x[COOL].max(0.0) * begins) / x[RATE]).clamp(0.0, 1.0),
                None => steady + (x[HEAT] - steady) * left,
            };
            next
        });
        // A thermostat switches: heat is anywhere between nothing and twice what the losses take (rectangular, GUM 4.3.7).
        let steady = steady_heat(&self.state.mean);
        self.state.add(HEAT, steady * steady / 3.0, 0.0);
        // While it holds the profile has no error of its own.
        self.state.add(ABOVE, swing + unsure, 0.0);
        self.state.add(ERROR, self.discrepancy[0], 0.0);
    }

    fn enter_heat_up(&mut self) {
        // The clockwork keeps the time without heat, so when it comes on is uncertain and the trough is not.
        let trough = self.reaches(self.state.project(&|x| x[ABOVE] + x[ERROR]), 0.0);
        self.dip = trough.below;
        self.floor = self.lowest(trough.value) - trough.below;
        self.loose = self.state.all[CLOCK][CLOCK];
        self.leave_to_cool();
        // A clockwork that is behind is a heater that is colder by what it heats up in that time.
        self.state = self.state.through(&|x| {
            let mut next = *x;
            next[ABOVE] -= x[CLOCK] * (x[RATE] + rate(Stage::Off)(x));
            next[CLOCK] = 0.0;
            next
        });
        self.beside(Some(self.own), RATE);
        self.differs(RATE);
        if self.cooling.is_none() {
            // How far it has cooled is unknown.
            self.floor = 0.0_f64.min(self.floor);
            self.start_anywhere();
        }
    }

    /// A stretch that no profile run has goes a little otherwise.
    fn differs(&mut self, with: usize) {
        self.state.add(with, (DIFFERS * self.state.mean[with]).powi(2), 0.0);
    }

    /// The lowest that the display comes to from `above` when heat comes on, which may reach it late.
    fn lowest(&self, above: f64) -> f64 {
        let x = &self.state.mean;
        let lag = x[LAG].max(0.0);
        let mut from = *x;
        (from[FREE], from[ABOVE]) = (above, above);
        (0..=RAISES).map(|t| flowed(&from, Stage::HeatUp, lag * f64::from(t) / 4.0)[ABOVE]).fold(above, f64::min)
    }

    /// How far above its level the display is in this hold by now: with as much of what profile runs began theirs with as heat was more than the
    /// losses take.
    pub(super) fn begins(&self) -> f64 {
        let (Some(hold), Stage::Hold) = (&self.hold, self.place.1) else { return 0.0 };
        self.runs_on() * hold.begins_with(self.at - self.since)
    }

    pub(super) fn runs_on(&self) -> f64 {
        let x = &self.state.mean;
        let steady = steady_heat(x);
        ((x[HEAT] - steady) / (1.0 - steady).max(SLOWEST)).clamp(0.0, 1.0)
    }

    /// Variance of the thermostat's swing, and what the beginning of a hold adds.
    pub(super) fn swings(&self) -> [f64; 2] {
        match (&self.hold, self.place.1) {
            (Some(hold), Stage::Hold) => [hold.swing, hold.unsure(self.at - self.since)],
            _ => [0.0; 2],
        }
    }
}
