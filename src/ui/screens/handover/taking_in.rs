//! Bundles come in: each whole, or refused with every reason.

use super::with_names;
use crate::book::entry::Entry;
use crate::book::log::Attachment;
use crate::book::visit::headings;
use crate::browser::share::{self, NotRead, Picked};
use crate::handover::{Incoming, MAX_BYTES, read_bundle};
use crate::ui::app::{App, use_app};
use crate::ui::parts::{Key, Notice, Row, Rows, Says, Section, Shape, Show};
use crate::view::handover::{self as words, Fared, Outcome};
use leptos::html;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// What comes in.
#[component]
pub(super) fn take_in() -> impl IntoView {
    let app = use_app();
    let outcomes: RwSignal<Vec<Outcome>> = RwSignal::new(Vec::new());
    let reading = RwSignal::new(false);
    let input = NodeRef::<html::Input>::new();
    let choose = move |()| {
        if let Some(input) = input.get_untracked() {
            input.click();
        }
    };
    let take_chosen = move || {
        let Some(input) = input.get_untracked() else { return };
        reading.set(true);
        outcomes.set(Vec::new());
        spawn_local(async move {
            for picked in share::pick(&input, MAX_BYTES as u64).await {
                let outcome = take(app, picked).await;
                outcomes.update(|outcomes| outcomes.push(outcome));
            }
            reading.set(false);
        });
    };
    // Anywhere on the page: a file that misses would replace the app in its tab.
    let over = window_event_listener(leptos::ev::dragover, |event| event.prevent_default());
    let dropped = window_event_listener(leptos::ev::drop, move |event| {
        event.prevent_default();
        let files = event.data_transfer().and_then(|dropped| dropped.files());
        if let (Some(input), true) = (input.get_untracked(), app.all_here.get_untracked() && !reading.get_untracked()) {
            input.set_files(files.as_ref());
            take_chosen();
        }
    });
    on_cleanup(move || {
        over.remove();
        dropped.remove();
    });
    view! {
        <Section title=words::IN>
            <p class="section-body">{words::IN_HELP}</p>
            // The key stands for the browser's own button, whose words and size cannot be set.
            <input
                type="file"
                multiple
                hidden
                accept=".json,.txt,application/json,text/plain"
                aria-label=words::IN_KEY
                data-testid="import-file"
                node_ref=input
                on:change=move |_| take_chosen()
            />
            <div class="keys">
                <Key
                    label=words::IN_KEY
                    icon=Shape::TakeIn
                    wide=true
                    disabled=Signal::derive(move || reading.get() || !app.all_here.get())
                    on_press=choose
                    testid="import"
                />
            </div>
            <Show when=move || reading.get()>
                <Notice word=words::READING words="" testid="importing" />
            </Show>
            {move || outcomes.get().into_iter().map(outcome).collect_view()}
        </Section>
    }
}

fn outcome(outcome: Outcome) -> AnyView {
    let Outcome { file, fared, lines, differs } = outcome;
    let (says, testid) = match fared {
        Fared::Refused => (Says::Warning, "import-refused"),
        Fared::TakenIn if differs => (Says::Warning, "import-taken"),
        Fared::TakenIn => (Says::Done, "import-taken"),
        Fared::NothingNew => (Says::Info, "import-nothing"),
    };
    view! {
        <Notice says word=fared.words() words=file.clone() testid />
        <Rows label=file>
            {lines.into_iter().map(|line| view! { <Row title="" detail=line testid="import-line" /> }).collect_view()}
        </Rows>
    }
    .into_any()
}

async fn take(app: App, picked: Picked) -> Outcome {
    let Picked { name, text } = picked;
    let text = match text {
        Ok(text) => text,
        Err(NotRead::TooLarge(_)) => return words::too_large(&name),
        Err(NotRead::ChooseAgain(why)) => return words::not_read(&name, &why),
    };
    let incoming = match read_bundle(&text) {
        Ok(incoming) => incoming,
        Err(faults) => return words::refused(&name, &faults),
    };
    let news = app.book.with_untracked(|book| incoming.against(book));
    let (entries, attachments) = new_of(app, &incoming);
    if !(entries.is_empty() && attachments.is_empty()) {
        if let Err(why) = app.take_in(entries, attachments).await {
            return words::not_stored(&name, &why);
        }
        show_visit(app, &incoming);
    }
    // Names are read after the merge: the bundle may have brought them.
    with_names(app, |_, names| words::taken_in(&name, &incoming, &news, names))
}

fn new_of(app: App, incoming: &Incoming) -> (Vec<Entry>, Vec<Attachment>) {
    app.book.with_untracked(|book| {
        let entries = incoming.entries.iter().filter(|entry| book.get(entry.hash).is_none()).cloned();
        let attachments = incoming.attachments.iter().filter(|a| book.attachment(a.hash()).is_none()).cloned();
        (entries.collect(), attachments.collect())
    })
}

/// Puts the newest visit of a bundle on screen where none is.
fn show_visit(app: App, incoming: &Incoming) {
    let newest = headings(&incoming.book()).first().map(|visit| visit.id);
    app.prefer(|prefs| prefs.visit = prefs.visit.or(newest));
}
