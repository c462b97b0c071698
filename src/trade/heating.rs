//! What may be heated how: the type × procedure table.

use super::detector_type::DetectorType;
use super::procedure::Template;
use crate::units::Kelvin;

/// How far the heater's top temperature has to stay below a nonrestorable element, K.
///
/// Source: NFPA 72 17.6.2.3 keeps 20 °F (11 °C) between the hottest expected ceiling and a rating; the same distance is kept
/// here so that a functional test never comes near the element. The use for this purpose is the project's own choice.
pub const NONRESTORABLE_MARGIN: Kelvin = Kelvin(11.0);

/// What the table says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heat {
    /// Allowed.
    Allowed,
    /// Only with the heater's top temperature `NONRESTORABLE_MARGIN` or more below the rating.
    BelowElement,
    /// Only when the owner gives limits for this method (an EN 54-5 class is an air temperature at vanishing rate).
    WithOwnerLimits,
    /// Never: the element would be used up.
    UsesUpElement,
    /// A set point means nothing for this type.
    NoSetPoint,
}

/// What may be done with a detector of `type`, marked with an EN 54-5 class or not.
///
/// Sources: NFPA 72 table 14.4.3.2 (nonrestorable: no heat test; a combination detector's nonrestorable element must not be
/// damaged); EN 54-5 (static response at vanishing rate).
pub fn may_heat(detector_type: DetectorType, class_marked: bool, template: Template) -> Heat {
    match (detector_type, template) {
        (DetectorType::FixedNonrestorable, _) => Heat::UsesUpElement,
        (DetectorType::CombinationNonrestorable, Template::SetPoint) => Heat::UsesUpElement,
        (DetectorType::CombinationNonrestorable, Template::Functional) => Heat::BelowElement,
        (DetectorType::RateOfRise, Template::SetPoint) => Heat::NoSetPoint,
        (_, Template::SetPoint) if class_marked => Heat::WithOwnerLimits,
        _ => Heat::Allowed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_covers_every_kind() {
        use Template::{Functional, SetPoint};
        // Expected: NFPA 72 table 14.4.3.2 and EN 54-5, as named at `may_heat`.
        let expected = [
            (DetectorType::RateCompensated, Heat::Allowed, Heat::Allowed),
            (DetectorType::FixedRestorable, Heat::Allowed, Heat::Allowed),
            (DetectorType::FixedNonrestorable, Heat::UsesUpElement, Heat::UsesUpElement),
            (DetectorType::RateOfRise, Heat::NoSetPoint, Heat::Allowed),
            (DetectorType::CombinationRestorable, Heat::Allowed, Heat::Allowed),
            (DetectorType::CombinationNonrestorable, Heat::UsesUpElement, Heat::BelowElement),
            (DetectorType::Electronic, Heat::Allowed, Heat::Allowed),
        ];
        for (detector_type, set_point, functional) in expected {
            assert_eq!(may_heat(detector_type, false, SetPoint), set_point, "{detector_type:?}");
            assert_eq!(may_heat(detector_type, false, Functional), functional, "{detector_type:?}");
        }
        assert_eq!(may_heat(DetectorType::Electronic, true, SetPoint), Heat::WithOwnerLimits);
        assert_eq!(may_heat(DetectorType::Electronic, true, Functional), Heat::Allowed);
    }
}
