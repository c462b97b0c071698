//! Tests side by side: families, flags and remarks, by small families whose sums fit on paper.

use crate::sample::{HeatUp, Phone, c, id, k, read, started};
use crate::tolerances::assert_close;
use soakbook::book::body::{Ending, TestStart};
use soakbook::book::entry::Hash;
use soakbook::findings::{BY_HEATERS, Compared, Family, FamilyRemark, Flag, Member, Scored, VisitFindings, Within};
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::{Degree, Reading};

/// Four trips alike after a first one that does not count. Each test then has U = 0.9816 K, as in the tests of the findings.
fn alike(text: &str) -> Vec<HeatUp> {
    read(&["80.0", text, text, text, text])
}

/// Detectors rated 88 °C that operate at these temperatures, one test each; `change` by the number of the test from 1.
fn visit(means: &[&str], change: impl Fn(u128, &mut TestStart)) -> VisitFindings {
    let mut phone = Phone::new();
    for (test, mean) in (1..).zip(means) {
        let mut start = started(test);
        change(test, &mut start);
        phone.test(start, &alike(mean), Ending::Done);
    }
    phone.visit()
}

fn family(means: &[&str]) -> Family {
    let mut families = visit(means, |_, _| {}).families;
    assert_eq!(families.len(), 1);
    families.remove(0)
}

fn scored(family: &Family) -> Scored {
    let Compared::Scored(scored) = &family.compared else { panic!("not scored: {:?}", family.compared) };
    scored.clone()
}

fn named(members: impl Iterator<Item = Member>) -> Vec<String> {
    members.map(|member| member.tag().to_owned()).collect()
}

#[test]
fn one_that_stands_apart_is_flagged() {
    // By hand: deviations −0.2 −0.1 0 0 0.1 0.2 0.3 4.0, median 0.05, their distances 0.05 0.05 0.05 0.15 0.15 0.25 0.25 3.95, MAD 0.15;
    // scale 0.15 + 0.1/√12 = 0.178868; score of the last 0.6745 · 3.95/0.178868 = 14.8953; 3.95 K exceeds its U of 0.98 K.
    let means = ["88.0", "88.2", "87.9", "88.1", "88.3", "87.8", "88.0", "92.0"];
    let family = family(&means);
    assert_close("fit", family.median.0, 0.05);
    let of = scored(&family);
    assert_close("fit", of.mad.0, 0.15);
    assert_close("printed 4 decimals", of.scale.0, 0.178868);
    assert_eq!((of.cut_off, of.esd), (4.94, None));
    assert_eq!(named(family.flagged().cloned()), ["D-8"]);
    let last = family.members.last().expect("members");
    assert_close("printed 3 decimals", last.score.expect("a score"), 14.8953);
    assert_close("fit", last.deviation.0, 4.0);
    assert_eq!(family.score(last).expect("a figure").value, last.score.expect("a score"));
    // By hand: 4.94 · 0.178868/0.6745 = 1.3100 on both sides of 0.05.
    let (low, high) = family.band().expect("a band");
    assert_close("printed 4 decimals", low.0, -1.2600);
    assert_close("printed 4 decimals", high.0, 1.3600);
    let visit = visit(&means, |_, _| {});
    let flag: Vec<_> = visit.tests.iter().map(|found| (found.tag(), found.flag)).collect();
    assert_eq!((flag[0], flag[1].1), (("D-8", Some(Flag::Outlier)), None), "the flagged one comes first");
}

#[test]
fn what_a_rate_element_tripped_is_not_held_against_the_rating_of_the_fixed_one() {
    for detector_type in [DetectorType::CombinationRestorable, DetectorType::CombinationNonrestorable] {
        let found = visit(&["88.0"; 8], |_, start| start.detector.marking.detector_type = detector_type);
        assert!(found.tests.iter().all(|found| found.operating.is_ok()), "there is something to compare");
        assert_eq!(found.families, []);
    }
}

