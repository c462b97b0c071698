//! Whole jobs, from a list of positions to what each of them came to.

use std::time::Duration;

use thirtyfour::By;

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{Asked, BARE, FUNCTIONAL, TRIPS, answer, demo, heat_on, name, named, read, start_demo, trip};

/// The demo's heater that has a profile, with what its limit result takes.
const MEASURED: Asked = Asked { ambient: "70", readings: true, ..BARE };

/// Opens what one test came to, from the list of results.
async fn result_of(phone: &Phone, tag: &str) {
    phone.tap("tab-results").await;
    phone.tap(&format!("finding-{tag}")).await;
    phone.see("headline").await;
}

#[tokio::test]
async fn a_first_start_asks_who_has_the_phone_and_what_is_missing_is_a_tap_away() {
    let host = Host::start(&dist());
    let phone = Phone::timed(&folder("first-profile"), 0).await;
    phone.install(&host.address()).await;
    phone.see("who").await;
    assert!(!phone.sees("demo").await && !phone.sees("own-site").await, "something can be done by nobody");
    phone.flawless("first-who").await;
    phone.tap("who").await;
    phone.see("field-person-name").await;
    // Nobody is no name.
    phone.tap("save").await;
    phone.see("not-saved").await;
    phone.flawless("first-who-refused").await;
    assert!(phone.entries().await.is_empty());
    phone.fill("person-name", "A. Nobody").await;
    phone.tap("save").await;
    phone.see("demo").await;
    phone.keeps("\"type\":\"phone_handed\"").await;
    phone.flawless("first").await;
    // Who opened the visit is in the record.
    let person = phone.entries().await.into_iter().find_map(|entry| {
        let entry: serde_json::Value = serde_json::from_str(entry.as_str()?).ok()?;
        (entry["type"] == "phone_handed").then(|| entry["to"].as_str().map(str::to_owned))?
    });
    phone.tap("demo").await;
    phone.see("demo-banner").await;
    let opened = |entry: &serde_json::Value| {
        let entry: serde_json::Value = serde_json::from_str(entry.as_str().unwrap()).unwrap();
        entry["type"] == "visit_opened" && entry["opens"]["who"].as_str() == person.as_deref()
    };
    phone.keeps("\"type\":\"visit_opened\"").await;
    assert!(person.is_some() && phone.entries().await.iter().any(opened));

    // No heat before the supervising station is notified, and the refusal leads there.
    phone.tap("position-J-01").await;
    phone.reads("why-not", "Notify the supervising station").await;
    assert!(!phone.sees("mark").await);
    phone.flawless("before-not-notified").await;
    phone.tap("remedy").await;
    phone.see("save").await;
    phone.flawless("form-notify").await;
    phone.tap("save").await;
    phone.keeps("\"type\":\"notified\"").await;
    start_demo(&phone, Asked { procedure: FUNCTIONAL, ..BARE }).await;
    phone.reads("test", "J-01").await;
    phone.off().await;
}

