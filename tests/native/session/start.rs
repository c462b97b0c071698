//! Start-up: what is read, what is put on screen, what waits.

use super::*;
use soakbook::book::body::{Ending, Point, What};
use soakbook::book::refusal::Refusal;
use soakbook::session::Setting;
use soakbook::storage::Trouble;
use soakbook::view::handover::HandedOver;
use soakbook::view::route::Route;

/// What a start asks for; the preferences that it keeps are looked at as they are.
fn asked(held: &mut Held) -> Vec<Effect> {
    let effects = held.session.effects();
    effects.into_iter().filter(|effect| !matches!(effect, Effect::Put(Setting::Prefs, _))).collect()
}

fn said(change: impl FnOnce(&mut Loaded)) -> (Stage, Option<String>) {
    let held = restarted(given(), change);
    assert_eq!(held.session.book().is_empty(), held.session.stage() != Stage::Ready);
    (held.session.stage(), held.session.trouble().cloned())
}

#[test]
fn a_start_reads_its_records_and_asks_for_nothing() {
    let world = given();
    let mut held = restarted(world.clone(), |_| {});
    assert_eq!(held.session.effects(), []);
    assert_eq!((held.session.stage(), held.session.trouble()), (Stage::Ready, None));
    assert!(*held.session.book() == world.book);
    assert_eq!((held.session.phone(), held.session.all_here()), (world.phone.id, false));
}

#[test]
fn a_test_in_progress_comes_on_screen_at_a_plain_start_only() {
    let mut held = restarted(on_test(), |_| {});
    assert_eq!(asked(&mut held), [Effect::Go(Route::Test(None))]);
    let mut held = restarted(on_test(), |loaded| loaded.plain = false);
    assert_eq!(asked(&mut held), []);
    // One that has ended, or that another phone keeps, is none of it.
    let mut world = on_test();
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::HeaterProblem });
    assert_eq!(asked(&mut restarted(world, |_| {})), []);
    assert_eq!(asked(&mut restarted(handed(on_test().other_phone()), |_| {})), []);
}

#[test]
fn its_visit_is_put_on_screen_where_the_settings_lost_it() {
    let mut world = on_test();
    world.restart(60 * SECOND);
    let mut session = Session::new(Prefs::default());
    session.all_rules();
    session.loaded(loaded(&world));
    assert_eq!(session.prefs().visit, Some(id(VISIT)));
    let effects = session.effects();
    assert!(matches!(effects[..], [Effect::Put(Setting::Prefs, _), Effect::Go(Route::Test(None))]), "{effects:?}");
}

/// Started again, and the later part of the app has not come.
fn before_the_rest(mut world: World) -> Held {
    world.restart(60 * SECOND);
    let mut session = Session::new(prefs());
    session.loaded(loaded(&world));
    let _ = session.effects();
    Held { session, phone: world.phone }
}

#[test]
fn a_whole_test_needs_none_of_the_later_rules() {
    let mut held = before_the_rest(handed(World::given()));
    let start = start_with(|start| start.indication.restores = Restores::Watched);
    held.act(start);
    held.marked(What::AtTop);
    let tripped = held.marked(What::Tripped);
    let is_trip = |entry: &&Entry| hashes(&tripped) == [entry.hash.to_string()];
    let trip = held.session.book().entries().find(is_trip).expect("what was written is in the book").hash;
    held.act(Command::SayPanel { trip, point: Point::Right, said: None });
    held.act(Command::Move { mark: trip, by_ms: -1_000 });
    held.act(Command::End { test: id(TEST), how: Ending::HeaterProblem });
}

#[test]
fn a_test_goes_on_before_the_later_rules_are_here() {
    let mut held = before_the_rest(on_test());
    held.marked(What::AtTop);
    let close = || Command::CloseVisit { visit: id(VISIT) };
    let tap = held.tap();
    assert_eq!(held.session.act(&tap, close()), Err(Refusal::NotHereYet));
    assert_eq!(held.session.effects(), [], "nothing is written of what is refused");
    held.session.all_rules();
    let refused = held.session.act(&tap, close()).expect_err("a test goes on");
    assert_ne!(refused, Refusal::NotHereYet);
}

#[test]
fn a_profile_run_comes_on_screen_where_no_test_does() {
    let mut held = restarted(on_profile_run(), |_| {});
    assert_eq!(held.session.profiling(), Some(id(SELF_HEATER)));
    assert_eq!(asked(&mut held), [Effect::Go(Route::ProfileRun(id(SELF_HEATER)))]);
}

