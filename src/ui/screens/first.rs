//! The first start: who has the phone, then an invented demo site, a site of one's own, or a visit file.

use super::register::load_demo;
use crate::browser::clock;
use crate::ui::app::use_app;
use crate::ui::follow::memo;
use crate::ui::parts::{Empty, Key, Look, Shape};
use crate::view::place::{Form, Place};
use crate::view::words;
use leptos::prelude::*;

/// Shown while nobody has the phone, or nothing is in the register.
#[component]
pub(super) fn first() -> impl IntoView {
    let app = use_app();
    let named = memo(move || app.who.with(Option::is_some));
    let anybody = memo(move || app.kit.with(|kit| !kit.people.is_empty()));
    // A refusal is shown where the finger is by the one that acts.
    let demo = move |()| drop(load_demo(app, clock::now()));
    let who = move |()| app.go(if anybody.get() { Place::People } else { Place::Form(Form::Person(None)) });
    view! {
        <div class="page">
            <Empty shape=Shape::Visit title=words::FIRST_TITLE words=words::FIRST alone=true>
                {move || match named.get() {
                    false => view! {
                        <div class="keys">
                            <Key label=words::WHO_ARE_YOU look=Look::Primary on_press=who testid="who" wide=true />
                        </div>
                    }
                    .into_any(),
                    true => view! {
                        <div class="keys">
                            <Key label=words::FIRST_DEMO look=Look::Primary on_press=demo testid="demo" wide=true />
                            <Key label=words::FIRST_OWN on_press=move |()| app.go(Place::Form(Form::Site(None))) testid="own-site" wide=true />
                            <Key label=words::FIRST_BUNDLE on_press=move |()| app.go(Place::Handover) testid="take-in" wide=true />
                        </div>
                    }
                    .into_any(),
                }}
            </Empty>
        </div>
    }
}
