//! Profile runs of a heater: two of them make a profile, through a kill and a reading that takes its time to dial.

use serde_json::Value;

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::demo;
use soakbook::units::Wall;

/// The invented heater that the readings are drawn from: a first-order heat-up and cooling, by the formulas of the heat balance.
/// Times since heat on and since heater off, s; temperatures in °F.
const AMBIENT: f64 = 70.0;
const TAU: f64 = 150.0;
const TAU_OFF: f64 = 240.0;
const TOP: f64 = 212.0;
/// When a heater with a rise of 181 °F reaches 212 °F: 150 s · ln(181/(181 − 142)) is 230.2 s; with 172 °F it is 261.9 s.
const RISES: [(f64, i64); 2] = [(181.0, 230), (172.0, 262)];

/// When the heater goes off, s.
const OFF: i64 = 330;

fn shown(rise: f64, top_at: i64, at: f64) -> f64 {
    let off = OFF as f64;
    match at {
        at if at <= top_at as f64 => AMBIENT + rise * (1.0 - (-at / TAU).exp()),
        at if at <= off => TOP,
        at => AMBIENT + (TOP - AMBIENT) * (-(at - off) / TAU_OFF).exp(),
    }
}

/// Opens the questions before a profile run of the demo's second heater and switches the heat on.
async fn start(phone: &Phone) {
    phone.tap("tab-devices").await;
    phone.tap("line-heater-b-invented").await;
    phone.tap("take-profile-run").await;
    phone.reads("why-not", "ambient temperature first").await;
    phone.choose("setting", "212").await;
    phone.tap("dial-ambient").await;
    for digit in ["7", "0", "ok"] {
        phone.tap(&format!("digit-{digit}")).await;
    }
    phone.reads("ambient-shown", "70 °F").await;
    phone.heat_on.set(phone.wall().await);
    phone.tap("mark").await;
    phone.recorded("Heat on").await;
}

/// Presses "Read now" and dials what the heater shows at this moment; in between goes some time.
async fn read(phone: &Phone, rise: f64, top_at: i64, pause: i64) {
    let at = (phone.wall().await - phone.heat_on.get()) as f64 / 1_000.0;
    phone.tap("mark").await;
    phone.see("digits").await;
    phone.jump(pause).await;
    let tenths = (shown(rise, top_at, at) * 10.0).round() as i64;
    for digit in tenths.to_string().chars() {
        phone.tap(&format!("digit-{digit}")).await;
    }
    if tenths < 1_000 {
        phone.tap("digit-ok").await;
    }
    phone.recorded(&format!("Reading {}.{} °F", tenths / 10, tenths % 10)).await;
}

async fn read_at(phone: &Phone, (rise, top_at): (f64, i64), times: &[i64]) {
    for at in times {
        phone.test_to(*at).await;
        read(phone, rise, top_at, 0).await;
    }
}

async fn mark_at(phone: &Phone, at: i64, name: &str) {
    phone.test_to(at).await;
    phone.tap(&format!("mark-{name}")).await;
}

/// Value and standard uncertainty of a figure on the page.
async fn figure(phone: &Phone, name: &str) -> (f64, f64) {
    let words = phone.words(name).await;
    let number = |text: &str| text.trim().split(' ').next().and_then(|text| text.parse::<f64>().ok());
    let value = words.lines().find_map(number);
    let u = words.split_once(" = ").and_then(|(_, rest)| number(rest));
    value.zip(u).unwrap_or_else(|| panic!("{name}: {words}"))
}

