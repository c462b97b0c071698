//! What two technicians record on two phones: every command is decided and sealed as a tap would be.

use crate::book::Id;
use crate::book::body::{Happened, Precision, What, Who};
use crate::book::command::{At, Command};
use crate::book::decide::decide;
use crate::book::entries::{Attachment, Book};
use crate::book::entry::{Entry, Hash, Opens, Stamp};
use crate::book::refusal::Refusal;
use crate::book::seal::seal;
use crate::units::{Mono, Wall};

/// Who records, on which phone.
#[derive(Debug)]
pub(super) struct Teller {
    pub(super) phone: Id,
    pub(super) person: Id,
    pub(super) session: Id,
    /// Wall clock at the start of the session, and now, UTC ms.
    pub(super) began: Wall,
    pub(super) now: Wall,
}

/// What was recorded so far.
#[derive(Debug)]
pub(super) struct Record {
    book: Book,
    pub(super) entries: Vec<Entry>,
    pub(super) attachments: Vec<Attachment>,
    pub(super) tellers: [Teller; 2],
    decisions: i64,
    offset_min: i64,
    zone: String,
}

impl Record {
    pub(super) fn new(tellers: [Teller; 2], offset_min: i64, zone: String) -> Record {
        Record {
            book: Book::default(),
            entries: Vec::new(),
            attachments: Vec::new(),
            tellers,
            decisions: 0,
            offset_min,
            zone,
        }
    }

    /// A name, to be named by its hash. Its salt is an id, which nobody guesses either.
    pub(super) fn named(&mut self, salt: Id, name: &str) -> Hash {
        let name = Attachment::text(salt.into_bytes(), name);
        let hash = name.hash();
        self.book.attach(name.clone());
        self.attachments.push(name);
        hash
    }

    /// Gives a command on a phone; the last entry that came of it.
    pub(super) fn give(&mut self, by: usize, command: Command) -> Result<Hash, Refusal> {
        let Teller { phone, person, session, began, now } = self.tellers[by];
        let stamp = Stamp { session, mono: Mono(now - began), wall: now };
        let at = At { phone, stamp, offset_min: self.offset_min, who: Some(person), durable: true };
        let drafts = decide(&self.book, at, command)?;
        let app = env!("CARGO_PKG_VERSION").to_string();
        let opens = Opens { app, zone: self.zone.clone(), offset: self.offset_min, who: at.who };
        self.decisions += 1;
        let sealed = seal(&self.book, phone, stamp, self.decisions, &opens, drafts);
        let last = sealed.last().map_or(Hash::of(b""), |entry| entry.hash);
        sealed.iter().cloned().for_each(|entry| self.book.apply(entry));
        self.entries.extend(sealed);
        Ok(last)
    }

    /// The same so many ms later.
    pub(super) fn then(&mut self, by: usize, ms: i64, command: Command) -> Result<Hash, Refusal> {
        self.tellers[by].now += ms;
        self.give(by, command)
    }

    pub(super) fn happened(&self, by: usize) -> Happened {
        Happened { at: self.tellers[by].now, offset: self.offset_min, precision: Precision::Minute }
    }

    pub(super) fn who(&self, by: usize) -> Who {
        Who::Person(self.tellers[by].person)
    }

    pub(super) fn mark(&mut self, by: usize, later: i64, of: Id, what: What) -> Result<Hash, Refusal> {
        self.then(by, later, Command::Mark { of, what })
    }
}