#[test]
fn a_score_beyond_the_cut_off_within_its_own_uncertainty_is_no_flag() {
    // By hand: deviations −0.1 −0.1 0 0 0 0.1 0.1 and 0.975 (three readings of 89.0, one of 88.9); median 0, MAD 0.1, scale 0.128868, score
    // 0.6745 · 0.975/0.128868 = 5.103 > 4.94, and 0.975 K < U = 0.9816 K.
    let mut phone = Phone::new();
    for (test, mean) in (1..).zip(["88.0", "88.1", "87.9", "88.0", "88.1", "87.9", "88.0"]) {
        phone.test(started(test), &alike(mean), Ending::Done);
    }
    phone.test(started(8), &read(&["80.0", "88.9", "89.0", "89.0", "89.0"]), Ending::Done);
    let family = phone.visit().families.remove(0);
    let last = family.members.last().expect("members");
    assert_close("printed 3 decimals", last.score.expect("a score"), 5.103);
    assert_eq!((last.flagged, last.within), (false, Some(Within::Itself)));
    assert_eq!(family.unlike().map(|(member, _)| member.tag()).collect::<Vec<_>>(), ["D-8"]);
    assert!(phone.visit().tests.iter().all(|found| found.flag.is_none()));
}

#[test]
fn below_eight_detectors_nothing_is_flagged() {
    let family = family(&["88.0", "88.2", "87.9", "88.1", "88.3", "87.8", "92.0"]);
    assert_eq!(family.compared, Compared::TooFew);
    assert!(family.members.iter().all(|member| member.score.is_none() && !member.flagged));
    assert_eq!(family.band(), None);
    assert_close("fit", family.median.0, 0.1);
}

#[test]
fn a_detector_tested_twice_as_found_counts_once() {
    let means = ["88.0", "88.2", "87.9", "88.1", "88.3", "87.8", "88.0", "92.0"];
    let visit = visit(&means, |test, start| {
        if test == 7 {
            start.position.of = id(1001);
        }
    });
    assert_eq!((visit.families[0].members.len(), visit.families[0].detectors), (8, 7));
    assert_eq!(visit.families[0].compared, Compared::TooFew);
}

#[test]
fn where_most_are_alike_a_step_of_the_display_is_no_odd_one() {
    // By hand: MAD 0, scale half of 0.1 K; one step scores 0.6745 · 0.1/0.05 = 1.349, two kelvin 26.98.
    let at = |last: &str| family(&["88.0", "88.0", "88.0", "88.0", "88.0", "88.0", "88.0", last]);
    let step = at("88.1");
    assert_eq!(scored(&step).mad.0, 0.0);
    assert_close("fit", step.members[7].score.expect("a score"), 1.349);
    assert_eq!(step.flagged().count(), 0);
    let far = at("90.0");
    assert_close("fit", far.members[7].score.expect("a score"), 26.98);
    assert_eq!(named(far.flagged().cloned()), ["D-8"]);
    assert_eq!(at("88.0").flagged().count(), 0, "all alike");
}

#[test]
fn families_share_area_kind_rating_procedure_and_as_found_or_as_left() {
    #[track_caller]
    fn check(change: impl Fn(&mut TestStart), expected: &[usize]) {
        let visit = visit(&["88.0", "88.0", "88.0"], |test, start| {
            if test == 3 {
                change(start);
            }
        });
        let mut sizes: Vec<usize> = visit.families.iter().map(|family| family.members.len()).collect();
        sizes.sort_unstable();
        assert_eq!(sizes, expected);
    }
    check(|_| {}, &[3]);
    check(|start| start.position.place.area = id(21), &[1, 2]);
    check(|start| start.detector.marking.detector_type = DetectorType::Electronic, &[1, 2]);
    check(|start| start.detector.marking.rating = Some(c("87")), &[1, 2]);
    check(|start| start.detector.marking.rating = None, &[2]);
    check(|start| start.detector.marking.detector_type = DetectorType::RateOfRise, &[2]);
    check(|start| start.procedure.soak_ms = Some(240_000), &[1, 2]);
    check(|start| start.procedure.name = "The same under another name".into(), &[3]);
    check(|start| start.heater.of = id(41), &[3]);
    // A retest stands for the test that it follows; work between makes it as left (rule 0.9).
    check(|start| start.follows = Some(id(1)), &[2]);
    check(|start| (start.follows, start.after) = (Some(id(1)), Some(Hash::of(b"work"))), &[1, 2]);
    // NIST SP 811 B.9: 190.4 °F is 88 °C.
    check(|start| start.detector.marking.rating = Reading::parse("190.4", Degree::F).ok(), &[3]);
}

