//! Which point the panel showed instead of the right one: said by a tap, so that two that fit each other are found.

use super::*;
use soakbook::book::kit::Kit;
use soakbook::units::Degree;
use soakbook::view::forms::{self, Ask, Attached, Known, Making, Typed};
use soakbook::view::page::text::text;
use soakbook::view::route::Form;
use soakbook::view::visit::VisitScreen;

fn visit_page(world: &World) -> String {
    let (register, visit, now) = (world.register(), world.visit(), world.phone.wall);
    text(&VisitScreen::of(&world.book, &register, &visit, None, Degree::F, 0, now).page(now))
}

/// The form with these texts in it: what it offers, and the commands that it makes.
fn form(world: &World, trip: Hash, texts: &[(&str, &str)]) -> (Vec<String>, Result<Vec<Command>, forms::Wrongs>) {
    let (register, kit, form) = (world.register(), Kit::of(&world.book), Form::PanelShowed(trip));
    let known =
        Known { register: &register, kit: &kit, book: &world.book, visit: Some(id(VISIT)), at: world.phone.at() };
    let mut typed: Typed = forms::open(form, known, Degree::F);
    texts.iter().for_each(|(key, text)| typed.set(key, text));
    let page = forms::page(form, &typed, known);
    let Ask::Choice(answers) = &page.parts[0].fields[0].ask else { panic!("{page:?}") };
    let offered = answers.iter().map(|answer| answer.label.clone()).collect();
    let attached = Attached::new();
    (offered, forms::command(form, &typed, Making { id: id(TEST), other: id(TEST), attached: &attached }, known))
}

/// A functional test that showed a wrong point and restored; its trip.
fn wrong(world: &mut World, test: u8, position: u8) -> Hash {
    world.wait(SECOND).act(start_with(|start| {
        (start.test, start.position, start.procedure) = (id(test), id(position), Some(id(FUNCTIONAL)));
    }));
    let trip = world.wait(60 * SECOND).act(Command::Mark { of: id(test), what: What::Tripped });
    // As the keys give it: no word on which point.
    world.act(Command::SayPanel { trip, point: Point::Wrong, said: None });
    world.wait(SECOND).act(Command::Mark { of: id(test), what: What::Restored });
    trip
}

/// One more test of a position, which showed that point and restored.
fn again(world: &mut World, test: u8, position: u8, point: Point) {
    world.wait(SECOND).act(start_with(|start| {
        (start.test, start.position, start.procedure) = (id(test), id(position), Some(id(FUNCTIONAL)));
    }));
    let trip = world.wait(60 * SECOND).act(Command::Mark { of: id(test), what: What::Tripped });
    world.act(Command::SayPanel { trip, point, said: None });
    world.wait(SECOND).act(Command::Mark { of: id(test), what: What::Restored });
}

#[test]
fn the_wrong_point_is_a_tap_and_the_pair_looks_swapped() {
    // rule B24.
    let mut world = World::given();
    let (one, other) = (wrong(&mut world, TEST, POSITION), wrong(&mut world, OTHER_TEST, OTHER_POSITION));
    assert_eq!(visit_page(&world).matches("Which point…").count(), 2, "{}", visit_page(&world));
    for (trip, tag) in [(one, "HD-2"), (other, "HD-1")] {
        let (offered, made) = form(&world, trip, &[("showed", tag)]);
        assert_eq!(offered, [tag, "Something else"], "the others on its circuit, and none of its own");
        for command in made.expect("a command") {
            world.wait(SECOND).act(command);
        }
    }
    let page = visit_page(&world);
    assert!(!page.contains("Which point…") && page.contains("HD-1 and HD-2 look swapped"), "{page}");
    // Each showed one wrong point, whatever was said of it later.
    assert_eq!(world.visit().items.len(), 2);
}

