//! Whatever is done on two or three phones, with merges at random points and several closings: no visit is called closed while anything
//! is off that nobody accepted by name. What is off is found here from the entries alone.

use super::*;
use soakbook::book::body::{Body, NotOurs, PanelWhen};
use soakbook::book::entries::Book;
use soakbook::book::entry::{Entry, Scope};
use soakbook::book::visit::{State, Visit};
use soakbook::trade::conditions::Restores;

/// A small generator whose whole state is its seed: xorshift64*, Vigna, "An experimental exploration of Marsaglia's xorshift generators,
/// scrambled", 2016.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) as usize % sides
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> Option<&'a T> {
        if from.is_empty() { None } else { from.get(self.roll(from.len())) }
    }
}

/// What closing lacks, put right or left off by name; what cannot be done from this phone is left for another.
fn settle(world: &mut World, dice: &mut Dice) {
    for _ in 0..12 {
        let missing = match world.decide(close()) {
            Err(Refusal::VisitNotOver(missing)) => missing,
            _ => break,
        };
        for one in missing {
            world.wait(SECOND);
            let until = world.phone.wall + 1_000 * HOUR;
            if let Some(off) = one.can_be_left().filter(|_| dice.roll(4) == 0) {
                let _ = world.try_act(leave_off(off, until, |_| {}));
                continue;
            }
            let command = match &one {
                Missing::Test(test) => {
                    let _ = world.try_act(Command::TakeOver { test: *test });
                    let how = if dice.roll(2) == 0 { Ending::Mistake } else { Ending::StoppedEarly };
                    match world.try_act(Command::End { test: *test, how }) {
                        Ok(_) => continue,
                        Err(_) => Command::End { test: *test, how: Ending::NoTrip },
                    }
                }
                Missing::Off(off) => match &off.what {
                    StillOff::OnTest { whom, .. } => {
                        notify(*whom, NotifyAnswer::Notified, |notice| notice.when = NotifyWhen::After)
                    }
                    StillOff::Unrestored { test, .. } => {
                        Command::SayRestore { test: *test, restored: Answer::Yes, happened: happened(MORNING) }
                    }
                    StillOff::NotOurs(_) => Command::ClearAlarm { alarm: off.entry, by: named("Chief"), note: None },
                    StillOff::Panel(_) => see_panel(PanelWhen::Left, |_| {}),
                    _ => restore(off.entry),
                },
                Missing::PanelNotSeen(_) | Missing::PanelDiffers(_) => see_panel(PanelWhen::Left, |_| {}),
                Missing::Untested(_) | Missing::Circuit { .. } => continue,
                Missing::Phone(invitation) => excuse(*invitation),
            };
            let _ = world.try_act(command);
        }
    }
    let _ = world.wait(SECOND).try_act(close());
}

