//! Opening and closing steps of a visit.

use super::super::Id;
use super::super::body::{
    Attendance, Body, Clearing, Edit, Ending, Happened, HeldApproval, Impaired, ImpairedWhat, ItemFound, ItemWhat,
    NotOurs, Notice, NotifyAnswer, NotifyWhen, OtherAlarm, Permit, Restoring, Secured, VisitPlan, VisualCheck, Who,
    Whom,
};
use super::super::command::At;
use super::super::entries::Book;
use super::super::entry::{Chain, Entry, Hash, Scope};
use super::super::kit::Kit;
use super::super::profile_run::going_on;
use super::super::refusal::{Fault, Refusal};
use super::super::register::Register;
use super::super::seal::Draft;
use super::super::test::Test;
use super::super::versions::Versions;
use super::super::visit::{NoticeAt, Visit, visit_ids, visits};
use super::{Drafts, draft, fields, in_visit, items, open_visit, open_visits, unsettled};
use crate::encoding::stored::Stored;
use crate::order;
use crate::trade::classified::Gas;
use crate::trade::conditions::{ItemClass, Visual};
use crate::trade::fields::Kind;

/// Adds what the first facts of a phone and of a person in a visit need: that the phone joins it, and who the person is. So a visit
/// is joined by recording something and never by looking at it. Nothing but the kit is written to without a person.
pub(super) fn enrol(book: &Book, at: At, drafts: Vec<Draft>) -> Drafts {
    let mut before = Vec::new();
    for scope in order::set(drafts.iter().map(|draft| draft.scope)) {
        if scope == Scope::Kit {
            continue;
        }
        // Only the kit may be written to before there is a person.
        let who = at.who.ok_or(Refusal::NoPerson)?;
        let Scope::Visit(visit) = scope else { continue };
        let chain = Chain { scope, phone: at.phone };
        let is_new = book.tip(chain).is_none();
        let opens = drafts.iter().any(|draft| draft.scope == scope && matches!(draft.body, Body::VisitOpened { .. }));
        // A session that has already written to the visit for the same person has nothing to add.
        if !is_new && book.opener(chain) == Some((at.stamp.session, at.who)) {
            continue;
        }
        if is_new && !opens {
            let site = book.scope(scope).find_map(|entry| match entry.body {
                Body::VisitOpened { site } => Some(site),
                _ => None,
            });
            let invitation = Visit::of(book, visit).and_then(|visit| {
                // Of several nobody knows which is this phone's; it would answer for one that never comes.
                let mut awaited = visit.record.awaited();
                awaited.next().filter(|_| awaited.next().is_none()).map(|invited| invited.hash)
            });
            before.extend(site.map(|site| draft(scope, Body::VisitJoined { site, invitation })));
        }
        before.extend(attended(book, visit, who).map(|body| draft(scope, body)));
    }
    // The opening itself comes first.
    let (mut all, rest): (Vec<Draft>, Vec<Draft>) =
        drafts.into_iter().partition(|draft| matches!(draft.body, Body::VisitOpened { .. }));
    all.extend(before);
    all.extend(rest);
    Ok(all)
}

/// Who a person is, unless the visit knows it.
fn attended(book: &Book, visit: Id, who: Id) -> Option<Body> {
    let kit = Kit::of(book);
    let now = kit.people.get(&who).and_then(Versions::now)?;
    // The contact stays in the kit, as the form of a person promises.
    let body = Body::Attended(
        Attendance { person: who, name: now.name, firm: now.firm, license: now.license, contact: None }.into(),
    );
    let known = |entry: &Entry| entry.body == body && !book.is_void(entry);
    let here = book.scope(Scope::Visit(visit)).any(known);
    (!here).then_some(body)
}

