//! Register and kit: what may be stored, conflicts and how they are settled.

use super::kit::*;
use soakbook::book::body::{Area, Circuit, Site};
use soakbook::book::command::Command;
use soakbook::book::entry::Hash;
use soakbook::book::kit::Kit;
use soakbook::book::refusal::{Field, Refusal};
use soakbook::trade::detector::{Duty, Marking};
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::{Cycle, Heating, Metrology};
use soakbook::trade::procedure::{OwnLimits, Procedure};
use soakbook::units::{Celsius, Degree, Difference, Kelvin, Reading};

fn field(field: Field) -> Result<&'static [&'static str], Refusal> {
    Err(Refusal::Field(field))
}

fn put(change: impl FnOnce(&mut Marking)) -> Command {
    let mut marking = marking();
    change(&mut marking);
    put_detector(DETECTOR, "HD-1", marking, Duty::default())
}

const EDITED: Result<&[&str], Refusal> = Ok(&["detector_marking"]);

#[test]
fn a_rating_lies_between_30_and_350_degrees() {
    // The range is the issue's own: 30 to 350 °C. In °F by hand: 30 °C = 86 °F, 350 °C = 662 °F.
    let range = || field(Field::Temperature { name: "Rating", from: Celsius(30.0), to: Celsius(350.0) });
    let rated = |value, scale, unit| put(|m| m.rating = Some(Reading { value, scale, unit }));
    for (value, scale, unit) in [(30, 0, Degree::C), (350, 0, Degree::C), (86, 0, Degree::F), (662, 0, Degree::F)] {
        check(World::given(), rated(value, scale, unit), EDITED);
    }
    for (value, scale, unit) in [
        (299, -1, Degree::C),
        (3501, -1, Degree::C),
        (859, -1, Degree::F),
        (6621, -1, Degree::F),
        (0, 0, Degree::C),
        (-88, 0, Degree::C),
        (88, 20, Degree::C),
        // In range, but with digits that other readers of JSON would visit.
        (i64::MAX, -17, Degree::C),
    ] {
        check(World::given(), rated(value, scale, unit), range());
    }
}

#[test]
fn a_tolerance_has_the_right_sign_and_is_a_difference() {
    let minus = |value, unit| put(|m| m.minus = Some(Difference { value, scale: 0, unit }));
    let plus = |value, unit| put(|m| m.plus = Some(Difference { value, scale: 0, unit }));
    let below = || field(Field::Difference { name: "Minus tolerance", from: Kelvin(-60.0), to: Kelvin(0.0) });
    let above = || field(Field::Difference { name: "Plus tolerance", from: Kelvin(0.0), to: Kelvin(60.0) });
    check(World::given(), minus(8, Degree::F), below());
    check(World::given(), plus(-8, Degree::F), above());
    check(World::given(), minus(0, Degree::C), EDITED);
    // By hand: 108 °F is 60 K.
    check(World::given(), plus(108, Degree::F), EDITED);
    check(World::given(), plus(109, Degree::F), above());
    check(World::given(), minus(-61, Degree::C), below());
}

#[test]
fn a_marking_is_whole() {
    check(World::given(), put(|m| m.rating = None), field(Field::Empty { name: "Rating" }));
    check(World::given(), put(|m| (m.detector_type, m.rating) = (DetectorType::RateOfRise, None)), EDITED);
    check(World::given(), put(|m| m.plus = None), field(Field::Empty { name: "Plus tolerance" }));
    check(World::given(), put(|m| m.minus = None), field(Field::Empty { name: "Minus tolerance" }));
    check(World::given(), put(|m| m.limits_from = None), field(Field::Choose { name: "Tolerance given by" }));
}

#[test]
fn names_are_there_short_enough_and_only_once() {
    let site = |n, name: &str| Command::PutSite {
        site: id(n),
        now: Site { name: name.into(), address: None, invented: false },
    };
    let name = "Name of the site";
    check(World::given(), site(200, "  "), field(Field::Empty { name }));
    check(World::given(), site(200, &"x".repeat(81)), field(Field::TooLong { name, most: 80 }));
    check(World::given(), site(200, &"ü".repeat(80)), Ok(&["site"]));
    check(World::given(), site(200, "Invented mill"), field(Field::Taken { name }));
    let area = |site, name: &str| Command::PutArea { area: id(200), now: Area { site: id(site), name: name.into() } };
    check(World::given(), area(SITE, "Hall"), field(Field::Taken { name: "Name of the area" }));
    check(World::given(), area(SITE, ""), field(Field::Empty { name: "Name of the area" }));
    check(World::given(), area(201, "Yard"), Err(Refusal::UnknownSite));
    let circuit = |site, name: &str| Command::PutCircuit {
        circuit: id(200),
        now: Circuit { site: id(site), name: name.into(), tells_apart: true },
    };
    check(World::given(), circuit(SITE, "Zone 1"), field(Field::Taken { name: "Name of the circuit" }));
    check(World::given(), circuit(SITE, ""), field(Field::Empty { name: "Name of the circuit" }));
    check(World::given(), circuit(201, "Zone 9"), Err(Refusal::UnknownSite));
    let detector = |tag: &str| put_detector(200, tag, marking(), Duty::default());
    check(World::given(), detector("HD-1"), field(Field::Taken { name: "Tag" }));
    check(World::given(), detector(""), field(Field::Empty { name: "Tag" }));
    check(World::given(), detector("HD-3"), Ok(&["detector_place", "detector_marking", "detector_duty"]));
}

