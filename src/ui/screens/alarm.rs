//! An alarm that is not ours, or an output that moved: one key on every screen while anything is on test, and the card that stays until
//! a named person has cleared it.

use crate::book::body::NotOurs;
use crate::book::command::Command;
use crate::book::visit::Visit;
use crate::browser::clock;
use crate::encoding::stored;
use crate::ui::app::use_app;
use crate::ui::memo::memo;
use crate::ui::parts::{Key, Look, Notice, Says, Shape, Sheet, Show};
use crate::view::route::{Form, Route};
use crate::view::words;
use leptos::prelude::*;

/// The key while something is on test, and the card while an alarm is not cleared.
#[component]
pub(in crate::ui) fn alarm_not_ours(
    /// A drawing alone, where there is room for no word.
    #[prop(optional)]
    bare: bool,
) -> impl IntoView {
    let app = use_app();
    let on_test = memo(move || app.visit.with(|visit| visit.as_ref().is_some_and(Visit::is_on_test)));
    let open = memo(move || {
        app.visit.with(|visit| visit.iter().flat_map(Visit::alarms_not_cleared).map(|alarm| alarm.hash).next())
    });
    let asks = RwSignal::new(false);
    let say = move |what: NotOurs| {
        let Some(visit) = app.prefs.with_untracked(|prefs| prefs.visit) else { return };
        if app.act(clock::now(), Command::AlarmNotOurs { visit, what, note: None }).is_ok() {
            asks.set(false);
        }
    };
    let key = move |what: NotOurs| {
        view! {
            <Key
                label=words::not_ours(what)
                look=Look::Danger
                wide=true
                on_press=move |()| say(what)
                testid=format!("not-ours-{}", stored::name(&what))
            />
        }
    };
    view! {
        {move || open.get().filter(|_| !bare).map(|alarm| view! {
            <Notice says=Says::Alarm word=words::TREAT_AS_FIRE_WORD words=words::TREAT_AS_FIRE testid="alarm-not-ours">
                <div class="keys">
                    <Key label=words::CLEAR_ALARM on_press=move |()| app.go(Route::Form(Form::ClearAlarm(alarm))) testid="clear-alarm" />
                </div>
            </Notice>
        })}
        <Show when=move || on_test.get()>
            <div class="on-test" class:bare=bare>
                <Key label=words::ALARM_NOT_OURS look=Look::Plain icon=Shape::Alarm bare on_press=move |()| asks.set(true) testid="not-ours" />
            </div>
        </Show>
        <Sheet title=words::ALARM_NOT_OURS open=asks close=words::CLOSE on_close=move |()| asks.set(false) testid="not-ours-sheet">
            <div class="section-body"><p>{words::ALARM_NOT_OURS_WHAT}</p></div>
            <div class="keys">{[NotOurs::Alarm, NotOurs::OutputMoved].map(key).collect_view()}</div>
        </Sheet>
    }
}
