//! What the browser knows of texts and of the person's language.

use js_sys::{JsString, Number};

use super::js::window;

/// The text in Unicode normal form C.
pub fn nfc(text: &str) -> String {
    JsString::from(text).normalize("NFC").into()
}

/// The person's language, as a BCP 47 tag.
pub fn language() -> String {
    window().navigator().language().unwrap_or_else(|| "en".into())
}

/// The sign between whole and decimal digits in a language: a point or a comma.
pub fn decimal_sign(language: &str) -> char {
    let sample = String::from(Number::from(1.5).to_locale_string(language));
    if sample.contains(',') { ',' } else { '.' }
}

/// Whether temperatures are commonly given in °F where this language tag is from. A tag without a region says no.
///
/// Regions as in the unit preferences of Unicode CLDR with the territories and freely associated states of the USA, from
/// memory.
pub fn prefers_fahrenheit(language: &str) -> bool {
    let region = language.split('-').skip(1).find(|part| part.len() == 2).unwrap_or_default().to_ascii_uppercase();
    ["US", "PR", "GU", "VI", "AS", "MP", "FM", "MH", "PW", "BS", "BZ", "KY", "LR"].contains(&region.as_str())
}
