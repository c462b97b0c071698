//! What the heater profile says of a trip: where the heater was without a reading, and how far it moved before the trip was noticed.

use super::figure::{Figure, Input, Quantity};
use super::live::{LiveEstimator, Seen};
use super::methods;
use super::score::HALF_BAND;
use crate::thermal::{Estimate, Event};
use crate::trade::conditions::Indication;
use crate::units::{Celsius, Kelvin, KelvinPerSecond, Seconds, TestTime};

/// How far the heater went on between a trip and the moment it was noticed. It is one-sided and all trips of a test share it, so that it is
/// taken off the mean and no number of trips makes its uncertainty smaller (GUM 5.2, F.2.4.5).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Late {
    /// What is taken off; negative where the heater was cooling.
    pub rise: Kelvin,
    /// What the uncertainty of the lag does to it: a later notice is a warmer one where this is positive.
    pub by_lag: Kelvin,
    /// What the uncertainty of the heater profile does to it.
    pub by_profile: Kelvin,
    lag: Seconds,
    lag_u: Seconds,
}

impl Late {
    /// A lag of nothing that is known for certain changes nothing.
    pub(super) const NONE: Late = Late {
        rise: Kelvin(0.0),
        by_lag: Kelvin(0.0),
        by_profile: Kelvin(0.0),
        lag: Seconds(0.0),
        lag_u: Seconds(0.0),
    };

    /// Where no profile says how fast the heater rises, but no faster than `most`: anything from no rise to one of the whole lag
    /// and twice its uncertainty is as likely (rectangular, GUM 4.3.7).
    pub(super) fn bounded(indication: &Indication, most: KelvinPerSecond) -> Late {
        let lag = Seconds::from_millis(indication.lag_ms.max(0));
        let lag_u = Seconds::from_millis(indication.lag_u_ms.max(0));
        let half = most * Seconds(lag.0 + 2.0 * lag_u.0) / 2.0;
        Late { rise: half, by_lag: half / 3.0_f64.sqrt(), by_profile: Kelvin(0.0), lag, lag_u }
    }

    /// Its standard uncertainty.
    pub fn u(&self) -> Kelvin {
        Kelvin(self.by_lag.0.hypot(self.by_profile.0))
    }

    /// The mean of several: each part is common to all, so that it is averaged as it is.
    pub(super) fn mean(all: &[Late]) -> Option<Late> {
        let (first, n) = (all.first()?, all.len() as f64);
        let mean = |part: fn(&Late) -> Kelvin| Kelvin(all.iter().map(|late| part(late).0).sum::<f64>() / n);
        let [rise, by_lag, by_profile] =
            [mean(|late| late.rise), mean(|late| late.by_lag), mean(|late| late.by_profile)];
        Some(Late { rise, by_lag, by_profile, ..*first })
    }

    /// What a figure lists of it.
    pub(super) fn inputs(&self) -> [Input; 4] {
        let difference = |name: &'static str, value: Kelvin| Input::new(name, value.0, Quantity::Difference);
        [
            difference("rise of the heater before it was noticed ΔT", self.rise),
            Input::new("lag of the indication", self.lag.0, Quantity::Duration),
            Input::new("u(lag)", self.lag_u.0, Quantity::Duration),
            difference("rise and its lag u(late)", self.u()),
        ]
    }

    /// What is taken off, to be opened.
    pub fn figure(&self) -> Figure {
        let difference = |name: &'static str, value: Kelvin| Input::new(name, value.0, Quantity::Difference);
        Figure {
            method: &methods::LATE,
            value: self.rise.0,
            u: Some(self.u().0),
            quantity: Quantity::Difference,
            inputs: vec![
                Input::new("lag of the indication", self.lag.0, Quantity::Duration),
                Input::new("u(lag)", self.lag_u.0, Quantity::Duration),
                difference("from u(lag)", self.by_lag),
                difference("from the heater profile", self.by_profile),
            ],
        }
    }
}

/// The temperature of the unread display at a trip that was noticed at `at`, ms since heat on; its standard uncertainty is the
/// wider of the estimate's own and that of a normal distribution with its band, but no more than that of a heater of which nobody knows
/// more than that it is between ambient temperature and `reach` (rectangular, GUM 4.3.7).
pub(super) fn estimated(
    follower: &LiveEstimator,
    at: TestTime,
    (ambient, reach): (Celsius, Celsius),
) -> Option<(Celsius, Kelvin)> {
    let estimate = before(follower, at).seen(at)?;
    let band = (estimate.hi - estimate.lo).0 / 2.0 / HALF_BAND;
    let anywhere = (reach - ambient).abs().0 / 12.0_f64.sqrt();
    Some((estimate.value, Kelvin(estimate.u.0.max(band).min(anywhere))))
}

