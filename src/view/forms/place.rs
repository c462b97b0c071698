//! The forms of a site, an area and a circuit.

use super::row::{Asked, Row, row};
use super::table::{Made, Rows, Table, at};
use super::{Answer, Known, Typed, UNIT, Wrongs, thing, title};
use crate::book::Id;
use crate::book::body::{Area, Circuit, Site};
use crate::book::command::Command;
use crate::trade::classified::Classification;
use crate::trade::detector::AreaConditions;
use crate::units::Degree;
use crate::view::route::Form;

const NOT_KNOWN: &[(&str, &str, &str)] = &[("yes", "Yes", ""), ("no", "No", ""), ("", "Not known", "")];

const SITE_NAME: Row = row!("site", Site, "name", "site-name", "Site's name").help("Customer's name for it.");
const ADDRESS: Row = row!("site", Site, "address", "address", "Address").help("May stay blank.");

pub(super) const SITE: Table = Table {
    title: |asked| title(asked, "site"),
    lead: "A customer location. Its areas and positions come next.",
    parts: &[Rows { title: "", note: "", rows: &[&[SITE_NAME, ADDRESS]] }],
    base: thing::base,
    make,
    ..Table::PLAIN
};

fn make(made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    thing::command(made.asked.form, made.making.id, made.making.other, &made.value)
}

/// Puts the site in that a new thing is for: the one named, or the only one there is.
fn opens(typed: &mut Typed, form: Form, known: Known<'_>, _: Degree) {
    let sites = &known.register.sites;
    let (Form::Area(id) | Form::Circuit(id)) = form else { return };
    if !typed.has(AREA_SITE.name) {
        let only = || sites.keys().next().copied().filter(|_| sites.len() == 1);
        let site: Option<Id> = id.filter(|id| sites.contains_key(id)).or_else(only);
        typed.put(AREA_SITE.name, site.map(|site| site.to_string()).unwrap_or_default());
    }
}

fn sites(asked: &Asked<'_>) -> Vec<Answer> {
    let named = asked.known.register.sites.iter();
    named.filter_map(|(id, group)| Some(Answer::new(id, &group.now()?.name))).collect()
}

/// With one site there is nothing to choose; it is filled in when the form opens.
fn one_site(asked: &Asked<'_>) -> bool {
    asked.known.register.sites.len() == 1
}

fn site_first(known: Known<'_>) -> Option<(&'static str, Form)> {
    known.register.sites.is_empty().then_some(("Add the site first.", Form::Site(None)))
}

const AREA_SITE: Row = row!("area", Area, "site", "site", "Site").asked(sites).silent(one_site).needed();
const AREA_NAME: Row = row!("area", Area, "name", "area-name", "Area's name").help("e.g. Hall 2 or Boiler room.");
const CEILING: Row = row!("conditions", AreaConditions, "ceiling", "ceiling", "Highest ceiling temperature");
const CLASS: Row = row!("conditions.classification", Classification, "class", "area-class", "Class");
const DIVISION: Row =
    row!("conditions.classification", Classification, "division", "area-division", "Division or zone");
const GROUP: Row = row!("conditions.classification", Classification, "group", "area-group", "Group");
const CODE: Row =
    row!("conditions.classification", Classification, "temperature_code", "area-code", "Temperature code");

pub(super) const AREA: Table = Table {
    title: |asked| title(asked, "area"),
    lead: "A space whose detectors share conditions: they are compared side by side.",
    parts: &[
        Rows { title: "", note: "", rows: &[&[AREA_SITE, AREA_NAME]] },
        Rows { title: "Ceiling temperature", note: "", rows: &[&[CEILING, UNIT]] },
        Rows {
            title: "Hazardous (classified) location",
            note: "As on the area classification drawing. Blank: the area is not classified.",
            rows: &[&[CLASS, DIVISION, GROUP, CODE]],
        },
    ],
    base: thing::base,
    opens,
    first: site_first,
    make,
    ..Table::PLAIN
};

const CIRCUIT_SITE: Row = row!("circuit", Circuit, "site", "site", "Site").asked(sites).silent(one_site).needed();
const CIRCUIT_NAME: Row = row!("circuit", Circuit, "name", "circuit-name", "Circuit's name")
    .help("Circuit, zone or loop, as the panel names it.");
const SHOWS: Row = row!("circuit", Circuit, "shows_point", "shows", "Panel shows")
    .words(&[
        ("no", "Zone or circuit only", "Two tests on it at once couldn't be told apart."),
        ("yes", "The device", "Each trip has its own point."),
    ])
    .opens(|value| match (at(value, "circuit"), at(value, "circuit.shows_point")) {
        (None, _) => "",
        (_, None) => "no",
        _ => "yes",
    })
    .needed();
const ADDRESSABLE: Row = row!("circuit", Circuit, "addressable", "addressable", "Addressable").words(NOT_KNOWN);
const RELEASING: Row = row!("circuit", Circuit, "releasing", "releasing", "Serves a releasing system").words(NOT_KNOWN);
const VERIFICATION: Row = row!("circuit", Circuit, "verification", "verification", "Alarm verification is on");

pub(super) const CIRCUIT: Table = Table {
    title: |asked| title(asked, "circuit"),
    lead: "An initiating device circuit, zone or loop.",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[CIRCUIT_SITE, CIRCUIT_NAME, SHOWS, ADDRESSABLE, RELEASING, VERIFICATION]],
    }],
    base: thing::base,
    opens,
    first: site_first,
    make,
    ..Table::PLAIN
};
