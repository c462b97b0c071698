//! Where the heater's display stands without anybody seeing it: an estimate carried from heat on through heating up, hold and
//! cool-down, narrowed by readings and by reaching the top temperature.
//!
//! What is estimated is the temperature that the display shows: its calibration is common to profile, readings and estimate
//! and is no part of the band.

mod clock;

use super::estimate::{Clockwork, Estimate, Event, Start};
use super::gaussian::{Gaussian, N, Projected};
use super::place::{
    ABOVE, CLOCK, COOL, ERROR, FREE, HEAT, LAST, LEVEL, Place, RATE, Stage, after, at_level, fading, flowed, held, rate,
};
use super::profile::HeaterProfile;
use super::spread::Spread;
use crate::stats::t_quantile;
use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds};

/// Probability that the band is meant to cover.
pub const BAND: f64 = 0.95;

/// An estimate under way.
#[derive(Clone, Debug, PartialEq)]
pub struct Live {
    state: Gaussian,
    place: Place,
    /// The last place that somebody saw.
    marked: Place,
    /// When this place was reached, s.
    since: f64,
    at: f64,
    ambient: f64,
    own: Spread,
    cooling: Option<Spread>,
    clockwork: Option<Clockwork>,
    /// Variance of the thermostat's swing.
    swing: f64,
    /// Variance of a start that may lie anywhere between ambient and top temperature; gone with the first hold.
    anywhere: f64,
    /// Variance of how far the heater's clockwork was behind when the present heat-up began, s².
    loose: f64,
    /// The lowest temperature above ambient that the present heat-up can have.
    floor: f64,
    /// Temperature above ambient at the mark "at top temperature", its variance, and what of that is spread between profile runs.
    reach: (f64, f64, f64),
    /// Variance of one reading's rounding.
    rounding: f64,
    discrepancy: [f64; 2],
    /// Degrees of freedom of the spread between profile runs.
    df: f64,
}

/// A tap comes after what it marks, by up to a second: half of that is taken off, and it may be that much on either side
/// (rectangular, GUM 4.3.7). The project's own figure, no published source. A person is late in the same way every time, so no
/// number of readings makes this smaller.
pub const FINGER: f64 = 0.5;
const FINGER_VARIANCE: f64 = FINGER * FINGER / 3.0;

/// Half the 95 % range of a rectangular distribution in its standard deviations: 0.95 · √3 (GUM 4.3.7).
const RECTANGULAR: f64 = 1.645_448_267_190_434;

/// A heat-up that has slowed down to this share of its rate at ambient is at its end; times are not told by slower ones.
const SLOWEST: f64 = 0.1;

/// Heat-ups after which nobody knows any more where a heater is that cycles by itself; it also ends a cycle that takes no time.
const MOST_HEAT_UPS: u32 = 100;

/// Above ambient: the value, how far below and above it the band reaches, the standard uncertainty.
#[derive(Clone, Copy)]
struct Band {
    value: f64,
    below: f64,
    above: f64,
    u: f64,
}

