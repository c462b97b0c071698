//! What a heater profile says of a test before it starts.

use super::hold::Hold;
use super::spread::{Spread, Square};

/// State, common parameters and spreads from which an estimate starts.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Prior {
    /// Start above ambient from cold, K, and heating rate, K/s.
    pub(super) own: Spread,
    /// k and λ.
    pub(super) common: [f64; 2],
    /// Their covariance for a new test.
    pub(super) shared: Square,
    /// How start and rate change with k and λ.
    pub(super) by_shared: Square,
    /// How far the cooling starts above where heat off found the heater, K, and 1/τc, 1/s.
    pub(super) cooling: Option<Spread>,
    pub(super) hold: Option<Hold>,
    /// What the profile leaves over: variance, K², and correlation time, s.
    pub(super) discrepancy: [f64; 2],
    /// Mean variance of the profile runs' ambient temperatures, K².
    pub(super) ambient_variance: f64,
}
