//! Hand-made histories. Rules: visit.md's sentences, which `findings::due` quotes as data; periods NFPA 72, chapter 14 and BS 5839-1, as
//! named there. Days by the Gregorian calendar.

use super::*;
use soakbook::book::body::{RuleCheck, RuleExcept};
use soakbook::findings::Failed;
use soakbook::findings::due::{least, site_rules};
use soakbook::trade::conditions::Visual;

const TODAY: (i32, u32, u32) = (2026, 11, 29);

fn today() -> NaiveDate {
    day(TODAY.0, TODAY.1, TODAY.2)
}

fn with(change: impl FnOnce(&mut Subject)) -> Subject {
    let mut subject = subject(1);
    change(&mut subject);
    subject
}

#[test]
fn a_site_without_rules_tests_every_position_every_year_and_looks_twice() {
    let last = day(2025, 11, 28);
    let subject = with(|of| of.facts = vec![passed(last), looked(day(2026, 5, 30))]);
    let due = due(&[subject], terms(&[], today()));
    let of = due.positions[0];
    assert_eq!(
        due.rules.iter().map(|rule| &rule.name[..]).collect::<Vec<_>>(),
        ["Every position every year", "Visual check every half year"]
    );
    assert_eq!((of.functional.state, of.functional.why), (State::Overdue(day(2026, 11, 28)), Why::Last(last)));
    assert_eq!(of.visual.state, State::ByNextVisit(day(2026, 11, 30)), "half a year after May 30");
    assert_eq!(due.next_visit, day(2027, 11, 29), "a visit a year where the site does not say");
}

#[test]
fn the_four_states_of_a_yearly_rule() {
    let state = |last| functional(with(|of| of.facts = vec![passed(last)]), &[], today()).0;
    assert_eq!(state(day(2025, 11, 28)), State::Overdue(day(2026, 11, 28)));
    assert_eq!(state(day(2025, 11, 29)), State::Now, "the last day of its year");
    assert_eq!(state(day(2025, 11, 30)), State::ByNextVisit(day(2026, 11, 30)));
    assert_eq!(state(today()), State::NotUntil(day(2027, 11, 29)), "tested today");
    assert_eq!(
        functional(subject(1), &[], today()),
        (State::Now, Why::NeverPassed, "Every position every year".into())
    );
}

#[test]
fn the_last_of_february_ends_with_february() {
    let last = with(|of| of.facts = vec![passed(day(2024, 2, 29))]);
    assert_eq!(functional(last.clone(), &[], day(2025, 2, 28)).0, State::Now);
    assert_eq!(functional(last, &[], day(2025, 3, 1)).0, State::Overdue(day(2025, 2, 28)));
}

#[test]
fn only_passed_is_done() {
    use soakbook::findings::Outcome::{EarlyTrip, InProgress, Mistake, NotDecided, NotVerified};
    let failed = Outcome::Failed;
    let before = day(2026, 10, 1);
    // A16. What speaks against a detector undoes what passed before; what merely is not verified does not.
    for (outcome, alone, after_passed) in [
        (failed(Failed::NoAlarm), Why::NotPassed(failed(Failed::NoAlarm)), true),
        (failed(Failed::WrongPoint), Why::NotPassed(failed(Failed::WrongPoint)), true),
        (NotDecided, Why::NotPassed(NotDecided), true),
        (EarlyTrip, Why::NotPassed(EarlyTrip), true),
        (InProgress, Why::NotPassed(InProgress), true),
        (NotVerified { panel: false, restore: true }, Why::NeverPassed, false),
        (NotVerified { panel: true, restore: false }, Why::NeverPassed, false),
        (Mistake, Why::NeverPassed, false),
    ] {
        let alone_is = functional(with(|of| of.facts = vec![test(before, outcome)]), &[], today());
        assert_eq!((alone_is.0, alone_is.1), (State::Now, alone), "{outcome:?}");
        let facts = vec![passed(day(2026, 9, 1)), test(before, outcome)];
        let later = functional(with(|of| of.facts = facts), &[], today());
        assert_eq!(later.0 == State::Now, after_passed, "{outcome:?} after a passed test: {later:?}");
    }
}

