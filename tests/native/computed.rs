//! The page "How it is computed" and the figures say the same: an invented visit in which every figure occurs is walked.

use crate::at_trip::late_and_estimated;
use crate::demo::demo_book;
use crate::sample::{Phone, VISIT, c, id, k, read, started};
use crate::thermal::profile::two_profile_runs;
use soakbook::book::body::{Ending, TestStart};
use soakbook::book::kit::Kit;
use soakbook::book::profile_run::profile_of;
use soakbook::book::register::Register;
use soakbook::book::visit::Visit;
use soakbook::findings::{self, BY_HEATERS, COVERAGE};
use soakbook::stats::{
    ALPHA, CUT_OFF_FAMILIES, CUT_OFF_SEED, MIN_ESD, MIN_FAMILY, NORMAL_MAD, SHARE, modified_z_cut_off,
};
use soakbook::thermal::HeaterProfile;
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::Degree;
use soakbook::view::computed::{TOPICS, cut_off_rows, cut_off_words, page};
use soakbook::view::findings::FindingsScreen;
use soakbook::view::findings::family::FamilyView;
use soakbook::view::findings::figure::Shown;
use soakbook::view::findings::one::{JudgementView, OneTest};
use soakbook::view::findings::said::Said;
use soakbook::view::page::{Block, Kind, Role, Section};
use soakbook::view::profile::{HeaterProfiles, ModeProfile};
use soakbook::view::route::Route;
use std::collections::BTreeSet;

/// Every figure on the screens of a visit in which each type of figure occurs.
fn figures(unit: Degree) -> Vec<Shown> {
    let mut phone = Phone::new();
    let (demo, _) = demo_book();
    phone.book.merge(demo);
    let book = phone.book.clone();
    let kit = Kit::of(&book);
    let (heater, _) =
        kit.heaters.iter().find(|(heater, _)| !profile_of(&book, **heater, None).is_empty()).expect("a profile");
    let mut tests = 0;
    let mut family = |soak_ms: i64, means: [&str; 8], change: &dyn Fn(usize, &mut TestStart)| {
        for (index, mean) in means.into_iter().enumerate() {
            tests += 1;
            let mut start = started(tests);
            start.procedure.soak_ms = Some(soak_ms);
            start.ambient = Some(c("20"));
            change(index, &mut start);
            phone.test(start, &read(&["80.0", mean, mean, mean, mean]), Ending::Done);
        }
    };
    family(300_000, ["90.0", "90.1", "89.9", "90.0", "90.1", "89.9", "90.0", "90.0"], &|index, start| match index {
        0 => start.detector.marking.plus = Some(k("9")),
        1 => (start.detector.marking.minus, start.detector.marking.plus) = (Some(k("-0.4")), Some(k("0.4"))),
        2 => start.heater.profile = profile_of(&book, *heater, None),
        _ => {}
    });
    family(240_000, ["88.0", "88.1", "87.9", "88.0", "89.5", "89.6", "89.4", "89.5"], &|index, start| {
        if index > 3 {
            start.heater.of = id(41);
        }
    });
    family(180_000, ["87.5", "87.6", "87.7", "87.8", "87.9", "88.0", "88.1", "88.2"], &|index, start| {
        start.ambient = Some(c(["10", "11", "12", "13", "14", "15", "16", "17"][index]));
    });
    let mut fixed = started(90);
    (fixed.detector.marking.detector_type, fixed.ambient) = (DetectorType::FixedRestorable, Some(c("20")));
    phone.test_with_top(fixed, &read(&["80.0", "88.0", "88.1", "87.9", "88.0"]), Ending::Done, Some(120_000));
    let register = Register::of(&phone.book);
    let visit = Visit::of(&phone.book, id(VISIT)).expect("the visit");
    let found = findings::visit(&phone.book, &visit);
    let mut all = Vec::new();
    for one in &found.tests {
        let test = visit.tests.iter().find(|test| test.id == one.test).expect("the test");
        all.extend(of_test(OneTest::of(&phone.book, &visit, test, one, unit, 0).among(one, &found.families, unit)));
    }
    let FindingsScreen { areas, .. } = FindingsScreen::of(&register, &visit, &found);
    for family in areas.iter().flat_map(|area| area.families(&found, unit)) {
        let FamilyView { remarks, title: _, words: _, unlike: _, plot: _, legend: _, rows: _ } = family;
        all.extend(remarks.into_iter().map(|(_, figure)| figure));
    }
    let profiled = late_and_estimated();
    let visit = Visit::of(&profiled.book, id(VISIT)).expect("a visit");
    for one in &findings::visit(&profiled.book, &visit).tests {
        let test = visit.tests.iter().find(|test| test.id == one.test).expect("the test");
        all.extend(of_test(OneTest::of(&profiled.book, &visit, test, one, unit, 0)));
    }
    let profiles =
        HeaterProfiles::of(&phone.book, *heater, id(1), unit, &|_| 0, &mut soakbook::findings::Estimates::default())
            .expect("the heater");
    for ModeProfile { figures, .. } in profiles.modes {
        all.extend(figures);
    }
    let trend = crate::devices::years::trending(unit);
    all.extend(trend);
    // The demonstration's display does not lag; these profile runs do.
    let lagging = HeaterProfile::fit(&two_profile_runs()).expect("a profile");
    all.extend(soakbook::view::profile::figures(&lagging, unit));
    all
}

