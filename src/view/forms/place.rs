//! The forms of a site, an area and a circuit.

use super::reader::{Reader, reading_text};
use super::{Answer, Ask, Field, Name, Page, Part, Typed, Wrongs, name, title, units};
use crate::book::Id;
use crate::book::body::{Area, Circuit, Site};
use crate::book::command::Command;
use crate::book::register::Register;
use crate::book::versions::Versions;
use crate::trade::classified::Classification;
use crate::trade::detector::AreaConditions;
use crate::units::{Celsius, Degree};
use crate::view::place::Form;

const SITE_NAME: Name = name!("site-name", "Site's name");
const ADDRESS: Name = name!("address", "Address");
const SITE: Name = name!("site", "Site");
const AREA_NAME: Name = name!("area-name", "Area's name");
const CEILING: Name = name!("ceiling", "Highest ceiling temperature");
const CLASS: Name = name!("area-class", "Class");
const DIVISION: Name = name!("area-division", "Division or zone");
const GROUP: Name = name!("area-group", "Group");
const CODE: Name = name!("area-code", "Temperature code");
const CIRCUIT_NAME: Name = name!("circuit-name", "Circuit's name");
const SHOWS: Name = name!("shows", "Panel shows");
const ADDRESSABLE: Name = name!("addressable", "Addressable");
const RELEASING: Name = name!("releasing", "Serves a releasing system");
const VERIFICATION: Name = name!("verification", "Alarm verification is on");

fn simple(title: String, lead: &'static str, fields: Vec<Field>) -> Page {
    let parts = vec![Part { title: "", folded: false, note: "", fields }];
    Page { title, lead, parts, offers: Vec::new(), save: "Save", first: None }
}

pub(super) fn open_site(id: Option<Id>, register: &Register) -> Typed {
    let mut typed = Typed::default();
    if let Some(site) = id.and_then(|id| register.sites.get(&id)?.now()) {
        typed.put(SITE_NAME, &site.name);
        typed.put(ADDRESS, site.address.as_deref().unwrap_or_default());
    }
    typed
}

pub(super) fn site(new: bool) -> Page {
    let fields = vec![
        Field::new(SITE_NAME, Ask::Line).help("Customer's name for it."),
        Field::new(ADDRESS, Ask::Line).help("May stay blank."),
    ];
    simple(title(new, "site"), "A customer location. Its areas and positions come next.", fields)
}

pub(super) fn put_site(typed: &Typed, id: Id, register: &Register) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let (name, address) = (reader.name(SITE_NAME), reader.line(ADDRESS));
    let invented = register.sites.get(&id).and_then(Versions::now).is_some_and(|site| site.invented);
    reader.done(Command::PutSite { site: id, now: Site { name, address, invented } })
}

/// The site a new thing is for: the one named, or the only one there is.
fn site_for(id: Option<Id>, register: &Register) -> Option<Id> {
    let only = || (register.sites.len() == 1).then(|| register.sites.keys().next().copied()).flatten();
    id.filter(|id| register.sites.contains_key(id)).or_else(only)
}

fn sites(register: &Register) -> Field {
    let named = register.sites.iter().filter_map(|(id, group)| Some(Answer::new(id, &group.now()?.name)));
    Field::new(SITE, Ask::Choice(named.collect()))
}

fn of_a_site(mut page: Page, register: &Register) -> Page {
    // With one site there is nothing to choose; it is filled in when the form opens.
    if register.sites.len() != 1 {
        page.parts[0].fields.insert(0, sites(register));
    }
    if register.sites.is_empty() {
        page.first = Some(("Add the site first.", Form::Site(None)));
    }
    page
}

pub(super) fn open_area(id: Option<Id>, register: &Register, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    let stands = id.and_then(|id| register.areas.get(&id)?.now());
    if let Some(site) = stands.map(|area| area.site).or_else(|| site_for(id, register)) {
        typed.put(SITE, site.to_string());
    }
    typed.put(AREA_NAME, stands.map_or("", |area| &area.name));
    if let Some(conditions) = id.and_then(|id| register.area_conditions.get(&id)?.now()) {
        if let Some(ceiling) = &conditions.ceiling {
            typed.put_unit(ceiling.unit);
            typed.put(CEILING, reading_text(ceiling, ceiling.unit));
        }
        let of = conditions.classification.clone().unwrap_or_default();
        for (name, text) in [(CLASS, of.class), (DIVISION, of.division), (GROUP, of.group), (CODE, of.temperature_code)]
        {
            typed.put(name, text.unwrap_or_default());
        }
    }
    typed
}

