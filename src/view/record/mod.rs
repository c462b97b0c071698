//! The record of a visit and the notice of deficiencies, as pages that print.
//!
//! Everything in them follows from the entries of the visit and the register of its site, so a visit file gives the same pages as the
//! phone. What a phone is set to plays no part: dates are year-month-day, numbers have a decimal point, times are those of the place where
//! the visit was opened, temperatures are in the unit of the first test's heater setting, else in °F.
//!
//! Reading order: this file, `lines` (one position each), `front`, `signatures`, `problems`, `notices`, `method`, `measured`, `plots`, `fields`, `closing`,
//! `digest`; `notice` is the other page, `file` what leaves the phone.

mod checked;
mod closing;
mod digest;
mod fields;
mod file;
mod front;
mod lines;
mod measured;
mod method;
mod notice;
mod notices;
mod plots;
mod problems;
mod signatures;

use super::locale::{self, Locale};
use super::page::sign::Says;
use super::page::{Block, Button, Kind, Page, Role, Running, Table, Words};
use super::route::Route;
use super::visit::who_words;
use super::{time, words};
use crate::book::Id;
use crate::book::body::{Happened, Precision, Signer, Who, Whom};
use crate::book::entries::Book;
use crate::book::entry::{Hash, Opens, Scope};
use crate::book::register::{Position, Register};
use crate::book::visit::{State, Visit};
use crate::findings::history::{self, Done};
use crate::findings::{self, VisitFindings};
use crate::handover::slug;
use crate::units::{Degree, Wall};
pub use file::{FILE, PaperFile, with_file};
use lines::Line;
use std::collections::BTreeMap;

/// Title of the record.
pub const TITLE: &str = "Inspection and test record: heat detectors";
/// Key that opens it, and what the pages are called in short.
pub const RECORD: &str = "Record";
/// Key that opens the notice, and its title.
pub const NOTICE: &str = "Notice of deficiencies";
/// Stands where a field has nothing.
const NOT_RECORDED: &str = "Not recorded";
/// Across every page of a record that is no final one.
const DRAFT: &str = "Draft, visit open";
const DRAFT_STILL_OFF: &str = "Draft, still off";
/// Across every page of an invented site.
const INVENTED: &str = "Demo, invented";
const INVENTED_WORDS: &str = "This site, its detectors and heaters are invented.";
const NO_VISIT: &str = "Open a visit first: its record is made from what was recorded.";
/// Lines of one table: more are no frame's work.
const LINES: usize = 50;
/// Lines that are drawn with the rest of the page.
const AT_ONCE: usize = 8;

/// What makes one of the pages.
pub type Make = fn(&Book, &Register, &Visit, &VisitFindings) -> Page;

/// The keys that open the pages.
pub fn keys(any: bool) -> Block {
    let key = |name: &'static str, words: &'static str, place| Button::to(name, words, place).wide().off(!any);
    Block::buttons(vec![key("record", RECORD, Route::Record), key("notice", NOTICE, Route::Notice)])
}

/// Said in the place of a record where there is no visit.
pub fn none(name: &'static str) -> Page {
    page(name, if name == "record" { RECORD } else { NOTICE }, vec![Block::text("none", Role::Plain, NO_VISIT)])
}

/// The record of a visit with its findings.
pub fn record(book: &Book, register: &Register, visit: &Visit, found: &VisitFindings) -> Page {
    locale::within(Locale::default(), || Recorded::of(book, register, visit, found).record())
}

/// The notice of deficiencies of a visit with its findings.
pub fn notice(book: &Book, register: &Register, visit: &Visit, found: &VisitFindings) -> Page {
    locale::within(Locale::default(), || Recorded::of(book, register, visit, found).notice())
}

/// What a signature under the record is bound to.
pub fn digest(book: &Book, register: &Register, visit: &Visit) -> Hash {
    locale::within(Locale::default(), || Recorded::of(book, register, visit, &findings::visit(book, visit)).digest)
}

/// The first signs of the digest, as the footer shows them.
pub fn short_digest(book: &Book, register: &Register, visit: &Visit, found: &VisitFindings) -> String {
    locale::within(Locale::default(), || short(Recorded::of(book, register, visit, found).digest))
}

/// What somebody who checks its file is told of a visit.
pub fn checked(book: &Book, register: &Register, visit: &Visit) -> Block {
    locale::within(Locale::default(), || Recorded::of(book, register, visit, &findings::visit(book, visit)).checked())
}

