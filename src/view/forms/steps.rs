//! The plan of a visit, who is notified, and reopening.

use super::reader::Reader;
use super::who::{self, BY, HAPPENED};
use super::{Answer, Ask, Attached, Field, Known, Name, Page, Part, Typed, Wrongs, name};
use crate::book::Id;
use crate::book::body::{Notice, NotifyAnswer, NotifyWhen, VisitPlan, VisitType, Whom};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::visit::Visit;
use crate::view::{time, words};

const TYPE: Name = name!("visit-type", "Visit type");
const SCOPE: Name = name!("scope", "Scope");
const EDITION: Name = name!("edition", "Code edition");
const NOT_IN_SCOPE: Name = name!("not-in-scope", "Not in scope");

const TYPES: [(VisitType, &str, &str); 5] = [
    (VisitType::Functional, "functional", "Functional"),
    (VisitType::SetPoint, "set-point", "Set point"),
    (VisitType::VisualOnly, "visual", "Visual only"),
    (VisitType::Reacceptance, "reacceptance", "Reacceptance"),
    (VisitType::Acceptance, "acceptance", "Acceptance"),
];

/// A visit type in words.
pub(in crate::view) fn visit_type(of: VisitType) -> &'static str {
    TYPES.iter().find(|(other, ..)| *other == of).map_or("", |(_, _, words)| words)
}

fn page_of(title: &str, lead: &'static str, fields: Vec<Field>, save: &'static str) -> Page {
    let parts = vec![Part { title: "", folded: false, note: "", fields }];
    Page { title: title.into(), lead, parts, offers: Vec::new(), save, first: None }
}

fn visit(known: Known<'_>) -> Option<Visit> {
    Visit::of(known.book, known.visit?)
}

pub(super) fn open_plan(known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    typed.put(TYPE, "functional");
    if let Some(plan) = visit(known).as_ref().and_then(|visit| visit.plan.now()) {
        typed.put(TYPE, TYPES.iter().find(|(of, ..)| *of == plan.visit_type).map_or("", |(_, code, _)| code));
        typed.put(SCOPE, plan.scope_of_work.as_deref().unwrap_or_default());
        typed.put(EDITION, plan.edition.as_deref().unwrap_or_default());
        typed.put(NOT_IN_SCOPE, plan.not_in_scope.as_deref().unwrap_or_default());
    }
    typed
}

pub(super) fn plan() -> Page {
    let types = TYPES.iter().map(|(_, code, words)| Answer::new(code, words)).collect();
    let fields = vec![
        Field::new(TYPE, Ask::Choice(types)),
        Field::new(SCOPE, Ask::Line).help("e.g. all heat detectors in the boiling hall."),
        Field::new(EDITION, Ask::Line).help("The edition the owner or the AHJ asks for."),
        Field::new(NOT_IN_SCOPE, Ask::Line).help("e.g. sequence of operations."),
    ];
    page_of("Test plan", "", fields, "Save")
}

pub(super) fn put_plan(typed: &Typed, known: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let visit_type = reader.choose(TYPE, TYPES.iter().map(|(of, code, _)| (*of, *code)));
    let plan = VisitPlan {
        visit_type: visit_type.unwrap_or(VisitType::Functional),
        scope_of_work: reader.line(SCOPE),
        edition: reader.line(EDITION),
        rule_set: None,
        not_in_scope: reader.line(NOT_IN_SCOPE),
    };
    reader.done(Command::PlanVisit { visit: known.visit.unwrap_or(Id::nil()), plan })
}

const ANSWER: Name = name!("answer", "What was done");
const CONTACT: Name = name!("contact", "Name and number");
const ACCOUNT: Name = name!("account", "Account");
const TEST_UNTIL: Name = name!("test-until", "On test until");
const REASON: Name = name!("reason", "Reason");
const NOTE: Name = name!("note", "Note");

const ANSWERS: [(NotifyAnswer, &str, &str); 4] = [
    (NotifyAnswer::Notified, "notified", "Notified"),
    (NotifyAnswer::NotRequired, "not-required", "Not required"),
    (NotifyAnswer::NotMonitored, "not-monitored", "Not monitored"),
    (NotifyAnswer::GoAheadWithout, "without", "Go ahead without"),
];

/// Who is notified, by the number of the step.
pub(in crate::view) fn step(number: u8) -> Option<(Whom, NotifyWhen)> {
    let place = usize::from(number);
    let when = if place < Whom::ALL.len() { NotifyWhen::Before } else { NotifyWhen::After };
    Whom::ALL.get(place % Whom::ALL.len()).filter(|_| place < 2 * Whom::ALL.len()).map(|whom| (*whom, when))
}

/// The number of a step.
pub(in crate::view) fn step_number(whom: Whom, when: NotifyWhen) -> u8 {
    let place = Whom::ALL.iter().position(|other| *other == whom).unwrap_or_default();
    let after = if when == NotifyWhen::After { Whom::ALL.len() } else { 0 };
    u8::try_from(place + after).unwrap_or_default()
}

