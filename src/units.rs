//! Temperatures, temperature differences, durations and times, kept apart so that a difference can never be converted as a point, nor a
//! time on one clock be taken for a time on another.
//!
//! Conversions are those of NIST Special Publication 811 (2008), appendix B.9: t/°C = (t/°F − 32)/1.8 and
//! T/K = (t/°F + 459.67)/1.8 for points, a factor of 5/9 alone for differences, tolerances, uncertainties and rates.

mod instant;

pub use instant::{Mono, Span, TestTime, Wall};

use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// A temperature, in °C.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Celsius(pub f64);

/// A temperature difference, in K: a tolerance, an uncertainty, a deviation.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Kelvin(pub f64);

/// A duration, in s.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Seconds(pub f64);

/// A rate of temperature change, in K/s.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct KelvinPerSecond(pub f64);

impl Sub for Celsius {
    type Output = Kelvin;
    fn sub(self, other: Celsius) -> Kelvin {
        Kelvin(self.0 - other.0)
    }
}

impl Add<Kelvin> for Celsius {
    type Output = Celsius;
    fn add(self, difference: Kelvin) -> Celsius {
        Celsius(self.0 + difference.0)
    }
}

impl Sub<Kelvin> for Celsius {
    type Output = Celsius;
    fn sub(self, difference: Kelvin) -> Celsius {
        Celsius(self.0 - difference.0)
    }
}

/// Quantities that may be added to their own kind and scaled by a number; a point on a scale may not.
macro_rules! scalable {
    ($($quantity:ident),*) => {$(
        impl Add for $quantity {
            type Output = $quantity;
            fn add(self, other: $quantity) -> $quantity {
                $quantity(self.0 + other.0)
            }
        }
        impl Sub for $quantity {
            type Output = $quantity;
            fn sub(self, other: $quantity) -> $quantity {
                $quantity(self.0 - other.0)
            }
        }
        impl Neg for $quantity {
            type Output = $quantity;
            fn neg(self) -> $quantity {
                $quantity(-self.0)
            }
        }
        impl Mul<f64> for $quantity {
            type Output = $quantity;
            fn mul(self, factor: f64) -> $quantity {
                $quantity(self.0 * factor)
            }
        }
        impl Div<f64> for $quantity {
            type Output = $quantity;
            fn div(self, divisor: f64) -> $quantity {
                $quantity(self.0 / divisor)
            }
        }
    )*};
}

scalable!(Kelvin, Seconds, KelvinPerSecond);

impl Div<Seconds> for Kelvin {
    type Output = KelvinPerSecond;
    fn div(self, duration: Seconds) -> KelvinPerSecond {
        KelvinPerSecond(self.0 / duration.0)
    }
}

impl Mul<Seconds> for KelvinPerSecond {
    type Output = Kelvin;
    fn mul(self, duration: Seconds) -> Kelvin {
        Kelvin(self.0 * duration.0)
    }
}

impl Seconds {
    /// The duration of so many milliseconds.
    pub fn from_millis(ms: i64) -> Seconds {
        Seconds(ms as f64 / 1000.0)
    }
}

/// The unit of a displayed temperature or difference.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Degree {
    /// Degree Celsius.
    C,
    /// Degree Fahrenheit.
    F,
}

impl Degree {
    /// The unit symbol, `°C` or `°F`.
    pub fn symbol(self) -> &'static str {
        match self {
            Degree::C => "°C",
            Degree::F => "°F",
        }
    }
}

/// A temperature scale that a point can be given on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Celsius, °C.
    C,
    /// Fahrenheit, °F.
    F,
    /// Thermodynamic temperature, K.
    K,
}

impl From<Degree> for Scale {
    fn from(degree: Degree) -> Scale {
        match degree {
            Degree::C => Scale::C,
            Degree::F => Scale::F,
        }
    }
}

/// Temperature of the ice point on the Kelvin scale.
const ICE_POINT_K: f64 = 273.15;
/// Temperature of the ice point on the Fahrenheit scale.
const ICE_POINT_F: f64 = 32.0;
/// Absolute zero lies this far below 0 °F.
const ZERO_F_ABOVE_ABSOLUTE_ZERO: f64 = 459.67;

// Times nine, then divided by five (or the reverse): 1.8 has no exact binary form and would cost the last digit.
fn fahrenheit_to_kelvin_size(degrees: f64) -> f64 {
    degrees * 5.0 / 9.0
}

fn kelvin_to_fahrenheit_size(kelvin: f64) -> f64 {
    kelvin * 9.0 / 5.0
}

