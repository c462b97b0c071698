//! The mark: half the screen, one act. It counts when the finger comes down, not when it lifts: a gloved thumb slides, and a
//! trip happens at an instant.

use super::{Icon, Shape};
use leptos::wasm_bindgen::{JsCast, closure::Closure};
use leptos::{ev, prelude::*};
use web_sys::Event;

/// What the lamp on the mark shows.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum MarkState {
    /// Ready.
    #[default]
    Idle,
    /// Pressed and not yet confirmed.
    Recording,
    /// Not recorded: the words say what to do.
    Lost,
}

impl MarkState {
    const fn shape(self, idle: Shape) -> Shape {
        match self {
            Self::Idle => idle,
            Self::Recording => Shape::Wait,
            Self::Lost => Shape::Alarm,
        }
    }
}

/// The one huge key. `on_press` gets the event's own time (ms since the page's start), which is the time of the mark.
#[component]
pub fn mark(
    /// What a press records, as an order: "Mark trip 2".
    #[prop(into)]
    label: Signal<String>,
    /// Whose it is, and what to look for.
    #[prop(into)]
    sub: Signal<String>,
    /// What the lamp shows while it waits: a drawing for each kind of order.
    #[prop(optional, into)]
    shape: Signal<Shape>,
    /// The kind of order, for its colour.
    #[prop(optional, into)]
    kind: Signal<&'static str>,
    /// Whether what it records is not to be expected now.
    #[prop(optional, into)]
    pale: Signal<bool>,
    /// Whether it takes no press: it has just changed its meaning.
    #[prop(optional, into)]
    dead: Signal<bool>,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
    /// What the lamp shows.
    #[prop(optional, into)]
    state: Signal<MarkState>,
    /// Called with the event's time stamp, in ms.
    #[prop(into)]
    on_press: Callback<f64>,
) -> impl IntoView {
    let down = RwSignal::new(false);
    let press = move |ev: ev::PointerEvent| {
        if ev.button() == 0 && ev.is_primary() {
            down.set(true);
            swallow_click();
            on_press.run(ev.time_stamp());
        }
    };
    // What comes through to here is the click of a keyboard, a screen reader or a script.
    let click = move |ev: ev::MouseEvent| on_press.run(ev.time_stamp());
    let lift = move |_| down.set(false);
    view! {
        <button
            type="button"
            // A class that changed as a whole would take the others along.
            class="mark"
            class:recording=move || state.get() == MarkState::Recording
            class:lost=move || state.get() == MarkState::Lost
            class:down=down
            class:pale=pale
            class:dead=dead
            aria-disabled=move || dead.get().then_some("true")
            data-kind=kind
            data-testid=testid.unwrap_or_else(|| "mark".to_string())
            on:pointerdown=press
            on:pointerup=lift
            on:pointercancel=lift
            on:pointerleave=lift
            on:click=click
            on:keydown=move |ev| if ev.repeat() { ev.prevent_default() }
            on:contextmenu=move |ev| ev.prevent_default()
        >
            <span class="lamp-ring">{move || view! { <Icon of=state.get().shape(shape.get()) /> }}</span>
            <span class="mark-label">{label}</span>
            <span class="mark-sub">{sub}</span>
        </button>
    }
}

/// A finger brings a click after it, which lands on whatever is under it by then: the press may have put another screen
/// there, with its own mark or digit keys. So the click is taken away, wherever it lands, until a finger comes down again.
fn swallow_click() {
    let click = Closure::<dyn Fn(Event)>::new(|event: Event| {
        // A click that no pointer made has no count; it is somebody else's.
        if event.dyn_ref::<ev::MouseEvent>().is_none_or(|click| click.detail() > 0) {
            event.stop_propagation();
            event.prevent_default();
        }
    });
    // Adding and removing a listener fails for no event name.
    drop(window().add_event_listener_with_callback_and_bool("click", click.as_ref().unchecked_ref(), true));
    let forget = Closure::once_into_js(move |_: Event| {
        drop(window().remove_event_listener_with_callback_and_bool("click", click.as_ref().unchecked_ref(), true));
    });
    let once = web_sys::AddEventListenerOptions::new();
    once.set_capture(true);
    once.set_once(true);
    let forget = forget.unchecked_ref();
    drop(window().add_event_listener_with_callback_and_add_event_listener_options("pointerdown", forget, &once));
}
