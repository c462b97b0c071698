//! The heater's display while it is not read: an estimate carried from heat on through heating up, hold and
//! cool-down, narrowed by readings and by reaching the top temperature.
//!
//! What is estimated is the temperature that the display shows: its calibration is common to profile, readings and estimate
//! and is no part of the band.

mod band;
mod clock;
mod stretch;

use super::cycle_position::{
    ABOVE, CLOCK, CyclePosition, ERROR, FREE, HEAT, LAG, LAST, LEVEL, RATE, Stage, after, rate, steady_heat,
};
use super::estimate::{Clockwork, Event, Start};
use super::gaussian::{Gaussian, N};
use super::hold::Hold;
use super::profile::HeaterProfile;
use super::profile_run::TAP_LATENCY;
use super::spread::Spread;
use crate::units::{Celsius, Seconds};

/// Probability that the band is meant to cover.
pub const BAND: f64 = 0.95;

/// An estimate under way.
#[derive(Clone, Debug, PartialEq)]
pub struct Live {
    state: Gaussian,
    place: CyclePosition,
    /// The last place that was seen.
    marked: CyclePosition,
    /// When this place was reached, s.
    since: f64,
    at: f64,
    ambient: f64,
    own: Spread,
    cooling: Option<Spread>,
    clockwork: Option<Clockwork>,
    hold: Option<Hold>,
    /// How far the thermostat's sensor is ahead of the display at full heat, K.
    ahead: f64,
    /// Variance of a start that may lie anywhere between ambient and top temperature; gone with the first hold.
    anywhere: f64,
    /// How far the band reached below the end of the last cool-down.
    dip: f64,
    /// Variance of how far the heater's clockwork was behind when the present heat-up began, s².
    loose: f64,
    /// The lowest temperature above ambient that the present heat-up can have.
    floor: f64,
    /// The lowest and highest that this heater may be above ambient, whatever is read later.
    coldest: f64,
    hottest: f64,
    /// Temperature above ambient at the mark "at top temperature" with full heat, its variance, and what of that is spread between profile runs.
    reach: (f64, f64, f64),
    /// Variance of one reading's rounding.
    rounding: f64,
    discrepancy: [f64; 2],
    /// Degrees of freedom of the spread between profile runs.
    df: f64,
}

const FINGER_VARIANCE: f64 = TAP_LATENCY * TAP_LATENCY / 3.0;

/// A heat-up that has slowed down to this share of its rate at ambient is at its end; slower ones give no time.
const SLOWEST: f64 = 0.1;

/// Heat-ups after which the place of a heater that cycles by itself is unknown; it also ends a cycle that takes no time.
const MOST_HEAT_UPS: u32 = 100;

impl Live {
    /// The estimate at heat on.
    pub fn start(profile: &HeaterProfile, start: &Start) -> Live {
        let prior = &profile.prior;
        let ambient = start.ambient.0;
        let mut state = prior.state();
        let rounding = start.resolution.0.powi(2) / 12.0;
        let declared = start.top_u.0.powi(2).max(rounding);
        let mut ahead = 0.0;
        let mut reach = (start.top.0 - ambient, declared + prior.own.mean[1].powi(2) * FINGER_VARIANCE, 0.0);
        state.mean[LEVEL] = start.top.0 - ambient;
        state.all[LEVEL][LEVEL] = declared;
        if let Some(hold) = &prior.hold {
            state.mean[LEVEL] = hold.level.mean[0] - ambient;
            state.all[LEVEL][LEVEL] = hold.level.of_new[0][0];
            state.between[LEVEL][LEVEL] = hold.level.df.map_or(0.0, |_| hold.level.of_new[0][0]);
            // A thermostat in a hotter block is ahead of a display that still rises when it first opens.
            let gap = hold.level.mean[0] - hold.level.mean[1];
            if gap > 2.0 * (hold.level.of_mean[0][0] + hold.level.of_mean[1][1]).sqrt() {
                ahead = gap / (1.0 - steady_heat(&state.mean)).max(SLOWEST);
            }
            reach.0 = hold.level.mean[1] - ambient;
            if hold.level.df.is_some() {
                (reach.1, reach.2) = (hold.level.of_new[1][1], hold.level.of_new[1][1]);
            }
        }
        let hold = prior.hold.and_then(|hold| hold.level.df);
        let dfs = [prior.own.df, prior.cooling.and_then(|cooling| cooling.df), hold];
        let df = dfs.into_iter().flatten().fold(f64::INFINITY, f64::min);
        state.all[ABOVE][ABOVE] += (start.ambient_u.0.powi(2) - prior.ambient_variance).max(0.0);
        let floor = state.mean[ABOVE] - 2.0 * state.all[ABOVE][ABOVE].sqrt();
        // Heat that is on its way to the display still raises it after heat off.
        let level = state.mean[LEVEL];
        let unsure = state.all[LEVEL][LEVEL].sqrt();
        let runs_on = prior.hold.map_or(0.0, |hold| hold.most()) + state.mean[RATE] * state.mean[LAG].max(0.0);
        let mut live = Live {
            state,
            coldest: level.min(0.0),
            hottest: level.max(reach.0) + runs_on + 2.0 * unsure,
            place: (1, Stage::HeatUp),
            marked: (1, Stage::HeatUp),
            since: 0.0,
            at: 0.0,
            ambient,
            own: prior.own,
            cooling: prior.cooling,
            clockwork: start.clockwork,
            hold: prior.hold,
            ahead,
            anywhere: 0.0,
            dip: 0.0,
            loose: 0.0,
            floor,
            reach,
            rounding,
            discrepancy: prior.discrepancy,
            df,
        };
        if !start.cold {
            live.start_anywhere();
        }
        live
    }

