//! The office's day: what was done at a site on a day, by all phones whose records are here; and what an office asks of the app.

use super::findings::figure::operating_line;
use super::findings::lower;
use super::forms::Known;
use super::handover::{HandedOver, Left, is_handed_over, left_block};
use super::page::sign::{Shape, Tone};
use super::page::{Action, Block, Button, Kind, Page, Request, Role, Row, Table, Words};
use super::position::came;
use super::route::Route;
use super::words::{BACK, plural};
use super::{record, time};
use crate::book::Id;
use crate::book::body::Who;
use crate::book::entries::Book;
use crate::book::entry::{Chain, Scope};
use crate::book::versions::Versions;
use crate::book::visit::{Visit, headings};
use crate::encoding::stored;
use crate::findings::VisitFindings;
use crate::findings::history::{Done, DoneWhat, happened, of_visit};
use crate::handover::Offsets;
use crate::handover::delivery::{Outbox, State};
use crate::order;
use crate::units::{Degree, Wall};
use std::sync::Arc;

/// Key that sends the results as a table.
pub const RESULTS: &str = "Results for a spreadsheet";
/// Title of the page of a day, and the key that leads there.
pub const DAY: &str = "Day table, all phones";
const ORDERED: &str = "The spreadsheet has the whole visits, with every number.";
const NOTHING: &str = "Nothing was recorded at this site on this day.";
const HEAD: [&str; 7] = ["Position", "Area", "Result", "Measured", "By", "Phone", "Time"];
const DAY_MS: i64 = 86_400_000;
/// How many days before a day a visit may have begun that still goes on there. Own figure.
const LONGEST_VISIT_DAYS: i64 = 60;
/// How many other days are offered. Own figure.
const MOST_DAYS: usize = 12;

/// What the phone is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// The results of the visit on screen as a table.
    Results,
    /// Those of the visits at this site on this day.
    DayResults(Id, i64),
    /// To choose visit files that are only checked.
    ChooseFile,
    /// To order the table of the day.
    Order(OrderBy),
}

/// By what the table of the day is ordered; what is the same in that stays in order of time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum OrderBy {
    /// When it was done.
    #[default]
    Time,
    /// Area, then tag.
    Position,
    /// What it came to.
    Result,
    /// Who did it.
    Person,
}

impl OrderBy {
    const ALL: [OrderBy; 4] = [OrderBy::Time, OrderBy::Position, OrderBy::Result, OrderBy::Person];

    fn words(self) -> (&'static str, &'static str) {
        match self {
            OrderBy::Time => ("by-time", "By time"),
            OrderBy::Position => ("by-position", "By position"),
            OrderBy::Result => ("by-result", "By result"),
            OrderBy::Person => ("by-person", "By person"),
        }
    }

    /// What a line is ordered by, from its cells.
    fn key(self, at: Wall, cells: &[Words]) -> order::Key {
        let text = |column: usize| tag_key(cells.get(column).map_or("", |cell| cell));
        match self {
            OrderBy::Time => (at.0, 0, String::new()),
            OrderBy::Position => (0, 0, format!("{} {}", text(1), text(0))),
            OrderBy::Result => (0, 0, text(2)),
            OrderBy::Person => (0, 0, text(4)),
        }
    }
}

/// A text whose numbers are as long as any, so that J-2 comes before J-10.
fn tag_key(text: &str) -> String {
    let (mut key, mut digits) = (String::new(), String::new());
    for c in text.chars().chain(['\0']) {
        if c.is_ascii_digit() {
            digits.push(c);
            continue;
        }
        if !digits.is_empty() {
            key += &format!("{digits:0>9}");
            digits.clear();
        }
        key.extend(c.to_lowercase());
    }
    key
}

/// The local day of a time, days since 1970; `offset` is local time minus UTC, minutes.
pub fn day_of(at: Wall, offset: i64) -> i64 {
    at.saturating_add(offset.saturating_mul(60_000)).0.div_euclid(DAY_MS)
}

/// The days on which something was done in a visit, newest first, each by the clock of the session that recorded it; `offset` is that of
/// this phone.
pub fn days_of(book: &Book, visit: Id, offset: i64) -> Vec<i64> {
    let offsets = Offsets::of(book, visit);
    let mut days = Vec::new();
    for entry in book.scope(Scope::Visit(visit)).filter(|entry| !book.is_void(entry)) {
        let day = happened(entry).map(|(_, at)| day_of(at, offsets.at(entry).unwrap_or(offset)));
        days.extend(day.filter(|day| !days.contains(day)));
    }
    order::by_number(days, |day| day.saturating_neg())
}

/// The day of the last thing that was done in a visit; of one in which nothing was, that of its last record.
pub fn last_day(book: &Book, visit: &Visit, offset: i64) -> i64 {
    let latest = || day_of(visit.record.latest, offset);
    days_of(book, visit.id, offset).first().copied().unwrap_or_else(latest)
}

