//! One visit: opening and closing steps, what is off, its tests and what came of them.

mod items;
mod missing;
mod off;
mod panel_side;
mod plan;
mod reacceptance;
mod record;

pub use items::{Item, Retest, Told, WorkDone, open_items, passed};
pub use missing::Missing;
pub use off::{
    IMPAIRED_LIMIT_MS, IMPAIRMENT_SOON_MS, ImpairedTime, Near, OffNow, State, StillOff, WINDOW_SOON_MS, Window,
    impaired_lately, impaired_limit_ms, impaired_times, off_elsewhere,
};
pub use panel_side::{Lag, Match};
pub use plan::PlanAt;
pub use reacceptance::{Reaccepted, draw, drawn_of};
pub use record::{Break, Invited, OtherResult, PanelSeen, Record, Said};

use super::Id;
use super::body::{
    Attendance, Body, Happened, HeldApproval, Impaired, NotOurs, Notice, NotifyAnswer, NotifyWhen, OpenPair, Permit,
    Secured, VisitPlan, What, Who, Whom,
};
use super::by_test::Sorted;
use super::entries::Book;
use super::entry::{Entry, Hash, Scope};
use super::test::Test;
use super::versions::{Versions, current};
use crate::order;
use crate::trade::conditions::Visual;
use crate::units::Wall;
use std::collections::{BTreeSet, VecDeque};
use std::sync::{Arc, Mutex, PoisonError};

/// Something that is off, or was: what took it off, and who put it back and when.
#[derive(Clone, Debug, PartialEq)]
pub struct Off<T> {
    /// The entry.
    pub hash: Hash,
    /// What it says.
    pub what: T,
    /// When it was recorded, wall clock, UTC ms.
    pub wall: Wall,
    /// By whom and when it was restored; absent while it is off.
    pub restored: Option<(Who, Happened)>,
}

impl<T> Off<T> {
    /// Whether it is off now.
    pub fn is_off(&self) -> bool {
        self.restored.is_none()
    }
}

/// A notice and its entry.
#[derive(Clone, Debug, PartialEq)]
pub struct NoticeAt {
    /// The entry.
    pub hash: Hash,
    /// The phone that recorded it.
    pub phone: Id,
    /// When it was recorded, wall clock, UTC ms.
    pub wall: Wall,
    /// What was said.
    pub notice: Arc<Notice>,
    /// Since when the party takes alarms for tests, UTC ms: an extension begins nothing anew.
    pub since: Wall,
    /// Whether the party takes alarms for tests by this notice.
    pub on_test: bool,
}

/// A permit and its entry.
#[derive(Clone, Debug, PartialEq)]
pub struct PermitAt {
    /// The entry.
    pub hash: Hash,
    /// The phone that recorded it.
    pub phone: Id,
    /// The permit.
    pub permit: Arc<Permit>,
    /// Whether it is not handed back, nor recorded once more by the same phone.
    pub in_hand: bool,
}

/// A heater's approval held against an area's classification, with the phone it was recorded on; those of a phone in order.
#[derive(Clone, Debug, PartialEq)]
pub struct ApprovalAt {
    /// The phone.
    pub phone: Id,
    /// What was held, and what came of it.
    pub held: Arc<HeldApproval>,
}

/// An alarm that is not ours, or an output that moved.
#[derive(Clone, Debug, PartialEq)]
pub struct Alarm {
    /// The entry.
    pub hash: Hash,
    /// What.
    pub what: NotOurs,
    /// Who said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
    /// By whom and when it was cleared; absent while heat is refused.
    pub cleared: Option<(Who, Happened)>,
}

/// A visual check of a position.
#[derive(Clone, Debug, PartialEq)]
pub struct VisualAt {
    /// The entry.
    pub hash: Hash,
    /// The position.
    pub position: Id,
    /// What was found; empty where nothing is wrong.
    pub found: Vec<Visual>,
    /// When it was recorded, wall clock, UTC ms.
    pub wall: Wall,
}

