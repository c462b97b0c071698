//! Profile runs. Expected phases and times are reckoned by hand from the taps; rules from the entry format and design 6.1.

use crate::kit::*;
use soakbook::book::body::NotOurs;
use soakbook::book::body::What::{self, AtTop, HeatOn, HeaterOff, HeaterOn, Tripped};
use soakbook::book::clock::ClockNote;
use soakbook::book::command::{Command, StartProfileRun};
use soakbook::book::entries::Book;
use soakbook::book::entry::{Entry, Hash, Scope};
use soakbook::book::integrity::{Anomaly, anomalies};
use soakbook::book::profile_run::{PROFILE_OF, ProfileRun, ProfileRunPhase, profile_of, profile_runs, profile_runs_of};
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::trade::conditions::{IndicatedBy, Restores::NotWatched, Warmth};
use soakbook::trade::detector::{Duty, Marking};
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::Heating;
use soakbook::trade::heating::Heat;
use soakbook::units::{Celsius, Reading, TestTime};

const PROFILE_RUN: u8 = 30;

fn start_profile_run() -> StartProfileRun {
    StartProfileRun {
        run: id(PROFILE_RUN),
        heater: id(SELF_HEATER),
        setting: c(90),
        mode: None,
        position: None,
        ambient: c(20),
        heater_warmth: Warmth::Cold,
    }
}

fn profile_run_with(change: impl FnOnce(&mut StartProfileRun)) -> Command {
    let mut start = start_profile_run();
    change(&mut start);
    Command::StartProfileRun(Box::new(start))
}

fn read(celsius: i64) -> Command {
    Command::Read { of: id(PROFILE_RUN), reading: c(celsius), trip: None }
}

fn end(usable: bool) -> Command {
    Command::EndProfileRun { run: id(PROFILE_RUN), usable }
}

fn mark(what: What) -> Command {
    Command::Mark { of: id(PROFILE_RUN), what }
}

fn heating() -> World {
    let mut world = World::given();
    world.wait(SECOND);
    world.act(profile_run_with(|_| {}));
    world
}

/// Every command so many seconds after the start of the profile run.
fn at(world: &mut World, taps: &[(i64, Command)]) -> Vec<Hash> {
    let act = |(second, command): &(i64, Command)| {
        world.wait(second * SECOND - now(world).since_heat_on());
        world.act(command.clone())
    };
    taps.iter().map(act).collect()
}

fn now(world: &World) -> TestTime {
    profile_run(world).time_on(world.phone.id, world.phone.stamp())
}

#[track_caller]
fn profile_run(world: &World) -> ProfileRun {
    ProfileRun::of(&world.book, id(PROFILE_RUN)).expect("a profile run")
}

/// Three readings while heating, top temperature at 60 s, off at 90 s, two readings while cooling; the end at 200 s.
fn whole() -> (World, Hash) {
    let mut world = heating();
    let taps = [
        (10, read(30)),
        (30, read(60)),
        (50, read(80)),
        (60, mark(AtTop)),
        (70, read(95)),
        (90, mark(HeaterOff)),
        (120, read(85)),
        (180, read(50)),
        (200, end(true)),
    ];
    let hashes = at(&mut world, &taps);
    let ended = hashes[hashes.len() - 1];
    (world, ended)
}

/// Another usable profile run with its own id, an hour after the one before.
fn another(world: &mut World, n: u8, change: impl FnOnce(&mut StartProfileRun)) -> Hash {
    world.wait(3_600 * SECOND);
    world.act(profile_run_with(|start| {
        start.run = id(n);
        change(start);
    }));
    for celsius in [30, 60, 80] {
        world.wait(10 * SECOND);
        world.act(Command::Read { of: id(n), reading: c(celsius), trip: None });
    }
    world.wait(SECOND);
    world.act(Command::Mark { of: id(n), what: HeaterOff });
    world.wait(SECOND);
    world.act(Command::EndProfileRun { run: id(n), usable: true })
}

fn times(profile_run: &ProfileRun) -> Vec<i64> {
    profile_run.readings.iter().map(|reading| reading.at.since_heat_on() / SECOND).collect()
}