#[test]
fn a_failed_one_stays_due_until_it_passes() {
    let facts = vec![passed(day(2026, 3, 1)), test(day(2026, 4, 1), Outcome::Failed(Failed::StaysInAlarm))];
    let failed = with(|of| of.facts = facts.clone());
    for years in 0..10 {
        assert_eq!(functional(failed.clone(), &[], months(today(), 12 * years)).0, State::Now);
    }
    let passed_after = with(|of| of.facts = [facts, vec![passed(day(2026, 5, 1))]].concat());
    assert!(matches!(functional(passed_after, &[], day(2026, 5, 2)).0, State::ByNextVisit(_)));
}

#[test]
fn of_two_phones_in_one_visit_the_worse_counts_unless_one_came_knowingly_after_the_other() {
    let good = passed(day(2026, 11, 28));
    let bad = test(day(2026, 11, 28), Outcome::Failed(Failed::NoAlarm));
    // The other phone's clock is an hour behind.
    let bad = Fact { phone: id(2), visit: good.visit, at: good.at - 3_600_000, ..bad };
    assert_eq!(functional(with(|of| of.facts = vec![good, bad]), &[], today()).0, State::Now);
    let what = FactWhat::Functional { outcome: Outcome::Passed, follows: true, laboratory: false };
    let retest = Fact { what, ..good };
    assert!(functional(with(|of| of.facts = vec![retest, bad]), &[], today()).0 != State::Now);
}

#[test]
fn what_is_seen_or_repaired_after_a_test_makes_it_due() {
    let tested = passed(day(2026, 9, 1));
    let seen = |found| fact(day(2026, 10, 1), FactWhat::Looked(Some(found)));
    let state = |facts: Vec<Fact>| functional(with(|of| of.facts = facts), &[], today());
    assert_eq!(state(vec![tested, seen(Visual::Missing)]).1, Why::Found(Visual::Missing));
    assert_eq!(state(vec![tested, fact(day(2026, 10, 1), FactWhat::Repaired)]).1, Why::Repaired);
    assert!(matches!(state(vec![tested, seen(Visual::Dirty)]).1, Why::Last(_)), "dirt does not undo a test");
}

#[test]
fn a_visual_check_that_found_something_stays_due() {
    let facts = vec![looked(day(2026, 11, 1)), fact(day(2026, 11, 2), FactWhat::Looked(Some(Visual::Dirty)))];
    let due = due(&[with(|of| of.facts = facts)], terms(&[], today()));
    let visual = due.positions[0].visual;
    assert_eq!(
        (visual.state, visual.why, visual.last),
        (State::Now, Why::Found(Visual::Dirty), Some(day(2026, 11, 1)))
    );
}

#[test]
fn a_date_ahead_of_today_starts_no_clock() {
    let ahead = with(|of| of.facts = vec![passed(day(2027, 5, 1))]);
    assert_eq!(functional(ahead, &[], today()).1, Why::Ahead);
    let no_time = with(|of| of.facts = vec![Fact { day: None, ..passed(day(2026, 5, 1)) }]);
    assert_eq!(functional(no_time, &[], today()).0, State::Now);
}

#[test]
fn a_position_without_its_one_detector_and_a_provisional_one_are_due() {
    let fresh = || vec![passed(today())];
    let none = with(|of| (of.facts, of.has_detector) = (fresh(), false));
    assert_eq!(functional(none, &[], today()).1, Why::NoDetector);
    let provisional = with(|of| (of.facts, of.provisional) = (fresh(), true));
    assert_eq!(functional(provisional, &[], today()).1, Why::Provisional);
}

