//! The Visit screen: opening and closing steps, what is still off, the positions and how far they are, what is to be dealt with.

mod circuits;
mod day;
mod list;
pub mod page;

pub(super) use circuits::{A_CIRCUIT, circuit_name};
pub use list::{OpenResults, PositionRow, Standing, next_after};

use super::forms::visit_type;
use super::route::{Form, Route};
use super::{at_panel, time, words};
use crate::book::Id;
use crate::book::body::{ImpairedWhat, ItemFound, NotOurs, NotifyAnswer, NotifyWhen, PanelWhen, RetestWhy, Who, Whom};
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::register::{Position, Register};
use crate::book::visit::{ApprovalAt, Item, NoticeAt, Retest, State, Station, Visit, headings};
use crate::findings::VisitFindings;
use crate::order;
use crate::units::{Degree, Wall};
use circuits::{proof_row, swapped, unproved};
use list::rows;
use std::collections::BTreeSet;

/// One thing that can be released.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReleaseRow {
    /// Its name.
    pub release: String,
    /// The securing in force.
    pub secured: Option<Hash>,
    /// The form that secures or restores it.
    pub form: Form,
    /// Since when and by whom.
    pub detail: String,
}

/// A step of notifying.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotifyRow {
    /// Who.
    pub whom: Whom,
    /// Whether the site has it on its list.
    pub listed: bool,
    /// Whether the site asks for it.
    pub required: bool,
    /// What the site calls them.
    pub label: Option<String>,
    /// Before or after.
    pub when: NotifyWhen,
    /// Its form.
    pub form: Form,
    /// What was said last: when, by whom.
    pub said: Option<String>,
    /// The entry, to take it back.
    pub entry: Option<Hash>,
}

/// An item in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemRow {
    /// The entry.
    pub hash: Hash,
    /// Tag and what it is.
    pub title: String,
    /// Class, who was told, how it was closed.
    pub detail: String,
    /// Whether it is still open.
    pub open: bool,
}

/// Something impaired.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ImpairedRow {
    /// The entry.
    pub hash: Hash,
    /// What.
    pub what: String,
    /// Since when, UTC ms.
    pub from: Wall,
    /// Tag, by whom.
    pub detail: String,
}

/// An alarm that nobody has cleared.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AlarmRow {
    /// The entry.
    pub hash: Hash,
    /// What it says.
    pub words: String,
}