/// One visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    /// Which.
    pub id: Id,
    /// Its site.
    pub site: Id,
    /// Phones that take part.
    pub phones: BTreeSet<Id>,
    /// Wall clock of the first opening, UTC ms.
    pub opened: Wall,
    /// What it is to do.
    pub plan: Versions<VisitPlan>,
    /// What was put on its list or taken off, in order.
    pub planned: Vec<PlanAt>,
    /// Who took part.
    pub attended: Vec<Arc<Attendance>>,
    /// The closings in force.
    pub closed: Vec<Hash>,
    /// Who was notified, or why not.
    pub notices: Vec<NoticeAt>,
    /// What is secured or was.
    pub secured: Vec<Off<Arc<Secured>>>,
    /// What is impaired or was.
    pub impaired: Vec<Off<Arc<Impaired>>>,
    /// Pairs that are open or were.
    pub pairs: Vec<Off<Arc<OpenPair>>>,
    /// Permits.
    pub permits: Vec<PermitAt>,
    /// Approvals held against areas.
    pub approvals: Vec<ApprovalAt>,
    /// Alarms that are not ours.
    pub alarms: Vec<Alarm>,
    /// Visual checks.
    pub visual: Vec<VisualAt>,
    /// Its tests, by start.
    pub tests: Vec<Test>,
    /// Observations, deficiencies and impairments.
    pub items: Vec<Item>,
    /// Repairs and replacements.
    pub work: Vec<WorkDone>,
    /// What is to be tested again.
    pub retests: Vec<Retest>,
    /// What else it records.
    pub record: Record,
    /// Marks that another phone made after a closing, by the clocks that people read.
    pub after_closing: Vec<Hash>,
}

/// How many folded visits are kept: one is on screen, and few are open beside it. The project's own figure.
const FOLDED: usize = 4;

/// The visits that were folded last, with the state of the book that they are of. They follow from the entries, so they take no part
/// in comparing books.
#[derive(Debug, Default)]
pub(super) struct Folded(Mutex<(u64, VecDeque<Arc<Visit>>)>);

impl Clone for Folded {
    fn clone(&self) -> Folded {
        Folded::default()
    }
}

impl PartialEq for Folded {
    fn eq(&self, _: &Folded) -> bool {
        true
    }
}

impl Folded {
    fn get(&self, book: &Book, id: Id) -> Option<Arc<Visit>> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.1.iter().filter(|_| kept.0 == book.changes()).find(|visit| visit.id == id).cloned()
    }

    fn keep(&self, book: &Book, visit: Arc<Visit>) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.0 != book.changes() {
            *kept = (book.changes(), VecDeque::new());
        }
        kept.1.truncate(FOLDED - 1);
        kept.1.push_front(visit);
    }
}

impl Visit {
    /// Folds a visit out of the book; none while no opening of it is known.
    pub fn of(book: &Book, id: Id) -> Option<Visit> {
        Visit::shared(book, id).map(|visit| Visit::clone(&visit))
    }

    /// The same without a copy of one's own.
    pub fn shared(book: &Book, id: Id) -> Option<Arc<Visit>> {
        Some(Visit::folded(book, id)).filter(|visit| visit.opened < Wall::MAX)
    }

    /// The visit, opened or not. Its chains are walked once, however many ask after a change of the book.
    pub(super) fn folded(book: &Book, id: Id) -> Arc<Visit> {
        book.folded.get(book, id).unwrap_or_else(|| {
            let visit = Arc::new(Visit::walk(book, id));
            book.folded.keep(book, Arc::clone(&visit));
            visit
        })
    }

    fn walk(book: &Book, id: Id) -> Visit {
        let mut visit = Visit {
            id,
            site: Id::nil(),
            phones: BTreeSet::new(),
            opened: Wall::MAX,
            plan: Versions::default(),
            planned: Vec::new(),
            attended: Vec::new(),
            closed: Vec::new(),
            notices: Vec::new(),
            secured: Vec::new(),
            impaired: Vec::new(),
            pairs: Vec::new(),
            permits: Vec::new(),
            approvals: Vec::new(),
            alarms: Vec::new(),
            visual: Vec::new(),
            tests: Vec::new(),
            items: Vec::new(),
            work: Vec::new(),
            retests: Vec::new(),
            record: Record::default(),
            after_closing: Vec::new(),
        };
        let sorted = Sorted::of(book, Scope::Visit(id));
        let standing = || sorted.chains.iter().flat_map(|chain| &chain.standing).copied();
        standing().for_each(|entry| visit.fold(book, entry));
        let edits = standing().filter(|entry| matches!(entry.body, Body::VisitPlan(_)));
        for (_, hash, body) in current(edits.map(|entry| (entry.hash, &entry.body))) {
            if let Body::VisitPlan(edit) = body {
                visit.plan.add(hash, edit);
            }
        }
        // One phone's words stand in the order of its chain, whatever its clock was set to; those of several in that of their clocks.
        let one_phone = sorted.chains.len() == 1;
        if !one_phone {
            visit.notices = order::by_number(visit.notices, |notice| notice.wall.0);
            visit.visual = order::by_number(visit.visual, |check| check.wall.0);
            visit.planned = order::by_number(visit.planned, |change| change.wall.0);
        }
        visit.tests.reserve_exact(sorted.tests().count());
        visit.tests.extend(sorted.tests().filter_map(|test| Test::among(book, test, &sorted)));
        // They come by id, and those that started at one time stay so.
        let place = |test: &Test| match one_phone {
            true => book.get(test.start).map_or(i64::MAX, |entry| entry.seq),
            false => test.started_wall.0,
        };
        visit.tests = order::by_number(visit.tests, place);
        items::settle(&mut visit);
        visit.record.settle(standing());
        for test in &visit.tests {
            let late = test.after_take_over.iter().filter_map(|hash| book.get(*hash));
            let trips = late.filter(|entry| matches!(entry.body, Body::Mark { what: What::Tripped, .. }));
            visit.record.late_trips.extend(trips.map(|trip| (test.id, trip.hash, trip.stamp.wall)));
        }
        visit.after_closing = after_closing(book, &sorted, &visit.closed);
        visit
    }

