//! The Send screen: what leaves the phone, what comes in, and whether the records are in order.

mod chains;
mod delivery;
mod loaded;
mod sealing;

pub use chains::{ChainRow, Names, chain_heads, chain_rows};
pub use delivery::{
    ADDRESS, ADDRESS_HELP, FOLDER, FOLDER_HELP, KEEP_PASSWORD, NOT_WHOLE, NOTHING_NEW, PASSWORD, PASSWORD_HELP,
    SAVE_FOLDER, USER, address_words, file_words, folder_words, note_receipt,
};
pub(super) use loaded::findings_lines;
use loaded::full_stop;
pub use loaded::{
    Fared, Outcome, anomaly_words, check, not_read, not_stored, refused, stopped, taken_in, too_large, unread,
};

pub use sealing::{
    PASSPHRASE, PASSPHRASE_AGAIN, SEAL, SEAL_HELP, SEAL_KEY, SEALED, SKIP, UNSEAL, UNSEAL_HELP, UNSEAL_KEY, left_out,
    no_seal, not_opened, passphrase_fault, seal_words, sealed_not_saved,
};

use super::page::sign::{Look, Says, Shape};
use super::page::{Action, Block, Button, Page, Request, Role, Row};
use super::route::Route;
use super::words::{STILL_READING, plural};
use super::{check_file, office};
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::entry::{Chain, Scope};
use crate::book::register::Register;
use crate::book::visit::{Visit, headings};
use crate::handover::delivery::Outbox;
use crate::handover::{ChainHead, NothingToHandOver, Progress};
use std::collections::BTreeMap;

/// Title of the place.
pub const TITLE: &str = "Send";
/// Heading of what leaves.
pub const OUT: &str = "Send";
/// What a visit file is.
pub const OUT_HELP: &str = "One file with everything recorded in this visit, the site's devices and the heaters used.";
/// Key that sends the visit on screen.
pub const OUT_VISIT: &str = "Send this visit";
/// Key that saves it as a file.
pub const OUT_FILE: &str = "Save this visit as a file";
const NOTHING_YET: &str = "Nothing is recorded on this phone yet.";
/// The word above a file without all photos.
pub const NOT_ALL: &str = "Not all photos";
/// Key that asks whether everything is to be sent.
pub const OUT_ALL: &str = "Send ALL sites";
/// The word above a visit that goes on.
pub const NOT_OVER: &str = "Still in progress";
/// The word above a refusal to send nothing.
pub const NOTHING: &str = "Nothing to send";
/// Heading of the pages that print.
const ON_PAPER: &str = "On paper";
/// Heading of what comes in.
pub const IN: &str = "Load";
/// Key that loads visit files.
pub const IN_KEY: &str = "Load a visit file";
/// What happens then.
pub const IN_HELP: &str = "Choose one or more files, or drop them here. Each is loaded whole or refused with the reason. Nothing here is overwritten.";
/// Said while files are read.
pub const READING: &str = "Reading the files…";
/// Key that stops it.
pub const STOP_LOADING: &str = "Stop loading";
/// Heading of the chains.
pub const CHAINS: &str = "Integrity codes";
/// Why chains are shown.
pub const CHAINS_HELP: &str = "Compare with the receiver's: same codes, same data.";
/// Heading of the check.
pub const CHECK: &str = "Check records";
/// Said when nothing was found.
pub const CHECK_GOOD: &str = "Every record can be read, and none is missing or was altered.";
/// The word for nothing wrong.
pub const CHECK_WORD: &str = "All good";
/// Said above what was found: a word and a sentence.
pub const CHECK_BAD: (&str, &str) = ("Problem found", "Nothing was deleted or changed.");

/// Up to which place each chain has left the phone: by chain, number of entries and last hash.
pub type HandedOver = BTreeMap<String, (usize, String)>;

fn key(chain: Chain) -> String {
    format!("{} {}", chain.scope, chain.phone)
}

/// Notes that chains have left the phone.
pub fn note_handed_over(handed: &mut HandedOver, chains: &[ChainHead]) {
    handed.extend(chains.iter().map(|head| (key(head.chain), (head.count, head.last.to_string()))));
}

/// How many entries made on this phone have not left it: of the visit, and of everything.
pub fn not_handed_over(book: &Book, handed: &HandedOver, phone: Id, visit: Option<Id>) -> (usize, usize) {
    let (mut of_visit, mut of_all) = (0, 0);
    for chain in book.chains().filter(|chain| chain.phone == phone) {
        let left = handed.get(&key(chain)).map_or(0, |(count, _)| *count);
        let here = book.chain(chain).count().saturating_sub(left);
        of_all += here;
        if visit.is_some_and(|visit| chain.scope == Scope::Visit(visit)) {
            of_visit += here;
        }
    }
    (of_visit, of_all)
}

