//! Turns decided bodies into entries: places in the chains, links, stamps.

use super::Id;
use super::body::Body;
use super::entry::{Chain, Entry, Hash, MAX_INTEGER, Opens, Scope, Stamp};
use super::log::Book;
use std::collections::BTreeMap;

/// A body and the scope whose chain it goes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// Where it goes.
    pub scope: Scope,
    /// What it says.
    pub body: Body,
}

/// Seals the bodies of one decision, in order. All carry the tap's own stamp.
pub fn seal(book: &Book, phone: Id, stamp: Stamp, opens: &Opens, drafts: Vec<Draft>) -> Vec<Entry> {
    let mut tips: BTreeMap<Chain, (i64, Hash, Id)> = BTreeMap::new();
    let mut sealed = Vec::with_capacity(drafts.len());
    for Draft { scope, body } in drafts {
        let chain = Chain { scope, phone };
        let stored = || book.tip(chain).map(|tip| (tip.seq, tip.hash, tip.stamp.session));
        let tip = tips.get(&chain).copied().or_else(stored);
        let (seq, prev) = tip.map_or((0, None), |(seq, hash, _)| ((seq + 1).min(MAX_INTEGER), Some(hash)));
        let first_of_session = tip.is_none_or(|(_, _, session)| session != stamp.session);
        let entry = Entry::seal(chain, seq, prev, stamp, first_of_session.then(|| opens.clone()), body);
        tips.insert(chain, (seq, entry.hash, stamp.session));
        sealed.push(entry);
    }
    sealed
}
