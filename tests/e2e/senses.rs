//! What leaves the page: the cues as they reach the ear, the screen that is kept on, the share sheet.

use std::fs;

use serde_json::{Value, json};

use crate::check::{intact, valid};
use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{BARE, demo, name, named, start_demo, take_demo, trip};

/// Writes down every tone that is laid on the audio clock: its pitch, when it is to sound by the wall clock, and whether it was
/// taken back. What makes the tones stays as it is.
const HEARD: &str = "(() => {
  const proto = AudioScheduledSourceNode.prototype;
  const { start, stop } = proto;
  globalThis.heard = [];
  proto.start = function (when) {
    this.tone = { hz: Math.round(this.frequency.value), at: Date.now() + (when - this.context.currentTime) * 1000 };
    heard.push(this.tone);
    return start.call(this, when);
  };
  proto.stop = function (...when) {
    if (when.length === 0) this.tone.gone = true;
    return stop.apply(this, when);
  };
})();";

/// The tones that are laid and stand, in the order of their times: Hz, and seconds after heat on.
async fn standing(phone: &Phone) -> Vec<(i64, f64)> {
    let start = heat_on_at(phone).await;
    let tones = phone.ask("return heard.filter((tone) => !tone.gone).map(({ hz, at }) => [hz, at])").await;
    let tones: Vec<(i64, f64)> = serde_json::from_value(tones).unwrap();
    let mut tones: Vec<_> = tones.into_iter().map(|(hz, at)| (hz, (at - start) / 1e3)).collect();
    tones.sort_by(|one, other| one.1.total_cmp(&other.1));
    tones
}

/// When the newest entry of which `is` holds was made, ms; the demo brings marks of its own.
async fn newest(phone: &Phone, is: fn(&Value) -> bool) -> f64 {
    let entries = phone.entries().await.into_iter();
    let entries = entries.map(|text| serde_json::from_str::<Value>(text.as_str().unwrap()).unwrap());
    entries.filter(is).map(|entry| entry["at"].as_f64().unwrap()).max_by(f64::total_cmp).unwrap()
}

/// When the heat was switched on, ms.
async fn heat_on_at(phone: &Phone) -> f64 {
    newest(phone, |entry| entry["type"] == "test_started").await
}

/// Waits until a pattern that begins with this pitch stands within a quarter of a second of a time (design 9, the promise on cues),
/// and no second one beside it. The ticks at 880 Hz are two, 180 ms apart (`view::cues`).
async fn sounds(phone: &Phone, hz: i64, at: f64) {
    let start = heat_on_at(phone).await;
    let tones = if hz == 880 { 2 } else { 1 };
    phone
        .until(&format!(
            "heard.filter((tone) => !tone.gone && tone.hz === {hz} && Math.abs((tone.at - {start}) / 1000 - {at}) <= 0.25).length === {tones}"
        ))
        .await;
}

#[tokio::test]
async fn cues_are_laid_at_their_times_and_follow_marks_undo_and_the_end() {
    let host = Host::start(&dist());
    let phone = Phone::timed(&folder("cues-profile"), 0).await;
    phone.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": HEARD })).await;
    phone.install(&host.address()).await;
    name(&phone).await;
    take_demo(&phone).await;
    start_demo(&phone, BARE).await;

    // By hand from the demo heater's own times: top temperature at 213 s, with two ticks 10 s before.
    for (hz, at) in [(880, 203.0), (740, 213.0)] {
        sounds(&phone, hz, at).await;
    }
    // A trip, and the heater goes off at 396 s and on at 439 s.
    trip(&phone, 1).await;
    for (hz, at) in [(880, 386.0), (988, 396.0), (880, 429.0), (494, 439.0)] {
        sounds(&phone, hz, at).await;
    }
    assert!(!phone.sees("heard").await, "nothing is amiss with sound and screen");

    // The lamp says 180 s: the soak and everything behind it begin 33 s earlier, and what was laid is taken back.
    phone.test_to(180).await;
    phone.tap("more").await;
    phone.tap("mark-at_top").await;
    phone.tap("close").await;
    phone.recorded("At top temp").await;
    let marked = newest(&phone, |entry| entry["what"] == "at_top").await;
    let marked = (marked - heat_on_at(&phone).await) / 1e3;
    for (hz, after) in [(880, 173.0), (988, 183.0), (880, 216.0), (494, 226.0)] {
        sounds(&phone, hz, marked + after).await;
    }
    // The mark taken back, the nominal times are back too.
    phone.tap("undo").await;
    phone.recorded("Trip 1").await;
    sounds(&phone, 740, 213.0).await;
    sounds(&phone, 988, 396.0).await;
    let standing = standing(&phone).await;
    let off = standing.iter().filter(|(hz, at)| *hz == 988 && (360.0..400.0).contains(at)).count();
    assert_eq!(off, 1, "one heat off and no other: {standing:?}");

    // After the end nothing is left to come.
    phone.tap("more").await;
    phone.tap("end-stopped_early").await;
    phone.see("headline").await;
    phone.until("heard.every((tone) => tone.gone || tone.at < Date.now())").await;
    phone.off().await;
}

