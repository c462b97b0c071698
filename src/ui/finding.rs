//! What is looked for in the long lists. It stays while one is elsewhere, so that one comes back to what was found.

use super::app::App;
use super::memo::memo;
use crate::view::find::{Index, Seek};
use crate::view::page::List;
use leptos::prelude::*;

/// What is looked for, given by context.
#[derive(Clone, Copy, Debug)]
pub(super) struct Finding {
    devices: RwSignal<Seek>,
    visit: RwSignal<Seek>,
    /// The positions in words that can be compared; made when something is looked for.
    pub(super) index: Memo<Index>,
}

impl Finding {
    /// Nothing is looked for.
    pub(super) fn start(app: App) {
        let index = memo(move || app.register.with(Index::of));
        provide_context(Finding { devices: RwSignal::default(), visit: RwSignal::default(), index });
    }

    /// What is looked for in a list.
    pub(super) fn of(self, list: List) -> RwSignal<Seek> {
        match list {
            List::Devices => self.devices,
            List::Visit => self.visit,
        }
    }
}
