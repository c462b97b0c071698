//! Turns decided bodies into entries: places in the chains, links, stamps, the number of the decision.

use super::Id;
use super::body::Body;
use super::entries::Book;
use super::entry::{Chain, Entry, Frame, Hash, MAX_INTEGER, Opens, Scope, Stamp};
use std::collections::BTreeMap;

/// A body and the scope whose chain it goes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// Where it goes.
    pub scope: Scope,
    /// What it says.
    pub body: Body,
}

/// The end of a chain: place, identity, and which session opened it for whom.
#[derive(Clone, Copy)]
struct Tip {
    seq: i64,
    hash: Hash,
    opener: Option<(Id, Option<Id>)>,
}

/// Seals the bodies of one decision, in order. All carry the tap's own stamp and the decision's number.
pub fn seal(book: &Book, phone: Id, stamp: Stamp, decision: i64, opens: &Opens, drafts: Vec<Draft>) -> Vec<Entry> {
    let mut scopes: Vec<Scope> = Vec::new();
    for draft in &drafts {
        if !scopes.contains(&draft.scope) {
            scopes.push(draft.scope);
        }
    }
    if scopes.len() < 2 {
        scopes.clear();
    }
    let mut tips: BTreeMap<Chain, Tip> = BTreeMap::new();
    let mut sealed = Vec::with_capacity(drafts.len());
    for Draft { scope, body } in drafts {
        let chain = Chain { scope, phone };
        let stored = || book.tip(chain).map(|tip| Tip { seq: tip.seq, hash: tip.hash, opener: book.opener(chain) });
        let tip = tips.get(&chain).copied().or_else(stored);
        let (seq, prev) = tip.map_or((0, None), |tip| ((tip.seq + 1).min(MAX_INTEGER), Some(tip.hash)));
        let opener = Some((stamp.session, opens.who));
        let opens = (tip.and_then(|tip| tip.opener) != opener).then(|| opens.clone());
        let frame = Frame { chain, seq, prev, stamp, decision, scopes: scopes.clone(), opens };
        let entry = Entry::seal(frame, body);
        tips.insert(chain, Tip { seq, hash: entry.hash, opener });
        sealed.push(entry);
    }
    sealed
}
