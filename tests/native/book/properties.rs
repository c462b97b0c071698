//! What holds for any entries in any order.

use super::kit::*;
use proptest::prelude::*;
use soakbook::book::Id;
use soakbook::book::body::{Body, Disposition, Ending, Point, RetestWhy, Started, What};
use soakbook::book::command::{Command, StartProfileRun};
use soakbook::book::decide::decide;
use soakbook::book::entry::{Chain, Entry, Hash, MAX_INTEGER, Scope, Stamp};
use soakbook::book::health::{Misfit, misfits};
use soakbook::book::kit::Kit;
use soakbook::book::log::{Attachment, Book};
use soakbook::book::phase::{Phase, Timeline, ahead};
use soakbook::book::profile_run::{ProfileRun, profile_of, profile_runs_of};
use soakbook::book::register::Register;
use soakbook::book::seal::seal;
use soakbook::book::test::Test;
use soakbook::book::visit::{Visit, visits};
use soakbook::trade::conditions::{Restores, Warmth};
use soakbook::trade::detector::{Duty, Marking};
use soakbook::trade::heater::Cycle;
use std::sync::Arc;

const WHATS: [What; 7] =
    [What::HeatOn, What::Tripped, What::AtTop, What::HeaterOff, What::HeaterOn, What::Restore, What::PanelReset];

/// Everything that is derived from a book.
type Derived =
    (Register, Kit, Vec<Visit>, Vec<Option<Test>>, Vec<Timeline>, Vec<(Vec<ProfileRun>, Vec<Hash>)>, Vec<Misfit>);

fn derived(book: &Book) -> Derived {
    let tests: Vec<Option<Test>> = book.test_ids().map(|test| Test::of(book, test)).collect();
    let laid_out = tests.iter().flatten().flat_map(|test| {
        [-1, 0, 61_000, 400_000, MAX_INTEGER].map(|now| {
            let _ = ahead(test, now, 3);
            Timeline::of(test, now)
        })
    });
    let laid_out = laid_out.collect();
    let heaters = [SELF_HEATER, SELF_HEATER + 1].map(id);
    let profiles = heaters.map(|heater| (profile_runs_of(book, heater), profile_of(book, heater, None))).to_vec();
    (Register::of(book), Kit::of(book), visits(book), tests, laid_out, profiles, misfits(book))
}

fn book_of<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Book {
    let mut book = Book::default();
    entries.into_iter().for_each(|entry| book.apply(entry.clone()));
    book
}

// --- a day's work, as the rules allow it ---

#[derive(Clone, Debug)]
enum Step {
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
    Secure,
    Restore { index: usize },
    Edit { rating: i64 },
    Gap { wall_ms: i64, mono_ms: i64, hidden: bool },
    Answer { index: usize, asleep: bool },
    Close,
}

fn step() -> impl Strategy<Value = Step> {
    let any_index = 0..100_usize;
    prop_oneof![
        4 => (1..400_000_i64).prop_map(Step::Wait),
        1 => (1..600_000_i64).prop_map(Step::Sleep),
        2 => (-900_000..900_000_i64).prop_map(Step::SetClock),
        1 => (-300_000..300_000_i64).prop_map(Step::Restart),
        1 => Just(Step::Swap),
        3 => (any::<bool>(), 0..2_u8, 0..2_u8, 0..3_usize)
            .prop_map(|(other, heater, procedure, restores)| Step::Start { other, heater, procedure, restores }),
        8 => (any::<bool>(), 0..7_usize).prop_map(|(other, what)| Step::Mark { other, what }),
        2 => (any_index.clone(), prop_oneof![-20_000..20_000_i64, any::<i64>()])
            .prop_map(|(index, by_ms)| Step::Move { index, by_ms }),
        2 => any_index.clone().prop_map(|index| Step::Undo { index }),
        1 => (any_index.clone(), any::<i64>()).prop_map(|(index, value)| Step::Read { index, value }),
        1 => any_index.clone().prop_map(|index| Step::Panel { index }),
        2 => (0..2_u8, 0..2_u8).prop_map(|(n, heater)| Step::StartProfileRun { n, heater }),
        3 => (0..2_u8, 0..7_usize).prop_map(|(n, what)| Step::MarkProfileRun { n, what }),
        3 => (0..2_u8, prop_oneof![20..99_i64, any::<i64>()]).prop_map(|(n, celsius)| Step::ReadProfileRun { n, celsius }),
        1 => (0..2_u8, any::<bool>()).prop_map(|(n, usable)| Step::EndProfileRun { n, usable }),
        1 => (any::<bool>(), 0..8_usize).prop_map(|(other, how)| Step::End { other, how }),
        1 => Just(Step::TakeOver),
        1 => Just(Step::Secure),
        1 => any_index.clone().prop_map(|index| Step::Restore { index }),
        1 => (20..360_i64).prop_map(|rating| Step::Edit { rating }),
        1 => (any::<i64>(), -10_000..10_000_i64, any::<bool>())
            .prop_map(|(wall_ms, mono_ms, hidden)| Step::Gap { wall_ms, mono_ms, hidden }),
        1 => (any_index, any::<bool>()).prop_map(|(index, asleep)| Step::Answer { index, asleep }),
        1 => Just(Step::Close),
    ]
}

