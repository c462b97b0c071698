//! Settings: unit, theme, alerts, storage, what the app is and what it defers to.

use super::cues::CueKind;
use super::prefs::Theme;
use crate::units::Degree;

/// Heading of the settings.
pub const TITLE: &str = "Settings";
/// Heading of units and theme.
pub const LOOK: &str = "Units and look";
/// Heading of the alerts.
pub const CUES: &str = "Alerts";
/// What the list of alerts is for.
pub const CUES_HELP: &str = "Tap one to hear and feel it as in a test. A locked phone can't alert you.";
/// Heading of the storage.
pub const STORAGE: &str = "Storage";
/// Key that asks for the promise.
pub const PERSIST: &str = "Allow storage";
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
/// The switches of the alerts.
pub const CHANNELS: [&str; 3] = ["Sound", "Vibration", "Speech"];

/// Every unit with its value and words.
pub const UNITS: [(Degree, &str, &str); 2] = [(Degree::F, "F", "°F"), (Degree::C, "C", "°C")];

/// Every theme with its value and words.
pub const THEMES: [(Theme, &str, &str); 3] = [
    (Theme::Phone, "phone", "Same as phone"),
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
        Some(true) => ("Kept", "The browser won't delete the data on its own. Send it anyway: phones get lost."),
        Some(false) => ("Not promised", "Browser may delete this data. Add to home screen, allow storage, send often."),
        None => ("Not known", "This browser doesn't say. Add to home screen and send often."),
    }
}

/// Which version this is.
pub fn version(version: &str) -> String {
    format!("Soakbook {version}, calculation version {}", crate::findings::METHOD)
}
