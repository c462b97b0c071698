//! The plan of a visit, who is notified, and reopening.

use super::row::{Asked, Row, by, happened, row};
use super::table::{Made, Rows, Table, whole};
use super::{Answer, Wrongs};
use crate::book::body::{Notice, NotifyWhen, Reopening, VisitPlan, VisitType, Whom};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::visit::Visit;
use crate::encoding::stored::{self, Stored};

use crate::units::Degree;
use crate::view::record;
use crate::view::route::Form;
use crate::view::words;
use serde_json::{Value, json};

const TYPES: &[(&str, &str, &str)] = &[
    ("functional", "Functional", ""),
    ("set-point", "Set point", ""),
    ("visual-only", "Visual only", ""),
    ("reacceptance", "Reacceptance", ""),
    ("acceptance", "Acceptance", ""),
];

const TYPE: Row = row!("plan", VisitPlan, "visit_type", "visit-type", "Visit type").words(TYPES).needed();
const SCOPE: Row =
    row!("plan", VisitPlan, "scope_of_work", "scope", "Scope").help("e.g. all heat detectors in the boiling hall.");
const EDITION: Row =
    row!("plan", VisitPlan, "edition", "edition", "Code edition").help("The edition the owner or the AHJ asks for.");
const RULE_SET: Row = row!("plan", VisitPlan, "rule_set", "rule-set", "Rule set")
    .help("How the positions were picked. A due list fills it in.");
const NOT_IN_SCOPE: Row =
    row!("plan", VisitPlan, "not_in_scope", "not-in-scope", "Not in scope").help("e.g. sequence of operations.");

/// A visit type in words.
pub(in crate::view) fn visit_type(of: VisitType) -> &'static str {
    let code = stored::name(&of).replace('_', "-");
    TYPES.iter().find(|(other, ..)| *other == code).map_or("", |(_, words, _)| words)
}

pub(super) const PLAN: Table = Table {
    title: |_| "Test plan".into(),
    parts: &[Rows { title: "", note: "", rows: &[&[TYPE, SCOPE, EDITION, RULE_SET, NOT_IN_SCOPE]] }],
    base: |_, known| {
        let plan = known.shown().and_then(|visit| visit.plan.now().map(Stored::to_value));
        plan.map_or(Value::Null, |plan| json!({ "plan": plan }))
    },
    opens: |typed, _, _, _| {
        if !typed.has(TYPE.name) {
            typed.put(TYPE.name, "functional");
        }
    },
    make: |made| Ok(vec![Command::PlanVisit { visit: made.visit(), plan: made.take("plan")? }]),
    ..Table::PLAIN
};

/// Who is notified, by the number of the step.
fn step(number: u8) -> Option<(Whom, NotifyWhen)> {
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

/// The step that a form is of.
fn step_of(form: Form) -> (Whom, NotifyWhen) {
    let number = if let Form::Notify(number) = form { number } else { u8::MAX };
    step(number).unwrap_or((Whom::Other, NotifyWhen::Before))
}

/// The answers that a step can have.
fn answers(asked: &Asked<'_>) -> Vec<Answer> {
    let (whom, when) = step_of(asked.form);
    let station = whom == Whom::SupervisingStation;
    let mut answers = vec![Answer::new("notified", "Notified"), Answer::new("not-required", "Not required")];
    answers.extend(station.then(|| Answer::new("not-monitored", "Not monitored")));
    let before = station && when == NotifyWhen::Before;
    answers.extend(before.then(|| Answer::new("go-ahead-without", "Go ahead without")));
    answers
}

fn notified(asked: &Asked<'_>) -> bool {
    asked.is(&ANSWER, "notified")
}

fn without(asked: &Asked<'_>) -> bool {
    asked.is(&ANSWER, "go-ahead-without")
}

fn station_before(asked: &Asked<'_>) -> bool {
    notified(asked) && step_of(asked.form) == (Whom::SupervisingStation, NotifyWhen::Before)
}

const ANSWER: Row = row!("notice", Notice, "answer", "answer", "What was done").asked(answers).needed();
const REASON: Row = row!("notice", Notice, "note", "reason", "Reason")
    .help("Prints on the record. It covers this answer only.")
    .shown(without)
    .needed();
const CONTACT: Row = row!("notice", Notice, "contact", "contact", "Name and number")
    .help("Who took it, number, operator ID.")
    .shown(notified);
const ACCOUNT: Row = row!("notice", Notice, "account", "account", "Account").shown(station_before);
const TEST_UNTIL: Row = row!("notice", Notice, "test_until", "test-until", "On test until")
    .help("After that no heat until it is extended.")
    .shown(station_before);
const NOTE: Row = row!("notice", Notice, "note", "note", "Note").shown(|asked| !without(asked));

pub(super) const NOTIFY: Table = Table {
    title: |asked| match step_of(asked.form) {
        (whom, NotifyWhen::Before) => format!("{}: testing starts", words::whom(whom)),
        (whom, NotifyWhen::After) => format!("{}: testing over", words::whom(whom)),
    },
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[
            ANSWER,
            REASON,
            CONTACT,
            ACCOUNT,
            TEST_UNTIL,
            by!("notice", Notice),
            happened!("notice", Notice),
            NOTE,
        ]],
    }],
    opens: |typed, form, known, _| {
        let (whom, when) = step_of(form);
        // Name and number are those of the site's list until somebody else took the call.
        let rules = known.shown().and_then(|visit| known.register.site_rules.get(&visit.site)?.now().cloned());
        let listed = rules.and_then(|rules| rules.notify.into_iter().find(|step| step.whom == whom)?.contact);
        if let Some(contact) = listed.and_then(|contact| known.book.words(contact)) {
            typed.put(CONTACT.name, contact);
        }
        // Number, account and time are those of the last time; what was done is asked afresh.
        if let Some(last) = known.shown().and_then(|visit| visit.notice(whom, when).cloned()) {
            let last = json!({ "notice": last.notice.to_value() });
            let again = [ACCOUNT, CONTACT, TEST_UNTIL];
            NOTIFY.fill(typed, &last, known, Degree::F, &|row| again.iter().any(|other| other.name == row.name));
        }
        typed.put(ANSWER.name, "notified");
    },
    make: notify,
    ..Table::PLAIN
};

fn notify(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let (whom, when) = step_of(made.asked.form);
    made.put("notice.whom", &whom);
    made.put("notice.when", &when);
    Ok(vec![Command::Notify { visit: made.visit(), notice: Box::new(made.take("notice")?) }])
}

const WHY: Row = row!("reopening", Reopening, "why", "why", "Why").help("It stays on record.").needed();

pub(super) const REOPEN: Table = Table {
    title: |_| "Reopen this visit".into(),
    save: "Reopen",
    parts: &[Rows { title: "", note: "", rows: &[&[WHY]] }],
    make: |made| {
        let why = made.at("reopening.why").unwrap_or(Hash::LOWEST);
        let known = made.asked.known;
        let visit = whole(Visit::of(known.book, made.visit()))?;
        // What somebody may hold on paper: the record that comes after names it.
        let amends = Some(record::digest(known.book, known.register, &visit));
        Ok(vec![Command::ReopenVisit { visit: visit.id, why, amends }])
    },
    ..Table::PLAIN
};
