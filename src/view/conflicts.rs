//! Versions of one thing that two phones gave, and the edit that settles which holds.

use super::before::marked;
use super::forms::Known;
use super::place::Form;
use super::{time, words};
use crate::book::Id;
use crate::book::body::{Circuit, Site};
use crate::book::command::Command;
use crate::book::group::Group;
use crate::trade::detector::{Duty, Place};
use crate::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use crate::units::Degree;

/// A group of fields that stands in several versions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// Which fields.
    pub fields: &'static str,
    /// Each version in words.
    pub versions: Vec<String>,
}

/// The versions of a group that differ, in the order that every phone has.
fn distinct<T: PartialEq>(group: &Group<T>) -> Vec<&T> {
    let mut versions: Vec<&T> = Vec::new();
    for (_, version) in group.versions() {
        if !versions.contains(&version) {
            versions.push(version);
        }
    }
    versions
}

/// Takes clashes down, or takes the versions that were picked, in one and the same order.
struct Walk<'a> {
    picks: &'a [usize],
    clashes: Vec<Clash>,
}

impl Walk<'_> {
    /// The version picked of a group in conflict, the one that stands otherwise.
    fn group<T: Clone + PartialEq>(
        &mut self,
        fields: &'static str,
        group: &Group<T>,
        say: impl Fn(&T) -> String,
    ) -> Option<T> {
        if !group.conflict() {
            return group.now().cloned();
        }
        let versions = distinct(group);
        let pick = self.picks.get(self.clashes.len()).copied();
        self.clashes.push(Clash { fields, versions: versions.iter().map(|version| say(version)).collect() });
        versions.get(pick?).map(|version| (*version).clone())
    }
}

/// What stands in several versions of a thing, named by the form that edits it.
pub fn clashes(thing: Form, known: Known<'_>, unit: Degree) -> Vec<Clash> {
    let mut walk = Walk { picks: &[], clashes: Vec::new() };
    // Without picks there is no command, only the list.
    drop(command(thing, known, unit, &mut walk));
    walk.clashes
}

/// The command after which the picked versions hold, one pick a clash.
pub fn settle(thing: Form, picks: &[usize], known: Known<'_>, unit: Degree) -> Option<Command> {
    command(thing, known, unit, &mut Walk { picks, clashes: Vec::new() })
}

fn command(thing: Form, Known { register, kit }: Known<'_>, unit: Degree, walk: &mut Walk<'_>) -> Option<Command> {
    let area_name = |id: Id| register.areas.get(&id).and_then(Group::now).map_or("", |area| &area.name);
    let circuit_name = |id: Id| register.circuits.get(&id).and_then(Group::now).map_or("", |circuit| &circuit.name);
    match thing {
        Form::Site(Some(site)) => {
            let now = walk.group("Site", register.sites.get(&site)?, said_site)?;
            Some(Command::PutSite { site, now })
        }
        Form::Area(Some(area)) => {
            let now = walk.group("Area", register.areas.get(&area)?, |area| area.name.clone())?;
            Some(Command::PutArea { area, now })
        }
        Form::Circuit(Some(circuit)) => {
            let now = walk.group("Circuit", register.circuits.get(&circuit)?, said_circuit)?;
            Some(Command::PutCircuit { circuit, now })
        }
        Form::Detector(Some(id)) => {
            let detector = register.detectors.get(&id)?;
            let said_place = |place: &Place| {
                let circuit = place.circuit.map(circuit_name).unwrap_or_default();
                let texts = [&place.tag, area_name(place.area), circuit];
                joined(texts.into_iter().chain(place.address.as_deref()).chain(place.label.as_deref()))
            };
            // Every group is walked before one may be missing, so that the list is whole.
            let place = walk.group("Tag and place", &detector.place, said_place);
            let marking = walk.group("Type, rating, tolerance", &detector.marking, |marking| marked(marking, unit));
            let duty = walk.group("Release and hazard", &detector.duty, said_duty);
            let (place, marking) = (place?, Box::new(marking?));
            let duty = if detector.duty.conflict() { duty? } else { duty.unwrap_or_default() };
            Some(Command::PutDetector { detector: id, place, marking, duty })
        }
        Form::Heater(Some(id)) => {
            let heater = kit.heaters.get(&id)?;
            let name = walk.group("Which heater", &heater.name, said_heater);
            let heating = walk.group("How it heats", &heater.heating, |heating| said_heating(heating, unit));
            let metrology = walk.group("How well it is known", &heater.metrology, |m| said_metrology(m, unit));
            let (name, heating) = (name?, Box::new(heating?));
            let metrology = if heater.metrology.conflict() { metrology? } else { metrology.unwrap_or_default() };
            Some(Command::PutHeater { heater: id, name, heating, metrology })
        }
        Form::Procedure(Some(procedure)) => {
            let say = |procedure: &_| words::procedure_detail(procedure);
            let now = Box::new(walk.group("Procedure", kit.procedures.get(&procedure)?, say)?);
            Some(Command::PutProcedure { procedure, now })
        }
        _ => None,
    }
}

