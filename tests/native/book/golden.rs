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
use soakbook::book::body::What::{AtTop, HeatOn, HeaterOff, Tripped};
use soakbook::book::body::{
    Body, Disposition, Edit, Ending, Fault, FrozenHeater, Point, ProfileRunStart, RetestWhy, RuleSet, Site, Told,
    Watcher,
};
use soakbook::book::clock::ClockNote;
use soakbook::book::command::Command;
use soakbook::book::entry::{Entry, Hash, Scope};
use soakbook::book::health::misfits;
use soakbook::book::kit::Kit;
use soakbook::book::log::Book;
use soakbook::book::phase::{NotCounted, Phase, Timeline};
use soakbook::book::seal::{Draft, seal};
use soakbook::book::test::Test;
use soakbook::book::visit::visits;
use soakbook::trade::conditions::{Air, IndicatedBy, Indication, Restores, Visual, Warmth};
use soakbook::trade::detector::{Duty, LimitsFrom, Marking, Place};
use soakbook::trade::detector_type::{Class, DetectorType, Suffix};
use soakbook::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use soakbook::trade::procedure::{OwnLimits, Procedure};
use soakbook::units::{Degree, Difference, Reading};
use std::sync::Arc;

const FROZEN: &str = include_str!("golden/format-1.ndjson");
const HASHES: &str = include_str!("golden/format-1.sha256");

const PROFILE_RUN: u8 = 30;
const RULES: u8 = 31;
const TEST_B: u8 = 32;

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
        detector_type: DetectorType::Electronic,
        rating: Some(f(190, 0)),
        minus: Some(df(-8)),
        plus: Some(df(8)),
        limits_from: Some(LimitsFrom::Owner),
        class: Some(Class::C),
        suffix: Some(Suffix::R),
    }
}

