//! The book: a set of entries, whatever the order they arrived in.
//!
//! `apply` inserts and indexes; it holds no rule and cannot fail. Everything else in the book is derived from the set, so
//! union is commutative, associative and idempotent by construction.

use super::Id;
use super::body::Body;
use super::entry::{Chain, ChainEnd, DecisionId, Entry, Hash, Scope};
use super::visit::Folded;
use crate::encoding::picture::is_picture;
use crate::order;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

/// Bytes that belong to the book but can be erased without breaking a chain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attachment {
    /// 16 random bytes, so that a short name cannot be guessed from its hash.
    pub salt: [u8; 16],
    /// Media type.
    pub media: String,
    /// The content.
    pub bytes: Vec<u8>,
}

impl Attachment {
    /// Plain text.
    pub fn text(salt: [u8; 16], text: &str) -> Attachment {
        Attachment { salt, media: "text/plain".to_string(), bytes: text.as_bytes().to_vec() }
    }

    /// Its name: SHA-256 of salt and bytes.
    pub fn hash(&self) -> Hash {
        Hash::of(&[&self.salt[..], &self.bytes].concat())
    }

    /// Whether it is a picture, whose bytes the app leaves in the store until it is drawn or sent.
    pub fn is_picture(&self) -> bool {
        is_picture(&self.media)
    }
}

/// A text that was given as an entry and is none; kept and shown.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Scrap {
    /// The text as it came.
    pub text: String,
    /// What is wrong with it.
    pub why: String,
}

/// How far back in its chain an undo is looked at for what it takes back: people undo what they have just done.
const NEAR: usize = 256;

/// Everything known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Book {
    entries: BTreeMap<Hash, Arc<Entry>>,
    /// The same entries by place, at a fork by hash: a walk along a chain looks up nothing.
    chains: BTreeMap<Chain, Vec<Arc<Entry>>>,
    /// The decisions that undo a decision.
    undoers: BTreeMap<DecisionId, BTreeSet<DecisionId>>,
    naming: BTreeMap<Hash, BTreeSet<Hash>>,
    /// By chain the place of its last opening, and which session opened it for whom.
    openers: BTreeMap<Chain, (i64, Id, Option<Id>)>,
    /// What started a test or took it over, by hash.
    tests: BTreeMap<Id, Vec<Arc<Entry>>>,
    profile_runs: BTreeMap<Id, BTreeSet<Hash>>,
    attachments: BTreeMap<Hash, Attachment>,
    /// Attachments that are kept elsewhere.
    elsewhere: BTreeSet<Hash>,
    scraps: BTreeSet<Scrap>,
    voids: Voids,
    revisions: Revisions,
    pub(super) folded: Folded,
}

/// A part of the book whose revision can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Every site's register.
    Sites,
    /// The kit.
    Kit,
    /// One visit.
    Visit(Id),
    /// Every visit.
    Visits,
    /// Names, notes and what else can be erased.
    Attachments,
}

/// When each part changed last, counted in changes of the whole book. How a book came about is no part of what it says, so this takes
/// no part in comparing books.
#[derive(Clone, Debug, Default)]
struct Revisions {
    last: u64,
    kit: u64,
    sites: u64,
    visits: u64,
    attachments: u64,
    visit: BTreeMap<Id, u64>,
}

impl PartialEq for Revisions {
    fn eq(&self, _: &Revisions) -> bool {
        true
    }
}

impl Revisions {
    fn next(&mut self) -> u64 {
        self.last += 1;
        self.last
    }

    fn wrote(&mut self, scope: Scope) {
        let now = self.next();
        match scope {
            Scope::Kit => self.kit = now,
            Scope::Site(_) => self.sites = now,
            Scope::Visit(visit) => {
                self.visits = now;
                self.visit.insert(visit, now);
            }
        }
    }

    /// Every part may have changed.
    fn all(&mut self) {
        let now = self.next();
        (self.kit, self.sites, self.visits) = (now, now, now);
        self.visit.values_mut().for_each(|visit| *visit = now);
    }
}

/// Which decisions are void, worked out once after each undo that arrives. It follows from the entries, so it takes no part
/// in comparing books.
#[derive(Clone, Debug, Default)]
struct Voids(OnceLock<BTreeSet<DecisionId>>);

impl PartialEq for Voids {
    fn eq(&self, _: &Voids) -> bool {
        true
    }
}

impl Book {
    /// Adds an entry. Total: an entry that fits nothing is kept like any other.
    pub fn apply(&mut self, entry: Entry) {
        self.add(Arc::new(entry));
    }

