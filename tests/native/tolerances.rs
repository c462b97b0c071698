//! How far a computed number may lie from the one published: one table, a reason per row. Tightening a row is a commit.

/// Name, share of the expected number, fixed amount, reason.
type Row = (&'static str, f64, f64, &'static str);

const TABLE: &[Row] = &[
    ("exact", 0.0, 0.0, "integers, and results that are themselves doubles"),
    ("last digits", 1e-14, 1e-14, "a few roundings of a double"),
    ("printed 2 decimals", 0.0, 0.005, "the source prints two decimals"),
    ("printed 3 decimals", 0.0, 0.0005, "the source prints three decimals"),
    ("printed 4 decimals", 0.0, 0.00005, "the source prints four decimals"),
    ("printed integer", 0.0, 0.5, "the source prints whole numbers"),
    ("quantile", 1e-13, 0.0, "iteration to the last digits of erf and of a continued fraction; seen: 3e-15"),
    ("quantile, many df", 1e-14, 0.0, "Hill's transformation is exact to the last digits where it is used"),
    ("tail", 1e-12, 0.0, "relative even where a tail is 1e-198: exp of a large argument loses digits; seen: 3e-14"),
    (
        "tail of t",
        5e-11,
        0.0,
        "at some thousand degrees of freedom logarithms of gamma functions near 1e4 cancel; seen: 3.5e-11",
    ),
    ("conformance", 0.0, 1e-12, "what reference cases ask for; seen: 5e-13"),
    ("StRD mean", 1e-14, 0.0, "NIST certifies 15 digits"),
    ("StRD sd", 1e-13, 0.0, "NIST certifies 15 digits; Mavro's values near 2 have no exact binary form, seen: 8e-14"),
    ("StRD NumAcc1 and 2 sd", 1e-14, 0.0, "0.1 has no exact binary form; near 1 that costs the last digit only"),
    (
        "StRD NumAcc3 sd",
        1e-9,
        0.0,
        "the data have no exact binary form: exact arithmetic on the doubles gives 0.1000000000349",
    ),
    (
        "StRD NumAcc4 sd",
        1e-8,
        0.0,
        "the data have no exact binary form: exact arithmetic on the doubles gives 0.1000000005588",
    ),
    ("StRD nonlinear parameter", 1e-10, 0.0, "NIST certifies 11 digits"),
    ("StRD nonlinear sd", 1e-10, 0.0, "NIST certifies 11 digits"),
    ("fit", 1e-9, 1e-9, "least squares from data with two decimals; seen: 2e-11"),
    ("fit without noise", 1e-8, 0.0, "residuals of 1e-7 are differences of numbers near 100; seen: 2e-9"),
    ("joint fit", 1e-6, 1e-7, "derivatives by differences, and two searches that stop at 1e-14 of the sum of squares"),
    (
        "path",
        1e-5,
        0.0,
        "the fit to twelve decimals, the integrator's 1e-12 and times halved to a millisecond; seen: 4e-6",
    ),
    (
        "path, read",
        0.0,
        6e-5,
        "readings in thousandths of a degree draw the path by a part of their rounding; seen: 3e-5",
    ),
    ("read", 0.0, 6e-4, "readings are kept in thousandths of a degree, and the path is drawn by them; seen: 5e-4"),
    (
        "path of profile runs read",
        0.0,
        2e-3,
        "profile runs in thousandths of a degree: over four heat-ups their rounding adds up; seen: 1.4e-3",
    ),
    (
        "rate of profile runs read",
        1e-4,
        0.0,
        "profile runs in thousandths of a degree, and three decimals in a bundle; seen: 2e-5",
    ),
    ("pace of the day", 0.0, 5e-3, "minutes; the table prints t with three decimals, ends are whole milliseconds"),
    ("filter", 1e-6, 1e-6, "derivatives by differences over a thousandth of a standard deviation"),
    ("probability", 1e-12, 1e-15, "a product of some hundred ratios; seen: 5e-15"),
];

/// How far below and above what is wanted a share of cases may lie: name, below, above, reason.
const SHARES: &[(&str, f64, f64, &str)] = &[
    (
        "band, one kind of cycle",
        0.02,
        0.05,
        "93 % is asked for; what a clockwork leaves open is a hull and no interval, so it covers up to all",
    ),
    (
        "band, one stratum",
        0.03,
        0.05,
        "the 250 heaters of a stratum share their profile runs, so its standard error is near 1 %, three of them; what a clockwork leaves open is \
         a hull and no interval, so it covers up to all",
    ),
    (
        "band, one phase",
        0.07,
        0.05,
        "92 % is asked for of heaters that the model is not, and six of them that share their profile runs tell a share to 3 %, two of them; what a \
         clockwork leaves open is a hull and no interval, so it covers up to all",
    ),
    ("pace of the day", 0.037, 0.037, "600 days: √(0.9 · 0.1/600) = 1.2 %, three of them"),
    (
        "trips",
        0.055,
        0.05,
        "100 tests, whose trips hang together: √(0.95 · 0.05/100) = 2.2 %, 2.5 of them; what is rounded up covers up to all",
    ),
];

/// Asserts that `share` of the cases of `name` lies within the tolerance of `row` of what is `wanted`.
#[track_caller]
pub(crate) fn assert_share(row: &str, name: &str, share: f64, wanted: f64) {
    let (_, below, above, reason) = SHARES.iter().find(|(of, ..)| *of == row).expect("a row of the table");
    let allowed = wanted - below..=wanted + above;
    assert!(allowed.contains(&share), "{name}: {share:.4}, wanted {wanted} ({row}: {reason})");
}

/// Asserts that `value` lies within the tolerance of `row` of `expected`.
#[track_caller]
pub(crate) fn assert_close(row: &str, value: f64, expected: f64) {
    let (_, rel, abs, reason) = TABLE.iter().find(|(name, ..)| *name == row).expect("a row of the table");
    let allowed = (rel * expected.abs()).max(*abs);
    let off = (value - expected).abs();
    assert!(off <= allowed, "{value:?} is off {expected:?} by {off:e}, allowed {allowed:e} ({row}: {reason})");
}
