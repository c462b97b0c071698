//! What is still off, on every screen while anything is: big, with minutes, to be read across a panel room.

use crate::ui::app::use_app;
use crate::ui::memo::memo;
use crate::ui::parts::{Icon, Shape};
use crate::units::Wall;
use crate::view::leaving::{ALSO_ELSEWHERE, Card, OFF_ELSEWHERE};
use crate::view::route::Route;
use leptos::prelude::*;

/// So many lines are shown on other screens; the rest is a tap away.
const LINES: usize = 4;

/// Which visit the card is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Whose {
    /// The one on screen.
    Shown,
    /// The one on screen; something is off in another one, too.
    ShownAndOther,
    /// Another one.
    Other,
}

/// The card. Its own page says everything in full, so it is not there.
#[component]
pub(in crate::ui) fn still_off(
    /// One line, where there is room for no more.
    #[prop(optional)]
    bare: bool,
) -> impl IntoView {
    let app = use_app();
    let minute = memo(move || if app.anything_off() { app.now.get().wall_ms.whole_minute() } else { Wall(0) });
    let elsewhere = app.off_elsewhere;
    let here = memo(move || matches!(app.place.get(), Route::StillOff));
    // That of the visit on screen, else of another.
    let card: Memo<Option<(Card, Whose)>> = memo(move || {
        let now = minute.get();
        let other = elsewhere.get();
        let shown = if here.get() { None } else { app.leaving(now, |of| of.card()).flatten() };
        match (shown, other) {
            (Some(card), None) => Some((card, Whose::Shown)),
            (Some(card), Some(_)) => Some((card, Whose::ShownAndOther)),
            (None, Some(visit)) => Some((app.leaving_of(&visit, now, |of| of.card())?, Whose::Other)),
            (None, None) => None,
        }
    });
    let there = move || {
        if let Some(visit) = elsewhere.get_untracked() {
            app.prefer(|prefs| prefs.visit = Some(visit.id));
        }
        app.go(Route::StillOff);
    };
    let most = if bare { 1 } else { LINES };
    move || {
        card.get().map(|(card, whose)| {
            let other = whose == Whose::Other;
            let open = move || if other { there() } else { app.go(Route::StillOff) };
            let title = if other { OFF_ELSEWHERE } else { card.title };
            let more = card.lines.len().saturating_sub(most);
            let more = (more > 0).then(|| view! { <span class="off-more">{format!("+{more} more")}</span> });
            let line = |line: crate::view::leaving::Line| {
                view! { <span class="off-line"><b>{line.what}</b><span class="num">{line.minutes}</span></span> }
            };
            let alert = |words: String| view! { <span class="off-alert"><Icon of=Shape::Alarm />{words}</span> };
            let inside = view! {
                {(!bare || other).then(|| view! { <span class="off-title">{title}</span> })}
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
                    {(whose == Whose::ShownAndOther).then(|| view! {
                        <button type="button" class="still-off" data-testid="off-elsewhere" on:click=move |_| there()>
                            <span class="off-line"><b>{ALSO_ELSEWHERE}</b></span>
                        </button>
                    })}
                }
                .into_any(),
            }
        })
    }
}
