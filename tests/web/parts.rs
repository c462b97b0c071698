//! Each part mounts, says what it is told, and calls back.

use leptos::{mount::mount_to, prelude::*};
use soakbook::book::timeline::Stage;
use soakbook::ui::parts::*;
use soakbook::units::TestTime;
use soakbook::view::forms::{Answer, Ask, Entry, Field as Asked, Name, Part, Typed, Wrong, Wrongs};
use soakbook::view::test::Band;
use wasm_bindgen::JsCast;
use wasm_bindgen_test::wasm_bindgen_test;
use web_sys::{Element, HtmlElement};

/// Mounts a view on an element of its own, and hands that over.
async fn stage<V: IntoView + 'static>(view: impl FnOnce() -> V + 'static) -> Element {
    let document = leptos::prelude::document();
    let place = document.create_element("div").unwrap();
    document.body().unwrap().append_child(&place).unwrap();
    mount_to(place.clone().unchecked_into(), view).forget();
    super::sleep(0).await;
    place
}

fn find(place: &Element, selector: &str) -> HtmlElement {
    place.query_selector(selector).unwrap().expect(selector).unchecked_into()
}

async fn click(place: &Element, selector: &str) {
    find(place, selector).click();
    super::sleep(0).await;
}

/// A reading of `taps` on four digits, one of them decimal: what was handed over and what is on show.
async fn typed(taps: &[&str]) -> (Option<i32>, String) {
    let got = RwSignal::new(None);
    let done = Callback::new(move |value: i32| got.set(Some(value)));
    let place = stage(move || {
        view! {
            <Digits label="Reading" unit="°F" max=4 decimals=1 point="." words=("Erase", "OK") minus="below zero" on_done=done />
        }
    })
    .await;
    for tap in taps {
        click(&place, &format!("[data-testid=digit-{tap}]")).await;
    }
    let shown = find(&place, ".digits-show").text_content().unwrap_or_default();
    (got.get_untracked(), shown.chars().filter(|c| !c.is_whitespace()).collect())
}

#[wasm_bindgen_test]
async fn an_untouched_entry_is_never_a_reading() {
    assert_eq!(typed(&[]).await, (None, "‒‒‒.‒°F".into()));
    assert_eq!(typed(&["ok"]).await.0, None);
    assert_eq!(typed(&["5", "erase", "ok"]).await.0, None);
}

#[wasm_bindgen_test]
async fn digits_come_in_from_the_right_of_a_fixed_decimal_sign() {
    assert_eq!(typed(&["1", "9"]).await, (None, "‒‒1.9°F".into()));
    assert_eq!(typed(&["1", "9", "3", "5"]).await.0, Some(1935));
    assert_eq!(typed(&["8", "8", "4", "ok"]).await.0, Some(884));
    assert_eq!(typed(&["minus", "1", "8", "0", "ok"]).await.0, Some(-180));
}

#[wasm_bindgen_test]
async fn the_mark_counts_a_press_once_when_the_finger_comes_down() {
    let count = RwSignal::new(0);
    let state = RwSignal::new(MarkState::Idle);
    let press = Callback::new(move |_: f64| count.update(|n| *n += 1));
    let place = stage(move || view! { <Mark label="Tripped" sub="Watch the lamp" state=state on_press=press /> }).await;
    let mark = find(&place, "[data-testid=mark]");
    assert_eq!(mark.text_content().unwrap(), "TrippedWatch the lamp");

    let finger: js_sys::Object = js_sys::Object::new();
    for (key, value) in
        [("isPrimary", true.into()), ("button", 0.into()), ("detail", 1.into()), ("bubbles", true.into())]
    {
        js_sys::Reflect::set(&finger, &key.into(), &value).unwrap();
    }
    let send = |class: &str, kind: &str| {
        let class: js_sys::Function = js_sys::Reflect::get(&js_sys::global(), &class.into()).unwrap().unchecked_into();
        let event = js_sys::Reflect::construct(&class, &js_sys::Array::of2(&kind.into(), &finger)).unwrap();
        mark.dispatch_event(&event.unchecked_into()).unwrap();
    };
    send("PointerEvent", "pointerdown");
    super::sleep(0).await;
    assert_eq!(count.get_untracked(), 1);
    assert!(mark.class_list().contains("down"));
    send("PointerEvent", "pointerup");
    send("MouseEvent", "click");
    super::sleep(0).await;
    assert_eq!(count.get_untracked(), 1);
    assert!(!mark.class_list().contains("down"));

    mark.click();
    assert_eq!(count.get_untracked(), 2);
    state.set(MarkState::Lost);
    super::sleep(0).await;
    assert!(mark.class_list().contains("lost"));
}

#[wasm_bindgen_test]
async fn an_error_is_tied_to_its_field_and_said() {
    let error = RwSignal::new(String::new());
    let value = RwSignal::new(String::new());
    let place = stage(move || {
        view! { <Field id="f1" label="Rating" value=value on_input=Callback::new(move |text| value.set(text)) unit="°F" error=error /> }
    })
    .await;
    let input = find(&place, "input");
    assert!(!input.has_attribute("aria-invalid"));
    error.set("Rating: 30 °C to 350 °C".into());
    super::sleep(0).await;
    assert_eq!(input.get_attribute("aria-invalid").as_deref(), Some("true"));
    assert!(input.get_attribute("aria-describedby").unwrap().contains("f1-error"));
    assert_eq!(find(&place, "#f1-error").text_content().unwrap(), "Rating: 30 °C to 350 °C");
}

