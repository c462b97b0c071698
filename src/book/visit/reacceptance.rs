//! Reacceptance after the panel's programming changed: all that it affects, and a share of the rest that the app draws.

use super::Visit;
use crate::book::Id;
use crate::book::body::SampleWhy;
use crate::encoding::sha256_hex;
use crate::order;
use crate::units::Wall;

/// How a position came to be tested once more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reaccepted {
    /// The change affects it.
    Affected,
    /// The app drew it.
    Drawn,
}

/// The most that are drawn of those that a change does not affect.
const MOST_DRAWN: usize = 50;

/// How many of so many that a change does not affect are drawn: a tenth, rounded up, and no more than fifty.
///
/// Source: NFPA 72 (2013), reacceptance testing. Rounding up is the project's own.
pub fn drawn_of(others: usize) -> usize {
    others.div_ceil(10).min(MOST_DRAWN)
}

/// So many of these: those with the lowest SHA-256 of the text `seed` followed by their id, by which an auditor draws them again.
pub fn draw(seed: &str, from: &[Id], count: usize) -> Vec<Id> {
    let lot = |id: &Id| (0, 0, sha256_hex(format!("{seed}{id}").as_bytes()));
    let mut drawn = order::by(from.to_vec(), lot);
    drawn.truncate(count);
    drawn
}

impl Visit {
    /// How a position came to be tested once more by the last change that asks for it, and since when, UTC ms; none where none does.
    pub fn reacceptance(&self, position: Id) -> Option<(Reaccepted, Wall)> {
        let affected = self.record.programming.iter().filter(|change| change.what.affected.contains(&position));
        let affected = affected.map(|change| (Reaccepted::Affected, change.wall));
        let by_lot = self
            .record
            .samples
            .iter()
            .filter(|sample| sample.what.why == SampleWhy::Reacceptance && sample.what.drawn.contains(&position));
        affected.chain(by_lot.map(|sample| (Reaccepted::Drawn, sample.wall))).max_by_key(|(_, since)| *since)
    }
}
