//! What has to be right before heat goes on a detector, and what is only recorded.

use super::kit::*;
use soakbook::book::command::Command;
use soakbook::book::refusal::{Field, Refusal};
use soakbook::trade::detector::{Duty, LimitsFrom, Marking};
use soakbook::trade::head::{Basis, HeadName, Metrology};
use soakbook::trade::heating::{Heat, NONRESTORABLE_MARGIN};
use soakbook::trade::kind::{Class, Kind};
use soakbook::trade::procedure::{OwnLimits, Procedure, Template};
use soakbook::trade::seen::{Air, Resets, Sign, Visual, Warmth};
use soakbook::units::{Celsius, Degree, Difference, Reading};

const STARTS: Result<&[&str], Refusal> = Ok(&["run_started", "mark"]);

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

fn with_head(change: impl FnOnce(&mut HeadName, &mut Metrology)) -> World {
    with(|world| {
        let Command::PutHead { head, mut name, heating, mut metrology } = put_head(SELF_HEAD, by_itself()) else {
            unreachable!()
        };
        change(&mut name, &mut metrology);
        world.act(Command::PutHead { head, name, heating, metrology });
    })
}

fn with_procedure(n: u8, now: Procedure) -> World {
    with(|world| {
        world.act(Command::PutProcedure { procedure: id(n), now: Box::new(now) });
    })
}

#[test]
fn a_start_writes_the_run_and_heat_on_in_one_decision() {
    check(World::given(), start(), STARTS);
}

#[test]
fn things_that_are_not_known_are_refused_by_name() {
    check(World::given(), start_with(|s| s.round = id(200)), Err(Refusal::NoOpenRound));
    check(World::given(), start_with(|s| s.detector = id(200)), Err(Refusal::UnknownDetector));
    check(World::given(), start_with(|s| s.head = id(200)), Err(Refusal::UnknownHead));
    check(World::given(), start_with(|s| s.procedure = id(200)), Err(Refusal::UnknownProcedure));
    check(World::given(), start_with(|s| s.setting = c(91)), Err(Refusal::NoSuchSetting));
    check(World::given(), start_with(|s| s.mode = Some("gentle".into())), Err(Refusal::NoSuchSetting));
    let retired = with(|world| {
        world.act(Command::RetireDetector { detector: id(DETECTOR), retired: true });
    });
    check(retired, start(), Err(Refusal::UnknownDetector));
}

#[test]
fn a_closed_round_takes_no_run() {
    let closed = with(|world| {
        world.act(Command::CloseRound { round: id(ROUND) });
    });
    check(closed, start(), Err(Refusal::NoOpenRound));
}