/// The visits at a site in which something was done or recorded on this day, oldest first; `offset` is that of this phone.
pub fn visits_on(book: &Book, site: Id, day: i64, offset: i64) -> Vec<Id> {
    let began = |opened: Wall| (day - LONGEST_VISIT_DAYS..=day + 1).contains(&day_of(opened, offset));
    let here = headings(book).into_iter().rev().filter(|of| of.site == site && began(of.opened));
    let on_day = |visit: &Id| {
        let offsets = Offsets::of(book, *visit);
        let mut entries = book.scope(Scope::Visit(*visit));
        entries.any(|entry| {
            let offset = offsets.at(entry).unwrap_or(offset);
            let at = [Some(entry.stamp.wall), happened(entry).map(|(_, at)| at)];
            at.into_iter().flatten().any(|at| day_of(at, offset) == day)
        })
    };
    here.map(|of| of.id).filter(on_day).collect()
}

/// What the page is made from.
#[derive(Clone, Copy, Debug)]
pub struct Day<'a> {
    /// What is known.
    pub known: Known<'a>,
    /// The site.
    pub site: Id,
    /// The day.
    pub day: i64,
    /// Its visits, each with what its tests say.
    pub visits: &'a [(Arc<Visit>, Arc<VisitFindings>)],
    /// The unit of the screen.
    pub unit: Degree,
    /// What has left this phone.
    pub handed: &'a HandedOver,
    /// What is on its way to the office's folder.
    pub outbox: &'a Outbox,
    /// By what its table is ordered.
    pub order: OrderBy,
    /// What became of the table that was sent.
    pub said: Option<&'a Result<Left, String>>,
}

