//! What is still off, on every screen while anything is: big, with minutes, to be read across a panel room.

use crate::ui::app::use_app;
use crate::ui::memo::memo;
use crate::ui::parts::{Icon, Shape};
use crate::view::leaving::Card;
use crate::view::route::Route;
use leptos::prelude::*;

/// So many lines are shown on other screens; the rest is a tap away.
const LINES: usize = 4;

/// The card. Its own page says everything in full, so it is not there.
#[component]
pub(in crate::ui) fn still_off(
    /// One line, where there is room for no more.
    #[prop(optional)]
    bare: bool,
) -> impl IntoView {
    let app = use_app();
    let minute = memo(move || if app.anything_off() { app.now.get().wall_ms / 60_000 * 60_000 } else { 0 });
    let elsewhere = memo(move || app.off_elsewhere());
    let here = memo(move || matches!(app.place.get(), Route::StillOff));
    let card: Memo<Option<Card>> = memo(move || {
        let now = minute.get();
        if here.get() {
            return None;
        }
        match elsewhere.get() {
            Some(visit) => app.leaving_of(&visit, now, |of| of.card()),
            None => app.leaving(now, |of| of.card()).flatten(),
        }
    });
    let open = move || {
        if let Some(visit) = elsewhere.get_untracked() {
            app.prefer(|prefs| prefs.visit = Some(visit.id));
        }
        app.go(Route::StillOff);
    };
    let most = if bare { 1 } else { LINES };
    move || {
        card.get().map(|card| {
            let more = card.lines.len().saturating_sub(most);
            let more = (more > 0).then(|| view! { <span class="off-more">{format!("+{more} more")}</span> });
            let line = |line: crate::view::leaving::Line| {
                view! { <span class="off-line"><b>{line.what}</b><span class="num">{line.minutes}</span></span> }
            };
            let alert = |words: String| view! { <span class="off-alert"><Icon of=Shape::Alarm />{words}</span> };
            let inside = view! {
                {(!bare).then(|| view! { <span class="off-title">{card.title}</span> })}
                {card.lines.into_iter().take(most).map(line).collect_view()}
                {more}
                {card.alerts.into_iter().map(alert).collect_view()}
            };
            match bare {
                // Beside a mark nothing else is to be hit.
                true => view! { <div class="still-off bare" role="status" data-testid="still-off">{inside}</div> }
                    .into_any(),
                false => view! {
                    <button type="button" class="still-off" data-testid="still-off" on:click=move |_| open()>
                        {inside}
                    </button>
                }
                .into_any(),
            }
        })
    }
}