const ENDINGS: [Ending; 8] = [
    Ending::Done,
    Ending::Enough,
    Ending::DidNotOperate,
    Ending::StaysInAlarm,
    Ending::HeaterTrouble,
    Ending::DetectorTrouble,
    Ending::SiteAsked,
    Ending::Mistake,
];

/// The first of the profile runs.
const PROFILE_RUN: u8 = 230;

fn test_id(other: bool) -> Id {
    id(if other { OTHER_TEST } else { TEST })
}

/// Two phones that see each other's entries at once, and the order in which they wrote.
struct Day {
    world: World,
    other: Phone,
    log: Vec<Entry>,
}

impl Day {
    fn new() -> Day {
        let mut world = World::given();
        world.wait(SECOND);
        let log = world.book.entries().cloned().collect();
        Day { world, other: Phone::new(110), log }
    }

    fn live(steps: &[Step]) -> Day {
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
                Command::OpenVisit { visit: id(VISIT), site: id(SITE) }
            }
            Step::Start { other, heater, procedure, restores } => start_with(|s| {
                (s.test, s.detector) = (test_id(other), id(if other { OTHER_DETECTOR } else { DETECTOR }));
                (s.heater, s.procedure) = (id(SELF_HEATER + heater), id(SET_POINT + procedure));
                s.indication.restores = Restores::ALL[restores];
            }),
            Step::Mark { other, what } => Command::Mark { test: test_id(other), what: WHATS[what] },
            Step::Move { index, by_ms } => Command::Move { mark: newest(index), by_ms },
            Step::Undo { index } => Command::Undo { target: newest(index) },
            Step::Read { index, value } => {
                let reading = soakbook::units::Reading { value, scale: -1, unit: soakbook::units::Degree::F };
                Command::Read { test: id(TEST), reading, trip: (index % 2 == 0).then(|| newest(index)) }
            }
            Step::Panel { index } => Command::SayPanel { trip: newest(index), point: Point::Wrong, said: None },
            Step::StartProfileRun { n, heater } => Command::StartProfileRun(Box::new(StartProfileRun {
                profile_run: id(PROFILE_RUN + n),
                heater: id(SELF_HEATER + heater),
                setting: c(90),
                mode: None,
                detector: None,
                ambient: c(20),
                heater_warmth: Warmth::Cold,
                by: None,
            })),
            Step::MarkProfileRun { n, what } => Command::Mark { test: id(PROFILE_RUN + n), what: WHATS[what] },
            Step::ReadProfileRun { n, celsius } => {
                let reading = soakbook::units::Reading { value: celsius, scale: 0, unit: soakbook::units::Degree::C };
                Command::Read { test: id(PROFILE_RUN + n), reading, trip: None }
            }
            Step::EndProfileRun { n, usable } => Command::EndProfileRun { profile_run: id(PROFILE_RUN + n), usable },
            Step::End { other, how } => Command::End { test: test_id(other), how: ENDINGS[how] },
            Step::TakeOver => Command::TakeOver { test: id(TEST) },
            Step::Secure => Command::Secure { visit: id(VISIT), release: "Door 7".into(), by: id(PERSON) },
            Step::Restore { index } => Command::Restore { securing: hash_at(index), by: id(PERSON) },
            Step::Edit { rating } => {
                put_detector(DETECTOR, "HD-1", Marking { rating: Some(c(rating)), ..marking() }, Duty::default())
            }
            Step::Gap { wall_ms, mono_ms, hidden } => {
                Command::NoteGap { scope: Scope::Visit(id(VISIT)), wall_ms, mono_ms, hidden }
            }
            Step::Answer { index, asleep } => Command::AnswerGap { gap: newest(index), asleep },
            Step::Close => Command::CloseVisit { visit: id(VISIT) },
        };
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
            super::schema::check(&entry.text, true);
            prop_assert_eq!(entry.not_understood(), Vec::<String>::new());
        }
        prop_assert_eq!(misfits(&day.world.book), []);
    }

    #[test]
    fn undo_restores_and_undo_of_undo_brings_it_back(steps in prop::collection::vec(step(), 1..40), index in 0..12_usize) {
        let mut day = Day::live(&steps);
        let facts = |world: &World| {
            let book = &world.book;
            let tests: Vec<_> = book.test_ids().map(|test| Test::of(book, test)).map(|test| {
                test.map(|test| (test.marks, test.readings, test.ended, test.faults))
            }).collect();
            (Register::of(book), tests, Visit::of(book, id(VISIT)).map(|visit| (visit.securings, visit.deficiencies)))
        };
        let with = facts(&day.world);
        let target = day.log[day.log.len() - 1 - index % day.log.len().min(12)].hash;
        day.world.wait(SECOND);
        if let Ok(undone) = day.world.try_act(Command::Undo { target }) {
            prop_assert!(day.world.book.is_void(target));
            let again = day.world.try_act(Command::Undo { target });
            prop_assert!(again.is_err());
            day.world.wait(SECOND);
            day.world.act(Command::Undo { target: undone[0] });
            prop_assert!(!day.world.book.is_void(target));
            prop_assert_eq!(facts(&day.world), with);
        }
    }
}

