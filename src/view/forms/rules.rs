//! The forms of what a site goes by: months between visits, limits, who is notified, a rule of the owner's, and a position put on the list of a
//! visit by hand.

use super::row::{Asked, Row, ask, row};
use super::table::{Made, Rows, Table, whole};
use super::{Answer, Known, Wrong, Wrongs};
use crate::book::body::{NotifyStep, PlannedPositions, RuleSet, SiteRules, Whom};
use crate::book::command::Command;
use crate::encoding::stored::Stored;
use crate::findings::due::SHIPPED;
use crate::trade::detector_type::DetectorType;
use crate::trade::fields::Kind;
use crate::view::route::Form;
use crate::view::words;
use serde_json::{Value, json};

const INTERVAL: Row = row!("rules", SiteRules, "visit_interval_months", "visit-interval", "Months between visits")
    .help("Blank: 12. Nothing may fall out of its period before the next visit.");

const WRITTEN: Row = row!("rules", SiteRules, "written_notice_h", "written-notice", "Written notice within")
    .help("From when an item was found. Blank: no clock. Ask the AHJ.");

const LIMIT: Row = row!("rules", SiteRules, "impairment_limit_min", "impairment-limit", "Impairment limit in 24 h")
    .help("Blank: 240 (4 h, NFPA 101). Local rules may be stricter.");

pub(super) const SITE_RULES: Table = Table {
    title: |_| "Visits, limits and notices".into(),
    parts: &[Rows { title: "", note: "", rows: &[&[INTERVAL, LIMIT, WRITTEN]] }],
    base: |form, known| json!({ "rules": now(form, known).to_value() }),
    make: |made| {
        let Form::SiteRules(site) = made.asked.form else { return Ok(Vec::new()) };
        Ok(vec![Command::PutSiteRules { site, now: Box::new(made.take("rules")?) }])
    },
    ..Table::PLAIN
};

/// What the site of a form goes by now.
fn now(form: Form, known: Known<'_>) -> SiteRules {
    match form {
        Form::SiteRules(site) | Form::Rule(site, _) | Form::NotifyStep(site, _) => known.register.rules_of(site),
        _ => SiteRules::default(),
    }
}

const LISTED: Row = ask!("step.listed", Kind::Flag, "step-listed", "On this site's list")
    .words(&[("yes", "On the list", ""), ("no", "Not on it", "")])
    .needed();
const REQUIRED: Row = row!("step", NotifyStep, "required", "step-required", "Required here")
    .words(&[("yes", "Required", ""), ("no", "As needed", "")])
    .shown(is_listed)
    .needed();
const LABEL: Row = row!("step", NotifyStep, "label", "step-label", "Known here as")
    .help("e.g. the shift supervisor. Blank for none.")
    .shown(is_listed);
const CONTACT: Row = row!("step", NotifyStep, "contact", "step-contact", "Name and number")
    .help("Filled in for whoever makes the call.")
    .shown(is_listed);

const KEEP_ONE: &str = "Keep at least one on the list. Add someone else first, then take this one off.";

fn is_listed(asked: &Asked<'_>) -> bool {
    asked.is(&LISTED, "yes")
}

/// Whom a form is about.
fn whom(form: Form) -> Option<Whom> {
    let Form::NotifyStep(_, number) = form else { return None };
    Whom::ALL.get(usize::from(number)).copied()
}

pub(super) const NOTIFY_STEP: Table = Table {
    title: |asked| format!("Notify: {}", whom(asked.form).map_or("", words::whom)),
    parts: &[Rows { title: "", note: "", rows: &[&[LISTED, REQUIRED, LABEL, CONTACT]] }],
    base: |form, known| {
        let step = now(form, known).notified().into_iter().find(|step| Some(step.whom) == whom(form));
        step.map_or(Value::Null, |step| json!({ "step": step.to_value() }))
    },
    opens: |typed, form, known, _| {
        let listed = now(form, known).notified().iter().any(|step| Some(step.whom) == whom(form));
        typed.put(LISTED.name, if listed { "yes" } else { "no" });
        if !typed.has(REQUIRED.name) {
            typed.put(REQUIRED.name, "no");
        }
    },
    make: put_step,
    ..Table::PLAIN
};

fn put_step(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let (Form::NotifyStep(site, _), Some(whom)) = (made.asked.form, whom(made.asked.form)) else {
        return Ok(Vec::new());
    };
    let mut now = now(made.asked.form, made.asked.known);
    let mut steps = now.notified();
    // A list may name one party twice: the form is of the first, and the others stay as they are.
    let stood = steps.iter().position(|step| step.whom == whom);
    if whole(made.at("step.listed"))? {
        made.put("step.whom", &whom);
        let (step, rank) = (made.take("step")?, |whom| Whom::ALL.iter().position(|other| *other == whom));
        match stood.and_then(|at| steps.get_mut(at)) {
            Some(stands) => *stands = step,
            None => {
                let before = steps.iter().position(|other| rank(other.whom) > rank(whom));
                steps.insert(before.unwrap_or(steps.len()), step);
            }
        }
    } else if let Some(at) = stood {
        steps.remove(at);
    }
    if steps.is_empty() {
        // Without a list of its own a site goes by the usual four.
        return Err(Wrongs::from([(LISTED.name.key, Wrong { say: KEEP_ONE.into(), offer: None })]));
    }
    now.notify = steps;
    Ok(vec![Command::PutSiteRules { site, now: Box::new(now) }])
}

