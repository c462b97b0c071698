//! The golden log of format 1: an invented log with every type of entry, frozen. Later formats must still read it so.
//!
//! `golden/format-1.ndjson` was written once by [`log`] and is never written again. `golden/format-1.sha256` was made from it by
//! an independent route (Python 3.11, hashlib):
//!
//! ```text
//! python3 -c "import hashlib,sys
//! for line in open(sys.argv[1],'rb'): print(hashlib.sha256(line.rstrip(b'\n')).hexdigest())" format-1.ndjson > format-1.sha256
//! ```

use super::kit::*;
use soakbook::book::body::What::{AtUpper, HeadOff, HeatOn, Tripped};
use soakbook::book::body::{
    AgainWhy, Body, Disposition, Edit, Ending, Fault, FrozenHead, Point, RampStart, RuleSet, Site, Told, Watcher,
};
use soakbook::book::clock::ClockNote;
use soakbook::book::command::Command;
use soakbook::book::entry::{Entry, Hash, Scope};
use soakbook::book::health::misfits;
use soakbook::book::kit::Kit;
use soakbook::book::log::Book;
use soakbook::book::phase::{NotCounted, Phase, Timeline};
use soakbook::book::round::rounds;
use soakbook::book::run::Run;
use soakbook::book::seal::{Draft, seal};
use soakbook::trade::detector::{Duty, LimitsFrom, Marking, Place};
use soakbook::trade::head::{Basis, Cycle, HeadName, Heating, Metrology};
use soakbook::trade::kind::{Class, Kind, Suffix};
use soakbook::trade::procedure::{OwnLimits, Procedure};
use soakbook::trade::seen::{Air, Resets, SeenBy, Sign, Visual, Warmth};
use soakbook::units::{Degree, Difference, Reading};
use std::sync::Arc;

const FROZEN: &str = include_str!("golden/format-1.ndjson");
const HASHES: &str = include_str!("golden/format-1.sha256");

const RAMP: u8 = 30;
const RULES: u8 = 31;
const RUN_B: u8 = 32;

struct Writer {
    world: World,
    log: Vec<Entry>,
}

impl Writer {
    /// A second later, so that no two decisions share a stamp.
    fn act(&mut self, command: Command) -> Hash {
        self.world.wait(SECOND);
        let hashes = self.world.try_act(command).expect("allowed");
        self.log.extend(hashes.iter().map(|hash| self.world.entry(*hash).clone()));
        hashes[0]
    }

    /// What the format carries and no command of the first app writes.
    fn put(&mut self, scope: Scope, body: Body) -> Hash {
        let World { book, phone } = self.world.wait(SECOND);
        let sealed = seal(book, phone.id, phone.stamp(), &phone.opens(), vec![Draft { scope, body }]);
        sealed.iter().for_each(|entry| book.apply(entry.clone()));
        self.log.extend(sealed);
        self.log[self.log.len() - 1].hash
    }

    fn swap(&mut self, phone: &mut Phone) {
        phone.wall = self.world.phone.wall;
        std::mem::swap(&mut self.world.phone, phone);
    }
}

fn f(value: i64, scale: i8) -> Reading {
    Reading { value, scale, unit: Degree::F }
}

fn df(value: i64) -> Difference {
    Difference { value, scale: 0, unit: Degree::F }
}

fn golden_marking() -> Marking {
    Marking {
        kind: Kind::Electronic,
        rating: Some(f(190, 0)),
        minus: Some(df(-8)),
        plus: Some(df(8)),
        limits_from: Some(LimitsFrom::Owner),
        class: Some(Class::C),
        suffix: Some(Suffix::R),
    }
}

