//! What comes after the look at the panel, and after the closing: looks that say nothing any more, acceptances that run out, other visits.

use super::*;
use soakbook::book::body::{Body, Edit, ItemWhat, NotOurs, PanelWhen, SiteRules, Work};
use soakbook::book::entry::{Chain, Scope};
use soakbook::book::refusal::Fault;
use soakbook::book::visit::{State, Visit, impaired_lately, impaired_limit_ms, off_elsewhere};

fn state(world: &World) -> State {
    world.visit().state(world.phone.wall)
}

fn shows(when: PanelWhen, trouble: &str) -> Command {
    see_panel(when, |panel| (panel.normal, panel.troubles) = (false, vec![trouble.to_string()]))
}

fn see_left() -> Command {
    see_panel(PanelWhen::Left, |_| {})
}

fn repair() -> Command {
    let (work, position, at) = (Work::Programming, id(POSITION), happened(MORNING));
    Command::Repair { visit: id(VISIT), position, work, item: None, note: None, happened: at }
}

fn items(world: &World) -> Vec<ItemWhat> {
    world.visit().items.iter().map(|item| item.found.what).collect()
}

#[test]
fn what_stays_off_by_name_is_put_right_after_the_closing_and_counts_again_when_its_time_is_over() {
    // rules B3, B20: the station stays on test until 10:00 and the visit is closed.
    let mut world = World::given();
    let (notice, until) = (station(&world), MORNING + 2 * HOUR);
    world.act(leave_off(notice, until, |_| {}));
    world.wait(SECOND).act(see_left());
    world.wait(SECOND).act(close());
    assert_eq!(state(&world), State::Closed);
    assert!(!world.visit().over());
    check(world.clone(), told_over(), Ok(&["notified"]));
    check(world.clone(), leave_off(notice, until + HOUR, |_| {}), Ok(&["left_off"]));
    world.wait(2 * HOUR);
    assert_eq!(state(&world), State::ClosedStillOff);
    check(world.clone(), leave_off(notice, until + HOUR, |_| {}), Ok(&["left_off"]));
    world.act(told_over());
    assert_eq!((state(&world), world.visit().over()), (State::Closed, true));
    check(world.clone(), told_over(), Err(Refusal::NoOpenVisit));
    check(world, see_left(), Err(Refusal::NoOpenVisit));
}

#[test]
fn a_panel_that_a_merge_shows_not_normal_is_off_until_it_is_seen_again_or_accepted() {
    // rule B18.
    let mut one = World::given();
    let mut two = one.other_phone();
    two.wait(SECOND).act(shows(PanelWhen::Left, "Ground fault"));
    one.leave().act(close());
    let mut merged = one.merged(&two);
    assert_eq!(state(&merged), State::ClosedStillOff);
    let off: Vec<_> = merged.visit().off_now();
    assert_eq!(off.iter().map(|off| off_word(&off.what)).collect::<Vec<_>>(), ["panel off"]);
    let look = off[0].entry;
    let mut left = merged.clone();
    left.wait(SECOND).act(leave_off(look, MORNING + 9 * HOUR, |_| {}));
    assert_eq!((state(&left), left.visit().over()), (State::Closed, false));
    // What it is held against is not found after the closing.
    check(merged.clone(), shows(PanelWhen::Found, "Ground fault"), Err(Refusal::NoOpenVisit));
    merged.wait(SECOND).act(see_left());
    assert_eq!((state(&merged), merged.visit().over()), (State::Closed, true));
}

#[test]
fn work_and_alarms_make_a_look_at_the_panel_stale() {
    let mut world = World::given();
    world.leave();
    assert_eq!(lacks(&world), [""; 0]);
    for work in [replace(POSITION), repair()] {
        let mut worked = world.clone();
        worked.wait(SECOND).act(work);
        assert_eq!(lacks(&worked), ["panel not seen"]);
        worked.wait(SECOND).act(see_left());
        assert_eq!(lacks(&worked), [""; 0]);
    }
    let alarm = world.wait(SECOND).act(Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None });
    assert_eq!(lacks(&world), ["not ours", "panel not seen"]);
    world.wait(SECOND).act(see_left());
    assert_eq!(lacks(&world), ["not ours"]);
    world.wait(SECOND).act(Command::ClearAlarm { alarm, by: named("Chief"), note: None });
    assert_eq!(lacks(&world), ["panel not seen"]);
}

