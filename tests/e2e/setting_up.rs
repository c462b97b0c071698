//! From nothing to a test: the invented demo, and an own site by form.

use std::path::Path;

use crate::host::Host;
use crate::phone::Phone;

/// A phone with the app on it whose first user has said who it is.
pub(crate) async fn named(host: &Host, profile: &Path) -> Phone {
    let phone = Phone::timed(profile, 0).await;
    phone.install(&host.address()).await;
    name(&phone).await;
    phone
}

/// Says who has the phone, as the first start asks.
pub(crate) async fn name(phone: &Phone) {
    phone.tap("who").await;
    phone.fill("person-name", "A. Nobody").await;
    phone.tap("save").await;
    phone.see("demo").await;
    phone.keeps("\"type\":\"phone_handed\"").await;
}

/// A phone that has taken up the demo and is on its visit, in which the supervising station is notified.
pub(crate) async fn demo(host: &Host, profile: &Path) -> Phone {
    let phone = named(host, profile).await;
    take_demo(&phone).await;
    phone
}

/// Takes up the demo and notifies the supervising station.
pub(crate) async fn take_demo(phone: &Phone) {
    phone.tap("demo").await;
    phone.see("demo-banner").await;
    notify(phone).await;
}

/// Says that the supervising station is notified.
pub(crate) async fn notify(phone: &Phone) {
    phone.unfold("before-up").await;
    phone.tap("notify-before-supervising_station").await;
    phone.tap("save").await;
    // The last thing that is written before a test can start.
    phone.keeps("\"type\":\"notified\"").await;
    phone.see("before-up").await;
}

/// What is answered before a test.
#[derive(Clone, Copy)]
pub(crate) struct Asked {
    pub(crate) tag: &'static str,
    pub(crate) heater: &'static str,
    pub(crate) setting: &'static str,
    pub(crate) procedure: &'static str,
    pub(crate) ambient: &'static str,
    pub(crate) readings: bool,
    pub(crate) watched: bool,
}

/// The demo's set-point test without readings and watched restores: four trips, nothing else to do. The heater's own times
/// (`view::demo`): 213 s from cold, 183 s hold, 43 s off, 47 s after off, 11 s hold.
pub(crate) const BARE: Asked = Asked {
    tag: "J-01",
    heater: "Heater A",
    setting: "setting-201-F",
    procedure: SET_POINT,
    ambient: "",
    readings: false,
    watched: false,
};

/// The demo's procedure for a set point.
pub(crate) const SET_POINT: &str = "invented numbers";
/// The procedure that needs no numbers.
pub(crate) const FUNCTIONAL: &str = "Functional test";

/// Seconds after heat on at which trips 1 to 4 of the demo come: in the first heat-up (0 to 213), then 25 s into the heat-ups that
/// begin at 439, 540 and 641. By hand from the heater's own times: 213 + 183 + 43, and then 47 + 11 + 43 each.
pub(crate) const TRIPS: [i64; 4] = [150, 464, 565, 666];

/// Answers what is asked before a test and switches the heat on.
pub(crate) async fn start_demo(phone: &Phone, asked: Asked) {
    answer(phone, asked).await;
    heat_on(phone).await;
}

/// Answers what is asked before a test.
pub(crate) async fn answer(phone: &Phone, asked: Asked) {
    phone.tap(&format!("position-{}", asked.tag)).await;
    phone.choose("heater", asked.heater).await;
    phone.tap(asked.setting).await;
    phone.choose("procedure", asked.procedure).await;
    phone.unfold("conditions").await;
    phone.fill("ambient", asked.ambient).await;
    phone.unfold("seeing").await;
    phone.tap(if asked.watched { "restores-watched" } else { "restores-not-watched" }).await;
    phone.see("display-read").await;
    let on = "document.querySelector('[data-testid=display-read]').getAttribute('aria-checked')";
    if phone.ask(&format!("return {on}")).await.as_str() != Some(if asked.readings { "true" } else { "false" }) {
        phone.tap("display-read").await;
    }
    if phone.sees("understood").await {
        phone.tap("understood").await;
    }
    phone.taps.set(0);
}