fn golden_head() -> (HeadName, Heating, Metrology) {
    let name = HeadName {
        name: "Grüne Glocke".into(),
        serial: Some("INV-0001".into()),
        basis: Basis::DetectorInstructions,
        hazardous_approval: Some("invented approval".into()),
    };
    let heating = Heating {
        settings: vec![f(190, 0), f(135, 0)],
        above: df(8),
        modes: vec!["steady".into()],
        cycle: Cycle::ByItself {
            climb_cold_ms: Some(90_000),
            climb_again_ms: Some(30_000),
            hold_first_ms: 300_000,
            hold_again_ms: 0,
            off_ms: 45_000,
        },
        resolution: Some(Difference { value: 1, scale: -1, unit: Degree::F }),
        lamp: Some("amber: climbing; green: at upper temperature".into()),
        timeout_ms: Some(3_600_000),
    };
    let metrology = Metrology {
        calibration_u: Some(Difference { value: 5, scale: -1, unit: Degree::C }),
        certificate: Some("INV-C-7".into()),
        due: Some("2026-12-31".into()),
        coupling_u: Some(Difference { value: 8, scale: -1, unit: Degree::C }),
    };
    (name, heating, metrology)
}

fn golden_procedure() -> Procedure {
    Procedure { name: "Five trips".into(), limits: Some(OwnLimits { minus: df(-8), plus: df(8) }), ..set_point() }
}