    fn fold(&mut self, book: &Book, entry: &Entry) {
        self.record.fold(book, entry);
        let Entry { hash, stamp, .. } = entry;
        let (hash, wall) = (*hash, stamp.wall);
        match &entry.body {
            Body::VisitOpened { site } => {
                self.phones.insert(entry.chain.phone);
                if wall < self.opened {
                    (self.opened, self.site) = (wall, *site);
                }
            }
            Body::VisitJoined { .. } => self.phones.extend([entry.chain.phone]),
            Body::Attended(attendance) => {
                if !self.attended.contains(attendance) {
                    self.attended.push(Arc::clone(attendance));
                }
            }
            Body::VisitClosed { .. } => {
                if !book.naming(hash).any(|other| matches!(other.body, Body::VisitReopened(_))) {
                    self.closed.push(hash);
                }
            }
            Body::PositionsPlanned(change) => {
                self.planned.push(PlanAt { hash, wall, change: Arc::clone(change) });
            }
            Body::Notified(notice) => record::notify(&mut self.notices, book, entry, notice),
            Body::Secured(what) => self.secured.push(off(book, entry, Arc::clone(what))),
            Body::Impaired(what) => self.impaired.push(off(book, entry, Arc::clone(what))),
            Body::PairOpened(what) => self.pairs.push(off(book, entry, Arc::clone(what))),
            Body::PermitTaken(permit) => {
                let phone = entry.chain.phone;
                let of = |at: &PermitAt| at.phone == phone && at.permit.number == permit.number;
                let before = self.permits.iter_mut().filter(|at| of(at) && at.permit.area == permit.area);
                before.for_each(|at| at.in_hand = false);
                let in_hand = off(book, entry, ()).is_off();
                self.permits.push(PermitAt { hash, phone, permit: Arc::clone(permit), in_hand });
            }
            Body::ApprovalHeld(held) => {
                self.approvals.push(ApprovalAt { phone: entry.chain.phone, held: Arc::clone(held) });
            }
            Body::AlarmNotOurs(alarm) => {
                let cleared = book.naming(hash).find_map(|end| match &end.body {
                    Body::AlarmCleared(clearing) => Some((clearing.by, clearing.happened)),
                    _ => None,
                });
                self.alarms.push(Alarm { hash, what: alarm.what, by: alarm.by, happened: alarm.happened, cleared });
            }
            Body::VisualCheck(check) => {
                self.visual.push(VisualAt { hash, position: check.position, found: check.found.clone(), wall });
            }
            _ => items::fold(self, book, entry),
        }
    }

    /// Tests that have not ended.
    pub fn active(&self) -> impl Iterator<Item = &Test> {
        self.tests.iter().filter(|test| test.ended.is_none())
    }

    /// Tests of a position, by start.
    pub fn tests_of(&self, position: Id) -> impl Iterator<Item = &Test> {
        self.tests.iter().filter(move |test| test.frozen.position.of == position)
    }

    /// Whether a release is secured now. What was left secured over a break needs a tick of its own afterwards.
    pub fn is_secured(&self, release: &str) -> bool {
        let counts = |off: &Off<_>| off.is_off() && !self.record.is_from_before_a_break(off.hash);
        self.secured.iter().any(|secured| secured.what.release == release && counts(secured))
    }

    /// The latest answer for a party that is notified before or after the tests.
    pub fn notice(&self, whom: Whom, when: NotifyWhen) -> Option<&NoticeAt> {
        self.notices.iter().rfind(|at| at.notice.whom == whom && at.notice.when == when)
    }

    /// The alarms that are not cleared.
    pub fn alarms_not_cleared(&self) -> impl Iterator<Item = &Alarm> {
        self.alarms.iter().filter(|alarm| alarm.cleared.is_none())
    }

    /// The last visual check of a position.
    pub fn visual_of(&self, position: Id) -> Option<&VisualAt> {
        self.visual.iter().rfind(|check| check.position == position)
    }

    /// Whether nothing more is expected of it: closed, no test in progress, everything restored.
    pub fn over(&self) -> bool {
        !self.closed.is_empty() && self.active().next().is_none() && self.still_off() == 0
    }
}

