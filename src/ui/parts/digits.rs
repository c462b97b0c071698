//! A reading by large keys. It starts empty, so that an untouched entry is never a reading; digits come in from the right of a
//! decimal sign that the heater's resolution has fixed.

use super::{Icon, Shape};
use crate::ui::memo::memo;
use leptos::prelude::*;

/// Digit keys that hand over an integer in units of the last place: 193.6 with one decimal is 1936.
#[component]
pub fn digits(
    /// What is read, read out with the digits.
    #[prop(into)]
    label: Signal<String>,
    /// The unit behind the digits.
    #[prop(into)]
    unit: Signal<String>,
    /// How many digits there are at most; the last one submits by itself.
    max: usize,
    /// How many of them stand after the decimal sign.
    decimals: usize,
    /// The decimal sign.
    point: &'static str,
    /// The words on the erase and the OK key, read out.
    words: (&'static str, &'static str),
    /// Shows a key for the minus sign, with this word.
    #[prop(optional)]
    minus: Option<&'static str>,
    /// Called with the reading in units of the last place.
    #[prop(into)]
    on_done: Callback<i32>,
) -> impl IntoView {
    let typed = RwSignal::new(String::new());
    let below = RwSignal::new(false);
    let done = move || {
        // At most nine digits: more would not fit and no display has them.
        if let Ok(value) = typed.get().parse::<i32>() {
            typed.set(String::new());
            on_done.run(if below.get() { -value } else { value });
        }
    };
    let add = move |digit: char| {
        typed.update(|text| text.push(digit));
        if typed.with(String::len) >= max.min(9) {
            done();
        }
    };
    let shown = memo(move || typed.with(|text| places(text, max, decimals, point)));
    let key = move |digit: char| {
        view! {
            <button type="button" class="key" data-testid=format!("digit-{digit}") on:click=move |_| add(digit)>
                {digit}
            </button>
        }
    };
    view! {
        <div class="digits" role="group" aria-label=label data-testid="digits">
            <output class="digits-show">
                <span>
                    {move || below.get().then_some("−")} <span class="blank">{move || shown.get().0}</span>
                    {move || shown.get().1}
                </span>
                <small>{unit}</small>
            </output>
            <div class="digits-pad">
                {"123456789".chars().map(key).collect_view()}
                <button
                    type="button"
                    class="key"
                    aria-label=words.0
                    data-testid="digit-erase"
                    on:click=move |_| typed.update(|text| text.truncate(text.len().saturating_sub(1)))
                >
                    <Icon of=Shape::Erase />
                </button>
                {key('0')}
                <button
                    type="button"
                    class="key primary"
                    aria-label=words.1
                    data-testid="digit-ok"
                    disabled=move || typed.with(String::is_empty)
                    on:click=move |_| done()
                >
                    <Icon of=Shape::Tick />
                </button>
                {minus.map(|word| view! {
                    <button
                        type="button"
                        class="key"
                        data-testid="digit-minus"
                        aria-pressed=move || if below.get() { "true" } else { "false" }
                        on:click=move |_| below.update(|on| *on = !*on)
                    >
                        "− " <small>{word}</small>
                    </button>
                })}
            </div>
        </div>
    }
}

/// The places still blank and the digits typed, with the decimal sign where it belongs.
fn places(typed: &str, max: usize, decimals: usize, point: &str) -> (String, String) {
    let (mut blank, mut filled) = (String::new(), String::new());
    let mut next = typed.chars();
    for place in (0..max).rev() {
        let into = if place < typed.len() { &mut filled } else { &mut blank };
        into.push(if place < typed.len() { next.next().unwrap_or('0') } else { '‒' });
        if place == decimals && decimals > 0 {
            into.push_str(point);
        }
    }
    (blank, filled)
}
