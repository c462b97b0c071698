//! What holds for any entries in any order.

use crate::kit::*;
use proptest::prelude::*;
use soakbook::book::Id;
use soakbook::book::body::{
    Answer, Body, Clearing, Ending, ItemClosed, ItemClosing, ItemFound, ItemWhat, NotOurs, NotifyAnswer, Permit, Point,
    ReadingCorrection, Removal, RemovedWhy, Reopening, RestoreWord, Restoring, RetestWhy, TestStart, What, Who, Whom,
    Work,
};
use soakbook::book::command::{Command, ReplaceDetector, StartProfileRun};
use soakbook::book::decide::decide;
use soakbook::book::entries::{Attachment, Book};
use soakbook::book::entry::{Chain, DecisionId, Entry, Hash, MAX_INTEGER, Scope, Stamp};
use soakbook::book::integrity::{Anomaly, anomalies};
use soakbook::book::kit::Kit;
use soakbook::book::profile_run::{ProfileRun, profile_of, profile_runs_of};
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::book::seal::seal;
use soakbook::book::test::Test;
use soakbook::book::timeline::{Phase, Timeline, ahead};
use soakbook::book::visit::{Visit, visits};
use soakbook::trade::conditions::{ItemClass, Restores, Visual, Warmth};
use soakbook::trade::detector::{Make, Marking};
use soakbook::trade::heater::Cycle;
use soakbook::units::{Mono, TestTime, Wall};
use std::sync::Arc;

const WHATS: [What; 8] = [
    What::HeatOn,
    What::Tripped,
    What::AtTop,
    What::HeaterOff,
    What::HeaterOn,
    What::Restored,
    What::PanelReset,
    What::Lowered,
];

/// Everything that is derived from a book.
type Derived =
    (Register, Kit, Vec<Visit>, Vec<Option<Test>>, Vec<Timeline>, Vec<(Vec<ProfileRun>, Vec<Hash>)>, Vec<Anomaly>);

fn derived(book: &Book) -> Derived {
    let tests: Vec<Option<Test>> = book.test_ids().map(|test| Test::of(book, test)).collect();
    let laid_out = tests.iter().flatten().flat_map(|test| {
        [-1, 0, 61_000, 400_000, MAX_INTEGER].map(|now| {
            let _ = ahead(test, TestTime(now), 3);
            Timeline::of(test, TestTime(now))
        })
    });
    let laid_out = laid_out.collect();
    let heaters = [SELF_HEATER, SELF_HEATER + 1].map(id);
    let profiles = heaters.map(|heater| (profile_runs_of(book, heater), profile_of(book, heater, None))).to_vec();
    (Register::of(book), Kit::of(book), visits(book), tests, laid_out, profiles, anomalies(book))
}

fn book_of<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Book {
    let mut book = Book::default();
    entries.into_iter().for_each(|entry| book.apply(entry.clone()));
    book
}

// --- a day's work, as the rules allow it ---

#[derive(Clone, Debug)]
pub(super) enum Step {
    Wait(i64),
    Sleep(i64),
    SetClock(i64),
    Restart(i64),
    Swap,
    Start { other: bool, heater: u8, procedure: u8, restores: usize },
    Mark { other: bool, what: usize },
    Move { index: usize, by_ms: i64 },
    Undo { index: usize },
    Read { index: usize, value: i64 },
    Panel { index: usize },
    StartProfileRun { n: u8, heater: u8 },
    MarkProfileRun { n: u8, what: usize },
    ReadProfileRun { n: u8, celsius: i64 },
    EndProfileRun { n: u8, usable: bool },
    End { other: bool, how: usize },
    TakeOver,
    Say { which: u8, index: usize, other: bool },
    Edit { rating: i64 },
    Gap { wall_ms: i64, mono_ms: i64, hidden: bool },
    Answer { index: usize, asleep: bool },
    Close,
}

