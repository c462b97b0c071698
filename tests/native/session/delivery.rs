//! What is on its way to the office: kept before it is sent, never in the way of a test, let go only with a receipt.

use super::*;
use soakbook::encoding::stored;
use soakbook::handover::delivery::{Answer, Job, Parcel, State, Step, Why};
use soakbook::units::{Mono, Wall};
use std::collections::BTreeMap;

fn parcel(name: &str) -> Parcel {
    Parcel { name: name.into(), digest: "00".into(), chains: BTreeMap::new(), delivered: None, without: None }
}

/// With a folder set.
fn with_folder(world: World) -> Held {
    let mut held = started(world);
    held.session.prefer(|prefs| prefs.folder = "/inbox/".into());
    let _ = held.session.effects();
    held
}

fn asked(held: &mut Held) -> Job {
    match &held.session.effects()[..] {
        [Effect::Deliver(job)] => job.clone(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_file_is_kept_first_then_sent_and_let_go_with_its_receipt() {
    let mut held = with_folder(given());
    held.session.queue(parcel("a"), "text".into());
    let kept = held.session.effects();
    assert_eq!(kept, [Effect::KeepFile { parcel: parcel("a"), text: "text".into() }]);
    assert_eq!(held.session.outbox().files().count(), 0, "not on the disk yet");
    held.session.file_kept(parcel("a"), Mono(0));
    let put = asked(&mut held);
    assert_eq!(put.step, Step::Put);
    held.session.answered(&put, Answer::Put(412), Mono(10), Wall(99));
    let back = asked(&mut held);
    assert_eq!(back.step, Step::ReadBack { after: 412 });
    held.session.answered(&back, Answer::ReadBack(200, true), Mono(20), Wall(99));
    let receipt = Parcel { delivered: Some(Wall(99)), ..parcel("a") };
    assert_eq!(held.session.effects(), [Effect::KeepReceipt(receipt)]);
    // The same records again are the same file.
    held.session.queue(parcel("a"), "text".into());
    assert_eq!(held.session.effects(), []);
}

#[test]
fn files_go_one_after_another_and_wait_once() {
    let mut held = with_folder(given());
    held.session.file_kept(parcel("a"), Mono(0));
    let first = asked(&mut held);
    held.session.file_kept(parcel("b"), Mono(0));
    assert_eq!(held.session.effects(), [], "one at a time");
    held.session.answered(&first, Answer::Nothing, Mono(0), Wall(0));
    assert_eq!(held.session.effects(), [Effect::DeliverIn(2_000)]);
    held.session.deliver(Mono(500));
    assert_eq!(held.session.effects(), [], "one look is planned already");
    held.session.online(Mono(600));
    assert_eq!(asked(&mut held).name, "b", "the one that failed least");
}

#[test]
fn one_file_goes_at_once_when_the_network_is_back() {
    let mut held = with_folder(given());
    held.session.file_kept(parcel("a"), Mono(0));
    for now in (0..5).map(Mono) {
        let job = asked(&mut held);
        held.session.answered(&job, Answer::Nothing, now, Wall(0));
        assert!(!held.session.effects().iter().any(|effect| matches!(effect, Effect::Deliver(_))));
        held.session.online(now);
    }
    assert_eq!(asked(&mut held).name, "a");
}

#[test]
fn a_timer_that_fires_early_is_set_again() {
    let mut held = with_folder(given());
    held.session.file_kept(parcel("a"), Mono(0));
    let job = asked(&mut held);
    held.session.answered(&job, Answer::Nothing, Mono(0), Wall(0));
    assert_eq!(held.session.effects(), [Effect::DeliverIn(2_000)]);
    held.session.look_again(Mono(1_999));
    assert_eq!(held.session.effects(), [Effect::DeliverIn(1)]);
    held.session.look_again(Mono(2_000));
    assert_eq!(asked(&mut held).name, "a");
}

#[test]
fn without_a_folder_or_in_a_test_nothing_is_sent() {
    let mut held = started(given());
    held.session.file_kept(parcel("a"), Mono(0));
    assert_eq!(held.session.effects(), []);
    for world in [on_test(), on_profile_run()] {
        let mut held = with_folder(world);
        held.session.file_kept(parcel("a"), Mono(0));
        assert!(matches!(held.session.effects()[..], [Effect::DeliverIn(ms)] if ms > 0));
        held.session.deliver_again(Mono(1));
        assert!(
            !held.session.effects().iter().any(|effect| matches!(effect, Effect::Deliver(_))),
            "not by hand either"
        );
    }
}

#[test]
fn a_start_takes_up_what_is_kept_and_tries_what_was_refused() {
    let mut held = with_folder(given());
    held.session.file_kept(parcel("a"), Mono(0));
    let job = asked(&mut held);
    held.session.answered(&job, Answer::Put(401), Mono(0), Wall(0));
    assert_eq!(held.session.outbox().files().next().map(|file| file.1), Some(State::Refused(Why::SignIn)));
    assert_eq!(held.session.effects(), []);
    let mut held = with_folder(given());
    let delivered = Parcel { delivered: Some(Wall(5)), ..parcel("b") };
    held.session.outbox_read(&[stored::write(&parcel("a")), stored::write(&delivered)]);
    held.session.deliver_again(Mono(0));
    assert_eq!(asked(&mut held).name, "a");
    held.session.outbox_read(&["no parcel".into()]);
    assert!(held.session.trouble().is_some_and(|words| words.contains("could not be read")));
}
