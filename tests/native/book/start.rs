//! What has to be right before heat goes on a detector, and what is only recorded.

use super::kit::*;
use soakbook::book::command::Command;
use soakbook::book::refusal::{Field, Refusal};
use soakbook::trade::conditions::{Air, IndicatedBy, Restores, Visual, Warmth};
use soakbook::trade::detector::{Duty, LimitsFrom, Marking};
use soakbook::trade::detector_type::{Class, DetectorType};
use soakbook::trade::heater::{Basis, HeaterName, Metrology};
use soakbook::trade::heating::{Heat, NONRESTORABLE_MARGIN};
use soakbook::trade::procedure::{OwnLimits, Procedure, Template};
use soakbook::units::{Celsius, Degree, Difference, Reading};

const STARTS: Result<&[&str], Refusal> = Ok(&["test_started", "mark"]);

fn start() -> Command {
    start_with(|_| {})
}

fn with(change: impl FnOnce(&mut World)) -> World {
    let mut world = World::given();
    world.wait(SECOND);
    change(&mut world);
    world
}

fn with_marking(change: impl FnOnce(&mut Marking)) -> World {
    let mut marking = marking();
    change(&mut marking);
    with(|world| {
        world.act(put_detector(DETECTOR, "HD-1", marking, Duty::default()));
    })
}

fn with_duty(duty: Duty) -> World {
    with(|world| {
        world.act(put_detector(DETECTOR, "HD-1", marking(), duty));
    })
}

fn with_heater(change: impl FnOnce(&mut HeaterName, &mut Metrology)) -> World {
    with(|world| {
        let Command::PutHeater { heater, mut name, heating, mut metrology } = put_heater(SELF_HEATER, by_itself())
        else {
            unreachable!()
        };
        change(&mut name, &mut metrology);
        world.act(Command::PutHeater { heater, name, heating, metrology });
    })
}

fn with_procedure(n: u8, now: Procedure) -> World {
    with(|world| {
        world.act(Command::PutProcedure { procedure: id(n), now: Box::new(now) });
    })
}

#[test]
fn a_start_writes_the_test_and_heat_on_in_one_decision() {
    check(World::given(), start(), STARTS);
}

#[test]
fn things_that_are_not_known_are_refused_by_name() {
    check(World::given(), start_with(|s| s.visit = id(200)), Err(Refusal::NoOpenVisit));
    check(World::given(), start_with(|s| s.detector = id(200)), Err(Refusal::UnknownDetector));
    check(World::given(), start_with(|s| s.heater = id(200)), Err(Refusal::UnknownHeater));
    check(World::given(), start_with(|s| s.procedure = id(200)), Err(Refusal::UnknownProcedure));
    check(World::given(), start_with(|s| s.setting = c(91)), Err(Refusal::NoSuchSetting));
    check(World::given(), start_with(|s| s.mode = Some("gentle".into())), Err(Refusal::NoSuchSetting));
    let retired = with(|world| {
        world.act(Command::RetireDetector { detector: id(DETECTOR), retired: true });
    });
    check(retired, start(), Err(Refusal::UnknownDetector));
}

#[test]
fn a_closed_visit_takes_no_test() {
    let closed = with(|world| {
        world.act(Command::CloseVisit { visit: id(VISIT) });
    });
    check(closed, start(), Err(Refusal::NoOpenVisit));
}

#[test]
fn without_the_database_no_new_test_starts() {
    let given = with(|world| world.phone.durable = false);
    check(given, start(), Err(Refusal::NotDurable));
}

#[test]
fn numbers_that_nobody_confirmed_start_nothing() {
    let given = with_procedure(SET_POINT, Procedure { confirmed: false, ..set_point() });
    check(given, start(), Err(Refusal::NotConfirmed));
}

