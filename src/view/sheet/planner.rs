//! Makes a plan step by step: the positions of the site are taken in by their names, each row is told which of them it is about, then what it
//! would do.

use super::index::{By, Index, Names, area, same};
use super::plan::{Change, Fate, Fault, Line, NO_AREA, Plan, rows_below, short};
use super::{Matched, Question, Setup, cell, heads, kinds};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::{fault, position_fields};
use crate::book::register::Position;
use crate::encoding::csv::Row;
use crate::order;
use crate::trade::detector_type::DetectorType;
use crate::trade::fields::{Kind, NAME};
use crate::units::{Degree, Reading};
use crate::view::conflicts::conflict;
use crate::view::forms::Known;
use crate::view::forms::columns::{Column, command, stands};
use crate::view::route::Form;
use crate::view::words;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// Makes a plan step by step.
#[derive(Debug)]
pub struct Planner {
    fields: Vec<Column>,
    /// Positions of the site in use, and how many of them are known by their names.
    positions: Vec<Id>,
    index: Index,
    indexed: usize,
    /// What each row is about.
    met: Vec<(Names, Option<(Id, By)>)>,
    rows_of: BTreeMap<Id, Vec<usize>>,
    tags: BTreeMap<String, usize>,
    ids: BTreeMap<String, usize>,
    areas: BTreeMap<String, Id>,
    circuits: BTreeMap<String, Id>,
    types: BTreeMap<String, (DetectorType, usize)>,
    plan: Plan,
    at: usize,
}

impl Planner {
    /// For a site.
    pub fn new(known: Known<'_>, site: Id, rows: &[Row], setup: &Setup) -> Planner {
        let register = known.register;
        let in_use = register.positions.iter().filter(|(_, position)| !position.retired());
        let here = in_use.filter(|(id, _)| register.site_of(**id) == Some(site));
        let no_unit = |column: &Matched| is_temperature(column) && column.unit.is_none();
        let bare = |(index, column): (usize, &Matched)| {
            let cells = || rows_below(rows, setup).iter().filter_map(|row| row.fields.get(index));
            (no_unit(column) && cells().any(|text| cell::has_no_unit(text))).then_some(index)
        };
        let plan = Plan {
            no_unit: setup.columns.iter().enumerate().filter_map(bare).collect(),
            has_tag: setup.of("tag").is_some(),
            ..Plan::default()
        };
        Planner {
            fields: heads::fields(),
            positions: here.map(|(id, _)| *id).collect(),
            index: Index::default(),
            indexed: 0,
            met: Vec::new(),
            rows_of: BTreeMap::new(),
            tags: BTreeMap::new(),
            ids: BTreeMap::new(),
            areas: order::map(register.areas_of(site).into_iter().map(|(id, area)| (area.name.to_lowercase(), id))),
            circuits: order::map(register.circuits_of(site).into_iter().map(|(id, of)| (of.name.to_lowercase(), id))),
            types: BTreeMap::new(),
            plan,
            at: 0,
        }
    }

    /// How far it is: steps done, and steps in all.
    pub fn progress(&self, rows: &[Row], setup: &Setup) -> (usize, usize) {
        let rows = rows_below(rows, setup).len();
        (self.indexed + self.met.len() + self.at, self.positions.len() + 2 * rows)
    }

    /// One step; false at the end. New ids are drawn from `new`.
    pub fn step(&mut self, known: Known<'_>, rows: &[Row], setup: &Setup, new: &mut dyn FnMut() -> Id) -> bool {
        let rows = rows_below(rows, setup);
        if let Some(id) = self.positions.get(self.indexed) {
            self.indexed += 1;
            if let Some(position) = known.register.positions.get(id) {
                self.index.add(*id, position);
            }
        } else if let Some(row) = rows.get(self.met.len()) {
            self.meet(known, row, setup);
        } else if let Some(row) = rows.get(self.at) {
            let line = self.line(known, row, setup, new);
            self.plan.lines.push(line);
            self.at += 1;
        } else {
            return false;
        }
        true
    }