#[test]
fn a_test_without_an_operating_temperature_and_one_between_are_in_no_family() {
    let mut phone = Phone::new();
    phone.test(started(1), &alike("88.0"), Ending::Done);
    phone.test(started(2), &[HeatUp::NoTrip], Ending::NoTrip);
    let after = Some(Hash::of(b"work"));
    phone.test(TestStart { follows: Some(id(1)), after, ..started(3) }, &alike("88.0"), Ending::Done);
    phone.test(TestStart { follows: Some(id(3)), ..started(4) }, &alike("88.0"), Ending::Done);
    let families = phone.visit().families;
    let tests: Vec<_> =
        families.iter().map(|f| (f.as_left, f.members.iter().map(|m| m.test).collect::<Vec<_>>())).collect();
    assert_eq!(tests, [(false, vec![id(1)]), (true, vec![id(4)])]);
}

#[test]
fn limits_are_drawn_where_all_have_the_same() {
    let family = family(&["88.0", "88.1"]);
    let (minus, plus) = family.limits.expect("limits");
    assert_eq!((minus.map(|m| m.0), plus.map(|p| p.0)), (Some(-3.0), Some(4.0)));
    let mixed = visit(&["88.0", "88.1"], |test, start| {
        if test == 2 {
            start.detector.marking.plus = Some(k("2"));
        }
    });
    assert_eq!(mixed.families[0].limits, None);
}

#[test]
fn from_fifteen_generalized_esd_finds_too() {
    // Fourteen within 0.3 K of 88 °C and one 3.9 K above: its R is near the largest possible, 14/√15 = 3.61, and λ for 15 values is 2.67
    // (14 t/√((13 + t²) 15), scipy 1.17.1, t = stats.t.ppf(1 − 0.025/30, 13)).
    let mut means =
        vec!["88.0", "88.1", "87.9", "88.2", "87.8", "88.3", "87.7", "88.0", "88.1", "87.9", "88.2", "87.8", "88.0"];
    means.push("91.9");
    let fourteen = family(&means);
    assert_eq!(scored(&fourteen).esd, None);
    assert!(fourteen.members.iter().all(|member| !member.esd));
    means.push("88.0");
    let fifteen = family(&means);
    assert_eq!(scored(&fifteen).esd.map(|esd| esd.named), Some(1));
    assert_eq!(named(fifteen.members.iter().filter(|member| member.esd).cloned()), ["D-14"]);
    assert_eq!(named(fifteen.flagged().cloned()), ["D-14"]);
}

/// Two times seven within 0.3 K of 88 °C.
const FOURTEEN: [&str; 14] =
    ["88.0", "88.1", "87.9", "88.2", "87.8", "88.3", "87.7", "88.0", "88.1", "87.9", "88.2", "87.8", "88.3", "87.7"];

/// These fourteen, and others that were read so.
fn beside_fourteen(others: &[[&str; 5]], change: impl Fn(u128, &mut TestStart)) -> VisitFindings {
    let mut phone = Phone::new();
    let first = FOURTEEN.map(|mean| ["80.0", mean, mean, mean, mean]);
    for (test, texts) in (1..).zip(first.iter().chain(others)) {
        let mut start = started(test);
        change(test, &mut start);
        phone.test(start, &read(texts), Ending::Done);
    }
    phone.visit()
}

/// 88.95 °C, with U of 0.98 K and a little.
const NEAR: [&str; 5] = ["80.0", "89.0", "88.8", "89.0", "89.0"];

#[test]
fn from_fifteen_one_that_either_finds_is_flagged_within_its_own_uncertainty_too() {
    // By hand: the fourteen have mean 0 and s = √(0.56/13) = 0.20755 K; beyond t √(15/14) s = 0.84825 K (t as above) generalized ESD names
    // one. MAD 0.2, scale 0.228868, score 0.6745 · 0.95/0.228868 = 2.800, below the cut-off of 5.01.
    let visit = beside_fourteen(&[NEAR], |_, _| {});
    let family = &visit.families[0];
    let last = family.members.last().expect("members");
    assert_close("fit", last.deviation.0, 0.95);
    assert_close("printed 3 decimals", last.score.expect("a score"), 2.800);
    assert!(last.deviation < last.expanded);
    assert_eq!((last.esd, last.flagged, last.within), (true, true, None));
    let (low, high) = family.band().expect("a band");
    assert_close("printed 4 decimals", low.0, -0.84825);
    assert_close("printed 4 decimals", high.0, 0.84825);
    assert_eq!((visit.tests[0].tag(), visit.tests[0].flag), ("D-15", Some(Flag::Outlier)));
    // By another phone too: two tests of one detector make no fifteenth.
    let twice = beside_fourteen(&[NEAR], |test, start| {
        if test == 15 {
            start.position.of = id(1001);
        }
    });
    assert_eq!((twice.families[0].detectors, twice.families[0].members.len()), (14, 15));
    assert_eq!(scored(&twice.families[0]).esd, None);
    assert_eq!(twice.families[0].flagged().count(), 0);
}

