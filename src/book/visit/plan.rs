//! The positions on the list of a visit.

use super::Visit;
use crate::book::Id;
use crate::book::body::PlannedPositions;
use crate::book::entry::Hash;
use crate::units::Wall;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A change of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanAt {
    /// The entry.
    pub hash: Hash,
    /// When it was recorded, wall clock, UTC ms.
    pub wall: Wall,
    /// What was put on it or taken off.
    pub change: Arc<PlannedPositions>,
}

impl Visit {
    /// The positions on its list: of each the last word counts.
    pub fn planned(&self) -> BTreeSet<Id> {
        self.last_said(true)
    }

    /// The positions that were taken off its list, and not put on it again since.
    pub fn taken_off(&self) -> BTreeSet<Id> {
        self.last_said(false)
    }

    fn last_said(&self, planned: bool) -> BTreeSet<Id> {
        let mut said = BTreeSet::new();
        for PlanAt { change, .. } in &self.planned {
            for position in &change.positions {
                if change.planned == planned {
                    said.insert(*position);
                } else {
                    said.remove(position);
                }
            }
        }
        said
    }
}
