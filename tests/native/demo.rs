//! The demonstration, given to the real rules.

use crate::estimates::{estimate, profile_of_test};
use crate::given::PERSON;
pub(crate) use crate::given::{at, give};
use crate::kit;
use soakbook::book::Id;
use soakbook::book::body::{NotifyAnswer, Person, Who, Whom};
use soakbook::book::command::{Command, StartTest};
use soakbook::book::entries::{Attachment, Book};

use soakbook::book::kit::Kit;
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::book::test::Test;
use soakbook::book::timeline::Timeline;
use soakbook::book::visit::Visit;
use soakbook::findings::{Estimates, NoEstimate};
use soakbook::trade::conditions::{IndicatedBy, Warmth};
use soakbook::trade::heating::Heat;
use soakbook::trade::procedure::ProcedureKind;
use soakbook::units::{Degree, Reading, TestTime, Wall};
use soakbook::view::demo::{Demo, demo};
use soakbook::view::profile::HeaterProfiles;
use soakbook::view::words;

/// 2026-03-01T09:00:00Z by `date -u -d 2026-03-01T09:00:00Z +%s`.
const NOW: Wall = Wall(1_772_355_600_000);

/// The demonstration on the phone of A. Technician, before anybody was notified.
fn not_notified() -> (Book, Demo) {
    let mut next = 100;
    let made = demo(
        || {
            next += 1;
            Id::from_u128(next)
        },
        NOW,
    );
    let mut book = Book::default();
    let name = Attachment::text([7; 16], "A. Technician");
    let person = Person { name: name.hash(), firm: None, license: None, contact: None, retired: false };
    book.attach(name);
    give(&mut book, at(NOW), Command::PutPerson { person: PERSON, now: person }).expect("a person");
    for command in made.commands.clone() {
        give(&mut book, at(NOW), command.clone()).unwrap_or_else(|refusal| panic!("{command:?}: {refusal:?}"));
    }
    for (ago, command) in made.profile_runs.clone() {
        give(&mut book, at(NOW - ago), command.clone()).unwrap_or_else(|refusal| panic!("{command:?}: {refusal:?}"));
    }
    (book, made)
}

/// The same, with no supervising station to be notified.
pub(crate) fn demo_book() -> (Book, Demo) {
    let (mut book, made) = not_notified();
    let notice = kit::notify(Whom::SupervisingStation, NotifyAnswer::NotMonitored, |notice| {
        (notice.by, notice.happened) = (Who::Person(PERSON), kit::happened(NOW));
    });
    let Command::Notify { notice, .. } = notice else { unreachable!() };
    give(&mut book, at(NOW), Command::Notify { visit: made.visit, notice }).expect("a notice");
    (book, made)
}

#[test]
fn the_demonstration_has_a_heat_profile_from_two_profile_runs() {
    let (book, _) = demo_book();
    let kit = Kit::of(&book);
    let profiles = |starts: &str| {
        let (id, _) = kit.heaters.iter().find(|(_, h)| h.name.now().unwrap().name.starts_with(starts)).unwrap();
        HeaterProfiles::of(&book, *id, Id::from_u128(1), Degree::F, &|_| 0, &mut Estimates::default())
            .expect("a heater")
    };
    let shown = &profiles("Heater A").modes[0];
    assert_eq!(shown.short, "Heater profile from 2 profile runs");
    assert!(shown.words.iter().all(|line| !line.contains(words::NO_PROFILE_WORD)), "{:?}", shown.words);
    assert!(shown.words[0].starts_with("Exponential approach: AICc prefers it"), "{:?}", shown.words);
    // Drawn with 150 s and with 240 and 232 s.
    let value = |label: &str| {
        let figure = shown.figures.iter().find(|figure| figure.label.starts_with(label)).expect(label);
        let u: f64 = figure.spread.split_whitespace().find_map(|word| word.parse().ok()).expect("u");
        (figure.value.parse::<f64>().expect("a number"), u)
    };
    for (label, drawn) in [("Time constant of heating", 150.0), ("Time constant of cooling", 236.0)] {
        let (value, u) = value(label);
        assert!((value - drawn).abs() < 3.0 * u, "{label}: {value} ± {u}");
        assert!(u < 0.1 * drawn, "{label}: u = {u}");
    }
    let plot = shown.plot.as_ref().expect("a plot");
    assert_eq!((plot.dots.len(), shown.profile_runs.len()), (39, 2));
    assert_eq!(profiles("Heater B").modes[0].short, words::NO_PROFILE_WORD);
}