    /// Looks at what a row is called and which position that is.
    fn meet(&mut self, known: Known<'_>, row: &Row, setup: &Setup) {
        let text = |key: &str| {
            let text = setup.of(key).and_then(|at| row.fields.get(at)).map(|text| cell::unguarded(text));
            text.unwrap_or_default().replace('\n', " ")
        };
        let (id, point) = (text("customer-id"), text("point"));
        let names = Names { id, point, circuit: text("circuit"), tag: text("tag"), area: text("area") };
        let found = self.index.find(&names, known.register);
        let word = text("type");
        if !word.is_empty() {
            let kind = kind(&word, setup).unwrap_or(DetectorType::Unknown);
            self.types.entry(heads::plain(&word)).or_insert((kind, 0)).1 += 1;
        }
        let (index, mut found) = (self.met.len(), found);
        if setup.answers.get(&(row.line, Question::Same)) == Some(&false) {
            found = None;
        }
        if let Some((id, _)) = found {
            self.rows_of.entry(id).or_default().push(index);
        }
        if !names.tag.is_empty() {
            *self.tags.entry(names.tag.clone()).or_default() += 1;
        }
        if !names.id.is_empty() {
            *self.ids.entry(names.id.clone()).or_default() += 1;
        }
        self.met.push((names, found));
    }

    /// What a row would do.
    fn line(&mut self, known: Known<'_>, row: &Row, setup: &Setup, new: &mut dyn FnMut() -> Id) -> Line {
        let (names, found) = self.met[self.at].clone();
        let name = [&names.tag, &names.id, &names.point].into_iter().find(|name| !name.is_empty());
        let name = name.cloned().unwrap_or_default();
        let line = |fate, put| Line { line: row.line, name: name.clone(), fate, put };
        if let Some(why) = self.twice(&names, found) {
            return line(Fate::Twice(why), None);
        }
        let position = found.and_then(|(id, _)| known.register.positions.get(&id));
        if let (Some((id, by)), Some(position)) = (found, position)
            && !setup.answers.contains_key(&(row.line, Question::Same))
            && let Some(asked) = self.doubt(known, row, setup, &names, id, by, position)
        {
            return line(Fate::Asked(Question::Same, asked), None);
        }
        let form = Form::Position(found.map(|(id, _)| id));
        let two = position.is_some_and(|position| position.hanging().nth(1).is_some());
        if found.is_some() && (two || conflict(form, known)) {
            let why = "Two phones entered different values for this position. Pick the right one under Devices first"
                .to_string();
            return line(Fate::Bad(vec![Fault { column: String::new(), why }]), None);
        }
        let base = if found.is_some() { stands(form, known) } else { json!({}) };
        let mut thing = base.clone();
        let mut faults = self.fill(known, row, setup, &mut thing, found.is_some(), new);
        if found.is_none() {
            self.complete(&mut thing, &mut faults, new);
        }
        if !faults.is_empty() {
            return line(Fate::Bad(faults), None);
        }
        if let Some(hangs) = position.filter(|_| thing != base)
            && let Some(asked) = other_detector(hangs, &base, &thing)
        {
            match setup.answers.get(&(row.line, Question::Correction)) {
                None => return line(Fate::Asked(Question::Correction, asked), None),
                Some(true) => {}
                // What is known of the detector that hung there stays; another one is hung in its place on the position.
                Some(false) => {
                    for group in ["marking", "make"] {
                        thing[group] = base.get(group).cloned().unwrap_or_default();
                        if thing[group].is_null() {
                            thing.as_object_mut().map(|thing| thing.remove(group));
                        }
                    }
                }
            }
        }
        if thing == base {
            return line(Fate::Same, None);
        }
        let hangs = position.and_then(Position::detector);
        let id = found.map_or_else(&mut *new, |(id, _)| id);
        let detector = hangs.unwrap_or_else(&mut *new);
        let Some(Command::PutPosition(put)) = command(form, id, detector, &thing) else {
            let why = "The position is not complete".to_string();
            return line(Fate::Bad(vec![Fault { column: String::new(), why }]), None);
        };
        if let Err(refusal) = position_fields(&put) {
            let why = words::refusal(&refusal, Degree::F).trim_end_matches('.').to_string();
            return line(Fate::Bad(vec![Fault { column: String::new(), why }]), None);
        }
        let fate = if found.is_some() { Fate::Changed(self.changes(known, &base, &thing)) } else { Fate::New };
        line(fate, Some(put))
    }

