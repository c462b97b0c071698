//! What is still off, since when, and which limits are near.

use super::record::Said;
use super::{Visit, visit_ids};
use crate::book::Id;
use crate::book::body::{
    Answer, Body, Ending, Impaired, ImpairedWhat, LeavingOff, Method, NotOurs, NotifyAnswer, NotifyWhen, OpenPair,
    PanelState, Permit, Secured, What, Whom,
};
use crate::book::entries::Book;
use crate::book::entry::{Entry, Hash, Scope};
use crate::book::register::Register;
use crate::book::test::Test;
use crate::book::versions::Versions;
use crate::order;
use crate::units::{TestTime, Wall};
use std::sync::Arc;

/// What is off.
#[derive(Clone, Debug, PartialEq)]
pub enum StillOff {
    /// A circuit, a zone, an output or the whole system is impaired.
    Impaired(Arc<Impaired>),
    /// Something that an alarm would release is secured.
    Secured(Arc<Secured>),
    /// A pair is open.
    Opened(Arc<OpenPair>),
    /// A party takes alarms for tests.
    OnTest {
        /// Who.
        whom: Whom,
        /// Until when, UTC ms, where a time was agreed.
        until: Option<Wall>,
    },
    /// A permit is not handed back.
    Permit(Arc<Permit>),
    /// A detector tripped and nobody saw it restore.
    Unrestored {
        /// The test.
        test: Id,
        /// The position.
        position: Id,
    },
    /// An alarm that is not ours is not cleared.
    NotOurs(NotOurs),
    /// The panel as left is neither normal nor as found, in a visit that is closed.
    Panel(Arc<PanelState>),
}

/// Something that is off.
#[derive(Clone, Debug, PartialEq)]
pub struct OffNow {
    /// The entry that took it off, or says what is wrong.
    pub entry: Hash,
    /// What.
    pub what: StillOff,
    /// Since when, UTC ms.
    pub since: Wall,
    /// Who accepted that it stays off.
    pub accepted: Option<Said<LeavingOff>>,
}

impl OffNow {
    /// For how long, ms; nothing where a clock was set back behind its start.
    pub fn for_ms(&self, now: Wall) -> i64 {
        now.saturating_sub(self.since).max(0)
    }

    /// Whether nobody has accepted it, or only for a time that is over.
    pub fn counts(&self, now: Wall) -> bool {
        self.accepted.as_ref().is_none_or(|accepted| accepted.what.until.is_some_and(|until| until <= now))
    }
}

/// How a visit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Work goes on.
    Open,
    /// It is closed, and all that is off was accepted by name.
    Closed,
    /// It is closed, and something is off that nobody accepted, or only for a time that is over.
    ClosedStillOff,
}

impl Visit {
    /// Everything that is off: what stands longest first within each kind.
    pub fn off_now(&self) -> Vec<OffNow> {
        let mut all = Vec::new();
        let mut add = |entry: Hash, since: Wall, what: StillOff| {
            let accepted = match what {
                // A real fire is cleared, never accepted.
                StillOff::NotOurs(_) => None,
                _ => self.record.accepted(entry).cloned(),
            };
            all.push(OffNow { entry, what, since, accepted });
        };
        for alarm in self.alarms_not_cleared() {
            add(alarm.hash, alarm.happened.at, StillOff::NotOurs(alarm.what));
        }
        for off in self.impaired.iter().filter(|off| off.is_off()) {
            add(off.hash, off.what.happened.at, StillOff::Impaired(Arc::clone(&off.what)));
        }
        for off in self.secured.iter().filter(|off| off.is_off()) {
            add(off.hash, off.what.happened.at, StillOff::Secured(Arc::clone(&off.what)));
        }
        for off in self.pairs.iter().filter(|off| off.is_off()) {
            add(off.hash, off.what.happened.at, StillOff::Opened(Arc::clone(&off.what)));
        }
        for at in self.notices.iter().filter(|at| at.on_test) {
            add(at.hash, at.since, StillOff::OnTest { whom: at.notice.whom, until: at.notice.test_until });
        }
        for test in self.tests.iter().filter(|test| test.ended.is_some()) {
            if let Some((trip, wall)) = self.unrestored(test) {
                let what = StillOff::Unrestored { test: test.id, position: test.frozen.position.of };
                add(trip, wall, what);
            }
        }
        for (index, other) in self.record.other_methods.iter().enumerate() {
            let of = &other.said.what;
            let same = |later: &super::OtherResult| later.said.what.position == of.position;
            let followed = self.record.other_methods[index + 1..].iter().any(|later| {
                same(later) && later.said.phone == other.said.phone && later.said.what.tripped == Answer::Yes
            });
            let replaced = || of.detector.is_some_and(|detector| self.is_taken_out(detector));
            // No panel shows what trips in a laboratory.
            let on_site = of.method != Method::Laboratory;
            if on_site && of.tripped == Answer::Yes && !other.has_restored() && !followed && !replaced() {
                let what = StillOff::Unrestored { test: of.test, position: of.position };
                add(other.said.hash, of.happened.at, what);
            }
        }
        for permit in self.permits.iter().filter(|permit| permit.in_hand) {
            add(permit.hash, permit.permit.happened.at, StillOff::Permit(Arc::clone(&permit.permit)));
        }
        // Before a closing it is what closing waits for.
        if !self.closed.is_empty() {
            all.extend(self.panels_off());
        }
        all
    }

