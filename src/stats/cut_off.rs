//! Cut-offs for modified z scores by the number of values, so that a healthy family is flagged at most 1 time in 20.
//!
//! Iglewicz & Hoaglin's 3.5 is one number for every n: with it one healthy family of eight in seven has a flag. The numbers here are
//! the project's own: the score that the largest of n normal values exceeds 1 time in 20, from a million simulated families for
//! each n. Generator and check are `tests/native/cut_off.rs`.

/// The least number of values that are compared at all.
pub const MIN_FAMILY: usize = 8;

/// Simulated families for each n.
pub const CUT_OFF_FAMILIES: usize = 1_000_000;

/// Seed of the simulation for n, less n.
pub const CUT_OFF_SEED: u64 = 20_261_125_000;

/// For n = 8 to 60.
const BY_N: [f64; 53] = [
    4.94, 5.09, 4.59, 4.70, 4.39, 4.45, 4.24, 4.30, 4.13, 4.18, 4.07, 4.10, 4.01, 4.03, 3.96, 3.98, 3.92, 3.95, 3.90,
    3.91, 3.87, 3.89, 3.85, 3.87, 3.84, 3.85, 3.82, 3.83, 3.81, 3.82, 3.80, 3.81, 3.80, 3.80, 3.78, 3.79, 3.77, 3.79,
    3.77, 3.78, 3.77, 3.78, 3.77, 3.77, 3.76, 3.77, 3.76, 3.76, 3.75, 3.76, 3.75, 3.76, 3.75,
];

/// Beyond the table the cut-off rises slowly: up to each n the number that holds for it.
const BEYOND: [(usize, f64); 6] = [(100, 3.76), (150, 3.79), (200, 3.82), (300, 3.88), (500, 3.97), (1000, 4.10)];

/// The cut-off for `n` values; none below [`MIN_FAMILY`] and above 1000, where nothing was simulated.
pub fn modified_z_cut_off(n: usize) -> Option<f64> {
    let row = n.checked_sub(MIN_FAMILY)?;
    BY_N.get(row).copied().or_else(|| BEYOND.iter().find(|(up_to, _)| n <= *up_to).map(|(_, cut_off)| *cut_off))
}

/// Every cut-off with the largest number of values that it holds for, from [`MIN_FAMILY`] up.
pub fn cut_offs() -> impl Iterator<Item = (usize, f64)> {
    BY_N.into_iter().enumerate().map(|(row, cut_off)| (row + MIN_FAMILY, cut_off)).chain(BEYOND)
}
