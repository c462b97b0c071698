//! Every screen in both themes and both sizes: nothing for axe-core to find, and a picture of each to be looked at.

use std::env;
use std::fs;
use std::path::PathBuf;

use serde_json::json;

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{Asked, BARE, demo, start_by_hand, start_demo};

const SIZES: [(&str, u32, u32); 2] = [("phone", 360, 740), ("wide", 1280, 800)];

/// Words that run over the edge of what they stand on, and a page that can be moved sideways.
const CUT: &str = "const over = (e) => e.scrollWidth > e.clientWidth + 1;
    const all = [document.documentElement, ...document.querySelectorAll('button, .pick, .badge, h1, h2')];
    return all.filter((e) => e.checkVisibility() && over(e)).map((e) => e.textContent.trim().slice(0, 60));";

impl Phone {
    async fn theme(&self, scheme: &str) {
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
        self.devtools("Emulation.setEmulatedMedia", json!({ "features": features })).await;
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
    let phone = Phone::timed(&folder("screens-profile"), 0).await;
    phone.install(&host.address()).await;
    let mut faults = Vec::new();
    let f = &mut faults;
    phone.see("demo").await;
    phone.look("first", f).await;
    for tab in ["test", "findings", "register", "handover"] {
        phone.tap(&format!("tab-{tab}")).await;
        phone.look(&format!("empty-{tab}"), f).await;
    }
    for form in ["site", "area", "circuit", "detector"] {
        phone.open(&format!("{}#/{form}", host.address())).await;
        phone.until("document.querySelector('h1')").await;
        phone.look(&format!("form-first-{form}"), f).await;
    }
    phone.off().await;

    let phone = demo(&host, &folder("screens-demo")).await;
    phone.look("visit", f).await;
    phone.tap("tab-register").await;
    phone.look("register", f).await;
    for form in ["site", "area", "circuit", "detector", "heater", "procedure"] {
        phone.open(&format!("{}#/{form}", host.address())).await;
        phone.see("save").await;
        // A procedure's numbers are filled in, so it has nothing to say.
        if form != "procedure" {
            phone.tap("save").await;
            phone.see("not-saved").await;
        }
        phone.open_folds().await;
        phone.look(&format!("form-{form}"), f).await;
    }
    phone.tap("tab-register").await;
    phone.tap("line-p-01").await;
    phone.look("form-detector-edit", f).await;
    phone.tap("tab-register").await;
    phone.tap("line-heater-a-invented").await;
    phone.look("form-heater-edit", f).await;

    phone.tap("tab-visit").await;
    for tag in ["J-02", "P-03", "S-01"] {
        phone.tap(&format!("detector-{tag}")).await;
        phone.see("conditions").await;
        phone.open_folds().await;
        phone.look(&format!("before-{tag}"), f).await;
        phone.tap("back").await;
    }

    start_demo(&phone, Asked { readings: true, ..BARE }).await;
    phone.test_to(64).await;
    phone.until("document.querySelector('.clock-time').textContent.startsWith('2:')").await;
    phone.look("test-heat-up", f).await;
    phone.test_to(150).await;
    phone.tap("mark").await;
    phone.tripped(1).await;
    phone.test_to(270).await;
    phone.reads("clock", "Soak").await;
    phone.look("test-soak", f).await;
    phone.tap("more").await;
    phone.see("end-stays-in-alarm").await;
    phone.look("test-details", f).await;
    phone.tap("close").await;
    phone.test_to(400).await;
    phone.reads("clock", "Heater off").await;
    phone.look("test-off", f).await;
    phone.test_to(455).await;
    phone.tap("mark").await;
    phone.see("digits").await;
    phone.tap("digit-1").await;
    phone.look("test-reading", f).await;
    phone.tap("digit-9").await;
    phone.tap("digit-2").await;
    for (at, reading) in [(545, "193"), (635, "191"), (725, "192")] {
        phone.test_to(at).await;
        phone.tap("mark").await;
        for digit in reading.chars() {
            phone.tap(&format!("digit-{digit}")).await;
        }
    }
    phone.reads("mark", "Done").await;
    phone.look("test-complete", f).await;
    phone.tap("mark").await;
    phone.see("finding").await;
    phone.tap("tab-visit").await;

    // Two heaters at once.
    start_demo(&phone, Asked { tag: "J-03", ..BARE }).await;
    start_by_hand(&phone).await;
    phone.look("test-two", f).await;
    phone.tap("more").await;
    phone.tap("end-stopped-started-by-mistake").await;
    // The other test comes to the front, and after the last one what it says.
    phone.reads("test", "J-03").await;
    phone.tap("more").await;
    phone.tap("end-stopped-started-by-mistake").await;
    phone.see("finding").await;
    phone.tap("tab-visit").await;

    // A second detector that does not operate.
    start_demo(&phone, Asked { tag: "J-02", ..BARE }).await;
    phone.test_to(395).await;
    phone.reads("clock", "No trip").await;
    phone.look("test-no-trip", f).await;
    phone.tap("mark").await;
    phone.see("finding").await;
    phone.tap("tab-visit").await;
    phone.see("detector-J-02").await;
    phone.look("visit-later", f).await;
    phone.tap("tab-findings").await;
    phone.look("findings", f).await;
    phone.tap("finding-J-01").await;
    phone.see("operated").await;
    phone.open_folds().await;
    phone.look("finding", f).await;
    phone.tap("tab-handover").await;
    phone.tap("check").await;
    phone.see("check-sound").await;
    phone.look("handover", f).await;
    phone.off().await;
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}
