//! Opening and closing steps of a visit.

use crate::kit::*;
use soakbook::book::body::{Ending, ItemClosed, ItemWhat, NotifyAnswer, NotifyWhen, RetestWhy, Whom, Work};
use soakbook::book::command::Command;
use soakbook::book::entry::Hash;
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::book::visit::Off;
use soakbook::trade::conditions::{ItemClass, Restores, Visual};

fn open(visit: u8, site: u8) -> Command {
    Command::OpenVisit { visit: id(visit), site: id(site), plan: plan() }
}

fn close() -> Command {
    Command::CloseVisit { visit: id(VISIT) }
}

fn door() -> Command {
    secure("Door 7")
}

#[test]
fn a_visit_is_opened_once_on_a_known_site() {
    check(World::given(), open(200, SITE), Ok(&["visit_opened", "attended", "visit_plan"]));
    check(World::given(), open(200, 201), Err(Refusal::UnknownSite));
    check(World::given(), open(VISIT, SITE), Err(Refusal::NoOpenVisit));
}

#[test]
fn another_phone_takes_part_from_the_first_thing_it_records_and_never_by_looking() {
    let given = World::given();
    let mut other = given.other_phone();
    assert_eq!(other.visit().phones.len(), 1);
    check(other.clone(), door(), Ok(&["visit_joined", "secured"]));
    other.act(door());
    assert_eq!(other.visit().phones.len(), 2);
    check(other, impair(None), Ok(&["impaired"]));
}

#[test]
fn everyone_who_records_something_in_a_visit_is_named_in_it() {
    let mut world = World::given();
    assert_eq!(world.visit().attended.iter().map(|person| person.person).collect::<Vec<_>>(), [id(PERSON)]);
    world.phone.who = Some(id(PARTNER));
    check(world.clone(), door(), Ok(&["attended", "secured"]));
    world.act(door());
    check(world.clone(), impair(None), Ok(&["impaired"]));
    // Back in the first one's hand nothing new has to be told.
    world.phone.who = Some(id(PERSON));
    check(world, impair(None), Ok(&["impaired"]));
}

#[test]
fn a_visit_closes_when_nothing_is_left_open() {
    check(World::not_notified(), close(), Ok(&["visit_closed"]));
    let mut world = World::given();
    world.leave();
    check(world.clone(), close(), Ok(&["visit_closed"]));
    world.wait(SECOND);
    let closing = world.act(close());
    for command in [close(), open(VISIT, SITE), door(), impair(Some(LOOP))] {
        check(world.clone(), command, Err(Refusal::NoOpenVisit));
    }
    // Reopened with a reason, or the closing taken back at once.
    let why = Hash::of(b"salted reason");
    let mut reopened = world.clone();
    reopened.act(Command::ReopenVisit { visit: id(VISIT), why, amends: None });
    check(reopened.clone(), door(), Ok(&["secured"]));
    check(reopened, Command::ReopenVisit { visit: id(VISIT), why, amends: None }, Err(Refusal::NothingToEnd));
    world.wait(SECOND).act(Command::Undo { target: closing });
    check(world, door(), Ok(&["secured"]));
}

#[test]
fn only_what_is_off_can_be_restored_and_only_once() {
    let mut world = World::given();
    let secured = world.act(door());
    let notice = world.visit().notices[0].hash;
    check(world.clone(), restore(notice), Err(Refusal::NothingToEnd));
    check(world.clone(), restore(Hash::of(b"")), Err(Refusal::NothingToEnd));
    world.wait(SECOND);
    let restored = world.act(restore(secured));
    check(world.clone(), restore(secured), Err(Refusal::NothingToEnd));
    // A restoring that was a slip is undone, and the securing is in force again.
    world.wait(SECOND).act(Command::Undo { target: restored });
    assert!(world.visit().is_secured("Door 7"));
    check(world, restore(secured), Ok(&["restored"]));
}

#[test]
fn what_one_phone_secured_another_restores() {
    let mut one = World::given();
    let secured = one.act(door());
    let mut two = one.other_phone();
    two.act(restore(secured));
    let visit = one.merged(&two).visit();
    assert_eq!(visit.secured.iter().map(Off::is_off).collect::<Vec<_>>(), [false]);
    assert!(one.visit().is_secured("Door 7"));
}

#[test]
fn an_impairment_names_what_it_is_of() {
    use soakbook::book::body::ImpairedWhat;
    let of = |what: ImpairedWhat, label: Option<&str>| {
        let Command::Impair { visit, mut impaired } = impair(None) else { unreachable!() };
        (impaired.what, impaired.label) = (what, label.map(Into::into));
        Command::Impair { visit, impaired }
    };
    check(World::given(), impair(Some(LOOP)), Ok(&["impaired"]));
    check(World::given(), of(ImpairedWhat::Circuit, None), Err(Refusal::Field("Impaired.circuit", Fault::Choose)));
    for what in [ImpairedWhat::Zone, ImpairedWhat::Output] {
        check(World::given(), of(what, None), Err(Refusal::Field("Impaired.label", Fault::Empty)));
        check(World::given(), of(what, Some("Horns")), Ok(&["impaired"]));
    }
}

