//! The live estimate of a test from heat on to now, at a limited number of times.

use super::live::{LiveEstimator, NoEstimate};
use crate::book::Id;
use crate::book::entry::Hash;
use crate::book::test::{MarkAt, ReadingAt, Test};
use crate::book::timeline::Timeline;
use crate::thermal::{Estimate, HeaterProfile};
use crate::units::TestTime;
use std::sync::Arc;

/// Most steps of a path: it is drawn over some 300 points across.
const STEPS: i64 = 120;

/// The shortest step, ms: the screen is drawn four times a second, and no heater moves far in a second.
const SHORTEST: i64 = 1_000;

/// When, ms since heat on, and the estimate by what was seen until then; none while the heater cools by a profile without cooling.
pub type Sample = (TestTime, Option<Estimate>);

/// The path of one test. A time is looked at again only when a mark or a reading comes, or the steps grow.
#[derive(Clone, Debug)]
pub(super) struct Path {
    pub(super) test: Id,
    start: Hash,
    marks: Vec<MarkAt>,
    readings: Vec<ReadingAt>,
    profile: Arc<HeaterProfile>,
    heat_on: LiveEstimator,
    follower: LiveEstimator,
    step: i64,
    next: TestTime,
    pub(super) samples: Vec<Sample>,
}

impl Path {
    /// The path of a test at `now`, ms since heat on, with no samples yet. A mark has the time of its tap, and
    /// the screen that is drawn because of it still has the time of the tick before.
    pub(super) fn of(test: &Test, now: TestTime, profile: Arc<HeaterProfile>) -> Result<Path, NoEstimate> {
        let marked = test.marks.iter().map(|mark| mark.at).max();
        let follower = LiveEstimator::of(test, &Timeline::of(test, now.max(marked.unwrap_or(now))), &profile)?;
        Ok(Path {
            test: test.id,
            start: test.start,
            marks: test.marks.clone(),
            readings: test.readings.clone(),
            profile,
            heat_on: follower.clone(),
            follower,
            step: SHORTEST,
            next: TestTime::HEAT_ON,
            samples: Vec::new(),
        })
    }

    /// Whether nothing came to the test or its profile since.
    pub(super) fn is_of(&self, test: &Test, profile: &Arc<HeaterProfile>) -> bool {
        Arc::ptr_eq(&self.profile, profile)
            && self.start == test.start
            && self.marks == test.marks
            && self.readings == test.readings
    }

    /// Goes on to `now`, ms since heat on, and gives the estimate there.
    pub(super) fn go_to(&mut self, now: TestTime) -> Result<Estimate, NoEstimate> {
        let back = self.samples.last().is_some_and(|(last, _)| *last > now);
        if back || now.since_heat_on() / self.step > STEPS {
            while now.since_heat_on() / self.step > STEPS {
                self.step *= 2;
            }
            self.follower = self.heat_on.clone();
            self.next = TestTime::HEAT_ON;
            self.samples.clear();
        }
        while self.next <= now {
            self.look(self.next);
            self.next += self.step;
        }
        self.follower.clone().at(now)
    }

    /// The estimate at the next time; where something was seen it jumps, so it is looked at before and after that.
    fn look(&mut self, at: TestTime) {
        while let Some((when, seen)) = self.follower.next().filter(|(when, _)| *when <= at) {
            self.samples.push((when, self.follower.here(when)));
            self.follower.take(when, seen);
            self.samples.push((when, self.follower.here(when)));
        }
        self.samples.push((at, self.follower.here(at)));
    }
}
