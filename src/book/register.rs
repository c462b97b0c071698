//! The register: sites, areas, circuits, positions and detectors as their edits leave them.

use super::Id;
use super::body::{Area, Body, Circuit, Happened, RemovedWhy, SheetColumns, Site, SiteRules};
use super::entries::Book;
use super::entry::{Entry, Scope};
use super::facts::Group;
use super::versions::Versions;
use crate::encoding::Hash;
use crate::order;
use crate::trade::detector::{Access, AreaConditions, Duty, Make, Marking, Place, Status, WalkingOrder};
use crate::trade::heating::{Heat, may_heat};
use crate::trade::procedure::ProcedureKind;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A detector that hangs in a position, or hung there.
#[derive(Clone, Debug, PartialEq)]
pub struct Installed {
    /// The entry that hung it there.
    pub hash: Hash,
    /// The detector.
    pub detector: Id,
    /// When, if given.
    pub happened: Option<Happened>,
    /// Why and when it was taken out; absent while it hangs.
    pub removed: Option<(RemovedWhy, Option<Happened>)>,
}

/// One position in its groups of fields, and what hung in it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Position {
    /// Where it is.
    pub place: Versions<Place>,
    /// How it is reached.
    pub access: Versions<Access>,
    /// What hangs on its alarm.
    pub duty: Versions<Duty>,
    /// Whether it is still in use.
    pub status: Versions<Status>,
    /// Its number in the walking order.
    pub order: Versions<WalkingOrder>,
    /// Its detectors, by the entries that hung them there.
    pub installed: Vec<Installed>,
}

impl Position {
    /// Whether it was taken off the list; while phones disagree it was not.
    pub fn retired(&self) -> bool {
        self.status.now().is_some() && self.status.versions().all(|(_, status)| status.retired)
    }

    /// Whether it was added on the lift and is not settled yet: its tag may be missing or taken.
    pub fn provisional(&self) -> bool {
        self.status.now().is_some_and(|status| status.provisional)
    }

    /// Its tag as shown, or nothing while its place has not arrived.
    pub fn tag(&self) -> &str {
        self.place.now().map_or("", Place::name)
    }

    /// The detectors that hang in it. Two phones that replaced the same one leave two, a conflict to resolve.
    pub fn hanging(&self) -> impl Iterator<Item = &Installed> {
        self.installed.iter().filter(|installed| installed.removed.is_none())
    }

    /// The one detector that hangs in it; none where there is none or more than one.
    pub fn detector(&self) -> Option<Id> {
        let mut hanging = self.hanging();
        let only = hanging.next()?.detector;
        hanging.next().is_none().then_some(only)
    }
}

/// One detector in its groups of fields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Detector {
    /// What judges it.
    pub marking: Versions<Marking>,
    /// What else is known of it.
    pub make: Versions<Make>,
}

/// The register of every site known here.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Register {
    /// Sites.
    pub sites: BTreeMap<Id, Versions<Site>>,
    /// What sites go by.
    pub site_rules: BTreeMap<Id, Versions<SiteRules>>,
    /// How their sheets were matched.
    pub sheet_columns: BTreeMap<Id, Versions<SheetColumns>>,
    /// Areas.
    pub areas: BTreeMap<Id, Versions<Area>>,
    /// What is known of their ceilings and classification.
    pub area_conditions: BTreeMap<Id, Versions<AreaConditions>>,
    /// Circuits.
    pub circuits: BTreeMap<Id, Versions<Circuit>>,
    /// Positions.
    pub positions: BTreeMap<Id, Position>,
    /// Detectors.
    pub detectors: BTreeMap<Id, Detector>,
}

impl Register {
    /// Folds the register entries of a book.
    pub fn of(book: &Book) -> Register {
        let mut folding = Folding::of(book, []);
        while folding.step() {}
        folding.end()
    }

    /// The site a position belongs to, through its area.
    pub fn site_of(&self, position: Id) -> Option<Id> {
        let area = self.positions.get(&position)?.place.now()?.area;
        Some(self.areas.get(&area)?.now()?.site)
    }

