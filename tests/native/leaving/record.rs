//! What a visit records beside heat, and what of it is refused.

use super::*;
use soakbook::book::refusal::Fault;
use soakbook::trade::detector::{AreaConditions, Duty};

#[test]
fn a_position_is_not_tested_for_a_reason_and_has_one() {
    // rule B11.
    let mut world = World::given();
    for why in [NotTestedWhy::NotAccessible, NotTestedWhy::Obstructed, NotTestedWhy::OutOfTime] {
        check(world.clone(), not_tested(POSITION, why, |_| {}), Ok(&["not_tested"]));
    }
    let of = |why, change: fn(&mut NotTested)| not_tested(POSITION, why, change);
    let by_whom = Refusal::Field("NotTested.not_allowed_by", Fault::Choose);
    check(world.clone(), of(NotTestedWhy::NotAllowed, |_| {}), Err(by_whom));
    let named_by = |of: &mut NotTested| of.not_allowed_by = Some(named("Shift lead"));
    check(world.clone(), of(NotTestedWhy::NotAllowed, named_by), Ok(&["not_tested"]));
    check(world.clone(), of(NotTestedWhy::Other, |_| {}), Err(Refusal::Field("NotTested.note", Fault::Empty)));
    check(world.clone(), not_tested(200, NotTestedWhy::Unsafe, |_| {}), Err(Refusal::UnknownPosition));
    let future = of(NotTestedWhy::Unsafe, |of| of.happened = happened(MORNING + HOUR));
    check(world.clone(), future, Err(Refusal::HappenedOutside { days: 31 }));
    let running = World::running(SELF_HEATER, FUNCTIONAL, soakbook::trade::conditions::Restores::NotWatched);
    check(running, of(NotTestedWhy::OutOfTime, |_| {}), Err(Refusal::PositionBusy));
    assert!(!world.visit().has_result(id(POSITION)));
    world.act(of(NotTestedWhy::OutOfTime, |_| {}));
    assert!(world.visit().has_result(id(POSITION)));
}

#[test]
fn another_method_gives_a_functional_result_without_a_temperature() {
    // rule B10.
    check(World::given(), other_method(POSITION, |_| {}), Ok(&["other_method"]));
    let wrong = |change: fn(&mut OtherMethod)| other_method(POSITION, change);
    check(World::given(), wrong(|o| o.point = Point::Wrong), Ok(&["other_method", "item_found"]));
    check(World::given(), wrong(|o| o.restored = Answer::No), Ok(&["other_method", "item_found"]));
    let dead = wrong(|o| (o.tripped, o.point, o.restored) = (Answer::No, Point::NotThere, Answer::NotChecked));
    check(World::given(), dead, Ok(&["other_method", "item_found"]));
    let odd = wrong(|o| o.tripped = Answer::No);
    check(World::given(), odd, Err(Refusal::Field("OtherMethod.tripped", Fault::Choose)));
    let nameless = wrong(|o| o.method = Method::Other);
    check(World::given(), nameless, Err(Refusal::Field("OtherMethod.note", Fault::Empty)));
    check(World::given(), other_method(200, |_| {}), Err(Refusal::UnknownPosition));
    let mut world = World::given();
    world.act(other_method(POSITION, |_| {}));
    check(world.clone(), other_method(OTHER_POSITION, |_| {}), Err(Refusal::TestStarted));
    let other = &world.visit().record.other_methods[0];
    assert_eq!(other.said.what.detector, Some(detector(POSITION)));
    assert!(world.visit().has_result(id(POSITION)));
}

#[test]
fn the_panel_is_normal_or_shows_something() {
    // rule B4.
    use soakbook::book::body::PanelWhen;
    let found = |change: fn(&mut soakbook::book::body::PanelState)| see_panel(PanelWhen::Found, change);
    check(World::given(), found(|_| {}), Ok(&["panel_state"]));
    let both = found(|panel| panel.troubles = vec!["Ground fault".into()]);
    check(World::given(), both, Err(Refusal::Field("PanelState.normal", Fault::Choose)));
    let neither = found(|panel| panel.normal = false);
    check(World::given(), neither, Err(Refusal::Field("PanelState.troubles", Fault::Empty)));
}

#[test]
fn a_pair_is_opened_outside_classified_areas_only_and_restored() {
    // rule B8.
    check(World::given(), open_pair(|_| {}), Ok(&["pair_opened"]));
    let nothing = open_pair(|pair| pair.position = None);
    check(World::given(), nothing, Err(Refusal::Field("OpenPair.label", Fault::Empty)));
    check(World::given(), open_pair(|pair| pair.position = Some(id(200))), Err(Refusal::UnknownPosition));
    let mut classified = World::given();
    classified.act(put_position(POSITION, "HD-1", marking(), Duty { classified: true, ..no_duty() }));
    check(classified, open_pair(|_| {}), Err(Refusal::PairInClassified));
    let mut area = World::given();
    let class = soakbook::trade::classified::Classification { class: Some("I".into()), ..Default::default() };
    let conditions = AreaConditions { classification: Some(class), ..AreaConditions::default() };
    area.act(put_area(HALL, "Hall", conditions));
    check(area, open_pair(|_| {}), Err(Refusal::PairInClassified));
    let mut world = World::given();
    let pair = world.act(open_pair(|_| {}));
    world.wait(SECOND).act(restore(pair));
    assert!(world.visit().pairs.iter().all(|pair| !pair.is_off()));
}

