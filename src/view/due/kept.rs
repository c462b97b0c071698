//! What was done in each visit, kept until its findings are others.

use crate::book::Id;
use crate::book::entries::Book;
use crate::book::visit::Visit;
use crate::findings::VisitFindings;
use crate::findings::history::{self, Done};
use std::collections::BTreeMap;
use std::sync::Arc;

/// By visit what was done in it, and the findings that this follows from.
#[derive(Clone, Debug, Default)]
pub struct Years(BTreeMap<Id, (Arc<VisitFindings>, Vec<Done>)>);

impl Years {
    /// Takes in a visit with its findings; nothing is worked out anew while they are the same.
    pub fn take(&mut self, book: &Book, id: Id, found: &Arc<VisitFindings>) {
        if self.0.get(&id).is_some_and(|(of, _)| Arc::ptr_eq(of, found)) {
            return;
        }
        if let Some(visit) = Visit::shared(book, id) {
            self.0.insert(id, (Arc::clone(found), history::of_visit(book, &visit, &found.tests)));
        }
    }

    /// What was done in these visits, by position.
    pub fn of(&self, visits: impl Iterator<Item = Id>) -> BTreeMap<Id, Vec<Done>> {
        let done = visits.filter_map(|id| self.0.get(&id)).flat_map(|(_, done)| done);
        history::by_position(done.cloned().collect())
    }
}
