//! Procedures: how many trips, how long the soak, how long without heat.

use super::detector::Agreed;
use crate::units::Difference;

/// What a procedure is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ProcedureKind {
    /// One trip, alarm at the panel, restore: does it operate.
    Functional,
    /// Several trips, a mean, a set point.
    SetPoint,
}

impl ProcedureKind {
    /// Both, in the order of a form.
    pub const ALL: [ProcedureKind; 2] = [ProcedureKind::Functional, ProcedureKind::SetPoint];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            ProcedureKind::Functional => "Functional test",
            ProcedureKind::SetPoint => "Set-point test",
        }
    }
}

/// Where the numbers of a procedure come from. None are the app's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NumbersFrom {
    /// Marked on the heater, or in its instructions.
    Heater,
    /// The detector's instructions.
    DetectorInstructions,
    /// The owner.
    Owner,
}

impl NumbersFrom {
    /// Every source, in the order of a form.
    pub const ALL: [NumbersFrom; 3] = [NumbersFrom::Heater, NumbersFrom::DetectorInstructions, NumbersFrom::Owner];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            NumbersFrom::Heater => "Heater's marking or instructions",
            NumbersFrom::DetectorInstructions => "Detector's instructions",
            NumbersFrom::Owner => "The owner",
        }
    }
}

/// Limits of the owner for this method, which then stand before the detector's own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnLimits {
    /// Lower limit as a difference from the rating, zero or negative.
    pub minus: Difference,
    /// Upper limit as a difference from the rating, zero or positive.
    pub plus: Difference,
    /// Who agreed to them.
    pub agreed: Option<Agreed>,
}

/// The steps of one test. Times are milliseconds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Procedure {
    /// What it is called.
    pub name: String,
    /// What it is for.
    pub kind: ProcedureKind,
    /// Trips to take.
    pub trips: u32,
    /// How many first ones are not averaged.
    pub not_averaged: u32,
    /// Soak, from reaching the top temperature in the first heat-up; absent where nobody gave one.
    pub soak_ms: Option<i64>,
    /// Time without heat between trips, in which the detector should restore; absent where nobody gave one.
    pub off_ms: Option<i64>,
    /// How many extra trips may be taken when a watched restore was not seen.
    pub extra_trips: u32,
    /// Limits of the owner for this method.
    pub limits: Option<OwnLimits>,
    /// Where the numbers come from; a set-point test does not start without.
    pub numbers_from: Option<NumbersFrom>,
}

impl Procedure {
    /// The functional test, which needs no numbers: one trip, alarm at the panel, restore.
    ///
    /// Source: what it asks for is NFPA 72 table 14.4.3.2.
    pub fn functional() -> Procedure {
        Procedure {
            name: ProcedureKind::Functional.words().to_string(),
            kind: ProcedureKind::Functional,
            trips: 1,
            not_averaged: 0,
            soak_ms: None,
            off_ms: None,
            extra_trips: 0,
            limits: None,
            numbers_from: None,
        }
    }

    /// Whether it says where in the heat a detector trips, and not only whether it does.
    pub fn is_set_point(&self) -> bool {
        self.kind == ProcedureKind::SetPoint
    }
}
