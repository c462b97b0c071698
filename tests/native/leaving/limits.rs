//! Clocks of what is off: limits roll over 24 h, whatever the clocks of phones do.

use super::*;
use soakbook::book::body::{Body, Edit, SiteRules};
use soakbook::book::entry::{Chain, Scope};
use soakbook::book::visit::{ImpairedTime, Near, impaired_limit_ms, impaired_times};
use soakbook::units::Wall;

const MINUTE: i64 = 60 * SECOND;

/// NFPA 101 (2009) 9.6.1.6: 4 h in 24 h.
const LIMIT: i64 = 4 * HOUR;

/// Impaired from a time to another, both given by a person.
fn spell(world: &mut World, circuit: Option<u8>, from: Wall, until: Option<Wall>) {
    world.phone.wall = world.phone.wall.max(from).max(until.unwrap_or(from));
    let Command::Impair { visit, mut impaired } = impair(circuit) else { unreachable!() };
    impaired.happened = happened(from);
    world.wait(SECOND).act(Command::Impair { visit, impaired });
    let off = world.visit().impaired.iter().find(|off| off.what.happened == happened(from)).map(|off| off.hash);
    let off = off.expect("an impairment");
    if let Some(until) = until {
        world.wait(SECOND).act(Command::Restore { ends: off, by: me(), happened: happened(until) });
    }
}

fn times(world: &World, now: Wall) -> Vec<ImpairedTime> {
    impaired_times([&world.visit()], LIMIT, now)
}

fn whole(world: &World, now: Wall) -> ImpairedTime {
    times(world, now).remove(0)
}

#[test]
fn impairments_add_up_over_24_hours_as_a_union_of_intervals() {
    // rule B5. Union by hand: 8:00 to 9:00 and 8:30 to 10:00 are two hours.
    let mut world = World::given();
    spell(&mut world, Some(LOOP), MORNING, Some(MORNING + HOUR));
    spell(&mut world, Some(LINE), MORNING + HOUR / 2, Some(MORNING + 2 * HOUR));
    let at = |hours: i64| times(&world, MORNING + hours * HOUR).iter().map(|of| of.in_24_h_ms).collect::<Vec<_>>();
    assert_eq!(at(3), [2 * HOUR, HOUR, HOUR * 3 / 2]);
    // At 9:00 the next day the first hour has rolled out, and of the second what was after 9:00 is left.
    assert_eq!(at(25), [HOUR, 0, HOUR]);
    assert_eq!(at(26), [0, 0, 0]);
}

#[test]
fn two_phones_of_one_impairment_count_at_their_longest() {
    let mut one = World::given();
    let mut two = one.other_phone();
    spell(&mut one, None, MORNING, Some(MORNING + HOUR));
    spell(&mut two, None, MORNING + 5 * MINUTE, Some(MORNING + HOUR + 10 * MINUTE));
    let merged = one.merged(&two);
    let all = times(&merged, MORNING + 3 * HOUR);
    assert_eq!(all.iter().map(|of| of.in_24_h_ms).collect::<Vec<_>>(), [HOUR + 10 * MINUTE; 2]);
}

#[test]
fn a_limit_is_warned_of_half_an_hour_before_and_at_it_and_only_while_it_runs() {
    let mut world = World::given();
    spell(&mut world, None, MORNING, None);
    let near = |ms: i64| whole(&world, MORNING + ms).near();
    assert_eq!(near(LIMIT - 30 * MINUTE - 1), Near::Far);
    assert_eq!(near(LIMIT - 30 * MINUTE), Near::Soon);
    assert_eq!(near(LIMIT - 1), Near::Soon);
    assert_eq!(near(LIMIT), Near::Over);
    // Over midnight and days on: it never falls back while it runs.
    assert_eq!(near(40 * HOUR), Near::Over);
    let mut back = World::given();
    spell(&mut back, None, MORNING, Some(MORNING + LIMIT - 10 * MINUTE));
    assert_eq!(whole(&back, MORNING + 5 * HOUR).near(), Near::Far);
    // Taken out once more the next morning before yesterday's has rolled out: 3:50 and then ten minutes.
    spell(&mut back, None, MORNING + 8 * HOUR, None);
    assert_eq!(whole(&back, MORNING + 8 * HOUR).near(), Near::Soon);
    assert_eq!(whole(&back, MORNING + 8 * HOUR + 10 * MINUTE).near(), Near::Over);
}

#[test]
fn a_clock_that_was_set_back_takes_nothing_off() {
    let mut world = World::given();
    spell(&mut world, None, MORNING, None);
    world.wait(3 * HOUR).act(lift(true));
    let before = whole(&world, world.phone.wall).in_24_h_ms;
    world.set_clock(-2 * HOUR);
    assert_eq!(whole(&world, world.phone.wall).in_24_h_ms, before);
    // Killed and started again, it counts on from what was recorded.
    world.restart(10 * MINUTE);
    assert!(whole(&world, world.phone.wall).in_24_h_ms >= before);
    // A clock far ahead by mistake is no day of impairment once it is right again.
    let mut ahead = World::given();
    spell(&mut ahead, None, MORNING, None);
    ahead.set_clock(20 * 24 * HOUR);
    ahead.act(lift(true));
    assert_eq!(whole(&ahead, MORNING + HOUR).in_24_h_ms, HOUR);
}

#[test]
fn the_limit_is_the_sites() {
    let mut world = World::given();
    assert_eq!(impaired_limit_ms(&world.register(), id(SITE)), LIMIT);
    let rules = SiteRules {
        visit_interval_months: None,
        impairment_limit_min: Some(480),
        written_notice_h: None,
        rules: Vec::new(),
        notify: Vec::new(),
    };
    let chain = Chain { scope: Scope::Site(id(SITE)), phone: world.phone.id };
    let (seq, tip) = world.book.tip(chain).map(|tip| (tip.seq + 1, tip.hash)).unwrap();
    let edit = Body::SiteRules(Edit::new(id(SITE), Vec::new(), rules));
    world.book.apply(sealed(chain, seq, Some(tip), world.phone.stamp(), edit));
    assert_eq!(impaired_limit_ms(&world.register(), id(SITE)), 8 * HOUR);
}

#[test]
fn the_stations_window_is_warned_of_and_once_it_has_lapsed_refuses_the_next_heat() {
    // rule B3.
    let mut world = World::not_notified();
    let until = MORNING + 2 * HOUR;
    world.act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| notice.test_until = Some(until)));
    let near = |world: &World, now| world.visit().window(now).map(|window| window.near);
    assert_eq!(near(&world, until - 15 * MINUTE - 1), Some(Near::Far));
    assert_eq!(near(&world, until - 15 * MINUTE), Some(Near::Soon));
    assert_eq!(near(&world, until), Some(Near::Over));
    let ready = start_with(|start| start.procedure = Some(id(FUNCTIONAL)));
    world.wait(2 * HOUR);
    check(world.clone(), ready, Err(Refusal::StationLapsed { at: until }));
    // Told that testing is over, there is no window to lapse.
    world.act(told_over());
    assert_eq!(near(&world, until), None);
}

#[test]
fn minutes_never_run_backwards_below_nothing() {
    let mut world = World::given();
    let off = world.act(impair(None));
    let now = |at| world.visit().off_now().iter().find(|now| now.entry == off).map(|now| now.for_ms(at));
    assert_eq!((now(MORNING + 47 * MINUTE), now(MORNING - HOUR)), (Some(47 * MINUTE), Some(0)));
}
