//! A bundle read back: all of it or, with the reasons, nothing.

use super::bundle::{ChainHead, FORMAT, FORMAT_NAME, MAX_BYTES, Made};
use super::chains::{check_chains, out_of_order, read_rows};
use super::differences::{Differs, differences};
use super::fault::{BundleFault, Faults, Position};
use super::findings_json::FindingsJson;
use crate::book::entries::{Attachment, Book};
use crate::book::entry::{Chain, Entry, Hash, MAX_INTEGER};
use crate::book::visit::visits;
use crate::encoding::{from_base64, from_hex, parse_strict, read_uuid, split_list};
use crate::findings;
use crate::units::Wall;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};
use std::pin::pin;
use std::task::{Context, Poll, Waker};

/// No more faults than this are listed.
const MOST_FAULTS: usize = 50;

/// How the findings of a bundle compare with what this app makes of its entries.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FindingsCheck {
    /// The bundle brings none.
    None,
    /// The same.
    Same,
    /// Made by the same method, and yet not the same.
    Differ(Vec<Differs>),
    /// Recomputed by a newer method; where they differ is no fault.
    OlderMethod(Vec<Differs>),
    /// Made by a method that this app does not know yet.
    NewerMethod,
}

/// A sound bundle, not yet taken in.
#[derive(Clone, Debug, PartialEq)]
pub struct Incoming {
    /// Who made it.
    pub made: Made,
    /// Its entries and attachments as a book of their own.
    pub book: Book,
    /// Its chains.
    pub chains: Vec<ChainHead>,
    /// Entries, by number from 1, that stand before one they follow. No harm: order has no meaning for a union.
    pub out_of_order: Vec<usize>,
    /// Its findings against those of this app.
    pub findings: FindingsCheck,
}

/// What a bundle would bring to a book.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct News {
    /// Entries that the book does not have.
    pub new: usize,
    /// Entries that it has.
    pub known: usize,
    /// Attachments that it does not have.
    pub attachments: usize,
    /// Places where the book or the bundle holds two contents; both are kept.
    pub forks: Vec<(Chain, i64)>,
    /// Places that neither the maker of the bundle nor the book has.
    pub missing: Vec<(Chain, i64, i64)>,
}

impl Incoming {
    /// What it would bring to `book`.
    pub fn against(&self, book: &Book) -> News {
        let mut news = News::default();
        let mut places: BTreeMap<(Chain, i64), BTreeSet<Hash>> = BTreeMap::new();
        for head in &self.chains {
            let known = book.places(head.chain).map(|(seq, hashes)| ((head.chain, seq), hashes));
            places.extend(known);
        }
        for entry in self.book.entries() {
            let known = book.get(entry.hash).is_some();
            *(if known { &mut news.known } else { &mut news.new }) += 1;
            places.entry((entry.chain, entry.seq)).or_default().insert(entry.hash);
        }
        news.forks = places.iter().filter(|(_, hashes)| hashes.len() > 1).map(|(place, _)| *place).collect();
        for head in &self.chains {
            let still = |from: i64, to: i64| {
                let here = places.range((head.chain, from)..=(head.chain, to)).count();
                i64::try_from(here).is_ok_and(|here| here <= to - from)
            };
            let gaps = head.gaps.iter().filter(|(from, to)| still(*from, *to));
            news.missing.extend(gaps.map(|(from, to)| (head.chain, *from, *to)));
        }
        news.attachments = self.book.attachments().filter(|(hash, _)| !book.has_attachment(**hash)).count();
        news
    }

    /// Its entries and attachments that `book` does not have, chain by chain.
    pub fn new_to(&self, book: &Book) -> (Vec<Entry>, Vec<Attachment>) {
        let entries = self.book.chains().flat_map(|chain| self.book.chain(chain));
        let attachments = self.book.attachments().filter(|(hash, _)| !book.has_attachment(**hash));
        (
            entries.filter(|entry| book.get(entry.hash).is_none()).cloned().collect(),
            attachments.map(|(_, attachment)| attachment.clone()).collect(),
        )
    }
}