pub(super) fn step() -> impl Strategy<Value = Step> {
    let any_index = 0..100_usize;
    prop_oneof![
        4 => (1..400_000_i64).prop_map(Step::Wait),
        1 => (1..600_000_i64).prop_map(Step::Sleep),
        2 => (-900_000..900_000_i64).prop_map(Step::SetClock),
        1 => (-300_000..300_000_i64).prop_map(Step::Restart),
        1 => Just(Step::Swap),
        3 => (any::<bool>(), 0..2_u8, 0..2_u8, 0..3_usize)
            .prop_map(|(other, heater, procedure, restores)| Step::Start { other, heater, procedure, restores }),
        8 => (any::<bool>(), 0..WHATS.len()).prop_map(|(other, what)| Step::Mark { other, what }),
        2 => (any_index.clone(), prop_oneof![-20_000..20_000_i64, any::<i64>()])
            .prop_map(|(index, by_ms)| Step::Move { index, by_ms }),
        2 => any_index.clone().prop_map(|index| Step::Undo { index }),
        1 => (any_index.clone(), any::<i64>()).prop_map(|(index, value)| Step::Read { index, value }),
        1 => any_index.clone().prop_map(|index| Step::Panel { index }),
        2 => (0..2_u8, 0..2_u8).prop_map(|(n, heater)| Step::StartProfileRun { n, heater }),
        3 => (0..2_u8, 0..WHATS.len()).prop_map(|(n, what)| Step::MarkProfileRun { n, what }),
        3 => (0..2_u8, prop_oneof![20..99_i64, any::<i64>()]).prop_map(|(n, celsius)| Step::ReadProfileRun { n, celsius }),
        1 => (0..2_u8, any::<bool>()).prop_map(|(n, usable)| Step::EndProfileRun { n, usable }),
        1 => (any::<bool>(), 0..ENDINGS.len()).prop_map(|(other, how)| Step::End { other, how }),
        1 => Just(Step::TakeOver),
        8 => (0..SAYINGS, any_index.clone(), any::<bool>())
            .prop_map(|(which, index, other)| Step::Say { which, index, other }),
        1 => (20..360_i64).prop_map(|rating| Step::Edit { rating }),
        1 => (any::<i64>(), -10_000..10_000_i64, any::<bool>())
            .prop_map(|(wall_ms, mono_ms, hidden)| Step::Gap { wall_ms, mono_ms, hidden }),
        1 => (any_index, any::<bool>()).prop_map(|(index, asleep)| Step::Answer { index, asleep }),
        1 => Just(Step::Close),
    ]
}

const ENDINGS: [Ending; 9] = [
    Ending::Done,
    Ending::StoppedEarly,
    Ending::NoTrip,
    Ending::StaysInAlarm,
    Ending::HeaterProblem,
    Ending::DetectorProblem,
    Ending::SiteRequest,
    Ending::AlarmNotOurs,
    Ending::Mistake,
];

/// How many kinds of [`saying`] there are.
const SAYINGS: u8 = 27;

/// One of the commands that steer no heat: what is said of an earlier entry, of a test, or of the visit.
fn saying(which: u8, of: Hash, other: bool, fresh: Id) -> Command {
    let (visit, position) = (id(VISIT), id(if other { OTHER_POSITION } else { POSITION }));
    let (test, happened, by) = (test_id(other), happened(MORNING), Who::Person(id(PERSON)));
    let note = other.then(|| Hash::of(b"salted words"));
    match which {
        0 => secure("Door 7"),
        1 => impair(other.then_some(LOOP)),
        2 => restore(of),
        3 => notify(Whom::SupervisingStation, NotifyAnswer::Notified, |_| {}),
        4 => notify(Whom::Owner, NotifyAnswer::NotRequired, |_| {}),
        5 => Command::TakePermit { visit, permit: Box::new(permit()) },
        6 => Command::HoldApproval { visit, heater: id(SELF_HEATER), area: id(HALL), fits: other },
        7 => Command::AlarmNotOurs { visit, what: if other { NotOurs::OutputMoved } else { NotOurs::Alarm }, note },
        8 => Command::ClearAlarm { alarm: of, by: named("A. Owner"), note },
        9 => Command::CheckVisual { visit, position, found: vec![Visual::Dirty] },
        10 => Command::FindItem {
            visit,
            what: ItemWhat::Other,
            class: None,
            position: Some(position),
            test: Some(test),
            note,
            happened,
        },
        11 => Command::ClassItem { item: of, class: ItemClass::Deficiency },
        12 => Command::TellItem { item: of, to: named("A. Owner"), in_writing: other, happened },
        13 => Command::CloseItem { item: of, how: ItemClosed::Accepted, by, note, happened },
        14 => Command::Repair { visit, position, work: Work::Wiring, item: Some(of), note, happened },
        15 => Command::Replace(Box::new(ReplaceDetector {
            visit: Some(visit),
            position,
            new: Some((fresh, marking(), Make::default())),
            why: RemovedWhy::Failed,
            item: None,
            note,
            by,
            happened,
        })),
        16 => Command::StrikeMark { mark: of, why: note },
        17 => Command::CorrectReading { reading: of, now: other.then(|| c(70)), why: note },
        18 => Command::ConfirmReading { reading: of },
        19 => Command::AnswerEarlyTrip { trip: of, this_detector: other },
        20 => Command::SayRestore { test, restored: if other { Answer::Yes } else { Answer::NotChecked }, happened },
        21 => Command::Judge { test, did_not_operate: other, note },
        22 => Command::CorrectMarking {
            test,
            marking: Box::new(Marking { rating: Some(c(80)), ..marking() }),
            why: Hash::of(b"salted reason"),
        },
        23 => Command::ListRetest { test, why: RetestWhy::Requested },
        24 => Command::ReopenVisit { visit, why: Hash::of(b"salted reason"), amends: None },
        25 => Command::AnswerReleases { position, releases: Vec::new() },
        _ => Command::HandPhone { to: id(if other { PARTNER } else { PERSON }) },
    }
}

