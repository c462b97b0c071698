//! Finding a position among five thousand.

use super::known;
use crate::kit::*;
use crate::sample;
use soakbook::book::Id;
use soakbook::book::body::{Area, Body, Circuit, Edit};
use soakbook::book::command::Command;
use soakbook::book::entry::Scope;
use soakbook::book::register::Register;
use soakbook::book::visit::open_items;
use soakbook::trade::detector::{Make, Place};
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::Degree;
use soakbook::view::find::{Filter, Index, MOST, Seek};
use soakbook::view::page::Page;
use soakbook::view::page::text::text;
use soakbook::view::register;
use soakbook::view::visit::VisitScreen;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

/// Many invented positions: "H-0000" to "H-4999", of which every hundredth is in another area; the loop and the address make the
/// point, the serial number counts down. Positions come as the rows of a sheet do.
fn many(count: u32) -> Register {
    let (site, mill, store, circuit) = (sample::id(sample::SITE), id(2), id(3), id(4));
    let scope = Scope::Site(site);
    let mut phone = sample::Phone::new();
    for (area, name) in [(mill, "Mélange hall"), (store, "Cold store")] {
        phone.say(scope, Body::Area(Edit::new(area, vec![], Area { site, name: name.into() })));
    }
    phone
        .say(scope, Body::Circuit(Edit::new(circuit, vec![], Circuit { site, ..crate::kit::circuit("Loop 3", true) })));
    let mut rows = Vec::new();
    for n in 0..count {
        let position = Id::from_u128(u128::from(n) + 10_000);
        let detector = Id::from_u128(u128::from(n) + 20_000);
        let place = Place {
            tag: format!("H-{n:04}"),
            area: if n % 100 == 99 { store } else { mill },
            circuit: Some(circuit),
            point: Some(format!("L3-{n:04}")),
            panel_text: Some(format!("HEAT MIXER {}", n / 10)),
            location: Some(format!("over mixer {}", n / 10)),
            customer_id: Some(format!("K{}", 100_000 + n)),
        };
        let make = Make { serial: Some(format!("SN{}", 90_000 - n)), ..Make::default() };
        rows.push(Body::PositionPlace(Edit::new(position, vec![], place)));
        rows.push(Body::DetectorInstalled { detector, position, happened: None });
        rows.push(Body::DetectorMake(Edit::new(detector, vec![], make)));
    }
    let import = id(5);
    phone.say(scope, Body::RowsImported { import, part: 0, rows: rows.into() });
    phone.say(scope, Body::ImportCommitted { import, parts: 1, rows: count });
    Register::of(&phone.book)
}

/// Five thousand of them, made once.
static MANY: LazyLock<(Register, Index)> = LazyLock::new(|| {
    let register = many(5_000);
    let index = Index::of(&register);
    (register, index)
});

fn tags(register: &Register, ids: &[Id]) -> Vec<String> {
    ids.iter().map(|id| register.positions[id].tag().to_string()).collect()
}

#[test]
fn what_one_types_finds_the_one_of_five_thousand_that_one_means() {
    let (register, index) = &*MANY;
    // What is typed, and the tag on top: by hand from how the positions are made.
    for (typed, first) in [
        ("h7", "H-0007"),
        ("H-07", "H-0007"),
        ("h 0007", "H-0007"),
        ("7 h", "H-0007"),
        ("h 1234", "H-1234"),
        ("l3-4711", "H-4711"),
        ("L3 4711", "H-4711"),
        ("k104711", "H-4711"),
        ("sn 85289", "H-4711"),
        ("85289", "H-4711"),
        ("mixer 471 4711", "H-4711"),
        ("store 4799", "H-4799"),
        ("MELANGE h4711", "H-4711"),
        ("mélange 4711", "H-4711"),
    ] {
        let hits = index.hits(typed, |_| true, MOST);
        assert_eq!(tags(register, &hits.ids)[0], first, "{typed}");
    }
}

#[test]
fn more_letters_find_fewer_and_what_is_left_over_is_counted() {
    let (_, index) = &*MANY;
    let count = |typed: &str| {
        let hits = index.hits(typed, |_| true, MOST);
        assert!(hits.ids.len() <= MOST);
        hits.ids.len() + hits.more
    };
    // Every position; every hundredth; one.
    assert_eq!(count("heat"), 5_000);
    assert_eq!(count("cold store"), 50);
    assert_eq!(count("k104711"), 1);
    assert_eq!(count("k104711 store"), 0);
    assert_eq!(count("zzz"), 0);
    // While the zeros of a number are typed nothing goes away that comes back.
    assert_eq!(count("h-00"), 5_000);
    assert_eq!(index.hits("", |_| true, 3).ids.len(), 3);
}

#[test]
fn what_equals_comes_before_what_begins_and_that_before_what_holds_it() {
    let (register, index) = &*MANY;
    let found = |typed: &str, most: usize| tags(register, &index.hits(typed, |_| true, most).ids);
    let named = |numbers: std::ops::Range<u32>| numbers.map(|n| format!("H-{n:04}")).collect::<BTreeSet<_>>();
    // Ten positions of mixer 47, then a hundred of mixers 470 to 479, then those that have 47 in another number.
    let mixer = found("over mixer 47", 110);
    assert_eq!(BTreeSet::from_iter(mixer[..10].iter().cloned()), named(470..480));
    assert_eq!(BTreeSet::from_iter(mixer[10..].iter().cloned()), named(4_700..4_800));
    // The tag, then the ten and the hundred that begin with it.
    let tag = found("h12", 111);
    assert_eq!(tag[0], "H-0012");
    assert_eq!(BTreeSet::from_iter(tag[1..].iter().cloned()), &named(120..130) | &named(1_200..1_300));
    // A whole number before one that begins with it before one that holds it.
    let number = found("711", 3);
    assert_eq!(number[0], "H-0711");
}

