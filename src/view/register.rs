//! The Devices screen: sites with their areas and positions, heaters, procedures, half-filled forms.

use super::before::marking;
use super::conflicts::conflict;
use super::find::{FIND_BY, Filter, Index, MOST, NOTHING_FOUND, Seek, more};
use super::forms::Known;
use super::page::sign::{Look, Shape, Tone};
use super::page::{Action, Block, Button, Empty, Find, Kind, List, Page, Request, Role, Row};
use super::route::{Form, Route};
use super::walk::WALKING_ORDER;
use super::{settings, words};
use crate::book::Id;
use crate::book::body::{Area, Ending};
use crate::book::register::{Position, Register};
use crate::book::test::Test;
use crate::book::versions::Versions;
use crate::book::visit::Visit;
use crate::order;
use crate::trade::detector_type::DetectorType;
use crate::units::Degree;
use std::collections::{BTreeMap, BTreeSet};

/// So many positions are listed on one page; with more each area has its own.
pub(super) const MOST_AT_ONCE: usize = 100;
/// So many that are provisional or off the list are listed; the filters find the others.
const MOST_ASIDE: usize = 20;
/// Heading and badge of positions that are not settled.
pub(super) const PROVISIONAL: &str = "Provisional";
/// What the lines are that were found.
const FOUND: &str = "Found";

/// The page without a form beside it: the list, or what was found in its place.
pub fn page(register: &Register, blocks: Vec<Block>) -> Page {
    let find = Find { list: List::Devices, label: FIND_BY, filters: &Filter::OF_DEVICES };
    let find = (!register.positions.is_empty()).then(|| Block::new("find", Kind::Find(find)));
    let blocks = find.into_iter().chain(blocks).collect();
    Page { name: "register", title: words::REGISTER.into(), blocks, ..Page::default() }
}

/// Everything in the register, in the unit chosen, with the half-filled forms by their addresses.
pub fn list(known: Known<'_>, drafts: &BTreeMap<String, String>, persisted: Option<bool>, unit: Degree) -> Vec<Block> {
    let line = Line { known, unit };
    let Known { register, kit, .. } = known;
    let half_filled = drafts.keys().filter_map(|address| match Route::read(address) {
        Route::Form(form) => Some(line.row(form, thing(form), what(form, register))),
        _ => None,
    });
    let heaters = kit.heaters.iter().map(|(id, heater)| {
        let detail = heater.heating.now().map(|heating| words::heating(heating, unit)).unwrap_or_default();
        line.row(Form::Heater(Some(*id)), heater.name.now().map_or("", |name| &name.name), detail)
    });
    let procedures = kit.procedures.iter().filter_map(|(id, group)| {
        let now = group.now()?;
        Some(line.row(Form::Procedure(Some(*id)), &now.name, words::procedure_detail(now)))
    });
    let sites = register.sites.iter().filter_map(|(id, group)| Some((&group.now()?.name, *id)));
    let sites = order::by(sites.collect::<Vec<_>>(), |(name, _)| (0, 0, (*name).clone()));
    let none = sites.is_empty();
    let long = in_use(register).count() > MOST_AT_ONCE;
    let mut blocks: Vec<Block> = some(words::HALF_FILLED, half_filled.collect()).into_iter().collect();
    blocks.extend(none.then(no_site));
    let unsettled = register.positions.iter().filter(|(_, position)| position.provisional() && !position.retired());
    blocks.extend(some(PROVISIONAL, unsettled.take(MOST_ASIDE).map(|(id, _)| line.position(*id)).collect()));
    blocks.extend(sites.into_iter().flat_map(|(_, id)| site(&line, id, long)));
    let add_heater = add(words::ADD_HEATER, Form::Heater(None), "add-heater");
    let add_procedure = add(words::ADD_PROCEDURE, Form::Procedure(None), "add-procedure");
    blocks.push(listed(words::HEATERS, words::NO_HEATER_WORDS, named(heaters), add_heater));
    blocks.push(listed(words::PROCEDURES, words::NO_PROCEDURE_WORDS, named(procedures), add_procedure));
    blocks.extend((!none).then(|| Block::buttons(vec![add(words::ADD_SITE, Form::Site(None), "add-site")])));
    blocks.push(Block::section("storage", settings::STORAGE, settings::storage(persisted)));
    blocks
}