    /// Heat comes on and the heater may be anywhere between ambient temperature and its level (rectangular, GUM 4.3.7).
    fn start_anywhere(&mut self) {
        let level = self.state.mean[LEVEL];
        self.anywhere = level * level / 12.0;
        self.state.forget(ABOVE, level / 2.0, self.anywhere);
        self.leave_to_cool();
    }

    /// What the heater has now keeps cooling while heat adds to it.
    fn leave_to_cool(&mut self) {
        if self.cooling.is_some() {
            self.state = self.state.through(&|x| {
                let mut next = *x;
                next[FREE] = x[ABOVE];
                next
            });
        }
    }

    /// The covariance of everything it is about, temperatures in K, times in s.
    pub fn covariance(&self) -> &[[f64; N]; N] {
        &self.state.all
    }

    /// Takes what was seen at `at`, since heat on; events come in the order of their times.
    pub fn take(&mut self, at: Seconds, event: Event) {
        let lamp = self.clockwork.is_some() || matches!(event, Event::AtTop(_) | Event::Reading(_) | Event::AtTrip(..));
        let at = if lamp { at.0 - TAP_LATENCY } else { at.0 };
        let place = match event {
            Event::AtTop(heat_up) => (heat_up, Stage::Hold),
            Event::HeaterOff(heat_up) => (heat_up, Stage::Off),
            Event::HeaterOn(heat_up) => (heat_up, Stage::HeatUp),
            Event::Reading(shown) => return self.read(at, shown, f64::INFINITY),
            Event::AtTrip(shown, lag) => return self.read(at, shown, lag.0),
        };
        self.go_to(at, place);
        if self.place >= place {
            if self.marked < place {
                self.step_back(place);
            }
            return;
        }
        // Whatever lies between was not seen; a heater may also go off before it has heated up to its top temperature.
        while after(self.place) < place {
            let early = place == (self.place.0, Stage::Off) && self.clockwork.is_none();
            if early && self.state.mean[ABOVE] < self.state.mean[LEVEL] {
                break;
            }
            self.enter(after(self.place), false);
        }
        if place.1 == Stage::Hold {
            let ahead = self.ahead;
            let senses = |x: &[f64; N]| x[ABOVE] + x[ERROR] - ahead * (1.0 - x[HEAT]);
            self.state.observe(&senses, self.reach.0, self.reach.1, self.df);
        }
        self.enter(place, true);
        self.marked = place;
    }

    /// The heater is only now where it was thought to have been by its clockwork alone.
    fn step_back(&mut self, place: CyclePosition) {
        let now = self.at;
        self.enter((place.0, Stage::Hold), true);
        if place.1 == Stage::Off {
            self.enter(place, true);
        }
        if let (Stage::HeatUp, Some(clockwork)) = (place.1, self.clockwork) {
            // Off for its own time until now.
            self.at = now - clockwork.off.0;
            self.enter((place.0.saturating_sub(1), Stage::Off), true);
            self.flow(now);
            self.enter(place, true);
        }
        self.marked = place;
    }

    /// Takes a reading; the heater is off for no longer than `off` seconds.
    fn read(&mut self, at: f64, shown: Celsius, off: f64) {
        let before = self.clone();
        self.go_to(at, LAST);
        let shown = shown.0 - self.ambient;
        if let Some((mut found, clock)) = self.weighed(&before, shown, off) {
            found.narrow(shown);
            // The reading has given the time already.
            found.state.forget(CLOCK, 0.0, clock);
            *self = found;
            return;
        }
        let stage = self.place.1;
        let (level, spread) = self.level();
        let least = level + self.hold.map_or(0.0, |hold| self.runs_on() * hold.least());
        if stage == Stage::Hold && self.clock() > 0.0 && shown < least - spread.hypot(2.0 * self.rounding.sqrt()) {
            // It was not seen at its top temperature, and this says that it has not reached it.
            self.place = (self.place.0, Stage::HeatUp);
            self.state.forget(ABOVE, shown, self.rounding);
            self.state.forget(HEAT, 1.0, 0.0);
            self.state.forget(CLOCK, 0.0, 0.0);
            return;
        }
        let short = self.reach.0 - shown + self.ahead * (1.0 - self.state.mean[HEAT]);
        if stage == Stage::HeatUp && self.clockwork.is_some() && (shown >= level - spread || short <= spread) {
            // It holds, since some time that the estimate before this reading leaves open, or will in the time that what is left takes.
            let moves = self.state.project(&rate(stage)).value.max(SLOWEST * self.state.mean[RATE]);
            let open = (self.band(stage, moves).above / moves).min(self.at - self.since);
            let left = (short / self.speed(&self.state.mean)).max(0.0);
            self.enter((self.place.0, Stage::Hold), true);
            self.since += (left - open) / 2.0;
            let unsure = (self.reach.1 + self.rounding) / (moves * moves);
            self.state.forget(CLOCK, 0.0, (left + open).powi(2) / 12.0 + unsure);
            return;
        }
        self.narrow(shown);
    }

    fn narrow(&mut self, shown: f64) {
        let stage = self.place.1;
        let [swing, unsure] = self.swings();
        let late = self.state.project(&rate(stage)).value.powi(2) * FINGER_VARIANCE;
        let shows = move |x: &[f64; N]| x[ABOVE] + x[ERROR] - x[CLOCK] * rate(stage)(x);
        self.state.observe(&shows, shown - self.begins(), self.rounding + swing + unsure + late, self.df);
        self.anywhere = 0.0;
        // What was read lower than the trough says that the trough was lower.
        self.floor = self.floor.min(self.state.mean[ABOVE] - 2.0 * self.state.all[ABOVE][ABOVE].sqrt());
    }
}