#[test]
fn fifty_are_drawn_and_with_five_thousand_each_area_has_its_own_page() {
    let (register, index) = &*MANY;
    let world = World::empty();
    let page = |seek: &Seek| -> Page {
        known(&world, None, |known| {
            let known = soakbook::view::forms::Known { register, ..known };
            let blocks = match seek.is_empty() {
                true => register::list(known, &BTreeMap::new(), None, Degree::F),
                false => register::found(known, index, seek, &BTreeSet::new(), Degree::F),
            };
            register::page(register, blocks)
        })
    };
    let list = text(&page(&Seek::default()));
    assert!(
        list.contains("- Mélange hall: 4950 positions >") && list.contains("- Cold store: 50 positions >"),
        "{list}"
    );
    assert!(!list.contains("- H-"), "{list}");
    let found = text(&page(&Seek { text: "heat".into(), filter: None }));
    assert_eq!(found.matches("- H-").count(), MOST);
    assert!(found.contains("4950 more: type more."), "{found}");
    let nothing = text(&page(&Seek { text: "zzz".into(), filter: None }));
    assert!(nothing.contains("Nothing found."), "{nothing}");
    assert!(Seek { text: " - ".into(), filter: None }.is_empty());
}

/// The tags that a filter of the devices leaves.
fn filtered(world: &World, filter: Filter) -> Vec<String> {
    let seek = Seek { text: String::new(), filter: Some(filter) };
    let open = open_items(&world.book).into_iter().map(|(position, _)| position).collect();
    let blocks = known(world, Some(id(VISIT)), |known| {
        register::found(known, &Index::of(known.register), &seek, &open, Degree::F)
    });
    let read = text(&Page { blocks, ..Page::default() });
    let tags = read.lines().filter_map(|line| line.strip_prefix("- ")?.split(':').next());
    tags.map(ToString::to_string).collect()
}

#[test]
fn each_filter_of_the_devices_leaves_what_it_says() {
    let mut world = World::given();
    let mut unknown = marking();
    (unknown.detector_type, unknown.rating) = (DetectorType::Unknown, None);
    (unknown.minus, unknown.plus, unknown.limits_from) = (None, None, None);
    world.act(put_position(40, "T-1", unknown, no_duty()));
    world.act(put_position_with(41, "R-1", |put| put.duty.releases = None));
    world.act(put_position_with(42, "G-1", |_| {}));
    world.act(Command::RetirePosition { position: id(42), retired: true });
    let Command::PutPosition(put) = put_position_with(43, "", |_| {}) else { unreachable!() };
    world.act(Command::PutUnlisted(put));
    let mut start = start_test();
    start.position = id(POSITION);
    world.wait(SECOND);
    world.act(Command::Start(Box::new(start)));
    world.act(Command::FindItem {
        visit: id(VISIT),
        what: soakbook::book::body::ItemWhat::Visual,
        class: None,
        position: Some(id(OTHER_POSITION)),
        test: None,
        note: None,
        happened: world.phone.at().happened(),
    });
    assert_eq!(filtered(&world, Filter::Untested), ["No tag", "HD-2", "R-1", "T-1"]);
    assert_eq!(filtered(&world, Filter::Open), ["HD-2"]);
    assert_eq!(filtered(&world, Filter::TypeUnknown), ["T-1"]);
    assert_eq!(filtered(&world, Filter::ReleasesUnknown), ["R-1"]);
    assert_eq!(filtered(&world, Filter::Provisional), ["No tag"]);
    assert_eq!(filtered(&world, Filter::Retired), ["G-1"]);
}

#[test]
fn the_list_of_a_visit_is_found_in_and_filtered_and_keeps_what_a_tap_does() {
    let mut world = World::given();
    let mut start = start_test();
    start.position = id(POSITION);
    world.wait(SECOND);
    world.act(Command::Start(Box::new(start)));
    let register = world.register();
    let screen = VisitScreen::of(&world.book, &register, &world.visit(), None, Degree::F, 0, MORNING);
    let index = Index::of(&register);
    let found = |text: &str, filter| {
        let seek = Seek { text: text.into(), filter };
        soakbook::view::page::text::text(&screen.found(&index, &seek))
    };
    let all = found("hd", None);
    assert!(all.contains("- HD-1: ") && all.contains("<Testing> >") && all.contains("[About HD-1]"), "{all}");
    assert!(all.contains("[Not on the list]"), "{all}");
    let untested = found("", Some(Filter::Untested));
    assert!(untested.contains("- HD-2: ") && !untested.contains("- HD-1: "), "{untested}");
    assert!(found("", Some(Filter::Failed)).contains("Nothing found."));
    // What stands in other sites' registers is not on the visit's list.
    assert!(!found("hd2", None).contains("- HD-1: "));
}