/// What starts a test of the demonstration, with as little answered as the rules allow.
pub(crate) fn start(book: &Book, visit: Id, tag: &str, heater: &str, kind: ProcedureKind, setting: i64) -> Command {
    let (register, kit) = (Register::of(book), Kit::of(book));
    let heater = *kit.heaters.iter().find(|(_, h)| h.name.now().unwrap().name.starts_with(heater)).unwrap().0;
    let of_kind = kit.procedures.iter().find(|(_, p)| p.now().unwrap().kind == kind);
    let start = StartTest {
        visit,
        test: Id::from_u128(900),
        position: *register.positions.iter().find(|(_, position)| position.tag() == tag).unwrap().0,
        heater,
        setting: Reading { value: setting, scale: 0, unit: Degree::F },
        // The functional test needs no procedure of anybody's.
        procedure: of_kind.map(|(id, _)| *id),
        indication: kit::indication(IndicatedBy::OwnLamp),
        display_read: true,
        ambient: None,
        air: None,
        heater_warmth: Warmth::Cold,
        detector_warmth: Warmth::Cold,
        ..kit::start_test()
    };
    Command::Start(Box::new(start))
}

#[test]
fn the_demonstration_passes_every_rule_and_says_that_it_is_invented() {
    let (book, made) = demo_book();
    let register = Register::of(&book);
    let site = register.sites[&made.site].now().unwrap();
    assert!(site.invented && site.name.contains("invented"));
    assert_eq!((register.positions.len(), register.detectors.len()), (9, 9)); // by hand, from the list in the demonstration
    let kit = Kit::of(&book);
    assert!(kit.heaters.values().all(|heater| heater.name.now().unwrap().name.contains("invented")));
    assert!(Visit::of(&book, made.visit).is_some_and(|visit| visit.closed.is_empty()));
}

#[test]
fn its_numbers_are_its_own_and_not_common_practice() {
    let (book, _) = demo_book();
    let kit = Kit::of(&book);
    assert_eq!(kit.procedures.len(), 1);
    for group in kit.procedures.values() {
        let own = group.now().unwrap();
        let usual = kit::set_point();
        assert_ne!((own.soak_ms, own.off_ms), (usual.soak_ms, usual.off_ms));
    }
}

#[test]
fn four_detectors_take_a_set_point_test_at_once_and_the_others_say_why_not() {
    let (book, made) = demo_book();
    let ask = |book: &Book, tag: &str, heater: &str, kind, setting| {
        let command = start(book, made.visit, tag, heater, kind, setting);
        give(&mut book.clone(), at(NOW + 60_000), command)
    };
    for tag in ["J-01", "J-02", "J-03", "J-04"] {
        assert_eq!(ask(&book, tag, "Heater A", ProcedureKind::SetPoint, 201), Ok(()), "{tag}");
    }
    let releases = vec!["Packing belt stop".to_string()];
    let refusals = [
        ("J-05", "Heater A", ProcedureKind::SetPoint, Refusal::Heat(Heat::NoSetPoint)),
        ("P-01", "Heater A", ProcedureKind::SetPoint, Refusal::NotSecured { releases }),
        ("P-02", "Heater A", ProcedureKind::SetPoint, Refusal::Heat(Heat::RateFunctionAsked)),
        ("P-03", "Heater A", ProcedureKind::Functional, Refusal::Heat(Heat::UsesUpElement)),
        ("S-01", "Heater A", ProcedureKind::SetPoint, Refusal::NoPermit),
    ];
    for (tag, heater, kind, refusal) in refusals {
        assert_eq!(ask(&book, tag, heater, kind, 201), Err(refusal), "{tag}");
    }
    assert_eq!(ask(&book, "J-05", "Heater B", ProcedureKind::Functional, 184), Ok(()));
    assert_eq!(ask(&book, "P-02", "Heater A", ProcedureKind::Functional, 167), Ok(()));
    let (quiet, _) = not_notified();
    assert_eq!(ask(&quiet, "J-01", "Heater A", ProcedureKind::SetPoint, 201), Err(Refusal::StationNotNotified));
}