#[test]
fn a_detector_names_an_area_and_its_dates_are_days() {
    let mut nowhere = place("HD-3");
    nowhere.area = id(200);
    let marking_ = Box::new(marking());
    let command = Command::PutDetector { detector: id(200), place: nowhere, marking: marking_, duty: Duty::default() };
    check(World::given(), command, field(Field::Choose { name: "Area" }));
    let installed = |day: &str| {
        put_detector(DETECTOR, "HD-1", marking(), Duty { installed_on: Some(day.into()), ..Duty::default() })
    };
    // 2024 was a leap year, 2023 was not.
    check(World::given(), installed("2024-02-29"), Ok(&["detector_duty"]));
    for day in ["2023-02-29", "2024-2-29", "29.02.2024", "", "2024-13-01"] {
        check(World::given(), installed(day), field(Field::Date { name: "Installed on" }));
    }
    let release = put_detector(DETECTOR, "HD-1", marking(), Duty { releases: vec![" ".into()], ..Duty::default() });
    check(World::given(), release, field(Field::Empty { name: "What it releases" }));
}

#[test]
fn what_stands_already_is_not_written_again() {
    check(World::given(), put(|_| {}), Ok(&[]));
    check(World::given(), put_heater(SELF_HEATER, by_itself()), Ok(&[]));
    check(World::given(), Command::PutProcedure { procedure: id(SET_POINT), now: Box::new(set_point()) }, Ok(&[]));
    check(World::given(), Command::RetireDetector { detector: id(200), retired: true }, Err(Refusal::UnknownDetector));
}

#[test]
fn a_heater_is_whole_and_its_numbers_lie_in_range() {
    let heater = |change: &dyn Fn(&mut Heating)| {
        let mut heating = by_itself();
        change(&mut heating);
        put_heater(SELF_HEATER, heating)
    };
    let seconds = |name, from, to| field(Field::Number { name, from, to, unit: "s" });
    check(World::given(), heater(&|h| h.settings.clear()), field(Field::Empty { name: "Temperature setting" }));
    let hot = Field::Temperature { name: "Temperature setting", from: Celsius(30.0), to: Celsius(400.0) };
    check(World::given(), heater(&|h| h.settings.push(c(401))), field(hot));
    let above = Field::Difference { name: "Heat-ups above the setting by", from: Kelvin(0.0), to: Kelvin(30.0) };
    check(World::given(), heater(&|h| h.above = k(-1)), field(above));
    let heat_up = |ms| heater(&move |h| h.cycle = Cycle::ByHand { heat_up_cold_ms: Some(ms), heat_up_again_ms: None });
    check(World::given(), heat_up(0), seconds("Heat-up from cold", 1, 3_600));
    check(World::given(), heat_up(i64::MAX), seconds("Heat-up from cold", 1, 3_600));
    check(World::given(), heat_up(3_600_000), Ok(&["heater_heating"]));
    let off = |off_ms| {
        heater(&move |h| {
            let (heat_up_cold_ms, heat_up_again_ms) = (None, None);
            h.cycle = Cycle::ByItself { heat_up_cold_ms, heat_up_again_ms, hold_first_ms: 0, hold_again_ms: 0, off_ms };
        })
    };
    check(World::given(), off(0), seconds("Off between heat-ups", 1, 3_600));
    check(World::given(), off(1_000), Ok(&["heater_heating"]));
    check(World::given(), heater(&|h| h.timeout_ms = Some(0)), seconds("Safety time-out", 1, 86_400));
    check(
        World::given(),
        heater(&|h| h.resolution = Some(k(0))),
        field(Field::Difference { name: "Smallest step of the display", from: Kelvin(0.01), to: Kelvin(10.0) }),
    );
    let due = |day: &str| {
        let Command::PutHeater { heater, name, heating, .. } = put_heater(SELF_HEATER, by_itself()) else {
            unreachable!()
        };
        Command::PutHeater {
            heater,
            name,
            heating,
            metrology: Metrology { due: Some(day.into()), ..Metrology::default() },
        }
    };
    check(World::given(), due("soon"), field(Field::Date { name: "Calibration due" }));
    check(World::given(), due("2026-12-31"), Ok(&["heater_metrology"]));
}

