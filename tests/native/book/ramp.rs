//! Guided ramps. Expected phases and times are reckoned by hand from the taps; rules from the entry format and design 6.1.

use super::kit::*;
use soakbook::book::body::What::{self, AtUpper, HeadOff, HeadOn, HeatOn, Tripped};
use soakbook::book::clock::ClockNote;
use soakbook::book::command::{Command, StartRamp};
use soakbook::book::entry::{Entry, Hash, Scope};
use soakbook::book::health::{Misfit, misfits};
use soakbook::book::log::Book;
use soakbook::book::ramp::{CURVE_OF, Ramp, RampPhase, curve_of, ramps, ramps_of};
use soakbook::book::refusal::{Field, Refusal};
use soakbook::trade::detector::Duty;
use soakbook::trade::head::Heating;
use soakbook::trade::heating::Heat;
use soakbook::trade::kind::Kind;
use soakbook::trade::seen::{Resets::NotWatched, Sign, Warmth};
use soakbook::units::{Celsius, Reading};

const RAMP: u8 = 30;

fn start_ramp() -> StartRamp {
    StartRamp {
        ramp: id(RAMP),
        head: id(SELF_HEAD),
        setting: c(90),
        mode: None,
        detector: None,
        ambient: c(20),
        head_warmth: Warmth::Cold,
        by: Some(id(PERSON)),
    }
}

fn ramp_with(change: impl FnOnce(&mut StartRamp)) -> Command {
    let mut start = start_ramp();
    change(&mut start);
    Command::StartRamp(Box::new(start))
}

fn read(celsius: i64) -> Command {
    Command::Read { run: id(RAMP), reading: c(celsius), trip: None }
}

fn end(usable: bool) -> Command {
    Command::EndRamp { ramp: id(RAMP), usable }
}

fn mark(what: What) -> Command {
    Command::Mark { run: id(RAMP), what }
}

fn heating() -> World {
    let mut world = World::given();
    world.wait(SECOND);
    world.act(ramp_with(|_| {}));
    world
}

/// Every command so many seconds after the start of the ramp.
fn at(world: &mut World, taps: &[(i64, Command)]) -> Vec<Hash> {
    let act = |(second, command): &(i64, Command)| {
        world.wait(second * SECOND - now(world));
        world.act(command.clone())
    };
    taps.iter().map(act).collect()
}

fn now(world: &World) -> i64 {
    ramp(world).time_on(world.phone.id, world.phone.stamp())
}

#[track_caller]
fn ramp(world: &World) -> Ramp {
    Ramp::of(&world.book, id(RAMP)).expect("a ramp")
}

/// Three readings while heating, upper temperature at 60 s, off at 90 s, two readings while cooling; the end at 200 s.
fn whole() -> (World, Hash) {
    let mut world = heating();
    let taps = [
        (10, read(30)),
        (30, read(60)),
        (50, read(80)),
        (60, mark(AtUpper)),
        (70, read(95)),
        (90, mark(HeadOff)),
        (120, read(85)),
        (180, read(50)),
        (200, end(true)),
    ];
    let hashes = at(&mut world, &taps);
    let ended = hashes[hashes.len() - 1];
    (world, ended)
}

/// Another usable ramp with its own id, an hour after the one before.
fn another(world: &mut World, n: u8, change: impl FnOnce(&mut StartRamp)) -> Hash {
    world.wait(3_600 * SECOND);
    world.act(ramp_with(|start| {
        start.ramp = id(n);
        change(start);
    }));
    for celsius in [30, 60, 80] {
        world.wait(10 * SECOND);
        world.act(Command::Read { run: id(n), reading: c(celsius), trip: None });
    }
    world.wait(SECOND);
    world.act(Command::Mark { run: id(n), what: HeadOff });
    world.wait(SECOND);
    world.act(Command::EndRamp { ramp: id(n), usable: true })
}

