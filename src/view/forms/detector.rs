//! The form of a detector: few fields first, the others folded, and a new one like the last one.

use super::reader::{Reader, difference_text, reading_text};
use super::{Answer, Ask, Field, Name, Page, Part, Typed, Wrongs, name, title, units};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::RATING as RATINGS;
use crate::book::group::Group;
use crate::book::refusal;
use crate::book::register::{Detector, Register};
use crate::order;
use crate::trade::detector::{Duty, LimitsFrom, Marking, Place};
use crate::trade::kind::{Class, Kind, Suffix};
use crate::units::Degree;
use crate::view::place::Form;
use crate::view::words;
use std::collections::BTreeSet;

const TAG: Name = name!("tag", "Tag");
const AREA: Name = name!("area", "Area");
const KIND: Name = name!("kind", "Kind");
const RATING: Name = name!("rating", "Rating");
const MINUS: Name = name!("minus", "Minus tolerance");
const PLUS: Name = name!("plus", "Plus tolerance");
const LIMITS_FROM: Name = name!("limits-from", "Tolerance given by");
const CLASS: Name = name!("class", "EN 54-5 class");
const SUFFIX: Name = name!("suffix", "EN 54-5 suffix");
const CIRCUIT: Name = name!("circuit", "Circuit");
const ADDRESS: Name = name!("address", "Address at the panel");
const LABEL: Name = name!("label", "Label at the panel");
const RELEASES: Name = name!("releases", "What it releases");
const CLASSIFIED: Name = name!("classified", "Hazardous (classified) location");
const HAZARD: Name = name!("hazard", "Hazard note");
const INSTALLED: Name = name!("installed", "Installed on");

/// Widest tolerance, K, as the rules have it.
const WIDEST: f64 = 60.0;

const KINDS: [(Kind, &str); 7] = [
    (Kind::RateCompensated, "rate-compensated"),
    (Kind::FixedRestorable, "fixed-restorable"),
    (Kind::FixedNonrestorable, "fixed-nonrestorable"),
    (Kind::RateOfRise, "rate-of-rise"),
    (Kind::CombinationRestorable, "combination-restorable"),
    (Kind::CombinationNonrestorable, "combination-nonrestorable"),
    (Kind::Electronic, "electronic"),
];
const GIVERS: [(LimitsFrom, &str); 2] = [(LimitsFrom::Marking, "marking"), (LimitsFrom::Owner, "owner")];
const SUFFIXES: [(Suffix, &str); 2] = [(Suffix::R, "R"), (Suffix::S, "S")];

