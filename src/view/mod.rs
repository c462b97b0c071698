//! Screen-shaped data, one file per screen, and every text that is not the trade's own word.
//!
//! Pure. Everything a screen decides by a comparison is decided here: labels, what is enabled, what is shown. Knows nothing
//! of leptos or the browser. Reading order: `prefs`, `place`, `words`, `time`, `test`, `cues`, `visit`, then the others.

pub mod at_panel;
pub mod before;
pub mod check_file;
pub mod computed;
pub mod conflicts;
pub mod cues;
pub mod demo;
pub mod due;
pub mod find;
pub mod findings;
pub mod forms;
pub mod handover;
pub mod heater;
pub mod invented;
pub mod leaving;
pub mod locale;
pub mod office;
pub mod page;
pub mod people;
pub mod photos;
pub mod play;
pub mod position;
pub mod prefs;
pub mod profile;
pub mod profile_run;
pub mod record;
pub mod register;
pub mod remedy;
pub mod route;
pub mod settings;
pub mod sheet;
pub mod test;
pub mod time;
pub mod trace;
pub mod visit;
pub mod walk;
pub mod words;