struct Line<'a> {
    known: Known<'a>,
    unit: Degree,
}

impl Line<'_> {
    /// A line; a tap opens the form.
    fn row(&self, form: Form, title: &str, detail: String) -> Row {
        let sign = match form {
            Form::Site(_) | Form::Area(_) | Form::Circuit(_) => Shape::Register,
            Form::Position(_) | Form::PositionLike(_) | Form::Unlisted(_) | Form::Marking(_) => Shape::Detector,
            Form::Heater(_) => Shape::Test,
            Form::Procedure(_) => Shape::Time,
            _ => Shape::Pen,
        };
        let row = Row::new(format!("line-{}", words::slug(title)), title.to_string(), detail).sign(sign);
        let row = row.to(Route::Form(form));
        let clash = conflict(form, self.known);
        if clash { row.badge(Shape::Half, Tone::Bad, words::CONFLICT) } else { row }
    }

    /// The line of a position; a tap opens its page.
    fn position(&self, id: Id) -> Row {
        let register = self.known.register;
        let position = &register.positions[&id];
        let mut row = self.row(Form::Position(Some(id)), position.tag(), marking(register, position, self.unit));
        row = row.to(Route::Position(id));
        if let Some(duty) = position.duty.now() {
            // Words that have to be seen at once.
            let releases = duty.releases.as_ref().is_none_or(|of| !of.is_empty()).then_some(words::RELEASES);
            let flags = releases.into_iter().chain(duty.classified.then_some(words::CLASSIFIED));
            row = flags.fold(row, |row, word| row.badge(Shape::Warning, Tone::Warn, word));
        }
        if position.provisional() { row.badge(Shape::Pen, Tone::Note, PROVISIONAL) } else { row }
    }
}

fn site(line: &Line<'_>, id: Id, long: bool) -> Vec<Block> {
    let register = line.known.register;
    let Some(now) = register.sites.get(&id).and_then(Versions::now) else { return Vec::new() };
    let invented = now.invented.then_some(words::INVENTED);
    let detail = now.address.as_deref().into_iter().chain(invented).collect::<Vec<_>>().join(" · ");
    let areas = register.areas_of(id);
    let mut own = vec![Block::rows(now.name.clone(), vec![line.row(Form::Site(Some(id)), words::SITE, detail)])];
    own.extend(areas.is_empty().then(|| Block::text("no-area", Role::Soft, words::NO_AREA_WORDS)));
    own.push(Block::buttons(vec![
        add(words::ADD_AREA, Form::Area(Some(id)), "add-area"),
        add(words::ADD_CIRCUIT, Form::Circuit(Some(id)), "add-circuit"),
        Button::to("spreadsheet", super::sheet::page::TITLE, Route::Sheet(id)),
    ]));
    own.push(Block::buttons(vec![Button::to("to-due", words::DUE, Route::Due(id)).icon(Shape::Time)]));
    let circuits = register.circuits_of(id).into_iter();
    let circuits =
        circuits.map(|(id, now)| line.row(Form::Circuit(Some(id)), &now.name, words::shows_point(now).to_string()));
    let mut blocks = vec![Block::section(id.to_string(), now.name.clone(), own)];
    if long {
        let counts = counts(register);
        let folded = |(id, now): (Id, &Area)| {
            let count = words::positions(counts.get(&id).copied().unwrap_or_default());
            Row::new(format!("area-{}", words::slug(&now.name)), now.name.clone(), count)
                .sign(Shape::Register)
                .to(Route::InArea(id))
        };
        blocks.extend(some(words::AREAS, areas.into_iter().map(folded).collect()));
    } else {
        blocks.extend(areas.into_iter().map(|(id, now)| area(line, id, &now.name)));
    }
    blocks.extend(some(words::CIRCUITS, circuits.collect()));
    let gone =
        register.positions.iter().filter(|(of, position)| position.retired() && register.site_of(**of) == Some(id));
    // The filter finds them all.
    let gone = gone.take(MOST_ASIDE).map(|(id, _)| line.position(*id));
    blocks.extend(some(words::TAKEN_AWAY, gone.collect()));
    blocks
}

