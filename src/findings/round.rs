//! The runs of one round, odd ones first, and what was found and left of each detector.

use super::families::{Family, families};
use super::live::{NoEstimate, curve_of_run};
use super::run::{Odd, RunFindings, findings};
use crate::book::Id;
use crate::book::log::Book;
use crate::book::round::Round;
use crate::order;
use crate::thermal::HeatCurve;
use std::collections::BTreeMap;

/// The runs of one detector in a round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DetectorRuns {
    /// The detector.
    pub detector: Id,
    /// Runs that follow none; two phones can make two, and both are shown.
    pub as_found: Vec<Id>,
    /// Runs that follow another one and that none follows.
    pub as_left: Vec<Id>,
}

/// What a round says.
#[derive(Clone, Debug, PartialEq)]
pub struct RoundFindings {
    /// The round.
    pub round: Id,
    /// Version of the method that made this.
    pub method: u32,
    /// Its runs: odd ones first, the gravest on top, then by start.
    pub runs: Vec<RunFindings>,
    /// As found and as left, per detector.
    pub detectors: Vec<DetectorRuns>,
    /// Runs side by side.
    pub families: Vec<Family>,
}

impl RoundFindings {
    /// Its runs in the order of their starts.
    pub fn by_start(&self) -> Vec<&RunFindings> {
        order::by(self.runs.iter().collect(), |found| (found.started_wall, 0, found.run.to_string()))
    }
}

/// Run time that a run which has not ended is looked at: everything marked so far. The screen of a run asks for now.
fn last_mark(run: &crate::book::run::Run) -> i64 {
    run.marks.last().map_or(0, |mark| mark.at)
}

/// What a round says. A run that has not ended is looked at as of its last mark, so that the answer does not depend on when
/// it is asked.
pub fn round(book: &Book, round: &Round) -> RoundFindings {
    let mut working = Working::default();
    while working.next_run(book, round) {}
    working.whole(round)
}

/// A round worked out run by run, so that somebody who waits for something else can have a turn between.
#[derive(Clone, Debug, Default)]
pub struct Working {
    runs: Vec<RunFindings>,
    /// The curves so far, each with the place of a run that has it: runs of one head mostly share one, and fitting it takes longer
    /// than all else.
    curves: Vec<(usize, Result<HeatCurve, NoEstimate>)>,
}

impl Working {
    /// Works out the next run by its start; false where none is left.
    pub fn next_run(&mut self, book: &Book, round: &Round) -> bool {
        let here = self.runs.len();
        if here == 0 {
            self.runs.reserve_exact(round.runs.len());
        }
        let Some(run) = round.runs.get(here) else { return false };
        let at = run.ended.map_or_else(|| last_mark(run), |(_, end)| end);
        let head = &run.frozen.head;
        let same = |place: usize| {
            let of = round.runs.get(place).map(|run| &run.frozen.head);
            of.is_some_and(|of| of.setting == head.setting && of.curve == head.curve)
        };
        let known = self.curves.iter().position(|(place, _)| same(*place));
        let known = known.unwrap_or_else(|| {
            self.curves.push((here, curve_of_run(book, run)));
            self.curves.len() - 1
        });
        self.runs.push(findings(run, at, self.curves[known].1.as_ref().map_err(|why| *why)));
        true
    }

    /// Puts the runs side by side, once all are there.
    pub fn whole(self, round: &Round) -> RoundFindings {
        whole(round, self.runs)
    }
}

fn whole(round: &Round, mut runs: Vec<RunFindings>) -> RoundFindings {
    let again = order::set(round.again.iter().filter(|again| !again.taken).map(|again| again.run));
    let families = families(&round.runs, &runs);
    let flagged = order::set(families.iter().flat_map(Family::flagged).map(|member| member.run));
    for found in &mut runs {
        if flagged.contains(&found.run) && found.odd.is_none_or(|odd| odd == Odd::LookAgain) {
            found.odd = Some(Odd::OddOneOut);
        } else if found.odd.is_none() && again.contains(&found.run) {
            found.odd = Some(Odd::LookAgain);
        }
    }
    let detectors = detectors(&runs);
    let grave = |odd: Option<Odd>| odd.map_or(i64::MAX, |odd| odd as i64);
    // They come by start, and those that are as grave stay so.
    let runs = order::by_number(runs, |found| grave(found.odd));
    RoundFindings { round: round.id, method: super::METHOD, runs, detectors, families }
}

fn detectors(runs: &[RunFindings]) -> Vec<DetectorRuns> {
    let followed = order::set(runs.iter().filter_map(|found| found.follows));
    let mut detectors: BTreeMap<Id, DetectorRuns> = BTreeMap::new();
    for found in runs {
        let detector = found.detector;
        let of = detectors.entry(detector).or_insert(DetectorRuns { detector, as_found: vec![], as_left: vec![] });
        if found.follows.is_none() {
            of.as_found.push(found.run);
        } else if !followed.contains(&found.run) {
            of.as_left.push(found.run);
        }
    }
    detectors.into_values().collect()
}
