//! The register: sites, areas, circuits and detectors as their edits leave them.

use super::Id;
use super::body::{Area, Body, Circuit, Presence, Site};
use super::entry::Scope;
use super::group::{Group, standing};
use super::log::Book;
use crate::order;
use crate::trade::detector::{Duty, Marking, Place};
use std::collections::BTreeMap;

/// One detector in its groups of fields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Detector {
    /// Where it is.
    pub place: Group<Place>,
    /// What judges it.
    pub marking: Group<Marking>,
    /// What hangs on it.
    pub duty: Group<Duty>,
    /// Whether it is still there.
    pub presence: Group<Presence>,
}

impl Detector {
    /// Whether it has been taken away.
    pub fn retired(&self) -> bool {
        self.presence.now().is_some_and(|presence| presence.retired)
    }

    /// Its tag, or nothing while its place has not arrived.
    pub fn tag(&self) -> &str {
        self.place.now().map_or("", |place| &place.tag)
    }
}

/// The register of every site known here.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Register {
    /// Sites.
    pub sites: BTreeMap<Id, Group<Site>>,
    /// Areas.
    pub areas: BTreeMap<Id, Group<Area>>,
    /// Circuits.
    pub circuits: BTreeMap<Id, Group<Circuit>>,
    /// Detectors.
    pub detectors: BTreeMap<Id, Detector>,
}

impl Register {
    /// Folds the register entries of a book.
    pub fn of(book: &Book) -> Register {
        let mut register = Register::default();
        let Register { sites, areas, circuits, detectors } = &mut register;
        let chains = book.chains().filter(|chain| matches!(chain.scope, Scope::Site(_)));
        let entries = chains.flat_map(|chain| book.chain(chain)).filter(|entry| !book.is_void(entry.hash));
        for (id, entry) in standing(entries) {
            let hash = entry.hash;
            match &entry.body {
                Body::Site(edit) => sites.entry(id).or_default().add(hash, edit),
                Body::Area(edit) => areas.entry(id).or_default().add(hash, edit),
                Body::Circuit(edit) => circuits.entry(id).or_default().add(hash, edit),
                Body::DetectorPlace(edit) => detectors.entry(id).or_default().place.add(hash, edit),
                Body::DetectorMarking(edit) => detectors.entry(id).or_default().marking.add(hash, edit),
                Body::DetectorDuty(edit) => detectors.entry(id).or_default().duty.add(hash, edit),
                Body::DetectorPresence(edit) => detectors.entry(id).or_default().presence.add(hash, edit),
                _ => {}
            }
        }
        register
    }

    /// The site a detector belongs to, through its area.
    pub fn site_of(&self, detector: Id) -> Option<Id> {
        let area = self.detectors.get(&detector)?.place.now()?.area;
        Some(self.areas.get(&area)?.now()?.site)
    }

    /// Areas of a site, by name.
    pub fn areas_of(&self, site: Id) -> Vec<(Id, &Area)> {
        let mut areas: Vec<(Id, &Area)> = self
            .areas
            .iter()
            .filter_map(|(id, group)| Some((*id, group.now()?)))
            .filter(|(_, a)| a.site == site)
            .collect();
        areas = order::by(areas, |(id, area)| (0, 0, format!("{}\0{id}", area.name)));
        areas
    }

    /// Circuits of a site, by name.
    pub fn circuits_of(&self, site: Id) -> Vec<(Id, &Circuit)> {
        let mut circuits: Vec<(Id, &Circuit)> = self
            .circuits
            .iter()
            .filter_map(|(id, group)| Some((*id, group.now()?)))
            .filter(|(_, c)| c.site == site)
            .collect();
        circuits = order::by(circuits, |(id, circuit)| (0, 0, format!("{}\0{id}", circuit.name)));
        circuits
    }

    /// Detectors of an area that are still there, by tag.
    pub fn detectors_of(&self, area: Id) -> Vec<(Id, &Detector)> {
        let here =
            |detector: &Detector| detector.place.now().is_some_and(|place| place.area == area) && !detector.retired();
        let mut detectors: Vec<(Id, &Detector)> =
            self.detectors.iter().filter(|(_, d)| here(d)).map(|(id, d)| (*id, d)).collect();
        detectors = order::by(detectors, |(id, detector)| (0, 0, format!("{}\0{id}", detector.tag())));
        detectors
    }
}
