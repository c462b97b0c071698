//! Hazardous (classified) locations: what an area is classified as, what a heater is approved for, and the gas test before heat.
//!
//! The app compares no class with another: a named person holds the heater's approval against the area's classification.

use crate::units::Decimal;

/// A class as the drawing or the marking gives it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Classification {
    /// Class, e.g. "Class I".
    pub class: Option<String>,
    /// Division or zone.
    pub division: Option<String>,
    /// Gas or dust group.
    pub group: Option<String>,
    /// Temperature code.
    pub temperature_code: Option<String>,
}

impl Classification {
    /// Whether nothing is filled in.
    pub fn is_empty(&self) -> bool {
        *self == Classification::default()
    }

    /// What is filled in, with commas.
    pub fn words(&self) -> String {
        let parts = [&self.class, &self.division, &self.group, &self.temperature_code];
        parts.into_iter().flatten().map(String::as_str).collect::<Vec<_>>().join(", ")
    }
}

/// What a gas meter measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Gas {
    /// Combustible gas, percent of the lower explosive limit.
    Lel,
    /// Oxygen, percent by volume.
    Oxygen,
}

/// A meter's reading as shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct GasReading {
    /// What was measured.
    pub gas: Gas,
    /// Percent.
    pub percent: Decimal,
}

/// Combustible gas from which heat is refused whatever the permit says, % LEL.
///
/// Common practice, no published source; local permits are stricter.
pub const LEL_NEVER: f64 = 10.0;

/// Oxygen outside of which heat is refused, % by volume.
///
/// Source: OSHA 29 CFR 1910.146(b), "hazardous atmosphere", from memory.
pub const OXYGEN: (f64, f64) = (19.5, 23.5);

/// What a gas test says of heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GasVerdict {
    /// Heat may go on as far as the gas test is concerned.
    Clear,
    /// One of the two gases was not measured.
    NotMeasured(Gas),
    /// Combustible gas above what the permit allows.
    Combustible {
        /// The reading, % LEL.
        percent: f64,
        /// The most that is allowed, % LEL.
        most: f64,
    },
    /// Oxygen out of range.
    Oxygen {
        /// The reading, %.
        percent: f64,
    },
}

/// Holds a gas test against a permit. Any combustible gas refuses unless the permit states a limit, and from [`LEL_NEVER`] on always.
pub fn gas_verdict(readings: &[GasReading], permit_lel: Option<Decimal>) -> GasVerdict {
    let of = |gas| readings.iter().filter(move |reading| reading.gas == gas).map(|reading| reading.percent.number());
    // Of several readings the worst counts.
    let Some(lel) = of(Gas::Lel).reduce(f64::max) else { return GasVerdict::NotMeasured(Gas::Lel) };
    if of(Gas::Oxygen).next().is_none() {
        return GasVerdict::NotMeasured(Gas::Oxygen);
    }
    let most = permit_lel.map_or(0.0, |limit| limit.number().max(0.0));
    if lel >= LEL_NEVER || lel > most {
        return GasVerdict::Combustible { percent: lel, most: most.min(LEL_NEVER) };
    }
    match of(Gas::Oxygen).find(|percent| !(OXYGEN.0..=OXYGEN.1).contains(percent)) {
        Some(percent) => GasVerdict::Oxygen { percent },
        None => GasVerdict::Clear,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lel(value: i64) -> GasReading {
        GasReading { gas: Gas::Lel, percent: Decimal { value, scale: 0 } }
    }

    fn oxygen(value: i64) -> GasReading {
        GasReading { gas: Gas::Oxygen, percent: Decimal { value, scale: -1 } }
    }

    // Expected: the rule as the project states it (any LEL refuses without a limit on the permit, 10 % always; oxygen 19.5 to
    // 23.5 %), own figures but for the oxygen range.
    #[test]
    fn any_gas_refuses_unless_the_permit_has_a_limit_and_ten_percent_always() {
        let air = oxygen(209);
        assert_eq!(gas_verdict(&[lel(0), air], None), GasVerdict::Clear);
        assert_eq!(gas_verdict(&[lel(1), air], None), GasVerdict::Combustible { percent: 1.0, most: 0.0 });
        assert_eq!(gas_verdict(&[lel(3), air], Some(lel(5).percent)), GasVerdict::Clear);
        assert_eq!(
            gas_verdict(&[lel(6), air], Some(lel(5).percent)),
            GasVerdict::Combustible { percent: 6.0, most: 5.0 }
        );
        assert_eq!(
            gas_verdict(&[lel(10), air], Some(lel(50).percent)),
            GasVerdict::Combustible { percent: 10.0, most: 10.0 }
        );
        assert_eq!(gas_verdict(&[lel(0), lel(2), air], None), GasVerdict::Combustible { percent: 2.0, most: 0.0 });
    }

    #[test]
    fn both_gases_have_to_be_measured_and_oxygen_be_in_range() {
        assert_eq!(gas_verdict(&[oxygen(209)], None), GasVerdict::NotMeasured(Gas::Lel));
        assert_eq!(gas_verdict(&[lel(0)], None), GasVerdict::NotMeasured(Gas::Oxygen));
        assert_eq!(gas_verdict(&[lel(0), oxygen(195)], None), GasVerdict::Clear);
        assert_eq!(gas_verdict(&[lel(0), oxygen(235)], None), GasVerdict::Clear);
        assert_eq!(gas_verdict(&[lel(0), oxygen(194)], None), GasVerdict::Oxygen { percent: 19.4 });
        assert_eq!(gas_verdict(&[lel(0), oxygen(236)], None), GasVerdict::Oxygen { percent: 23.6 });
    }
}
