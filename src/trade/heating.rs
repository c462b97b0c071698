//! What may be heated how: the kind × procedure table.

use super::kind::Kind;
use super::procedure::Template;
use crate::units::Kelvin;

/// How far the head's upper temperature has to stay below a nonrestorable element, K.
///
/// Source: NFPA 72 17.6.2.3 keeps 20 °F (11 °C) between the hottest expected ceiling and a rating; the same distance is kept
/// here so that a response check never comes near the element. The use for this purpose is the project's own choice.
pub const NONRESTORABLE_MARGIN: Kelvin = Kelvin(11.0);

/// What the table says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heat {
    /// Allowed.
    Allowed,
    /// Only with the head's upper temperature `NONRESTORABLE_MARGIN` or more below the rating.
    BelowElement,
    /// Only when the owner gives limits for this method (an EN 54-5 class is an air temperature at vanishing rate).
    WithOwnerLimits,
    /// Never: the element would be used up.
    UsesUpElement,
    /// A set point means nothing for this kind.
    NoSetPoint,
}

/// What may be done with a detector of `kind`, marked with an EN 54-5 class or not.
///
/// Sources: NFPA 72 table 14.4.3.2 (nonrestorable: no heat test; a combination detector's nonrestorable element must not be
/// damaged); EN 54-5 (static response at vanishing rate).
pub fn may_heat(kind: Kind, class_marked: bool, template: Template) -> Heat {
    match (kind, template) {
        (Kind::FixedNonrestorable, _) => Heat::UsesUpElement,
        (Kind::CombinationNonrestorable, Template::SetPoint) => Heat::UsesUpElement,
        (Kind::CombinationNonrestorable, Template::Response) => Heat::BelowElement,
        (Kind::RateOfRise, Template::SetPoint) => Heat::NoSetPoint,
        (_, Template::SetPoint) if class_marked => Heat::WithOwnerLimits,
        _ => Heat::Allowed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_covers_every_kind() {
        use Template::{Response, SetPoint};
        // Expected: NFPA 72 table 14.4.3.2 and EN 54-5, as named at `may_heat`.
        let expected = [
            (Kind::RateCompensated, Heat::Allowed, Heat::Allowed),
            (Kind::FixedRestorable, Heat::Allowed, Heat::Allowed),
            (Kind::FixedNonrestorable, Heat::UsesUpElement, Heat::UsesUpElement),
            (Kind::RateOfRise, Heat::NoSetPoint, Heat::Allowed),
            (Kind::CombinationRestorable, Heat::Allowed, Heat::Allowed),
            (Kind::CombinationNonrestorable, Heat::UsesUpElement, Heat::BelowElement),
            (Kind::Electronic, Heat::Allowed, Heat::Allowed),
        ];
        for (kind, set_point, response) in expected {
            assert_eq!(may_heat(kind, false, SetPoint), set_point, "{kind:?}");
            assert_eq!(may_heat(kind, false, Response), response, "{kind:?}");
        }
        assert_eq!(may_heat(Kind::Electronic, true, SetPoint), Heat::WithOwnerLimits);
        assert_eq!(may_heat(Kind::Electronic, true, Response), Heat::Allowed);
    }
}
