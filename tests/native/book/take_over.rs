//! A test belongs to the phone that started it, until another one takes over.

use crate::kit::*;
use soakbook::book::body::Ending;
use soakbook::book::body::What::{AtTop, HeaterOff, Tripped};
use soakbook::book::clock::ClockNote;
use soakbook::book::command::Command;
use soakbook::book::refusal::Refusal;
use soakbook::book::timeline::Phase;
use soakbook::trade::conditions::Restores::NotWatched;
use soakbook::units::TestTime;

/// One phone at 100 s of a test that tripped at 50 s, and another beside it with the same wall clock.
fn two() -> (World, World) {
    let mut one = World::running(SELF_HEATER, SET_POINT, NotWatched);
    let mut two = one.other_phone();
    one.taps(&[(50, Tripped)]);
    one.wait_until(100);
    two.book.merge(one.book.clone());
    two.wait(100 * SECOND);
    (one, two)
}

const TAKE_OVER: Command = Command::TakeOver { test: TEST_ID };
const TEST_ID: soakbook::book::Id = soakbook::book::Id::from_u128(0x019cad8f_ac00_7000_8000_00000000000b);

#[test]
fn the_test_is_the_one_of_the_kit() {
    assert_eq!(TEST_ID, id(TEST));
}

#[test]
fn another_phone_cannot_mark_move_or_end_it() {
    let (_, two) = two();
    let trip = two.test().marks[1].hash;
    check(two.clone(), Command::Mark { of: id(TEST), what: AtTop }, Err(Refusal::OtherPhonesTest));
    check(two.clone(), Command::Read { of: id(TEST), reading: c(80), trip: None }, Err(Refusal::OtherPhonesTest));
    check(two.clone(), Command::End { test: id(TEST), how: Ending::StoppedEarly }, Err(Refusal::OtherPhonesTest));
    check(two.clone(), Command::Move { mark: trip, by_ms: -1 }, Err(Refusal::NoSuchMark));
    check(two, Command::Undo { target: trip }, Err(Refusal::NothingToUndo));
}

#[test]
fn the_phone_that_takes_over_goes_on_by_the_two_walls() {
    let (one, mut two) = two();
    // The last entry of the first phone is the trip at 50 s by its wall; now it is 100 s by the other's.
    two.act(TAKE_OVER);
    assert_eq!(two.now(), TestTime(100_000));
    assert_eq!(two.test().keeper, two.phone.id);
    assert_eq!(two.test().clock_notes, [(TestTime(50_000), ClockNote::OtherPhone { away_ms: 50_000 })]);
    two.wait(10 * SECOND).mark(AtTop);
    assert_eq!(two.phase(), Phase::Soak { heat_up: 1, since: TestTime(110_000), until: Some(TestTime(410_000)) });
    check(two.clone(), TAKE_OVER, Ok(&[]));
    // The first phone has heard of it.
    check(one.merged(&two), Command::Mark { of: id(TEST), what: AtTop }, Err(Refusal::OtherPhonesTest));
}

#[test]
fn what_the_old_phone_marks_later_is_listed_and_changes_nothing() {
    let (mut one, mut two) = two();
    two.act(TAKE_OVER);
    let late = one.mark(HeaterOff);
    let trip = one.test().marks[1].hash;
    one.wait(SECOND);
    let moved = one.act(Command::Move { mark: trip, by_ms: -20_000 });
    let both = two.merged(&one);
    assert_eq!(both.test().after_take_over.len(), 2);
    assert!([late, moved].iter().all(|hash| both.test().after_take_over.contains(hash)));
    assert!(both.test().marks.iter().all(|mark| mark.hash != late));
    assert_eq!(both.phase(), two.phase());
    assert_eq!(both.test().marks, two.test().marks);
    assert_eq!(one.merged(&two).test(), both.test());
}

#[test]
fn a_move_by_another_phone_or_to_a_session_nobody_knows_changes_nothing() {
    use soakbook::book::body::Body;
    use soakbook::book::entry::{Chain, Scope};
    let (one, two) = two();
    let trip = one.test().marks[1];
    let marks = |world: &World, phone: &Phone, to_session| {
        let mut world = world.clone();
        let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: phone.id };
        let seq = world.book.tip(chain).map_or(0, |tip| tip.seq + 1);
        let body = Body::Moved { mark: trip.hash, to_session, to_mono: trip.stamp.mono - 20_000 };
        world.book.apply(sealed(chain, seq, Some(trip.hash), phone.stamp(), body));
        world.test().marks
    };
    let here = trip.stamp.session;
    assert_eq!(marks(&one, &two.phone, here), one.test().marks);
    assert_eq!(marks(&one, &one.phone, id(200)), one.test().marks);
    // The same entry by the mark's own phone, in the mark's own session, moves it.
    assert_eq!(marks(&one, &one.phone, here)[1].at, TestTime(30_000));
}

#[test]
fn only_its_own_last_step_is_offered_for_undo() {
    let (one, mut two) = two();
    assert_eq!(one.test().last, Some(one.test().marks[1].hash));
    two.act(TAKE_OVER);
    assert_eq!(two.test().last, None);
    let mark = two.wait(SECOND).mark(AtTop);
    assert_eq!(two.test().last, Some(mark));
}

#[test]
fn a_test_can_be_taken_back() {
    let (one, mut two) = two();
    two.act(TAKE_OVER);
    two.wait(10 * SECOND).mark(AtTop);
    let mut one = one.merged(&two);
    one.wait(20 * SECOND);
    check(one.clone(), TAKE_OVER, Ok(&["test_taken_over"]));
    one.act(TAKE_OVER);
    assert_eq!(one.test().keeper, one.phone.id);
    // By hand: the other's mark at 110 s, and 10 s more by the walls.
    assert_eq!(one.now(), TestTime(120_000));
    one.wait(SECOND).mark(HeaterOff);
    assert_eq!(one.phase(), Phase::Cool { heat_up: 1, since: TestTime(121_000), until: Some(TestTime(166_000)) });
    assert!(one.test().after_take_over.is_empty());
}

#[test]
fn of_two_that_take_over_the_first_in_the_old_chain_keeps_it_and_the_other_is_listed() {
    let (mut one, mut two) = two();
    two.act(TAKE_OVER);
    let mark = one.mark(AtTop);
    let mut three = one.clone();
    three.phone = Phone { wall: one.phone.wall, ..Phone::new(120) };
    three.act(TAKE_OVER);
    let lost = three.wait(SECOND).mark(HeaterOff);
    let both = two.merged(&three);
    assert_eq!(both.test().keeper, two.phone.id);
    assert!([mark, lost].iter().all(|hash| both.test().after_take_over.contains(hash)));
}

#[test]
fn an_ended_test_is_not_taken_over() {
    let (mut one, two) = two();
    one.act(Command::End { test: id(TEST), how: Ending::StoppedEarly });
    check(two.merged(&one), TAKE_OVER, Err(Refusal::TestEnded));
    check(two, Command::TakeOver { test: id(200) }, Err(Refusal::UnknownTest));
}

#[test]
fn a_mark_after_another_phones_closing_shows() {
    let (mut one, mut two) = two();
    // The other phone does not know of the test and closes.
    let mut stranger = World { book: World::given().book, ..two.clone() };
    stranger.leave().act(Command::CloseVisit { visit: id(VISIT) });
    one.wait(10 * SECOND);
    let late = one.mark(AtTop);
    two.book.merge(one.book.clone());
    two.book.merge(stranger.book);
    assert_eq!(two.visit().after_closing, [late]);
}