// --- anything at all ---

/// One hostile entry: what it says, where it stands, which earlier entry it names, and nonsense clocks.
#[derive(Clone, Debug)]
struct Flag {
    says: u8,
    names: usize,
    chain: u8,
    seq: i64,
    mono: i64,
    wall: i64,
    small: u8,
}

fn flag() -> impl Strategy<Value = Flag> {
    let extreme = || prop_oneof![Just(MAX_INTEGER), Just(-MAX_INTEGER), Just(0), -500_000..500_000_i64];
    let seq = prop_oneof![6 => 0..12_i64, 1 => Just(MAX_INTEGER), 1 => Just(MAX_INTEGER - 1)];
    (0..24_u8, 0..64_usize, 0..6_u8, seq, extreme(), extreme(), any::<u8>())
        .prop_map(|(says, names, chain, seq, mono, wall, small)| Flag { says, names, chain, seq, mono, wall, small })
}

fn hostile(flags: &[Flag]) -> Vec<Entry> {
    let golden = super::golden::entries();
    let started = golden.iter().find_map(|entry| match &entry.body {
        Body::TestStarted(started) => Some((**started).clone()),
        _ => None,
    });
    let started = started.unwrap();
    let mut made: Vec<Entry> = Vec::new();
    for flag in flags {
        let target = made.get(flag.names % made.len().max(1)).map_or(Hash::of(&[flag.small]), |entry| entry.hash);
        let test = test_id(flag.small.is_multiple_of(2));
        let body = match flag.says {
            0..=3 => Body::Undone { target },
            4 => Body::Moved { mark: target, to_session: id(101 + flag.small % 3), to_mono: flag.mono },
            5 => Body::Restored { ends: target, by: id(PERSON) },
            6 => Body::BackInService { ends: target },
            7 => Body::Secured { release: "Door 7".into(), by: id(PERSON) },
            8 => Body::ClockGap { wall_ms: flag.wall, mono_ms: flag.mono, hidden: flag.small.is_multiple_of(2) },
            9 => Body::ClockAnswered { gap: target, asleep: flag.small.is_multiple_of(3) },
            10 | 11 => Body::TestStarted(Arc::new(odd_start(&started, test, flag))),
            12..=15 => Body::Mark { test, what: WHATS[usize::from(flag.small) % 7] },
            16 => Body::ReadingTaken { test, reading: c(flag.mono), trip: Some(target) },
            17 => Body::TestEnded { test, how: ENDINGS[usize::from(flag.small) % 8] },
            18 => Body::TestTakenOver { test, last: target },
            19 => Body::PanelPoint { trip: target, point: Point::Wrong, said: None },
            20 => Body::DeficiencyDisposed { deficiency: target, how: Disposition::Replaced, note: None },
            21 => Body::Retest { detector: id(DETECTOR), test, why: RetestWhy::Wanted },
            22 => Body::VisitOpened { site: id(SITE) },
            _ => golden[flag.names % golden.len()].body.clone(),
        };
        let scope = [Scope::Visit(id(VISIT)), Scope::Kit, Scope::Site(id(SITE))]
            [usize::from(flag.chain % 3 / 2 * (flag.small % 3))];
        let chain = Chain { scope, phone: id(100 + flag.chain % 3) };
        let stamp = Stamp { session: id(101 + flag.small % 3), mono: flag.mono, wall: flag.wall };
        let prev = (flag.seq > 0).then_some(target);
        let entry = Entry::seal(chain, flag.seq, prev, stamp, None, body);
        let text =
            if flag.small.is_multiple_of(17) { entry.text.replace("\"v\":1", "\"v\":2") } else { entry.text.clone() };
        made.push(Entry::read(&text).expect("sealed entries are read"));
    }
    made
}

