//! Visit files out and in, and the check of the records: what the Send page asks of the phone.

use crate::book::entries::Book;
use crate::book::visit::headings;
use crate::browser::clock;
use crate::browser::next_piece;
use crate::browser::share::{self, NotRead, NotShared, Picked, Sent};
use crate::handover::{
    self, Bundle, Incoming, MAX_BYTES, MEDIA, Made, NothingToHandOver, Select, bundle_of, file_name, read_in_pieces,
};
use crate::ui::app::{App, handed_over};
use crate::view::handover::{self as words, Left, Loading, Names, Outcome, Transfer};
use crate::view::page::Request;
use crate::view::route::Route;
use leptos::html::Input;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// How long a file is read before a tap has its turn, ms: with what is drawn of it a frame stays well below 50.
const SLICE_MS: i64 = 16;

/// What is going on with files, given by context.
#[derive(Clone, Copy, Debug)]
pub(super) struct Transfers {
    app: App,
    /// What the page shows of it.
    pub(super) state: RwSignal<Transfer>,
    /// The browser's own button for files, whose words and size cannot be set.
    pub(super) input: NodeRef<Input>,
    stopped: StoredValue<bool>,
}

impl Transfers {
    /// Nothing is going on. Files may be dropped anywhere: one that misses would replace the app in its tab.
    pub(super) fn start(app: App) {
        let transfers = Transfers {
            app,
            state: RwSignal::new(Transfer::default()),
            input: NodeRef::new(),
            stopped: StoredValue::new(false),
        };
        provide_context(transfers);
        let over = window_event_listener(leptos::ev::dragover, |event| event.prevent_default());
        let dropped = window_event_listener(leptos::ev::drop, move |event| {
            event.prevent_default();
            let files = event.data_transfer().and_then(|dropped| dropped.files());
            let ready =
                app.all_here.get_untracked() && !transfers.state.with_untracked(|state| state.loading.is_some());
            if let (Some(input), true, Route::Handover) =
                (transfers.input.get_untracked(), ready, app.place.get_untracked())
            {
                input.set_files(files.as_ref());
                transfers.load();
            }
        });
        on_cleanup(move || {
            over.remove();
            dropped.remove();
        });
    }

    /// The page comes up as if nothing had been sent; what is still being loaded goes on.
    pub(super) fn forget(self) {
        self.state.update(|state| {
            let (loading, outcomes) = (state.loading.take(), std::mem::take(&mut state.outcomes));
            let outcomes = if loading.is_some() { outcomes } else { Vec::new() };
            *state = Transfer { handed: handed_over(), loading, outcomes, ..Transfer::default() };
        });
    }

    /// Checks the records.
    pub(super) fn check(self) {
        let checked = with_names(self.app, |book, names| {
            (words::check(book, names), words::chain_rows(&words::chain_heads(book), names))
        });
        self.state.update(|state| state.checked = Some(checked));
    }

    /// Lets the person choose files.
    pub(super) fn choose(self) {
        if let Some(input) = self.input.get_untracked() {
            input.click();
        }
    }

    /// Stops loading: what is not loaded yet stays out.
    pub(super) fn stop(self) {
        self.stopped.set_value(true);
    }

    /// Loads the files that were chosen: each whole, or refused with every reason.
    pub(super) fn load(self) {
        let Some(input) = self.input.get_untracked() else { return };
        if self.state.with_untracked(|state| state.loading.is_some()) {
            return;
        }
        self.stopped.set_value(false);
        self.state.update(|state| (state.loading, state.outcomes) = (Some(Loading::default()), Vec::new()));
        spawn_local(async move {
            for picked in share::pick(&input, MAX_BYTES as u64).await {
                let outcome = self.take(picked).await;
                self.state.update(|state| state.outcomes.push(outcome));
            }
            self.state.update(|state| state.loading = None);
        });
    }

