//! From nothing to a test: the invented demo, and an own site by form.

use std::path::Path;

use crate::host::Host;
use crate::phone::Phone;

/// A phone that has taken up the demo and is on its visit.
pub(crate) async fn demo(host: &Host, profile: &Path) -> Phone {
    let phone = Phone::timed(profile, 0).await;
    phone.install(&host.address()).await;
    phone.tap("demo").await;
    phone.see("demo-banner").await;
    // The opening of its visit is the last thing that the demo writes.
    phone.keeps("\"scope\":\"visit:").await;
    phone
}

/// What is answered before a test.
#[derive(Clone, Copy)]
pub(crate) struct Asked {
    pub(crate) tag: &'static str,
    pub(crate) procedure: &'static str,
    pub(crate) readings: bool,
    pub(crate) watched: bool,
}

/// The demo's set-point test without readings and watched restores: five trips, nothing else to do.
pub(crate) const BARE: Asked = Asked { tag: "J-01", procedure: "set-point", readings: false, watched: false };

/// Answers what is asked before a run on the demo's heater that cycles by itself and heat-ups to 206 °F, and switches the heat
/// on. The heater's own times (`view::demo`): 210 s from cold, 180 s hold, 40 s off, 50 s after off, no later hold.
pub(crate) async fn start_demo(phone: &Phone, asked: Asked) {
    phone.tap(&format!("detector-{}", asked.tag)).await;
    phone.choose("heater", "Heater A").await;
    phone.tap("setting-200").await;
    phone.choose("procedure", asked.procedure).await;
    phone.unfold("seeing").await;
    phone.tap(if asked.watched { "restores-Watched" } else { "restores-Not watched" }).await;
    phone.see("display-read").await;
    let on = "document.querySelector('[data-testid=display-read]').getAttribute('aria-checked')";
    if phone.ask(&format!("return {on}")).await.as_str() != Some(if asked.readings { "true" } else { "false" }) {
        phone.tap("display-read").await;
    }
    if phone.sees("understood").await {
        phone.tap("understood").await;
    }
    phone.taps.set(0);
    heat_on(phone).await;
}

/// Switches the heat on; from now on [`Phone::test_to`] counts.
pub(crate) async fn heat_on(phone: &Phone) {
    phone.heat_on.set(phone.wall().await);
    phone.tap("mark").await;
    phone.recorded("Heat on").await;
}

/// From a test that goes on, starts a functional test of a rate-of-rise detector on the demo's heater that is switched by hand.
pub(crate) async fn start_by_hand(phone: &Phone) {
    phone.tap("back").await;
    phone.tap("detector-J-05").await;
    phone.choose("heater", "Heater B").await;
    phone.choose("procedure", "functional").await;
    phone.tap("mark").await;
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
}

/// Site, area, circuit, detector, heater and procedure by form, on an empty phone.
pub(crate) async fn own_site(phone: &Phone) {
    phone.tap("own-site").await;
    phone.fill("site-name", "Lower mill").await;
    phone.tap("save").await;
    phone.fill("area-name", "Dye house").await;
    phone.tap("save").await;
    // A detector comes next; its circuit has to be there before it.
    phone.see("field-tag").await;
    phone.tap("tab-register").await;
    phone.tap("add-circuit").await;
    phone.fill("circuit-name", "Circuit 4").await;
    phone.tap("field-tells-apart-circuit").await;
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
    phone.fill("above", "6").await;
    phone.fill("resolution", "1").await;
    phone.tap("field-drive-itself").await;
    phone.fill("hold-first", "5:00").await;
    phone.fill("off", "0:45").await;
    phone.tap("field-basis-listed").await;
    phone.fill("heat-up-cold", "3:30").await;
    phone.fill("heat-up-again", "50").await;
    phone.unfold("fold-2").await;
    phone.fill("calibration", "0.6").await;
    phone.fill("due", "2099-12-31").await;
    phone.fill("fit", "0.8").await;
    phone.tap("save").await;

    // The numbers filled in fit this heater: 5:00 soak, 0:45 off. Saving confirms them.
    phone.tap("add-procedure").await;
    phone.tap("save").await;
    phone.see("line-set-point-check").await;
    phone.see("line-long-heater").await;
}