const NAME: Row = row!("rule", RuleSet, "name", "rule-name", "Name");
const SENTENCE: Row = row!("rule", RuleSet, "sentence", "rule-sentence", "What it asks for").needed();
const SOURCE: Row = row!("rule", RuleSet, "source", "rule-source", "Where it comes from")
    .help("Owner's procedure, insurer, AHJ; with edition.")
    .needed();
const CHECK: Row = row!("rule", RuleSet, "check", "rule-check", "It is about")
    .words(&[
        ("functional", "Functional tests", ""),
        ("visual", "Visual checks", ""),
        ("replace-or-sample", "Replacing, or a laboratory sample", "Only nonrestorable detectors go by it."),
    ])
    .needed();
const TYPES: Row = row!("rule", RuleSet, "types", "rule-types", "Types it covers")
    .asked(|_| Answer::each(&DetectorType::ALL, DetectorType::words))
    .help("None checked: all types, but functional tests of nonrestorable ones only if checked.")
    .needed_if(|asked| asked.is(&CHECK, "replace-or-sample"));
const EXCEPT: Row = row!("rule", RuleSet, "except", "rule-except", "Does not cover")
    .words(&[("addressable", "Addressable, or not known", ""), ("releasing", "Releasing, or not known", "")]);
const EVERY: Row = row!("rule", RuleSet, "every_months", "rule-every", "Every").needed();
const FIRST: Row = row!("rule", RuleSet, "first_after_months", "rule-first", "First time after installation")
    .help("Blank: due until it has passed once.");
const LEAST: Row = row!("rule", RuleSet, "least_per_circuit", "rule-least", "Fewest per circuit")
    .help("Blank: every position. Never for rate-compensated, addressable or releasing.")
    .shown(functional);
const WITHIN: Row = row!("rule", RuleSet, "all_within_months", "rule-within", "Every one within")
    .shown(functional)
    .needed_if(|asked| functional(asked) && asked.has("rule-least"));
const SAMPLE: Row = row!("rule", RuleSet, "sample_per_100", "rule-sample", "Sample for the laboratory")
    .shown(|asked| asked.is(&CHECK, "replace-or-sample"));
const MEMORY: Row = row!("rule", RuleSet, "from_memory", "rule-memory", "Wording still to be checked");

fn functional(asked: &Asked<'_>) -> bool {
    asked.is(&CHECK, "functional")
}

pub(super) const RULE: Table = Table {
    title: |_| "Rule of this site".into(),
    lead: "A detector has to meet every rule that covers it.",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[NAME, SENTENCE, SOURCE, CHECK, TYPES, EXCEPT, EVERY, FIRST, LEAST, WITHIN, SAMPLE, MEMORY]],
    }],
    base: |form, known| {
        let Form::Rule(_, index) = form else { return Value::Null };
        match now(form, known).rules.get(usize::from(index)) {
            Some(rule) => json!({ "rule": rule.to_value() }),
            None => Value::Null,
        }
    },
    opens: |typed, form, known, _| {
        let Form::Rule(_, index) = form else { return };
        match now(form, known).rules.get(usize::from(index)) {
            // A changed copy is the owner's, and no longer what its source says.
            Some(rule) if SHIPPED.iter().any(|of| of.rule() == *rule) => {
                typed.put(NAME.name, format!("{} (changed)", rule.name));
                typed.put(SOURCE.name, "");
            }
            Some(_) => {}
            None => {
                typed.put(CHECK.name, "functional");
                typed.put(EVERY.name, "12");
            }
        }
    },
    make: put_rule,
    ..Table::PLAIN
};

fn put_rule(made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let Form::Rule(site, index) = made.asked.form else { return Ok(Vec::new()) };
    let (rule, mut now) = (made.take("rule")?, now(made.asked.form, made.asked.known));
    match now.rules.get_mut(usize::from(index)) {
        Some(stands) => *stands = rule,
        None => now.rules.push(rule),
    }
    Ok(vec![Command::PutSiteRules { site, now: Box::new(now) }])
}

const ON_LIST: Row = ask!("plan.planned", Kind::Flag, "planned", "On the list of this visit")
    .words(&[("yes", "On the list", ""), ("no", "Off the list", "")])
    .needed();
const REASON: Row = row!("plan", PlannedPositions, "why", "reason", "Reason").help("Prints with the list.").needed();

pub(super) const PLAN_POSITION: Table = Table {
    title: |asked| format!("List of this visit: {}", asked.tag()),
    lead: "Changes what the rules propose.",
    parts: &[Rows { title: "", note: "", rows: &[&[ON_LIST, REASON]] }],
    opens: |typed, form, known, _| {
        let Form::PlanPosition(position) = form else { return };
        let planned = known.shown().is_some_and(|visit| visit.planned().contains(&position));
        // It is opened to be changed.
        typed.put(ON_LIST.name, if planned { "no" } else { "yes" });
    },
    make: |made| {
        let Form::PlanPosition(position) = made.asked.form else { return Ok(Vec::new()) };
        let planned = whole(made.at("plan.planned"))?;
        let (visit, why) = (made.visit(), made.at("plan.why"));
        Ok(vec![Command::PlanPositions { visit, positions: vec![position], planned, why }])
    },
    ..Table::PLAIN
};