#[test]
fn without_the_database_no_new_run_starts() {
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
        (Kind::RateCompensated, none, none),
        (Kind::FixedRestorable, none, none),
        (Kind::FixedNonrestorable, Err(Heat::UsesUpElement), Err(Heat::UsesUpElement)),
        (Kind::RateOfRise, Err(Heat::NoSetPoint), none),
        (Kind::CombinationRestorable, none, none),
        // 95 °C at the head comes too near to an element of 88 °C: see the margin test.
        (Kind::CombinationNonrestorable, Err(Heat::UsesUpElement), Err(Heat::BelowElement)),
        (Kind::Electronic, none, none),
    ];
    for (kind, set_point, response) in table {
        for (procedure, expected) in [(SET_POINT, set_point), (RESPONSE, response)] {
            let given = with_marking(|marking| marking.kind = kind);
            let when = start_with(|s| s.procedure = id(procedure));
            let then = match expected {
                Ok(()) => STARTS,
                Err(Heat::BelowElement) => Err(Refusal::TooNearElement {
                    upper: Celsius(95.0),
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
            (marking.kind, marking.rating) = (Kind::CombinationNonrestorable, Some(c(rating)));
        });
        let when = start_with(|s| (s.procedure, s.setting) = (id(RESPONSE), c(60)));
        let refusal = Refusal::TooNearElement {
            upper: Celsius(65.0),
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
    check(with_marking(class(LimitsFrom::Marking)), start_with(|s| s.procedure = id(RESPONSE)), STARTS);
    let mut limits =
        with_procedure(SET_POINT, Procedure { limits: Some(OwnLimits { minus: k(-5), plus: k(5) }), ..set_point() });
    let mut marking = marking();
    class(LimitsFrom::Marking)(&mut marking);
    limits.act(put_detector(DETECTOR, "HD-1", marking, Duty::default()));
    check(limits, start(), STARTS);
}

#[test]
fn the_head_has_to_reach_the_rating() {
    // By hand: 90 °C + 5 K = 95 °C.
    check(with_marking(|m| m.rating = Some(c(95))), start(), STARTS);
    let refusal = Refusal::SettingBelowRating { upper: Celsius(95.0), rating: Celsius(96.0) };
    check(with_marking(|m| m.rating = Some(c(96))), start(), Err(refusal));
}

#[test]
fn a_tolerance_in_fahrenheit_is_a_difference() {
    // By hand: 9 °F of climb above the setting is 5 K, not −12.8 °C.
    let given = with(|world| {
        let mut heating = by_itself();
        heating.above = Difference { value: 9, scale: 0, unit: Degree::F };
        world.act(put_head(SELF_HEAD, heating));
        let mut marking = marking();
        marking.rating = Some(c(96));
        world.act(put_detector(DETECTOR, "HD-1", marking, Duty::default()));
    });
    check(given, start(), Err(Refusal::SettingBelowRating { upper: Celsius(95.0), rating: Celsius(96.0) }));
}

#[test]
fn a_head_that_cycles_by_itself_is_not_told_what_to_do() {
    let differs = Refusal::HeadCycleDiffers { hold_ms: 300_000, off_ms: 45_000 };
    let soak = Procedure { soak_ms: 240_000, ..set_point() };
    check(with_procedure(SET_POINT, soak.clone()), start(), Err(differs.clone()));
    let off = Procedure { off_ms: 60_000, ..set_point() };
    check(with_procedure(SET_POINT, off), start(), Err(differs));
    check(with_procedure(SET_POINT, soak), start_with(|s| s.head = id(HAND_HEAD)), STARTS);
}

#[test]
fn what_the_detector_releases_is_secured_in_this_round_first() {
    let duty = || Duty { releases: vec!["Door 7".into(), "Fan 2".into()], ..Duty::default() };
    let missing = |names: &[&str]| Refusal::NotSecured { releases: names.iter().map(ToString::to_string).collect() };
    check(with_duty(duty()), start(), Err(missing(&["Door 7", "Fan 2"])));
    let mut world = with_duty(duty());
    let secure = |release: &str| Command::Secure { round: id(ROUND), release: release.into(), by: id(PERSON) };
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
fn a_hazardous_location_needs_permit_gas_test_and_approved_head() {
    let classified = || with_duty(Duty { classified: true, ..Duty::default() });
    check(classified(), start(), Err(Refusal::NoPermit));
    let permit = |area: Option<u8>, until: i64| Command::TakePermit {
        round: id(ROUND),
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
    check(with_permit(Some(HALL), hour), start(), Err(Refusal::HeadNotApproved));
    let mut approved = with_permit(None, hour);
    let Command::PutHead { head, name, heating, metrology } = put_head(SELF_HEAD, by_itself()) else { unreachable!() };
    let name = HeadName { hazardous_approval: Some("invented approval".into()), ..name };
    approved.act(Command::PutHead { head, name, heating, metrology });
    check(approved, start(), STARTS);
}

#[test]
fn calibration_out_of_date_refuses_the_set_point_check_only() {
    let due = |day: &str| {
        let day = day.to_string();
        with_head(|_, metrology| metrology.due = Some(day))
    };
    // The day on the phone is 2026-03-02; the last valid day still counts.
    check(due("2026-03-02"), start(), STARTS);
    check(due("2026-03-01"), start(), Err(Refusal::CalibrationOverdue { due: "2026-03-01".into() }));
    check(due("2026-03-01"), start_with(|s| s.procedure = id(RESPONSE)), STARTS);
    // By hand: 08:00 UTC is still 1 March at UTC−9.
    let mut west = due("2026-03-01");
    west.phone.offset_min = -9 * 60;
    check(west, start(), STARTS);
}

#[test]
fn a_conflict_about_rating_tolerance_or_kind_refuses_the_run() {
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
        check(World::given(), start_with(|s| (s.head_warmth, s.detector_warmth) = (warmth, warmth)), STARTS);
    }
    for visual in Visual::ALL {
        check(World::given(), start_with(|s| s.visual = visual), STARTS);
    }
    for resets in Resets::ALL {
        check(World::given(), start_with(|s| s.seen_by.resets = resets), STARTS);
    }
    check(World::given(), start_with(|s| (s.ambient, s.air) = (None, None)), STARTS);
    check(World::given(), start_with(|s| s.air = Some(Air::Moving)), STARTS);
    check(with_head(|name, _| name.basis = Basis::Neither), start(), STARTS);
    check(with_marking(|m| (m.minus, m.plus, m.limits_from) = (None, None, None)), start(), STARTS);
}

#[test]
fn what_judges_a_run_is_frozen_at_its_start() {
    let mut world = World::given();
    let mut start = start_run();
    start.seen_by.latching = true;
    start.seen_by.delay_ms = 1_500;
    world.act(Command::Start(Box::new(start)));
    world.wait(SECOND);
    let other = Marking { rating: Some(c(70)), kind: Kind::Electronic, ..marking() };
    world.act(put_detector(DETECTOR, "HD-1", other, Duty::default()));
    let frozen = world.run().frozen;
    assert_eq!(frozen.detector.marking, marking());
    assert_eq!(frozen.head.heating, by_itself());
    assert_eq!(frozen.procedure, set_point());
    assert_eq!(frozen.ambient, Some(c(20)));
    assert!(frozen.seen_by.latching);
    assert_eq!(frozen.seen_by.delay_ms, 1_500);
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
    let delay = |ms| start_with(move |s| s.seen_by.delay_ms = ms);
    let number = |name| Err(Refusal::Field(Field::Number { name, from: 0, to: 120, unit: "s" }));
    check(World::given(), delay(120_000), STARTS);
    check(World::given(), delay(120_001), number("Notice delay"));
    check(World::given(), delay(-1), number("Notice delay"));
    let u = start_with(|s| s.seen_by.delay_u_ms = i64::MIN);
    check(World::given(), u, number("Notice delay, standard uncertainty"));
    // An integer that other readers of JSON would round is never stored.
    let huge = start_with(|s| s.ambient = Some(Reading { value: i64::MAX, scale: -18, unit: Degree::C }));
    check(World::given(), huge, refusal());
}

#[test]
fn a_second_head_at_the_same_time() {
    let second = || start_with(|s| (s.run, s.detector, s.head) = (id(OTHER_RUN), id(OTHER_DETECTOR), id(HAND_HEAD)));
    let busy = |world: World, when, refusal| check(world, when, Err(refusal));
    let running = || World::running(SELF_HEAD, SET_POINT, Resets::NotWatched);
    check(running(), second(), STARTS);
    // An id that stands already starts nothing, whatever it is to be on.
    let same_run = start_with(|s| (s.detector, s.head) = (id(OTHER_DETECTOR), id(HAND_HEAD)));
    busy(running(), same_run, Refusal::RunStarted);
    let same_detector = start_with(|s| (s.run, s.head) = (id(OTHER_RUN), id(HAND_HEAD)));
    busy(running(), same_detector, Refusal::DetectorBusy);
    let same_head = start_with(|s| (s.run, s.detector) = (id(OTHER_RUN), id(OTHER_DETECTOR)));
    busy(running(), same_head, Refusal::HeadBusy { run: id(RUN) });
    // Both on a circuit that cannot name the detector: only the detector's own lamp tells them apart.
    for sign in Sign::ALL {
        let when = start_with(|s| {
            (s.run, s.detector, s.head) = (id(OTHER_RUN), id(OTHER_DETECTOR), id(HAND_HEAD));
            s.seen_by.sign = sign;
        });
        let then = if sign == Sign::OwnLamp { STARTS } else { Err(Refusal::TripsNotTellable { run: id(RUN) }) };
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
    let at_panel = |run, detector, head| {
        start_with(move |s| {
            (s.run, s.detector, s.head) = (id(run), id(detector), id(head));
            s.seen_by.sign = Sign::Person;
        })
    };
    world.act(at_panel(RUN, DETECTOR, SELF_HEAD));
    check(world, at_panel(OTHER_RUN, OTHER_DETECTOR, HAND_HEAD), STARTS);
}

#[test]
fn two_that_release_the_same_thing_do_not_run_in_one_space() {
    let given = |area: u8| {
        let mut world = World::given();
        let duty = || Duty { releases: vec!["Door 7".into()], ..Duty::default() };
        world.act(put_detector(DETECTOR, "HD-1", marking(), duty()));
        let mut there = place("HD-2");
        there.area = id(area);
        let marking = Box::new(marking());
        world.act(Command::PutDetector { detector: id(OTHER_DETECTOR), place: there, marking, duty: duty() });
        world.act(Command::Secure { round: id(ROUND), release: "Door 7".into(), by: id(PERSON) });
        world.act(start());
        world
    };
    let second = || start_with(|s| (s.run, s.detector, s.head) = (id(OTHER_RUN), id(OTHER_DETECTOR), id(HAND_HEAD)));
    check(given(HALL), second(), Err(Refusal::SameRelease { run: id(RUN), release: "Door 7".into() }));
    check(given(STORE), second(), STARTS);
}

#[test]
fn as_found_names_no_earlier_run_and_as_left_does() {
    use soakbook::book::body::{Ending, What};
    let mut world = World::running(SELF_HEAD, RESPONSE, Resets::NotWatched);
    world.taps(&[(50, What::Tripped)]);
    world.wait(SECOND).act(Command::End { run: id(RUN), how: Ending::Done });
    world.wait(SECOND).act(start_with(|s| s.run = id(OTHER_RUN)));
    let follows: Vec<_> = world.round().runs.iter().map(|run| run.frozen.follows).collect();
    assert_eq!(follows, [None, Some(id(RUN))]);
}

#[test]
fn two_phones_can_make_two_as_found_runs_and_both_show() {
    let given = World::given();
    let (mut one, mut two) = (given.clone(), given.other_phone());
    one.act(start());
    two.act(start_with(|s| (s.run, s.head) = (id(OTHER_RUN), id(HAND_HEAD))));
    let round = one.merged(&two).round();
    assert_eq!(round.runs.iter().filter(|run| run.frozen.follows.is_none()).count(), 2);
}

#[test]
fn the_template_is_what_its_name_says() {
    // design 2 and facts 11, common practice, no published source: five trips, four counted; one trip for a response check.
    let set_point = Procedure::set_point_template();
    assert_eq!((set_point.template, set_point.trips, set_point.uncounted), (Template::SetPoint, 5, 1));
    assert_eq!((set_point.soak_ms, set_point.off_ms), (300_000, 45_000));
    let response = Procedure::response_template();
    assert_eq!((response.template, response.trips, response.uncounted), (Template::Response, 1, 0));
    assert!(!set_point.confirmed && !response.confirmed);
}
