//! Settings: people, units, alerts, what the browser says of the data, cautions, about.

use crate::browser::persist;
use crate::trade::caution::{BEFORE_A_VISIT, DEFERS, IN_A_TEST};
use crate::ui::app::use_app;
use crate::ui::cueing::use_cueing;
use crate::ui::follow::memo;
use crate::ui::parts::{Badge, Choice, Key, Notice, PageHead, Pick, Row, Rows, Section, Shape, Show, Switch, Tone};
use crate::ui::screens::computed::ToComputed;
use crate::view::cues::CueKind;
use crate::view::place::Place;
use crate::view::prefs::Prefs;
use crate::view::settings as words;
use crate::view::words::{BACK, PEOPLE};
use leptos::prelude::*;
use leptos::task::spawn_local;

/// The Settings place.
#[component]
pub(in crate::ui) fn settings() -> impl IntoView {
    let app = use_app();
    view! {
        <div class="page" data-testid="settings">
        <PageHead title=words::TITLE back=BACK on_back=move |()| app.go(Place::Visit) />
        <Rows label=PEOPLE>
            <Row title=PEOPLE sign=Shape::Pen on_press=Callback::new(move |()| app.go(Place::People)) testid="to-people" />
        </Rows>
        <Looks />
        <Cueing />
        <Storage />
        <Section title=words::CAUTIONS>
            <Notice word=words::CAUTIONS words=DEFERS testid="defers" />
            <Rows label=words::CAUTIONS>
                {BEFORE_A_VISIT.iter().chain(IN_A_TEST).map(|caution| view! {
                    <Row title=caution.words detail=format!("Source: {}", caution.source) sign=Shape::Warning testid="caution" />
                }).collect_view()}
            </Rows>
        </Section>
        <Section title=words::ABOUT>
            <p class="section-body" data-testid="version">{words::version(env!("CARGO_PKG_VERSION"))}</p>
            <ToComputed />
        </Section>
        </div>
    }
}

#[component]
fn looks() -> impl IntoView {
    let app = use_app();
    let unit = move || {
        let unit = app.unit();
        words::UNITS.iter().find(|(of, ..)| *of == unit).map_or_else(String::new, |(_, value, _)| (*value).to_string())
    };
    let pick_unit = move |value: String| {
        if let Some((unit, ..)) = words::UNITS.iter().find(|(_, name, _)| *name == value) {
            app.prefer(|prefs| prefs.unit = *unit);
        }
    };
    let theme = move || {
        let theme = app.prefs.with(|prefs| prefs.theme);
        words::THEMES
            .iter()
            .find(|(of, ..)| *of == theme)
            .map_or_else(String::new, |(_, value, _)| (*value).to_string())
    };
    let pick_theme = move |value: String| {
        if let Some((theme, ..)) = words::THEMES.iter().find(|(_, name, _)| *name == value) {
            app.prefer(|prefs| prefs.theme = *theme);
        }
    };
    let units: Vec<Pick> = words::UNITS.iter().map(|(_, value, label)| Pick::new(value, label)).collect();
    let themes: Vec<Pick> = words::THEMES.iter().map(|(_, value, label)| Pick::new(value, label)).collect();
    view! {
        <Section title=words::LOOK>
            <Choice
                id="unit"
                label=words::UNIT
                picks=units
                value=Signal::derive(unit)
                on_pick=pick_unit
                across=true
            />
            <Choice id="theme" label=words::THEME picks=themes value=Signal::derive(theme) on_pick=pick_theme />
        </Section>
    }
}

type Channel = (&'static str, fn(&mut Prefs) -> &mut bool, &'static str);

const CHANNELS: [Channel; 3] = [
    (words::CHANNELS[0], |prefs| &mut prefs.sound, "cue-sound"),
    (words::CHANNELS[1], |prefs| &mut prefs.vibration, "cue-vibration"),
    (words::CHANNELS[2], |prefs| &mut prefs.speech, "cue-speech"),
];

#[component]
fn cueing() -> impl IntoView {
    let app = use_app();
    let cueing = use_cueing();
    let channel = move |(label, of, testid): Channel| {
        let on = Signal::derive(move || *of(&mut app.prefs.get()));
        let turn = move |on: bool| app.prefer(|prefs| *of(prefs) = on);
        view! { <Switch label on words=words::ON_OFF on_turn=turn testid /> }
    };
    let row = move |kind: CueKind| {
        let press = move |()| {
            cueing.wake();
            cueing.play(kind, "");
        };
        view! {
            <Row
                title=kind.words()
                detail=format!("“{}”", kind.sentence())
                sign=Shape::Sound
                on_press=Callback::new(press)
                testid=format!("try-{}", words::cue_name(kind))
            />
        }
    };
    view! {
        <Section title=words::CUES>
            <div class="keys">{CHANNELS.map(channel).collect_view()}</div>
            <p class="section-body">{words::CUES_HELP}</p>
            <Rows label=words::CUES>{CueKind::ALL.map(row).collect_view()}</Rows>
        </Section>
    }
}

#[component]
fn storage() -> impl IntoView {
    let app = use_app();
    let ask = move |()| spawn_local(async move { app.persisted.set(persist::persist().await) });
    let kept = memo(move || app.persisted.get() == Some(true));
    view! {
        <Section title=words::STORAGE>
            <Rows label=words::STORAGE>
                {move || {
                    let (word, detail) = words::storage(app.persisted.get());
                    let (shape, tone) = if kept.get() { (Shape::Lock, Tone::Good) } else { (Shape::Open, Tone::Warn) };
                    view! { <Row title=words::STORAGE detail><Badge shape word tone testid="persisted" /></Row> }
                }}
            </Rows>
            <Show when=move || !kept.get()>
                <div class="keys">
                    <Key label=words::PERSIST icon=Shape::Lock wide=true on_press=ask testid="persist" />
                </div>
            </Show>
        </Section>
    }
}
