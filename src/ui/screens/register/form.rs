//! One form: what has to be there first, versions to settle, the fields, save.

use super::fields::Filling;
use super::resolve::SettleForm;
use crate::book::entries::Attachment;
use crate::browser::{clock, persist, text};
use crate::ui::app::use_app;
use crate::ui::memo::memo;
use crate::ui::page::BlocksHere;
use crate::ui::parts::{Key, Look, Notice, PageHead, Parts, Says, Shape, Show};
use crate::ui::screens::beside::BesideRegister;
use crate::view::conflicts::clashes;
use crate::view::forms::{self, Making, Wrongs};
use crate::view::heater::not_possible;
use crate::view::photos;
use crate::view::route::{Form, Route, Tab};
use crate::view::words;
use leptos::prelude::*;
use leptos::wasm_bindgen::JsCast;

/// A form; one of the register beside its list where there is room.
#[component]
pub(in crate::ui) fn form_screen(form: Form) -> impl IntoView {
    let app = use_app();
    // The list may have been scrolled; a form begins at its top.
    request_animation_frame(|| window().scroll_to_with_x_and_y(0.0, 0.0));
    let (thing, _) = forms::come_for(form);
    let versions = memo(move || app.known_now(|known| clashes(thing, known)));
    let page = view! {
        <div class="page">
            {move || match versions.get() {
                none if none.is_empty() => view! { <OneForm form /> }.into_any(),
                clashes => view! {
                    <PageHead title=words::CONFLICT back=words::BACK on_back=move |()| app.go(Route::Register) />
                    <SettleForm thing clashes />
                }
                .into_any(),
            }}
        </div>
    };
    match Route::Form(form).tab() {
        Tab::Register => view! { <BesideRegister>{page}</BesideRegister> }.into_any(),
        _ => page.into_any(),
    }
}

#[component]
fn one_form(form: Form) -> impl IntoView {
    let app = use_app();
    let filling = Filling::new(form);
    let page = filling.page;
    // Leaving by the way back is on purpose; everything else keeps the form half filled.
    let leave = move |()| {
        app.keep_draft(Route::Form(filling.form).address(), None);
        let back = app.book.with_untracked(|book| forms::leads_back(filling.form, book));
        match filling.come_for {
            Some(_) => app.go_back(back),
            None => app.go(back),
        }
    };
    let first = memo(move || page.with(|page| page.first));
    let warned =
        memo(move || app.prefs.with(|prefs| prefs.tab_warning_read) || persist::home() != persist::Home::ForgetfulTab);
    view! {
        <PageHead
            title=Signal::derive(move || page.with(|page| page.title.clone()))
            detail=Signal::derive(move || page.with(|page| page.lead.to_string()))
            back=words::BACK
            on_back=leave
        />
        {move || match (warned.get(), first.get()) {
            (false, _) => view! {
                <Notice says=Says::Alarm word=words::TAB_WORD words=words::TAB_WARNING testid="tab-warning">
                    <Key label=words::TAB_KNOWN on_press=move |()| app.prefer(|prefs| prefs.tab_warning_read = true) testid="tab-known" />
                </Notice>
            }
            .into_any(),
            (true, Some((say, other))) => view! {
                <Notice says=Says::Info word=words::FIRST_THIS words=say testid="first">
                    <Key label=words::FIRST_THIS look=Look::Primary on_press=move |()| app.go(Route::Form(other)) testid="to-first" />
                </Notice>
            }
            .into_any(),
            (true, None) => view! { <Fill filling /> }.into_any(),
        }}
    }
}

#[component]
fn fill(filling: Filling) -> impl IntoView {
    let page = filling.page;
    let whole = memo(move || filling.wrongs.with(|wrongs| wrongs.get("").map(|wrong| wrong.say.clone())));
    if let Some(gap) = filling.come_for {
        let asked =
            |page: &forms::Page| filling.typed.with_untracked(|typed| forms::page_for(page.clone(), gap, typed).1);
        focus_on(page.with_untracked(asked));
    }
    let another = matches!(filling.form, Form::Position(_) | Form::PositionLike(_));
    let wrong = memo(move || filling.wrongs.with(|wrongs| !wrongs.is_empty()));
    view! {
        <Show when=move || filling.taken_up.get()>
            <Notice word=words::HALF_FILLED_WORD words=words::TAKEN_UP testid="taken-up">
                <Key label=words::START_AFRESH on_press=move |()| filling.afresh() testid="afresh" />
            </Notice>
        </Show>
        <Parts questions=filling.questions() />
        <Show when=move || wrong.get()>
            <Notice
                says=Says::Warning
                word=words::WRONG_WORD
                words=Signal::derive(move || whole.get().unwrap_or_else(|| words::WRONG.to_string()))
                testid="not-saved"
            />
        </Show>
        // Under the thumb, however long the form is.
        <div class="keys save">
            <Key
                label=page.with_untracked(|page| page.save)
                look=Look::Primary
                icon=Shape::Tick
                wide=true
                on_press=move |()| save(filling, false)
                testid="save"
            />
        </div>
        {another.then(|| view! {
            <div class="keys">
                <Key label=words::SAVE_ANOTHER icon=Shape::Clone wide=true on_press=move |()| save(filling, true) testid="save-another" />
            </div>
        })}
        <PhotosOf form=filling.form />
        <Existing form=filling.form />
    }
}

