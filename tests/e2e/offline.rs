//! The app without its host, and new versions of it.

use std::fs;

use serde_json::json;
use soakbook::desk::split;

use crate::host::{Host, dist, folder, version};
use crate::phone::Phone;
use crate::setting_up::{BARE, demo, start_demo, trip};

const STARTED: &str = "document.getElementById('failed').hidden && document.querySelector('main:not(.static-page)')";

/// Waits for the worker that is just being installed.
const INSTALLING: &str = "let worker;
    while (!(worker = (await navigator.serviceWorker.getRegistration())?.installing))
        await new Promise((next) => setTimeout(next, 20));";

/// Keeps how the first install ends, from its very beginning: it may be over before the app stands.
const HOW_IT_ENDS: &str = "const kept = ServiceWorkerContainer.prototype.register;
    ServiceWorkerContainer.prototype.register = async function (...given) {
        const { installing } = await kept.apply(this, given);
        globalThis.__end = new Promise((end) => installing.addEventListener('statechange', () => end(installing.state)));
    };";

/// Asks for a new version and says how that ended.
const FETCH_UPDATE: &str = "const r = await navigator.serviceWorker.ready; await r.update();
    const w = r.installing; if (!w) return r.waiting ? 'waiting' : 'nothing new';
    return await new Promise((done) => w.addEventListener('statechange', () => done(w.state)));";

/// Asks the version that waits to take over.
const ASK_UPDATE: &str = "const { waiting } = await navigator.serviceWorker.ready; if (!waiting) return 'none waits';
    const { port1, port2 } = new MessageChannel();
    return await new Promise((done) => { port1.onmessage = (e) => done(e.data);
      waiting.postMessage({ ask: 'update' }, [port2]); });";

const TITLE_AFTER_RELOAD: &str = "return (await (await fetch('./')).text()).match(/<title>(.*?)<.title>/)[1];";

#[tokio::test]
async fn host_gone_the_app_still_starts() {
    let mut host = Host::start(&dist());
    let profile = folder("gone-profile");
    let phone = Phone::on(&profile).await;
    phone.install(&host.address()).await;
    phone.until(STARTED).await;
    // Chromium's own judgement of the manifest and icons: nothing stands against installing the app.
    let errors = phone.devtools("Page.getInstallabilityErrors", json!({})).await;
    assert_eq!(errors["installabilityErrors"], json!([]));

    host.stop();
    let outside = phone.ask("return (await fetch('sw.js', { cache: 'no-store' })).status").await;
    assert!(outside.as_str().is_some_and(|text| text.starts_with("error")), "the host is not gone: {outside}");
    phone.driver.refresh().await.unwrap();
    phone.until(STARTED).await;
    // Switched off and on, and opened by an address with a query and a fragment, as a home screen may do.
    phone.off().await;
    let phone = Phone::on(&profile).await;
    phone.open(&format!("{}?from=home#x", host.address())).await;
    phone.until(STARTED).await;
    phone.open(&format!("{}index.html", host.address())).await;
    phone.until(STARTED).await;
    // The part that comes after the first screen is on the phone, too.
    phone.tap("tab-devices").await;
    phone.see("register").await;
    phone.off().await;
}

#[tokio::test]
async fn a_test_is_run_before_the_rest_of_the_app_has_come() {
    let mut host = Host::start(&dist());
    let phone = demo(&host, &folder("rest-missing-profile")).await;
    // As on a first visit: nothing of the app is on the phone.
    phone
        .ask(
            "for (const worker of await navigator.serviceWorker.getRegistrations()) await worker.unregister();
             for (const name of await caches.keys()) await caches.delete(name);",
        )
        .await;
    let answer = host.withhold(&dist());
    phone.driver.refresh().await.unwrap();
    phone.see("before-up").await;
    phone.tap("tab-devices").await;
    // It hangs, and then it fails; both are said, and neither is the end of it.
    phone.reads("rest-missing", "It needs a network connection once").await;
    assert_eq!(phone.accessibility_faults().await, Vec::<String>::new());
    phone.tap("tab-visit").await;
    start_demo(&phone, BARE).await;
    trip(&phone, 1).await;
    phone.recorded("Trip 1").await;
    answer.send(Some(false)).unwrap();
    trip(&phone, 2).await;
    phone.recorded("Trip 2").await;
    answer.send(Some(true)).unwrap();
    phone.tap("back").await;
    phone.tap("tab-devices").await;
    phone.see("register").await;
    phone.off().await;
}

#[tokio::test]
async fn host_gone_in_a_test_the_test_goes_on() {
    let mut host = Host::start(&dist());
    let phone = demo(&host, &folder("gone-in-a-test-profile")).await;
    start_demo(&phone, BARE).await;
    trip(&phone, 1).await;
    phone.recorded("Trip 1").await;
    host.stop();
    phone.driver.refresh().await.unwrap();
    phone.see("test").await;
    phone.tripped(1).await;
    phone.reads("clock", "Heating").await;
    // 250 s after heat on: 37 s into the hold that follows 213 s of heat-up.
    phone.test_to(250).await;
    phone.reads("clock", "Soak").await;
    trip(&phone, 2).await;
    phone.recorded("Trip 2").await;
    phone.off().await;
}

