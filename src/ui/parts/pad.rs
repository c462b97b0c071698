//! A pad to sign on with a finger or a pen. Each stroke is handed on when it ends, however it ends, so that a half-drawn signature is kept
//! with the rest of a half-filled form.

use super::field::framed;
use super::{Key, Shape};
use crate::encoding::strokes::{HIGH, Pen, Strokes, WIDE};
use crate::view::forms::sign::{CLEAR, PAD_FULL};
use leptos::wasm_bindgen::JsCast;
use leptos::{ev, prelude::*};

/// A label, the pad, a key that clears it, and the sentences below.
#[component]
pub fn pad(
    /// Ties label, help and error to the pad, and names it for tests; unique on the page.
    id: &'static str,
    /// What is asked.
    #[prop(into)]
    label: String,
    /// The text of what was drawn.
    value: Signal<String>,
    /// What helps to answer; empty for none.
    #[prop(into)]
    help: Signal<String>,
    /// What is wrong; empty for nothing.
    #[prop(into)]
    error: Signal<String>,
    /// Called with the text of all that is drawn at the end of each stroke, and with none when it is cleared.
    #[prop(into)]
    on_draw: Callback<String>,
) -> impl IntoView {
    let of = move || Strokes::read(&value.get()).unwrap_or_default();
    let pen = StoredValue::new(Pen::default());
    // The stroke under the finger, alone: what was drawn before is not written anew with each move.
    let (stroke, full) = (RwSignal::new(String::new()), RwSignal::new(false));
    let down = move |event: ev::PointerEvent| {
        let pointer = event.pointer_id();
        if event.button() != 0 || !pen.with_value(|pen| pen.is_free_for(pointer)) {
            return;
        }
        event.prevent_default();
        let Some((pad, x, y)) = place(&event) else { return };
        // Without capture a stroke ends at the edge of the pad.
        drop(pad.set_pointer_capture(pointer));
        let before = untrack(of);
        pen.update_value(|pen| {
            full.set(!pen.down(pointer, before, x, y));
            if let Some(strokes) = pen.drawing(pointer).filter(|_| !full.get_untracked()) {
                stroke.set(strokes.last());
            }
        });
    };
    let go = move |event: ev::PointerEvent| {
        let Some((_, x, y)) = place(&event) else { return };
        pen.update_value(|pen| {
            if let Some(strokes) = pen.drawing(event.pointer_id()) {
                if strokes.go(x, y) {
                    stroke.set(strokes.last());
                } else if strokes.is_full() {
                    full.set(true);
                }
            }
        });
    };
    // A stroke that the phone takes away counts as far as it went.
    let end = move |event: ev::PointerEvent| {
        if let Some(strokes) = pen.try_update_value(|pen| pen.up(event.pointer_id())).flatten() {
            on_draw.run(strokes.text());
            stroke.set(String::new());
        }
    };
    let clear = move |()| {
        pen.set_value(Pen::default());
        stroke.set(String::new());
        full.set(false);
        on_draw.run(String::new());
    };
    let help = Signal::derive(move || if full.get() { PAD_FULL.to_string() } else { help.get() });
    let alternative = label.clone();
    let lines = view! {
        <div
            id=id
            class="pad"
            role="img"
            tabindex="-1"
            aria-label=alternative
            aria-describedby=format!("{id}-help {id}-error")
            data-testid=id
            on:pointerdown=down
            on:pointermove=go
            on:pointerup=end
            on:pointercancel=end
            on:lostpointercapture=end
        >
            <svg class="strokes" viewBox=format!("0 0 {WIDE} {HIGH}") aria-hidden="true">
                <path class="pad-line" d=format!("M40 {}H{}", HIGH / 5 * 4, WIDE - 40) />
                <path d=move || of().path() />
                <path d=stroke />
            </svg>
        </div>
        <div class="keys">
            <Key label=CLEAR icon=Shape::Erase on_press=clear testid=format!("{id}-clear") />
        </div>
    };
    framed(id, label, help, error, lines.into_any())
}

/// The pad, and where on it a finger is, as shares of its sides.
fn place(event: &ev::PointerEvent) -> Option<(web_sys::Element, f64, f64)> {
    let pad = event.current_target()?.dyn_into::<web_sys::Element>().ok()?;
    let around = pad.get_bounding_client_rect();
    let (x, y) = (f64::from(event.client_x()) - around.left(), f64::from(event.client_y()) - around.top());
    Some((pad, x / around.width(), y / around.height()))
}
