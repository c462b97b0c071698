//! What the register holds of one detector, in the groups of fields that are edited together.

use super::detector_type::{Class, DetectorType, Suffix};
use crate::units::{Difference, Reading};
use uuid::Uuid;

/// Where a detector is and what it is called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The tag by which people on site know it.
    pub tag: String,
    /// The area whose conditions it shares.
    pub area: Uuid,
    /// The initiating device circuit, zone or loop.
    pub circuit: Option<Uuid>,
    /// Address or point number at the panel.
    pub address: Option<String>,
    /// Text the panel shows for it.
    pub label: Option<String>,
}

/// Who gave the limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LimitsFrom {
    /// Marked on the detector or in its listing.
    Marking,
    /// Given by the owner for this method.
    Owner,
}

/// What is marked on a detector, or given by the owner, that judges it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Marking {
    /// How it senses.
    pub detector_type: DetectorType,
    /// Marked operating temperature; a combination detector's is that of its fixed element. None for rate-of-rise.
    pub rating: Option<Reading>,
    /// Lower limit as a difference from the rating, zero or negative.
    pub minus: Option<Difference>,
    /// Upper limit as a difference from the rating, zero or positive.
    pub plus: Option<Difference>,
    /// Who gave the limits; absent without limits.
    pub limits_from: Option<LimitsFrom>,
    /// EN 54-5 class, where one is marked.
    pub class: Option<Class>,
    /// EN 54-5 suffix, where one is marked.
    pub suffix: Option<Suffix>,
}

/// What hangs on a detector and what is dangerous about its place.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Duty {
    /// What its alarm releases or shuts down, each by the name used on site.
    pub releases: Vec<String>,
    /// Whether it hangs in a hazardous (classified) location.
    pub classified: bool,
    /// Anything else to know before going up.
    pub hazard: Option<String>,
    /// Date of installation, `YYYY-MM-DD`.
    pub installed_on: Option<String>,
}
