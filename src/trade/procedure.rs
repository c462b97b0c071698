//! Procedures: how many trips, how long the soak, how long without heat.

use crate::units::Difference;

/// What a procedure is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Template {
    /// Several trips, a mean, a set point.
    SetPoint,
    /// One trip and one restore: does it operate.
    Functional,
}

impl Template {
    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Template::SetPoint => "Set-point test",
            Template::Functional => "Functional test",
        }
    }
}

/// Limits a procedure brings along, which then stand before the detector's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OwnLimits {
    /// Lower limit as a difference from the rating, zero or negative.
    pub minus: Difference,
    /// Upper limit as a difference from the rating, zero or positive.
    pub plus: Difference,
}

/// The steps of one check. Times are milliseconds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Procedure {
    /// What it is called.
    pub name: String,
    /// What it is for.
    pub template: Template,
    /// Trips to take.
    pub trips: u32,
    /// How many first ones do not count.
    pub uncounted: u32,
    /// Soak, from reaching the top temperature in the first heat-up.
    pub soak_ms: i64,
    /// Time without heat between trips, in which the detector should restore.
    pub off_ms: i64,
    /// How many trips may be appended when a watched restore was not seen.
    pub appended_at_most: u32,
    /// Limits of the owner for this method.
    pub limits: Option<OwnLimits>,
    /// Whether a technician has confirmed or changed the numbers. Nothing starts under an unconfirmed procedure.
    pub confirmed: bool,
}

impl Procedure {
    /// The set-point test as it is usually done.
    ///
    /// Source: common practice, no published source: five trips, four counted, five minutes of soak, 45 s without heat.
    pub fn set_point_template() -> Procedure {
        Procedure {
            name: Template::SetPoint.words().to_string(),
            template: Template::SetPoint,
            trips: 5,
            uncounted: 1,
            soak_ms: 300_000,
            off_ms: 45_000,
            appended_at_most: 2,
            limits: None,
            confirmed: false,
        }
    }

    /// The functional test: one trip, one restore. Source: common practice, no published source.
    pub fn functional_template() -> Procedure {
        Procedure {
            name: Template::Functional.words().to_string(),
            template: Template::Functional,
            trips: 1,
            uncounted: 0,
            // Without a trip this is how long the top temperature is held before it counts as "did not operate".
            soak_ms: 300_000,
            off_ms: 45_000,
            appended_at_most: 0,
            limits: None,
            confirmed: false,
        }
    }
}
