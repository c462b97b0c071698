//! NFPA 72 temperature classes of spot heat detectors, by the marked rating.
//!
//! Source: NFPA 72, temperature classification of heat-sensing fire detectors, the column in °F. The column in °C is rounded on its own,
//! so that a rating marked in °C has a class only where every °F it may stand for has the same one.

use crate::units::{Degree, Kelvin, Reading};

/// A class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TemperatureClass {
    /// Its name.
    pub words: &'static str,
    /// Its lowest rating, °F.
    pub from: i64,
    /// Its highest rating, °F.
    pub to: i64,
    /// The highest ceiling temperature it is for, °F.
    pub ceiling: i64,
}

/// The classes, lowest first.
pub const CLASSES: [TemperatureClass; 7] = [
    class("Low", 100, 134, 80),
    class("Ordinary", 135, 174, 115),
    class("Intermediate", 175, 249, 155),
    class("High", 250, 324, 230),
    class("Extra high", 325, 399, 305),
    class("Very extra high", 400, 499, 380),
    class("Ultra high", 500, 575, 480),
];

const fn class(words: &'static str, from: i64, to: i64, ceiling: i64) -> TemperatureClass {
    TemperatureClass { words, from, to, ceiling }
}

/// How far a rating has to be above the highest ceiling temperature expected: 20 °F.
///
/// Source: NFPA 72 17.6.2.3.
pub const CEILING_MARGIN: Kelvin = Kelvin(20.0 / 1.8);

/// Below this two temperatures are the same, K: what the conversion of units leaves over.
const SAME: f64 = 1e-6;

/// The class of a rating; none outside of the table, and where a rating in °C may stand for two.
pub fn class_of(rating: Reading) -> Option<&'static TemperatureClass> {
    let fahrenheit = (rating.celsius().in_degrees(Degree::F) / SAME).round() * SAME;
    let (low, high) = (fahrenheit.floor() as i64, fahrenheit.ceil() as i64);
    CLASSES.iter().find(|class| class.from <= low && high <= class.to)
}

/// Whether the highest ceiling temperature of an area is too near to a rating.
pub fn is_near_ceiling(rating: Reading, ceiling: Reading) -> bool {
    let room = rating.celsius() - ceiling.celsius();
    room.0 < CEILING_MARGIN.0 - SAME
}

#[cfg(test)]
mod tests {
    use super::*;

    fn f(value: i64) -> Reading {
        Reading { value, scale: 0, unit: Degree::F }
    }

    fn c(value: i64) -> Reading {
        Reading { value, scale: 0, unit: Degree::C }
    }

    #[test]
    fn a_rating_has_the_class_of_the_table() {
        // NFPA 72 table 17.6.2.1, column °F.
        let ends = [
            ("Low", 100, 134),
            ("Ordinary", 135, 174),
            ("Intermediate", 175, 249),
            ("High", 250, 324),
            ("Extra high", 325, 399),
            ("Very extra high", 400, 499),
            ("Ultra high", 500, 575),
        ];
        for (words, from, to) in ends {
            assert_eq!(class_of(f(from)).map(|class| class.words), Some(words));
            assert_eq!(class_of(f(to)).map(|class| class.words), Some(words));
        }
        assert_eq!(class_of(f(99)), None);
        assert_eq!(class_of(f(576)), None);
        // 134.5 °F lies between two.
        assert_eq!(class_of(Reading { value: 1345, scale: -1, unit: Degree::F }), None);
    }

    #[test]
    fn a_rating_in_celsius_has_a_class_only_where_there_is_one_answer() {
        // t/°F = 1.8 t/°C + 32 (NIST SP 811 (2008), B.8): 68 °C is 154.4 °F, 90 °C is 194 °F, 57 °C is 134.6 °F, 121 °C is 249.8 °F.
        assert_eq!(class_of(c(68)).map(|class| class.words), Some("Ordinary"));
        assert_eq!(class_of(c(90)).map(|class| class.words), Some("Intermediate"));
        assert_eq!(class_of(c(57)), None);
        assert_eq!(class_of(c(121)), None);
    }

    #[test]
    fn every_ceiling_of_the_table_keeps_the_margin_to_its_lowest_rating() {
        for class in CLASSES {
            assert!(!is_near_ceiling(f(class.from), f(class.ceiling)), "{}", class.words);
            assert!(is_near_ceiling(f(class.from), f(class.ceiling + 1)), "{}", class.words);
        }
        // 46.2 °C is 115.16 °F, above 135 °F less 20 °F.
        assert!(is_near_ceiling(f(135), Reading { value: 462, scale: -1, unit: Degree::C }));
    }
}
