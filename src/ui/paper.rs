//! What goes on paper: the page that is shown, everything opened. It is laid out when the browser prints.

use crate::ui::app::use_app;
use crate::ui::memo::memo;
use crate::view::page::Page;
use crate::view::page::html::html;
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
        let app = use_app();
        let demo = memo(move || app.is_demo());
        let fill = move |printing: bool| {
            let (Some(body), Some(paper)) = (document().body(), document().get_element_by_id("paper")) else { return };
            let last = shown.0.with_value(|pages| pages.last().copied());
            let page = last.filter(|_| printing).and_then(|page| page.try_with_untracked(html));
            let page =
                page.map(|page| if demo.get_untracked() { format!("<p>{}</p>{page}", words::DEMO) } else { page });
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
