//! What a user has chosen: unit, theme, which cues. Kept as a setting, in no entry.

use crate::encoding::stored::{names, settings};
use crate::units::Degree;

/// Light, dark, or as the phone has it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// As the phone has it.
    #[default]
    Phone,
    /// Light, for sun.
    Light,
    /// Dark, for night.
    Dark,
}

names!(Theme { Phone = "phone", Light = "light", Dark = "dark" });

/// Preferences.
#[derive(Clone, Debug, PartialEq)]
pub struct Prefs {
    /// Unit on screen.
    pub unit: Degree,
    /// Theme.
    pub theme: Theme,
    /// Whether cues sound.
    pub sound: bool,
    /// Whether cues vibrate.
    pub vibration: bool,
    /// Whether cues are spoken.
    pub speech: bool,
    /// The visit that is open on screen.
    pub visit: Option<crate::book::Id>,
    /// Whether "a locked phone cannot ring" was said.
    pub locked_phone_said: bool,
    /// Whether the warning about a tab on iOS was read.
    pub tab_warning_read: bool,
}

settings!(Prefs { unit, theme, sound, vibration, speech, visit, locked_phone_said, tab_warning_read });

impl Default for Prefs {
    fn default() -> Prefs {
        Prefs {
            unit: Degree::F,
            theme: Theme::Phone,
            sound: true,
            vibration: true,
            speech: false,
            visit: None,
            locked_phone_said: false,
            tab_warning_read: false,
        }
    }
}