impl Visit {
    /// Whether an alarm may now be taken for one of ours: a party was notified that testing starts and not that it is over,
    /// something is off, or a test is in progress. That somebody accepted it changes nothing for whoever sees the alarm.
    pub fn is_on_test(&self) -> bool {
        self.still_off() > 0 || self.active().next().is_some()
    }
}

/// What a visit still needs before its first heat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Station {
    /// Heat may go on.
    Answered,
    /// The question about the supervising station is not answered.
    Open,
    /// The station's time on test is over.
    Lapsed {
        /// When it ended, UTC ms.
        at: Wall,
    },
}

impl Visit {
    /// What was said of the supervising station, at `now`, UTC ms.
    pub fn station(&self, now: Wall) -> Station {
        let station = |at: &&NoticeAt| at.notice.whom == Whom::SupervisingStation;
        let Some(at) = self.notice(Whom::SupervisingStation, NotifyWhen::Before) else { return Station::Open };
        // Told that testing is over, they respond again.
        let over = self.notices.iter().rfind(station).is_some_and(|last| last.notice.when == NotifyWhen::After);
        match at.notice.answer {
            NotifyAnswer::Notified if over => Station::Open,
            NotifyAnswer::Notified => match at.notice.test_until.filter(|until| *until <= now) {
                Some(at) => Station::Lapsed { at },
                None => Station::Answered,
            },
            NotifyAnswer::NotRequired | NotifyAnswer::NotMonitored | NotifyAnswer::GoAheadWithout => Station::Answered,
        }
    }
}

fn off<T>(book: &Book, entry: &Entry, what: T) -> Off<T> {
    let restored = book.naming(entry.hash).find_map(|end| match &end.body {
        Body::Restored(restoring) => Some((restoring.by, restoring.happened)),
        _ => None,
    });
    Off { hash: entry.hash, what, wall: entry.stamp.wall, restored }
}

/// What a list says of a visit, without its tests.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Heading {
    /// Which.
    pub id: Id,
    /// Its site.
    pub site: Id,
    /// Wall clock of the first opening, UTC ms.
    pub opened: Wall,
    /// Whether a closing is in force.
    pub closed: bool,
}

/// Every visit known, newest first, as a list shows it.
pub fn headings(book: &Book) -> Vec<Heading> {
    let mut headings = Vec::new();
    for id in visit_ids(book) {
        let mut heading = Heading { id, site: Id::nil(), opened: Wall::MAX, closed: false };
        for entry in book.scope(Scope::Visit(id)).filter(|entry| !book.is_void(entry)) {
            match &entry.body {
                Body::VisitOpened { site } if entry.stamp.wall < heading.opened => {
                    (heading.opened, heading.site) = (entry.stamp.wall, *site);
                }
                Body::VisitClosed { .. } => {
                    let mut ends = book.naming(entry.hash);
                    heading.closed |= !ends.any(|other| matches!(other.body, Body::VisitReopened(_)));
                }
                _ => {}
            }
        }
        if heading.opened < Wall::MAX {
            headings.push(heading);
        }
    }
    order::by(headings, |heading| (heading.opened.0.saturating_neg(), 0, heading.id.to_string()))
}

impl Heading {
    /// How the visit stands at `now`, UTC ms. Only where one is closed it is looked up what is off.
    pub fn state(&self, book: &Book, now: Wall) -> State {
        match self.closed {
            true => Visit::shared(book, self.id).map_or(State::Closed, |visit| visit.state(now)),
            false => State::Open,
        }
    }
}

/// Every visit known, newest first.
pub fn visits(book: &Book) -> Vec<Visit> {
    headings(book).into_iter().filter_map(|heading| Visit::of(book, heading.id)).collect()
}

/// Every visit that has a chain, opened or not.
pub fn visit_ids(book: &Book) -> BTreeSet<Id> {
    order::set(book.chains().filter_map(|chain| match chain.scope {
        Scope::Visit(id) => Some(id),
        _ => None,
    }))
}

fn after_closing(book: &Book, sorted: &Sorted<'_>, closed: &[Hash]) -> Vec<Hash> {
    let closings: Vec<&Entry> = closed.iter().filter_map(|hash| book.get(*hash)).collect();
    let mut late = Vec::new();
    for chain in &sorted.chains {
        let by_others = closings.iter().filter(|closing| closing.chain.phone != chain.phone());
        let Some(first) = by_others.map(|closing| closing.stamp.wall).min() else { continue };
        let marks = |body: &Body| matches!(body, Body::Mark { .. } | Body::ReadingTaken { .. } | Body::TestStarted(_));
        let after = chain.standing.iter().filter(|entry| entry.stamp.wall > first && marks(&entry.body));
        late.extend(after.map(|entry| entry.hash));
    }
    late
}
