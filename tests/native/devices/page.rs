//! The page of a position and its walking order.

use super::{known, page, page_of};
use crate::kit::*;
use soakbook::book::body::{Ending, Person};
use soakbook::book::command::Command;
use soakbook::book::entries::Attachment;
use soakbook::trade::detector::{Access, AreaConditions, Reach};
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::{Degree, Length, LengthUnit, Reading};
use soakbook::view::page::html::html;
use soakbook::view::page::text::text;
use soakbook::view::page::{Action, Button, Kind, Page};
use soakbook::view::route::{Form, Route};
use soakbook::view::visit::VisitScreen;
use soakbook::view::{people, walk};

fn buttons(page: &Page) -> Vec<Button> {
    let of = |kind: &Kind| match kind {
        Kind::Buttons(of) => of.clone(),
        Kind::Notice(of) => of.buttons.clone(),
        _ => Vec::new(),
    };
    page.blocks.iter().flat_map(|block| of(&block.kind)).chain(page.foot.iter().cloned()).collect()
}

fn leads(page: &Page, key: &str) -> Option<Action> {
    buttons(page).into_iter().find(|button| button.key == key).map(|button| button.action)
}

fn says(page: &Page, words: &[&str]) {
    let text = text(page).replace(['\u{a0}', '\u{202f}'], " ");
    words.iter().for_each(|words| assert!(text.contains(words), "{words:?} is not in\n{text}"));
}

#[test]
fn before_heat_it_says_how_to_reach_it_what_hangs_there_and_what_it_releases() {
    let mut world = World::given();
    world.act(put_position_with(POSITION, "HD-1", |put| {
        put.place.location = Some("over mixer 2".into());
        (put.place.point, put.place.panel_text) = (Some("007".into()), Some("HEAT HALL".into()));
        let height = Some(Length { value: 22, scale: 0, unit: LengthUnit::Ft });
        put.access =
            Access { reach: Some(Reach::BoomLift), height, shutdown: true, hazard: Some("crane above".into()) };
        put.duty = releases(&["Belt stop"]);
        put.marking.rating = Some(Reading { value: 194, scale: 0, unit: Degree::F });
    }));
    let page = page(&world, Some(id(VISIT)), id(POSITION));
    assert_eq!((page.title.as_ref(), page.detail.as_ref()), ("HD-1", "Hall · over mixer 2"));
    says(
        &page,
        &[
            "Type: Rate-compensated · 194 °F",
            "Class: Intermediate, NFPA 72",
            "Access: Boom lift · 22 ft · SHUTDOWN first · crane above",
            "Releases: Belt stop",
            "Panel: Zone 1 · point 007 · “HEAT HALL”",
            "[Test it]",
            "No result on this phone yet.",
        ],
    );
    assert_eq!(leads(&page, "test-it"), Some(Action::Go(Route::Before(id(POSITION)))));
    assert_eq!(leads(&page, "edit"), Some(Action::Go(Route::Form(Form::Position(Some(id(POSITION)))))));
    assert_eq!(leads(&page, "put-in"), Some(Action::Go(Route::Form(Form::Replace(id(POSITION))))));
    assert_eq!(leads(&page, "another"), Some(Action::Go(Route::Form(Form::PositionLike(id(POSITION))))));
    assert!(html(&page).contains("<dt>Access</dt>"));
    // The form keeps its own address.
    assert_ne!(Route::Position(id(POSITION)).address(), Route::Form(Form::Position(Some(id(POSITION)))).address());
}

#[test]
fn no_test_is_offered_without_an_open_visit_of_the_site() {
    let mut world = World::given();
    assert_eq!(leads(&page(&world, None, id(POSITION)), "test-it"), None);
    world.leave().act(Command::CloseVisit { visit: id(VISIT) });
    assert_eq!(leads(&page(&world, Some(id(VISIT)), id(POSITION)), "test-it"), None);
}