impl Live {
    /// The estimate at heat on.
    pub fn start(profile: &HeaterProfile, start: &Start) -> Live {
        let prior = &profile.prior;
        let ambient = start.ambient.0;
        let mut state = prior.state();
        let rounding = start.resolution.0.powi(2) / 12.0;
        let declared = start.top_u.0.powi(2).max(rounding);
        let mut swing = 0.0;
        let mut reach = (start.top.0 - ambient, declared + prior.own.mean[1].powi(2) * FINGER_VARIANCE, 0.0);
        state.mean[LEVEL] = start.top.0 - ambient;
        state.all[LEVEL][LEVEL] = declared;
        if let Some(hold) = &prior.hold {
            state.mean[LEVEL] = hold.level.mean[0] - ambient;
            state.all[LEVEL][LEVEL] = hold.level.of_new[0][0];
            state.between[LEVEL][LEVEL] = hold.level.df.map_or(0.0, |_| hold.level.of_new[0][0]);
            swing = hold.swing;
            if hold.level.df.is_some() {
                let variance = hold.level.of_new[1][1];
                reach = (hold.level.mean[1] - ambient, variance, variance);
            }
        }
        let hold = prior.hold.and_then(|hold| hold.level.df);
        let dfs = [prior.own.df, prior.cooling.and_then(|cooling| cooling.df), hold];
        let df = dfs.into_iter().flatten().fold(f64::INFINITY, f64::min);
        state.all[ABOVE][ABOVE] += (start.ambient_u.0.powi(2) - prior.ambient_variance).max(0.0);
        let floor = state.mean[ABOVE] - 2.0 * state.all[ABOVE][ABOVE].sqrt();
        let mut live = Live {
            state,
            place: (1, Stage::HeatUp),
            marked: (1, Stage::HeatUp),
            since: 0.0,
            at: 0.0,
            ambient,
            own: prior.own,
            cooling: prior.cooling,
            clockwork: start.clockwork,
            swing,
            anywhere: 0.0,
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

    /// What the heater has now goes on cooling while heat adds to it.
    fn leave_to_cool(&mut self) {
        if self.cooling.is_some() {
            self.state = self.state.through(&|x| {
                let mut next = *x;
                next[FREE] = x[ABOVE];
                next
            });
        }
    }

    /// Takes what was seen at `at`, since heat on; events come in the order of their times.
    pub fn take(&mut self, at: Seconds, event: Event) {
        let lamp = self.clockwork.is_some() || matches!(event, Event::AtTop(_) | Event::Reading(_) | Event::AtTrip(..));
        let at = if lamp { at.0 - FINGER } else { at.0 };
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
            self.state.observe(&|x| x[ABOVE] + x[ERROR], self.reach.0, self.reach.1, self.df);
        }
        self.enter(place, true);
        self.marked = place;
    }

    /// The heater is only now where it was thought to have been by its clockwork alone.
    fn step_back(&mut self, place: Place) {
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
            // The reading has told the time already.
            found.state.forget(CLOCK, 0.0, clock);
            *self = found;
            return;
        }
        let stage = self.place.1;
        let (level, spread) = self.level();
        if stage == Stage::Hold && self.clock() > 0.0 && shown < level - spread.hypot(2.0 * self.rounding.sqrt()) {
            // Nobody saw it reach its top temperature, and this says that it has not.
            self.place = (self.place.0, Stage::HeatUp);
            self.state.forget(ABOVE, shown, self.rounding);
            self.state.forget(HEAT, 1.0, 0.0);
            self.state.forget(CLOCK, 0.0, 0.0);
            return;
        }
        if stage == Stage::HeatUp && self.clockwork.is_some() && shown >= level - spread {
            // It holds, since some time that the estimate before this reading leaves open, or will in the time that what is left takes.
            let moves = self.state.project(&rate(stage)).value.max(SLOWEST * self.state.mean[RATE]);
            let band = self.band(stage, moves);
            let open = (band.above / moves).min(self.at - self.since);
            let left = ((self.reach.0 - shown) / moves).max(0.0);
            self.enter((self.place.0, Stage::Hold), true);
            self.since += (left - open) / 2.0;
            self.state.forget(CLOCK, 0.0, (left + open).powi(2) / 12.0);
            return;
        }
        self.narrow(shown);
    }

    fn narrow(&mut self, shown: f64) {
        let stage = self.place.1;
        let swing = if stage == Stage::Hold { self.swing } else { 0.0 };
        let late = self.state.project(&rate(stage)).value.powi(2) * FINGER_VARIANCE;
        let shows = move |x: &[f64; N]| x[ABOVE] + x[ERROR] - x[CLOCK] * rate(stage)(x);
        self.state.observe(&shows, shown, self.rounding + swing + late, self.df);
        self.anywhere = 0.0;
    }