fn times(ramp: &Ramp) -> Vec<i64> {
    ramp.readings.iter().map(|reading| reading.at / SECOND).collect()
}

#[test]
fn one_tap_starts_a_ramp_and_its_heat() {
    let mut given = World::given();
    given.wait(SECOND);
    check(given, ramp_with(|_| {}), Ok(&["ramp_started", "mark"]));
    let ramp = ramp(&heating());
    assert_eq!((ramp.phase(), ramp.frozen.by), (RampPhase::Heating { since: 0 }, Some(id(PERSON))));
    assert_eq!(ramp.started_wall, MORNING + SECOND);
    assert!(ramp.frozen.head.curve.is_empty());
}

#[test]
fn marks_lead_through_the_parts_and_readings_fall_into_them() {
    let mut world = heating();
    at(&mut world, &[(10, read(30)), (60, mark(AtUpper))]);
    assert_eq!(ramp(&world).phase(), RampPhase::Holding { since: 60_000 });
    at(&mut world, &[(70, read(95)), (90, mark(HeadOff))]);
    assert_eq!(ramp(&world).phase(), RampPhase::Cooling { since: 90_000 });
    let (whole, ended) = whole();
    let ramp = ramp(&whole);
    assert_eq!(ramp.phase(), RampPhase::Ended { at: 200_000, usable: true });
    assert_eq!(ramp.ended.map(|end| end.hash), Some(ended));
    let heated: Vec<i64> = ramp.while_heating().iter().map(|reading| reading.at).collect();
    assert_eq!(heated, [10_000, 30_000, 50_000]);
    let (off, cooled) = ramp.while_cooling();
    assert_eq!((off, cooled.iter().map(|reading| reading.at).collect::<Vec<_>>()), (90_000, vec![120_000, 180_000]));
}

#[test]
fn a_reading_counts_from_the_tap_that_asked_for_it() {
    // "Read now" at 10 s; while the digits are dialled the head reaches its upper temperature at 13 s.
    let mut world = heating();
    world.wait(10 * SECOND);
    let pressed = world.phone.clone();
    at(&mut world, &[(13, mark(AtUpper))]);
    let later = std::mem::replace(&mut world.phone, pressed);
    world.act(read(70));
    world.phone = later;
    let ramp = ramp(&world);
    assert_eq!((times(&ramp), ramp.while_heating().len()), (vec![10], 1));
    assert_eq!(now(&world), 13 * SECOND);
    // A sleep between the two taps moves neither.
    let mut slept = heating();
    slept.wait(10 * SECOND);
    let pressed = slept.phone.clone();
    slept.wait(SECOND).sleep(60 * SECOND);
    slept.act(Command::NoteGap { scope: Scope::Kit, wall_ms: 60_250, mono_ms: 250, hidden: true });
    let later = std::mem::replace(&mut slept.phone, pressed);
    slept.act(read(70));
    slept.phone = later;
    assert_eq!((times(&self::ramp(&slept)), now(&slept)), (vec![10], 71 * SECOND));
    at(&mut slept, &[(80, read(90))]);
    assert_eq!(times(&self::ramp(&slept)), [10, 80]);
}

#[test]
fn each_start_that_would_be_wrong_is_refused() {
    let given = World::given;
    let no = |world: World, change: &dyn Fn(&mut StartRamp), refusal: Refusal| {
        check(world, ramp_with(|start| change(start)), Err(refusal));
    };
    let mut closed = given();
    closed.phone.durable = false;
    no(closed, &|_| {}, Refusal::NotDurable);
    no(given(), &|s| s.head = id(99), Refusal::UnknownHead);
    no(given(), &|s| s.setting = c(91), Refusal::NoSuchSetting);
    no(given(), &|s| s.mode = Some("fast".into()), Refusal::NoSuchSetting);
    no(given(), &|s| s.detector = Some(id(99)), Refusal::UnknownDetector);
    let range = Field::Temperature { name: "Ambient temperature", from: Celsius(-40.0), to: Celsius(90.0) };
    no(given(), &|s| s.ambient = c(91), Refusal::Field(range));
    let mut modes = given();
    modes.act(put_head(SELF_HEAD, Heating { modes: vec!["fast".into()], ..by_itself() }));
    no(modes, &|_| {}, Refusal::Field(Field::Choose { name: "Heating mode" }));
    // One head, one thing at a time.
    no(heating(), &|s| s.ramp = id(31), Refusal::HeadInRamp);
    no(World::running(SELF_HEAD, SET_POINT, NotWatched), &|_| {}, Refusal::HeadBusy { run: id(RUN) });
}

