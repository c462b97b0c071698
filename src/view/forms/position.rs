//! The form of a position and the detector in it: few fields first, the others folded, and a new one like the last one.

use super::reader::Reader;
use super::{Answer, Ask, Field, Name, Page, Part, Typed, Wrongs, marking, name, title};
use crate::book::Id;
use crate::book::command::{Command, PutPosition};
use crate::book::register::{Position, Register};
use crate::book::versions::Versions;
use crate::order;
use crate::trade::detector::{Access, Duty, Make, Place, Reach};
use crate::units::{Degree, Length, LengthUnit};
use crate::view::place::Form;
use std::collections::BTreeSet;

const TAG: Name = name!("tag", "Tag");
const AREA: Name = name!("area", "Area");
const CIRCUIT: Name = name!("circuit", "Circuit");
const POINT: Name = name!("point", "Panel point");
const PANEL_TEXT: Name = name!("panel-text", "Panel text");
const LOCATION: Name = name!("location", "Location");
const CUSTOMER_ID: Name = name!("customer-id", "Customer's ID");
const RELEASES_ANYTHING: Name = name!("releases-anything", "Does its alarm release or shut down anything?");
const RELEASES: Name = name!("releases", "Releases");
const MONITORED: Name = name!("monitored", "Monitored by a supervising station");
const CLASSIFIED: Name = name!("classified", "Hazardous (classified) location");
const REACH: Name = name!("reach", "Reached from");
const HEIGHT: Name = name!("height", "Height");
const SHUTDOWN: Name = name!("shutdown", "Shutdown needed first");
const HAZARD: Name = name!("hazard", "Hazard note");
const MODEL: Name = name!("model", "Model");
const SERIAL: Name = name!("serial", "Serial number");
const DATE_CODE: Name = name!("date-code", "Date code");
const INSTALLED: Name = name!("installed", "Installed on");
const REPLACE_BY: Name = name!("replace-by", "Replace by");

const REACHES: [(Reach, &str, &str); 5] = [
    (Reach::Floor, "floor", "Floor"),
    (Reach::Ladder, "ladder", "Ladder"),
    (Reach::ScissorLift, "scissor", "Scissor lift"),
    (Reach::BoomLift, "boom", "Boom lift"),
    (Reach::Scaffold, "scaffold", "Scaffold"),
];

/// The area a new position is for: the one named, else that of the last one entered, else the first there is.
fn area_for(id: Option<Id>, register: &Register) -> Option<Id> {
    let last = || register.positions.values().next_back()?.place.now().map(|place| place.area);
    id.filter(|id| register.areas.contains_key(id)).or_else(last).or_else(|| register.areas.keys().next().copied())
}

pub(super) fn open(id: Option<Id>, register: &Register, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    match id.and_then(|id| register.positions.get(&id)) {
        Some(position) => {
            fill(&mut typed, position, register, unit);
            let text = |text: &Option<String>| text.clone().unwrap_or_default();
            if let Some(place) = position.place.now() {
                typed.put(TAG, &place.tag);
                typed.put(POINT, text(&place.point));
                typed.put(PANEL_TEXT, text(&place.panel_text));
                typed.put(LOCATION, text(&place.location));
                typed.put(CUSTOMER_ID, text(&place.customer_id));
            }
            let make = position.detector().and_then(|id| register.detectors.get(&id)?.make.now());
            if let Some(make) = make {
                typed.put(SERIAL, text(&make.serial));
            }
        }
        None => {
            if let Some(area) = area_for(id, register) {
                typed.put(AREA, area.to_string());
            }
        }
    }
    typed
}

/// A new position like this one: same area, circuit, marking and duty, the tag counted up past those taken.
pub(super) fn like(id: Id, register: &Register, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    if let Some(position) = register.positions.get(&id) {
        fill(&mut typed, position, register, unit);
        let site = register.site_of(id);
        let here = register.positions.iter().filter(|(id, _)| register.site_of(**id) == site);
        let taken = order::set(here.map(|(_, position)| position.tag()));
        typed.put(TAG, counted_up(position.tag(), &taken));
    }
    typed
}