/// The log, made anew.
fn log() -> Vec<Entry> {
    let mut w = Writer { world: World::empty(), log: Vec::new() };
    let mut other = Phone { offset_min: -300, ..Phone::new(110) };
    let (site, round) = (Scope::Site(id(SITE)), Scope::Round(id(ROUND)));

    let now = Site { name: "Invented mill".into(), address: Some("1 Nowhere Lane".into()), invented: true };
    w.act(Command::PutSite { site: id(SITE), now });
    w.act(Command::PutArea { area: id(HALL), now: soakbook::book::body::Area { site: id(SITE), name: "Hall".into() } });
    let now = soakbook::book::body::Circuit { site: id(SITE), name: "Loop 2".into(), tells_apart: true };
    w.act(Command::PutCircuit { circuit: id(LINE), now });
    let place = |tag: &str| Place {
        tag: tag.into(),
        area: id(HALL),
        circuit: Some(id(LINE)),
        address: Some("2/017".into()),
        label: Some("HALL \"NORTH\" 5 µ".into()),
    };
    let duty = Duty {
        releases: vec!["Door 7".into()],
        classified: true,
        hazard: Some("Dust".into()),
        installed_on: Some("2019-05-04".into()),
    };
    for (n, tag, duty) in [(DETECTOR, "HD-1", duty), (OTHER_DETECTOR, "HD-2", Duty::default())] {
        let marking = Box::new(golden_marking());
        w.act(Command::PutDetector { detector: id(n), place: place(tag), marking, duty });
    }
    let gone = w.act(Command::RetireDetector { detector: id(OTHER_DETECTOR), retired: true });
    w.act(Command::Undo { target: gone });

    let (name, heating, metrology) = golden_head();
    let frozen = FrozenHead {
        of: id(SELF_HEAD),
        name: name.clone(),
        heating: heating.clone(),
        metrology: metrology.clone(),
        setting: f(190, 0),
        mode: Some("steady".into()),
        curve: Vec::new(),
    };
    let heating = Box::new(heating);
    w.act(Command::PutHead {
        head: id(SELF_HEAD),
        name: name.clone(),
        heating: heating.clone(),
        metrology: metrology.clone(),
    });
    w.act(Command::PutHead {
        head: id(HAND_HEAD),
        name: HeadName { name: "Other".into(), ..name },
        heating,
        metrology,
    });
    w.act(Command::PutProcedure { procedure: id(SET_POINT), now: Box::new(golden_procedure()) });
    w.act(Command::PutPerson { person: id(PERSON), name: Hash::of(b"salt and name") });
    let rules =
        RuleSet { name: "Yearly".into(), sentence: "Every detector every year".into(), source: "BS 5839-1".into() };
    w.put(Scope::Kit, Body::RuleSet(Edit::new(id(RULES), Vec::new(), rules)));
    let ramp =
        RampStart { ramp: id(RAMP), head: frozen, detector: None, ambient: c(21), head_warmth: Warmth::Cold, by: None };
    w.put(Scope::Kit, Body::RampStarted(Arc::new(ramp)));
    w.put(Scope::Kit, Body::Mark { run: id(RAMP), what: HeatOn });
    w.put(Scope::Kit, Body::ReadingTaken { run: id(RAMP), reading: f(1015, -1), trip: None });
    w.put(Scope::Kit, Body::RampEnded { ramp: id(RAMP), usable: true });

    let told = |when| Command::Tell { round: id(ROUND), whom: Watcher::SupervisingStation, when, by: Some(id(PERSON)) };
    w.act(Command::OpenRound { round: id(ROUND), site: id(SITE) });
    w.act(told(Told::Before));
    let outage = w.act(Command::TakeOut { round: id(ROUND), circuit: Some(id(LINE)) });
    let secured = w.act(Command::Secure { round: id(ROUND), release: "Door 7".into(), by: id(PERSON) });
    w.act(Command::TakePermit {
        round: id(ROUND),
        area: Some(id(HALL)),
        number: "P-17".into(),
        gas_test: "0 % LEL".into(),
        tested_at: MORNING,
        until: MORNING + 28_800_000,
    });
    w.act(Command::LookAt { round: id(ROUND), detector: id(OTHER_DETECTOR), visual: Visual::Covered });

    // The first run: heat on, trip 80 s later, moved 2 s earlier; asleep for 120 s; enough.
    let start = |run, detector, head| {
        start_with(move |s| {
            (s.run, s.detector, s.head) = (id(run), id(detector), id(head));
            (s.setting, s.mode, s.display_read) = (f(190, 0), Some("steady".into()), true);
            (s.ambient, s.air) = (Some(f(70, 0)), Some(Air::Moving));
            s.seen_by = SeenBy {
                sign: Sign::Person,
                latching: true,
                verification: true,
                delay_ms: 4_000,
                delay_u_ms: 1_000,
                resets: Resets::CannotBeSeen,
            };
            s.visual = Visual::Good;
        })
    };
    w.act(start(RUN, DETECTOR, SELF_HEAD));
    w.world.wait(79 * SECOND);
    let trip = w.act(Command::Mark { run: id(RUN), what: Tripped });
    let read = Command::Read { run: id(RUN), reading: f(1925, -1), trip: Some(trip) };
    let reading = w.act(read);
    w.put(round, Body::ReadingStands { reading });
    w.act(Command::SayPanel { trip, point: Point::Wrong, said: Some("Zone 9".into()) });
    w.act(Command::Move { mark: trip, by_ms: -2_000 });
    w.act(Command::Note { round: id(ROUND), about: id(RUN), note: Hash::of(b"salt and note") });
    w.world.sleep(120 * SECOND);
    let gap =
        w.act(Command::NoteGap { scope: Scope::Round(id(ROUND)), wall_ms: 121_000, mono_ms: 1_000, hidden: true });
    w.act(Command::AnswerGap { gap, asleep: true });
    let slip = w.act(Command::Mark { run: id(RUN), what: HeadOff });
    w.act(Command::Undo { target: slip });
    w.act(Command::End { run: id(RUN), how: Ending::Enough });

    // The second run: started on the first phone, finished on the other one.
    w.act(start(RUN_B, OTHER_DETECTOR, HAND_HEAD));
    w.swap(&mut other);
    w.act(Command::OpenRound { round: id(ROUND), site: id(SITE) });
    w.act(Command::TakeOver { run: id(RUN_B) });
    w.act(Command::Mark { run: id(RUN_B), what: AtUpper });
    w.act(Command::End { run: id(RUN_B), how: Ending::SiteAsked });
    w.swap(&mut other);

    // The rest of the day.
    w.world.restart(60 * SECOND);
    let deficiency = w.world.round().deficiencies[0].hash;
    w.act(Command::DisposeDeficiency { deficiency, how: Disposition::OwnerNotified, note: None });
    w.act(Command::LookAgain { run: id(RUN), why: AgainWhy::Wanted });
    let marking = Marking { rating: Some(f(194, 0)), ..golden_marking() };
    w.put(
        round,
        Body::MarkingCorrected { run: id(RUN), marking: marking.into(), reason: Hash::of(b"salt and reason") },
    );
    w.act(Command::Restore { securing: secured, by: id(PERSON) });
    w.act(Command::PutBack { outage });
    w.act(told(Told::After));
    w.act(Command::CloseRound { round: id(ROUND) });
    let edited = Site { name: "Invented mill, north".into(), address: None, invented: true };
    w.act(Command::PutSite { site: id(SITE), now: edited });
    assert!(w.log.iter().any(|entry| entry.chain.scope == site));
    w.log
}

