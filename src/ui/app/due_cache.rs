//! What is due at a site, worked out once for what is known.

use super::App;
use crate::book::Id;
use crate::book::body::VisitType;
use crate::book::command::Command;
use crate::book::entries::Part;
use crate::book::visit::{Heading, Visit, headings};
use crate::browser::clock;
use crate::view::due::{self, SiteDue, Years};
use crate::view::route::Route;
use leptos::prelude::*;
use std::sync::Arc;

/// What it follows from: the site, the revisions of register, visits and kit, the visit on screen, the day.
type State = (Id, [u64; 3], Option<Id>, i64);

/// What was done in each visit, and the last site that was asked for.
#[derive(Debug, Default)]
pub(super) struct Kept {
    years: Years,
    site: Option<(State, Arc<SiteDue>)>,
}

const DAY_MS: i64 = 86_400_000;
/// How long the visits of a site are worked out in one task, ms: with what else a frame does it stays well below 50.
const SLICE_MS: i64 = 12;

impl App {
    /// What is due at a site; nothing while its visits are being worked out, and whoever asked is told when they are.
    pub fn due(self, site: Id) -> Option<Arc<SiteDue>> {
        self.track_visits();
        self.track_kit();
        self.register.track();
        self.worked_out.track();
        let shown = self.prefs.with(|prefs| prefs.visit);
        if !self.all_here.get() {
            return None;
        }
        let now = clock::now().wall_ms;
        let offset = i64::from(clock::offset_minutes(now));
        let revisions =
            self.book.with_untracked(|book| [Part::Sites, Part::Visits, Part::Kit].map(|of| book.revision(of)));
        let state = (site, revisions, shown, now.saturating_add(offset * 60_000).0.div_euclid(DAY_MS));
        let kept = self.due_kept.with_value(|kept| kept.site.clone());
        if let Some((_, due)) = kept.filter(|(of, _)| *of == state) {
            return Some(due);
        }
        let visits: Vec<Heading> =
            self.book.with_untracked(headings).into_iter().filter(|of| of.site == site).collect();
        let until = clock::now().mono_ms.saturating_add(SLICE_MS);
        for id in visits.iter().map(|of| of.id) {
            if clock::now().mono_ms >= until {
                // What was worked out is kept, so that each look gets on.
                self.look_again();
                return None;
            }
            let found = self.found(id)?;
            self.due_kept.update_value(|kept| self.book.with_untracked(|book| kept.years.take(book, id, &found)));
        }
        let open = visits.iter().filter(|of| !of.closed).find(|of| Some(of.id) == shown);
        let open = open.or_else(|| visits.iter().find(|of| !of.closed)).map(|of| of.id);
        let open = open.and_then(|id| self.book.with_untracked(|book| Visit::shared(book, id)));
        let history = self.due_kept.with_value(|kept| kept.years.of(visits.iter().map(|of| of.id)));
        let mut due = self.register.with_untracked(|register| {
            self.book.with_untracked(|book| SiteDue::of(book, register, site, history, open.as_deref(), now, offset))
        });
        due.shown = shown.is_some() && due.open == shown;
        let due = Arc::new(due);
        self.due_kept.update_value(|kept| kept.site = Some((state, Arc::clone(&due))));
        Some(due)
    }

    /// Puts what is due on the list of the open visit, or of a new one; false where that was refused.
    pub fn plan_due(self, site: Id) -> bool {
        let Some(of) = untrack(|| self.due(site)) else { return false };
        let visit = of.open.unwrap_or_else(|| self.new_id());
        if of.open.is_none() {
            let plan = due::visit_plan(&of, VisitType::Functional);
            if self.act(clock::now(), Command::OpenVisit { visit, site, plan }).is_err() {
                return false;
            }
        }
        self.prefer(|prefs| prefs.visit = Some(visit));
        let planned = due::plans(&of, visit).into_iter().all(|command| self.act(clock::now(), command).is_ok());
        if planned {
            self.go(Route::Visit);
        }
        planned
    }
}