#[test]
fn a_test_on_the_heater_with_a_profile_is_estimated() {
    let (mut book, made) = demo_book();
    let Command::Start(mut asked) = start(&book, made.visit, "J-01", "Heater A", ProcedureKind::SetPoint, 201) else {
        panic!()
    };
    let test = asked.test;
    let seen = |book: &Book, ms: i64| {
        let test = Test::of(book, test).unwrap();
        profile_of_test(book, &test)
            .and_then(|profile| estimate(&test, &Timeline::of(&test, TestTime(ms)), &profile, TestTime(ms)))
    };
    let mut without = book.clone();
    give(&mut without, at(NOW + 60_000), Command::Start(asked.clone())).unwrap();
    assert_eq!(seen(&without, 0), Err(NoEstimate::NoAmbient));
    asked.ambient = Some(Reading { value: 72, scale: 0, unit: Degree::F });
    give(&mut book, at(NOW + 60_000), Command::Start(asked)).unwrap();
    // By hand: 72 °F is 22.2 °C and the heater's top temperature, 206 °F, is 96.7 °C; it holds that from 213 to 396 s.
    for (ms, expected, within) in [(0, 22.2, 3.0), (300_000, 96.7, 3.0)] {
        let found = seen(&book, ms).unwrap();
        assert!((found.value.0 - expected).abs() < within, "{ms} ms: {found:?}");
        assert!(found.lo <= found.value && found.value <= found.hi && found.hi.0 - found.lo.0 < 20.0, "{found:?}");
    }
    // On the way up it is between the two and rises; after heat off it falls.
    let (up, down) = (seen(&book, 60_000).unwrap(), seen(&book, 416_000).unwrap());
    assert!(up.value.0 > 25.0 && up.value.0 < 94.0 && up.rate.0 > 0.0, "{up:?}");
    assert!(down.value.0 < 96.0 && down.rate.0 < 0.0, "{down:?}");
}

#[test]
fn a_part_of_the_frozen_profile_runs_makes_no_profile() {
    let (mut book, made) = demo_book();
    let Command::Start(mut asked) = start(&book, made.visit, "J-01", "Heater A", ProcedureKind::SetPoint, 201) else {
        panic!()
    };
    let test = asked.test;
    asked.ambient = Some(Reading { value: 72, scale: 0, unit: Degree::F });
    give(&mut book, at(NOW + 60_000), Command::Start(asked)).unwrap();
    let whole = Test::of(&book, test).unwrap();
    assert_eq!(whole.frozen.heater.profile.len(), 2);
    let lost = whole.frozen.heater.profile[0];
    let mut part = Book::default();
    book.entries().filter(|entry| entry.hash != lost).cloned().for_each(|entry| part.apply(entry));
    let of_part = Test::of(&part, test).unwrap();
    assert_eq!(profile_of_test(&part, &of_part), Err(NoEstimate::NotHere));
    // What is kept along follows the kit: the profile is there with the run that was missing.
    let mut estimates = Estimates::default();
    assert_eq!(estimates.profile(&part, &of_part).err(), Some(NoEstimate::NotHere));
    part.merge(book);
    assert_eq!(estimates.profile(&part, &of_part), profile_of_test(&part, &of_part));
    assert!(estimates.profile(&part, &of_part).is_ok());
}
