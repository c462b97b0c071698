//! The Register place: the list of everything known, and a form for each thing.

mod demo;
mod fields;
mod form;
mod list;
mod settle;

pub(in crate::ui) use demo::load_demo;
pub(in crate::ui) use form::FormScreen;
pub(in crate::ui) use list::Beside;

use crate::ui::parts::{Empty, PageHead, Shape};
use crate::view::words;
use leptos::prelude::*;
use list::List;

/// The Register place.
#[component]
pub(in crate::ui) fn register() -> impl IntoView {
    view! {
        <div class="sides">
            <div class="page">
                <PageHead title=words::REGISTER />
                <List current=None />
            </div>
            <div class="page beside">
                <Empty shape=Shape::Register title=words::CHOOSE_ONE words=words::CHOOSE_ONE_WORDS />
            </div>
        </div>
    }
}
