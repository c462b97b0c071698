//! A phone that holds records of a test version: they are named, can be saved as they are, and are cleared only with consent.

use crate::browser::share;
use crate::ui::app::use_app;
use crate::ui::parts::{Key, Look, Notice, Says, Sheet, Show};
use crate::view::words;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// Shown in the place of everything else.
#[component]
pub(in crate::ui) fn old_records() -> impl IntoView {
    let app = use_app();
    let said = RwSignal::new(String::new());
    let asks = RwSignal::new(false);
    let save = move |()| {
        spawn_local(async move {
            let saved = match app.raw_records().await {
                Ok(text) => share::download(words::OLD_RECORDS_FILE, &text, "application/x-ndjson"),
                Err(why) => Err(why),
            };
            said.set(match saved {
                Ok(()) => words::OLD_RECORDS_SAVED.to_string(),
                Err(why) => words::old_records_failed(&why),
            });
        });
    };
    let clear = move |()| {
        spawn_local(async move {
            match app.clear_old_records().await {
                // A start of its own: nothing of this one is left over.
                Ok(()) => drop(window().location().reload()),
                Err(why) => said.set(words::old_records_failed(&why)),
            }
            asks.set(false);
        });
    };
    view! {
        <main class="page" data-testid="old-records">
            <h1 class="section-body">{words::OLD_RECORDS_TITLE}</h1>
            <Notice says=Says::Warning word=words::OLD_RECORDS_WORD words=words::OLD_RECORDS>
                <div class="keys">
                    <Key label=words::OLD_RECORDS_SAVE look=Look::Primary wide=true on_press=save testid="save-old" />
                    <Key label=words::OLD_RECORDS_CLEAR look=Look::Danger wide=true on_press=move |()| asks.set(true) testid="clear-old" />
                </div>
            </Notice>
            <Show when=move || said.with(|said| !said.is_empty())>
                <Notice word=words::OLD_RECORDS_WORD words=said testid="old-said" />
            </Show>
            <Sheet title=words::OLD_RECORDS_CLEAR open=asks close=words::CLOSE on_close=move |()| asks.set(false) testid="clear-old-sheet">
                <div class="section-body"><p>{words::OLD_RECORDS_SURE}</p></div>
                <div class="keys">
                    <Key label=words::OLD_RECORDS_YES look=Look::Danger wide=true on_press=clear testid="clear-old-yes" />
                </div>
            </Sheet>
        </main>
    }
}
