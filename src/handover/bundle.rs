//! The bundle that leaves the phone: whole chains, their attachments, and findings for readers without the app.

use super::findings_json::FindingsJson;
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::entry::{Chain, Entry, Hash, Scope};
use crate::book::visit::{Visit, visits};
use crate::encoding::stored::Stored;
use crate::encoding::{base64, canonical, sha256_hex, to_hex};
use crate::findings;
use crate::order;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// What a bundle calls itself.
pub const FORMAT_NAME: &str = "soakbook bundle";
/// The bundle format this build writes, the first that was released. What called itself 1 is refused as such.
pub const FORMAT: i64 = 2;
/// Media type of a bundle.
pub const MEDIA: &str = "application/json";
/// No file larger than this is read, bytes.
pub const MAX_BYTES: usize = 64 << 20;

/// What goes into a bundle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Select {
    /// A visit: its chains, its site's register and the kit its tests need.
    Visit(Id),
    /// A site's register.
    Site(Id),
    /// Everything known, for another phone of the same people.
    Everything,
}

/// Who makes a bundle, and when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// Wall clock, UTC ms.
    pub at: i64,
    /// Version of the app.
    pub app: String,
    /// The phone.
    pub phone: Id,
}

/// A chain in a bundle's header.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChainHead {
    /// The chain.
    pub chain: Chain,
    /// Number of its entries.
    pub count: usize,
    /// Its last entry.
    pub last: Hash,
    /// Places, first and last, that the maker of the bundle does not have.
    pub gaps: Vec<(i64, i64)>,
}

impl ChainHead {
    /// The header of a chain from its entries by place; none when there are none.
    pub(super) fn of(chain: Chain, places: &BTreeMap<i64, BTreeSet<Hash>>) -> Option<ChainHead> {
        let last = *places.last_key_value()?.1.first()?;
        let mut gaps = Vec::new();
        let mut expected = 0;
        for seq in places.keys() {
            if *seq > expected {
                gaps.push((expected, *seq - 1));
            }
            expected = seq.saturating_add(1);
        }
        Some(ChainHead { chain, count: places.values().map(BTreeSet::len).sum(), last, gaps })
    }
}

/// A bundle ready to leave.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bundle {
    /// The whole file.
    pub text: String,
    /// The chains in it.
    pub chains: Vec<ChainHead>,
    /// Number of entries in it.
    pub entries: usize,
    /// Number of attachments in it.
    pub attachments: usize,
}

/// Why there is no bundle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NothingToHandOver {
    /// The visit has no entries here.
    Visit,
    /// The site has no register here.
    Site,
    /// The book is empty.
    Book,
}

impl fmt::Display for NothingToHandOver {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NothingToHandOver::Visit => "nothing to send: open a visit and test a detector first",
            NothingToHandOver::Site => "nothing to send: this site has no devices yet, add an area or a position first",
            NothingToHandOver::Book => "nothing to send: this phone has no records, add a site first",
        })
    }
}

impl std::error::Error for NothingToHandOver {}

/// Puts a bundle together.
///
/// # Errors
/// When there is nothing to put in.
pub fn bundle_of(book: &Book, select: Select, made: &Made) -> Result<Bundle, NothingToHandOver> {
    let chains: Vec<Chain> = match select {
        Select::Everything => book.chains().collect(),
        Select::Site(site) => book.chains_of(Scope::Site(site)).collect(),
        Select::Visit(id) => visit_chains(book, &Visit::of(book, id).ok_or(NothingToHandOver::Visit)?),
    };
    // In the order of chains, so that a bundle handed on is the same to the last byte.
    let chains = order::set(chains);
    let heads: Vec<ChainHead> = chains.iter().filter_map(|chain| head(book, *chain)).collect();
    if heads.is_empty() {
        return Err(match select {
            Select::Visit(_) => NothingToHandOver::Visit,
            Select::Site(_) => NothingToHandOver::Site,
            Select::Everything => NothingToHandOver::Book,
        });
    }
    let entries: Vec<&Entry> = heads.iter().flat_map(|head| book.chain(head.chain)).collect();
    let attachments = attachments(book, &entries);
    // What a bundle says follows from its own entries, so it is asked of a book that holds no others.
    let found = match select {
        Select::Everything => FindingsJson::of(book, &visits(book)),
        Select::Site(_) => FindingsJson::default(),
        Select::Visit(id) => {
            let only = book.only(&chains);
            Visit::of(&only, id).map_or_else(FindingsJson::default, |visit| FindingsJson::of(&only, &[visit]))
        }
    };
    let (count, attached) = (entries.len(), attachments.len());
    let text = write(made, &heads, &entries, &attachments, &found);
    Ok(Bundle { text, chains: heads, entries: count, attachments: attached })
}

