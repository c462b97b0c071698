//! A large decision about a site is sealed and written entry by entry, so that a tap has its turn between. Its rows say nothing before
//! their commit, which is written last.

use super::{Effect, Session, Tap, records};
use crate::book::entries::Part;
use crate::book::entry::{Chain, Entry, Hash, Opens, Scope};
use crate::book::refusal::Refusal;
use crate::book::register::Folding;
use crate::book::seal::{Draft, Sealer};
use std::collections::VecDeque;

/// A decision that is being sealed. Nothing of it counts before its end.
#[derive(Debug)]
pub struct Sealing {
    sealer: Sealer,
    chain: Chain,
    /// Where the chain ended and what the sites were when it was decided.
    stood: (Option<Hash>, u64),
    entries: VecDeque<Entry>,
}

/// Why a decision was not taken.
#[derive(Clone, Debug, PartialEq)]
pub enum NotSealed {
    /// A rule says no.
    Refused(Refusal),
    /// A site changed in the meantime, so it was decided from what is no longer so.
    Changed,
}

impl Session {
    /// Begins to seal a decision about a site.
    ///
    /// # Errors
    /// When nobody has the phone.
    pub fn begin_sealing(&mut self, tap: &Tap, site: Scope) -> Result<Sealing, Refusal> {
        let at = self.at(tap);
        if at.who.is_none() {
            return Err(Refusal::NoPerson);
        }
        self.decisions += 1;
        let app = env!("CARGO_PKG_VERSION").to_string();
        let opens = Opens { app, zone: (tap.zone)(), offset: at.offset_min, who: at.who };
        let sealer = Sealer::new(at.phone, at.stamp, self.decisions, opens, vec![site]);
        let chain = Chain { scope: site, phone: at.phone };
        Ok(Sealing { sealer, chain, stood: self.stands(chain), entries: VecDeque::new() })
    }

    fn stands(&self, chain: Chain) -> (Option<Hash>, u64) {
        (self.book.tip(chain).map(|tip| tip.hash), self.book.revision(Part::Sites))
    }

    /// Seals the next entry.
    pub fn seal_next(&self, sealing: &mut Sealing, draft: Draft) {
        let entry = sealing.sealer.seal(&self.book, draft);
        sealing.entries.push_back(entry);
    }

    /// Writes and applies the next of its rows; false when only the commit is left.
    ///
    /// # Errors
    /// When a site has changed since: then no more is written, and what was says nothing.
    pub fn write_next(&mut self, sealing: &mut Sealing) -> Result<bool, NotSealed> {
        if self.stands(sealing.chain) != sealing.stood {
            return Err(NotSealed::Changed);
        }
        if sealing.entries.len() < 2 {
            return Ok(false);
        }
        self.write(sealing);
        sealing.stood = self.stands(sealing.chain);
        Ok(true)
    }

    /// The register as it will be with the commit.
    pub fn fold(&self, sealing: &Sealing) -> Folding {
        Folding::of(&self.book, sealing.entries.iter().cloned())
    }

    /// Writes and applies the commit, and with it what was not written yet; the entry by which it can be undone.
    ///
    /// # Errors
    /// When a site has changed since: then it is as if nothing was written.
    pub fn end_sealing(&mut self, mut sealing: Sealing) -> Result<Option<Hash>, NotSealed> {
        while self.write_next(&mut sealing)? {}
        Ok(self.write(&mut sealing))
    }

    fn write(&mut self, sealing: &mut Sealing) -> Option<Hash> {
        let entry = sealing.entries.pop_front()?;
        let hash = entry.hash;
        let entries = vec![entry];
        let batch = records::batch(&entries, &[]);
        self.unrecorded.extend(batch.records.iter().map(|record| (record.hash.clone(), None)));
        self.effects.push(Effect::Append(batch));
        self.add(entries, Vec::new());
        Some(hash)
    }
}
