//! How the live estimate stood up: each reading of the display against the band that the estimate had just before it, and what
//! follows for the heater when too many lie outside.

use super::at_trip::HALF_BAND;
use super::live::{Follower, NoEstimate, profile_of_test};
use super::path::{Path, Sample};
use crate::book::Id;
use crate::book::body::Body;
use crate::book::entry::{Hash, Scope};
use crate::book::log::Book;
use crate::book::phase::Timeline;
use crate::book::test::{MarkAt, ReadingAt, Test};
use crate::book::visit::Visit;
use crate::order;
use crate::stats::binomial_tail;
use crate::thermal::{BAND, Estimate, HeaterProfile};
use crate::units::{Kelvin, Reading};
use std::collections::BTreeMap;

/// A reading so far from the estimate before it is asked about: in standard uncertainties. A normal deviation is that large once
/// in 1.7 million, so nearly every such reading is a slip of the finger or a heater that is not the one of the profile. The project's
/// own figure.
pub const FAR: f64 = 5.0;

/// And in steps of the display: what two neighbouring figures on the display explain is not asked about.
const FAR_STEPS: f64 = 2.0;

/// A heater whose estimates are right lets so many tests begin outside the band, or so many readings out of it, with less than this
/// probability: then its estimates are withdrawn. Looked at after every test, a heater with exactly 95 % in the band is withdrawn within
/// 200 tests with probability 1.2 % by their first readings. The project's own figure.
pub const WITHDRAWN_BELOW: f64 = 0.002;

/// One reading against the estimate before it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    /// The reading's entry.
    pub reading: Hash,
    /// The trip it was taken for.
    pub trip: Option<Hash>,
    /// As displayed.
    pub shown: Reading,
    /// The estimate with everything seen until then, this reading not among it.
    pub before: Estimate,
    /// Whether nothing that the display would show so lies in its band.
    pub outside: bool,
    /// Whether it is so far outside that it is asked about.
    pub far: bool,
}

/// Every reading of a test that the profile frozen into it gives an estimate for, in order.
pub fn scores(test: &Test, profile: &HeaterProfile) -> Vec<Score> {
    let times = test.marks.iter().map(|mark| mark.at).chain(test.readings.iter().map(|reading| reading.at));
    let timeline = Timeline::of(test, times.max().unwrap_or(0));
    let Ok(follower) = Follower::of(test, &timeline, profile) else { return Vec::new() };
    follower.scores()
}

impl Score {
    /// Holds a reading against the estimate before it; `display` is the step of the heater's display.
    pub(super) fn of(taken: &ReadingAt, before: Estimate, display: Kelvin) -> Score {
        // A display visits: what it shows stands for half a step on either side.
        let step = taken.reading.resolution().0.max(display.0);
        let shown = taken.reading.celsius();
        let (lo, hi) = ((before.lo - shown).0, (shown - before.hi).0);
        let (off, side) = match (shown - before.value).0 {
            off if off < 0.0 => (-off, before.value - before.lo),
            off => (off, before.hi - before.value),
        };
        let far = FAR * before.u.0.max(side.0 / HALF_BAND);
        Score {
            reading: taken.hash,
            trip: taken.trip,
            shown: taken.reading,
            before,
            outside: lo.max(hi) > step / 2.0,
            far: off - step / 2.0 > far && off > FAR_STEPS * step,
        }
    }

    /// Whether it says that the heater is not the one of the profile: it is far from the estimate, and somebody who was asked said that
    /// it stands.
    pub fn contradicts(&self, book: &Book) -> bool {
        self.far && self.stands(book)
    }

    fn stands(&self, book: &Book) -> bool {
        is_confirmed(book, self.reading)
    }
}

/// Whether somebody said of a reading that was asked about that it is right.
pub fn is_confirmed(book: &Book, reading: Hash) -> bool {
    book.naming(reading).any(|entry| matches!(entry.body, Body::ReadingConfirmed { .. }))
}

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// Outside the band.
    pub outside: u32,
    /// In all.
    pub of: u32,
}

impl Share {
    fn count(&mut self, outside: bool) {
        self.of += 1;
        self.outside += u32::from(outside);
    }