#[test]
fn one_tap_starts_a_profile_run_and_its_heat() {
    let mut given = World::given();
    given.wait(SECOND);
    check(given, profile_run_with(|_| {}), Ok(&["profile_run_started", "mark"]));
    let profile_run = profile_run(&heating());
    assert_eq!(
        (profile_run.phase(), profile_run.frozen.by),
        (ProfileRunPhase::Heating { since: TestTime(0) }, Some(id(PERSON)))
    );
    assert_eq!(profile_run.started_wall, MORNING + SECOND);
    assert!(profile_run.frozen.heater.profile.is_empty());
}

#[test]
fn marks_lead_through_the_parts_and_readings_fall_into_them() {
    let mut world = heating();
    at(&mut world, &[(10, read(30)), (60, mark(AtTop))]);
    assert_eq!(profile_run(&world).phase(), ProfileRunPhase::Holding { since: TestTime(60_000) });
    at(&mut world, &[(70, read(95)), (90, mark(HeaterOff))]);
    assert_eq!(profile_run(&world).phase(), ProfileRunPhase::Cooling { since: TestTime(90_000) });
    let (whole, ended) = whole();
    let profile_run = profile_run(&whole);
    assert_eq!(profile_run.phase(), ProfileRunPhase::Ended { at: TestTime(200_000), usable: true });
    assert_eq!(profile_run.ended.map(|end| end.hash), Some(ended));
    let heated: Vec<i64> = profile_run.while_heating().iter().map(|reading| reading.at.since_heat_on()).collect();
    assert_eq!(heated, [10_000, 30_000, 50_000]);
    let cooled = profile_run.readings.iter().map(|reading| reading.at).filter(|at| *at >= TestTime(90_000));
    assert_eq!(cooled.collect::<Vec<_>>(), [120_000, 180_000].map(TestTime));
}

#[test]
fn a_reading_counts_from_the_tap_that_asked_for_it() {
    // "Read now" at 10 s; while the digits are dialled the heater reaches its top temperature at 13 s.
    let mut world = heating();
    world.wait(10 * SECOND);
    let pressed = world.phone.clone();
    at(&mut world, &[(13, mark(AtTop))]);
    let later = std::mem::replace(&mut world.phone, pressed);
    world.act(read(70));
    world.phone = later;
    let profile_run = profile_run(&world);
    assert_eq!((times(&profile_run), profile_run.while_heating().len()), (vec![10], 1));
    assert_eq!(now(&world), TestTime(13 * SECOND));
    // A sleep between the two taps moves neither.
    let mut slept = heating();
    slept.wait(10 * SECOND);
    let pressed = slept.phone.clone();
    slept.wait(SECOND).sleep(60 * SECOND);
    slept.act(Command::NoteGap { scope: Scope::Kit, wall_ms: 60_250, mono_ms: 250, hidden: true });
    let later = std::mem::replace(&mut slept.phone, pressed);
    slept.act(read(70));
    slept.phone = later;
    assert_eq!((times(&self::profile_run(&slept)), now(&slept)), (vec![10], TestTime(71 * SECOND)));
    at(&mut slept, &[(80, read(90))]);
    assert_eq!(times(&self::profile_run(&slept)), [10, 80]);
}

#[test]
fn each_start_that_would_be_wrong_is_refused() {
    let given = World::given;
    let no = |world: World, change: &dyn Fn(&mut StartProfileRun), refusal: Refusal| {
        check(world, profile_run_with(|start| change(start)), Err(refusal));
    };
    let mut closed = given();
    closed.phone.durable = false;
    no(closed, &|_| {}, Refusal::NotDurable);
    no(given(), &|s| s.heater = id(99), Refusal::UnknownHeater);
    no(given(), &|s| s.setting = c(91), Refusal::NoSuchSetting);
    no(given(), &|s| s.mode = Some("fast".into()), Refusal::NoSuchSetting);
    no(given(), &|s| s.position = Some(id(99)), Refusal::UnknownPosition);
    let range = Fault::Temperature { from: Celsius(-40.0), to: Celsius(90.0) };
    no(given(), &|s| s.ambient = c(91), Refusal::Field("ProfileRunStart.ambient", range));
    let mut modes = given();
    modes.act(put_heater(SELF_HEATER, Heating { modes: vec!["fast".into()], ..auto() }));
    no(modes, &|_| {}, Refusal::Field("HeaterSnapshot.mode", Fault::Choose));
    // One heater, one thing at a time.
    no(heating(), &|s| s.run = id(31), Refusal::HeaterInProfileRun);
    no(World::running(SELF_HEATER, SET_POINT, NotWatched), &|_| {}, Refusal::HeaterBusy { test: id(TEST) });
}