/// How far a long read is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    /// Entries read, of all.
    Entries(usize, usize),
    /// Notes and pictures read, of all.
    Attachments(usize, usize),
    /// Tests worked out again, of all.
    Tests(usize, usize),
}

/// Why nothing of a bundle was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotRead {
    /// Every fault found, up to a limit.
    Faults(Vec<BundleFault>),
    /// Whoever was told of the progress wanted no more of it.
    Cancelled,
}

/// Entries read between two looks at whether to go on.
const ENTRIES: usize = 16;

/// Reads a bundle like [`read_bundle`], piece by piece: `go_on` is told how far it is, may wait, and answers whether to go on. A text whose
/// entries cannot be told apart without reading it is read in one go, and `go_on` is asked at the tests only.
///
/// # Errors
/// Faults, or that it was cancelled. Nothing of either is to be taken.
pub async fn read_in_pieces(text: &str, mut go_on: impl AsyncFnMut(Progress) -> bool) -> Result<Incoming, NotRead> {
    if text.len() > MAX_BYTES {
        return Err(NotRead::Faults(vec![BundleFault::TooLarge]));
    }
    let Audit { mut bundle, faults, said } = audit(text, MOST_FAULTS, &mut go_on).await?;
    if !faults.is_empty() {
        return Err(NotRead::Faults(faults));
    }
    let (visits, mut found, mut done) = (visits(&bundle.book), FindingsJson::default(), 0);
    let tests = visits.iter().map(|visit| visit.tests.len()).sum();
    for visit in &visits {
        let (mut working, mut estimates) = (findings::Working::default(), findings::Estimates::default());
        while working.next_test(&bundle.book, visit, &mut estimates) {
            done += 1;
            if !go_on(Progress::Tests(done, tests)).await {
                return Err(NotRead::Cancelled);
            }
        }
        found.add(&working.whole(visit));
    }
    bundle.findings = FindingsCheck::of(said.as_ref(), &found);
    Ok(bundle)
}

/// What a future comes to that waits for nothing.
fn at_once<T>(of: impl Future<Output = T>) -> T {
    let mut of = pin!(of);
    loop {
        if let Poll::Ready(done) = of.as_mut().poll(&mut Context::from_waker(Waker::noop())) {
            return done;
        }
    }
}

fn faults_of(why: NotRead) -> Vec<BundleFault> {
    match why {
        NotRead::Faults(faults) => faults,
        NotRead::Cancelled => Vec::new(),
    }
}

/// Reads a bundle. A byte order mark, CRLF line ends and empty lines at the end, as mail adds them, do no harm.
///
/// # Errors
/// Every fault found, up to a limit. Nothing of a bundle with a fault is to be taken.
pub fn read_bundle(text: &str) -> Result<Incoming, Vec<BundleFault>> {
    at_once(read_in_pieces(text, async |_| true)).map_err(faults_of)
}

/// A bundle with every fault in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Audit {
    /// What could be read; its findings are not compared yet.
    pub bundle: Incoming,
    /// Every fault, each with its place.
    pub faults: Vec<BundleFault>,
    /// What the bundle says under `findings`.
    pub said: Option<Value>,
}

/// Reads a bundle of any size and lists every fault beside what could be read.
///
/// # Errors
/// Why there is nothing to look at: it is not a bundle, or one that only a newer app reads.
pub fn audit_bundle(text: &str) -> Result<Audit, Vec<BundleFault>> {
    at_once(audit(text, usize::MAX, &mut async |_| true)).map_err(faults_of)
}