    /// What other rows say, too.
    fn twice(&self, names: &Names, found: Option<(Id, By)>) -> Option<String> {
        let many = |map: &BTreeMap<String, usize>, name: &str| map.get(name).is_some_and(|count| *count > 1);
        if many(&self.ids, &names.id) {
            return Some(format!("Customer's ID {} is in several rows", names.id));
        }
        if many(&self.tags, &names.tag) {
            return Some(format!("Tag {} is in several rows", names.tag));
        }
        let rows = found.and_then(|(id, _)| self.rows_of.get(&id)).map_or(0, Vec::len);
        (rows > 1).then(|| "Several rows are about one position".to_string())
    }

    /// Why a row may be about another position than the one it fits.
    #[allow(clippy::too_many_arguments, reason = "everything that tells positions apart")]
    fn doubt(
        &self,
        known: Known<'_>,
        row: &Row,
        setup: &Setup,
        names: &Names,
        id: Id,
        by: By,
        position: &Position,
    ) -> Option<String> {
        if by == By::Id {
            return None;
        }
        let place = position.place.now()?;
        let differs = |here: &str, there: &str| !here.is_empty() && !there.is_empty() && here != there;
        let here = place.customer_id.as_deref().unwrap_or_default();
        let what = if by == By::Point { format!("point {}", names.point) } else { format!("tag {}", names.tag) };
        let asked = |label: &str, here: &str, there: &str| {
            Some(format!("{what}: {label} {here} here, {there} in the sheet. Same position?"))
        };
        if differs(here, &names.id) {
            return asked("customer's ID", here, &names.id);
        }
        if by == By::Tag {
            return None;
        }
        if differs(&place.tag, &names.tag) {
            return asked("tag", &place.tag, &names.tag);
        }
        let make = position.detector().and_then(|id| known.register.detectors.get(&id)?.make.now());
        let here = make.and_then(|make| make.serial.as_deref()).unwrap_or_default();
        let there = setup.of("serial").and_then(|at| row.fields.get(at)).map(|text| cell::unguarded(text));
        let there = there.as_deref().unwrap_or_default();
        let moved = !names.area.is_empty() && !same(area(known.register, id), &names.area);
        match differs(here, there) {
            true => asked("serial number", here, there),
            false if moved => asked("area", area(known.register, id), &names.area),
            false => None,
        }
    }

    /// Puts the cells of a row into a position.
    fn fill(
        &mut self,
        known: Known<'_>,
        row: &Row,
        setup: &Setup,
        thing: &mut Value,
        stands: bool,
        new: &mut dyn FnMut() -> Id,
    ) -> Vec<Fault> {
        let mut faults = Vec::new();
        let more = row.fields.get(setup.columns.len()..).unwrap_or_default();
        if more.iter().any(|text| !text.is_empty()) {
            faults.push(Fault { column: String::new(), why: "More cells than columns".to_string() });
        }
        for (at, matched) in setup.columns.iter().enumerate() {
            let Some(column) = matched.field.and_then(|field| self.fields.get(field)).copied() else { continue };
            let text = row.fields.get(at).map_or("", String::as_str);
            if text.is_empty() && !(stands && setup.erase && column.key() != "tag") {
                continue;
            }
            let how = cell::How {
                comma: setup.comma,
                day_first: setup.day_first,
                unit: matched.unit,
                length: heads::length(&matched.header),
            };
            let why = match cell::normal(&column, text, how) {
                // Not known, like a blank.
                Ok(normal) if normal.is_empty() && !setup.erase => None,
                Ok(normal) => self.put(&column, thing, &normal, known, setup, new).err(),
                Err(why) => Some(format!("“{}” {why}", short(text))),
            };
            faults.extend(why.map(|why| Fault { column: matched.header.clone(), why }));
            self.unit_in_doubt(&column, thing, at, matched);
        }
        // A rating beside "rate-of-rise" means that there is a fixed element, too, and nobody said of which kind.
        let rate_of_rise = thing["marking"]["detector_type"] == "rate_of_rise" && !thing["marking"]["rating"].is_null();
        if rate_of_rise && !stands {
            thing["marking"]["detector_type"] = json!("unknown");
        }
        faults
    }