/// Stores the form and goes on: to what comes next, or to another like it.
fn save(filling: Filling, another: bool) {
    let Filling { app, form, typed, wrongs, .. } = filling;
    let now = clock::now();
    let texts = typed.get_untracked().map(text::nfc);
    let edited = filling.known(|known| forms::edited(form, known));
    let id = edited.unwrap_or_else(|| app.new_id());
    let texts_kept = filling.known(|known| forms::texts(form, &texts, known));
    let attachments: Vec<(&'static str, Attachment)> =
        texts_kept.into_iter().map(|(key, text)| (key, app.text(&text))).collect();
    let attached = crate::order::map(attachments.iter().map(|(key, attachment)| (*key, attachment.hash())));
    let making = Making { id, other: app.new_id(), attached: &attached };
    let made = filling.known(|known| forms::command(form, &texts, making, known)).and_then(|commands| {
        let refused = |refusal| filling.known(|known| forms::refused(form, &texts, &refusal, known));
        // The attachments go with the first command; what follows names the same things.
        let mut attachments: Vec<Attachment> = attachments.into_iter().map(|(_, attachment)| attachment).collect();
        let act = |command| app.try_act(now, command, std::mem::take(&mut attachments));
        commands.into_iter().try_for_each(act).map_err(refused)
    });
    match made {
        Ok(()) => {
            app.keep_draft(Route::Form(form).address(), None);
            if app.persisted.get_untracked() != Some(true) {
                app.ask_to_keep();
            }
            let next = app.book.with_untracked(|book| forms::next(form, id, edited.is_none(), book));
            match (another, filling.come_for) {
                (true, _) => app.go(Route::Form(Form::PositionLike(id))),
                // On with what needed the answer.
                (false, Some(_)) => app.go_back(next),
                (false, None) => app.go(next),
            }
            app.say_saved(words::saved(&forms::called(form, &texts)));
        }
        Err(found) => {
            wrongs.set(found);
            focus_first(filling);
        }
    }
}

/// Puts the focus on the first field that is wrong, so that it is seen and read out.
fn focus_first(filling: Filling) {
    let first = |wrongs: &Wrongs| {
        filling.page.with_untracked(|page| {
            let mut fields = page.parts.iter().flat_map(|part| &part.fields);
            fields.find(|field| wrongs.contains_key(field.name.key)).map(|field| field.name.id)
        })
    };
    if let Some(id) = filling.wrongs.with_untracked(first) {
        focus_on(id);
    }
}

/// Puts the focus on a field.
fn focus_on(id: &'static str) {
    // After the frame in which a folded part that holds it has opened.
    request_animation_frame(move || {
        let found = document().query_selector(&format!("#{id}, [name={id}]")).ok().flatten();
        if let Some(line) = found.and_then(|found| found.dyn_into::<web_sys::HtmlElement>().ok()) {
            // A line that cannot take the focus is still marked as wrong.
            drop(line.focus());
        }
    });
}

/// The photos of what the form is about.
#[component]
fn photos_of(form: Form) -> impl IntoView {
    let app = use_app();
    let visit = app.visit.with_untracked(|visit| visit.as_ref().map(|visit| visit.id));
    photos::of_form(form, visit).map(|about| {
        let blocks = memo(move || app.known_now(|known| photos::blocks(known, about)));
        view! { <BlocksHere of=blocks.into() /> }
    })
}

/// What else there is of a heater that is on the list.
#[component]
fn existing(form: Form) -> impl IntoView {
    let app = use_app();
    let Form::Heater(Some(heater)) = form else { return ().into_any() };
    let blocks = memo(move || {
        let not_possible = app.kit.with(|kit| not_possible(kit, heater));
        not_possible.into_iter().chain(app.profiles(heater).map(|of| of.in_form(heater))).collect::<Vec<_>>()
    });
    view! { <BlocksHere of=blocks.into() /> }.into_any()
}
