//! A site's spreadsheet in and out: what its page asks of the phone. Whatever takes long is done in steps, so that a tap has its turn.

use crate::book::Id;
use crate::book::decide::Importing;
use crate::book::entries::Part;
use crate::book::refusal::Refusal;
use crate::browser::share::{self, NotRead};
use crate::browser::{clock, next_piece};
use crate::encoding::csv;
use crate::session::NotSealed;
use crate::ui::app::App;
use crate::units::Mono;
use crate::view::route::Route;
use crate::view::sheet::load::{self, Loading, NoSheet, Sheet};
use crate::view::sheet::page::{Next, Ready, Stage, State};
use crate::view::sheet::planner::Planner;
use crate::view::sheet::{Ask, Format, MOST_BYTES, Setup, export, heads};
use crate::view::words;
use leptos::html::Input;
use leptos::prelude::*;
use leptos::task::spawn_local;
use std::sync::Arc;

/// How long something is done before a tap has its turn, ms: with what is drawn of it a frame stays well below 50.
const SLICE_MS: i64 = 12;

/// Steps between two looks at the clock.
const FEW: usize = 8;

/// What takes longer is told, ms.
const SOON_MS: i64 = 300;

/// Words of the browser's own button for files.
pub(super) const FILE: &str = "Choose a spreadsheet";

/// A file's name and bytes.
type Source = (String, Arc<Vec<u8>>);

/// What is going on with spreadsheets, given by context.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sheets {
    app: App,
    /// What the page shows of it.
    pub(super) state: RwSignal<State>,
    /// The browser's own button for files, whose words and size cannot be set.
    pub(super) input: NodeRef<Input>,
    /// The cells that were pasted.
    pub(super) cells: RwSignal<String>,
    source: StoredValue<Option<Source>>,
    /// Counts what was begun: what an earlier one still does is dropped.
    run: StoredValue<u32>,
}

/// It was stopped, or something else was begun.
struct Stopped;

/// One piece of work that takes long.
#[derive(Clone, Copy)]
struct Work {
    sheets: Sheets,
    run: u32,
    site: Id,
    since: Mono,
    /// From when on it is told how far it is: what is done soon leaves the page as it is.
    tell: Mono,
}

impl Work {
    /// Lets a tap have its turn where it is time.
    async fn rest(&mut self, what: &'static str, percent: impl FnOnce() -> usize) -> Result<(), Stopped> {
        self.turn(|| Stage::Working(what, percent().min(99))).await;
        if self.goes_on() { Ok(()) } else { Err(Stopped) }
    }

    /// The same while it is saved, which is carried through.
    async fn carry_on(&mut self, percent: impl FnOnce() -> usize) {
        self.turn(|| Stage::Saving(percent().min(99))).await;
    }

    async fn turn(&mut self, stage: impl FnOnce() -> Stage) {
        if clock::now().mono_ms.saturating_sub(self.since) < SLICE_MS {
            return;
        }
        if self.since >= self.tell && self.goes_on() {
            let stage = stage();
            if self.sheets.state.with_untracked(|state| state.stage != stage) {
                self.sheets.state.update(|state| state.stage = stage);
            }
        }
        next_piece().await;
        self.since = clock::now().mono_ms;
    }

    fn goes_on(self) -> bool {
        self.sheets.run.get_value() == self.run
    }

    fn show(self, stage: Stage) {
        if self.goes_on() {
            self.sheets.state.set(State { site: Some(self.site), stage, pick: None });
        }
    }
}

fn part((done, of): (usize, usize)) -> usize {
    done * 100 / of.max(1)
}

impl Sheets {
    /// Nothing is going on.
    pub(super) fn start(app: App) {
        provide_context(Sheets {
            app,
            state: RwSignal::new(State::default()),
            input: NodeRef::new(),
            cells: RwSignal::new(String::new()),
            source: StoredValue::new(None),
            run: StoredValue::new(0),
        });
    }

    fn site(self) -> Option<Id> {
        match self.app.place.get_untracked() {
            Route::Sheet(site) => Some(site),
            _ => None,
        }
    }

    fn ready(self) -> Option<Arc<Ready>> {
        self.state.with_untracked(|state| match &state.stage {
            Stage::Ready(ready) => Some(Arc::clone(ready)),
            _ => None,
        })
    }

