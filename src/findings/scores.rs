//! How the live estimate stood up over the tests of a book, and what follows for the heater when too many readings lie outside its
//! band.

use super::estimate_trace::{Path, Sample};
use super::fits::Fits;
use super::live::{LiveEstimator, NoEstimate};
use super::score::{Score, Share};
use crate::book::Id;
use crate::book::body::Body;
use crate::book::entries::{Book, Part};
use crate::book::entry::{Hash, Scope};
use crate::book::test::{MarkAt, ReadingAt, Test};
use crate::book::timeline::Timeline;
use crate::book::visit::Visit;
use crate::order;
use crate::thermal::{Estimate, HeaterProfile};
use crate::units::{Reading, TestTime, Wall};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Every reading of a test that the profile frozen into it gives an estimate for, in order.
pub fn scores(test: &Test, profile: &HeaterProfile) -> Vec<Score> {
    let times = test.marks.iter().map(|mark| mark.at).chain(test.readings.iter().map(|reading| reading.at));
    let timeline = Timeline::of(test, times.max().unwrap_or(TestTime::HEAT_ON));
    let Ok(follower) = LiveEstimator::of(test, &timeline, profile) else { return Vec::new() };
    follower.scores()
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

/// The reading of a test that is asked about now: far from the estimate before it, and not confirmed yet.
pub fn asked_about<'a>(book: &Book, test: &Test, scores: &'a [Score]) -> Option<&'a Score> {
    scores.iter().find(|score| test.ended.is_none() && score.far && !score.is_confirmed(book))
}

/// Whether the readings of a test say that its heater is not the one of the profile: a confirmed one far off, or too many outside.
fn contradicted(book: &Book, scores: &[Score]) -> bool {
    let mut own = Share::default();
    scores.iter().for_each(|score| own.count(score.outside));
    own.is_improbable() || scores.iter().any(|score| score.contradicts(book))
}

/// The profiles and scores of the tests in a book, each worked out once. All of it follows from the book, and is kept while
/// the revisions of the parts that it was read from are the same.
#[derive(Clone, Debug, Default)]
pub struct Estimates {
    fits: Fits,
    tests: BTreeMap<Id, ScoredTest>,
    /// Visits whose tests are all scored, with their revision and the profiles that were fitted anew until then.
    visits: BTreeMap<Id, (u64, usize)>,
    /// By visit its revision and the kit's, and the newest profile runs that its tests rest on.
    rests_on: BTreeMap<Id, ((u64, u64), BTreeSet<Id>)>,
    /// The records so far, with the revisions of the visits and of the kit then.
    records: ((u64, u64), Vec<(Id, Record)>),
    paths: Vec<Path>,
}

#[derive(Clone, Debug)]
struct ScoredTest {
    test: Id,
    start: Hash,
    visit: Id,
    started_wall: Wall,
    newest_profile_run: Option<Id>,
    profile: Option<Arc<HeaterProfile>>,
    marks: Vec<MarkAt>,
    readings: Vec<ReadingAt>,
    scores: Vec<Score>,
}

impl Estimates {
    /// The heater profile of a test, unless the estimates that rest on it are withdrawn.
    ///
    /// # Errors
    /// Why there is no estimate.
    pub fn profile(&mut self, book: &Book, test: &Test) -> Result<Arc<HeaterProfile>, NoEstimate> {
        let profile_run = newest_profile_run(book, &test.frozen.heater.profile);
        if let Some(share) = profile_run.and_then(|profile_run| self.record(book, profile_run).withdrawn) {
            return Err(NoEstimate::Withdrawn(share));
        }
        self.fit(book, test)
    }

    /// The estimates of a test from heat on to `now`, and the one at `now`.
    ///
    /// # Errors
    /// Why there is none.
    pub fn path(&mut self, book: &Book, test: &Test, now: TestTime) -> Result<(&[Sample], Estimate), NoEstimate> {
        let profile = self.profile(book, test)?;
        if contradicted(book, self.scores(book, test)) {
            return Err(NoEstimate::Contradicted);
        }
        let at = match self.paths.iter().position(|path| path.is_of(test, &profile)) {
            Some(at) => at,
            None => {
                let path = Path::of(test, now, profile)?;
                self.paths.retain(|other| other.test != test.id);
                self.paths.push(path);
                self.paths.len() - 1
            }
        };
        let path = &mut self.paths[at];
        let tip = path.go_to(now)?;
        Ok((&path.samples, tip))
    }

    /// The estimates of a test from heat on to its end, as its heater profile alone has them: whatever other visits say of the profile, a
    /// file that holds this visit gives the same.
    ///
    /// # Errors
    /// Why there are none.
    pub fn course(&mut self, book: &Book, test: &Test, end: TestTime) -> Result<Vec<Sample>, NoEstimate> {
        let profile = self.fit(book, test)?;
        if contradicted(book, self.scores(book, test)) {
            return Err(NoEstimate::Contradicted);
        }
        let mut path = Path::of(test, end, profile)?;
        // A heater that has cooled down without a profile of its cooling has no estimate at the end, and one before.
        let _tip = path.go_to(end);
        Ok(path.samples)
    }