#[tokio::test]
async fn three_positions_in_a_row_each_get_their_three_results_from_the_list() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("three-profile")).await;
    for (tag, panel) in [("J-01", "right"), ("J-02", "right"), ("J-03", "not_there")] {
        if tag == "J-01" {
            start_demo(&phone, Asked { tag, procedure: FUNCTIONAL, ..BARE }).await;
        } else {
            // The answers of the last test are offered: from the list to heat on in two taps.
            phone.taps.set(0);
            phone.tap(&format!("position-{tag}")).await;
            heat_on(&phone).await;
            assert_eq!(phone.taps.get(), 2);
        }
        phone.test_to(TRIPS[0]).await;
        phone.reads("mark", tag).await;
        phone.mark("Mark trip").await;
        phone.recorded("Trip 1").await;
        phone.mark("Heater lowered").await;
        phone.mark("Next detector").await;
        // Back at the list, which asks for what is still to be said.
        phone.see(&format!("restored-{tag}")).await;
        if tag == "J-02" {
            phone.flawless("visit-results-asked").await;
            // The panel shows the zone alone: as long as the last alarm stands, another one could not be seen.
            phone.tap("position-J-03").await;
            phone.unfold("seeing").await;
            phone.tap("by-partner").await;
            phone.reads("why-not", "isn't restored").await;
            assert!(!phone.sees("mark").await);
            phone.tap("back").await;
        }
        phone.taps.set(0);
        phone.tap(&format!("panel-{panel}-{tag}")).await;
        phone.tap(&format!("restored-{tag}")).await;
        phone.until(&format!("!document.querySelector('[data-testid=open-{tag}]')")).await;
        assert!(phone.taps.get() <= 3);
    }
    phone.reads("position-J-01", "Passed").await;
    phone.reads("position-J-02", "Passed").await;
    phone.reads("position-J-03", "Nothing at panel").await;
    phone.reads("position-J-04", "Not tested").await;

    result_of(&phone, "J-01").await;
    assert_eq!(phone.words("answer-tripped").await, "Yes");
    assert_eq!(phone.words("answer-panel").await, "Right point");
    assert_eq!(phone.words("answer-restored").await, "Yes");
    phone.flawless("result-passed").await;
    phone.tap("back").await;
    result_of(&phone, "J-03").await;
    phone.reads("headline", "nothing at panel").await;
    assert_eq!(phone.words("answer-tripped").await, "Yes");
    assert_eq!(phone.words("answer-panel").await, "Nothing there");
    assert_eq!(phone.words("answer-restored").await, "Yes");
    phone.flawless("result-nothing-at-panel").await;
    phone.off().await;
}

/// Four trips of the demo's set-point test, the last three read, and its end.
async fn four_trips(phone: &Phone, readings: [&str; 3]) {
    trip(phone, 1).await;
    phone.tap("panel-right").await;
    for (number, reading) in (2..).zip(readings) {
        trip(phone, number).await;
        read(phone, reading).await;
    }
    phone.mark("Heater lowered").await;
    phone.see("headline").await;
}

#[tokio::test]
async fn a_set_point_of_a_detector_that_follows_the_heater_has_a_limit_result() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("set-point-profile")).await;
    start_demo(&phone, MEASURED).await;
    four_trips(&phone, ["193", "194", "192"]).await;
    // The restore was not watched: it is asked for, and is the third result.
    assert_eq!(phone.words("answer-tripped").await, "Yes");
    assert_eq!(phone.words("answer-panel").await, "Right point");
    phone.tap("say-restore").await;
    phone.choose("field-restored", "Yes").await;
    phone.tap("save").await;
    result_of(&phone, "J-01").await;
    assert_eq!(phone.words("answer-restored").await, "Yes");
    phone.unfold("measured").await;
    // 194 °F, −7 / +9 °F by its label: 192 to 194 °F, less what the heater rose before the lamp was noticed, lies well within.
    assert_eq!(phone.words("as-read").await, "Mean within limits");
    assert_eq!(phone.words("limit-result").await, "Within");
    phone.reads("found-trip-1", "not averaged").await;
    assert!(!phone.sees("missing").await);
    phone.flawless("result-set-point").await;
    phone.off().await;
}

#[tokio::test]
async fn a_set_point_of_a_detector_that_lags_has_no_limit_result_and_says_why() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("lagging-profile")).await;
    // It stops the belt: first that is secured, one tap from the refusal.
    phone.tap("position-P-01").await;
    phone.reads("why-not", "Packing belt stop").await;
    assert!(!phone.sees("mark").await);
    phone.tap("remedy").await;
    phone.see("save").await;
    phone.flawless("form-secure").await;
    phone.tap("save").await;
    phone.keeps("\"type\":\"secured\"").await;
    phone.see("before-up").await;
    start_demo(&phone, Asked { tag: "P-01", setting: "setting-143-F", ..MEASURED }).await;
    four_trips(&phone, ["134", "135", "133"]).await;
    phone.unfold("measured").await;
    phone.see("operating-temperature").await;
    assert!(!phone.sees("limit-result").await, "a limit result of an element that lags by nobody knows how much");
    phone.reads("missing", "No limit result").await;
    phone.reads("missing-line", "lags behind the heater").await;
    phone.flawless("result-no-limit-result").await;
    // The visit cannot be closed unseen while the belt is secured.
    phone.tap("tab-visit").await;
    phone.reads("still-off", "Packing belt stop secured").await;
    phone.tap("to-closing").await;
    phone.reads("off", "Packing belt stop secured").await;
    phone.flawless("closing").await;
    phone.off().await;
}

