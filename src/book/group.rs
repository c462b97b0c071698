//! Groups of fields and who replaced whom.

use super::Id;
use super::body::{Body, Edit};
use super::entry::{Entry, Hash};
use crate::order;
use std::collections::BTreeSet;

/// One group of fields of one thing: the edits nobody has replaced, by hash.
#[derive(Clone, Debug, PartialEq)]
pub struct Group<T> {
    standing: Vec<(Hash, T)>,
}

impl<T> Default for Group<T> {
    fn default() -> Self {
        Group { standing: Vec::new() }
    }
}

impl<T: PartialEq> Group<T> {
    /// The group as it stands; with a conflict the same one on every phone.
    pub fn now(&self) -> Option<&T> {
        self.standing.first().map(|(_, now)| now)
    }

    /// The edit it comes from.
    pub fn edit(&self) -> Option<Hash> {
        self.standing.first().map(|(hash, _)| *hash)
    }

    /// Whether edits that differ stand side by side. Equal ones are no conflict.
    pub fn conflict(&self) -> bool {
        self.standing.iter().zip(self.standing.iter().skip(1)).any(|((_, a), (_, b))| a != b)
    }

    /// Every standing version, for the screen that settles a conflict.
    pub fn versions(&self) -> impl Iterator<Item = (&Hash, &T)> {
        self.standing.iter().map(|(hash, now)| (hash, now))
    }

    /// What the next edit has to replace.
    pub fn replaces(&self) -> Vec<Hash> {
        self.standing.iter().map(|(hash, _)| *hash).collect()
    }
}

impl<T: Clone> Group<T> {
    pub(super) fn add(&mut self, hash: Hash, edit: &Edit<T>) {
        self.standing.push((hash, T::clone(&edit.now)));
    }
}

/// The edits among these entries that no other edit of the same group of fields replaces, by hash, each with the thing it is
/// about. For every group at once, so that this stands in the app once and not once for every type of group.
pub(super) fn standing<'a>(entries: impl Iterator<Item = &'a Entry>) -> Vec<(Id, &'a Entry)> {
    let (mut edits, mut replaced) = (Vec::new(), BTreeSet::new());
    for entry in entries {
        if let Some((group, of, replaces)) = edited(&entry.body) {
            replaced.extend(replaces.iter().map(|hash| (group, *hash)));
            edits.push((group, of, entry));
        }
    }
    edits.retain(|(group, _, entry)| !replaced.contains(&(*group, entry.hash)));
    order::by(edits, |(_, _, entry)| (0, 0, entry.hash.to_string()))
        .into_iter()
        .map(|(_, of, entry)| (of, entry))
        .collect()
}

/// Of an edit: a number for its group of fields, the thing, what it replaces.
fn edited(body: &Body) -> Option<(u8, Id, &[Hash])> {
    Some(match body {
        Body::Site(edit) => (0, edit.of, &edit.replaces),
        Body::Area(edit) => (1, edit.of, &edit.replaces),
        Body::Circuit(edit) => (2, edit.of, &edit.replaces),
        Body::DetectorPlace(edit) => (3, edit.of, &edit.replaces),
        Body::DetectorMarking(edit) => (4, edit.of, &edit.replaces),
        Body::DetectorDuty(edit) => (5, edit.of, &edit.replaces),
        Body::DetectorPresence(edit) => (6, edit.of, &edit.replaces),
        Body::HeaterName(edit) => (7, edit.of, &edit.replaces),
        Body::HeaterHeating(edit) => (8, edit.of, &edit.replaces),
        Body::HeaterMetrology(edit) => (9, edit.of, &edit.replaces),
        Body::Procedure(edit) => (10, edit.of, &edit.replaces),
        Body::Person(edit) => (11, edit.of, &edit.replaces),
        Body::RuleSet(edit) => (12, edit.of, &edit.replaces),
        _ => return None,
    })
}
