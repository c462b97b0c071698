//! Every rule that covers a position counts; samples; clocks that were set back. Sources as in `years`; what has none there is the sentence
//! of the rule itself, worked out by hand. Days by the Gregorian calendar.

use super::*;
use soakbook::findings::Failed;
use soakbook::findings::due::Mark;
use soakbook::trade::conditions::Visual;

fn today() -> NaiveDate {
    day(2026, 11, 29)
}

fn own(name: &str, every_months: u32) -> RuleSet {
    RuleSet { name: name.into(), every_months, ..shipped("every-year") }
}

fn with(change: impl FnOnce(&mut Subject)) -> Subject {
    let mut subject = subject(1);
    change(&mut subject);
    subject
}

#[test]
fn a_share_is_asked_for_beside_a_shorter_period() {
    let rules = [shipped("restorable-share"), own("Insurer: 36 months", 36)];
    let mut circuit: Vec<Subject> = (1..=10).map(subject).collect();
    circuit.iter_mut().for_each(|of| of.facts.push(passed(day(2025, 11, 29))));
    let found = due(&circuit, terms(&rules, today()));
    // Four of five years are left for ten: ⌈10 / 4⌉ = 3.
    assert_eq!(found.shares.iter().map(|of| (of.rule, of.of, of.wanted)).collect::<Vec<_>>(), [(0, 10, 3)]);
    assert_eq!(proposed(&found), [id(1), id(2), id(3)]);
    let asked = |n: usize| (found.positions[n].functional.rule, found.positions[n].functional.why);
    assert_eq!(asked(0), (0, Why::Repeat), "all ten were tested last time; the share's rule is named");
    assert_eq!(asked(5), (1, Why::Last(day(2025, 11, 29))), "the insurer's period ends first");
    assert_eq!(found.positions[5].functional.state, State::NotUntil(day(2028, 11, 29)), "36 months");
    // Two shares on one circuit: what is taken for one counts for the other.
    let more = RuleSet { name: "Owner: four".into(), least_per_circuit: Some(4), ..shipped("restorable-share") };
    let found = due(&circuit, terms(&[shipped("restorable-share"), more], today()));
    assert_eq!(found.shares.iter().map(|of| of.wanted).collect::<Vec<_>>(), [3, 4]);
    assert_eq!(proposed(&found), [id(1), id(2), id(3), id(4)]);
    assert_eq!((0..4).map(|n| found.positions[n].functional.rule).collect::<Vec<_>>(), [0, 0, 0, 1]);
}

#[test]
fn a_passed_test_does_not_make_an_old_nonrestorable_one_young() {
    let functional_rule = RuleSet { types: vec![DetectorType::FixedNonrestorable], ..own("Owner: yearly", 12) };
    let rules = [functional_rule, shipped("nonrestorable-15")];
    let of = |installed, last| {
        let of = with(|of| {
            (of.detector_type, of.installed) = (DetectorType::FixedNonrestorable, Some(installed));
            of.facts = vec![passed(last)];
        });
        functional(of, &rules, today())
    };
    // 20 years old, tested half a year ago: replace or sample since it was 15.
    let old = of(day(2006, 11, 29), day(2026, 6, 1));
    assert_eq!((old.0, &old.2[..]), (State::Overdue(day(2021, 11, 29)), &rules[1].name[..]));
    let young = of(day(2020, 11, 29), day(2025, 6, 1));
    assert_eq!((young.0, &young.2[..]), (State::Overdue(day(2026, 6, 1)), "Owner: yearly"));
}

#[test]
fn a_first_time_later_on_by_one_rule_does_not_wait_for_another() {
    let late = RuleSet { first_after_months: Some(60), ..own("Every 12, first after 60", 12) };
    let rules = [late, own("Every 24", 24)];
    let never = with(|of| of.installed = Some(day(2025, 1, 1)));
    assert_eq!(functional(never, &rules, today()), (State::Now, Why::NeverPassed, "Every 24".into()));
    let once = with(|of| of.facts = vec![passed(day(2025, 6, 1))]);
    assert_eq!(functional(once, &rules, today()).0, State::Overdue(day(2026, 6, 1)), "12 months");
}

