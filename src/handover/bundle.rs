//! The bundle that leaves the phone: whole chains, their attachments, and findings for readers without the app.

use super::findings_json::FindingsJson;
use crate::book::Id;
use crate::book::entries::{Attachment, Book};
use crate::book::entry::{Chain, Entry, Hash, Scope};
use crate::book::visit::{Visit, visits};
use crate::encoding::stored::Stored;
use crate::encoding::{base64, canonical, sha256_hex, to_hex};
use crate::findings;
use crate::order;
use crate::units::Wall;
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
/// How a file is to leave.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cover {
    /// As it is.
    Open,
    /// Sealed: in base64 three bytes are four.
    Sealed,
}

impl Cover {
    /// What entries and pictures may take of a file that is to be read again: findings and the rest are small beside them.
    pub fn room(self) -> usize {
        let room = MAX_BYTES / 16 * 15;
        match self {
            Cover::Open => room,
            Cover::Sealed => room / 4 * 3,
        }
    }
}

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
    pub at: Wall,
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

/// The pictures of a bundle: the book has only their names, so whoever has the bytes adds them one by one.
#[derive(Clone, Debug, Default)]
pub struct BundlePictures {
    lines: Vec<(Hash, String)>,
    room: usize,
}

impl BundlePictures {
    /// None yet, with room for so many bytes in the file.
    pub fn within(room: usize) -> BundlePictures {
        BundlePictures { lines: Vec::new(), room }
    }

    /// None yet, with the room that the entries leave in a file that is to be read again.
    pub fn beside(book: &Book, select: Select, cover: Cover) -> BundlePictures {
        let chains = chains_in(book, select).unwrap_or_default();
        let entries = chains.iter().flat_map(|chain| book.chain(*chain));
        BundlePictures::within(cover.room().saturating_sub(entries.map(|entry| entry.text.len()).sum()))
    }

    /// Adds a picture; false where there is no room for it.
    pub fn add(&mut self, picture: &Attachment) -> bool {
        // In base64 three bytes are four.
        if picture.bytes.len() / 3 * 4 > self.room {
            return false;
        }
        let hash = picture.hash();
        let line = line(&hash, picture);
        let room = self.room.checked_sub(line.len());
        if let Some(room) = room {
            self.room = room;
            self.lines.push((hash, line));
        }
        room.is_some()
    }
}

/// The chains that are selected.
fn chains_in(book: &Book, select: Select) -> Result<BTreeSet<Chain>, NothingToHandOver> {
    let chains: Vec<Chain> = match select {
        Select::Everything => book.chains().collect(),
        Select::Site(site) => book.chains_of(Scope::Site(site)).collect(),
        Select::Visit(id) => visit_chains(book, &Visit::of(book, id).ok_or(NothingToHandOver::Visit)?),
    };
    // In the order of chains, so that a bundle handed on is the same to the last byte.
    Ok(order::set(chains))
}

/// The entries of what is selected as a book of their own, without attachments.
pub(super) fn part_of(book: &Book, all: impl Iterator<Item = Select>) -> Result<Book, NothingToHandOver> {
    let mut chains = BTreeSet::new();
    for select in all {
        chains.extend(chains_in(book, select)?);
    }
    Ok(book.only(&chains))
}

/// The attachments that a bundle names and the book has only the names of, in the order in which they are named.
pub fn pictures_of(book: &Book, select: Select) -> Vec<Hash> {
    let chains = chains_in(book, select).unwrap_or_default();
    let named = chains.iter().flat_map(|chain| book.chain(*chain)).flat_map(|entry| entry.body.attachments());
    let mut pictures = Vec::new();
    for hash in named.filter(|hash| book.attachment(*hash).is_none() && book.has_attachment(*hash)) {
        if !pictures.contains(&hash) {
            pictures.push(hash);
        }
    }
    pictures
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
    bundle_with(book, select, made, BundlePictures::default())
}

/// Puts a bundle together, with pictures.
///
/// # Errors
/// When there is nothing to put in.
pub fn bundle_with(
    book: &Book,
    select: Select,
    made: &Made,
    pictures: BundlePictures,
) -> Result<Bundle, NothingToHandOver> {
    let chains = chains_in(book, select)?;
    let heads: Vec<ChainHead> = chains.iter().filter_map(|chain| head(book, *chain)).collect();
    if heads.is_empty() {
        return Err(match select {
            Select::Visit(_) => NothingToHandOver::Visit,
            Select::Site(_) => NothingToHandOver::Site,
            Select::Everything => NothingToHandOver::Book,
        });
    }
    let entries: Vec<&Entry> = heads.iter().flat_map(|head| book.chain(head.chain)).collect();
    let mut attachments = attachments(book, &entries);
    pictures.lines.into_iter().for_each(|(hash, line)| drop(attachments.insert(hash, line)));
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
    let text = write(made, &heads, &entries, attachments, &found);
    Ok(Bundle { text, chains: heads, entries: count, attachments: attached })
}

