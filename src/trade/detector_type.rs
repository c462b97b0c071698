//! Types of spot heat detector and the EN 54-5 classes some of them are marked with.

/// How a spot heat detector senses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DetectorType {
    /// Operates when the surrounding air reaches the rating, whatever the rate of rise.
    RateCompensated,
    /// One set point, an element that restores.
    FixedRestorable,
    /// One set point, an element that is used up when it operates (fusible, one-shot).
    FixedNonrestorable,
    /// Answers to the rate of rise alone; has no set point.
    RateOfRise,
    /// Rate of rise and a fixed element that restores.
    CombinationRestorable,
    /// Rate of rise and a fixed element that is used up when it operates.
    CombinationNonrestorable,
    /// Electronic, usually addressable.
    Electronic,
    /// Nobody knows yet: no heat until somebody does.
    Unknown,
}

impl DetectorType {
    /// Every type, in the order of a form.
    pub const ALL: [DetectorType; 8] = [
        DetectorType::RateCompensated,
        DetectorType::FixedRestorable,
        DetectorType::FixedNonrestorable,
        DetectorType::RateOfRise,
        DetectorType::CombinationRestorable,
        DetectorType::CombinationNonrestorable,
        DetectorType::Electronic,
        DetectorType::Unknown,
    ];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            DetectorType::RateCompensated => "Rate-compensated",
            DetectorType::FixedRestorable => "Fixed-temperature, restorable",
            DetectorType::FixedNonrestorable => "Fixed-temperature, nonrestorable",
            DetectorType::RateOfRise => "Rate-of-rise",
            DetectorType::CombinationRestorable => "Combination, fixed element restorable",
            DetectorType::CombinationNonrestorable => "Combination, fixed element nonrestorable",
            DetectorType::Electronic => "Electronic",
            DetectorType::Unknown => "Not known",
        }
    }

    /// Whether the detector has a marked operating temperature that a set-point test can be held against.
    pub fn has_set_point(self) -> bool {
        !matches!(self, DetectorType::RateOfRise | DetectorType::Unknown)
    }

    /// Whether it answers to a fast rise before any fixed temperature is reached.
    pub fn has_rate_element(self) -> bool {
        matches!(
            self,
            DetectorType::RateOfRise | DetectorType::CombinationRestorable | DetectorType::CombinationNonrestorable
        )
    }

    /// Whether its element follows the heater without a lag that nobody knows, so that marked limits may be held against the
    /// heater's temperature at trip.
    ///
    /// Source: US Fire Administration Coffee Break FP-2012-29 (rate compensation); for the others the lag is about rate × time
    /// constant (Heskestad & Bill), and the time constant depends on airflow.
    pub fn follows_heater(self) -> bool {
        self == DetectorType::RateCompensated
    }
}

/// The EN 54-5 class a detector is marked with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "the classes are named by the standard")]
pub enum Class {
    A1,
    A2,
    B,
    C,
    D,
    E,
    F,
    G,
}

impl Class {
    /// Every class.
    pub const ALL: [Class; 8] = [Class::A1, Class::A2, Class::B, Class::C, Class::D, Class::E, Class::F, Class::G];

    /// The class as marked.
    pub fn words(self) -> &'static str {
        match self {
            Class::A1 => "A1",
            Class::A2 => "A2",
            Class::B => "B",
            Class::C => "C",
            Class::D => "D",
            Class::E => "E",
            Class::F => "F",
            Class::G => "G",
        }
    }
}

/// The EN 54-5 suffix: R has rate-of-rise behaviour, S does not respond below the minimum static temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "the suffixes are named by the standard")]
pub enum Suffix {
    R,
    S,
}
