//! Marks: taken back, moved, by key, not recorded at first, and in one tab only.

use serde_json::json;

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{Asked, BARE, TRIPS, demo, start_demo, trip};

#[tokio::test]
async fn a_mark_is_taken_back_with_one_tap_and_moved_by_seconds() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("undo-profile")).await;
    start_demo(&phone, BARE).await;
    trip(&phone, 1).await;
    phone.recorded("Trip 1").await;
    let marked = phone.entries().await.len();
    let before = phone.taps.get();
    phone.tap("undo").await;
    assert_eq!(phone.taps.get(), before + 1);
    phone.tripped(0).await;
    phone.recorded("Heat on").await;
    // Both the mark and its undoing stay in the record.
    phone.until_entries(marked + 1).await;

    phone.mark("Mark trip 1").await;
    phone.tripped(1).await;
    let time = "document.querySelector('.tally-chip .tally-time').textContent";
    let at = phone.ask(&format!("return {time}")).await.as_str().unwrap().to_owned();
    phone.tap("more").await;
    phone.see("details").await;
    for _ in 0..3 {
        phone.tap_on("[data-testid=details] button[aria-label='1 s earlier']").await;
    }
    phone.reads("details", "−3 s").await;
    phone.tap("close").await;
    let (minutes, seconds) = at.split_once(':').unwrap();
    let at = minutes.parse::<i64>().unwrap() * 60 + seconds.parse::<i64>().unwrap() - 3;
    phone.until(&format!("{time} === '{}:{:02}'", at / 60, at % 60)).await;

    // The end too.
    phone.tap("more").await;
    phone.tap("end-stopped_early").await;
    phone.see("headline").await;
    phone.tap("undo").await;
    phone.see("test").await;
    phone.tripped(1).await;
    phone.off().await;
}

#[tokio::test]
async fn any_key_marks_but_those_that_move_about() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("keys-profile")).await;
    start_demo(&phone, BARE).await;
    phone.test_to(TRIPS[0]).await;
    let before = phone.entries().await.len();
    for key in ["Tab", "Tab", "ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "Escape"] {
        phone.press(key).await;
    }
    phone.takes_a_press().await;
    phone.press("b").await;
    phone.tripped(1).await;
    phone.recorded("Trip 1").await;
    assert_eq!(phone.entries().await.len(), before + 1);
    phone.off().await;
}

/// Every write fails, as on a phone whose disk is full, until `__mend()`.
const BROKEN_STORE: &str = "const add = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = function () { throw new DOMException('The disk is full', 'QuotaExceededError'); };
    globalThis.__mend = () => { IDBObjectStore.prototype.add = add; };";

#[tokio::test]
async fn a_mark_that_cannot_be_recorded_says_so_and_is_recorded_later() {
    let host = Host::start(&dist());
    let profile = folder("not-recorded-profile");
    let phone = demo(&host, &profile).await;
    start_demo(&phone, BARE).await;
    let before = phone.entries().await;
    phone.test_to(TRIPS[0]).await;
    phone.ask(BROKEN_STORE).await;
    phone.mark("Mark trip 1").await;
    phone.reads("not-recorded", "Not recorded yet").await;
    phone.reads("not-recorded", "trying again").await;
    phone.until("document.querySelector('.undo-words').textContent.includes('not recorded yet, trying again')").await;
    phone.flawless("test-not-recorded").await;
    // The test goes on with the trip on screen, and the next mark waits its turn.
    phone.tripped(1).await;
    trip(&phone, 2).await;
    assert_eq!(phone.entries().await, before);

    phone.ask("__mend()").await;
    phone.until("!document.querySelector('[data-testid=not-recorded]')").await;
    phone.recorded("Trip 2").await;
    assert_eq!(phone.entries().await.len(), before.len() + 2);
    let ahead = phone.ahead();
    phone.off().await;
    let phone = Phone::timed(&profile, ahead).await;
    phone.open(&host.address()).await;
    phone.tripped(2).await;
    phone.off().await;
}

