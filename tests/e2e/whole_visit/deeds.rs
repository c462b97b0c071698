//! What is done in a visit, a decision each, with the types of what it writes.

use serde_json::{Value, json};

use super::site::BELT;
use crate::phone::Phone;

/// One decision. Done anew after it was cut short, it is done once.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Deed {
    /// The visit is opened.
    Open,
    /// All that is due is put on its list.
    Plan,
    /// The supervising station has it on test for so many minutes.
    Station(i64),
    /// The panel as found is normal.
    PanelFound,
    /// The belt is secured.
    Secure,
    /// Zone 1 is impaired.
    Impair,
    /// Heat on at this position with this heater.
    HeatOn(&'static str, &'static str),
    /// A trip is marked.
    Trip(&'static str),
    /// The panel shows this of the trip.
    Panel(&'static str, &'static str),
    /// The restore is marked: with it the test is over.
    Restore(&'static str),
    /// The same, while nobody has said yet what the panel shows.
    RestoreFirst(&'static str),
    /// The heater is seen at its top temperature.
    AtTop(&'static str),
    /// No trip.
    NoTrip(&'static str),
    /// Which point the panel showed instead.
    Showed(&'static str, &'static str),
    /// Two addresses are swapped.
    Swapped,
    /// What the first alarm of a circuit did.
    Prove,
    /// Painted, by eye.
    Painted(&'static str),
    /// Not tested, and why.
    NotTested(&'static str, &'static str),
    /// A new detector.
    Replace(&'static str),
    /// A break: belt and station are put back, the rest stays off by the owner's word.
    Break,
    /// Work goes on.
    EndBreak,
    /// The belt is off once more, by its own tick.
    BeltAgain,
    /// Another phone is given the visit.
    Invite,
    /// The restore of a test, from what closing waits for.
    RestoreSaid(&'static str),
    /// The station knows that testing is over.
    StationOver,
    /// The belt runs again.
    BeltBack,
    /// Zone 1 is left impaired by name.
    LeaveOff,
    /// The panel as left is normal.
    PanelLeft,
    /// The visit is closed.
    Close,
    /// It is opened once more, with a reason.
    Reopen,
    /// The heater is lowered while the detector has yet to restore.
    Lowered(&'static str),
    /// On to the next detector: the restore is looked at later.
    Next(&'static str),
    /// At the panel: the point of this position came in.
    CameIn(&'static str),
    /// What came in at the panel is taken for a trip, which ends its test.
    Take,
}

impl Deed {
    /// The types of the entries that it makes, in their order.
    pub(crate) fn writes(self) -> &'static [&'static str] {
        match self {
            Deed::Open => &["visit_opened", "visit_plan"],
            Deed::Plan => &["positions_planned", "visit_plan"],
            Deed::Station(_) | Deed::StationOver => &["notified"],
            Deed::PanelFound | Deed::PanelLeft => &["panel_state"],
            Deed::Secure | Deed::BeltAgain => &["secured"],
            Deed::Impair => &["impaired"],
            Deed::HeatOn(..) => &["test_started", "mark"],
            Deed::Trip(_) | Deed::AtTop(_) | Deed::RestoreFirst(_) | Deed::Lowered(_) => &["mark"],
            Deed::Panel(_, "right") | Deed::Showed(..) => &["panel_point"],
            Deed::Panel(..) => &["panel_point", "item_found"],
            Deed::Restore(_) => &["mark", "test_ended"],
            Deed::NoTrip(_) => &["test_ended", "item_found"],
            Deed::Swapped => &["item_found"],
            Deed::Prove => &["circuit_proved"],
            Deed::Painted(_) => &["visual_check", "item_found"],
            Deed::NotTested(..) => &["not_tested"],
            Deed::Replace(_) => &["replaced"],
            Deed::Break => &["break_started", "restored", "notified"],
            Deed::EndBreak => &["break_ended"],
            Deed::Invite => &["phone_invited"],
            Deed::RestoreSaid(_) => &["restore_said"],
            Deed::BeltBack => &["restored"],
            Deed::LeaveOff => &["left_off"],
            Deed::Close => &["visit_closed"],
            Deed::Reopen => &["amended", "visit_reopened"],
            Deed::Next(_) => &["test_ended"],
            Deed::CameIn(_) => &["panel_saw", "panel_saw"],
            Deed::Take => &["panel_saw_accepted", "test_ended"],
        }
    }

    /// Does it, from wherever one is.
    pub(crate) async fn by(self, phone: &Phone) {
        match self {
            Deed::Open => phone.tap("open-visit").await,
            Deed::Plan => {
                to_visit(phone).await;
                phone.unfold("before-up").await;
                phone.tap("to-due").await;
                phone.tap("plan-due").await;
            }
            Deed::Station(minutes) => {
                to_visit(phone).await;
                phone.unfold("before-up").await;
                phone.tap("notify-before-supervising_station").await;
                let until = moment(phone, minutes).await;
                phone.fill("test-until", &until).await;
                phone.tap("save").await;
            }
            Deed::PanelFound => {
                to_visit(phone).await;
                phone.unfold("before-up").await;
                phone.tap("panel-found").await;
                phone.tap("field-panel-normal-yes").await;
                phone.tap("save").await;
            }
            Deed::Secure => {
                to_visit(phone).await;
                phone.unfold("secure").await;
                phone.tap("secure-packing-belt-stop").await;
                phone.fill("lock", "7").await;
                phone.tap("save").await;
            }
            Deed::Impair => {
                to_visit(phone).await;
                phone.unfold("before-up").await;
                phone.tap("take-out").await;
                phone.tap("field-impaired-what-circuit").await;
                phone.choose("field-circuit", "Zone 1").await;
                phone.tap("save").await;
            }
            Deed::HeatOn(tag, heater) => {
                to_visit(phone).await;
                phone.tap(&format!("position-{tag}")).await;
                pick(phone, "heater", heater).await;
                // Said once on a phone.
                if phone.sees("understood").await {
                    phone.tap("understood").await;
                }
                phone.mark("Heat on").await;
            }
            Deed::Trip(tag) => mark(phone, tag, "Mark trip").await,
            Deed::Restore(tag) | Deed::RestoreFirst(tag) => mark(phone, tag, "Mark restore").await,
            Deed::AtTop(tag) => {
                to_test(phone, tag).await;
                phone.tap("mark-at_top").await;
            }
            Deed::NoTrip(tag) => mark(phone, tag, "No trip").await,
            Deed::Panel(tag, point) => {
                to_test(phone, tag).await;
                phone.tap(&format!("panel-{point}")).await;
            }
            Deed::Showed(tag, other) => {
                to_visit(phone).await;
                phone.tap(&format!("showed-{tag}")).await;
                pick(phone, "field-showed", other).await;
                phone.tap("save").await;
            }
            Deed::Swapped => {
                to_visit(phone).await;
                phone.tap_on("[data-testid=swapped] button, button[data-testid=swapped]").await;
            }
            Deed::Prove => {
                to_visit(phone).await;
                phone.tap("prove").await;
                for answer in ["field-outputs-stayed", "field-station-on-test", "field-point-right"] {
                    phone.tap(answer).await;
                }
                phone.tap("save").await;
            }
            Deed::Painted(tag) => {
                to_visit(phone).await;
                phone.tap(&format!("position-{tag}")).await;
                phone.tap("something-wrong").await;
                pick(phone, "field-found", "Painted").await;
                phone.tap("save").await;
            }
            Deed::NotTested(tag, why) => {
                to_visit(phone).await;
                phone.tap(&format!("position-{tag}")).await;
                phone.tap("not-tested").await;
                phone.tap(&format!("field-not-tested-why-{why}")).await;
                phone.tap("save").await;
            }
            Deed::Replace(tag) => {
                to_visit(phone).await;
                phone.tap(&format!("about-{tag}")).await;
                phone.tap("put-in").await;
                phone.tap("save").await;
            }
            Deed::Break => {
                to_off(phone).await;
                phone.tap("break").await;
                pick(phone, "field-put-back", BELT).await;
                pick(phone, "field-put-back", "Station on test").await;
                phone.fill("left-by-name", "O. Owner").await;
                phone.tap("save").await;
            }
            Deed::EndBreak => {
                to_off(phone).await;
                phone.tap("end-break").await;
            }
            Deed::BeltAgain => {
                to_off(phone).await;
                phone.tap("off-again").await;
            }
            Deed::Invite => {
                to_visit(phone).await;
                phone.unfold("before-up").await;
                phone.tap("invite").await;
                phone.fill("invited-name", "Partner's phone").await;
                phone.tap("save").await;
            }
            Deed::RestoreSaid(tag) => {
                to_closing(phone).await;
                in_row(phone, tag, "put-right").await;
                phone.tap("field-restored-yes").await;
                phone.tap("save").await;
            }
            Deed::StationOver => {
                to_closing(phone).await;
                in_row(phone, "Station on test", "put-right").await;
                phone.tap("save").await;
            }
            Deed::BeltBack => {
                to_closing(phone).await;
                in_row(phone, BELT, "put-right").await;
                phone.tap("save").await;
            }
            Deed::LeaveOff => {
                to_closing(phone).await;
                in_row(phone, "Zone 1 impaired", "leave-off").await;
                phone.fill("accepted-name", "O. Owner").await;
                let until = moment(phone, 12 * 60).await;
                phone.fill("left-until", &until).await;
                phone.fill("left-notified-name", "Fire marshal").await;
                phone.tap("save").await;
            }
            Deed::PanelLeft => {
                to_closing(phone).await;
                phone.tap("panel-left").await;
                phone.tap("field-panel-normal-yes").await;
                phone.tap("save").await;
            }
            Deed::Close => {
                to_closing(phone).await;
                phone.tap("close-visit").await;
            }
            Deed::Reopen => {
                to_visit(phone).await;
                phone.tap("reopen").await;
                phone.fill("why", "The report left by the wrong gate").await;
                phone.tap("save").await;
            }
            Deed::Lowered(tag) => mark(phone, tag, "Heater lowered").await,
            Deed::Next(tag) => mark(phone, tag, "Next detector").await,
            Deed::CameIn(tag) => {
                to_visit(phone).await;
                phone.tap("to-panel").await;
                phone.tap("came-in").await;
                phone.tap(&format!("point-{tag}")).await;
            }
            Deed::Take => {
                to_visit(phone).await;
                phone.tap("to-panel").await;
                phone.tap("take").await;
            }
        }
    }
}

/// Does one after another, each recorded before the next.
pub(crate) async fn all(phone: &Phone, deeds: &[Deed]) {
    for deed in deeds {
        let mut expected = written(phone).await;
        expected.extend(deed.writes().iter().map(ToString::to_string));
        deed.by(phone).await;
        until_written(phone, *deed, &expected).await;
    }
}

/// Waits until the phone has written exactly this to the visit.
pub(crate) async fn until_written(phone: &Phone, deed: Deed, expected: &[String]) {
    let mut found = Vec::new();
    for _ in 0..600 {
        found = written(phone).await;
        if found == expected {
            return;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    panic!(
        "{deed:?} wrote {:?}\n{}",
        &found[found.len().min(expected.len() - deed.writes().len())..],
        phone.page().await
    );
}

/// The types of what this phone wrote to its visit, in their order, but that clocks parted, which a phone that is killed may note, and that
/// somebody takes part, which comes with the first thing they do.
pub(crate) async fn written(phone: &Phone) -> Vec<String> {
    let own = phone.ask("return localStorage.getItem('soakbook.s/phone')").await;
    let entries = phone.entries().await;
    let entries: Vec<Value> =
        entries.iter().map(|entry| serde_json::from_str(entry.as_str().unwrap()).unwrap()).collect();
    let Some(opened) = entries.iter().find(|entry| entry["type"] == "visit_opened") else { return Vec::new() };
    let own = |entry: &&Value| entry["scope"] == opened["scope"] && entry["phone"] == own;
    let silent = ["clock_gap", "visit_joined", "attended"];
    let own = entries.iter().filter(own).filter(|entry| !silent.iter().any(|of| entry["type"] == *of));
    own.map(|entry| entry["type"].as_str().unwrap().to_owned()).collect()
}

/// Day and time so many minutes from now, as a form takes them.
async fn moment(phone: &Phone, minutes: i64) -> String {
    let text = phone
        .ask(&format!(
            "const at = new Date(Date.now() + {minutes} * 60000);
             return new Date(at.getTime() - at.getTimezoneOffset() * 60000).toISOString().slice(0, 16)"
        ))
        .await;
    text.as_str().unwrap().to_owned()
}

/// Leads to the list, out of a test too. A phone that was killed may have forgotten which visit it showed.
pub(crate) async fn to_visit(phone: &Phone) {
    phone
        .until(
            "['test', 'tab-visit'].some((name) => document.querySelector(`[data-testid=${name}]`)?.checkVisibility())",
        )
        .await;
    if phone.sees("leave-visit").await {
        return;
    }
    phone.tap(if phone.sees("test").await { "back" } else { "tab-visit" }).await;
    phone
        .until("document.querySelector('[data-testid=leave-visit], [data-testid=other-visit]')?.checkVisibility()")
        .await;
    // While visits are still read the list is drawn anew, and a tap may meet a line that is just going.
    phone
        .until(
            "(document.querySelector('[data-testid=leave-visit]')
              ?? document.querySelector('[data-testid=other-visit]')?.click(),
              document.querySelector('[data-testid=leave-visit]')?.checkVisibility())",
        )
        .await;
}

/// Leads to the test that goes on at a position.
pub(crate) async fn to_test(phone: &Phone, tag: &str) {
    let shown = format!("document.querySelector('[data-testid=test] h1')?.textContent.startsWith({})", json!(tag));
    if phone.ask(&format!("return Boolean({shown})")).await == true {
        return;
    }
    to_visit(phone).await;
    phone.tap(&format!("position-{tag}")).await;
    phone.until(&shown).await;
}

async fn mark(phone: &Phone, tag: &str, order: &str) {
    to_test(phone, tag).await;
    phone.mark(order).await;
}

async fn to_off(phone: &Phone) {
    to_visit(phone).await;
    phone.tap("still-off").await;
}

pub(crate) async fn to_closing(phone: &Phone) {
    to_visit(phone).await;
    phone.tap("to-closing").await;
}

/// Chooses an answer unless it is chosen already: of several another tap would take it out.
pub(crate) async fn pick(phone: &Phone, question: &str, words: &str) {
    let found = format!(
        "[...document.querySelectorAll('input[name={question}]')].find((e) => e.closest('label').textContent.replace(/[\\u00a0\\u202f]/g, ' ').includes({}))",
        json!(words)
    );
    phone.until(&found).await;
    if phone.ask(&format!("return {found}.checked")).await != true {
        phone.choose(question, words).await;
    }
}

/// Taps a key below the line that says this.
async fn in_row(phone: &Phone, words: &str, key: &str) {
    let line = format!("[...document.querySelectorAll('li')].find((e) => e.textContent.includes({}))", json!(words));
    let found = format!("{line}?.nextElementSibling?.querySelector('[data-testid={key}]')");
    phone.until(&found).await;
    let named = format!("document.querySelector('#in-row')?.removeAttribute('id'); const e = {found}; e.id = 'in-row'");
    phone.ask(&named).await;
    phone.tap_on("#in-row").await;
}
