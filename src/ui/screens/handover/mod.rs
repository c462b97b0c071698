//! The Send screen: visit files out and in, and whether the records are in order.

mod check;
mod out;
mod taking_in;

use crate::book::log::Book;
use crate::browser::clock;
use crate::ui::app::{App, use_app};
use crate::ui::parts::{Notice, PageHead, Row, Rows, Shape, Show};
use crate::view::handover::{self as words, ChainRow, Names};
use crate::view::words::STILL_READING;
use check::Check;
use leptos::prelude::*;
use out::Out;
use taking_in::TakeIn;

/// The Handover place. It works on an empty book, too: that is how a fresh phone gets its data.
#[component]
pub(in crate::ui) fn handover() -> impl IntoView {
    let app = use_app();
    let detail = move || app.visit.with(|visit| app.register.with(|register| words::site_of(register, visit.as_ref())));
    view! {
        <div class="sides">
            <div class="page" data-testid="handover">
                <PageHead title=words::TITLE detail=Signal::derive(detail) />
                // What is not read yet would be missing from a bundle, a check and a comparison.
                <Show when=move || !app.all_here.get()>
                    <Notice word=words::READING words=STILL_READING testid="still-reading" />
                </Show>
                <Out />
                <TakeIn />
                <Check />
            </div>
        </div>
    }
}

/// Calls `then` with the names people know things by.
fn with_names<T>(app: App, then: impl FnOnce(&Book, &Names<'_>) -> T) -> T {
    let offset = clock::offset_minutes(clock::now().wall_ms).into();
    app.register.with_untracked(|register| {
        app.book.with_untracked(|book| then(book, &Names::of(book, register, app.phone(), offset)))
    })
}

/// Chains with count and last hash.
#[component]
fn chains(rows: Vec<ChainRow>) -> impl IntoView {
    view! {
        <p class="section-body soft">{words::CHAINS_HELP}</p>
        <Rows label=words::CHAINS>
            {rows.into_iter().map(|row| view! {
                <Row title=row.about detail=format!("{} · {}", row.detail, row.last) sign=Shape::Lock testid="chain" />
            }).collect_view()}
        </Rows>
    }
}