/// The entries of the golden log.
pub(super) fn entries() -> Vec<Entry> {
    FROZEN.lines().map(|line| Entry::read(line).expect("an entry")).collect()
}

fn book() -> Book {
    let mut book = Book::default();
    entries().into_iter().for_each(|entry| book.apply(entry));
    book
}

#[test]
fn the_same_facts_make_the_same_texts_today() {
    let today: Vec<String> = log().into_iter().map(|entry| entry.text).collect();
    assert_eq!(today, FROZEN.lines().collect::<Vec<_>>());
}

#[test]
fn identities_and_links_hold_by_an_independent_sha_256() {
    let entries = entries();
    let hashes: Vec<&str> = HASHES.lines().collect();
    assert_eq!(entries.len(), hashes.len());
    let mut last = std::collections::BTreeMap::new();
    for (entry, hash) in entries.iter().zip(&hashes) {
        assert_eq!(entry.hash.to_string(), *hash);
        let before = last.insert(entry.chain, (entry.seq, *hash));
        assert_eq!(entry.prev.map(|prev| prev.to_string()).as_deref(), before.map(|(_, hash)| hash));
        assert_eq!(entry.seq, before.map_or(0, |(seq, _)| seq + 1));
    }
}

#[test]
fn every_type_of_entry_is_in_it() {
    let mut seen: Vec<String> = entries().iter().map(|entry| entry.body.name()).collect();
    seen.sort();
    seen.dedup();
    let mut known: Vec<String> = super::entries::one_of_each().iter().map(Body::name).collect();
    known.sort();
    assert_eq!(seen, known);
}

#[test]
fn nothing_in_it_is_a_misfit() {
    assert_eq!(misfits(&book()), []);
}

#[test]
fn its_register_and_kit_are_what_was_put_in() {
    let book = book();
    let register = soakbook::book::register::Register::of(&book);
    let site = register.sites[&id(SITE)].now().unwrap();
    assert_eq!((site.name.as_str(), site.invented), ("Invented mill, north", true));
    assert_eq!(register.detectors_of(id(HALL)).iter().map(|(_, d)| d.tag()).collect::<Vec<_>>(), ["HD-1", "HD-2"]);
    let detector = &register.detectors[&id(DETECTOR)];
    assert_eq!(detector.marking.now(), Some(&golden_marking()));
    assert_eq!(detector.duty.now().map(|duty| duty.releases.clone()), Some(vec!["Door 7".to_string()]));
    // Taken away, and that was undone.
    assert!(!register.detectors[&id(OTHER_DETECTOR)].retired());
    let kit = Kit::of(&book);
    let head = &kit.heads[&id(SELF_HEAD)];
    let (name, heating, metrology) = golden_head();
    assert_eq!(
        (head.name.now(), head.heating.now(), head.metrology.now()),
        (Some(&name), Some(&heating), Some(&metrology))
    );
    assert_eq!(kit.procedures[&id(SET_POINT)].now(), Some(&golden_procedure()));
    assert_eq!(kit.rule_sets[&id(RULES)].now().map(|rules| rules.source.as_str()), Some("BS 5839-1"));
    assert_eq!(kit.people[&id(PERSON)].now().map(|person| person.name), Some(Hash::of(b"salt and name")));
}

