//! The bundle that leaves the phone: whole chains, their attachments, and findings for readers without the app.

use super::findings_json::FindingsJson;
use crate::book::Id;
use crate::book::body::Body;
use crate::book::entry::{Chain, Entry, Hash, Scope};
use crate::book::log::Book;
use crate::book::register::Register;
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
/// The bundle format this build writes.
pub const FORMAT: i64 = 1;
/// Media type of a bundle.
pub const MEDIA: &str = "application/json";

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
    /// The heater of a chain from its entries by place; none when there are none.
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
    /// Kit chains in it that hold a profile run on another site's detector, because heater profiles in it rest on them.
    pub foreign: Vec<Chain>,
    /// Kit chains that hold such a profile run and would only bring names: they stay at home.
    pub left_out: Vec<Chain>,
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
            NothingToHandOver::Visit => "nothing to hand over: open a visit and test a detector first",
            NothingToHandOver::Site => {
                "nothing to hand over: this site has no register yet, add an area or a detector first"
            }
            NothingToHandOver::Book => "nothing to hand over: the book is empty, add a site first",
        })
    }
}

impl std::error::Error for NothingToHandOver {}

/// Puts a bundle together.
///
/// # Errors
/// When there is nothing to put in.
pub fn bundle_of(book: &Book, select: Select, made: &Made) -> Result<Bundle, NothingToHandOver> {
    let (chains, kit) = match select {
        Select::Everything => (book.chains().collect(), KitChains::default()),
        Select::Site(site) => (book.chains_of(Scope::Site(site)).collect(), KitChains::default()),
        Select::Visit(id) => visit_chains(book, &Visit::of(book, id).ok_or(NothingToHandOver::Visit)?),
    };
    // In the order of chains, so that a bundle handed on is the same to the last byte.
    let chains = order::set(chains);
    let heaters: Vec<ChainHead> = chains.iter().filter_map(|chain| heater(book, *chain)).collect();
    if heaters.is_empty() {
        return Err(match select {
            Select::Visit(_) => NothingToHandOver::Visit,
            Select::Site(_) => NothingToHandOver::Site,
            Select::Everything => NothingToHandOver::Book,
        });
    }
    let entries: Vec<&Entry> = heaters.iter().flat_map(|heater| book.chain(heater.chain)).collect();
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
    let text = write(made, &heaters, &entries, &attachments, &found);
    let KitChains { foreign, left_out } = kit;
    Ok(Bundle { text, chains: heaters, entries: count, attachments: attached, foreign, left_out })
}

fn heater(book: &Book, chain: Chain) -> Option<ChainHead> {
    let places = order::map(book.places(chain));
    ChainHead::of(chain, &places)
}

/// Kit chains that hold a profile run on another site's detector.
#[derive(Default)]
struct KitChains {
    foreign: Vec<Chain>,
    left_out: Vec<Chain>,
}

/// The chains of a visit, of its site's register and of the kit it needs. A profile run freezes the detector it was made on, and a chain
/// goes whole or not at all: one with another site's detector goes only where a heater profile rests on it.
fn visit_chains(book: &Book, visit: &Visit) -> (Vec<Chain>, KitChains) {
    let mut chains: Vec<Chain> = book.chains_of(Scope::Visit(visit.id)).collect();
    chains.extend(book.chains_of(Scope::Site(visit.site)));
    let needed = Needed::of(book, &chains);
    let register = Register::of(book);
    let foreign = |entry: &Entry| match &entry.body {
        Body::ProfileRunStarted(profile_run) => {
            profile_run.detector.as_ref().is_some_and(|frozen| register.site_of(frozen.of) != Some(visit.site))
        }
        _ => false,
    };
    let mut kit = KitChains::default();
    for chain in book.chains_of(Scope::Kit) {
        let any = |is: &dyn Fn(&Entry) -> bool| book.chain(chain).any(is);
        let profiles = any(&|entry| needed.profiles.contains(&entry.hash));
        if !profiles && !any(&|entry| needed.names(entry)) {
            continue;
        }
        let foreign = any(&foreign);
        if foreign {
            (if profiles { &mut kit.foreign } else { &mut kit.left_out }).push(chain);
        }
        if profiles || !foreign {
            chains.push(chain);
        }
    }
    (chains, kit)
}

/// What a visit names in the kit: heaters and people, and the entries of heater profiles.
struct Needed {
    things: BTreeSet<Id>,
    profiles: BTreeSet<Hash>,
}

impl Needed {
    fn of(book: &Book, chains: &[Chain]) -> Needed {
        let (mut things, mut profiles) = (BTreeSet::new(), BTreeSet::new());
        for entry in chains.iter().flat_map(|chain| book.chain(*chain)) {
            things.extend(entry.opens.as_ref().and_then(|opens| opens.who));
            match &entry.body {
                Body::Secured { by, .. } | Body::Restored { by, .. } | Body::WatcherTold { by: Some(by), .. } => {
                    things.insert(*by);
                }
                Body::TestStarted(started) => {
                    things.insert(started.heater.of);
                    profiles.extend(started.heater.profile.iter().copied());
                }
                _ => {}
            }
        }
        Needed { things, profiles }
    }

    fn names(&self, entry: &Entry) -> bool {
        let of = match &entry.body {
            Body::HeaterName(edit) => edit.of,
            Body::HeaterHeating(edit) => edit.of,
            Body::HeaterMetrology(edit) => edit.of,
            Body::Person(edit) => edit.of,
            _ => return false,
        };
        self.things.contains(&of)
    }
}

/// The attachments that entries name, found by their hashes in the texts so that those of a newer app's entries go along.
fn attachments<'a>(book: &'a Book, entries: &[&Entry]) -> BTreeMap<Hash, &'a crate::book::log::Attachment> {
    let hashes = entries.iter().flat_map(|entry| entry.text.split('"')).filter(|text| text.len() == 64);
    let named = order::set(hashes.filter_map(|text| text.parse::<Hash>().ok()));
    order::map(named.into_iter().filter_map(|hash| Some((hash, book.attachment(hash)?))))
}

fn write(
    made: &Made,
    heaters: &[ChainHead],
    entries: &[&Entry],
    attachments: &BTreeMap<Hash, &crate::book::log::Attachment>,
    found: &FindingsJson,
) -> String {
    let lines = |lines: Vec<String>| lines.join(",\n");
    let made = json!({ "at": made.at, "app": made.app, "phone": made.phone.to_string() });
    let heaters = heaters.iter().map(|heater| {
        let mut value = json!({
            "scope": heater.chain.scope.to_string(),
            "phone": heater.chain.phone.to_string(),
            "count": heater.count,
            "last": heater.last.to_string(),
        });
        if let (false, Value::Object(map)) = (heater.gaps.is_empty(), &mut value) {
            map.insert("gaps".into(), heater.gaps.to_value());
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
        lines(heaters.collect()),
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
