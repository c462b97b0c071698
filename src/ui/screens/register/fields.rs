//! Draws the parts of any form from its page.

use crate::book::test::Test;
use crate::encoding::stored;
use crate::ui::app::{App, use_app};
use crate::ui::follow::memo;
use crate::ui::parts::{Choice, Entry, Field, Fold, Key, Pick, Switch};
use crate::view::forms::{self, Ask, Known, Name, Page, Typed, Wrongs};
use crate::view::place::{Form, Place};
use crate::view::words;
use leptos::prelude::*;

/// A form that is being filled in. Cheap to copy.
#[derive(Clone, Copy)]
pub(super) struct Filling {
    pub(super) app: App,
    pub(super) form: Form,
    pub(super) typed: RwSignal<Typed>,
    pub(super) wrongs: RwSignal<Wrongs>,
    pub(super) page: Memo<Page>,
    /// Whether what stands here was taken up from a draft.
    pub(super) taken_up: RwSignal<bool>,
}

impl Filling {
    pub(super) fn new(form: Form) -> Filling {
        let app = use_app();
        let address = Place::Form(form).address();
        let draft = app.drafts.with_untracked(|drafts| drafts.get(&address).cloned());
        let draft = draft.and_then(|text| stored::read::<Typed>(&text));
        let taken_up = RwSignal::new(draft.is_some());
        let typed = RwSignal::new(draft.unwrap_or_else(|| fresh(app, form)));
        let page = memo(move || app.known_now(|known| typed.with(|typed| forms::page(form, typed, known))));
        Filling { app, form, typed, wrongs: RwSignal::new(Wrongs::new()), page, taken_up }
    }