#[tokio::test]
async fn silence_decides_nothing_while_nobody_has_seen_the_top_temperature() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("silence-profile")).await;
    start_demo(&phone, Asked { tag: "J-02", procedure: FUNCTIONAL, ..BARE }).await;
    // 300 s after heat on the heater should have held its top temperature for 87 s, by its own times.
    phone.test_to(300).await;
    phone.reads("clock", "No trip yet. Mark top temp when you see it.").await;
    phone.see("plate-at_top").await;
    assert!(!phone.sees("plate-end-no_trip").await, "the clock alone offers a result");
    phone.flawless("test-top-not-seen").await;
    phone.tap("more").await;
    phone.tap("end-no_trip").await;
    // It is not forgotten either.
    phone.reads("position-J-02", "Operation not proven").await;
    phone.tap("tab-results").await;
    phone.reads("retest-J-02", "operation not proven").await;
    phone.tap("finding-J-02").await;
    phone.reads("headline", "Not decided").await;
    assert_eq!(phone.words("answer-tripped").await, "Not decided");
    phone.reads("result-tripped", "op temperature was not seen").await;
    assert!(!phone.sees("answer-restored").await, "nothing tripped that could restore");
    phone.reads("not-exercised", "Not tested").await;
    phone.flawless("result-not-decided").await;
    // A person may judge what the numbers do not; it stays a judgment.
    phone.tap("judge").await;
    phone.choose("field-judgment", "Did not operate").await;
    phone.fill("reason", "Held against a second heater").await;
    phone.tap("save").await;
    phone.reads("headline", "technician's judgment").await;
    phone.off().await;
}

#[tokio::test]
async fn an_alarm_that_is_not_ours_ends_every_test_and_stops_heat_until_it_is_cleared() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("not-ours-profile")).await;
    start_demo(&phone, Asked { procedure: FUNCTIONAL, ..BARE }).await;
    phone.tap("not-ours").await;
    phone.see("not-ours-alarm").await;
    phone.flawless("not-ours-asked").await;
    phone.tap("not-ours-alarm").await;
    phone.keeps("\"type\":\"alarm_not_ours\"").await;
    phone.until("!document.querySelector('[data-testid=test]')").await;
    phone.reads("alarm-not-ours", "Call the fire department").await;
    phone.flawless("not-ours").await;
    // On every screen, and no heat.
    phone.tap("tab-visit").await;
    phone.see("alarm-not-ours").await;
    phone.tap("position-J-04").await;
    phone.reads("why-not", "not cleared").await;
    assert!(!phone.sees("mark").await);
    phone.tap("clear-alarm").await;
    phone.tap("save").await;
    phone.see("not-saved").await;
    phone.flawless("form-clear-alarm").await;
    phone.fill("note", "Bread in the oven").await;
    phone.tap("save").await;
    phone.until("!document.querySelector('[data-testid=alarm-not-ours]')").await;
    answer(&phone, Asked { tag: "J-04", procedure: FUNCTIONAL, ..BARE }).await;
    phone.see("mark").await;
    phone.off().await;
}