    /// The estimate at `at`, since heat on, not before the last event; none after heat off without a cooling profile, and none after
    /// [`MOST_HEAT_UPS`].
    pub fn at(&self, at: Seconds) -> Option<Estimate> {
        let mut then = self.clone();
        then.go_to(at.0, LAST);
        let stage = then.place.1;
        if then.place.0 >= MOST_HEAT_UPS || (then.cooling.is_none() && then.may_be_off(at.0)) {
            return None;
        }
        let mut moves = then.state.project(&rate(stage));
        let mut band = then.band(stage, moves.value);
        let (level, spread) = then.level();
        let clock = then.clock();
        if stage != Stage::HeatUp && clock > 0.0 {
            let (low, high) = self.around(at.0, clock, stage == Stage::Hold);
            band.below = band.below.hypot(band.value - low.min(band.value));
            band.above = band.above.hypot(high.max(band.value) - band.value);
        }
        let (mut lo, mut hi) = (band.value - band.below, band.value + band.above);
        if stage == Stage::HeatUp {
            // The heater goes no higher than it holds, and no lower than it was.
            if band.value > level {
                (band.value, moves) = (level, Projected { value: 0.0, ..moves });
            }
            hi = hi.min(level + spread);
            lo = lo.min(level - spread).max(then.floor).min(hi);
        }
        let u = band.u.min((hi - lo) / 2.0);
        let loose = if stage == Stage::HeatUp { then.loose } else { 0.0 };
        let point = |above: f64| Celsius(then.ambient + above);
        Some(Estimate {
            value: point(band.value.max(lo).min(hi)),
            u: Kelvin(u),
            lo: point(lo),
            hi: point(hi),
            rate: KelvinPerSecond(moves.value),
            rate_u: KelvinPerSecond(moves.variance.sqrt()),
            clock_u: Seconds((then.state.all[CLOCK][CLOCK].max(0.0) + loose).sqrt()),
        })
    }

    /// What the display showed when somebody saw it who tapped at `at`: a tap comes after what it marks.
    pub fn seen(&self, at: Seconds) -> Option<Estimate> {
        self.at(Seconds(at.0 - FINGER))
    }

