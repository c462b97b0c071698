//! What became of a file that was loaded, and what a check of the records finds, in words.

use super::Names;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::integrity::{Anomaly, anomalies};
use crate::handover::{BundleFault, Differs, FindingsCheck, Incoming, News};
use crate::view::time;
use crate::view::words::plural;

/// How a file fared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fared {
    /// Taken in.
    TakenIn,
    /// Sound, but nothing in it is new.
    NothingNew,
    /// It waits for its passphrase.
    Sealed,
    /// Refused; nothing changed.
    Refused,
}

impl Fared {
    /// In a word or two.
    pub fn words(self) -> &'static str {
        match self {
            Fared::TakenIn => "Loaded",
            Fared::NothingNew => "Nothing new",
            Fared::Sealed => "Sealed",
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

pub(super) fn full_stop(text: &str) -> String {
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
        plural(news.attachments, "new note, name or photo", "new notes, names or photos"),
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

pub(in crate::view) fn findings_lines(check: &FindingsCheck, book: &Book, lines: &mut Vec<String>) -> bool {
    let list = |lines: &mut Vec<String>, differs: &[Differs]| {
        lines.extend(differs.iter().map(|differs| {
            let tag = differs.test.map(|test| match crate::book::test::Test::of(book, test) {
                Some(test) => test.frozen.position.place.name().to_string(),
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
    let scraps = book.scraps().map(|scrap| {
        let start: String = scrap.text.chars().take(60).collect();
        format!("Not a record, kept as it is: {} (“{start}”).", scrap.why)
    });
    anomalies(book).iter().map(|anomaly| anomaly_words(book, names, anomaly)).chain(scraps).collect()
}

/// What does not fit, as a sentence.
pub fn anomaly_words(book: &Book, names: &Names<'_>, anomaly: &Anomaly) -> String {
    let place = |hash: Hash| match book.get(hash) {
        Some(entry) => format!("Record {} of {}", entry.seq, names.chain(entry.chain)),
        None => "A record".to_string(),
    };
    match anomaly {
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
    }
}