#[test]
fn what_may_not_be_heated_is_refused_as_the_detector_in_place() {
    let of = |kind, duty: Duty| {
        let mut world = World::given();
        let marking = soakbook::trade::detector::Marking { kind, ..marking() };
        world.act(put_detector(DETECTOR, "HD-1", marking, duty));
        world
    };
    let on = |s: &mut StartRamp| s.detector = Some(id(DETECTOR));
    for kind in [Kind::FixedNonrestorable, Kind::CombinationNonrestorable] {
        check(of(kind, Duty::default()), ramp_with(on), Err(Refusal::Heat(Heat::UsesUpElement)));
    }
    for kind in [Kind::RateCompensated, Kind::FixedRestorable, Kind::CombinationRestorable, Kind::Electronic] {
        check(of(kind, Duty::default()), ramp_with(on), Ok(&["ramp_started", "mark"]));
    }
    let mut retired = of(Kind::RateCompensated, Duty::default());
    retired.act(Command::RetireDetector { detector: id(DETECTOR), retired: true });
    check(retired, ramp_with(on), Err(Refusal::UnknownDetector));
    let releases = Duty { releases: vec!["Door 7".into()], ..Duty::default() };
    let mut secured = of(Kind::RateCompensated, releases);
    check(secured.clone(), ramp_with(on), Err(Refusal::NotSecured { releases: vec!["Door 7".into()] }));
    secured.act(Command::Secure { round: id(ROUND), release: "Door 7".into(), by: id(PERSON) });
    check(secured, ramp_with(on), Ok(&["ramp_started", "mark"]));
    let classified = Duty { classified: true, ..Duty::default() };
    check(of(Kind::RateCompensated, classified), ramp_with(on), Err(Refusal::NoPermit));
}

#[test]
fn a_ramp_and_a_run_do_not_disturb_each_other() {
    let both = |s: &mut StartRamp| (s.head, s.detector) = (id(HAND_HEAD), Some(id(DETECTOR)));
    let other = |s: &mut StartRamp| (s.head, s.detector) = (id(HAND_HEAD), Some(id(OTHER_DETECTOR)));
    // A run on the first detector; the loop cannot tell the two apart, but the run is seen by the detector's own lamp.
    let run = World::running(SELF_HEAD, SET_POINT, NotWatched);
    check(run.clone(), ramp_with(both), Err(Refusal::DetectorBusy));
    check(run, ramp_with(other), Ok(&["ramp_started", "mark"]));
    let mut panel = World::given();
    panel.act(start_with(|s| s.seen_by.sign = Sign::Person));
    check(panel, ramp_with(other), Err(Refusal::TripsNotTellable { run: id(RUN) }));
    // A ramp on the other detector, then a run.
    let mut ramping = World::given();
    ramping.act(ramp_with(other));
    check(ramping.clone(), start_with(|s| s.head = id(HAND_HEAD)), Err(Refusal::HeadInRamp));
    check(ramping.clone(), start_with(|s| s.detector = id(OTHER_DETECTOR)), Err(Refusal::DetectorInRamp));
    check(ramping.clone(), start_with(|s| s.seen_by.sign = Sign::Person), Err(Refusal::DetectorInRamp));
    check(ramping, start_with(|_| {}), Ok(&["run_started", "mark"]));
}