fn code<T: Copy + PartialEq>(of: &[(T, &'static str)], value: T) -> &'static str {
    of.iter().find(|(other, _)| *other == value).map_or("", |(_, code)| code)
}

fn classes() -> impl Iterator<Item = (Class, &'static str)> {
    Class::ALL.into_iter().map(|class| (class, class.words()))
}

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
        // The form speaks the unit of the marking, so that marked digits stay as they are marked.
        let unit = marking.rating.map_or(unit, |rating| rating.unit);
        typed.put_unit(unit);
        typed.put(KIND, code(&KINDS, marking.kind));
        typed.put(RATING, marking.rating.map(|rating| reading_text(&rating, unit)).unwrap_or_default());
        typed.put(MINUS, marking.minus.map(|limit| difference_text(&limit, unit)).unwrap_or_default());
        typed.put(PLUS, marking.plus.map(|limit| difference_text(&limit, unit)).unwrap_or_default());
        typed.put(LIMITS_FROM, marking.limits_from.map_or("", |from| code(&GIVERS, from)));
        typed.put(CLASS, marking.class.map_or("", Class::words));
        typed.put(SUFFIX, marking.suffix.map_or("", |suffix| code(&SUFFIXES, suffix)));
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
    let unit = typed.unit();
    let kind = Reader::new(typed).maybe(KIND, KINDS);
    let set_point = kind.is_none_or(Kind::has_set_point);
    let combination = matches!(kind, Some(Kind::CombinationRestorable | Kind::CombinationNonrestorable));
    let mut first = vec![
        Field::new(TAG, Ask::Line).help("As it is known on site, such as H-07."),
        Field::new(AREA, Ask::Choice(areas(typed, register))),
        Field::new(KIND, Ask::Choice(KINDS.iter().map(|(kind, code)| Answer::new(code, kind.words())).collect())),
    ];
    if set_point {
        let (from, to) = (words::degrees(RATINGS.0, unit, 0), words::degrees(RATINGS.1, unit, 0));
        let of = if combination { "The marked temperature of its fixed element" } else { "As marked" };
        first.push(Field::degrees(RATING, unit).help(format!("{of}; from {from} to {to}.")));
        first.push(units());
        let none = "Leave both empty when none is given: NFPA 72 gives no tolerance.";
        first.push(Field::difference(MINUS, unit).help(format!("Below the rating, with its sign, such as −5. {none}")));
        first.push(Field::difference(PLUS, unit).help("Above the rating, such as 5."));
        if typed.has(MINUS) || typed.has(PLUS) {
            let answers = vec![
                Answer::with("marking", "The marking", "On the detector or in its listing."),
                Answer::with("owner", "The owner", "For this method."),
            ];
            first.push(Field::new(LIMITS_FROM, Ask::Choice(answers)));
        }
    }
    let mut class = vec![Answer::new("", "None marked")];
    class.extend(classes().map(|(_, word)| Answer::new(word, word)));
    let mut more = vec![
        Field::new(RELEASES, Ask::Lines)
            .help("One a line. Each is to be secured before heat. Use the names used on site."),
        Field::new(CLASSIFIED, Ask::Switch("Yes", "No")),
        Field::new(CIRCUIT, Ask::Choice(circuits(typed, register))),
        Field::new(ADDRESS, Ask::Line).help("Address or point number."),
        Field::new(LABEL, Ask::Line).help("What the panel shows for it."),
        Field::new(HAZARD, Ask::Line).help("Anything else to know before going up."),
        Field::new(INSTALLED, Ask::Day),
        Field::new(CLASS, Ask::Choice(class)).help("An air temperature at a vanishing rate: information, no limit."),
    ];
    if typed.has(CLASS) {
        let answers = vec![
            Answer::new("", "None"),
            Answer::with("R", "R", "Rate-of-rise behaviour."),
            Answer::with("S", "S", "Silent below its minimum static temperature."),
        ];
        more.push(Field::new(SUFFIX, Ask::Choice(answers)));
    }
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
    let kind = reader.choose(KIND, KINDS).unwrap_or(Kind::RateCompensated);
    let class = reader.maybe(CLASS, classes());
    let suffix = class.and_then(|_| reader.maybe(SUFFIX, SUFFIXES));
    let mut marking = Marking { kind, rating: None, minus: None, plus: None, limits_from: None, class, suffix };
    if kind.has_set_point() {
        let rating = reader.reading(RATING, RATINGS);
        marking.rating = reader.must(RATING, rating);
        marking.minus = reader.difference(MINUS, (-WIDEST, 0.0));
        marking.plus = reader.difference(PLUS, (0.0, WIDEST));
        if typed.has(MINUS) != typed.has(PLUS) {
            let name = if typed.has(MINUS) { PLUS } else { MINUS };
            reader.wrong(name, &refusal::Field::Empty { name: name.label });
        }
        if typed.has(MINUS) || typed.has(PLUS) {
            marking.limits_from = reader.choose(LIMITS_FROM, GIVERS);
        }
    }
    let duty = Duty {
        releases: reader.names(RELEASES),
        classified: reader.yes(CLASSIFIED),
        hazard: reader.line(HAZARD),
        installed_on: reader.day(INSTALLED),
    };
    reader.done(Command::PutDetector { detector: id, place, marking: Box::new(marking), duty })
}