    fn put(
        &mut self,
        column: &Column,
        thing: &mut Value,
        text: &str,
        known: Known<'_>,
        setup: &Setup,
        new: &mut dyn FnMut() -> Id,
    ) -> Result<(), String> {
        match column.key() {
            "area" if text.is_empty() => {}
            "area" | "circuit" if !text.is_empty() && fault(Kind::Name, &json!(text)).is_some() => {
                return Err(format!("at most {NAME} characters"));
            }
            "area" => {
                let id = named(&mut self.areas, &mut self.plan.areas, text, new);
                column.put(thing, json!(id.to_string()));
            }
            "circuit" if !text.is_empty() => {
                let id = named(&mut self.circuits, &mut self.plan.circuits, text, new);
                column.put(thing, json!(id.to_string()));
            }
            "type" if !text.is_empty() => {
                let kind = kind(text, setup);
                let stood = !thing["marking"]["detector_type"].is_null();
                // A word that nobody knows takes nothing away.
                if let Some(kind) = kind.or(Some(DetectorType::Unknown).filter(|_| !stood)) {
                    column.put(thing, crate::encoding::Stored::to_value(&kind));
                }
            }
            "type" => {}
            _ => {
                column.set(thing, text, Degree::F, known).map_err(|wrong| {
                    let label = format!("{}: ", column.header());
                    wrong.say.strip_prefix(&label).unwrap_or(&wrong.say).trim_end_matches('.').to_string()
                })?;
            }
        }
        Ok(())
    }

    /// Counts ratings in °F that are more often met in °C.
    fn unit_in_doubt(&mut self, column: &Column, thing: &Value, at: usize, matched: &Matched) {
        if column.key() != "rating" || matched.unit != Some(Degree::F) {
            return;
        }
        let rating = crate::encoding::Stored::from_value(&thing["marking"]["rating"]);
        let rather = rating.is_some_and(|rating: Reading| {
            let number = rating.celsius().in_degrees(Degree::F);
            rating.unit == Degree::F && (57.0..=110.0).contains(&number)
        });
        if rather {
            match self.plan.rather_celsius.iter_mut().find(|(column, _)| *column == at) {
                Some((_, count)) => *count += 1,
                None => self.plan.rather_celsius.push((at, 1)),
            }
        }
    }

    /// What a new position has to have.
    fn complete(&mut self, thing: &mut Value, faults: &mut Vec<Fault>, new: &mut dyn FnMut() -> Id) {
        let missing = |key: &str, thing: &Value| thing["place"][key].as_str().is_none_or(str::is_empty);
        if missing("tag", thing) {
            faults.push(Fault { column: String::new(), why: "Tag: missing".to_string() });
        }
        if missing("area", thing) {
            let id = named(&mut self.areas, &mut self.plan.areas, NO_AREA, new);
            thing["place"]["area"] = json!(id.to_string());
        }
        if thing["marking"]["detector_type"].is_null() {
            thing["marking"]["detector_type"] = json!("unknown");
        }
    }

    fn changes(&self, known: Known<'_>, base: &Value, thing: &Value) -> Vec<Change> {
        let name = |text: &Value, made: &[(Id, String)], known: &dyn Fn(Id) -> Option<String>| {
            let id = text.as_str().and_then(|id| Id::try_parse(id).ok());
            let new = id.and_then(|id| made.iter().find(|(made, _)| *made == id).map(|(_, name)| name.clone()));
            new.or_else(|| known(id?)).unwrap_or_default()
        };
        let said = |column: &Column, of: &Value| match column.key() {
            "area" => name(&of["place"]["area"], &self.plan.areas, &|id| {
                known.register.areas.get(&id)?.now().map(|area| area.name.clone())
            }),
            "circuit" => name(&of["place"]["circuit"], &self.plan.circuits, &|id| {
                known.register.circuits.get(&id)?.now().map(|circuit| circuit.name.clone())
            }),
            _ => column.get(of, known),
        };
        let change = |column: &Column| {
            let (old, new) = (said(column, base), said(column, thing));
            (old != new).then_some(Change { label: column.header(), old, new })
        };
        self.fields.iter().filter_map(change).collect()
    }