#[test]
fn its_round_is_over_and_nothing_is_left_secured() {
    let rounds = rounds(&book());
    let round = &rounds[0];
    assert_eq!((rounds.len(), round.site, round.phones.len()), (1, id(SITE), 2));
    assert_eq!((round.closed.len(), round.open_ends(), round.active().count()), (1, 0, 0));
    assert_eq!(
        round.told.iter().map(|(whom, when, _)| (*whom, *when)).collect::<Vec<_>>(),
        [(Watcher::SupervisingStation, Told::Before), (Watcher::SupervisingStation, Told::After),]
    );
    assert_eq!((round.permits[0].number.as_str(), round.permits[0].tested_at), ("P-17", MORNING));
    assert_eq!((round.securings[0].release.as_str(), round.securings[0].by), ("Door 7", id(PERSON)));
    assert_eq!(round.outages[0].circuit, Some(id(LINE)));
    let found = &round.deficiencies[0];
    assert_eq!((found.fault, found.detector, found.run), (Fault::WrongPoint, id(DETECTOR), Some(id(RUN))));
    assert_eq!(found.disposed, [Disposition::OwnerNotified]);
    let again: Vec<_> = round.again.iter().map(|again| (again.run, again.why)).collect();
    // The second run was stopped without a trip, so it is to be run again of itself.
    assert!(again.contains(&(id(RUN), AgainWhy::Wanted)) && again.contains(&(id(RUN_B), AgainWhy::NotFinished)));
    assert_eq!((again.len(), round.after_closing.len()), (2, 0));
}

#[test]
fn its_first_run_says_what_happened() {
    let book = book();
    let run = Run::of(&book, id(RUN)).unwrap();
    // By hand: tapped 80 s after heat on and moved 2 s earlier.
    let marks: Vec<_> = run.marks.iter().map(|mark| (mark.what, mark.at, mark.moved_ms)).collect();
    assert_eq!(marks, [(HeatOn, 0, 0), (Tripped, 78_000, -2_000)]);
    let trip = run.marks[1].hash;
    assert_eq!(run.reading_of(trip).map(|reading| (reading.reading, reading.at)), Some((f(1925, -1), 81_000)));
    assert_eq!(run.panel(trip), Some((Point::Wrong, Some("Zone 9".into()))));
    assert_eq!(run.notes, [Hash::of(b"salt and note")]);
    // By hand: trip 80, reading 81, stands 82, panel 83, move 84, note 85, gap 86 + 120 asleep = 206, answer 207, mark 208,
    // undo 209, enough 210.
    assert_eq!(run.ended, Some((Ending::Enough, 210_000)));
    let asleep = run.clock_notes.iter().map(|(at, note)| (*at, *note)).collect::<Vec<_>>();
    assert!(matches!(asleep[..], [(206_000, ClockNote::Asleep { for_ms: 120_000, answered: true, .. })]), "{asleep:?}");
    let timeline = Timeline::of(&run, 1_000_000);
    assert_eq!(timeline.phase, Phase::Ended { how: Ending::Enough, at: 210_000 });
    assert_eq!(timeline.trips.iter().map(|trip| trip.not_counted).collect::<Vec<_>>(), [Some(NotCounted::First)]);
    assert_eq!((timeline.operated(), timeline.counted().count()), (Some(true), 0));
    assert_eq!((run.frozen.detector.marking.clone(), run.frozen.follows), (golden_marking(), None));
    assert_eq!(
        (run.frozen.ambient, run.frozen.seen_by.delay_ms, run.frozen.display_read),
        (Some(f(70, 0)), 4_000, true)
    );
}

#[test]
fn its_second_run_was_finished_by_the_other_phone() {
    let run = Run::of(&book(), id(RUN_B)).unwrap();
    assert_ne!(run.phone, run.keeper);
    // By hand: the other phone opened 1 s, took over 2 s, marked 3 s and ended 4 s after the start, by the same wall.
    let marks: Vec<_> = run.marks.iter().map(|mark| (mark.what, mark.at)).collect();
    assert_eq!(marks, [(HeatOn, 0), (AtUpper, 3_000)]);
    assert_eq!(run.ended, Some((Ending::SiteAsked, 4_000)));
    assert_eq!(run.clock_notes, [(0, ClockNote::OtherPhone { away_ms: 2_000 })]);
    assert_eq!(Timeline::of(&run, 9_000).operated(), None);
}
