//! What is still off, closing, leaving off by name, reopening, and merges after a closing.

use super::*;
use soakbook::book::body::{Body, NotOurs, PanelWhen, PlannedPositions};
use soakbook::book::entry::{Chain, Scope};
use soakbook::book::refusal::Fault;
use soakbook::book::visit::State;

fn state(world: &World) -> State {
    world.visit().state(world.phone.wall)
}

#[test]
fn closing_is_refused_with_everything_that_is_missing() {
    // rule B20.
    let mut world = World::given();
    assert_eq!(lacks(&world), ["on test", "panel not seen"]);
    world.act(secure("Door 7"));
    world.act(impair(None));
    world.act(open_pair(|_| {}));
    world.act(notify(Whom::Occupants, NotifyAnswer::Notified, |_| {}));
    world.act(Command::InvitePhone { visit: id(VISIT), name: Hash::of(b"salted name") });
    let all = ["impaired", "secured", "open", "on test", "on test", "panel not seen", "phone"];
    assert_eq!(lacks(&world), all);
    world.act(Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None });
    assert_eq!(lacks(&world)[0], "not ours");
    assert_eq!(world.visit().still_off(), 6);
    assert!(world.visit().is_on_test());
}

#[test]
fn a_planned_position_needs_a_result_or_a_reason() {
    let mut world = World::given();
    world.leave();
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let tip = world.book.tip(chain).map(|tip| (tip.seq + 1, tip.hash)).unwrap();
    let positions = vec![id(POSITION), id(OTHER_POSITION)];
    let plan = PlannedPositions { positions, planned: true, why: None, sample: None };
    let entry = sealed(chain, tip.0, Some(tip.1), world.phone.stamp(), Body::PositionsPlanned(plan.into()));
    world.book.apply(entry);
    assert_eq!(lacks(&world), ["untested", "untested"]);
    world.act(not_tested(POSITION, NotTestedWhy::OutOfTime, |_| {}));
    assert_eq!(lacks(&world), ["untested"]);
    // A result by another method is one, and is done after the panel was seen as left.
    world.wait(SECOND).act(other_method(OTHER_POSITION, |_| {}));
    assert_eq!(lacks(&world), ["panel not seen"]);
}

#[test]
fn a_tested_detector_is_restored_or_left_by_name() {
    let mut world = World::given();
    let trip = tripped(&mut world);
    world.leave();
    assert_eq!(lacks(&world), ["unrestored"]);
    let say = |restored| Command::SayRestore { test: id(TEST), restored, happened: happened(MORNING) };
    world.act(say(Answer::NotChecked));
    assert_eq!(lacks(&world), ["unrestored"]);
    let mut restored = world.clone();
    restored.wait(SECOND).act(say(Answer::Yes));
    assert_eq!(lacks(&restored), [""; 0]);
    let mut left = world.clone();
    left.act(leave_off(trip, MORNING + HOUR, |_| {}));
    assert_eq!(lacks(&left), [""; 0]);
    // The detector was taken out: nothing is in alarm any more, but the panel has to be seen again.
    world.wait(SECOND).act(replace(POSITION));
    assert_eq!(lacks(&world), ["panel not seen"]);
    world.wait(SECOND).act(see_panel(PanelWhen::Left, |_| {}));
    assert_eq!(lacks(&world), [""; 0]);
}

#[test]
fn a_mistake_that_tripped_is_restored_too_and_a_later_mistake_answers_for_nothing() {
    let mut world = World::given();
    tripped(&mut world);
    world.wait(SECOND).act(start_with(|start| (start.test, start.procedure) = (id(OTHER_TEST), Some(id(FUNCTIONAL)))));
    world.wait(SECOND).act(Command::End { test: id(OTHER_TEST), how: Ending::Mistake });
    world.leave();
    assert_eq!(lacks(&world), ["unrestored"]);
}

#[test]
fn what_another_method_tripped_restores_too() {
    let mut world = World::given();
    world.act(other_method(POSITION, |other| other.restored = Answer::NotChecked));
    world.leave();
    assert_eq!(lacks(&world), ["unrestored"]);
    let say = |test| Command::SayRestore { test: id(test), restored: Answer::Yes, happened: happened(MORNING) };
    check(world.clone(), say(91), Err(Refusal::UnknownTest));
    world.act(say(90));
    assert_eq!(lacks(&world), [""; 0]);
}

#[test]
fn the_panel_is_left_normal_or_as_found_and_looked_at_last() {
    let mut world = World::given();
    let shows = |when, lines: &[&str]| {
        let lines: Vec<String> = lines.iter().map(ToString::to_string).collect();
        see_panel(when, |panel| (panel.normal, panel.troubles) = (false, lines))
    };
    world.act(shows(PanelWhen::Found, &["Ground fault", "Battery"]));
    world.act(told_over());
    world.wait(SECOND).act(shows(PanelWhen::Left, &["battery ", "Door open"]));
    assert_eq!(lacks(&world), ["panel differs"]);
    let Err(Refusal::VisitNotOver(missing)) = world.decide(close()) else { unreachable!() };
    let panel = missing[0].can_be_left().expect("a panel that differs");
    let mut left = world.clone();
    left.act(leave_off(panel, MORNING + HOUR, |_| {}));
    assert_eq!(lacks(&left), [""; 0]);
    world.wait(SECOND).act(shows(PanelWhen::Left, &["battery "]));
    assert_eq!(lacks(&world), [""; 0]);
    // Something went off and back since.
    let off = world.wait(SECOND).act(impair(None));
    world.wait(SECOND).act(restore(off));
    assert_eq!(lacks(&world), ["panel not seen"]);
    world.wait(SECOND).act(see_panel(PanelWhen::Left, |_| {}));
    assert_eq!(lacks(&world), [""; 0]);
}