fn head(book: &Book, chain: Chain) -> Option<ChainHead> {
    let places = order::map(book.places(chain));
    ChainHead::of(chain, &places)
}

/// The chains of a visit and of its site's register, and the kit chains that hold the profile runs its tests name: a chain goes whole
/// or not at all. What a test needs of heater, procedure and people is in the visit itself.
fn visit_chains(book: &Book, visit: &Visit) -> Vec<Chain> {
    let mut chains: Vec<Chain> = book.chains_of(Scope::Visit(visit.id)).collect();
    let named = order::set(chains.iter().flat_map(|chain| book.chain(*chain)).flat_map(|entry| entry.body.names()));
    chains.extend(book.chains_of(Scope::Site(visit.site)));
    let needed = |chain: &Chain| book.chain(*chain).any(|entry| named.contains(&entry.hash));
    chains.extend(book.chains_of(Scope::Kit).filter(needed));
    chains
}

/// The attachments that entries name, found by their hashes in the texts so that those of a newer app's entries go along.
fn attachments<'a>(book: &'a Book, entries: &[&Entry]) -> BTreeMap<Hash, &'a crate::book::entries::Attachment> {
    let hashes = entries.iter().flat_map(|entry| entry.text.split('"')).filter(|text| text.len() == 64);
    let named = order::set(hashes.filter_map(|text| text.parse::<Hash>().ok()));
    order::map(named.into_iter().filter_map(|hash| Some((hash, book.attachment(hash)?))))
}

fn write(
    made: &Made,
    heads: &[ChainHead],
    entries: &[&Entry],
    attachments: &BTreeMap<Hash, &crate::book::entries::Attachment>,
    found: &FindingsJson,
) -> String {
    let lines = |lines: Vec<String>| lines.join(",\n");
    let made = json!({ "at": made.at, "app": made.app, "phone": made.phone.to_string() });
    let heads = heads.iter().map(|head| {
        let mut value = json!({
            "scope": head.chain.scope.to_string(),
            "phone": head.chain.phone.to_string(),
            "count": head.count,
            "last": head.last.to_string(),
        });
        if let (false, Value::Object(map)) = (head.gaps.is_empty(), &mut value) {
            map.insert("gaps".into(), head.gaps.to_value());
        }
        canonical(&value)
    });
    let attachments = attachments.iter().map(|(hash, attachment)| {
        canonical(&json!({
            "hash": hash.to_string(),
            "salt": to_hex(&attachment.salt),
            "media": attachment.media,
            "bytes": base64(&attachment.bytes),
        }))
    });
    format!(
        "{{\"format\":\"{FORMAT_NAME}\",\"v\":{FORMAT},\n\"made\":{},\n\"chains\":[\n{}\n],\n\"entries\":[\n{}\n],\n\
         \"attachments\":[\n{}\n],\n\"findings\":{{\"method\":{},\"tests\":[\n{}\n],\n\
         \"families\":[\n{}\n]}}}}\n",
        canonical(&made),
        lines(heads.collect()),
        lines(entries.iter().map(|entry| entry.text.clone()).collect()),
        lines(attachments.collect()),
        findings::METHOD,
        lines(found.tests.iter().map(canonical).collect()),
        lines(found.families.iter().map(canonical).collect()),
    )
}

/// The name of a bundle's file: `soakbook-<site>-<date>-<first 8 digits of its SHA-256>.json`, in letters that every file system
/// takes. `at` is UTC ms, `offset` the local time minus UTC in minutes.
pub fn file_name(site: &str, at: i64, offset: i64, text: &str) -> String {
    let mut slug = String::new();
    for c in site.chars() {
        if c.is_ascii_alphanumeric() {
            slug.push(c.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    slug.truncate(40);
    let slug = match slug.trim_end_matches('-') {
        "" => "site",
        slug => slug,
    };
    let local = at.saturating_add(offset.saturating_mul(60_000));
    let date = chrono::DateTime::from_timestamp_millis(local).unwrap_or_default().date_naive();
    let hash = sha256_hex(text.as_bytes());
    format!("soakbook-{slug}-{date}-{}.json", &hash[..8])
}
