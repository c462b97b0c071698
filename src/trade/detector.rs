//! What the register holds of one detector, in the groups of fields that are edited together.

use super::kind::{Class, Kind, Suffix};
use crate::units::{Difference, Reading};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Where a detector is and what it is called.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// The tag by which people on site know it.
    pub tag: String,
    /// The area whose conditions it shares.
    pub area: Uuid,
    /// The initiating device circuit, zone or loop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circuit: Option<Uuid>,
    /// Address or point number at the panel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// Text the panel shows for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
}

/// Who gave the limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitsFrom {
    /// Marked on the detector or in its listing.
    Marking,
    /// Given by the owner for this method.
    Owner,
}

/// What is marked on a detector, or given by the owner, that judges it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Marking {
    /// How it senses.
    pub kind: Kind,
    /// Marked operating temperature; a combination detector's is that of its fixed element. None for rate-of-rise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating: Option<Reading>,
    /// Lower limit as a difference from the rating, zero or negative.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minus: Option<Difference>,
    /// Upper limit as a difference from the rating, zero or positive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plus: Option<Difference>,
    /// Who gave the limits; absent without limits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits_from: Option<LimitsFrom>,
    /// EN 54-5 class, where one is marked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class: Option<Class>,
    /// EN 54-5 suffix, where one is marked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub suffix: Option<Suffix>,
}

/// What hangs on a detector and what is dangerous about its place.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Duty {
    /// What its alarm releases or shuts down, each by the name used on site.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub releases: Vec<String>,
    /// Whether it hangs in a hazardous (classified) location.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub classified: bool,
    /// Anything else to know before going up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hazard: Option<String>,
    /// Date of installation, `YYYY-MM-DD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub installed_on: Option<String>,
}
