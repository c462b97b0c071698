//! What a visit records beside heat and what is off: the panel, positions not tested, other methods, phones, breaks, what is left off.

use super::{NoticeAt, Visit};
use crate::book::Id;
use crate::book::body::{
    Answer, Body, BreakItem, BreakKind, CircuitProof, ClockOffset, Excuse, Happened, LeavingOff, LiftCheck, NotTested,
    Notice, NotifyAnswer, NotifyWhen, OtherMethod, PanelState, PanelWhen, PhoneRef, ProgrammingChange, Sample, What,
    Who, Whom,
};
use crate::book::entries::Book;
use crate::book::entry::{Entry, Hash};
use crate::book::sighting::Sighting;
use crate::units::Wall;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A fact with its entry.
#[derive(Clone, Debug, PartialEq)]
pub struct Said<T> {
    /// The entry.
    pub hash: Hash,
    /// The phone that recorded it.
    pub phone: Id,
    /// When it was recorded, wall clock, UTC ms.
    pub wall: Wall,
    /// What it says.
    pub what: Arc<T>,
}

/// The panel as somebody saw it.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelSeen {
    /// What was seen.
    pub said: Said<PanelState>,
    /// Whether something was done since that the panel may show: by the same phone, or by another one's clock.
    pub stale: bool,
    /// Whether another phone that knew of it looked at the same panel since.
    pub seen_again: bool,
}

impl PanelSeen {
    /// Whether it is of the panel of this label.
    pub fn is_of(&self, label: Option<&str>) -> bool {
        let name = |label: Option<&str>| label.unwrap_or_default().trim().to_ascii_lowercase();
        name(self.said.what.label.as_deref()) == name(label)
    }
}

/// A result by another method.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherResult {
    /// What was said.
    pub said: Said<OtherMethod>,
    /// Whether it restored, by each phone's last word.
    pub restored: BTreeMap<Id, Answer>,
}

impl OtherResult {
    /// Whether it is a result: that nobody knows whether it tripped is none.
    pub fn is_result(&self) -> bool {
        self.said.what.tripped != Answer::NotChecked
    }

    /// What was said last of whether it restored; of phones that disagree the worst counts.
    pub fn restored(&self) -> Answer {
        let said = |answer| self.restored.values().any(|said| *said == answer);
        match self.restored.is_empty() {
            true => self.said.what.restored,
            false if said(Answer::No) => Answer::No,
            false if said(Answer::NotChecked) => Answer::NotChecked,
            false => Answer::Yes,
        }
    }

    /// Whether it restored.
    pub fn has_restored(&self) -> bool {
        self.restored() == Answer::Yes
    }
}

/// A break, and everything that was off when it began.
#[derive(Clone, Debug, PartialEq)]
pub struct Break {
    /// The entry.
    pub hash: Hash,
    /// Within the day or overnight.
    pub kind: BreakKind,
    /// What was off.
    pub items: Vec<BreakItem>,
    /// When it began.
    pub happened: Happened,
    /// When work went on; absent while it lasts.
    pub ended: Option<Happened>,
}

/// A phone that the visit was given to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Invited {
    /// The entry.
    pub hash: Hash,
    /// Attachment with its name.
    pub name: Hash,
    /// When it was recorded, wall clock, UTC ms.
    pub wall: Wall,
}

/// What a visit records beside heat and what is off.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// The panel, as found, between, and as left.
    pub panels: Vec<PanelSeen>,
    /// Other clocks against a phone's.
    pub clocks: Vec<Said<ClockOffset>>,
    /// What somebody saw come in at the panel.
    pub sightings: Vec<Sighting>,
    /// Changes of the panel's programming.
    pub programming: Vec<Said<ProgrammingChange>>,
    /// What the app drew.
    pub samples: Vec<Said<Sample>>,
    /// First alarms of circuits.
    pub proofs: Vec<Said<CircuitProof>>,
    /// Lift and fall protection.
    pub lifts: Vec<Said<LiftCheck>>,
    /// Positions that were not tested.
    pub not_tested: Vec<Said<NotTested>>,
    /// Results by other methods.
    pub other_methods: Vec<OtherResult>,
    /// Phones that the visit was given to.
    pub invited: Vec<Invited>,
    /// Invitations that a phone answered by taking part.
    pub answered: BTreeSet<Hash>,
    /// Phones that closing does not wait for.
    pub excused: Vec<Said<Excuse>>,
    /// Breaks.
    pub breaks: Vec<Break>,
    /// What is left off, and who accepted it.
    pub left_off: Vec<Said<LeavingOff>>,
    /// Trips that a phone marked when another had taken its test over: the test, the mark, its wall clock. They are none of the test's
    /// marks, but the detector did trip.
    pub late_trips: Vec<(Id, Hash, Wall)>,
    /// The latest time at which anything was recorded, UTC ms.
    pub latest: Wall,
    /// When each phone last did something that a panel may show, by its wall clock.
    panel_changed: Vec<(Id, Wall)>,
}