fn step(worlds: &mut [World], dice: &mut Dice, tests: &mut u8) {
    let at = dice.roll(worlds.len());
    if dice.roll(8) == 0 {
        let from = dice.roll(worlds.len());
        let book = worlds[from].book.clone();
        worlds[at].book.merge(book);
        return;
    }
    let world = &mut worlds[at];
    world.wait((1 + dice.roll(600) as i64) * SECOND);
    if dice.roll(20) == 0 {
        world.set_clock((dice.roll(7_200) as i64 - 3_600) * SECOND);
        world.phone.wall = world.phone.wall.max(MORNING);
    }
    // Without its opening there is no visit.
    let entries = world.book.scope(Scope::Visit(id(VISIT))).filter(|entry| entry.seq > 4);
    let mine: Vec<Hash> = entries.map(|entry| entry.hash).collect();
    let open: Vec<_> = world.visit().active().map(|test| test.id).collect();
    let any: Vec<_> = world.visit().tests.iter().map(|test| test.id).collect();
    let off = world.visit().off_now();
    let position = if dice.roll(2) == 0 { POSITION } else { OTHER_POSITION };
    let command = match dice.roll(25) {
        0 => secure("Door 7"),
        1 => impair(None),
        2 => impair(Some(LOOP)),
        3 => open_pair(|_| {}),
        4 => notify(Whom::SupervisingStation, NotifyAnswer::Notified, |_| {}),
        5 => notify(Whom::Occupants, NotifyAnswer::Notified, |_| {}),
        6 => told_over(),
        7 | 8 => {
            *tests += 1;
            start_with(|start| {
                (start.test, start.position, start.procedure) = (id(*tests), id(position), Some(id(FUNCTIONAL)));
                (start.heater, start.indication.restores) = (id(HAND_HEATER), Restores::NotWatched);
            })
        }
        9 | 10 => match dice.pick(&open) {
            Some(test) => Command::Mark { of: *test, what: What::Tripped },
            None => return,
        },
        11 => match dice.pick(&open) {
            Some(test) => Command::Mark { of: *test, what: What::Restored },
            None => return,
        },
        12 => match dice.pick(&open) {
            Some(test) => Command::End { test: *test, how: Ending::StoppedEarly },
            None => return,
        },
        13 => match dice.pick(&any) {
            Some(test) => {
                let restored = if dice.roll(2) == 0 { Answer::Yes } else { Answer::NotChecked };
                Command::SayRestore { test: *test, restored, happened: happened(MORNING) }
            }
            None => return,
        },
        14 | 15 => match dice.pick(&off) {
            Some(off) => restore(off.entry),
            None => return,
        },
        16 | 17 => match dice.pick(&mine[mine.len().saturating_sub(12)..]) {
            Some(hash) => Command::Undo { target: *hash },
            None => return,
        },
        18 => {
            let (back, left): (Vec<_>, Vec<_>) = off.iter().map(|off| off.entry).partition(|_| dice.roll(2) == 0);
            start_break(&back, &left)
        }
        19 => end_break(),
        20 => match dice.pick(&world.visit().off_again()) {
            Some(off) => Command::OffAgain { off: *off },
            None => return,
        },
        21 => Command::AlarmNotOurs { visit: id(VISIT), what: NotOurs::Alarm, note: None },
        22 => Command::ReopenVisit { visit: id(VISIT), why: Hash::of(b"salted reason"), amends: None },
        23 => see_panel(PanelWhen::Left, |panel| {
            (panel.normal, panel.troubles) = (false, vec!["Ground fault".into()]);
        }),
        _ => return settle(world, dice),
    };
    let _ = world.try_act(command);
}