pub(super) fn open(book: &Book, at: At, visit: Id, site: Id, plan: VisitPlan) -> Drafts {
    at.who.ok_or(Refusal::NoPerson)?;
    if !Register::of(book).sites.contains_key(&site) {
        return Err(Refusal::UnknownSite);
    }
    if Visit::of(book, visit).is_some() {
        return Err(Refusal::NoOpenVisit);
    }
    let mut drafts = in_visit(visit, Body::VisitOpened { site })?;
    drafts.extend(self::plan_of(visit, None, plan)?);
    Ok(drafts)
}

fn plan_of(visit: Id, versions: Option<&Versions<VisitPlan>>, plan: VisitPlan) -> Drafts {
    fields::check(&plan)?;
    let edit: Option<Edit<VisitPlan>> = super::register::edit(visit, versions, plan);
    Ok(edit.into_iter().map(|edit| draft(Scope::Visit(visit), Body::VisitPlan(edit))).collect())
}

pub(super) fn plan(book: &Book, id: Id, plan: VisitPlan) -> Drafts {
    let visit = open_visit(book, id)?;
    plan_of(id, Some(&visit.plan), plan)
}

pub(super) fn notify(book: &Book, at: At, id: Id, notice: Notice) -> Drafts {
    let visit = match notice.when {
        NotifyWhen::Before => open_visit(book, id)?,
        NotifyWhen::After => unsettled(book, id)?,
    };
    fields::happened(at, notice.happened)?;
    fields::check(&notice)?;
    let station = notice.whom == Whom::SupervisingStation && notice.when == NotifyWhen::Before;
    if notice.test_until.is_some_and(|until| until <= notice.happened.at) {
        return Err(Refusal::Field("Notice.test_until", Fault::Date));
    }
    match notice.answer {
        // The reason belongs to this one answer, and prints.
        NotifyAnswer::GoAheadWithout if !station || notice.note.is_none() => {
            return Err(Refusal::Field("Notice.note", Fault::Empty));
        }
        NotifyAnswer::NotMonitored if notice.whom != Whom::SupervisingStation => {
            return Err(Refusal::Field("Notice.answer", Fault::Choose));
        }
        _ => {}
    }
    Ok(notified(at, &visit, notice))
}

/// A notice, and where it says that testing is over the ends of what other phones said to the same party: they are known here, and
/// whatever a phone says that is not known stays on test.
pub(super) fn notified(at: At, visit: &Visit, notice: Notice) -> Vec<Draft> {
    let scope = Scope::Visit(visit.id);
    let ends = |other: &&NoticeAt| other.on_test && other.phone != at.phone && other.notice.whom == notice.whom;
    let others: Vec<Hash> = match notice.ends_test() {
        true => visit.notices.iter().filter(ends).map(|other| other.hash).collect(),
        false => Vec::new(),
    };
    let (by, happened) = (notice.by, notice.happened);
    let ended = others.into_iter().map(|ends| draft(scope, back(ends, by, happened)));
    [draft(scope, Body::Notified(notice.into()))].into_iter().chain(ended).collect()
}

/// Something is back.
pub(super) fn back(ends: Hash, by: Who, happened: Happened) -> Body {
    Body::Restored(Restoring { ends, by, verified_by: None, note: None, happened }.into())
}

pub(super) fn impair(book: &Book, at: At, id: Id, impaired: Impaired) -> Drafts {
    open_visit(book, id)?;
    fields::happened(at, impaired.happened)?;
    fields::check(&impaired)?;
    match impaired.what {
        ImpairedWhat::Circuit if impaired.circuit.is_none() => {
            return Err(Refusal::Field("Impaired.circuit", Fault::Choose));
        }
        ImpairedWhat::Zone | ImpairedWhat::Output if impaired.label.is_none() => {
            return Err(Refusal::Field("Impaired.label", Fault::Empty));
        }
        _ => {}
    }
    in_visit(id, Body::Impaired(impaired.into()))
}

pub(super) fn secure(book: &Book, at: At, id: Id, secured: Secured) -> Drafts {
    open_visit(book, id)?;
    fields::check(&secured)?;
    fields::happened(at, secured.happened)?;
    in_visit(id, Body::Secured(secured.into()))
}