    /// Begins something, and ends what was begun before.
    fn work(self, site: Id) -> Work {
        self.run.update_value(|run| *run += 1);
        let now = clock::now().mono_ms;
        Work { sheets: self, run: self.run.get_value(), site, since: now, tell: now.saturating_add(SOON_MS) }
    }

    /// Does what the page asks for.
    pub(super) fn ask(self, ask: Ask) {
        let Some(site) = self.site() else { return };
        match ask {
            Ask::Choose => {
                if let Some(input) = self.input.get_untracked() {
                    input.click();
                }
            }
            Ask::Paste => {
                let text = self.cells.get_untracked();
                self.cells.set(String::new());
                self.take(site, String::new(), text.into_bytes());
            }
            Ask::Stop | Ask::Again => {
                self.run.update_value(|run| *run += 1);
                self.source.set_value(None);
                self.state.set(State { site: Some(site), ..State::default() });
            }
            Ask::Pick(pick) => self.state.update(|state| state.pick = Some(pick)),
            Ask::Import => self.import(site),
            Ask::Export => self.export(site),
            other => self.change(site, other),
        }
    }

    /// The file that was chosen.
    pub(super) fn load(self) {
        let (Some(site), Some(input)) = (self.site(), self.input.get_untracked()) else { return };
        let work = self.work(site);
        spawn_local(async move {
            let Some((name, bytes)) = share::pick_bytes(&input, MOST_BYTES as u64).await else {
                return work.show(Stage::Start);
            };
            match bytes {
                Ok(bytes) => self.take(site, name, bytes),
                Err(NotRead::TooLarge(_)) => work.show(Stage::Refused(name, NoSheet::TooLarge.words())),
                Err(NotRead::ChooseAgain(why)) => {
                    work.show(Stage::Refused(name, format!("It could not be read: {why}. Choose it again.")));
                }
            }
        });
    }

    fn take(self, site: Id, name: String, bytes: Vec<u8>) {
        match load::guess(&bytes) {
            Ok(format) => {
                let bytes = Arc::new(bytes);
                self.source.set_value(Some((name, bytes)));
                self.read(site, format);
            }
            Err(why) => {
                let stage = Stage::Refused(name, why.words());
                self.state.set(State { site: Some(site), stage, pick: None });
            }
        }
    }

    /// Reads the file in this way and shows what it would do.
    fn read(self, site: Id, format: Format) {
        let Some((name, bytes)) = self.source.get_value() else { return };
        let mut work = self.work(site);
        spawn_local(async move {
            let rows = async |work: &mut Work| -> Result<Result<Sheet, NoSheet>, Stopped> {
                let mut loading = match Loading::begin(&bytes, format) {
                    Ok(loading) => loading,
                    Err(why) => return Ok(Err(why)),
                };
                loop {
                    match loading.step() {
                        Ok(true) => work.rest(READING, || loading.percent()).await?,
                        Ok(false) => return Ok(loading.end()),
                        Err(why) => return Ok(Err(why)),
                    }
                }
            };
            match rows(&mut work).await {
                Err(Stopped) => {}
                Ok(Err(why)) => work.show(Stage::Refused(name, why.words())),
                Ok(Ok(sheet)) => {
                    let setup = self.app.known(|known| {
                        let last = known.register.sheet_columns.get(&site).and_then(|last| last.now());
                        heads::setup(&sheet.rows, last)
                    });
                    self.plan(work, name, format, Arc::new(sheet), setup).await;
                }
            }
        });
    }

    /// Works out what the rows would do, and shows it.
    async fn plan(self, mut work: Work, name: String, format: Format, sheet: Arc<Sheet>, setup: Setup) {
        let (app, site) = (self.app, work.site);
        let revision = sites(app);
        let mut planner = app.known(|known| Planner::new(known, site, &sheet.rows, &setup));
        let few = |planner: &mut Planner| {
            app.known(|known| (0..FEW).all(|_| planner.step(known, &sheet.rows, &setup, &mut || app.new_id())))
        };
        while few(&mut planner) {
            if work.rest(COMPARING, || part(planner.progress(&sheet.rows, &setup))).await.is_err() {
                return;
            }
        }
        let plan = Arc::new(app.known(|known| planner.end(known)));
        work.show(Stage::Ready(Arc::new(Ready { name, format, sheet, setup, plan, revision })));
    }

