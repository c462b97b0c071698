//! How the live estimate stood up: each reading of the display against the band that the estimate had just before it, and what
//! follows for the head when too many lie outside.

use super::at_trip::HALF_BAND;
use super::live::{Follower, NoEstimate, curve_of_run};
use super::path::{Path, Sample};
use crate::book::Id;
use crate::book::body::Body;
use crate::book::entry::{Hash, Scope};
use crate::book::log::Book;
use crate::book::phase::Timeline;
use crate::book::round::Round;
use crate::book::run::{MarkAt, ReadingAt, Run};
use crate::order;
use crate::stats::binomial_tail;
use crate::thermal::{BAND, Estimate, HeatCurve};
use crate::units::{Kelvin, Reading};
use std::collections::BTreeMap;

/// A reading so far from the estimate before it is asked about: in standard uncertainties. A normal deviation is that large once
/// in 1.7 million, so nearly every such reading is a slip of the finger or a head that is not the one of the curve. The project's
/// own figure.
pub const FAR: f64 = 5.0;

/// And in steps of the display: what two neighbouring figures on the display explain is not asked about.
const FAR_STEPS: f64 = 2.0;

/// A head whose estimates are right lets so many runs out of the band, or more, with less than this probability: then its
/// estimates are withdrawn. Looked at after every run, a head with exactly 95 % in the band is withdrawn within 200 runs with
/// probability 1.2 %; one with half of its runs outside is found within ten runs with 84 %. The project's own figure.
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

/// Every reading of a run that the curve frozen into it gives an estimate for, in order.
pub fn scores(run: &Run, curve: &HeatCurve) -> Vec<Score> {
    let times = run.marks.iter().map(|mark| mark.at).chain(run.readings.iter().map(|reading| reading.at));
    let timeline = Timeline::of(run, times.max().unwrap_or(0));
    let Ok(follower) = Follower::of(run, &timeline, curve) else { return Vec::new() };
    follower.scores()
}

impl Score {
    /// Holds a reading against the estimate before it; `display` is the step of the head's display.
    pub(super) fn of(taken: &ReadingAt, before: Estimate, display: Kelvin) -> Score {
        // A display rounds: what it shows stands for half a step on either side.
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

    /// Whether it says that the head is not the one of the curve: it is far from the estimate, and somebody who was asked said that
    /// it stands.
    pub fn contradicts(&self, book: &Book) -> bool {
        self.far && self.stands(book)
    }

    fn stands(&self, book: &Book) -> bool {
        book.naming(self.reading).any(|entry| matches!(entry.body, Body::ReadingStands { .. }))
    }
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
}

/// How the estimates stood up that rest on one newest ramp, over all runs known here.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Record {
    /// Readings.
    pub readings: Share,
    /// Runs, each by its first reading.
    pub runs: Share,
    /// The runs that withdrew the estimates, at the run that did.
    pub withdrawn: Option<Share>,
}

/// The newest of the ramps that made a curve: estimates stand or fall with it, because a newer one is what mends them.
pub fn newest_ramp(book: &Book, curve: &[Hash]) -> Option<Id> {
    match book.get(*curve.first()?)?.body {
        Body::RampEnded { ramp, .. } => Some(ramp),
        _ => None,
    }
}

/// The reading of a run that is asked about now: far from the estimate before it, and nobody has said that it stands.
pub fn asked_about<'a>(book: &Book, run: &Run, scores: &'a [Score]) -> Option<&'a Score> {
    scores.iter().find(|score| run.ended.is_none() && score.far && !score.stands(book))
}

/// The curves and scores of the runs in a book, each worked out once. Whatever is taken from it follows from the book alone.
#[derive(Clone, Debug, Default)]
pub struct Estimates {
    fits: Vec<Fit>,
    rounds: BTreeMap<Id, ScoredRound>,
    records: Vec<(Id, Record)>,
    paths: Vec<Path>,
}

#[derive(Clone, Debug)]
struct Fit {
    curve: Vec<Hash>,
    setting: Reading,
    found: Result<HeatCurve, NoEstimate>,
}

#[derive(Clone, Debug)]
struct ScoredRound {
    /// Whether something was written to it since.
    stale: bool,
    runs: Vec<ScoredRun>,
}

#[derive(Clone, Debug)]
struct ScoredRun {
    run: Id,
    started_wall: i64,
    newest_ramp: Option<Id>,
    marks: Vec<MarkAt>,
    readings: Vec<ReadingAt>,
    scores: Vec<Score>,
}

impl Estimates {
    /// Something was written to this part of the book.
    pub fn wrote(&mut self, scope: Scope) {
        let Scope::Round(round) = scope else { return };
        self.records.clear();
        if let Some(round) = self.rounds.get_mut(&round) {
            round.stale = true;
        }
    }