#[test]
fn a_detector_that_is_tested_twice_counts_by_its_mean_and_each_test_by_itself() {
    // By hand: fourteen as above and a detector at 0.95 and 0.05 K, mean 0.5 K: median of fifteen 0, MAD 0.2. The mean is not beyond
    // 0.848 K, one of its tests is.
    let visit = beside_fourteen(&[NEAR, ["80.0", "88.0", "88.1", "88.0", "88.1"]], |test, start| {
        if test == 16 {
            start.position.of = id(1015);
        }
    });
    let family = &visit.families[0];
    assert_eq!((family.detectors, family.members.len()), (15, 16));
    assert_eq!((family.median.0, scored(family).esd.map(|esd| esd.named)), (0.0, Some(1)));
    assert_close("fit", scored(family).mad.0, 0.2);
    assert_eq!(named(family.flagged().cloned()), ["D-15"]);
}

#[test]
fn what_heaters_may_differ_by_is_no_outlier() {
    let at = |text: &str, fit_u: Option<&str>| {
        let mut visit = beside_fourteen(&[["80.0", text, text, text, text]], |test, start| {
            if test == 15 {
                start.heater.of = id(41);
            }
            start.heater.metrology.fit_u = fit_u.map(k);
        });
        visit.families.remove(0)
    };
    // By hand: median 0, MAD 0.2, scale 0.228868, s = 0.339315. The other heater's test may lie apart by k √(0.5² + 0.5² + s²) = 2.371 K,
    // k = 3.02334 (scipy 1.17.1, stats.norm.ppf(1 − 0.0025/2)).
    // The share 0.0025 is the project's own figure.
    assert_eq!(BY_HEATERS, 0.0025);
    let near = at("90.3", Some("0.4"));
    assert_eq!(
        near.unlike().map(|(member, within)| (member.tag(), within)).collect::<Vec<_>>(),
        [("D-15", Within::Heaters)]
    );
    assert_eq!(near.flagged().count(), 0);
    assert_eq!(named(at("90.4", Some("0.4")).flagged().cloned()), ["D-15"]);
    // Where nobody knows how far a heater may be off, U counts: with the calibration alone 0.59 K.
    assert_eq!(named(at("88.9", None).flagged().cloned()), ["D-15"]);
    // The fourteen are held by their own heater: nothing about the others explains one of them.
    let own = beside_fourteen(&[NEAR, ["80.0", "88.0", "88.0", "88.0", "88.0"]], |test, start| {
        if test > 15 {
            start.heater.of = id(41);
        }
    });
    assert_eq!(named(own.families[0].flagged().cloned()), ["D-15"]);
}

fn types(family: &Family) -> Vec<&'static str> {
    let detector_type = |remark: &FamilyRemark| match remark {
        FamilyRemark::AllShifted(_) => "all",
        FamilyRemark::HeaterApart { .. } => "heater",
        FamilyRemark::WithAmbient(_) => "ambient",
    };
    family.remarks.iter().map(detector_type).collect()
}

