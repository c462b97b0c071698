//! What is frozen into a test or a profile run when it starts, and judges it later.

use super::Id;
use crate::encoding::Hash;
use crate::trade::conditions::{Air, Indication, RateAnswer, Visual, Warmth};
use crate::trade::detector::{Duty, Make, Marking, Place};
use crate::trade::heater::{HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use crate::units::Reading;

/// The heater as it was when a test started.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeaterSnapshot {
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
    /// The ends of the profile runs that make its heater profile.
    pub profile: Vec<Hash>,
}

/// The position as it was when a test started.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PositionSnapshot {
    /// Which one.
    pub of: Id,
    /// Where it is.
    pub place: Place,
    /// What hangs on its alarm.
    pub duty: Duty,
}

/// The detector as it was when a test started.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DetectorSnapshot {
    /// Which one.
    pub of: Id,
    /// What judges it.
    pub marking: Marking,
    /// The register edit the marking comes from.
    pub marked_by: Hash,
    /// What else is known of it.
    pub make: Make,
}

/// The start of a test, with everything that judges it later.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TestStart {
    /// The test.
    pub test: Id,
    /// Who makes it.
    pub by: Id,
    /// The test of this position that it follows in the visit; absent makes it as found.
    pub follows: Option<Id>,
    /// The repair or replacement between the two, which makes it as left; absent makes it a retest.
    pub after: Option<Hash>,
    /// The position, frozen.
    pub position: PositionSnapshot,
    /// The detector, frozen.
    pub detector: DetectorSnapshot,
    /// The heater, frozen.
    pub heater: HeaterSnapshot,
    /// The procedure, copied.
    pub procedure: Procedure,
    /// How trips are noticed.
    pub indication: Indication,
    /// Whether the heater's display is read at each trip.
    pub display_read: bool,
    /// Ambient temperature, where it was taken.
    pub ambient: Option<Reading>,
    /// Whether the air moves, if answered.
    pub air: Option<Air>,
    /// Start temperature of the heater.
    pub heater_warmth: Warmth,
    /// Start temperature of the detector.
    pub detector_warmth: Warmth,
    /// Visual findings; absent without a visual check, empty if nothing is wrong.
    pub visual: Option<Vec<Visual>>,
    /// Of an electronic detector: why its rate function cannot trip it first.
    pub rate_answer: Option<RateAnswer>,
}

/// The start of a profile run. Its marks and readings name it. Of the detector in place it says what it is and not whose, so
/// that a profile can go along with another customer's visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProfileRunStart {
    /// The profile run.
    pub run: Id,
    /// The heater, frozen.
    pub heater: HeaterSnapshot,
    /// The position of the detector in place, where it is in the register.
    pub position: Option<Id>,
    /// What is marked on that detector.
    pub marking: Option<Marking>,
    /// Ambient temperature.
    pub ambient: Reading,
    /// Start temperature of the heater.
    pub heater_warmth: Warmth,
    /// Who takes it.
    pub by: Option<Id>,
}
