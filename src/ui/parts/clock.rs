//! The time left, to be read from a metre away.

use leptos::prelude::*;

/// What the digits say.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum ClockState {
    /// Time is left.
    #[default]
    Left,
    /// The end is close: a lit line under the digits, beside the cue.
    Soon,
    /// The time is over; the words say by how much the digits count.
    Over,
}

/// Large digits with what they mean beside them. Not read out by itself: cues and notices are.
#[component]
pub fn clock(
    /// The digits, as "1:42".
    #[prop(into)]
    time: Signal<String>,
    /// The phase with what the digits are: "Soak, time left", "Soak, over by".
    #[prop(into)]
    words: Signal<String>,
    /// What comes next.
    #[prop(optional, into)]
    then: Signal<String>,
    /// Left, soon or over.
    #[prop(optional, into)]
    state: Signal<ClockState>,
    /// What stands below the words: the place of the heater's temperature.
    #[prop(optional)]
    children: Option<Children>,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    view! {
        <div
            class="clock"
            class:soon=move || state.get() == ClockState::Soon
            class:over=move || state.get() == ClockState::Over
            role="timer"
            aria-live="off"
            data-testid=testid
        >
            <span class="clock-time">{time}</span>
            <span class="clock-words">
                <b>{words}</b>
                <span class="clock-then">{then}</span>
                {children.map(|live| live())}
            </span>
        </div>
    }
}
