//! Breaks, what is left off by name, closing and reopening: nobody drives off with something off without having said so.

use super::super::Id;
use super::super::body::{
    Amendment, Answer, Body, BreakItem, Happened, Impaired, LeavingOff, Notice, NotifyAnswer, NotifyWhen, OpenPair,
    Reopening, RestoreWord, Secured, Signature, Signed, Who, Whom,
};
use super::super::command::{At, StartBreak};
use super::super::entries::Book;
use super::super::entry::{Entry, Hash, Scope};
use super::super::refusal::{Fault, Refusal};
use super::super::visit::{Missing, OffNow, State, StillOff, Visit};
use super::visit::{back, notified, restore};
use super::{Drafts, draft, fields, in_visit, open_visit, unsettled};

/// How long a closing can be taken back, ms: a day, after that a new visit follows it.
const REOPEN_MS: i64 = 24 * 3_600_000;

pub(super) fn close(book: &Book, at: At, id: Id) -> Drafts {
    let missing = open_visit(book, id)?.missing(at.stamp.wall);
    match missing.is_empty() {
        true => in_visit(id, Body::VisitClosed { covers: book.ends(Scope::Visit(id)) }),
        false => Err(Refusal::VisitNotOver(missing)),
    }
}

/// Whether a closing is so long ago that it is not taken back any more.
pub(super) fn is_settled(at: At, closing: &Entry) -> bool {
    at.stamp.wall.saturating_sub(closing.stamp.wall) > REOPEN_MS
}

pub(super) fn reopen(book: &Book, at: At, id: Id, why: Hash, amends: Option<Hash>) -> Drafts {
    let by = at.who.ok_or(Refusal::NoPerson)?;
    let visit = Visit::of(book, id).ok_or(Refusal::NoOpenVisit)?;
    if visit.closed.is_empty() {
        return Err(Refusal::NothingToEnd);
    }
    if visit.closed.iter().filter_map(|hash| book.get(*hash)).all(|closing| is_settled(at, closing)) {
        return Err(Refusal::ReopenTooLate);
    }
    let reopened = |ends: &Hash| Body::VisitReopened(Reopening { ends: *ends, why, by }.into());
    let amended = amends.map(|amends| Body::Amended(Amendment { amends, why, by }.into()));
    let all = amended.into_iter().chain(visit.closed.iter().map(reopened));
    Ok(all.map(|body| draft(Scope::Visit(id), body)).collect())
}

/// A signature under the record, or that somebody declined or is absent. A draft is not signed.
pub(super) fn sign(book: &Book, at: At, id: Id, signature: Signature) -> Drafts {
    let visit = Visit::of(book, id).ok_or(Refusal::NoOpenVisit)?;
    // As the record has it: as the visit was left.
    if visit.state(visit.record.latest) != State::Closed {
        return Err(Refusal::Draft);
    }
    fields::happened(at, signature.happened)?;
    match signature.how {
        Signed::Typed if signature.name.is_none() => Err(Refusal::Field("Signature.name", Fault::Empty)),
        Signed::Drawn if signature.drawn.is_none() => Err(Refusal::Field("Signature.drawn", Fault::Empty)),
        _ => {
            let covers = book.ends(Scope::Visit(id));
            in_visit(id, Body::Signature(Signature { covers, ..signature }.into()))
        }
    }
}

/// Something stays off, accepted by name.
pub(super) fn leave_off(book: &Book, at: At, id: Id, leaving: LeavingOff) -> Drafts {
    let visit = unsettled(book, id)?;
    fields::check(&leaving)?;
    fields::happened(at, leaving.happened)?;
    let can = visit.missing(at.stamp.wall).iter().filter_map(Missing::can_be_left).any(|off| off == leaving.off);
    // What somebody accepted already may be accepted anew, e.g. until later.
    let again = || visit.off_now().iter().any(|off| off.entry == leaving.off && off.accepted.is_some());
    if !can && !again() {
        return Err(Refusal::NothingToEnd);
    }
    match leaving.until {
        None => Err(Refusal::Field("LeavingOff.until", Fault::Empty)),
        Some(until) if until <= at.stamp.wall => Err(Refusal::Field("LeavingOff.until", Fault::Date)),
        _ if leaving.notified.is_none() => Err(Refusal::Field("LeavingOff.notified", Fault::Choose)),
        _ => in_visit(id, Body::LeftOff(leaving.into())),
    }
}