    async fn take(self, picked: Picked) -> Outcome {
        let (app, Picked { name, text }) = (self.app, picked);
        let text = match text {
            Ok(text) => text,
            Err(NotRead::TooLarge(_)) => return words::too_large(&name),
            Err(NotRead::ChooseAgain(why)) => return words::not_read(&name, &why),
        };
        let mut slice = clock::now().mono_ms;
        let read = read_in_pieces(&text, async |progress| {
            if clock::now().mono_ms.saturating_sub(slice) >= SLICE_MS {
                let loading = Loading { file: name.clone(), progress: Some(progress) };
                self.state.update(|state| state.loading = Some(loading));
                // Where a frame is due it is painted first.
                next_piece().await;
                slice = clock::now().mono_ms;
            }
            !self.stopped.get_value()
        });
        let incoming = match read.await {
            Ok(incoming) => incoming,
            Err(handover::NotRead::Cancelled) => return words::stopped(&name),
            Err(handover::NotRead::Faults(faults)) => return words::refused(&name, &faults),
        };
        let news = app.book.with_untracked(|book| incoming.against(book));
        let (entries, attachments) = app.book.with_untracked(|book| incoming.new_to(book));
        if !(entries.is_empty() && attachments.is_empty()) {
            if let Err(why) = app.take_in(entries, attachments).await {
                return words::not_stored(&name, &why);
            }
            show_visit(app, &incoming);
        }
        // Names are read after the merge: the bundle may have brought them.
        with_names(app, |_, names| words::taken_in(&name, &incoming, &news, names))
    }

    /// Sends what was asked for.
    pub(super) fn send(self, request: Request) {
        let visit = self.app.visit.with_untracked(|visit| visit.as_ref().map(|visit| Select::Visit(visit.id)));
        let select = if request == Request::ShareAll { Some(Select::Everything) } else { visit };
        self.state.update(|state| state.left = Vec::new());
        match self.bundle(select) {
            Err(why) => self.state.update(|state| state.said = Some(Err(words::nothing(why)))),
            Ok((bundle, name)) => spawn_local(async move {
                let left = send(&name, &bundle.text, request).await;
                if matches!(left, Left::Shared(_) | Left::Saved(_)) {
                    self.note(&bundle);
                }
                self.state.update(|state| state.said = Some(Ok(left)));
            }),
        }
    }

    fn bundle(self, select: Option<Select>) -> Result<(Bundle, String), NothingToHandOver> {
        let select = select.ok_or(NothingToHandOver::Visit)?;
        let app = self.app;
        let at = clock::now().wall_ms;
        let made = Made { at, app: env!("CARGO_PKG_VERSION").to_string(), phone: app.phone() };
        let bundle = app.book.with_untracked(|book| bundle_of(book, select, &made))?;
        let site = app.register.with_untracked(|register| {
            app.visit.with_untracked(|visit| {
                let visit = visit.as_ref().filter(|_| select != Select::Everything);
                words::file_site(register, visit)
            })
        });
        let name = file_name(&site, at, clock::offset_minutes(at).into(), &bundle.text);
        Ok((bundle, name))
    }

    /// Remembers what has left, and shows the hashes to be compared.
    fn note(self, bundle: &Bundle) {
        self.state.update(|state| words::note_handed_over(&mut state.handed, &bundle.chains));
        self.state.with_untracked(|state| self.app.keep_handed_over(&state.handed));
        let left = with_names(self.app, |_, names| words::chain_rows(&bundle.chains, names));
        self.state.update(|state| state.left = left);
    }
}

async fn send(name: &str, text: &str, request: Request) -> Left {
    if request != Request::SaveVisit {
        match share::share(name, text).await {
            Ok(Sent::Shared(name)) => return Left::Shared(name),
            Ok(Sent::Cancelled) => return Left::Cancelled,
            Err(NotShared::TryAgain(why)) => return Left::Failed(why),
            Err(NotShared::Download) => {}
        }
    }
    match share::download(name, text, MEDIA) {
        Ok(()) => Left::Saved(name.to_string()),
        Err(why) => Left::Failed(why),
    }
}

/// Calls `then` with the names people know things by.
fn with_names<T>(app: App, then: impl FnOnce(&Book, &Names<'_>) -> T) -> T {
    let offset = clock::offset_minutes(clock::now().wall_ms).into();
    app.register.with_untracked(|register| {
        app.book.with_untracked(|book| then(book, &Names::of(book, register, app.phone(), offset)))
    })
}

/// Puts the newest visit of a bundle on screen where none is.
fn show_visit(app: App, incoming: &Incoming) {
    let newest = headings(&incoming.book).first().map(|visit| visit.id);
    app.prefer(|prefs| prefs.visit = prefs.visit.or(newest));
}