    /// Whether another settled position that is in use on this site has the tag.
    pub fn is_taken(&self, site: Id, tag: &str, but: Id) -> bool {
        let settled = |id: &Id, position: &Position| *id != but && !position.retired() && !position.provisional();
        let has = |position: &Position| position.place.now().is_some_and(|place| place.tag == tag);
        let mut same = self.positions.iter().filter(|(id, position)| has(position) && settled(id, position));
        same.any(|(id, _)| self.site_of(*id) == Some(site))
    }

    /// What is marked on the detector that hangs in a position.
    pub fn marking_of(&self, position: &Position) -> Option<&Marking> {
        self.detectors.get(&position.detector()?)?.marking.now()
    }

    /// Whether heat does not use up what hangs in a position, as far as that is known.
    pub fn may_be_heated(&self, position: &Position) -> bool {
        let heat = |detector_type| may_heat(detector_type, ProcedureKind::Functional);
        self.marking_of(position).is_none_or(|marking| heat(marking.detector_type) != Heat::UsesUpElement)
    }

    /// What a site goes by; nothing of its own where nobody said.
    pub fn rules_of(&self, site: Id) -> SiteRules {
        self.site_rules.get(&site).and_then(Versions::now).cloned().unwrap_or_default()
    }

    /// What a site goes by in each version, where two phones gave it apart.
    pub fn all_rules_of(&self, site: Id) -> Option<Vec<&SiteRules>> {
        let versions = self.site_rules.get(&site).filter(|versions| versions.conflict())?;
        Some(versions.versions().map(|(_, rules)| rules).collect())
    }

    /// Areas of a site, by name.
    pub fn areas_of(&self, site: Id) -> Vec<(Id, &Area)> {
        let areas = self.areas.iter().filter_map(|(id, versions)| Some((*id, versions.now()?)));
        let areas = areas.filter(|(_, area)| area.site == site).collect();
        order::by(areas, |(id, area)| (0, 0, format!("{}\0{id}", area.name)))
    }

    /// Circuits of a site, by name.
    pub fn circuits_of(&self, site: Id) -> Vec<(Id, &Circuit)> {
        let circuits = self.circuits.iter().filter_map(|(id, versions)| Some((*id, versions.now()?)));
        let circuits = circuits.filter(|(_, circuit)| circuit.site == site).collect();
        order::by(circuits, |(id, circuit)| (0, 0, format!("{}\0{id}", circuit.name)))
    }

    /// Positions of an area that are still in use, in walking order, then by tag.
    pub fn positions_of(&self, area: Id) -> Vec<(Id, &Position)> {
        let here =
            |position: &Position| position.place.now().is_some_and(|place| place.area == area) && !position.retired();
        let positions = self.positions.iter().filter(|(_, position)| here(position)).map(|(id, p)| (*id, p)).collect();
        order::by(positions, |(id, position)| {
            let number = position.order.now().map_or(i64::MAX, |order| order.number);
            (number, 0, format!("{}\0{id}", position.tag()))
        })
    }
}

/// A register on its way: a large one is folded in steps, so that the screen has its turn between.
#[derive(Debug)]
pub struct Folding {
    /// What counts, by hash, so that every phone has the same order.
    entries: Vec<Arc<Entry>>,
    /// How many of them were looked through for what they replace and end, and how many were folded.
    looked: usize,
    folded: usize,
    replaced: BTreeSet<(Group, Id, Hash)>,
    removals: BTreeMap<(Hash, Id), (RemovedWhy, Option<Happened>)>,
    register: Register,
}

impl Folding {
    /// Of a book, with entries that it is about to get.
    pub fn of(book: &Book, more: impl IntoIterator<Item = Entry>) -> Folding {
        let sites = book.chains().filter(|chain| matches!(chain.scope, Scope::Site(_)));
        let stands = sites.flat_map(|chain| book.line(chain)).filter(|entry| !book.is_void(entry));
        let entries = stands.map(Arc::clone).chain(more.into_iter().map(Arc::new)).collect();
        Folding {
            entries: order::by(counting(entries), |entry| (0, 0, entry.hash.to_string())),
            looked: 0,
            folded: 0,
            replaced: BTreeSet::new(),
            removals: BTreeMap::new(),
            register: Register::default(),
        }
    }