#[test]
fn a_replace_rule_without_types_covers_nothing() {
    let rules = [RuleSet { types: Vec::new(), ..shipped("nonrestorable-15") }];
    for detector_type in DetectorType::ALL {
        let of = functional(with(|of| of.detector_type = detector_type), &rules, today());
        assert_eq!(of.2, "Every position every year", "{detector_type:?}");
    }
}

fn laboratory(on: NaiveDate, outcome: Outcome) -> Fact {
    fact(on, FactWhat::Functional { outcome, follows: false, laboratory: true })
}

/// A hundred nonrestorable ones of 2011 under the shipped rule, after these samples; the state of one that was not sampled.
fn after_samples(change: impl FnOnce(&mut Vec<Subject>)) -> State {
    let mut group: Vec<Subject> = (1..=100).map(subject).collect();
    for of in &mut group {
        (of.detector_type, of.installed) = (DetectorType::FixedNonrestorable, Some(day(2011, 1, 1)));
    }
    change(&mut group);
    due(&group, terms(&[shipped("nonrestorable-15")], today())).positions[50].functional.state
}

#[test]
fn a_failed_sample_is_not_forgotten() {
    // 15 years after 2011-01-01.
    let overdue = State::Overdue(day(2026, 1, 1));
    let good = |group: &mut Vec<Subject>| {
        group[..2].iter_mut().for_each(|of| of.facts.push(laboratory(day(2026, 2, 1), Outcome::Passed)));
    };
    let bad = Outcome::Failed(Failed::NoAlarm);
    assert_eq!(after_samples(good), State::NotUntil(day(2031, 2, 1)), "two of a hundred, five years");
    let later = |group: &mut Vec<Subject>| {
        good(group);
        group[2].facts.push(laboratory(day(2026, 3, 1), bad));
    };
    assert_eq!(after_samples(later), overdue, "one of a later visit failed");
    let replaced = |group: &mut Vec<Subject>| {
        later(group);
        group[2].detector_type = DetectorType::FixedRestorable;
    };
    assert_eq!(after_samples(replaced), overdue, "where another type hangs now");
    let since = |group: &mut Vec<Subject>| {
        later(group);
        group[3..5].iter_mut().for_each(|of| of.facts.push(laboratory(day(2026, 4, 1), Outcome::Passed)));
    };
    assert_eq!(after_samples(since), State::NotUntil(day(2031, 4, 1)), "a whole sample passed after it");
    let young = |group: &mut Vec<Subject>| {
        later(group);
        group[50].installed = Some(day(2026, 2, 28));
    };
    assert_eq!(after_samples(young), State::Now, "it hung when the sample failed");
    let new = |group: &mut Vec<Subject>| {
        later(group);
        group[50].installed = Some(day(2026, 3, 2));
    };
    assert_eq!(after_samples(new), State::NotUntil(day(2041, 3, 2)), "put in since, 15 years");
    let twice = |group: &mut Vec<Subject>| {
        let one = laboratory(day(2026, 2, 1), Outcome::Passed);
        group[0].facts = vec![one, Fact { phone: id(2), ..one }];
    };
    assert_eq!(after_samples(twice), overdue, "one detector on two phones is one");
    let no_panel = |group: &mut Vec<Subject>| {
        let tripped = Outcome::NotVerified { panel: false, restore: false };
        group[..2].iter_mut().for_each(|of| of.facts.push(laboratory(day(2026, 2, 1), tripped)));
    };
    assert_eq!(after_samples(no_panel), State::NotUntil(day(2031, 2, 1)), "a laboratory has no panel");
}

