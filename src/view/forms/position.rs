//! The form of a position and the detector in it: few fields first, the others folded, and a new one like the last one.

use super::row::{Asked, Row, ask, row};
use super::table::{Made, Rows, Table, at, put};
use super::{Answer, Known, Typed, Wrongs, marking, thing, title};
use crate::book::Id;
use crate::book::command::{Command, PutPosition};
use crate::book::register::{Position, Register};
use crate::book::versions::Versions;
use crate::order;
use crate::trade::detector::{Access, Duty, Make, Place};
use crate::trade::fields::Kind;
use crate::units::Degree;
use crate::view::route::Form;
use serde_json::{Value, json};
use std::collections::BTreeSet;

const YES_NO: &[(&str, &str, &str)] = &[("yes", "Yes", ""), ("no", "No", ""), ("", "Not known", "")];

pub(super) const TAG: Row =
    row!("place", Place, "tag", "tag", "Tag").said(tag_help).single().needed_if(|asked| !may_lack_tag(asked));
const AREA: Row = row!("place", Place, "area", "area", "Area").asked(areas).needed();
const RELEASES_ANYTHING: Row =
    ask!("", Kind::Made, "releases-anything", "Does its alarm release or shut down anything?")
        .words(&[("no", "No", ""), ("yes", "Yes", ""), ("", "Not known", "")])
        .help("Suppression, doors, dampers, fans, a process. Not known: no heat until it is entered.")
        .opens(|value| match at(value, "duty.releases").and_then(Value::as_array) {
            Some(releases) if releases.is_empty() => "no",
            Some(_) => "yes",
            None => "",
        });
const RELEASES: Row = row!("duty", Duty, "releases", "releases", "Releases")
    .help("One per line, by the names used on site. Each is secured before heat.")
    .shown(|asked| asked.is(&RELEASES_ANYTHING, "yes"))
    .needed();
const CIRCUIT: Row = row!("place", Place, "circuit", "circuit", "Circuit").asked(circuits);
const POINT: Row = row!("place", Place, "point", "point", "Panel point").help("Address or point number.").single();
const PANEL_TEXT: Row =
    row!("place", Place, "panel_text", "panel-text", "Panel text").help("What the panel shows for it.").single();
const LOCATION: Row =
    row!("place", Place, "location", "location", "Location").help("Where in the area, e.g. over mixer 2.").single();
const CUSTOMER_ID: Row = row!("place", Place, "customer_id", "customer-id", "Customer's ID").single();
const MONITORED: Row = row!("duty", Duty, "monitored", "monitored", "Monitored by a supervising station").words(YES_NO);
const CLASSIFIED: Row = row!("duty", Duty, "classified", "classified", "Hazardous (classified) location");
const REACH: Row = row!("access", Access, "reach", "reach", "Reached from").words(&[
    ("", "Not known", ""),
    ("floor", "Floor", ""),
    ("ladder", "Ladder", ""),
    ("scissor-lift", "Scissor lift", ""),
    ("boom-lift", "Boom lift", ""),
    ("scaffold", "Scaffold", ""),
]);
const HEIGHT: Row = row!("access", Access, "height", "height", "Height").help("e.g. 22 ft or 6.5 m.");
const SHUTDOWN: Row = row!("access", Access, "shutdown", "shutdown", "Shutdown needed first");
const HAZARD: Row =
    row!("access", Access, "hazard", "hazard", "Hazard note").help("Anything else to know before you go up.");
pub(super) const MODEL: Row = row!("make", Make, "model", "model", "Model");
pub(super) const SERIAL: Row = row!("make", Make, "serial", "serial", "Serial number").single();
pub(super) const DATE_CODE: Row = row!("make", Make, "date_code", "date-code", "Date code");
const INSTALLED: Row = row!("make", Make, "installed_on", "installed", "Installed on");
const REPLACE_BY: Row = row!("make", Make, "replace_by", "replace-by", "Replace by");

pub(super) const TABLE: Table = Table {
    title: |asked| match asked.form {
        Form::Unlisted(_) => "Not on the list".into(),
        _ => title(asked, "position"),
    },
    parts: &[
        Rows { title: "", note: "", rows: &[&[TAG, AREA], marking::ROWS, &[RELEASES_ANYTHING, RELEASES]] },
        Rows {
            title: "Panel, location, class",
            note: "",
            rows: &[&[CIRCUIT, POINT, PANEL_TEXT, LOCATION, CUSTOMER_ID, MONITORED], marking::CLASS_ROWS],
        },
        Rows { title: "Access and hazards", note: "", rows: &[&[CLASSIFIED, REACH, HEIGHT, SHUTDOWN, HAZARD]] },
        Rows { title: "Model and dates", note: "", rows: &[&[MODEL, SERIAL, DATE_CODE, INSTALLED, REPLACE_BY]] },
    ],
    base: thing::base,
    opens,
    first: |known| match known.register {
        register if register.sites.is_empty() => Some(("Add the site first.", Form::Site(None))),
        register if register.areas.is_empty() => Some(("Add an area first.", Form::Area(None))),
        _ => None,
    },
    make,
    ..Table::PLAIN
};

/// The area a new position is for: the one named, else that of the last one entered, else the first there is.
fn area_for(id: Option<Id>, register: &Register) -> Option<Id> {
    let last = || register.positions.values().next_back()?.place.now().map(|place| place.area);
    id.filter(|id| register.areas.contains_key(id)).or_else(last).or_else(|| register.areas.keys().next().copied())
}