/// The figures of a test; every field is named, so that a new one is thought of here.
fn of_test(one: OneTest) -> Vec<Shown> {
    let OneTest {
        trips,
        operating,
        settling,
        first,
        beside,
        judgements,
        test: _,
        position: _,
        tag: _,
        detail: _,
        state: _,
        headline: _,
        says_state: _,
        measured_line: _,
        results: _,
        bands: _,
        ticks: _,
        not_exercised: _,
        ask_early: _,
        ask_panel: _,
        ask_restore: _,
        may_judge: _,
        listed: _,
        restores: _,
        items: _,
        struck: _,
        notes: _,
        clock: _,
        far: _,
        late: _,
        conditions: _,
        ended: _,
        asks: _,
    } = one;
    let mut all: Vec<Shown> = trips.into_iter().filter_map(|trip| trip.reading).collect();
    all.extend(operating.into_iter().flatten());
    all.extend([settling, first, beside].into_iter().flatten().filter_map(|Said { figure, words: _, soft: _ }| figure));
    for judgement in judgements {
        let JudgementView {
            limits,
            limit_result,
            remarks,
            title: _,
            reason: _,
            limits_from: _,
            as_read: _,
            missing: _,
        } = judgement;
        all.extend(limits);
        all.extend(limit_result.map(|(_, _, figure)| figure));
        all.extend(remarks.into_iter().map(|(_, figure)| figure));
    }
    all
}

#[test]
fn every_figure_opens_to_a_formula_of_the_page_and_the_page_has_no_other() {
    let mut used = BTreeSet::new();
    for figure in figures(Degree::C) {
        let Route::Computed(Some(topic)) = Route::read(&figure.way) else { panic!("no way from {}", figure.label) };
        let method = TOPICS[topic].methods.iter().find(|method| method.formula == figure.formula);
        let method = method.unwrap_or_else(|| panic!("{}: {} is not on the page", figure.label, figure.formula));
        assert_eq!(method.source, figure.source);
        used.insert(method.name);
    }
    let page: BTreeSet<&str> = TOPICS.iter().flat_map(|topic| topic.methods).map(|method| method.name).collect();
    assert_eq!(page.difference(&used).collect::<Vec<_>>(), [&""; 0], "on the page and in no figure of `figures` above");
    assert_eq!(page.len(), TOPICS.iter().map(|topic| topic.methods.len()).sum::<usize>(), "each name once");
}

#[test]
fn topics_come_in_the_order_of_the_design_and_say_where_everything_comes_from() {
    let titles = TOPICS.map(|topic| topic.title);
    assert_eq!(
        titles,
        [
            "Reading",
            "Trip",
            "Passed, failed, not decided",
            "Operating temperature",
            "Limits and limit result",
            "First trip",
            "Settling",
            "Heater profile",
            "Live estimate",
            "Side by side",
            "Over the years",
            "The day",
        ]
    );
    for topic in &TOPICS {
        assert!(topic.methods.iter().all(|method| !method.source.is_empty()));
    }
    // After every formula, rule and number comes its source.
    let page = page(None, Degree::F);
    for section in sections(&page.blocks) {
        let kinds: Vec<(&str, &Kind)> = section.blocks.iter().map(|block| (&*block.key, &block.kind)).collect();
        for pair in kinds.windows(2).filter(|pair| ["formula", "rule", "given"].contains(&pair[0].0)) {
            assert!(matches!(pair[1].1, Kind::Text(Role::Source, words) if words.len() > "Source: ".len()), "{pair:?}");
        }
        let rules = kinds.iter().filter(|(key, _)| *key == "rule");
        rules.for_each(|(_, kind)| assert!(matches!(kind, Kind::Text(_, words) if words.ends_with('.')), "{kind:?}"));
        assert!(kinds.last().is_some_and(|(key, _)| ["source", "cut-offs"].contains(key)));
    }
}

