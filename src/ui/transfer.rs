//! Visit files out and in, and the check of the records: what the Send page asks of the phone.

use crate::book::entries::Book;
use crate::book::visit::headings;
use crate::browser::clock;
use crate::browser::dav::{Folder, NoReply};
use crate::browser::next_piece;
use crate::browser::seal::{self, NotDone, Parameters};
use crate::browser::settings;
use crate::browser::share::{self, NotRead, Picked};
use crate::encoding::sha256_hex;
use crate::handover::delivery::{Listed, Parcel, Why, is_whole, patience_ms, unseen};
use crate::handover::sealed::{Seal, SealFault, is_sealed, open_each};
use crate::handover::{
    self, Bundle, BundlePictures, Cover, Incoming, MAX_BYTES, Made, NothingToHandOver, Select, bundle_with, file_name,
    heads_of, last_recorded, read_in_pieces,
};
use crate::session::Setting;
use crate::ui::app::{App, handed_over};
use crate::units::Wall;
use crate::view::check_file;
use crate::view::handover::{self as words, Fared, HandedOver, Loading, Names, Outcome, Transfer};
use crate::view::route::Route;
use leptos::html::Input;
use leptos::prelude::*;
use leptos::task::spawn_local;

mod asked;
pub(super) mod outgoing;

/// How long a file is read before a tap has its turn, ms: with what is drawn of it a frame stays well below 50.
pub(super) const SLICE_MS: i64 = 16;

/// What is going on with files, given by context.
#[derive(Clone, Copy, Debug)]
pub(super) struct Transfers {
    app: App,
    /// What the page shows of it.
    pub(super) state: RwSignal<Transfer>,
    /// Files that are only checked.
    pub(super) asked: RwSignal<check_file::State>,
    /// The browser's own button for files, whose words and size cannot be set.
    pub(super) input: NodeRef<Input>,
    /// How much of the demonstration is loaded, of a hundred, while it is.
    pub(super) demo: RwSignal<Option<usize>>,
    stopped: StoredValue<bool>,
    /// Whether sealed files have just been opened or made.
    fresh: StoredValue<bool>,
}

impl Transfers {
    /// Nothing is going on. Files may be dropped anywhere: one that misses would replace the app in its tab.
    pub(super) fn start(app: App) {
        let transfers = Transfers {
            app,
            state: RwSignal::new(Transfer::default()),
            asked: RwSignal::new(check_file::State::default()),
            input: NodeRef::new(),
            demo: RwSignal::new(None),
            stopped: StoredValue::new(false),
            fresh: StoredValue::new(false),
        };
        provide_context(transfers);
        let over = window_event_listener(leptos::ev::dragover, |event| event.prevent_default());
        let dropped = window_event_listener(leptos::ev::drop, |event| event.prevent_default());
        on_cleanup(move || {
            over.remove();
            dropped.remove();
        });
    }

    /// Takes files that are dropped, and sends what is over.
    pub(super) fn listen(self) {
        let (app, transfers) = (self.app, self);
        transfers.queue_what_is_over();
        transfers.forget_asked();
        let dropped = window_event_listener(leptos::ev::drop, move |event| {
            let files = event.data_transfer().and_then(|dropped| dropped.files());
            let ready =
                app.all_here.get_untracked() && !transfers.state.with_untracked(|state| state.loading.is_some());
            if let (Some(input), true, Route::Handover | Route::CheckFile) =
                (transfers.input.get_untracked(), ready, app.place.get_untracked())
            {
                input.set_files(files.as_ref());
                transfers.load();
            }
        });
        on_cleanup(move || dropped.remove());
    }