#[test]
fn marks_and_readings_keep_to_the_parts_of_a_ramp() {
    let mut world = heating();
    for what in [HeatOn, HeadOn, Tripped] {
        check(world.clone(), mark(what), Err(Refusal::NotInRamp));
    }
    // By hand: 10 K less than the ambient temperature of 20 °C. A reading of 150.4 without its last digit is one of 15.0.
    let range = || Err(Refusal::Field(Field::Temperature { name: "Reading", from: Celsius(10.0), to: Celsius(400.0) }));
    check(world.clone(), read(401), range());
    check(world.clone(), read(9), range());
    at(&mut world, &[(60, mark(AtUpper)), (90, mark(HeadOff))]);
    check(world.clone(), mark(AtUpper), Err(Refusal::NotInRamp));
    check(world, mark(HeadOff), Err(Refusal::NotInRamp));
    let (world, _) = whole();
    for command in [mark(HeadOff), read(40), end(false)] {
        check(world.clone(), command, Err(Refusal::RampEnded));
    }
    let mut other = World::given();
    check(other.clone(), end(false), Err(Refusal::UnknownRamp));
    other = heating().other_phone();
    for command in [mark(AtUpper), read(40), end(false)] {
        check(other.clone(), command, Err(Refusal::OtherPhonesRamp));
    }
}

#[test]
fn a_ramp_is_usable_only_with_readings_and_the_head_off() {
    let mut world = heating();
    at(&mut world, &[(10, read(30)), (20, read(40))]);
    check(world.clone(), end(true), Err(Refusal::HeadStillOn));
    at(&mut world, &[(60, mark(HeadOff)), (70, read(60)), (80, read(50))]);
    check(world.clone(), end(true), Err(Refusal::TooFewReadings { have: 2, least: 3 }));
    check(world, end(false), Ok(&["ramp_ended"]));
}

#[test]
fn marks_can_be_taken_back_and_moved() {
    let mut world = heating();
    let hashes = at(&mut world, &[(10, read(30)), (60, mark(AtUpper)), (63, read(90))]);
    at(&mut world, &[(65, Command::Undo { target: hashes[1] })]);
    assert_eq!(ramp(&world).phase(), RampPhase::Heating { since: 0 });
    let hashes = at(&mut world, &[(70, mark(AtUpper)), (75, Command::Undo { target: hashes[2] })]);
    assert_eq!(times(&ramp(&world)), [10]);
    at(&mut world, &[(76, Command::Move { mark: hashes[0], by_ms: -4_000 })]);
    assert_eq!(ramp(&world).phase(), RampPhase::Holding { since: 66_000 });
    let moved = |by_ms| Command::Move { mark: hashes[0], by_ms };
    check(world.clone(), moved(-67_000), Err(Refusal::MoveOutside));
    check(world.clone(), moved(11_000), Err(Refusal::MoveOutside));
    // Heat on moved 3 s later: everything else is 3 s nearer to it. Not past the first reading.
    let heat_on = ramp(&world).marks[0].hash;
    check(world.clone(), Command::Move { mark: heat_on, by_ms: 11_000 }, Err(Refusal::MoveOutside));
    at(&mut world, &[(80, Command::Move { mark: heat_on, by_ms: 3_000 })]);
    assert_eq!((times(&ramp(&world)), ramp(&world).phase()), (vec![7], RampPhase::Holding { since: 63_000 }));
    // Taking back the start takes back the ramp.
    let start = ramp(&world).start;
    world.act(Command::Undo { target: start });
    assert_eq!(Ramp::of(&world.book, id(RAMP)), None);
    check(world, ramp_with(|start| start.ramp = id(31)), Ok(&["ramp_started", "mark"]));
}

