//! The mark: half the screen, one act. It counts when the finger comes down, not when it lifts: a gloved thumb slides, and a
//! trip happens at an instant.

use super::{Icon, Shape};
use leptos::{ev, prelude::*};

/// What the lamp on the mark shows.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum MarkState {
    /// Ready.
    #[default]
    Idle,
    /// Pressed and not yet confirmed.
    Recording,
    /// Confirmed.
    Recorded,
    /// Not recorded: the words say what to do.
    Lost,
}

impl MarkState {
    const fn shape(self) -> Shape {
        match self {
            Self::Idle => Shape::Lamp,
            Self::Recording => Shape::Wait,
            Self::Recorded => Shape::Tick,
            Self::Lost => Shape::Alarm,
        }
    }

    const fn class(self) -> &'static str {
        match self {
            Self::Idle => "mark",
            Self::Recording => "mark recording",
            Self::Recorded => "mark recorded",
            Self::Lost => "mark lost",
        }
    }
}

/// The one huge key. `on_press` gets the event's own time (ms since the page's start), which is the time of the mark.
#[component]
pub fn mark(
    /// What a press records: "Tripped".
    #[prop(into)]
    label: Signal<String>,
    /// The state in words, or what to look for.
    #[prop(into)]
    sub: Signal<String>,
    /// What the lamp shows.
    #[prop(optional, into)]
    state: Signal<MarkState>,
    /// Called with the event's time stamp, in ms.
    #[prop(into)]
    on_press: Callback<f64>,
) -> impl IntoView {
    let down = RwSignal::new(false);
    // A touch brings a click after it; only clicks without a touch (keyboard, screen reader, script) are presses.
    let touched = StoredValue::new(false);
    let press = move |ev: ev::PointerEvent| {
        if ev.button() == 0 && ev.is_primary() {
            down.set(true);
            touched.set_value(true);
            on_press.run(ev.time_stamp());
        }
    };
    let click = move |ev: ev::MouseEvent| {
        if ev.detail() == 0 || !touched.get_value() {
            on_press.run(ev.time_stamp());
        }
        touched.set_value(false);
    };
    let lift = move |_| down.set(false);
    view! {
        <button
            type="button"
            class=move || state.get().class()
            class:down=down
            data-testid="mark"
            on:pointerdown=press
            on:pointerup=lift
            on:pointercancel=lift
            on:pointerleave=lift
            on:click=click
            on:keydown=move |ev| if ev.repeat() { ev.prevent_default() }
            on:contextmenu=move |ev| ev.prevent_default()
        >
            <span class="lamp-ring"><Icon of=Signal::derive(move || state.get().shape()) /></span>
            <span class="mark-label">{label}</span>
            <span class="mark-sub">{sub}</span>
        </button>
    }
}
