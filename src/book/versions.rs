//! Groups of fields and who replaced whom.

use super::Id;
use super::body::Body;
use super::facts::Group;
use super::things::Edit;
use crate::encoding::Hash;
use crate::order;
use std::collections::BTreeSet;

/// One group of fields of one thing: the edits that are not replaced, by hash.
#[derive(Clone, Debug, PartialEq)]
pub struct Versions<T> {
    current: Vec<(Hash, T)>,
}

impl<T> Default for Versions<T> {
    fn default() -> Self {
        Versions { current: Vec::new() }
    }
}

impl<T: PartialEq> Versions<T> {
    /// The current version; in a conflict the same one on every phone.
    pub fn now(&self) -> Option<&T> {
        self.current.first().map(|(_, now)| now)
    }

    /// The edit it comes from.
    pub fn edit(&self) -> Option<Hash> {
        self.current.first().map(|(hash, _)| *hash)
    }

    /// Whether edits that differ stand side by side. Equal ones are no conflict.
    pub fn conflict(&self) -> bool {
        self.current.iter().zip(self.current.iter().skip(1)).any(|((_, a), (_, b))| a != b)
    }

    /// Every current version, for the screen that settles a conflict.
    pub fn versions(&self) -> impl Iterator<Item = (&Hash, &T)> {
        self.current.iter().map(|(hash, now)| (hash, now))
    }

    /// What the next edit has to replace.
    pub fn replaces(&self) -> Vec<Hash> {
        self.current.iter().map(|(hash, _)| *hash).collect()
    }
}

impl<T: Clone> Versions<T> {
    pub(super) fn add(&mut self, hash: Hash, edit: &Edit<T>) {
        self.current.push((hash, T::clone(&edit.now)));
    }
}

/// The edits among these bodies that no other edit of the same group of the same thing replaces, by hash. For every group at
/// once, so that it is compiled once and not once for every type of group.
pub(super) fn current<'a>(bodies: impl Iterator<Item = (Hash, &'a Body)>) -> Vec<(Id, Hash, &'a Body)> {
    let mut edits: Vec<(Group, Id, Hash, &Body)> = Vec::new();
    let mut replaced = BTreeSet::new();
    for (hash, body) in bodies {
        if let Some((group, of, replaces)) = body.edited() {
            replaced.extend(replaces.iter().map(|hash| (group, of, *hash)));
            edits.push((group, of, hash, body));
        }
    }
    edits.retain(|(group, of, hash, _)| !replaced.contains(&(*group, *of, *hash)));
    let in_order = order::by(edits, |(_, _, hash, _)| (0, 0, hash.to_string()));
    in_order.into_iter().map(|(_, of, hash, body)| (of, hash, body)).collect()
}
