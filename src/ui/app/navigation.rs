//! Going from place to place: the address follows, and each place comes up where it is looked for.

use super::App;
use crate::session::Session;
use crate::view::route::Route;
use leptos::prelude::*;
use wasm_bindgen::JsCast;
use web_sys::{FocusOptions, HtmlElement};

impl App {
    /// Goes to a place; the address follows, so that "back" works.
    pub fn go(self, place: Route) {
        self.change(Session::leave);
        if self.place.get_untracked() != place {
            self.show(place);
            crate::ui::set_address(&place.address());
        }
    }

    /// Goes where one came from, or to this place where nothing is behind: an address that was opened by itself.
    pub(in crate::ui) fn go_back(self, place: Route) {
        match window().history() {
            Ok(history) if history.length().is_ok_and(|places| places > 1) => drop(history.back()),
            _ => self.go(place),
        }
    }

    /// Shows a place from its top, and one of the bar's where one left it.
    pub(in crate::ui) fn show(self, place: Route) {
        let from = self.place.get_untracked();
        if of_bar(from) {
            let now = Left { y: window().scroll_y().unwrap_or_default(), focus: focused() };
            self.left.update_value(|left| {
                left.retain(|(of, _)| *of != from);
                left.push((from, now));
            });
        }
        let of_list = of_bar(from) || matches!(from, Route::Finding(_) | Route::Due(_));
        if of_list && matches!(place, Route::Position(_) | Route::Walk(_)) {
            self.came_from.set_value(from);
        }
        self.set_place.set(place);
        let before =
            self.left.with_value(|left| left.iter().find(|(of, _)| *of == place).map(|(_, left)| left.clone()));
        let Left { y, focus } = before.unwrap_or_default();
        // These go to their place by themselves.
        let goes = !matches!(place, Route::Finding(_) | Route::Form(_) | Route::Test(_) | Route::Computed(Some(_)));
        request_animation_frame(move || {
            if goes {
                window().scroll_to_with_x_and_y(0.0, y);
            }
            // Once it is drawn: what is hidden loses the focus only then.
            request_animation_frame(move || give_focus(focus));
        });
    }
}

impl App {
    /// Where the page of a thing leads back to: the list one came from, whatever form was filled in since.
    pub(in crate::ui) fn came_from(self) -> Route {
        self.came_from.get_value()
    }
}

/// Whether one comes back to a place from the bar; the screen of the test always stands at its top.
fn of_bar(place: Route) -> bool {
    matches!(place, Route::Visit | Route::Findings | Route::Register | Route::InArea(_) | Route::Handover)
}

/// How a place was when it was left.
#[derive(Clone, Debug, Default)]
pub(super) struct Left {
    /// How far it was scrolled.
    y: f64,
    /// What had the focus.
    focus: Option<HtmlElement>,
}

fn focused() -> Option<HtmlElement> {
    let element = document().active_element()?.dyn_into::<HtmlElement>().ok()?;
    (element.tag_name() != "BODY").then_some(element)
}

/// Where the focus went with what had it: to what had it when one was here last, else to the title, so that a keyboard or a
/// screen reader goes on at the place and not before it.
fn give_focus(last: Option<HtmlElement>) {
    let titles = document().query_selector_all("h1[tabindex]");
    let titles = titles.iter().flat_map(|titles| (0..titles.length()).filter_map(|at| titles.get(at)));
    let focus = FocusOptions::new();
    focus.set_prevent_scroll(true);
    for element in last.into_iter().chain(titles.filter_map(|title| title.dyn_into().ok())) {
        if focused().is_some() {
            return;
        }
        // What is hidden or no longer there does not take it.
        drop(element.focus_with_options(&focus));
    }
}
