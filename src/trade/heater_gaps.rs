//! What the app cannot say of a heater, because an answer about it is missing. Each is asked only when something needs it.

use super::heater::{Cycle, HeaterName, Heating, Metrology};

/// An answer about a heater that may be missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gap {
    /// Whether it has a display, and its smallest step.
    Display,
    /// How far above its setting it heats.
    Overshoot,
    /// How long it heats up.
    HeatUp,
    /// The uncertainty of its calibration.
    Calibration,
    /// The last day of its calibration.
    Due,
    /// The uncertainty of its fit.
    Fit,
    /// Where that number comes from.
    FitFrom,
    /// Its approval for hazardous (classified) locations.
    Approval,
}

impl Gap {
    /// Every one.
    pub const ALL: [Gap; 8] =
        [Gap::Display, Gap::Overshoot, Gap::HeatUp, Gap::Calibration, Gap::Due, Gap::Fit, Gap::FitFrom, Gap::Approval];

    /// The name it has in addresses.
    pub fn name(self) -> &'static str {
        match self {
            Gap::Display => "display",
            Gap::Overshoot => "overshoot",
            Gap::HeatUp => "heat-up",
            Gap::Calibration => "calibration",
            Gap::Due => "due",
            Gap::Fit => "fit",
            Gap::FitFrom => "fit-from",
            Gap::Approval => "approval",
        }
    }
}

/// Something that the app does not say until the answers are there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsaid {
    /// Whether a set point lies within its limits.
    LimitResult,
    /// That a detector without a trip does not operate.
    NoAlarm,
    /// How hot the heater is between readings.
    Estimate,
    /// When the heater reaches its top temperature.
    TopTime,
    /// Whether it stays below a nonrestorable element, so that the rate element beside it may be heated.
    BelowElement,
    /// Whether it may go into a hazardous (classified) location.
    Hazardous,
}

/// What the app cannot say of a heater, with the answers that are missing for it, the first of them to be asked first. A calibration without
/// a last day is taken as valid, so that day is no gap.
pub fn cannot_say(name: &HeaterName, heating: &Heating, metrology: &Metrology) -> Vec<(Unsaid, Vec<Gap>)> {
    let missing = |gap: Gap| match gap {
        Gap::Display => heating.resolution.is_none(),
        Gap::Overshoot => heating.overshoot.is_none(),
        Gap::HeatUp => match heating.cycle {
            Cycle::Auto { heat_up_cold_ms, heat_up_again_ms, .. }
            | Cycle::Manual { heat_up_cold_ms, heat_up_again_ms } => {
                heat_up_cold_ms.is_none() || heat_up_again_ms.is_none()
            }
        },
        Gap::Calibration => metrology.calibration_u.is_none(),
        Gap::Due => false,
        Gap::Fit => metrology.fit_u.is_none(),
        Gap::FitFrom => metrology.fit_u.is_some() && metrology.fit_from.is_none(),
        Gap::Approval => name.approval.as_ref().is_none_or(super::classified::Classification::is_empty),
    };
    let needs: [(Unsaid, &[Gap]); 6] = [
        (Unsaid::LimitResult, &[Gap::Calibration, Gap::Fit, Gap::FitFrom, Gap::Display]),
        (Unsaid::NoAlarm, &[Gap::Calibration, Gap::Fit]),
        (Unsaid::Estimate, &[Gap::Display]),
        (Unsaid::TopTime, &[Gap::HeatUp]),
        (Unsaid::BelowElement, &[Gap::Overshoot, Gap::Calibration]),
        (Unsaid::Hazardous, &[Gap::Approval]),
    ];
    let lacking = |(unsaid, needs): (Unsaid, &[Gap])| {
        let missing: Vec<Gap> = needs.iter().copied().filter(|gap| missing(*gap)).collect();
        (!missing.is_empty()).then_some((unsaid, missing))
    };
    needs.into_iter().filter_map(lacking).collect()
}