#[test]
fn a_procedure_keeps_its_ranges() {
    let with = |change: &dyn Fn(&mut Procedure)| {
        let mut now = set_point();
        change(&mut now);
        Command::PutProcedure { procedure: id(SET_POINT), now: Box::new(now) }
    };
    let trips = |name, from, to| field(Field::Number { name, from, to, unit: "trips" });
    check(World::given(), with(&|p| p.trips = 0), trips("Trips", 1, 20));
    check(World::given(), with(&|p| p.trips = u32::MAX), trips("Trips", 1, 20));
    check(World::given(), with(&|p| p.uncounted = 5), trips("Trips that do not count", 0, 4));
    check(World::given(), with(&|p| p.uncounted = 4), Ok(&["procedure"]));
    check(World::given(), with(&|p| p.appended_at_most = 11), trips("Trips that may be appended", 0, 10));
    let soak = Field::Number { name: "Soak", from: 0, to: 3_600, unit: "s" };
    check(World::given(), with(&|p| p.soak_ms = -1), field(soak));
    let lower = Field::Difference { name: "Lower limit", from: Kelvin(-60.0), to: Kelvin(0.0) };
    check(World::given(), with(&|p| p.limits = Some(OwnLimits { minus: k(1), plus: k(1) })), field(lower));
}

#[test]
fn two_edits_that_replace_the_same_one_are_a_conflict_per_group() {
    let given = World::given();
    let (mut one, mut two) = (given.clone(), given.other_phone());
    one.act(put(|m| m.rating = Some(c(90))));
    two.act(put(|m| m.rating = Some(c(92))));
    let both = one.merged(&two);
    let detector = &both.register().detectors[&id(DETECTOR)];
    assert!(detector.marking.conflict());
    assert_eq!(detector.marking.versions().count(), 2);
    assert!(!detector.place.conflict() && !detector.duty.conflict());
    assert_eq!(both.register(), two.merged(&one).register());
    // Putting it as one of the two already has it still settles it, and the edit replaces both.
    let mut settled = both;
    settled.wait(SECOND).act(put(|m| m.rating = Some(c(92))));
    let marking = &settled.register().detectors[&id(DETECTOR)].marking;
    assert_eq!((marking.conflict(), marking.now().and_then(|m| m.rating)), (false, Some(c(92))));
    // A copy that comes late, from a phone that did not know, changes nothing.
    assert_eq!(one.merged(&two).merged(&settled).register(), settled.register());
}

#[test]
fn two_edits_that_say_the_same_are_no_conflict() {
    let given = World::given();
    let (mut one, mut two) = (given.clone(), given.other_phone());
    one.act(put(|m| m.rating = Some(c(90))));
    two.act(put(|m| m.rating = Some(c(90))));
    let both = one.merged(&two);
    let marking = &both.register().detectors[&id(DETECTOR)].marking;
    assert_eq!((marking.conflict(), marking.versions().count()), (false, 2));
}

#[test]
fn an_undone_edit_leaves_the_one_before_standing() {
    let mut world = World::given();
    world.wait(SECOND);
    let edit = world.act(put(|m| m.rating = Some(c(90))));
    world.wait(SECOND).act(Command::Undo { target: edit });
    assert_eq!(world.register().detectors[&id(DETECTOR)].marking.now(), Some(&marking()));
}

#[test]
fn a_retired_detector_is_not_listed_and_frees_its_tag() {
    let mut world = World::given();
    world.act(Command::RetireDetector { detector: id(DETECTOR), retired: true });
    assert_eq!(world.register().detectors_of(id(HALL)).len(), 1);
    check(
        world,
        put_detector(200, "HD-1", marking(), Duty::default()),
        Ok(&["detector_place", "detector_marking", "detector_duty"]),
    );
}

#[test]
fn a_person_is_an_attachment_that_can_be_erased() {
    let mut world = World::given();
    let name = Hash::of(b"another salted name");
    world.act(Command::PutPerson { person: id(PERSON), name });
    assert_eq!(Kit::of(&world.book).people[&id(PERSON)].now().map(|person| person.name), Some(name));
    assert_eq!(world.book.words(name), None);
}
