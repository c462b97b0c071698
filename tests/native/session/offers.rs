//! What can be taken back for a while.

use super::*;
use soakbook::book::command::Command;
use soakbook::book::entry::Hash;
use soakbook::book::refusal::Refusal;

fn trip() -> (Held, Hash) {
    let mut held = started(on_test());
    let hash = held.marked(What::Tripped).records[0].hash.parse().unwrap();
    (held, hash)
}

fn trips(held: &Held) -> usize {
    let test = soakbook::book::test::Test::of(held.session.book(), id(TEST)).unwrap();
    test.marks.iter().filter(|mark| mark.what == What::Tripped).count()
}

/// Undoes, and the entry whose offer the clock is to end.
fn undone(held: &mut Held, mark: Hash) -> Hash {
    let tap = held.tap();
    held.session.undo(&tap, mark, "HD-1: trip 1".into()).expect("allowed");
    match held.session.effects()[..] {
        [Effect::Append(_), Effect::ForgetOffer(entry)] => entry,
        ref other => panic!("{other:?}"),
    }
}

#[test]
fn an_undo_is_offered_to_be_put_back_and_is() {
    let (mut held, mark) = trip();
    undone(&mut held, mark);
    assert_eq!(trips(&held), 0);
    let offer = held.session.offer().expect("an offer");
    assert_eq!((offer.name.as_str(), offer.was_undo), ("HD-1: trip 1", true));
    let tap = held.tap();
    held.session.take_back(&tap).expect("allowed");
    assert_eq!((trips(&held), held.session.offer()), (1, None));
    // Without an offer there is nothing to take back.
    let _ = held.session.effects();
    held.session.take_back(&tap).expect("nothing to do");
    assert_eq!(held.session.effects(), []);
}

#[test]
fn the_clock_ends_its_own_offer_alone() {
    let (mut held, mark) = trip();
    let first = undone(&mut held, mark);
    let second = held.marked(What::AtTop).records[0].hash.parse().unwrap();
    held.session.offer_back(second, "HD-1: test ended".into(), false);
    held.session.forget_offer(first);
    assert_eq!(held.session.offer().map(|offer| offer.was_undo), Some(false));
    held.session.forget_offer(second);
    assert_eq!(held.session.offer(), None);
}

#[test]
fn what_cannot_be_undone_is_refused_and_offers_nothing() {
    let (mut held, mark) = trip();
    undone(&mut held, mark);
    held.session.forget_offer(mark);
    let offered = held.session.offer().cloned();
    let tap = held.tap();
    let again = held.session.undo(&tap, mark, "HD-1: trip 1".into());
    assert_eq!(again, Err(Refusal::NothingToUndo));
    assert!(held.session.refused().is_some());
    assert_eq!(held.session.offer().cloned(), offered);
    assert_eq!(held.session.effects(), []);
}

#[test]
fn a_taking_back_that_is_refused_is_shown() {
    let (mut held, mark) = trip();
    let entry = undone(&mut held, mark);
    // Put back elsewhere in the meantime.
    held.act(Command::Undo { target: entry });
    let tap = held.tap();
    assert_eq!(held.session.take_back(&tap), Err(Refusal::NothingToUndo));
    assert!(held.session.refused().is_some());
}