#[test]
fn what_may_not_be_heated_is_refused_as_the_detector_in_place() {
    let of = |detector_type, duty| {
        let mut world = World::given();
        world.act(put_position(POSITION, "HD-1", Marking { detector_type, ..marking() }, duty));
        world
    };
    let on = |s: &mut StartProfileRun| s.position = Some(id(POSITION));
    for kind in [DetectorType::FixedNonrestorable, DetectorType::CombinationNonrestorable] {
        check(of(kind, no_duty()), profile_run_with(on), Err(Refusal::Heat(Heat::UsesUpElement)));
    }
    check(of(DetectorType::Unknown, no_duty()), profile_run_with(on), Err(Refusal::Heat(Heat::TypeUnknown)));
    for kind in [
        DetectorType::RateCompensated,
        DetectorType::FixedRestorable,
        DetectorType::CombinationRestorable,
        DetectorType::Electronic,
    ] {
        check(of(kind, no_duty()), profile_run_with(on), Ok(&["profile_run_started", "mark"]));
    }
    let plain = || of(DetectorType::RateCompensated, no_duty());
    let mut retired = plain();
    retired.act(Command::RetirePosition { position: id(POSITION), retired: true });
    check(retired, profile_run_with(on), Err(Refusal::UnknownPosition));
    // It trips the system whatever the heat is for, so the rules before the first heat hold as they do for a test.
    let mut secured = of(DetectorType::RateCompensated, releases(&["Door 7"]));
    check(secured.clone(), profile_run_with(on), Err(Refusal::NotSecured { releases: vec!["Door 7".into()] }));
    secured.act(secure("Door 7"));
    check(secured, profile_run_with(on), Ok(&["profile_run_started", "mark"]));
    let unknown = of(DetectorType::RateCompensated, Duty::default());
    check(unknown, profile_run_with(on), Err(Refusal::ReleasesUnknown));
    let classified = of(DetectorType::RateCompensated, Duty { classified: true, ..no_duty() });
    check(classified, profile_run_with(on), Err(Refusal::NoPermit));
    check(World::not_notified(), profile_run_with(on), Err(Refusal::StationNotNotified));
    check(World::not_notified(), profile_run_with(|_| {}), Ok(&["profile_run_started", "mark"]));
    let mut alarm = plain();
    alarm.act(Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None });
    check(alarm, profile_run_with(|_| {}), Err(Refusal::AlarmNotCleared));
}

/// A usable profile run of the heater at this setting, of which the last reading while heating is this.
pub(super) fn shown(setting: i64, celsius: i64) -> Vec<Command> {
    let run = profile_run_with(|s| s.setting = c(setting));
    vec![run, read(30), read(50), read(celsius), mark(HeaterOff), end(true)]
}

