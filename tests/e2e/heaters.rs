//! Several heaters at once, and clocks that are set in the middle of a test.

use serde_json::json;

use crate::host::{Host, dist, folder};
use crate::setting_up::{BARE, demo, start_by_hand, start_demo};

#[tokio::test]
async fn two_heaters_at_once_go_on_each_by_itself() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("heaters-profile")).await;
    start_demo(&phone, BARE).await;
    phone.jump(100).await;
    start_by_hand(&phone).await;
    phone.until("document.querySelectorAll('.lane').length === 2").await;
    // The first one is 100 s into its heat-up of 213 s; the other one's heat-up has no nominal end.
    phone
        .until("[...document.querySelectorAll('.lane')].some((lane) => /J-01.*1:(5\\d|4\\d)/.test(lane.textContent))")
        .await;
    phone.jump(40).await;
    phone.reads("mark", "J-05").await;
    phone.mark("Mark trip").await;
    phone.tap("panel-right").await;
    phone.mark("Heater lowered").await;
    phone.mark("Next detector").await;

    // The other test is there next, and has no trip yet: the mark went to the test that was shown.
    phone.reads("test", "J-01").await;
    phone.tripped(0).await;
    phone.until("document.querySelectorAll('.lane').length === 0").await;
    phone.mark("Mark trip 1").await;
    phone.tripped(1).await;
    phone.recorded("Trip 1").await;
    phone.tap("back").await;
    // Its restore is still to be said.
    phone.reads("position-J-05", "Tripped, restore not verified").await;
    phone.see("restored-J-05").await;
    assert_eq!(
        phone.ask("return document.querySelector('[data-testid=tab-test] .count').innerText.trim()[0]").await,
        json!("1")
    );
    phone.off().await;
}

#[tokio::test]
async fn a_clock_that_is_set_changes_no_time_in_the_test_and_is_noted() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("set-profile")).await;
    start_demo(&phone, BARE).await;
    phone.jump(60).await;
    for (by, note) in [(-600_500, "set back by 10:00"), (3_600_500, "set forward by 1:00:00")] {
        phone.set_clock(by).await;
        phone.tap("more").await;
        phone.reads("details", note).await;
        phone.tap("close").await;
        let (phase, left) = phone.clock().await;
        // 60 s and what the test itself took of the 213 s of the first heat-up.
        assert!(phase == "Heating" && (93..=153).contains(&left), "{phase}: {left} s");
    }
    phone.off().await;
}