fn odd_start(started: &Started, test: Id, flag: &Flag) -> Started {
    let mut started = started.clone();
    started.test = test;
    started.procedure.trips = [0, 1, 5, u32::MAX][usize::from(flag.small) % 4];
    started.procedure.uncounted = [0, 1, u32::MAX][usize::from(flag.small) % 3];
    started.procedure.appended_at_most = [0, 2, u32::MAX][usize::from(flag.small) % 3];
    started.procedure.soak_ms = flag.mono;
    started.indication.restores = Restores::ALL[usize::from(flag.small) % 3];
    let long = flag.wall;
    started.heater.heating.cycle = if flag.names.is_multiple_of(2) {
        let (heat_up_cold_ms, heat_up_again_ms) = (Some(long), (flag.small.is_multiple_of(2)).then_some(flag.mono));
        Cycle::ByItself { heat_up_cold_ms, heat_up_again_ms, hold_first_ms: flag.mono, hold_again_ms: 0, off_ms: long }
    } else {
        Cycle::ByHand { heat_up_cold_ms: Some(long), heat_up_again_ms: None }
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
        let secure = Command::Secure { visit: id(VISIT), release: "Door 7".into(), by: id(PERSON) };
        let hashes: Vec<Hash> = (0..count).map(|_| world.wait(SECOND).act(secure.clone())).collect();
        let named = hashes[pick % count];
        world.wait(SECOND).act(Command::Restore { securing: named, by: id(PERSON) });
        let visit = world.visit();
        for securing in &visit.securings {
            prop_assert_eq!(securing.restored.is_some(), securing.hash == named);
        }
        prop_assert_eq!(visit.is_secured("Door 7"), count > 1);
        let again = world.try_act(Command::Restore { securing: named, by: id(PERSON) });
        prop_assert!(again.is_err());
    }

    #[test]
    fn any_text_at_all_is_an_entry_or_refused(text in ".{0,80}", at in 0..400_usize, with in any::<char>()) {
        let _ = Entry::read(&text);
        let whole = &super::golden::entries()[0].text;
        let mut altered: Vec<char> = whole.chars().collect();
        let at = at % altered.len();
        altered[at] = with;
        let altered: String = altered.into_iter().collect();
        if let Ok(entry) = Entry::read(&altered) {
            prop_assert_eq!(&entry.text, &altered);
            prop_assert_eq!(entry.hash == super::golden::entries()[0].hash, altered == *whole);
        }
    }
}

