//! Loads the invented demonstration.

use crate::book::decide::decide;
use crate::browser::clock;
use crate::browser::next_piece;
use crate::ui::app::{App, handed_over};
use crate::ui::transfer::{SLICE_MS, Transfers};
use crate::view::demo::Story;
use crate::view::route::Route;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// Has the story of the demonstration told, a slice at a time, stores it whole, opens today's visit on it and goes there. A refusal is
/// shown, and then nothing is stored.
pub(in crate::ui) fn load_demo(app: App, transfers: Transfers) {
    if transfers.demo.with_untracked(Option::is_some) {
        return;
    }
    let now = clock::now();
    let (offset, zone) = (clock::offset_minutes(now.wall_ms).into(), clock::zone().unwrap_or_default());
    let mut story = Story::new(|| app.new_id(), now.wall_ms, offset, zone);
    let taken = |site| app.book.with_untracked(|book| decide(book, app.at(now), site)).err();
    if let Some(refusal) = story.site().and_then(taken) {
        app.change(|session| session.refuse_by(&refusal));
        return;
    }
    transfers.demo.set(Some(0));
    spawn_local(async move {
        let mut slice = clock::now().mono_ms;
        let told = loop {
            match story.tell() {
                Ok(true) => {}
                Ok(false) => break Ok(story.told()),
                Err(refusal) => break Err(refusal),
            }
            if clock::now().mono_ms.saturating_sub(slice) >= SLICE_MS {
                transfers.demo.set(Some(story.percent()));
                next_piece().await;
                slice = clock::now().mono_ms;
            }
        };
        match told {
            Err(refusal) => app.change(|session| session.refuse_by(&refusal)),
            Ok(told) => match app.take_in(told.entries, told.attachments).await {
                Err(why) => app.report(why),
                Ok(()) => {
                    if app.act(clock::now(), told.open).is_ok() {
                        app.prefer(|prefs| prefs.visit = Some(told.visit));
                        // Three years that are over are no matter of the next start's first screen.
                        if app.all_here.get_untracked() {
                            app.change(|session| session.read_all(Ok(()), &handed_over()));
                        }
                        app.go(Route::Visit);
                    }
                }
            },
        }
        transfers.demo.set(None);
    });
}
