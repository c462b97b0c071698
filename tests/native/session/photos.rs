//! Photos: their bytes go to the store and stay there.

use super::*;
use soakbook::book::acts::About;
use soakbook::book::entries::Attachment;
use soakbook::book::kit::Kit;
use soakbook::book::photos::{PhotoOf, photos_of};
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::storage::{Attachments, Trouble, Written};

fn photo() -> Attachment {
    Attachment { salt: [1; 16], media: "image/jpeg".into(), bytes: vec![7; 300_000] }
}

fn about() -> About {
    About::Thing(id(POSITION))
}

/// The photos of the position.
fn photos(book: &Book) -> Vec<PhotoOf> {
    photos_of(book, &Register::of(book), &Kit::of(book), about())
}

/// A photo is taken, and written unless it waits.
fn taken(recorded: bool) -> (Held, Batch) {
    let mut held = started(given());
    let tap = held.tap();
    held.session.add_photo(&tap, about(), photo()).expect("allowed");
    let written = match &held.session.effects()[..] {
        [Effect::Append(batch), Effect::ForgetOffer(_)] => batch.clone(),
        other => panic!("{other:?}"),
    };
    if recorded {
        held.session.written(Written::Recorded { hashes: hashes(&written) });
    }
    (held, written)
}

#[test]
fn its_bytes_are_written_with_its_entry_and_not_held() {
    let (held, written) = taken(true);
    assert_eq!(written.attachments.iter().map(|kept| kept.bytes.len()).collect::<Vec<_>>(), [300_000]);
    let book = held.session.book();
    assert_eq!(book.attachment(photo().hash()), None);
    assert!(book.has_attachment(photo().hash()));
    assert_eq!(photos(book).len(), 1);
}

#[test]
fn it_can_be_taken_back_for_a_while() {
    let (mut held, _) = taken(true);
    assert_eq!(held.session.offer().map(|offer| offer.name.as_str()), Some("Photo"));
    let tap = held.tap();
    held.session.take_back(&tap).expect("allowed");
    assert_eq!(photos(held.session.book()), []);
}

#[test]
fn a_refused_one_is_said_and_nothing_is_written() {
    let mut held = started(given());
    let tap = Tap { durable: false, ..held.tap() };
    assert_eq!(held.session.add_photo(&tap, about(), photo()), Err(Refusal::NotDurable));
    assert_eq!(held.session.effects(), []);
    assert!(held.session.refused().is_some());
    assert!(!held.session.book().has_attachment(photo().hash()));
    // What the camera gave that is no photo is said in the same place.
    held.session.refuse("No photo recorded.".into(), None);
    assert_eq!(held.session.refused().map(|refused| refused.words.as_str()), Some("No photo recorded."));
}

#[test]
fn a_start_reads_its_name_alone() {
    let hash = photo().hash();
    let held = restarted(given(), |loaded| {
        loaded.attachments = Ok(Attachments { read: Vec::new(), pictures: vec![hash.to_string(), "none".into()] });
    });
    assert_eq!(held.session.book().attachment(hash), None);
    assert!(held.session.book().has_attachment(hash));
}

#[test]
fn one_that_comes_with_a_file_is_kept_by_name() {
    let (from, _) = taken(true);
    let mut held = started(given());
    let entries: Vec<Entry> = from.session.book().entries().cloned().collect();
    held.session.imported(entries, Vec::new(), vec![photo().hash()]);
    assert!(held.session.book().has_attachment(photo().hash()));
    assert_eq!(photos(held.session.book()).len(), 1);
}

#[test]
fn erasing_is_an_effect_and_its_failure_is_said() {
    let (mut held, _) = taken(true);
    let (hash, entries) = (photo().hash(), held.session.book().len());
    held.session.erase(hash);
    assert_eq!(held.session.effects(), [Effect::Erase(hash)]);
    assert!(!held.session.book().has_attachment(hash));
    assert_eq!(held.session.book().len(), entries);
    held.session.erase(hash);
    assert_eq!(held.session.effects(), [], "it is gone");
    held.session.not_erased(hash, &Trouble::Wait.to_string());
    assert!(held.session.book().has_attachment(hash));
    assert!(held.session.refused().is_some_and(|refused| refused.words.starts_with("Not erased")));
}

#[test]
fn nothing_is_erased_while_its_write_is_to_come() {
    let (mut held, _) = taken(false);
    held.session.erase(photo().hash());
    assert_eq!(held.session.effects(), []);
    assert!(held.session.book().has_attachment(photo().hash()));
    assert!(held.session.refused().is_some());
}
