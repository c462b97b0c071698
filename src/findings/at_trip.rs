//! What the heat curve says of a trip: where the head was when nobody read it, and how far it went on before the trip was noticed.

use super::figure::{Figure, Input, Quantity};
use super::live::{Follower, Seen};
use super::methods;
use crate::thermal::{Estimate, Event};
use crate::trade::seen::SeenBy;
use crate::units::{Celsius, Kelvin, Seconds};

/// How far the head went on between a trip and the moment it was noticed. It is one-sided and all trips of a run share it, so that it is
/// taken off the mean and no number of trips makes its uncertainty smaller (GUM 5.2, F.2.4.5).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Late {
    /// What is taken off; negative where the head was cooling.
    pub rise: Kelvin,
    /// What the uncertainty of the delay does to it: a later notice is a warmer one where this is positive.
    pub by_delay: Kelvin,
    /// What the uncertainty of the heat curve does to it.
    pub by_curve: Kelvin,
    delay: Seconds,
    delay_u: Seconds,
}

impl Late {
    /// A delay of nothing that is known for certain changes nothing.
    pub(super) const NONE: Late = Late {
        rise: Kelvin(0.0),
        by_delay: Kelvin(0.0),
        by_curve: Kelvin(0.0),
        delay: Seconds(0.0),
        delay_u: Seconds(0.0),
    };

    /// Its standard uncertainty.
    pub fn u(&self) -> Kelvin {
        Kelvin(self.by_delay.0.hypot(self.by_curve.0))
    }

    /// The mean of several: each part is common to all, so that it is averaged as it is.
    pub(super) fn mean(all: &[Late]) -> Option<Late> {
        let (first, n) = (all.first()?, all.len() as f64);
        let mean = |part: fn(&Late) -> Kelvin| Kelvin(all.iter().map(|late| part(late).0).sum::<f64>() / n);
        let [rise, by_delay, by_curve] =
            [mean(|late| late.rise), mean(|late| late.by_delay), mean(|late| late.by_curve)];
        Some(Late { rise, by_delay, by_curve, ..*first })
    }

    /// What a figure lists of it.
    pub(super) fn inputs(&self) -> [Input; 4] {
        let difference = |name: &'static str, value: Kelvin| Input::new(name, value.0, Quantity::Difference);
        [
            difference("rise of the head before it was noticed ΔT", self.rise),
            Input::new("delay of the sign", self.delay.0, Quantity::Duration),
            Input::new("u(delay)", self.delay_u.0, Quantity::Duration),
            difference("rise and its delay u(late)", self.u()),
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
                Input::new("delay of the sign", self.delay.0, Quantity::Duration),
                Input::new("u(delay)", self.delay_u.0, Quantity::Duration),
                difference("from u(delay)", self.by_delay),
                difference("from the heat curve", self.by_curve),
            ],
        }
    }
}

/// The temperature of the display that nobody read, at a trip that was noticed at `at`, ms since heat on; its standard uncertainty is the
/// wider of the estimate's own and that of a normal distribution with its band, but no more than that of a head of which nobody knows
/// more than that it is between ambient temperature and `reach` (rectangular, GUM 4.3.7).
pub(super) fn estimated(
    follower: &Follower,
    at: i64,
    (ambient, reach): (Celsius, Celsius),
) -> Option<(Celsius, Kelvin)> {
    let estimate = before(follower, at).seen(at)?;
    let band = (estimate.hi - estimate.lo).0 / 2.0 / HALF_BAND;
    let anywhere = (reach - ambient).abs().0 / 12.0_f64.sqrt();
    Some((estimate.value, Kelvin(estimate.u.0.max(band).min(anywhere))))
}

/// The 97.5 % point of the normal distribution: half a band of 95 % in standard uncertainties.
pub(super) const HALF_BAND: f64 = 1.959_963_984_540_054;

