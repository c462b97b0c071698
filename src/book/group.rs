//! Groups of fields and who replaced whom.

use super::Id;
use super::body::Edit;
use super::entry::Hash;
use crate::order;
use std::collections::{BTreeMap, BTreeSet};

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

/// Collects the edits of one group over many things.
#[derive(Debug)]
pub(super) struct Groups<T> {
    edits: Vec<(Id, Hash, T)>,
    replaced: BTreeSet<Hash>,
}

impl<T: Clone + PartialEq> Groups<T> {
    pub(super) fn new() -> Self {
        Groups { edits: Vec::new(), replaced: BTreeSet::new() }
    }

    pub(super) fn add(&mut self, hash: Hash, edit: &Edit<T>) {
        self.replaced.extend(edit.replaces.iter().copied());
        self.edits.push((edit.of, hash, edit.now.clone()));
    }

    pub(super) fn finish(mut self) -> BTreeMap<Id, Group<T>> {
        self.edits.retain(|(_, hash, _)| !self.replaced.contains(hash));
        let mut groups: BTreeMap<Id, Group<T>> = BTreeMap::new();
        for (of, hash, now) in order::by(self.edits, |(_, hash, _)| (0, 0, hash.to_string())) {
            groups.entry(of).or_default().standing.push((hash, now));
        }
        groups
    }
}