fn joined<'a>(parts: impl IntoIterator<Item = &'a str>) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ")
}

fn said_site(site: &Site) -> String {
    joined([&*site.name, site.address.as_deref().unwrap_or_default()])
}

fn said_circuit(circuit: &Circuit) -> String {
    joined([&*circuit.name, tells_apart(circuit)])
}

/// What the panel shows of a circuit.
pub fn tells_apart(circuit: &Circuit) -> &'static str {
    if circuit.tells_apart { "the panel names the detector" } else { "the panel names the circuit" }
}

fn said_duty(duty: &Duty) -> String {
    let releases = if duty.releases.is_empty() { "releases nothing".into() } else { duty.releases.join(", ") };
    let place = if duty.classified { "hazardous (classified) location" } else { "" };
    let installed = duty.installed_on.as_deref().unwrap_or_default();
    joined([&*releases, place, duty.hazard.as_deref().unwrap_or_default(), installed])
}

fn said_heater(name: &HeaterName) -> String {
    let approval = name.hazardous_approval.as_deref().unwrap_or_default();
    joined([&*name.name, name.serial.as_deref().unwrap_or_default(), basis(name.basis), approval])
}

/// A basis of acceptance in words.
pub fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Listed => "listed heat source",
        Basis::DetectorInstructions => "in the instructions of the detector's maker",
        Basis::Neither => "no basis of acceptance",
    }
}

/// Settings and cycle in a line.
pub fn said_heating(heating: &Heating, unit: Degree) -> String {
    let settings: Vec<String> = heating.settings.iter().map(|s| words::degrees(s.celsius(), unit, 0)).collect();
    let cycle = match &heating.cycle {
        Cycle::ByItself { hold_first_ms, off_ms, .. } => {
            format!("cycles by itself: holds {}, off {}", time::gone(*hold_first_ms), time::gone(*off_ms))
        }
        Cycle::ByHand { .. } => "switched by hand".to_string(),
    };
    joined([
        &*settings.join(", "),
        &format!("heat-ups {} above", words::difference(heating.above.kelvin(), unit, 0)),
        &cycle,
    ])
}

fn said_metrology(metrology: &Metrology, unit: Degree) -> String {
    let u = |name, value: Option<crate::units::Difference>| {
        value.map(|value| format!("{name} u {}", words::difference(value.kelvin(), unit, 2))).unwrap_or_default()
    };
    let due = metrology.due.as_ref().map(|due| format!("due {due}")).unwrap_or_default();
    let certificate = metrology.certificate.as_deref().unwrap_or_default();
    let parts = [&*u("calibration", metrology.calibration_u), &u("fit", metrology.fit_u), &due, certificate];
    let said = joined(parts);
    if said.is_empty() { "nothing known".into() } else { said }
}