#[tokio::test]
async fn two_profile_runs_make_a_heat_profile() {
    let host = Host::start(&dist());
    let profile = folder("profile-runs-profile");
    let phone = demo(&host, &profile).await;
    phone.tap("tab-devices").await;
    phone.tap("line-heater-b-invented").await;
    phone.tap("to-profile").await;
    phone.reads("profile", "No profile").await;
    phone.flawless("profile-none").await;
    phone.tap("take-profile-run").await;
    phone.see("why-not").await;
    phone.flawless("profile-run-before").await;
    phone.tap("dial-ambient").await;
    phone.see("digits").await;
    phone.flawless("profile-run-ambient").await;
    phone.tap("close").await;

    // The first profile run, with a battery that ends in the middle of the heat-up.
    start(&phone).await;
    let (first, top_at) = RISES[0];
    read_at(&phone, RISES[0], &[18, 36, 54, 72, 90]).await;
    let (heat_on, stood) = (phone.heat_on.get(), phone.wall().await);
    phone.kill();
    let phone = Phone::again(&profile, stood).await;
    phone.heat_on.set(heat_on);
    phone.open(&host.address()).await;
    phone.reads("profile-run", "5 readings").await;
    read_at(&phone, RISES[0], &[126, 144, 162, 180, 198, 216]).await;
    mark_at(&phone, top_at, "at_top").await;
    phone.reads("clock", "At top temp").await;
    read_at(&phone, RISES[0], &[250, 280]).await;
    mark_at(&phone, OFF, "heater_off").await;
    phone.reads("clock", "Cooling").await;
    read_at(&phone, RISES[0], &[360, 390, 420, 450, 480, 510, 540]).await;
    // Dialling takes 25 s; the reading counts from the press.
    phone.test_to(570).await;
    let pressed = phone.wall().await;
    read(&phone, first, top_at, 25).await;
    let entries = phone.entries().await;
    let readings = entries.iter().filter_map(Value::as_str).filter(|text| text.contains("reading_taken"));
    let stamps = readings.filter_map(|text| serde_json::from_str::<Value>(text).unwrap()["at"].as_i64());
    let late = Wall(stamps.max().unwrap()) - pressed;
    assert!((0..20_000).contains(&late), "{late} ms after the press");
    phone.tap("end-usable").await;
    phone.reads("profile", "Heater profile from 1 profile run").await;
    phone.reads("profile-words-2", "the spread between profile runs is unknown").await;

    // The second, on a weaker supply; looked at on the way.
    start(&phone).await;
    phone.flawless("profile-run-start").await;
    read_at(&phone, RISES[1], &[20, 40, 60, 80]).await;
    phone.flawless("profile-run-heating").await;
    phone.tap("mark").await;
    phone.see("digits").await;
    phone.flawless("profile-run-reading").await;
    phone.tap("no-reading").await;
    read_at(&phone, RISES[1], &[110, 130, 150, 170, 190, 210, 230]).await;
    // Another place: the profile run goes on and says so.
    phone.tap("back").await;
    phone.reads("profile-run-goes-on", "Profile run in progress").await;
    phone.tap_on("[data-testid=profile-run-goes-on] button").await;
    mark_at(&phone, RISES[1].1, "at_top").await;
    read_at(&phone, RISES[1], &[270, 290]).await;
    mark_at(&phone, OFF, "heater_off").await;
    read_at(&phone, RISES[1], &[360, 390, 420, 450, 480, 510, 540]).await;
    phone.tap("more").await;
    phone.see("stop-profile-run").await;
    phone.flawless("profile-run-more").await;
    phone.tap("close").await;
    phone.tap("end-usable").await;

    phone.reads("profile", "Heater profile from 2 profile runs").await;
    phone.reads("profile-words-1", "Exponential approach: AICc prefers it to a constant rate").await;
    phone.reads("profile-words-2", "2 profile runs: too few to tell their spread").await;
    let label = phone.ask("return document.querySelector('[data-testid=plot]').getAttribute('aria-label')").await;
    assert!(label.as_str().unwrap().contains("41 readings of 2 profile runs"), "{label}");
    // What the readings were drawn with; a tap is up to some tenths of a second late, and a display shows tenths.
    for (name, drawn) in [("heating-h", TAU), ("cooling-c", TAU_OFF)] {
        let (value, u) = figure(&phone, &format!("figure-time-constant-of-{name}")).await;
        assert!((value - drawn).abs() < 0.05 * drawn + 3.0 * u && u < 0.2 * drawn, "{name}: {value}, u = {u}");
    }
    phone.reads("figure-heating-rate-at-ambient-temperature", "between profile runs").await;
    phone.reads("profile", "A. Nobody").await;
    phone.flawless("profile-two").await;

    // One is taken out again; the profile is that of the other one.
    phone.tap("profile-run-line").await;
    phone.reads("profile-run-1", "Readings").await;
    phone.flawless("profile-run-1").await;
    phone.tap("not-after-all").await;
    phone.reads("profile", "Heater profile from 1 profile run").await;
    phone.reads("profile", "Rejected").await;
    phone.off().await;
}