#[test]
fn what_another_phone_did_later_makes_a_look_stale_and_a_look_after_it_settles_both() {
    let mut one = World::given();
    let mut two = one.other_phone();
    one.leave();
    two.wait(60 * SECOND).act(told_over());
    let mut seen = two.clone();
    two.wait(SECOND).act(impair(None));
    let off = two.visit().impaired[0].hash;
    two.wait(SECOND).act(restore(off));
    let mut merged = one.merged(&two);
    assert_eq!(lacks(&merged), ["panel not seen"]);
    merged.wait(5 * 60 * SECOND).act(see_left());
    assert_eq!(lacks(&merged), [""; 0]);
    // A look of the other phone that shows a trouble is settled by a look that knew of it.
    seen.wait(SECOND).act(shows(PanelWhen::Left, "Ground fault"));
    let mut merged = one.merged(&seen);
    assert_eq!(lacks(&merged), ["panel differs"]);
    merged.wait(5 * 60 * SECOND);
    check(merged.clone(), see_left(), Ok(&["panel_state", "restored"]));
    merged.act(see_left());
    assert_eq!(lacks(&merged), [""; 0]);
}

#[test]
fn each_panel_that_was_seen_as_found_is_seen_as_left() {
    let labelled = |when, label: &str| see_panel(when, |panel| panel.label = Some(label.into()));
    let mut world = World::given();
    world.act(labelled(PanelWhen::Found, "Panel 1"));
    world.act(labelled(PanelWhen::Found, "Panel 2"));
    world.act(told_over());
    world.wait(SECOND).act(labelled(PanelWhen::Left, "panel 1 "));
    let Err(Refusal::VisitNotOver(missing)) = world.decide(close()) else { unreachable!() };
    assert_eq!(missing, [Missing::PanelNotSeen(Some("Panel 2".into()))]);
    world.wait(SECOND).act(labelled(PanelWhen::Left, "Panel 2"));
    assert_eq!(lacks(&world), [""; 0]);
}

#[test]
fn another_method_that_nobody_saw_trip_is_no_result_and_leaves_a_trace() {
    let unknown = |other: &mut OtherMethod| {
        (other.tripped, other.point, other.restored) = (Answer::NotChecked, Point::NotChecked, Answer::NotChecked);
    };
    let mut world = World::given();
    check(world.clone(), other_method(POSITION, unknown), Ok(&["other_method", "item_found"]));
    world.act(other_method(POSITION, unknown));
    assert_eq!(items(&world), [ItemWhat::OperationNotProven]);
    assert!(!world.visit().has_result(id(POSITION)));
}

#[test]
fn another_method_has_a_basis() {
    // rule B10: text and basis.
    let basis = |basis: Option<&str>| {
        let basis = basis.map(str::to_string);
        other_method(POSITION, |other| other.basis = basis)
    };
    check(World::given(), basis(None), Err(Refusal::Field("OtherMethod.basis", Fault::Empty)));
    check(World::given(), basis(Some("Page 12")), Ok(&["other_method"]));
}

#[test]
fn a_laboratory_has_no_panel() {
    let mut world = World::given();
    world.act(other_method(POSITION, |other| {
        (other.method, other.point, other.restored) = (Method::Laboratory, Point::NotThere, Answer::No);
    }));
    assert_eq!(world.visit().off_now().len(), 1, "the station alone is on test");
    // That it stays tripped is wrong wherever it hangs.
    assert_eq!(items(&world), [ItemWhat::StaysInAlarm]);
}

#[test]
fn that_another_method_did_not_restore_opens_an_item_when_it_is_said_later() {
    let mut world = World::given();
    world.act(other_method(POSITION, |other| other.restored = Answer::NotChecked));
    let say = |restored| Command::SayRestore { test: id(90), restored, happened: happened(MORNING) };
    check(world.clone(), say(Answer::NotChecked), Ok(&["restore_said"]));
    world.act(say(Answer::No));
    assert_eq!(items(&world), [ItemWhat::StaysInAlarm]);
    assert_eq!(world.visit().items[0].found.position, Some(id(POSITION)));
}