/// Who signs.
pub fn signer_words(signer: Signer) -> &'static str {
    match signer {
        Signer::Tester => "Tester",
        Signer::Owner => "Owner's representative",
        Signer::Authority => "Authority (AHJ)",
    }
}

fn page(name: &'static str, title: &'static str, blocks: Vec<Block>) -> Page {
    Page {
        name,
        title: title.into(),
        back: Some(Button::back(words::BACK, Route::Handover)),
        menu: vec![Button::print()],
        long: true,
        blocks,
        ..Page::default()
    }
}

/// A visit with all that its record says.
struct Recorded<'a> {
    book: &'a Book,
    register: &'a Register,
    visit: &'a Visit,
    found: &'a VisitFindings,
    /// Temperatures are given in this unit.
    unit: Degree,
    /// What the session that opened the visit said of itself.
    opens: Option<&'a Opens>,
    /// What was done, by position, in the order of time.
    done: BTreeMap<Id, Vec<Done>>,
    /// The positions in scope, by area and walking order.
    lines: Vec<Line>,
    digest: Hash,
}

impl<'a> Recorded<'a> {
    fn of(book: &'a Book, register: &'a Register, visit: &'a Visit, found: &'a VisitFindings) -> Recorded<'a> {
        let opened = book.scope(Scope::Visit(visit.id)).filter(|entry| entry.opens.is_some());
        let opened = opened.min_by_key(|entry| (entry.stamp.wall, entry.hash));
        let setting = visit.tests.first().map(|test| test.frozen.heater.setting.unit);
        let mut recorded = Recorded {
            book,
            register,
            visit,
            found,
            unit: setting.unwrap_or(Degree::F),
            opens: opened.and_then(|entry| entry.opens.as_deref()),
            done: history::by_position(history::of_visit(book, visit, &found.tests)),
            lines: Vec::new(),
            digest: Hash::LOWEST,
        };
        recorded.lines = recorded.positions();
        recorded.digest = recorded.digest();
        recorded
    }

    fn record(&self) -> Page {
        let blocks = [
            self.front(),
            vec![self.results()],
            vec![self.problems()],
            vec![self.notices(), self.off()],
            vec![self.method()],
            vec![self.measured()],
            self.courses().into_iter().collect(),
            vec![self.fields()],
            self.after_closing().into_iter().collect(),
            self.photos().into_iter().collect(),
            vec![self.file(), self.leaf()],
        ];
        Page {
            detail: self.under_title().into(),
            running: Some(self.running(RECORD)),
            ..page("record", TITLE, blocks.concat())
        }
    }

    /// How the visit stood when the last thing was recorded of it: the record is of that moment, wherever and whenever it is made.
    fn state(&self) -> State {
        self.visit.state(self.visit.record.latest)
    }

    fn running(&self, name: &str) -> Running {
        let state = match self.state() {
            State::Open => DRAFT,
            State::ClosedStillOff => DRAFT_STILL_OFF,
            State::Closed => "",
        };
        let invented = if self.site().is_some_and(|site| site.invented) { INVENTED } else { "" };
        let across = [state, invented].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>();
        Running {
            head: self.site_name().to_string(),
            visit: format!("Visit {} · {}", time::date(self.visit.opened, self.offset()), name),
            foot: format!("Digest {}", short(self.digest)),
            across: across.join(" · "),
            file: format!(
                "soakbook-{}-{}-{}-{}.html",
                name.split(' ').next().unwrap_or(name).to_ascii_lowercase(),
                slug(self.site_name()),
                time::date(self.visit.opened, self.offset()),
                short(self.digest)
            ),
        }
    }

    /// What is said of a draft and of an invented site before everything else.
    fn cautions(&self) -> Vec<Block> {
        let draft = match self.state() {
            State::Open => Some((DRAFT, "The visit is not closed. This is what has been recorded so far.")),
            State::ClosedStillOff => {
                Some((DRAFT_STILL_OFF, "The visit is closed, but something is off that nobody accepted."))
            }
            State::Closed => None,
        };
        let invented = self.site().is_some_and(|site| site.invented).then_some((INVENTED, INVENTED_WORDS));
        let caution =
            |(word, words): (&'static str, &'static str)| Block::notice("caution", Says::Warning, word, words);
        draft.into_iter().chain(invented).map(caution).collect()
    }

    fn site(&self) -> Option<&'a crate::book::body::Site> {
        self.register.sites.get(&self.visit.site)?.now()
    }

    fn site_name(&self) -> &'a str {
        self.site().map_or("Unknown site", |site| &site.name)
    }

    fn under_title(&self) -> String {
        format!("{} · {}", self.site_name(), self.days())
    }

    /// Local time minus UTC where the visit was opened, minutes.
    fn offset(&self) -> i64 {
        self.opens.map_or(0, |opens| opens.offset)
    }

    fn wall(&self, at: Wall) -> String {
        time::wall(at, self.offset())
    }

    /// The day or days of the visit.
    fn days(&self) -> String {
        let day = |at| time::date(at, self.offset());
        let (first, last) = (day(self.visit.opened), day(self.visit.record.latest.max(self.visit.opened)));
        if first == last { first } else { format!("{first} to {last}") }
    }

    fn who(&self, who: Who) -> String {
        who_words(self.book, self.visit, who)
    }

    /// What an attachment says; what was erased says so.
    fn said(&self, of: Hash) -> String {
        self.book.words(of).unwrap_or("(erased or not in this file)").to_string()
    }

    fn said_or_not(&self, of: Option<Hash>) -> String {
        of.map_or_else(|| NOT_RECORDED.to_string(), |of| self.said(of))
    }

    fn area_name(&self, area: Id) -> &'a str {
        self.register.areas.get(&area).and_then(|of| of.now()).map_or("Unknown area", |area| &area.name)
    }

    fn tag(&self, position: Id) -> &'a str {
        self.register.positions.get(&position).map_or("", Position::tag)
    }

    fn tags(&self, positions: &[Id]) -> String {
        positions.iter().map(|id| self.tag(*id)).collect::<Vec<_>>().join(", ")
    }

    fn circuit_name(&self, circuit: Id) -> &'a str {
        self.register.circuits.get(&circuit).and_then(|of| of.now()).map_or("", |circuit| &circuit.name)
    }
}

