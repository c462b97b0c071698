//! What holds for any positions, histories and rules.

use super::*;
use proptest::prelude::*;
use soakbook::book::body::{RuleCheck, RuleExcept};
use soakbook::findings::Failed;
use soakbook::trade::conditions::Visual;
use soakbook::units::Wall;
use std::collections::BTreeSet;

const FROM: (i32, u32, u32) = (2016, 1, 31);

fn today() -> NaiveDate {
    day(2026, 2, 28)
}

/// A day in the ten years before today, ends of months and leap days among them, and now and then one ahead.
fn any_day() -> impl Strategy<Value = NaiveDate> {
    let from = day(FROM.0, FROM.1, FROM.2);
    prop_oneof![
        8 => (0..3_680_i64).prop_map(move |days| from + chrono::Duration::days(days)),
        1 => Just(day(2024, 2, 29)),
        1 => (0..120_u32).prop_map(move |count| months(from, count)),
        1 => (1..800_i64).prop_map(|days| today() + chrono::Duration::days(days)),
    ]
}

fn any_what() -> impl Strategy<Value = FactWhat> {
    let outcome = prop_oneof![
        6 => Just(Outcome::Passed),
        1 => Just(Outcome::Failed(Failed::NoAlarm)),
        1 => Just(Outcome::NotDecided),
        1 => Just(Outcome::NotVerified { panel: false, restore: true }),
        1 => Just(Outcome::Mistake),
    ];
    let functional = (outcome, any::<bool>(), prop::bool::weighted(0.1));
    prop_oneof![
        5 => functional.prop_map(|(outcome, follows, laboratory)| FactWhat::Functional { outcome, follows, laboratory }),
        2 => prop_oneof![Just(None), Just(Some(Visual::Dirty)), Just(Some(Visual::Missing))].prop_map(FactWhat::Looked),
        1 => Just(FactWhat::Repaired),
    ]
}

fn any_fact() -> impl Strategy<Value = Fact> {
    (any_day(), any_what(), 0..2_u128).prop_map(|(on, what, phone)| Fact { phone: id(phone), ..fact(on, what) })
}

fn any_subject() -> impl Strategy<Value = Subject> {
    let known = || prop_oneof![4 => Just(Some(false)), 1 => Just(Some(true)), 1 => Just(None)];
    let of_type = prop_oneof![3 => Just(1_usize), 2 => 0..DetectorType::ALL.len()];
    let facts = prop::collection::vec(any_fact(), 0..6);
    (of_type, prop::option::weighted(0.9, 0..3_u128), known(), known(), prop::option::of(any_day()), facts, 0..20_u8)
        .prop_map(|(of_type, circuit, addressable, releasing, installed, facts, rare)| Subject {
            detector_type: DetectorType::ALL[of_type],
            circuit: circuit.map(|n| id(800 + n)),
            addressable,
            releasing,
            installed,
            provisional: rare == 0,
            has_detector: rare != 1,
            facts,
            ..subject(0)
        })
}

fn any_site() -> impl Strategy<Value = Vec<Subject>> {
    prop::collection::vec(any_subject(), 1..30).prop_map(|all| {
        let numbered = all.into_iter().enumerate();
        numbered.map(|(n, of)| Subject { position: id(n as u128 + 1), ..of }).collect()
    })
}

fn any_rule() -> impl Strategy<Value = RuleSet> {
    let own = (1..40_u32, prop::option::of(1..90_u32), prop::option::of(1..4_u32), prop::option::of(1..90_u32));
    let shape = (0..3_usize, prop::collection::vec(0..DetectorType::ALL.len(), 0..3), any::<bool>());
    let own = (own, shape).prop_map(|((every, first, fewest, all_within), (check, types, except))| RuleSet {
        check: [RuleCheck::Functional, RuleCheck::Visual, RuleCheck::ReplaceOrSample][check],
        types: types.into_iter().map(|index| DetectorType::ALL[index]).collect(),
        except: if except { vec![RuleExcept::Addressable, RuleExcept::Releasing] } else { Vec::new() },
        every_months: every,
        first_after_months: first,
        least_per_circuit: fewest,
        all_within_months: all_within,
        ..shipped("every-year")
    });
    let known = (0..SHIPPED.len()).prop_map(|index| SHIPPED[index].rule());
    prop_oneof![3 => known, 2 => own]
}