#[test]
fn a_profile_run_and_a_test_do_not_disturb_each_other() {
    let both = |s: &mut StartProfileRun| (s.heater, s.position) = (id(HAND_HEATER), Some(id(POSITION)));
    let other = |s: &mut StartProfileRun| (s.heater, s.position) = (id(HAND_HEATER), Some(id(OTHER_POSITION)));
    // A test on the first detector; the zone does not tell the two apart, but the test is seen by the detector's own lamp.
    let test = World::running(SELF_HEATER, SET_POINT, NotWatched);
    check(test.clone(), profile_run_with(both), Err(Refusal::PositionBusy));
    check(test, profile_run_with(other), Ok(&["profile_run_started", "mark"]));
    let mut panel = World::given();
    panel.act(start_with(|s| s.indication.by = IndicatedBy::Partner));
    check(panel, profile_run_with(other), Err(Refusal::TripsNotTellable { test: id(TEST) }));
    // A profile run on the other detector, then a test.
    let mut profiling = World::given();
    profiling.act(profile_run_with(other));
    check(profiling.clone(), start_with(|s| s.heater = id(HAND_HEATER)), Err(Refusal::HeaterInProfileRun));
    check(profiling.clone(), start_with(|s| s.position = id(OTHER_POSITION)), Err(Refusal::DetectorInProfileRun));
    check(
        profiling.clone(),
        start_with(|s| s.indication.by = IndicatedBy::Partner),
        Err(Refusal::DetectorInProfileRun),
    );
    check(profiling, start_with(|_| {}), Ok(&["test_started", "mark"]));
}

#[test]
fn marks_and_readings_keep_to_the_parts_of_a_profile_run() {
    let mut world = heating();
    for what in [HeatOn, HeaterOn, Tripped] {
        check(world.clone(), mark(what), Err(Refusal::NotInProfileRun));
    }
    // By hand: 10 K less than the ambient temperature of 20 °C. A reading of 150.4 without its last digit is one of 15.0.
    let range =
        || Err(Refusal::Field("ReadingCorrection.now", Fault::Temperature { from: Celsius(10.0), to: Celsius(400.0) }));
    check(world.clone(), read(401), range());
    check(world.clone(), read(9), range());
    at(&mut world, &[(60, mark(AtTop)), (90, mark(HeaterOff))]);
    check(world.clone(), mark(AtTop), Err(Refusal::NotInProfileRun));
    check(world, mark(HeaterOff), Err(Refusal::NotInProfileRun));
    let (world, _) = whole();
    for command in [mark(HeaterOff), read(40), end(false)] {
        check(world.clone(), command, Err(Refusal::ProfileRunEnded));
    }
    let mut other = World::given();
    check(other.clone(), end(false), Err(Refusal::UnknownProfileRun));
    other = heating().other_phone();
    for command in [mark(AtTop), read(40), end(false)] {
        check(other.clone(), command, Err(Refusal::OtherPhonesProfileRun));
    }
}

#[test]
fn a_profile_run_is_usable_only_with_readings_and_the_heater_off() {
    let mut world = heating();
    at(&mut world, &[(10, read(30)), (20, read(40))]);
    check(world.clone(), end(true), Err(Refusal::HeaterStillOn));
    at(&mut world, &[(60, mark(HeaterOff)), (70, read(60)), (80, read(50))]);
    check(world.clone(), end(true), Err(Refusal::TooFewReadings { have: 2, least: 3 }));
    check(world, end(false), Ok(&["profile_run_ended"]));
}

#[test]
fn marks_can_be_taken_back_and_moved() {
    let mut world = heating();
    let hashes = at(&mut world, &[(10, read(30)), (60, mark(AtTop)), (63, read(90))]);
    at(&mut world, &[(65, Command::Undo { target: hashes[1] })]);
    assert_eq!(profile_run(&world).phase(), ProfileRunPhase::Heating { since: TestTime(0) });
    let hashes = at(&mut world, &[(70, mark(AtTop)), (75, Command::Undo { target: hashes[2] })]);
    assert_eq!(times(&profile_run(&world)), [10]);
    at(&mut world, &[(76, Command::Move { mark: hashes[0], by_ms: -4_000 })]);
    assert_eq!(profile_run(&world).phase(), ProfileRunPhase::Holding { since: TestTime(66_000) });
    let moved = |by_ms| Command::Move { mark: hashes[0], by_ms };
    check(world.clone(), moved(-67_000), Err(Refusal::MoveOutside));
    check(world.clone(), moved(11_000), Err(Refusal::MoveOutside));
    // Heat on moved 3 s later: everything else is 3 s nearer to it. Not past the first reading.
    let heat_on = profile_run(&world).marks[0].hash;
    check(world.clone(), Command::Move { mark: heat_on, by_ms: 11_000 }, Err(Refusal::MoveOutside));
    at(&mut world, &[(80, Command::Move { mark: heat_on, by_ms: 3_000 })]);
    assert_eq!(
        (times(&profile_run(&world)), profile_run(&world).phase()),
        (vec![7], ProfileRunPhase::Holding { since: TestTime(63_000) })
    );
    // Taking back the start takes back the profile run.
    let start = profile_run(&world).start;
    world.act(Command::Undo { target: start });
    assert_eq!(ProfileRun::of(&world.book, id(PROFILE_RUN)), None);
    check(world, profile_run_with(|start| start.run = id(31)), Ok(&["profile_run_started", "mark"]));
}

