//! Writes: begun with the decision, and recorded only when the store has heard from the disk.

use super::*;
use soakbook::book::command::Command;
use soakbook::book::entries::Attachment;
use soakbook::session::Setting;
use soakbook::storage::{Trouble, Written};

/// The words on writes that failed, as the person sees them.
fn failed(held: &Held) -> Option<String> {
    held.session.failed()
}

#[test]
fn a_mark_is_in_the_book_and_unrecorded_until_the_store_says_so() {
    let mut held = started(on_test());
    let written = held.marked(What::Tripped);
    let [hash] = &hashes(&written)[..] else { panic!("{written:?}") };
    assert!(held.session.book().get(hash.parse().unwrap()).is_some());
    assert_eq!(held.session.unrecorded().get(hash), Some(&None));
    assert_eq!(failed(&held), None, "it is only under way");
    held.session.written(Written::Recorded { hashes: vec![hash.clone()] });
    assert!(held.session.unrecorded().is_empty());
    assert_eq!(held.session.effects(), [], "the store tries again by itself");
}

#[test]
fn what_failed_is_said_with_what_to_do_until_it_is_recorded() {
    let mut held = started(on_test());
    let (first, second) = (hashes(&held.marked(What::Tripped)), hashes(&held.marked(What::AtTop)));
    held.session.written(Written::Waiting { hashes: first.clone(), why: Trouble::FreeSpace, tries: 1 });
    assert_eq!(held.session.unrecorded()[&first[0]], Some(Trouble::FreeSpace.to_string()));
    assert_eq!(held.session.unrecorded()[&second[0]], None, "the next one waits");
    let one = failed(&held).unwrap();
    assert!(one.contains(&Trouble::FreeSpace.to_string()), "{one}");
    // A slow disk is a failure that may still end well, and so is no database at all.
    held.session.written(Written::Waiting { hashes: first.clone(), why: Trouble::Wait, tries: 0 });
    held.session.written(Written::NotSafe { hashes: second.clone(), why: Trouble::CloseOtherTab });
    assert_ne!(failed(&held), Some(one));
    held.session.written(Written::Recorded { hashes: first });
    assert!(failed(&held).unwrap().contains(&Trouble::CloseOtherTab.to_string()));
    held.session.written(Written::Recorded { hashes: second });
    assert_eq!((failed(&held), held.session.trouble()), (None, None));
}

#[test]
fn a_decision_is_one_write_with_what_it_names() {
    let mut held = started(given());
    let note = Attachment::text([7; 16], "Panel in the lobby");
    let command = Command::Note { visit: id(VISIT), about: id(VISIT), note: note.hash() };
    let tap = held.tap();
    held.session.try_act(&tap, command, vec![note.clone()]).unwrap();
    let written = only_write(held.session.effects());
    assert_eq!(written.attachments.iter().map(|kept| kept.hash.clone()).collect::<Vec<_>>(), [note.hash().to_string()]);
    assert_eq!(held.session.book().words(note.hash()), Some("Panel in the lobby"));
    // A detector is replaced in the register and in the visit, or in neither.
    let written = only_write(held.act(replace(POSITION)));
    let scopes = written.records.iter().map(|record| record.scope.as_str());
    assert_eq!(scopes.collect::<std::collections::BTreeSet<_>>().len(), 2, "{written:?}");
    assert!(written.records.iter().all(|record| held.session.unrecorded().contains_key(&record.hash)));
}

#[test]
fn an_erased_database_and_a_missing_copy_are_said_and_stop_nothing() {
    let mut held = started(on_test());
    held.session.written(Written::NoCopy { why: Trouble::FreeSpace });
    assert!(held.session.trouble().unwrap().ends_with("Recording continues."));
    held.session.written(Written::Erased);
    assert!(held.session.trouble().unwrap().contains("deleted this phone's data"));
    held.marked(What::Tripped);
}

#[test]
fn a_setting_that_cannot_be_kept_is_said_but_for_the_one_that_only_costs_time() {
    let said = |setting| {
        let mut held = started(given());
        held.session.not_put(setting, "no room");
        held.session.trouble().cloned()
    };
    assert_eq!(said(Setting::Prefs).as_deref(), Some("The setting couldn't be saved: no room."));
    assert_eq!(said(Setting::Answers).as_deref(), Some("The answers couldn't be saved: no room."));
    assert_eq!(said(Setting::HandedOver).as_deref(), Some("What was sent could not be noted: no room."));
    assert_eq!(said(Setting::Over), None);
}

#[test]
fn a_preference_is_kept_and_holds_at_once() {
    let mut held = started(given());
    held.session.prefer(|prefs| prefs.sound = false);
    assert!(!held.session.prefs().sound);
    assert!(matches!(held.session.effects()[..], [Effect::Put(Setting::Prefs, _)]));
}
