//! "Check my data": what does not fit, in words, and every chain with its last hash.

use super::{Chains, with_names};
use crate::ui::app::use_app;
use crate::ui::parts::{Key, Notice, Row, Rows, Says, Section, Shape};
use crate::view::handover::{self as words, ChainRow};
use leptos::prelude::*;

/// The check.
#[component]
pub(super) fn check() -> impl IntoView {
    let app = use_app();
    let found: RwSignal<Option<(Vec<String>, Vec<ChainRow>)>> = RwSignal::new(None);
    let look = move |()| {
        let seen = with_names(app, |book, names| {
            (words::check(book, names), words::chain_rows(&words::chain_heads(book), names))
        });
        found.set(Some(seen));
    };
    view! {
        <Section title=words::CHECK>
            <div class="keys">
                <Key label=words::CHECK icon=Shape::Tick wide=true disabled=Signal::derive(move || !app.all_here.get()) on_press=look testid="check" />
            </div>
            {move || found.get().map(|(lines, chains)| view! {
                {if lines.is_empty() {
                    view! { <Notice says=Says::Done word=words::CHECK_WORD words=words::CHECK_GOOD testid="check-sound" /> }.into_any()
                } else {
                    view! {
                        <Notice says=Says::Warning word=words::CHECK_BAD.0 words=words::CHECK_BAD.1 testid="check-misfits" />
                        <Rows label=words::CHECK>
                            {lines.into_iter().map(|line| view! { <Row title="" detail=line sign=Shape::Warning testid="misfit" /> }).collect_view()}
                        </Rows>
                    }
                    .into_any()
                }}
                {(!chains.is_empty()).then(|| view! { <Chains rows=chains /> })}
            })}
        </Section>
    }
}
