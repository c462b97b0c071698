//! What is due at a site, as pages: the list with its proposal, the years, the truck list, the rules.

mod kept;
mod list;
mod rules;
mod said;
mod truck;
mod years;

pub use kept::Years;
pub use list::{plans, visit_plan};
pub use rules::page as rules_page;

use crate::book::Id;
use crate::book::body::VisitPlan;
use crate::book::entries::Book;
use crate::book::register::{Position, Register};
use crate::book::visit::{PlanAt, Visit};
use crate::findings::due::{Due, Subject, Terms, day_of, due, failed_samples, held_rules, subjects};
use crate::findings::history::Done;
use crate::order;
use crate::units::Wall;
use crate::view::page::sign::{Look, Says};
use crate::view::page::{Block, Button, Page};
use crate::view::route::Route;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// What is due at a site today.
#[derive(Clone, Debug)]
pub struct SiteDue {
    /// The site.
    pub site: Id,
    /// Its name.
    pub name: String,
    /// What is due at each position.
    pub due: Due,
    /// The visit that is open there.
    pub open: Option<Id>,
    /// Whether it is the one on screen, whose list is changed by hand.
    pub shown: bool,
    subjects: Vec<Subject>,
    tags: Vec<String>,
    areas: Vec<(Id, String)>,
    circuits: BTreeMap<Id, String>,
    history: BTreeMap<Id, Vec<Done>>,
    planned: BTreeSet<Id>,
    taken_off: BTreeSet<Id>,
    /// What was changed by hand, with the reason.
    by_hand: Vec<(String, bool, String)>,
    /// What the open visit is to do.
    plan: Option<VisitPlan>,
    /// Whether two phones' rules stand side by side.
    parted: bool,
    today: NaiveDate,
    offset_min: i64,
}

/// Changes of the list that have a reason: the positions, on it or off it, the reason.
fn by_hand(book: &Book, register: &Register, visit: &Visit) -> Vec<(String, bool, String)> {
    let change = |at: &PlanAt| {
        let why = book.words(at.change.why?).unwrap_or(said::ERASED).to_string();
        let tag = |id: &Id| register.positions.get(id).map(Position::tag);
        let tags: Vec<&str> = at.change.positions.iter().filter_map(tag).collect();
        Some((tags.join(", "), at.change.planned, why))
    };
    visit.planned.iter().filter_map(change).collect()
}

impl SiteDue {
    /// What is due at `now`, UTC ms, after what was done there; `open` is the visit that is open.
    pub fn of(
        book: &Book,
        register: &Register,
        site: Id,
        history: BTreeMap<Id, Vec<Done>>,
        open: Option<&Visit>,
        now: Wall,
        offset_min: i64,
    ) -> SiteDue {
        let today = day_of(now, offset_min).unwrap_or_default();
        let rules = held_rules(register, site);
        let subjects = subjects(register, site, &history, offset_min);
        let opened = |visit: &Visit| (visit.id, day_of(visit.opened, offset_min).unwrap_or(today));
        let failed = failed_samples(register, &history, offset_min);
        let (interval, open_on) = (rules.visit_interval_months, open.map(opened));
        let terms = Terms { rules: &rules.rules, interval, today, open: open_on, failed: &failed };
        let due = due(&subjects, terms);
        let tag = |of: &Subject| register.positions.get(&of.position).map_or("", |of| of.tag()).to_string();
        let site_name = register.sites.get(&site).and_then(|versions| versions.now());
        SiteDue {
            site,
            name: site_name.map(|site| site.name.clone()).unwrap_or_default(),
            open: open.map(|visit| visit.id),
            shown: open.is_some(),
            tags: subjects.iter().map(tag).collect(),
            areas: register.areas_of(site).into_iter().map(|(id, area)| (id, area.name.clone())).collect(),
            circuits: order::map(register.circuits_of(site).into_iter().map(|(id, of)| (id, of.name.clone()))),
            planned: open.map(Visit::planned).unwrap_or_default(),
            taken_off: open.map(Visit::taken_off).unwrap_or_default(),
            by_hand: open.map(|visit| by_hand(book, register, visit)).unwrap_or_default(),
            plan: open.and_then(|visit| visit.plan.now().cloned()),
            parted: register.all_rules_of(site).is_some(),
            due,
            subjects,
            history,
            today,
            offset_min,
        }
    }

    /// The positions of an area, by their places.
    fn of_area(&self, area: Id) -> Vec<usize> {
        self.subjects.iter().enumerate().filter(|(_, of)| of.area == area).map(|(index, _)| index).collect()
    }

    /// A page of this site that can be printed.
    fn page_of(&self, name: &'static str, title: &'static str, back: Route, blocks: Vec<Block>) -> Page {
        let detail = format!("{} · {}", self.name, said::date(self.today));
        Page { menu: vec![Button::print()], detail: detail.into(), ..bare(name, title, back, blocks) }
    }
}

fn bare(name: &'static str, title: &'static str, back: Route, blocks: Vec<Block>) -> Page {
    let back = Button { bare: true, ..Button::to("back", "Back", back).look(Look::Plain) };
    let back = back.icon(crate::view::page::sign::Shape::Back);
    Page { name, title: title.into(), back: Some(back), long: true, blocks, ..Page::default() }
}

/// Shown until what was done over the years is worked out.
pub fn working() -> Page {
    let notice = Block::notice("due-working", Says::Info, said::WORKING, said::WORKING_WORDS);
    bare("due", said::TITLE, Route::Register, vec![notice])
}
