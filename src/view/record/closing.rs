//! What came after a closing; photos; how the record is bound to its file, and what the owner keeps.

use super::{Recorded, joined, short, table};
use crate::book::body::{About, Body, Photo};
use crate::book::entry::{Entry, Scope};
use crate::book::visit::State;
use crate::order;
use crate::units::Wall;
use crate::view::page::html::NOT_HERE;
use crate::view::page::{Block, Kind, Picture, Pictures, Role};
use crate::view::words;
use std::sync::Arc;

const AMENDED: &str = "Amendments";
const AMENDED_WORDS: &str = "The visit was reopened, or something was recorded after it was closed. This record replaces the one made from the earlier closing.";
const PHOTOS: &str = "Photos";
const PHOTOS_WORDS: &str = "The visit file lists each of these photos, and has the pictures that were on the phone and fit in the file. The code is the start of the photo's SHA-256.";
const FILE: &str = "This record and its file";
const LEAF: &str = "For the owner";

impl Recorded<'_> {
    /// Closings and reopenings, with what was recorded after each closing.
    pub(super) fn after_closing(&self) -> Option<Block> {
        let all = || self.book.scope(Scope::Visit(self.visit.id)).filter(|entry| !self.book.is_void(entry));
        let place = |entry: &Entry| (entry.stamp.wall, entry.seq, entry.hash);
        let closings = all().filter(|entry| matches!(entry.body, Body::VisitClosed { .. }));
        let first = closings.map(place).min()?;
        let later = by_time(all().filter(|entry| place(entry) >= first).collect());
        let mut rows: Vec<Vec<String>> = Vec::new();
        let mut since: Vec<(String, usize)> = Vec::new();
        let mut changed = false;
        for entry in later {
            if self.is_beside(entry) {
                continue;
            }
            let (word, detail) = match &entry.body {
                Body::VisitClosed { .. } => ("Closed", format!("code {}", short(entry.hash))),
                Body::VisitReopened(of) => {
                    let by = self.who(crate::book::body::Who::Person(of.by));
                    let words = format!("earlier record made from closing {}", short(of.ends));
                    ("Reopened", joined([self.said(of.why), by, words]))
                }
                Body::Amended(of) => {
                    let by = self.who(crate::book::body::Who::Person(of.by));
                    ("Amended", joined([self.said(of.why), by, format!("earlier digest {}", short(of.amends))]))
                }
                _ => {
                    let name = entry.body.name().replace('_', " ");
                    match since.iter_mut().find(|(known, _)| *known == name) {
                        Some((_, count)) => *count += 1,
                        None => since.push((name, 1)),
                    }
                    changed = true;
                    continue;
                }
            };
            changed |= word != "Closed";
            rows.extend(recorded(&mut since));
            rows.push(vec![word.to_string(), self.wall(entry.stamp.wall), detail]);
        }
        rows.extend(recorded(&mut since));
        if !changed {
            return None;
        }
        let blocks = [
            vec![Block::text("amended-words", Role::Plain, AMENDED_WORDS)],
            table("amendments", &["What", "When", "More"], rows, ""),
        ];
        Some(Block::section("amendments", AMENDED, blocks.concat()))
    }

    /// The photos of the visit, of its positions and of what was found, as they are printed: the newest first, each once.
    pub(super) fn pictured(&self) -> Vec<Arc<Photo>> {
        // Before they are put in order: a visit has thousands of entries and few photos.
        let scope = |scope| {
            let photos = self.book.scope(scope).filter(|entry| matches!(entry.body, Body::Photo(_)));
            photos.filter(|entry| !self.book.is_void(entry))
        };
        let of = |entry: &Entry| match &entry.body {
            Body::Photo(of) => Some(Arc::clone(of)),
            _ => None,
        };
        // Those of a position are kept with the site, and belong to the visit in which they were taken.
        let until = if self.state() == State::Open { Wall::MAX } else { self.visit.record.latest };
        let meanwhile = self.visit.opened..=until;
        let here = |about| matches!(about, About::Thing(id) if self.lines.iter().any(|line| line.position == id));
        let of_site = scope(Scope::Site(self.visit.site)).filter(|entry| meanwhile.contains(&entry.stamp.wall));
        let of_site = of_site.filter(|entry| of(entry).is_some_and(|of| here(of.about)));
        // Of several captions the newest counts.
        let mut all = by_time(of_site.chain(scope(Scope::Visit(self.visit.id))).collect());
        all.reverse();
        let mut photos: Vec<Arc<Photo>> = Vec::new();
        for photo in all.into_iter().filter_map(of) {
            if !photos.iter().any(|other| other.photo == photo.photo) {
                photos.push(photo);
            }
        }
        photos
    }

    /// What a photo is of. One of the panel is one of the visit.
    fn pictured_thing(&self, about: About) -> String {
        let (position, item) = match about {
            About::Thing(id) => {
                (self.visit.tests.iter().find(|test| test.id == id).map_or(id, |test| test.frozen.position.of), None)
            }
            About::Act(act) => (self.visit.id, self.visit.items.iter().find(|item| item.hash == act)),
        };
        match item {
            Some(item) => self.what(item),
            None if self.register.positions.contains_key(&position) => self.tag(position).to_string(),
            None => "The visit".to_string(),
        }
    }

    /// The photos.
    pub(super) fn photos(&self) -> Option<Block> {
        let mut pictures: Vec<Picture> = Vec::new();
        for of in self.pictured() {
            let about = self.pictured_thing(of.about);
            let caption = of.caption.map_or_else(|| "no caption".to_string(), |caption| self.said(caption));
            let code = format!("code {}", short(of.photo));
            let (words, alt) = (joined([about.clone(), caption.clone()]), joined([about, caption, code]));
            let gone = if self.book.has_attachment(of.photo) { "" } else { NOT_HERE };
            let key = format!("picture-{}", short(of.photo)).into();
            pictures.push(Picture {
                key,
                photo: of.photo,
                gone: gone.into(),
                alt: alt.into(),
                caption: words.into(),
                action: None,
            });
        }
        if pictures.is_empty() {
            return None;
        }
        let blocks = vec![
            Block::text("photos-words", Role::Soft, PHOTOS_WORDS),
            Block::new("photos", Kind::Pictures(Pictures { large: false, pictures })),
        ];
        Some(Block::section("photos", PHOTOS, blocks))
    }

    /// Digest and chains.
    pub(super) fn file(&self) -> Block {
        let row =
            |end: crate::book::entry::ChainEnd| vec![short_id(end.phone), end.count.to_string(), end.last.to_string()];
        let rows = self.ends().into_iter().map(row).collect();
        let mut blocks = vec![
            Block::text("digest", Role::Formula, format!("Digest (SHA-256): {}", self.digest)),
            Block::text(
                "digest-words",
                Role::Plain,
                "The digest is made from the records listed here and the results and photos above, without signatures. If any of them changes, the digest changes.",
            ),
        ];
        blocks.extend(table("chains", &["Phone", "Records", "Last record"], rows, ""));
        Block::section("file", FILE, blocks)
    }

    /// What to keep, and how to have it checked.
    pub(super) fn leaf(&self) -> Block {
        let digest = short(self.digest);
        let tests = words::plural(self.visit.tests.len(), "test", "tests");
        let lines = [
            "Keep this record and the visit file together, until the next test and for one year after (NFPA 72, chapter 14). The AHJ may ask for longer.".to_string(),
            format!("The visit file has every tap of this visit ({tests}), with its time, the phone and the person. Names and photos in it can be erased later without breaking the file."),
            "To have the file checked, open it in this app under Settings, “Check a visit file”, or with “soakbook evaluate FILE” on a computer. Both recalculate every result from the recorded taps and report any gap and any changed record. Neither needs an account or the internet.".to_string(),
            format!("“soakbook record FILE” prints this record again. Its footer must show the same digest: {digest}."),
            "This record shows how the detectors performed on the day of the test. It is no guarantee for the time until the next one.".to_string(),
        ];
        let blocks = lines.map(|line| Block::text("leaf", Role::Plain, line)).to_vec();
        Block::section("leaf", LEAF, blocks)
    }
}

/// Entries in the order of time. Across phones order has no meaning, so that of their clocks serves: every phone has the same.
pub(super) fn by_time(entries: Vec<&Entry>) -> Vec<&Entry> {
    order::by(entries, |entry| (entry.stamp.wall.0, entry.seq, entry.hash.to_string()))
}

/// What was recorded since the last line, as one line; nothing where nothing was.
fn recorded(since: &mut Vec<(String, usize)>) -> Option<Vec<String>> {
    let counts: Vec<String> = since.drain(..).map(|(name, count)| format!("{count} × {name}")).collect();
    (!counts.is_empty()).then(|| vec!["Recorded after".to_string(), "–".to_string(), counts.join(", ")])
}

/// The end of an id: its start is a time.
fn short_id(id: crate::book::Id) -> String {
    let text = id.to_string();
    text.get(text.len().saturating_sub(8)..).unwrap_or_default().to_string()
}
