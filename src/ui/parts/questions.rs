//! Draws the fields of any form and of any question from their description.

use super::{Choice, Field, Fold, Key, Numbers, Pad, Section, Switch};
use crate::ui::memo::memo;
use crate::view::forms::{self, Answer, Ask, Entry, Name, Part, Typed, Wrongs};
use crate::view::words;
use leptos::prelude::*;

/// Fields that are being filled in. Cheap to copy.
#[derive(Clone, Copy, Debug)]
pub struct Questions {
    /// The fields, in parts. Their number and headings stay.
    pub parts: Signal<Vec<Part>>,
    /// What stands in the fields, by key.
    pub typed: Signal<Typed>,
    /// What is wrong with them, by key.
    pub wrongs: Signal<Wrongs>,
    /// Takes an answer: its key and text.
    pub put: Callback<(&'static str, String)>,
}

impl Questions {
    /// What a field has, empty while it is not there.
    fn of<T: Default>(self, name: Name, get: impl FnOnce(&forms::Field) -> T) -> T {
        self.parts.with(|parts| {
            let mut fields = parts.iter().flat_map(|part| &part.fields);
            fields.find(|field| field.name == name).map(get).unwrap_or_default()
        })
    }
}

/// Every part: the first bare, the others folded or under their headings.
#[component]
pub fn parts(
    /// The fields.
    questions: Questions,
) -> impl IntoView {
    let count = questions.parts.with_untracked(Vec::len);
    let part = move |at: usize| {
        let part = questions.parts.with_untracked(|parts| Part { fields: Vec::new(), ..parts[at].clone() });
        let wrong = Signal::derive(move || {
            questions.wrongs.with(|wrongs| {
                questions.parts.with(|parts| parts[at].fields.iter().any(|f| wrongs.contains_key(f.name.key)))
            })
        });
        let inside = move || {
            view! {
                {(!part.note.is_empty()).then(|| view! { <p class="soft">{part.note}</p> })}
                <Fields questions at />
            }
        };
        let title = part.title;
        let testid = format!("fold-{at}");
        let drawn = match (part.folded, title.is_empty()) {
            (true, _) => view! { <Fold title open=wrong at_once=true testid>{inside()}</Fold> }.into_any(),
            (false, true) => return inside().into_any(),
            (false, false) => view! { <Section title>{inside()}</Section> }.into_any(),
        };
        // A part without fields keeps its place and is not seen.
        let empty = memo(move || questions.parts.with(|parts| parts[at].fields.is_empty()));
        view! { <div hidden=move || empty.get()>{drawn}</div> }.into_any()
    };
    (0..count).map(part).collect_view()
}

/// The fields of one part. Those that stay keep their line, and with it focus and keyboard, when others come and go.
#[component]
pub fn fields(
    /// The fields.
    questions: Questions,
    /// Which part.
    at: usize,
) -> impl IntoView {
    let fields = memo(move || {
        let drawn = |part: &Part| part.fields.iter().map(|field| (field.name, shape(field))).collect::<Vec<_>>();
        questions.parts.with(|parts| drawn(&parts[at]))
    });
    view! {
        <For each=move || fields.get() key=|(name, shape)| (name.key, *shape) let((name, shape))>
            <OneField questions name shape />
        </For>
    }
}

/// What of a field's question is drawn once: the question without its answers, and whether they stand side by side.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Shape {
    Line(Entry),
    Choice { across: bool, several: bool },
    Switch(&'static str, &'static str),
    Drawn,
}

fn shape(field: &forms::Field) -> Shape {
    let across = field.across;
    match &field.ask {
        Ask::Line(entry) => Shape::Line(*entry),
        Ask::Choice(_) => Shape::Choice { across, several: false },
        Ask::Several(_) => Shape::Choice { across, several: true },
        Ask::Switch(yes, no) => Shape::Switch(yes, no),
        Ask::Drawn => Shape::Drawn,
    }
}

fn answers(field: &forms::Field) -> Vec<Answer> {
    match &field.ask {
        Ask::Choice(answers) | Ask::Several(answers) => answers.clone(),
        _ => Vec::new(),
    }
}

#[component]
fn one_field(questions: Questions, name: Name, shape: Shape) -> impl IntoView {
    let Name { key, id, label } = name;
    let Questions { typed, wrongs, put, .. } = questions;
    let value = Signal::derive(move || typed.with(|typed| typed.get(key).to_string()));
    let help = Signal::derive(move || questions.of(name, |field| field.help.clone()));
    let unit = Signal::derive(move || questions.of(name, |field| field.unit.to_string()));
    let error = Signal::derive(move || wrongs.with(|w| w.get(key).map(|w| w.say.clone()).unwrap_or_default()));
    let offer = memo(move || wrongs.with(|wrongs| wrongs.get(key).and_then(|wrong| wrong.offer.clone())));
    let answer = move |text: String| put.run((key, text));
    let drawn = match shape {
        Shape::Line(Entry::Decimals) => view! { <Numbers id label value unit help error on_input=answer /> }.into_any(),
        Shape::Line(entry) => view! { <Field id label value entry help error unit on_input=answer /> }.into_any(),
        Shape::Choice { across, several } => {
            let answers = memo(move || questions.of(name, answers));
            view! { <Choice id label answers value help error on_pick=answer across several /> }.into_any()
        }
        Shape::Drawn => view! { <Pad id label value help error on_draw=answer /> }.into_any(),
        Shape::Switch(yes, no) => {
            let on = Signal::derive(move || value.with(|text| text == "yes"));
            let turn = move |on: bool| put.run((key, if on { "yes" } else { "" }.to_string()));
            view! { <div class="section-body"><Switch label on words=(yes, no) on_turn=turn testid=id /></div> }
                .into_any()
        }
    };
    view! {
        {drawn}
        {move || offer.get().map(|meant| {
            let label = words::meant(&meant);
            let take = move |()| put.run((key, meant.clone()));
            view! { <div class="keys"><Key label on_press=take testid=format!("offer-{key}") /></div> }
        })}
    }
}
