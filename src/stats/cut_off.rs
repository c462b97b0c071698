//! Cut-offs for modified z scores by the number of values, so that a healthy family is flagged at most 1 time in 20.
//!
//! Iglewicz & Hoaglin's 3.5 is one number for every n: with it one healthy family of eight in seven has a flag. The numbers here are
//! the project's own, from a million simulated families of normal values for each n. Below 15 values it is the score that the largest
//! of them exceeds 1 time in 20. From 15 on generalized ESD at [`ALPHA`] is used as well, and it is the score with which at least one of
//! the two finds something with probability [`SHARE`]; beyond 60 also where the values are rounded to the steps that make most of it.
//! Generator and check are `tests/native/cut_off.rs`.

/// The least number of values that are compared at all.
pub const MIN_FAMILY: usize = 8;

/// From this many values generalized ESD is used too: below, its critical values are not good enough.
/// Source: NIST/SEMATECH e-Handbook 1.3.5.17.3.
pub const MIN_ESD: usize = 15;

/// Significance of generalized ESD.
pub const ALPHA: f64 = 0.025;

/// Share of healthy families in which one of the two finds something. What is left to 1 in 20 is for what the heaters of a family may
/// differ by.
pub const SHARE: f64 = 0.0475;

/// Simulated families for each n.
pub const CUT_OFF_FAMILIES: usize = 1_000_000;

/// Seed of the simulation for n, less n.
pub const CUT_OFF_SEED: u64 = 20_261_125_000;

/// For n = 8 to 60.
const BY_N: [f64; 53] = [
    4.94, 5.09, 4.59, 4.70, 4.39, 4.45, 4.24, 5.01, 4.68, 4.73, 4.53, 4.56, 4.42, 4.44, 4.31, 4.35, 4.24, 4.27, 4.19,
    4.21, 4.14, 4.17, 4.09, 4.13, 4.06, 4.08, 4.04, 4.05, 4.01, 4.03, 3.99, 4.01, 3.99, 3.99, 3.96, 3.97, 3.94, 3.96,
    3.93, 3.95, 3.93, 3.94, 3.92, 3.93, 3.90, 3.92, 3.90, 3.91, 3.89, 3.90, 3.89, 3.89, 3.88,
];

/// Beyond the table the cut-off rises slowly: up to each n the number that holds for it.
const BEYOND: [(usize, f64); 3] = [(100, 3.89), (500, 4.19), (1000, 4.72)];

/// The cut-off for `n` values; none below [`MIN_FAMILY`] and above 1000, where nothing was simulated.
pub fn modified_z_cut_off(n: usize) -> Option<f64> {
    let row = n.checked_sub(MIN_FAMILY)?;
    BY_N.get(row).copied().or_else(|| BEYOND.iter().find(|(up_to, _)| n <= *up_to).map(|(_, cut_off)| *cut_off))
}

/// Every cut-off with the largest number of values that it holds for, from [`MIN_FAMILY`] up.
pub fn cut_offs() -> impl Iterator<Item = (usize, f64)> {
    BY_N.into_iter().enumerate().map(|(row, cut_off)| (row + MIN_FAMILY, cut_off)).chain(BEYOND)
}
