//! What is on its way to the office's folder, and the folder itself, in words.

use crate::handover::delivery::{AddressFault, Outbox, Parcel, State, Step, Why};
use crate::view::page::sign::{Says, Shape, Tone};
use crate::view::page::{Action, Block, Button, Request, Role, Row};
use crate::view::route::Route;
use crate::view::time;
use crate::view::words::plural;

use super::Sending;
use super::loaded::full_stop;

/// Heading of the section.
pub(super) const DELIVERY: &str = "Send when connected";
/// What it does.
pub(super) const DELIVERY_HELP: &str = "The visit is kept on this phone and sent to the office folder when there is a connection. It counts as delivered only when the office server confirms it.";
/// Key that sends at once.
pub(super) const DELIVER: &str = "Send now";
/// Title of the place where the folder is set.
pub const FOLDER: &str = "Office folder";
/// What to fill in there.
pub const FOLDER_HELP: &str = "A WebDAV folder of your office. Ask the person who runs the server for the address, a user and a password. Sharing and saving files work without it.";
/// Line for the address.
pub const ADDRESS: &str = "Folder address";
/// Help for the address.
pub const ADDRESS_HELP: &str = "Like https://office.example/inbox/, or /inbox/ on the server this app came from. Leave empty to send nothing. For a server other than this app's own, the person who hosts the app must allow it.";
/// Line for the user.
pub const USER: &str = "User";
/// Line for the password.
pub const PASSWORD: &str = "Password";
/// Help for the password.
pub const PASSWORD_HELP: &str = "Kept until the app is closed, unless you switch on the line below.";
/// Switch that keeps the password.
pub const KEEP_PASSWORD: &str = "Keep the password on this phone";
/// Key that saves the folder.
pub const SAVE_FOLDER: &str = "Save folder";
/// Key that fetches what others sent.
pub(super) const FETCH: &str = "Fetch from the office folder";
/// Said where nothing was fetched because there is nothing new.
pub const NOTHING_NEW: &str = "No new files in the folder.";
/// Said of a fetched file that is not the one its name was made from.
pub const NOT_WHOLE: &str = "The file is not what its name says: it was cut off or changed. Fetch it again later, or ask for it to be sent again.";

/// How many confirmed files are listed. Own figure: those of a few days.
const CONFIRMED_SHOWN: usize = 5;

/// Why an address is none, as a sentence.
pub fn address_words(fault: AddressFault) -> String {
    full_stop(&fault.to_string())
}

/// Why the folder could not be listed or read, as a sentence.
pub fn folder_words(why: Why) -> String {
    why.words().replace(" It will retry automatically.", " Try again later.")
}

/// Why one file of it could not be fetched, as a sentence.
pub fn file_words(why: Why) -> String {
    match why {
        Why::NoFolder => "It is no longer in the folder.".into(),
        Why::Forbidden | Why::SignIn => "This user may not read it. Ask the person who runs the server.".into(),
        Why::Network => "It did not arrive whole. Try again later.".into(),
        why => folder_words(why),
    }
}

/// Adds what a receipt proves to what has left the phone.
pub fn note_receipt(handed: &mut super::HandedOver, parcel: &Parcel) {
    for (chain, head) in &parcel.chains {
        if handed.get(chain).is_none_or(|known| known.0 < head.0) {
            handed.insert(chain.clone(), head.clone());
        }
    }
}

/// The section.
pub(super) fn section(of: Sending<'_>) -> Block {
    let Sending { folder, outbox, offset, .. } = of;
    let place = |label| Button::new("to-folder", label, Action::Go(Route::Folder)).wide();
    let mut blocks = vec![Block::text("deliver-help", Role::Plain, DELIVERY_HELP)];
    if folder.is_empty() {
        blocks.push(Block::buttons(vec![place("Set the office folder")]));
    } else {
        blocks.push(Block::text("deliver-state", Role::Plain, summary(outbox)));
        let send = Button::new("deliver", DELIVER, Action::Do(Request::Deliver)).icon(Shape::Share).wide();
        if of.visit.is_some_and(|visit| visit.active().next().is_some()) {
            blocks.push(Block::text("deliver-waits", Role::Plain, "Nothing is sent while a test is running."));
        }
        blocks.push(Block::buttons(vec![send.off(!of.whole), place(FOLDER)]));
    }
    let waiting = outbox.files().filter(|(_, state)| !matches!(state, State::Delivered(_)));
    let confirmed = outbox.files().rev().filter(|(_, state)| matches!(state, State::Delivered(_)));
    let row = |(parcel, state): (&Parcel, State)| row(parcel, state, offset);
    let rows: Vec<Row> = waiting.chain(confirmed.take(CONFIRMED_SHOWN)).map(row).collect();
    if !rows.is_empty() {
        blocks.push(Block::rows("Files", rows));
    }
    if outbox.files().any(|(_, state)| matches!(state, State::Refused(_))) {
        blocks.push(Block::notice(
            "deliver-stopped",
            Says::Warning,
            "Not delivered",
            "Nothing is lost: the files stay on this phone. Fix what's listed above, then tap “Send now”.",
        ));
    }
    Block::section("send-when-connected", DELIVERY, blocks)
}

fn summary(outbox: &Outbox) -> String {
    match (outbox.unconfirmed(), outbox.files().count()) {
        (0, 0) => "No visit was sent to the folder yet.".into(),
        (0, all) => format!("The office has {}, confirmed.", plural(all, "file", "files")),
        (waiting, _) => format!("{} saved on this phone, not confirmed.", plural(waiting, "file", "files")),
    }
}

fn row(parcel: &Parcel, state: State, offset: i64) -> Row {
    let (word, shape, tone, detail) = match state {
        State::Waiting(None) => ("Waiting", Shape::Open, Tone::Plain, "Saved, not confirmed.".to_string()),
        State::Waiting(Some(why)) => {
            ("Waiting", Shape::Open, Tone::Warn, format!("Saved, not confirmed. {}", why.words()))
        }
        State::Sending(Step::Put) => ("Sending", Shape::Share, Tone::Plain, "Saved, not confirmed.".to_string()),
        State::Sending(Step::ReadBack { .. }) => (
            "Checking",
            Shape::Share,
            Tone::Plain,
            "Saved, not confirmed. Comparing with the server’s copy.".to_string(),
        ),
        State::Delivered(at) => {
            ("Delivered", Shape::Tick, Tone::Good, format!("The office has it, confirmed {}.", time::wall(at, offset)))
        }
        State::Refused(why) => {
            ("Not delivered", Shape::Warning, Tone::Warn, format!("Saved on this phone. {}", why.words()))
        }
    };
    let detail = match parcel.without {
        None | Some(0) => detail,
        Some(1) => format!("{detail} 1 photo was left out. It stays on this phone."),
        Some(photos) => format!("{detail} {photos} photos were left out. They stay on this phone."),
    };
    let name = parcel.name.strip_prefix("soakbook-").unwrap_or(&parcel.name);
    let name = name.strip_suffix(".json").unwrap_or(name).to_string();
    Row::new("outbox-file", name, detail).badge(shape, tone, word)
}