impl Record {
    /// Who accepted that this stays off; of several acceptances the longest.
    pub fn accepted(&self, off: Hash) -> Option<&Said<LeavingOff>> {
        let of = self.left_off.iter().filter(|left| left.what.off == off);
        of.max_by_key(|left| left.what.until.unwrap_or(Wall::MAX))
    }

    /// The break that lasts.
    pub fn on_break(&self) -> Option<&Break> {
        self.breaks.iter().find(|one| one.ended.is_none())
    }

    /// Whether it was off when a break began, so that it needs a tick of its own before it counts again.
    pub fn is_from_before_a_break(&self, off: Hash) -> bool {
        self.breaks.iter().flat_map(|one| &one.items).any(|item| item.off == off)
    }

    /// Phones that were invited, have not taken part as far as is known here, and that nobody excused.
    pub fn awaited(&self) -> impl Iterator<Item = &Invited> {
        let excused = |hash| self.excused.iter().any(|said| said.what.of == PhoneRef::Invited(hash));
        self.invited.iter().filter(move |one| !self.answered.contains(&one.hash) && !excused(one.hash))
    }

    /// The last word of each phone on each panel as left, unless another phone that knew of it looked since.
    pub fn panels_left(&self) -> impl Iterator<Item = &PanelSeen> {
        let same = |one: &PanelSeen, other: &PanelSeen| {
            let of = other.is_of(one.said.what.label.as_deref());
            of && one.said.phone == other.said.phone && other.said.what.when == PanelWhen::Left
        };
        let left = self.panels.iter().enumerate().filter(|(_, seen)| seen.said.what.when == PanelWhen::Left);
        let last = left.filter(move |(at, seen)| !self.panels[at + 1..].iter().any(|other| same(seen, other)));
        last.map(|(_, seen)| seen).filter(|seen| !seen.seen_again)
    }

    /// Labels of the panels that nobody looked at as left since the last work; without a label where nobody looked at any.
    pub fn panels_unseen(&self) -> Vec<Option<String>> {
        let left = |label: Option<&str>| self.panels_left().any(|seen| !seen.stale && seen.is_of(label));
        let mut unseen: Vec<&PanelSeen> = Vec::new();
        let mut looked = self.panels.iter().filter(|seen| seen.said.what.when != PanelWhen::Between).peekable();
        if looked.peek().is_none() {
            return vec![None];
        }
        for seen in looked {
            let label = seen.said.what.label.as_deref();
            if !left(label) && !unseen.iter().any(|other| other.is_of(label)) {
                unseen.push(seen);
            }
        }
        unseen.into_iter().map(|seen| seen.said.what.label.clone()).collect()
    }

    /// Whether a panel shows nothing that it did not show as found.
    pub fn is_as_found(&self, left: &PanelState) -> bool {
        let found = || {
            let of = self.panels.iter().filter(|seen| seen.is_of(left.label.as_deref())).map(|seen| &seen.said.what);
            of.filter(|found| found.when == PanelWhen::Found)
        };
        let there = |lines: fn(&PanelState) -> &Vec<String>| {
            let same = |a: &str, b: &str| a.trim().eq_ignore_ascii_case(b.trim());
            let shown = |line: &String| found().any(|found| lines(found).iter().any(|other| same(line, other)));
            lines(left).iter().all(shown)
        };
        left.normal
            || (there(|of| &of.alarms)
                && there(|of| &of.supervisories)
                && there(|of| &of.troubles)
                && there(|of| &of.disabled))
    }

    /// Takes in an entry; those of one phone come in order.
    pub(super) fn fold(&mut self, book: &Book, entry: &Entry) {
        let (hash, phone, wall) = (entry.hash, entry.chain.phone, entry.stamp.wall);
        // An undo says nothing that a visit would not be without it; who signs or sends it does no more work.
        let beside = matches!(entry.body, Body::Signature(_) | Body::Delivered(_) | Body::Attended(_));
        if !beside && !matches!(entry.body, Body::Undone { .. } | Body::VisitJoined { .. }) {
            self.latest = self.latest.max(wall);
        }
        if changes_the_panel(book, &entry.body) {
            self.panels.iter_mut().filter(|seen| seen.said.phone == phone).for_each(|seen| seen.stale = true);
            match self.panel_changed.iter_mut().find(|(of, _)| *of == phone) {
                Some((_, last)) => *last = wall.max(*last),
                None => self.panel_changed.push((phone, wall)),
            }
        }
        match &entry.body {
            Body::PanelState(of) => {
                let said = Said { hash, phone, wall, what: Arc::clone(of) };
                let seen_again = book.naming(hash).any(|end| matches!(end.body, Body::Restored(_)));
                self.panels.push(PanelSeen { said, stale: false, seen_again });
            }
            Body::ClockOffset(of) => self.clocks.push(Said { hash, phone, wall, what: Arc::clone(of) }),
            Body::PanelSaw(of) if of.replaces.is_none() => self.sightings.extend(Sighting::of(book, hash)),
            Body::ProgrammingChanged(of) => self.programming.push(Said { hash, phone, wall, what: Arc::clone(of) }),
            Body::SampleDrawn(of) => self.samples.push(Said { hash, phone, wall, what: Arc::clone(of) }),
            Body::CircuitProved(of) => self.proofs.push(Said { hash, phone, wall, what: Arc::clone(of) }),
            Body::LiftChecked(of) => self.lifts.push(Said { hash, phone, wall, what: Arc::clone(of) }),
            Body::NotTested(of) => self.not_tested.push(Said { hash, phone, wall, what: Arc::clone(of) }),
            Body::OtherMethod(of) => {
                let said = Said { hash, phone, wall, what: Arc::clone(of) };
                self.other_methods.push(OtherResult { said, restored: BTreeMap::new() });
            }
            Body::PhoneInvited { name } => self.invited.push(Invited { hash, name: *name, wall }),
            Body::VisitJoined { invitation, .. } => self.answered.extend(*invitation),
            Body::PhoneExcused(of) => self.excused.push(Said { hash, phone, wall, what: Arc::clone(of) }),
            Body::BreakStarted { kind, items, happened } => {
                let ended = book.naming(hash).find_map(|end| match end.body {
                    Body::BreakEnded { happened, .. } => Some(happened),
                    _ => None,
                });
                let (kind, items, happened) = (*kind, items.clone(), *happened);
                self.breaks.push(Break { hash, kind, items, happened, ended });
            }
            Body::LeftOff(of) => self.left_off.push(Said { hash, phone, wall, what: Arc::clone(of) }),
            _ => {}
        }
    }

