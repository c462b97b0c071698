//! Texts of the register and its forms.

#![allow(missing_docs, reason = "each is its own text")]

use super::plural;

pub const REGISTER: &str = "Devices";
pub const DUE: &str = "Due";
pub const SITE: &str = "Site";
pub const AREA: &str = "Area";
pub const AREAS: &str = "Areas";
pub const CIRCUIT: &str = "Circuit";
pub const CIRCUITS: &str = "Circuits";
pub const DETECTOR: &str = "Position";
pub const MARKING: &str = "Fix of a rating";
pub const STEP: &str = "Visit step";
pub const SAVED_WORD: &str = "Saved";
pub const HEATERS: &str = "Heaters";
pub const PROCEDURES: &str = "Procedures";
pub const INVENTED: &str = "invented for demonstration";
pub const RELEASES: &str = "Releases";
pub const CLASSIFIED: &str = "Classified";
pub const CONFLICT: &str = "Two versions";
pub const TAKEN_AWAY: &str = "Removed";
pub const HALF_FILLED: &str = "Drafts";
pub const HALF_FILLED_NEW: &str = "new";
pub const HALF_FILLED_WORD: &str = "Draft";
pub const TAKEN_UP: &str = "Unsaved draft restored.";
pub const START_AFRESH: &str = "Discard draft";
pub const NO_SITE: &str = "No site yet";
pub const NO_SITE_WORDS: &str = "A site holds areas, an area holds positions. Start with the site; the rest follows.";
pub const NO_HEATER_WORDS: &str = "No heater yet. A few answers are enough to start one.";
pub const NO_PROCEDURE_WORDS: &str = "A functional test needs no procedure. Add one for set-point tests: its numbers come from the heater, the detector's instructions or the owner.";
pub const NO_AREA_WORDS: &str = "No area yet. Add an area first.";
pub const ADD_SITE: &str = "Add a site";
pub const ADD_AREA: &str = "Add an area";
pub const ADD_CIRCUIT: &str = "Add a circuit";
pub const ADD_DETECTOR: &str = "Add a position";
pub const ADD_HEATER: &str = "Add a heater";
pub const ADD_PROCEDURE: &str = "Add a procedure";
pub const LOAD_DEMO: &str = "Try the invented demo site";
pub const CHOOSE_ONE: &str = "Nothing chosen";
pub const CHOOSE_ONE_WORDS: &str = "Tap a line to see and change it here.";
pub const FIRST_THIS: &str = "First";
pub const WRONG_WORD: &str = "Not saved";
pub const WRONG: &str = "Not saved. See the marked fields.";
pub const TAKE_AWAY: &str = "Remove from list";
pub const PUT_BACK_UP: &str = "Put back on list";
pub const TAKEN_AWAY_WORDS: &str = "Removed from the list. Its history stays; it is no longer due.";
pub const CONFLICT_WORD: &str = "Two phones, two versions";
pub const CONFLICT_WORDS: &str =
    "Two phones changed this without knowing of each other. Pick the right one; the other stays on record.";
pub const THIS_HOLDS: &str = "Keep this one";
pub const TAB_WORD: &str = "Before you enter real data";
pub const TAB_WARNING: &str = "This browser can erase what a tab holds after 7 days without use. Add this page to the home screen first (share, then “Add to Home Screen”) and open it there. The demo may be tried in the tab.";
pub const TAB_KNOWN: &str = "I know, continue in this tab";

pub const SAVE_ANOTHER: &str = "Save, then another like it";

/// How many positions an area has.
pub fn positions(count: usize) -> String {
    match count {
        0 => "no positions".into(),
        _ => plural(count, "position", "positions"),
    }
}

/// A new one with everything but the tag of this one.
pub fn like(tag: &str) -> String {
    format!("like {tag}")
}

/// The key that makes it.
pub fn another_like(tag: &str) -> String {
    format!("Another like {tag}")
}

/// The key that puts in a text that was probably meant.
pub fn meant(text: &str) -> String {
    format!("Use {}", text.replacen('-', "−", 1))
}

/// What has just been saved; nothing where it has no name.
pub fn saved(name: &str) -> String {
    if name.is_empty() { String::new() } else { format!("{name} saved.") }
}