#[test]
fn outputs_that_moved_at_a_first_alarm_are_an_alarm_that_is_not_ours() {
    // rules B7, 0.21.
    check(World::given(), prove(Outputs::Stayed), Ok(&["circuit_proved"]));
    check(World::given(), prove(Outputs::Moved), Ok(&["circuit_proved", "alarm_not_ours"]));
    let Command::ProveCircuit { visit, mut proof } = prove(Outputs::Stayed) else { unreachable!() };
    proof.circuit = id(200);
    let unknown = Command::ProveCircuit { visit, proof };
    check(World::given(), unknown, Err(Refusal::Field("CircuitProof.circuit", Fault::Choose)));
    let mut world = World::given();
    world.act(prove(Outputs::Moved));
    check(world, start_with(|_| {}), Err(Refusal::AlarmNotCleared));
}

#[test]
fn a_lift_is_checked_in_a_line() {
    // rule B23.
    check(World::given(), lift(true), Ok(&["lift_checked"]));
    let mut world = World::given();
    world.act(lift(false));
    assert!(!world.visit().record.lifts[0].what.good);
}

#[test]
fn an_invited_phone_answers_by_taking_part_or_is_excused_by_name() {
    // rule B18.
    let mut world = World::given();
    let invite = Command::InvitePhone { visit: id(VISIT), name: Hash::of(b"salted name") };
    check(world.clone(), invite.clone(), Ok(&["phone_invited"]));
    let invitation = world.act(invite);
    assert_eq!(world.visit().record.awaited().count(), 1);
    let mut other = world.other_phone();
    other.wait(SECOND).act(lift(true));
    assert_eq!(other.visit().record.awaited().count(), 0);
    assert_eq!(world.merged(&other).visit().record.awaited().count(), 0);
    check(world.clone(), excuse(invitation), Ok(&["phone_excused"]));
    check(world.clone(), excuse(Hash::of(b"")), Err(Refusal::NothingToEnd));
    world.wait(SECOND).act(excuse(invitation));
    assert_eq!(world.visit().record.awaited().count(), 0);
    check(world, excuse(invitation), Err(Refusal::NothingToEnd));
}

#[test]
fn a_break_answers_for_everything_that_is_off() {
    // rule B17.
    let mut world = World::given();
    let (door, whole) = (world.act(secure("Door 7")), world.wait(SECOND).act(impair(None)));
    let notice = station(&world);
    check(world.clone(), start_break(&[door, whole], &[]), Err(Refusal::BreakLeavesOpen { left: 1 }));
    check(world.clone(), start_break(&[Hash::of(b"")], &[]), Err(Refusal::NothingToEnd));
    let all = ["break_started", "restored", "notified"];
    check(world.clone(), start_break(&[door, notice], &[whole]), Ok(&all));
    world.wait(SECOND).act(start_break(&[door, notice], &[whole]));
    check(world.clone(), start_break(&[], &[whole]), Err(Refusal::OnBreak));
    check(world.clone(), start_with(|_| {}), Err(Refusal::OnBreak));
    check(world.clone(), Command::OffAgain { off: door }, Err(Refusal::OnBreak));
    let off = world.visit().off_now();
    assert_eq!(off.iter().map(|off| off_word(&off.what)).collect::<Vec<_>>(), ["impaired"]);
    world.wait(SECOND).act(end_break());
    check(world.clone(), end_break(), Err(Refusal::NothingToEnd));
    // Each needs its own tick; the station is asked until when, so it is notified anew.
    assert_eq!(world.visit().off_again(), [door, notice]);
    check(world.clone(), start_with(|_| {}), Err(Refusal::StationNotNotified));
    check(world.clone(), Command::OffAgain { off: whole }, Err(Refusal::NothingToEnd));
    check(world.clone(), Command::OffAgain { off: door }, Ok(&["secured"]));
    world.wait(SECOND).act(Command::OffAgain { off: door });
    assert!(world.visit().is_secured("Door 7"));
    check(world, Command::OffAgain { off: door }, Err(Refusal::NothingToEnd));
}

#[test]
fn what_was_left_secured_over_a_break_refuses_heat_until_it_is_ticked_again() {
    // rule B17: afterwards each needs its own tick again.
    let mut world = World::given();
    world.act(put_position(POSITION, "HD-1", marking(), releases(&["Door 7"])));
    let door = world.wait(SECOND).act(secure("Door 7"));
    let notice = station(&world);
    world.wait(SECOND).act(start_break(&[], &[door, notice]));
    world.wait(SECOND).act(end_break());
    let start = || start_with(|start| start.procedure = Some(id(FUNCTIONAL)));
    check(world.clone(), start(), Err(Refusal::NotSecured { releases: vec!["Door 7".into()] }));
    let again = world.wait(SECOND).act(Command::OffAgain { off: door });
    check(world.clone(), start(), Ok(&["test_started", "mark"]));
    // It is one valve: opened once, it is open.
    check(world.clone(), restore(again), Ok(&["restored", "restored"]));
    world.wait(SECOND).act(restore(again));
    assert!(world.visit().secured.iter().all(|off| !off.is_off()));
}

#[test]
fn two_positions_with_each_others_addresses_are_one_item() {
    // rule B24.
    let find = |one, other| Command::FindSwapped { visit: id(VISIT), one: id(one), other: id(other) };
    check(World::given(), find(POSITION, OTHER_POSITION), Ok(&["item_found"]));
    check(World::given(), find(POSITION, POSITION), Err(Refusal::UnknownPosition));
    check(World::given(), find(POSITION, 200), Err(Refusal::UnknownPosition));
    let mut world = World::given();
    world.act(find(POSITION, OTHER_POSITION));
    check(world, find(OTHER_POSITION, POSITION), Err(Refusal::NothingToAnswer));
}
