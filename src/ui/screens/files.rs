//! The browser's own buttons for files, which are never seen.

use crate::ui::photos::Photos;
use crate::ui::sheet::{self, Sheets};
use crate::ui::transfer::Transfers;
use crate::view::handover::IN_KEY;
use crate::view::photos;
use leptos::prelude::*;

/// The buttons.
#[component]
pub(in crate::ui) fn files() -> impl IntoView {
    let (transfers, camera) = (expect_context::<Transfers>(), expect_context::<Photos>());
    let sheets = expect_context::<Sheets>();
    view! {
        <input
            type="file"
            multiple
            hidden
            accept=".json,.txt,.sealed,application/json,text/plain"
            aria-label=IN_KEY
            data-testid="import-file"
            node_ref=transfers.input
            on:change=move |_| transfers.load()
        />
        <input
            type="file"
            hidden
            accept="image/*"
            capture="environment"
            aria-label=photos::ADD
            data-testid="photo-file"
            node_ref=camera.input
            on:change=move |_| camera.taken()
        />
        <input
            type="file"
            hidden
            accept=".csv,.tsv,.txt,.tab,text/csv,text/tab-separated-values,text/plain"
            aria-label=sheet::FILE
            data-testid="sheet-file"
            node_ref=sheets.input
            on:change=move |_| sheets.load()
        />
    }
}