    /// Panels as left that are neither normal nor as found.
    pub fn panels_off(&self) -> impl Iterator<Item = OffNow> {
        self.panels_that_differ().map(|seen| OffNow {
            entry: seen.said.hash,
            what: StillOff::Panel(Arc::clone(&seen.said.what)),
            since: seen.said.what.happened.at,
            accepted: self.record.accepted(seen.said.hash).cloned(),
        })
    }

    /// The last trip of a test whose detector nobody saw restore: not by its marks, not by a word, not in the test that follows, and it
    /// hangs there still.
    fn unrestored(&self, test: &Test) -> Option<(Hash, Wall)> {
        let own = test.marks.iter().rfind(|mark| mark.what == What::Tripped);
        let late = || self.record.late_trips.iter().rfind(|late| late.0 == test.id).map(|late| (late.1, late.2));
        let trip = own.map(|mark| (mark.hash, mark.stamp.wall)).or_else(late)?;
        let since = own.map_or(TestTime::MIN, |mark| mark.at);
        let marked = || test.marks.iter().any(|mark| mark.what == What::Restored && mark.at >= since);
        let restored = match test.restored_word() {
            Some(said) => said == Answer::Yes,
            None => marked(),
        };
        if restored || self.is_taken_out(test.frozen.detector.of) {
            return None;
        }
        let trips = |other: &Test| other.marks.iter().any(|mark| mark.what == What::Tripped);
        let other_detector = |other: &Test| other.frozen.detector.of != test.frozen.detector.of;
        let mistake = |other: &Test| matches!(other.ended, Some((Ending::Mistake, _)));
        let follows = |other: &Test| other.frozen.follows == Some(test.id) && !mistake(other);
        // A detector that trips again had restored; the later test answers for it from there.
        let followed = self.tests.iter().any(|other| follows(other) && (trips(other) || other_detector(other)));
        (!followed).then_some(trip)
    }

    /// Whether a detector was taken out of its position in this visit.
    fn is_taken_out(&self, detector: Id) -> bool {
        self.work.iter().any(|work| work.removed == Some(detector))
    }

    /// How many things are off.
    pub fn still_off(&self) -> usize {
        self.off_now().len()
    }

    /// What was off before the last break and needs a tick of its own before it counts again: put back and not taken off since, or left
    /// off and not looked at since.
    pub fn off_again(&self) -> Vec<Hash> {
        let items = self.record.breaks.last().filter(|last| last.ended.is_some()).map_or(&[][..], |last| &last.items);
        let again = |off: Hash| {
            let secured = self.secured.iter().find(|other| other.hash == off);
            let impaired = self.impaired.iter().find(|other| other.hash == off);
            let same = |one: &Impaired, other: &Impaired| {
                (one.what, one.circuit, &one.label) == (other.what, other.circuit, &other.label)
            };
            let pair = self.pairs.iter().find(|other| other.hash == off);
            let notice = self.notices.iter().find(|other| other.hash == off);
            secured.is_some_and(|of| !self.is_secured(&of.what.release))
                || impaired.is_some_and(|of| !self.impaired.iter().any(|on| on.is_off() && same(&on.what, &of.what)))
                || pair.is_some_and(|of| {
                    !self.pairs.iter().any(|on| {
                        on.is_off()
                            && on.what.label == of.what.label
                            && (on.what.position, on.what.circuit) == (of.what.position, of.what.circuit)
                    })
                })
                || notice
                    .is_some_and(|of| !self.notices.iter().any(|on| on.on_test && on.notice.whom == of.notice.whom))
        };
        items.iter().map(|item| item.off).filter(|off| again(*off)).collect()
    }