#[test]
fn the_kind_by_procedure_table_holds_through_the_rules() {
    // Expected: design 4, NFPA 72 table 14.4.3.2 (nonrestorable elements), EN 54-5 (classes are air temperatures).
    let none = Ok(());
    let table = [
        (DetectorType::RateCompensated, none, none),
        (DetectorType::FixedRestorable, none, none),
        (DetectorType::FixedNonrestorable, Err(Heat::UsesUpElement), Err(Heat::UsesUpElement)),
        (DetectorType::RateOfRise, Err(Heat::NoSetPoint), none),
        (DetectorType::CombinationRestorable, none, none),
        // 95 °C at the heater comes too near to an element of 88 °C: see the margin test.
        (DetectorType::CombinationNonrestorable, Err(Heat::UsesUpElement), Err(Heat::BelowElement)),
        (DetectorType::Electronic, none, none),
    ];
    for (detector_type, set_point, functional) in table {
        for (procedure, expected) in [(SET_POINT, set_point), (FUNCTIONAL, functional)] {
            let given = with_marking(|marking| marking.detector_type = detector_type);
            let when = start_with(|s| s.procedure = id(procedure));
            let then = match expected {
                Ok(()) => STARTS,
                Err(Heat::BelowElement) => Err(Refusal::TooNearElement {
                    top: Celsius(95.0),
                    rating: Celsius(88.0),
                    margin: NONRESTORABLE_MARGIN,
                }),
                Err(heat) => Err(Refusal::Heat(heat)),
            };
            check(given, when, then);
        }
    }
}

#[test]
fn a_nonrestorable_element_keeps_its_margin() {
    // By hand: setting 60 °C + 5 K = 65 °C; the element may be heated up to 11 K below its rating, so 76 °C is the lowest.
    for (rating, allowed) in [(77, true), (76, true), (75, false)] {
        let given = with_marking(|marking| {
            (marking.detector_type, marking.rating) = (DetectorType::CombinationNonrestorable, Some(c(rating)));
        });
        let when = start_with(|s| (s.procedure, s.setting) = (id(FUNCTIONAL), c(60)));
        let refusal = Refusal::TooNearElement {
            top: Celsius(65.0),
            rating: Celsius(rating as f64),
            margin: NONRESTORABLE_MARGIN,
        };
        check(given, when, if allowed { STARTS } else { Err(refusal) });
    }
}

#[test]
fn a_class_needs_the_owners_limits_for_a_set_point_check() {
    let class = |from| move |marking: &mut Marking| (marking.class, marking.limits_from) = (Some(Class::C), Some(from));
    check(with_marking(class(LimitsFrom::Marking)), start(), Err(Refusal::Heat(Heat::WithOwnerLimits)));
    check(with_marking(class(LimitsFrom::Owner)), start(), STARTS);
    check(with_marking(class(LimitsFrom::Marking)), start_with(|s| s.procedure = id(FUNCTIONAL)), STARTS);
    let mut limits =
        with_procedure(SET_POINT, Procedure { limits: Some(OwnLimits { minus: k(-5), plus: k(5) }), ..set_point() });
    let mut marking = marking();
    class(LimitsFrom::Marking)(&mut marking);
    limits.act(put_detector(DETECTOR, "HD-1", marking, Duty::default()));
    check(limits, start(), STARTS);
}

#[test]
fn the_heater_has_to_reach_the_rating() {
    // By hand: 90 °C + 5 K = 95 °C.
    check(with_marking(|m| m.rating = Some(c(95))), start(), STARTS);
    let refusal = Refusal::SettingBelowRating { top: Celsius(95.0), rating: Celsius(96.0) };
    check(with_marking(|m| m.rating = Some(c(96))), start(), Err(refusal));
}

#[test]
fn a_tolerance_in_fahrenheit_is_a_difference() {
    // By hand: 9 °F of heat-up above the setting is 5 K, not −12.8 °C.
    let given = with(|world| {
        let mut heating = by_itself();
        heating.above = Difference { value: 9, scale: 0, unit: Degree::F };
        world.act(put_heater(SELF_HEATER, heating));
        let mut marking = marking();
        marking.rating = Some(c(96));
        world.act(put_detector(DETECTOR, "HD-1", marking, Duty::default()));
    });
    check(given, start(), Err(Refusal::SettingBelowRating { top: Celsius(95.0), rating: Celsius(96.0) }));
}

#[test]
fn a_heater_that_cycles_by_itself_is_not_told_what_to_do() {
    let differs = Refusal::HeaterCycleDiffers { hold_ms: 300_000, off_ms: 45_000 };
    let soak = Procedure { soak_ms: 240_000, ..set_point() };
    check(with_procedure(SET_POINT, soak.clone()), start(), Err(differs.clone()));
    let off = Procedure { off_ms: 60_000, ..set_point() };
    check(with_procedure(SET_POINT, off), start(), Err(differs));
    check(with_procedure(SET_POINT, soak), start_with(|s| s.heater = id(HAND_HEATER)), STARTS);
}