fn opens(typed: &mut Typed, form: Form, known: Known<'_>, unit: Degree) {
    let register = known.register;
    match form {
        // A new position like this one: same area, circuit, marking and duty, the tag counted up past those taken.
        Form::PositionLike(id) => {
            let stands = thing::base(Form::Position(Some(id)), known);
            TABLE.fill(typed, &stands, known, unit, &|row| !row.single);
            let site = register.site_of(id);
            let here = register.positions.iter().filter(|(id, _)| register.site_of(**id) == site);
            let taken = order::set(here.map(|(_, position)| position.tag()));
            let place = register.positions.get(&id).and_then(|position| position.place.now());
            let tag = place.map(|place| place.tag.as_str()).filter(|tag| !tag.is_empty());
            typed.put(TAG.name, tag.map(|tag| counted_up(tag, &taken)).unwrap_or_default());
        }
        // The same without its tag; what its alarm releases is a question to be answered for each.
        Form::Unlisted(id) => {
            let stands = thing::base(Form::Position(Some(id)), known);
            let releases = |row: &Row| row.name == RELEASES_ANYTHING.name || row.name == RELEASES.name;
            TABLE.fill(typed, &stands, known, unit, &|row| !row.single && !releases(row));
        }
        Form::Position(id) if !id.is_some_and(|id| register.positions.contains_key(&id)) => {
            typed.put(AREA.name, area_for(id, register).map(|area| area.to_string()).unwrap_or_default());
        }
        _ => {}
    }
}

/// The next tag that is free: "H-07" becomes "H-08"; a tag without a number at its end gets one.
pub fn counted_up(tag: &str, taken: &BTreeSet<&str>) -> String {
    let stem = tag.trim_end_matches(|sign: char| sign.is_ascii_digit());
    let digits = &tag[stem.len()..];
    let (stem, width) = if digits.is_empty() { (format!("{tag}-"), 1) } else { (stem.to_string(), digits.len()) };
    let start = digits.parse::<u64>().unwrap_or(1);
    // One of so many has to be free, whatever is taken.
    let next = (1..=taken.len() as u64 + 1).map(|step| format!("{stem}{:0width$}", start.saturating_add(step)));
    next.into_iter().find(|next| !taken.contains(next.as_str())).unwrap_or_default()
}

fn areas(asked: &Asked<'_>) -> Vec<Answer> {
    let register = asked.known.register;
    let site_of = |id: Id| register.areas.get(&id).and_then(Versions::now).map(|area| area.site);
    // A position stays on its site; a new one may go anywhere.
    let here = Id::try_parse(asked.text(&AREA)).ok().and_then(site_of);
    let many = here.is_none() && register.sites.len() > 1;
    let mut answers = Vec::new();
    for (site, versions) in &register.sites {
        let site_name = versions.now().map_or("", |site| &site.name);
        for (id, area) in register.areas_of(*site).into_iter().filter(|_| here.is_none_or(|here| here == *site)) {
            let detail = if many { site_name } else { "" };
            answers.push(Answer::with(&id.to_string(), &area.name, detail));
        }
    }
    answers
}

fn circuits(asked: &Asked<'_>) -> Vec<Answer> {
    let register = asked.known.register;
    let area = Id::try_parse(asked.text(&AREA)).ok().and_then(|id| register.areas.get(&id)?.now());
    let named = match area {
        Some(area) => register.circuits_of(area.site),
        None => register.sites.keys().flat_map(|site| register.circuits_of(*site)).collect(),
    };
    let named = named.into_iter().map(|(id, circuit)| Answer::new(id, &circuit.name));
    std::iter::once(Answer::new("", "Not known")).chain(named).collect()
}

fn make(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let (form, known, id) = (made.asked.form, made.asked.known, made.making.id);
    marking::agreement(&mut made, &thing::base(form, known));
    if made.asked.is(&RELEASES_ANYTHING, "no") {
        put(&mut made.value, "duty.releases", json!([]));
    }
    let lacks_tag = !made.asked.has(TAG.name.key);
    if lacks_tag {
        put(&mut made.value, "place.tag", json!(""));
    }
    let stands = known.register.positions.get(&id);
    let hangs = stands.and_then(Position::detector);
    let mut commands = thing::command(form, id, hangs.unwrap_or(made.making.other), &made.value)?;
    let unlisted = matches!(form, Form::Unlisted(_));
    if unlisted || stands.is_some_and(Position::provisional) {
        let proper = |position: &PutPosition| {
            let area = known.register.areas.get(&position.place.area).and_then(Versions::now);
            let taken = area.is_some_and(|area| known.register.is_taken(area.site, &position.place.tag, id));
            !(unlisted || lacks_tag || taken)
        };
        // A proper tag settles it.
        commands = commands.into_iter().map(|command| unlisted_unless(command, proper)).collect();
    }
    Ok(commands)
}

fn unlisted_unless(command: Command, proper: impl Fn(&PutPosition) -> bool) -> Command {
    match command {
        Command::PutPosition(position) if !proper(&position) => Command::PutUnlisted(position),
        other => other,
    }
}

/// Whether a position may be saved without a tag: one that was not on the list, until it is settled.
fn may_lack_tag(asked: &Asked<'_>) -> bool {
    match asked.form {
        Form::Unlisted(_) => true,
        Form::Position(Some(id)) => asked.known.register.positions.get(&id).is_some_and(Position::provisional),
        _ => false,
    }
}

fn tag_help(asked: &Asked<'_>) -> String {
    match (may_lack_tag(asked), asked.form) {
        (true, Form::Unlisted(_)) => {
            "Leave it blank if you can't read it. It stays provisional until the office enters it."
        }
        (true, _) => "Provisional. A tag that no other position has settles it.",
        (false, _) => "As people on site know it, e.g. H-07.",
    }
    .into()
}
