//! Data sets of the NIST Statistical Reference Datasets, kept as numbers with their source in the first lines.

/// The numbers of a data file: comma-separated, `#` begins a comment line.
fn read(text: &str) -> Vec<f64> {
    let lines = text.lines().filter(|line| !line.starts_with('#'));
    lines.flat_map(|line| line.split(',')).map(|number| number.trim().parse().expect("a number")).collect()
}

/// `middle`, then `below` and `above` 500 times: the rule by which NIST made NumAcc2 to NumAcc4 (1001 values).
fn alternating(middle: f64, below: f64, above: f64) -> Vec<f64> {
    let mut values = vec![middle];
    for _ in 0..500 {
        values.extend([below, above]);
    }
    values
}

/// Name, values, certified mean, certified standard deviation and the row of tolerances for the latter.
/// https://www.itl.nist.gov/div898/strd/univ/homepage.html
pub(super) fn univariate() -> Vec<(&'static str, Vec<f64>, f64, f64, &'static str)> {
    vec![
        ("Lew", read(include_str!("strd/lew.csv")), -177.435000000000, 277.332168044316, "StRD sd"),
        ("Lottery", read(include_str!("strd/lottery.csv")), 518.958715596330, 291.699727470969, "StRD sd"),
        ("Mavro", read(include_str!("strd/mavro.csv")), 2.00185600000000, 0.000429123454003053, "StRD sd"),
        ("Michelso", read(include_str!("strd/michelso.csv")), 299.852400000000, 0.0790105478190518, "StRD sd"),
        ("NumAcc1", read(include_str!("strd/numacc1.csv")), 10000002.0, 1.0, "StRD NumAcc1 and 2 sd"),
        ("NumAcc2", alternating(1.2, 1.1, 1.3), 1.2, 0.1, "StRD NumAcc1 and 2 sd"),
        ("NumAcc3", alternating(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, "StRD NumAcc3 sd"),
        ("NumAcc4", alternating(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, "StRD NumAcc4 sd"),
    ]
}

/// Misra1a: dental research, monomolecular adsorption (Misra 1978), as (x, y).
/// https://www.itl.nist.gov/div898/strd/nls/data/misra1a.shtml
pub(super) const MISRA1A: [(f64, f64); 14] = [
    (77.6, 10.07),
    (114.9, 14.73),
    (141.1, 17.94),
    (190.8, 23.93),
    (239.9, 29.61),
    (289.0, 35.18),
    (332.8, 40.02),
    (378.4, 44.82),
    (434.8, 50.76),
    (477.3, 55.05),
    (536.8, 61.01),
    (593.1, 66.40),
    (689.1, 75.47),
    (760.0, 81.78),
];

/// BoxBOD: biochemical oxygen demand (Box, Hunter & Hunter 1978), as (x, y).
/// https://www.itl.nist.gov/div898/strd/nls/data/boxbod.shtml
pub(super) const BOX_BOD: [(f64, f64); 6] =
    [(1.0, 109.0), (2.0, 149.0), (3.0, 149.0), (5.0, 191.0), (7.0, 213.0), (10.0, 224.0)];