    /// Whether a heater whose estimates are right would hardly let so many out.
    fn is_improbable(self) -> bool {
        binomial_tail(self.of, self.outside, 1.0 - BAND) < WITHDRAWN_BELOW
    }
}

/// How the estimates stood up that rest on one newest profile run, over all tests known here.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Record {
    /// Readings.
    pub readings: Share,
    /// Tests, each by its first reading.
    pub tests: Share,
    /// Tests with any reading outside.
    pub tests_outside: u32,
    /// The readings that withdrew the estimates, at the test that did.
    pub withdrawn: Option<Share>,
}

/// The newest of the profile runs that made a profile: estimates stand or fall with it, because a newer one is what mends them.
pub fn newest_profile_run(book: &Book, profile: &[Hash]) -> Option<Id> {
    match book.get(*profile.first()?)?.body {
        Body::ProfileRunEnded { run, .. } => Some(run),
        _ => None,
    }
}

/// The reading of a test that is asked about now: far from the estimate before it, and nobody has said that it stands.
pub fn asked_about<'a>(book: &Book, test: &Test, scores: &'a [Score]) -> Option<&'a Score> {
    scores.iter().find(|score| test.ended.is_none() && score.far && !score.stands(book))
}

/// Whether the readings of a test say that its heater is not the one of the profile: one far off that stands, or too many outside.
fn contradicted(book: &Book, scores: &[Score]) -> bool {
    let mut own = Share::default();
    scores.iter().for_each(|score| own.count(score.outside));
    own.is_improbable() || scores.iter().any(|score| score.contradicts(book))
}

/// The profiles and scores of the tests in a book, each worked out once. Whatever is taken from it follows from the book alone.
#[derive(Clone, Debug, Default)]
pub struct Estimates {
    fits: Vec<Fit>,
    visits: BTreeMap<Id, ScoredVisit>,
    records: Vec<(Id, Record)>,
    paths: Vec<Path>,
}

#[derive(Clone, Debug)]
struct Fit {
    profile: Vec<Hash>,
    setting: Reading,
    found: Result<HeaterProfile, NoEstimate>,
}

#[derive(Clone, Debug)]
struct ScoredVisit {
    /// Whether something was written to it since.
    stale: bool,
    tests: Vec<ScoredTest>,
}

#[derive(Clone, Debug)]
struct ScoredTest {
    test: Id,
    started_wall: i64,
    newest_profile_run: Option<Id>,
    marks: Vec<MarkAt>,
    readings: Vec<ReadingAt>,
    scores: Vec<Score>,
}

impl Estimates {
    /// Something was written to this part of the book.
    pub fn wrote(&mut self, scope: Scope) {
        let Scope::Visit(visit) = scope else { return };
        self.records.clear();
        if let Some(visit) = self.visits.get_mut(&visit) {
            visit.stale = true;
        }
    }

    /// The heater profile of a test, unless the estimates that rest on it are withdrawn.
    ///
    /// # Errors
    /// Why there is no estimate.
    pub fn profile(&mut self, book: &Book, test: &Test) -> Result<&HeaterProfile, NoEstimate> {
        let profile_run = newest_profile_run(book, &test.frozen.heater.profile);
        if let Some(share) = profile_run.and_then(|profile_run| self.record(book, profile_run).withdrawn) {
            return Err(NoEstimate::Withdrawn(share));
        }
        self.fit(book, test).as_ref().map_err(|why| *why)
    }

    /// The estimates of a test from heat on to `now`, and the one at `now`.
    ///
    /// # Errors
    /// Why there is none.
    pub fn path(&mut self, book: &Book, test: &Test, now: i64) -> Result<(&[Sample], Estimate), NoEstimate> {
        self.profile(book, test)?;
        if contradicted(book, self.scores(book, test)) {
            return Err(NoEstimate::Contradicted);
        }
        let at = match self.paths.iter().position(|path| path.is_of(test)) {
            Some(at) => at,
            None => {
                let path = Path::of(test, now, self.fit(book, test).as_ref().map_err(|why| *why)?)?;
                self.paths.retain(|other| other.test != test.id);
                self.paths.push(path);
                self.paths.len() - 1
            }
        };
        let path = &mut self.paths[at];
        let tip = path.go_to(now)?;
        Ok((&path.samples, tip))
    }