    /// Adds entries of a file. Most stand in the order of their chains; those that do not wait for the rest, so that a file in an
    /// order of its own makes no line be moved up for each of them.
    pub fn apply_all(&mut self, entries: impl IntoIterator<Item = Entry>) {
        let mut late = Vec::new();
        for entry in entries {
            let follows = self.line(entry.chain).last().is_none_or(|last| last.seq <= entry.seq);
            if follows { self.apply(entry) } else { late.push(entry) }
        }
        order::by_number(late, |entry| entry.seq).into_iter().for_each(|entry| self.apply(entry));
    }

    fn add(&mut self, entry: Arc<Entry>) {
        let hash = entry.hash;
        if self.entries.contains_key(&hash) {
            return;
        }
        if self.says_something(&entry) {
            self.revisions.wrote(entry.chain.scope);
        }
        put(self.chains.entry(entry.chain).or_default(), Arc::clone(&entry), |entry| (entry.seq, entry.hash));
        if let Some(opens) = entry.opens.as_deref() {
            let opener = self.openers.entry(entry.chain).or_insert((entry.seq, entry.stamp.session, opens.who));
            if opener.0 <= entry.seq {
                *opener = (entry.seq, entry.stamp.session, opens.who);
            }
        }
        let mut origin =
            |test: Id| put(self.tests.entry(test).or_default(), Arc::clone(&entry), |entry| (0, entry.hash));
        match &entry.body {
            // A phone takes back only what it decided itself.
            Body::Undone { undoes } if undoes.phone == entry.chain.phone => {
                self.undoers.entry(*undoes).or_default().insert(entry.decision());
                self.voids = Voids::default();
                // It holds for everything that was decided with what it takes back. One that stands where nothing of that is near is none
                // of ours, and may change any part.
                let near = self.line(entry.chain).iter().rev().take(NEAR).any(|other| other.decision() == *undoes);
                match near {
                    true => entry.scopes.iter().for_each(|scope| self.revisions.wrote(*scope)),
                    false => self.revisions.all(),
                }
            }
            Body::TestStarted(started) => origin(started.test),
            Body::TestTakenOver { test, .. } => origin(*test),
            Body::ProfileRunStarted(started) => {
                self.profile_runs.entry(started.run).or_default().insert(hash);
            }
            // What is said of a mark is found on the walk along its test.
            Body::Moved { .. } | Body::PanelPoint { .. } | Body::ReadingTaken { .. } => {}
            body => {
                for named in body.names() {
                    self.naming.entry(named).or_default().insert(hash);
                    let elsewhere = self.entries.get(&named).map(|named| named.chain.scope);
                    if let Some(scope) = elsewhere.filter(|scope| *scope != entry.chain.scope) {
                        self.revisions.wrote(scope);
                    }
                }
            }
        }
        self.entries.insert(hash, entry);
    }

    /// Whether an entry changes what follows from the book as it comes: the rows of an import do so by its commit alone.
    fn says_something(&self, entry: &Entry) -> bool {
        let Body::RowsImported { import: rows, .. } = entry.body else { return true };
        let commits = |other: &Arc<Entry>| matches!(other.body, Body::ImportCommitted { import, .. } if import == rows);
        self.line(entry.chain).iter().rev().take_while(|other| other.seq > entry.seq).any(commits)
    }

    /// Adds an attachment. Its name does not cover the media type; of two types the same one stays on every phone.
    pub fn attach(&mut self, attachment: Attachment) {
        self.revisions.attachments = self.revisions.next();
        let kept = self.attachments.entry(attachment.hash()).or_insert_with(|| attachment.clone());
        if attachment.media < kept.media {
            *kept = attachment;
        }
    }

    /// Notes that an attachment is kept elsewhere: here is only its name.
    pub fn attach_elsewhere(&mut self, hash: Hash) {
        self.revisions.attachments = self.revisions.next();
        self.elsewhere.insert(hash);
    }

    /// Forgets an attachment; false where it is not here. What names it stays as it is.
    pub fn erase(&mut self, hash: Hash) -> bool {
        self.revisions.attachments = self.revisions.next();
        self.elsewhere.remove(&hash) | self.attachments.remove(&hash).is_some()
    }

    /// Keeps a text that is not an entry where it can be seen.
    pub fn keep_scrap(&mut self, scrap: Scrap) {
        self.scraps.insert(scrap);
    }

    /// Union with another book.
    pub fn merge(&mut self, other: Book) {
        // Chain by chain, so that each goes to the end of its line.
        drop(other.entries);
        other.chains.into_values().flatten().for_each(|entry| self.add(entry));
        other.attachments.into_values().for_each(|attachment| self.attach(attachment));
        other.elsewhere.into_iter().for_each(|hash| self.attach_elsewhere(hash));
        self.scraps.extend(other.scraps);
    }