/// Counts the locks on the screen that are held; the browser's own are behind it.
const AWAKE: &str = "(() => {
  const { request } = WakeLock.prototype;
  globalThis.awake = { asked: 0, held: 0 };
  WakeLock.prototype.request = async function (kind) {
    awake.asked += 1;
    const lock = await request.call(this, kind);
    awake.held += 1;
    lock.addEventListener('release', () => { awake.held -= 1; });
    return lock;
  };
})();";

#[tokio::test]
async fn the_screen_stays_on_while_a_test_goes_on() {
    let host = Host::start(&dist());
    let phone = Phone::timed(&folder("awake-profile"), 0).await;
    phone.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": AWAKE })).await;
    phone.install(&host.address()).await;
    name(&phone).await;
    take_demo(&phone).await;
    assert_eq!(
        phone.ask("return awake").await,
        json!({ "asked": 0, "held": 0 }),
        "without a test the screen may go dark"
    );
    start_demo(&phone, BARE).await;
    phone.until("awake.held === 1").await;
    // Another tab in front hides the page, and the browser lets go; seen again, it is asked again.
    let test = phone.driver.window().await.unwrap();
    let other = phone.driver.new_tab().await.unwrap();
    phone.driver.switch_to_window(other).await.unwrap();
    phone.driver.close_window().await.unwrap();
    phone.driver.switch_to_window(test).await.unwrap();
    phone.until("awake.asked >= 2 && awake.held === 1").await;
    trip(&phone, 1).await;
    phone.tap("more").await;
    phone.tap("end-stopped_early").await;
    phone.see("headline").await;
    phone.until("awake.held === 0").await;
    phone.off().await;
}

/// A share sheet that takes text files only, as some do, and that `__sheet` tells what the person does.
const SHEET: &str = "(() => {
  globalThis.__sheet = 'close';
  navigator.canShare = ({ files }) => files.every((file) => file.type === 'text/plain');
  navigator.share = async ({ files: [file] }) => {
    if (!navigator.userActivation.isActive) throw new DOMException('no tap', 'NotAllowedError');
    if (__sheet === 'close') throw new DOMException('closed', 'AbortError');
    if (__sheet === 'break') throw new DOMException('no app answers', 'DataError');
    globalThis.__shared = [file.name, file.type, await file.text()];
  };
})();";

#[tokio::test]
async fn a_bundle_goes_to_the_share_sheet_as_text_where_json_is_refused() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("share-profile")).await;
    phone.ask(SHEET).await;
    phone.tap("tab-send").await;
    let waiting = phone.words("not-handed-over").await;
    phone.tap("export").await;
    phone.reads("export-said", "Nothing left the phone").await;
    phone.ask("__sheet = 'break'").await;
    phone.tap("export").await;
    phone.reads("export-said", "Save it as a file instead").await;
    assert_eq!(phone.words("not-handed-over").await, waiting, "nothing has left");

    phone.ask("__sheet = 'send'").await;
    phone.tap("export").await;
    phone.reads("export-said", "not confirmed").await;
    let shared = phone.ask("return __shared").await;
    let (name, media, text): (String, String, String) = serde_json::from_value(shared).unwrap();
    assert!(name.ends_with(".json.txt") && media == "text/plain", "{name}: {media}");
    assert_ne!(phone.words("not-handed-over").await, waiting);
    let bundle = serde_json::from_str(&text).unwrap();
    valid(&bundle);
    intact(&bundle);
    // Under that name it is taken in elsewhere.
    let file = folder("shared").join(name);
    fs::write(&file, text).unwrap();
    let other = named(&host, &folder("share-other")).await;
    other.tap("take-in").await;
    crate::check::take_in(&other, &file).await;
    other.see("import-taken").await;
    other.off().await;
    phone.off().await;
}