/// Switches the heat on; from now on [`Phone::test_to`] counts.
pub(crate) async fn heat_on(phone: &Phone) {
    phone.heat_on.set(phone.wall().await);
    phone.mark("Heat on").await;
    phone.recorded("Heat on").await;
}

/// Types a reading on the digit keys; the last digit hands it over.
pub(crate) async fn read(phone: &Phone, reading: &str) {
    for digit in reading.chars() {
        phone.tap(&format!("digit-{digit}")).await;
    }
    phone.until("!document.querySelector('[data-testid=digits]')").await;
}

/// Takes trip `number` of the demo at its time.
pub(crate) async fn trip(phone: &Phone, number: usize) {
    phone.test_to(TRIPS[number - 1]).await;
    phone.mark(&format!("Mark trip {number}")).await;
    phone.tripped(number).await;
}

/// From a test that goes on, starts a functional test of a rate-of-rise detector on the demo's heater that is switched by hand.
pub(crate) async fn start_by_hand(phone: &Phone) {
    phone.tap("back").await;
    phone.tap("position-J-05").await;
    phone.choose("heater", "Heater B").await;
    phone.tap("setting-153-F").await;
    phone.choose("procedure", FUNCTIONAL).await;
    phone.mark("Heat on").await;
    phone.recorded("Heat on").await;
    phone.reads("test", "J-05").await;
}

/// Fills in the first detector of an own site on the form that is open; 194 °F, −8 / +8 °F.
pub(crate) async fn own_detector(phone: &Phone) {
    phone.fill("tag", "H-01").await;
    phone.tap("field-type-rate-compensated").await;
    phone.fill("rating", "194").await;
    phone.tap("field-unit-F").await;
    phone.fill("minus", "-8").await;
    phone.fill("plus", "8").await;
    phone.tap("field-limits-from-marking").await;
    phone.tap("field-releases-anything-no").await;
}

/// The times of the own heater, and of the procedure that fits it.
const SOAK: &str = "5:00";
const OFF: &str = "0:45";

/// Site, area, circuit, position, heater and procedure by form, on a phone that knows its user.
pub(crate) async fn own_site(phone: &Phone) {
    phone.tap("own-site").await;
    phone.fill("site-name", "Lower mill").await;
    phone.tap("save").await;
    phone.fill("area-name", "Dye house").await;
    phone.tap("save").await;
    // A position comes next; its circuit has to be there before it.
    phone.see("field-tag").await;
    phone.tap("tab-devices").await;
    phone.tap("add-circuit").await;
    phone.fill("circuit-name", "Circuit 4").await;
    phone.tap("field-shows-yes").await;
    phone.tap("save").await;

    phone.tap("add-detector").await;
    own_detector(phone).await;
    phone.unfold("fold-1").await;
    phone.choose("field-circuit", "Circuit 4").await;
    phone.tap("save").await;

    phone.tap("add-heater").await;
    phone.fill("heater-name", "Long heater").await;
    phone.fill("settings", "200").await;
    phone.tap("field-unit-F").await;
    phone.tap("field-way-auto-display").await;
    phone.fill("resolution", "1").await;
    phone.tap("field-basis-listed").await;
    phone.tap("field-calibrated-known").await;
    phone.fill("calibration", "0.6").await;
    phone.unfold("fold-1").await;
    phone.fill("overshoot", "6").await;
    phone.fill("heat-up-cold", "3:30").await;
    phone.fill("heat-up-again", "50").await;
    phone.fill("hold-first", SOAK).await;
    phone.fill("hold-again", "0:00").await;
    phone.fill("off", OFF).await;
    phone.unfold("fold-2").await;
    phone.fill("due", "2099-12-31").await;
    phone.fill("fit", "0.8").await;
    phone.fill("fit-from", "Own comparison").await;
    phone.tap("save").await;

    // The app has no numbers of its own.
    phone.tap("add-procedure").await;
    phone.fill("procedure-name", "Mill procedure").await;
    phone.tap("field-numbers-from-heater").await;
    phone.fill("trips", "5").await;
    phone.fill("not-averaged", "1").await;
    phone.fill("soak", SOAK).await;
    phone.fill("off", OFF).await;
    phone.fill("extra", "2").await;
    phone.tap("save").await;
    phone.see("line-mill-procedure").await;
    phone.see("line-long-heater").await;
}