fn any_rules() -> impl Strategy<Value = Vec<RuleSet>> {
    prop::collection::vec(any_rule(), 0..4)
}

/// The longest that a rule lets anything go untested.
fn longest(rule: &RuleSet) -> u32 {
    let whole = [rule.first_after_months, rule.all_within_months, Some(rule.every_months)];
    whole.into_iter().flatten().max().unwrap_or(0)
}

/// Whether a functional rule covers a position, by its own words: a share never stands for what has to answer every time or is unknown,
/// and what heat uses up is covered by its name.
fn covers(rule: &RuleSet, of: &Subject) -> bool {
    use DetectorType::{FixedNonrestorable, RateCompensated, Unknown};
    let nonrestorable = of.detector_type == FixedNonrestorable;
    let named = rule.types.contains(&of.detector_type);
    let type_fits = match rule.check {
        RuleCheck::Visual => return false,
        RuleCheck::ReplaceOrSample => nonrestorable && named,
        RuleCheck::Functional => named || (rule.types.is_empty() && !nonrestorable),
    };
    let plain = of.addressable == Some(false) && of.releasing == Some(false);
    let except = rule.except.iter().any(|except| match except {
        RuleExcept::Addressable => of.addressable != Some(false),
        RuleExcept::Releasing => of.releasing != Some(false),
    });
    let share = all_within(rule).is_none()
        || (plain && of.circuit.is_some() && ![RateCompensated, Unknown].contains(&of.detector_type));
    type_fits && !except && share
}

/// Whether a visual rule covers a position, by its own words.
fn looks_at(rule: &RuleSet, of: &Subject) -> bool {
    let named = rule.types.is_empty() || rule.types.contains(&of.detector_type);
    let except = (of.addressable != Some(false) && rule.except.contains(&RuleExcept::Addressable))
        || (of.releasing != Some(false) && rule.except.contains(&RuleExcept::Releasing));
    rule.check == RuleCheck::Visual && named && !except
}

/// The months for all, of a rule that asks for a share.
fn all_within(rule: &RuleSet) -> Option<u32> {
    let share = rule.check == RuleCheck::Functional && rule.least_per_circuit.is_some();
    rule.all_within_months.filter(|_| share)
}

/// Whether a position falls out of no period of a rule that covers it before the next visit.
fn keeps(rule: &RuleSet, of: &Subject, site: &[Subject], next: NaiveDate) -> bool {
    let good = |outcome| match rule.check {
        RuleCheck::ReplaceOrSample => matches!(outcome, Outcome::Passed | Outcome::NotVerified { .. }),
        RuleCheck::Functional | RuleCheck::Visual => outcome == Outcome::Passed,
    };
    let passed = |of: &Subject, in_laboratory: bool| -> Vec<NaiveDate> {
        let day = |fact: &Fact| match fact.what {
            FactWhat::Functional { outcome, laboratory, .. } if good(outcome) && laboratory == in_laboratory => {
                fact.day
            }
            _ => None,
        };
        of.facts.iter().filter_map(day).filter(|day| *day <= today() + chrono::Duration::days(1)).collect()
    };
    let first = rule.first_after_months.zip(of.installed).map(|(first, on)| months(on, first));
    match rule.check {
        RuleCheck::ReplaceOrSample => {
            let Some(installed) = of.installed else { return false };
            let first = months(installed, rule.first_after_months.unwrap_or(rule.every_months));
            let sampled = site.iter().flat_map(|of| passed(of, true));
            first >= next || sampled.into_iter().any(|day| day >= first && months(day, rule.every_months) >= next)
        }
        RuleCheck::Functional | RuleCheck::Visual => {
            let period = all_within(rule).unwrap_or(rule.every_months);
            let days = passed(of, false);
            // The first time waits only while it has never passed.
            let waits = days.is_empty() && first.is_some_and(|first| first >= next);
            waits || days.iter().any(|day| months(*day, period) >= next)
        }
    }
}