    /// How it stands at `now`, UTC ms. A merge may bring something that a closing did not know of, and an acceptance may run out.
    pub fn state(&self, now: Wall) -> State {
        if self.closed.is_empty() {
            return State::Open;
        }
        let off = self.active().next().is_some() || self.off_now().iter().any(|off| off.counts(now));
        if off { State::ClosedStillOff } else { State::Closed }
    }
}

/// How near a limit is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Near {
    /// Far.
    Far,
    /// So near that something has to be done.
    Soon,
    /// Passed.
    Over,
}

/// How long before a limit of impairment is warned of, ms. Own figure.
pub const IMPAIRMENT_SOON_MS: i64 = 30 * 60_000;

/// How long before a station's window ends is warned of, ms. Own figure.
pub const WINDOW_SOON_MS: i64 = 15 * 60_000;

/// The longest impairment in 24 h where a site says nothing, ms: 4 h.
///
/// Source: NFPA 101 (2009) 9.6.1.6; local rules differ, so it is a setting of the site.
pub const IMPAIRED_LIMIT_MS: i64 = 4 * 3_600_000;

/// The hours over which impairments are added up, ms.
const DAY_MS: i64 = 24 * 3_600_000;

/// The time that something was impaired within 24 h, against its limit.
#[derive(Clone, Debug, PartialEq)]
pub struct ImpairedTime {
    /// What, of one item; absent for the whole of the system.
    pub item: Option<Arc<Impaired>>,
    /// In the 24 h up to now, ms.
    pub in_24_h_ms: i64,
    /// The site's limit, ms.
    pub limit_ms: i64,
    /// Whether it runs now.
    pub runs: bool,
}

impl ImpairedTime {
    /// What is left up to the limit, ms; negative past it.
    pub fn left_ms(&self) -> i64 {
        self.limit_ms.saturating_sub(self.in_24_h_ms)
    }

    /// How near the limit is. What does not run comes no nearer.
    pub fn near(&self) -> Near {
        match self.left_ms() {
            left if left <= 0 => Near::Over,
            left if left <= IMPAIRMENT_SOON_MS && self.runs => Near::Soon,
            _ => Near::Far,
        }
    }
}

/// A visit beside the one on screen in which something is off at `now`, UTC ms: leaving a visit puts nothing back. Those that are known
/// to be over are not looked into.
pub fn off_elsewhere(book: &Book, shown: Option<Id>, now: Wall, known_over: impl Fn(Id) -> bool) -> Option<Arc<Visit>> {
    let others = visit_ids(book).into_iter().filter(|other| Some(*other) != shown && !known_over(*other));
    others.filter_map(|other| Visit::shared(book, other)).find(|visit| match visit.state(now) {
        State::Open => visit.still_off() > 0,
        State::Closed => false,
        State::ClosedStillOff => true,
    })
}

/// The visits at a site in which something was impaired within the 24 h up to `now`, UTC ms, or was recorded to be.
pub fn impaired_lately(book: &Book, site: Id, now: Wall) -> Vec<Arc<Visit>> {
    let from = now - DAY_MS;
    let lately = |entry: &Entry| match &entry.body {
        Body::Impaired(_) => {
            let ended = |end: &Entry| match &end.body {
                Body::Restored(of) => Some(of.happened.at.max(end.stamp.wall)),
                _ => None,
            };
            let mut ends = book.naming(entry.hash).filter_map(ended).peekable();
            ends.peek().is_none() || entry.stamp.wall > from || ends.any(|end| end > from)
        }
        _ => false,
    };
    // Every entry of every visit is looked at, so that is done once.
    let here = |id: &Id| book.scope(Scope::Visit(*id)).any(|entry| lately(entry) && !book.is_void(entry));
    let visits = visit_ids(book).into_iter().filter(here).filter_map(|id| Visit::shared(book, id));
    order::by_number(visits.filter(|visit| visit.site == site).collect(), |visit| visit.opened.0.saturating_neg())
}

