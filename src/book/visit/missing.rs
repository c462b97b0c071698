//! What a visit lacks before it can be closed.

use super::Visit;
use super::off::{OffNow, StillOff};
use super::record::PanelSeen;
use crate::book::Id;
use crate::book::body::{Ending, ItemWhat, NotTested, NotifyAnswer, Point, VisitType, What};
use crate::book::entry::Hash;
use crate::book::test::{MarkAt, Test};
use crate::units::Wall;

/// Something that a visit lacks before it can be closed.
#[derive(Clone, Debug, PartialEq)]
pub enum Missing {
    /// A test goes on.
    Test(Id),
    /// Something is off, and nobody accepted it.
    Off(OffNow),
    /// Nobody looked at the panel of this label as left, or something was done since.
    PanelNotSeen(Option<String>),
    /// The panel is neither normal nor as found, by this entry.
    PanelDiffers(Hash),
    /// A planned position has neither result nor reason.
    Untested(Id),
    /// An invited phone's file is not here: the invitation.
    Phone(Hash),
    /// A detector was taken out and none put in, and no other one on its circuit was operated since.
    Circuit {
        /// The item of the one taken out.
        item: Hash,
        /// The circuit.
        circuit: Id,
        /// Where it was taken out.
        position: Option<Id>,
    },
}

impl Missing {
    /// The entry that a person may name to leave it so; none where there is another way only.
    pub fn can_be_left(&self) -> Option<Hash> {
        match self {
            Missing::Off(off) if !matches!(off.what, StillOff::NotOurs(_)) => Some(off.entry),
            Missing::PanelDiffers(entry) => Some(*entry),
            _ => None,
        }
    }
}

impl Visit {
    /// Everything that closing waits for at `now`, UTC ms: worst first.
    pub fn missing(&self, now: Wall) -> Vec<Missing> {
        let mut missing: Vec<Missing> = self.active().map(|test| Missing::Test(test.id)).collect();
        missing.extend(self.off_now().into_iter().filter(|off| off.counts(now)).map(Missing::Off));
        missing.extend(self.panel_missing(now));
        let untested = self.planned().into_iter().filter(|position| !self.has_result(*position));
        missing.extend(untested.map(Missing::Untested));
        missing.extend(self.not_proven());
        missing.extend(self.record.awaited().map(|phone| Missing::Phone(phone.hash)));
        missing
    }

    fn panel_missing(&self, now: Wall) -> Vec<Missing> {
        if !self.touched_the_system() {
            return Vec::new();
        }
        let unseen = self.record.panels_unseen();
        // Once it is closed this is among what is off.
        let differs = self.panels_off().filter(|off| self.closed.is_empty() && off.counts(now));
        let differs: Vec<Missing> = differs.map(|off| Missing::PanelDiffers(off.entry)).collect();
        // A panel that is to be looked at anyway says nothing yet.
        if unseen.is_empty() { differs } else { unseen.into_iter().map(Missing::PanelNotSeen).collect() }
    }

    /// Labels of the panels that are to be looked at as left, or once more.
    pub fn panels_to_see(&self) -> Vec<Option<String>> {
        let mut labels = self.record.panels_unseen();
        labels.extend(self.panels_that_differ().map(|seen| seen.said.what.label.clone()));
        labels
    }

    /// Panels as left that are neither normal nor as found, where anything was done that they may show.
    pub(super) fn panels_that_differ(&self) -> impl Iterator<Item = &PanelSeen> {
        let left = self.record.panels_left().filter(|_| self.touched_the_system());
        left.filter(|seen| !self.record.is_as_found(&seen.said.what))
    }

    /// Whether anything was done that the panel may show, or that somebody was told of.
    fn touched_the_system(&self) -> bool {
        let told = || self.notices.iter().any(|at| at.notice.answer == NotifyAnswer::Notified);
        let off = !self.impaired.is_empty() || !self.secured.is_empty() || !self.pairs.is_empty();
        let done = !self.tests.is_empty() || !self.record.other_methods.is_empty() || !self.work.is_empty();
        off || told() || done || !self.alarms.is_empty()
    }

    /// Whether a position has a result, or a reason why it has none. What was done before the panel's programming changed is neither.
    pub fn has_result(&self, position: Id) -> bool {
        let since = self.reacceptance(position).map_or(Wall::MIN, |(_, since)| since);
        let tested = |test: &Test| !matches!(test.ended, Some((Ending::Mistake, _))) && test.started_wall >= since;
        let other = |other: &super::OtherResult| {
            other.said.what.position == position && other.is_result() && other.said.wall >= since
        };
        let reason = |said: &super::Said<NotTested>| said.what.position == position && said.wall >= since;
        let visual_only = self.plan.now().is_some_and(|plan| plan.visit_type == VisitType::VisualOnly);
        self.tests_of(position).any(tested)
            || self.record.other_methods.iter().any(other)
            || self.record.not_tested.iter().any(reason)
            || (visual_only && self.visual_of(position).is_some())
    }

    /// Detectors that were taken out without another in their place, on circuits of which no other one was operated since.
    fn not_proven(&self) -> impl Iterator<Item = Missing> {
        let open = self.items.iter().filter(|item| item.is_open() && item.found.what == ItemWhat::Removed);
        open.filter_map(|item| {
            let circuit = item.found.circuit?;
            let position = item.found.position;
            let right = |mark: &MarkAt, test: &Test| {
                mark.what == What::Tripped && matches!(test.panel(mark.hash), Some((Point::Right, _)))
            };
            let proves = |test: &&Test| {
                let of = &test.frozen.position;
                let other = of.place.circuit == Some(circuit) && Some(of.of) != position;
                other && test.started_wall >= item.wall && test.marks.iter().any(|mark| right(mark, test))
            };
            let proven = self.tests.iter().any(|test| proves(&test));
            (!proven).then_some(Missing::Circuit { item: item.hash, circuit, position })
        })
    }
}
