//! The screens. Wasm only; nothing uses this module.
//!
//! `app` follows the session, is the one way it changes and performs its effects; `shell` is the bar and what stands above every
//! screen, `cue_player` turns the cues of `view` into sound, `memo` makes values that follow others; `screens` wire, `parts` know nothing
//! of the app. No number is compared here: `view` has done so.

#![allow(unreachable_pub, reason = "the component macro makes its props as visible as the component is written")]

pub mod app;
mod cue_player;
mod finding;
mod later;
mod memo;
mod page;
mod pages;
mod paper;
pub mod parts;
mod perform;
mod photos;
mod screens;
mod sheet;
mod shell;
mod transfer;

use crate::browser::{clock, locks, panic};
use crate::session::Session;
use crate::ui::memo::memo;
use crate::view::route::Route;
use app::App;
use futures_util::future::join;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// Mounts the app.
pub fn start() {
    panic::hook();
    leptos::mount::mount_to_body(root);
}

fn root() -> impl IntoView {
    let app = App::new();
    provide_context(app);
    spawn_local(become_writer(app));
    let moved = window_event_listener(leptos::ev::hashchange, move |_| {
        // Also told of what the app itself has set.
        let place = Route::read(&address());
        if app.place.get_untracked() != place {
            app.show(place);
        }
    });
    on_cleanup(move || moved.remove());
    watch_clocks(app);
    cue_player::start(app);
    transfer::Transfers::start(app);
    photos::Photos::start(app);
    sheet::Sheets::start(app);
    paper::Paper::start();
    finding::Finding::start(app);
    view! { <shell::Frame /> }
}

/// Waits for the lock, then reads the data: a tab that does not write shows nothing, so it shows nothing stale.
async fn become_writer(app: App) {
    // Opening takes as long as the lock does, and is no reading.
    let (lock, store) = join(writer_lock(app), app.open()).await;
    match lock {
        // Held until the page goes.
        Ok(lock) => std::mem::forget(lock),
        Err(_) => app.report(
            "This browser cannot tell whether another tab is open. Use one tab only, or marks may be lost.".into(),
        ),
    }
    app.read(store).await;
}

async fn writer_lock(app: App) -> Result<locks::Lock, locks::NoLock> {
    match locks::try_for(locks::WRITER).await {
        Err(locks::NoLock::Taken) => {
            app.change(Session::wait_for_other_tab);
            locks::wait_for(locks::WRITER).await
        }
        other => other,
    }
}

fn watch_clocks(app: App) {
    let watch = StoredValue::new_local(clock::watch(move |now, gap| app.look(now, gap)));
    // What is off has its minutes on screen.
    let active = memo(move || app.active() || app.anything_off());
    Effect::new(move |_| {
        let active = active.get();
        watch.with_value(|watch| watch.tick(active));
    });
}

fn address() -> String {
    window().location().hash().unwrap_or_default()
}

fn set_address(address: &str) {
    // Setting the hash is refused by no browser; a place that cannot be set only loses the back button.
    drop(window().location().set_hash(address));
}