    /// Takes the next entry; false at the end.
    pub fn step(&mut self) -> bool {
        let Folding { entries, looked, folded, replaced, removals, register } = self;
        if let Some(entry) = entries.get(*looked) {
            *looked += 1;
            for body in said(entry) {
                if let Some((group, of, replaces)) = body.edited() {
                    replaced.extend(replaces.iter().map(|hash| (group, of, *hash)));
                }
                if let Body::DetectorRemoved(of) = body {
                    removals.insert((of.ends, of.detector), (of.why, of.happened));
                }
            }
            return true;
        }
        let Some(entry) = entries.get(*folded) else { return false };
        *folded += 1;
        let hash = entry.hash;
        for body in said(entry) {
            match body.edited() {
                Some((group, of, _)) if !replaced.contains(&(group, of, hash)) => register.edit(of, hash, body),
                Some(_) => {}
                None => register.hang(hash, body, removals),
            }
        }
        true
    }

    /// Steps that were taken, and of how many.
    pub fn progress(&self) -> (usize, usize) {
        (self.looked + self.folded, self.entries.len() * 2)
    }

    /// The register, once there is no step left.
    pub fn end(self) -> Register {
        self.register
    }
}

impl Register {
    fn edit(&mut self, id: Id, hash: Hash, body: &Body) {
        let Register { sites, site_rules, sheet_columns, areas, area_conditions, circuits, positions, detectors } =
            self;
        match body {
            Body::Site(edit) => sites.entry(id).or_default().add(hash, edit),
            Body::SiteRules(edit) => site_rules.entry(id).or_default().add(hash, edit),
            Body::SheetColumns(edit) => sheet_columns.entry(id).or_default().add(hash, edit),
            Body::Area(edit) => areas.entry(id).or_default().add(hash, edit),
            Body::AreaConditions(edit) => area_conditions.entry(id).or_default().add(hash, edit),
            Body::Circuit(edit) => circuits.entry(id).or_default().add(hash, edit),
            Body::PositionPlace(edit) => positions.entry(id).or_default().place.add(hash, edit),
            Body::PositionAccess(edit) => positions.entry(id).or_default().access.add(hash, edit),
            Body::PositionDuty(edit) => positions.entry(id).or_default().duty.add(hash, edit),
            Body::PositionStatus(edit) => positions.entry(id).or_default().status.add(hash, edit),
            Body::PositionOrder(edit) => positions.entry(id).or_default().order.add(hash, edit),
            Body::DetectorMarking(edit) => detectors.entry(id).or_default().marking.add(hash, edit),
            Body::DetectorMake(edit) => detectors.entry(id).or_default().make.add(hash, edit),
            _ => {}
        }
    }

    fn hang(&mut self, hash: Hash, body: &Body, removals: &BTreeMap<(Hash, Id), (RemovedWhy, Option<Happened>)>) {
        if let Body::DetectorInstalled { detector, position, happened } = body {
            let (detector, happened) = (*detector, *happened);
            let removed = removals.get(&(hash, detector)).copied();
            let installed = Installed { hash, detector, happened, removed };
            self.positions.entry(*position).or_default().installed.push(installed);
        }
    }
}

fn said(entry: &Entry) -> &[Body] {
    match &entry.body {
        Body::RowsImported { rows, .. } => rows,
        body => std::slice::from_ref(body),
    }
}

/// Entries without the parts of imports that were not committed or are not whole: those say nothing.
fn counting(mut entries: Vec<Arc<Entry>>) -> Vec<Arc<Entry>> {
    let mut parts: BTreeMap<Id, BTreeSet<u32>> = BTreeMap::new();
    let mut commits = BTreeMap::new();
    for entry in &entries {
        match &entry.body {
            Body::RowsImported { import, part, .. } => {
                parts.entry(*import).or_default().insert(*part);
            }
            Body::ImportCommitted { import, parts, .. } => {
                commits.insert(*import, *parts);
            }
            _ => {}
        }
    }
    let here = |import: &Id, part: u32| parts.get(import).is_some_and(|parts| parts.contains(&part));
    let whole = commits.into_iter().filter(|(import, wanted)| (0..*wanted).all(|part| here(import, part)));
    let whole = order::set(whole.map(|(import, _)| import));
    entries.retain(|entry| !matches!(&entry.body, Body::RowsImported { import, .. } if !whole.contains(import)));
    entries
}
