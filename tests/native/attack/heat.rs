//! Heat that is allowed where it must be refused.

use super::*;
use soakbook::book::body::What::{HeaterOff, Tripped};
use soakbook::book::body::{Area, NotOurs, NotifyAnswer, NotifyWhen, Permit, Site, Who, Whom};
use soakbook::book::refusal::Refusal;
use soakbook::trade::classified::{Classification, Gas, GasReading};
use soakbook::trade::conditions::IndicatedBy;
use soakbook::trade::detector::AreaConditions;
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::Decimal;

const OTHER_VISIT: u8 = 20;
const OTHER_SITE: u8 = 21;
const OTHER_AREA: u8 = 22;
const FAR_POSITION: u8 = 23;

fn starts(world: &World) -> Result<Vec<&'static str>, Refusal> {
    world.decide(functional(|_| {}))
}

/// Rule 0.8: the station was told that testing is over, so it is on test no more.
#[test]
fn after_the_station_was_told_that_it_is_over_heat_is_refused() {
    let mut world = given(|_| {});
    world.act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| notice.when = NotifyWhen::After));
    assert!(starts(&world).is_err());
}

/// Rule 0.21: ends all heats on this phone, heat is refused until a named person clears it.
#[test]
fn an_alarm_refuses_heat_in_every_visit_of_the_phone() {
    let mut world = given(|_| {});
    world.act(Command::OpenVisit { visit: id(OTHER_VISIT), site: id(SITE), plan: plan() });
    let Command::Notify { notice, .. } = notify(Whom::SupervisingStation, NotifyAnswer::Notified, |_| {}) else {
        panic!()
    };
    world.act(Command::Notify { visit: id(OTHER_VISIT), notice });
    world.act(Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None });
    assert_eq!(world.decide(functional(|start| start.visit = id(OTHER_VISIT))), Err(Refusal::AlarmNotCleared));
}

/// Rule 0.21: another phone's alarm counts, though this one's visit was closed before the file came.
#[test]
fn an_alarm_that_comes_into_a_closed_visit_refuses_heat_in_the_next() {
    let mut world = given(|_| {});
    let mut theirs = world.clone();
    theirs.phone.id = id(199);
    theirs.act(Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None });
    world.leave().act(Command::CloseVisit { visit: id(VISIT) });
    world.act(Command::OpenVisit { visit: id(OTHER_VISIT), site: id(SITE), plan: plan() });
    let Command::Notify { notice, .. } = notify(Whom::SupervisingStation, NotifyAnswer::Notified, |_| {}) else {
        panic!()
    };
    world.act(Command::Notify { visit: id(OTHER_VISIT), notice });
    let start = || functional(|start| start.visit = id(OTHER_VISIT));
    assert!(world.decide(start()).is_ok());
    world.book.merge(theirs.book);
    assert_eq!(world.decide(start()), Err(Refusal::AlarmNotCleared));
}

/// Rule 0.21: until a named person clears it; 0.12 lists what has undo, and the alarm is not among it.
#[test]
fn an_alarm_is_cleared_by_a_named_person_and_not_by_undo() {
    let mut world = given(|_| {});
    let alarm = world.act(Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None });
    let _ = world.try_act(Command::Undo { target: alarm });
    assert_eq!(starts(&world), Err(Refusal::AlarmNotCleared));
}

/// Rule 0.8: the station of that site was never notified.
#[test]
fn a_visit_heats_nothing_of_another_site() {
    let mut world = given(|_| {});
    world.act(Command::PutSite {
        site: id(OTHER_SITE),
        now: Site { name: "Far".into(), address: None, invented: true },
    });
    let area = Area { site: id(OTHER_SITE), name: "Hall".into() };
    world.act(Command::PutArea { area: id(OTHER_AREA), now: area, conditions: AreaConditions::default() });
    world.act(put_position_with(FAR_POSITION, "HD-1", |put| {
        (put.place.area, put.place.circuit) = (id(OTHER_AREA), None);
    }));
    assert!(world.decide(functional(|start| start.position = id(FAR_POSITION))).is_err());
}

/// Rule 0.22: on a zone the next heat is refused while the last alarm is not restored. This one was another detector's.
#[test]
fn an_alarm_of_another_detector_is_still_at_the_panel() {
    let by_panel = |test: u8, position: u8| {
        functional(move |start| {
            (start.test, start.position) = (id(test), id(position));
            start.indication = indication(IndicatedBy::WalkTest);
        })
    };
    let mut world = given(|_| {});
    world.act(by_panel(TEST, POSITION));
    let trip = world.taps(&[(5, Tripped)])[0];
    world.wait(SECOND).act(Command::AnswerEarlyTrip { trip, this_detector: false });
    world.wait(SECOND).act(end(Ending::NoTrip));
    world.wait(SECOND);
    let next = by_panel(OTHER_TEST, OTHER_POSITION);
    assert_eq!(world.decide(next), Err(Refusal::LastAlarmNotRestored { test: id(TEST) }));
}