    /// Whether what was seen leaves open that the heater still heated up `ago` before a tap at `at`; not where the path says when it stopped.
    pub fn may_heat_up(&self, at: Seconds, ago: Seconds) -> bool {
        let (at, then) = (at.0 - FINGER, at.0 - FINGER - ago.0);
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

    /// How fast the heater heat-ups just below its top temperature.
    pub fn top_rate(&self) -> KelvinPerSecond {
        KelvinPerSecond(at_level(&self.state.mean).max(SLOWEST * self.state.mean[RATE]))
    }

    fn band(&self, stage: Stage, moves: f64) -> Band {
        let found = self.state.project(&|x| x[ABOVE] + x[ERROR] - x[CLOCK] * rate(stage)(x));
        // How the clockwork moves the path is looked at apart, and the finger's lateness is in no covariance.
        let clock = moves * moves * self.state.all[CLOCK][CLOCK];
        let normal = (found.variance - clock - self.anywhere).max(0.0) + moves * moves * FINGER_VARIANCE;
        let swing = if stage == Stage::Hold { self.swing } else { 0.0 };
        let flat = RECTANGULAR * (swing + self.anywhere).sqrt();
        let reach = (self.factor(normal, found.between) * normal.sqrt()).hypot(flat);
        Band { value: found.value, below: reach, above: reach, u: (normal + swing + self.anywhere + clock).sqrt() }
    }

    /// The held level above ambient and how far its band reaches.
    fn level(&self) -> (f64, f64) {
        let (variance, between) = (self.state.all[LEVEL][LEVEL], self.state.between[LEVEL][LEVEL]);
        let reach = self.factor(variance, between) * variance.sqrt();
        (self.state.mean[LEVEL], reach.hypot(RECTANGULAR * self.swing.sqrt()))
    }

    /// Welch–Satterthwaite with one part of finite degrees of freedom (GUM G.4.1), then Student's t.
    fn factor(&self, variance: f64, between: f64) -> f64 {
        let df = (between > 0.0).then(|| self.df * (variance / between).powi(2).max(1.0));
        t_quantile(BAND, df.filter(|df| df.is_finite())).unwrap_or(f64::INFINITY)
    }

    /// Goes on to `at` by the profile and the heater's own clockwork, but not into `limit` or beyond.
    fn go_to(&mut self, at: f64, limit: Place) {
        let goes_on = |live: &Live, end: f64| end <= at && after(live.place) < limit && live.place.0 < MOST_HEAT_UPS;
        while let Some(end) = self.end(at).filter(|end| goes_on(self, *end)) {
            self.flow(end);
            self.enter(after(self.place), false);
        }
        self.flow(at);
    }

    /// When this place ends by itself, as far as that is before `at`.
    fn end(&self, at: f64) -> Option<f64> {
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
        let reached = |t: f64| flowed(x, Stage::HeatUp, t)[ABOVE] + x[ERROR] >= self.reach.0;
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
    fn flow(&mut self, at: f64) {
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
        if !self.state.is_known() {
            self.state.all[ERROR][ERROR] += variance * (1.0 - left * left);
        }
        self.anywhere *= (-2.0 * faded * t).exp();
    }

    /// A stretch starts a little beside where the one before ended, as the profile runs show: at heat on like from cold, at heat off
    /// like after their heat-up or hold. `of` is that and the quantity at `with`.
    fn beside(&mut self, of: Option<Spread>, with: usize) {
        let Some(Spread { mean, of_new, df, .. }) = of else { return };
        self.state.mean[ABOVE] += mean[0];
        if self.state.is_known() {
            return;
        }
        let add = |m: &mut [[f64; N]; N]| {
            m[ABOVE][ABOVE] += of_new[0][0];
            m[ABOVE][with] += of_new[0][1];
            m[with][ABOVE] += of_new[0][1];
        };
        add(&mut self.state.all);
        if df.is_some() {
            add(&mut self.state.between);
        }
    }

    /// The next place begins now; `seen` says that the heater's clockwork is in step.
    fn enter(&mut self, place: Place, seen: bool) {
        match place.1 {
            Stage::Hold => {
                let by_itself = self.clockwork.is_some() && !seen;
                let (reach, variance, between) = self.reach;
                let speed = rate(Stage::HeatUp)(&self.state.mean).max(SLOWEST * self.state.mean[RATE]);
                self.state = self.state.through(&|x| {
                    let mut next = held(x);
                    // Later than the profile says by as much as it then still has to heat-up.
                    let behind = (reach - x[ABOVE] - x[ERROR]) / rate(Stage::HeatUp)(x).max(SLOWEST * x[RATE]);
                    next[CLOCK] = if by_itself { behind } else { 0.0 };
                    next
                });
                if by_itself && !self.state.is_known() {
                    self.state.all[CLOCK][CLOCK] += variance / (speed * speed);
                    self.state.between[CLOCK][CLOCK] += between / (speed * speed);
                }
                self.anywhere = 0.0;
            }
            Stage::Off => {
                self.state.forget(FREE, 0.0, 0.0);
                if self.place.1 == Stage::Hold && !self.state.is_known() {
                    self.state.all[ABOVE][ABOVE] += self.swing;
                    self.state.all[ERROR][ERROR] = self.discrepancy[0];
                }
                self.beside(self.cooling, COOL);
            }
            Stage::HeatUp => {
                // The clockwork keeps the time without heat, so when it comes on is uncertain and the trough is not.
                let trough = self.band(Stage::Off, 0.0);
                self.floor = trough.value - trough.below;
                self.loose = self.state.all[CLOCK][CLOCK];
                self.leave_to_cool();
                // A clockwork that is behind is a heater that is colder by what it heat-ups in that time.
                self.state = self.state.through(&|x| {
                    let mut next = *x;
                    next[ABOVE] -= x[CLOCK] * (x[RATE] + rate(Stage::Off)(x));
                    next[CLOCK] = 0.0;
                    next
                });
                self.beside(Some(self.own), RATE);
                if self.cooling.is_none() {
                    // How far it has cooled nobody knows.
                    self.floor = 0.0_f64.min(self.floor);
                    self.start_anywhere();
                }
            }
        }
        if seen {
            self.state.forget(CLOCK, 0.0, 0.0);
            self.loose = 0.0;
        }
        (self.place, self.since) = (place, self.at);
    }
}
