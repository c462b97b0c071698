//! A bundle read back: all of it or, with the reasons, nothing.

use super::base64::from_base64;
use super::bundle::{ChainHead, FORMAT, FORMAT_NAME, Made};
use super::chains::{check_chains, out_of_order, read_rows};
use super::differences::{Differs, differences};
use super::fault::{BundleFault, Faults, Position};
use super::findings_json::FindingsJson;
use crate::book::entry::{Chain, Entry, Hash, MAX_INTEGER};
use crate::book::log::{Attachment, Book};
use crate::book::visit::visits;
use crate::encoding::{canonical, from_hex, parse_strict, read_uuid};
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
            let known = book.places(head.chain).map(|(seq, hashes)| ((head.chain, seq), hashes));
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
        book.apply_all(self.entries.iter().cloned());
        self.attachments.iter().cloned().for_each(|attachment| book.attach(attachment));
        book
    }
}

/// Reads a bundle. A byte order mark, CRLF line ends and empty lines at the end, as mail adds them, do no harm.
///
/// # Errors
/// Every fault found, up to a limit. Nothing of a bundle with a fault is to be taken.
pub fn read_bundle(text: &str) -> Result<Incoming, Vec<BundleFault>> {
    if text.len() > MAX_BYTES {
        return Err(vec![BundleFault::TooLarge]);
    }
    let Audit { bundle, faults, said } = audit(text, MOST_FAULTS)?;
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut bundle = bundle;
    let book = bundle.book();
    let found = FindingsJson::of(&book, &visits(&book));
    bundle.findings = FindingsCheck::of(said.as_ref(), &found);
    Ok(bundle)
}

/// A bundle as it stands, with everything that is wrong with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Audit {
    /// What could be read; its findings are not compared yet.
    pub bundle: Incoming,
    /// Every fault, each with its place.
    pub faults: Vec<BundleFault>,
    /// What the bundle says under `findings`.
    pub said: Option<Value>,
}

/// Reads a bundle of any size for somebody who wants to see every fault and what the rest says all the same.
///
/// # Errors
/// Why there is nothing to look at: it is not a bundle, or one that only a newer app reads.
pub fn audit_bundle(text: &str) -> Result<Audit, Vec<BundleFault>> {
    audit(text, usize::MAX)
}

fn audit(text: &str, most: usize) -> Result<Audit, Vec<BundleFault>> {
    let mut map = members(text).map_err(|fault| vec![fault])?;
    let mut faults = Faults { list: Vec::new(), most };
    let made = map.get("made").and_then(read_made);
    faults.unless(made.is_some(), BundleFault::Member { name: "made" });
    let list = |name: &str| map.get(name).and_then(Value::as_array).map(Vec::as_slice);
    let (rows, values, attached) = (list("chains"), list("entries"), list("attachments"));
    for (name, list) in [("chains", rows), ("entries", values), ("attachments", attached)] {
        faults.unless(list.is_some(), BundleFault::Member { name });
    }
    let whole = faults.list.is_empty();
    let Read { entries, refused } = read_entries(values.unwrap_or_default(), &mut faults);
    let heads = read_rows(rows.unwrap_or_default(), &mut faults);
    let chains = check_chains(&entries, &refused, heads, &mut faults);
    let attachments = read_attachments(attached.unwrap_or_default(), &mut faults);
    let (Some(made), true) = (made, whole) else { return Err(faults.finish()) };
    let said = map.remove("findings");
    if let Some(said) = &said {
        faults.unless(method_of(said).is_some(), BundleFault::Member { name: "findings.method" });
        let tests = said.get("tests").is_some_and(Value::is_array);
        faults.unless(tests, BundleFault::Member { name: "findings.tests" });
    }
    let out_of_order = out_of_order(&entries);
    let bundle = Incoming { made, entries, attachments, chains, out_of_order, findings: FindingsCheck::None };
    Ok(Audit { bundle, faults: faults.finish(), said })
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
    Some(Made { at, app: text("app")?.to_string(), phone: read_uuid(text("phone")?)? })
}

/// Entries that could be read, once each, and the places that those name which could not.
struct Read {
    entries: Vec<Entry>,
    refused: BTreeSet<(Chain, i64)>,
}

fn read_entries(values: &[Value], faults: &mut Faults) -> Read {
    let mut entries = Vec::with_capacity(values.len());
    let (mut seen, mut refused) = (BTreeSet::new(), BTreeSet::new());
    for (index, value) in values.iter().enumerate() {
        let at = || {
            let text = |name| value.get(name).and_then(Value::as_str).unwrap_or_default().chars().take(60).collect();
            let seq = value.get("seq").and_then(Value::as_i64);
            Position { number: index + 1, scope: text("scope"), phone: text("phone"), seq }
        };
        match Entry::read(&canonical(value)) {
            Ok(entry) if seen.insert(entry.hash) => entries.push(entry),
            Ok(_) => faults.add(BundleFault::Duplicate { at: at() }),
            Err(why) => {
                let at = at();
                refused.extend(at.chain().zip(at.seq));
                faults.add(BundleFault::Entry { at, why });
            }
        }
    }
    Read { entries, refused }
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
    let mut seen = BTreeSet::new();
    for (index, value) in values.iter().enumerate() {
        match read(value) {
            Some(attachment) if seen.insert(attachment.hash()) => attachments.push(attachment),
            Some(_) => faults.add(BundleFault::AttachmentTwice { number: index + 1 }),
            None => faults.add(BundleFault::Attachment { number: index + 1 }),
        }
    }
    attachments
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
