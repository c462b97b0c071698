//! What goes on paper: the page that is shown, everything opened. It is laid out when the browser prints.

use crate::ui::app::use_app;
use crate::ui::memo::memo;
use crate::view::page::html::html;
use crate::view::page::{Page, Running};
use crate::view::words;
use leptos::prelude::*;

/// The pages that are shown, given by context; of several, the last one is printed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Paper(StoredValue<Vec<Memo<Page>>>);

impl Paper {
    /// Fills `#paper` when the browser prints, and empties it afterwards. A screen that is no page prints as it stands.
    pub(super) fn start() {
        let shown = Paper(StoredValue::new(Vec::new()));
        provide_context(shown);
    }

    /// Hears when the browser prints.
    pub(super) fn listen(self) {
        let shown = self;
        let app = use_app();
        let demo = memo(move || app.is_demo());
        let fill = move |printing: bool| {
            let (Some(body), Some(paper)) = (document().body(), document().get_element_by_id("paper")) else { return };
            let last = shown.0.with_value(|pages| pages.last().copied());
            let laid_out = |page: &Page| (html(page), page.running.clone());
            let page = last.filter(|_| printing).and_then(|page| page.try_with_untracked(laid_out));
            sheets(page.as_ref().and_then(|(_, running)| running.as_ref()));
            let page = page.map(|(page, running)| match demo.get_untracked() && running.is_none() {
                true => format!("<p>{}</p>{page}", words::DEMO),
                // It says so itself, on every sheet.
                false => page,
            });
            // A class name of letters is always taken.
            drop(body.class_list().toggle_with_force("on-paper", page.is_some()));
            paper.set_inner_html(&page.unwrap_or_default());
        };
        let on = |name: &'static str, printing: bool| {
            let event = leptos::ev::Custom::<web_sys::Event>::new(name);
            let handle = window_event_listener(event, move |_| fill(printing));
            on_cleanup(move || handle.remove());
        };
        on("beforeprint", true);
        on("afterprint", false);
    }

    /// A page is shown, or is the one to be printed.
    pub(super) fn shows(self, page: Memo<Page>) {
        self.leaves(page);
        self.0.update_value(|pages| pages.push(page));
    }

    /// A page is shown no longer.
    pub(super) fn leaves(self, page: Memo<Page>) {
        self.0.update_value(|pages| pages.retain(|other| *other != page));
    }
}

/// Puts the rule of the sheets that are printed into a style sheet of its own; the policy of the page allows no `<style>`.
fn sheets(of: Option<&Running>) {
    thread_local! {
        static RULE: Option<web_sys::CssStyleSheet> = web_sys::CssStyleSheet::new().ok();
    }
    RULE.with(|sheet| {
        let Some(sheet) = sheet else { return };
        // A sheet that takes no rule leaves the paper without heads.
        drop(sheet.replace_sync(&of.map_or_else(String::new, Running::rule)));
        let adopted = document().adopted_style_sheets();
        if !adopted.includes(sheet.as_ref(), 0) {
            adopted.push(sheet.as_ref());
        }
    });
}