/// A temperature `value` on scale `from`, on scale `to`.
pub fn point_to(value: f64, from: Scale, to: Scale) -> f64 {
    match (from, to) {
        (Scale::C, Scale::C) | (Scale::F, Scale::F) | (Scale::K, Scale::K) => value,
        (Scale::F, Scale::C) => fahrenheit_to_kelvin_size(value - ICE_POINT_F),
        (Scale::C, Scale::F) => kelvin_to_fahrenheit_size(value) + ICE_POINT_F,
        (Scale::F, Scale::K) => fahrenheit_to_kelvin_size(value + ZERO_F_ABOVE_ABSOLUTE_ZERO),
        (Scale::K, Scale::F) => kelvin_to_fahrenheit_size(value) - ZERO_F_ABOVE_ABSOLUTE_ZERO,
        (Scale::C, Scale::K) => value + ICE_POINT_K,
        (Scale::K, Scale::C) => value - ICE_POINT_K,
    }
}

/// A temperature difference `value` in degrees of scale `from`, in degrees of scale `to`: the size of the degree alone.
pub fn interval_to(value: f64, from: Scale, to: Scale) -> f64 {
    match (from, to) {
        (Scale::F, Scale::C | Scale::K) => fahrenheit_to_kelvin_size(value),
        (Scale::C | Scale::K, Scale::F) => kelvin_to_fahrenheit_size(value),
        _ => value,
    }
}

/// A rate of temperature change in degrees of scale `from` per unit of time, in degrees of scale `to` per the same unit.
pub fn rate_to(value: f64, from: Scale, to: Scale) -> f64 {
    interval_to(value, from, to)
}

impl Celsius {
    /// The temperature shown as `value` in `unit`.
    pub fn from_degrees(value: f64, unit: Degree) -> Celsius {
        Celsius(point_to(value, unit.into(), Scale::C))
    }

    /// This temperature as a number in `unit`.
    pub fn in_degrees(self, unit: Degree) -> f64 {
        point_to(self.0, Scale::C, unit.into())
    }

    /// This temperature in `unit` with `decimals` digits after the point, without the unit's symbol.
    pub fn text(self, unit: Degree, decimals: usize) -> String {
        fixed(self.in_degrees(unit), decimals)
    }
}

impl Kelvin {
    /// The difference shown as `value` degrees of `unit`.
    pub fn from_degrees(value: f64, unit: Degree) -> Kelvin {
        Kelvin(interval_to(value, unit.into(), Scale::K))
    }

    /// This difference as a number of degrees of `unit`.
    pub fn in_degrees(self, unit: Degree) -> f64 {
        interval_to(self.0, Scale::K, unit.into())
    }

    /// This difference in degrees of `unit` with `decimals` digits after the point, without the unit's symbol.
    pub fn text(self, unit: Degree, decimals: usize) -> String {
        fixed(self.in_degrees(unit), decimals)
    }

    /// The size of this difference without its sign.
    pub fn abs(self) -> Kelvin {
        Kelvin(self.0.abs())
    }
}

/// `value` with `decimals` digits and a minus sign proper, never as a negative zero: "−0.0" on a screen makes people ask what it
/// means.
fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.bytes().all(|b| b == b'0' || b == b'.') => digits.to_string(),
        Some(digits) => format!("\u{2212}{digits}"),
        None => text,
    }
}

/// A temperature as it was displayed or marked: `value` · 10^`scale` in `unit`, so 192.5 °F is `1925, -1, F`. Keeps
/// every digit, because the number of digits is the display's resolution.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Reading {
    /// The digits as one integer.
    pub value: i64,
    /// The power of ten they are to be multiplied by.
    pub scale: i8,
    /// The unit as displayed.
    pub unit: Degree,
}

/// A temperature difference as it was given, in the same form as a [`Reading`]; its conversion knows no offset.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Difference {
    /// The digits as one integer.
    pub value: i64,
    /// The power of ten they are to be multiplied by.
    pub scale: i8,
    /// The unit as given.
    pub unit: Degree,
}

impl Seconds {
    /// Reads what a person typed, such as `2` or `1,5`.
    pub fn parse(text: &str) -> Result<Seconds, NotANumber> {
        let (value, scale) = parse_decimal(text)?;
        Ok(Seconds(decimal_to_f64(value, scale)))
    }
}

impl Reading {
    /// Reads what a person typed, such as `192.5`, `192,5` or `−3`.
    pub fn parse(text: &str, unit: Degree) -> Result<Reading, NotANumber> {
        let (value, scale) = parse_decimal(text)?;
        Ok(Reading { value, scale, unit })
    }

    /// The temperature.
    pub fn celsius(self) -> Celsius {
        Celsius::from_degrees(decimal_to_f64(self.value, self.scale), self.unit)
    }