#[tokio::test]
async fn looking_at_everything_writes_nothing() {
    let host = Host::start(&dist());
    // The visit of another phone, so that nothing in it is this one's.
    let file = crate::area::side_by_side(&folder("looking-files"));
    let phone = named(&host, &folder("looking-profile")).await;
    phone.tap("take-in").await;
    crate::check::take_in(&phone, &file).await;
    phone.see("import-taken").await;
    let before = phone.entries().await;
    let look = async |tab: &str| {
        phone.tap(&format!("tab-{tab}")).await;
        phone.until(&format!("document.querySelector('[data-testid=tab-{tab}][aria-current]')")).await;
    };
    for tab in ["visit", "test", "results", "devices", "send"] {
        look(tab).await;
    }
    look("results").await;
    phone.tap("finding-D-15").await;
    phone.see("headline").await;
    phone.unfold("measured").await;
    phone.tap("retest-now").await;
    phone.see("looks-good").await;
    phone.tap("back").await;
    phone.unfold("before-up").await;
    phone.tap("notify-before-owner").await;
    phone.see("save").await;
    look("visit").await;
    phone.tap("to-settings").await;
    phone.tap("to-people").await;
    phone.see("people").await;
    look("devices").await;
    phone.tap("line-d-15").await;
    phone.see("edit").await;
    look("send").await;
    phone.tap("check").await;
    phone.see("check-sound").await;
    look("visit").await;
    phone.tap("leave-visit").await;
    phone.tap("other-visit").await;
    phone.see("before-up").await;
    // And a start of its own.
    phone.open(&host.address()).await;
    phone.see("before-up").await;
    assert_eq!(phone.entries().await, before);

    // The first thing that somebody says in it is a part in it.
    crate::setting_up::notify(&phone).await;
    phone.keeps("\"type\":\"visit_joined\"").await;
    phone.keeps("\"type\":\"attended\"").await;
    // Notified, joined, attended.
    phone.until_entries(before.len() + 3).await;
    phone.off().await;
}

/// A record as a test version wrote it: format 1, in canonical form.
const OLD: &str = "{\"at\":1750000000000,\"mono\":5,\"now\":{\"name\":\"Old heater\"},\"of\":\"01900000-0000-7000-8000-000000000028\",\
    \"phone\":\"01900000-0000-7000-8000-000000000001\",\"prev\":null,\"replaces\":[],\"scope\":\"kit\",\"seq\":0,\
    \"session\":\"01900000-0000-7000-8000-000000000002\",\"type\":\"heater_name\",\"v\":1}";

#[tokio::test]
async fn records_of_a_test_version_are_named_saved_and_cleared_only_with_consent() {
    let host = Host::start(&dist());
    let phone = Phone::timed(&folder("old-profile"), 0).await;
    phone.install(&host.address()).await;
    // The first start has made the tables.
    phone.see("who").await;
    let put = format!(
        "const wait = (r) => new Promise((ok, no) => {{ r.onsuccess = () => ok(r.result); r.onerror = () => no(r.error); }});
         const db = await wait(indexedDB.open('soakbook'));
         const text = {};
         await wait(db.transaction('entries', 'readwrite').objectStore('entries')
             .add(text, ['kit', '01900000-0000-7000-8000-000000000001', 0, 'a'.repeat(64)]));
         db.close();
         return true",
        serde_json::json!(OLD)
    );
    assert_eq!(phone.ask(&put).await, true);
    for _ in 0..2 {
        phone.open("about:blank").await;
        phone.open(&host.address()).await;
        phone.reads("old-records", "test version").await;
        assert!(!phone.sees("who").await && !phone.sees("tab-visit").await, "the app goes on beside them");
    }
    phone.flawless("old-records").await;
    // Closed again, nothing is cleared.
    phone.tap("clear-old").await;
    phone.see("clear-old-yes").await;
    phone.flawless("old-records-sure").await;
    phone.tap("close").await;
    assert_eq!(phone.entries().await, vec![serde_json::json!(OLD)]);

    let downloads = folder("old-downloads");
    let behaviour = serde_json::json!({ "behavior": "allow", "downloadPath": downloads });
    phone.devtools("Browser.setDownloadBehavior", behaviour).await;
    phone.tap("save-old").await;
    phone.reads("old-said", "Saved as a file").await;
    let saved = crate::check::downloaded(&phone, &downloads, "ndjson").await;
    assert_eq!(std::fs::read_to_string(saved).unwrap(), format!("{OLD}\n"));
    assert_eq!(phone.entries().await, vec![serde_json::json!(OLD)]);

    phone.tap("clear-old").await;
    phone.tap("clear-old-yes").await;
    // The page starts anew by itself, and a script that runs in it then would never answer.
    for _ in 0..300 {
        if phone.driver.find(By::Css("[data-testid=who]")).await.is_ok() {
            break;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    // A start like the first one.
    name(&phone).await;
    let left = phone.entries().await;
    assert!(!left.is_empty() && left.iter().all(|entry| !entry.as_str().unwrap().contains("\"v\":1}")), "{left:?}");
    phone.off().await;
}