#[test]
fn a_share_stands_for_nothing_outside_the_rules_words() {
    let rules = [shipped("restorable-share")];
    let two_years = || vec![passed(day(2024, 11, 29))];
    let name = |change: fn(&mut Subject)| {
        let subject = with(|of| {
            of.facts = two_years();
            change(of);
        });
        functional(subject, &rules, today())
    };
    // Two years ago: far from five, and past one.
    let plain = name(|_| ());
    assert_eq!(plain.2, rules[0].name);
    assert!(!matches!(plain.0, State::Overdue(_)));
    let every_year: [fn(&mut Subject); 10] = [
        |of| of.detector_type = DetectorType::RateCompensated,
        |of| of.detector_type = DetectorType::Electronic,
        |of| of.detector_type = DetectorType::RateOfRise,
        |of| of.detector_type = DetectorType::CombinationRestorable,
        |of| of.detector_type = DetectorType::Unknown,
        |of| of.addressable = Some(true),
        |of| of.addressable = None,
        |of| of.releasing = Some(true),
        |of| of.releasing = None,
        |of| of.circuit = None,
    ];
    for change in every_year {
        let (state, _, name) = name(change);
        assert_eq!((state, &name[..]), (State::Overdue(day(2025, 11, 29)), "Every position every year"));
    }
}

#[test]
fn an_owners_share_is_never_stretched_to_what_has_to_answer_every_time() {
    let own = RuleSet { types: Vec::new(), except: Vec::new(), ..shipped("restorable-share") };
    for change in [
        (|of| of.detector_type = DetectorType::RateCompensated) as fn(&mut Subject),
        |of| of.addressable = None,
        |of| of.releasing = Some(true),
    ] {
        assert_eq!(functional(with(change), std::slice::from_ref(&own), today()).2, "Every position every year");
    }
    assert!(shipped("restorable-share").except.contains(&RuleExcept::Releasing));
}

#[test]
fn of_several_rules_the_strictest_applies() {
    let own = |every_months, name: &str| RuleSet { name: name.into(), every_months, ..shipped("every-year") };
    let rules = [own(24, "two years"), own(6, "half a year"), shipped("restorable-share")];
    let subject = with(|of| of.facts = vec![passed(day(2026, 4, 1))]);
    assert_eq!(
        functional(subject, &rules, today()),
        (State::Overdue(day(2026, 10, 1)), Why::Last(day(2026, 4, 1)), "half a year".into())
    );
    assert_eq!(
        functional(subject_of(DetectorType::FixedRestorable), &[shipped("bs-5839-1")], today()).2,
        "BS 5839-1: every detector once a year"
    );
}

fn subject_of(detector_type: DetectorType) -> Subject {
    with(|of| of.detector_type = detector_type)
}

#[test]
fn nonrestorable_ones_are_due_at_fifteen_years_and_at_once_where_nobody_knows_their_age() {
    let rules = [shipped("every-year"), shipped("nonrestorable-15")];
    let of = |installed| {
        let subject = with(|of| (of.detector_type, of.installed) = (DetectorType::FixedNonrestorable, installed));
        let (state, why, name) = functional(subject, &rules, today());
        assert_eq!(name, rules[1].name);
        (state, why)
    };
    // 15 years: 2011-11-28 to 2026-11-28.
    assert_eq!(of(Some(day(2011, 11, 28))).0, State::Overdue(day(2026, 11, 28)));
    assert_eq!(of(Some(day(2012, 6, 1))).0, State::ByNextVisit(day(2027, 6, 1)));
    assert_eq!(of(Some(day(2020, 6, 1))).0, State::NotUntil(day(2035, 6, 1)));
    assert_eq!(of(None), (State::Now, Why::InstallUnknown));
    let alone = with(|of| (of.detector_type, of.installed) = (DetectorType::FixedNonrestorable, Some(day(2020, 6, 1))));
    assert_eq!(functional(alone, &[], today()).2, "Every position every year", "the default asks for every one");
}

