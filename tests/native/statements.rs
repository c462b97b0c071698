//! The visit, statement by statement, where no other file has it: releases, the list, visual checks, items, replacing.

use crate::kit::*;
use soakbook::book::body::{
    Ending, ItemClosed, ItemWhat, NotifyAnswer, Point, RemovedWhy, Secured, SiteRules, What, Who, Whom,
};
use soakbook::book::command::Command;
use soakbook::book::entry::Hash;
use soakbook::book::refusal::Refusal;
use soakbook::book::visit::Item;
use soakbook::findings::{self, Outcome};
use soakbook::trade::conditions::{ItemClass, Visual};
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::Degree;
use soakbook::view::page::text::text;
use soakbook::view::page::{Action, Button, Kind, Page};
use soakbook::view::visit::{VisitScreen, next_after};

const HOUR: i64 = 3_600 * SECOND;

fn me() -> Who {
    Who::Person(id(PERSON))
}

fn visit_page(world: &World) -> Page {
    let (register, now) = (world.register(), world.phone.wall);
    VisitScreen::of(&world.book, &register, &world.visit(), None, Degree::F, 0, now).page(now)
}

/// The keys below the lines of a page.
fn keys(page: &Page) -> Vec<Button> {
    let sections = page.blocks.iter().flat_map(|block| match &block.kind {
        Kind::Section(section) => section.blocks.clone(),
        _ => vec![block.clone()],
    });
    let rows = sections.filter_map(|block| match block.kind {
        Kind::Rows(rows) => Some(rows.rows),
        _ => None,
    });
    rows.flatten().flat_map(|row| row.buttons).collect()
}

/// Taps a key of the list that gives a command.
fn tap(world: &mut World, key: &str) {
    let page = visit_page(world);
    let button = keys(&page).into_iter().find(|button| button.key == key);
    let button = button.unwrap_or_else(|| panic!("no {key} on\n{}", text(&page)));
    let Action::Give(command) = button.action else { panic!("{key} gives no command") };
    world.wait(SECOND).act(*command);
}

fn functional(world: &mut World, test: u8, position: u8) {
    world.wait(SECOND).act(start_with(|start| {
        (start.test, start.position, start.procedure) = (id(test), id(position), Some(id(FUNCTIONAL)));
    }));
}

fn passes(world: &mut World, test: u8, position: u8) {
    functional(world, test, position);
    let trip = world.wait(60 * SECOND).act(Command::Mark { of: id(test), what: What::Tripped });
    world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    world.wait(SECOND).act(Command::Mark { of: id(test), what: What::Restored });
}

/// A test of the first position that decided nothing, and its item.
fn not_proven(world: &mut World) -> Hash {
    functional(world, TEST, POSITION);
    world.wait(60 * SECOND).act(Command::End { test: id(TEST), how: Ending::NoTrip });
    world.visit().items[0].hash
}

fn item(world: &World, hash: Hash) -> Item {
    world.visit().items.iter().find(|item| item.hash == hash).expect("the item").clone()
}

#[test]
fn what_is_secured_says_how_by_whom_and_whether_alone() {
    // Rule B6.
    let mut world = World::given();
    world.act(put_position(POSITION, "HD-1", marking(), releases(&["Deluge 3"])));
    let secured = |verified_by| Secured {
        release: "Deluge 3".into(),
        method: Some("Valve closed".into()),
        tag: Some("Lock 17".into()),
        by: me(),
        verified_by,
        happened: happened(MORNING - 60 * SECOND),
    };
    let secure = |verified_by| Command::Secure { visit: id(VISIT), secured: Box::new(secured(verified_by)) };
    let alone = world.act(secure(None));
    let kept = world.visit().secured[0].what.clone();
    assert_eq!(*kept, secured(None));
    assert!(text(&visit_page(&world)).contains("· alone"), "{}", text(&visit_page(&world)));
    world.wait(SECOND).act(Command::Undo { target: alone });
    world.act(secure(Some(Who::Person(id(PARTNER)))));
    assert!(text(&visit_page(&world)).contains("verified by"));
}