/// Whether everything that this phone made of a visit has left it.
pub fn is_handed_over(book: &Book, handed: &HandedOver, phone: Id, visit: Id) -> bool {
    not_handed_over(book, handed, phone, Some(visit)).0 == 0
}

/// What has not left the phone, as a sentence.
pub fn not_handed_over_words((of_visit, of_all): (usize, usize)) -> String {
    let entries = |n: usize| plural(n, "record", "records");
    match (of_visit, of_all.saturating_sub(of_visit)) {
        (0, 0) => "Everything recorded on this phone was shared or saved as a file. Only the office folder confirms that it arrived.".into(),
        (0, rest) => format!("Not sent yet: {} outside this visit.", entries(rest)),
        (visit, 0) => format!("Not sent yet: {} of this visit.", entries(visit)),
        (visit, rest) => {
            format!("Not sent yet: {} of this visit, {} outside it.", entries(visit), entries(rest))
        }
    }
}

/// What sending everything sends.
pub fn all_of_it(book: &Book, register: &Register) -> String {
    let sites: Vec<&str> =
        register.sites.values().filter_map(|site| site.now()).map(|site| site.name.as_str()).collect();
    let visits = super::words::plural(headings(book).len(), "visit", "visits");
    format!(
        "This sends everything on this phone: {}; {visits}. Send it only to someone who may see all of it.",
        sites.join(", ")
    )
}

fn without_words(count: usize) -> String {
    let stay = if count == 1 { "It stays" } else { "They stay" };
    format!(
        "The file has everything but {}: it would be too large to load again. {stay} on this phone. If you are sending ALL sites, send one visit at a time instead.",
        plural(count, "photo", "photos")
    )
}

/// What is going on at the page, beside what the book says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Transfer {
    /// What has left the phone.
    pub handed: HandedOver,
    /// What became of the last attempt to send, or why nothing could be sent.
    pub said: Option<Result<Left, String>>,
    /// Photos that the file had no room for.
    pub without: usize,
    /// The chains that left by it.
    pub left: Vec<ChainRow>,
    /// By what the table of a day is ordered.
    pub order: office::OrderBy,
    /// The file that is being read, and how far.
    pub loading: Option<Loading>,
    /// What became of the files.
    pub outcomes: Vec<Outcome>,
    /// Sealed files that were loaded and are not opened: name and text.
    pub sealed: Vec<(String, String)>,
    /// What the last check found, and the chains.
    pub checked: Option<(Vec<String>, Vec<ChainRow>)>,
}

/// A file that is being read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Loading {
    /// Its name; empty until the browser has handed it over.
    pub file: String,
    /// How far it is.
    pub progress: Option<Progress>,
}

impl Loading {
    pub(super) fn words(&self) -> String {
        let how_far = match self.progress {
            None => "opening the file".to_string(),
            Some(Progress::Entries(done, of)) => format!("{done} of {of} records read"),
            Some(Progress::Attachments(done, of)) => format!("all records read, {done} of {of} notes and photos read"),
            Some(Progress::Tests(done, of)) => format!("all records read, {done} of {of} tests recalculated"),
        };
        if self.file.is_empty() { format!("{how_far}.") } else { format!("{}: {how_far}.", self.file) }
    }
}

/// What the page is made from.
#[derive(Clone, Copy, Debug)]
pub struct Sending<'a> {
    /// Whether anything is recorded.
    pub any: bool,
    /// The register.
    pub register: &'a Register,
    /// The visit on screen.
    pub visit: Option<&'a Visit>,
    /// The day of the last thing that was done in it.
    pub day: Option<i64>,
    /// Whether the book is read to its end: what is not would be missing from a bundle, a check and a comparison.
    pub whole: bool,
    /// How many entries made here have not left the phone: of the visit, and of everything.
    pub not_sent: (usize, usize),
    /// What sending everything sends.
    pub all_of_it: &'a str,
    /// The office's folder; empty for none.
    pub folder: &'a str,
    /// What is on its way there.
    pub outbox: &'a Outbox,
    /// Local time minus UTC, minutes.
    pub offset: i64,
    /// What is going on.
    pub transfer: &'a Transfer,
}