    /// The heat curve of a run, unless the estimates that rest on it are withdrawn.
    ///
    /// # Errors
    /// Why there is no estimate.
    pub fn curve(&mut self, book: &Book, run: &Run) -> Result<&HeatCurve, NoEstimate> {
        let ramp = newest_ramp(book, &run.frozen.head.curve);
        if let Some(share) = ramp.and_then(|ramp| self.record(book, ramp).withdrawn) {
            return Err(NoEstimate::Withdrawn(share));
        }
        self.fit(book, run).as_ref().map_err(|why| *why)
    }

    /// The estimates of a run from heat on to `now`, and the one at `now`.
    ///
    /// # Errors
    /// Why there is none.
    pub fn path(&mut self, book: &Book, run: &Run, now: i64) -> Result<(&[Sample], Estimate), NoEstimate> {
        self.curve(book, run)?;
        if self.scores(book, run).iter().any(|score| score.contradicts(book)) {
            return Err(NoEstimate::Contradicted);
        }
        let at = match self.paths.iter().position(|path| path.is_of(run)) {
            Some(at) => at,
            None => {
                let path = Path::of(run, now, self.fit(book, run).as_ref().map_err(|why| *why)?)?;
                self.paths.retain(|other| other.run != run.id);
                self.paths.push(path);
                self.paths.len() - 1
            }
        };
        let path = &mut self.paths[at];
        let tip = path.go_to(now)?;
        Ok((&path.samples, tip))
    }

    /// The scores of a run's readings.
    pub fn scores(&mut self, book: &Book, run: &Run) -> &[Score] {
        self.score(book, run.round);
        let scored = self.rounds.get(&run.round).into_iter().flat_map(|round| &round.runs);
        scored.into_iter().find(|scored| scored.run == run.id).map_or(&[], |scored| &scored.scores)
    }

    /// How the estimates stood up whose newest ramp this is.
    pub fn record(&mut self, book: &Book, ramp: Id) -> Record {
        if let Some((_, record)) = self.records.iter().find(|(of, _)| *of == ramp) {
            return *record;
        }
        let started = |id: Id| {
            book.run_origins(id).find_map(|entry| match (&entry.body, entry.chain.scope) {
                (Body::RunStarted(started), Scope::Round(round)) => {
                    (newest_ramp(book, &started.head.curve) == Some(ramp)).then_some(round)
                }
                _ => None,
            })
        };
        order::set(book.run_ids().filter_map(started)).into_iter().for_each(|round| self.score(book, round));
        let scored = self.rounds.values().flat_map(|round| &round.runs);
        let scored = scored.filter(|run| run.newest_ramp == Some(ramp) && !run.scores.is_empty());
        let record = Record::of(scored.collect());
        self.records.push((ramp, record));
        record
    }

    fn fit(&mut self, book: &Book, run: &Run) -> &Result<HeatCurve, NoEstimate> {
        let head = &run.frozen.head;
        let known = self.fits.iter().position(|fit| fit.setting == head.setting && fit.curve == head.curve);
        let at = known.unwrap_or_else(|| {
            let found = curve_of_run(book, run);
            self.fits.push(Fit { curve: head.curve.clone(), setting: head.setting, found });
            self.fits.len() - 1
        });
        &self.fits[at].found
    }

    /// Scores the runs of a round that changed since.
    fn score(&mut self, book: &Book, round: Id) {
        if self.rounds.get(&round).is_some_and(|round| !round.stale) {
            return;
        }
        let mut before = self.rounds.remove(&round).map_or_else(Vec::new, |round| round.runs);
        let mut runs = Vec::new();
        for run in Round::of(book, round).into_iter().flat_map(|round| round.runs) {
            let known = before.iter().position(|scored| scored.is_of(&run)).map(|at| before.swap_remove(at));
            runs.push(known.unwrap_or_else(|| ScoredRun {
                run: run.id,
                started_wall: run.started_wall,
                newest_ramp: newest_ramp(book, &run.frozen.head.curve),
                scores: self.fit(book, &run).as_ref().map_or_else(|_| Vec::new(), |curve| scores(&run, curve)),
                marks: run.marks,
                readings: run.readings,
            }));
        }
        self.rounds.insert(round, ScoredRound { stale: false, runs });
    }
}

impl ScoredRun {
    fn is_of(&self, run: &Run) -> bool {
        self.run == run.id && self.readings == run.readings && self.marks == run.marks
    }
}

impl Record {
    /// Counts scored runs in the order of their starts. Which of two phones' runs came first is asked of their wall clocks, and
    /// only the moment of a withdrawal hangs on it: what is counted does not.
    fn of(runs: Vec<&ScoredRun>) -> Record {
        let mut record = Record::default();
        for run in order::by(runs, |run| (run.started_wall, 0, run.run.to_string())) {
            run.scores.iter().for_each(|score| record.readings.count(score.outside));
            let began_outside = run.scores.iter().take(1).any(|score| score.outside);
            record.runs.count(began_outside);
            let Share { outside, of } = record.runs;
            // A run inside only makes so many outside more probable.
            let improbable = || binomial_tail(of, outside, 1.0 - BAND) < WITHDRAWN_BELOW;
            if began_outside && record.withdrawn.is_none() && improbable() {
                record.withdrawn = Some(record.runs);
            }
        }
        record
    }
}