#[test]
fn a_failed_sample_of_a_position_that_is_gone_is_not_forgotten() {
    let (rules, bad) = ([shipped("nonrestorable-15")], [laboratory(day(2026, 3, 1), Outcome::Failed(Failed::NoAlarm))]);
    let of =
        |n| Subject { detector_type: DetectorType::FixedNonrestorable, installed: Some(day(2011, 1, 1)), ..subject(n) };
    let sampled = |n| Subject { facts: vec![laboratory(day(2026, 2, 1), Outcome::Passed)], ..of(n) };
    let group = [sampled(1), sampled(2), of(3)];
    let asked = |failed| due(&group, Terms { failed, ..terms(&rules, today()) }).positions[2].functional;
    assert_eq!(asked(&[]).state, State::NotUntil(day(2031, 2, 1)), "five years after the sample");
    assert_eq!((asked(&bad).state, asked(&bad).why), (State::Overdue(day(2026, 1, 1)), Why::SampleFailed));
}

#[test]
fn a_clock_that_was_set_back_hides_nothing() {
    let good = Fact { seq: 4, ..passed(day(2026, 11, 28)) };
    let failed = test(day(2026, 11, 28), Outcome::Failed(Failed::NoAlarm));
    // An hour before by the clock, after it by the chain.
    let back = |fact: Fact, seq| Fact { seq, visit: good.visit, at: good.at - 3_600_000, ..fact };
    let state = |facts: Vec<Fact>| functional(with(|of| of.facts = facts), &[], today()).0;
    assert_eq!(state(vec![good, back(failed, 5)]), State::Now);
    assert!(matches!(state(vec![back(failed, 3), good]), State::NotUntil(_) | State::ByNextVisit(_)));
    assert!(state(vec![good, back(failed, 5), back(passed(day(2026, 11, 28)), 6)]) != State::Now, "passed after all");
    // What failed last in its chain failed no earlier than what its chain has before it.
    let other = Fact { at: good.at - 1, visit: id(7), ..passed(day(2026, 11, 28)) };
    assert_eq!(state(vec![good, back(failed, 5), other]), State::Now);
    let dirty = fact(day(2026, 11, 28), FactWhat::Looked(Some(Visual::Dirty)));
    let clean = Fact { seq: 4, ..looked(day(2026, 11, 28)) };
    let found = due(&[with(|of| of.facts = vec![clean, back(dirty, 5)])], terms(&[], today()));
    assert_eq!(found.positions[0].visual.why, Why::Found(Visual::Dirty));
}

#[test]
fn a_visit_that_nobody_closed_does_not_bring_the_next_one_nearer() {
    let next = |opened| due(&[subject(1)], Terms { open: Some((id(7), opened)), ..terms(&[], today()) }).next_visit;
    assert_eq!(next(day(2026, 11, 27)), day(2027, 11, 27), "two days under way");
    // 31 days before 2026-11-29 is 2026-10-29.
    assert_eq!(next(day(2026, 10, 29)), day(2027, 10, 29));
    assert_eq!(next(day(2026, 10, 28)), day(2027, 11, 29), "forgotten: a year from today");
}

#[test]
fn outside_its_period_is_who_is_past_it_for_whatever_reason() {
    use soakbook::findings::due::coverage;
    let failed = test(day(2026, 11, 1), Outcome::Failed(Failed::NoAlarm));
    let late = with(|of| of.facts = vec![passed(day(2025, 1, 1)), failed]);
    let in_time = Subject { facts: vec![passed(day(2026, 10, 1)), failed], ..subject(2) };
    let found = due(&[late, in_time], terms(&[], today()));
    assert!(found.positions.iter().all(|of| of.functional.state == State::Now));
    let years = coverage(&found, &Default::default(), today(), 0);
    assert_eq!((years.outside, years.rows[0].1.clone()), (1, vec![Mark::Nothing]));
    // 20 years old and missing: its time was up when it was 15.
    let old = with(|of| {
        (of.detector_type, of.installed) = (DetectorType::FixedNonrestorable, Some(day(2006, 11, 1)));
        of.facts = vec![fact(day(2026, 11, 1), FactWhat::Looked(Some(Visual::Missing)))];
    });
    let rules = [shipped("nonrestorable-15")];
    let found = due(&[old], terms(&rules, today()));
    assert_eq!((found.positions[0].functional.why, found.positions[0].outside), (Why::Found(Visual::Missing), true));
}
