//! What is frozen into a test or a profile run when it starts, and judges it later.

use super::Id;
use super::entry::Hash;
use crate::trade::conditions::{Air, Indication, Visual, Warmth};
use crate::trade::detector::{Duty, Marking, Place};
use crate::trade::heater::{HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use crate::units::Reading;

/// The heater as it was when a test started.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FrozenHeater {
    /// Which one.
    pub of: Id,
    /// Name and basis of acceptance.
    pub name: HeaterName,
    /// How it heats.
    pub heating: Heating,
    /// How well its temperature is known.
    pub metrology: Metrology,
    /// The setting used.
    pub setting: Reading,
    /// The mode used, where it has several.
    pub mode: Option<String>,
    /// The kit entries that make its heater profile.
    pub profile: Vec<Hash>,
}

/// The detector as it was when a test started.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FrozenDetector {
    /// Which one.
    pub of: Id,
    /// Where it is.
    pub place: Place,
    /// What judges it.
    pub marking: Marking,
    /// What hangs on it.
    pub duty: Duty,
    /// The register edit the marking comes from.
    pub marked_by: Hash,
}

/// The start of a test, with everything that judges it later.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Started {
    /// The test.
    pub test: Id,
    /// The test it follows, which makes it as left; absent makes it as found.
    pub follows: Option<Id>,
    /// The detector, frozen.
    pub detector: FrozenDetector,
    /// The heater, frozen.
    pub heater: FrozenHeater,
    /// The procedure, copied.
    pub procedure: Procedure,
    /// How trips are seen.
    pub indication: Indication,
    /// Whether the heater's display is read at each trip.
    pub display_read: bool,
    /// Ambient temperature, where it was taken.
    pub ambient: Option<Reading>,
    /// Whether the air moves, where somebody said.
    pub air: Option<Air>,
    /// Start temperature of the heater.
    pub heater_warmth: Warmth,
    /// Start temperature of the detector.
    pub detector_warmth: Warmth,
    /// What the eye said.
    pub visual: Visual,
}

/// The start of a profile run. Its marks and readings name it as their test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProfileRunStart {
    /// The profile run.
    pub profile_run: Id,
    /// The heater, frozen.
    pub heater: FrozenHeater,
    /// The detector in place.
    pub detector: Option<FrozenDetector>,
    /// Ambient temperature.
    pub ambient: Reading,
    /// Start temperature of the heater.
    pub heater_warmth: Warmth,
    /// Who takes it.
    pub by: Option<Id>,
}