/// What nothing answers for, found from the entries alone.
fn unanswered(book: &Book) -> Vec<String> {
    let standing: Vec<&Entry> = book.scope(Scope::Visit(id(VISIT))).filter(|entry| !book.is_void(entry)).collect();
    let ended = |hash: Hash| standing.iter().any(|end| matches!(&end.body, Body::Restored(of) if of.ends == hash));
    let left = |hash: Hash| standing.iter().any(|end| matches!(&end.body, Body::LeftOff(of) if of.off == hash));
    let mut found = Vec::new();
    for entry in &standing {
        let later = |other: &&&Entry| other.chain == entry.chain && other.seq > entry.seq;
        match &entry.body {
            Body::Impaired(_) | Body::Secured(_) | Body::PairOpened(_) if !ended(entry.hash) && !left(entry.hash) => {
                found.push(entry.body.name().to_string());
            }
            Body::Notified(of) if of.when == NotifyWhen::Before && of.answer == NotifyAnswer::Notified => {
                let same = |other: &&&Entry| matches!(&other.body, Body::Notified(n) if n.whom == of.whom && n.answer == NotifyAnswer::Notified);
                // The next word of the same phone takes its place: an extension, or that it is over.
                let next = standing.iter().filter(later).any(|other| same(&other));
                if !next && !ended(entry.hash) && !left(entry.hash) {
                    found.push("on test".into());
                }
            }
            Body::PanelState(of) if of.when == PanelWhen::Left && !of.normal => {
                let look = |other: &&Entry| matches!(&other.body, Body::PanelState(of) if of.when == PanelWhen::Left);
                let again = standing.iter().filter(later).any(look);
                if !again && !ended(entry.hash) && !left(entry.hash) {
                    found.push("panel not normal".into());
                }
            }
            Body::AlarmNotOurs(_) => {
                let cleared = |end: &&Entry| matches!(&end.body, Body::AlarmCleared(of) if of.ends == entry.hash);
                if !standing.iter().any(cleared) {
                    found.push("not ours".into());
                }
            }
            Body::TestStarted(start) => {
                let about = |other: &&&Entry| other.body.test() == Some(start.test);
                let of_test: Vec<&&Entry> = standing.iter().filter(about).collect();
                if !of_test.iter().any(|other| matches!(other.body, Body::TestEnded { .. })) {
                    found.push("in progress".into());
                }
                let is_trip = |other: &&&&Entry| matches!(other.body, Body::Mark { what: What::Tripped, .. });
                let trips: Vec<&&&Entry> = of_test.iter().filter(is_trip).collect();
                if trips.is_empty() {
                    continue;
                }
                let restored = of_test.iter().any(|other| {
                    matches!(&other.body, Body::Mark { what: What::Restored, .. })
                        || matches!(&other.body, Body::RestoreSaid(word) if word.restored == Answer::Yes)
                });
                let again = standing.iter().any(|other| match &other.body {
                    Body::TestStarted(next) => next.follows == Some(start.test),
                    _ => false,
                });
                if !restored && !again && !trips.iter().any(|trip| left(trip.hash)) {
                    found.push("unrestored".into());
                }
            }
            _ => {}
        }
    }
    found
}

/// Runs sequences from a seed; says how often a visit was called closed.
fn run(seed: u64, sequences: usize, steps: usize) -> (usize, usize) {
    let (mut closed, mut closed_still_off) = (0, 0);
    for sequence in 0..sequences {
        let mut dice = Dice(seed.wrapping_add(sequence as u64 * 0x9E37_79B9).max(1));
        let mut worlds = vec![World::given()];
        for n in 0..=dice.roll(2) as u8 {
            let mut other = worlds[0].other_phone();
            other.phone = Phone { wall: worlds[0].phone.wall, ..Phone::new(110 + 10 * n) };
            worlds.push(other);
        }
        let mut tests = 20;
        let mut whole = Book::default();
        for _ in 0..steps {
            step(&mut worlds, &mut dice, &mut tests);
        }
        // Two phones close, each by what it knows; then everything comes together.
        settle(&mut worlds[0], &mut dice);
        settle(&mut worlds[1], &mut dice);
        worlds.iter().for_each(|world| whole.merge(world.book.clone()));
        // Acceptances are given for weeks.
        let latest = worlds.iter().map(|world| world.phone.wall).max().unwrap_or(MORNING);
        for book in worlds.iter().map(|world| &world.book).chain([&whole]) {
            match Visit::of(book, id(VISIT)).expect("a visit").state(latest) {
                State::Closed => {
                    closed += 1;
                    let off = unanswered(book);
                    assert!(off.is_empty(), "seed {seed}, sequence {sequence}: closed with {off:?}");
                }
                State::ClosedStillOff => closed_still_off += 1,
                State::Open => {}
            }
        }
    }
    (closed, closed_still_off)
}

const SEED: u64 = 20_260_302;

#[test]
fn no_sequence_ends_in_a_visit_called_closed_while_something_is_off() {
    let (closed, still_off) = run(SEED, 200, 30);
    println!("seed {SEED}: called closed {closed} times, closed with something off {still_off} times");
    assert!(closed > 20 && still_off > 5, "seed {SEED}: {closed} and {still_off}: the sequences close too seldom");
}

#[test]
#[ignore = "a measurement of minutes"]
fn ten_thousand_sequences_end_in_no_visit_called_closed_while_something_is_off() {
    let (closed, still_off) = run(SEED + 1, 10_000, 40);
    println!("seed {}: called closed {closed} times, closed with something off {still_off} times", SEED + 1);
}
