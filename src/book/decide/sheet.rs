//! A customer's sheet: many positions in one decision, each under the rules of its form. The rows are void until the commit, which is
//! written with them, so that a sheet counts as a whole or not at all.

use super::super::Id;
use super::super::body::{Body, Edit};
use super::super::command::{ImportSheet, PutPosition};
use super::super::entries::Book;
use super::super::entry::Scope;
use super::super::refusal::{Fault, Refusal};
use super::super::register::Register;
use super::super::seal::Draft;
use super::super::versions::Versions;
use super::register::{edit, known_site, position, position_fields, refuse_taken};
use super::{Drafts, draft, fields};
use crate::order;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Bodies in one part: about forty positions, which are written and hashed within a frame of a slow phone.
const PART: usize = 200;

/// A sheet that is being decided, position by position: a large one leaves the screen its turn between.
#[derive(Debug)]
pub struct Importing {
    site: Id,
    import: Id,
    /// Areas of the site that do not stand yet.
    areas: BTreeSet<Id>,
    circuits: BTreeSet<Id>,
    /// Tags of the site's positions as they will be.
    tags: BTreeMap<Id, String>,
    /// Positions of the sheet.
    put: BTreeSet<Id>,
    rows: Vec<Body>,
    parts: Vec<Arc<Vec<Body>>>,
}

impl Importing {
    /// Begins.
    ///
    /// # Errors
    /// When a rule says no to the site, an area or a circuit.
    pub fn begin(register: &Register, sheet: ImportSheet) -> Result<Importing, Refusal> {
        let ImportSheet { site, import, columns, areas, circuits } = sheet;
        known_site(register, site)?;
        let here = |position: &Id| register.site_of(*position) == Some(site);
        let in_use = register.positions.iter().filter(|(id, position)| here(id) && !position.retired());
        let mut importing = Importing {
            site,
            import,
            areas: order::set(areas.iter().map(|(id, _)| *id)),
            circuits: order::set(circuits.iter().map(|(id, _)| *id)),
            tags: order::map(in_use.map(|(id, position)| (*id, position.tag().to_string()))),
            put: BTreeSet::new(),
            rows: Vec::new(),
            parts: Vec::new(),
        };
        let mut names = order::set(register.areas_of(site).into_iter().map(|(_, area)| area.name.clone()));
        for (id, area) in areas {
            fields::check(&area)?;
            let foreign = area.site != site || register.areas.contains_key(&id);
            refuse_taken(foreign || !names.insert(area.name.clone()), "Area.name")?;
            importing.rows.push(Body::Area(Edit::new(id, Vec::new(), area)));
        }
        let mut names = order::set(register.circuits_of(site).into_iter().map(|(_, circuit)| circuit.name.clone()));
        for (id, circuit) in circuits {
            fields::check(&circuit)?;
            let foreign = circuit.site != site || register.circuits.contains_key(&id);
            refuse_taken(foreign || !names.insert(circuit.name.clone()), "Circuit.name")?;
            importing.rows.push(Body::Circuit(Edit::new(id, Vec::new(), circuit)));
        }
        let columns = edit(site, register.sheet_columns.get(&site), columns);
        importing.rows.extend(columns.map(Body::SheetColumns));
        Ok(importing)
    }

    /// The next position.
    ///
    /// # Errors
    /// When a rule says no to it.
    pub fn next(&mut self, register: &Register, put: PutPosition) -> Result<(), Refusal> {
        position_fields(&put)?;
        let (id, place) = (put.position, &put.place);
        let site_of = |area: &Id| register.areas.get(area).and_then(Versions::now).map(|area| area.site);
        if !self.areas.contains(&place.area) && site_of(&place.area) != Some(self.site) {
            return Err(Refusal::Field("Place.area", Fault::Choose));
        }
        let site_of = |circuit: &Id| register.circuits.get(circuit).and_then(Versions::now).map(|of| of.site);
        let here = |circuit: &Id| self.circuits.contains(circuit) || site_of(circuit) == Some(self.site);
        if !place.circuit.as_ref().is_none_or(here) {
            return Err(Refusal::Field("Place.circuit", Fault::Choose));
        }
        // Not one of another site, and none twice.
        let known = register.positions.contains_key(&id);
        if (known && register.site_of(id) != Some(self.site)) || !self.put.insert(id) {
            return Err(Refusal::UnknownPosition);
        }
        self.tags.insert(id, place.tag.clone());
        self.rows.extend(position(register, put, false)?.into_iter().flatten());
        if self.rows.len() >= PART {
            self.parts.push(Arc::new(std::mem::take(&mut self.rows)));
        }
        Ok(())
    }

    /// What is to be sealed, the commit at its end; nothing where all of it stands already.
    ///
    /// # Errors
    /// When two positions would have one tag.
    pub fn end(mut self) -> Result<Vec<Draft>, Refusal> {
        let mut owners: BTreeMap<&str, usize> = BTreeMap::new();
        self.tags.values().for_each(|tag| *owners.entry(tag).or_default() += 1);
        let twice = |id: &Id| self.tags.get(id).is_some_and(|tag| owners.get(tag.as_str()).is_some_and(|of| *of > 1));
        refuse_taken(self.put.iter().any(twice), "Place.tag")?;
        if !self.rows.is_empty() {
            self.parts.push(Arc::new(std::mem::take(&mut self.rows)));
        }
        let count = |of: usize| u32::try_from(of).unwrap_or(u32::MAX);
        let (import, parts) = (self.import, count(self.parts.len()));
        let rows = count(self.parts.iter().map(|rows| rows.len()).sum());
        let part = |(part, rows)| Body::RowsImported { import, part: count(part), rows };
        let mut bodies: Vec<Body> = self.parts.into_iter().enumerate().map(part).collect();
        if parts > 0 {
            bodies.push(Body::ImportCommitted { import, parts, rows });
        }
        Ok(bodies.into_iter().map(|body| draft(Scope::Site(self.site), body)).collect())
    }
}

pub(super) fn import(book: &Book, sheet: ImportSheet, positions: Vec<PutPosition>) -> Drafts {
    let register = Register::of(book);
    let mut importing = Importing::begin(&register, sheet)?;
    positions.into_iter().try_for_each(|put| importing.next(&register, put))?;
    importing.end()
}