/// The page. It works on an empty book, too: that is how a new phone gets its data.
pub fn page(of: Sending<'_>) -> Page {
    let reading = (!of.whole).then(|| Block::notice("still-reading", Says::Info, READING, STILL_READING));
    let parts = [
        Block::section("send", OUT, sent(of)),
        Block::sheet(
            "export-all-sheet",
            OUT_ALL,
            vec![
                Block::text("all-of-it", Role::Plain, of.all_of_it.to_string()),
                Block::buttons(vec![
                    Button::new("export-all-yes", OUT_ALL, Action::Close.then(Action::Do(Request::ShareAll)))
                        .look(Look::Primary)
                        .icon(Shape::Share)
                        .wide(),
                ]),
            ],
        ),
        Block::section("on-paper", ON_PAPER, on_paper(of)),
        delivery::section(of),
        Block::section("load", IN, load(of)),
        Block::section("check-records", CHECK, checked(of)),
    ];
    Page {
        name: "handover",
        title: TITLE.into(),
        detail: site_of(of.register, of.visit).into(),
        blocks: reading.into_iter().chain(parts).collect(),
        ..Page::default()
    }
}

fn on_paper(of: Sending<'_>) -> Vec<Block> {
    let day = of.visit.zip(of.day).map(|(visit, day)| Route::Day(visit.site, day));
    let key = |day| Block::buttons(vec![Button::to("day", office::DAY, day).wide().off(!of.whole)]);
    [super::record::keys(of.visit.is_some() && of.whole)].into_iter().chain(day.map(key)).collect()
}

fn sent(of: Sending<'_>) -> Vec<Block> {
    let Transfer { said, without, left, .. } = of.transfer;
    let all = match of.any {
        true => Action::Open("export-all-sheet".into()),
        false => Action::Do(Request::ShareAll),
    };
    let key =
        |key: &'static str, label: &'static str, action: Action| Button::new(key, label, action).wide().off(!of.whole);
    let mut blocks = vec![
        Block::text("send-help", Role::Plain, OUT_HELP),
        Block::text(
            "not-handed-over",
            Role::Plain,
            match of.any {
                true => not_handed_over_words(of.not_sent),
                false => NOTHING_YET.into(),
            },
        ),
    ];
    if of.visit.is_none() {
        blocks.push(Block::text("export-why", Role::Soft, nothing(NothingToHandOver::Visit)));
    }
    blocks.extend(tests_go_on(of.visit).map(|why| Block::notice("tests-go-on", Says::Info, NOT_OVER, why)));
    blocks.push(Block::buttons(vec![
        key("export", OUT_VISIT, Action::Do(Request::ShareVisit)).look(Look::Primary).icon(Shape::Share),
        key("export-file", OUT_FILE, Action::Do(Request::SaveVisit)),
        key("results", office::RESULTS, Action::Do(Request::Office(office::Ask::Results)))
            .off(!of.whole || of.visit.is_none()),
        key("export-sealed", SEAL, Action::Go(Route::Passphrase)).off(!of.whole || of.visit.is_none()),
        key("export-all", OUT_ALL, all),
    ]));
    blocks.extend(said.as_ref().map(left_block));
    blocks.extend((*without > 0).then(|| Block::notice("without", Says::Warning, NOT_ALL, without_words(*without))));
    blocks.extend(list(left));
    blocks
}

/// What became of an attempt to send.
pub(super) fn left_block(said: &Result<Left, String>) -> Block {
    match said {
        Err(why) => Block::notice("export-refused", Says::Warning, NOTHING, why.clone()),
        Ok(left) => Block::notice("export-said", left.says(), OUT, left.words()),
    }
}

