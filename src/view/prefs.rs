//! What a user has chosen: unit, theme, which cues. Kept as a setting, in no entry.

use super::page::Setting;
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
    /// The office's folder that visits are sent to; empty for none.
    pub folder: String,
    /// Who signs in there; empty where nobody has to.
    pub folder_user: String,
    /// Whether "a locked phone cannot ring" was said.
    pub locked_phone_said: bool,
    /// Whether the warning about a tab on iOS was read.
    pub tab_warning_read: bool,
}

settings!(Prefs {
    unit,
    theme,
    sound,
    vibration,
    speech,
    visit,
    folder,
    folder_user,
    locked_phone_said,
    tab_warning_read
});

impl Default for Prefs {
    fn default() -> Prefs {
        Prefs {
            unit: Degree::F,
            theme: Theme::Phone,
            sound: true,
            vibration: true,
            speech: false,
            visit: None,
            folder: String::new(),
            folder_user: String::new(),
            locked_phone_said: false,
            tab_warning_read: false,
        }
    }
}

/// A switch that is on.
pub const ON: &str = "on";
/// A switch that is off.
pub const OFF: &str = "off";

/// The units: value, words.
pub const UNITS: [(&str, &str); 2] = [("F", "°F"), ("C", "°C")];
/// The themes: value, words.
pub const THEMES: [(&str, &str); 3] =
    [("phone", "Same as phone"), ("light", "Light, for sun"), ("dark", "Dark, for night")];

impl Prefs {
    /// The value of a setting, as it is chosen; empty for the visit, which is not chosen from a list.
    pub fn get(&self, setting: Setting) -> &'static str {
        let switch = |on: bool| if on { ON } else { OFF };
        match setting {
            Setting::Unit if self.unit == Degree::C => "C",
            Setting::Unit => "F",
            Setting::Theme => match self.theme {
                Theme::Phone => "phone",
                Theme::Light => "light",
                Theme::Dark => "dark",
            },
            Setting::Sound => switch(self.sound),
            Setting::Vibration => switch(self.vibration),
            Setting::Speech => switch(self.speech),
            Setting::Visit => "",
        }
    }

    /// Sets a value; one that is none changes nothing.
    pub fn set(&mut self, setting: Setting, value: &str) {
        match (setting, value) {
            (Setting::Unit, "C") => self.unit = Degree::C,
            (Setting::Unit, "F") => self.unit = Degree::F,
            (Setting::Theme, "phone") => self.theme = Theme::Phone,
            (Setting::Theme, "light") => self.theme = Theme::Light,
            (Setting::Theme, "dark") => self.theme = Theme::Dark,
            (Setting::Sound, ON | OFF) => self.sound = value == ON,
            (Setting::Vibration, ON | OFF) => self.vibration = value == ON,
            (Setting::Speech, ON | OFF) => self.speech = value == ON,
            (Setting::Visit, id) => self.visit = crate::book::Id::try_parse(id).ok(),
            _ => {}
        }
    }
}