#[test]
fn what_keeps_heat_off_stands_on_top_with_its_reason() {
    let mut world = World::given();
    let first = |world: &World| {
        let page = page(world, Some(id(VISIT)), id(POSITION));
        let Some(Kind::Notice(notice)) = page.blocks.first().map(|block| block.kind.clone()) else {
            panic!("no notice in {}", text(&page))
        };
        assert_eq!(notice.word, "No heat");
        (notice.words.to_string(), page)
    };
    let mut never = marking();
    never.detector_type = DetectorType::FixedNonrestorable;
    world.act(put_position(POSITION, "HD-1", never, no_duty()));
    let (words, of) = first(&world);
    assert!(words.contains("Nonrestorable"), "{words}");
    assert_eq!(leads(&of, "test-it"), None);
    let mut unknown = marking();
    (unknown.detector_type, unknown.rating) = (DetectorType::Unknown, None);
    (unknown.minus, unknown.plus, unknown.limits_from) = (None, None, None);
    world.act(put_position(POSITION, "HD-1", unknown, no_duty()));
    assert!(first(&world).0.contains("type not known"));
    world.act(put_position_with(POSITION, "HD-1", |put| put.duty.releases = None));
    let (words, of) = first(&world);
    assert!(words.contains("not answered"), "{words}");
    // Answered from here by one key.
    let Some(Action::Give(answer)) = leads(&of, "releases-nothing") else { panic!("no answer") };
    world.act(*answer);
    assert_eq!(
        world.register().positions[&id(POSITION)].duty.now().and_then(|duty| duty.releases.clone()),
        Some(vec![])
    );
}

#[test]
fn a_ceiling_nearly_as_hot_as_the_rating_is_warned_of() {
    // NFPA 72 17.6.2.3: 20 °F between; 115 °F is just enough for 135 °F.
    for (ceiling, warned) in [(115, false), (116, true)] {
        let mut world = World::given();
        let ceiling = Some(Reading { value: ceiling, scale: 0, unit: Degree::F });
        world.act(put_area(HALL, "Hall", AreaConditions { ceiling, classification: None }));
        world.act(put_position_with(POSITION, "HD-1", |put| {
            put.marking.rating = Some(Reading { value: 135, scale: 0, unit: Degree::F });
        }));
        let read = text(&page(&world, None, id(POSITION)));
        assert_eq!(read.contains("! Ceiling: Up to 116"), warned, "{read}");
    }
}

#[test]
fn its_past_survives_a_replacement_and_a_new_detector_counts_as_unproven() {
    let mut world = World::given();
    let mut start = start_test();
    start.position = id(POSITION);
    world.wait(SECOND);
    world.act(Command::Start(Box::new(start)));
    world.wait(SECOND);
    world.act(Command::End { test: id(TEST), how: Ending::HeaterProblem });
    let before = page(&world, Some(id(VISIT)), id(POSITION));
    says(&before, &["- Not decided: 2026-03-02 · Heater", " >"]);
    world.act(replace(POSITION));
    let after = page(&world, Some(id(VISIT)), id(POSITION));
    says(
        &after,
        &[
            "! New detector: No passed test",
            "- Not decided: ",
            "earlier detector",
            "## Detectors so far",
            "- Here now: ",
        ],
    );
    world.act(Command::RetirePosition { position: id(POSITION), retired: true });
    let gone = page(&world, Some(id(VISIT)), id(POSITION));
    says(&gone, &["! Removed: ", "- Not decided: ", "[Put back on list]"]);
    assert_eq!(leads(&gone, "test-it"), None);
}

#[test]
fn an_open_item_is_listed_until_it_is_closed() {
    let mut world = World::given();
    let item = world.act(Command::FindItem {
        visit: id(VISIT),
        what: soakbook::book::body::ItemWhat::OperationNotProven,
        class: None,
        position: Some(id(POSITION)),
        test: None,
        note: None,
        happened: world.phone.at().happened(),
    });
    says(&page(&world, None, id(POSITION)), &["## Open items", "- HD-1"]);
    assert!(!text(&page(&world, None, id(OTHER_POSITION))).contains("Open items"));
    world.act(Command::CloseItem {
        item,
        how: soakbook::book::body::ItemClosed::Accepted,
        by: named("A. Owner"),
        note: None,
        happened: world.phone.at().happened(),
    });
    assert!(!text(&page(&world, None, id(POSITION))).contains("Open items"));
}

