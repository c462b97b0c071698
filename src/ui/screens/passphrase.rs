//! A passphrase: to seal the visit on screen, or to open sealed files that were loaded.

use crate::ui::app::use_app;
use crate::ui::parts::{Field, Key, Look, Notice, PageHead, Says, Show};
use crate::ui::transfer::Transfers;
use crate::view::check_file;
use crate::view::forms::Entry;
use crate::view::handover as words;
use crate::view::route::Route;
use crate::view::words::BACK;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// The place.
#[component]
pub(in crate::ui) fn passphrase() -> impl IntoView {
    let app = use_app();
    let transfers = expect_context::<Transfers>();
    let checks = transfers.asked.with_untracked(|asked| !asked.sealed.is_empty());
    let opens = checks || transfers.state.with_untracked(|state| !state.sealed.is_empty());
    let from = if checks { Route::CheckFile } else { Route::Handover };
    let (typed, again) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let (wrong, busy) = (RwSignal::new(String::new()), RwSignal::new(false));
    let left_out = RwSignal::new(0);
    if !opens {
        // Said before, not only afterwards.
        spawn_local(async move {
            left_out.try_set(transfers.left_out().await);
        });
    }
    let go = move |()| {
        let passphrase = typed.get_untracked();
        if busy.get_untracked() {
            return;
        }
        let fault = again.with_untracked(|again| words::passphrase_fault(&passphrase, again));
        if let Some(fault) = fault.filter(|_| !opens) {
            return wrong.set(fault);
        }
        busy.set(true);
        spawn_local(async move {
            let done = match (checks, opens) {
                (true, _) => transfers.unseal_asked(&passphrase).await,
                (false, true) => transfers.unseal(&passphrase).await,
                (false, false) => transfers.seal(&passphrase).await,
            };
            busy.set(false);
            match done {
                Ok(()) => app.go(from),
                Err(why) => wrong.set(why),
            }
        });
    };
    let skip = move |()| {
        if !busy.get_untracked() {
            transfers.skip_sealed();
            app.go(Route::Handover);
        }
    };
    let (title, help, key) = if opens {
        (words::UNSEAL, words::UNSEAL_HELP, if checks { check_file::OPEN } else { words::UNSEAL_KEY })
    } else {
        (words::SEAL, words::SEAL_HELP, words::SEAL_KEY)
    };
    view! {
        <section class="page" data-testid="passphrase-page">
            <PageHead title=title back=BACK on_back=Callback::new(move |()| app.go(from)) />
            <p class="section-body">{help}</p>
            <Field id="passphrase" label=words::PASSPHRASE value=typed on_input=move |text| { wrong.set(String::new()); typed.set(text) } entry=Entry::Secret error=wrong />
            <Show when=move || !opens>
                <Field id="passphrase-again" label=words::PASSPHRASE_AGAIN value=again on_input=move |text| { wrong.set(String::new()); again.set(text) } entry=Entry::Secret />
            </Show>
            <Show when=move || left_out.get() != 0>
                <Notice
                    says=Says::Warning
                    word=words::NOT_ALL
                    words=Signal::derive(move || words::left_out(left_out.get()))
                    testid="left-out"
                />
            </Show>
            <div class="keys">
                <Key label=key look=Look::Primary wide=true on_press=go testid="passphrase-go" />
                <Show when=move || opens && !checks>
                    <Key label=words::SKIP wide=true on_press=skip testid="passphrase-skip" />
                </Show>
            </div>
        </section>
    }
}