    /// The page comes up as if nothing had been sent; what is still being loaded goes on.
    pub(super) fn forget(self) {
        self.state.update(|state| {
            let (loading, sealed) = (state.loading.take(), std::mem::take(&mut state.sealed));
            let (outcomes, said, left) =
                (std::mem::take(&mut state.outcomes), state.said.take(), std::mem::take(&mut state.left));
            *state = Transfer { handed: handed_over(), loading, sealed, ..Transfer::default() };
            // What became of sealed files is said where one comes back to from sealing or opening them.
            let fresh = self.fresh.try_update_value(std::mem::take).unwrap_or_default();
            if fresh || state.loading.is_some() {
                state.outcomes = outcomes;
            }
            if fresh {
                (state.said, state.left) = (said, left);
            }
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
        let asks = self.app.place.get_untracked() == Route::CheckFile;
        if asks {
            self.asked.set(check_file::State::default());
        }
        self.state.update(|state| (state.loading, state.outcomes) = (Some(Loading::default()), Vec::new()));
        spawn_local(async move {
            for picked in share::pick(&input, MAX_BYTES as u64).await {
                if asks {
                    self.check_file(picked).await;
                } else {
                    let outcome = self.take(picked).await;
                    self.state.update(|state| state.outcomes.push(outcome));
                }
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
        if is_sealed(&text) {
            let file = (name.clone(), text);
            self.state.update(|state| {
                if !state.sealed.contains(&file) {
                    state.sealed.push(file);
                }
            });
            return Outcome { fared: Fared::Sealed, ..words::unread(&name, words::SEALED.into()) };
        }
        let incoming = match self.read(&name, &text).await {
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

    /// Reads a file, a piece at a time.
    async fn read(self, name: &str, text: &str) -> Result<Incoming, handover::NotRead> {
        let mut slice = clock::now().mono_ms;
        let read = read_in_pieces(text, async |progress| {
            if clock::now().mono_ms.saturating_sub(slice) >= SLICE_MS {
                let loading = Loading { file: name.to_string(), progress: Some(progress) };
                self.state.update(|state| state.loading = Some(loading));
                // Where a frame is due it is painted first.
                next_piece().await;
                slice = clock::now().mono_ms;
            }
            !self.stopped.get_value()
        });
        read.await
    }

    /// Opens the sealed files that were loaded, and loads them. Those that the passphrase does not open stay; those that none opens go.
    ///
    /// # Errors
    /// Which of them stay and why, as a sentence.
    pub(super) async fn unseal(self, passphrase: &str) -> Result<(), String> {
        let files = self.state.try_update(|state| std::mem::take(&mut state.sealed)).unwrap_or_default();
        let decrypt = async |seal: &Seal, bytes: &[u8]| seal::open(passphrase, parameters(seal), bytes).await;
        let stay = open_each(files, decrypt, async |name: String, opened| {
            let outcome = match opened {
                Ok(text) => self.take(Picked { name: name.clone(), text: Ok(text) }).await,
                Err(fault) => words::unread(&name, words::seal_words(fault)),
            };
            self.note_fetched(&outcome);
            self.state.update(|state| {
                state.loading = None;
                state.outcomes.push(outcome);
            });
            self.fresh.set_value(true);
        });
        let (stay, whys): (Vec<_>, Vec<_>) = stay.await.into_iter().unzip();
        let fault = whys.into_iter().next_back().map(|why| words::not_opened(&stay, &no_seal(why)));
        self.state.update(|state| {
            let Transfer { sealed, outcomes, .. } = state;
            sealed.extend(stay);
            let waits = |outcome: &Outcome| sealed.iter().any(|(name, _)| *name == outcome.file);
            outcomes.retain(|outcome| outcome.fared != Fared::Sealed || waits(outcome));
        });
        fault.map_or(Ok(()), Err)
    }

    /// Lets the sealed files go that were loaded and not opened.
    pub(super) fn skip_sealed(self) {
        self.state.update(|state| state.sealed.clear());
    }

    /// Puts the visit on screen into the outbox and sends what is in it.
    pub(super) fn deliver(self) {
        if let Some(visit) = self.app.visit.with_untracked(|visit| visit.as_ref().map(|visit| visit.id)) {
            self.queue(Select::Visit(visit));
        }
        self.app.deliver_again();
    }

    /// Puts into the outbox what is selected, unless a file there has all of it.
    fn queue(self, select: Select) {
        let app = self.app;
        let (heads, last) =
            app.book.with_untracked(|book| (heads_of(book, select), last_recorded(book, select).unwrap_or_default()));
        let mut chains = HandedOver::new();
        words::note_handed_over(&mut chains, &heads.unwrap_or_default());
        if chains.is_empty() || app.outbox(|outbox| outbox.holds(&chains)) {
            return;
        }
        spawn_local(async move {
            let (pictures, without) = self.pictures(select, Cover::Open).await;
            if app.outbox(|outbox| outbox.holds(&chains)) {
                return;
            }
            // As of the last record, so that the same records are the same file.
            if let Ok((bundle, name)) = self.bundle(select, pictures, last) {
                let digest = sha256_hex(bundle.text.as_bytes());
                let parcel = Parcel {
                    name,
                    digest,
                    chains,
                    delivered: None,
                    without: Some(without).filter(|without| *without > 0),
                };
                app.change(|session| session.queue(parcel, bundle.text));
            }
        });
    }

    /// A visit that is over goes into the outbox by itself, where there is a folder.
    fn queue_what_is_over(self) {
        let app = self.app;
        Effect::new(move |_| {
            let over =
                app.visit.with(|visit| visit.as_ref().filter(|visit| !visit.closed.is_empty()).map(|visit| visit.id));
            let ready = app.all_here.get() && app.prefs.with(|prefs| !prefs.folder.is_empty()) && !app.active();
            if let Some(visit) = over.filter(|_| ready) {
                self.queue(Select::Visit(visit));
            }
        });
        Effect::new(move |_| {
            app.outbox(|_| ());
            self.state.update(|state| state.handed = handed_over());
        });
    }

    /// Fetches what is new in the office's folder and loads it.
    pub(super) fn fetch(self) {
        if self.state.with_untracked(|state| state.loading.is_some()) {
            return;
        }
        self.stopped.set_value(false);
        self.state.update(|state| (state.loading, state.outcomes) = (Some(Loading::default()), Vec::new()));
        spawn_local(async move {
            if let Err(why) = self.fetch_new().await {
                let outcome = words::unread(words::FOLDER, words::folder_words(why));
                self.state.update(|state| state.outcomes.push(outcome));
            }
            self.state.update(|state| state.loading = None);
        });
    }

    async fn fetch_new(self) -> Result<(), Why> {
        let folder = self.app.folder().ok_or(Why::NoPassword)?;
        let listed = list(&folder).await?;
        let seen = fetched();
        let sent = |name: &str| self.app.outbox(|outbox| outbox.files().any(|(parcel, _)| parcel.name == name));
        let new = unseen(&listed, |name| seen.lines().any(|line| line == name) || sent(name));
        if new.is_empty() {
            let outcome =
                Outcome { fared: Fared::NothingNew, ..words::unread(words::FOLDER, words::NOTHING_NEW.into()) };
            self.state.update(|state| state.outcomes.push(outcome));
        }
        for name in new {
            if self.stopped.get_value() {
                break;
            }
            let size = listed.iter().find(|file| file.href.ends_with(&name)).and_then(|file| file.size);
            let patience = patience_ms(size.and_then(|size| size.try_into().ok()).unwrap_or(MAX_BYTES));
            let outcome = match self.fetch_one(&folder, &name, patience).await {
                Ok(outcome) => outcome,
                Err(why) => {
                    if why.may_be_of_all() {
                        // Where the folder still answers, the file is to blame, and the others are fetched.
                        list(&folder).await?;
                    }
                    words::unread(&name, words::file_words(why))
                }
            };
            self.note_fetched(&outcome);
            self.state.update(|state| state.outcomes.push(outcome));
        }
        Ok(())
    }

    async fn fetch_one(self, folder: &Folder, name: &str, patience: u32) -> Result<Outcome, Why> {
        let loading = Loading { file: name.to_string(), progress: None };
        self.state.update(|state| state.loading = Some(loading));
        let (status, bytes) = folder.read(name, patience).await.map_err(why)?;
        if status != 200 {
            return Err(Why::of(status));
        }
        Ok(match String::from_utf8(bytes) {
            Ok(text) if is_whole(name, &text) => self.take(Picked { name: name.to_string(), text: Ok(text) }).await,
            _ => words::unread(name, words::NOT_WHOLE.into()),
        })
    }

    /// Remembers that a file need not be fetched again. One that waits for its passphrase is gone with the page.
    fn note_fetched(self, outcome: &Outcome) {
        if matches!(outcome.fared, Fared::TakenIn | Fared::NothingNew) {
            let names = format!("{}{}\n", fetched(), outcome.file);
            self.app.change(|session| session.keep_fetched(names));
        }
    }

    fn bundle(self, select: Select, pictures: BundlePictures, at: Wall) -> Result<(Bundle, String), NothingToHandOver> {
        let app = self.app;
        let made = Made { at, app: env!("CARGO_PKG_VERSION").to_string(), phone: app.phone() };
        let bundle = app.book.with_untracked(|book| bundle_with(book, select, &made, pictures))?;
        let site = app.register.with_untracked(|register| {
            app.visit.with_untracked(|visit| {
                let visit = visit.as_ref().filter(|_| select != Select::Everything);
                words::file_site(register, visit)
            })
        });
        let name = file_name(&site, &made, clock::offset_minutes(at).into(), &bundle);
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

fn parameters(seal: &Seal) -> Parameters<'_> {
    Parameters { rounds: seal.rounds, salt: &seal.salt, iv: &seal.iv, header: &seal.header }
}

fn no_seal(why: NotDone) -> String {
    match why {
        NotDone::NotOpened => words::seal_words(SealFault::NotOpened),
        NotDone::Absent(why) => words::no_seal(&why),
    }
}

/// The names of the files that were fetched, a line each.
fn fetched() -> String {
    settings::get(Setting::Fetched.key()).ok().flatten().unwrap_or_default()
}

/// What is in the folder.
async fn list(folder: &Folder) -> Result<Vec<Listed>, Why> {
    match folder.list().await.map_err(why)? {
        (207, Some(listed)) => Ok(listed.into_iter().map(|(href, size)| Listed { href, size }).collect()),
        (status, _) => Err(Why::of(status)),
    }
}

fn why(none: NoReply) -> Why {
    match none {
        NoReply::Redirected => Why::OtherPage,
        NoReply::Nothing(_) => Why::Network,
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