/// Puts back what is secured, impaired or open. The end goes to this phone's chain of the same visit, even if another phone began it.
pub(super) fn restore(book: &Book, at: At, ends: Hash, by: Who, happened: Happened) -> Drafts {
    let fits =
        |body: &Body| matches!(body, Body::Secured(_) | Body::Impaired(_) | Body::PairOpened(_) | Body::PermitTaken(_));
    fields::happened(at, happened)?;
    let entry =
        book.get(ends).filter(|entry| fits(&entry.body) && !book.is_void(entry)).ok_or(Refusal::NothingToEnd)?;
    if book.naming(ends).any(|other| matches!(other.body, Body::Restored(_))) {
        return Err(Refusal::NothingToEnd);
    }
    if let Body::Secured(secured) = &entry.body {
        let heats = |test: &Test| test.frozen.position.duty.releases.iter().flatten().any(|of| *of == secured.release);
        if open_visits(book).any(|visit| visit.active().any(heats)) {
            return Err(Refusal::TestInProgress);
        }
    }
    let scope = entry.chain.scope;
    let mut all = vec![ends];
    // What was left secured over a break and ticked again after it is one valve.
    if let (Body::Secured(secured), Scope::Visit(visit)) = (&entry.body, scope) {
        let visit = Visit::of(book, visit).ok_or(Refusal::NoOpenVisit)?;
        let same = visit.secured.iter().filter(|off| off.is_off() && off.what.release == secured.release);
        let before_a_break = same.map(|off| off.hash).filter(|other| visit.record.is_from_before_a_break(*other));
        all.extend(before_a_break.filter(|other| *other != ends));
    }
    Ok(all.into_iter().map(|ends| draft(scope, back(ends, by, happened))).collect())
}

pub(super) fn permit(book: &Book, at: At, id: Id, permit: Permit) -> Drafts {
    open_visit(book, id)?;
    fields::check(&permit)?;
    fields::happened(at, permit.happened)?;
    if permit.valid_until <= permit.valid_from {
        return Err(Refusal::Field("Permit.valid_until", Fault::Date));
    }
    for reading in &permit.readings {
        let key = match reading.gas {
            Gas::Lel => "GasReading.lel",
            Gas::Oxygen => "GasReading.oxygen",
        };
        fields::check_one(key, Kind::Decimal(0, 100, "%"), &reading.percent.to_value())?;
    }
    in_visit(id, Body::PermitTaken(permit.into()))
}

/// What a heater's approval and an area's classification say now; none where one of them is not filled in.
pub(super) fn approval_words(kit: &Kit, register: &Register, heater: Id, area: Id) -> Option<(String, String)> {
    let approval = kit.heaters.get(&heater)?.name.now()?.approval.as_ref()?.words();
    let conditions = register.area_conditions.get(&area)?.now()?;
    Some((approval, conditions.classification.as_ref()?.words()))
}

pub(super) fn approve(book: &Book, at: At, id: Id, heater: Id, area: Id, fits: bool) -> Drafts {
    open_visit(book, id)?;
    let by = Who::Person(at.who.ok_or(Refusal::NoPerson)?);
    let (kit, register) = (Kit::of(book), Register::of(book));
    let (approval, classification) = approval_words(&kit, &register, heater, area).ok_or(Refusal::NothingToHold)?;
    let happened = at.happened();
    in_visit(id, Body::ApprovalHeld(HeldApproval { heater, area, approval, classification, fits, by, happened }.into()))
}

