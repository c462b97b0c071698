//! What a hand and an eye do: tap, type, choose, read. Everything is found by its test id.

use std::time::Duration;

use serde_json::{Value, json};

use crate::phone::Phone;

/// How often the page is asked again, and how many times.
const AGAIN: Duration = Duration::from_millis(40);
const TIMES: usize = 750;

/// Where a finger has to come down: in the middle of the thing, once it is there, can be pressed, nothing lies over it and
/// it keeps still for two frames. A screen that has just come up may still scroll to its top, and a plate that has just changed
/// its order takes no press for a second. It then notes whether the finger does come down there.
const WHERE: &str = "const plate = (e) => e.matches('input[type=radio]') ? e.closest('label') : e;
    const e = [...document.querySelectorAll(SELECTOR)].find((e) => !e.disabled && !e.classList.contains('dead') && plate(e).checkVisibility());
    if (!e) return null;
    const t = plate(e);
    const middle = () => {
        const r = t.getBoundingClientRect();
        return [r.x + r.width / 2, r.y + r.height / 2];
    };
    // A page in the background draws no frames.
    const frame = () => new Promise((next) => [requestAnimationFrame(next), setTimeout(next, 100)]);
    t.scrollIntoView({ block: 'center', behavior: 'instant' });
    const [x, y] = middle();
    await frame();
    await frame();
    const [later, below] = middle();
    if (later !== x || below !== y || !t.contains(document.elementFromPoint(x, y))) return null;
    window.missed = false;
    addEventListener('pointerdown', (down) => { window.missed = !t.contains(down.target); }, { capture: true, once: true });
    return [x, y];";

/// What a finger would touch in its place, for whoever reads a failure.
const OVER: &str = "const e = document.querySelector(SELECTOR);
    if (!e) return 'nothing, for it is not there';
    const r = e.getBoundingClientRect();
    const at = [r.x + r.width / 2, r.y + r.height / 2];
    return `${document.elementFromPoint(...at)?.outerHTML.slice(0, 300)} at ${at}, ${e.className} ${e.disabled}`";

/// A text as it is compared: the space between a number and its unit breaks no line, and is a space.
const PLAIN: &str = "((text) => (text ?? '').replace(/[\\u00a0\\u202f]/g, ' '))";

fn named(name: &str) -> String {
    format!("[data-testid={}]", json!(name))
}

impl Phone {
    /// Taps the thing with this test id with a finger.
    pub(crate) async fn tap(&self, name: &str) {
        self.tap_on(&named(name)).await;
    }

    /// Taps what a selector finds first.
    pub(crate) async fn tap_on(&self, selector: &str) {
        let script = WHERE.replace("SELECTOR", &json!(selector).to_string());
        for _ in 0..TIMES {
            if self.finger_down_on(&script).await {
                self.finger_up().await;
                self.taps.set(self.taps.get() + 1);
                return;
            }
            tokio::time::sleep(AGAIN).await;
        }
        let over = OVER.replace("SELECTOR", &json!(selector).to_string());
        panic!("cannot be tapped: {selector}, over it {}\n{}", self.ask(&over).await, self.page().await);
    }

    /// Puts a finger where the script says, and takes it away unused where the page moved in between, as an eye would see.
    async fn finger_down_on(&self, script: &str) -> bool {
        let Ok((x, y)) = serde_json::from_value::<(f64, f64)>(self.ask(script).await) else { return false };
        let touch = json!({ "type": "touchStart", "touchPoints": [{ "x": x, "y": y }] });
        self.devtools("Input.dispatchTouchEvent", touch).await;
        if self.ask("return window.missed").await != true {
            return true;
        }
        self.devtools("Input.dispatchTouchEvent", json!({ "type": "touchCancel", "touchPoints": [] })).await;
        false
    }

    async fn finger_up(&self) {
        self.devtools("Input.dispatchTouchEvent", json!({ "type": "touchEnd", "touchPoints": [] })).await;
    }