/// How many positions in use each area has.
fn counts(register: &Register) -> BTreeMap<Id, usize> {
    let mut counts = BTreeMap::new();
    for place in in_use(register).filter_map(|position| position.place.now()) {
        *counts.entry(place.area).or_default() += 1;
    }
    counts
}

fn in_use(register: &Register) -> impl Iterator<Item = &Position> {
    register.positions.values().filter(|position| !position.retired())
}

fn area(line: &Line<'_>, id: Id, name: &str) -> Block {
    let positions = line.known.register.positions_of(id);
    let own = line.row(Form::Area(Some(id)), words::AREA, words::positions(positions.len()));
    let rows = [own].into_iter().chain(positions.iter().map(|(id, _)| line.position(*id))).collect();
    let keys = Block::buttons(area_keys(id, &positions));
    Block::section(id.to_string(), name.to_string(), vec![Block::rows(name.to_string(), rows), keys])
}

fn area_keys(id: Id, positions: &[(Id, &Position)]) -> Vec<Button> {
    // Ids of things made later are larger by their first 48 bits, a time in ms (RFC 9562 version 7).
    let last = positions.iter().max_by_key(|(id, last)| (id.as_u128() >> 80, last.tag()));
    let like = last.map(|(id, last)| {
        let to = Route::Form(Form::PositionLike(*id));
        Button::to("another", words::another_like(last.tag()), to).icon(Shape::Clone)
    });
    let walk = (positions.len() > 1).then(|| Button::to("walk", WALKING_ORDER, Route::Walk(id)).icon(Shape::Next));
    [add(words::ADD_DETECTOR, Form::Position(Some(id)), "add-detector")].into_iter().chain(like).chain(walk).collect()
}

/// The positions of one area, where all of them are too many for one page.
pub fn in_area(known: Known<'_>, id: Id, unit: Degree) -> Page {
    let line = Line { known, unit };
    let positions = known.register.positions_of(id);
    let name = known.register.areas.get(&id).and_then(Versions::now).map(|area| area.name.clone()).unwrap_or_default();
    let own = line.row(Form::Area(Some(id)), words::AREA, words::positions(positions.len()));
    let rows: Vec<Row> = positions.iter().map(|(id, _)| line.position(*id)).collect();
    Page {
        name: "in-area",
        title: name.clone().into(),
        back: Some(Button::back(words::BACK, Route::Register)),
        // Few come up at once, so that one comes back to the line one left.
        long: rows.len() > MOST_AT_ONCE,
        blocks: vec![
            Block::rows(words::AREA, vec![own]),
            Block::buttons(area_keys(id, &positions)),
            Block::rows(name, rows),
        ],
        ..Page::default()
    }
}

/// What is found in place of the list; `open` are the positions that failed in the visit on screen or have an open item.
pub fn found(known: Known<'_>, index: &Index, seek: &Seek, open: &BTreeSet<Id>, unit: Degree) -> Vec<Block> {
    let line = Line { known, unit };
    let register = known.register;
    let visit = known.visit.and_then(|visit| Visit::shared(known.book, visit));
    let tested = order::set(visit.iter().flat_map(|visit| visit.tests.iter()).filter_map(tested));
    let keep = |id: Id| {
        let position = &register.positions[&id];
        let here = || visit.as_ref().is_some_and(|visit| register.site_of(id) == Some(visit.site));
        let marking = || register.marking_of(position);
        let fits = match seek.filter {
            Some(Filter::Retired) => return position.retired(),
            None | Some(Filter::Retest) => true,
            Some(Filter::Untested) => here() && !tested.contains(&id),
            Some(Filter::Failed | Filter::Open) => open.contains(&id),
            Some(Filter::TypeUnknown) => marking().is_none_or(|of| of.detector_type == DetectorType::Unknown),
            Some(Filter::ReleasesUnknown) => position.duty.now().is_none_or(|duty| duty.releases.is_none()),
            Some(Filter::Provisional) => position.provisional(),
        };
        fits && !position.retired()
    };
    let hits = index.hits(&seek.text, keep, MOST);
    let row = |id: &Id| {
        let row = line.position(*id);
        let area = register.positions[id].place.now().and_then(|place| register.areas.get(&place.area)?.now());
        let area = area.map(|area| format!("{} · ", area.name)).unwrap_or_default();
        Row { detail: format!("{area}{}", row.detail).into(), ..row }
    };
    listed_hits(hits.ids.iter().map(row).collect(), hits.more)
}