#[test]
fn the_three_results_of_a_functional_test_are_a_tap_each_in_the_list() {
    // Rule B9: three taps, and no screen in between.
    let mut world = World::given();
    functional(&mut world, TEST, POSITION);
    world.wait(30 * SECOND);
    tap(&mut world, "tripped-HD-1");
    tap(&mut world, "panel-right-HD-1");
    tap(&mut world, "restored-HD-1");
    let found = findings::visit(&world.book, &world.visit());
    assert_eq!((found.tests[0].outcome, world.test().ended.map(|(how, _)| how)), (Outcome::Passed, Some(Ending::Done)));
    assert!(keys(&visit_page(&world)).iter().all(|key| !key.key.ends_with("-HD-1")));
    // Of two heaters at once each has its own keys.
    let mut world = World::given();
    world.act(put_position_with(OTHER_POSITION, "HD-2", |put| put.place.circuit = Some(id(LINE))));
    functional(&mut world, TEST, POSITION);
    world.wait(SECOND).act(start_with(|start| {
        (start.test, start.position, start.procedure) = (id(OTHER_TEST), id(OTHER_POSITION), Some(id(FUNCTIONAL)));
        start.heater = id(HAND_HEATER);
    }));
    let here = keys(&visit_page(&world));
    assert!(["tripped-HD-1", "tripped-HD-2"].iter().all(|key| here.iter().any(|button| button.key == *key)));
    // A set-point test has several trips: those are marked on its own screen.
    let world = World::running(SELF_HEATER, SET_POINT, soakbook::trade::conditions::Restores::NotWatched);
    assert!(keys(&visit_page(&world)).iter().all(|key| key.key != "tripped-HD-1"));
}

#[test]
fn the_next_one_is_the_next_in_the_list_that_is_still_to_be_tested() {
    // Rule B9: next and skip.
    let mut world = World::given();
    for (n, tag) in [(160, "HD-3"), (161, "HD-4")] {
        world.act(put_position_with(n, tag, |put| put.detector = id(n + 40)));
    }
    let never = soakbook::trade::detector::Marking { detector_type: DetectorType::FixedNonrestorable, ..marking() };
    world.act(put_position_with(162, "HD-0", |put| (put.detector, put.marking) = (id(202), never)));
    let next = |world: &World, after: Option<u8>| {
        next_after(&world.register(), &world.visit(), after.map(id)).map(|(_, tag)| tag)
    };
    assert_eq!(next(&world, None).as_deref(), Some("HD-1"), "one that is never heated came first");
    assert_eq!(next(&world, Some(POSITION)).as_deref(), Some("HD-2"));
    assert_eq!(next(&world, Some(161)).as_deref(), Some("HD-1"), "after the last comes the first that is left");
    passes(&mut world, TEST, OTHER_POSITION);
    assert_eq!(next(&world, Some(POSITION)).as_deref(), Some("HD-3"));
    assert!(text(&visit_page(&world)).contains("[Next: HD-3]"), "{}", text(&visit_page(&world)));
    // With a list only what is on it, and what is to be tested once more.
    world.act(Command::PlanPositions { visit: id(VISIT), positions: vec![id(161)], planned: true, why: None });
    assert_eq!(next(&world, Some(POSITION)).as_deref(), Some("HD-4"));
    world.act(Command::ListRetest { test: id(TEST), why: soakbook::book::body::RetestWhy::Requested });
    assert_eq!(next(&world, Some(POSITION)).as_deref(), Some("HD-2"));
}

#[test]
fn what_the_eye_finds_has_its_class_and_three_findings_refuse_heat() {
    // Rule B12, in its words.
    use ItemClass::{Deficiency, Impairment, Observation};
    let all = [
        (Visual::Missing, Impairment, true),
        (Visual::Damaged, Impairment, true),
        (Visual::Loose, Deficiency, false),
        (Visual::Corroded, Deficiency, false),
        (Visual::Painted, Deficiency, true),
        (Visual::Obstructed, Deficiency, false),
        (Visual::WrongPlace, Deficiency, false),
        (Visual::WrongRating, Deficiency, false),
        (Visual::Dirty, Observation, false),
    ];
    assert_eq!(all.len(), Visual::ALL.len());
    for (finding, class, refuses) in all {
        let mut world = World::given();
        world.act(Command::CheckVisual { visit: id(VISIT), position: id(POSITION), found: vec![finding] });
        let found = world.visit().items[0].clone();
        assert_eq!((found.found.what, found.class), (ItemWhat::Visual, Some(class)), "{finding:?}");
        let start = world.wait(SECOND).try_act(start_with(|_| {}));
        assert_eq!(start.is_err(), refuses, "{finding:?}");
        if refuses {
            assert_eq!(start, Err(Refusal::FailedVisual(finding)));
        }
        // It is changed by hand.
        world.act(Command::ClassItem { item: found.hash, class: Observation });
        assert_eq!(world.visit().items[0].class, Some(Observation));
    }
}