    /// The entries of these chains as a book of their own.
    pub fn only<'a>(&self, chains: impl IntoIterator<Item = &'a Chain>) -> Book {
        let mut book = Book::default();
        chains.into_iter().flat_map(|chain| self.line(*chain)).for_each(|entry| book.add(Arc::clone(entry)));
        book
    }

    /// Number of entries.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether nothing is known.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// The entry with this identity.
    pub fn get(&self, hash: Hash) -> Option<&Entry> {
        self.entries.get(&hash).map(Arc::as_ref)
    }

    /// Every entry, by hash.
    pub fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.entries.values().map(Arc::as_ref)
    }

    /// Texts that are no entries.
    pub fn scraps(&self) -> impl Iterator<Item = &Scrap> {
        self.scraps.iter()
    }

    /// Whether an attachment is here or kept elsewhere: it was not erased, and is not on another phone alone.
    pub fn has_attachment(&self, hash: Hash) -> bool {
        self.attachments.contains_key(&hash) || self.elsewhere.contains(&hash)
    }

    /// The attachment of this name, unless it was erased, has not come yet or is kept elsewhere.
    pub fn attachment(&self, hash: Hash) -> Option<&Attachment> {
        self.attachments.get(&hash)
    }

    /// Every attachment.
    pub fn attachments(&self) -> impl Iterator<Item = (&Hash, &Attachment)> {
        self.attachments.iter()
    }

    /// The text of an attachment, where it is text. What calls itself a picture is none, wherever it is kept.
    pub fn words(&self, hash: Hash) -> Option<&str> {
        self.attachment(hash)
            .filter(|attachment| !attachment.is_picture())
            .and_then(|attachment| std::str::from_utf8(&attachment.bytes).ok())
    }

    /// Every chain.
    pub fn chains(&self) -> impl Iterator<Item = Chain> {
        self.chains.keys().copied()
    }

    /// The chains of one scope, one per phone.
    pub fn chains_of(&self, scope: Scope) -> impl Iterator<Item = Chain> + use<> {
        self.phones_of(scope).into_iter()
    }

    /// The entries of a chain in order; at a fork both, by hash.
    pub fn chain(&self, chain: Chain) -> impl Iterator<Item = &Entry> {
        self.line(chain).iter().map(Arc::as_ref)
    }

    /// The entries of a chain from one place to another, both among them.
    pub fn chain_between(&self, chain: Chain, from: i64, to: i64) -> impl Iterator<Item = &Entry> {
        let line = self.line(chain);
        let line = &line[line.partition_point(|entry| entry.seq < from)..];
        line.iter().map(Arc::as_ref).take_while(move |entry| entry.seq <= to)
    }

    /// The entries of a scope, chain by chain.
    pub fn scope(&self, scope: Scope) -> impl Iterator<Item = &Entry> {
        self.phones_of(scope).into_iter().flat_map(|chain| self.chain(chain))
    }

    /// When a part changed last: whatever follows from parts of this book is the same while their revisions are. An entry changes its
    /// own scope and those of the entries that it names; an undo those that it lists, or every part where what it takes back is not near it.
    pub fn revision(&self, part: Part) -> u64 {
        match part {
            Part::Sites => self.revisions.sites,
            Part::Kit => self.revisions.kit,
            Part::Visit(visit) => self.revisions.visit.get(&visit).copied().unwrap_or_default(),
            Part::Visits => self.revisions.visits,
            Part::Attachments => self.revisions.attachments,
        }
    }

    /// How often anything has changed.
    pub(super) fn changes(&self) -> u64 {
        self.revisions.last
    }

    // Lists, each made in one place: an iterator through three maps would be made anew wherever one is asked for.

    #[inline(never)]
    fn phones_of(&self, scope: Scope) -> Vec<Chain> {
        let first = Chain { scope, phone: Id::nil() };
        let last = Chain { scope, phone: Id::max() };
        self.chains.range(first..=last).map(|(chain, _)| *chain).collect()
    }

    #[inline(never)]
    pub(super) fn line(&self, chain: Chain) -> &[Arc<Entry>] {
        self.chains.get(&chain).map_or(&[], Vec::as_slice)
    }

    #[inline(never)]
    fn standing(&self, hashes: Option<&BTreeSet<Hash>>) -> Vec<&Entry> {
        let named = hashes.into_iter().flatten().filter_map(|hash| self.get(*hash));
        named.filter(|entry| !self.is_void(entry)).collect()
    }

    /// Last entry of a chain: where the next one goes.
    pub fn tip(&self, chain: Chain) -> Option<&Entry> {
        let line = self.line(chain);
        let seq = line.last()?.seq;
        line.get(line.partition_point(|entry| entry.seq < seq)).map(Arc::as_ref)
    }

    /// Where the chains of a scope end here.
    pub fn ends(&self, scope: Scope) -> Vec<ChainEnd> {
        let end = |chain: Chain| {
            let count = i64::try_from(self.line(chain).len()).unwrap_or(i64::MAX);
            Some(ChainEnd { scope, phone: chain.phone, count, last: self.tip(chain)?.hash })
        };
        self.chains_of(scope).filter_map(end).collect()
    }

    /// The entry sequence numbers of a chain with the identities standing there.
    pub fn places(&self, chain: Chain) -> impl Iterator<Item = (i64, BTreeSet<Hash>)> + use<> {
        let mut places: Vec<(i64, BTreeSet<Hash>)> = Vec::new();
        for entry in self.chain(chain) {
            match places.last_mut() {
                Some((last, hashes)) if *last == entry.seq => {
                    hashes.insert(entry.hash);
                }
                _ => places.push((entry.seq, BTreeSet::from([entry.hash]))),
            }
        }
        places.into_iter()
    }

    /// Which session opened a chain last, and for whom.
    pub fn opener(&self, chain: Chain) -> Option<(Id, Option<Id>)> {
        self.openers.get(&chain).map(|(_, session, who)| (*session, *who))
    }

    /// Whether an entry is void: its decision is undone. What the clocks said is never taken back.
    pub fn is_void(&self, entry: &Entry) -> bool {
        // Without any undo there is nothing to look up.
        !self.undoers.is_empty() && entry.body.can_be_undone() && self.is_undone(entry.decision())
    }

    /// Whether a decision is void: one that is not void undoes it. Its entries may be unknown yet.
    #[inline(never)]
    pub fn is_undone(&self, decision: DecisionId) -> bool {
        self.voids.0.get_or_init(|| self.find_voids()).contains(&decision)
    }

    fn find_voids(&self) -> BTreeSet<DecisionId> {
        // An undo of an undo of an undo … has no bound, so this walks instead of recursing: from the undoes that nobody
        // undoes down to what they name. Decisions of a broken file can name each other in a circle; none of those counts.
        let mut open = order::map(self.undoers.iter().map(|(target, by)| (*target, by.len())));
        let mut undoes: BTreeMap<DecisionId, Vec<DecisionId>> = BTreeMap::new();
        for (target, by) in &self.undoers {
            by.iter().for_each(|undoer| undoes.entry(*undoer).or_default().push(*target));
        }
        let mut ready: Vec<DecisionId> = undoes.keys().filter(|undoer| !open.contains_key(undoer)).copied().collect();
        let mut voids = BTreeSet::new();
        while let Some(undoer) = ready.pop() {
            for target in undoes.get(&undoer).into_iter().flatten() {
                if !voids.contains(&undoer) {
                    voids.insert(*target);
                }
                if let Some(left) = open.get_mut(target) {
                    *left -= 1;
                    if *left == 0 {
                        ready.push(*target);
                    }
                }
            }
        }
        voids
    }

    /// The entries, not void, that name `target` as what they answer, end or dispose of.
    pub fn naming(&self, target: Hash) -> impl Iterator<Item = &Entry> {
        self.standing(self.naming.get(&target)).into_iter()
    }

    /// Every test that was started or taken over, with the entries that say so.
    pub fn test_ids(&self) -> impl Iterator<Item = Id> {
        self.tests.keys().copied()
    }

    /// Whether the start of a test is here. A start that was undone counts: marks of that test are not unknown, they are undone
    /// with it.
    pub fn test_started(&self, test: Id) -> bool {
        let origins = self.tests.get(&test);
        origins.into_iter().flatten().any(|entry| matches!(entry.body, Body::TestStarted(_)))
    }

    /// Every profile run that was started.
    pub fn profile_run_ids(&self) -> impl Iterator<Item = Id> {
        self.profile_runs.keys().copied()
    }

    /// Whether the start of a profile run is here, undone or not.
    pub fn profile_run_started(&self, profile_run: Id) -> bool {
        self.profile_runs.contains_key(&profile_run)
    }

    /// The starts of a profile run that are not void.
    pub fn profile_run_origins(&self, profile_run: Id) -> impl Iterator<Item = &Entry> {
        self.standing(self.profile_runs.get(&profile_run)).into_iter()
    }

    /// The starts and take-overs of a test that are not void.
    pub fn test_origins(&self, test: Id) -> impl Iterator<Item = &Entry> {
        let origins = self.tests.get(&test).into_iter().flatten().map(Arc::as_ref);
        origins.filter(|entry| !self.is_void(entry))
    }
}

/// Puts an entry where its key belongs. Mostly that is the end.
#[inline(never)]
fn put(line: &mut Vec<Arc<Entry>>, entry: Arc<Entry>, key: fn(&Entry) -> (i64, Hash)) {
    let at = match line.last() {
        Some(last) if key(last) > key(&entry) => line.partition_point(|other| key(other) < key(&entry)),
        _ => line.len(),
    };
    line.insert(at, entry);
}