#[test]
fn swapped_points_close_when_both_have_passed_again() {
    // rule B24. Mended at the panel, then each tested once more.
    let mut world = World::given();
    for (trip, tag) in
        [(wrong(&mut world, TEST, POSITION), "HD-2"), (wrong(&mut world, OTHER_TEST, OTHER_POSITION), "HD-1")]
    {
        for command in form(&world, trip, &[("showed", tag)]).1.expect("a command") {
            world.wait(SECOND).act(command);
        }
    }
    world.wait(SECOND);
    world.act(Command::FindSwapped { visit: id(VISIT), one: id(POSITION), other: id(OTHER_POSITION) });
    let open = |world: &World| world.visit().items.iter().filter(|item| item.is_open()).count();
    again(&mut world, 201, POSITION, Point::Right);
    assert_eq!(open(&world), 3, "the other is not tested again");
    again(&mut world, 202, OTHER_POSITION, Point::Wrong);
    assert_eq!(open(&world), 4, "still wrong, which is one more");
    again(&mut world, 203, OTHER_POSITION, Point::Right);
    assert_eq!(open(&world), 1, "the wrong point found after it is one of its own: {:?}", world.visit().items);
}

#[test]
fn a_point_that_is_none_of_the_list_is_typed() {
    let mut world = World::given();
    let trip = wrong(&mut world, TEST, POSITION);
    for empty in [&[][..], &[("showed", "other")]] {
        assert!(form(&world, trip, empty).1.is_err(), "{empty:?}");
    }
    let (_, made) = form(&world, trip, &[("showed", "other"), ("showed-words", "Smoke, lobby")]);
    assert_eq!(made, Ok(vec![Command::SayPanel { trip, point: Point::Wrong, said: Some("Smoke, lobby".into()) }]));
}

#[test]
fn swapped_points_stay_open_while_the_last_test_of_a_phone_has_not_passed() {
    // Of several phones the worst counts, as in the result of the position.
    let mut world = World::given();
    wrong(&mut world, TEST, POSITION);
    wrong(&mut world, OTHER_TEST, OTHER_POSITION);
    world.wait(SECOND);
    let swapped = world.act(Command::FindSwapped { visit: id(VISIT), one: id(POSITION), other: id(OTHER_POSITION) });
    let mut other = world.other_phone();
    wrong(&mut other, 200, POSITION);
    world.phone.wall = other.phone.wall;
    again(&mut world, 201, POSITION, Point::Right);
    again(&mut world, 202, OTHER_POSITION, Point::Right);
    let item = |world: &World| world.visit().items.into_iter().find(|item| item.hash == swapped).expect("the item");
    assert!(!item(&world).is_open(), "as far as this phone knows");
    let mut merged = world.merged(&other);
    assert!(item(&merged).is_open(), "the other phone saw a wrong point");
    // That phone tests it again.
    merged.phone = Phone { wall: merged.phone.wall, ..other.phone };
    again(&mut merged, 203, POSITION, Point::Right);
    assert!(!item(&merged).is_open());
    // What is closed by itself names the test that shows it.
    let visit = merged.visit();
    let found = soakbook::findings::visit(&merged.book, &visit);
    let page = text(&soakbook::view::record::record(&merged.book, &merged.register(), &visit, &found));
    let line = page.lines().find(|line| line.contains("Points look swapped")).expect("its line");
    assert!(line.contains("Passed a later test") && line.contains("test of 2026-03-02 "), "{line}");
    assert!(line.ends_with(": passed"), "{line}");
}

#[test]
fn swapped_points_stay_open_while_another_method_shows_the_wrong_one() {
    let mut world = World::given();
    let swapped = world.act(Command::FindSwapped { visit: id(VISIT), one: id(POSITION), other: id(OTHER_POSITION) });
    let mut other = world.other_phone();
    let now = other.wait(SECOND).phone.wall;
    let shown = |of: &mut OtherMethod| (of.test, of.point, of.happened.at) = (id(200), Point::Wrong, now);
    other.act(other_method(POSITION, shown));
    again(&mut world, 201, POSITION, Point::Right);
    again(&mut world, 202, OTHER_POSITION, Point::Right);
    let open = |world: &World| world.visit().items.iter().any(|item| item.hash == swapped && item.is_open());
    assert!(!open(&world) && open(&world.merged(&other)));
}
