//! Conversions and displayed digits.

use soakbook::encoding::stored::Stored;
use soakbook::units::{
    Celsius, Degree, Difference, Kelvin, NotANumber, Reading, Scale, Seconds, interval_to, point_to, rate_to,
};

use crate::tolerances::assert_close;

#[test]
fn points_convert_as_published() {
    // NIST SP 811 (2008), B.9: t/°C = (t/°F − 32)/1.8, T/K = (t/°F + 459.67)/1.8; the fractions are exact.
    use Scale::{C, F, K};
    for (value, from, to, expected) in [
        (135.0, F, C, 515.0 / 9.0),
        (-40.0, F, C, -40.0),
        (0.0, F, C, -160.0 / 9.0),
        (32.0, F, C, 0.0),
        (136.4, F, C, 58.0),
        (57.0, C, F, 134.6),
        (-273.15, C, F, -459.67),
        (0.0, C, K, 273.15),
        (-459.67, F, K, 0.0),
        (300.0, K, F, 80.33),
        (300.0, K, C, 26.85),
    ] {
        assert_close("last digits", point_to(value, from, to), expected);
    }
}

#[test]
fn a_difference_knows_no_offset() {
    // NIST SP 811 (2008), B.9: an interval of 1 °F is 5/9 K; the fractions are exact.
    use Scale::{C, F, K};
    assert_close("last digits", interval_to(20.0, F, C), 100.0 / 9.0);
    assert_close("last digits", interval_to(0.5, C, F), 0.9);
    assert_close("last digits", interval_to(0.35, C, K), 0.35);
    assert_close("last digits", rate_to(15.0, F, C), 25.0 / 3.0);
    assert_close("last digits", rate_to(1.0, C, F), 1.8);
    let tolerance = Difference { value: 18, scale: 0, unit: Degree::F };
    assert_close("last digits", tolerance.kelvin().0, 10.0);
    assert_eq!(Kelvin(10.0).text(Degree::F, 1), "18.0");
    assert_eq!(Celsius(10.0).text(Degree::F, 1), "50.0");
}

#[test]
fn points_and_differences_combine_as_quantities() {
    assert_eq!(Celsius(57.5) - Celsius(57.0), Kelvin(0.5));
    assert_eq!(Celsius(57.0) + Kelvin(0.5), Celsius(57.5));
    assert_eq!(Celsius(57.0) - Kelvin(0.5), Celsius(56.5));
    assert_eq!((Kelvin(6.0) / Seconds(60.0)) * Seconds::from_millis(30_000), Kelvin(3.0));
}

#[test]
fn a_reading_keeps_the_digits_displayed() {
    #[track_caller]
    fn check(typed: &str, value: i64, scale: i8, text: &str) {
        let reading = Reading::parse(typed, Degree::F).unwrap();
        assert_eq!(reading, Reading { value, scale, unit: Degree::F });
        assert_eq!(reading.text(), text);
    }
    check("192.5", 1925, -1, "192.5");
    check("192,5", 1925, -1, "192.5");
    check("192.50", 19250, -2, "192.50");
    check(" 192 ", 192, 0, "192");
    check("\u{2212}3", -3, 0, "-3");
    check("-0,05", -5, -2, "-0.05");
    check("+.5", 5, -1, "0.5");
    check("0", 0, 0, "0");
    assert_eq!(Reading { value: 19, scale: 1, unit: Degree::C }.text(), "190");
    assert_close("last digits", Reading { value: 1925, scale: -1, unit: Degree::F }.celsius().0, 1605.0 / 18.0);
    assert_close("last digits", Reading { value: 1925, scale: -1, unit: Degree::F }.resolution().0, 1.0 / 18.0);
}

#[test]
fn what_is_no_number_is_refused() {
    #[track_caller]
    fn check(typed: &str, expected: NotANumber) {
        assert_eq!(Difference::parse(typed, Degree::C), Err(expected), "{typed:?}");
    }
    check("", NotANumber::Empty);
    check("  ", NotANumber::Empty);
    for malformed in ["-", ".", "5.", "1,234.5", "1e3", "--3", "0x10", "NaN", "5 7", "٣"] {
        check(malformed, NotANumber::Malformed);
    }
    check("1234567890123456", NotANumber::TooManyDigits);
}

#[test]
fn a_reading_is_stored_as_value_scale_and_unit() {
    let reading = Reading { value: 1925, scale: -1, unit: Degree::F };
    let json = reading.to_value();
    assert_eq!(json, serde_json::json!({ "value": 1925, "scale": -1, "unit": "F" }));
    let later = serde_json::json!({ "value": 1925, "scale": -1, "unit": "F", "from a newer app": true });
    assert_eq!(Reading::from_value(&later), Some(reading));
    assert_eq!(Reading::from_value(&serde_json::json!({ "value": 1.5, "scale": 0, "unit": "C" })), None);
}

#[test]
fn no_number_on_screen_is_a_negative_zero() {
    assert_eq!(Kelvin(-0.04).text(Degree::C, 1), "0.0");
    assert_eq!(Kelvin(-0.06).text(Degree::C, 1), "−0.1");
}