    /// Something was changed by hand.
    fn change(self, site: Id, ask: Ask) {
        let Some(ready) = self.ready() else { return };
        let next = self.app.known(|known| {
            let last = known.register.sheet_columns.get(&site).and_then(|last| last.now());
            ready.changed(ask, last)
        });
        match next {
            Some(Next::Load(format)) => self.read(site, format),
            Some(Next::Plan(setup)) => self.again(site, &ready, setup),
            None => {}
        }
    }

    fn again(self, site: Id, ready: &Ready, setup: Setup) {
        let work = self.work(site);
        let (name, format, sheet) = (ready.name.clone(), ready.format, Arc::clone(&ready.sheet));
        spawn_local(self.plan(work, name, format, sheet, setup));
    }

    fn import(self, site: Id) {
        let Some(ready) = self.ready() else { return };
        if ready.revision != sites(self.app) {
            // What is shown is no longer what it would do.
            return self.again(site, &ready, ready.setup.clone());
        }
        let mut work = self.work(site);
        spawn_local(async move {
            let outcome = self.import_in_steps(&mut work, &ready).await;
            match outcome {
                Err(Stopped) => {}
                Ok(Ok(stage)) => {
                    self.source.set_value(None);
                    work.show(stage);
                }
                Ok(Err(NotSealed::Changed)) => self.again(site, &ready, ready.setup.clone()),
                Ok(Err(NotSealed::Refused(refusal))) => {
                    let words = words::refusal(&refusal, self.app.unit());
                    work.show(Stage::Refused(ready.name.clone(), words));
                }
            }
        });
    }

    async fn import_in_steps(self, work: &mut Work, ready: &Ready) -> Result<Result<Stage, NotSealed>, Stopped> {
        let app = self.app;
        let no = |refusal: Refusal| Ok(Err(NotSealed::Refused(refusal)));
        let sealing = app.begin_sealing(work.site);
        let header = ready.plan.decision(work.site, app.new_id(), &ready.setup);
        let importing = app.known(|known| Importing::begin(known.register, header));
        let (mut sealing, mut importing) = match (sealing, importing) {
            (Ok(sealing), Ok(importing)) => (sealing, importing),
            (Err(refusal), _) | (_, Err(refusal)) => return no(refusal),
        };
        let count = ready.plan.count();
        for (done, put) in ready.plan.positions().enumerate() {
            if let Err(refusal) = app.known(|known| importing.next(known.register, put.clone())) {
                return no(refusal);
            }
            work.rest(IMPORTING, || part((done, count * 2))).await?;
        }
        let drafts = match importing.end() {
            Ok(drafts) => drafts,
            Err(refusal) => return no(refusal),
        };
        let parts = drafts.len();
        for (done, draft) in drafts.into_iter().enumerate() {
            app.seal_next(&mut sealing, draft);
            work.rest(IMPORTING, || 50 + part((done, parts * 2))).await?;
        }
        // From here on it is carried through: what was written cannot be taken off the phone again.
        let mut written = 0;
        loop {
            match app.write_next(&mut sealing) {
                Ok(true) => written += 1,
                Ok(false) => break,
                Err(why) => return Ok(Err(why)),
            }
            work.carry_on(|| part((written, parts * 2))).await;
        }
        let mut folding = app.fold(&sealing);
        while folding.step() {
            work.carry_on(|| 50 + part(folding.progress()) / 2).await;
        }
        let words = format!("{} imported.", words::plural(count, "row", "rows"));
        let entry = app.end_sealing(sealing, folding.end());
        Ok(entry.map(|entry| entry.map_or(Stage::Start, |entry| Stage::Done(words, entry))))
    }

    fn export(self, site: Id) {
        let app = self.app;
        let mut work = self.work(site);
        spawn_local(async move {
            let mut writing = app.known(|known| export::Writing::new(known, site));
            while app.known(|known| (0..FEW).all(|_| writing.step(known))) {
                if work.rest(WRITING, || part(writing.progress())).await.is_err() {
                    return;
                }
            }
            let name = app.known(|known| export::file_name(known, site));
            let stage = match share::download(&name, &writing.end(), csv::MEDIA) {
                Ok(()) => Stage::Saved(name),
                Err(why) => Stage::Refused(name, format!("It could not be saved: {why}.")),
            };
            work.show(stage);
        });
    }
}

const READING: &str = "Reading the sheet";
const COMPARING: &str = "Comparing with what is here";
const IMPORTING: &str = "Importing";
const WRITING: &str = "Writing the sheet";

/// When a site changed last.
fn sites(app: App) -> u64 {
    app.book.with_untracked(|book| book.revision(Part::Sites))
}