    /// Once every entry is in: what other phones did after a look at a panel, and what was said of the restore of what another method
    /// tested.
    pub(super) fn settle<'a>(&mut self, entries: impl Iterator<Item = &'a Entry>) {
        for seen in &mut self.panels {
            let (of, at) = (seen.said.phone, seen.said.wall);
            seen.stale |= self.panel_changed.iter().any(|(phone, wall)| *phone != of && *wall > at);
        }
        if self.other_methods.is_empty() {
            return;
        }
        for entry in entries {
            let Body::RestoreSaid(of) = &entry.body else { continue };
            let about = self.other_methods.iter_mut().filter(|other| other.said.what.test == of.test);
            about.for_each(|other| {
                other.restored.insert(entry.chain.phone, of.restored);
            });
        }
    }
}

/// Whether the panel may show something else after it than before.
fn changes_the_panel(book: &Book, body: &Body) -> bool {
    let is_of_the_panel = |off: Hash| match book.get(off).map(|entry| &entry.body) {
        Some(Body::Impaired(_) | Body::Secured(_) | Body::PairOpened(_)) => true,
        Some(_) | None => false,
    };
    match body {
        Body::TestStarted(_) | Body::Mark { what: What::Tripped, .. } | Body::OtherMethod(_) => true,
        Body::Impaired(_) | Body::Secured(_) | Body::PairOpened(_) => true,
        Body::Replaced(_) | Body::Repaired(_) | Body::AlarmNotOurs(_) | Body::AlarmCleared(_) => true,
        Body::Restored(of) => is_of_the_panel(of.ends),
        _ => false,
    }
}

impl Visit {
    /// The name of somebody, as the visit knows them; none where it was erased or is not here. `names` has the attachments.
    pub fn name_of<'a>(&self, names: &'a Book, who: Who) -> Option<&'a str> {
        names.words(self.name(who)?)
    }

    /// The attachment with the name of somebody, whether it is here or not.
    pub fn name(&self, who: Who) -> Option<Hash> {
        match who {
            Who::Named(name) => Some(name),
            Who::Person(id) => self.attended.iter().rfind(|attendee| attendee.person == id).map(|of| of.name),
        }
    }
}

/// Takes in a notice. Of one phone the next one to the same party takes the place of the one before it.
pub(super) fn notify(notices: &mut Vec<NoticeAt>, book: &Book, entry: &Entry, notice: &Arc<Notice>) {
    let (hash, phone, wall) = (entry.hash, entry.chain.phone, entry.stamp.wall);
    let named = book.naming(hash).any(|end| matches!(end.body, Body::Restored(_)));
    let opens = notice.when == NotifyWhen::Before && notice.answer == NotifyAnswer::Notified;
    let mut at =
        NoticeAt { hash, phone, wall, notice: Arc::clone(notice), since: notice.happened.at, on_test: opens && !named };
    if opens || notice.ends_test() {
        let before = notices.iter_mut().filter(|other| other.phone == phone && other.notice.whom == notice.whom);
        for other in before.filter(|other| other.on_test) {
            other.on_test = false;
            if opens {
                at.since = at.since.min(other.since);
            }
        }
    }
    notices.push(at);
}

impl Notice {
    /// Whether the party takes alarms for real again after it. A supervising station that is not told does not.
    pub fn ends_test(&self) -> bool {
        let said = match self.answer {
            NotifyAnswer::Notified => true,
            NotifyAnswer::NotRequired => self.whom != Whom::SupervisingStation,
            NotifyAnswer::NotMonitored | NotifyAnswer::GoAheadWithout => false,
        };
        self.when == NotifyWhen::After && said
    }
}