    /// The scores of a test's readings.
    pub fn scores(&mut self, book: &Book, test: &Test) -> &[Score] {
        self.score(book, test.visit);
        let scored = self.visits.get(&test.visit).into_iter().flat_map(|visit| &visit.tests);
        scored.into_iter().find(|scored| scored.test == test.id).map_or(&[], |scored| &scored.scores)
    }

    /// How the estimates stood up whose newest profile run this is.
    pub fn record(&mut self, book: &Book, profile_run: Id) -> Record {
        if let Some((_, record)) = self.records.iter().find(|(of, _)| *of == profile_run) {
            return *record;
        }
        let started = |id: Id| {
            book.test_origins(id).find_map(|entry| match (&entry.body, entry.chain.scope) {
                (Body::TestStarted(started), Scope::Visit(visit)) => {
                    (newest_profile_run(book, &started.heater.profile) == Some(profile_run)).then_some(visit)
                }
                _ => None,
            })
        };
        order::set(book.test_ids().filter_map(started)).into_iter().for_each(|visit| self.score(book, visit));
        let scored = self.visits.values().flat_map(|visit| &visit.tests);
        let scored = scored.filter(|test| test.newest_profile_run == Some(profile_run) && !test.scores.is_empty());
        let record = Record::of(scored.collect());
        self.records.push((profile_run, record));
        record
    }

    fn fit(&mut self, book: &Book, test: &Test) -> &Result<HeaterProfile, NoEstimate> {
        let heater = &test.frozen.heater;
        let known = self.fits.iter().position(|fit| fit.setting == heater.setting && fit.profile == heater.profile);
        let at = known.unwrap_or_else(|| {
            let found = profile_of_test(book, test);
            self.fits.push(Fit { profile: heater.profile.clone(), setting: heater.setting, found });
            self.fits.len() - 1
        });
        &self.fits[at].found
    }

    /// Scores the tests of a visit that changed since.
    fn score(&mut self, book: &Book, visit: Id) {
        if self.visits.get(&visit).is_some_and(|visit| !visit.stale) {
            return;
        }
        let mut before = self.visits.remove(&visit).map_or_else(Vec::new, |visit| visit.tests);
        let mut tests = Vec::new();
        for test in Visit::of(book, visit).into_iter().flat_map(|visit| visit.tests) {
            let known = before.iter().position(|scored| scored.is_of(&test)).map(|at| before.swap_remove(at));
            tests.push(known.unwrap_or_else(|| ScoredTest {
                test: test.id,
                started_wall: test.started_wall,
                newest_profile_run: newest_profile_run(book, &test.frozen.heater.profile),
                scores: self.fit(book, &test).as_ref().map_or_else(|_| Vec::new(), |profile| scores(&test, profile)),
                marks: test.marks,
                readings: test.readings,
            }));
        }
        self.visits.insert(visit, ScoredVisit { stale: false, tests });
    }
}

impl ScoredTest {
    fn is_of(&self, test: &Test) -> bool {
        self.test == test.id && self.readings == test.readings && self.marks == test.marks
    }
}

impl Record {
    /// Counts scored tests in the order of their starts. Which of two phones' tests came first is asked of their wall clocks, and
    /// only the moment of a withdrawal hangs on it: what is counted does not.
    fn of(tests: Vec<&ScoredTest>) -> Record {
        let mut record = Record::default();
        for test in order::by(tests, |test| (test.started_wall, 0, test.test.to_string())) {
            record.count(test.scores.iter().map(|score| score.outside));
        }
        record
    }

    /// Counts one more test by whether each of its readings lay outside, in their order. The readings of one test share its supply and
    /// its air, so they withdraw nothing until a second test has one outside.
    pub fn count(&mut self, outside: impl IntoIterator<Item = bool>) {
        let before = self.readings;
        for outside in outside {
            if self.readings == before {
                self.tests.count(outside);
            }
            self.readings.count(outside);
        }
        // A test inside only makes so many outside more probable.
        if self.readings.outside > before.outside {
            self.tests_outside += 1;
            let readings = self.tests_outside > 1 && self.readings.is_improbable();
            if self.withdrawn.is_none() && (readings || self.tests.is_improbable()) {
                self.withdrawn = Some(self.readings);
            }
        }
    }
}
