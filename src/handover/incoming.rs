//! A bundle read back: all of it or, with the reasons, nothing.

use super::base64::from_base64;
use super::bundle::{ChainHead, FORMAT, FORMAT_NAME, Made};
use super::fault::{BundleFault, Position};
use super::findings_json::{self, Differs};
use crate::book::Id;
use crate::book::entry::{Chain, Entry, Hash, MAX_INTEGER};
use crate::book::log::{Attachment, Book};
use crate::book::round::rounds;
use crate::encoding::stored::Stored;
use crate::encoding::{canonical, from_hex, parse_strict};
use crate::findings;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};

/// No file larger than this is read, bytes.
pub const MAX_BYTES: usize = 64 << 20;

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
    /// Recomputed by a newer method; no fault.
    OlderMethod(Vec<Differs>),
    /// Made by a method that this app does not know yet.
    NewerMethod,
}

/// A sound bundle, not yet taken in.
#[derive(Clone, Debug, PartialEq)]
pub struct Incoming {
    /// Who made it.
    pub made: Made,
    /// Its entries, in the order of the file.
    pub entries: Vec<Entry>,
    /// Its attachments.
    pub attachments: Vec<Attachment>,
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
            let known = book.places(head.chain).map(|(seq, hashes)| ((head.chain, seq), hashes.clone()));
            places.extend(known);
        }
        for entry in &self.entries {
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
        let new = self.attachments.iter().filter(|attachment| book.attachment(attachment.hash()).is_none());
        news.attachments = new.count();
        news
    }

    /// Its entries and attachments as a book of their own.
    pub fn book(&self) -> Book {
        let mut book = Book::default();
        self.entries.iter().cloned().for_each(|entry| book.apply(entry));
        self.attachments.iter().cloned().for_each(|attachment| book.attach(attachment));
        book
    }
}

/// Reads a bundle. A byte order mark, CRLF line ends and empty lines at the end, as mail adds them, do no harm.
///
/// # Errors
/// Every fault found, up to a limit. Nothing of a bundle with a fault is to be taken.
pub fn read_bundle(text: &str) -> Result<Incoming, Vec<BundleFault>> {
    let map = members(text).map_err(|fault| vec![fault])?;
    let mut faults = Faults(Vec::new());
    let made = map.get("made").and_then(read_made);
    faults.unless(made.is_some(), BundleFault::Member { name: "made" });
    let list = |name: &str| map.get(name).and_then(Value::as_array).map(Vec::as_slice);
    let (rows, values, attached) = (list("chains"), list("entries"), list("attachments"));
    for (name, list) in [("chains", rows), ("entries", values), ("attachments", attached)] {
        faults.unless(list.is_some(), BundleFault::Member { name });
    }
    let entries = read_entries(values.unwrap_or_default(), &mut faults);
    let heads = read_heads(rows.unwrap_or_default(), &mut faults);
    // An entry that cannot be read would show up again as missing.
    let chains = if faults.0.is_empty() { check_chains(&entries, heads, &mut faults) } else { Vec::new() };
    let attachments = read_attachments(attached.unwrap_or_default(), &mut faults);
    let (Some(made), true) = (made, faults.0.is_empty()) else { return Err(faults.finish()) };
    let out_of_order = out_of_order(&entries);
    let findings = FindingsCheck::None;
    let mut incoming = Incoming { made, entries, attachments, chains, out_of_order, findings };
    incoming.findings = check_findings(map.get("findings"), &incoming.book());
    Ok(incoming)
}

struct Faults(Vec<BundleFault>);

impl Faults {
    fn add(&mut self, fault: BundleFault) {
        if self.0.len() <= MOST_FAULTS {
            self.0.push(fault);
        }
    }

    fn unless(&mut self, holds: bool, fault: BundleFault) {
        if !holds {
            self.add(fault);
        }
    }

    fn finish(mut self) -> Vec<BundleFault> {
        if self.0.len() > MOST_FAULTS {
            self.0.truncate(MOST_FAULTS);
            self.0.push(BundleFault::AndMore);
        }
        self.0
    }
}

fn members(text: &str) -> Result<Map<String, Value>, BundleFault> {
    if text.len() > MAX_BYTES {
        return Err(BundleFault::TooLarge);
    }
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
        Some(v) if v >= 1 => Ok(map),
        _ => Err(BundleFault::Member { name: "v" }),
    }
}

fn read_made(value: &Value) -> Option<Made> {
    let text = |name| value.get(name).and_then(Value::as_str);
    let at = value.get("at").and_then(Value::as_i64).filter(|at| at.abs() <= MAX_INTEGER)?;
    Some(Made { at, app: text("app")?.to_string(), phone: Id::try_parse(text("phone")?).ok()? })
}

fn read_entries(values: &[Value], faults: &mut Faults) -> Vec<Entry> {
    let mut entries = Vec::with_capacity(values.len());
    let mut seen = BTreeSet::new();
    for (index, value) in values.iter().enumerate() {
        let at = || {
            let text = |name| value.get(name).and_then(Value::as_str).unwrap_or_default().chars().take(60).collect();
            let seq = value.get("seq").and_then(Value::as_i64);
            Position { number: index + 1, scope: text("scope"), phone: text("phone"), seq }
        };
        match Entry::read(&canonical(value)) {
            Ok(entry) if seen.insert(entry.hash) => entries.push(entry),
            Ok(_) => faults.add(BundleFault::Duplicate { at: at() }),
            Err(why) => faults.add(BundleFault::Entry { at: at(), why }),
        }
    }
    entries
}

