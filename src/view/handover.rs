//! The Send screen: what leaves the phone, what comes in, and whether the records are in order.

use super::page::sign::{Look, Says, Shape};
use super::page::{Action, Block, Button, Page, Request, Role, Row};
use super::time;
use super::words::{STILL_READING, plural};
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::entry::{Chain, Hash, Scope};
use crate::book::integrity::{Anomaly, anomalies};
use crate::book::register::Register;
use crate::book::visit::{Visit, headings};
use crate::handover::{
    Bundle, BundleFault, ChainHead, Differs, FindingsCheck, Incoming, News, NothingToHandOver, Progress,
};
use crate::order;
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
/// Key that asks whether everything is to be sent.
pub const OUT_ALL: &str = "Send ALL sites";
/// The word above a visit that goes on.
pub const NOT_OVER: &str = "Still in progress";
/// The word above a refusal to send nothing.
pub const NOTHING: &str = "Nothing to send";
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
        (0, 0) => "Everything recorded on this phone was sent.".into(),
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
        "Everything on this phone leaves it: {}; {visits}. Send it only to whoever may see all of it.",
        sites.join(", ")
    )
}

/// What is going on at the page, beside what the book says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Transfer {
    /// What has left the phone.
    pub handed: HandedOver,
    /// What became of the last attempt to send, or why nothing could be sent.
    pub said: Option<Result<Left, String>>,
    /// The chains that left by it.
    pub left: Vec<ChainRow>,
    /// The file that is being read, and how far.
    pub loading: Option<Loading>,
    /// What became of the files.
    pub outcomes: Vec<Outcome>,
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
    fn words(&self) -> String {
        let how_far = match self.progress {
            None => "opening the file".to_string(),
            Some(Progress::Entries(done, of)) => format!("{done} of {of} records read"),
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
    /// Whether the book is read to its end: what is not would be missing from a bundle, a check and a comparison.
    pub whole: bool,
    /// How many entries made here have not left the phone: of the visit, and of everything.
    pub not_sent: (usize, usize),
    /// What sending everything sends.
    pub all_of_it: &'a str,
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
        Block::section("load", IN, loaded(of)),
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

fn sent(of: Sending<'_>) -> Vec<Block> {
    let Transfer { said, left, .. } = of.transfer;
    let all = match of.any {
        true => Action::Open("export-all-sheet".into()),
        false => Action::Do(Request::ShareAll),
    };
    let key =
        |key: &'static str, label: &'static str, action: Action| Button::new(key, label, action).wide().off(!of.whole);
    let mut blocks = vec![
        Block::text("send-help", Role::Plain, OUT_HELP),
        Block::text("not-handed-over", Role::Plain, not_handed_over_words(of.not_sent)),
    ];
    if of.visit.is_none() {
        blocks.push(Block::text("export-why", Role::Soft, nothing(NothingToHandOver::Visit)));
    }
    blocks.extend(tests_go_on(of.visit).map(|why| Block::notice("tests-go-on", Says::Info, NOT_OVER, why)));
    blocks.push(Block::buttons(vec![
        key("export", OUT_VISIT, Action::Do(Request::ShareVisit)).look(Look::Primary).icon(Shape::Share),
        key("export-file", OUT_FILE, Action::Do(Request::SaveVisit)),
        key("export-all", OUT_ALL, all),
    ]));
    blocks.extend(said.as_ref().map(|said| match said {
        Err(why) => Block::notice("export-refused", Says::Warning, NOTHING, why.clone()),
        Ok(left) => {
            let says = match left {
                Left::Shared(_) | Left::Saved(_) => Says::Done,
                Left::Cancelled => Says::Info,
                Left::Failed(_) => Says::Warning,
            };
            Block::notice("export-said", says, OUT, left.words())
        }
    }));
    blocks.extend(chains(left));
    blocks
}

fn loaded(of: Sending<'_>) -> Vec<Block> {
    let Transfer { loading, outcomes, .. } = of.transfer;
    let load = Button::new("import", IN_KEY, Action::Do(Request::Load)).icon(Shape::TakeIn).wide();
    let mut blocks = vec![
        Block::text("load-help", Role::Plain, IN_HELP),
        Block::buttons(vec![load.off(loading.is_some() || !of.whole)]),
    ];
    blocks.extend(loading.as_ref().map(|loading| Block::notice("importing", Says::Info, READING, loading.words())));
    // Apart from the words, which change while a finger presses.
    blocks.extend(
        loading
            .as_ref()
            .map(|_| Block::buttons(vec![Button::new("import-stop", STOP_LOADING, Action::Do(Request::StopLoading))])),
    );
    for Outcome { file, fared, lines, differs } in outcomes {
        let (says, key) = match fared {
            Fared::Refused => (Says::Warning, "import-refused"),
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
    blocks.extend(chains(rows));
    blocks
}

/// Chains with count and last hash; nothing where there are none.
fn chains(rows: &[ChainRow]) -> Vec<Block> {
    if rows.is_empty() {
        return Vec::new();
    }
    let row = |row: &ChainRow| {
        Row::new("chain", row.about.clone(), format!("{} · {}", row.detail, row.last)).sign(Shape::Lock)
    };
    vec![Block::text("chains-help", Role::Soft, CHAINS_HELP), Block::rows(CHAINS, rows.iter().map(row).collect())]
}

/// One chain, as an auditor compares it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChainRow {
    /// What it is about.
    pub about: String,
    /// Number of its entries and whose it is.
    pub detail: String,
    /// Its last hash, in groups.
    pub last: String,
}

/// Names scopes as people know them.
#[derive(Debug)]
pub struct Names<'a> {
    register: &'a Register,
    visits: BTreeMap<Id, (Id, i64)>,
    phone: Id,
    offset: i64,
}

impl<'a> Names<'a> {
    /// Names for a book; `offset` is local time minus UTC, minutes.
    pub fn of(book: &Book, register: &'a Register, phone: Id, offset: i64) -> Names<'a> {
        let visits = order::map(headings(book).into_iter().map(|visit| (visit.id, (visit.site, visit.opened))));
        Names { register, visits, phone, offset }
    }

    fn site(&self, site: Id) -> String {
        let known = self.register.sites.get(&site).and_then(|site| site.now());
        known.map_or_else(|| "a site that is not here".to_string(), |site| site.name.clone())
    }

    /// What a chain is about.
    pub fn about(&self, scope: Scope) -> String {
        match scope {
            Scope::Kit => "Heaters, procedures and people".into(),
            Scope::Site(site) => format!("Devices of {}", self.site(site)),
            Scope::Visit(visit) => match self.visits.get(&visit) {
                Some((site, opened)) => {
                    format!("Visit {} at {}", time::wall(*opened, self.offset), self.site(*site))
                }
                None => "A visit whose start is not here".into(),
            },
        }
    }

    /// Whose a chain is.
    pub fn phone(&self, phone: Id) -> String {
        if phone == self.phone {
            "this phone".into()
        } else {
            let id = phone.simple().to_string();
            format!("phone …{}", id.get(id.len().saturating_sub(6)..).unwrap_or_default())
        }
    }

    fn chain(&self, chain: Chain) -> String {
        format!("{}, {}", self.about(chain.scope), self.phone(chain.phone))
    }
}

/// Every chain of the book.
pub fn chain_heads(book: &Book) -> Vec<ChainHead> {
    let head = |chain: Chain| {
        let last = book.tip(chain)?.hash;
        Some(ChainHead { chain, count: book.chain(chain).count(), last, gaps: Vec::new() })
    };
    book.chains().filter_map(head).collect()
}

/// The chains of a bundle or of the book.
pub fn chain_rows(heads: &[ChainHead], names: &Names<'_>) -> Vec<ChainRow> {
    let row = |head: &ChainHead| ChainRow {
        about: names.about(head.chain.scope),
        detail: format!("{} records, {}", head.count, names.phone(head.chain.phone)),
        last: grouped(head.last),
    };
    heads.iter().map(row).collect()
}

/// The chains of a visit file as it leaves.
pub fn leaving_rows(bundle: &Bundle, names: &Names<'_>) -> Vec<ChainRow> {
    chain_rows(&bundle.chains, names)
}

/// A hash in groups of eight, so that two people can compare it aloud.
fn grouped(hash: Hash) -> String {
    let text = hash.to_string();
    let groups: Vec<&str> = (0..8).filter_map(|group| text.get(group * 8..group * 8 + 8)).collect();
    groups.join(" ")
}

/// How a file fared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fared {
    /// Taken in.
    TakenIn,
    /// Sound, but nothing in it is new.
    NothingNew,
    /// Refused; nothing changed.
    Refused,
}

impl Fared {
    /// In a word or two.
    pub fn words(self) -> &'static str {
        match self {
            Fared::TakenIn => "Loaded",
            Fared::NothingNew => "Nothing new",
            Fared::Refused => "Refused, nothing changed",
        }
    }
}

/// What became of one file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// The file's name.
    pub file: String,
    /// How it fared.
    pub fared: Fared,
    /// What is new, or every reason against it.
    pub lines: Vec<String>,
    /// Whether its findings differ from those of this app.
    pub differs: bool,
}