    /// Draws a stroke through points of the thing with this test id, shares of its sides; the stroke ends as said.
    pub(crate) async fn draw(&self, name: &str, points: &[(f64, f64)], end: &str) {
        self.see(name).await;
        let around = format!(
            "const e = document.querySelector({}); e.scrollIntoView({{ block: 'center', behavior: 'instant' }});
             await new Promise((next) => setTimeout(next, 100));
             const r = e.getBoundingClientRect(); return [r.x, r.y, r.width, r.height]",
            json!(named(name))
        );
        let [left, top, wide, high]: [f64; 4] = serde_json::from_value(self.ask(&around).await).unwrap();
        for (index, (x, y)) in points.iter().enumerate() {
            let kind = if index == 0 { "touchStart" } else { "touchMove" };
            let touch = json!({ "type": kind, "touchPoints": [{ "x": left + x * wide, "y": top + y * high }] });
            self.devtools("Input.dispatchTouchEvent", touch).await;
        }
        self.devtools("Input.dispatchTouchEvent", json!({ "type": end, "touchPoints": [] })).await;
    }

    /// Puts a finger on the thing with this test id and lifts it when an expression holds.
    pub(crate) async fn hold(&self, name: &str, until: &str) {
        let script = WHERE.replace("SELECTOR", &json!(named(name)).to_string());
        for _ in 0..TIMES {
            if self.finger_down_on(&script).await {
                self.until(until).await;
                self.finger_up().await;
                return;
            }
            tokio::time::sleep(AGAIN).await;
        }
        panic!("cannot be held: {name}\n{}", self.page().await);
    }

    /// Presses the plate that gives this order, once it gives it and takes a press.
    pub(crate) async fn mark(&self, order: &str) {
        let plate = format!(
            "[...document.querySelectorAll('.mark:not(.dead)')].find((plate) => plate.querySelector('.mark-label').textContent === {})",
            json!(order)
        );
        self.until(&plate).await;
        let name = self.ask(&format!("return {plate}?.dataset.testid")).await;
        self.tap(name.as_str().unwrap_or("mark")).await;
    }

    /// Waits until the plates take a press: some time after their order has changed.
    pub(crate) async fn takes_a_press(&self) {
        self.until("document.querySelector('.mark') && !document.querySelector('.mark.dead')").await;
    }

    /// Opens a fold that may be open already.
    pub(crate) async fn unfold(&self, name: &str) {
        self.see(name).await;
        let open = format!("return document.querySelector({}).closest('details').open", json!(named(name)));
        if self.ask(&open).await == false {
            self.tap(name).await;
        }
    }

    /// Opens everything that is folded.
    pub(crate) async fn open_folds(&self) {
        self.ask("document.querySelectorAll('details').forEach((fold) => { fold.open = true; })").await;
    }

    /// Chooses the answer that says these words.
    pub(crate) async fn choose(&self, question: &str, words: &str) {
        let found = format!(
            "[...document.querySelectorAll('input[name={question}]')].find((e) => {PLAIN}(e.closest('label').textContent).includes({}))",
            json!(words)
        );
        self.until(&found).await;
        let id = self.ask(&format!("return {found}.dataset.testid")).await;
        self.tap(id.as_str().unwrap()).await;
    }

    /// Types into a field, in place of what stood there.
    pub(crate) async fn fill(&self, field: &str, text: &str) {
        self.keys.set(self.keys.get() + text.chars().count());
        self.until(&format!(
            "(document.getElementById('field-{field}') ?? document.getElementById('{field}'))?.checkVisibility()"
        ))
        .await;
        let line = format!(
            "const e = document.getElementById('field-{field}') ?? document.getElementById('{field}'); e.scrollIntoView({{ block: 'center' }}); e.focus();"
        );
        if self.ask(&format!("{line} return e.type")).await.as_str().is_some_and(|kind| kind.starts_with("date")) {
            let set =
                format!("{line} e.value = {}; e.dispatchEvent(new Event('input', {{ bubbles: true }}))", json!(text));
            self.ask(&set).await;
            return;
        }
        self.ask(&format!("{line} e.select()")).await;
        self.devtools("Input.insertText", json!({ "text": text })).await;
    }

    /// Presses a key of a keyboard or Bluetooth button.
    pub(crate) async fn press(&self, key: &str) {
        let text = if key.chars().count() == 1 { key } else { "" };
        let code = match key {
            "Tab" => 9,
            "Escape" => 27,
            "ArrowUp" => 38,
            "ArrowDown" => 40,
            "ArrowLeft" => 37,
            "ArrowRight" => 39,
            "Enter" => 13,
            one => one.to_uppercase().chars().next().map_or(0, |sign| sign as u32),
        };
        let down = json!({ "type": "keyDown", "key": key, "text": text, "windowsVirtualKeyCode": code });
        self.devtools("Input.dispatchKeyEvent", down).await;
        let up = json!({ "type": "keyUp", "key": key, "windowsVirtualKeyCode": code });
        self.devtools("Input.dispatchKeyEvent", up).await;
    }

