//! The procedures of the judgement.

use soakbook::stats::*;

use crate::tolerances::assert_close;

#[test]
fn quantiles_of_t_are_as_tabulated() {
    #[track_caller]
    fn check(central: f64, df: Option<f64>, expected: f64) {
        assert_close("quantile", t_quantile(central, df).unwrap(), expected);
    }
    // mpmath: root of the regularised incomplete beta function.
    check(0.95, Some(1.0), 12.706204736174705);
    check(0.95, Some(2.0), 4.302652729749464);
    check(0.95, Some(4.0), 2.7764451051977943);
    check(0.99, Some(3.0), 5.840909309733357);
    check(0.9, Some(11.0), 1.7958848187040442);
    check(0.99, Some(16.0), 2.9207816224251);
    check(0.99, Some(16.76455398091716), 2.9032712964564515);
    check(0.95, Some(1.1012040847431794), 10.253295881001812);
    check(0.95, Some(117.85938836463636), 1.9802967238364197);
    check(0.95, None, 1.9599639845400542);
    check(0.99, None, 2.5758293035489004);
    // JCGM 100:2008, table G.2, row 16.
    for (central, expected) in [(0.95, 2.12), (0.9545, 2.17), (0.99, 2.92)] {
        assert_close("printed 2 decimals", t_quantile(central, Some(16.0)).unwrap(), expected);
    }
    // Exact: the Cauchy distribution has t = tan(π p/2); two degrees of freedom have t = p √(2/(1 − p²)).
    check(1e-9, Some(1.0), (std::f64::consts::PI * 0.5e-9).tan());
    let p: f64 = 0.999999;
    check(p, Some(2.0), p * (2.0 / ((1.0 - p) * (1.0 + p))).sqrt());
}

