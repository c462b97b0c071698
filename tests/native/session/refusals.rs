//! Refusals: shown, never lost, and without any effect. And gaps of the clocks, which nobody taps.

use super::*;
use soakbook::book::body::{Body, What};
use soakbook::book::command::Command;
use soakbook::book::entry::Scope;
use soakbook::book::refusal::Refusal;
use soakbook::view::route::Route;

/// Nobody has named a test like this.
fn unknown() -> Command {
    Command::Mark { of: id(99), what: What::Tripped }
}

#[test]
fn a_refusal_is_shown_and_changes_nothing_else() {
    let mut held = started(on_test());
    let before = held.session.book().clone();
    let tap = held.tap();
    assert_eq!(held.session.act(&tap, unknown()), Err(Refusal::UnknownTest));
    assert!(held.session.refused().is_some());
    assert_eq!(held.session.effects(), []);
    assert!(*held.session.book() == before);
    assert!(held.session.unrecorded().is_empty());
    // The number of the next decision is not used up either.
    assert_eq!(Entry::read(&held.marked(What::Tripped).records[0].text).unwrap().decision, 1);
}

#[test]
fn the_same_refusal_again_is_to_be_seen_again() {
    let mut held = started(on_test());
    let tap = held.tap();
    assert!(held.session.act(&tap, unknown()).is_err());
    let first = (held.session.refusals(), held.session.refused().cloned());
    assert!(held.session.act(&tap, unknown()).is_err());
    assert_eq!((held.session.refusals(), held.session.refused().cloned()), (first.0 + 1, first.1));
}

#[test]
fn what_is_done_next_and_leaving_and_ok_take_it_away() {
    let ways: [fn(&mut Held); 3] =
        [|held| drop(held.mark(What::Tripped)), |held| held.session.leave(), |held| held.session.seen_refusal()];
    for way in ways {
        let mut held = started(on_test());
        let tap = held.tap();
        assert!(held.session.act(&tap, unknown()).is_err());
        way(&mut held);
        assert_eq!(held.session.refused(), None);
    }
}

#[test]
fn a_refusal_leads_to_where_it_can_be_put_right() {
    let mut held = started(World::empty());
    let tap = held.tap();
    let open = Command::OpenVisit { visit: id(VISIT), site: id(SITE), plan: plan() };
    assert_eq!(held.session.act(&tap, open), Err(Refusal::NoPerson));
    let remedy = held.session.refused().and_then(|refused| refused.remedy);
    assert_eq!(remedy.map(|(_, place)| place), Some(Route::People));
}

#[test]
fn a_form_shows_its_own_refusal() {
    let mut held = started(on_test());
    let tap = held.tap();
    assert!(held.session.try_act(&tap, unknown(), Vec::new()).is_err());
    assert_eq!(held.session.refused(), None);
}

#[test]
fn without_a_database_no_test_starts_and_marks_go_on() {
    let mut held = started(on_test());
    held.phone.durable = false;
    held.marked(What::Tripped);
    let mut held = started(given());
    held.phone.durable = false;
    let tap = held.tap();
    assert_eq!(held.session.act(&tap, start_with(|_| {})), Err(Refusal::NotDurable));
    assert_eq!(held.session.effects(), []);
}

/// The scopes that a gap is noted in.
fn noted(mut held: Held) -> Vec<Scope> {
    let tap = held.tap();
    held.session.clocks_parted(&tap, 60_000, 1_000, true);
    let written = held.session.effects().into_iter().flat_map(|effect| match effect {
        Effect::Append(batch) => batch.records,
        other => panic!("{other:?}"),
    });
    let entries = written.map(|record| Entry::read(&record.text).unwrap());
    entries.filter(|entry| matches!(entry.body, Body::ClockGap { .. })).map(|entry| entry.chain.scope).collect()
}

#[test]
fn a_gap_is_noted_where_this_phone_times_something() {
    assert_eq!(noted(started(given())), []);
    assert_eq!(noted(started(on_test())), [Scope::Visit(id(VISIT))]);
    assert_eq!(noted(started(on_profile_run())), [Scope::Kit]);
    assert_eq!(noted(started(handed(on_test().other_phone()))), [], "the other one notes its own");
}
