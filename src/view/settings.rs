//! Settings: unit, theme, cues, storage, what the app is and what it defers to.

use super::cues::CueKind;
use super::prefs::Theme;
use crate::units::Degree;

/// Heading of the settings.
pub const TITLE: &str = "Settings";
/// Heading of the cues.
pub const CUES: &str = "Cues";
/// What the list of cues is for.
pub const CUES_HELP: &str =
    "Tap one to hear, feel and hear it spoken as it comes in a test. A locked phone cannot ring.";
/// Heading of the storage.
pub const STORAGE: &str = "Storage";
/// Key that asks for the promise.
pub const PERSIST: &str = "Ask the browser to keep the data";
/// Heading of the cautions.
pub const CAUTIONS: &str = "Cautions";
/// Heading of what the app is.
pub const ABOUT: &str = "About";
/// Question for the unit.
pub const UNIT: &str = "Temperatures in";
/// Question for the theme.
pub const THEME: &str = "Light or dark";
/// The words of a switch.
pub const ON_OFF: (&str, &str) = ("On", "Off");
/// The switches of the cues.
pub const CHANNELS: [&str; 3] = ["Sound", "Vibration", "Speech"];

/// Every unit with its value and words.
pub const UNITS: [(Degree, &str, &str); 2] =
    [(Degree::F, "F", "°F, differences in °F"), (Degree::C, "C", "°C, differences in K")];

/// Every theme with its value and words.
pub const THEMES: [(Theme, &str, &str); 3] = [
    (Theme::Phone, "phone", "As the phone has it"),
    (Theme::Light, "light", "Light, for sun"),
    (Theme::Dark, "dark", "Dark, for night"),
];

/// The name by which a cue's row is found.
pub fn cue_name(kind: CueKind) -> &'static str {
    match kind {
        CueKind::Warning => "warning",
        CueKind::Top => "top",
        CueKind::HeatOff => "heat-off",
        CueKind::HeatOn => "heat-on",
        CueKind::NoTrip => "no-trip",
        CueKind::TakeOff => "take-off",
        CueKind::Complete => "complete",
        CueKind::NotRecorded => "not-recorded",
    }
}

/// Whether the browser has promised to keep the data: a word and a sentence.
pub fn storage(persisted: Option<bool>) -> (&'static str, &'static str) {
    match persisted {
        Some(true) => (
            "Kept",
            "The browser has promised not to erase the data by itself. Hand over all the same: a phone can be lost.",
        ),
        Some(false) => (
            "Not promised",
            "The browser may erase the data when room is short or the app is not used. Put the app on the home screen, ask the browser, and hand over often.",
        ),
        None => (
            "Not known",
            "This browser does not say whether it keeps the data. Put the app on the home screen and hand over often.",
        ),
    }
}

/// Which version this is.
pub fn version(version: &str) -> String {
    format!("Soakbook {version}, findings by method {}", crate::findings::METHOD)
}