#[test]
fn a_text_that_is_no_entry_is_kept_where_it_can_be_seen() {
    let world = given();
    let held = restarted(world.clone(), |loaded| {
        loaded.found.records.push(Record { scope: "kit".into(), text: "{\"v\":2".into(), ..Record::default() });
    });
    assert_eq!(held.session.stage(), Stage::Ready);
    assert_eq!(held.session.book().len(), world.book.len());
    assert_eq!(held.session.book().scraps().map(|scrap| scrap.text.as_str()).collect::<Vec<_>>(), ["{\"v\":2"]);
}

#[test]
fn records_of_a_test_version_stop_the_start_before_anything_is_done() {
    let mut held = restarted(on_test(), |loaded| {
        let first = &mut loaded.found.records[0];
        first.text = first.text.replace("\"v\":2", "\"v\":1");
    });
    assert_eq!(held.session.stage(), Stage::OldRecords);
    assert!(held.session.book().is_empty());
    assert_eq!(held.session.effects(), []);
}

#[test]
fn whatever_could_not_be_read_is_said_and_the_rest_is_there() {
    let full = || Trouble::FreeSpace;
    let ready = |words: &str| (Stage::Ready, Some(format!("{words}: {}.", full())));
    assert_eq!(said(|loaded| loaded.phone_not_kept = Some(full())), ready("This phone's id couldn't be saved"));
    assert_eq!(said(|loaded| loaded.found.trouble = Some(full())), ready("Not all data could be read"));
    assert_eq!(said(|loaded| loaded.found.copy_trouble = Some(full())), ready("Not all data could be read"));
    assert_eq!(said(|loaded| loaded.attachments = Err(full())), ready("Names and notes could not be read"));
    assert_eq!(said(|loaded| loaded.drafts = Err(full())), ready("Drafts could not be read"));
}

#[test]
fn half_filled_forms_are_there_again() {
    let mut held = restarted(given(), |loaded| loaded.drafts = Ok(vec![("#/site".into(), "{}".into())]));
    assert_eq!(held.session.drafts().get("#/site").map(String::as_str), Some("{}"));
    held.session.keep_draft("#/site".into(), None);
    assert!(held.session.drafts().is_empty());
    assert_eq!(held.session.effects(), [Effect::KeepDraft { form: "#/site".into(), text: None }]);
}

#[test]
fn what_was_left_for_later_comes_in_slices_and_only_the_whole_is_whole() {
    let world = given();
    let of_visit = format!("visit:{}", id(VISIT));
    let (later, first): (Vec<Record>, Vec<Record>) =
        records(&world.book).into_iter().partition(|record| record.scope == of_visit);
    let mut held = restarted(world.clone(), |loaded| loaded.found.records = first);
    let (slice, rest) = later.split_at(2);
    held.session.read_more(slice);
    assert!(!held.session.all_here());
    // Of the second copies only what the database lacks is taken in, and is to be written to it.
    let copies = [slice, rest].concat();
    assert_eq!(held.session.lacking(copies), rest);
    assert!(*held.session.book() == world.book);
    held.session.read_all(Ok(()), &HandedOver::new());
    assert!(held.session.all_here());
}

#[test]
fn a_start_that_left_something_out_never_passes_for_the_whole() {
    let left_out: [fn(&mut Loaded); 2] = [
        |loaded| loaded.found.trouble = Some(Trouble::FreeSpace),
        |loaded| loaded.attachments = Err(Trouble::FreeSpace),
    ];
    for change in left_out {
        let mut held = restarted(closed(), change);
        drop(held.session.effects());
        held.session.read_all(Ok(()), &HandedOver::new());
        // No visit is noted as over, and no second copy given up.
        assert_eq!((held.session.all_here(), held.session.effects()), (false, Vec::new()));
    }
}

#[test]
fn a_rest_that_cannot_be_read_is_said_and_nothing_passes_for_the_whole() {
    let mut held = started(closed());
    held.session.read_all(Err("no answer".into()), &HandedOver::new());
    assert!(!held.session.all_here());
    assert_eq!(
        held.session.trouble().map(String::as_str),
        Some("Not all data could be read: no answer. Restart the app.")
    );
    assert_eq!(held.session.effects(), []);
}

#[test]
fn marks_go_on_as_a_session_of_their_own() {
    let mut world = on_test();
    let before = world.wait(SECOND).mark(What::Tripped);
    let mut held = started(world.clone());
    let written = held.marked(What::Restored);
    let entry = Entry::read(&written.records[0].text).unwrap();
    let earlier = world.entry(before);
    assert_eq!((entry.seq, entry.prev), (earlier.seq + 1, Some(before)));
    assert_ne!(entry.stamp.session, earlier.stamp.session);
    assert_eq!(entry.decision, 1);
    assert_eq!(Entry::read(&held.marked(What::Tripped).records[0].text).unwrap().decision, 2);
}