#[test]
fn what_the_detector_releases_is_secured_in_this_visit_first() {
    let duty = || Duty { releases: vec!["Door 7".into(), "Fan 2".into()], ..Duty::default() };
    let missing = |names: &[&str]| Refusal::NotSecured { releases: names.iter().map(ToString::to_string).collect() };
    check(with_duty(duty()), start(), Err(missing(&["Door 7", "Fan 2"])));
    let mut world = with_duty(duty());
    let secure = |release: &str| Command::Secure { visit: id(VISIT), release: release.into(), by: id(PERSON) };
    let door = world.act(secure("Door 7"));
    check(world.clone(), start(), Err(missing(&["Fan 2"])));
    world.act(secure("Fan 2"));
    check(world.clone(), start(), STARTS);
    world.act(Command::Restore { securing: door, by: id(PERSON) });
    check(world, start(), Err(missing(&["Door 7"])));
}

#[test]
fn two_versions_of_a_duty_both_have_to_be_secured() {
    let given = World::given();
    let (mut one, mut two) = (given.clone(), given.other_phone());
    let duty = |release: &str| Duty { releases: vec![release.into()], ..Duty::default() };
    one.act(put_detector(DETECTOR, "HD-1", marking(), duty("Door 7")));
    two.act(put_detector(DETECTOR, "HD-1", marking(), duty("Fan 2")));
    let refusal = Refusal::NotSecured { releases: vec!["Door 7".into(), "Fan 2".into()] };
    check(one.merged(&two), start(), Err(refusal));
}

#[test]
fn a_hazardous_location_needs_permit_gas_test_and_approved_heater() {
    let classified = || with_duty(Duty { classified: true, ..Duty::default() });
    check(classified(), start(), Err(Refusal::NoPermit));
    let permit = |area: Option<u8>, until: i64| Command::TakePermit {
        visit: id(VISIT),
        area: area.map(id),
        number: "P-17".into(),
        gas_test: "0 % LEL".into(),
        tested_at: MORNING,
        until,
    };
    let hour = MORNING + 3_600_000;
    let with_permit = |area, until| {
        let mut world = classified();
        world.act(permit(area, until));
        world
    };
    // A second has passed since the morning, so this one has run out.
    check(with_permit(None, MORNING + 1), start(), Err(Refusal::NoPermit));
    check(with_permit(Some(STORE), hour), start(), Err(Refusal::NoPermit));
    check(with_permit(Some(HALL), hour), start(), Err(Refusal::HeaterNotApproved));
    let mut approved = with_permit(None, hour);
    let Command::PutHeater { heater, name, heating, metrology } = put_heater(SELF_HEATER, by_itself()) else {
        unreachable!()
    };
    let name = HeaterName { hazardous_approval: Some("invented approval".into()), ..name };
    approved.act(Command::PutHeater { heater, name, heating, metrology });
    check(approved, start(), STARTS);
}

#[test]
fn calibration_out_of_date_refuses_the_set_point_check_only() {
    let due = |day: &str| {
        let day = day.to_string();
        with_heater(|_, metrology| metrology.due = Some(day))
    };
    // The day on the phone is 2026-03-02; the last valid day still counts.
    check(due("2026-03-02"), start(), STARTS);
    check(due("2026-03-01"), start(), Err(Refusal::CalibrationOverdue { due: "2026-03-01".into() }));
    check(due("2026-03-01"), start_with(|s| s.procedure = id(FUNCTIONAL)), STARTS);
    // By hand: 08:00 UTC is still 1 March at UTC−9.
    let mut west = due("2026-03-01");
    west.phone.offset_min = -9 * 60;
    check(west, start(), STARTS);
}