/// A time as a person gave it, where it was given.
fn when(of: Happened) -> String {
    match of.precision {
        Precision::Day => time::date(of.at, of.offset),
        Precision::Hour => format!("about {}", time::wall(of.at, of.offset)),
        Precision::Minute | Precision::Second => time::wall(of.at, of.offset),
    }
}

/// The first signs of a hash, as a footer shows them.
fn short(hash: Hash) -> String {
    hash.to_string().chars().take(8).collect()
}

/// A party that was notified.
fn party(whom: Whom) -> &'static str {
    if whom == Whom::Owner { "Owner" } else { words::whom(whom) }
}

/// What was typed, or that nothing was.
fn given(text: Option<&String>) -> String {
    text.filter(|text| !text.trim().is_empty()).cloned().unwrap_or_else(|| NOT_RECORDED.to_string())
}

/// The parts that say anything, in one line.
fn joined(parts: impl IntoIterator<Item = String>) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ")
}

fn facts(key: &'static str, of: Vec<(&'static str, String)>) -> Block {
    Block::new(key, Kind::Facts(of.into_iter().map(|(name, value)| (name.into(), value.into())).collect()))
}

/// A table, or the words that stand where there is nothing to put in it.
fn table(key: &'static str, head: &[&'static str], rows: Vec<Vec<String>>, nothing: &'static str) -> Vec<Block> {
    if rows.is_empty() {
        return vec![Block::text("nothing", Role::Plain, nothing)];
    }
    // An empty cell is one to write into by hand.
    let filled =
        |cell: String| if cell.is_empty() && !key.starts_with("to-") { "–".into() } else { Words::from(cell) };
    let row = |row: Vec<String>| row.into_iter().map(filled).collect::<Vec<Words>>();
    let rows: Vec<Vec<Words>> = rows.into_iter().map(row).collect();
    let made = |(index, lines): (usize, &[Vec<Words>])| {
        let head = head.iter().map(|name| Words::from(*name)).collect();
        let table = Table { label: key.into(), head, rows: lines.to_vec(), later: lines.len() > AT_ONCE || index > 0 };
        Block::new(key, Kind::Table(table.into()))
    };
    rows.chunks(LINES).enumerate().map(made).collect()
}