#[test]
fn an_undo_chain_of_ten_thousand_ends_and_alternates() {
    const LONG: i64 = 10_000;
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: id(100) };
    let stamp = Stamp { session: id(101), mono: 0, wall: MORNING };
    let mut entries = vec![Entry::seal(chain, 0, None, stamp, None, Body::VisitOpened { site: id(SITE) })];
    for seq in 1..=LONG {
        let target = entries[entries.len() - 1].hash;
        entries.push(Entry::seal(chain, seq, Some(target), stamp, None, Body::Undone { target }));
    }
    let book = book_of(&entries);
    // The last one stands, so every second one before it is void.
    for (from_the_end, entry) in entries.iter().rev().enumerate() {
        assert_eq!(book.is_void(entry.hash), from_the_end % 2 == 1);
    }
    assert_eq!(book.len(), 10_001);
    assert_eq!(misfits(&book), []);
    assert_eq!(book_of(entries.iter().rev()), book);
}

#[test]
fn thousands_of_undoes_of_one_entry_and_of_take_overs_end() {
    let stamp = |mono| Stamp { session: id(101), mono, wall: MORNING };
    let visit = Scope::Visit(id(VISIT));
    let mut world = World::running(SELF_HEATER, SET_POINT, Restores::NotWatched);
    let last = world.test().last.unwrap();
    for n in 0..3_000_i64 {
        let chain = Chain { scope: visit, phone: Id::from_u128(n as u128) };
        let over = Entry::seal(chain, 0, None, stamp(n), None, Body::TestTakenOver { test: id(TEST), last });
        let undo = Entry::seal(chain, 1, Some(over.hash), stamp(n), None, Body::Undone { target: over.hash });
        world.book.apply(over);
        if n > 0 {
            world.book.apply(undo);
        }
        world.book.apply(Entry::seal(chain, 2, None, stamp(n), None, Body::Undone { target: last }));
    }
    assert_eq!(world.test().keeper, Id::from_u128(0));
    assert!(world.test().marks.is_empty());
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
        let entry = Entry::seal(chain, seq, None, world.phone.stamp(), None, Body::Mark { test: id(TEST), what });
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
    frozen.heater.heating.cycle = Cycle::ByItself {
        heat_up_cold_ms: nothing,
        heat_up_again_ms: nothing,
        hold_first_ms: 0,
        hold_again_ms: 0,
        off_ms: 0,
    };
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let seal = |seq, body| Entry::seal(chain, seq, None, world.phone.stamp(), None, body);
    let seq = world.book.tip(chain).unwrap().seq;
    let start = seal(seq + 1, Body::TestStarted(Arc::new(frozen)));
    let heat_on = seal(seq + 2, Body::Mark { test: id(OTHER_TEST), what: What::HeatOn });
    let trip = seal(seq + 3, Body::Mark { test: id(OTHER_TEST), what: What::Tripped });
    [start, heat_on, trip].into_iter().for_each(|entry| world.book.apply(entry));
    let test = Test::of(&world.book, id(OTHER_TEST)).unwrap();
    assert_eq!(Timeline::of(&test, MAX_INTEGER).operated(), Some(true));
    assert!(ahead(&test, 0, 100).len() <= 100);
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
    let hostile = Entry::seal(chain, MAX_INTEGER, Some(Hash::of(b"")), world.phone.stamp(), None, Body::VisitClosed {});
    world.book.apply(hostile.clone());
    world.book.apply(Entry::seal(
        Chain { scope: Scope::Site(id(SITE)), ..chain },
        MAX_INTEGER,
        Some(Hash::of(b"")),
        world.phone.stamp(),
        None,
        Body::Undone { target: hostile.hash },
    ));
    world.wait(SECOND);
    let drafts = decide(&world.book, world.phone.at(), start_with(|_| {})).unwrap();
    for entry in seal(&world.book, world.phone.id, world.phone.stamp(), &world.phone.opens(), drafts) {
        assert_eq!(Entry::read(&entry.text).as_ref(), Ok(&entry));
    }
}