    /// One step of the last digit displayed.
    pub fn resolution(self) -> Kelvin {
        Kelvin::from_degrees(decimal_to_f64(1, self.scale), self.unit)
    }

    /// The digits as displayed, without the unit's symbol.
    pub fn text(self) -> String {
        decimal_text(self.value, self.scale)
    }
}

impl Difference {
    /// Reads what a person typed, such as `8`, `0,5` or `−8`.
    pub fn parse(text: &str, unit: Degree) -> Result<Difference, NotANumber> {
        let (value, scale) = parse_decimal(text)?;
        Ok(Difference { value, scale, unit })
    }

    /// The difference.
    pub fn kelvin(self) -> Kelvin {
        Kelvin::from_degrees(decimal_to_f64(self.value, self.scale), self.unit)
    }

    /// The digits as given, without the unit's symbol.
    pub fn text(self) -> String {
        decimal_text(self.value, self.scale)
    }
}

/// A number as it was displayed or typed: `value` · 10^`scale`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Decimal {
    /// The digits as one integer.
    pub value: i64,
    /// The power of ten they are to be multiplied by.
    pub scale: i8,
}

impl Decimal {
    /// Reads what a person typed, e.g. `20.9` or `20,9`.
    pub fn parse(text: &str) -> Result<Decimal, NotANumber> {
        let (value, scale) = parse_decimal(text)?;
        Ok(Decimal { value, scale })
    }

    /// The number.
    pub fn number(self) -> f64 {
        decimal_to_f64(self.value, self.scale)
    }

    /// The digits as given.
    pub fn text(self) -> String {
        decimal_text(self.value, self.scale)
    }
}

/// A unit of length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LengthUnit {
    /// Feet.
    Ft,
    /// Metres.
    M,
}

/// A length as it was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Length {
    /// The digits as one integer.
    pub value: i64,
    /// The power of ten they are to be multiplied by.
    pub scale: i8,
    /// The unit as given.
    pub unit: LengthUnit,
}

/// Why a typed number cannot be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotANumber {
    /// Nothing was typed.
    Empty,
    /// Something other than digits, one sign in front and one decimal sign.
    Malformed,
    /// More than [`MAX_DIGITS`] digits.
    TooManyDigits,
}

impl fmt::Display for NotANumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotANumber::Empty => f.write_str("enter a number"),
            NotANumber::Malformed => f.write_str("enter digits with at most one decimal sign, such as 192.5"),
            NotANumber::TooManyDigits => write!(f, "enter at most {MAX_DIGITS} digits"),
        }
    }
}

impl std::error::Error for NotANumber {}

/// The most digits a typed number may have: all such integers are exact in JSON.
pub const MAX_DIGITS: usize = 15;

fn parse_decimal(text: &str) -> Result<(i64, i8), NotANumber> {
    let text = text.trim();
    if text.is_empty() {
        return Err(NotANumber::Empty);
    }
    let (negative, unsigned) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, fraction) = match unsigned.split_once(['.', ',']) {
        Some((_, "")) => return Err(NotANumber::Malformed),
        Some(parts) => parts,
        None => (unsigned, ""),
    };
    let digits = || whole.bytes().chain(fraction.bytes());
    if digits().next().is_none() || !digits().all(|b| b.is_ascii_digit()) {
        return Err(NotANumber::Malformed);
    }
    if digits().count() > MAX_DIGITS {
        return Err(NotANumber::TooManyDigits);
    }
    let magnitude = digits().fold(0_i64, |value, digit| value * 10 + i64::from(digit - b'0'));
    Ok((if negative { -magnitude } else { magnitude }, -(fraction.len() as i8)))
}

/// The powers of ten that displays show.
const POWERS: [f64; 4] = [1.0, 10.0, 100.0, 1000.0];

fn decimal_to_f64(value: i64, scale: i8) -> f64 {
    // Dividing by an exact power of ten rounds once; multiplying by 0.1 would round twice.
    let places = scale.unsigned_abs();
    let power = POWERS.get(usize::from(places)).copied().unwrap_or_else(|| 10_f64.powi(places.into()));
    if scale < 0 { value as f64 / power } else { value as f64 * power }
}

fn decimal_text(value: i64, scale: i8) -> String {
    let sign = if value < 0 { "-" } else { "" };
    let digits = value.unsigned_abs();
    let places = usize::from(scale.unsigned_abs());
    if scale >= 0 {
        let zeros = if value == 0 { 0 } else { places };
        return format!("{sign}{digits}{}", "0".repeat(zeros));
    }
    let padded = format!("{digits:0>width$}", width = places + 1);
    let (whole, fraction) = padded.split_at(padded.len() - places);
    format!("{sign}{whole}.{fraction}")
}
