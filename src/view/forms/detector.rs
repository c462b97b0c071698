//! The form of a detector: few fields first, the others folded, and a new one like the last one.

use super::reader::Reader;
use super::{Answer, Ask, Field, Name, Page, Part, Typed, Wrongs, marking, name, title};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::group::Group;
use crate::book::register::{Detector, Register};
use crate::order;
use crate::trade::detector::{Duty, Place};
use crate::units::Degree;
use crate::view::place::Form;
use std::collections::BTreeSet;

const TAG: Name = name!("tag", "Tag");
const AREA: Name = name!("area", "Area");
const CIRCUIT: Name = name!("circuit", "Circuit");
const ADDRESS: Name = name!("address", "Address at the panel");
const LABEL: Name = name!("label", "Label at the panel");
const RELEASES: Name = name!("releases", "What it releases");
const CLASSIFIED: Name = name!("classified", "Hazardous (classified) location");
const HAZARD: Name = name!("hazard", "Hazard note");
const INSTALLED: Name = name!("installed", "Installed on");

/// The area a new detector is for: the one named, else that of the last detector entered, else the first there is.
fn area_for(id: Option<Id>, register: &Register) -> Option<Id> {
    let last = || register.detectors.values().next_back()?.place.now().map(|place| place.area);
    id.filter(|id| register.areas.contains_key(id)).or_else(last).or_else(|| register.areas.keys().next().copied())
}

pub(super) fn open(id: Option<Id>, register: &Register, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    match id.and_then(|id| register.detectors.get(&id)) {
        Some(detector) => {
            fill(&mut typed, detector, unit);
            if let Some(place) = detector.place.now() {
                typed.put(TAG, &place.tag);
                typed.put(ADDRESS, place.address.as_deref().unwrap_or_default());
                typed.put(LABEL, place.label.as_deref().unwrap_or_default());
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

/// A new detector like this one: same area, circuit, marking and duty, the tag counted up past those taken.
pub(super) fn like(id: Id, register: &Register, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    if let Some(detector) = register.detectors.get(&id) {
        fill(&mut typed, detector, unit);
        let site = register.site_of(id);
        let here = register.detectors.iter().filter(|(id, _)| register.site_of(**id) == site);
        let taken = order::set(here.map(|(_, detector)| detector.tag()));
        typed.put(TAG, counted_up(detector.tag(), &taken));
    }
    typed
}

/// Everything but what names the single detector.
fn fill(typed: &mut Typed, detector: &Detector, unit: Degree) {
    if let Some(place) = detector.place.now() {
        typed.put(AREA, place.area.to_string());
        typed.put(CIRCUIT, place.circuit.map(|id| id.to_string()).unwrap_or_default());
    }
    if let Some(marking) = detector.marking.now() {
        marking::fill(typed, marking, unit);
    }
    if let Some(duty) = detector.duty.now() {
        typed.put(RELEASES, duty.releases.join("\n"));
        typed.put(CLASSIFIED, if duty.classified { "yes" } else { "" });
        typed.put(HAZARD, duty.hazard.as_deref().unwrap_or_default());
        typed.put(INSTALLED, duty.installed_on.as_deref().unwrap_or_default());
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

fn areas(typed: &Typed, register: &Register) -> Vec<Answer> {
    let site_of = |id: Id| register.areas.get(&id).and_then(Group::now).map(|area| area.site);
    // A detector stays on its site; a new one may go anywhere.
    let here = Id::try_parse(typed.of(AREA)).ok().and_then(site_of);
    let many = here.is_none() && register.sites.len() > 1;
    let mut answers = Vec::new();
    for (site, group) in &register.sites {
        let site_name = group.now().map_or("", |site| &site.name);
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
    std::iter::once(Answer::new("", "Not said")).chain(named).collect()
}

pub(super) fn page(new: bool, typed: &Typed, register: &Register) -> Page {
    let mut first = vec![
        Field::new(TAG, Ask::Line).help("As it is known on site, such as H-07."),
        Field::new(AREA, Ask::Choice(areas(typed, register))),
    ];
    first.extend(marking::fields(typed));
    let mut more = vec![
        Field::new(RELEASES, Ask::Lines)
            .help("One a line. Each is to be secured before heat. Use the names used on site."),
        Field::new(CLASSIFIED, Ask::Switch("Yes", "No")),
        Field::new(CIRCUIT, Ask::Choice(circuits(typed, register))),
        Field::new(ADDRESS, Ask::Line).help("Address or point number."),
        Field::new(LABEL, Ask::Line).help("What the panel shows for it."),
        Field::new(HAZARD, Ask::Line).help("Anything else to know before going up."),
        Field::new(INSTALLED, Ask::Day),
    ];
    more.extend(marking::class_fields(typed));
    let parts = vec![
        Part { title: "", folded: false, note: "", fields: first },
        Part { title: "Release, hazard, panel, class", folded: true, note: "", fields: more },
    ];
    let missing = if register.sites.is_empty() {
        Some(("A detector hangs in an area of a site. Add the site first.", Form::Site(None)))
    } else if register.areas.is_empty() {
        Some(("A detector hangs in an area. Add the area first.", Form::Area(None)))
    } else {
        None
    };
    Page { title: title(new, "detector"), lead: "", parts, offers: Vec::new(), save: "Save", first: missing }
}

pub(super) fn put(typed: &Typed, id: Id, register: &Register) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let tag = reader.name(TAG);
    let area = reader.thing(AREA, |area| register.areas.contains_key(&area));
    let circuit = typed.has(CIRCUIT).then(|| reader.thing(CIRCUIT, |id| register.circuits.contains_key(&id)));
    let place = Place { tag, area, circuit, address: reader.line(ADDRESS), label: reader.line(LABEL) };
    let marking = marking::read(&mut reader, typed);
    let duty = Duty {
        releases: reader.names(RELEASES),
        classified: reader.yes(CLASSIFIED),
        hazard: reader.line(HAZARD),
        installed_on: reader.day(INSTALLED),
    };
    reader.done(Command::PutDetector { detector: id, place, marking: Box::new(marking), duty })
}