/// When the last of what a bundle would hold was recorded, UTC ms: a bundle made as of then is the same as long as nothing is recorded.
///
/// # Errors
/// When there is nothing to put in.
pub fn last_recorded(book: &Book, select: Select) -> Result<Wall, NothingToHandOver> {
    let walls = chains_in(book, select)?.into_iter().flat_map(|chain| book.chain(chain)).map(|entry| entry.stamp.wall);
    Ok(walls.max().unwrap_or_default())
}

/// The chains a bundle would hold, as far as they go.
///
/// # Errors
/// When there is nothing to put in.
pub fn heads_of(book: &Book, select: Select) -> Result<Vec<ChainHead>, NothingToHandOver> {
    Ok(chains_in(book, select)?.into_iter().filter_map(|chain| head(book, chain)).collect())
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
fn attachments(book: &Book, entries: &[&Entry]) -> BTreeMap<Hash, String> {
    let hashes = entries.iter().flat_map(|entry| entry.text.split('"')).filter(|text| text.len() == 64);
    let named = order::set(hashes.filter_map(|text| text.parse::<Hash>().ok()));
    order::map(named.into_iter().filter_map(|hash| Some((hash, line(&hash, book.attachment(hash)?)))))
}

fn line(hash: &Hash, attachment: &Attachment) -> String {
    canonical(&json!({
        "hash": hash.to_string(),
        "salt": to_hex(&attachment.salt),
        "media": attachment.media,
        "bytes": base64(&attachment.bytes),
    }))
}

fn write(
    made: &Made,
    heads: &[ChainHead],
    entries: &[&Entry],
    attachments: BTreeMap<Hash, String>,
    found: &FindingsJson,
) -> String {
    let lines = |lines: Vec<String>| lines.join(",\n");
    let made = json!({ "at": made.at.0, "app": made.app, "phone": made.phone.to_string() });
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
    format!(
        "{{\"format\":\"{FORMAT_NAME}\",\"v\":{FORMAT},\n\"made\":{},\n\"chains\":[\n{}\n],\n\"entries\":[\n{}\n],\n\
         \"attachments\":[\n{}\n],\n\"findings\":{{\"method\":{},\"tests\":[\n{}\n],\n\
         \"families\":[\n{}\n]}}}}\n",
        canonical(&made),
        lines(heads.collect()),
        lines(entries.iter().map(|entry| entry.text.clone()).collect()),
        lines(attachments.into_values().collect()),
        findings::METHOD,
        lines(found.tests.iter().map(canonical).collect()),
        lines(found.families.iter().map(canonical).collect()),
    )
}

/// The name of a bundle's file: `soakbook-<site>-<date>-<end of the phone's id>-<number of entries>-<first 8 digits of its SHA-256>.json`,
/// in letters that every file system takes. `offset` is the local time minus UTC in minutes.
pub fn file_name(site: &str, made: &Made, offset: i64, bundle: &Bundle) -> String {
    let hash = sha256_hex(bundle.text.as_bytes());
    format!("{}-{}-{}.json", file_stem(site, made.at, made.phone, offset), bundle.entries, &hash[..8])
}

/// The name of a table's file: the same, with the number of its lines.
pub fn results_name(site: &str, at: Wall, phone: Id, offset: i64, lines: usize) -> String {
    format!("{}-{lines}-results.csv", file_stem(site, at, phone, offset))
}

fn file_stem(site: &str, at: Wall, phone: Id, offset: i64) -> String {
    let local = at.saturating_add(offset.saturating_mul(60_000));
    let date = chrono::DateTime::from_timestamp_millis(local.0).unwrap_or_default().date_naive();
    let phone = phone.simple().to_string();
    let phone = phone.get(phone.len().saturating_sub(6)..).unwrap_or_default();
    format!("soakbook-{}-{date}-{phone}", slug(site))
}

/// A name in letters that every file system takes.
pub fn slug(name: &str) -> String {
    let mut slug = String::new();
    for c in name.chars() {
        if c.is_ascii_alphanumeric() {
            slug.push(c.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    slug.truncate(40);
    match slug.trim_end_matches('-') {
        "" => "site".to_string(),
        slug => slug.to_string(),
    }
}

/// The size of a file as it is said: kB, or MB with one digit.
pub fn file_size(bytes: usize) -> String {
    match bytes.div_ceil(1_000) {
        kb if kb < 1_000 => format!("{kb} kB"),
        kb => format!("{}.{} MB", kb / 1_000, kb % 1_000 / 100),
    }
}