/// Everything that is off is put back or left off by somebody's word, in one decision.
pub(super) fn start_break(book: &Book, at: At, start: StartBreak) -> Drafts {
    let StartBreak { visit: id, kind, put_back, left_off, by, happened } = start;
    let visit = open_visit(book, id)?;
    fields::happened(at, happened)?;
    if visit.record.on_break().is_some() {
        return Err(Refusal::OnBreak);
    }
    if visit.active().next().is_some() {
        return Err(Refusal::TestInProgress);
    }
    if visit.alarms_not_cleared().next().is_some() {
        return Err(Refusal::AlarmNotCleared);
    }
    let off = visit.off_now();
    let is_off = |hash: &Hash| off.iter().any(|off| off.entry == *hash);
    if !put_back.iter().chain(left_off.iter().map(|(hash, _)| hash)).all(is_off) {
        return Err(Refusal::NothingToEnd);
    }
    let word = |hash: Hash| left_off.iter().find(|(off, _)| *off == hash).map(|(_, by)| *by);
    let left = off.iter().filter(|off| !put_back.contains(&off.entry) && word(off.entry).is_none()).count();
    if left > 0 {
        return Err(Refusal::BreakLeavesOpen { left });
    }
    let item = |off: &OffNow| {
        let put_back = put_back.contains(&off.entry);
        BreakItem { off: off.entry, put_back, left_off_by: word(off.entry).filter(|_| !put_back) }
    };
    let items = off.iter().map(item).collect();
    let mut drafts = vec![draft(Scope::Visit(id), Body::BreakStarted { kind, items, happened })];
    for off in off.iter().filter(|off| put_back.contains(&off.entry)) {
        for one in put_back_one(book, at, &visit, off, by, happened)? {
            // Two entries may be put back by one word.
            if !drafts.contains(&one) {
                drafts.push(one);
            }
        }
    }
    Ok(drafts)
}

fn put_back_one(book: &Book, at: At, visit: &Visit, off: &OffNow, by: Who, happened: Happened) -> Drafts {
    let scope = Scope::Visit(visit.id);
    match off.what {
        StillOff::Impaired(_) | StillOff::Secured(_) | StillOff::Opened(_) => {
            restore(book, at, off.entry, by, happened)
        }
        StillOff::Permit(_) => Ok(vec![draft(scope, back(off.entry, by, happened))]),
        StillOff::OnTest { whom, .. } => Ok(notified(at, visit, over(whom, by, happened))),
        StillOff::Unrestored { test, .. } => {
            let word = RestoreWord { test, restored: Answer::Yes, by, happened };
            Ok(vec![draft(scope, Body::RestoreSaid(word.into()))])
        }
        StillOff::NotOurs(_) => Err(Refusal::AlarmNotCleared),
        // Nobody puts a panel right by a word; it is looked at again.
        StillOff::Panel(_) => Err(Refusal::NothingToEnd),
    }
}

/// The notice that testing is over.
fn over(whom: Whom, by: Who, happened: Happened) -> Notice {
    Notice {
        whom,
        label: None,
        when: NotifyWhen::After,
        answer: NotifyAnswer::Notified,
        by,
        contact: None,
        account: None,
        test_until: None,
        happened,
        note: None,
    }
}

pub(super) fn end_break(book: &Book, at: At, id: Id) -> Drafts {
    let visit = open_visit(book, id)?;
    let happened = at.happened();
    let lasts = visit.record.breaks.iter().filter(|one| one.ended.is_none());
    let ends: Vec<Body> = lasts.map(|one| Body::BreakEnded { ends: one.hash, happened }).collect();
    match ends.is_empty() {
        true => Err(Refusal::NothingToEnd),
        false => Ok(ends.into_iter().map(|end| draft(Scope::Visit(id), end)).collect()),
    }
}

/// After a break: the same is off once more, by a tick of its own. A station is notified anew, because it is asked until when.
pub(super) fn off_again(book: &Book, at: At, off: Hash) -> Drafts {
    let by = Who::Person(at.who.ok_or(Refusal::NoPerson)?);
    let entry = book.get(off).filter(|entry| !book.is_void(entry)).ok_or(Refusal::NothingToEnd)?;
    let Scope::Visit(id) = entry.chain.scope else { return Err(Refusal::NothingToEnd) };
    let visit = open_visit(book, id)?;
    if visit.record.on_break().is_some() {
        return Err(Refusal::OnBreak);
    }
    if !visit.off_again().contains(&off) {
        return Err(Refusal::NothingToEnd);
    }
    let happened = at.happened();
    let body = match &entry.body {
        // Who verified it did so before the break.
        Body::Secured(of) => Body::Secured(Secured { by, verified_by: None, happened, ..Secured::clone(of) }.into()),
        Body::Impaired(of) => Body::Impaired(Impaired { by, happened, ..Impaired::clone(of) }.into()),
        Body::PairOpened(of) => Body::PairOpened(OpenPair { by, happened, ..OpenPair::clone(of) }.into()),
        _ => return Err(Refusal::NothingToEnd),
    };
    in_visit(id, body)
}