/// How far the head went on before the trip was noticed at `at`, ms since heat on; `most` is the highest temperature that what was read
/// stands for. None where the curve does not say.
pub(super) fn late(follower: &Follower, seen_by: &SeenBy, at: i64, most: Option<Celsius>) -> Option<Late> {
    let (delay, delay_u) = (seen_by.delay_ms.max(0), seen_by.delay_u_ms.max(0));
    let (d, u) = (Seconds::from_millis(delay), Seconds::from_millis(delay_u));
    let rise = |shift: i64, delay: i64| moved(follower, at, at.saturating_sub(delay).max(0) + shift, at + shift);
    let plain = rise(0, delay)?;
    let prior = before(follower, at).seen(at)?;
    let after = follower.clone().through(at).seen(at)?;
    // By the curve it held, and what was read lies below all that it could hold: then the curve is not that of this head today.
    let held = prior.rate.0 == 0.0 && after.rate.0 == 0.0;
    if most.is_some_and(|most| held && most < prior.lo) {
        return None;
    }
    let earlier = before(follower, at.saturating_sub(delay).max(0)).seen(at.saturating_sub(delay).max(0))?;
    let by_rate = earlier.rate_u.0.max(prior.rate_u.0) * d.0;
    let wider = rise(0, delay.saturating_add(delay_u))? - plain;
    let narrower = plain - rise(0, (delay - delay_u).max(0))?;
    let by_delay = if wider.abs() >= narrower.abs() { wider } else { narrower };
    let clock = (after.clock_u.0 * 1_000.0) as i64;
    let (ahead, behind) = (rise(clock, delay)? - plain, rise(-clock, delay)? - plain);
    let of_clock = ahead.abs().0.max(behind.abs().0);
    let late = Late { rise: plain, by_delay, by_curve: Kelvin(by_rate.hypot(of_clock)), delay: d, delay_u: u };
    let known = before(follower, at);
    let top = known.top_rate();
    Some(match (climbs(&prior), climbs(&after)) {
        // The curve had it holding or off, and what was read says that it still climbs.
        (false, true) => Late { rise: after.rate * d, by_delay: after.rate * u, by_curve: after.rate_u * d, ..late },
        // It holds or is off, and may have climbed within the delay for any part of it (rectangular, GUM 4.3.7). Nothing but heat trips a
        // detector, so that it was not off at the trip.
        (_, false) if known.may_climb(at, d) => {
            let (least, most) = (if earlier.rate.0 < 0.0 { 0.0 } else { plain.0.min(0.0) }, (top * d).0);
            let half = (most - least) / 2.0;
            let by_curve = Kelvin(by_rate.hypot(half / 3.0_f64.sqrt()));
            Late { rise: Kelvin(least + half), by_delay: top * u, by_curve, ..late }
        }
        _ => late,
    })
}

fn climbs(estimate: &Estimate) -> bool {
    estimate.rate.0 > 0.0
}

/// With everything taken up that was seen before `at`, ms since heat on.
fn before(follower: &Follower, at: i64) -> Follower {
    follower.clone().through(at.saturating_sub(1))
}

/// How far the display moves between two times, ms since heat on, by the curve and what was seen before `limit`. What is seen makes the
/// estimate jump; those jumps are no movement of the head and are left out.
fn moved(follower: &Follower, limit: i64, from: i64, to: i64) -> Option<Kelvin> {
    let mut follower = follower.clone().through(from.min(limit.saturating_sub(1)));
    let mut moved = Kelvin(0.0);
    let mut from = (from, follower.seen(from)?);
    while let Some((when, seen)) = follower.next().filter(|(when, _)| *when < limit.min(to)) {
        let here = follower.seen(when)?;
        moved = moved
            + match seen {
                // It climbed until then, whether or not the curve had it there before.
                Seen::Lamp(Event::AtUpper(_)) if !(climbs(&from.1) && climbs(&here)) => {
                    follower.top_rate() * Seconds::from_millis(when - from.0)
                }
                _ => here.value - from.1.value,
            };
        follower.take(when, seen);
        from = (when, follower.seen(when)?);
    }
    Some(moved + (follower.seen(to)?.value - from.1.value))
}