/// A file that could not be read as text.
pub fn unread(file: &str, why: String) -> Outcome {
    Outcome { file: file.into(), fared: Fared::Refused, lines: vec![why], differs: false }
}

/// A file too large to be a bundle.
pub fn too_large(file: &str) -> Outcome {
    unread(file, full_stop(&BundleFault::TooLarge.to_string()))
}

/// A file the browser would not read.
pub fn not_read(file: &str, why: &str) -> Outcome {
    unread(file, format!("The browser could not read it: {why}. Choose it again."))
}

/// A file whose loading was stopped.
pub fn stopped(file: &str) -> Outcome {
    unread(file, "Loading was stopped. Load it again to get what is in it.".into())
}

/// A bundle that the store would not take.
pub fn not_stored(file: &str, why: &str) -> Outcome {
    unread(file, format!("It could not be recorded: {why}. Load it again."))
}

/// A bundle with faults.
pub fn refused(file: &str, faults: &[BundleFault]) -> Outcome {
    let lines = faults.iter().map(|fault| full_stop(&fault.to_string())).collect();
    Outcome { file: file.into(), fared: Fared::Refused, lines, differs: false }
}

fn full_stop(text: &str) -> String {
    let mut text = format!("{text}.");
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    text
}

/// A sound bundle, held against the book as it was before.
pub fn taken_in(file: &str, incoming: &Incoming, news: &News, names: &Names<'_>) -> Outcome {
    let fared = if news.new + news.attachments == 0 { Fared::NothingNew } else { Fared::TakenIn };
    let mut lines = vec![format!(
        "{}, {} known already; {}. Made {} by {}.",
        plural(news.new, "new record", "new records"),
        news.known,
        plural(news.attachments, "new note or name", "new notes or names"),
        time::wall(incoming.made.at, names.offset),
        names.phone(incoming.made.phone)
    )];
    for head in incoming.chains.iter().filter(|_| fared == Fared::TakenIn) {
        lines.push(format!("{}: {} records.", names.chain(head.chain), head.count));
    }
    for (chain, seq) in &news.forks {
        lines.push(format!("Two versions of record {seq} in {}. Both kept.", names.chain(*chain)));
    }
    for (chain, from, to) in &news.missing {
        lines.push(format!("Records {from} to {to} of {} are on neither phone.", names.chain(*chain)));
    }
    let differs = findings_lines(&incoming.findings, &incoming.book, &mut lines);
    Outcome { file: file.into(), fared, lines, differs }
}

