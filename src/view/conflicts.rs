//! Versions of one thing that two phones gave, and the edit that settles which holds.

use super::before::marked;
use super::forms::Known;
use super::place::Form;
use super::{time, words};
use crate::book::Id;
use crate::book::body::{Circuit, Site};
use crate::book::command::Command;
use crate::book::command::PutPosition;
use crate::book::versions::Versions;
use crate::trade::classified::Classification;
use crate::trade::detector::{Access, AreaConditions, Duty, Make, Place};
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
fn distinct<T: PartialEq>(group: &Versions<T>) -> Vec<&T> {
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
        group: &Versions<T>,
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

impl Walk<'_> {
    /// The same of a group that need not be there.
    fn or_default<T: Clone + Default + PartialEq>(
        &mut self,
        fields: &'static str,
        group: &Versions<T>,
        say: impl Fn(&T) -> String,
    ) -> Option<T> {
        let conflict = group.conflict();
        let picked = self.group(fields, group, say);
        if conflict { picked } else { Some(picked.unwrap_or_default()) }
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

fn command(thing: Form, Known { register, kit, .. }: Known<'_>, unit: Degree, walk: &mut Walk<'_>) -> Option<Command> {
    let area_name = |id: Id| register.areas.get(&id).and_then(Versions::now).map_or("", |area| &area.name);
    let circuit_name = |id: Id| register.circuits.get(&id).and_then(Versions::now).map_or("", |circuit| &circuit.name);
    match thing {
        Form::Site(Some(site)) => {
            let now = walk.group("Site", register.sites.get(&site)?, said_site)?;
            Some(Command::PutSite { site, now })
        }
        Form::Area(Some(area)) => {
            let now = walk.group("Area", register.areas.get(&area)?, |area| area.name.clone());
            let conditions = match register.area_conditions.get(&area) {
                Some(versions) => walk.group("Ceiling and classification", versions, |of| said_conditions(of, unit))?,
                None => AreaConditions::default(),
            };
            Some(Command::PutArea { area, now: now?, conditions })
        }
        Form::Circuit(Some(circuit)) => {
            let now = walk.group("Circuit", register.circuits.get(&circuit)?, said_circuit)?;
            Some(Command::PutCircuit { circuit, now })
        }
        Form::Position(Some(id)) => {
            let position = register.positions.get(&id)?;
            let said_place = |place: &Place| {
                let circuit = place.circuit.map(circuit_name).unwrap_or_default();
                let texts = [&place.tag, area_name(place.area), circuit];
                let more = [&place.point, &place.panel_text, &place.location, &place.customer_id];
                joined(texts.into_iter().chain(more.into_iter().filter_map(|text| text.as_deref())))
            };
            let of_detector = position.detector().and_then(|id| Some((id, register.detectors.get(&id)?)));
            // Every group is walked before one may be missing, so that the list is complete.
            let place = walk.group("Tag and place", &position.place, said_place);
            let access = walk.or_default("Access", &position.access, said_access);
            let duty = walk.or_default("Releases", &position.duty, said_duty);
            let (detector, of) = of_detector?;
            let marking = walk.group("Type, rating, tolerance", &of.marking, |marking| marked(marking, unit));
            let make = walk.or_default("Model and dates", &of.make, said_make);
            let put = PutPosition {
                position: id,
                detector,
                place: place?,
                access: access?,
                duty: duty?,
                marking: marking?,
                make: make?,
            };
            Some(Command::PutPosition(Box::new(put)))
        }
        Form::Heater(Some(id)) => {
            let heater = kit.heaters.get(&id)?;
            let name = walk.group("Which heater", &heater.name, said_heater);
            let heating = walk.group("How it heats", &heater.heating, |heating| said_heating(heating, unit));
            let metrology = walk.or_default("Calibration and fit", &heater.metrology, |m| said_metrology(m, unit));
            let (name, heating, metrology) = (name?, Box::new(heating?), metrology?);
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
    joined([&*circuit.name, shows_point(circuit)])
}

/// What the panel shows of a circuit.
pub fn shows_point(circuit: &Circuit) -> &'static str {
    if circuit.shows_point { "panel shows the device" } else { "panel shows zone or circuit only" }
}

/// What a position releases, in words.
pub fn said_releases(duty: &Duty) -> String {
    match &duty.releases {
        None => "releases: not known".into(),
        Some(releases) if releases.is_empty() => "releases nothing".into(),
        Some(releases) => format!("releases {}", releases.join(", ")),
    }
}

fn said_duty(duty: &Duty) -> String {
    let place = if duty.classified { "hazardous (classified) location" } else { "" };
    let monitored = duty.monitored.map_or("", |on| if on { "monitored" } else { "not monitored" });
    joined([&*said_releases(duty), monitored, place])
}

fn said_access(access: &Access) -> String {
    let reach = access.reach.map(|reach| format!("{reach:?}")).unwrap_or_default();
    let shutdown = if access.shutdown { "shutdown needed" } else { "" };
    joined([&*reach, shutdown, access.hazard.as_deref().unwrap_or_default()])
}

fn said_make(make: &Make) -> String {
    let parts = [&make.model, &make.serial, &make.date_code, &make.installed_on, &make.replace_by];
    joined(parts.into_iter().filter_map(|text| text.as_deref()))
}

fn said_conditions(conditions: &AreaConditions, unit: Degree) -> String {
    let ceiling = conditions.ceiling.map(|ceiling| words::degrees(ceiling.celsius(), unit, 0)).unwrap_or_default();
    let classification = conditions.classification.as_ref().map_or("not classified".into(), Classification::words);
    joined([&*ceiling, &classification])
}

fn said_heater(name: &HeaterName) -> String {
    let approval = name.approval.as_ref().map(Classification::words).unwrap_or_default();
    joined([&*name.name, name.serial.as_deref().unwrap_or_default(), basis(name.basis), &approval])
}

/// A basis of acceptance in words.
pub fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Listed => "listed heat source",
        Basis::DetectorInstructions => "named in the detector's instructions",
        Basis::Neither => "neither listed nor named: owner's information",
    }
}

/// Settings and cycle in a line.
pub fn said_heating(heating: &Heating, unit: Degree) -> String {
    let settings: Vec<String> = heating.settings.iter().map(|s| words::degrees(s.celsius(), unit, 0)).collect();
    let cycle = match &heating.cycle {
        Cycle::Auto { hold_first_ms: Some(hold), off_ms: Some(off), .. } => {
            format!("auto-cycling: holds {}, off {}", time::gone(*hold), time::gone(*off))
        }
        Cycle::Auto { .. } => "auto-cycling".to_string(),
        Cycle::Manual { .. } => "manual switch".to_string(),
    };
    let overshoot = heating.overshoot.map(|by| format!("overshoot {}", words::difference(by.kelvin(), unit, 0)));
    joined([&*settings.join(", "), &overshoot.unwrap_or_default(), &cycle])
}

fn said_metrology(metrology: &Metrology, unit: Degree) -> String {
    let u = |name, value: Option<crate::units::Difference>| {
        value.map(|value| format!("{name} u {}", words::difference(value.kelvin(), unit, 2))).unwrap_or_default()
    };
    let due = metrology.due.as_ref().map(|due| format!("due {due}")).unwrap_or_default();
    let certificate = metrology.certificate.as_deref().unwrap_or_default();
    let parts = [&*u("calibration", metrology.calibration_u), &u("fit", metrology.fit_u), &due, certificate];
    let said = joined(parts);
    if said.is_empty() { "not entered".into() } else { said }
}
