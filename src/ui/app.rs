//! The app on screen: signals that follow the session, and the one way in which the session changes.

mod deliver;
mod drawn;
mod due_cache;
mod findings_cache;
mod navigation;
mod perform;
mod queries;
mod start;

pub use crate::session::Stage;
pub(in crate::ui) use findings_cache::Found;
pub use start::handed_over;

use crate::book::acts::About;
use crate::book::command::{At, Command};
use crate::book::entries::{Attachment, Book, Part};
use crate::book::entry::{Entry, Hash, Scope, Stamp};
use crate::book::kit::Kit;
use crate::book::refusal::Refusal;
use crate::book::register::{Folding, Register};
use crate::book::seal::Draft;
use crate::book::visit::{Visit, off_elsewhere, visit_ids};
use crate::book::{Id, test::Test};
use crate::browser::clock::{self, Now};
use crate::browser::store::Store;
use crate::browser::{ids, next_piece, settings, text};
use crate::encoding::stored;
use crate::findings::Estimates;
use crate::session::{Effect, NotSealed, Offer, Sealing, Session, Setting, Tap, batch, stored_attachment};
use crate::ui::later::Arrival;
use crate::ui::memo::memo;
use crate::units::{Degree, TestTime};
use crate::view::locale::{self, Locale};
use crate::view::prefs::Prefs;
use crate::view::remedy::Refused;
use crate::view::route::Route;
use leptos::prelude::*;
use std::collections::BTreeMap;
use std::ops::Deref;
use std::sync::Arc;