fn load(of: Sending<'_>) -> Vec<Block> {
    let Transfer { loading, outcomes, .. } = of.transfer;
    let load = Button::new("import", IN_KEY, Action::Do(Request::Load)).icon(Shape::TakeIn).wide();
    let mut keys = vec![load, Button::to("to-check-file", check_file::TITLE, Route::CheckFile).wide()];
    if !of.folder.is_empty() {
        keys.push(Button::new("fetch", delivery::FETCH, Action::Do(Request::Fetch)).wide());
    }
    let mut blocks = vec![
        Block::text("load-help", Role::Plain, IN_HELP),
        Block::buttons(keys.into_iter().map(|key| key.off(loading.is_some() || !of.whole)).collect()),
    ];
    blocks.extend(loading.as_ref().map(|loading| Block::notice("importing", Says::Info, READING, loading.words())));
    // Apart from the words, which change while a finger presses.
    blocks.extend(
        loading
            .as_ref()
            .map(|_| Block::buttons(vec![Button::new("import-stop", STOP_LOADING, Action::Do(Request::StopLoading))])),
    );
    if !of.transfer.sealed.is_empty() {
        let open = Button::new("unseal", UNSEAL, Action::Go(Route::Passphrase)).look(Look::Primary).wide();
        blocks.push(Block::buttons(vec![open.off(loading.is_some())]));
    }
    for Outcome { file, fared, lines, differs } in outcomes {
        let (says, key) = match fared {
            Fared::Refused => (Says::Warning, "import-refused"),
            Fared::Sealed => (Says::Info, "import-sealed"),
            Fared::TakenIn if *differs => (Says::Warning, "import-taken"),
            Fared::TakenIn => (Says::Done, "import-taken"),
            Fared::NothingNew => (Says::Info, "import-nothing"),
        };
        let line = |line: &String| Row::new("import-line", "", line.clone());
        blocks.push(Block::notice(key, says, fared.words(), file.clone()));
        blocks.push(Block::rows(file.clone(), lines.iter().map(line).collect()));
    }
    blocks
}

fn checked(of: Sending<'_>) -> Vec<Block> {
    let check = Button::new("check", CHECK, Action::Do(Request::Check)).icon(Shape::Tick).wide().off(!of.whole);
    let mut blocks = vec![Block::buttons(vec![check])];
    let Some((anomalies, rows)) = &of.transfer.checked else { return blocks };
    if anomalies.is_empty() {
        blocks.push(Block::notice("check-sound", Says::Done, CHECK_WORD, CHECK_GOOD));
    } else {
        let line = |line: &String| Row::new("anomaly", "", line.clone()).sign(Shape::Warning);
        blocks.push(Block::notice("check-anomalies", Says::Warning, CHECK_BAD.0, CHECK_BAD.1));
        blocks.push(Block::rows(CHECK, anomalies.iter().map(line).collect()));
    }
    blocks.extend(list(rows));
    blocks
}

/// Chains with count and last hash; nothing where there are none.
fn list(rows: &[ChainRow]) -> Vec<Block> {
    if rows.is_empty() {
        return Vec::new();
    }
    let row = |row: &ChainRow| {
        Row::new("chain", row.about.clone(), format!("{} · {}", row.detail, row.last)).sign(Shape::Lock)
    };
    vec![Block::text("chains-help", Role::Soft, CHAINS_HELP), Block::rows(CHAINS, rows.iter().map(row).collect())]
}

/// What became of an attempt to send.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Left {
    /// Shared under this name.
    Shared(String),
    /// Saved under this name.
    Saved(String),
    /// The share sheet was closed.
    Cancelled,
    /// It did not work.
    Failed(String),
}

impl Left {
    /// How it is said.
    pub fn says(&self) -> Says {
        match self {
            Left::Shared(_) | Left::Saved(_) => Says::Done,
            Left::Cancelled => Says::Info,
            Left::Failed(_) => Says::Warning,
        }
    }

    /// What is said.
    pub fn words(&self) -> String {
        match self {
            Left::Shared(name) => {
                format!("Shared as {name}, not confirmed. Check that it arrived.")
            }
            Left::Saved(name) => format!("Saved as {name}, not confirmed. Send it, then check that it arrived."),
            Left::Cancelled => "The share sheet was closed. Nothing left the phone.".into(),
            Left::Failed(why) => format!("It could not be shared: {why}. Save it as a file instead."),
        }
    }
}

/// The refusal sentence of a bundle that would be empty.
pub fn nothing(why: NothingToHandOver) -> String {
    full_stop(&why.to_string())
}

/// Name of the site of a visit, for the file's name.
pub fn file_site(register: &Register, visit: Option<&Visit>) -> String {
    Some(site_of(register, visit)).filter(|site| !site.is_empty()).unwrap_or_else(|| "book".to_string())
}

/// A line below the title: the site of the visit on screen.
pub fn site_of(register: &Register, visit: Option<&Visit>) -> String {
    let site = visit.and_then(|visit| register.sites.get(&visit.site)).and_then(|site| site.now());
    site.map_or_else(String::new, |site| site.name.clone())
}

/// The word of a visit that is still going on when it is sent.
pub fn tests_go_on(visit: Option<&Visit>) -> Option<String> {
    let active = visit.map_or(0, |visit| visit.active().count());
    (active > 0).then(|| {
        let tests = plural(active, "test is running", "tests are running");
        format!("{tests}. The file has what is recorded so far. Send again when the visit is over.")
    })
}
