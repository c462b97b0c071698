//! What may be heated how: the type × procedure table.

use super::detector_type::DetectorType;
use super::procedure::ProcedureKind;
use crate::units::Kelvin;

/// How far the highest temperature of the heater has to stay below a nonrestorable element, K.
///
/// Source: NFPA 72 17.6.2.3 keeps 20 °F (11 °C) between the hottest expected ceiling and a rating; the same distance is kept
/// here so that a functional test never comes near the element. The use for this purpose is the project's own choice.
pub const NONRESTORABLE_MARGIN: Kelvin = Kelvin(11.0);

/// What the table says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heat {
    /// Allowed.
    Allowed,
    /// Only with the heater's highest temperature [`NONRESTORABLE_MARGIN`] or more below the rating.
    BelowElement,
    /// Only when somebody says that the rate function is off, or that the heater is slower than it.
    RateFunctionAsked,
    /// Never: the element would be used up.
    UsesUpElement,
    /// A set point means nothing for this type.
    NoSetPoint,
    /// The rate element trips before the fixed one, so no set point can be taken.
    RateElementFirst,
    /// Nobody knows the type.
    TypeUnknown,
}

/// What may be done with a detector of this type.
///
/// Sources: NFPA 72 table 14.4.3.2 (nonrestorable: no heat test; a combination detector's nonrestorable element must not be
/// damaged); that a rate element trips first follows from usual set points of 12 to 15 °F/min.
pub fn may_heat(detector_type: DetectorType, kind: ProcedureKind) -> Heat {
    use ProcedureKind::{Functional, SetPoint};
    match (detector_type, kind) {
        (DetectorType::Unknown, _) => Heat::TypeUnknown,
        (DetectorType::FixedNonrestorable, _) => Heat::UsesUpElement,
        (DetectorType::CombinationNonrestorable, SetPoint) => Heat::UsesUpElement,
        (DetectorType::CombinationNonrestorable, Functional) => Heat::BelowElement,
        (DetectorType::CombinationRestorable, SetPoint) => Heat::RateElementFirst,
        (DetectorType::RateOfRise, SetPoint) => Heat::NoSetPoint,
        (DetectorType::Electronic, SetPoint) => Heat::RateFunctionAsked,
        (
            DetectorType::RateCompensated
            | DetectorType::FixedRestorable
            | DetectorType::RateOfRise
            | DetectorType::CombinationRestorable
            | DetectorType::Electronic,
            _,
        ) => Heat::Allowed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_covers_every_type() {
        use ProcedureKind::{Functional, SetPoint};
        // Expected: NFPA 72 table 14.4.3.2, as named at `may_heat`; the set points by what an element can show (design 4).
        let expected = [
            (DetectorType::RateCompensated, Heat::Allowed, Heat::Allowed),
            (DetectorType::FixedRestorable, Heat::Allowed, Heat::Allowed),
            (DetectorType::FixedNonrestorable, Heat::UsesUpElement, Heat::UsesUpElement),
            (DetectorType::RateOfRise, Heat::NoSetPoint, Heat::Allowed),
            (DetectorType::CombinationRestorable, Heat::RateElementFirst, Heat::Allowed),
            (DetectorType::CombinationNonrestorable, Heat::UsesUpElement, Heat::BelowElement),
            (DetectorType::Electronic, Heat::RateFunctionAsked, Heat::Allowed),
            (DetectorType::Unknown, Heat::TypeUnknown, Heat::TypeUnknown),
        ];
        assert_eq!(expected.map(|(of, ..)| of), DetectorType::ALL);
        for (detector_type, set_point, functional) in expected {
            assert_eq!(may_heat(detector_type, SetPoint), set_point, "{detector_type:?}");
            assert_eq!(may_heat(detector_type, Functional), functional, "{detector_type:?}");
        }
    }
}
