//! The first start: an invented demo site, an empty book, or a bundle.

use super::register::load_demo;
use crate::browser::clock;
use crate::ui::app::use_app;
use crate::ui::parts::{Empty, Key, Look, Shape};
use crate::view::place::{Form, Place};
use crate::view::words;
use leptos::prelude::*;

/// Shown while nothing is in the register.
#[component]
pub(super) fn first() -> impl IntoView {
    let app = use_app();
    // A refusal is shown above the screen by the one that acts.
    let demo = move |()| drop(load_demo(app, clock::now()));
    view! {
        <div class="page">
            <Empty shape=Shape::Visit title=words::FIRST_TITLE words=words::FIRST alone=true>
                <div class="keys">
                    <Key label=words::FIRST_DEMO look=Look::Primary on_press=demo testid="demo" wide=true />
                    <Key label=words::FIRST_OWN on_press=move |()| app.go(Place::Form(Form::Site(None))) testid="own-site" wide=true />
                    <Key label=words::FIRST_BUNDLE on_press=move |()| app.go(Place::Handover) testid="take-in" wide=true />
                </div>
            </Empty>
        </div>
    }
}