/// By the words of every rule that covers it, not of the one that is named, nobody falls out who is called not due.
fn all_keep(found: &Due, site: &[Subject], rules: &[RuleSet], next: NaiveDate) -> Result<(), TestCaseError> {
    for (subject, of) in site.iter().zip(&found.positions).filter(|(_, of)| !of.functional.state.is_due()) {
        for rule in rules.iter().filter(|rule| covers(rule, subject)) {
            prop_assert!(keeps(rule, subject, site, next), "{:?} under {:?}: {:?}", subject, rule, of);
        }
    }
    Ok(())
}

/// Positions that hang well, with few passed tests, so that rules alone decide.
fn any_few() -> impl Strategy<Value = Vec<Subject>> {
    let of = (any::<bool>(), prop::option::of(any_day()), prop::collection::vec(any_day(), 0..2));
    let of = of.prop_map(|(nonrestorable, installed, passes)| Subject {
        detector_type: if nonrestorable { DetectorType::FixedNonrestorable } else { DetectorType::FixedRestorable },
        installed,
        facts: passes.into_iter().map(passed).collect(),
        ..subject(1)
    });
    prop::collection::vec(of, 1..8)
}

/// Rules that cover whatever they can, of short and long periods.
fn rules_for_all() -> impl Strategy<Value = Vec<RuleSet>> {
    let rule = (any::<bool>(), 1..200_u32, prop::option::of(1..200_u32)).prop_map(|(replace, every, first)| RuleSet {
        check: if replace { RuleCheck::ReplaceOrSample } else { RuleCheck::Functional },
        types: vec![DetectorType::FixedNonrestorable, DetectorType::FixedRestorable],
        every_months: every,
        first_after_months: first,
        ..shipped("every-year")
    });
    prop::collection::vec(rule, 2..5)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn nobody_is_not_due_who_falls_out_of_a_period_before_the_next_visit(
        site in any_site(), rules in any_rules(), interval in prop::option::of(1..30_u32),
    ) {
        let terms = Terms { interval, ..terms(&rules, today()) };
        let found = due(&site, terms);
        let next = months(today(), interval.unwrap_or(12));
        prop_assert_eq!(found.next_visit, next);
        // At the next visit, with nothing done until then, nobody who was not due has fallen out.
        let then = due(&site, Terms { today: next, ..terms });
        for (now, then) in found.positions.iter().zip(&then.positions) {
            for (now, then) in [(now.functional, then.functional), (now.visual, then.visual)] {
                if let State::NotUntil(ends) = now.state {
                    prop_assert!(ends >= next);
                    prop_assert!(!matches!(then.state, State::Overdue(_)), "{:?} then {:?}", now, then);
                }
            }
        }
        all_keep(&found, &site, &rules, next)?;
        for (subject, of) in site.iter().zip(&found.positions).filter(|(_, of)| !of.visual.state.is_due()) {
            let clean = subject.facts.iter().filter(|fact| fact.what == FactWhat::Looked(None)).filter_map(|fact| fact.day);
            let last = clean.max().expect("a clean look");
            for rule in rules.iter().filter(|rule| looks_at(rule, subject)) {
                prop_assert!(months(last, rule.every_months) >= next, "{:?} under {:?}: {:?}", subject, rule, of);
            }
        }
    }

    #[test]
    fn several_rules_that_cover_one_position_are_all_kept(site in any_few(), rules in rules_for_all(), interval in 1..30_u32) {
        let found = due(&site, Terms { interval: Some(interval), ..terms(&rules, today()) });
        all_keep(&found, &site, &rules, months(today(), interval))?;
    }

    #[test]
    fn nobody_is_not_due_without_a_passed_test_or_an_age_that_the_rule_starts_from(
        site in any_site(), rules in any_rules(),
    ) {
        let found = due(&site, terms(&rules, today()));
        for (subject, of) in site.iter().zip(&found.positions) {
            let rule = &found.rules[of.functional.rule];
            let recent = |fact: &Fact| {
                let passed = matches!(fact.what, FactWhat::Functional { outcome: Outcome::Passed, .. });
                passed && fact.day.is_some_and(|day| months(day, longest(rule)) >= today())
            };
            if !of.functional.state.is_due() {
                let sampled = rule.check == RuleCheck::ReplaceOrSample && site.iter().any(|of| of.facts.iter().any(recent));
                let young = rule.first_after_months.zip(subject.installed).is_some_and(|(first, on)| months(on, first) > today());
                let replace = rule.check == RuleCheck::ReplaceOrSample && subject.installed.is_some();
                prop_assert!(subject.facts.iter().any(recent) || young || sampled || replace, "{:?} {:?}", subject, of);
                prop_assert!(subject.has_detector && !subject.provisional);
            }
        }
    }

    #[test]
    fn every_position_has_one_functional_and_one_visual_rule_and_a_proposal_names_nobody_twice(
        site in any_site(), rules in any_rules(),
    ) {
        let found = due(&site, terms(&rules, today()));
        prop_assert_eq!(found.positions.len(), site.len());
        for of in &found.positions {
            prop_assert_ne!(found.rules[of.functional.rule].check, RuleCheck::Visual);
            prop_assert_eq!(found.rules[of.visual.rule].check, RuleCheck::Visual);
        }
        let proposal = proposed(&found);
        prop_assert_eq!(proposal.iter().collect::<BTreeSet<_>>().len(), proposal.len());
        let (overdue, due, not_due) = found.counts();
        prop_assert_eq!(overdue + due + not_due, site.len());
        // Every circuit gets its least by every rule that asks for one and covers any of its positions.
        let mut asked = BTreeSet::new();
        for (index, rule) in rules.iter().enumerate().filter(|(_, rule)| all_within(rule).is_some()) {
            asked.extend(site.iter().filter(|of| covers(rule, of)).map(|of| (of.circuit.unwrap(), index)));
        }
        prop_assert_eq!(found.shares.iter().map(|of| (of.circuit, of.rule)).collect::<BTreeSet<_>>(), asked);
        for share in &found.shares {
            let rule = &rules[share.rule];
            let here = site.iter().zip(&found.positions);
            let here = here.filter(|(of, _)| of.circuit == Some(share.circuit) && covers(rule, of));
            let due: Vec<bool> = here.map(|(_, of)| of.functional.state.is_due()).collect();
            prop_assert_eq!(due.len(), share.of);
            prop_assert!(share.wanted <= share.of && share.wanted >= 1.min(share.of));
            prop_assert!(due.iter().filter(|due| **due).count() >= share.wanted);
        }
    }

    #[test]
    fn the_order_of_what_was_done_does_not_matter(
        (site, shuffled) in any_site().prop_flat_map(|site| {
            let facts: Vec<_> = site.iter().map(|of| Just(of.facts.clone()).prop_shuffle()).collect();
            (Just(site), facts)
        }),
        rules in any_rules(),
    ) {
        let other: Vec<Subject> = site.iter().cloned().zip(shuffled).map(|(of, facts)| Subject { facts, ..of }).collect();
        prop_assert_eq!(due(&site, terms(&rules, today())), due(&other, terms(&rules, today())));
    }

    #[test]
    fn a_failed_one_stays_due_whatever_the_rules(site in any_site(), rules in any_rules()) {
        let failed: Vec<Subject> = site.into_iter().map(|mut of| {
            let last = of.facts.iter().map(|fact| fact.at).max().unwrap_or(Wall(0)).max(passed(today()).at);
            of.facts.push(Fact { at: last, ..test(today(), Outcome::Failed(Failed::NoAlarm)) });
            of
        }).collect();
        let found = due(&failed, terms(&rules, today()));
        prop_assert!(found.positions.iter().all(|of| of.functional.state.is_due()));
        prop_assert!(found.positions.iter().all(|of| !of.passed_here));
    }

    #[test]
    fn visits_on_time_keep_every_share_within_its_period(
        circuit in prop::collection::vec(0..60_u32, 1..25), interval in 6..=18_u32,
    ) {
        let rules = [shipped("restorable-share")];
        let mut site: Vec<Subject> = circuit.iter().enumerate().map(|(n, ago)| {
            let last = today().checked_sub_months(Months::new(*ago)).unwrap();
            Subject { facts: vec![passed(last)], ..subject(n as u128 + 1) }
        }).collect();
        for visit in 0..8 {
            let today = months(today(), visit * interval);
            let found = due(&site, Terms { interval: Some(interval), ..terms(&rules, today) });
            prop_assert_eq!(found.counts().0, 0, "visit {}: {:?}", visit, found.positions);
            let proposal = proposed(&found);
            for of in site.iter_mut().filter(|of| proposal.contains(&of.position)) {
                of.facts.push(passed(today));
            }
        }
    }
}