    /// Waits until the thing with this test id is on screen.
    pub(crate) async fn see(&self, name: &str) {
        self.until(&format!("document.querySelector({})?.checkVisibility()", json!(named(name)))).await;
    }

    /// Whether the thing with this test id is on screen now.
    pub(crate) async fn sees(&self, name: &str) -> bool {
        let seen = format!("return Boolean(document.querySelector({})?.checkVisibility())", json!(named(name)));
        self.ask(&seen).await == true
    }

    /// Waits until the thing with this test id says this, among other things.
    pub(crate) async fn reads(&self, name: &str, words: &str) {
        let found = format!("document.querySelector({})", json!(named(name)));
        self.until(&format!("{PLAIN}({found}?.textContent).includes({})", json!(words))).await;
    }

    /// The words of the thing with this test id, as they are seen.
    pub(crate) async fn words(&self, name: &str) -> String {
        self.see(name).await;
        let text = self.ask(&format!("return {PLAIN}(document.querySelector({}).innerText)", json!(named(name)))).await;
        text.as_str().unwrap_or_default().to_owned()
    }

    /// Waits until the last thing done is said to be recorded; a test says behind whose tag.
    pub(crate) async fn recorded(&self, name: &str) {
        let (alone, tagged) = (json!(format!("{name}: recorded")), json!(format!(" · {name}: recorded")));
        self.until(&format!(
            "[{PLAIN}(document.querySelector('.undo-words')?.textContent).trim()].some((it) => it === {alone} || it.endsWith({tagged}))"
        ))
        .await;
    }

    /// Waits until so many trips stand in the tally.
    pub(crate) async fn tripped(&self, trips: usize) {
        self.until(&format!("document.querySelectorAll('.tally-chip:not(.due)').length === {trips}")).await;
    }

    /// What the clock of the test says: the phase with what is counted, and the time in seconds.
    pub(crate) async fn clock(&self) -> (String, i64) {
        self.see("clock").await;
        let both = self
            .ask(
                "const clock = document.querySelector('[data-testid=clock]');
                 return [clock.querySelector('.clock-words b').textContent, clock.querySelector('.clock-time').textContent];",
            )
            .await;
        let (words, time): (String, String) = serde_json::from_value(both).unwrap();
        let (minutes, seconds) = time.split_once(':').unwrap();
        (words, minutes.parse::<i64>().unwrap() * 60 + seconds.parse::<i64>().unwrap())
    }

    /// Everything on screen, as it is read.
    pub(crate) async fn page(&self) -> String {
        self.ask(&format!("return {PLAIN}(document.body.innerText)")).await.as_str().unwrap_or_default().to_owned()
    }

    /// Waits until an entry of today that holds this text is in the phone's database. The demo's past holds nearly everything.
    pub(crate) async fn keeps(&self, text: &str) {
        let today =
            format!("rows.some((row) => row.includes({}) && JSON.parse(row).at > Date.now() - 86400000)", json!(text));
        for _ in 0..TIMES {
            if self.of_entries(&today).await == true {
                return;
            }
            tokio::time::sleep(AGAIN).await;
        }
        panic!("never recorded: {text}");
    }

    /// Waits until so many entries are in the phone's database.
    pub(crate) async fn until_entries(&self, count: usize) {
        let mut found = Value::Null;
        for _ in 0..TIMES {
            found = self.of_entries("rows.length").await;
            if found == count {
                return;
            }
            tokio::time::sleep(AGAIN).await;
        }
        panic!("{found} entries, never {count}");
    }

    /// The entries in the phone's database, in the order of their chains: the texts that were hashed.
    pub(crate) async fn entries(&self) -> Vec<Value> {
        serde_json::from_value(self.of_entries("rows").await).unwrap()
    }

    /// What an expression says of the entries, `rows`.
    async fn of_entries(&self, expression: &str) -> Value {
        self.ask(&format!(
            "const wait = (r) => new Promise((ok, no) => {{ r.onsuccess = () => ok(r.result); r.onerror = () => no(r.error); }});
             const db = await wait(indexedDB.open('soakbook'));
             const rows = await wait(db.transaction('entries').objectStore('entries').getAll());
             db.close();
             return {expression};"
        ))
        .await
    }
}
