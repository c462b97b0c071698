//! The strip that says what was just done and takes it back: with one tap, or where much goes with it by a hold. It stays: nothing that
//! can be missed vanishes.

use super::{Icon, Key, Shape, Show};
use leptos::prelude::*;
use std::time::Duration;

/// How long a hold takes.
const HOLD: Duration = Duration::from_millis(800);

/// What was done, and the key that takes it back.
#[component]
pub fn undo(
    /// What was done: "Trip 3 recorded, 14:32:07".
    #[prop(into)]
    words: Signal<String>,
    /// The sign before it.
    #[prop(optional, into)]
    shape: Signal<Shape>,
    /// The word on the key.
    act: &'static str,
    /// The word on the key where it has to be held; empty where a tap is enough.
    #[prop(optional, into)]
    hold: Signal<String>,
    /// Called when it is pressed.
    #[prop(into)]
    on_undo: Callback<()>,
) -> impl IntoView {
    let holds = crate::ui::memo::memo(move || hold.with(|word| !word.is_empty()));
    view! {
        <div class="undo">
            <span class="undo-words" role="status">{move || view! { <Icon of=shape.get() /> }} <span>{words}</span></span>
            <Show when=move || !holds.get()>
                <Key label=act on_press=on_undo icon=Shape::Undo testid="undo" />
            </Show>
            <Show when=move || holds.get()>
                <Hold label=hold on_held=on_undo />
            </Show>
        </div>
    }
}

/// A key that acts when it has been held, by finger or keyboard.
#[component]
fn hold(label: Signal<String>, on_held: Callback<()>) -> impl IntoView {
    let held = StoredValue::new(None::<TimeoutHandle>);
    let down = RwSignal::new(false);
    let begin = move || {
        if down.get_untracked() {
            return;
        }
        down.set(true);
        let act = move || {
            down.set(false);
            on_held.run(());
        };
        held.set_value(set_timeout_with_handle(act, HOLD).ok());
    };
    let let_go = move || {
        down.set(false);
        if let Some(handle) = held.try_update_value(Option::take).flatten() {
            handle.clear();
        }
    };
    on_cleanup(let_go);
    let is_press = |key: &str| matches!(key, "Enter" | " ");
    view! {
        <button
            type="button"
            class="key hold"
            class:down=down
            data-testid="undo"
            on:pointerdown=move |_| begin()
            on:pointerup=move |_| let_go()
            on:pointercancel=move |_| let_go()
            on:pointerleave=move |_| let_go()
            on:keydown=move |ev| if is_press(&ev.key()) { begin() }
            on:keyup=move |ev| if is_press(&ev.key()) { let_go() }
            on:contextmenu=move |ev| ev.prevent_default()
        >
            <Icon of=Shape::Undo />
            <span>{label}</span>
        </button>
    }
}