async fn audit(text: &str, most: usize, go_on: &mut impl AsyncFnMut(Progress) -> bool) -> Result<Audit, NotRead> {
    let mut faults = Faults { list: Vec::new(), most };
    let (mut entries, mut attached) = (Entries::default(), Attached::new(most));
    let mut map = match lists(text, &mut entries, &mut attached, &mut faults, go_on).await? {
        Some(map) => map,
        None => {
            // Read as a whole: short, or no JSON, and then its place is wanted.
            (entries, attached, faults.list) = (Entries::default(), Attached::new(most), Vec::new());
            members(text).map_err(|fault| NotRead::Faults(vec![fault]))?
        }
    };
    let mut whole = Faults { list: Vec::new(), most };
    let made = map.get("made").and_then(read_made);
    whole.unless(made.is_some(), BundleFault::Member { name: "made" });
    let list = |name: &str| map.get(name).and_then(Value::as_array).map(Vec::as_slice);
    let (rows, values, attachments) = (list("chains"), list("entries"), list("attachments"));
    for (name, list) in [("chains", rows), ("entries", values), ("attachments", attachments)] {
        whole.unless(list.is_some(), BundleFault::Member { name });
    }
    let is_whole = whole.list.is_empty();
    // What is wrong with the bundle as a whole is said first.
    let of_entries = std::mem::replace(&mut faults, whole).list;
    of_entries.into_iter().for_each(|fault| faults.add(fault));
    values.unwrap_or_default().iter().for_each(|value| entries.read(value, &mut faults));
    let Entries { read: entries, refused, .. } = entries;
    let heads = read_rows(rows.unwrap_or_default(), &mut faults);
    let chains = check_chains(&entries, &refused, heads, &mut faults);
    attachments.unwrap_or_default().iter().for_each(|value| attached.read(value));
    std::mem::take(&mut attached.faults.list).into_iter().for_each(|fault| faults.add(fault));
    let (Some(made), true) = (made, is_whole) else { return Err(NotRead::Faults(faults.finish())) };
    let said = map.remove("findings");
    if let Some(said) = &said {
        faults.unless(method_of(said).is_some(), BundleFault::Member { name: "findings.method" });
        let tests = said.get("tests").is_some_and(Value::is_array);
        faults.unless(tests, BundleFault::Member { name: "findings.tests" });
    }
    let out_of_order = out_of_order(&entries);
    let mut book = attached.book;
    book.apply_all(entries);
    let bundle = Incoming { made, book, chains, out_of_order, findings: FindingsCheck::None };
    Ok(Audit { bundle, faults: faults.finish(), said })
}

/// The members of a bundle without its entries and attachments, and those read a few at a time. None where it has to be read as a whole.
async fn lists(
    text: &str,
    entries: &mut Entries,
    attached: &mut Attached,
    faults: &mut Faults,
    go_on: &mut impl AsyncFnMut(Progress) -> bool,
) -> Result<Option<Map<String, Value>>, NotRead> {
    // Pictures are the most of a text that has any, so it is gone through once for them and the rest for its entries.
    let Some((rest, pictures)) = split_list(text, "attachments") else { return Ok(None) };
    let Some((rest, texts)) = split_list(&rest, "entries") else { return Ok(None) };
    let Ok(map) = members(&rest) else { return Ok(None) };
    for (index, text) in texts.iter().enumerate() {
        let Some(value) = element(text) else { return Ok(None) };
        entries.read(&value, faults);
        if index % ENTRIES == 0 && !go_on(Progress::Entries(index, texts.len())).await {
            return Err(NotRead::Cancelled);
        }
    }
    for (index, text) in pictures.iter().enumerate() {
        let Some(value) = element(text) else { return Ok(None) };
        attached.read(&value);
        if !go_on(Progress::Attachments(index, pictures.len())).await {
            return Err(NotRead::Cancelled);
        }
    }
    Ok(Some(map))
}

/// The one value of a list's element. As deep as in the whole: how deep JSON may nest is counted from there.
fn element(text: &str) -> Option<Value> {
    let Ok(Value::Array(mut list)) = parse_strict(&format!("[[{text}]]")) else { return None };
    let Some(Value::Array(mut values)) = list.pop().filter(|_| list.is_empty()) else { return None };
    values.pop().filter(|_| values.is_empty())
}

fn members(text: &str) -> Result<Map<String, Value>, BundleFault> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text).trim();
    if text.is_empty() {
        return Err(BundleFault::Empty);
    }
    let value = parse_strict(text).map_err(|why| match why.reason.starts_with("EOF") {
        true => BundleFault::CutShort,
        false => BundleFault::NotJson(why.to_string()),
    })?;
    let Value::Object(map) = value else { return Err(BundleFault::NotABundle) };
    if map.get("format").and_then(Value::as_str) != Some(FORMAT_NAME) {
        return Err(BundleFault::NotABundle);
    }
    match map.get("v").and_then(Value::as_i64) {
        Some(v) if v > FORMAT => Err(BundleFault::NeedsNewerApp { v }),
        Some(v) if v == FORMAT => Ok(map),
        Some(v) if v >= 1 => Err(BundleFault::Unreleased),
        _ => Err(BundleFault::Member { name: "v" }),
    }
}