#[test]
fn a_conflict_about_rating_tolerance_or_kind_refuses_the_test() {
    let given = World::given();
    let (mut one, mut two) = (given.clone(), given.other_phone());
    let rated = |rating| Marking { rating: Some(c(rating)), ..marking() };
    one.act(put_detector(DETECTOR, "HD-1", rated(90), Duty::default()));
    two.act(put_detector(DETECTOR, "HD-1", rated(92), Duty::default()));
    let mut both = one.merged(&two);
    check(both.clone(), start(), Err(Refusal::Conflict));
    // The edit that settles it replaces both.
    both.wait(SECOND);
    both.act(put_detector(DETECTOR, "HD-1", rated(91), Duty::default()));
    check(both.clone(), start(), STARTS);
    check(two.merged(&both), start(), STARTS);
}

#[test]
fn what_is_recorded_is_not_refused() {
    for warmth in Warmth::ALL {
        check(World::given(), start_with(|s| (s.heater_warmth, s.detector_warmth) = (warmth, warmth)), STARTS);
    }
    for visual in Visual::ALL {
        check(World::given(), start_with(|s| s.visual = visual), STARTS);
    }
    for restores in Restores::ALL {
        check(World::given(), start_with(|s| s.indication.restores = restores), STARTS);
    }
    check(World::given(), start_with(|s| (s.ambient, s.air) = (None, None)), STARTS);
    check(World::given(), start_with(|s| s.air = Some(Air::Moving)), STARTS);
    check(with_heater(|name, _| name.basis = Basis::Neither), start(), STARTS);
    check(with_marking(|m| (m.minus, m.plus, m.limits_from) = (None, None, None)), start(), STARTS);
}

#[test]
fn what_judges_a_test_is_frozen_at_its_start() {
    let mut world = World::given();
    let mut start = start_test();
    start.indication.latching = true;
    start.indication.lag_ms = 1_500;
    world.act(Command::Start(Box::new(start)));
    world.wait(SECOND);
    let other = Marking { rating: Some(c(70)), detector_type: DetectorType::Electronic, ..marking() };
    world.act(put_detector(DETECTOR, "HD-1", other, Duty::default()));
    let frozen = world.test().frozen;
    assert_eq!(frozen.detector.marking, marking());
    assert_eq!(frozen.heater.heating, by_itself());
    assert_eq!(frozen.procedure, set_point());
    assert_eq!(frozen.ambient, Some(c(20)));
    assert!(frozen.indication.latching);
    assert_eq!(frozen.indication.lag_ms, 1_500);
}

#[test]
fn conditions_keep_their_ranges() {
    let ambient = |value| start_with(move |s| s.ambient = Some(c(value)));
    let refusal = || {
        Err(Refusal::Field(Field::Temperature { name: "Ambient temperature", from: Celsius(-40.0), to: Celsius(90.0) }))
    };
    check(World::given(), ambient(-40), STARTS);
    check(World::given(), ambient(-41), refusal());
    check(World::given(), ambient(91), refusal());
    let lag = |ms| start_with(move |s| s.indication.lag_ms = ms);
    let number = |name| Err(Refusal::Field(Field::Number { name, from: 0, to: 120, unit: "s" }));
    check(World::given(), lag(120_000), STARTS);
    check(World::given(), lag(120_001), number("Lag"));
    check(World::given(), lag(-1), number("Lag"));
    let u = start_with(|s| s.indication.lag_u_ms = i64::MIN);
    check(World::given(), u, number("Lag, standard uncertainty"));
    // An integer that other readers of JSON would visit is never stored.
    let huge = start_with(|s| s.ambient = Some(Reading { value: i64::MAX, scale: -18, unit: Degree::C }));
    check(World::given(), huge, refusal());
}

#[test]
fn a_second_heater_at_the_same_time() {
    let second =
        || start_with(|s| (s.test, s.detector, s.heater) = (id(OTHER_TEST), id(OTHER_DETECTOR), id(HAND_HEATER)));
    let busy = |world: World, when, refusal| check(world, when, Err(refusal));
    let running = || World::running(SELF_HEATER, SET_POINT, Restores::NotWatched);
    check(running(), second(), STARTS);
    // An id that stands already starts nothing, whatever it is to be on.
    let same_test = start_with(|s| (s.detector, s.heater) = (id(OTHER_DETECTOR), id(HAND_HEATER)));
    busy(running(), same_test, Refusal::TestStarted);
    let same_detector = start_with(|s| (s.test, s.heater) = (id(OTHER_TEST), id(HAND_HEATER)));
    busy(running(), same_detector, Refusal::DetectorBusy);
    let same_heater = start_with(|s| (s.test, s.detector) = (id(OTHER_TEST), id(OTHER_DETECTOR)));
    busy(running(), same_heater, Refusal::HeaterBusy { test: id(TEST) });
    // Both on a circuit that cannot name the detector: only the detector's own lamp tells them apart.
    for by in IndicatedBy::ALL {
        let when = start_with(|s| {
            (s.test, s.detector, s.heater) = (id(OTHER_TEST), id(OTHER_DETECTOR), id(HAND_HEATER));
            s.indication.by = by;
        });
        let then = if by == IndicatedBy::OwnLamp { STARTS } else { Err(Refusal::TripsNotTellable { test: id(TEST) }) };
        check(running(), when, then);
    }
}