#[test]
fn who_was_notified_is_kept_and_the_last_word_counts() {
    let mut world = World::given();
    world.act(notify(Whom::Occupants, NotifyAnswer::Notified, |_| {}));
    world.wait(SECOND).act(notify(Whom::Occupants, NotifyAnswer::NotRequired, |_| {}));
    world.wait(SECOND).act(notify(Whom::Occupants, NotifyAnswer::Notified, |notice| notice.when = NotifyWhen::After));
    let visit = world.visit();
    let last = |when| visit.notice(Whom::Occupants, when).map(|at| at.notice.answer);
    assert_eq!(last(NotifyWhen::Before), Some(NotifyAnswer::NotRequired));
    assert_eq!(last(NotifyWhen::After), Some(NotifyAnswer::Notified));
    assert_eq!(visit.notices.len(), 4, "the station's is one of them");
    let Command::Notify { notice, .. } = notify(Whom::Owner, NotifyAnswer::Notified, |_| {}) else { unreachable!() };
    check(world, Command::Notify { visit: id(200), notice }, Err(Refusal::NoOpenVisit));
}

#[test]
fn a_position_can_be_looked_at_without_a_test_and_what_is_found_opens_an_item() {
    let look = |n, found: &[Visual]| Command::CheckVisual { visit: id(VISIT), position: id(n), found: found.to_vec() };
    check(World::given(), look(POSITION, &[]), Ok(&["visual_check"]));
    check(World::given(), look(POSITION, &[Visual::Damaged]), Ok(&["visual_check", "item_found"]));
    check(World::given(), look(200, &[]), Err(Refusal::UnknownPosition));
    // rule B12: the gravest finding gives the class.
    let mut world = World::given();
    world.act(look(POSITION, &[Visual::Dirty, Visual::Loose]));
    assert_eq!(world.visit().items[0].class, Some(ItemClass::Deficiency));
}

#[test]
fn an_item_is_classed_told_and_closed() {
    let mut world = World::given();
    let (visit, position) = (id(VISIT), Some(id(POSITION)));
    let (what, happened) = (ItemWhat::Other, happened(MORNING));
    let item = world.act(Command::FindItem { visit, what, class: None, position, test: None, note: None, happened });
    let class = |class| Command::ClassItem { item, class };
    let tell = |in_writing| Command::TellItem { item, to: named("owner"), in_writing, happened };
    let close = |item, how| Command::CloseItem { item, how, by: named("owner"), note: None, happened };
    check(world.clone(), close(Hash::of(b""), ItemClosed::Accepted), Err(Refusal::NothingToEnd));
    world.wait(SECOND).act(class(ItemClass::Impairment));
    world.wait(SECOND).act(class(ItemClass::Deficiency));
    world.wait(SECOND).act(tell(false));
    world.wait(SECOND).act(tell(true));
    let open = world.visit().items[0].clone();
    assert_eq!((open.class, open.is_open()), (Some(ItemClass::Deficiency), true));
    assert_eq!(open.told.iter().map(|told| told.in_writing).collect::<Vec<_>>(), [false, true]);
    world.wait(SECOND).act(close(item, ItemClosed::Accepted));
    let closed = world.visit().items[0].clone();
    assert_eq!((closed.is_open(), closed.closed), (false, vec![(ItemClosed::Accepted, named("owner"))]));
    check(world, close(item, ItemClosed::Withdrawn), Err(Refusal::NothingToEnd));
}

#[test]
fn work_is_recorded_at_a_known_position() {
    let (visit, work, happened) = (id(VISIT), Work::Cleaned, happened(MORNING));
    let repair = |n| Command::Repair { visit, position: id(n), work, item: None, note: None, happened };
    check(World::given(), repair(POSITION), Ok(&["repaired"]));
    check(World::given(), repair(200), Err(Refusal::UnknownPosition));
}

#[test]
fn notes_and_retests_name_what_they_are_about() {
    let mut world = World::running(SELF_HEATER, SET_POINT, Restores::NotWatched);
    let note = Hash::of(b"salted words");
    world.wait(SECOND).act(Command::Note { visit: id(VISIT), about: id(TEST), note });
    assert_eq!(world.test().notes, [note]);
    let why = RetestWhy::Requested;
    check(world.clone(), Command::Note { visit: id(200), about: id(TEST), note }, Err(Refusal::NoOpenVisit));
    check(world.clone(), Command::ListRetest { test: id(TEST), why }, Ok(&["retest_listed"]));
    check(world.clone(), Command::ListRetest { test: id(200), why }, Err(Refusal::UnknownTest));
    check(world, Command::End { test: id(200), how: Ending::Done }, Err(Refusal::UnknownTest));
}
