//! The runs of one round, odd ones first, and what was found and left of each detector.

use super::families::{Family, families};
use super::live::{NoEstimate, curve_of_run};
use super::run::{Odd, RunFindings, corrects, findings};
use crate::book::Id;
use crate::book::body::FrozenHead;
use crate::book::entry::{Entry, Scope};
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
    let mut corrections: BTreeMap<Id, Vec<&Entry>> = BTreeMap::new();
    for entry in book.scope(Scope::Round(round.id)) {
        if let Some(run) = corrects(entry) {
            corrections.entry(run).or_default().push(entry);
        }
    }
    let again = order::set(round.again.iter().filter(|again| !again.taken).map(|again| again.run));
    let mut curves: Vec<(&FrozenHead, Result<HeatCurve, NoEstimate>)> = Vec::new();
    let mut runs: Vec<RunFindings> = Vec::with_capacity(round.runs.len());
    for run in &round.runs {
        let corrected = corrections.get(&run.id).map_or(&[][..], Vec::as_slice);
        let at = run.ended.map_or_else(|| last_mark(run), |(_, end)| end);
        // Runs of one head mostly share a curve, and fitting it takes longer than all else.
        let head = &run.frozen.head;
        let known = curves.iter().position(|(of, _)| of.setting == head.setting && of.curve == head.curve);
        let place = known.unwrap_or_else(|| {
            curves.push((head, curve_of_run(book, run)));
            curves.len() - 1
        });
        runs.push(findings(book, run, at, corrected, curves[place].1.as_ref().map_err(|why| *why)));
    }
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
    let runs = order::by(runs, |found| (grave(found.odd), found.started_wall, found.run.to_string()));
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