fn read_made(value: &Value) -> Option<Made> {
    let text = |name| value.get(name).and_then(Value::as_str);
    let at = value.get("at").and_then(Value::as_i64).filter(|at| at.abs() <= MAX_INTEGER)?;
    Some(Made { at: Wall(at), app: text("app")?.to_string(), phone: read_uuid(text("phone")?)? })
}

/// Entries that could be read, once each, and the places that those name which could not.
#[derive(Default)]
struct Entries {
    read: Vec<Entry>,
    refused: BTreeSet<(Chain, i64)>,
    seen: BTreeSet<Hash>,
    /// How many there were, whatever became of them.
    count: usize,
}

impl Entries {
    fn read(&mut self, value: &Value, faults: &mut Faults) {
        self.count += 1;
        let number = self.count;
        let at = || {
            let text = |name| value.get(name).and_then(Value::as_str).unwrap_or_default().chars().take(60).collect();
            let seq = value.get("seq").and_then(Value::as_i64);
            Position { number, scope: text("scope"), phone: text("phone"), seq }
        };
        match Entry::from_value(value) {
            Ok(entry) if self.seen.insert(entry.hash) => self.read.push(entry),
            Ok(_) => faults.add(BundleFault::Duplicate { at: at() }),
            Err(why) => {
                let at = at();
                self.refused.extend(at.chain().zip(at.seq));
                faults.add(BundleFault::Entry { at, why });
            }
        }
    }
}

/// Attachments whose names are right, once each.
struct Attached {
    book: Book,
    seen: BTreeSet<Hash>,
    /// How many there were, whatever became of them.
    count: usize,
    /// What is wrong with the others; said after what is wrong with entries and chains.
    faults: Faults,
}

impl Attached {
    fn new(most: usize) -> Attached {
        Attached { book: Book::default(), seen: BTreeSet::new(), count: 0, faults: Faults { list: Vec::new(), most } }
    }

    fn read(&mut self, value: &Value) {
        self.count += 1;
        let number = self.count;
        match attachment(value) {
            Some((hash, attachment)) if self.seen.insert(hash) => self.book.attach(attachment),
            Some(_) => self.faults.add(BundleFault::AttachmentTwice { number }),
            None => self.faults.add(BundleFault::Attachment { number }),
        }
    }
}

/// An attachment, if its name is that of its content.
fn attachment(value: &Value) -> Option<(Hash, Attachment)> {
    let text = |name| value.get(name).and_then(Value::as_str);
    let salt = from_hex(text("salt")?)?.try_into().ok()?;
    let attachment = Attachment { salt, media: text("media")?.to_string(), bytes: from_base64(text("bytes")?)? };
    let hash: Hash = text("hash")?.parse().ok()?;
    (attachment.hash() == hash).then_some((hash, attachment))
}

/// The method that findings name, where it is one.
fn method_of(said: &Value) -> Option<u64> {
    said.get("method")?.as_u64().filter(|method| *method > 0)
}

impl FindingsCheck {
    /// Compares what a bundle says under `findings` with what is found in its entries. Findings that name no method are a fault of
    /// the bundle, and are held against today's.
    pub fn of(said: Option<&Value>, found: &FindingsJson) -> FindingsCheck {
        let Some(said) = said else { return FindingsCheck::None };
        let today = u64::from(findings::METHOD);
        let method = method_of(said).unwrap_or(today);
        if method > today {
            return FindingsCheck::NewerMethod;
        }
        let older = method < today;
        match differences(said, found, older) {
            differs if older => FindingsCheck::OlderMethod(differs),
            differs if differs.is_empty() => FindingsCheck::Same,
            differs => FindingsCheck::Differ(differs),
        }
    }
}