#[tokio::test]
async fn new_version_waits_for_the_end_of_every_test() {
    let mut host = Host::start(&dist());
    let phone = Phone::on(&folder("update-profile")).await;
    phone.install(&host.address()).await;
    host.change(&version("update-next", "Soakbook next"));

    phone
        .ask(
            "await new Promise((held) => navigator.locks.request('soakbook-test-active', () => { held();
             return new Promise((end) => { window.endRun = end; }); }));",
        )
        .await;
    assert_eq!(phone.ask(FETCH_UPDATE).await, "installed");
    let first = phone.driver.window().await.unwrap();
    let second = phone.driver.new_tab().await.unwrap();
    phone.driver.switch_to_window(second).await.unwrap();
    phone.install(&host.address()).await;
    assert_eq!(phone.ask(ASK_UPDATE).await, "busy");
    assert_eq!(phone.ask(TITLE_AFTER_RELOAD).await, "Soakbook");

    phone.driver.switch_to_window(first).await.unwrap();
    phone.ask("endRun(); await navigator.locks.request('soakbook-test-active', () => {});").await;
    assert_eq!(phone.ask(ASK_UPDATE).await, "ok");
    // The old worker is activated too: only when none waits is it the new one.
    phone
        .ask(
            "const all = await navigator.serviceWorker.getRegistration();
             while (all.waiting || all.active?.state !== 'activated') await new Promise((soon) => setTimeout(soon, 50));",
        )
        .await;
    phone.driver.refresh().await.unwrap();
    phone.until("document.title === 'Soakbook next'").await;
    phone.until(STARTED).await;
    assert_eq!(phone.ask("return (await caches.keys()).length").await, 1, "the old version is still kept");
    phone.off().await;
}

#[tokio::test]
async fn broken_version_is_refused_whole_and_the_old_one_stays() {
    let mut host = Host::start(&dist());
    let phone = Phone::on(&folder("broken-profile")).await;
    phone.install(&host.address()).await;
    let kept = phone.ask("return await caches.keys()").await;

    let missing = version("broken-missing", "Soakbook missing");
    fs::remove_file(missing.join("boot.js")).unwrap();
    let altered = version("broken-altered", "Soakbook altered");
    let mut boot = fs::read(altered.join("boot.js")).unwrap();
    boot.push(b'\n');
    fs::write(altered.join("boot.js"), boot).unwrap();
    let half = version("broken-half", "Soakbook half");
    let mut later = fs::read_dir(&half).unwrap().map(|entry| entry.unwrap().path());
    fs::remove_file(later.find(|path| split::is_later(&path.to_string_lossy())).unwrap()).unwrap();
    for broken in [missing, altered, half] {
        host.change(&broken);
        assert_eq!(phone.ask(FETCH_UPDATE).await, "redundant", "{}", broken.display());
        assert_eq!(phone.ask("return await caches.keys()").await, kept, "{}", broken.display());
    }
    host.captivate();
    let captive = phone.ask(FETCH_UPDATE).await;
    assert!(captive.as_str().is_some_and(|text| text.starts_with("error: SecurityError")), "{captive}");

    phone.driver.refresh().await.unwrap();
    phone.until(STARTED).await;
    assert_eq!(phone.ask(TITLE_AFTER_RELOAD).await, "Soakbook");
    phone.off().await;
}

#[tokio::test]
async fn an_install_cut_off_midway_keeps_nothing_and_is_made_up_for() {
    let mut host = Host::start(&dist());
    host.cut_off(&dist(), false);
    let phone = Phone::on(&folder("cut-off-profile")).await;
    phone.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": HOW_IT_ENDS })).await;
    phone.open(&host.address()).await;
    // The page itself has its program; only what was to stay on the phone came to half of it.
    phone.until(STARTED).await;
    phone.until("globalThis.__end").await;
    assert_eq!(phone.ask("return await __end").await, "redundant");
    assert_eq!(phone.ask("return await caches.keys()").await, json!([]), "half an app is kept");
    host.change(&dist());
    phone.install(&host.address()).await;
    host.stop();
    phone.driver.refresh().await.unwrap();
    phone.until(STARTED).await;
    phone.off().await;
}

#[tokio::test]
async fn a_phone_that_dies_while_it_installs_installs_anew() {
    let mut host = Host::start(&dist());
    host.cut_off(&dist(), true);
    let profile = folder("dies-installing-profile");
    let phone = Phone::on(&profile).await;
    phone.open(&host.address()).await;
    phone.until(STARTED).await;
    assert_eq!(phone.ask(&format!("{INSTALLING} return worker.state")).await, "installing");
    phone.kill();
    let phone = Phone::on(&profile).await;
    host.change(&dist());
    phone.install(&host.address()).await;
    host.stop();
    phone.driver.refresh().await.unwrap();
    phone.until(STARTED).await;
    assert_eq!(phone.ask("return (await caches.keys()).length").await, 1);
    phone.off().await;
}

#[tokio::test]
async fn only_listed_files_are_answered_from_the_phone() {
    let mut host = Host::start(&dist());
    let phone = Phone::on(&folder("listed-profile")).await;
    phone.install(&host.address()).await;
    host.captivate();
    let answers = phone
        .ask(
            "const text = async (url, o) => (await (await fetch(url, o)).text()).slice(0, 21);
             return [await text('boot.js'), await text('inbox/x.json'), await text('boot.js', { method: 'PUT', body: 'x' })];",
        )
        .await;
    let boot = fs::read_to_string(dist().join("boot.js")).unwrap();
    assert_eq!(answers, json!([boot[..21], "<title>Log in</title>", "<title>Log in</title>"]));
    phone.off().await;
}