/// Handle to the app's state, given to every screen by context. One word, because every closure on a screen holds one.
#[derive(Clone, Copy, Debug)]
pub struct App(&'static Signals);

impl Deref for App {
    type Target = Signals;

    fn deref(&self) -> &Signals {
        self.0
    }
}

type Held = StoredValue<Session>;

/// Everything known, to be read. What is drawn of it follows a revision and never the whole of it.
#[derive(Clone, Copy, Debug)]
pub struct BookOf(Held);

impl BookOf {
    /// What something says of the book now.
    pub fn with_untracked<T>(self, of: impl FnOnce(&Book) -> T) -> T {
        self.0.with_value(|session| of(session.book()))
    }
}

/// What is drawn. All of it follows the session and none of it can be set.
#[derive(Debug)]
pub struct Signals {
    session: Held,
    drawn: drawn::Drawn,
    store: StoredValue<Option<Store>, LocalStorage>,
    estimates: StoredValue<Estimates>,
    kept: StoredValue<findings_cache::Kept>,
    due_kept: StoredValue<due_cache::Kept>,
    /// How places were when they were left.
    left: StoredValue<Vec<(Route, navigation::Left)>, LocalStorage>,
    /// The list from which one came to the page of a thing.
    came_from: StoredValue<Route>,
    set_place: WriteSignal<Route>,
    set_now: WriteSignal<Now>,
    /// Revisions of the parts of the book: what is drawn follows them, and so changes with these parts alone.
    kit_revision: ReadSignal<u64>,
    visits_revision: ReadSignal<u64>,
    attachments_revision: ReadSignal<u64>,
    /// Counts what was worked out since a screen asked for it.
    worked_out: RwSignal<u32>,
    outbox_revision: ReadSignal<u64>,
    /// The password of the office's folder.
    password: StoredValue<deliver::Secret>,
    /// Everything known.
    pub book: BookOf,
    /// Where one is.
    pub place: ReadSignal<Route>,
    /// The clocks, as they were last looked at.
    pub now: ReadSignal<Now>,
    /// What the user has chosen.
    pub prefs: ReadSignal<Prefs>,
    /// Whether this tab may write.
    pub stage: ReadSignal<Stage>,
    /// Entries that are not recorded yet, and what to do about those that failed.
    pub unrecorded: ReadSignal<BTreeMap<String, Option<String>>>,
    /// What to do about the writes that failed, if any did.
    pub failed: ReadSignal<Option<String>>,
    /// A trouble with the data to be shown until it is gone.
    pub trouble: ReadSignal<Option<String>>,
    /// The last refusal, to be shown once, and how many there were.
    pub refused: ReadSignal<Option<(u32, Refused)>>,
    /// Whether the browser promised to keep the data.
    pub persisted: ReadSignal<Option<bool>>,
    /// Whether everything has been read, the visits that are over too.
    pub all_here: ReadSignal<bool>,
    /// How far the part that loads later has come.
    pub(in crate::ui) later: RwSignal<Arrival>,
    /// What everything on screen belongs to: what the later part begins belongs there, too.
    owner: StoredValue<Option<Owner>>,
    /// Half-filled forms.
    pub drafts: ReadSignal<BTreeMap<String, String>>,
    /// The register at a revision of the sites that was folded in steps before they came to it.
    next_register: StoredValue<Option<(u64, Register)>>,
    /// The register.
    pub register: Memo<Register>,
    /// The kit.
    pub kit: Memo<Kit>,
    /// The visit that is open on screen.
    pub visit: Memo<Option<Visit>>,
    /// Another visit in which something is off.
    pub off_elsewhere: Memo<Option<Arc<Visit>>>,
    /// The heater that this phone takes a profile run of now.
    pub profiling: ReadSignal<Option<Id>>,
    /// Who has this phone.
    pub who: ReadSignal<Option<Id>>,
    /// What a form has just saved, until one goes elsewhere.
    pub saved: ReadSignal<Option<String>>,
    /// What can be taken back for a while.
    pub offer: ReadSignal<Option<Offer>>,
}

impl App {
    /// An app that has not read its data yet.
    pub fn new() -> App {
        let language = text::language();
        locale::set(Locale::of(&language, text::decimal_sign(&language)));
        let start = Session::new(read_prefs());
        let mut drawn = drawn::Drawn::default();
        let mut revision = |part: Part| drawn.value(&start, move |session| session.book().revision(part));
        let (sites_revision, kit_revision) = (revision(Part::Sites), revision(Part::Kit));
        let (visits_revision, attachments_revision) = (revision(Part::Visits), revision(Part::Attachments));
        let visit_revision = drawn.value(&start, |session| {
            let shown = session.prefs().visit?;
            Some((shown, session.book().revision(Part::Visit(shown))))
        });
        let prefs = drawn.part(&start, Session::prefs);
        let stage = drawn.value(&start, Session::stage);
        let unrecorded = drawn.part(&start, Session::unrecorded);
        let failed = drawn.value(&start, Session::failed);
        let trouble = drawn.value(&start, |session| session.trouble().cloned());
        let refused = drawn.value(&start, |session| Some((session.refusals(), session.refused()?.clone())));
        let persisted = drawn.value(&start, Session::persisted);
        let all_here = drawn.value(&start, Session::all_here);
        let drafts = drawn.part(&start, Session::drafts);
        let profiling = drawn.value(&start, Session::profiling);
        let who = drawn.value(&start, Session::who);
        let saved = drawn.value(&start, |session| session.saved().cloned());
        let offer = drawn.value(&start, |session| session.offer().cloned());
        let outbox_revision = drawn.value(&start, |session| session.outbox().revision());
        let session = StoredValue::new(start);
        let book = BookOf(session);
        let next_register: StoredValue<Option<(u64, Register)>> = StoredValue::new(None);
        let (place, set_place) = signal(Route::read(&super::address()));
        let (now, set_now) = signal(clock::now());
        // An acceptance runs out by the minute.
        let minute = memo(move || now.get().wall_ms.whole_minute());
        let over = move |id| session.with_value(|session| session.is_over(id));
        // A mark in the visit on screen changes none of the others.
        let others = memo(move || {
            visits_revision.track();
            all_here.track();
            let shown = prefs.with(|prefs| prefs.visit);
            let others = |id: &Id| Some(*id) != shown && !over(*id);
            book.with_untracked(|book| {
                let others = visit_ids(book).into_iter().filter(others);
                others.map(|id| (id, book.revision(Part::Visit(id)))).collect::<Vec<_>>()
            })
        });
        // There is one, and it lives as long as the page.
        App(Box::leak(Box::new(Signals {
            session,
            drawn,
            store: StoredValue::new_local(None),
            estimates: StoredValue::new(Estimates::default()),
            kept: StoredValue::new(findings_cache::Kept::default()),
            due_kept: StoredValue::new(due_cache::Kept::default()),
            left: StoredValue::new_local(Vec::new()),
            came_from: StoredValue::new(Route::Register),
            set_place,
            set_now,
            kit_revision,
            visits_revision,
            attachments_revision,
            worked_out: RwSignal::new(0),
            outbox_revision,
            password: StoredValue::new(deliver::Secret::kept()),
            book,
            place,
            now,
            prefs,
            stage,
            unrecorded,
            failed,
            trouble,
            refused,
            persisted,
            all_here,
            later: RwSignal::new(Arrival::Awaited),
            owner: StoredValue::new(Owner::current()),
            drafts,
            next_register,
            register: memo(move || {
                let revision = sites_revision.get();
                let folded = next_register.try_update_value(Option::take).flatten();
                let folded = folded.filter(|(of, _)| *of == revision);
                folded.map_or_else(|| book.with_untracked(Register::of), |(_, register)| register)
            }),
            kit: memo(move || {
                kit_revision.track();
                book.with_untracked(Kit::of)
            }),
            off_elsewhere: memo(move || {
                others.track();
                minute.track();
                let (shown, now) = (prefs.with(|prefs| prefs.visit), clock::now().wall_ms);
                book.with_untracked(|book| off_elsewhere(book, shown, now, over))
            }),
            visit: memo(move || {
                let (shown, _) = visit_revision.get()?;
                book.with_untracked(|book| Visit::of(book, shown))
            }),
            profiling,
            who,
            saved,
            offer,
        })))
    }

    /// The only way state changes: the session steps, what is to be done about it is done, and only then is anything drawn.
    pub(in crate::ui) fn change<T>(self, step: impl FnOnce(&mut Session) -> T) -> T {
        let (outcome, effects) = {
            let mut session = self.session.write_value();
            (step(&mut session), session.effects())
        };
        self.follow(effects);
        outcome
    }

    /// Compiled once and not for every way in which the session changes.
    #[inline(never)]
    fn follow(self, effects: Vec<Effect>) {
        effects.into_iter().for_each(|effect| self.perform(effect));
        self.session.with_value(|session| self.drawn.follow(session));
    }

    /// This phone's id.
    pub fn phone(self) -> Id {
        self.session.with_value(Session::phone)
    }

    /// The unit of the screen.
    pub fn unit(self) -> Degree {
        self.prefs.with(|prefs| prefs.unit)
    }

    /// A new id for a thing made now.
    pub fn new_id(self) -> Id {
        ids::uuid(clock::now().wall_ms)
    }

    /// The stamp of a look at the clocks.
    pub fn stamp(self, now: Now) -> Stamp {
        self.session.with_value(|session| session.stamp(now.wall_ms, now.mono_ms))
    }

    fn tap(self, now: Now) -> Tap {
        Tap {
            wall_ms: now.wall_ms,
            mono_ms: now.mono_ms,
            offset_min: clock::offset_minutes(now.wall_ms).into(),
            durable: self.store.with_value(|store| store.as_ref().is_some_and(Store::safe)),
            zone: || clock::zone().unwrap_or_default(),
        }
    }

    /// When and where a command of this time is given.
    pub fn at(self, now: Now) -> At {
        let tap = self.tap(now);
        self.session.with_value(|session| session.at(&tap))
    }

    /// Test time of a test at a look at the clocks, ms since heat on.
    pub fn test_time(self, test: &Test, now: Now) -> TestTime {
        test.time_on(self.phone(), self.stamp(now))
    }

    /// Gives a command. A refusal stores nothing and is shown.
    pub fn give(self, now: Now, command: Command) {
        shown(self.act(now, command));
    }

    /// Gives a command for a caller that goes on only when it was done. A refusal stores nothing and is shown.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn act(self, now: Now, command: Command) -> Result<(), Refusal> {
        let tap = self.tap(now);
        self.change(|session| session.act(&tap, command))
    }

    /// Like [`App::act`] with attachments that the command names, for a caller that shows the refusal itself.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn try_act(self, now: Now, command: Command, attachments: Vec<Attachment>) -> Result<(), Refusal> {
        let tap = self.tap(now);
        self.change(|session| session.try_act(&tap, command, attachments))
    }

    /// Adds a photo, and offers to take it back. A refusal is shown.
    pub(in crate::ui) fn add_photo(self, now: Now, about: About, photo: Attachment) {
        let tap = self.tap(now);
        shown(self.change(|session| session.add_photo(&tap, about, photo)));
    }

    /// Undoes the decision of an entry and offers to put it back. A refusal is shown.
    pub fn undo(self, target: Hash, name: String) {
        shown(self.try_undo(target, name));
    }

    /// The same for a caller that goes on only when it was done.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn try_undo(self, target: Hash, name: String) -> Result<(), Refusal> {
        let tap = self.tap(clock::now());
        self.change(|session| session.undo(&tap, target, name))
    }

    /// Offers for a while to take an entry back.
    pub fn offer_back(self, entry: Hash, name: String, was_undo: bool) {
        self.change(|session| session.offer_back(entry, name, was_undo));
    }

    /// Takes back what is offered. A refusal is shown.
    pub fn take_back(self) {
        let tap = self.tap(clock::now());
        shown(self.change(|session| session.take_back(&tap)));
    }

    /// Adds entries that came from elsewhere: all of them or none.
    ///
    /// # Errors
    /// What the store said.
    pub async fn take_in(self, entries: Vec<Entry>, attachments: Vec<Attachment>) -> Result<(), String> {
        let store = self.store()?;
        let (mut batch, mut pictures, mut others) = (batch(&entries, &[]), Vec::new(), Vec::new());
        for attachment in attachments {
            let is_picture = attachment.is_picture();
            if !is_picture {
                others.push(attachment.clone());
            }
            // Each is hashed, and there may be hundreds of pictures.
            let stored = stored_attachment(attachment);
            if is_picture {
                pictures.extend(stored.hash.parse::<Hash>());
                next_piece().await;
            }
            batch.attachments.push(stored);
        }
        store.import(batch).await.map_err(|why| why.to_string())?;
        self.change(|session| session.imported(entries, others, pictures));
        Ok(())
    }

    /// Begins to seal a decision about a site.
    ///
    /// # Errors
    /// When nobody has the phone.
    pub(in crate::ui) fn begin_sealing(self, site: Id) -> Result<Sealing, Refusal> {
        let tap = self.tap(clock::now());
        self.change(|session| session.begin_sealing(&tap, Scope::Site(site)))
    }

    /// Seals its next entry.
    pub(in crate::ui) fn seal_next(self, sealing: &mut Sealing, draft: Draft) {
        self.session.with_value(|session| session.seal_next(sealing, draft));
    }

    /// Writes and applies the next of its rows; false when only the commit is left.
    ///
    /// # Errors
    /// When a site has changed since.
    pub(in crate::ui) fn write_next(self, sealing: &mut Sealing) -> Result<bool, NotSealed> {
        self.change(|session| session.write_next(sealing))
    }

    /// The register as it will be with its commit.
    pub(in crate::ui) fn fold(self, sealing: &Sealing) -> Folding {
        self.session.with_value(|session| session.fold(sealing))
    }

    /// Commits it with the register that it makes; the entry by which it can be undone.
    ///
    /// # Errors
    /// When a site has changed since.
    pub(in crate::ui) fn end_sealing(self, sealing: Sealing, register: Register) -> Result<Option<Hash>, NotSealed> {
        self.change(|session| {
            let entry = session.end_sealing(sealing)?;
            self.next_register.set_value(Some((session.book().revision(Part::Sites), register)));
            Ok(entry)
        })
    }

    /// Takes a look at the clocks, and records that they parted where something is timed.
    pub(in crate::ui) fn look(self, now: Now, gap: Option<clock::Gap>) {
        if let Some(clock::Gap { wall_ms, mono_ms, hidden }) = gap {
            let tap = self.tap(now);
            self.change(|session| session.clocks_parted(&tap, wall_ms, mono_ms, hidden));
        }
        self.set_now.set(now);
    }

    /// Visits change with every mark; a screen that lists them all tracks this.
    pub fn track_visits(self) {
        self.visits_revision.track();
    }

    /// Profile runs change with entries that leave the kit itself as it is; what shows them tracks this.
    pub fn track_kit(self) {
        self.kit_revision.track();
    }

    /// Changes the preferences and keeps them.
    pub fn prefer(self, change: impl FnOnce(&mut Prefs)) {
        self.change(|session| session.prefer(change));
    }

    /// Keeps a half-filled form, or forgets it when it is empty.
    pub fn keep_draft(self, form: String, text: Option<String>) {
        self.change(|session| session.keep_draft(form, text));
    }

    /// Changes the walking order of an area that is being made.
    pub fn walk(self, area: Id, step: impl FnOnce(&str) -> Option<String>) {
        let address = Route::Walk(area).address();
        let draft = self.drafts.with_untracked(|drafts| drafts.get(&address).cloned()).unwrap_or_default();
        self.keep_draft(address, step(&draft));
    }

    /// Says what a form has saved, until one goes elsewhere.
    pub fn say_saved(self, what: String) {
        self.change(|session| session.say_saved(what));
    }

    /// A new text attachment.
    pub fn text(self, text: &str) -> Attachment {
        Attachment::text(ids::random(), text)
    }
}

impl Default for App {
    fn default() -> App {
        App::new()
    }
}

/// A refusal that the session shows already, and that nothing else follows from.
fn shown(outcome: Result<(), Refusal>) {
    drop(outcome);
}

fn read_prefs() -> Prefs {
    let kept = settings::get(Setting::Prefs.key()).ok().flatten();
    kept.and_then(|text| stored::read(&text)).unwrap_or_else(|| {
        let fahrenheit = text::prefers_fahrenheit(&text::language());
        Prefs { unit: if fahrenheit { Degree::F } else { Degree::C }, ..Prefs::default() }
    })
}

/// The app of this page.
pub fn use_app() -> App {
    expect_context::<App>()
}