#[test]
fn a_profile_run_survives_kills_sleep_and_set_clocks() {
    // A reading at 10 s, killed, started again 20 s later, a reading 5 s after that.
    let mut world = heating();
    at(&mut world, &[(10, read(30))]);
    world.restart(20 * SECOND);
    assert_eq!(now(&world), TestTime(30 * SECOND));
    world.wait(5 * SECOND);
    world.act(read(60));
    assert_eq!(times(&profile_run(&world)), [10, 35]);
    // Asleep for 60 s, noticed a second after waking.
    world.sleep(60 * SECOND).wait(SECOND);
    let gap = world.act(Command::NoteGap { scope: Scope::Kit, wall_ms: 61_000, mono_ms: 1_000, hidden: true });
    assert_eq!(now(&world), TestTime(96 * SECOND));
    // Or somebody set the clock.
    world.wait(SECOND);
    world.act(Command::AnswerGap { gap, asleep: false });
    assert_eq!(now(&world), TestTime(37 * SECOND));
    let notes: Vec<ClockNote> = profile_run(&world).clock_notes.iter().map(|(_, note)| *note).collect();
    assert_eq!(notes, [ClockNote::Restarted { away_ms: 25_000 }, ClockNote::SetForward { by_ms: 60_000 }]);
    // The wall set back while the app was closed: time goes on from the start of the new session.
    world.restart(-600 * SECOND).wait(4 * SECOND);
    assert_eq!(now(&world), TestTime(41 * SECOND));
}

#[test]
fn a_test_freezes_the_usable_profile_runs_of_its_heater_and_mode() {
    let (mut world, first) = whole();
    let second = another(&mut world, 31, |start| start.setting = c(60));
    another(&mut world, 32, |start| start.heater = id(HAND_HEATER));
    world.wait(3_600 * SECOND);
    world.act(profile_run_with(|start| start.run = id(33)));
    world.wait(SECOND);
    world.act(Command::EndProfileRun { run: id(33), usable: false });
    let frozen = |world: &World| {
        let mut world = world.clone();
        world.wait(SECOND);
        world.act(start_with(|_| {}));
        world.test().frozen.heater.profile.clone()
    };
    // Newest first; the other setting counts, the other heater and the one that is not usable do not.
    assert_eq!(frozen(&world), [second, first]);
    // Nor does another mode.
    let modes = vec!["fast".to_string()];
    world.act(put_heater(SELF_HEATER, Heating { modes: modes.clone(), ..auto() }));
    let fast = another(&mut world, 34, |start| start.mode = Some("fast".into()));
    assert_eq!(profile_of(&world.book, id(SELF_HEATER), Some(&modes[0])), [fast]);
    assert_eq!(frozen(&world), [second, first]);
    // At most the newest.
    let more: Vec<Hash> = (40..47).map(|n| another(&mut world, n, |start| start.mode = Some("fast".into()))).collect();
    let newest: Vec<Hash> = more.into_iter().rev().take(PROFILE_OF).collect();
    assert_eq!(profile_of(&world.book, id(SELF_HEATER), Some(&modes[0])), newest);
    assert_eq!(profile_runs_of(&world.book, id(SELF_HEATER)).len(), 11);
}