/// The position of a test that was no mistake.
fn tested(test: &Test) -> Option<Id> {
    let mistake = matches!(test.ended, Some((Ending::Mistake, _)));
    (!mistake).then_some(test.frozen.position.of)
}

/// Lines that were found, and how many more there are.
pub(super) fn listed_hits(rows: Vec<Row>, left: usize) -> Vec<Block> {
    if rows.is_empty() {
        return vec![Block::text("nothing-found", Role::Plain, NOTHING_FOUND)];
    }
    let more = (left > 0).then(|| Block::text("more-found", Role::Soft, more(left)));
    [Block::rows(FOUND, rows)].into_iter().chain(more).collect()
}

fn no_site() -> Block {
    Block::new(
        "no-site",
        Kind::Empty(Empty {
            shape: Shape::Register,
            title: words::NO_SITE.into(),
            words: words::NO_SITE_WORDS.into(),
            buttons: vec![
                Button::to("add-site", words::ADD_SITE, Route::Form(Form::Site(None))).look(Look::Primary),
                Button::new("demo", words::LOAD_DEMO, Action::Do(Request::LoadDemo)),
            ],
        }),
    )
}

fn add(label: &'static str, form: Form, key: &'static str) -> Button {
    Button::to(key, label, Route::Form(form)).icon(Shape::Plus)
}

/// A section that is there only when it holds something.
fn some(title: &'static str, rows: Vec<Row>) -> Option<Block> {
    (!rows.is_empty()).then(|| Block::section(title, title, vec![Block::rows(title, rows)]))
}

fn listed(title: &'static str, none: &'static str, rows: Vec<Row>, add: Button) -> Block {
    let list = if rows.is_empty() { Block::text(title, Role::Soft, none) } else { Block::rows(title, rows) };
    Block::section(title, title, vec![list, Block::buttons(vec![add])])
}

fn named(rows: impl Iterator<Item = Row>) -> Vec<Row> {
    order::by(rows.collect(), |row| (0, 0, row.title.to_string()))
}

fn thing(form: Form) -> &'static str {
    match form {
        Form::Site(_) => words::SITE,
        Form::Area(_) => words::AREA,
        Form::Circuit(_) => words::CIRCUIT,
        Form::Position(_) | Form::PositionLike(_) | Form::Unlisted(_) => words::DETECTOR,
        Form::Heater(_) => words::HEATER,
        Form::Procedure(_) => words::PROCEDURE,
        Form::Marking(_) => words::MARKING,
        _ => words::STEP,
    }
}

/// Which thing a half-filled form is about.
fn what(form: Form, register: &Register) -> String {
    let tag = |id: Id| register.positions.get(&id).map(|position| position.tag().to_string());
    let known = match form {
        Form::Site(Some(id)) => register.sites.get(&id).and_then(Versions::now).map(|site| site.name.clone()),
        Form::Area(Some(id)) => register.areas.get(&id).and_then(Versions::now).map(|area| area.name.clone()),
        Form::Position(Some(id)) => tag(id),
        Form::PositionLike(id) | Form::Unlisted(id) => tag(id).map(|tag| words::like(&tag)),
        _ => None,
    };
    known.unwrap_or_else(|| words::HALF_FILLED_NEW.to_string())
}
