//! The forms of a site, an area and a circuit.

use super::reader::Reader;
use super::{Answer, Ask, Field, Name, Page, Part, Typed, Wrongs, name, title};
use crate::book::Id;
use crate::book::body::{Area, Circuit, Site};
use crate::book::command::Command;
use crate::book::group::Group;
use crate::book::register::Register;
use crate::view::place::Form;

const SITE_NAME: Name = name!("site-name", "Name of the site");
const ADDRESS: Name = name!("address", "Address");
const SITE: Name = name!("site", "Site");
const AREA_NAME: Name = name!("area-name", "Name of the area");
const CIRCUIT_NAME: Name = name!("circuit-name", "Name of the circuit");
const TELLS_APART: Name = name!("tells-apart", "What the panel shows at a trip");

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
        Field::new(SITE_NAME, Ask::Line).help("As its owner calls it."),
        Field::new(ADDRESS, Ask::Line).help("May be left empty."),
    ];
    simple(title(new, "site"), "A customer's premises. Its areas and detectors come next.", fields)
}

pub(super) fn put_site(typed: &Typed, id: Id, register: &Register) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let (name, address) = (reader.name(SITE_NAME), reader.line(ADDRESS));
    let invented = register.sites.get(&id).and_then(Group::now).is_some_and(|site| site.invented);
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
        page.first = Some(("It belongs to a site. Add the site first.", Form::Site(None)));
    }
    page
}

pub(super) fn open_area(id: Option<Id>, register: &Register) -> Typed {
    let mut typed = Typed::default();
    let stands = id.and_then(|id| register.areas.get(&id)?.now());
    if let Some(site) = stands.map(|area| area.site).or_else(|| site_for(id, register)) {
        typed.put(SITE, site.to_string());
    }
    typed.put(AREA_NAME, stands.map_or("", |area| &area.name));
    typed
}

pub(super) fn area(new: bool, register: &Register) -> Page {
    let fields = vec![Field::new(AREA_NAME, Ask::Line).help("Such as “Hall 2” or “Boiler room”.")];
    let lead = "A space whose detectors share conditions: they are judged side by side.";
    of_a_site(simple(title(new, "area"), lead, fields), register)
}

pub(super) fn put_area(typed: &Typed, id: Id, register: &Register) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let (site, name) = (reader.thing(SITE, |site| register.sites.contains_key(&site)), reader.name(AREA_NAME));
    reader.done(Command::PutArea { area: id, now: Area { site, name } })
}

pub(super) fn open_circuit(id: Option<Id>, register: &Register) -> Typed {
    let mut typed = Typed::default();
    let stands = id.and_then(|id| register.circuits.get(&id)?.now());
    if let Some(site) = stands.map(|circuit| circuit.site).or_else(|| site_for(id, register)) {
        typed.put(SITE, site.to_string());
    }
    if let Some(circuit) = stands {
        typed.put(CIRCUIT_NAME, &circuit.name);
        typed.put(TELLS_APART, if circuit.tells_apart { "detector" } else { "circuit" });
    }
    typed
}

pub(super) fn circuit(new: bool, register: &Register) -> Page {
    let answers = vec![
        Answer::with("circuit", "The circuit only", "Two runs on it at once could not be told apart."),
        Answer::with("detector", "The single detector", "Addressable: each trip has its point."),
    ];
    let fields = vec![
        Field::new(CIRCUIT_NAME, Ask::Line).help("Circuit, zone or loop, as the panel names it."),
        Field::new(TELLS_APART, Ask::Choice(answers)),
    ];
    of_a_site(simple(title(new, "circuit"), "An initiating device circuit, zone or loop.", fields), register)
}

pub(super) fn put_circuit(typed: &Typed, id: Id, register: &Register) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let site = reader.thing(SITE, |site| register.sites.contains_key(&site));
    let name = reader.name(CIRCUIT_NAME);
    let tells_apart = reader.choose(TELLS_APART, [(false, "circuit"), (true, "detector")]).unwrap_or_default();
    reader.done(Command::PutCircuit { circuit: id, now: Circuit { site, name, tells_apart } })
}
