//! What goes on paper: the page that is shown, everything opened. It is laid out when the browser prints, and before where it has pictures,
//! which take their time. And the same page as a file.

use crate::book::entry::Hash;
use crate::browser::photo::{Address, drawn};
use crate::ui::app::{App, use_app};
use crate::ui::memo::memo;
use crate::ui::transfer::outgoing::send;
use crate::view::page::html::{NOT_HERE, data_url, document_with, html_with, left_out, pictures_of};
use crate::view::page::{Page, Running};
use crate::view::record::PaperFile;
use crate::view::words;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// The inside of a page as HTML, and what runs along its sheets.
type Inside = (String, Option<Running>);
/// A page that is laid out, with the pictures in it.
type LaidOut = (Vec<(Hash, Address)>, Inside);

/// The pages that are shown, given by context; of several, the last one is printed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Paper {
    app: App,
    shown: StoredValue<Vec<Memo<Page>>>,
    /// What is laid out with these pictures, until it is printed or the page is left.
    laid_out: StoredValue<Option<LaidOut>, LocalStorage>,
    /// The page as a file that is ready to leave.
    pub(super) file: RwSignal<Option<PaperFile>>,
    text: StoredValue<String>,
}

impl Paper {
    /// Fills `#paper` when the browser prints, and empties it afterwards. A screen that is no page prints as it stands.
    pub(super) fn start() {
        let paper = Paper {
            app: use_app(),
            shown: StoredValue::new(Vec::new()),
            laid_out: StoredValue::new_local(None),
            file: RwSignal::new(None),
            text: StoredValue::new(String::new()),
        };
        provide_context(paper);
    }

    /// Hears when the browser prints.
    pub(super) fn listen(self) {
        let paper = self;
        let demo = memo(move || paper.app.is_demo());
        let fill = move |printing: bool| {
            // What has pictures was laid out before, if that is still what it says.
            if printing && paper.is_laid_out() {
                return;
            }
            paper.laid_out.set_value(None);
            let inside = if printing { paper.inside(None) } else { None };
            put(inside.as_ref(), demo.get_untracked());
        };
        let on = |name: &'static str, printing: bool| {
            let event = leptos::ev::Custom::<web_sys::Event>::new(name);
            let handle = window_event_listener(event, move |_| fill(printing));
            on_cleanup(move || handle.remove());
        };
        on("beforeprint", true);
        on("afterprint", false);
    }

    /// The inside of the page that is printed; without pictures where nobody read them.
    fn inside(self, pictures: Option<&[(Hash, Address)]>) -> Option<Inside> {
        let page = self.shown.with_value(|pages| pages.last().copied())?;
        let address = |hash| {
            let found = pictures?.iter().find(|(of, _)| *of == hash);
            found.map(|(_, address)| address.text().to_string())
        };
        page.try_with_untracked(|page| {
            let missing = if pictures.is_some() { NOT_HERE } else { left_out(page) };
            (html_with(page, &address, missing), page.running.clone())
        })
    }

    /// Whether what is laid out is the page as it is now.
    fn is_laid_out(self) -> bool {
        self.laid_out.with_value(|laid_out| {
            let Some((pictures, inside)) = laid_out else { return false };
            self.inside(Some(pictures)).as_ref() == Some(inside)
        })
    }

    /// Forgets what was laid out and never printed.
    fn forget_laid_out(self) {
        if self.laid_out.try_update_value(Option::take).flatten().is_some() {
            put(None, false);
        }
    }

    /// Prints a page, its pictures laid out before.
    pub(super) fn print(self, page: Option<Memo<Page>>) {
        if let Some(page) = page {
            self.shows(page);
        }
        let pictures = page.map_or_else(Vec::new, |page| page.with_untracked(|page| pictures_of(&page.blocks)));
        if pictures.is_empty() {
            // A browser that cannot print does nothing.
            drop(window().print());
            return;
        }
        spawn_local(async move {
            let mut read = Vec::new();
            for hash in pictures {
                let found = self.app.attachment(hash).await;
                read.extend(found.and_then(|found| Some((hash, Address::of(&found.bytes, &found.media)?))));
            }
            // Another page may be shown by now.
            let still = self.shown.with_value(|pages| pages.last().copied() == page);
            let Some(inside) = self.inside(Some(&read)).filter(|_| still) else { return };
            put(Some(&inside), self.app.is_demo());
            self.laid_out.set_value(Some((read, inside)));
            if let Some(paper) = document().get_element_by_id("paper") {
                drawn(&paper).await;
            }
            if self.laid_out.with_value(Option::is_some) && window().print().is_err() {
                self.forget_laid_out();
            }
        });
    }

    /// Makes a file of a page, with its pictures or without.
    pub(super) fn make_file(self, page: Option<Memo<Page>>, with: bool) {
        self.file.set(None);
        let Some(page) = page.map(|page| page.get_untracked()) else { return };
        spawn_local(async move {
            let pictures = pictures_of(&page.blocks);
            let mut read: Vec<(Hash, String)> = Vec::new();
            for hash in pictures.iter().filter(|_| with) {
                // One at a time, so that a tap has its turn between.
                let found = self.app.attachment(*hash).await;
                read.extend(found.and_then(|found| Some((*hash, data_url(&found.media, &found.bytes)?))));
            }
            let address = |hash| read.iter().find(|(of, _)| *of == hash).map(|(_, address)| address.clone());
            let text = document_with(&page, &address);
            let name = page.running.as_ref().map_or_else(String::new, |running| running.file.clone());
            let gone = if with { pictures.len() - read.len() } else { 0 };
            let file = PaperFile { name, bytes: text.len(), pictures: pictures.len(), with, gone, left: None };
            self.text.set_value(text);
            // Where it was left nobody waits for it.
            let _gone = self.file.try_set(Some(file));
        });
    }

    /// Sends the file, or saves it.
    pub(super) fn send_file(self, share: bool) {
        let Some(file) = self.file.get_untracked() else { return };
        let text = self.text.get_value();
        spawn_local(async move {
            let left = send(&file.name, &text, share).await;
            let _gone = self.file.try_set(Some(PaperFile { left: Some(left), ..file }));
        });
    }

    /// Another page is shown: the file is not of it.
    pub(super) fn forget_file(self) {
        self.file.set(None);
        self.text.set_value(String::new());
    }

    /// A page is shown, or is the one to be printed.
    pub(super) fn shows(self, page: Memo<Page>) {
        self.leaves(page);
        self.shown.update_value(|pages| pages.push(page));
    }

    /// A page is shown no longer.
    pub(super) fn leaves(self, page: Memo<Page>) {
        self.forget_laid_out();
        self.shown.update_value(|pages| pages.retain(|other| *other != page));
    }
}

/// Puts the inside of a page on the paper, or takes it off.
fn put(page: Option<&Inside>, demo: bool) {
    let (Some(body), Some(paper)) = (document().body(), document().get_element_by_id("paper")) else { return };
    sheets(page.and_then(|(_, running)| running.as_ref()));
    let html = page.map(|(html, running)| match demo && running.is_none() {
        true => format!("<p>{}</p>{html}", words::DEMO),
        // It says so itself, on every sheet.
        false => html.clone(),
    });
    // A class name of letters is always taken.
    drop(body.class_list().toggle_with_force("on-paper", html.is_some()));
    paper.set_inner_html(&html.unwrap_or_default());
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