/// The answers that a step can have.
fn answers(whom: Whom, when: NotifyWhen) -> impl Iterator<Item = (NotifyAnswer, &'static str, &'static str)> {
    let station = whom == Whom::SupervisingStation;
    ANSWERS.into_iter().filter(move |(answer, ..)| match answer {
        NotifyAnswer::Notified | NotifyAnswer::NotRequired => true,
        NotifyAnswer::NotMonitored => station,
        NotifyAnswer::GoAheadWithout => station && when == NotifyWhen::Before,
    })
}

pub(super) fn open_notify(number: u8, known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    typed.put(ANSWER, "notified");
    who::open(&mut typed, BY, known);
    who::open_now(&mut typed, HAPPENED, known);
    let last = step(number).and_then(|(whom, when)| visit(known)?.notice(whom, when).cloned());
    if let Some(last) = last {
        typed.put(ACCOUNT, last.notice.account.as_deref().unwrap_or_default());
        let contact = last.notice.contact.and_then(|hash| known.book.words(hash));
        typed.put(CONTACT, contact.unwrap_or_default());
        if let Some(until) = last.notice.test_until {
            typed.put(TEST_UNTIL, time::moment_text(until, known.at.offset_min));
        }
    }
    typed
}

/// What is not asked any more is taken out.
pub(super) fn answered(typed: &mut Typed, key: &str) {
    if key == ANSWER.key && typed.of(ANSWER) != "notified" {
        typed.put(TEST_UNTIL, "");
    }
}

pub(super) fn notify(number: u8, typed: &Typed, known: Known<'_>) -> Page {
    let Some((whom, when)) = step(number) else { return page_of("", "", Vec::new(), "Save") };
    let choices = answers(whom, when).map(|(_, code, words)| Answer::new(code, words)).collect();
    let mut fields = vec![Field::new(ANSWER, Ask::Choice(choices))];
    match typed.of(ANSWER) {
        "without" => fields.push(
            Field::new(REASON, Ask::Line)
                .help("Prints on the record. It stands for this one answer and for nothing else."),
        ),
        "notified" => {
            fields.push(Field::new(CONTACT, Ask::Line).help("Who took it, number, operator ID."));
            if whom == Whom::SupervisingStation && when == NotifyWhen::Before {
                fields.push(Field::new(ACCOUNT, Ask::Line));
                fields.push(Field::new(TEST_UNTIL, Ask::Moment).help("After that no heat until it is extended."));
            }
        }
        _ => {}
    }
    fields.extend(who::fields(typed, BY, None, known));
    fields.push(who::happened_field());
    if typed.of(ANSWER) != "without" {
        fields.push(Field::new(NOTE, Ask::Line));
    }
    let title = match when {
        NotifyWhen::Before => format!("{}: testing starts", words::whom(whom)),
        NotifyWhen::After => format!("{}: testing over", words::whom(whom)),
    };
    page_of(&title, "", fields, "Save")
}

const WHY: Name = name!("why", "Why");

pub(super) fn reopen() -> Page {
    let fields = vec![Field::new(WHY, Ask::Line).help("It stays on record.")];
    page_of("Reopen this visit", "", fields, "Reopen")
}

pub(super) fn texts(typed: &Typed) -> Vec<(&'static str, String)> {
    let mut texts = who::texts(typed, BY);
    for name in [CONTACT, REASON, NOTE, WHY] {
        texts.extend(super::text(typed, name));
    }
    texts
}

pub(super) fn put_notify(number: u8, typed: &Typed, attached: &Attached, known: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let (whom, when) = step(number).unwrap_or((Whom::Other, NotifyWhen::Before));
    let answer = reader.choose(ANSWER, answers(whom, when).map(|(answer, code, _)| (answer, code)));
    let answer = answer.unwrap_or(NotifyAnswer::Notified);
    let without = answer == NotifyAnswer::GoAheadWithout;
    if without {
        reader.name(REASON);
    }
    let of = |name: Name| attached.get(name.key).copied();
    let notified = answer == NotifyAnswer::Notified;
    let test_until = reader.moment(TEST_UNTIL, known.at.offset_min).filter(|_| notified);
    let notice = Notice {
        whom,
        label: None,
        when,
        answer,
        by: who::must(&mut reader, typed, BY, attached),
        contact: of(CONTACT).filter(|_| notified),
        account: reader.line(ACCOUNT).filter(|_| notified),
        test_until,
        happened: who::happened(&mut reader, HAPPENED, known),
        note: if without { of(REASON) } else { of(NOTE) },
    };
    let visit = known.visit.unwrap_or(Id::nil());
    reader.done(Command::Notify { visit, notice: Box::new(notice) })
}

pub(super) fn put_reopen(typed: &Typed, attached: &Attached, known: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    reader.name(WHY);
    let why = attached.get(WHY.key).copied().unwrap_or(Hash::LOWEST);
    reader.done(Command::ReopenVisit { visit: known.visit.unwrap_or(Id::nil()), why })
}