#[test]
fn a_ramp_survives_kills_sleep_and_set_clocks() {
    // A reading at 10 s, killed, started again 20 s later, a reading 5 s after that.
    let mut world = heating();
    at(&mut world, &[(10, read(30))]);
    world.restart(20 * SECOND);
    assert_eq!(now(&world), 30 * SECOND);
    world.wait(5 * SECOND);
    world.act(read(60));
    assert_eq!(times(&ramp(&world)), [10, 35]);
    // Asleep for 60 s, noticed a second after waking.
    world.sleep(60 * SECOND).wait(SECOND);
    let gap = world.act(Command::NoteGap { scope: Scope::Kit, wall_ms: 61_000, mono_ms: 1_000, hidden: true });
    assert_eq!(now(&world), 96 * SECOND);
    // Or somebody set the clock.
    world.wait(SECOND);
    world.act(Command::AnswerGap { gap, asleep: false });
    assert_eq!(now(&world), 37 * SECOND);
    let notes: Vec<ClockNote> = ramp(&world).clock_notes.iter().map(|(_, note)| *note).collect();
    assert_eq!(notes, [ClockNote::Restarted { away_ms: 25_000 }, ClockNote::SetForward { by_ms: 60_000 }]);
    // The wall set back while the app was closed: time goes on from the start of the new session.
    world.restart(-600 * SECOND).wait(4 * SECOND);
    assert_eq!(now(&world), 41 * SECOND);
}

#[test]
fn a_run_freezes_the_usable_ramps_of_its_head_and_mode() {
    let (mut world, first) = whole();
    let second = another(&mut world, 31, |start| start.setting = c(60));
    another(&mut world, 32, |start| start.head = id(HAND_HEAD));
    world.wait(3_600 * SECOND);
    world.act(ramp_with(|start| start.ramp = id(33)));
    world.wait(SECOND);
    world.act(Command::EndRamp { ramp: id(33), usable: false });
    let frozen = |world: &World| {
        let mut world = world.clone();
        world.wait(SECOND);
        world.act(start_with(|_| {}));
        world.run().frozen.head.curve.clone()
    };
    // Newest first; the other setting counts, the other head and the one that is not usable do not.
    assert_eq!(frozen(&world), [second, first]);
    // Nor does another mode.
    let modes = vec!["fast".to_string()];
    world.act(put_head(SELF_HEAD, Heating { modes: modes.clone(), ..by_itself() }));
    let fast = another(&mut world, 34, |start| start.mode = Some("fast".into()));
    assert_eq!(curve_of(&world.book, id(SELF_HEAD), Some(&modes[0])), [fast]);
    assert_eq!(frozen(&world), [second, first]);
    // At most the newest.
    let more: Vec<Hash> = (40..47).map(|n| another(&mut world, n, |start| start.mode = Some("fast".into()))).collect();
    let newest: Vec<Hash> = more.into_iter().rev().take(CURVE_OF).collect();
    assert_eq!(curve_of(&world.book, id(SELF_HEAD), Some(&modes[0])), newest);
    assert_eq!(ramps_of(&world.book, id(SELF_HEAD)).len(), 11);
}