/// The site's limit of impairment in 24 h, ms; the least of what phones say that do not agree.
pub fn impaired_limit_ms(register: &Register, site: Id) -> i64 {
    let versions = register.site_rules.get(&site).into_iter().flat_map(Versions::versions);
    let limit = |minutes: Option<_>| minutes.map_or(IMPAIRED_LIMIT_MS, |minutes| i64::from(minutes) * 60_000);
    versions.map(|(_, rules)| limit(rules.impairment_limit_min)).min().unwrap_or(IMPAIRED_LIMIT_MS)
}

/// The clocks of impairment: of the system, then of each item, over visits of one site. Each is the union of its intervals, so that what
/// two phones recorded of one impairment counts once and at its longest.
pub fn impaired_times<'a>(visits: impl IntoIterator<Item = &'a Visit>, limit_ms: i64, now: Wall) -> Vec<ImpairedTime> {
    type Item = (ImpairedWhat, Option<Id>, Option<String>);
    let item = |of: &Impaired| -> Item { (of.what, of.circuit, of.label.clone()) };
    let mut spans: Vec<(Arc<Impaired>, Wall, Wall, bool)> = Vec::new();
    let mut now = now;
    for visit in visits {
        // A clock that was set back takes nothing off, unless it had been set far ahead by mistake.
        let latest = visit.record.latest;
        if latest > now && latest.saturating_sub(now) <= DAY_MS && visit.impaired.iter().any(super::Off::is_off) {
            now = latest;
        }
        for off in &visit.impaired {
            let until = off.restored.map(|(_, happened)| happened.at);
            spans.push((Arc::clone(&off.what), off.what.happened.at, until.unwrap_or(Wall::MAX), until.is_none()));
        }
    }
    let within = |spans: &[(Arc<Impaired>, Wall, Wall, bool)]| {
        let cut = spans.iter().map(|(_, from, until, _)| ((*from).max(now - DAY_MS), (*until).min(now)));
        union_ms(cut.collect())
    };
    let mut times = Vec::new();
    if !spans.is_empty() {
        let runs = spans.iter().any(|span| span.3);
        times.push(ImpairedTime { item: None, in_24_h_ms: within(&spans), limit_ms, runs });
    }
    let mut items: Vec<Item> = Vec::new();
    for (of, ..) in &spans {
        let key = item(of);
        if items.contains(&key) {
            continue;
        }
        let of_item: Vec<_> = spans.iter().filter(|span| item(&span.0) == key).cloned().collect();
        let runs = of_item.iter().any(|span| span.3);
        times.push(ImpairedTime { item: Some(Arc::clone(of)), in_24_h_ms: within(&of_item), limit_ms, runs });
        items.push(key);
    }
    times
}

/// The time that any of these intervals covers, ms.
fn union_ms(spans: Vec<(Wall, Wall)>) -> i64 {
    let spans = crate::order::by_number(spans, |span| span.0.0);
    let (mut covered, mut reached) = (0_i64, Wall::MIN);
    for (from, until) in spans.into_iter().filter(|(from, until)| until > from) {
        covered = covered.saturating_add(until.saturating_sub(from.max(reached)).max(0));
        reached = reached.max(until);
    }
    covered
}

/// The supervising station's time on test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// Until when, UTC ms.
    pub until: Wall,
    /// What is left, ms; negative when it is over.
    pub left_ms: i64,
    /// How near its end is.
    pub near: Near,
}

impl Visit {
    /// The supervising station's time on test at `now`, UTC ms; none where no end was agreed, or it is not on test.
    pub fn window(&self, now: Wall) -> Option<Window> {
        let on_test = |at: &&super::NoticeAt| at.on_test && at.notice.whom == Whom::SupervisingStation;
        self.notices.iter().find(on_test)?;
        let last = self.notice(Whom::SupervisingStation, NotifyWhen::Before)?;
        let until = last.notice.test_until.filter(|_| last.notice.answer == NotifyAnswer::Notified)?;
        let left_ms = until.saturating_sub(now);
        let near = match left_ms {
            ..=0 => Near::Over,
            1..=WINDOW_SOON_MS => Near::Soon,
            _ => Near::Far,
        };
        Some(Window { until, left_ms, near })
    }
}
