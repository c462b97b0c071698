//! The line to type into above a long list, and its filters.

use crate::ui::finding::Finding;
use crate::ui::parts::{Icon, Key, Shape};
use crate::view::find::Filter;
use crate::view::page::{Find, List};
use crate::view::words::{CLEAR, FILTERS};
use leptos::prelude::*;

/// What was typed lives beside the page: the line stays as it is while what it finds changes.
pub(super) fn find(of: Find, testid: String) -> AnyView {
    let Find { list, label, filters } = of;
    let seek = expect_context::<Finding>().of(list);
    let open = RwSignal::new(false);
    let id = match list {
        List::Devices => "find-devices",
        List::Visit => "find-visit",
    };
    let chosen = move || seek.with(|seek| seek.filter);
    let chip = move |filter: Filter| {
        let on = move || chosen() == Some(filter);
        let turn = move |_| {
            seek.update(|seek| seek.filter = (seek.filter != Some(filter)).then_some(filter));
            open.set(false);
        };
        view! {
            <button
                type="button"
                class="key chip"
                aria-pressed=move || if on() { "true" } else { "false" }
                data-testid=format!("filter-{}", filter.name())
                on:click=turn
            >
                {move || on().then(|| view! { <Icon of=Shape::Tick /> })}
                <span>{filter.words()}</span>
            </button>
        }
    };
    // With the filters folded away the one chosen still shows.
    let chips = move || {
        let shown = filters.iter().filter(|filter| open.get() || chosen() == Some(**filter));
        shown.copied().map(chip).collect_view()
    };
    let is_empty = move || seek.with(|seek| seek.text.is_empty());
    view! {
        <div class="find" data-testid=testid>
            <label class="field-label" for=id>{label}</label>
            <div class="find-line">
                <div class="field-line">
                    <input
                        id=id
                        type="text"
                        autocomplete="off"
                        autocapitalize="off"
                        spellcheck="false"
                        enterkeyhint="search"
                        data-testid=id
                        prop:value=move || seek.with(|seek| seek.text.clone())
                        on:input=move |event| seek.update(|seek| seek.text = event_target_value(&event))
                    />
                    {move || (!is_empty()).then(|| view! {
                        <Key label=CLEAR icon=Shape::Close bare=true on_press=move |()| seek.update(|seek| seek.text.clear()) testid=format!("{id}-clear") />
                    })}
                </div>
                <button
                    type="button"
                    class="key"
                    aria-expanded=move || if open.get() { "true" } else { "false" }
                    data-testid=format!("{id}-filters")
                    on:click=move |_| open.update(|open| *open = !*open)
                >
                    <Icon of=Shape::Adjust />
                    <span class="unseen">{FILTERS}</span>
                </button>
            </div>
            <div class="chips">{chips}</div>
        </div>
    }
    .into_any()
}
