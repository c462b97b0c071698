//! Marks: taken back, moved, by key, not recorded at first, and in one tab only.

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{Asked, BARE, demo, start_demo};

#[tokio::test]
async fn a_mark_is_taken_back_with_one_tap_and_moved_by_seconds() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("undo-profile")).await;
    start_demo(&phone, BARE).await;
    phone.jump(150).await;
    phone.tap("mark").await;
    phone.tripped(1).await;
    let marked = phone.entries().await.len();
    let before = phone.taps.get();
    phone.tap("undo").await;
    assert_eq!(phone.taps.get(), before + 1);
    phone.tripped(0).await;
    phone.reads("mark", "Trip 1 of 5").await;
    phone.recorded("Heat on").await;
    // Both the mark and its undoing stay in the record.
    assert_eq!(phone.entries().await.len(), marked + 1);

    phone.tap("mark").await;
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

    // The end too: a thumb that comes down twice on the last trip has ended the test.
    phone.tap("more").await;
    phone.tap("end-enough-ended-early-as-a-functional-check").await;
    phone.see("finding").await;
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
    phone.jump(150).await;
    let before = phone.entries().await.len();
    for key in ["Tab", "Tab", "ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "Escape"] {
        phone.press(key).await;
    }
    phone.press("b").await;
    phone.tripped(1).await;
    phone.recorded("Tripped").await;
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
    phone.jump(150).await;
    phone.ask(BROKEN_STORE).await;
    phone.tap("mark").await;
    phone.reads("not-recorded", "Not recorded yet").await;
    phone.reads("not-recorded", "trying again").await;
    phone.until("document.querySelector('.undo-words').textContent.includes('not recorded yet, trying again')").await;
    phone.flawless("test-not-recorded").await;
    // The test goes on with the trip on screen, and the next mark waits its turn.
    phone.tripped(1).await;
    phone.jump(310).await;
    phone.tap("mark").await;
    phone.tripped(2).await;
    assert_eq!(phone.entries().await, before);

    phone.ask("__mend()").await;
    phone.until("!document.querySelector('[data-testid=not-recorded]')").await;
    phone.recorded("Tripped").await;
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
    assert!(!phone.sees("detector-J-01").await && !phone.sees("tab-visit").await);

    phone.driver.switch_to_window(first).await.unwrap();
    start_demo(&phone, Asked { tag: "J-03", ..BARE }).await;
    phone.driver.close_window().await.unwrap();
    phone.driver.switch_to_window(second).await.unwrap();
    // It shows what the first one wrote last, not what there was when it was opened.
    phone.reads("test", "J-03").await;
    phone.tap("mark").await;
    phone.tripped(1).await;
    phone.recorded("Tripped").await;
    phone.off().await;
}