impl Day<'_> {
    /// The page.
    pub fn page(self) -> Page {
        let register = self.known.register;
        let site = register.sites.get(&self.site).and_then(Versions::now).map_or("", |site| &site.name);
        let date = time::date(Wall(self.day.saturating_mul(DAY_MS)), 0);
        let visits = self.visits.iter().map(|(visit, found)| self.visit(visit, found)).collect();
        let lines: Vec<_> = self.visits.iter().flat_map(|(visit, found)| self.lines(visit, found)).collect();
        let lines = order::by_number(lines, |(at, _)| at.0);
        let lines = order::by(lines, |(at, cells)| self.order.key(*at, cells));
        let rows: Vec<Vec<Words>> = lines.into_iter().map(|(_, row)| row).collect();
        let results = Action::Do(Request::Office(Ask::DayResults(self.site, self.day)));
        let results = Button::new("day-results", RESULTS, results).icon(Shape::Share).wide().off(rows.is_empty());
        let mut blocks = match rows.is_empty() {
            true => vec![Block::text("nothing", Role::Plain, NOTHING)],
            false => {
                let head = HEAD.iter().map(|name| Words::from(*name)).collect();
                let table = Kind::Table(Table { label: DAY.into(), head, rows, later: false }.into());
                vec![
                    Block::rows("Visits", visits),
                    Block::buttons(OrderBy::ALL.map(|by| self.order_key(by)).into()),
                    Block::new("day", table),
                    Block::text("order", Role::Soft, ORDERED),
                ]
            }
        };
        blocks.push(Block::buttons(vec![results]));
        blocks.extend(self.said.map(left_block));
        blocks.extend(self.other_days());
        Page {
            name: "day",
            title: DAY.into(),
            detail: format!("{site} · {date}").into(),
            back: Some(Button::back(BACK, Route::Handover)),
            menu: vec![Button::print()],
            long: true,
            blocks,
            ..Page::default()
        }
    }

    /// The key that orders the table; dead where it is in that order.
    fn order_key(&self, by: OrderBy) -> Button {
        let (key, words) = by.words();
        Button::new(key, words, Action::Do(Request::Office(Ask::Order(by)))).off(by == self.order)
    }

    fn offset(&self) -> i64 {
        self.known.at.offset_min
    }

    /// A visit: its digest, and whether it has arrived.
    fn visit(&self, visit: &Visit, found: &VisitFindings) -> Row {
        let book = self.known.book;
        let digest = record::short_digest(book, self.known.register, visit, found);
        let (shape, tone, word) = receipt(book, self.handed, self.outbox, self.known.at.phone, visit.id);
        let title = format!("Visit {}", time::wall(visit.opened, self.offset()));
        Row::new("day-visit", title, format!("Digest {digest}")).badge(shape, tone, word)
    }

    fn lines(&self, visit: &Visit, found: &VisitFindings) -> Vec<(Wall, Vec<Words>)> {
        let book = self.known.book;
        let offsets = Offsets::of(book, visit.id);
        let all = of_visit(book, visit, &found.tests).into_iter().filter_map(|done| {
            let offset = book.get(done.entry).and_then(|entry| offsets.at(entry)).unwrap_or(self.offset());
            (day_of(done.at, offset) == self.day).then(|| (done.at, self.line(visit, found, &done, offset)))
        });
        all.collect()
    }

    fn line(&self, visit: &Visit, found: &VisitFindings, done: &Done, offset: i64) -> Vec<Words> {
        let register = self.known.register;
        let place = register.positions.get(&done.position).and_then(|of| of.place.now());
        let frozen = match &done.what {
            DoneWhat::Test(of) => Some(&of.frozen.position.place),
            _ => None,
        };
        let place = frozen.or(place);
        let area = place.and_then(|place| register.areas.get(&place.area)).and_then(Versions::now);
        let (_, mut result) = came(done);
        let (measured, who) = match &done.what {
            DoneWhat::Test(of) => {
                let test = found.tests.iter().find(|found| found.test == of.test);
                let operating = test.and_then(|test| test.operating.as_ref().ok());
                (operating.map(|operating| operating_line(operating, self.unit)), Some(Who::Person(of.frozen.by)))
            }
            DoneWhat::Other(of, _) => {
                if !done.is_electrical_only() {
                    result = format!("{result} ({})", lower(&stored::name(&of.method).replace('_', " ")));
                }
                (None, Some(of.by))
            }
            DoneWhat::NotTested(of) => (None, Some(of.by)),
            DoneWhat::Visual(_) | DoneWhat::Repaired(_) => (None, None),
        };
        let who = who.and_then(|who| visit.name_of(self.known.book, who)).unwrap_or("–");
        let cells = [
            place.map_or_else(|| "No tag".to_string(), |place| place.name().to_string()),
            area.map_or_else(|| "–".to_string(), |area| area.name.clone()),
            result,
            measured.unwrap_or_else(|| "–".to_string()),
            who.to_string(),
            self.phone(done.phone),
            time::of_day(done.at, offset),
        ];
        cells.into_iter().map(Words::from).collect()
    }

    /// What a phone is called, where its name is here, else the end of its id.
    fn phone(&self, phone: Id) -> String {
        let named = self.known.kit.phones.get(&phone).and_then(Versions::now);
        let named = named.and_then(|of| self.known.book.words(of.name)).map(str::to_string);
        named.unwrap_or_else(|| {
            let id = phone.simple().to_string();
            format!("…{}", id.get(id.len().saturating_sub(6)..).unwrap_or_default())
        })
    }

    /// Other days on which something was done, of all sites, newest first.
    fn other_days(&self) -> Option<Block> {
        let mut days: Vec<(Id, i64)> = Vec::new();
        for of in headings(self.known.book) {
            if days.len() >= MOST_DAYS {
                break;
            }
            for day in days_of(self.known.book, of.id, self.offset()) {
                let day = (of.site, day);
                if day != (self.site, self.day) && !days.contains(&day) {
                    days.push(day);
                }
            }
        }
        let mut days = order::by_number(days, |(_, day)| day.saturating_neg());
        days.truncate(MOST_DAYS);
        let row = |(site, day): &(Id, i64)| {
            let name = self.known.register.sites.get(site).and_then(Versions::now).map_or("", |site| &site.name);
            let date = time::date(Wall(day.saturating_mul(DAY_MS)), 0);
            Row::new("other-day", date, name.to_string()).to(Route::Day(*site, *day))
        };
        let rows: Vec<Row> = days.iter().map(row).collect();
        (!rows.is_empty()).then(|| Block::section("other-days", "Other days", vec![Block::rows("Other days", rows)]))
    }
}

/// Whether what this phone recorded of a visit has arrived, in a drawing and words.
pub fn receipt(book: &Book, handed: &HandedOver, outbox: &Outbox, phone: Id, visit: Id) -> (Shape, Tone, Words) {
    let chain = Chain { scope: Scope::Visit(visit), phone };
    let Some(tip) = book.tip(chain) else { return (Shape::TakeIn, Tone::Plain, "From other phones".into()) };
    let key = format!("{} {}", chain.scope, chain.phone);
    let confirmed = outbox.files().filter(|(parcel, state)| {
        matches!(state, State::Delivered(_))
            && parcel.chains.get(&key).is_some_and(|(_, last)| *last == tip.hash.to_string())
    });
    // Of several files the one with the most photos.
    let without = confirmed.map(|(parcel, _)| parcel.without.unwrap_or_default()).min();
    match (without, is_handed_over(book, handed, phone, visit)) {
        (Some(0), _) => (Shape::Tick, Tone::Good, "Confirmed by the office".into()),
        (Some(photos), _) => {
            let words = format!("Confirmed, {} not in it", plural(photos, "photo", "photos"));
            (Shape::Warning, Tone::Warn, words.into())
        }
        (None, true) => (Shape::Open, Tone::Warn, "Saved, not confirmed".into()),
        (None, false) => (Shape::Open, Tone::Warn, "Not sent".into()),
    }
}
