//! How it is computed: the table of formulas, drawn line by line.

use crate::findings::methods::Method;
use crate::ui::app::use_app;
use crate::ui::parts::{Key, PageHead, Section, Shape};
use crate::view::computed::{self as words, SOURCE, TOPICS, Topic};
use crate::view::place::Place;
use crate::view::words::BACK;
use leptos::prelude::*;

/// The key that leads to the page.
#[component]
pub(super) fn to_computed() -> impl IntoView {
    let app = use_app();
    view! {
        <div class="keys">
            <Key label=words::TITLE icon=Shape::Info wide=true on_press=move |()| app.go(Place::Computed(None)) testid="to-computed" />
        </div>
    }
}

/// The page; `topic` is come to at once.
#[component]
pub(in crate::ui) fn computed(topic: Option<usize>) -> impl IntoView {
    let app = use_app();
    let back = move |()| match window().history() {
        // An address that was opened by itself has nothing behind it.
        Ok(history) if history.length().is_ok_and(|places| places > 1) => drop(history.back()),
        _ => app.go(Place::Findings),
    };
    request_animation_frame(move || match topic.and_then(|topic| document().get_element_by_id(&id(topic))) {
        Some(there) => there.scroll_into_view(),
        None => window().scroll_to_with_x_and_y(0.0, 0.0),
    });
    let one = move |(at, topic): (usize, &'static Topic)| {
        view! {
            <div id=id(at)>
                <Section title=topic.title at=(at + 1).to_string()>
                    <div class="computed">{move || lines(topic, app.unit())}</div>
                </Section>
            </div>
        }
    };
    view! {
        <div class="page" data-testid="computed">
            <PageHead
                title=words::TITLE
                detail=Signal::derive(move || words::version(app.unit()))
                back=BACK
                on_back=Callback::new(back)
            />
            <p class="section-body">{words::INTRODUCTION}</p>
            {TOPICS.iter().enumerate().map(one).collect_view()}
        </div>
    }
}

fn id(topic: usize) -> String {
    format!("computed-{topic}")
}

fn lines(topic: &'static Topic, unit: crate::units::Degree) -> AnyView {
    let source = |source: &'static str| view! { <p class="source">{SOURCE}{source}</p> };
    let method = |method: &'static Method| {
        view! {
            <h3>{method.name}</h3>
            <p class="formula">{method.formula}</p>
            {source(method.source)}
        }
    };
    let rule = |(words, from)| view! { <p>{words}</p> {source(from)} };
    let given = |(name, value, from)| view! { <p class="given"><span>{name}</span> <b>{value}</b></p> {source(from)} };
    let cut_offs = topic.has_cut_offs().then(|| {
        let rows = words::cut_off_rows()
            .into_iter()
            .map(|(tests, cut_off)| view! { <div><dt>{tests}</dt><dd>{cut_off}</dd></div> });
        view! { <p>{words::cut_off_words()}</p> <dl class="cut-offs">{rows.collect_view()}</dl> }
    });
    view! {
        {topic.methods.iter().map(method).collect_view()}
        {topic.rules().map(rule).collect_view()}
        {topic.given(unit).into_iter().map(given).collect_view()}
        {cut_offs}
    }
    .into_any()
}
