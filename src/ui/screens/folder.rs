//! Where visits are sent to: the office's folder and who signs in there.

use crate::handover::delivery::address;
use crate::ui::app::use_app;
use crate::ui::parts::{Field, Key, Look, PageHead, Switch};
use crate::view::forms::Entry;
use crate::view::handover as words;
use crate::view::route::Route;
use crate::view::settings::ON_OFF;
use crate::view::words::BACK;
use leptos::prelude::*;

/// The place. What is typed is kept when it is saved, not before: a password is no draft.
#[component]
pub(in crate::ui) fn folder() -> impl IntoView {
    let app = use_app();
    let typed = app.prefs.with_untracked(|prefs| (prefs.folder.clone(), prefs.folder_user.clone()));
    let (folder, user, password) = (RwSignal::new(typed.0), RwSignal::new(typed.1), RwSignal::new(String::new()));
    let keep = RwSignal::new(app.keeps_password());
    let wrong = RwSignal::new(String::new());
    let save = move |()| {
        let typed = folder.get_untracked();
        let address = if typed.trim().is_empty() { Ok(String::new()) } else { address(&typed) };
        match address {
            Err(fault) => wrong.set(words::address_words(fault)),
            Ok(address) => {
                let user = user.get_untracked().trim().to_string();
                app.set_folder(address, user, password.get_untracked(), keep.get_untracked());
                app.go(Route::Handover);
            }
        }
    };
    view! {
        <section class="page" data-testid="folder-page">
            <PageHead title=words::FOLDER back=BACK on_back=Callback::new(move |()| app.go(Route::Handover)) />
            <p class="section-body">{words::FOLDER_HELP}</p>
            <Field id="folder-address" label=words::ADDRESS value=folder on_input=move |text| { wrong.set(String::new()); folder.set(text) } help=words::ADDRESS_HELP error=wrong />
            <Field id="folder-user" label=words::USER value=user on_input=move |text| user.set(text) />
            <Field id="folder-password" label=words::PASSWORD value=password on_input=move |text| password.set(text) entry=Entry::Secret help=words::PASSWORD_HELP />
            <div class="keys">
                <Switch label=words::KEEP_PASSWORD on=keep words=ON_OFF on_turn=move |on| keep.set(on) testid="folder-keep" />
                <Key label=words::SAVE_FOLDER look=Look::Primary wide=true on_press=save testid="folder-save" />
            </div>
        </section>
    }
}