pub(super) fn area(new: bool, typed: &Typed, register: &Register) -> Page {
    let fields = vec![Field::new(AREA_NAME, Ask::Line).help("e.g. Hall 2 or Boiler room.")];
    let lead = "A space whose detectors share conditions: they are compared side by side.";
    let mut page = of_a_site(simple(title(new, "area"), lead, fields), register);
    let folded = |title, note, fields| Part { title, folded: true, note, fields };
    let ceiling = vec![Field::degrees(CEILING, typed.unit()), units()];
    page.parts.push(folded("Ceiling temperature", "", ceiling));
    let note = "As on the area classification drawing. Blank: the area is not classified.";
    let names = [CLASS, DIVISION, GROUP, CODE];
    page.parts.push(folded(
        "Hazardous (classified) location",
        note,
        names.into_iter().map(|name| Field::new(name, Ask::Line)).collect(),
    ));
    page
}

pub(super) fn put_area(typed: &Typed, id: Id, register: &Register) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let (site, name) = (reader.thing(SITE, |site| register.sites.contains_key(&site)), reader.name(AREA_NAME));
    let classification = Classification {
        class: reader.line(CLASS),
        division: reader.line(DIVISION),
        group: reader.line(GROUP),
        temperature_code: reader.line(CODE),
    };
    let conditions = AreaConditions {
        ceiling: reader.reading(CEILING, (Celsius(-40.0), Celsius(90.0))),
        classification: (!classification.is_empty()).then_some(classification),
    };
    reader.done(Command::PutArea { area: id, now: Area { site, name }, conditions })
}

pub(super) fn open_circuit(id: Option<Id>, register: &Register) -> Typed {
    let mut typed = Typed::default();
    let stands = id.and_then(|id| register.circuits.get(&id)?.now());
    if let Some(site) = stands.map(|circuit| circuit.site).or_else(|| site_for(id, register)) {
        typed.put(SITE, site.to_string());
    }
    if let Some(circuit) = stands {
        typed.put(CIRCUIT_NAME, &circuit.name);
        typed.put(SHOWS, if circuit.shows_point { "point" } else { "zone" });
        let yes = |on: bool| if on { "yes" } else { "" };
        let said = |yes: Option<bool>| yes.map_or("", |yes| if yes { "yes" } else { "no" });
        typed.put(ADDRESSABLE, said(circuit.addressable));
        typed.put(RELEASING, said(circuit.releasing));
        typed.put(VERIFICATION, yes(circuit.verification));
    }
    typed
}

pub(super) fn circuit(new: bool, register: &Register) -> Page {
    let answers = vec![
        Answer::with("zone", "Zone or circuit only", "Two tests on it at once couldn't be told apart."),
        Answer::with("point", "The device", "Each trip has its own point."),
    ];
    let fields = vec![
        Field::new(CIRCUIT_NAME, Ask::Line).help("Circuit, zone or loop, as the panel names it."),
        Field::new(SHOWS, Ask::Choice(answers)),
        Field::new(ADDRESSABLE, Ask::Choice(yes_or_not_known())),
        Field::new(RELEASING, Ask::Choice(yes_or_not_known())),
        Field::new(VERIFICATION, Ask::Switch("Yes", "No")),
    ];
    of_a_site(simple(title(new, "circuit"), "An initiating device circuit, zone or loop.", fields), register)
}

fn yes_or_not_known() -> Vec<Answer> {
    vec![Answer::new("yes", "Yes"), Answer::new("no", "No"), Answer::new("", "Not known")]
}

pub(super) fn put_circuit(typed: &Typed, id: Id, register: &Register) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let site = reader.thing(SITE, |site| register.sites.contains_key(&site));
    let name = reader.name(CIRCUIT_NAME);
    let shows_point = reader.choose(SHOWS, [(false, "zone"), (true, "point")]).unwrap_or_default();
    let said = |name| reader.maybe(name, [(true, "yes"), (false, "no")]);
    let (addressable, releasing, verification) = (said(ADDRESSABLE), said(RELEASING), reader.yes(VERIFICATION));
    let now = Circuit { site, name, shows_point, addressable, releasing, verification };
    reader.done(Command::PutCircuit { circuit: id, now })
}