fn findings_lines(check: &FindingsCheck, book: &Book, lines: &mut Vec<String>) -> bool {
    let list = |lines: &mut Vec<String>, differs: &[Differs]| {
        lines.extend(differs.iter().map(|differs| {
            let tag = differs.test.map(|test| match crate::book::test::Test::of(book, test) {
                Some(test) => test.frozen.position.place.tag.clone(),
                None => "a test that is not in it".to_string(),
            });
            let place = [tag.as_deref().unwrap_or_default(), &differs.what].into_iter().filter(|part| !part.is_empty());
            let or_nothing = |text: &str| if text.is_empty() { "nothing".to_string() } else { text.to_string() };
            format!(
                "{}: the file says {}, this app finds {}.",
                place.collect::<Vec<_>>().join(", "),
                or_nothing(&differs.said),
                or_nothing(&differs.found)
            )
        }));
    };
    match check {
        FindingsCheck::None => lines.push("It brings no results; they are worked out here.".into()),
        FindingsCheck::Same => lines.push("Its results, worked out again here, are the same.".into()),
        FindingsCheck::NewerMethod => {
            lines.push("Its results were made by a newer method. Update the app to compare them.".into());
        }
        FindingsCheck::OlderMethod(differs) => {
            lines.push("Its results are from an older method. This app's are shown.".into());
            list(lines, differs);
        }
        FindingsCheck::Differ(differs) => {
            lines.push(
                "Its results differ from what this app makes of the same records. This app's are shown. Ask who made the file."
                    .into(),
            );
            list(lines, differs);
            return true;
        }
    }
    false
}

