//! Every screen in both themes and both sizes: nothing for axe-core to find, and a picture of each to be looked at.

use std::env;
use std::fs;
use std::path::PathBuf;

use serde_json::json;

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{Asked, BARE, demo, named, read, start_by_hand, start_demo, trip};

const SIZES: [(&str, u32, u32); 2] = [("phone", 360, 740), ("wide", 1280, 800)];

/// Words that run over the edge of what they stand on, and a page that can be moved sideways.
const CUT: &str = "const over = (e) => e.scrollWidth > e.clientWidth + 1;
    const all = [document.documentElement, ...document.querySelectorAll('button, .pick, .badge, h1, h2')];
    return all.filter((e) => e.checkVisibility() && over(e)).map((e) => e.textContent.trim().slice(0, 60));";

impl Phone {
    async fn theme(&self, scheme: &str) {
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
        self.devtools("Emulation.setEmulatedMedia", json!({ "features": features })).await;
        // Colours on their way from the other theme are of neither.
        self.ask(
            "await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
             document.getAnimations().forEach((one) => { try { one.finish() } catch { /* it goes on for ever */ } })",
        )
        .await;
    }

    async fn size(&self, width: u32, height: u32) {
        let metrics = json!({ "width": width, "height": height, "deviceScaleFactor": 2, "mobile": width < 500 });
        self.devtools("Emulation.setDeviceMetricsOverride", metrics).await;
        self.until(&format!("innerWidth === {width} && innerHeight === {height}")).await;
        // The frame in which what depends on the width has been drawn anew.
        self.ask("await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)))").await;
    }

    /// Nothing is to be found on this screen.
    pub(crate) async fn flawless(&self, name: &str) {
        let mut faults = Vec::new();
        self.look(name, &mut faults).await;
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    }

    /// Looks at the screen as it is in both sizes and themes, and keeps a picture of each where it was asked for.
    async fn look(&self, name: &str, faults: &mut Vec<String>) {
        let shots = env::var_os("SOAKBOOK_SHOTS").map(PathBuf::from);
        // A plate that has just changed takes no press, by the clock that now stands still.
        self.until("!document.querySelector('.mark.dead')").await;
        // A look may take as long as it takes; the test stands still meanwhile.
        self.ask("globalThis.__hold?.()").await;
        for (size, width, height) in SIZES {
            self.size(width, height).await;
            for scheme in ["light", "dark"] {
                self.theme(scheme).await;
                let found = self.accessibility_faults().await;
                faults.extend(found.into_iter().map(|fault| format!("{name}, {size}, {scheme}: {fault}")));
                if let Some(shots) = &shots {
                    fs::create_dir_all(shots).unwrap();
                    self.driver.screenshot(&shots.join(format!("{name}-{size}-{scheme}.png"))).await.unwrap();
                }
            }
            let cut: Vec<String> = serde_json::from_value(self.ask(CUT).await).unwrap();
            faults.extend(cut.into_iter().map(|words| format!("{name}, {size}: tests over its edge: {words}")));
            if let Some(shots) = &shots {
                self.theme("light").await;
                let whole = self.ask("return document.documentElement.scrollHeight").await.as_u64().unwrap();
                if whole > u64::from(height) + 1 {
                    self.size(width, u32::try_from(whole.min(6_000)).unwrap()).await;
                    self.driver.screenshot(&shots.join(format!("{name}-{size}-whole.png"))).await.unwrap();
                }
            }
        }
        self.size(360, 740).await;
        self.theme("light").await;
        self.ask("globalThis.__go?.()").await;
    }
}

