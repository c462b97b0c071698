//! One portable heat source.

use crate::units::{Celsius, Difference, Kelvin, Reading};

/// What a heater does by itself, as data. Times are milliseconds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cycle {
    /// Heat-ups, holds, switches off for a fixed time and heat-ups again, knowing nothing of the detector.
    ByItself {
        /// Nominal heat-up from cold to the top temperature; without it "at top temperature" has to be marked.
        heat_up_cold_ms: Option<i64>,
        /// Nominal heat-up after the heater was off.
        heat_up_again_ms: Option<i64>,
        /// Hold at the top temperature after the first heat-up.
        hold_first_ms: i64,
        /// Hold at the top temperature after each later heat-up.
        hold_again_ms: i64,
        /// Time without heat between heat-ups.
        off_ms: i64,
    },
    /// Switched on and off by hand.
    ByHand {
        /// Nominal heat-up from cold to the top temperature.
        heat_up_cold_ms: Option<i64>,
        /// Nominal heat-up after the heater was off.
        heat_up_again_ms: Option<i64>,
    },
}

impl Cycle {
    /// Whether the heater cycles without anybody's hand.
    pub fn by_itself(&self) -> bool {
        matches!(self, Cycle::ByItself { .. })
    }

    /// Nominal length of heat-up number `n` (from 1), if the heater has one.
    pub fn heat_up_ms(&self, n: u32) -> Option<i64> {
        let (Cycle::ByItself { heat_up_cold_ms, heat_up_again_ms, .. }
        | Cycle::ByHand { heat_up_cold_ms, heat_up_again_ms }) = self;
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
    /// Approval for hazardous locations as marked on it; absent when it has none.
    pub hazardous_approval: Option<String>,
}

/// How it heats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heating {
    /// Temperature settings it can be put to; at least one.
    pub settings: Vec<Reading>,
    /// How far above the setting it heat-ups.
    pub above: Difference,
    /// Names of its heating modes; empty when it has only one.
    pub modes: Vec<String>,
    /// What it does by itself.
    pub cycle: Cycle,
    /// Smallest step of its display; absent when it has none.
    pub resolution: Option<Difference>,
    /// What its lamp means, in the words of its user.
    pub lamp: Option<String>,
    /// Safety time-out after which it switches itself off.
    pub timeout_ms: Option<i64>,
}

impl Heating {
    /// The temperature it heat-ups to at `setting`.
    pub fn top(&self, setting: &Reading) -> Celsius {
        setting.celsius() + self.above.kelvin()
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
    /// Standard uncertainty of the fit from heater to detector.
    pub fit_u: Option<Difference>,
}

impl Metrology {
    /// Calibration and fit as kelvin; none while one of them is missing.
    pub fn complete(&self) -> Option<(Kelvin, Kelvin)> {
        Some((self.calibration_u?.kelvin(), self.fit_u?.kelvin()))
    }
}