/// What does not fit in the book, in words; empty when all is sound.
pub fn check(book: &Book, names: &Names<'_>) -> Vec<String> {
    let place = |hash: Hash| match book.get(hash) {
        Some(entry) => format!("Record {} of {}", entry.seq, names.chain(entry.chain)),
        None => "A record".to_string(),
    };
    let line = |anomaly: &Anomaly| match anomaly {
        Anomaly::Missing { chain, from, to } => {
            format!(
                "Records {from} to {to} of {} are not here. Load a visit file from that phone.",
                names.chain(*chain)
            )
        }
        Anomaly::Fork { chain, seq } => {
            format!(
                "Two versions of record {seq} in {}. Both kept. Tell whoever keeps the records.",
                names.chain(*chain)
            )
        }
        Anomaly::BrokenLink { hash } => {
            format!("{} does not follow from the one before it: one of them was altered.", place(*hash))
        }
        Anomaly::StartedAgain { hash, counts } => {
            format!(
                "{} starts a test that was started already. {} counts. Ask who made it.",
                place(*hash),
                place(*counts)
            )
        }
        Anomaly::NamesUnknown { hash } => {
            format!("{} names something that is not here. Load the visit file that has it.", place(*hash))
        }
        Anomaly::WrongScope { hash } => format!("{} is where it does not belong.", place(*hash)),
        Anomaly::NeedsNewerApp { hash, name } => format!("{} (“{name}”) needs a newer app. Kept.", place(*hash)),
    };
    let scraps = book.scraps().map(|scrap| {
        let start: String = scrap.text.chars().take(60).collect();
        format!("Not a record, kept as it is: {} (“{start}”).", scrap.why)
    });
    anomalies(book).iter().map(line).chain(scraps).collect()
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
    /// What is said.
    pub fn words(&self) -> String {
        match self {
            Left::Shared(name) => {
                format!("Shared as {name}. Check that it was sent.")
            }
            Left::Saved(name) => format!("Saved as {name}. Send it, then check that it arrived."),
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
    let site = visit.and_then(|visit| register.sites.get(&visit.site)).and_then(|site| site.now());
    site.map_or_else(|| "book".to_string(), |site| site.name.clone())
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