    /// The plan.
    pub fn end(mut self, known: Known<'_>) -> Plan {
        self.refuse_taken_tags(known);
        let met = order::set(self.met.iter().filter_map(|(_, found)| found.map(|(id, _)| id)));
        let gone = self.positions.iter().filter(|id| !met.contains(id));
        let tag = |id: &Id| known.register.positions.get(id).map(|position| position.tag().to_string());
        let mut plan = self.plan;
        plan.gone = gone.filter_map(tag).collect();
        plan.types = self.types.into_iter().map(|(word, (kind, count))| (word, kind, count)).collect();
        let areas: BTreeSet<Id> = order::set(plan.positions().map(|put| put.place.area));
        let circuits: BTreeSet<Id> = order::set(plan.positions().filter_map(|put| put.place.circuit));
        // What only a row would need that is left out is not made.
        plan.areas.retain(|(id, _)| areas.contains(id));
        plan.circuits.retain(|(id, _)| circuits.contains(id));
        plan
    }

    /// Rows whose tag another position of the site has, or would have.
    fn refuse_taken_tags(&mut self, known: Known<'_>) {
        loop {
            let mut tags: BTreeMap<Id, &str> = BTreeMap::new();
            let register = known.register;
            tags.extend(self.positions.iter().filter_map(|id| Some((*id, register.positions.get(id)?.tag()))));
            tags.extend(self.plan.lines.iter().filter_map(|line| {
                let put = line.put.as_deref()?;
                Some((put.position, put.place.tag.as_str()))
            }));
            let mut owners: BTreeMap<&str, Vec<Id>> = BTreeMap::new();
            tags.iter().for_each(|(id, tag)| owners.entry(tag).or_default().push(*id));
            let taken = |line: &Line| {
                let put = line.put.as_deref()?;
                let owners = owners.get(put.place.tag.as_str())?;
                let place = area(register, *owners.iter().find(|id| **id != put.position)?);
                let place = if place.is_empty() { String::new() } else { format!(" in {place}") };
                Some(format!("Tag {} is taken{place}", put.place.tag))
            };
            let found: Vec<(usize, String)> =
                self.plan.lines.iter().enumerate().filter_map(|(at, line)| Some((at, taken(line)?))).collect();
            if found.is_empty() {
                return;
            }
            for (at, why) in found {
                let line = &mut self.plan.lines[at];
                (line.put, line.fate) = (None, Fate::Bad(vec![Fault { column: String::new(), why }]));
            }
        }
    }
}

/// The type that a word stands for, by hand or by the table.
fn kind(word: &str, setup: &Setup) -> Option<DetectorType> {
    setup.types.get(&heads::plain(word)).copied().or_else(|| kinds::kind(word))
}

fn is_temperature(column: &Matched) -> bool {
    let fields = heads::fields();
    column.field.and_then(|field| fields.get(field)).is_some_and(|column| {
        matches!(
            column.kind(),
            crate::trade::fields::Kind::Temperature(..) | crate::trade::fields::Kind::Difference(..)
        )
    })
}

/// The thing of this name, made where there is none yet.
fn named(
    known: &mut BTreeMap<String, Id>,
    made: &mut Vec<(Id, String)>,
    name: &str,
    new: &mut dyn FnMut() -> Id,
) -> Id {
    *known.entry(name.to_lowercase()).or_insert_with(|| {
        let id = new();
        made.push((id, name.to_string()));
        id
    })
}

/// Why another detector may hang there than the one on file.
fn other_detector(position: &Position, base: &Value, thing: &Value) -> Option<String> {
    position.detector()?;
    let text = |of: &Value, group: &str, field: &str| of[group][field].as_str().unwrap_or_default().to_string();
    let (old, new) = (text(base, "make", "serial"), text(thing, "make", "serial"));
    if !old.is_empty() && !new.is_empty() && old != new {
        return Some(format!("serial number {old} here, {new} in the sheet. Correction, or another detector?"));
    }
    let (old, new) = (text(base, "marking", "detector_type"), text(thing, "marking", "detector_type"));
    let known = |kind: &str| !kind.is_empty() && kind != "unknown";
    let words = |kind: &str| kinds::kind(&kind.replace('_', " ")).unwrap_or(DetectorType::Unknown).words();
    (known(&old) && known(&new) && old != new)
        .then(|| format!("type {} here, {} in the sheet. Correction, or another detector?", words(&old), words(&new)))
}
