//! Register and kit: what may be stored, conflicts and how they are settled.

use crate::kit::*;
use soakbook::book::body::{Circuit, Site};
use soakbook::book::command::Command;
use soakbook::book::entry::Hash;
use soakbook::book::kit::{Kit, has_phone};
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::trade::detector::{AreaConditions, Make, Marking};
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::{Cycle, Heating, Metrology};
use soakbook::trade::procedure::{OwnLimits, Procedure};
use soakbook::units::{Celsius, Degree, Difference, Kelvin, Reading};

fn field(key: &'static str, fault: Fault) -> Result<&'static [&'static str], Refusal> {
    Err(Refusal::Field(key, fault))
}

fn put(change: impl FnOnce(&mut Marking)) -> Command {
    let mut marking = marking();
    change(&mut marking);
    put_position(POSITION, "HD-1", marking, no_duty())
}

const EDITED: Result<&[&str], Refusal> = Ok(&["detector_marking"]);

#[test]
fn a_rating_lies_between_30_and_350_degrees() {
    // The range is the issue's own: 30 to 350 °C. In °F by hand: 30 °C = 86 °F, 350 °C = 662 °F.
    let range = || field("Marking.rating", Fault::Temperature { from: Celsius(30.0), to: Celsius(350.0) });
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
    let below = || field("Marking.minus", Fault::Difference { from: Kelvin(-60.0), to: Kelvin(0.0) });
    let above = || field("Marking.plus", Fault::Difference { from: Kelvin(0.0), to: Kelvin(60.0) });
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
    check(World::given(), put(|m| m.rating = None), field("Marking.rating", Fault::Empty));
    check(World::given(), put(|m| (m.detector_type, m.rating) = (DetectorType::RateOfRise, None)), EDITED);
    check(World::given(), put(|m| m.plus = None), field("Marking.plus", Fault::Empty));
    check(World::given(), put(|m| m.minus = None), field("Marking.minus", Fault::Empty));
    check(World::given(), put(|m| m.limits_from = None), field("Marking.limits_from", Fault::Choose));
}

#[test]
fn names_are_there_short_enough_and_only_once() {
    let site = |n, name: &str| Command::PutSite {
        site: id(n),
        now: Site { name: name.into(), address: None, invented: false },
    };
    let name = "Site.name";
    check(World::given(), site(200, "  "), field(name, Fault::Empty));
    check(World::given(), site(200, &"x".repeat(81)), field(name, Fault::TooLong { most: 80 }));
    check(World::given(), site(200, &"ü".repeat(80)), Ok(&["site"]));
    check(World::given(), site(200, "Invented mill"), field(name, Fault::Taken));
    let area = |site, name: &str| {
        let Command::PutArea { area, mut now, conditions } = put_area(200, name, AreaConditions::default()) else {
            unreachable!()
        };
        now.site = id(site);
        Command::PutArea { area, now, conditions }
    };
    check(World::given(), area(SITE, "Hall"), field("Area.name", Fault::Taken));
    check(World::given(), area(SITE, ""), field("Area.name", Fault::Empty));
    check(World::given(), area(201, "Yard"), Err(Refusal::UnknownSite));
    let circuit_at = |site, name: &str| Command::PutCircuit {
        circuit: id(200),
        now: Circuit { site: id(site), ..circuit(name, true) },
    };
    check(World::given(), circuit_at(SITE, "Zone 1"), field("Circuit.name", Fault::Taken));
    check(World::given(), circuit_at(SITE, ""), field("Circuit.name", Fault::Empty));
    check(World::given(), circuit_at(201, "Zone 9"), Err(Refusal::UnknownSite));
    let position = |tag: &str| put_position(200, tag, marking(), no_duty());
    check(World::given(), position("HD-1"), field("Place.tag", Fault::Taken));
    check(World::given(), position(""), field("Place.tag", Fault::Empty));
    check(World::given(), position("HD-3"), NEW_POSITION);
}

/// A new position: where it is, what hangs on its alarm, the detector and its marking. Groups of which nothing is known are not written.
const NEW_POSITION: Result<&[&str], Refusal> =
    Ok(&["position_place", "position_duty", "detector_installed", "detector_marking"]);

#[test]
fn a_position_names_an_area_and_a_detectors_dates_are_days() {
    let nowhere = put_position_with(200, "HD-3", |put| put.place.area = id(200));
    check(World::given(), nowhere, field("Place.area", Fault::Choose));
    let made = |make: Make| put_position_with(POSITION, "HD-1", |put| put.make = make);
    let installed = |day: &str| made(Make { installed_on: Some(day.into()), ..Make::default() });
    // 2024 was a leap year, 2023 was not.
    check(World::given(), installed("2024-02-29"), Ok(&["detector_make"]));
    for day in ["2023-02-29", "2024-2-29", "29.02.2024", "", "2024-13-01"] {
        check(World::given(), installed(day), field("Make.installed_on", Fault::Date));
        let replace_by = made(Make { replace_by: Some(day.into()), ..Make::default() });
        check(World::given(), replace_by, field("Make.replace_by", Fault::Date));
    }
    let release = put_position(POSITION, "HD-1", marking(), releases(&[" "]));
    check(World::given(), release, field("Duty.releases", Fault::Empty));
}

#[test]
fn a_position_that_has_a_detector_takes_no_other_one_through_the_form() {
    // Another detector is a replacement, which the visit records (rule A1): a new id must not hang beside the old one.
    let command = put_position_with(POSITION, "HD-1", |put| put.detector = id(200));
    check(World::given(), command, Err(Refusal::UnknownDetector));
}

#[test]
fn what_stands_already_is_not_written_again() {
    check(World::given(), put(|_| {}), Ok(&[]));
    check(World::given(), put_heater(SELF_HEATER, auto()), Ok(&[]));
    check(World::given(), put_procedure(SET_POINT, set_point()), Ok(&[]));
    check(World::given(), Command::RetirePosition { position: id(200), retired: true }, Err(Refusal::UnknownPosition));
}

#[test]
fn a_heater_is_whole_and_its_numbers_lie_in_range() {
    let heater = |change: &dyn Fn(&mut Heating)| {
        let mut heating = auto();
        change(&mut heating);
        put_heater(SELF_HEATER, heating)
    };
    let seconds = |name, from, to| field(name, Fault::Number { from, to, unit: "s" });
    check(World::given(), heater(&|h| h.settings.clear()), field("Heating.settings", Fault::Empty));
    let hot = Fault::Temperature { from: Celsius(30.0), to: Celsius(400.0) };
    check(World::given(), heater(&|h| h.settings.push(c(401))), field("Heating.settings", hot));
    let above = Fault::Difference { from: Kelvin(0.0), to: Kelvin(30.0) };
    check(World::given(), heater(&|h| h.overshoot = Some(k(-1))), field("Heating.overshoot", above));
    let heat_up = |ms| heater(&move |h| h.cycle = Cycle::Manual { heat_up_cold_ms: Some(ms), heat_up_again_ms: None });
    check(World::given(), heat_up(0), seconds("Cycle.heat_up_cold_ms", 1, 3_600));
    check(World::given(), heat_up(i64::MAX), seconds("Cycle.heat_up_cold_ms", 1, 3_600));
    check(World::given(), heat_up(3_600_000), Ok(&["heater_heating"]));
    let off = |off_ms| {
        heater(&move |h| {
            let (heat_up_cold_ms, heat_up_again_ms) = (None, None);
            let (hold_first_ms, hold_again_ms, off_ms) = (None, Some(0), Some(off_ms));
            h.cycle = Cycle::Auto { heat_up_cold_ms, heat_up_again_ms, hold_first_ms, hold_again_ms, off_ms };
        })
    };
    check(World::given(), off(0), seconds("Cycle.off_ms", 1, 3_600));
    check(World::given(), off(1_000), Ok(&["heater_heating"]));
    check(World::given(), heater(&|h| h.timeout_ms = Some(0)), seconds("Heating.timeout_ms", 1, 86_400));
    check(
        World::given(),
        heater(&|h| h.resolution = Some(k(0))),
        field("Heating.resolution", Fault::Difference { from: Kelvin(0.01), to: Kelvin(10.0) }),
    );
    let due = |day: &str| {
        let due = Some(day.into());
        put_heater_with(SELF_HEATER, auto(), |_, of| *of = Metrology { due, ..Metrology::default() })
    };
    check(World::given(), due("soon"), field("Metrology.due", Fault::Date));
    check(World::given(), due("2026-12-31"), Ok(&["heater_metrology"]));
}

#[test]
fn a_procedure_keeps_its_ranges() {
    let with = |change: &dyn Fn(&mut Procedure)| {
        let mut now = set_point();
        change(&mut now);
        put_procedure(SET_POINT, now)
    };
    let trips = |name, from, to| field(name, Fault::Number { from, to, unit: "trips" });
    check(World::given(), with(&|p| p.trips = 0), trips("Procedure.trips", 1, 20));
    check(World::given(), with(&|p| p.trips = u32::MAX), trips("Procedure.trips", 1, 20));
    check(World::given(), with(&|p| p.not_averaged = 5), trips("Procedure.not_averaged", 0, 4));
    check(World::given(), with(&|p| p.not_averaged = 4), Ok(&["procedure"]));
    check(World::given(), with(&|p| p.extra_trips = 11), trips("Procedure.extra_trips", 0, 10));
    // A soak of nothing is no soak (rule 0.3).
    let soak = Fault::Number { from: 1, to: 3_600, unit: "s" };
    check(World::given(), with(&|p| p.soak_ms = Some(-1)), field("Procedure.soak_ms", soak));
    check(World::given(), with(&|p| p.soak_ms = Some(0)), field("Procedure.soak_ms", soak));
    let lower = Fault::Difference { from: Kelvin(-60.0), to: Kelvin(0.0) };
    check(
        World::given(),
        with(&|p| p.limits = Some(OwnLimits { minus: k(1), plus: k(1), agreed: None })),
        field("OwnLimits.minus", lower),
    );
}

#[test]
fn two_edits_that_replace_the_same_one_are_a_conflict_per_group() {
    let given = World::given();
    let (mut one, mut two) = (given.clone(), given.other_phone());
    one.act(put(|m| m.rating = Some(c(90))));
    two.act(put(|m| m.rating = Some(c(92))));
    let both = one.merged(&two);
    let register = both.register();
    let hangs = &register.detectors[&detector(POSITION)];
    assert!(hangs.marking.conflict());
    assert_eq!(hangs.marking.versions().count(), 2);
    let position = &register.positions[&id(POSITION)];
    assert!(!position.place.conflict() && !position.duty.conflict());
    assert_eq!(both.register(), two.merged(&one).register());
    // Putting it as one of the two already has it still settles it, and the edit replaces both.
    let mut settled = both;
    settled.wait(SECOND).act(put(|m| m.rating = Some(c(92))));
    let marking = &settled.register().detectors[&detector(POSITION)].marking;
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
    let marking = &both.register().detectors[&detector(POSITION)].marking;
    assert_eq!((marking.conflict(), marking.versions().count()), (false, 2));
}

#[test]
fn an_undone_edit_leaves_the_one_before_standing() {
    let mut world = World::given();
    world.wait(SECOND);
    let edit = world.act(put(|m| m.rating = Some(c(90))));
    world.wait(SECOND).act(Command::Undo { target: edit });
    assert_eq!(world.register().detectors[&detector(POSITION)].marking.now(), Some(&marking()));
}

#[test]
fn a_retired_position_is_not_listed_and_frees_its_tag() {
    let mut world = World::given();
    world.act(Command::RetirePosition { position: id(POSITION), retired: true });
    assert_eq!(world.register().positions_of(id(HALL)).len(), 1);
    check(world, put_position(200, "HD-1", marking(), no_duty()), NEW_POSITION);
}

#[test]
fn a_person_is_a_name_that_can_be_erased_and_a_phone_is_handed_to_one() {
    let mut world = World::given();
    let Command::PutPerson { person, now } = put_person(PERSON) else { unreachable!() };
    let name = Hash::of(b"another salted name");
    world.act(Command::PutPerson { person, now: soakbook::book::body::Person { name, ..now } });
    let kit = Kit::of(&world.book);
    assert_eq!(kit.people[&id(PERSON)].now().map(|person| person.name), Some(name));
    assert_eq!(world.book.words(name), None);
    assert_eq!(has_phone(&world.book, world.phone.id), None);
    check(world.clone(), Command::HandPhone { to: id(200) }, Err(Refusal::UnknownPerson));
    world.act(Command::HandPhone { to: id(PARTNER) });
    assert_eq!(has_phone(&world.book, world.phone.id), Some(id(PARTNER)));
    check(world, Command::HandPhone { to: id(PARTNER) }, Ok(&[]));
}
