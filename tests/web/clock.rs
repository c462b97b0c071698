//! The clocks: what is read, and when they are said to have parted.

use std::cell::Cell;
use std::rc::Rc;

use soakbook::browser::clock::{self, Gap, Now, gap};
use soakbook::units::{Mono, Wall};
use wasm_bindgen_test::wasm_bindgen_test;
use web_sys::Event;

fn at(wall_ms: i64, mono_ms: i64, visible: bool) -> Now {
    Now { wall_ms: Wall(wall_ms), mono_ms: Mono(mono_ms), visible }
}

// The limit of 2 s is the design's choice: |Δwall − Δmono| > 2 s between neighbouring looks.
fn check(before: Now, after: Now, expected: Option<(i64, i64, bool)>) {
    let expected = expected.map(|(wall_ms, mono_ms, hidden)| Gap { wall_ms, mono_ms, hidden });
    assert_eq!(gap(before, after), expected, "{before:?} -> {after:?}");
}

#[wasm_bindgen_test]
fn clocks_that_part_by_more_than_two_seconds_are_a_gap() {
    let start = at(1_000_000, 500, true);
    check(start, at(1_000_250, 750, true), None);
    check(start, at(1_002_000, 500, true), None);
    check(start, at(1_002_001, 500, true), Some((2_001, 0, false)));
    check(start, at(998_249, 750, true), Some((-1_751, 250, false)));
    // Set back by an hour while the step went on.
    check(start, at(-2_590_000, 10_500, true), Some((-3_590_000, 10_000, false)));
    // Asleep for ten minutes: only the wall went on.
    check(start, at(1_600_300, 800, false), Some((600_300, 300, true)));
    check(at(1_000_000, 500, false), at(1_600_300, 800, true), Some((600_300, 300, true)));
    // Stopped or frozen: both clocks went on, so nothing is unknown.
    check(start, at(1_065_037, 65_537, false), None);
}

#[wasm_bindgen_test]
fn an_event_carries_the_time_it_was_made() {
    let event = Event::new("click").unwrap();
    let made = clock::now();
    let mut later = clock::now();
    while later.mono_ms < made.mono_ms + 30 {
        later = clock::now();
    }
    let time = clock::event_time(&event);
    assert!((time.mono_ms - made.mono_ms).abs() <= 5, "{made:?} {time:?} {later:?}");
    assert!((time.wall_ms - made.wall_ms).abs() <= 5, "{made:?} {time:?} {later:?}");
}

#[wasm_bindgen_test]
fn zone_and_offset_are_those_of_the_browser() {
    assert!(clock::zone().is_some_and(|zone| !zone.is_empty()));
    // The zones in use lie between UTC−12 and UTC+14 (IANA time zone database).
    let offset = clock::offset_minutes(clock::now().wall_ms);
    assert!((-720..=840).contains(&offset), "{offset}");
}

#[wasm_bindgen_test]
async fn a_watch_looks_on_events_ticks_when_wanted_and_ends_when_dropped() {
    let looks = Rc::new(Cell::new(0));
    let count = looks.clone();
    let watch = clock::watch(move |_, _| count.set(count.get() + 1));
    let window = web_sys::window().unwrap();
    for name in ["pageshow", "focus"] {
        window.dispatch_event(&Event::new(name).unwrap()).unwrap();
    }
    for name in ["visibilitychange", "resume"] {
        window.document().unwrap().dispatch_event(&Event::new(name).unwrap()).unwrap();
    }
    assert_eq!(looks.get(), 4);
    watch.tick(true);
    for _ in 0..100 {
        if looks.get() > 5 {
            break;
        }
        crate::sleep(50).await;
    }
    assert!(looks.get() > 5);
    drop(watch);
    let ended = looks.get();
    window.dispatch_event(&Event::new("focus").unwrap()).unwrap();
    crate::sleep(600).await;
    assert_eq!(looks.get(), ended);
}