/// Rule: the same; what was said of the restore before the last trip is not that alarm's.
#[test]
fn a_restore_said_before_the_last_trip_clears_no_alarm() {
    let by_panel = |test: u8, position: u8| {
        functional(move |start| {
            (start.test, start.position) = (id(test), id(position));
            start.indication = indication(IndicatedBy::WalkTest);
        })
    };
    let mut world = given(|_| {});
    world.act(by_panel(TEST, POSITION));
    world.taps(&[(50, Tripped)]);
    let happened = world.phone.at().happened();
    let restored = soakbook::book::body::Answer::Yes;
    world.act(Command::SayRestore { test: id(TEST), restored, happened });
    world.taps(&[(100, Tripped)]);
    world.wait(SECOND).act(end(Ending::Done));
    world.wait(SECOND);
    let next = by_panel(OTHER_TEST, OTHER_POSITION);
    assert_eq!(world.decide(next), Err(Refusal::LastAlarmNotRestored { test: id(TEST) }));
}

/// Rule: design 4: top + its uncertainty + overshoot *seen* stays below the element. 95 °C at the top, 107 °C seen in a test, rated 107 °C.
#[test]
fn the_overshoot_seen_in_a_test_keeps_the_heater_off_an_element_that_is_used_up() {
    let mut world = given(|_| {});
    world.act(functional(|start| start.position = id(OTHER_POSITION)));
    world.wait_until(100);
    world.act(Command::Read { of: id(TEST), reading: shown(1_070), trip: None });
    world.taps(&[(110, HeaterOff)]);
    world.wait(SECOND).act(end(Ending::NoTrip));
    let marking = Marking {
        detector_type: DetectorType::CombinationNonrestorable,
        rating: Some(c(107)),
        minus: None,
        plus: None,
        limits_from: None,
        ..marking()
    };
    world.wait(SECOND).act(put_position(POSITION, "HD-1", marking, no_duty()));
    let next = world.decide(another());
    assert!(matches!(next, Err(Refusal::TooNearElement { .. })), "{next:?}");
}

fn class() -> AreaConditions {
    let class = Classification { class: Some("Class I".into()), ..Classification::default() };
    AreaConditions { ceiling: None, classification: Some(class) }
}

fn permit(world: &World, lel: i64) -> Command {
    let now = world.phone.wall;
    let reading = |gas, value, scale| GasReading { gas, percent: Decimal { value, scale } };
    let permit = Permit {
        area: None,
        number: "7".into(),
        valid_from: now - 3_600_000,
        valid_until: now + 3_600_000,
        gas_tested_at: Some(now),
        readings: vec![reading(Gas::Lel, lel, 0), reading(Gas::Oxygen, 209, -1)],
        instrument: None,
        interval_min: Some(120),
        lel_limit: None,
        phone_allowed: true,
        by: Who::Person(id(PERSON)),
        happened: world.phone.at().happened(),
    };
    Command::TakePermit { visit: id(VISIT), permit: Box::new(permit) }
}

/// A hall that is classified and a heater that is approved for it.
fn classified() -> World {
    let mut world = given(|_| {});
    world.act(put_area(HALL, "Hall", class()));
    world.act(put_heater_with(HAND_HEATER, manual(), |name, metrology| {
        name.approval = class().classification;
        *metrology = known();
    }));
    world.act(Command::HoldApproval { visit: id(VISIT), heater: id(HAND_HEATER), area: id(HALL), fits: true });
    world.wait(SECOND);
    world
}

/// Rule 0.13: any LEL above 0 refuses. The newer gas test is the one with the gas; FORMAT.md: across phones order has no meaning.
#[test]
fn the_worse_gas_test_of_two_phones_counts() {
    let world = classified();
    let mut partner = world.other_phone();
    let command = permit(&partner, 0);
    partner.act(command);
    let mut world = world;
    world.wait(600 * SECOND);
    let command = permit(&world, 5);
    world.act(command);
    assert!(matches!(starts(&world), Err(Refusal::Gas(_))));
    let merged = world.merged(&partner);
    assert!(matches!(starts(&merged), Err(Refusal::Gas(_))), "{:?}", starts(&merged));
}

/// Rule 0.13: a heater without approval for the area refuses, whoever signs.
#[test]
fn a_refusal_of_the_heater_for_the_area_holds_on_two_phones() {
    let mut world = classified();
    let command = permit(&world, 0);
    world.act(command);
    assert!(starts(&world).is_ok());
    let hold = |fits| Command::HoldApproval { visit: id(VISIT), heater: id(HAND_HEATER), area: id(HALL), fits };
    let mut partner = world.other_phone();
    partner.act(hold(true));
    world.wait(600 * SECOND).act(hold(false));
    assert_eq!(starts(&world), Err(Refusal::HeaterNotApproved));
    assert_eq!(starts(&world.merged(&partner)), Err(Refusal::HeaterNotApproved));
}