/// The Visit screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VisitScreen {
    /// Which visit.
    pub id: Id,
    /// Its site.
    pub site_id: Id,
    /// What the site is called.
    pub site: String,
    /// Whether the site is invented.
    pub invented: bool,
    /// When it was opened.
    pub opened: String,
    /// What it is for.
    pub visit_type: &'static str,
    /// Whether it is closed.
    pub closed: bool,
    /// Whether it is closed with something off that nobody accepts now.
    pub closed_still_off: bool,
    /// Who is notified, before and after.
    pub notify: Vec<NotifyRow>,
    /// What the supervising station's answer means for the next heat.
    pub station: Station,
    /// What is or can be released.
    pub releases: Vec<ReleaseRow>,
    /// Positions of which nobody said whether they release anything.
    pub releases_unknown: usize,
    /// Classified areas, by name; the site itself where only positions say so.
    pub classified: Vec<(Option<Id>, String)>,
    /// Permits and approvals in a line.
    pub permits: Vec<String>,
    /// What is impaired now.
    pub impaired: Vec<ImpairedRow>,
    /// Alarms that are not cleared.
    pub alarms: Vec<AlarmRow>,
    /// Areas with their positions.
    pub areas: Vec<(String, Vec<PositionRow>)>,
    /// The position that one which is not on the list is made like: the last one tested, else the first.
    pub like: Option<Id>,
    /// Positions tested, of those that may be heated.
    pub done: (usize, usize),
    /// Items, open ones first.
    pub items: Vec<ItemRow>,
    /// The panel as found and as left, as somebody saw it last.
    pub panel: [Option<String>; 2],
    /// Circuits whose first alarm is to be proved.
    pub unproved: Vec<(Id, String)>,
    /// What the first alarms did: the circuit, and what was said of it.
    pub proofs: Vec<(String, String)>,
    /// Two positions that each showed the other's point, with their tags, until that is an item.
    pub swapped: Vec<[(Id, String); 2]>,
    /// The next position that is to be tested.
    pub next: Option<(Id, String)>,
    /// What is left, when that may be done, and the first limit before.
    pub day: Vec<(&'static str, String)>,
    /// Changes of the panel's programming: the entry, what it is, how it was drawn.
    pub programming: Vec<(Hash, String, String)>,
    /// Points that came in at the panel and match trips, not taken yet.
    pub matches: usize,
    /// What came in there although the test says otherwise: a sentence each.
    pub contradictions: Vec<String>,
    /// The last lift check.
    pub lift: Option<String>,
    /// Marks after a closing.
    pub after_closing: usize,
    /// Where a newcomer to the demonstration may look: words and place of each.
    pub tour: Vec<(&'static str, Route)>,
}

impl VisitScreen {
    /// The screen of a visit at `now`, UTC ms, with its findings where they are worked out.
    pub fn of(
        book: &Book,
        register: &Register,
        visit: &Visit,
        found: Option<&VisitFindings>,
        unit: Degree,
        offset_min: i64,
        now: Wall,
    ) -> VisitScreen {
        let site = register.sites.get(&visit.site).and_then(|versions| versions.now());
        let planned = visit.planned();
        let areas: Vec<(String, Vec<PositionRow>)> = register
            .areas_of(visit.site)
            .into_iter()
            .map(|(id, area)| (area.name.clone(), rows(register, visit, found, id, unit, &planned)))
            .filter(|(_, rows)| !rows.is_empty())
            .collect();
        let heated = || areas.iter().flat_map(|(_, rows)| rows).filter(|row| row.standing != Standing::DoNotHeat);
        let ran = heated().filter(|row| row.standing.is_tested()).count();
        let said = |who: Who| who_words(book, visit, who);
        let items = items(register, visit, Some((offset_min, now)));
        let matches = visit.matches(register);
        VisitScreen {
            id: visit.id,
            site_id: visit.site,
            site: site.map_or_else(|| "Unknown site".to_string(), |site| site.name.clone()),
            invented: site.is_some_and(|site| site.invented),
            opened: time::wall(visit.opened, offset_min),
            visit_type: visit.plan.now().map_or("", |plan| visit_type(plan.visit_type)),
            closed: !visit.closed.is_empty(),
            closed_still_off: visit.state(now) == State::ClosedStillOff,
            notify: notify(register, visit, offset_min, &said),
            station: visit.station(now),
            releases: releases(register, visit, offset_min, &said),
            releases_unknown: positions(register, visit.site).filter(|(_, p)| releases_unknown(p)).count(),
            classified: classified(register, visit.site),
            permits: permits(register, visit, offset_min),
            impaired: impaired(register, visit, &said),
            alarms: visit.alarms_not_cleared().map(|alarm| alarm_row(alarm, offset_min, &said)).collect(),
            done: (ran, heated().count()),
            next: next_after(register, visit, visit.tests.last().map(|test| test.frozen.position.of)),
            like: like(visit, &areas),
            areas,
            items,
            panel: [PanelWhen::Found, PanelWhen::Left].map(|when| panel(visit, when, offset_min, &said)),
            unproved: unproved(register, visit),
            proofs: visit
                .record
                .proofs
                .iter()
                .map(|proof| proof_row(register, &proof.what, offset_min, &said))
                .collect(),
            swapped: swapped(register, visit),
            day: if visit.closed.is_empty() { day::facts(book, register, visit, offset_min, now) } else { Vec::new() },
            programming: day::programming(visit, offset_min, &said),
            matches: at_panel::open(&matches),
            contradictions: at_panel::contradictions(register, visit, &matches, offset_min),
            lift: visit.record.lifts.last().map(|lift| {
                let word = if lift.what.good { "Checked" } else { "Not good" };
                format!("{word} {} · {}", time::of_day(lift.what.happened.at, offset_min), said(lift.what.by))
            }),
            after_closing: visit.after_closing.len(),
            tour: site.filter(|site| site.invented).map_or_else(Vec::new, |_| tour(book, visit)),
        }
    }
}

impl VisitScreen {
    /// Heading of the opening steps: how many of the site's list were notified, and whether something is impaired.
    pub fn before_up(&self) -> String {
        let of = || self.notify.iter().filter(|row| row.when == NotifyWhen::Before && row.listed);
        words::before_up(of().filter(|row| row.said.is_some()).count(), of().count(), !self.impaired.is_empty())
    }

    /// Whether nobody has been notified and nothing tested yet.
    pub fn is_untouched(&self) -> bool {
        self.done.0 == 0 && self.notify.iter().all(|row| row.said.is_none())
    }
}

fn like(visit: &Visit, areas: &[(String, Vec<PositionRow>)]) -> Option<Id> {
    let rows = || areas.iter().flat_map(|(_, rows)| rows).map(|row| row.id);
    let last = visit.tests.last().map(|test| test.frozen.position.of);
    last.filter(|last| rows().any(|id| id == *last)).or_else(|| rows().next())
}

/// A human by name, as the visit knows them.
pub fn who_words(book: &Book, visit: &Visit, who: Who) -> String {
    visit.name_of(book, who).unwrap_or(words::SOMEBODY).to_string()
}

/// What a newcomer may try on an invented site, until the first test is started: the test that the last visit left flagged is played,
/// read, and made again.
fn tour(book: &Book, visit: &Visit) -> Vec<(&'static str, Route)> {
    if !visit.tests.is_empty() {
        return Vec::new();
    }
    let earlier = headings(book).into_iter().find(|of| of.site == visit.site && of.closed);
    let last = earlier.and_then(|of| Visit::shared(book, of.id));
    let unlike =
        |retest: &Retest| Some((retest.test?, retest.position)).filter(|_| retest.why == RetestWhy::UnlikeArea);
    let Some((test, position)) = last.and_then(|last| last.retests.iter().find_map(unlike)) else { return Vec::new() };
    vec![
        (words::TOUR_PLAY, Route::Play(test)),
        (words::TOUR_FLAGGED, Route::Finding(test)),
        (words::TOUR_DUE, Route::Due(visit.site)),
        (words::TOUR_START, Route::Before(position)),
    ]
}

fn positions(register: &Register, site: Id) -> impl Iterator<Item = (Id, &Position)> {
    register.areas_of(site).into_iter().flat_map(|(area, _)| register.positions_of(area))
}

fn releases_unknown(position: &Position) -> bool {
    position.duty.now().is_none_or(|duty| duty.releases.is_none())
}

fn notify(register: &Register, visit: &Visit, offset_min: i64, said: &impl Fn(Who) -> String) -> Vec<NotifyRow> {
    // Those of the list, and whoever was notified beside it.
    let listed = register.rules_of(visit.site).notified();
    let step = |whom| listed.iter().find(|step| step.whom == whom);
    let mut rows = Vec::new();
    for when in [NotifyWhen::Before, NotifyWhen::After] {
        for whom in Whom::ALL {
            let last = visit.notice(whom, when);
            rows.push(NotifyRow {
                whom,
                listed: step(whom).is_some() || last.is_some(),
                required: step(whom).is_some_and(|step| step.required),
                label: step(whom).and_then(|step| step.label.clone()),
                when,
                form: Form::Notify(super::forms::step_number(whom, when)),
                said: last.map(|last| notice_words(last, offset_min, said)),
                entry: last.map(|last| last.hash),
            });
        }
    }
    rows
}

fn notice_words(at: &NoticeAt, offset_min: i64, said: &impl Fn(Who) -> String) -> String {
    let notice = &at.notice;
    let by = said(notice.by);
    let time = time::of_day(notice.happened.at, offset_min);
    match notice.answer {
        NotifyAnswer::Notified => match notice.test_until {
            Some(until) => format!("Notified {time} · {by} · on test until {}", time::of_day(until, offset_min)),
            None => format!("Notified {time} · {by}"),
        },
        NotifyAnswer::NotRequired => format!("Not required · {by}"),
        NotifyAnswer::NotMonitored => format!("Not monitored · {by}"),
        NotifyAnswer::GoAheadWithout => format!("Going ahead without, reason on record · {by}"),
    }
}

/// Everything that can be released on a visit's site, by name.
pub fn release_names(register: &Register, visit: &Visit) -> Vec<String> {
    let mut names: BTreeSet<String> = BTreeSet::new();
    for (_, position) in positions(register, visit.site) {
        let duties = position.duty.versions().flat_map(|(_, duty)| duty.releases.iter().flatten());
        names.extend(duties.cloned());
    }
    // Something secured stays on the list until it is restored, whatever the register says meanwhile.
    names.extend(visit.secured.iter().filter(|off| off.is_off()).map(|off| off.what.release.clone()));
    names.into_iter().collect()
}

fn releases(register: &Register, visit: &Visit, offset_min: i64, said: &impl Fn(Who) -> String) -> Vec<ReleaseRow> {
    let row = |release: String| {
        let in_force = visit.secured.iter().find(|off| off.what.release == release && off.is_off());
        let last = visit.secured.iter().rfind(|off| off.what.release == release).and_then(|off| off.restored);
        let detail = match (in_force, last) {
            (Some(off), _) => {
                let verified = off.what.verified_by.map_or("alone".into(), |by| format!("verified by {}", said(by)));
                let time = time::of_day(off.what.happened.at, offset_min);
                format!("Secured {time} · {} · {verified}", said(off.what.by))
            }
            (None, Some((by, happened))) => {
                format!("Restored {} · {}", time::of_day(happened.at, offset_min), said(by))
            }
            (None, None) => "Not secured".to_string(),
        };
        let form = match in_force {
            Some(off) => Form::Restore(off.hash),
            None => Form::Secure(Hash::of(release.as_bytes())),
        };
        ReleaseRow { secured: in_force.map(|off| off.hash), release, form, detail }
    };
    release_names(register, visit).into_iter().map(row).collect()
}

fn classified(register: &Register, site: Id) -> Vec<(Option<Id>, String)> {
    let mut areas: Vec<(Option<Id>, String)> = Vec::new();
    for (id, area) in register.areas_of(site) {
        let conditions = register.area_conditions.get(&id).and_then(|versions| versions.now());
        let of_area = conditions.is_some_and(|conditions| conditions.classification.is_some());
        let classified = |position: &Position| position.duty.now().is_some_and(|duty| duty.classified);
        if of_area || register.positions_of(id).iter().any(|(_, position)| classified(position)) {
            areas.push((Some(id), area.name.clone()));
        }
    }
    areas
}

fn permits(register: &Register, visit: &Visit, offset_min: i64) -> Vec<String> {
    let area_name = |id: Id| register.areas.get(&id).and_then(|versions| versions.now()).map_or("", |area| &area.name);
    let permit = |at: &crate::book::visit::PermitAt| {
        let permit = &at.permit;
        let place = permit.area.map_or("whole site", area_name);
        format!("Permit {} · {place} · until {}", permit.number, time::wall(permit.valid_until, offset_min))
    };
    let approval = |at: &ApprovalAt| {
        let held = &at.held;
        let word = if held.fits { "fits" } else { "does not fit" };
        format!("Heater approval {word} {}: {} / {}", area_name(held.area), held.approval, held.classification)
    };
    visit.permits.iter().map(permit).chain(visit.approvals.iter().map(approval)).collect()
}

fn impaired(register: &Register, visit: &Visit, said: &impl Fn(Who) -> String) -> Vec<ImpairedRow> {
    let circuit = |id: Option<Id>| id.map_or_else(|| A_CIRCUIT.to_string(), |id| circuit_name(register, id));
    let row = |off: &crate::book::visit::Off<std::sync::Arc<crate::book::body::Impaired>>| {
        let what = match off.what.what {
            ImpairedWhat::Whole => "Whole system".to_string(),
            ImpairedWhat::Circuit => circuit(off.what.circuit),
            ImpairedWhat::Zone | ImpairedWhat::Output => off.what.label.clone().unwrap_or_default(),
        };
        let tag = off.what.tag.as_ref().map(|tag| format!("tag {tag} · ")).unwrap_or_default();
        ImpairedRow { hash: off.hash, what, from: off.what.happened.at, detail: format!("{tag}{}", said(off.what.by)) }
    };
    visit.impaired.iter().filter(|off| off.is_off()).map(row).collect()
}

fn alarm_row(alarm: &crate::book::visit::Alarm, offset_min: i64, said: &impl Fn(Who) -> String) -> AlarmRow {
    let what = match alarm.what {
        NotOurs::Alarm => "Alarm not ours",
        NotOurs::OutputMoved => "An output activated",
    };
    let time = time::of_day(alarm.happened.at, offset_min);
    AlarmRow {
        hash: alarm.hash, words: format!("{what} · {time} · {}. No heat until it is cleared.", said(alarm.by))
    }
}

/// The items of a visit, open ones first.
pub(super) fn items(register: &Register, visit: &Visit, clock: Option<(i64, Wall)>) -> Vec<ItemRow> {
    let rows = visit.items.iter().map(|item| item_row(register, item, clock)).collect();
    order::by_number(rows, |row: &ItemRow| i64::from(!row.open))
}

/// One item as a line; with the site's clock for written notice where local time minus UTC, minutes, and now, UTC ms, are given.
pub(super) fn item_row(register: &Register, item: &Item, clock: Option<(i64, Wall)>) -> ItemRow {
    let about = about(register, &item.found);
    let mut what = words::found(&item.found).to_string();
    if !item.found.visual.is_empty() {
        let seen: Vec<&str> = item.found.visual.iter().map(|finding| finding.words()).collect();
        what = format!("{what}: {}", seen.join(", ").to_lowercase());
    }
    let mut parts = vec![item.class.map_or("Class not chosen", |class| class.words()).to_string()];
    if item.told.is_empty() {
        parts.push("owner not notified".into());
    } else {
        let written = item.told.iter().any(|told| told.in_writing);
        parts.push(if written { "notified in writing".into() } else { "notified".into() });
    }
    let site = item.found.position.and_then(|position| register.site_of(position));
    let hours = site.and_then(|site| register.rules_of(site).written_notice_h);
    let due = hours.and_then(|hours| item.written_due(hours));
    parts.extend(due.zip(clock).map(|(due, (offset_min, now))| {
        let was = if due < now { "written notice was due" } else { "written notice due" };
        format!("{was} {}", time::wall(due, offset_min))
    }));
    parts.extend(item.closed.last().map(|(how, _)| words::item_closed(*how).to_string()));
    let title = if about.is_empty() { what } else { format!("{about}: {what}") };
    ItemRow { hash: item.hash, title, detail: parts.join(" · "), open: item.is_open() }
}

/// What an item is about: its position, of swapped addresses both, else its circuit.
pub(super) fn about(register: &Register, found: &ItemFound) -> String {
    let tags: Vec<&str> = [found.position, found.other_position]
        .into_iter()
        .filter_map(|id| register.positions.get(&id?))
        .map(Position::tag)
        .collect();
    match found.circuit.filter(|_| tags.is_empty()) {
        Some(circuit) => circuit_name(register, circuit),
        None => tags.join(" and "),
    }
}

/// The panel in a line, as somebody saw it last.
fn panel(visit: &Visit, when: PanelWhen, offset_min: i64, said: &impl Fn(Who) -> String) -> Option<String> {
    let seen = visit.record.panels.iter().rfind(|seen| seen.said.what.when == when)?;
    let panel = &seen.said.what;
    let shows = match panel.normal {
        true => "Normal".to_string(),
        false => {
            let lists = [&panel.alarms, &panel.supervisories, &panel.troubles, &panel.disabled];
            lists.into_iter().flatten().cloned().collect::<Vec<_>>().join(", ")
        }
    };
    let stale = if seen.stale && when == PanelWhen::Left { " · check again: something was done since" } else { "" };
    Some(format!("{shows} · {} · {}{stale}", time::of_day(panel.happened.at, offset_min), said(panel.by)))
}
