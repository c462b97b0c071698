//! Texts of the register and its forms.

#![allow(missing_docs, reason = "each is its own text")]

pub const REGISTER: &str = "Register";
pub const SITE: &str = "Site";
pub const AREA: &str = "Area";
pub const CIRCUIT: &str = "Circuit";
pub const CIRCUITS: &str = "Circuits";
pub const DETECTOR: &str = "Detector";
pub const MARKING: &str = "Correction of a marking";
pub const HEATERS: &str = "Heaters";
pub const PROCEDURES: &str = "Procedures";
pub const INVENTED: &str = "invented for demonstration";
pub const RELEASES: &str = "Releases";
pub const CLASSIFIED: &str = "Classified";
pub const CONFLICT: &str = "Two versions";
pub const TAKEN_AWAY: &str = "Taken away";
pub const HALF_FILLED: &str = "Half filled";
pub const HALF_FILLED_NEW: &str = "a new one";
pub const HALF_FILLED_WORD: &str = "Half filled";
pub const TAKEN_UP: &str =
    "This form was left half filled. What you typed is here again; nothing of it is in the register yet.";
pub const START_AFRESH: &str = "Start afresh";
pub const NO_SITE: &str = "No site yet";
pub const NO_SITE_WORDS: &str = "A site holds areas, an area holds detectors. Begin with the site; the rest follows.";
pub const NO_HEATER_WORDS: &str =
    "No heater yet. Add the one you will use: its settings, what it does by itself, how well it is known.";
pub const NO_PROCEDURE_WORDS: &str =
    "No procedure yet. The usual numbers are filled in; hold them against the owner's and confirm them.";
pub const NO_AREA_WORDS: &str = "No area yet. Detectors hang in areas, so add an area first.";
pub const ADD_SITE: &str = "Add a site";
pub const ADD_AREA: &str = "Add an area";
pub const ADD_CIRCUIT: &str = "Add a circuit";
pub const ADD_DETECTOR: &str = "Add a detector";
pub const ADD_HEATER: &str = "Add a heater";
pub const ADD_PROCEDURE: &str = "Add a procedure";
pub const LOAD_DEMO: &str = "Try the invented demo site";
pub const CHOOSE_ONE: &str = "Nothing chosen";
pub const CHOOSE_ONE_WORDS: &str = "Tap a line to see and change it here.";
pub const FIRST_THIS: &str = "First";
pub const WRONG_WORD: &str = "Not saved";
pub const WRONG: &str = "Nothing was stored. What is wrong stands at each field.";
pub const TAKE_AWAY: &str = "It was taken away";
pub const PUT_BACK_UP: &str = "It is there again";
pub const TAKEN_AWAY_WORDS: &str = "This detector was taken away. Its past stays; it is no longer due.";
pub const CONFLICT_WORD: &str = "Two phones, two versions";
pub const CONFLICT_WORDS: &str =
    "Both were given without knowing of the other. Choose what holds; the other stays in the record.";
pub const THIS_HOLDS: &str = "This holds";
pub const TAB_WORD: &str = "Before you enter own data";
pub const TAB_WARNING: &str = "This browser can erase what a tab holds after 7 days without use. Add this page to the home screen first (share, then “Add to Home Screen”) and open it there. The demo may be tried in the tab.";
pub const TAB_KNOWN: &str = "I know, go on in this tab";
pub const KEPT_TITLE: &str = "Data on this phone";
pub const KEPT: &str = "The browser promised to keep it";
pub const KEPT_DETAIL: &str =
    "It is erased only when somebody clears this site's data. A bundle handed over is safe from that, too.";
pub const NOT_KEPT: &str = "The browser made no promise to keep it";
pub const NOT_KEPT_DETAIL: &str =
    "It may erase the data when the phone runs out of room. Hand over a bundle after each visit.";
pub const KEPT_UNKNOWN: &str = "The browser does not say whether it keeps it";
pub const ASK_TO_KEEP: &str = "Ask the browser to keep it";

pub const SAVE_ANOTHER: &str = "Save, then another like it";

/// How many detectors an area has.
pub fn detectors(count: usize) -> String {
    match count {
        0 => "no detector".into(),
        1 => "1 detector".into(),
        _ => format!("{count} detectors"),
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
    format!("Make it {}", text.replacen('-', "−", 1))
}
