//! Devices by hand: finding one, its page before heat, one that is not on the list, the order one walks.

use crate::check::take_in;
use crate::host::{Host, dist, folder};
use crate::rare::write;
use crate::sample::{self, id, read, started};
use crate::setting_up::{demo, heat_on, named, own_detector};
use soakbook::book::body::{Body, Edit, Ending};
use soakbook::book::entry::Scope;
use soakbook::book::test::Test;
use soakbook::trade::detector::{Access, Place, Reach};

#[tokio::test]
async fn one_that_is_not_on_the_list_is_added_on_the_lift_tested_and_settled_later() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("devices-profile")).await;
    // Two taps and what one types find one on the visit's list; a tap still leads to its test.
    phone.taps.set(0);
    phone.tap("find-visit").await;
    phone.fill("find-visit", "j3").await;
    phone.until("document.querySelectorAll('[data-testid^=position-]').length === 1").await;
    phone.flawless("visit-found").await;
    phone.tap("position-J-03").await;
    assert_eq!(phone.taps.get(), 2);
    phone.see("looks-good").await;
    phone.tap("back").await;
    phone.tap("find-visit-clear").await;
    phone.tap("about-J-03").await;
    phone.see("test-it").await;
    phone.flawless("device").await;
    phone.tap("back").await;

    // From the list to the questions before heat.
    phone.taps.set(0);
    phone.tap("unlisted").await;
    phone.tap("save").await;
    phone.tap("releases-nothing").await;
    phone.tap("test-it").await;
    phone.see("looks-good").await;
    assert!(phone.taps.get() <= 5, "{} taps", phone.taps.get());
    phone.keeps("\"provisional\":true").await;
    if phone.sees("understood").await {
        phone.tap("understood").await;
    }
    heat_on(&phone).await;
    phone.reads("test", "No tag").await;
    phone.tap("back").await;

    // The office enters the tag; the test stays.
    phone.tap("tab-devices").await;
    phone.tap("find-devices-filters").await;
    phone.flawless("devices-filters").await;
    phone.tap("filter-provisional").await;
    phone.tap("line-no-tag").await;
    phone.see("provisional").await;
    phone.flawless("device-provisional").await;
    phone.tap("to-form").await;
    phone.fill("tag", "J-09").await;
    phone.tap("save").await;
    phone.see("last-results").await;
    phone.until("!document.querySelector('[data-testid=provisional]')").await;
    phone.until("[...document.querySelectorAll('h1')].some((title) => title.textContent === 'J-09')").await;
    phone.off().await;
}

#[tokio::test]
async fn the_next_one_tapped_is_next_and_the_list_follows() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("walk-profile")).await;
    phone.tap("tab-devices").await;
    phone.tap("walk").await;
    for tag in ["walk-B-04", "walk-B-01", "walk-B-02"] {
        phone.tap(tag).await;
    }
    phone.flawless("walk").await;
    phone.tap("walk-back").await;
    phone.tap("walk-save").await;
    phone.keeps("\"type\":\"position_order\"").await;
    phone.see("line-b-04").await;
    let order = "[...document.querySelectorAll('[data-testid^=line-b-]')].map((e) => e.dataset.testid).join()";
    phone.until(&format!("{order} === 'line-b-04,line-b-01,line-b-02,line-b-03,line-b-05,line-b-06'")).await;
    phone.off().await;
}

#[tokio::test]
async fn the_second_detector_takes_one_tap_and_no_key() {
    let host = Host::start(&dist());
    let phone = named(&host, &folder("second-profile")).await;
    phone.tap("own-site").await;
    phone.fill("site-name", "Lower mill").await;
    phone.tap("save").await;
    phone.fill("area-name", "Dye house").await;
    phone.tap("save").await;
    own_detector(&phone).await;
    for number in 2..5 {
        // The tag counts up; everything else is as the last one has it.
        phone.taps.set(0);
        phone.tap("save-another").await;
        phone.until(&format!("document.getElementById('field-tag').value === 'H-0{number}'")).await;
        assert_eq!(phone.taps.get(), 1);
    }
    phone.tap("save").await;
    phone.see("line-h-04").await;
    phone.off().await;
}

/// A position with everything on file and five results.
fn five_results() -> sample::Phone {
    let mut phone = sample::Phone::new();
    let first = started(1);
    let (position, detector) = (first.position.of, first.detector.of);
    let site = Scope::Site(id(sample::SITE));
    let place = Place {
        tag: "H-07".into(),
        point: Some("L3-007".into()),
        panel_text: Some("HEAT HALL 7".into()),
        location: Some("over mixer 2".into()),
        ..first.position.place.clone()
    };
    let access = Access { reach: Some(Reach::ScissorLift), hazard: Some("crane above".into()), ..Access::default() };
    phone.say(site, Body::PositionPlace(Edit::new(position, vec![], place)));
    phone.say(site, Body::PositionAccess(Edit::new(position, vec![], access)));
    phone.say(site, Body::PositionDuty(Edit::new(position, vec![], first.position.duty.clone())));
    phone.say(site, Body::DetectorInstalled { detector, position, happened: None });
    phone.say(site, Body::DetectorMarking(Edit::new(detector, vec![], first.detector.marking.clone())));
    for number in 1..6 {
        let mut start = started(number);
        (start.position.of, start.detector.of) = (position, detector);
        phone.test(start, &read(&["80.0", "88.1", "87.6", "88.4", "87.9"]), Ending::Done);
        assert!(Test::of(&phone.book, id(number)).is_some());
    }
    phone
}

#[tokio::test]
async fn everything_before_heat_is_on_one_screen_of_a_phone() {
    let files = folder("one-screen-files");
    let file = files.join("five.json");
    write(&five_results(), &file);
    let host = Host::start(&dist());
    let phone = named(&host, &folder("one-screen-profile")).await;
    phone.tap("take-in").await;
    take_in(&phone, &file).await;
    phone.see("import-taken").await;
    phone.tap("tab-visit").await;
    phone.tap("about-H-07").await;
    phone.until("document.querySelectorAll('[data-testid=last-results] dt').length === 5").await;
    // 360 × 740 is the phone's own size. The invented site's banner is no part of the work and is left out of the sum.
    let fits = "(() => { const banner = document.querySelector('[data-testid=demo-banner]')?.getBoundingClientRect().height ?? 0;
        const last = document.querySelector('[data-testid=last-results]').getBoundingClientRect().bottom;
        return last - banner <= document.querySelector('.bar').getBoundingClientRect().top; })()";
    phone.until(fits).await;
    phone.flawless("device-five-results").await;
    phone.off().await;
}