#[test]
fn numbers_that_are_a_choice_are_those_of_the_code() {
    let given = |topic: &str, unit| {
        let page = page(None, unit);
        let section = sections(&page.blocks).find(|section| section.title == topic).expect("a topic");
        let facts = section.blocks.iter().filter(|block| block.key == "given").map(|block| match &block.kind {
            Kind::Facts(facts) => facts[0].1.to_string(),
            other => panic!("{other:?}"),
        });
        facts.collect::<Vec<_>>()
    };
    // rule 0.3, 0.4 and 0.6, own figures: 60 s, τ 120 s, 10 °F, 20 °F/min over 30 °F from within 20 °F, early by 20 °F or 10 s; the
    // distance to a nonrestorable element is 11 K, by hand 19.8 °F.
    let outcome = ["60 s", "120 s", "10 °F", "20 °F/min", "30 °F", "20 °F", "20 °F", "10 s", "19.8 °F"];
    assert_eq!(given("Passed, failed, not decided", Degree::F), outcome);
    assert_eq!(given("Operating temperature", Degree::C), [COVERAGE.to_string()]);
    // Differences: 1 K is 1.8 °F, 2 K are 3.6 °F.
    assert!(given("Heater profile", Degree::F).contains(&"1.8 °F".to_string()));
    assert!(given("Live estimate", Degree::F).contains(&"3.6 °F".to_string()));
    // rule B22, own figures: five times, nine ends in ten, an hour, five hours.
    assert_eq!(given("The day", Degree::C), ["5", "0.9", "3600 s", "18000 s"]);
    // Numbers that stand in the text of a formula or a name.
    let texts = |name: &str| {
        let method = TOPICS.iter().flat_map(|topic| topic.methods).find(|method| method.name.starts_with(name));
        method.map(|method| format!("{} {}", method.name, method.formula)).expect("a method")
    };
    assert!(texts("Modified z score").contains(&NORMAL_MAD.to_string()));
    assert!(texts("Modified z score").contains(&format!("from {MIN_ESD} detectors on")));
    for share in [ALPHA.to_string(), (SHARE * 1e4).to_string(), (BY_HEATERS * 1e4).to_string()] {
        assert!(given("Side by side", Degree::C).contains(&share), "{share}");
    }
    assert!(texts("Median deviation").contains(&NORMAL_MAD.to_string()));
    assert!(texts("Expanded uncertainty").contains(&format!("{}%", COVERAGE * 100.0)));
}

#[test]
fn every_family_finds_its_cut_off_on_the_page() {
    let mut next = MIN_FAMILY;
    for (tests, cut_off) in cut_off_rows() {
        let ends: Vec<usize> = tests.split(" to ").map(|n| n.parse().expect("a number")).collect();
        let (from, to) = (ends[0], *ends.last().expect("a number"));
        assert_eq!(from, next);
        for n in [from, to] {
            assert_eq!(modified_z_cut_off(n).map(|of| format!("{of:.2}")), Some(cut_off.clone()), "{n}");
        }
        next = to + 1;
    }
    assert_eq!(modified_z_cut_off(next), None);
    let words = cut_off_words();
    assert!(words.contains(&format!("{} million", CUT_OFF_FAMILIES as f64 / 1e6)), "{words}");
    assert!(words.contains(&CUT_OFF_SEED.to_string()) && words.contains("tests/native/cut_off.rs"), "{words}");
}

fn sections(blocks: &[Block]) -> impl Iterator<Item = &Section> {
    blocks.iter().filter_map(|block| match &block.kind {
        Kind::Section(section) => Some(section),
        _ => None,
    })
}
