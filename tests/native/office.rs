//! The office's day: one table over all phones, and whether what it says has arrived.

use crate::kit::*;
use crate::record::{not_tested, passes};
use soakbook::book::body::NotTestedWhy;
use soakbook::book::entry::{Chain, Scope};
use soakbook::book::kit::Kit;
use soakbook::findings;
use soakbook::handover::delivery::{Outbox, Parcel};
use soakbook::units::Degree;
use soakbook::view::forms::Known;
use soakbook::view::handover::HandedOver;
use soakbook::view::office::{Day, OrderBy, day_of, days_of, last_day, receipt, visits_on};
use soakbook::view::page::sign::Tone;
use soakbook::view::page::text::text;
use soakbook::view::record;
use std::collections::BTreeMap;
use std::sync::Arc;

/// `date -u -d 2026-03-02 +%s` (GNU coreutils) gives 1772409600, over 86,400.
const MONDAY: i64 = 20_514;
const HOUR: i64 = 3_600 * SECOND;
const THIRD_TEST: u8 = 31;

/// Two phones, each with a position.
fn two_phones() -> World {
    let mut one = World::given();
    let mut other = one.other_phone();
    passes(&mut one, TEST, POSITION);
    other.wait(90 * SECOND);
    other.act(not_tested(OTHER_POSITION, NotTestedWhy::Obstructed));
    one.merged(&other)
}

fn day(world: &World, day: i64) -> String {
    ordered(world, day, OrderBy::Time)
}

fn ordered(world: &World, day: i64, order: OrderBy) -> String {
    let (register, kit) = (world.register(), Kit::of(&world.book));
    let ids = visits_on(&world.book, id(SITE), day, 60);
    let visits: Vec<_> = ids
        .iter()
        .map(|of| {
            let visit = soakbook::book::visit::Visit::of(&world.book, *of).expect("a visit");
            let found = findings::visit(&world.book, &visit);
            (Arc::new(visit), Arc::new(found))
        })
        .collect();
    let known =
        Known { register: &register, kit: &kit, book: &world.book, visit: Some(id(VISIT)), at: world.phone.at() };
    let (handed, outbox) = (&HandedOver::new(), &Outbox::default());
    let of = Day { known, site: id(SITE), day, visits: &visits, unit: Degree::C, handed, outbox, order, said: None };
    text(&of.page())
}

#[test]
fn a_day_has_what_every_phone_did_in_order_of_time() {
    let world = two_phones();
    let page = day(&world, MONDAY);
    let lines: Vec<&str> = page.lines().map(str::trim).filter(|line| line.starts_with("| HD-")).collect();
    assert_eq!(lines.len(), 2, "{page}");
    // What was not tested is said of 09:00, before the test.
    assert!(lines[0].starts_with("| HD-2 | ") && lines[0].contains("Not tested: obstructed"), "{page}");
    assert!(lines[1].starts_with("| HD-1 | ") && lines[1].contains("Passed"), "{page}");
    // Neither phone has a name here: the ends of their ids.
    let phone = |line: &str| line.split(" | ").nth(5).map(str::to_string).expect("a phone");
    assert_ne!(phone(lines[0]), phone(lines[1]), "{page}");
    let digest = record::digest(&world.book, &world.register(), &world.visit()).to_string();
    assert!(page.contains(&format!("Digest {}", &digest[..8])), "{page}");
    assert!(page.contains("<Not sent>"), "{page}");
}

#[test]
fn the_table_is_ordered_by_position_result_or_person() {
    // By hand: HD-1 before HD-2, "Not tested" before "Passed"; both are of one person, so that time decides.
    let world = two_phones();
    let tags = |by| {
        let page = ordered(&world, MONDAY, by);
        let tags = page.lines().filter_map(|line| line.trim().strip_prefix("| ")?.split(" |").next());
        tags.filter(|tag| tag.starts_with("HD-")).map(str::to_string).collect::<Vec<_>>()
    };
    assert_eq!(tags(OrderBy::Position), ["HD-1", "HD-2"]);
    assert_eq!(tags(OrderBy::Result), ["HD-2", "HD-1"]);
    assert_eq!(tags(OrderBy::Person), ["HD-2", "HD-1"]);
}

#[test]
fn another_day_is_empty_and_leads_to_those_that_are_not() {
    let page = day(&two_phones(), MONDAY + 1);
    assert!(page.contains("Nothing was recorded at this site on this day."), "{page}");
    assert!(page.contains("2026-03-02"), "{page}");
}