/// Rule: FORMAT.md, Order: two edits that replace the same one are a conflict; rule 0.13: in a classified area heat needs its permit.
#[test]
fn a_position_that_may_be_in_a_classified_area_needs_the_permit() {
    for (mine, other) in [(HALL, STORE), (STORE, HALL)] {
        let mut world = given(|_| {});
        world.act(put_area(STORE, "Store", class()));
        let mut partner = world.other_phone();
        let put = |area: u8, tag: &str| put_position_with(POSITION, tag, move |put| put.place.area = id(area));
        world.act(put(mine, "HD-1a"));
        partner.act(put(other, "HD-1b"));
        let merged = world.merged(&partner);
        assert!(starts(&merged).is_err(), "{mine} here, {other} there");
    }
}

/// Rule 0.8: a release is secured while heat is on.
#[test]
fn a_release_is_not_restored_while_its_detector_is_heated() {
    let mut world = given(|_| {});
    world.act(put_position(POSITION, "HD-1", marking(), releases(&["Deluge"])));
    let secured = world.act(secure("Deluge"));
    world.wait(SECOND).act(functional(|_| {}));
    assert!(world.decide(restore(secured)).is_err());
}

/// Rule 0.21: the key ends all heats, and heat is refused until a named person clears it.
#[test]
fn an_ended_heat_is_not_taken_up_again_while_an_alarm_is_not_cleared() {
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    world.wait_until(100);
    let ended = world.act(end(Ending::SiteRequest));
    world.wait(SECOND).act(Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None });
    let _ = world.try_act(Command::Undo { target: ended });
    assert!(world.test().ended.is_some());
}

/// A second open visit at the same site, its station notified.
fn two_visits() -> World {
    let mut world = given(|_| {});
    world.act(Command::OpenVisit { visit: id(OTHER_VISIT), site: id(SITE), plan: plan() });
    let Command::Notify { notice, .. } = notify(Whom::SupervisingStation, NotifyAnswer::Notified, |_| {}) else {
        panic!()
    };
    world.act(Command::Notify { visit: id(OTHER_VISIT), notice });
    world
}

/// Rule: design 4: not two on one circuit whose trips cannot be told apart; one detector is not heated twice at once.
#[test]
fn a_detector_under_heat_in_one_visit_is_busy_in_the_other() {
    let mut world = two_visits();
    world.act(functional(|_| {}));
    let again = functional(|start| {
        (start.visit, start.test, start.heater) = (id(OTHER_VISIT), id(OTHER_TEST), id(SELF_HEATER));
    });
    assert_eq!(world.decide(again), Err(Refusal::PositionBusy));
}

/// Rule 0.8: the last answer is that the time on test is over; FORMAT.md: clock set back, mono counts.
#[test]
fn a_lapsed_station_is_not_answered_by_an_earlier_notice_with_a_later_clock() {
    let mut world = given(|_| {});
    world.set_clock(-3_600 * SECOND);
    let until = world.phone.wall + 600 * SECOND;
    let (now, at) = (world.phone.at().happened(), until);
    world.act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| {
        (notice.test_until, notice.happened) = (Some(at), now);
    }));
    world.wait(601 * SECOND);
    assert_eq!(starts(&world), Err(Refusal::StationLapsed { at: until }));
}

/// Rule B12: damaged refuses heat; FORMAT.md: clock set back, mono counts.
#[test]
fn a_damaged_detector_is_not_heated_by_an_earlier_check_with_a_later_clock() {
    use soakbook::trade::conditions::Visual;
    let mut world = given(|_| {});
    let check = |found| Command::CheckVisual { visit: id(VISIT), position: id(POSITION), found };
    world.act(check(Vec::new()));
    world.set_clock(-3_600 * SECOND);
    world.wait(SECOND).act(check(vec![Visual::Damaged]));
    assert_eq!(starts(&world), Err(Refusal::FailedVisual(Visual::Damaged)));
}

/// Rule 0.21. The key "undo its end" of a test that the alarm ended (`last_end`) takes the alarm itself back.
#[test]
fn undoing_the_end_of_a_test_does_not_take_back_the_alarm_that_ended_it() {
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    world.wait_until(100);
    world.act(Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None });
    if let Some(last) = soakbook::view::test::last_end(&world.book, &world.test()) {
        let _ = world.try_act(Command::Undo { target: last.entry });
    }
    assert_eq!((world.visit().alarms_not_cleared().count(), world.test().ended.is_some()), (1, true));
}
