//! Sealed files, in words.

use crate::handover::sealed::{SHORTEST, SealFault};

use super::loaded::full_stop;
use crate::view::words::plural;

/// Key that leads to sealing, and title of the place.
pub const SEAL: &str = "Seal with a passphrase";
/// What it is for.
pub const SEAL_HELP: &str = "A visit file says where detection is off and who locked what. Sealed, it opens only with the passphrase. Tell the receiver the passphrase by phone or in person, not in the same message. A lost passphrase cannot be recovered.";
/// Key that seals and sends.
pub const SEAL_KEY: &str = "Send the sealed file";
/// Title of the place where sealed files are opened.
pub const UNSEAL: &str = "Open sealed files";
/// What to do there.
pub const UNSEAL_HELP: &str = "Enter the passphrase the sender gave you.";
/// Key that opens them.
pub const UNSEAL_KEY: &str = "Open and load";
/// Line for the passphrase.
pub const PASSPHRASE: &str = "Passphrase";
/// Line for it again.
pub const PASSPHRASE_AGAIN: &str = "Enter it again";
/// Said when the two differ.
const PASSPHRASE_DIFFERS: &str = "The two are not the same. Type both again.";
/// Said of a file that is sealed.
pub const SEALED: &str = "It is sealed. Tap “Open sealed files” and type its passphrase.";

/// Key that lets go the files that were not opened.
pub const SKIP: &str = "Skip these files";

/// What is wrong with a passphrase that was typed twice to seal with, as a sentence.
pub fn passphrase_fault(typed: &str, again: &str) -> Option<String> {
    if typed.chars().count() < SHORTEST {
        return Some(format!("Use at least {SHORTEST} characters: several words are easy to say and hard to guess."));
    }
    (typed != again).then(|| PASSPHRASE_DIFFERS.into())
}

/// Files that the passphrase does not open, each named, and why, as a sentence.
pub fn not_opened(files: &[(String, String)], why: &str) -> String {
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    format!("Not opened: {}. {why}", names.join(", "))
}

/// Said before sealing of photos that the file has no room for; empty where it has all.
pub fn left_out(count: usize) -> String {
    let stay = if count == 1 { "It stays" } else { "They stay" };
    match count {
        0 => String::new(),
        _ => format!(
            "{} will not be in the sealed file: it would be too large to open again. {stay} on this phone.",
            plural(count, "photo", "photos")
        ),
    }
}

/// The sealed file could neither be shared nor saved.
pub fn sealed_not_saved(why: &str) -> String {
    format!("The sealed file could not be shared or saved: {why}. Try again.")
}

/// Why a sealed file was not opened, as a sentence.
pub fn seal_words(fault: SealFault) -> String {
    full_stop(&fault.to_string())
}

/// The browser's own means are missing; its words.
pub fn no_seal(why: &str) -> String {
    format!("This browser cannot seal files here: {why}. Open the app at an https address.")
}