#[test]
fn a_day_is_the_local_one() {
    // 2026-03-02 08:00 UTC is 23:00 of the day before nine hours west, and midnight sixteen hours east.
    assert_eq!([0, -540, 960].map(|offset| day_of(MORNING, offset)), [MONDAY, MONDAY - 1, MONDAY + 1]);
}

#[test]
fn the_day_is_that_of_the_last_thing_done_by_its_own_clock() {
    let mut world = World::given();
    // The phone's clock is an hour ahead of UTC: half past eleven of Monday evening.
    world.sleep(14 * HOUR + HOUR / 2);
    passes(&mut world, TEST, POSITION);
    // Closed after midnight, and looked at nine hours west: on Monday all the same.
    world.sleep(HOUR);
    world.act(not_tested(OTHER_POSITION, NotTestedWhy::Obstructed));
    world.close();
    let last = |world: &World| [60, -540].map(|offset| last_day(&world.book, &world.visit(), offset));
    assert_eq!(day_of(world.visit().record.latest, 60), MONDAY + 1);
    assert_eq!(last(&world), [MONDAY, MONDAY]);
    assert!(day(&world, MONDAY).contains("| HD-1 | "), "{}", day(&world, MONDAY));
}

#[test]
fn each_day_of_a_long_visit_is_offered() {
    let mut world = World::given();
    passes(&mut world, TEST, POSITION);
    world.sleep(24 * HOUR);
    passes(&mut world, OTHER_TEST, OTHER_POSITION);
    world.sleep(24 * HOUR);
    passes(&mut world, THIRD_TEST, POSITION);
    assert_eq!(days_of(&world.book, id(VISIT), 60), [MONDAY + 2, MONDAY + 1, MONDAY]);
    let page = day(&world, MONDAY);
    assert!(page.contains("2026-03-03") && page.contains("2026-03-04"), "{page}");
}

#[test]
fn what_was_recorded_later_is_in_the_table_of_its_day() {
    let mut world = World::given();
    world.sleep(72 * HOUR);
    // It happened on Monday.
    world.act(not_tested(OTHER_POSITION, NotTestedWhy::Obstructed));
    assert!(day(&world, MONDAY).contains("| HD-2 | "));
    assert_eq!(last_day(&world.book, &world.visit(), 60), MONDAY);
}

#[test]
fn saved_is_not_confirmed_until_a_receipt() {
    let world = two_phones();
    let (phone, visit) = (world.phone.id, id(VISIT));
    let chain = Chain { scope: Scope::Visit(visit), phone };
    let tip = world.book.tip(chain).expect("an entry").hash.to_string();
    let heads = BTreeMap::from([(format!("{} {}", chain.scope, phone), (world.book.chain(chain).count(), tip))]);
    let parcel_without = |delivered, without| Parcel {
        name: "day.json".into(),
        digest: String::new(),
        chains: heads.clone(),
        delivered,
        without,
    };
    let parcel = |delivered| parcel_without(delivered, None);
    let word = |handed: &HandedOver, outbox: &Outbox| receipt(&world.book, handed, outbox, phone, visit).2;
    let none = HandedOver::new();
    assert_eq!(word(&none, &Outbox::default()), "Not sent");
    assert_eq!(word(&heads, &Outbox::of(vec![parcel(None)])), "Saved, not confirmed");
    assert_eq!(word(&heads, &Outbox::of(vec![parcel(Some(MORNING))])), "Confirmed by the office");
    let part = |photos| parcel_without(Some(MORNING), Some(photos));
    assert_eq!(word(&heads, &Outbox::of(vec![part(2)])), "Confirmed, 2 photos not in it");
    let (_, tone, one) = receipt(&world.book, &heads, &Outbox::of(vec![part(1)]), phone, visit);
    assert_eq!((tone, &*one), (Tone::Warn, "Confirmed, 1 photo not in it"));
    // One file that has them all is enough.
    let both = Outbox::of(vec![Parcel { name: "part.json".into(), ..part(2) }, parcel(Some(MORNING))]);
    assert_eq!(word(&heads, &both), "Confirmed by the office");
    let stranger = receipt(&world.book, &none, &Outbox::default(), id(77), visit);
    assert_eq!(stranger.2, "From other phones");
}
