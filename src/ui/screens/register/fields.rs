//! A form that is being filled in: what stands in it, its draft, its page.

use crate::encoding::stored;
use crate::ui::app::{App, use_app};
use crate::ui::memo::memo;
use crate::ui::parts::Questions;
use crate::view::forms::{self, Known, Page, Typed, Wrongs};
use crate::view::heater::Gap;
use crate::view::route::{Form, Route};
use leptos::prelude::*;

/// A form that is being filled in. Cheap to copy.
#[derive(Clone, Copy)]
pub(super) struct Filling {
    pub(super) app: App,
    pub(super) form: Form,
    pub(super) typed: RwSignal<Typed>,
    pub(super) wrongs: RwSignal<Wrongs>,
    pub(super) page: Memo<Page>,
    /// The answer that something needs, for which the form was come to.
    pub(super) come_for: Option<Gap>,
    /// Whether what stands here was taken up from a draft.
    pub(super) taken_up: RwSignal<bool>,
}

impl Filling {
    pub(super) fn new(form: Form) -> Filling {
        let app = use_app();
        let (form, come_for) = forms::come_for(form);
        let address = Route::Form(form).address();
        let kept = app.drafts.with_untracked(|drafts| drafts.get(&address).cloned());
        let draft = kept.as_ref().and_then(|text| app.known(|known| forms::take_up(form, text, known)));
        if kept.is_some() && draft.is_none() {
            app.keep_draft(address, None);
        }
        let taken_up = RwSignal::new(draft.is_some());
        let typed = RwSignal::new(draft.unwrap_or_else(|| fresh(app, form)));
        let page = memo(move || {
            typed.with(|typed| {
                let page = app.known_now(|known| forms::page(form, typed, known));
                match come_for {
                    Some(gap) => forms::page_for(page, gap, typed).0,
                    None => page,
                }
            })
        });
        Filling { app, form, typed, wrongs: RwSignal::new(Wrongs::new()), page, come_for, taken_up }
    }

    /// Its fields, to be drawn.
    pub(super) fn questions(self) -> Questions {
        let (page, put) = (self.page, move |(key, text): (&'static str, String)| self.put(key, &text));
        Questions {
            parts: memo(move || page.with(|page| page.parts.clone())).into(),
            typed: self.typed.into(),
            wrongs: self.wrongs.into(),
            put: Callback::new(put),
        }
    }

    /// What is known, without following it.
    pub(super) fn known<T>(self, with: impl FnOnce(Known<'_>) -> T) -> T {
        self.app.known(with)
    }

    /// Puts a text into a field; the form is kept half filled from here on.
    pub(super) fn put(self, key: &'static str, text: &str) {
        self.typed.update(|typed| typed.set(key, text));
        self.wrongs.update(|wrongs| drop(wrongs.remove(key)));
        let text = Some(self.typed.with_untracked(stored::write));
        self.app.keep_draft(Route::Form(self.form).address(), text);
    }

    /// Forgets what was typed.
    pub(super) fn afresh(self) {
        self.app.keep_draft(Route::Form(self.form).address(), None);
        self.typed.set(fresh(self.app, self.form));
        self.wrongs.set(Wrongs::new());
        self.taken_up.set(false);
    }
}

fn fresh(app: App, form: Form) -> Typed {
    let unit = app.prefs.with_untracked(|prefs| prefs.unit);
    app.known(|known| forms::open(form, known, unit))
}