#[test]
fn what_a_test_was_judged_by_stays_whatever_is_undone_later() {
    let (mut world, ended) = whole();
    let before = profile_runs(&world.book, &[ended]);
    assert_eq!(before, [profile_run(&world)]);
    let reading = profile_run(&world).readings[0].hash;
    world.wait(SECOND);
    world.act(Command::Undo { target: ended });
    world.wait(SECOND);
    world.act(Command::Undo { target: reading });
    world.wait(SECOND);
    world.act(mark_moved(&world));
    assert_eq!(profile_runs(&world.book, &[ended]), before);
    assert_eq!(profile_of(&world.book, id(SELF_HEATER), None), []);
    world.wait(SECOND);
    let again = world.act(end(false));
    assert_eq!(profile_runs(&world.book, &[ended]), before);
    assert_eq!(profile_runs(&world.book, &[again]), [profile_run(&world)]);
    assert_eq!(
        (profile_run(&world).readings.len(), profile_run(&world).phase()),
        (5, ProfileRunPhase::Ended { at: now(&world), usable: false })
    );
    // An answer about the clocks that comes after the end does not change it either.
    let mut asleep = heating();
    at(&mut asleep, &[(10, read(30)), (20, read(40)), (30, read(50))]);
    asleep.sleep(60 * SECOND).wait(SECOND);
    let gap = asleep.act(Command::NoteGap { scope: Scope::Kit, wall_ms: 61_000, mono_ms: 1_000, hidden: true });
    asleep.wait(SECOND);
    asleep.act(mark(HeaterOff));
    asleep.wait(SECOND);
    let ended = asleep.act(end(true));
    let before = profile_runs(&asleep.book, &[ended]);
    asleep.wait(SECOND);
    asleep.act(Command::AnswerGap { gap, asleep: false });
    assert_eq!(profile_runs(&asleep.book, &[ended]), before);
    assert_ne!(before, [profile_run(&asleep)]);
}

fn mark_moved(world: &World) -> Command {
    Command::Move { mark: profile_run(world).marks[1].hash, by_ms: 2_000 }
}

#[test]
fn a_profile_run_whose_chain_is_not_whole_makes_no_profile() {
    let (world, ended) = whole();
    let middle = profile_run(&world).readings[2].hash;
    let mut torn = Book::default();
    world.book.entries().filter(|entry| entry.hash != middle).cloned().for_each(|entry| torn.apply(entry));
    assert_eq!(profile_runs(&torn, &[ended]), []);
    assert_eq!(profile_runs(&world.book, &[Hash::of(b"nothing"), middle]), []);
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
        assert_eq!(ProfileRun::of(&replayed, id(PROFILE_RUN)), Some(profile_run(&world)));
        assert_eq!(profile_runs(&replayed, &[ended]), profile_runs(&world.book, &[ended]));
    }
}

#[test]
fn what_names_no_profile_run_is_listed() {
    let (world, _) = whole();
    assert_eq!(anomalies(&world.book), []);
    let start = profile_run(&world).start;
    let mut torn = Book::default();
    world.book.entries().filter(|entry| entry.hash != start).cloned().for_each(|entry| torn.apply(entry));
    let unknown =
        anomalies(&torn).into_iter().filter(|anomaly| matches!(anomaly, Anomaly::NamesUnknown { .. })).count();
    // Heat on, at top, heater off; six readings; the end.
    assert_eq!(unknown, 10);
}

#[test]
fn a_test_whose_profile_is_not_here_is_listed() {
    let (mut world, ended) = whole();
    world.wait(SECOND);
    world.act(start_with(|_| {}));
    assert_eq!(anomalies(&world.book), []);
    let mut torn = Book::default();
    world.book.entries().filter(|entry| entry.hash != ended).cloned().for_each(|entry| torn.apply(entry));
    let test = world.test().start;
    assert!(anomalies(&torn).contains(&Anomaly::NamesUnknown { hash: test }));
}

#[test]
fn a_reading_in_fahrenheit_stays_as_displayed() {
    let mut world = heating();
    let shown = Reading::parse("192.5", soakbook::units::Degree::F).expect("a reading");
    world.wait(SECOND);
    world.act(Command::Read { of: id(PROFILE_RUN), reading: shown, trip: None });
    assert_eq!(profile_run(&world).readings[0].reading, shown);
}