#[test]
fn a_laboratory_sample_that_passed_whole_gives_five_years() {
    let rules = [shipped("nonrestorable-15")];
    let laboratory = |outcome| FactWhat::Functional { outcome, follows: false, laboratory: true };
    let group = |outcomes: &[Outcome], on: NaiveDate| {
        let mut group: Vec<Subject> = (1..=100).map(subject).collect();
        for of in &mut group {
            (of.detector_type, of.installed) = (DetectorType::FixedNonrestorable, Some(day(2011, 1, 1)));
        }
        for (of, outcome) in group.iter_mut().zip(outcomes) {
            of.facts.push(fact(on, laboratory(*outcome)));
        }
        due(&group, terms(&rules, today())).positions[50].functional
    };
    let failed = Outcome::Failed(Failed::NoAlarm);
    let after_15 = day(2026, 2, 1);
    let good = [Outcome::Passed, Outcome::Passed];
    assert_eq!(group(&good, after_15).state, State::NotUntil(day(2031, 2, 1)), "two of a hundred");
    assert_eq!(group(&good, after_15).why, Why::Sampled(after_15));
    for (outcomes, on) in [
        (&good[..1], after_15),
        (&[Outcome::Passed, failed], after_15),
        (&[Outcome::Passed, Outcome::Passed, failed], after_15),
        // Taken before their time was up.
        (&good, day(2025, 12, 31)),
    ] {
        assert_eq!(group(outcomes, on).state, State::Overdue(day(2026, 1, 1)), "{outcomes:?} {on}");
    }
}

#[test]
fn a_circuits_share_is_the_rest_over_the_years_left_and_never_fewer_than_two() {
    // facts: full coverage in five years of N detectors on a circuit with two or more a year is max(2, ⌈remaining/remaining years⌉).
    for n in 1..=200_usize {
        for years in 1..=5_usize {
            let ends = vec![months(today(), 12 * years as u32); n];
            let expected = n.div_ceil(years).max(2).min(n);
            assert_eq!(least(&ends, today(), 12, 2), expected, "{n} in {years} years");
        }
        assert_eq!(least(&vec![today(); n], today(), 12, 2), n, "no years left: all");
    }
    assert_eq!(least(&[], today(), 12, 2), 0);
}

/// Ten years of yearly visits to a circuit of `n` that was tested as a whole before the first one; the numbers tested in each.
fn ten_years(n: u128) -> Vec<usize> {
    let rules = [shipped("restorable-share")];
    let start = day(2016, 3, 31);
    let mut circuit: Vec<Subject> = (1..=n).map(subject).collect();
    circuit.iter_mut().for_each(|of| of.facts.push(passed(start)));
    let mut counts = Vec::new();
    for year in 1..=10 {
        let today = months(start, 12 * year);
        let due = due(&circuit, terms(&rules, today));
        assert_eq!(due.counts().0, 0, "nobody of {n} is overdue in year {year}");
        let proposal = proposed(&due);
        counts.push(proposal.len());
        for of in circuit.iter_mut().filter(|of| proposal.contains(&of.position)) {
            of.facts.push(passed(today));
        }
        let tested_since =
            |of: &Subject| of.facts.iter().any(|fact| fact.day > months(today, 1).checked_sub_months(Months::new(61)));
        assert!(circuit.iter().all(tested_since), "full coverage within five years, {n} in year {year}");
    }
    counts
}

#[test]
fn ten_years_of_shares_cover_every_circuit() {
    for n in [1, 2, 3, 5, 9, 10, 11, 13, 37] {
        let counts = ten_years(n);
        let fewest = 2.min(n as usize);
        assert!(counts.iter().all(|count| *count >= fewest), "{n}: {counts:?}");
    }
    // Ten, tested as a whole in year 0: ⌈10/4⌉ = 3, then ⌈7/3⌉ = 3; in the third year four whose time is up in two years and the three of
    // the first year in three: ⌈7/3⌉ = 3, and so on.
    assert_eq!(ten_years(10)[..4], [3, 3, 3, 3]);
}

#[test]
fn not_last_times_but_the_oldest_and_repeats_are_said() {
    let rules = [shipped("restorable-share")];
    let years = |list: &[i32]| list.iter().map(|year| passed(day(*year, 11, 20))).collect::<Vec<_>>();
    let circuit = |histories: &[&[i32]]| -> Vec<Subject> {
        let of = |(n, list): (usize, &&[i32])| Subject { facts: years(list), ..subject(n as u128 + 1) };
        histories.iter().enumerate().map(of).collect()
    };
    // 1 and 2 last time; 4 longest ago, then 3 and 5 in their order.
    let five = circuit(&[&[2025], &[2025], &[2024], &[2023], &[2024]]);
    let found = due(&five, terms(&rules, today()));
    assert_eq!(proposed(&found), [id(3), id(4)]);
    assert_eq!((found.shares[0].wanted, found.shares[0].repeats, found.shares[0].of), (2, 0, 5));
    // All but one last time.
    let three = circuit(&[&[2025], &[2024], &[2025]]);
    let found = due(&three, terms(&rules, today()));
    assert_eq!(proposed(&found), [id(1), id(2)]);
    assert_eq!(found.shares[0].repeats, 1);
    assert_eq!(found.positions[0].functional.why, Why::Repeat);
    assert_eq!(found.positions[1].functional.why, Why::Share);
}