#[tokio::test]
async fn nothing_stands_between_anybody_and_any_screen() {
    let host = Host::start(&dist());
    let mut faults = Vec::new();
    let f = &mut faults;
    let phone = named(&host, &folder("screens-profile")).await;
    phone.look("first", f).await;
    for tab in ["test", "results", "devices", "send"] {
        phone.tap(&format!("tab-{tab}")).await;
        phone.look(&format!("empty-{tab}"), f).await;
    }
    for form in ["site", "area", "circuit", "position"] {
        phone.open(&format!("{}#/{form}", host.address())).await;
        phone.until("document.querySelector('h1')").await;
        phone.look(&format!("form-first-{form}"), f).await;
    }
    phone.off().await;

    let phone = demo(&host, &folder("screens-demo")).await;
    phone.open_folds().await;
    phone.look("visit", f).await;
    phone.tap("tab-devices").await;
    phone.look("devices", f).await;
    for form in ["site", "area", "circuit", "position", "heater", "procedure"] {
        phone.open(&format!("{}#/{form}", host.address())).await;
        phone.tap("save").await;
        phone.see("not-saved").await;
        phone.open_folds().await;
        phone.look(&format!("form-{form}"), f).await;
    }
    for form in ["person", "phone", "plan", "impair", "permit", "notify/0"] {
        phone.open(&format!("{}#/{form}", host.address())).await;
        phone.see("save").await;
        phone.open_folds().await;
        phone.look(&format!("form-{}", form.replace('/', "-")), f).await;
    }
    for place in ["people", "settings", "computed"] {
        phone.open(&format!("{}#/{place}", host.address())).await;
        phone.see(place).await;
        phone.look(place, f).await;
    }
    phone.tap("tab-devices").await;
    phone.tap("line-p-01").await;
    phone.see("edit").await;
    phone.look("device", f).await;
    phone.tap("edit").await;
    phone.see("save").await;
    phone.look("form-position-edit", f).await;
    phone.tap("tab-devices").await;
    phone.tap("line-heater-a-invented").await;
    phone.look("form-heater-edit", f).await;

    phone.tap("tab-visit").await;
    for tag in ["J-02", "P-01", "P-02", "P-03", "S-01"] {
        phone.tap(&format!("position-{tag}")).await;
        phone.until("document.querySelector('[data-testid=why-not], [data-testid=conditions]')").await;
        phone.open_folds().await;
        phone.look(&format!("before-{tag}"), f).await;
        phone.tap("back").await;
    }

    start_demo(&phone, Asked { readings: true, ..BARE }).await;
    phone.test_to(64).await;
    phone.until("document.querySelector('.clock-time').textContent.startsWith('2:')").await;
    phone.look("test-heat-up", f).await;
    trip(&phone, 1).await;
    phone.test_to(270).await;
    phone.reads("clock", "Soak").await;
    phone.look("test-soak", f).await;
    phone.tap("more").await;
    phone.see("end-stays_in_alarm").await;
    phone.look("test-details", f).await;
    phone.tap("close").await;
    phone.test_to(410).await;
    phone.reads("clock", "Heat off").await;
    phone.look("test-off", f).await;
    trip(&phone, 2).await;
    phone.see("digits").await;
    phone.tap("digit-1").await;
    phone.look("test-reading", f).await;
    phone.tap("digit-9").await;
    phone.tap("digit-2").await;
    for (number, reading) in [(3, "191"), (4, "193")] {
        trip(&phone, number).await;
        read(&phone, reading).await;
    }
    phone.reads("mark", "Heater lowered").await;
    phone.look("test-complete", f).await;
    phone.mark("Heater lowered").await;
    phone.see("headline").await;
    phone.tap("tab-visit").await;

    // Two heaters at once.
    start_demo(&phone, Asked { tag: "J-03", ..BARE }).await;
    start_by_hand(&phone).await;
    phone.look("test-two", f).await;
    phone.mark("Mark trip").await;
    phone.see("panel-asked").await;
    phone.look("test-tripped", f).await;
    phone.tap("more").await;
    phone.tap("end-mistake").await;
    // The other test comes to the front, and after the last one what it says.
    phone.reads("test", "J-03").await;
    phone.tap("more").await;
    phone.tap("end-mistake").await;
    phone.see("headline").await;
    phone.tap("tab-visit").await;
    phone.see("position-J-02").await;
    phone.open_folds().await;
    phone.look("visit-later", f).await;
    phone.tap("tab-results").await;
    phone.look("results", f).await;
    phone.tap("finding-J-01").await;
    phone.see("headline").await;
    phone.open_folds().await;
    phone.look("result", f).await;
    phone.tap("tab-send").await;
    phone.tap("check").await;
    phone.see("check-sound").await;
    phone.look("send", f).await;
    phone.off().await;
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}