#[test]
fn what_a_run_was_judged_by_stays_whatever_is_undone_later() {
    let (mut world, ended) = whole();
    let before = ramps(&world.book, &[ended]);
    assert_eq!(before, [ramp(&world)]);
    let reading = ramp(&world).readings[0].hash;
    world.wait(SECOND);
    world.act(Command::Undo { target: ended });
    world.wait(SECOND);
    world.act(Command::Undo { target: reading });
    world.wait(SECOND);
    world.act(mark_moved(&world));
    assert_eq!(ramps(&world.book, &[ended]), before);
    assert_eq!(curve_of(&world.book, id(SELF_HEAD), None), []);
    world.wait(SECOND);
    let again = world.act(end(false));
    assert_eq!(ramps(&world.book, &[ended]), before);
    assert_eq!(ramps(&world.book, &[again]), [ramp(&world)]);
    assert_eq!(
        (ramp(&world).readings.len(), ramp(&world).phase()),
        (5, RampPhase::Ended { at: now(&world), usable: false })
    );
    // An answer about the clocks that comes after the end does not change it either.
    let mut asleep = heating();
    at(&mut asleep, &[(10, read(30)), (20, read(40)), (30, read(50))]);
    asleep.sleep(60 * SECOND).wait(SECOND);
    let gap = asleep.act(Command::NoteGap { scope: Scope::Kit, wall_ms: 61_000, mono_ms: 1_000, hidden: true });
    asleep.wait(SECOND);
    asleep.act(mark(HeadOff));
    asleep.wait(SECOND);
    let ended = asleep.act(end(true));
    let before = ramps(&asleep.book, &[ended]);
    asleep.wait(SECOND);
    asleep.act(Command::AnswerGap { gap, asleep: false });
    assert_eq!(ramps(&asleep.book, &[ended]), before);
    assert_ne!(before, [ramp(&asleep)]);
}

fn mark_moved(world: &World) -> Command {
    Command::Move { mark: ramp(world).marks[1].hash, by_ms: 2_000 }
}

#[test]
fn a_ramp_whose_chain_is_not_whole_makes_no_curve() {
    let (world, ended) = whole();
    let middle = ramp(&world).readings[2].hash;
    let mut torn = Book::default();
    world.book.entries().filter(|entry| entry.hash != middle).cloned().for_each(|entry| torn.apply(entry));
    assert_eq!(ramps(&torn, &[ended]), []);
    assert_eq!(ramps(&world.book, &[Hash::of(b"nothing"), middle]), []);
}

#[test]
fn a_replay_in_any_order_is_the_live_state() {
    let (mut world, ended) = whole();
    world.wait(SECOND);
    world.act(Command::Undo { target: ended });
    let mut entries: Vec<Entry> = world.book.entries().cloned().collect();
    for turn in 0..entries.len().min(7) {
        entries.rotate_left(turn + 1);
        let mut replayed = Book::default();
        for entry in entries.iter().chain(entries.iter().take(5)) {
            replayed.apply(Entry::read(&entry.text).expect("an entry"));
        }
        assert_eq!(replayed, world.book);
        assert_eq!(Ramp::of(&replayed, id(RAMP)), Some(ramp(&world)));
        assert_eq!(ramps(&replayed, &[ended]), ramps(&world.book, &[ended]));
    }
}

#[test]
fn what_names_no_ramp_is_listed() {
    let (world, _) = whole();
    assert_eq!(misfits(&world.book), []);
    let start = ramp(&world).start;
    let mut torn = Book::default();
    world.book.entries().filter(|entry| entry.hash != start).cloned().for_each(|entry| torn.apply(entry));
    let unknown = misfits(&torn).into_iter().filter(|misfit| matches!(misfit, Misfit::NamesUnknown { .. })).count();
    // Heat on, at upper, head off; six readings; the end.
    assert_eq!(unknown, 10);
}

#[test]
fn a_run_whose_curve_is_not_here_is_listed() {
    let (mut world, ended) = whole();
    world.wait(SECOND);
    world.act(start_with(|_| {}));
    assert_eq!(misfits(&world.book), []);
    let mut torn = Book::default();
    world.book.entries().filter(|entry| entry.hash != ended).cloned().for_each(|entry| torn.apply(entry));
    let run = world.run().start;
    assert!(misfits(&torn).contains(&Misfit::NamesUnknown { hash: run }));
}

#[test]
fn a_reading_in_fahrenheit_stays_as_displayed() {
    let mut world = heating();
    let shown = Reading::parse("192.5", soakbook::units::Degree::F).expect("a reading");
    world.wait(SECOND);
    world.act(Command::Read { run: id(RAMP), reading: shown, trip: None });
    assert_eq!(ramp(&world).readings[0].reading, shown);
}