fn golden_heater() -> (HeaterName, Heating, Metrology) {
    let name = HeaterName {
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
            heat_up_cold_ms: Some(90_000),
            heat_up_again_ms: Some(30_000),
            hold_first_ms: 300_000,
            hold_again_ms: 0,
            off_ms: 45_000,
        },
        resolution: Some(Difference { value: 1, scale: -1, unit: Degree::F }),
        lamp: Some("amber: heating up; green: at top temperature".into()),
        timeout_ms: Some(3_600_000),
    };
    let metrology = Metrology {
        calibration_u: Some(Difference { value: 5, scale: -1, unit: Degree::C }),
        certificate: Some("INV-C-7".into()),
        due: Some("2026-12-31".into()),
        fit_u: Some(Difference { value: 8, scale: -1, unit: Degree::C }),
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
    let (site, visit) = (Scope::Site(id(SITE)), Scope::Visit(id(VISIT)));

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

    let (name, heating, metrology) = golden_heater();
    let frozen = FrozenHeater {
        of: id(SELF_HEATER),
        name: name.clone(),
        heating: heating.clone(),
        metrology: metrology.clone(),
        setting: f(190, 0),
        mode: Some("steady".into()),
        profile: Vec::new(),
    };
    let heating = Box::new(heating);
    w.act(Command::PutHeater {
        heater: id(SELF_HEATER),
        name: name.clone(),
        heating: heating.clone(),
        metrology: metrology.clone(),
    });
    w.act(Command::PutHeater {
        heater: id(HAND_HEATER),
        name: HeaterName { name: "Other".into(), ..name },
        heating,
        metrology,
    });
    w.act(Command::PutProcedure { procedure: id(SET_POINT), now: Box::new(golden_procedure()) });
    w.act(Command::PutPerson { person: id(PERSON), name: Hash::of(b"salt and name") });
    let rules =
        RuleSet { name: "Yearly".into(), sentence: "Every detector every year".into(), source: "BS 5839-1".into() };
    w.put(Scope::Kit, Body::RuleSet(Edit::new(id(RULES), Vec::new(), rules)));
    let profile_run = ProfileRunStart {
        profile_run: id(PROFILE_RUN),
        heater: frozen,
        detector: None,
        ambient: c(21),
        heater_warmth: Warmth::Cold,
        by: None,
    };
    w.put(Scope::Kit, Body::ProfileRunStarted(Arc::new(profile_run)));
    w.put(Scope::Kit, Body::Mark { test: id(PROFILE_RUN), what: HeatOn });
    w.put(Scope::Kit, Body::ReadingTaken { test: id(PROFILE_RUN), reading: f(1015, -1), trip: None });
    w.put(Scope::Kit, Body::ProfileRunEnded { profile_run: id(PROFILE_RUN), usable: true });

    let told = |when| Command::Tell { visit: id(VISIT), whom: Watcher::SupervisingStation, when, by: Some(id(PERSON)) };
    w.act(Command::OpenVisit { visit: id(VISIT), site: id(SITE) });
    w.act(told(Told::Before));
    let outage = w.act(Command::TakeOut { visit: id(VISIT), circuit: Some(id(LINE)) });
    let secured = w.act(Command::Secure { visit: id(VISIT), release: "Door 7".into(), by: id(PERSON) });
    w.act(Command::TakePermit {
        visit: id(VISIT),
        area: Some(id(HALL)),
        number: "P-17".into(),
        gas_test: "0 % LEL".into(),
        tested_at: MORNING,
        until: MORNING + 28_800_000,
    });
    w.act(Command::LookAt { visit: id(VISIT), detector: id(OTHER_DETECTOR), visual: Visual::Covered });

    // The first test: heat on, trip 80 s later, moved 2 s earlier; asleep for 120 s; enough.
    let start = |test, detector, heater| {
        start_with(move |s| {
            (s.test, s.detector, s.heater) = (id(test), id(detector), id(heater));
            (s.setting, s.mode, s.display_read) = (f(190, 0), Some("steady".into()), true);
            (s.ambient, s.air) = (Some(f(70, 0)), Some(Air::Moving));
            s.indication = Indication {
                by: IndicatedBy::Person,
                latching: true,
                verification: true,
                lag_ms: 4_000,
                lag_u_ms: 1_000,
                restores: Restores::CannotBeSeen,
            };
            s.visual = Visual::Good;
        })
    };
    w.act(start(TEST, DETECTOR, SELF_HEATER));
    w.world.wait(79 * SECOND);
    let trip = w.act(Command::Mark { test: id(TEST), what: Tripped });
    let read = Command::Read { test: id(TEST), reading: f(1925, -1), trip: Some(trip) };
    let reading = w.act(read);
    w.put(visit, Body::ReadingStands { reading });
    w.act(Command::SayPanel { trip, point: Point::Wrong, said: Some("Zone 9".into()) });
    w.act(Command::Move { mark: trip, by_ms: -2_000 });
    w.act(Command::Note { visit: id(VISIT), about: id(TEST), note: Hash::of(b"salt and note") });
    w.world.sleep(120 * SECOND);
    let gap =
        w.act(Command::NoteGap { scope: Scope::Visit(id(VISIT)), wall_ms: 121_000, mono_ms: 1_000, hidden: true });
    w.act(Command::AnswerGap { gap, asleep: true });
    let slip = w.act(Command::Mark { test: id(TEST), what: HeaterOff });
    w.act(Command::Undo { target: slip });
    w.act(Command::End { test: id(TEST), how: Ending::Enough });

    // The second test: started on the first phone, finished on the other one.
    w.act(start(TEST_B, OTHER_DETECTOR, HAND_HEATER));
    w.swap(&mut other);
    w.act(Command::OpenVisit { visit: id(VISIT), site: id(SITE) });
    w.act(Command::TakeOver { test: id(TEST_B) });
    w.act(Command::Mark { test: id(TEST_B), what: AtTop });
    w.act(Command::End { test: id(TEST_B), how: Ending::SiteAsked });
    w.swap(&mut other);

    // The rest of the day.
    w.world.restart(60 * SECOND);
    let deficiency = w.world.visit().deficiencies[0].hash;
    w.act(Command::DisposeDeficiency { deficiency, how: Disposition::OwnerNotified, note: None });
    w.act(Command::Retest { test: id(TEST), why: RetestWhy::Wanted });
    let marking = Marking { rating: Some(f(194, 0)), ..golden_marking() };
    w.put(
        visit,
        Body::MarkingCorrected { test: id(TEST), marking: marking.into(), reason: Hash::of(b"salt and reason") },
    );
    w.act(Command::Restore { securing: secured, by: id(PERSON) });
    w.act(Command::PutBack { outage });
    w.act(told(Told::After));
    w.act(Command::CloseVisit { visit: id(VISIT) });
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
    let heater = &kit.heaters[&id(SELF_HEATER)];
    let (name, heating, metrology) = golden_heater();
    assert_eq!(
        (heater.name.now(), heater.heating.now(), heater.metrology.now()),
        (Some(&name), Some(&heating), Some(&metrology))
    );
    assert_eq!(kit.procedures[&id(SET_POINT)].now(), Some(&golden_procedure()));
    assert_eq!(kit.rule_sets[&id(RULES)].now().map(|rules| rules.source.as_str()), Some("BS 5839-1"));
    assert_eq!(kit.people[&id(PERSON)].now().map(|person| person.name), Some(Hash::of(b"salt and name")));
}