#[test]
fn nothing_is_left_off_without_name_time_and_who_was_notified() {
    let mut world = World::given();
    let off = world.act(impair(None));
    let until = MORNING + HOUR;
    check(world.clone(), leave_off(off, until, |_| {}), Ok(&["left_off"]));
    let none = leave_off(off, until, |of| of.until = None);
    check(world.clone(), none, Err(Refusal::Field("LeavingOff.until", Fault::Empty)));
    check(world.clone(), leave_off(off, MORNING, |_| {}), Err(Refusal::Field("LeavingOff.until", Fault::Date)));
    let nobody = leave_off(off, until, |of| of.notified = None);
    check(world.clone(), nobody, Err(Refusal::Field("LeavingOff.notified", Fault::Choose)));
    check(world.clone(), leave_off(Hash::of(b""), until, |_| {}), Err(Refusal::NothingToEnd));
    // A real fire is cleared, never accepted.
    let alarm = world.act(Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None });
    check(world.clone(), leave_off(alarm, until, |_| {}), Err(Refusal::NothingToEnd));
    world.act(Command::ClearAlarm { alarm, by: named("Chief"), note: None });
    world.act(leave_off(off, until, |_| {}));
    world.leave();
    assert_eq!(lacks(&world), [""; 0]);
    let accepted = world.visit().off_now().remove(0).accepted.expect("accepted");
    assert_eq!(accepted.what.accepted_by, named("O. Owner"));
    // When its time is over it counts again.
    world.wait(2 * HOUR);
    assert_eq!(lacks(&world), ["impaired"]);
}

#[test]
fn a_closing_is_reopened_within_a_day_with_a_reason() {
    // rule B21.
    let mut world = World::given();
    let closing = world.leave().act(close());
    assert_eq!(world.visit().state(MORNING), State::Closed);
    let reopen = || Command::ReopenVisit { visit: id(VISIT), why: Hash::of(b"salted reason"), amends: None };
    check(world.clone(), reopen(), Ok(&["visit_reopened"]));
    world.wait(24 * HOUR);
    check(world.clone(), reopen(), Ok(&["visit_reopened"]));
    world.wait(SECOND);
    check(world.clone(), reopen(), Err(Refusal::ReopenTooLate));
    check(world.clone(), Command::Undo { target: closing }, Err(Refusal::ReopenTooLate));
    let next = Command::OpenVisit { visit: id(200), site: id(SITE), plan: plan() };
    check(world, next, Ok(&["visit_opened", "attended", "visit_plan"]));
}

#[test]
fn a_merge_may_bring_something_that_a_closing_did_not_know_of() {
    // rule B18: closed, still off.
    let mut one = World::given();
    let mut two = one.other_phone();
    two.wait(SECOND).act(impair(None));
    let off = two.visit().impaired[0].hash;
    one.leave().act(close());
    let mut merged = one.merged(&two);
    assert_eq!((state(&one), state(&merged)), (State::Closed, State::ClosedStillOff));
    assert!(merged.visit().is_on_test() && !merged.visit().over());
    // It is put right without opening the visit again.
    let mut left = merged.clone();
    let until = left.phone.wall + HOUR;
    left.wait(SECOND).act(leave_off(off, until, |_| {}));
    assert_eq!((state(&left), left.visit().over()), (State::Closed, false));
    merged.wait(SECOND).act(restore(off));
    assert_eq!((state(&merged), merged.visit().over()), (State::Closed, true));
    check(merged, impair(None), Err(Refusal::NoOpenVisit));
}

#[test]
fn a_word_to_the_station_ends_what_other_phones_told_it_where_that_is_known() {
    let mut one = World::given();
    let mut two = one.other_phone();
    check(two.clone(), told_over(), Ok(&["visit_joined", "notified", "restored"]));
    two.wait(SECOND).act(told_over());
    // Meanwhile the first phone had the time extended, which the second one did not know.
    one.wait(10 * SECOND).act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| {
        notice.test_until = Some(MORNING + HOUR);
    }));
    let merged = one.merged(&two);
    let off = merged.visit().off_now();
    assert_eq!(off.iter().map(|off| off_word(&off.what)).collect::<Vec<_>>(), ["on test"]);
    let after_extension = &off[0];
    assert_eq!(after_extension.since, MORNING, "an extension begins nothing anew");
}

#[test]
fn a_permit_is_handed_back() {
    let mut world = World::given();
    let permit = |number: &str| soakbook::book::body::Permit {
        area: None,
        number: number.into(),
        valid_from: MORNING,
        valid_until: MORNING + 8 * HOUR,
        gas_tested_at: None,
        readings: Vec::new(),
        instrument: None,
        interval_min: None,
        lel_limit: None,
        phone_allowed: true,
        by: me(),
        happened: happened(MORNING),
    };
    let take = |number: &str| Command::TakePermit { visit: id(VISIT), permit: Box::new(permit(number)) };
    let first = world.act(take("P-1"));
    // Taken once more after another gas test it is one paper.
    let second = world.wait(SECOND).act(take("P-1"));
    world.leave();
    assert_eq!(lacks(&world), ["permit"]);
    assert_eq!(world.visit().off_now()[0].entry, second);
    assert_ne!(first, second);
    world.act(restore(second));
    assert_eq!(lacks(&world), [""; 0]);
}
