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
#[derive(Clone, Copy, Debug)]
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
    let mut sealer = Sealer::new(phone, stamp, decision, opens.clone(), scopes);
    drafts.into_iter().map(|draft| sealer.seal(book, draft)).collect()
}

/// Seals the bodies of one decision one by one, for one so large that the screen has its turn between.
#[derive(Debug)]
pub struct Sealer {
    phone: Id,
    stamp: Stamp,
    decision: i64,
    opens: Opens,
    scopes: Vec<Scope>,
    tips: BTreeMap<Chain, Tip>,
}

impl Sealer {
    /// For a decision that writes to these scopes.
    pub fn new(phone: Id, stamp: Stamp, decision: i64, opens: Opens, mut scopes: Vec<Scope>) -> Sealer {
        if scopes.len() < 2 {
            scopes.clear();
        }
        Sealer { phone, stamp, decision, opens, scopes, tips: BTreeMap::new() }
    }

    /// The next entry. The book has to end where it did at the first one.
    pub fn seal(&mut self, book: &Book, Draft { scope, body }: Draft) -> Entry {
        let chain = Chain { scope, phone: self.phone };
        let stored = || book.tip(chain).map(|tip| Tip { seq: tip.seq, hash: tip.hash, opener: book.opener(chain) });
        let tip = self.tips.get(&chain).copied().or_else(stored);
        let (seq, prev) = tip.map_or((0, None), |tip| ((tip.seq + 1).min(MAX_INTEGER), Some(tip.hash)));
        let opener = Some((self.stamp.session, self.opens.who));
        let opens = (tip.and_then(|tip| tip.opener) != opener).then(|| self.opens.clone());
        let (stamp, decision, scopes) = (self.stamp, self.decision, self.scopes.clone());
        let entry = Entry::seal(Frame { chain, seq, prev, stamp, decision, scopes, opens }, body);
        self.tips.insert(chain, Tip { seq, hash: entry.hash, opener });
        entry
    }
}