/// Everything but what names the single position and detector.
fn fill(typed: &mut Typed, position: &Position, register: &Register, unit: Degree) {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    if let Some(place) = position.place.now() {
        typed.put(AREA, place.area.to_string());
        typed.put(CIRCUIT, place.circuit.map(|id| id.to_string()).unwrap_or_default());
    }
    if let Some(marking) = register.marking_of(position) {
        marking::fill(typed, marking, unit);
    }
    if let Some(duty) = position.duty.now() {
        let anything = duty.releases.as_ref().map_or("", |releases| if releases.is_empty() { "no" } else { "yes" });
        typed.put(RELEASES_ANYTHING, anything);
        typed.put(RELEASES, duty.releases.iter().flatten().cloned().collect::<Vec<_>>().join("\n"));
        typed.put(MONITORED, duty.monitored.map_or("", |monitored| if monitored { "yes" } else { "no" }));
        typed.put(CLASSIFIED, if duty.classified { "yes" } else { "" });
    }
    if let Some(access) = position.access.now() {
        let reach = REACHES.iter().find(|(reach, ..)| Some(*reach) == access.reach);
        typed.put(REACH, reach.map_or("", |(_, code, _)| code));
        typed.put(HEIGHT, access.height.map(|height| height_text(&height)).unwrap_or_default());
        typed.put(SHUTDOWN, if access.shutdown { "yes" } else { "" });
        typed.put(HAZARD, text(&access.hazard));
    }
    if let Some(make) = position.detector().and_then(|id| register.detectors.get(&id)?.make.now()) {
        typed.put(MODEL, text(&make.model));
        typed.put(DATE_CODE, text(&make.date_code));
        typed.put(INSTALLED, text(&make.installed_on));
        typed.put(REPLACE_BY, text(&make.replace_by));
    }
}