    /// The scores of a test's readings.
    pub fn scores(&mut self, book: &Book, test: &Test) -> &[Score] {
        let profile = self.fit(book, test).ok();
        if !self.tests.get(&test.id).is_some_and(|scored| scored.is_of(test, profile.as_ref())) {
            let scored = ScoredTest {
                test: test.id,
                start: test.start,
                visit: test.visit,
                started_wall: test.started_wall,
                newest_profile_run: newest_profile_run(book, &test.frozen.heater.profile),
                scores: profile.as_ref().map_or_else(Vec::new, |profile| scores(test, profile)),
                profile,
                marks: test.marks.clone(),
                readings: test.readings.clone(),
            };
            self.tests.insert(test.id, scored);
        }
        self.tests.get(&test.id).map_or(&[], |scored| &scored.scores)
    }

    /// How the estimates stood up whose newest profile run this is.
    pub fn record(&mut self, book: &Book, profile_run: Id) -> Record {
        let now = (book.revision(Part::Visits), book.revision(Part::Kit));
        if self.records.0 != now {
            self.records = (now, Vec::new());
        }
        if let Some((_, record)) = self.records.1.iter().find(|(of, _)| *of == profile_run) {
            return *record;
        }
        let visits = self.visits_with(book, profile_run);
        visits.iter().for_each(|visit| self.score(book, *visit));
        // A test whose start was undone stays among the scored ones and counts no more.
        let scored = self.tests.values().filter(|test| visits.contains(&test.visit) && !test.scores.is_empty());
        let scored = scored.filter(|test| test.newest_profile_run == Some(profile_run));
        let record = Record::of(scored.collect());
        self.records.1.push((profile_run, record));
        record
    }

    /// The visits with a test that rests on this newest profile run. Only those that changed are looked through: a mark changes one.
    fn visits_with(&mut self, book: &Book, profile_run: Id) -> BTreeSet<Id> {
        let kit = book.revision(Part::Kit);
        let visits = order::set(book.chains().filter_map(|chain| match chain.scope {
            Scope::Visit(visit) => Some(visit),
            _ => None,
        }));
        for visit in &visits {
            let now = (book.revision(Part::Visit(*visit)), kit);
            if self.rests_on.get(visit).is_some_and(|(then, _)| *then == now) {
                continue;
            }
            let started = book.scope(Scope::Visit(*visit)).filter_map(|entry| match &entry.body {
                Body::TestStarted(started) if !book.is_void(entry) => newest_profile_run(book, &started.heater.profile),
                _ => None,
            });
            self.rests_on.insert(*visit, (now, started.collect()));
        }
        let rests = |visit: &Id| self.rests_on.get(visit).is_some_and(|(_, runs)| runs.contains(&profile_run));
        visits.into_iter().filter(rests).collect()
    }

    /// The profile of these profile runs for a heater at `setting`.
    ///
    /// # Errors
    /// Why there is none.
    pub fn profile_of(
        &mut self,
        book: &Book,
        profile: &[Hash],
        setting: Reading,
    ) -> Result<Arc<HeaterProfile>, NoEstimate> {
        self.fits.profile(book, profile, setting)
    }

    pub(super) fn fit(&mut self, book: &Book, test: &Test) -> Result<Arc<HeaterProfile>, NoEstimate> {
        let heater = &test.frozen.heater;
        self.fits.profile(book, &heater.profile, heater.setting)
    }

    /// Scores the tests of a visit that changed since.
    fn score(&mut self, book: &Book, visit: Id) {
        let now = (book.revision(Part::Visit(visit)), self.fits.refits(book));
        if self.visits.insert(visit, now) == Some(now) {
            return;
        }
        let tests = Visit::of(book, visit).map_or_else(Vec::new, |visit| visit.tests);
        self.tests.retain(|id, scored| scored.visit != visit || tests.iter().any(|test| test.id == *id));
        for test in &tests {
            self.scores(book, test);
        }
    }
}

impl ScoredTest {
    fn is_of(&self, test: &Test, profile: Option<&Arc<HeaterProfile>>) -> bool {
        let same = match (&self.profile, profile) {
            (Some(one), Some(other)) => Arc::ptr_eq(one, other),
            (one, other) => one.is_none() && other.is_none(),
        };
        same && self.start == test.start && self.readings == test.readings && self.marks == test.marks
    }
}

impl Record {
    /// Counts scored tests in the order of their starts. Which of two phones' tests came first is asked of their wall clocks, and
    /// only the moment of a withdrawal hangs on it: what is counted does not.
    fn of(tests: Vec<&ScoredTest>) -> Record {
        let mut record = Record::default();
        for test in order::by(tests, |test| (test.started_wall.0, 0, test.test.to_string())) {
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