#[test]
fn what_passed_in_the_open_visit_is_not_asked_for_again() {
    let rules = [shipped("restorable-share")];
    let visit = id(700);
    let mut circuit: Vec<Subject> = (1..=13).map(subject).collect();
    circuit.iter_mut().for_each(|of| of.facts.push(passed(day(2025, 11, 29))));
    let terms = Terms { open: Some((visit, today())), ..terms(&rules, today()) };
    // ⌈13/4⌉ = 4 in the first year after; one after the other passes.
    for done in 0..=4 {
        let found = due(&circuit, terms);
        assert_eq!((found.shares[0].wanted, found.shares[0].done, proposed(&found).len()), (4, done, 4 - done));
        if let Some(next) = proposed(&found).first() {
            let of = circuit.iter_mut().find(|of| of.position == *next).unwrap();
            of.facts.push(Fact { visit, ..passed(today()) });
        }
    }
}

#[test]
fn a_visit_of_two_days_does_not_ask_for_the_first_days_work_again() {
    let (visit, first) = (id(700), day(2026, 11, 28));
    let done = with(|of| of.facts = vec![Fact { visit, ..passed(first) }]);
    let due = due(&[done], Terms { open: Some((visit, first)), ..terms(&[], today()) });
    assert_eq!(due.positions[0].functional.state, State::NotUntil(day(2027, 11, 28)));
    assert!(due.positions[0].passed_here);
}

#[test]
fn a_longer_visit_interval_asks_for_more_and_none_at_all_is_a_year() {
    let last = day(2026, 6, 1);
    let state = |interval| {
        let subject = with(|of| of.facts = vec![passed(last)]);
        let own = RuleSet { every_months: 24, ..shipped("every-year") };
        let rules = [own];
        let found = due(&[subject], Terms { interval, ..terms(&rules, today()) });
        found.positions[0].functional.state
    };
    assert_eq!(state(Some(12)), State::NotUntil(day(2028, 6, 1)), "24 months is this rule's period");
    assert_eq!(state(Some(24)), State::ByNextVisit(day(2028, 6, 1)), "the next visit is on 2028-11-29");
    assert_eq!((state(None), state(Some(0))), (state(Some(12)), state(Some(12))));
}

#[test]
fn what_a_site_leaves_out_is_filled_by_the_defaults() {
    let checks = |own: &[RuleSet]| site_rules(own).iter().map(|rule| rule.check).collect::<Vec<_>>();
    assert_eq!(checks(&[]), [RuleCheck::Functional, RuleCheck::Visual]);
    let nonrestorable = [shipped("nonrestorable-15")];
    assert_eq!(checks(&nonrestorable), [RuleCheck::ReplaceOrSample, RuleCheck::Functional, RuleCheck::Visual]);
    assert_eq!(checks(&[shipped("bs-5839-1")]), [RuleCheck::Functional, RuleCheck::Visual]);
}

#[test]
fn what_is_from_memory_says_so_and_no_rule_names_a_clause() {
    for of in SHIPPED {
        let rule = of.rule();
        assert!(!rule.sentence.is_empty() && !rule.source.is_empty(), "{}", of.key);
        let clause = |word: &str| word.contains('.') && word.chars().filter(char::is_ascii_digit).count() > 1;
        assert!(!rule.source.split_whitespace().any(clause), "{}: from memory, so no clause: {}", of.key, rule.source);
        if rule.from_memory {
            assert!(rule.source.ends_with("check with the AHJ"), "{}", of.key);
        }
    }
}