fn height_text(height: &Length) -> String {
    let number = crate::units::Decimal { value: height.value, scale: height.scale }.text();
    let unit = if height.unit == LengthUnit::Ft { "ft" } else { "m" };
    format!("{number} {unit}")
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

fn areas(typed: &Typed, register: &Register) -> Vec<Answer> {
    let site_of = |id: Id| register.areas.get(&id).and_then(Versions::now).map(|area| area.site);
    // A position stays on its site; a new one may go anywhere.
    let here = Id::try_parse(typed.of(AREA)).ok().and_then(site_of);
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

fn circuits(typed: &Typed, register: &Register) -> Vec<Answer> {
    let area = Id::try_parse(typed.of(AREA)).ok().and_then(|id| register.areas.get(&id)?.now());
    let named = area.map(|area| register.circuits_of(area.site)).unwrap_or_default();
    let named = named.into_iter().map(|(id, circuit)| Answer::new(id, &circuit.name));
    std::iter::once(Answer::new("", "Not known")).chain(named).collect()
}

pub(super) fn page(new: bool, typed: &Typed, register: &Register) -> Page {
    let mut first = vec![
        Field::new(TAG, Ask::Line).help("As people on site know it, e.g. H-07."),
        Field::new(AREA, Ask::Choice(areas(typed, register))),
    ];
    first.extend(marking::fields(typed));
    let answers = vec![Answer::new("no", "No"), Answer::new("yes", "Yes"), Answer::new("", "Not known")];
    first.push(
        Field::new(RELEASES_ANYTHING, Ask::Choice(answers))
            .help("Suppression, doors, dampers, fans, a process. Not known: no heat until somebody says."),
    );
    if typed.of(RELEASES_ANYTHING) == "yes" {
        first.push(
            Field::new(RELEASES, Ask::Lines)
                .help("One per line, by the names used on site. Each is secured before heat."),
        );
    }
    let mut panel = vec![
        Field::new(CIRCUIT, Ask::Choice(circuits(typed, register))),
        Field::new(POINT, Ask::Line).help("Address or point number."),
        Field::new(PANEL_TEXT, Ask::Line).help("What the panel shows for it."),
        Field::new(LOCATION, Ask::Line).help("Where in the area, e.g. over mixer 2."),
        Field::new(CUSTOMER_ID, Ask::Line),
        Field::new(
            MONITORED,
            Ask::Choice(vec![Answer::new("yes", "Yes"), Answer::new("no", "No"), Answer::new("", "Not known")]),
        ),
    ];
    panel.extend(marking::class_fields(typed));
    let reaches = std::iter::once(Answer::new("", "Not known"))
        .chain(REACHES.iter().map(|(_, code, words)| Answer::new(code, words)));
    let access = vec![
        Field::new(CLASSIFIED, Ask::Switch("Yes", "No")),
        Field::new(REACH, Ask::Choice(reaches.collect())),
        Field::new(HEIGHT, Ask::Line).help("e.g. 22 ft or 6.5 m."),
        Field::new(SHUTDOWN, Ask::Switch("Yes", "No")),
        Field::new(HAZARD, Ask::Line).help("Anything else to know before you go up."),
    ];
    let make = vec![
        Field::new(MODEL, Ask::Line),
        Field::new(SERIAL, Ask::Line),
        Field::new(DATE_CODE, Ask::Line),
        Field::new(INSTALLED, Ask::Day),
        Field::new(REPLACE_BY, Ask::Day),
    ];
    let folded = |title, fields| Part { title, folded: true, note: "", fields };
    let parts = vec![
        Part { title: "", folded: false, note: "", fields: first },
        folded("Panel, location, class", panel),
        folded("Access and hazards", access),
        folded("Model and dates", make),
    ];
    let missing = if register.sites.is_empty() {
        Some(("Add the site first.", Form::Site(None)))
    } else if register.areas.is_empty() {
        Some(("Add an area first.", Form::Area(None)))
    } else {
        None
    };
    Page { title: title(new, "position"), lead: "", parts, offers: Vec::new(), save: "Save", first: missing }
}

/// The command; `new` is an id for the detector where none hangs in the position yet.
pub(super) fn put(typed: &Typed, id: Id, new: Id, register: &Register) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let tag = reader.name(TAG);
    let area = reader.thing(AREA, |area| register.areas.contains_key(&area));
    let circuit = typed.has(CIRCUIT).then(|| reader.thing(CIRCUIT, |id| register.circuits.contains_key(&id)));
    let place = Place {
        tag,
        area,
        circuit,
        point: reader.line(POINT),
        panel_text: reader.line(PANEL_TEXT),
        location: reader.line(LOCATION),
        customer_id: reader.line(CUSTOMER_ID),
    };
    let marking = marking::read(&mut reader, typed);
    let releases = match typed.of(RELEASES_ANYTHING) {
        "no" => Some(Vec::new()),
        "yes" => {
            let named = reader.names(RELEASES);
            reader.must(RELEASES, (!named.is_empty()).then_some(named))
        }
        _ => None,
    };
    let duty = Duty {
        releases,
        monitored: reader.maybe(MONITORED, [(true, "yes"), (false, "no")]),
        classified: reader.yes(CLASSIFIED),
    };
    let access = Access {
        reach: reader.maybe(REACH, REACHES.iter().map(|(reach, code, _)| (*reach, *code))),
        height: reader.height(HEIGHT),
        shutdown: reader.yes(SHUTDOWN),
        hazard: reader.line(HAZARD),
    };
    let make = Make {
        model: reader.line(MODEL),
        serial: reader.line(SERIAL),
        date_code: reader.line(DATE_CODE),
        installed_on: reader.day(INSTALLED),
        replace_by: reader.day(REPLACE_BY),
    };
    let detector = register.positions.get(&id).and_then(Position::detector).unwrap_or(new);
    let put = PutPosition { position: id, detector, place, access, duty, marking, make };
    reader.done(Command::PutPosition(Box::new(put)))
}

pub(super) fn called(typed: &Typed) -> String {
    typed.of(TAG).to_string()
}
