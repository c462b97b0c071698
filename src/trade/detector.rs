//! What is registered of a position and of the detector in it, in the groups of fields that are edited together.
//!
//! A position is for life and has the history; a detector is what hangs in it now.

use super::classified::Classification;
use super::detector_type::{Class, DetectorType, Suffix};
use crate::encoding::Hash;
use crate::units::{Difference, Length, Reading};
use uuid::Uuid;

/// Where a position is and what it is called.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Place {
    /// The tag by which people on site know it.
    pub tag: String,
    /// The area whose conditions it shares.
    pub area: Uuid,
    /// The initiating device circuit, zone or loop.
    pub circuit: Option<Uuid>,
    /// Address or point number at the panel.
    pub point: Option<String>,
    /// Text the panel shows for it.
    pub panel_text: Option<String>,
    /// Where in the area, in words.
    pub location: Option<String>,
    /// The customer's own id for it.
    pub customer_id: Option<String>,
}

/// Stands where a tag would: the tag could not be read.
const NO_TAG: &str = "No tag";

impl Place {
    /// The tag, or the words that there is none: it could not be read yet.
    pub fn name(&self) -> &str {
        if self.tag.is_empty() { NO_TAG } else { &self.tag }
    }

    /// What the panel shows for it, as far as it was entered: its point, else its text, else its tag.
    pub fn at_panel(&self) -> &str {
        self.point.as_ref().or(self.panel_text.as_ref()).unwrap_or(&self.tag)
    }

    /// Whether words on the panel are its tag, its point or its text.
    pub fn is_called(&self, words: &str) -> bool {
        let named = [Some(&self.tag), self.point.as_ref(), self.panel_text.as_ref()];
        let words = words.trim();
        !words.is_empty() && named.into_iter().flatten().any(|name| name.trim().eq_ignore_ascii_case(words))
    }
}

/// How a position is reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reach {
    /// From the floor, with a pole.
    Floor,
    /// Ladder.
    Ladder,
    /// Scissor lift.
    ScissorLift,
    /// Boom lift.
    BoomLift,
    /// Scaffold.
    Scaffold,
}

/// What it takes to get to a position.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Access {
    /// From what.
    pub reach: Option<Reach>,
    /// Height above the floor.
    pub height: Option<Length>,
    /// A process or machine has to be shut down first.
    pub shutdown: bool,
    /// Anything else to know before going up.
    pub hazard: Option<String>,
}

/// What hangs on the alarm of a position.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Duty {
    /// What its alarm releases or shuts down, each by the name used on site. `None` is unknown and refuses heat; an empty list
    /// says that it releases nothing.
    pub releases: Option<Vec<String>>,
    /// Whether a supervising station monitors it, where somebody said.
    pub monitored: Option<bool>,
    /// Whether it hangs in a hazardous (classified) location.
    pub classified: bool,
}

/// Whether a position is still in use.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Status {
    /// Taken off the list; its history stays.
    pub retired: bool,
    /// Added on the lift and not settled yet: its tag may be missing or taken.
    pub provisional: bool,
}

/// Its number in the walking order of the site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WalkingOrder {
    /// Smaller ones come first; numbers may repeat and leave gaps.
    pub number: i64,
}

/// Who gave the limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LimitsFrom {
    /// Marked on the detector or in its listing.
    Marking,
    /// Given by the owner for this method.
    Owner,
}

/// Who agreed to limits and decision rule before the work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Agreed {
    /// Attachment with the name.
    pub by: Hash,
    /// On which day, `YYYY-MM-DD`.
    pub on: Option<String>,
}

/// Whether the rate-of-rise function of an electronic detector is switched on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RateFunction {
    /// On.
    On,
    /// Off.
    Off,
}

/// What is marked on a detector, or given by the owner, that judges it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Marking {
    /// How it senses.
    pub detector_type: DetectorType,
    /// Marked operating temperature; a combination detector's is that of its fixed element, an electronic one's the programmed
    /// alarm temperature. None for rate-of-rise.
    pub rating: Option<Reading>,
    /// Lower limit as a difference from the rating, zero or negative.
    pub minus: Option<Difference>,
    /// Upper limit as a difference from the rating, zero or positive.
    pub plus: Option<Difference>,
    /// Who gave the limits; absent without limits.
    pub limits_from: Option<LimitsFrom>,
    /// Who agreed to them.
    pub agreed: Option<Agreed>,
    /// EN 54-5 class, where one is marked.
    pub class: Option<Class>,
    /// EN 54-5 suffix, where one is marked.
    pub suffix: Option<Suffix>,
    /// An electronic detector's rate function, where somebody looked it up.
    pub rate_function: Option<RateFunction>,
}

impl Marking {
    /// Type and rating, and nothing else that is known.
    pub fn new(detector_type: DetectorType, rating: Option<Reading>) -> Marking {
        Marking {
            detector_type,
            rating,
            minus: None,
            plus: None,
            limits_from: None,
            agreed: None,
            class: None,
            suffix: None,
            rate_function: None,
        }
    }
}

/// What else is known of a detector.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Make {
    /// The model as text.
    pub model: Option<String>,
    /// Serial number.
    pub serial: Option<String>,
    /// Date code as marked.
    pub date_code: Option<String>,
    /// Date of installation, `YYYY-MM-DD`.
    pub installed_on: Option<String>,
    /// Replace by, `YYYY-MM-DD`.
    pub replace_by: Option<String>,
}

impl Make {
    /// Whether nothing is known.
    pub fn is_empty(&self) -> bool {
        *self == Make::default()
    }
}

/// What judges how hot a heater may be in an area, and what is known of its ceiling.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AreaConditions {
    /// The highest ceiling temperature expected.
    pub ceiling: Option<Reading>,
    /// How a hazardous (classified) area is classified.
    pub classification: Option<Classification>,
}