#[test]
fn a_whole_family_beyond_the_uncertainty_of_its_median_is_remarked() {
    // By hand: deviations 1.9 1.9 2.0 2.0 2.0 2.0 2.1 2.1, median 2.0, MAD 0.05, scale 0.078868, σ = scale/0.6745 = 0.116928; its standard
    // error 1.253314 · 0.116928/√8 = 0.051812; with √(0.3² + 0.4²) = 0.5 it is 0.502677, and about twice that is U.
    let shifted = family(&["90.0", "90.1", "89.9", "90.0", "90.1", "89.9", "90.0", "90.0"]);
    assert_eq!(types(&shifted), ["all"]);
    let figure = shifted.remarks[0].figure();
    assert_close("fit", figure.value, 2.0);
    assert_close("printed 4 decimals", figure.u.expect("its uncertainty"), 0.502677);
    assert!(shifted.remarks[0].to_string().contains("other heater"));
    let little = family(&["88.9", "89.0", "88.8", "88.9", "89.0", "88.8", "88.9", "88.9"]);
    assert_eq!(types(&little), [""; 0], "0.9 K is within U");
    // Forty that a display of whole degrees shows alike: the rounding is common to all, and √(1/12 + 0.5²) · 1.96 = 1.13 K.
    let rounded =
        |mean: &str| visit(&[mean; 40], |_, start| start.heater.heating.resolution = Some(k("1.0"))).families.remove(0);
    assert_eq!(types(&rounded("89.1")), [""; 0], "1.1 K is within U");
    assert_eq!(types(&rounded("89.2")), ["all"]);
    let unknown = visit(&["90.0"; 8], |_, start| start.heater.metrology.fit_u = None).families.remove(0);
    assert_eq!(types(&unknown), [""; 0], "nobody knows how far the heater may be off");
}

#[test]
fn a_heater_that_stands_apart_is_remarked_once() {
    // By hand: 0 0.1 −0.1 0 with one heater and 1.5 1.6 1.4 1.5 with the other; each variance 0.02/3, pooled s = 0.081650, s √(1/4 + 1/4) =
    // 0.057735; with √(0.3² + 0.4²) = 0.5 of each heater u = √(0.057735² + 2 · 0.5²) = 0.709460. Its degrees of freedom are many, so
    // U = 1.96 u = 1.3905: 1.5 K stands out.
    let means = ["88.0", "88.1", "87.9", "88.0", "89.5", "89.6", "89.4", "89.5"];
    let by_heater = |test: u128, start: &mut TestStart| {
        if test > 4 {
            start.heater.of = id(41);
            start.heater.name.name = "Heater two".into();
        }
    };
    let apart = visit(&means, by_heater).families.remove(0);
    assert_eq!(types(&apart), ["heater"]);
    let FamilyRemark::HeaterApart { heater, by } = &apart.remarks[0] else { panic!("a heater") };
    assert_eq!(heater, "Heater one");
    assert_close("fit", by.value, -1.5);
    assert_close("printed 4 decimals", by.u.expect("its uncertainty"), 0.709460);
    let near = ["88.0", "88.1", "87.9", "88.0", "89.3", "89.4", "89.2", "89.3"];
    let near = visit(&near, by_heater).families.remove(0);
    assert_eq!(types(&near), [""; 0], "1.3 K is what two heaters may differ by");
    let unknown = visit(&means, |test, start| {
        by_heater(test, start);
        start.heater.metrology.calibration_u = None;
    });
    assert_eq!(types(&unknown.families[0]), [""; 0], "nobody knows by how much the heaters may differ");
    assert_eq!(types(&family(&means)), [""; 0], "one heater for all");
    let two_only = visit(&means, |test, start| {
        if test > 6 {
            start.heater.of = id(41);
        }
    })
    .families
    .remove(0);
    assert_eq!(types(&two_only), [""; 0], "two tests of a heater are too few");
}

#[test]
fn a_deviation_that_goes_with_ambient_temperature_is_remarked() {
    // By hand: 0.1 K more for each kelvin of ambient temperature, and 0.1 K of scatter: the slope over 10 to 17 °C is near 0.1.
    let means = ["87.5", "87.6", "87.7", "87.8", "87.9", "88.0", "88.1", "88.2"];
    let degrees = ["10", "11", "12", "13", "14", "15", "16", "17"];
    let warm = visit(&means, |test, start| start.ambient = Some(c(degrees[test as usize - 1]))).families.remove(0);
    assert_eq!(types(&warm), ["ambient"]);
    assert_close("fit", warm.remarks[0].figure().value, 0.1);
    let one = visit(&means, |_, start| start.ambient = Some(c("10"))).families.remove(0);
    assert_eq!(types(&one), [""; 0], "one ambient temperature tells nothing");
    let seven = visit(&means, |test, start| {
        start.ambient = (test > 1).then(|| c(degrees[test as usize - 1]));
    });
    assert_eq!(types(&seven.families[0]), [""; 0], "seven are too few");
}