/// How far the heater went on before the trip was noticed at `at`, ms since heat on; `most` is the highest temperature that what was read
/// stands for. None where the profile does not say.
pub(super) fn late(
    follower: &LiveEstimator,
    indication: &Indication,
    at: TestTime,
    most: Option<Celsius>,
) -> Option<Late> {
    let (lag, lag_u) = (indication.lag_ms.max(0), indication.lag_u_ms.max(0));
    let (d, u) = (Seconds::from_millis(lag), Seconds::from_millis(lag_u));
    let rise = |shift: i64, lag: i64| moved(follower, at, (at - lag).max(TestTime::HEAT_ON) + shift, at + shift);
    let plain = rise(0, lag)?;
    let prior = before(follower, at).seen(at)?;
    let after = follower.clone().through(at).seen(at)?;
    // By the profile it held, and what was read lies below all that it could hold: then the profile is not that of this heater today.
    let held = prior.rate.0 == 0.0 && after.rate.0 == 0.0;
    if most.is_some_and(|most| held && most < prior.lo) {
        return None;
    }
    let earlier = before(follower, (at - lag).max(TestTime::HEAT_ON)).seen((at - lag).max(TestTime::HEAT_ON))?;
    let by_rate = earlier.rate_u.0.max(prior.rate_u.0) * d.0;
    let wider = rise(0, lag.saturating_add(lag_u))? - plain;
    let narrower = plain - rise(0, (lag - lag_u).max(0))?;
    let by_lag = if wider.abs() >= narrower.abs() { wider } else { narrower };
    let clock = (after.clock_u.0 * 1_000.0) as i64;
    let (ahead, behind) = (rise(clock, lag)? - plain, rise(-clock, lag)? - plain);
    let of_clock = ahead.abs().0.max(behind.abs().0);
    let late = Late { rise: plain, by_lag, by_profile: Kelvin(by_rate.hypot(of_clock)), lag: d, lag_u: u };
    let known = before(follower, at);
    let top = known.top_rate();
    Some(match (heat_ups(&prior), heat_ups(&after)) {
        // The profile had it holding or off, and what was read says that it still heat-ups.
        (false, true) => Late { rise: after.rate * d, by_lag: after.rate * u, by_profile: after.rate_u * d, ..late },
        // It holds or is off, and may have heated up within the lag for any part of it (rectangular, GUM 4.3.7). Nothing but heat trips a
        // detector, so that it was not off at the trip.
        (_, false) if known.may_heat_up(at, d) => {
            let (least, most) = (if earlier.rate.0 < 0.0 { 0.0 } else { plain.0.min(0.0) }, (top * d).0);
            let half = (most - least) / 2.0;
            let by_profile = Kelvin(by_rate.hypot(half / 3.0_f64.sqrt()));
            Late { rise: Kelvin(least + half), by_lag: top * u, by_profile, ..late }
        }
        _ => late,
    })
}

fn heat_ups(estimate: &Estimate) -> bool {
    estimate.rate.0 > 0.0
}

/// With everything taken up that was seen before `at`, ms since heat on.
fn before(follower: &LiveEstimator, at: TestTime) -> LiveEstimator {
    follower.clone().through(at - 1)
}

/// How far the display moves between two times, ms since heat on, by the profile and what was seen before `limit`. What is seen makes the
/// estimate jump; those jumps are no movement of the heater and are left out.
fn moved(follower: &LiveEstimator, limit: TestTime, from: TestTime, to: TestTime) -> Option<Kelvin> {
    let mut follower = follower.clone().through(from.min(limit - 1));
    let mut moved = Kelvin(0.0);
    let mut from = (from, follower.seen(from)?);
    while let Some((when, seen)) = follower.next().filter(|(when, _)| *when < limit.min(to)) {
        let here = follower.seen(when)?;
        moved = moved
            + match seen {
                // It heated up until then, whether or not the profile had it there before.
                Seen::Lamp(Event::AtTop(_)) if !(heat_ups(&from.1) && heat_ups(&here)) => {
                    follower.top_rate() * Seconds::from_millis(when - from.0)
                }
                _ => here.value - from.1.value,
            };
        follower.take(when, seen);
        from = (when, follower.seen(when)?);
    }
    Some(moved + (follower.seen(to)?.value - from.1.value))
}