#[wasm_bindgen_test]
async fn a_sheet_opens_over_the_page_and_asks_to_be_closed() {
    let open = RwSignal::new(false);
    let close = Callback::new(move |()| open.set(false));
    let place = stage(move || {
        view! { <Sheet title="Reading" open=open close="Close" on_close=close>"inside"</Sheet> }
    })
    .await;
    assert!(!find(&place, "dialog").has_attribute("open"));
    open.set(true);
    super::sleep(20).await;
    assert!(find(&place, "dialog").matches(":modal").unwrap());
    click(&place, "[data-testid=close]").await;
    super::sleep(20).await;
    assert!(!find(&place, "dialog").has_attribute("open"));
}

#[wasm_bindgen_test]
async fn a_choice_starts_unpicked_and_hands_over_the_value() {
    let value = RwSignal::new(String::new());
    let place = stage(move || {
        let answers = vec![Answer::new("F", "°F"), Answer::new("C", "°C")];
        view! { <Choice id="c1" label="Unit" answers=answers value=value on_pick=Callback::new(move |pick| value.set(pick)) /> }
    })
    .await;
    assert!(place.query_selector("input:checked").unwrap().is_none());
    click(&place, "[data-testid=c1-C]").await;
    assert_eq!(value.get_untracked(), "C");
}

#[wasm_bindgen_test]
async fn a_field_keeps_its_line_and_the_focus_while_others_come_and_go() {
    let field = |key: &'static str| Asked::new(Name { key, id: key, label: key }, Ask::Line(Entry::Text));
    let part = move |keys: &[&'static str]| {
        vec![Part { fields: keys.iter().copied().map(field).collect(), ..Part::default() }]
    };
    let parts = RwSignal::new(part(&["tag", "serial"]));
    let (typed, wrongs) = (RwSignal::new(Typed::default()), RwSignal::new(Wrongs::new()));
    let put = Callback::new(move |(key, text): (&'static str, String)| typed.update(|typed| typed.set(key, &text)));
    let place = stage(move || {
        let questions = Questions { parts: parts.into(), typed: typed.into(), wrongs: wrongs.into(), put };
        view! { <Parts questions /> }
    })
    .await;
    let line = find(&place, "#serial");
    line.focus().unwrap();
    parts.set(part(&["tag", "rating", "serial"]));
    super::sleep(0).await;
    assert!(find(&place, "#rating").is_connected());
    assert!(find(&place, "#serial").is_same_node(Some(&line)));
    assert_eq!(leptos::prelude::document().active_element().unwrap().id(), "serial");
    // What was probably meant is put in with one tap.
    wrongs.set(Wrongs::from([("rating", Wrong { say: "Rating: too low.".into(), offer: Some("90".into()) })]));
    super::sleep(0).await;
    assert_eq!(find(&place, "#rating-error").text_content().unwrap(), "Rating: too low.");
    click(&place, "[data-testid=offer-rating]").await;
    assert_eq!(typed.with_untracked(|typed| typed.get("rating").to_string()), "90");
    parts.set(part(&["tag", "serial"]));
    super::sleep(0).await;
    assert!(place.query_selector("#rating").unwrap().is_none());
    assert!(find(&place, "#serial").is_same_node(Some(&line)));
}

#[wasm_bindgen_test]
async fn states_are_said_in_words_and_roles() {
    let none = Callback::new(|()| ());
    let place = stage(move || {
        let chips = vec![Chip {
            number: "1".into(),
            reading: "193.5".into(),
            word: "not counted".into(),
            counts: Counts::No,
            ..Chip::default()
        }];
        view! {
            <Notice says=Says::Alarm word="Not recorded yet, trying again" words="Keep this page open" />
            <Clock time="0:12" words="Soak, over by" state=ClockState::Over />
            <Tally label="Trips" chips=chips on_pick=Callback::new(|_: usize| ()) />
            <Track label="One trip" spans=vec![Band { stage: Stage::HeatUp, from: TestTime(0), to: TestTime(60_000) }] ticks=vec![] now=TestTime(30_000) />
            <Switch label="Sound" on=true words=("On", "Off") on_turn=Callback::new(|_: bool| ()) />
            <Rows label="Detectors"><Row title="D-1" on_press=none><Badge shape=Shape::Done word="Pass" /></Row></Rows>
        }
    })
    .await;
    for (selector, said) in [
        ("[role=alert]", "Notrecordedyet,tryingagainKeepthispageopen"),
        ("[role=timer][aria-live=off]", "0:12Soak,overby"),
        ("[data-testid=trip-0]", "1193.5notcounted"),
        ("[role=switch][aria-checked=true]", "SoundOn"),
        ("ul[aria-label=Detectors] > li > button", "D-1Pass"),
    ] {
        let text = find(&place, selector).text_content().unwrap();
        assert_eq!(text.split_whitespace().collect::<String>(), said);
    }
    assert_eq!(find(&place, "[role=img]").get_attribute("aria-label").as_deref(), Some("One trip"));
}
