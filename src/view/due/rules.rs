//! The rules of a site: what it goes by, with sentence and source, what else there is, and who is notified.

use super::{bare, said};
use crate::book::Id;
use crate::book::body::{RuleSet, SiteRules, Whom};
use crate::book::command::Command;
use crate::book::register::Register;
use crate::book::visit::IMPAIRED_LIMIT_MS;
use crate::encoding::stored;
use crate::findings::due::{SHIPPED, Shipped, VISIT_INTERVAL, held_rules, site_rules};
use crate::view::page::sign::{Says, Shape, Tone};
use crate::view::page::{Action, Block, Button, Page, Role, Row};
use crate::view::route::{Form, Route};
use crate::view::time;
use crate::view::words::{self, slug};

const CHOSEN: &str = "This site goes by";
const DEFAULT: &str = "Applies where no rule of the site does.";
const MORE: &str = "Other rules";
const MORE_WORDS: &str =
    "A detector has to meet every rule of its site that covers it. What no rule covers is tested every year.";
const USE: &str = "Use this rule";
const DROP: &str = "Stop using it";
const EDIT: &str = "Change";
const COPY: &str = "Change for this site";
const OWN: &str = "Add a rule of the owner's";
const INTERVAL: &str = "Visits, limits and notices";
const NOTIFIED: &str = "Who is notified";
const REQUIRED: &str = "Required";
const LISTED: &str = "On the list";
const NOT_LISTED: &str = "Not on it";

/// The rules of a site.
pub fn page(register: &Register, site: Id) -> Page {
    let now = held_rules(register, site);
    // While two phones' rules stand side by side there is nothing to change but which of them hold.
    let parted = register.all_rules_of(site).is_some();
    let mut blocks = vec![interval(&now, site, parted)];
    blocks.extend(parted.then(|| super::list::parted(site)));
    let all = site_rules(&now.rules);
    let chosen = all.iter().enumerate().flat_map(|(index, rule)| {
        let own = index < now.rules.len();
        rule_blocks(rule, own, if own && !parted { keys(&now, site, index) } else { Vec::new() })
    });
    blocks.push(notified(&now, site, parted));
    blocks.push(Block::section("rules-chosen", CHOSEN, chosen.collect()));
    if !parted {
        blocks.push(others(&now, site, &all));
    }
    let name = register.sites.get(&site).and_then(|versions| versions.now()).map(|site| site.name.clone());
    let page = bare("rules", said::RULES, Route::Due(site), blocks);
    Page { detail: name.unwrap_or_default().into(), menu: vec![Button::print()], ..page }
}

/// What else a site may go by.
fn others(now: &SiteRules, site: Id, all: &[RuleSet]) -> Block {
    let others = SHIPPED.iter().map(Shipped::rule).filter(|rule| !all.contains(rule));
    let mut more = vec![Block::text("rules-strictest", Role::Soft, MORE_WORDS)];
    for rule in others {
        let key =
            Button::new(format!("use-{}", slug(&rule.name)), USE, put(now, site, |rules| rules.push(rule.clone())));
        more.extend(rule_blocks(&rule, true, vec![key.icon(Shape::Plus)]));
    }
    let count = u8::try_from(now.rules.len()).unwrap_or(u8::MAX);
    let own = Button::to("own-rule", OWN, Route::Form(Form::Rule(site, count))).icon(Shape::Plus);
    more.push(Block::buttons(vec![own]));
    Block::section("rules-more", MORE, more)
}

fn interval(now: &SiteRules, site: Id, parted: bool) -> Block {
    let months = now.visit_interval_months.unwrap_or(VISIT_INTERVAL);
    let words = match now.visit_interval_months {
        Some(_) => format!("A visit every {}.", said::months(months)),
        None => format!("Not set: a visit every {}.", said::months(months)),
    };
    let key = Button::to("visit-interval", EDIT, Route::Form(Form::SiteRules(site))).icon(Shape::Pen);
    let limit = now.impairment_limit_min.map_or(IMPAIRED_LIMIT_MS, |minutes| i64::from(minutes) * 60_000);
    let limit = format!("Impairment limit {} in 24 h.", time::minutes(limit));
    let written = now.written_notice_h.map(|hours| format!(" Written notice within {hours} h."));
    let words = format!("{words} {limit}{}", written.unwrap_or_default());
    let mut blocks = vec![Block::text("interval-words", Role::Plain, words)];
    blocks.extend((!parted).then(|| Block::buttons(vec![key])));
    Block::section("interval", INTERVAL, blocks)
}

/// Who is notified, those on the list first.
fn notified(now: &SiteRules, site: Id, parted: bool) -> Block {
    let steps = now.notified();
    let row = |(number, whom): (u8, Whom)| {
        let step = steps.iter().find(|step| step.whom == whom);
        let called = step.and_then(|step| step.label.clone()).unwrap_or_default();
        let row = Row::new(format!("notify-{}", stored::name(&whom)), words::whom(whom), called);
        let row = if parted { row } else { row.to(Route::Form(Form::NotifyStep(site, number))) };
        match step.map(|step| step.required) {
            Some(true) => row.badge(Shape::Warning, Tone::Warn, REQUIRED),
            Some(false) => row.badge(Shape::Done, Tone::Good, LISTED),
            None => row.badge(Shape::Open, Tone::Plain, NOT_LISTED),
        }
    };
    let rows = (0..).zip(Whom::ALL).map(row).collect();
    Block::fold("notify-list", NOTIFIED, vec![Block::rows(NOTIFIED, rows)])
}

fn rule_blocks(rule: &RuleSet, own: bool, keys: Vec<Button>) -> Vec<Block> {
    let mut blocks = vec![
        Block::text("rule-name", Role::Heading, rule.name.clone()),
        Block::text("rule-sentence", Role::Plain, rule.sentence.clone()),
        Block::text("rule-numbers", Role::Soft, said::numbers(rule)),
    ];
    if !rule.types.is_empty() {
        let types: Vec<&str> = rule.types.iter().map(|of| of.words()).collect();
        blocks.push(Block::text("rule-types", Role::Soft, format!("Covers: {}", types.join("; "))));
    }
    blocks.push(Block::text("rule-source", Role::Source, rule.source.clone()));
    blocks.extend(
        rule.from_memory.then(|| Block::notice("rule-memory", Says::Warning, said::SAY_AUTHORITY, said::FROM_MEMORY)),
    );
    blocks.extend((!own).then(|| Block::text("rule-default", Role::Soft, DEFAULT)));
    blocks.extend((!keys.is_empty()).then(|| Block::buttons(keys)));
    blocks
}

fn keys(now: &SiteRules, site: Id, index: usize) -> Vec<Button> {
    let name = slug(&now.rules[index].name);
    let shipped = SHIPPED.iter().any(|of| of.rule() == now.rules[index]);
    let number = u8::try_from(index).unwrap_or(u8::MAX);
    let label = if shipped { COPY } else { EDIT };
    let drop = put(now, site, |rules| drop(rules.remove(index)));
    vec![
        Button::to(format!("edit-{name}"), label, Route::Form(Form::Rule(site, number))).icon(Shape::Pen),
        Button::new(format!("drop-{name}"), DROP, drop).icon(Shape::Close),
    ]
}

fn put(now: &SiteRules, site: Id, change: impl FnOnce(&mut Vec<RuleSet>)) -> Action {
    let mut now = now.clone();
    change(&mut now.rules);
    Action::give(Command::PutSiteRules { site, now: Box::new(now) })
}