/// The first of the profile runs.
const PROFILE_RUN: u8 = 230;

fn test_id(other: bool) -> Id {
    id(if other { OTHER_TEST } else { TEST })
}

/// Two phones that see each other's entries at once, and the order in which they wrote.
pub(super) struct Day {
    world: World,
    other: Phone,
    pub(super) log: Vec<Entry>,
}

impl Day {
    fn new() -> Day {
        let mut world = World::given();
        world.wait(SECOND);
        let log = world.book.entries().cloned().collect();
        Day { world, other: Phone::new(110), log }
    }

    pub(super) fn live(steps: &[Step]) -> Day {
        let mut day = Day::new();
        steps.iter().for_each(|step| day.step(step));
        day
    }

    fn step(&mut self, step: &Step) {
        let hash_at = |index: usize| self.log[index * 7 % self.log.len()].hash;
        let newest = |index: usize| self.log[self.log.len() - 1 - index % self.log.len().min(12)].hash;
        let command = match *step {
            Step::Wait(ms) => {
                self.world.wait(ms);
                return;
            }
            Step::Sleep(ms) => {
                self.world.sleep(ms);
                return;
            }
            Step::SetClock(ms) => {
                self.world.set_clock(ms);
                return;
            }
            Step::Restart(ms) => {
                self.world.restart(ms);
                return;
            }
            Step::Swap => {
                std::mem::swap(&mut self.world.phone, &mut self.other);
                self.world.wait(SECOND);
                return;
            }
            Step::Start { other, heater, procedure, restores } => start_with(|s| {
                (s.test, s.position) = (test_id(other), id(if other { OTHER_POSITION } else { POSITION }));
                (s.heater, s.procedure) = (id(SELF_HEATER + heater), Some(id(SET_POINT + procedure)));
                s.indication.restores = Restores::ALL[restores];
            }),
            Step::Mark { other, what } => Command::Mark { of: test_id(other), what: WHATS[what] },
            Step::Move { index, by_ms } => Command::Move { mark: newest(index), by_ms },
            Step::Undo { index } => Command::Undo { target: newest(index) },
            Step::Read { index, value } => {
                let reading = soakbook::units::Reading { value, scale: -1, unit: soakbook::units::Degree::F };
                Command::Read { of: id(TEST), reading, trip: (index % 2 == 0).then(|| newest(index)) }
            }
            Step::Panel { index } => Command::SayPanel { trip: newest(index), point: Point::Wrong, said: None },
            Step::StartProfileRun { n, heater } => Command::StartProfileRun(Box::new(StartProfileRun {
                run: id(PROFILE_RUN + n),
                heater: id(SELF_HEATER + heater),
                setting: c(90),
                mode: None,
                position: None,
                ambient: c(20),
                heater_warmth: Warmth::Cold,
            })),
            Step::MarkProfileRun { n, what } => Command::Mark { of: id(PROFILE_RUN + n), what: WHATS[what] },
            Step::ReadProfileRun { n, celsius } => {
                let reading = soakbook::units::Reading { value: celsius, scale: 0, unit: soakbook::units::Degree::C };
                Command::Read { of: id(PROFILE_RUN + n), reading, trip: None }
            }
            Step::EndProfileRun { n, usable } => Command::EndProfileRun { run: id(PROFILE_RUN + n), usable },
            Step::End { other, how } => Command::End { test: test_id(other), how: ENDINGS[how] },
            Step::TakeOver => Command::TakeOver { test: id(TEST) },
            Step::Say { which, index, other } => {
                // An act is answered by what came long after it, a mark or reading soon.
                let of = if index % 3 == 0 { hash_at(index) } else { newest(index) };
                saying(which, of, other, Id::from_u128(0x9000 + self.log.len() as u128))
            }
            Step::Edit { rating } => {
                put_position(POSITION, "HD-1", Marking { rating: Some(c(rating)), ..marking() }, no_duty())
            }
            Step::Gap { wall_ms, mono_ms, hidden } => {
                Command::NoteGap { scope: Scope::Visit(id(VISIT)), wall_ms, mono_ms, hidden }
            }
            Step::Answer { index, asleep } => Command::AnswerGap { gap: newest(index), asleep },
            Step::Close => Command::CloseVisit { visit: id(VISIT) },
        };
        if let Command::HandPhone { to } = command {
            self.world.phone.who = Some(to);
        }
        if let Ok(hashes) = self.world.try_act(command) {
            self.log.extend(hashes.iter().map(|hash| self.world.entry(*hash).clone()));
            // Looking after each step, as a screen does, must leave nothing behind that a later look would show.
            let _ = visits(&self.world.book);
        }
        self.world.phone.mono += 1;
        self.world.phone.wall += 1;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn replay_in_any_order_equals_the_live_state(
        steps in prop::collection::vec(step(), 1..60),
        seed in any::<u64>(),
    ) {
        let day = Day::live(&steps);
        let live = derived(&day.world.book);
        let mut order: Vec<&Entry> = day.log.iter().collect();
        order.sort_by_key(|entry| Hash::of(&[&seed.to_be_bytes()[..], entry.text.as_bytes()].concat()));
        let replayed = book_of(order.iter().copied().chain(day.log.iter().take(5)));
        prop_assert_eq!(&replayed, &day.world.book);
        prop_assert_eq!(derived(&replayed), live);
        // As from a file with an order of its own.
        let mut filed = Book::default();
        filed.apply_all(order.iter().copied().cloned());
        prop_assert_eq!(&filed, &day.world.book);
        // From the texts alone, as after a kill.
        let read: Vec<Entry> = day.log.iter().map(|entry| Entry::read(&entry.text).unwrap()).collect();
        prop_assert_eq!(&read, &day.log);
        prop_assert_eq!(&book_of(&read), &day.world.book);
    }

    #[test]
    fn what_the_rules_let_through_is_whole(steps in prop::collection::vec(step(), 1..60)) {
        let day = Day::live(&steps);
        for entry in &day.log {
            super::entries::integers(&serde_json::from_str(&entry.text).unwrap());
            prop_assert_eq!(entry.not_understood(), Vec::<String>::new());
        }
        prop_assert_eq!(anomalies(&day.world.book), []);
    }

    #[test]
    fn undo_restores_and_undo_of_undo_brings_it_back(steps in prop::collection::vec(step(), 1..40), index in 0..12_usize) {
        let mut day = Day::live(&steps);
        let with = facts(&day.world.book);
        let target = day.log[day.log.len() - 1 - index % day.log.len().min(12)].clone();
        day.world.wait(SECOND);
        if let Ok(undone) = day.world.try_act(Command::Undo { target: target.hash }) {
            // Everything that was decided with it, in every chain it was written to.
            let together = |entry: &&Entry| entry.decision() == target.decision();
            let scopes: std::collections::BTreeSet<Scope> =
                day.log.iter().filter(together).map(|entry| entry.chain.scope).collect();
            let undone_in: std::collections::BTreeSet<Scope> =
                undone.iter().map(|hash| day.world.entry(*hash).chain.scope).collect();
            prop_assert_eq!(scopes, undone_in);
            for entry in day.log.iter().filter(together) {
                let by_clock = matches!(entry.body, Body::ClockGap { .. });
                prop_assert!(by_clock || day.world.book.is_void(entry));
            }
            let again = day.world.try_act(Command::Undo { target: target.hash });
            prop_assert!(again.is_err());
            day.world.wait(SECOND);
            // What would bring heat back waits until an alarm is cleared.
            let back = day.world.try_act(Command::Undo { target: undone[0] });
            prop_assume!(back != Err(Refusal::AlarmNotCleared));
            prop_assert!(back.is_ok(), "{back:?}");
            prop_assert!(!day.world.book.is_void(&target));
            prop_assert_eq!(facts(&day.world.book), with);
            prop_assert_eq!(anomalies(&day.world.book), []);
        }
    }
}

/// What an undo and its undo must leave as it was. A test's clock is left out: it has seen the undoes.
fn facts(book: &Book) -> (Register, Kit, Option<Visit>, Vec<String>) {
    let visit = Visit::of(book, id(VISIT)).map(|visit| Visit { tests: Vec::new(), ..visit });
    let tests = book.test_ids().filter_map(|test| Test::of(book, test)).map(|test| {
        let Test { marks, struck, readings, withdrawn, early, ended, items, restore_said, judged, corrections, .. } = test;
        format!(
            "{marks:?} {struck:?} {readings:?} {withdrawn:?} {early:?} {ended:?} {items:?} {restore_said:?} {judged:?} {corrections:?}"
        )
    });
    (Register::of(book), Kit::of(book), visit, tests.collect())
}

fn permit() -> Permit {
    Permit {
        area: None,
        number: "P-17".into(),
        valid_from: MORNING,
        valid_until: MORNING + 8 * 3_600_000,
        gas_tested_at: Some(MORNING),
        readings: Vec::new(),
        instrument: None,
        interval_min: Some(60),
        lel_limit: None,
        phone_allowed: true,
        by: Who::Person(id(PERSON)),
        happened: happened(MORNING),
    }
}

// --- anything at all ---

/// One hostile entry: what it says, where it stands, which earlier entry it names, and nonsense clocks.
#[derive(Clone, Debug)]
pub(super) struct Hostile {
    says: u8,
    names: usize,
    chain: u8,
    seq: i64,
    mono: i64,
    wall: i64,
    small: u8,
}

pub(super) fn flag() -> impl Strategy<Value = Hostile> {
    let extreme = || prop_oneof![Just(MAX_INTEGER), Just(-MAX_INTEGER), Just(0), -500_000..500_000_i64];
    let seq = prop_oneof![6 => 0..12_i64, 1 => Just(MAX_INTEGER), 1 => Just(MAX_INTEGER - 1)];
    (0..30_u8, 0..64_usize, 0..6_u8, seq, extreme(), extreme(), any::<u8>())
        .prop_map(|(says, names, chain, seq, mono, wall, small)| Hostile { says, names, chain, seq, mono, wall, small })
}

/// Entries of a day on which everything was said once.
pub(super) fn said() -> Vec<Entry> {
    let mut steps = vec![Step::Start { other: false, heater: 0, procedure: 0, restores: 0 }];
    steps.extend([(1, false), (2, true)].map(|(what, other)| Step::Mark { other, what }));
    steps.extend([Step::Read { index: 0, value: 1_800 }, Step::Panel { index: 1 }]);
    steps.extend(
        (0..SAYINGS).flat_map(|which| (0..4).map(move |index| Step::Say { which, index, other: index % 2 == 0 })),
    );
    Day::live(&steps).log
}

pub(super) fn hostile(flags: &[Hostile]) -> Vec<Entry> {
    let said = said();
    let started = said.iter().find_map(|entry| match &entry.body {
        Body::TestStarted(started) => Some((**started).clone()),
        _ => None,
    });
    let started = started.unwrap();
    let mut made: Vec<Entry> = Vec::new();
    for flag in flags {
        let earlier = made.get(flag.names % made.len().max(1));
        let target = earlier.map_or(Hash::of(&[flag.small]), |entry| entry.hash);
        let somewhere = DecisionId {
            phone: id(100 + flag.chain % 3),
            session: id(101 + flag.small % 3),
            decision: i64::from(flag.small % 7),
        };
        let undoes = earlier.filter(|_| flag.small % 4 > 0).map_or(somewhere, Entry::decision);
        let test = test_id(flag.small.is_multiple_of(2));
        let (by, when) = (Who::Person(id(PERSON)), happened(Wall(flag.wall)));
        let body = match flag.says {
            0..=3 => Body::Undone { undoes },
            4 => Body::Moved { mark: target, to_session: id(101 + flag.small % 3), to_mono: Mono(flag.mono) },
            5 => Body::Restored(Restoring { ends: target, by, verified_by: None, note: None, happened: when }.into()),
            6 => Body::AlarmCleared(Clearing { ends: target, by, note: None, happened: when }.into()),
            7 => Body::DetectorRemoved(
                Removal { detector: detector(POSITION), ends: target, why: RemovedWhy::Failed, happened: None }.into(),
            ),
            8 => Body::ClockGap { wall_ms: flag.wall, mono_ms: flag.mono, hidden: flag.small.is_multiple_of(2) },
            9 => Body::ClockAnswered { gap: target, asleep: flag.small.is_multiple_of(3) },
            10 | 11 => Body::TestStarted(Arc::new(odd_start(&started, test, flag))),
            12..=15 => Body::Mark { of: test, what: WHATS[usize::from(flag.small) % WHATS.len()] },
            16 => Body::ReadingTaken { of: test, reading: c(flag.mono), trip: Some(target) },
            17 => Body::TestEnded { test, how: ENDINGS[usize::from(flag.small) % ENDINGS.len()] },
            18 => Body::TestTakenOver { test, last: target },
            19 => Body::PanelPoint { trip: target, point: Point::Wrong, said: None },
            20 => Body::MarkStruck { mark: target, why: None },
            21 => {
                let now = (flag.small % 2 > 0).then(|| c(flag.wall));
                Body::ReadingCorrected(ReadingCorrection { reading: target, now, why: None }.into())
            }
            22 => {
                let how = ItemClosed::RepairedAndTested;
                let (test, evidence) = (Some(test), Some(target));
                Body::ItemClosed(
                    ItemClosing { item: target, how, test, evidence, by, note: None, happened: when }.into(),
                )
            }
            23 => Body::ItemFound(Arc::new(odd_item(test, flag))),
            24 => Body::VisitReopened(Reopening { ends: target, why: target, by: id(PERSON) }.into()),
            25 => Body::RestoreSaid(RestoreWord { test, restored: Answer::No, by, happened: when }.into()),
            26 => Body::VisitOpened { site: id(SITE) },
            _ => said[flag.names % said.len()].body.clone(),
        };
        let scope = [Scope::Visit(id(VISIT)), Scope::Kit, Scope::Site(id(SITE))]
            [usize::from(flag.chain % 3 / 2 * (flag.small % 3))];
        let chain = Chain { scope, phone: id(100 + flag.chain % 3) };
        let stamp = Stamp { session: id(101 + flag.small % 3), mono: Mono(flag.mono), wall: Wall(flag.wall) };
        let prev = (flag.seq > 0).then_some(target);
        let entry = sealed(chain, flag.seq, prev, stamp, body);
        let newer = flag.small.is_multiple_of(17);
        let text = if newer { entry.text.replace("\"v\":2", "\"v\":3") } else { entry.text.clone() };
        made.push(Entry::read(&text).expect("sealed entries are read"));
    }
    made
}

fn odd_item(test: Id, flag: &Hostile) -> ItemFound {
    ItemFound {
        what: ItemWhat::Visual,
        class: None,
        position: (flag.small & 1 > 0).then(|| id(POSITION)),
        other_position: None,
        circuit: None,
        test: Some(test),
        visual: vec![Visual::Missing],
        note: None,
        remedy: None,
        photo: None,
        by: None,
        happened: happened(Wall(flag.wall)),
    }
}

fn odd_start(started: &TestStart, test: Id, flag: &Hostile) -> TestStart {
    let mut started = started.clone();
    started.test = test;
    started.procedure.trips = [0, 1, 5, u32::MAX][usize::from(flag.small) % 4];
    started.procedure.not_averaged = [0, 1, u32::MAX][usize::from(flag.small) % 3];
    started.procedure.extra_trips = [0, 2, u32::MAX][usize::from(flag.small) % 3];
    started.procedure.soak_ms = (!flag.small.is_multiple_of(5)).then_some(flag.mono);
    started.indication.restores = Restores::ALL[usize::from(flag.small) % 3];
    let long = flag.wall;
    started.heater.heating.cycle = if flag.names.is_multiple_of(2) {
        let (heat_up_cold_ms, heat_up_again_ms) = (Some(long), (flag.small.is_multiple_of(2)).then_some(flag.mono));
        let (hold_first_ms, hold_again_ms, off_ms) = (Some(flag.mono), Some(0), Some(long));
        Cycle::Auto { heat_up_cold_ms, heat_up_again_ms, hold_first_ms, hold_again_ms, off_ms }
    } else {
        Cycle::Manual { heat_up_cold_ms: Some(long), heat_up_again_ms: None }
    };
    started
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn merge_is_commutative_associative_and_idempotent_and_loses_none(
        flags in prop::collection::vec(flag(), 1..60),
        cut in (0..60_usize, 0..60_usize),
    ) {
        let entries = hostile(&flags);
        let (one, two) = (cut.0.min(cut.1).min(entries.len()), cut.0.max(cut.1).min(entries.len()));
        let parts = [&entries[..one], &entries[one..two], &entries[two..]].map(book_of);
        let merged = |order: [usize; 3]| {
            let mut book = Book::default();
            order.iter().for_each(|part| book.merge(parts[*part].clone()));
            book
        };
        let whole = merged([0, 1, 2]);
        for order in [[0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
            prop_assert_eq!(&merged(order), &whole);
        }
        prop_assert_eq!(derived(&merged([2, 1, 0])), derived(&whole));
        let mut right = parts[1].clone();
        right.merge(parts[2].clone());
        let mut left = parts[0].clone();
        left.merge(right);
        prop_assert_eq!(&left, &whole);
        left.merge(whole.clone());
        prop_assert_eq!(&left, &whole);
        let distinct: std::collections::BTreeSet<Hash> = entries.iter().map(|entry| entry.hash).collect();
        prop_assert_eq!(whole.len(), distinct.len());
        let in_chains: usize = whole.chains().map(|chain| whole.chain(chain).count()).sum();
        prop_assert_eq!(in_chains, distinct.len());
    }

    #[test]
    fn the_rules_never_panic_on_any_book_and_write_what_can_be_read(
        flags in prop::collection::vec(flag(), 1..40),
        steps in prop::collection::vec(step(), 1..20),
    ) {
        let mut day = Day::new();
        hostile(&flags).into_iter().for_each(|entry| {
            day.log.push(entry.clone());
            day.world.book.apply(entry);
        });
        for step in &steps {
            day.step(step);
        }
        prop_assert_eq!(book_of(&day.log), day.world.book.clone());
        for entry in &day.log {
            let read = Entry::read(&entry.text);
            prop_assert_eq!(read.as_ref(), Ok(entry));
        }
    }

    #[test]
    fn a_restoring_ends_only_the_securing_it_names(count in 1..8_usize, pick in 0..8_usize) {
        let mut world = World::given();
        let hashes: Vec<Hash> = (0..count).map(|_| world.wait(SECOND).act(secure("Door 7"))).collect();
        let named = hashes[pick % count];
        world.wait(SECOND).act(restore(named));
        let visit = world.visit();
        for secured in &visit.secured {
            prop_assert_eq!(secured.restored.is_some(), secured.hash == named);
        }
        prop_assert_eq!(visit.is_secured("Door 7"), count > 1);
        let again = world.try_act(restore(named));
        prop_assert!(again.is_err());
    }

    #[test]
    fn any_text_at_all_is_an_entry_or_refused(text in ".{0,80}", at in 0..400_usize, with in any::<char>()) {
        let _ = Entry::read(&text);
        let first = World::given().book.entries().next().cloned().unwrap();
        let whole = &first.text;
        let mut altered: Vec<char> = whole.chars().collect();
        let at = at % altered.len();
        altered[at] = with;
        let altered: String = altered.into_iter().collect();
        if let Ok(entry) = Entry::read(&altered) {
            prop_assert_eq!(&entry.text, &altered);
            prop_assert_eq!(entry.hash == first.hash, altered == *whole);
        }
    }
}

#[test]
fn an_undo_chain_of_ten_thousand_ends_and_alternates() {
    const LONG: i64 = 10_000;
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: id(100) };
    let stamp = Stamp { session: id(101), mono: Mono(0), wall: MORNING };
    let mut entries = vec![sealed(chain, 0, None, stamp, Body::VisitOpened { site: id(SITE) })];
    for seq in 1..=LONG {
        let last = &entries[entries.len() - 1];
        let undo = sealed(chain, seq, Some(last.hash), stamp, Body::Undone { undoes: last.decision() });
        entries.push(undo);
    }
    let book = book_of(&entries);
    // The last one stands, so every second one before it is void.
    for (from_the_end, entry) in entries.iter().rev().enumerate() {
        assert_eq!(book.is_void(entry), from_the_end % 2 == 1);
    }
    assert_eq!(book.len(), 10_001);
    assert_eq!(anomalies(&book), []);
    assert_eq!(book_of(entries.iter().rev()), book);
}

#[test]
fn an_undo_names_what_has_not_arrived_yet_and_only_its_own_phones() {
    let chain = |n| Chain { scope: Scope::Visit(id(VISIT)), phone: id(n) };
    let stamp = Stamp { session: id(101), mono: Mono(0), wall: MORNING };
    let opened = sealed(chain(100), 0, None, stamp, Body::VisitOpened { site: id(SITE) });
    let undo = sealed(chain(100), 1, Some(opened.hash), stamp, Body::Undone { undoes: opened.decision() });
    let mut book = book_of([&undo]);
    assert!(book.is_undone(opened.decision()));
    book.apply(opened.clone());
    assert!(book.is_void(&opened));
    // Another phone's word on it is kept, shown as one that fits nothing, and takes nothing back.
    let strange = sealed(chain(110), 0, None, stamp, Body::Undone { undoes: opened.decision() });
    let book = book_of([&opened, &strange]);
    assert!(!book.is_void(&opened));
    assert_eq!(anomalies(&book), [Anomaly::NamesUnknown { hash: strange.hash }]);
}

#[test]
fn thousands_of_take_overs_and_their_undoes_end() {
    let stamp = |mono| Stamp { session: id(101), mono: Mono(mono), wall: MORNING };
    let visit = Scope::Visit(id(VISIT));
    let mut world = World::running(SELF_HEATER, SET_POINT, Restores::NotWatched);
    let last = world.test().last.unwrap();
    let (decision, mut seq) = (world.entry(last).decision(), world.entry(last).seq);
    for n in 0..3_000_i64 {
        let chain = Chain { scope: visit, phone: Id::from_u128(n as u128) };
        let over = sealed(chain, 0, None, stamp(n), Body::TestTakenOver { test: id(TEST), last });
        let undo = sealed(chain, 1, Some(over.hash), stamp(n), Body::Undone { undoes: over.decision() });
        world.book.apply(over);
        if n > 0 {
            world.book.apply(undo);
        }
    }
    assert_eq!(world.test().keeper, Id::from_u128(0));
    // And as many of one decision, by its own phone.
    let chain = Chain { scope: visit, phone: world.phone.id };
    for n in 0..3_000_i64 {
        seq += 1;
        world.book.apply(sealed(chain, seq, Some(last), stamp(n), Body::Undone { undoes: decision }));
    }
    assert_eq!(Test::of(&world.book, id(TEST)), None);
}

#[test]
fn a_test_of_ten_thousand_marks_ends() {
    let mut world = World::running(HAND_HEATER, SET_POINT, Restores::Watched);
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let mut seq = world.book.tip(chain).unwrap().seq;
    for n in 0..10_000_usize {
        let what = [What::Tripped, What::HeaterOff, What::HeaterOn][n % 3];
        world.wait(SECOND);
        seq += 1;
        let entry = sealed(chain, seq, Some(Hash::of(b"")), world.phone.stamp(), Body::Mark { of: id(TEST), what });
        world.book.apply(entry);
    }
    assert!(matches!(world.phase(), Phase::Complete { .. }));
    assert_eq!(world.timeline().trips.len(), 3_334);
}

#[test]
fn a_clockwork_of_no_length_ends() {
    let mut world = World::running(SELF_HEATER, SET_POINT, Restores::NotWatched);
    let mut frozen = (*world.test().frozen).clone();
    frozen.test = id(OTHER_TEST);
    let nothing = Some(0);
    frozen.heater.heating.cycle = Cycle::Auto {
        heat_up_cold_ms: nothing,
        heat_up_again_ms: nothing,
        hold_first_ms: nothing,
        hold_again_ms: nothing,
        off_ms: nothing,
    };
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let seal = |seq, body| sealed(chain, seq, Some(Hash::of(b"")), world.phone.stamp(), body);
    let seq = world.book.tip(chain).unwrap().seq;
    let start = seal(seq + 1, Body::TestStarted(Arc::new(frozen)));
    let heat_on = seal(seq + 2, Body::Mark { of: id(OTHER_TEST), what: What::HeatOn });
    let trip = seal(seq + 3, Body::Mark { of: id(OTHER_TEST), what: What::Tripped });
    [start, heat_on, trip].into_iter().for_each(|entry| world.book.apply(entry));
    let test = Test::of(&world.book, id(OTHER_TEST)).unwrap();
    assert_eq!(Timeline::of(&test, TestTime(MAX_INTEGER)).trips.len(), 1);
    assert!(ahead(&test, TestTime(0), 100).len() <= 100);
}

#[test]
fn attachments_are_a_union_too() {
    let salt = [7; 16];
    let plain = Attachment::text(salt, "Ada");
    let other = Attachment { media: "text/html".into(), ..plain.clone() };
    let book = |attachments: &[&Attachment]| {
        let mut book = Book::default();
        attachments.iter().for_each(|attachment| book.attach((*attachment).clone()));
        book
    };
    let mut one = book(&[&plain]);
    one.merge(book(&[&other]));
    let mut two = book(&[&other]);
    two.merge(book(&[&plain]));
    assert_eq!(one, two);
    assert_eq!(one.words(plain.hash()), Some("Ada"));
}

#[test]
fn a_place_beyond_the_last_integer_is_never_written() {
    let mut world = World::given();
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let stamp = world.phone.stamp();
    let hostile =
        sealed(chain, MAX_INTEGER, Some(Hash::of(b"")), stamp, Body::VisitJoined { site: id(SITE), invitation: None });
    let elsewhere = Chain { scope: Scope::Site(id(SITE)), ..chain };
    let undo = sealed(elsewhere, MAX_INTEGER, Some(Hash::of(b"")), stamp, Body::Undone { undoes: hostile.decision() });
    world.book.apply(hostile);
    world.book.apply(undo);
    world.wait(SECOND);
    let drafts = decide(&world.book, world.phone.at(), start_with(|_| {})).unwrap();
    for entry in seal(&world.book, world.phone.id, world.phone.stamp(), 9, &world.phone.opens(), drafts) {
        assert_eq!(Entry::read(&entry.text).as_ref(), Ok(&entry));
    }
}