#[test]
fn what_a_first_alarm_did_not_reach_is_an_item_of_the_circuit() {
    // rule B7.
    let proved = |point, saw| {
        let Command::ProveCircuit { visit, mut proof } = prove(Outputs::Stayed) else { unreachable!() };
        (proof.point, proof.station) = (point, saw);
        Command::ProveCircuit { visit, proof }
    };
    for (point, saw, what) in [
        (Point::Wrong, StationSaw::Received, ItemWhat::WrongPoint),
        (Point::NotThere, StationSaw::OnTest, ItemWhat::NotAtPanel),
        (Point::Right, StationSaw::Nothing, ItemWhat::Other),
    ] {
        let mut world = World::given();
        world.act(proved(point, saw));
        let found = &world.visit().items[0].found;
        assert_eq!((found.what, found.circuit, found.note), (what, Some(id(LOOP)), None));
    }
    check(World::given(), proved(Point::NotChecked, StationSaw::NotChecked), Ok(&["circuit_proved"]));
}

#[test]
fn of_several_invitations_none_is_answered_by_whichever_phone_takes_part() {
    let mut world = World::given();
    for name in [b"one".as_slice(), b"two"] {
        world.act(Command::InvitePhone { visit: id(VISIT), name: Hash::of(name) });
    }
    let mut other = world.other_phone();
    other.wait(SECOND).act(lift(true));
    assert_eq!(other.visit().record.awaited().count(), 2);
}

#[test]
fn of_two_limits_that_stand_side_by_side_the_smaller_counts() {
    let mut world = World::given();
    for (minutes, phone) in [(Some(480), world.phone.id), (Some(120), id(120)), (None, id(121))] {
        let rules = SiteRules {
            visit_interval_months: None,
            impairment_limit_min: minutes,
            written_notice_h: None,
            rules: Vec::new(),
            notify: Vec::new(),
        };
        let chain = Chain { scope: Scope::Site(id(SITE)), phone };
        let (seq, tip) = world.book.tip(chain).map_or((0, None), |tip| (tip.seq + 1, Some(tip.hash)));
        let edit = Body::SiteRules(Edit::new(id(SITE), Vec::new(), rules));
        world.book.apply(sealed(chain, seq, tip, world.phone.stamp(), edit));
    }
    assert_eq!(impaired_limit_ms(&world.register(), id(SITE)), 2 * HOUR);
}

#[test]
fn a_visit_that_was_opened_long_ago_counts_by_what_was_impaired_within_the_day() {
    let mut world = World::given();
    world.wait(8 * 24 * HOUR);
    let off = world.act(impair(None));
    let now = world.wait(HOUR).phone.wall;
    world.act(Command::Restore { ends: off, by: me(), happened: happened(now) });
    let lately = |now| impaired_lately(&world.book, id(SITE), now).len();
    assert_eq!((lately(now), lately(now + 23 * HOUR), lately(now + 25 * HOUR)), (1, 1, 0));
}

#[test]
fn what_is_off_in_another_visit_is_found_whatever_is_on_screen() {
    let mut world = World::given();
    let (notice, next) = (station(&world), id(200));
    let other = |world: &World, shown| {
        off_elsewhere(&world.book, shown, world.phone.wall, |_| false).map(|visit: std::sync::Arc<Visit>| visit.id)
    };
    world.wait(SECOND).act(Command::OpenVisit { visit: next, site: id(SITE), plan: plan() });
    assert_eq!(other(&world, Some(next)), Some(id(VISIT)));
    assert_eq!(other(&world, Some(id(VISIT))), None);
    world.act(leave_off(notice, world.phone.wall + HOUR, |_| {}));
    world.wait(SECOND).act(see_left());
    world.wait(SECOND).act(close());
    assert_eq!(other(&world, Some(next)), None);
    // The acceptance runs out: closed, still off.
    world.wait(HOUR);
    assert_eq!(other(&world, Some(next)), Some(id(VISIT)));
    assert_eq!(off_elsewhere(&world.book, Some(next), world.phone.wall, |_| true), None);
}
