//! One portable heat source.

use crate::units::{Celsius, Difference, Kelvin, Reading};

/// What a head does by itself, as data. Times are milliseconds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cycle {
    /// Climbs, holds, switches off for a fixed time and climbs again, knowing nothing of the detector.
    ByItself {
        /// Nominal climb from cold to the upper temperature; without it "at upper temperature" has to be marked.
        climb_cold_ms: Option<i64>,
        /// Nominal climb after the head was off.
        climb_again_ms: Option<i64>,
        /// Hold at the upper temperature after the first climb.
        hold_first_ms: i64,
        /// Hold at the upper temperature after each later climb.
        hold_again_ms: i64,
        /// Time without heat between climbs.
        off_ms: i64,
    },
    /// Switched on and off by hand.
    ByHand {
        /// Nominal climb from cold to the upper temperature.
        climb_cold_ms: Option<i64>,
        /// Nominal climb after the head was off.
        climb_again_ms: Option<i64>,
    },
}

impl Cycle {
    /// Whether the head cycles without anybody's hand.
    pub fn by_itself(&self) -> bool {
        matches!(self, Cycle::ByItself { .. })
    }

    /// Nominal length of climb number `n` (from 1), if the head has one.
    pub fn climb_ms(&self, n: u32) -> Option<i64> {
        let (Cycle::ByItself { climb_cold_ms, climb_again_ms, .. } | Cycle::ByHand { climb_cold_ms, climb_again_ms }) =
            self;
        if n <= 1 { *climb_cold_ms } else { *climb_again_ms }
    }
}

/// Why this head may be used for acceptance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Basis {
    /// A listed heat source.
    Listed,
    /// Named in the instructions of the detector's maker.
    DetectorInstructions,
    /// Neither; results are the owner's own information.
    Neither,
}

/// Which head it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeadName {
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
    /// How far above the setting it climbs.
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
    /// The temperature it climbs to at `setting`.
    pub fn upper(&self, setting: &Reading) -> Celsius {
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
    /// Standard uncertainty of the coupling from head to detector.
    pub coupling_u: Option<Difference>,
}

impl Metrology {
    /// Calibration and coupling as kelvin; none while one of them is missing.
    pub fn complete(&self) -> Option<(Kelvin, Kelvin)> {
        Some((self.calibration_u?.kelvin(), self.coupling_u?.kelvin()))
    }
}
