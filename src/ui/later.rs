//! What the first screen and a test do without. In the small build it is a file of its own (`desk::split`), fetched when the first screen
//! has its data; elsewhere it is simply there.
//!
//! Its functions are reached through one table of pointers: the first part refers to none of them by name, so that they and all that only
//! they need can be cut off, and once the file is here a call is a plain call that waits for nothing.

use super::app::{App, Found};
use super::page::Drawn;
use super::pages::{self, page_at};
use super::paper::Paper;
use super::parts::{Notice, Says};
use super::perform::Performer;
use super::screens::{self, FormScreen, OneOfRegister};
use super::transfer::Transfers;
use crate::book::Id;
use crate::browser::after;
use crate::session::{Effect, Session};
use crate::view::page::Request;
use crate::view::route::Route;
use crate::view::words;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// A screen that comes later.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Screen {
    /// A place of the bar's, or one that leads on from there.
    Place(Route),
    /// A finished test, played.
    Play(Id),
    /// The profile run of a heater that goes on.
    ProfileRun(Id),
    /// Records of a test version.
    OldRecords,
    /// The browser's own buttons for files, which nobody sees.
    Files,
}

/// The table.
pub(super) struct Later {
    /// Draws a screen.
    screen: fn(App, Screen) -> AnyView,
    /// Begins what goes on beside the screens.
    pub(super) begin: fn(App),
    /// Does what a page asks for.
    pub(super) ask: fn(Performer, Request) -> bool,
    /// Works out what a visit says.
    pub(super) find: fn(App, Id) -> Found,
    /// Does what the session says about files for the office.
    pub(super) deliver: fn(App, Effect),
}

static LATER: Later =
    Later { screen, begin, ask: Performer::ask_later, find: App::find, deliver: App::perform_delivery };

/// Whether a place is drawn without the later part.
pub(super) fn is_first(place: &Route) -> bool {
    matches!(place, Route::Visit | Route::Before(_) | Route::Test(_))
}

/// How far the later part has come.
#[derive(Clone, Copy)]
pub(super) enum Arrival {
    /// It is on its way.
    Awaited,
    /// It failed to load or takes long, and is still tried.
    Missing,
    /// It is here.
    Here(&'static Later),
}

impl Arrival {
    /// The table, once it is here.
    pub(super) fn table(self) -> Option<&'static Later> {
        match self {
            Arrival::Here(later) => Some(later),
            Arrival::Awaited | Arrival::Missing => None,
        }
    }
}

/// How long until it is tried again, ms. It can fail only until the service worker has kept it: on a first visit without a network.
const AGAIN_MS: i32 = 3_000;
/// How long it may take until that is said, ms. It may take longer: what comes slowly is not cut off.
const SLOW_MS: i32 = 5_000;

/// It did not come.
struct NotLoaded;

#[cfg(feature = "split")]
impl From<leptos::wasm_split::SplitLoaderError> for NotLoaded {
    fn from(_: leptos::wasm_split::SplitLoaderError) -> NotLoaded {
        NotLoaded
    }
}

/// The one way into the later part: the only reference to the table, so that whatever only the table reaches can be cut off. The macro
/// makes this a function that first fetches the cut-off file; a failure is not kept, and the next call fetches anew.
#[cfg(feature = "split")]
#[leptos::wasm_split::wasm_split(later, wasm_split_path = leptos::wasm_split, fallible)]
fn load() -> Result<&'static Later, NotLoaded> {
    Ok(&LATER)
}

/// In one file with the rest.
#[cfg(not(feature = "split"))]
async fn load() -> Result<&'static Later, NotLoaded> {
    Ok(&LATER)
}

/// Fetches it until it is here, and begins what goes on beside the screens.
pub(super) async fn fetch(app: App) {
    let missing = move || {
        if matches!(app.later.get_untracked(), Arrival::Awaited) {
            app.later.set(Arrival::Missing);
        }
    };
    spawn_local(async move {
        after(SLOW_MS).await;
        missing();
    });
    let later = loop {
        match load().await {
            Ok(later) => break later,
            Err(NotLoaded) => missing(),
        }
        after(AGAIN_MS).await;
    };
    app.later_came(later);
}

fn begin(app: App) {
    app.change(Session::all_rules);
    expect_context::<Transfers>().listen();
    expect_context::<Paper>().listen();
    app.take_up_outbox();
}

/// A screen as soon as its part is here; until then, what is going on.
pub(super) fn draw(app: App, of: Screen) -> AnyView {
    let drawn = move || match app.later.get() {
        Arrival::Here(later) => (later.screen)(app, of),
        // Nobody sees these.
        _ if of == Screen::Files => ().into_any(),
        awaited => {
            let missing = matches!(awaited, Arrival::Missing).then(|| {
                view! { <Notice says=Says::Warning word=words::REST_MISSING_WORD words=words::REST_MISSING testid="rest-missing" /> }
            });
            view! {
                <div class="page" data-testid="rest-awaited">
                    <h1 class="section-body">{words::REST_AWAITED}</h1>
                    {missing}
                </div>
            }
            .into_any()
        }
    };
    drawn.into_any()
}

fn screen(app: App, of: Screen) -> AnyView {
    match of {
        Screen::Place(place) => place_screen(app, place),
        Screen::Play(test) => view! { <screens::Play test /> }.into_any(),
        Screen::ProfileRun(heater) => view! { <screens::ProfileRun heater /> }.into_any(),
        Screen::OldRecords => view! { <screens::OldRecords /> }.into_any(),
        Screen::Files => view! { <screens::Files /> }.into_any(),
    }
}

fn place_screen(app: App, place: Route) -> AnyView {
    if let Some(page) = page_at(app, place) {
        return view! { <Drawn page /> }.into_any();
    }
    match place {
        Route::Findings | Route::Finding(_) => view! { <screens::Results /> }.into_any(),
        Route::Register => view! { <screens::Register /> }.into_any(),
        Route::Position(id) => view! { <OneOfRegister page=pages::position(app, id) /> }.into_any(),
        Route::InArea(area) => view! { <OneOfRegister page=pages::in_area(app, area) /> }.into_any(),
        Route::Walk(area) => view! { <OneOfRegister page=pages::walk(app, area) /> }.into_any(),
        Route::Profile(heater) => view! { <screens::Profile heater /> }.into_any(),
        Route::ProfileRun(heater) => view! { <screens::ProfileRunBefore heater /> }.into_any(),
        Route::Folder => view! { <screens::Folder /> }.into_any(),
        Route::Passphrase => view! { <screens::Passphrase /> }.into_any(),
        Route::Form(form) => view! { <FormScreen form /> }.into_any(),
        // A page, drawn above, or a screen of the first part.
        _ => ().into_any(),
    }
}