/// Ends every heat of this phone and refuses the next until it is cleared.
pub(super) fn alarm_not_ours(book: &Book, at: At, id: Id, what: NotOurs, note: Option<Hash>) -> Drafts {
    Visit::of(book, id).ok_or(Refusal::NoOpenVisit)?;
    let by = Who::Person(at.who.ok_or(Refusal::NoPerson)?);
    let mut drafts = in_visit(id, Body::AlarmNotOurs(OtherAlarm { what, by, note, happened: at.happened() }.into()))?;
    for test in visits(book).iter().flat_map(|visit| &visit.tests) {
        if test.ended.is_none() && test.kept_by(at.phone) {
            let scope = Scope::Visit(test.visit);
            drafts.push(draft(scope, Body::TestEnded { test: test.id, how: Ending::AlarmNotOurs }));
            if !test.marks.iter().any(|mark| mark.what == super::super::body::What::Tripped) {
                let (what, position) = (ItemWhat::OperationNotProven, Some(test.frozen.position.of));
                let found = items::item(at, what, None, position, Some(test.id), None, at.happened());
                drafts.push(draft(scope, Body::ItemFound(found.into())));
            }
        }
    }
    for run in going_on(book, at.phone) {
        drafts.push(draft(Scope::Kit, Body::ProfileRunEnded { run: run.id, usable: false }));
    }
    Ok(drafts)
}

/// Whether an alarm that is not ours is not cleared in any visit: the next heat may be at the same panel, and a merge may have brought the
/// alarm into a visit that is closed.
pub(super) fn alarm_stands(book: &Book) -> bool {
    let cleared = |alarm: &Entry| book.naming(alarm.hash).any(|other| matches!(other.body, Body::AlarmCleared(_)));
    let entries = visit_ids(book).into_iter().flat_map(|id| book.scope(Scope::Visit(id)));
    let mut alarms = entries.filter(|entry| matches!(entry.body, Body::AlarmNotOurs(_)) && !book.is_void(entry));
    alarms.any(|alarm| !cleared(alarm))
}

pub(super) fn clear_alarm(book: &Book, at: At, alarm: Hash, by: Who, note: Option<Hash>) -> Drafts {
    let is_alarm = |entry: &&Entry| matches!(entry.body, Body::AlarmNotOurs(_)) && !book.is_void(entry);
    let entry = book.get(alarm).filter(is_alarm).ok_or(Refusal::NothingToEnd)?;
    if book.naming(alarm).any(|other| matches!(other.body, Body::AlarmCleared(_))) {
        return Err(Refusal::NothingToEnd);
    }
    Ok(vec![draft(
        entry.chain.scope,
        Body::AlarmCleared(Clearing { ends: alarm, by, note, happened: at.happened() }.into()),
    )])
}

pub(super) fn check_visual(book: &Book, at: At, id: Id, position: Id, found: Vec<Visual>) -> Drafts {
    open_visit(book, id)?;
    let by = Who::Person(at.who.ok_or(Refusal::NoPerson)?);
    let register = Register::of(book);
    let of = register.positions.get(&position).ok_or(Refusal::UnknownPosition)?;
    let detector = of.detector();
    let (found_here, happened) = (found.clone(), at.happened());
    let check = Body::VisualCheck(
        VisualCheck { position, detector, found: found_here, by, note: None, photo: None, happened }.into(),
    );
    let mut drafts = in_visit(id, check)?;
    drafts.extend(visual_item(at, id, position, None, found));
    Ok(drafts)
}

/// The item that a visual check opens; the gravest finding gives its class.
pub(super) fn visual_item(at: At, visit: Id, position: Id, test: Option<Id>, found: Vec<Visual>) -> Option<Draft> {
    let class: ItemClass = found.iter().map(|finding| finding.class()).max()?;
    let item = items::item(at, ItemWhat::Visual, Some(class), Some(position), test, None, at.happened());
    Some(draft(Scope::Visit(visit), Body::ItemFound(ItemFound { visual: found, ..item }.into())))
}

pub(super) fn note(book: &Book, visit: Id, about: Id, note: Hash) -> Drafts {
    Visit::of(book, visit).ok_or(Refusal::NoOpenVisit)?;
    in_visit(visit, Body::Noted { about: super::super::body::About::Thing(about), note })
}
