//! Groups of fields and who replaced whom.

use super::Id;
use super::body::Edit;
use super::entry::Hash;
use std::collections::{BTreeMap, BTreeSet};

/// One group of fields of one thing: the edits nobody has replaced.
#[derive(Clone, Debug, PartialEq)]
pub struct Group<T> {
    standing: BTreeMap<Hash, T>,
}

impl<T> Default for Group<T> {
    fn default() -> Self {
        Group { standing: BTreeMap::new() }
    }
}

impl<T: PartialEq> Group<T> {
    /// The group as it stands; with a conflict the same one on every phone.
    pub fn now(&self) -> Option<&T> {
        self.standing.values().next()
    }

    /// The edit it comes from.
    pub fn edit(&self) -> Option<Hash> {
        self.standing.keys().next().copied()
    }

    /// Whether edits that differ stand side by side. Equal ones are no conflict.
    pub fn conflict(&self) -> bool {
        self.standing.values().zip(self.standing.values().skip(1)).any(|(a, b)| a != b)
    }

    /// Every standing version, for the screen that settles a conflict.
    pub fn versions(&self) -> impl Iterator<Item = (&Hash, &T)> {
        self.standing.iter()
    }

    /// What the next edit has to replace.
    pub fn replaces(&self) -> Vec<Hash> {
        self.standing.keys().copied().collect()
    }
}

/// Collects the edits of one group over many things.
#[derive(Debug)]
pub(super) struct Groups<T> {
    edits: BTreeMap<Id, BTreeMap<Hash, T>>,
    replaced: BTreeSet<Hash>,
}

impl<T: Clone + PartialEq> Groups<T> {
    pub(super) fn new() -> Self {
        Groups { edits: BTreeMap::new(), replaced: BTreeSet::new() }
    }

    pub(super) fn add(&mut self, hash: Hash, edit: &Edit<T>) {
        self.replaced.extend(edit.replaces.iter().copied());
        self.edits.entry(edit.of).or_default().insert(hash, edit.now.clone());
    }

    pub(super) fn finish(self) -> BTreeMap<Id, Group<T>> {
        let Groups { edits, replaced } = self;
        let standing = |versions: BTreeMap<Hash, T>| Group {
            standing: versions.into_iter().filter(|(hash, _)| !replaced.contains(hash)).collect(),
        };
        edits.into_iter().map(|(of, versions)| (of, standing(versions))).filter(|(_, g)| g.now().is_some()).collect()
    }
}