#[test]
fn an_addressable_circuit_tells_trips_apart() {
    let mut world = World::given();
    for (n, tag) in [(DETECTOR, "HD-1"), (OTHER_DETECTOR, "HD-2")] {
        let Command::PutDetector { detector, mut place, marking, duty } =
            put_detector(n, tag, marking(), Duty::default())
        else {
            unreachable!()
        };
        place.circuit = Some(id(LINE));
        world.act(Command::PutDetector { detector, place, marking, duty });
    }
    let at_panel = |test, detector, heater| {
        start_with(move |s| {
            (s.test, s.detector, s.heater) = (id(test), id(detector), id(heater));
            s.indication.by = IndicatedBy::Person;
        })
    };
    world.act(at_panel(TEST, DETECTOR, SELF_HEATER));
    check(world, at_panel(OTHER_TEST, OTHER_DETECTOR, HAND_HEATER), STARTS);
}

#[test]
fn two_that_release_the_same_thing_do_not_test_in_one_space() {
    let given = |area: u8| {
        let mut world = World::given();
        let duty = || Duty { releases: vec!["Door 7".into()], ..Duty::default() };
        world.act(put_detector(DETECTOR, "HD-1", marking(), duty()));
        let mut there = place("HD-2");
        there.area = id(area);
        let marking = Box::new(marking());
        world.act(Command::PutDetector { detector: id(OTHER_DETECTOR), place: there, marking, duty: duty() });
        world.act(Command::Secure { visit: id(VISIT), release: "Door 7".into(), by: id(PERSON) });
        world.act(start());
        world
    };
    let second =
        || start_with(|s| (s.test, s.detector, s.heater) = (id(OTHER_TEST), id(OTHER_DETECTOR), id(HAND_HEATER)));
    check(given(HALL), second(), Err(Refusal::SameRelease { test: id(TEST), release: "Door 7".into() }));
    check(given(STORE), second(), STARTS);
}

#[test]
fn as_found_names_no_earlier_test_and_as_left_does() {
    use soakbook::book::body::{Ending, What};
    let mut world = World::running(SELF_HEATER, FUNCTIONAL, Restores::NotWatched);
    world.taps(&[(50, What::Tripped)]);
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::Done });
    world.wait(SECOND).act(start_with(|s| s.test = id(OTHER_TEST)));
    let follows: Vec<_> = world.visit().tests.iter().map(|test| test.frozen.follows).collect();
    assert_eq!(follows, [None, Some(id(TEST))]);
}

#[test]
fn two_phones_can_make_two_as_found_tests_and_both_show() {
    let given = World::given();
    let (mut one, mut two) = (given.clone(), given.other_phone());
    one.act(start());
    two.act(start_with(|s| (s.test, s.heater) = (id(OTHER_TEST), id(HAND_HEATER))));
    let visit = one.merged(&two).visit();
    assert_eq!(visit.tests.iter().filter(|test| test.frozen.follows.is_none()).count(), 2);
}

#[test]
fn the_template_is_what_its_name_says() {
    // design 2 and facts 11, common practice, no published source: five trips, four counted; one trip for a functional test.
    let set_point = Procedure::set_point_template();
    assert_eq!((set_point.template, set_point.trips, set_point.uncounted), (Template::SetPoint, 5, 1));
    assert_eq!((set_point.soak_ms, set_point.off_ms), (300_000, 45_000));
    let functional = Procedure::functional_template();
    assert_eq!((functional.template, functional.trips, functional.uncounted), (Template::Functional, 1, 0));
    assert!(!set_point.confirmed && !functional.confirmed);
}
