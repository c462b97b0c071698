//! What is frozen into a run or a ramp when it starts, and judges it later.

use super::Id;
use super::entry::Hash;
use crate::trade::detector::{Duty, Marking, Place};
use crate::trade::head::{HeadName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use crate::trade::seen::{Air, SeenBy, Visual, Warmth};
use crate::units::Reading;

/// The head as it was when a run started.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FrozenHead {
    /// Which one.
    pub of: Id,
    /// Name and basis of acceptance.
    pub name: HeadName,
    /// How it heats.
    pub heating: Heating,
    /// How well its temperature is known.
    pub metrology: Metrology,
    /// The setting used.
    pub setting: Reading,
    /// The mode used, where it has several.
    pub mode: Option<String>,
    /// The kit entries that make its heat curve.
    pub curve: Vec<Hash>,
}

/// The detector as it was when a run started.
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

/// The start of a run, with everything that judges it later.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Started {
    /// The run.
    pub run: Id,
    /// The run it follows, which makes it as left; absent makes it as found.
    pub follows: Option<Id>,
    /// The detector, frozen.
    pub detector: FrozenDetector,
    /// The head, frozen.
    pub head: FrozenHead,
    /// The procedure, copied.
    pub procedure: Procedure,
    /// How trips are seen.
    pub seen_by: SeenBy,
    /// Whether the head's display is read at each trip.
    pub display_read: bool,
    /// Ambient temperature, where it was taken.
    pub ambient: Option<Reading>,
    /// Whether the air moves, where somebody said.
    pub air: Option<Air>,
    /// Start temperature of the head.
    pub head_warmth: Warmth,
    /// Start temperature of the detector.
    pub detector_warmth: Warmth,
    /// What the eye said.
    pub visual: Visual,
}

/// The start of a guided ramp. Its marks and readings name it as their run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RampStart {
    /// The ramp.
    pub ramp: Id,
    /// The head, frozen.
    pub head: FrozenHead,
    /// The detector in place.
    pub detector: Option<FrozenDetector>,
    /// Ambient temperature.
    pub ambient: Reading,
    /// Start temperature of the head.
    pub head_warmth: Warmth,
    /// Who takes it.
    pub by: Option<Id>,
}