    /// What is known, without following it.
    pub(super) fn known<T>(self, with: impl FnOnce(Known<'_>) -> T) -> T {
        self.app.known(with)
    }

    /// Puts a text into a field; the form is kept half filled from here on.
    pub(super) fn put(self, key: &'static str, text: &str) {
        self.typed.update(|typed| forms::answer(self.form, typed, key, text));
        self.wrongs.update(|wrongs| drop(wrongs.remove(key)));
        let text = Some(self.typed.with_untracked(stored::write));
        self.app.keep_draft(Place::Form(self.form).address(), text);
    }

    /// Forgets what was typed.
    pub(super) fn afresh(self) {
        self.app.keep_draft(Place::Form(self.form).address(), None);
        self.typed.set(fresh(self.app, self.form));
        self.wrongs.set(Wrongs::new());
        self.taken_up.set(false);
    }
}

fn fresh(app: App, form: Form) -> Typed {
    let unit = app.prefs.with_untracked(|prefs| prefs.unit);
    if let Form::Marking(test) = form {
        let marking = app.book.with_untracked(|book| Test::of(book, test).map(|test| test.marking().clone()));
        return marking.map_or_else(Typed::default, |marking| forms::correction(&marking, unit));
    }
    app.known(|known| forms::open(form, known, unit))
}

/// The parts of the form. Fields that stay keep their line, and with it focus and keyboard, when others come and go.
#[component]
pub(super) fn parts(filling: Filling) -> impl IntoView {
    let count = filling.page.with_untracked(|page| page.parts.len());
    let part = move |at: usize| {
        let (title, folded, note) =
            filling.page.with_untracked(|page| (page.parts[at].title, page.parts[at].folded, page.parts[at].note));
        let fields = memo(move || {
            let drawn = |page: &Page| page.parts[at].fields.iter().map(|f| (f.name, shape(&f.ask))).collect::<Vec<_>>();
            filling.page.with(drawn)
        });
        let wrong = Signal::derive(move || {
            filling.wrongs.with(|wrongs| fields.with(|fields| fields.iter().any(|(n, _)| wrongs.contains_key(n.key))))
        });
        let inside = view! {
            {(!note.is_empty()).then(|| view! { <p class="soft">{note}</p> })}
            <For each=move || fields.get() key=|(name, _)| name.key let((name, shape))>
                <OneField filling name shape />
            </For>
        };
        match (folded, title) {
            (true, _) => {
                view! { <Fold title open=wrong at_once=true testid=format!("fold-{}", at)>{inside}</Fold> }.into_any()
            }
            (false, "") => inside.into_any(),
            (false, _) => view! { <crate::ui::parts::Section title>{inside}</crate::ui::parts::Section> }.into_any(),
        }
    };
    (0..count).map(part).collect_view()
}

/// How a field is drawn.
#[derive(Clone, Copy, PartialEq)]
enum Drawn {
    Line(Entry),
    /// Side by side when every answer is short.
    Choice {
        across: bool,
        several: bool,
    },
    Switch(&'static str, &'static str),
}

fn shape(ask: &Ask) -> Drawn {
    match ask {
        Ask::Line => Drawn::Line(Entry::Text),
        Ask::Lines => Drawn::Line(Entry::Long),
        Ask::Decimal => Drawn::Line(Entry::Decimal),
        Ask::Whole => Drawn::Line(Entry::Whole),
        Ask::Day => Drawn::Line(Entry::Date),
        Ask::Moment => Drawn::Line(Entry::Moment),
        Ask::Choice(answers) => Drawn::Choice { across: forms::short(answers), several: false },
        Ask::Several(_) => Drawn::Choice { across: true, several: true },
        Ask::Switch(yes, no) => Drawn::Switch(yes, no),
    }
}

#[component]
fn one_field(filling: Filling, name: Name, shape: Drawn) -> impl IntoView {
    let Name { key, id, label } = name;
    let of = move |get: fn(&forms::Field) -> String| {
        Signal::derive(move || {
            filling.page.with(|page| {
                let mut fields = page.parts.iter().flat_map(|part| &part.fields);
                fields.find(|field| field.name == name).map(get).unwrap_or_default()
            })
        })
    };
    let value = Signal::derive(move || filling.typed.with(|typed| typed.get(key).to_string()));
    let help = of(|field| field.help.clone());
    let error = Signal::derive(move || filling.wrongs.with(|w| w.get(key).map(|w| w.say.clone()).unwrap_or_default()));
    let put = move |text: String| filling.put(key, &text);
    let offer = memo(move || filling.wrongs.with(|wrongs| wrongs.get(key).and_then(|w| w.offer.clone())));
    let drawn = match shape {
        Drawn::Line(entry) => {
            view! { <Field id label value entry help error unit=of(|f| f.unit.to_string()) on_input=put /> }.into_any()
        }
        Drawn::Choice { across, several } => {
            let picks = memo(move || {
                filling.page.with(|page| {
                    let mut fields = page.parts.iter().flat_map(|part| &part.fields);
                    match fields.find(|field| field.name == name).map(|field| &field.ask) {
                        Some(Ask::Choice(answers) | Ask::Several(answers)) => answers.iter().map(pick).collect(),
                        _ => Vec::new(),
                    }
                })
            });
            view! { <Choice id label picks value help error on_pick=put across several /> }.into_any()
        }
        Drawn::Switch(yes, no) => {
            let on = Signal::derive(move || value.with(|text| text == "yes"));
            let turn = move |on: bool| filling.put(key, if on { "yes" } else { "" });
            view! { <div class="section-body"><Switch label on words=(yes, no) on_turn=turn testid=id /></div> }
                .into_any()
        }
    };
    view! {
        {drawn}
        {move || offer.get().map(|meant| {
            let label = words::meant(&meant);
            let take = move |()| filling.put(key, &meant);
            view! { <div class="keys"><Key label on_press=take testid=format!("offer-{key}") /></div> }
        })}
    }
}

fn pick(answer: &forms::Answer) -> Pick {
    let forms::Answer { value, label, detail } = answer.clone();
    Pick { value, label, detail }
}
