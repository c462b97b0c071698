//! Commands given to a book as the app gives them.

use soakbook::book::Id;
use soakbook::book::command::{At, Command};
use soakbook::book::decide::decide;
use soakbook::book::entries::Book;
use soakbook::book::entry::{Opens, Stamp};
use soakbook::book::refusal::Refusal;
use soakbook::book::seal::seal;
use soakbook::units::{Mono, Wall};

/// 2026-03-01T09:00:00Z by `date -u -d 2026-03-01T09:00:00Z +%s`.
const NOW: Wall = Wall(1_772_355_600_000);

/// Who has the phone.
pub(crate) const PERSON: Id = Id::from_u128(3);

pub(crate) fn at(wall: Wall) -> At {
    let stamp = Stamp { session: Id::from_u128(2), mono: Mono(wall - NOW), wall };
    At { phone: Id::from_u128(1), stamp, offset_min: 0, who: Some(PERSON), durable: true }
}

pub(crate) fn give(book: &mut Book, at: At, command: Command) -> Result<(), Refusal> {
    let drafts = decide(book, at, command)?;
    let opens = Opens { app: "test".into(), zone: "UTC".into(), offset: 0, who: at.who };
    // No two decisions find as many entries.
    let decision = book.len() as i64;
    seal(book, at.phone, at.stamp, decision, &opens, drafts).into_iter().for_each(|entry| book.apply(entry));
    Ok(())
}