#[test]
fn a_sites_clock_for_written_notice_runs_until_somebody_is_told_in_writing() {
    // Rule B13.
    let mut world = World::given();
    let item = not_proven(&mut world);
    let said = |world: &World| text(&visit_page(world));
    assert!(!said(&world).contains("written notice"), "a clock that nobody set");
    let rules = SiteRules { written_notice_h: Some(24), ..world.register().rules_of(id(SITE)) };
    world.act(Command::PutSiteRules { site: id(SITE), now: Box::new(rules) });
    assert!(said(&world).contains("written notice due 2026-03-03 08:0"), "{}", said(&world));
    let mut late = world.clone();
    late.wait(25 * HOUR);
    assert!(said(&late).contains("written notice was due 2026-03-03 08:0"));
    let happened = world.phone.at().happened();
    let tell = |in_writing| Command::TellItem { item, to: named("O. Owner"), in_writing, happened };
    world.wait(SECOND).act(tell(false));
    assert!(said(&world).contains("written notice due"), "told, but not in writing");
    world.wait(SECOND).act(tell(true));
    assert!(!said(&world).contains("written notice"));
    let told = self::item(&world, item).told;
    assert_eq!(
        told.iter().map(|told| (told.to, told.in_writing)).collect::<Vec<_>>(),
        [(named("O. Owner"), false), (named("O. Owner"), true)]
    );
}

#[test]
fn an_item_is_closed_by_what_a_later_visit_shows() {
    // Rule B13: closed with evidence, also in a later visit.
    let mut world = World::given();
    let item = not_proven(&mut world);
    world.leave();
    let next = id(200);
    world.wait(24 * HOUR).act(Command::OpenVisit { visit: next, site: id(SITE), plan: plan() });
    let Command::Notify { notice, .. } = notify(Whom::SupervisingStation, NotifyAnswer::Notified, |_| {}) else {
        unreachable!()
    };
    world.act(Command::Notify { visit: next, notice });
    let close = |how| Command::CloseItem { item, how, by: me(), note: None, happened: happened(MORNING) };
    assert_eq!(world.try_act(close(ItemClosed::PassedLater)).map(|_| ()), Err(Refusal::NoPassedTest));
    world.wait(SECOND).act(start_with(|start| {
        (start.visit, start.test, start.procedure) = (next, id(OTHER_TEST), Some(id(FUNCTIONAL)));
    }));
    let trip = world.wait(60 * SECOND).act(Command::Mark { of: id(OTHER_TEST), what: What::Tripped });
    world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    world.wait(SECOND).act(Command::Mark { of: id(OTHER_TEST), what: What::Restored });
    world.wait(SECOND).act(close(ItemClosed::PassedLater));
    assert_eq!(self::item(&world, item).closed, [(ItemClosed::PassedLater, me())]);
}

#[test]
fn replaced_and_tested_closes_the_item_by_itself() {
    // Rule B14: the old detector kept, a functional test with the point verified, closed by itself.
    let mut world = World::given();
    let item = not_proven(&mut world);
    let Command::Replace(mut of) = replace(POSITION) else { unreachable!() };
    (of.item, of.why) = (Some(item), RemovedWhy::Failed);
    world.wait(SECOND).act(Command::Replace(of));
    let register = world.register();
    let position = &register.positions[&id(POSITION)];
    assert_eq!(position.installed.len(), 2, "the old detector is kept");
    assert!(self::item(&world, item).is_open());
    functional(&mut world, OTHER_TEST, POSITION);
    let trip = world.wait(60 * SECOND).act(Command::Mark { of: id(OTHER_TEST), what: What::Tripped });
    world.wait(SECOND).act(Command::Mark { of: id(OTHER_TEST), what: What::Restored });
    assert!(self::item(&world, item).is_open(), "the point was not verified");
    let said = world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    assert_eq!(self::item(&world, item).closed, [(ItemClosed::ReplacedAndTested, me())]);
    // What the test said is taken back, and with it the closing.
    world.wait(SECOND).act(Command::Undo { target: said });
    assert!(self::item(&world, item).is_open());
}

#[test]
fn a_replacement_closes_nothing_that_it_does_not_answer() {
    let mut world = World::given();
    world.act(Command::CheckVisual { visit: id(VISIT), position: id(POSITION), found: vec![Visual::Obstructed] });
    let obstructed = world.visit().items[0].hash;
    world.wait(SECOND).act(replace(POSITION));
    passes(&mut world, OTHER_TEST, POSITION);
    assert!(self::item(&world, obstructed).is_open());
    // That of another position neither.
    let mut world = World::given();
    let item = not_proven(&mut world);
    world.wait(SECOND).act(replace(OTHER_POSITION));
    passes(&mut world, OTHER_TEST, OTHER_POSITION);
    assert!(self::item(&world, item).is_open());
}
