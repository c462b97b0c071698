//! What the browser knows of texts and languages.

use soakbook::browser::text;
use wasm_bindgen_test::wasm_bindgen_test;

#[wasm_bindgen_test]
fn texts_are_composed() {
    // UAX #15, figure 3 and 4: Å from three spellings.
    for spelling in ["\u{212B}", "\u{00C5}", "A\u{030A}"] {
        assert_eq!(text::nfc(spelling), "\u{00C5}");
    }
    assert_eq!(text::nfc(""), "");
}

#[wasm_bindgen_test]
fn the_decimal_sign_follows_the_language() {
    // Unicode CLDR, numbers, symbols: decimal.
    for (language, expected) in [("en-US", '.'), ("de-DE", ','), ("de-CH", '.'), ("fr-FR", ','), ("ja-JP", '.')] {
        assert_eq!(text::decimal_sign(language), expected, "{language}");
    }
}

#[wasm_bindgen_test]
fn fahrenheit_follows_the_region_alone() {
    // From memory: Unicode CLDR, unit preferences, temperature.
    for (language, expected) in [
        ("en-US", true),
        ("es-US", true),
        ("es-Latn-PR", true),
        ("en-us", true),
        ("en-GB", false),
        ("en", false),
        ("de-DE", false),
        ("", false),
    ] {
        assert_eq!(text::prefers_fahrenheit(language), expected, "{language}");
    }
}