#[tokio::test]
async fn a_second_tab_says_that_the_first_one_writes_and_takes_over_from_it() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("tabs-profile")).await;
    let first = phone.driver.window().await.unwrap();
    let second = phone.driver.new_tab().await.unwrap();
    phone.driver.switch_to_window(second.clone()).await.unwrap();
    phone.open(&host.address()).await;
    phone.see("other-tab").await;
    phone.flawless("other-tab").await;
    assert!(!phone.sees("position-J-01").await && !phone.sees("tab-visit").await);

    phone.driver.switch_to_window(first).await.unwrap();
    start_demo(&phone, Asked { tag: "J-03", ..BARE }).await;
    phone.driver.close_window().await.unwrap();
    phone.driver.switch_to_window(second).await.unwrap();
    // It shows what the first one wrote last, not what there was when it was opened.
    phone.reads("test", "J-03").await;
    phone.mark("Mark trip 1").await;
    phone.tripped(1).await;
    phone.recorded("Trip 1").await;
    phone.off().await;
}

/// A script that knows no patience: a press on the plate in the very moment in which its order changes, and one just before the
/// plate takes presses again. It notes the order that it pressed.
const HASTY: &str = "globalThis.__pressed = [];
    const plate = () => document.querySelector('[data-testid=mark]');
    const order = () => plate()?.querySelector('.mark-label').textContent;
    const before = order();
    const touch = (event) => plate().dispatchEvent(event);
    const press = () => {
        __pressed.push(order());
        touch(new PointerEvent('pointerdown', { bubbles: true, isPrimary: true, button: 0 }));
        touch(new PointerEvent('pointerup', { bubbles: true, isPrimary: true, button: 0 }));
        touch(new MouseEvent('click', { bubbles: true }));
    };
    new MutationObserver((_, watch) => {
        if (!plate() || order() === before) return;
        watch.disconnect();
        press();
        requestAnimationFrame(() => { press(); globalThis.__over = true; });
    }).observe(document.body, { childList: true, subtree: true, characterData: true });";

#[tokio::test]
async fn a_tap_on_a_plate_that_has_just_changed_is_not_recorded() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("hasty-profile")).await;
    start_demo(&phone, BARE).await;
    // By a mark: the plate for trip 1 becomes the one for trip 2, and the thumb comes down once more.
    phone.test_to(TRIPS[0]).await;
    phone.takes_a_press().await;
    phone.ask(HASTY).await;
    phone.mark("Mark trip 1").await;
    phone.until("globalThis.__over").await;
    assert_eq!(phone.ask("return __pressed").await, json!(["Mark trip 2", "Mark trip 2"]));
    phone.recorded("Trip 1").await;
    phone.tripped(1).await;
    let taken = phone.entries().await.len();
    // By the clock: nothing was pressed, and the order changes under a finger.
    phone.test_to(TRIPS[1]).await;
    phone.takes_a_press().await;
    assert_eq!(phone.entries().await.len(), taken);
    phone.tripped(1).await;
    // The same tap a second later is one.
    phone.mark("Mark trip 2").await;
    phone.recorded("Trip 2").await;
    phone.tripped(2).await;
    phone.off().await;
}

/// What can be taken back for ten seconds is offered for as long as this test takes.
const OFFER_STAYS: &str = "const real = globalThis.setTimeout;
    globalThis.setTimeout = (act, ms, ...more) => ms === 10_000 ? 0 : real(act, ms, ...more);";

#[tokio::test]
async fn heat_on_is_undone_by_a_hold_and_put_back() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("hold-profile")).await;
    phone.ask(OFFER_STAYS).await;
    let before = phone.entries().await.len();
    start_demo(&phone, BARE).await;
    // The whole test would go: a tap does nothing but say so.
    let started = phone.entries().await.len();
    assert!(started > before, "nothing was recorded");
    phone.reads("undo", "Hold to undo").await;
    phone.tap("undo").await;
    phone.until("!document.querySelector('[data-testid=undo].down')").await;
    assert_eq!(phone.entries().await.len(), started);
    phone.hold("undo", "!document.querySelector('[data-testid=test]')").await;
    phone.reads("offer", "Undone: J-01 · Heat on").await;
    phone.until_entries(started + 1).await;
    phone.flawless("offer-put-back").await;
    phone.tap_on("[data-testid=offer] button").await;
    phone.until_entries(started + 2).await;
    phone.reads("test", "J-01").await;
    let (phase, left) = phone.clock().await;
    // The time that went by meanwhile is the test's own: what is left of the 213 s of the first heat-up.
    let gone = (phone.wall().await - phone.heat_on.get()) / 1_000;
    assert!(phase == "Heating" && (213 - gone - left).abs() <= 2, "{phase}: {left} s left after {gone} s");
    phone.test_to(TRIPS[0]).await;
    phone.mark("Mark trip 1").await;
    phone.recorded("Trip 1").await;
    phone.off().await;
}