/// A row of the list of chains as it is written: count and gaps may be anything until they are compared.
struct Row {
    chain: Chain,
    count: i64,
    last: Hash,
    gaps: Vec<(i64, i64)>,
}

fn read_heads(rows: &[Value], faults: &mut Faults) -> Vec<Row> {
    let read = |row: &Value| {
        let text = |name| row.get(name).and_then(Value::as_str);
        let scope = text("scope")?.parse().ok()?;
        let chain = Chain { scope, phone: Id::try_parse(text("phone")?).ok()? };
        let gaps = match row.get("gaps") {
            None => Vec::new(),
            Some(gaps) => Stored::from_value(gaps)?,
        };
        Some(Row { chain, count: row.get("count")?.as_i64()?, last: text("last")?.parse().ok()?, gaps })
    };
    let mut heads = Vec::with_capacity(rows.len());
    for (index, row) in rows.iter().enumerate() {
        match read(row) {
            Some(head) => heads.push(head),
            None => faults.add(BundleFault::ChainRow { number: index + 1 }),
        }
    }
    heads
}

fn check_chains(entries: &[Entry], rows: Vec<Row>, faults: &mut Faults) -> Vec<ChainHead> {
    let mut places: BTreeMap<Chain, BTreeMap<i64, BTreeSet<Hash>>> = BTreeMap::new();
    for entry in entries {
        places.entry(entry.chain).or_default().entry(entry.seq).or_default().insert(entry.hash);
    }
    let mut listed: BTreeMap<Chain, Row> = BTreeMap::new();
    for row in rows {
        if let Some(twice) = listed.insert(row.chain, row) {
            faults.add(BundleFault::NotListedOnce { chain: twice.chain });
        }
    }
    for (chain, row) in &listed {
        if !places.contains_key(chain) {
            faults.add(BundleFault::Count { chain: *chain, listed: row.count, found: 0 });
        }
    }
    let heads: Vec<ChainHead> = places.iter().filter_map(|(chain, places)| ChainHead::of(*chain, places)).collect();
    for head in &heads {
        let chain = head.chain;
        let Some(row) = listed.get(&chain) else {
            faults.add(BundleFault::NotListedOnce { chain });
            continue;
        };
        for (from, to) in head.gaps.iter().copied().filter(|gap| !row.gaps.contains(gap)) {
            faults.add(BundleFault::Missing { chain, from, to });
        }
        let found = head.count;
        if i64::try_from(found) != Ok(row.count) {
            faults.add(BundleFault::Count { chain, listed: row.count, found });
        } else {
            faults.unless(head.last == row.last, BundleFault::Last { chain });
        }
    }
    for entry in entries {
        let before = places.get(&entry.chain).and_then(|places| places.get(&entry.seq.saturating_sub(1)));
        let linked = match (entry.prev, before) {
            (Some(prev), Some(before)) => before.contains(&prev),
            // Nothing before it: either it is the first, or the gap is named elsewhere.
            _ => true,
        };
        faults.unless(linked, BundleFault::BrokenLink { chain: entry.chain, seq: entry.seq });
    }
    heads
}

fn read_attachments(values: &[Value], faults: &mut Faults) -> Vec<Attachment> {
    let read = |value: &Value| {
        let text = |name| value.get(name).and_then(Value::as_str);
        let salt = from_hex(text("salt")?)?.try_into().ok()?;
        let attachment = Attachment { salt, media: text("media")?.to_string(), bytes: from_base64(text("bytes")?)? };
        let hash: Hash = text("hash")?.parse().ok()?;
        (attachment.hash() == hash).then_some(attachment)
    };
    let mut attachments = Vec::with_capacity(values.len());
    for (index, value) in values.iter().enumerate() {
        match read(value) {
            Some(attachment) => attachments.push(attachment),
            None => faults.add(BundleFault::Attachment { number: index + 1 }),
        }
    }
    attachments
}

fn out_of_order(entries: &[Entry]) -> Vec<usize> {
    let mut reached: BTreeMap<Chain, i64> = BTreeMap::new();
    let mut late = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        let reached = reached.entry(entry.chain).or_insert(entry.seq);
        if entry.seq < *reached {
            late.push(index + 1);
        }
        *reached = entry.seq.max(*reached);
    }
    late
}

fn check_findings(said: Option<&Value>, book: &Book) -> FindingsCheck {
    let Some(said) = said else { return FindingsCheck::None };
    let method = said.get("method").and_then(Value::as_i64).unwrap_or(0);
    if method > i64::from(findings::METHOD) {
        return FindingsCheck::NewerMethod;
    }
    let runs = said.get("runs").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let found: Vec<Value> =
        rounds(book).iter().flat_map(|round| findings_json::runs(&findings::round(book, round))).collect();
    let differs = findings_json::differences(runs, &found);
    match (method < i64::from(findings::METHOD), differs.is_empty()) {
        (_, true) => FindingsCheck::Same,
        (true, false) => FindingsCheck::OlderMethod(differs),
        (false, false) => FindingsCheck::Differ(differs),
    }
}