#[test]
fn its_visit_is_over_and_nothing_is_left_secured() {
    let visits = visits(&book());
    let visit = &visits[0];
    assert_eq!((visits.len(), visit.site, visit.phones.len()), (1, id(SITE), 2));
    assert_eq!((visit.closed.len(), visit.open_ends(), visit.active().count()), (1, 0, 0));
    assert_eq!(
        visit.told.iter().map(|(whom, when, _)| (*whom, *when)).collect::<Vec<_>>(),
        [(Watcher::SupervisingStation, Told::Before), (Watcher::SupervisingStation, Told::After),]
    );
    assert_eq!((visit.permits[0].number.as_str(), visit.permits[0].tested_at), ("P-17", MORNING));
    assert_eq!((visit.securings[0].release.as_str(), visit.securings[0].by), ("Door 7", id(PERSON)));
    assert_eq!(visit.outages[0].circuit, Some(id(LINE)));
    let found = &visit.deficiencies[0];
    assert_eq!((found.fault, found.detector, found.test), (Fault::WrongPoint, id(DETECTOR), Some(id(TEST))));
    assert_eq!(found.disposed, [Disposition::OwnerNotified]);
    let again: Vec<_> = visit.again.iter().map(|again| (again.test, again.why)).collect();
    // The second test was stopped without a trip, so it is to be tested again of itself.
    assert!(again.contains(&(id(TEST), RetestWhy::Wanted)) && again.contains(&(id(TEST_B), RetestWhy::NotFinished)));
    assert_eq!((again.len(), visit.after_closing.len()), (2, 0));
}

#[test]
fn its_first_test_says_what_happened() {
    let book = book();
    let test = Test::of(&book, id(TEST)).unwrap();
    // By hand: tapped 80 s after heat on and moved 2 s earlier.
    let marks: Vec<_> = test.marks.iter().map(|mark| (mark.what, mark.at, mark.moved_ms)).collect();
    assert_eq!(marks, [(HeatOn, 0, 0), (Tripped, 78_000, -2_000)]);
    let trip = test.marks[1].hash;
    assert_eq!(test.reading_of(trip).map(|reading| (reading.reading, reading.at)), Some((f(1925, -1), 81_000)));
    assert_eq!(test.panel(trip), Some((Point::Wrong, Some("Zone 9".into()))));
    assert_eq!(test.notes, [Hash::of(b"salt and note")]);
    // By hand: trip 80, reading 81, stands 82, panel 83, move 84, note 85, gap 86 + 120 asleep = 206, answer 207, mark 208,
    // undo 209, enough 210.
    assert_eq!(test.ended, Some((Ending::Enough, 210_000)));
    let asleep = test.clock_notes.iter().map(|(at, note)| (*at, *note)).collect::<Vec<_>>();
    assert!(matches!(asleep[..], [(206_000, ClockNote::Asleep { for_ms: 120_000, answered: true, .. })]), "{asleep:?}");
    let timeline = Timeline::of(&test, 1_000_000);
    assert_eq!(timeline.phase, Phase::Ended { how: Ending::Enough, at: 210_000 });
    assert_eq!(timeline.trips.iter().map(|trip| trip.not_counted).collect::<Vec<_>>(), [Some(NotCounted::First)]);
    assert_eq!((timeline.operated(), timeline.counted().count()), (Some(true), 0));
    assert_eq!((test.frozen.detector.marking.clone(), test.frozen.follows), (golden_marking(), None));
    assert_eq!(
        (test.frozen.ambient, test.frozen.indication.lag_ms, test.frozen.display_read),
        (Some(f(70, 0)), 4_000, true)
    );
}

#[test]
fn its_second_test_was_finished_by_the_other_phone() {
    let test = Test::of(&book(), id(TEST_B)).unwrap();
    assert_ne!(test.phone, test.keeper);
    // By hand: the other phone opened 1 s, took over 2 s, marked 3 s and ended 4 s after the start, by the same wall.
    let marks: Vec<_> = test.marks.iter().map(|mark| (mark.what, mark.at)).collect();
    assert_eq!(marks, [(HeatOn, 0), (AtTop, 3_000)]);
    assert_eq!(test.ended, Some((Ending::SiteAsked, 4_000)));
    assert_eq!(test.clock_notes, [(0, ClockNote::OtherPhone { away_ms: 2_000 })]);
    assert_eq!(Timeline::of(&test, 9_000).operated(), None);
}
