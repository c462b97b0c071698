//! One portable heat source.

use super::classified::Classification;
use crate::units::{Celsius, Difference, Kelvin, Reading};

/// What switches a heater on and off, as data. Times are milliseconds; those that nobody gave are absent, and the lamp or the
/// display then has to be marked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cycle {
    /// Heats up, holds, switches off for a fixed time and heats up again, knowing nothing of the detector.
    Auto {
        /// Nominal heat-up from cold to the top temperature.
        heat_up_cold_ms: Option<i64>,
        /// Nominal heat-up after the heater was off.
        heat_up_again_ms: Option<i64>,
        /// Hold at the top temperature after the first heat-up.
        hold_first_ms: Option<i64>,
        /// Hold at the top temperature after each later heat-up.
        hold_again_ms: Option<i64>,
        /// Time without heat between heat-ups.
        off_ms: Option<i64>,
    },
    /// Switched on and off by hand.
    Manual {
        /// Nominal heat-up from cold to the top temperature.
        heat_up_cold_ms: Option<i64>,
        /// Nominal heat-up after the heater was off.
        heat_up_again_ms: Option<i64>,
    },
}

impl Cycle {
    /// A heater that cycles on its own, with no times given.
    pub const AUTO: Cycle = Cycle::Auto {
        heat_up_cold_ms: None,
        heat_up_again_ms: None,
        hold_first_ms: None,
        hold_again_ms: None,
        off_ms: None,
    };
    /// A heater that is switched by hand, with no times given.
    pub const MANUAL: Cycle = Cycle::Manual { heat_up_cold_ms: None, heat_up_again_ms: None };

    /// Whether the heater cycles without anybody's hand.
    pub fn is_auto(&self) -> bool {
        matches!(self, Cycle::Auto { .. })
    }

    /// Nominal length of heat-up number `n` (from 1), where one was given.
    pub fn heat_up_ms(&self, n: u32) -> Option<i64> {
        let (Cycle::Auto { heat_up_cold_ms, heat_up_again_ms, .. }
        | Cycle::Manual { heat_up_cold_ms, heat_up_again_ms }) = self;
        if n <= 1 { *heat_up_cold_ms } else { *heat_up_again_ms }
    }
}

/// Why this heater may be used for acceptance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Basis {
    /// A listed heat source.
    Listed,
    /// Named in the instructions of the detector's maker.
    DetectorInstructions,
    /// Neither; results are the owner's own information.
    Neither,
}

/// Which heater it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeaterName {
    /// The name people call it by.
    pub name: String,
    /// Serial or asset number.
    pub serial: Option<String>,
    /// Basis of acceptance.
    pub basis: Basis,
    /// Approval for hazardous (classified) locations as marked on it; absent when it has none.
    pub approval: Option<Classification>,
}

/// How it heats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heating {
    /// Temperature settings it can be put to; at least one.
    pub settings: Vec<Reading>,
    /// How far above the setting it heats, where known.
    pub overshoot: Option<Difference>,
    /// Names of its heating modes; empty when it has only one.
    pub modes: Vec<String>,
    /// What switches it.
    pub cycle: Cycle,
    /// Smallest step of its display; absent when it has none or nobody said.
    pub resolution: Option<Difference>,
    /// What its lamp means, in the words of its user.
    pub lamp: Option<String>,
    /// Safety time-out after which it switches itself off.
    pub timeout_ms: Option<i64>,
}

impl Heating {
    /// The temperature it tops out at for `setting`, as far as known: an overshoot that nobody gave counts as none.
    pub fn top(&self, setting: &Reading) -> Celsius {
        setting.celsius() + self.overshoot.map_or(Kelvin(0.0), Difference::kelvin)
    }
}

/// How well its temperature is known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Metrology {
    /// Standard uncertainty of its calibration.
    pub calibration_u: Option<Difference>,
    /// Certificate number.
    pub certificate: Option<String>,
    /// Last day on which the calibration is valid, `YYYY-MM-DD`.
    pub due: Option<String>,
    /// Standard uncertainty of the fit of heater on detector.
    pub fit_u: Option<Difference>,
    /// Where that number comes from.
    pub fit_from: Option<String>,
}
