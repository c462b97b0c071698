//! What stands before the first heat: 0.8, 0.11, 0.12.

use super::*;
use soakbook::book::body::{Body, NotifyAnswer, NotifyWhen, Whom};
use soakbook::book::refusal::Refusal;
use soakbook::trade::detector::Duty;

#[test]
fn v0_08_the_first_heat_needs_the_supervising_station() {
    assert_eq!(World::not_notified().try_act(functional(|_| {})), Err(Refusal::StationNotNotified));
    for answer in [NotifyAnswer::Notified, NotifyAnswer::NotMonitored, NotifyAnswer::NotRequired] {
        let mut world = World::not_notified();
        world.act(notify(Whom::SupervisingStation, answer, |_| {}));
        assert!(world.try_act(functional(|_| {})).is_ok(), "{answer:?}");
    }
    // Nobody else's notice stands in for it, nor one that the testing is over.
    for (whom, when) in [(Whom::Owner, NotifyWhen::Before), (Whom::SupervisingStation, NotifyWhen::After)] {
        let mut world = World::not_notified();
        world.act(notify(whom, NotifyAnswer::Notified, |notice| notice.when = when));
        assert_eq!(world.try_act(functional(|_| {})), Err(Refusal::StationNotNotified), "{whom:?}, {when:?}");
    }
}

#[test]
fn v0_08_a_reason_that_prints_may_stand_for_the_station_also_after_its_time_and_for_nothing_else() {
    let until = MORNING + 3_600_000;
    let mut world = World::not_notified();
    world.act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| notice.test_until = Some(until)));
    world.wait(3_600_000);
    assert_eq!(world.try_act(functional(|_| {})), Err(Refusal::StationLapsed { at: until }));
    let go_ahead =
        |notice: &mut soakbook::book::body::Notice| notice.note = Some(soakbook::book::entry::Hash::of(b"why"));
    let bare = world.try_act(notify(Whom::SupervisingStation, NotifyAnswer::GoAheadWithout, |_| {}));
    assert!(matches!(bare, Err(Refusal::Field(..))), "without a reason it is none: {bare:?}");
    world.act(notify(Whom::SupervisingStation, NotifyAnswer::GoAheadWithout, go_ahead));
    assert!(world.clone().try_act(functional(|_| {})).is_ok());
    // It replaces this answer alone: what is released is refused all the same.
    world.act(put_position(POSITION, "HD-1", marking(), releases(&["Packing belt stop"])));
    let refused = world.try_act(functional(|_| {}));
    assert_eq!(refused, Err(Refusal::NotSecured { releases: vec!["Packing belt stop".into()] }));
}

#[test]
fn v0_08_releases_are_no_unknown_or_secured() {
    let mut world = World::given();
    world.act(put_position(POSITION, "HD-1", marking(), Duty::default()));
    assert_eq!(world.try_act(functional(|_| {})), Err(Refusal::ReleasesUnknown));
    world.act(put_position(POSITION, "HD-1", marking(), releases(&["Door"])));
    assert_eq!(world.try_act(functional(|_| {})), Err(Refusal::NotSecured { releases: vec!["Door".into()] }));
    let secured = world.act(secure("Door"));
    assert!(world.clone().try_act(functional(|_| {})).is_ok());
    // Restored is not secured any more.
    world.act(restore(secured));
    assert_eq!(world.try_act(functional(|_| {})), Err(Refusal::NotSecured { releases: vec!["Door".into()] }));
    world.act(put_position(POSITION, "HD-1", marking(), no_duty()));
    assert!(world.try_act(functional(|_| {})).is_ok());
}

#[test]
fn v0_11_a_person_stands_in_every_sessions_first_entry() {
    let mut world = World::given();
    let mut nobody = world.clone();
    nobody.phone.who = None;
    assert_eq!(nobody.try_act(functional(|_| {})), Err(Refusal::NoPerson));
    world.restart(60_000);
    let begun = world.book.entries().count();
    world.act(functional(|_| {}));
    let new: Vec<_> = world.book.entries().filter(|entry| entry.stamp.session == world.phone.session).collect();
    assert!(world.book.entries().count() > begun && !new.is_empty());
    let opens = new.iter().filter_map(|entry| entry.opens.as_ref()).map(|opens| opens.who);
    assert_eq!(opens.collect::<Vec<_>>(), [Some(id(PERSON))], "one chain, opened once");
    assert_eq!(world.test().frozen.by, id(PERSON));
    // Firm and license go with the name into the visit.
    let attended = world.book.entries().find_map(|entry| match &entry.body {
        Body::Attended(attended) if attended.person == id(PERSON) => Some(attended.clone()),
        _ => None,
    });
    assert!(attended.is_some_and(|attended| attended.firm.is_some() && attended.license.is_some()));
}

#[test]
fn v0_12_notices_securing_impairments_and_permits_have_their_own_time_and_undo() {
    let commands =
        [notify(Whom::Owner, NotifyAnswer::Notified, |_| {}), secure("Door"), impair(None), super::gas::take(|_| {})];
    for command in commands {
        let mut world = World::given();
        world.wait(1_800_000);
        let shown = format!("{command:?}");
        let open = |world: &World| {
            let visit = world.visit();
            let owner = visit.notice(Whom::Owner, NotifyWhen::Before).is_some();
            (owner, visit.is_secured("Door"), visit.impaired.len(), visit.permits.len())
        };
        let before = open(&world);
        let hash = world.act(command);
        assert_ne!(open(&world), before, "{shown}");
        let entry = world.entry(hash).clone();
        let happened = match &entry.body {
            Body::Notified(notice) => notice.happened,
            Body::Secured(secured) => secured.happened,
            Body::Impaired(impaired) => impaired.happened,
            Body::PermitTaken(permit) => permit.happened,
            other => panic!("{other:?}"),
        };
        assert_eq!(happened, super::happened(MORNING), "{shown}: what a person gave");
        assert_eq!(entry.stamp.wall, MORNING + 1_800_000, "{shown}: when it was recorded");
        world.wait(SECOND).act(Command::Undo { target: hash });
        assert_eq!(open(&world), before, "{shown}: taken back");
    }
}