#[test]
fn a_position_that_is_not_known_says_so() {
    says(&page(&World::given(), None, id(99)), &["Not on this phone", "[Back]"]);
}

#[test]
fn the_next_one_tapped_is_next_and_can_be_taken_back() {
    let mut world = World::given();
    world.act(put_position_with(40, "HD-0", |_| {}));
    let shown =
        |draft: &str| known(&world, None, |known| walk::page(known, id(HALL), draft, Route::Register, Degree::F));
    assert!(text(&shown("")).contains("[Save order, off]"));
    let one = walk::next("", id(OTHER_POSITION));
    let two = walk::next(&one, id(40));
    // A second tap on one that has its number changes nothing.
    assert_eq!(walk::next(&two, id(40)), two);
    assert_eq!(walk::back(&two).as_deref(), Some(one.as_str()));
    assert_eq!(walk::back(&one), None);
    let page = shown(&two);
    says(&page, &["2 of 3 so far, last HD-0."]);
    let Some(Action::Then(first, _)) = leads(&page, "walk-save") else { panic!("no key") };
    let Action::Then(save, _) = *first else { panic!("no command") };
    let Action::Give(command) = *save else { panic!("no command") };
    // Those that were left out follow as they stood.
    assert_eq!(*command, Command::PutInOrder { positions: [OTHER_POSITION, 40, POSITION].map(id).to_vec() });
}

#[test]
fn with_many_positions_only_the_area_one_works_in_is_open_on_the_visit() {
    let mut world = World::given();
    world.act(put_position_with(40, "ST-1", |put| put.place.area = id(STORE)));
    let folds = |world: &World| -> Vec<(String, bool)> {
        let screen =
            VisitScreen::of(&world.book, &world.register(), &world.visit(), None, Degree::F, 0, MORNING).page(MORNING);
        let folds = screen.blocks.into_iter().filter_map(|block| match block.kind {
            Kind::Fold(of) if of.title.contains(" tested") => Some((of.title.to_string(), of.open)),
            _ => None,
        });
        folds.collect()
    };
    assert_eq!(folds(&world), []);
    for n in 100..200 {
        world.act(put_position_with(n, &format!("HD-{n}"), |_| {}));
    }
    let (hall, store) = ("Hall: 0 of 102 tested".to_string(), "Store: 0 of 1 tested".to_string());
    // Nothing tested yet: the first one is open.
    assert_eq!(folds(&world), [(hall.clone(), true), (store.clone(), false)]);
    let mut start = start_test();
    start.position = id(40);
    world.wait(SECOND);
    world.act(Command::Start(Box::new(start)));
    assert_eq!(folds(&world), [(hall, false), (store, true)]);
}

#[test]
fn a_person_who_no_longer_uses_the_phone_can_be_brought_back() {
    let mut world = World::given();
    let name = Attachment::text([1; 16], "B. Gone");
    let now = Person { name: name.hash(), firm: None, license: None, contact: None, retired: true };
    world.book.attach(name);
    world.act(Command::PutPerson { person: id(77), now });
    let page = known(&world, None, people::page);
    says(&page, &["## No longer on this phone", "- B. Gone >"]);
    let (here, gone) = text(&page).split_once("No longer").map(|(a, b)| (a.to_string(), b.to_string())).expect("two");
    assert!(!here.contains("B. Gone") && gone.contains("B. Gone"));
}

#[test]
fn what_is_not_read_yet_is_not_said_to_be_missing() {
    let world = World::given();
    let read = text(&page(&world, None, id(POSITION)));
    assert!(read.contains("No result on this phone yet."), "{read}");
    let reading = text(&page_of(&world, None, id(POSITION), false));
    assert!(reading.contains("Still reading closed visits"), "{reading}");
    for said in ["No result on this phone yet.", "No passed test of this detector", "Over the years"] {
        assert!(!reading.contains(said), "{said}: {reading}");
    }
}