#[test]
fn t_nears_the_normal_distribution_smoothly() {
    // Abramowitz & Stegun 26.7.5: t = z + (z³ + z)/4ν + … with z = 1.959963984540054.
    let z: f64 = 1.959963984540054;
    for df in [5e4, 9.9e5, 1e8, 1e12] {
        let second = (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / 96.0;
        let third = (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z) / 384.0;
        let expected = z + (z.powi(3) + z) / (4.0 * df) + second / df.powi(2) + third / df.powi(3);
        assert_close("quantile, many df", t_quantile(0.95, Some(df)).unwrap(), expected);
    }
    assert_eq!(t_quantile(0.95, Some(f64::INFINITY)), t_quantile(0.95, None));
}

#[test]
fn a_quantile_that_is_not_finite_is_undefined() {
    for (central, df) in [
        (1.0, Some(4.0)),
        (-0.1, None),
        (1.1, None),
        (f64::NAN, None),
        (0.95, Some(0.0)),
        (0.95, Some(-1.0)),
        (0.95, Some(f64::NAN)),
    ] {
        assert_eq!(t_quantile(central, df), None, "{central} {df:?}");
    }
    assert_eq!(t_quantile(0.0, Some(4.0)), Some(0.0));
}

#[test]
fn tails_keep_their_digits() {
    // mpmath: erfc(30/√2)/2, erfc(−8/√2)/2 and the t distribution with 4 degrees of freedom at −22/7 · 3.5.
    assert_close("tail", t_sf(30.0, None), 4.906713927148187e-198);
    assert_close("tail", t_sf(1.0, None), 0.15865525393145707);
    assert_close("tail", t_sf(0.0, Some(4.0)), 0.5);
    // Exact: Cauchy, P(T > t) = arctan(1/t)/π.
    assert_close("tail", t_sf(1e8, Some(1.0)), (1e-8_f64).atan() / std::f64::consts::PI);
}

#[test]
fn tails_of_t_keep_their_digits_from_the_middle_outwards() {
    // mpmath 1.4.1 at 60 digits: the continued fraction DLMF 8.17.22, which agrees to 30 digits with
    // `betainc(df/2, 1/2, 0, df/(df + t**2), regularized=True)/2` where that ends.
    let upper = [
        (1e-6, 0.5, 0.49999973032369943),
        (1.7, 0.5, 0.2400675649578848),
        (38.0, 0.5, 0.0520218663373753),
        (1000.0, 0.5, 0.010141454540857095),
        (1e-6, 1.0, 0.49999968169011383),
        (1.7, 1.0, 0.16925302733033268),
        (38.0, 1.0, 0.008374643104305376),
        (1000.0, 1.0, 0.0003183097800805589),
        (1e-12, 4.0, 0.499999999999625),
        (1e-6, 4.0, 0.499999625),
        (1.7, 4.0, 0.08217747063502508),
        (38.0, 4.0, 1.432136692309282e-06),
        (1000.0, 4.0, 2.9999800001049993e-12),
        (1e-6, 30.0, 0.4999996043678151),
        (1.7, 30.0, 0.04973893779425844),
        (38.0, 30.0, 3.1064986109951275e-27),
        (1000.0, 30.0, 1.0360017415558665e-69),
        (0.9, 100.0, 0.18514124442164026),
        (1e-6, 1000.0, 0.4999996011574427),
        (1.7, 1000.0, 0.04472094347962002),
        (6.1, 1000.0, 7.57009943843612e-10),
        (38.0, 1000.0, 1.4593789211300192e-196),
        (0.01, 2000.0, 0.4960111423569604),
        (1.7, 2000.0, 0.044643204608558126),
        (1e-6, 2001.0, 0.49999960110755937),
        (1.7, 2001.0, 0.04464316575779764),
        (38.0, 2001.0, 1.1984906817021777e-238),
        (38.0, 5001.0, 4.033079519409548e-278),
        (1e-6, 1e9, 0.4999996010577197),
        (1.7, 1e9, 0.04456546291402968),
    ];
    for (t, df, expected) in upper {
        assert_close("tail of t", t_sf(t, Some(df)), expected);
        assert_close("tail of t", t_cdf(-t, Some(df)), expected);
        assert_close("tail", t_cdf(t, Some(df)), 1.0 - expected);
        assert_close("tail", t_sf(-t, Some(df)), 1.0 - expected);
    }
    assert_eq!(t_sf(1e300, Some(3000.0)), 0.0);
}

/// Mean, standard deviation, standard error, quantile, ends of the interval.
#[track_caller]
fn check_interval(values: &[f64], confidence: f64, expected: [f64; 6]) {
    let summary = mean_sd(values).unwrap();
    let interval = summary.interval(confidence).unwrap();
    let got = [summary.mean, summary.sd.unwrap(), summary.sem().unwrap(), interval.t, interval.lo, interval.hi];
    for (got, expected) in got.into_iter().zip(expected) {
        assert_close("quantile", got, expected);
    }
}

#[test]
fn the_interval_of_a_mean_is_students() {
    // Exact for mean and variance, mpmath for roots and quantiles.
    check_interval(
        &[57.2, 57.5, 57.1, 57.4, 57.3],
        0.95,
        [57.3, 0.15811388300841783, 0.07071067811865425, 2.7764451051977943, 57.103675683852245, 57.496324316147756],
    );
    check_interval(
        &[88.0, 88.9],
        0.95,
        [88.45, 0.6363961030678968, 0.45000000000000284, 12.706204736174705, 82.73220786872135, 94.16779213127866],
    );
    check_interval(
        &[-3.2, -2.9, -3.05, -3.4],
        0.99,
        [-3.1375, 0.2136000936329383, 0.10680004681646915, 5.840909309733357, -3.761309387730273, -2.513690612269727],
    );
    check_interval(
        &[1000000000.1, 1000000000.2, 1000000000.3],
        0.95,
        [
            1000000000.2,
            0.09999996423721906,
            0.057735006271311375,
            4.302652729749464,
            999999999.9515864,
            1000000000.4484137,
        ],
    );
    check_interval(&[94.0; 5], 0.95, [94.0, 0.0, 0.0, 2.7764451051977943, 94.0, 94.0]);
}

#[test]
fn one_value_has_a_mean_and_no_spread() {
    let summary = mean_sd(&[72.4]).unwrap();
    assert_eq!((summary.n, summary.mean, summary.sd, summary.df()), (1, 72.4, None, 0));
    assert_eq!(summary.interval(0.95), None);
}

#[test]
fn gum_h1_is_reproduced() {
    // JCGM 100:2008, H.1.5 and H.1.6: u_c = 32 nm (table H.1: u_c² = 1002 nm²), ν_eff = 16.7, k = 2.92, U99 = 93 nm. The
    // GUM rounds u_c to 32 before it expands; with all digits U is 92.5043254066825 (mpmath).
    let component = |u: f64, df: f64| Component { sensitivity: 1.0, u, df: Some(df) };
    let budget = [component(25.0, 18.0), component(9.7, 25.6), component(2.9, 50.0), component(16.6, 2.0)];
    let combined = welch_satterthwaite(&budget).unwrap();
    assert_close("printed integer", combined.u, 32.0);
    assert_close("printed integer", combined.u * combined.u, 1002.76);
    assert_close("last digits", combined.df.finite().unwrap(), 16.76455398091716);
    assert_eq!(combined.df.truncated(), EffectiveDf::Finite(16.0));
    let coverage = combined.expand(0.99).unwrap();
    assert_close("printed 2 decimals", coverage.k.unwrap(), 2.92);
    assert_close("printed integer", coverage.expanded, 93.0);
    assert_close("quantile", coverage.expanded, 92.50443254066825);
    assert_close("quantile", combined.expand_untruncated(0.99).unwrap().expanded, 91.9498608620136);
}

#[test]
fn components_without_end_or_size_are_counted_right() {
    let component = |u: f64, df: Option<f64>| Component { sensitivity: 1.0, u, df };
    // Exact: one component keeps its own degrees of freedom, whatever rounding does to u⁴.
    for u in [0.1, 0.2, 0.3, 0.7, 1e-160, 1e160] {
        let combined = welch_satterthwaite(&[component(u, Some(9.0)), component(0.0, Some(3.0))]).unwrap();
        assert_eq!(combined.df.truncated(), EffectiveDf::Finite(9.0), "{u}");
    }
    let known = welch_satterthwaite(&[component(0.3, None), component(0.4, None)]).unwrap();
    assert_eq!(known.df, EffectiveDf::Infinite);
    // mpmath: 0.5 · √2 erf⁻¹(0.95).
    assert_close("quantile", known.expand(0.95).unwrap().expanded, 0.9799819922700269);
    let nothing = welch_satterthwaite(&[component(0.0, Some(3.0))]).unwrap();
    assert_eq!(nothing.expand(0.95), Some(Coverage { k: None, expanded: 0.0 }));
    assert_eq!(welch_satterthwaite(&[component(0.1, Some(0.0))]), None);
    assert_eq!(welch_satterthwaite(&[component(f64::NAN, None)]), None);
}

#[track_caller]
fn judge(value: f64, u: f64, df: Option<f64>, lower: Option<f64>, upper: Option<f64>) -> Conformance {
    conformance(&Measured { value, u, df, guard: 2.0 * u }, &Limits { lower, upper }).unwrap()
}

#[test]
fn conformance_probabilities_are_as_published() {
    // JCGM 106:2012, 7.4 (viscosity of oil), the one-sided example (breakdown voltage) and clause 9 (resistors): inputs
    // as quoted, printed probabilities 0.66, 0.92 and 0.904 from memory.
    let oil = judge(13.6, 1.8, None, Some(12.5), Some(16.3));
    assert_close("printed 2 decimals", oil.p_conform, 0.66);
    let zener = judge(-5.47, 0.05, None, None, Some(-5.40));
    assert_close("printed 2 decimals", zener.p_conform, 0.92);
    let resistor = judge(1500.0, 0.12, None, Some(1499.8), Some(1500.2));
    assert_close("printed 3 decimals", resistor.p_conform, 0.904);
    // mpmath on the same inputs.
    assert_close("tail", oil.p_conform, 0.6626297864953078);
    assert_close("tail", zener.p_nonconform, 0.08075665923377287);
    assert_close("tail", resistor.p_nonconform, 0.09558070454555401);
}

#[test]
fn small_probabilities_keep_their_digits() {
    // mpmath: normal, and Student's t with 4 degrees of freedom.
    let (lower, upper) = (Some(54.0), Some(65.0));
    assert_close("tail", judge(57.9, 0.35, None, lower, upper).p_nonconform, 3.8794755908569515e-29);
    assert_close("tail", judge(80.0, 0.5, None, lower, upper).p_conform, 4.906713927148187e-198);
    assert_close("tail", judge(57.9, 0.35, Some(4.0), lower, upper).p_nonconform, 0.00020200577650544054);
    // A value right at a limit, and an uncertainty that dwarfs both (mpmath 1.4.1, as for the tails of t).
    assert_close("conformance", judge(53.99999999, 0.35, Some(9.0), lower, upper).p_conform, 0.49999998883128943);
    assert_close("conformance", judge(0.0, 1.0, Some(1000.0), Some(1e-6), None).p_conform, 0.4999996011574427);
    assert_close("conformance", judge(60.0, 1e7, Some(30.0), lower, upper).p_conform, 4.351954033834843e-07);
    let known = judge(65.0, 0.0, None, lower, upper);
    assert_eq!((known.p_conform, known.p_nonconform), (1.0, 0.0));
    assert_eq!(judge(65.1, 0.0, None, lower, upper).p_conform, 0.0);
}

#[test]
fn statements_follow_the_guard_band() {
    // ILAC-G8:09/2019, 4.2 and figure 5, with w = U = 1 K and the limits 54 °C to 65 °C.
    #[track_caller]
    fn check(value: f64, expected: LimitResult) {
        assert_eq!(judge(value, 0.5, None, Some(54.0), Some(65.0)).limit_result, expected);
    }
    for (value, expected) in [
        (52.9, LimitResult::Outside),
        (53.0, LimitResult::OutsideWithinUncertainty),
        (53.9, LimitResult::OutsideWithinUncertainty),
        (54.0, LimitResult::WithinCloseToLimit),
        (54.9, LimitResult::WithinCloseToLimit),
        (55.0, LimitResult::Within),
        (64.0, LimitResult::Within),
        (64.1, LimitResult::WithinCloseToLimit),
        (65.0, LimitResult::WithinCloseToLimit),
        (66.0, LimitResult::OutsideWithinUncertainty),
        (66.1, LimitResult::Outside),
    ] {
        check(value, expected);
    }
    let wide = judge(60.0, 20.0, None, Some(54.0), Some(65.0));
    assert!(wide.acceptance_empty);
    assert_eq!(wide.limit_result, LimitResult::WithinCloseToLimit);
    let open = judge(60.0, 20.0, None, None, None);
    assert_eq!((open.p_conform, open.limit_result, open.acceptance_empty), (1.0, LimitResult::Within, false));
}

#[test]
fn limits_that_cross_and_numbers_that_are_none_are_not_judged() {
    let measured = Measured { value: 60.0, u: 0.5, df: None, guard: 1.0 };
    let limits = Limits { lower: Some(54.0), upper: Some(65.0) };
    assert_eq!(conformance(&measured, &Limits { lower: Some(66.0), upper: Some(65.0) }), None);
    assert_eq!(conformance(&Measured { value: f64::NAN, ..measured }, &limits), None);
    assert_eq!(conformance(&Measured { u: -0.5, ..measured }, &limits), None);
    assert_eq!(conformance(&Measured { df: Some(0.0), ..measured }, &limits), None);
}

#[test]
fn modified_z_scores_use_the_median_alone() {
    // Exact, with 0.6745 as the decimal (Iglewicz & Hoaglin 1993).
    let scored = modified_z(&[57.3, 57.6, 57.1, 57.4, 57.2, 52.0, 57.5], 3.5).unwrap();
    assert_close("quantile", scored.median, 57.3);
    assert_close("quantile", scored.mad, 0.19999999999999574);
    assert_close("quantile", scored.scores.unwrap()[5], -17.874250000000373);
    assert_eq!(scored.outliers, Some(vec![5]));
    // Exactly at the cut-off is not above it: 0.6745 · 7000/1349 = 3.5.
    let edge = modified_z(&[0.0, 1349.0, -1349.0, 7000.0, -1349.0, 0.0, 1349.0], 3.5).unwrap();
    assert_eq!((edge.mad, edge.outliers), (1349.0, Some(vec![])));
    // No spread about the median, no score; the mean absolute deviation is the way out where there is one.
    let equal = modified_z(&[88.0, 88.0, 88.0, 88.0, 90.5], 3.5).unwrap();
    assert_eq!((equal.scores, equal.outliers), (None, None));
    assert_close("quantile", equal.fallback.unwrap()[4], 3.989423241103187);
    assert_eq!(modified_z(&[88.0; 6], 3.5).unwrap().fallback, None);
    // Exact on the doubles (Python 3.11 fractions): deviations that have no double themselves.
    let far = modified_z(&[1e308, 1.7e308, -1e308], 3.5).unwrap();
    assert_eq!((far.median, far.outliers), (1e308, Some(vec![])));
    assert_close("quantile", far.mad, 6.999999999999999e307);
    assert_close("quantile", far.scores.unwrap()[2], -1.9271428571428573);
    assert_close("quantile", far.mean_ad, 9e307);
    assert_eq!(modified_z(&[], 3.5), None);
}

#[test]
fn generalized_esd_finds_rosners_three_outliers() {
    // NIST/SEMATECH e-Handbook 1.3.5.17.3: Rosner's 54 values, R and λ of the first three of ten steps; three outliers.
    let values = [
        -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.70,
        1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40,
        2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01,
    ];
    let found = gesd(&values, 10, 0.05, 0.0).unwrap();
    assert_eq!(found.steps.len(), 10);
    for (step, (r, lambda)) in found.steps.iter().zip([(3.118, 3.158), (2.942, 3.151), (3.179, 3.143)]) {
        // The handbook cuts off after three decimals.
        assert!((0.0..0.001).contains(&(step.r - r)) && (0.0..0.001).contains(&(step.lambda - lambda)), "{step:?}");
    }
    assert_eq!(found.outlier_indices().collect::<Vec<_>>(), [53, 52, 51]);
    // Exact and mpmath.
    assert_close("quantile", found.steps[0].lambda, 3.158793940887519);
    assert_close("quantile", found.steps[9].r, 2.0671780780253646);
}

#[test]
fn generalized_esd_takes_no_less_than_the_least_spread() {
    // By hand: fourteen alike and one a step off. Without it they have no spread, so any difference counts; with half a step
    // s² = (13 · 0.5² + 15/14 · (14/15)²)/14 and R = (14/15)/s = 1.7074. Its reach is t √(15/14)/2, scipy 1.17.1, t =
    // stats.t.ppf(1 − 0.025/30, 13).
    let mut values = [0.0; 15];
    values[4] = 1.0;
    assert_eq!(gesd(&values, 3, 0.025, 0.0).unwrap().outlier_indices().collect::<Vec<_>>(), [4]);
    let rounded = gesd(&values, 3, 0.025, 0.5).unwrap();
    assert_eq!(rounded.outliers, 0);
    assert_close("printed 4 decimals", rounded.steps[0].r, 1.7074);
    assert_close("printed 3 decimals", rounded.steps[0].reach, 2.0435);
    assert_eq!(rounded.ends(), Some((-rounded.steps[0].reach, rounded.steps[0].reach)));
}

#[test]
fn generalized_esd_takes_the_lower_index_in_a_tie_and_stops_in_time() {
    let two_high = gesd(&[57.1, 57.2, 57.3, 57.0, 57.4, 57.25, 57.15, 57.35, 70.0, 70.0], 3, 0.05, 0.0).unwrap();
    assert_eq!(two_high.outlier_indices().collect::<Vec<_>>(), [8, 9]);
    // Both ends deviate alike: exact in integers.
    assert_eq!(gesd(&[9.0, 1.0, 5.0, 5.0, 5.0], 1, 0.05, 0.0).unwrap().steps[0].index, 0);
    for values in [&[57.0; 6][..], &[57.0, 59.0], &[57.0], &[]] {
        assert_eq!(gesd(values, 2, 0.05, 0.0).unwrap(), Gesd { steps: vec![], outliers: 0 });
    }
    assert_eq!(gesd(&[1.0, 2.0, f64::NAN], 1, 0.05, 0.0), None);
    assert_eq!(gesd(&[1.0, 2.0, 4.0], 1, 1.0, 0.0), None);
}

#[test]
fn theil_sen_gives_sens_example() {
    // Sen (1968), as in scipy 1.17.1, stats/tests/test_mstats_basic.py: slope 4, 93 % interval 3.71 to 4.38, intercept 4
    // (separate) or 6 (joint).
    let line =
        theil_sen(&[1.0, 2.0, 3.0, 4.0, 10.0, 12.0, 18.0], &[9.0, 15.0, 19.0, 20.0, 45.0, 55.0, 78.0], 0.93).unwrap();
    assert_eq!((line.slope, line.intercept_separate, line.intercept_joint), (4.0, 4.0, 6.0));
    let [lo, hi] = line.interval.unwrap();
    assert_close("printed 2 decimals", lo, 3.71);
    assert_close("printed 2 decimals", hi, 4.38);
    // Exact.
    assert_close("last digits", lo, 26.0 / 7.0);
    assert_close("last digits", hi, 4.375);
}

#[test]
fn theil_sen_needs_two_different_times() {
    assert_eq!(theil_sen(&[2020.0; 3], &[57.0, 57.2, 57.1], 0.95), None);
    assert_eq!(theil_sen(&[2020.0], &[57.0], 0.95), None);
    assert_eq!(theil_sen(&[], &[], 0.95), None);
    assert_eq!(theil_sen(&[1.0, 2.0], &[57.0], 0.95), None);
    let two = theil_sen(&[2020.0, 2024.0], &[57.0, 58.0], 0.95).unwrap();
    assert_eq!((two.slope, two.interval, two.intercept_separate), (0.25, Some([0.25, 0.25]), -448.0));
}

#[test]
fn theil_sen_has_no_interval_where_ties_leave_no_variance() {
    // scipy 1.17.1 `stats.theilslopes(y, x, 0.95)`: slope 0, intercept 88, both ends nan.
    let tied = theil_sen(&[2020.0, 2020.0, 2021.0, 2021.0], &[88.0; 4], 0.95).unwrap();
    assert_eq!((tied.slope, tied.interval, tied.intercept_separate, tied.slopes), (0.0, None, 88.0, 4));
}

#[test]
fn hypergeometric_bounds_are_exact() {
    #[track_caller]
    fn check(population: u64, sample: u64, found: u64, confidence: f64, upper: u64, lower: u64, p: [f64; 2]) {
        let bound = hypergeom_bound(population, sample, found, confidence).unwrap();
        assert_eq!((bound.upper, bound.lower), (upper, lower));
        assert_close("probability", bound.p_at_upper, p[0]);
        assert_close("probability", bound.p_above, p[1]);
    }
    // Exact integer arithmetic (Python 3.11 math.comb); scipy 1.17.1 stats.hypergeom.cdf agrees to 1e-15.
    check(60, 15, 0, 0.95, 9, 0, [0.059944164470371146, 0.04231352786143846]);
    check(100, 20, 0, 0.95, 12, 0, [0.0573547560350447, 0.04431958420889818]);
    check(100, 20, 1, 0.95, 19, 1, [0.062439972714910245, 0.04984803363324855]);
    check(40, 8, 2, 0.9, 20, 4, [0.11755811755811756, 0.08883008883008883]);
    check(1000, 90, 0, 0.95, 31, 0, [0.0512712241669592, 0.04650919096259766]);
    check(10, 5, 5, 0.95, 10, 7, [1.0, 0.0]);
    check(100, 100, 3, 0.95, 3, 3, [1.0, 0.0]);
    // Exactly 1 − C is not above it: one of 20 tested, P = 1/20 and 1/10.
    assert_eq!(hypergeom_bound(20, 1, 0, 0.95).unwrap().upper, 18);
    assert_eq!(hypergeom_bound(20, 1, 0, 0.9).unwrap().upper, 17);
    for (population, sample, found, confidence) in [(10, 11, 0, 0.95), (10, 5, 6, 0.95), (10, 5, 0, 1.0)] {
        assert_eq!(hypergeom_bound(population, sample, found, confidence), None);
    }
}

#[test]
fn samples_without_failure_prove_what_is_known() {
    // Infinite population: the well-known 59 for 95/95 and 22 for 90/90; 299, 459 and 29 by (1 − p)ⁿ ≤ 1 − C.
    for (limit, confidence, n) in
        [(0.05, 0.95, 59), (0.1, 0.9, 22), (0.01, 0.95, 299), (0.01, 0.99, 459), (0.1, 0.95, 29), (0.9, 0.999, 3)]
    {
        assert_eq!(zero_failure_n_infinite(limit, confidence), Some(n), "{limit} {confidence}");
    }
    // Finite population, 95 % and 5 %: exact integer arithmetic (Python 3.11 math.comb).
    for (population, fewer, up_to) in [(10, 10, 10), (20, 19, 16), (60, 38, 31), (100, 45, 39), (1000, 57, 56)] {
        let n = |sentence: Acceptable| zero_failure_n(population, sentence.excluded(population, 0.05)?, 0.95);
        assert_eq!(n(Acceptable::FewerThanLimit), Some(fewer), "{population}");
        assert_eq!(n(Acceptable::UpToLimit), Some(up_to), "{population}");
    }
    // 0.07 · 100 is 7 and not the 7.000000000000001 of doubles.
    assert_eq!(Acceptable::FewerThanLimit.excluded(100, 0.07), Some(7));
    for population in 1..=10_000 {
        for thousandths in 1..1000 {
            let (limit, product) = (thousandths as f64 / 1000.0, thousandths * population);
            let fewer = Acceptable::FewerThanLimit.excluded(population, limit);
            assert_eq!(fewer, Some(product.div_ceil(1000)), "{limit} {population}");
            let up_to = Acceptable::UpToLimit.excluded(population, limit);
            assert_eq!(up_to, Some(product / 1000 + 1), "{limit} {population}");
        }
    }
    // Exact: 0.9999999999 and 0.999999999999 are below 1, 1.0000000002 and 1.000000000001 above it.
    for limit in [0.3333333333, 0.333333333333] {
        assert_eq!(Acceptable::FewerThanLimit.excluded(3, limit), Some(1), "{limit}");
        assert_eq!(Acceptable::UpToLimit.excluded(3, limit), Some(1), "{limit}");
    }
    for (population, limit) in [(3, 0.3333333334), (3, 0.333333333334)] {
        assert_eq!(Acceptable::FewerThanLimit.excluded(population, limit), Some(2), "{limit}");
    }
    assert_eq!(Acceptable::UpToLimit.excluded(100, 1.0), None);
    assert_eq!(zero_failure_n_infinite(0.0, 0.95), None);
}

#[test]
fn the_scalar_filter_reduces_to_what_is_known() {
    let start = Estimate { x: 56.0, variance: 1.0 };
    // Exact: predict then update for each reading, no reading predicts only.
    let track = kalman_scalar(start, 0.01, 0.04, &[Some(57.0), None, Some(57.4)]);
    let expected = [
        (56.96190476190476, 0.038476190476190476, Some(0.9619047619047619)),
        (56.96190476190476, 0.04847619047619048, None),
        (57.22205029013539, 0.023752417794970986, Some(0.5938104448742747)),
    ];
    for ((estimate, gain), (x, variance, expected_gain)) in track.into_iter().zip(expected) {
        assert_close("last digits", estimate.x, x);
        assert_close("last digits", estimate.variance, variance);
        assert_eq!(gain.is_some(), expected_gain.is_some());
        assert_close("last digits", gain.unwrap_or(0.0), expected_gain.unwrap_or(0.0));
    }
    // Without reading noise it copies the reading; an exact state and an exact reading leave it where it is.
    let copied = kalman_scalar(start, 0.5, 0.0, &[Some(1.0)]);
    assert_eq!(copied[0].0, Estimate { x: 1.0, variance: 0.0 });
    assert_eq!(Estimate { x: 1.0, variance: 0.0 }.update(2.0, 0.0), (Estimate { x: 1.0, variance: 0.0 }, 0.0));
    // Welch & Bishop TR 95-041, Q = 1e-5 and R = 0.01: the variance after 50 readings does not depend on them (exact).
    let fifty = kalman_scalar(Estimate { x: 0.0, variance: 1.0 }, 1e-5, 0.01, &[Some(-0.4); 50]);
    assert_close("last digits", fifty[49].0.variance, 3.392108177891821e-4);
}

#[test]
fn no_input_makes_a_procedure_panic() {
    let odd = [0.0, -0.0, 1.0, -1.0, 1e308, -1e308, f64::MAX, f64::MIN_POSITIVE, 5e-324, f64::INFINITY, f64::NAN];
    for &a in &odd {
        for &b in &odd {
            for &c in &odd {
                let values = [a, b, c, a];
                let summary = mean_sd(&values);
                assert_eq!(summary.is_some(), values.iter().all(|value| value.is_finite()));
                let _ = summary.map(|summary| summary.interval(0.95));
                let _ = (t_quantile(a, Some(b)), t_sf(a, Some(b)), t_cdf(a, Some(b)), t_upper_quantile(a, Some(b)));
                let component = Component { sensitivity: a, u: b, df: Some(c) };
                let _ = welch_satterthwaite(&[component, component]).map(|combined| combined.expand(0.95));
                let measured = Measured { value: a, u: b, df: Some(c), guard: b };
                let _ = conformance(&measured, &Limits { lower: Some(c), upper: Some(a) });
                let _ = (modified_z(&values, c), gesd(&values, 3, c, 0.0), theil_sen(&values, &[b, c, a, b], c));
                let _ = kalman_scalar(Estimate { x: a, variance: b }, c, a, &[Some(b), None, Some(c)]);
                let _ = (zero_failure_n_infinite(a, b), Acceptable::UpToLimit.excluded(7, a));
            }
        }
        let _ = (hypergeom_bound(7, 3, 1, a), zero_failure_n(7, 3, a));
    }
}

#[test]
fn a_line_has_the_slope_and_the_standard_error_of_the_reference() {
    #[track_caller]
    fn check(x: &[f64], y: &[f64], slope: f64, se: Option<f64>) {
        let line = line(x, y).expect("a line");
        assert_close("fit", line.slope, slope);
        match se {
            Some(se) => assert_close("fit", line.se_slope().expect("a standard error"), se),
            None => assert_eq!(line.se_slope(), None),
        }
    }
    // statsmodels 0.15.0: OLS(y, add_constant(x − mean(x))).fit(), agreeing with exact rational arithmetic.
    let sen = [9.0, 15.0, 19.0, 20.0, 45.0, 55.0, 78.0];
    check(&[1.0, 2.0, 3.0, 4.0, 10.0, 12.0, 18.0], &sen, 4.0213523131672595, Some(0.085226177850365));
    let years: Vec<f64> = (2018..=2024).map(f64::from).collect();
    check(&years, &[57.1, 57.3, 57.2, 57.6, 57.8, 57.7, 58.1], 0.15714285714285733, Some(0.024743582965269323));
    let ties = [2020.0, 2020.0, 2021.0, 2021.0, 2022.0, 2022.0];
    check(&ties, &[57.0, 57.4, 57.3, 57.5, 57.9, 57.6], 0.27500000000000036, Some(0.09762812094883297));
    // By hand: two points leave no residual.
    check(&[2020.0, 2024.0], &[57.0, 58.0], 0.25, None);
}

#[test]
fn points_without_a_line_have_none() {
    for (x, y) in [
        (vec![1.0], vec![1.0]),
        (vec![2.0, 2.0], vec![1.0, 3.0]),
        (vec![1.0, 2.0], vec![1.0]),
        (vec![1.0, f64::NAN], vec![1.0, 2.0]),
    ] {
        assert_eq!(line(&x, &y), None, "{x:?} {y:?}");
    }
}
