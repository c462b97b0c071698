//! The day: what is left of a visit, when that may be done by today's pace, and the first limit before. Never a promise.

use crate::book::Id;
use crate::book::body::Ending;
use crate::book::entries::Book;
use crate::book::off::Impaired;
use crate::book::register::Register;
use crate::book::test::Test;
use crate::book::visit::{Off, Visit, impaired_lately, impaired_limit_ms, impaired_times};
use crate::order;
use crate::stats::{mean_sd, t_quantile};
use crate::units::Wall;
use std::sync::Arc;

/// Fewest times between two tests from which a pace is said. Own figure.
pub const LEAST_INTERVALS: usize = 5;

/// How often the end is to lie in between, if the pace stays as it was. Own figure.
pub const LIKELY: f64 = 0.9;

/// A longer time without the end of a test is a pause and none of the pace, ms: one hour. Own figure.
pub const PAUSE_MS: i64 = 3_600_000;

/// A longer one is the night between two days, ms: five hours. Own figure.
pub const NIGHT_MS: i64 = 5 * 3_600_000;

/// How long a lift check holds, ms: a shift of eight hours. Own figure.
const SHIFT_MS: i64 = 8 * 3_600_000;

/// When what is left may be done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Times between the ends of tests that it rests on.
    pub intervals: usize,
    /// Their mean, ms.
    pub mean_ms: f64,
    /// Their sample standard deviation, ms.
    pub sd_ms: f64,
    /// The earlier end of the span, UTC ms.
    pub earliest: Wall,
    /// The later end of the span, UTC ms.
    pub latest: Wall,
}

/// What a limit is of.
#[derive(Clone, Debug, PartialEq)]
pub enum LimitOf {
    /// The supervising station's time on test.
    Station,
    /// Impairment in 24 h, of the system or of an item.
    Impairment(Option<Arc<Impaired>>),
    /// A permit, by its number.
    Permit(String),
    /// The lift check of a shift.
    Lift,
}

/// A limit of the day.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// What it is of.
    pub what: LimitOf,
    /// When it is reached, UTC ms.
    pub at: Wall,
}

/// What is left of a visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Day {
    /// Positions without a result or a reason, those whose test goes on among them.
    pub left: usize,
    /// When they may be done; none with too few tests today.
    pub pace: Option<Pace>,
    /// The first limit of those that run.
    pub first: Option<Limit>,
}

/// What is left of a visit at `now`, UTC ms.
pub fn day(book: &Book, register: &Register, visit: &Visit, now: Wall) -> Day {
    let left = left(register, visit);
    // A mistake leaves its position to be tested, so it is none of the pace.
    let ended = |test: &Test| {
        let (_, after) = test.ended.filter(|(how, _)| *how != Ending::Mistake)?;
        Some(test.started_wall.saturating_add(after.since_heat_on()))
    };
    let ends = visit.tests.iter().filter_map(ended).collect();
    Day { left, pace: pace(ends, left, now), first: first_limit(book, register, visit, now) }
}

/// On the list, or without one all that may be heated.
fn left(register: &Register, visit: &Visit) -> usize {
    let going_on = |position: Id| visit.active().any(|test| test.frozen.position.of == position);
    let open = |position: Id| !visit.has_result(position) || going_on(position);
    let planned = visit.planned();
    if !planned.is_empty() {
        return planned.into_iter().filter(|position| open(*position)).count();
    }
    let here = register.areas_of(visit.site).into_iter().flat_map(|(area, _)| register.positions_of(area));
    here.filter(|(id, position)| register.may_be_heated(position) && open(*id)).count()
}

/// When so many more are done, from the ends of the tests, UTC ms: the sum of `left` more times like those between them.
///
/// x̄·m ± t·s·√(m + m²/n), Student's t with n − 1 degrees of freedom: the prediction interval for the mean of m more observations of a
/// normal population, times m. Source: G. J. Hahn, Journal of Quality Technology 2 (1970), 168–178 (from memory).
pub fn pace(ends: Vec<Wall>, left: usize, now: Wall) -> Option<Pace> {
    let ends = order::by_number(ends, |end| end.0);
    let last = *ends.last()?;
    if left == 0 || now.saturating_sub(last) >= NIGHT_MS {
        return None;
    }
    let mut times = Vec::new();
    for two in ends.windows(2).rev() {
        match two[1].saturating_sub(two[0]) {
            NIGHT_MS.. => break,
            PAUSE_MS.. => {}
            time => times.push(time as f64),
        }
    }
    let intervals = times.len();
    if intervals < LEAST_INTERVALS {
        return None;
    }
    let found = mean_sd(&times)?;
    let (n, m) = (intervals as f64, left as f64);
    let sd_ms = found.sd?;
    let half = t_quantile(LIKELY, Some(n - 1.0))? * sd_ms * (m + m * m / n).sqrt();
    let from = if now.saturating_sub(last) > PAUSE_MS { now } else { last };
    let at = |ms: f64| from.saturating_add(ms.round() as i64).max(now);
    let (earliest, latest) = (at((m * found.mean - half).max(0.0)), at(m * found.mean + half));
    Some(Pace { intervals, mean_ms: found.mean, sd_ms, earliest, latest })
}

fn first_limit(book: &Book, register: &Register, visit: &Visit, now: Wall) -> Option<Limit> {
    let mut limits = Vec::new();
    limits.extend(visit.window(now).map(|window| Limit { what: LimitOf::Station, at: window.until }));
    if visit.impaired.iter().any(Off::is_off) {
        let visits = impaired_lately(book, visit.site, now);
        let limit = impaired_limit_ms(register, visit.site);
        let times = impaired_times(visits.iter().map(|visit| &**visit), limit, now);
        let runs = times.into_iter().filter(|time| time.runs);
        limits.extend(
            runs.map(|time| Limit { at: now.saturating_add(time.left_ms()), what: LimitOf::Impairment(time.item) }),
        );
    }
    let permits = visit.permits.iter().filter(|permit| permit.in_hand);
    limits.extend(
        permits
            .map(|permit| Limit { what: LimitOf::Permit(permit.permit.number.clone()), at: permit.permit.valid_until }),
    );
    let lift = visit.record.lifts.last().filter(|lift| lift.what.good);
    limits.extend(lift.map(|lift| Limit { what: LimitOf::Lift, at: lift.what.happened.at.saturating_add(SHIFT_MS) }));
    // Of limits at one time the first of these is said.
    order::by_number(limits, |limit| limit.at.0).into_iter().next()
}
