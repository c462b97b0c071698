//! The fields that a record of this kind has, each filled in or "Not recorded".

use super::{NOT_RECORDED, Recorded, facts, given, joined, table, when};
use crate::book::body::{Body, RuleSet, SampleWhy, Whom};
use crate::book::entry::Scope;
use crate::findings::due::site_rules;
use crate::view::page::{Block, Role};

const FIELDS: &str = "Other fields of the record";
const MEMORY: &str = "not checked against the standard's text; check with the AHJ";
const NO_RULES: &str = "No rules of the site's own on file. These are this app's defaults.";

impl Recorded<'_> {
    pub(super) fn fields(&self) -> Block {
        let plan = self.visit.plan.now();
        let rules = self.register.rules_of(self.visit.site);
        let interval = rules.visit_interval_months.map_or_else(
            || NOT_RECORDED.to_string(),
            |months| format!("every {}", crate::view::words::plural(months as usize, "month", "months")),
        );
        let changed: Vec<String> = self.changed();
        let all = vec![
            ("Time between visits", interval),
            ("Positions proposed by", given(plan.and_then(|plan| plan.rule_set.as_ref()))),
            ("AHJ and its representative", self.contacts(Whom::Authority)),
            ("Supervising station", self.contacts(Whom::SupervisingStation)),
            ("Owner's representative", self.contacts(Whom::Owner)),
            ("Required sequence of operations", self.sequence()),
            ("Smoke detectors", "Not in scope: this record is about heat detectors".to_string()),
            ("Loop resistance of line-type detectors", "None in scope: spot-type detectors only".to_string()),
            ("Other tests required by the manufacturer or the AHJ", NOT_RECORDED.to_string()),
            ("Reacceptance after a change", or(changed, "No change of programming recorded")),
            ("Lift and fall protection", or(self.lifts(), NOT_RECORDED)),
            ("Panel clock less phone clock", or(self.clocks(), NOT_RECORDED)),
            ("Breaks", or(self.breaks(), "None recorded")),
        ];
        let mut blocks = vec![facts("fields", all), Block::text("often", Role::Heading, "Test frequency")];
        if rules.rules.is_empty() {
            blocks.push(Block::text("default", Role::Plain, NO_RULES));
        }
        blocks.extend(frequency(&rules.rules));
        blocks.push(Block::text("people", Role::Heading, "Tested by"));
        blocks.extend(self.people_table());
        blocks.extend(self.sampled());
        Block::section("fields", FIELDS, blocks)
    }

    /// Whom the visit dealt with at a party, and when.
    fn contacts(&self, whom: Whom) -> String {
        let of = self.visit.notices.iter().filter(|at| at.notice.whom == whom);
        let contacts = of.filter_map(|at| {
            let account = at.notice.account.as_ref().map(|of| format!("account {of}"));
            let contact = at.notice.contact.map(|contact| self.said(contact));
            let said = joined(at.notice.label.iter().cloned().chain(contact).chain(account));
            Some(said).filter(|said| !said.is_empty())
        });
        let mut all: Vec<String> = contacts.collect();
        all.dedup();
        or(all, NOT_RECORDED)
    }

    fn sequence(&self) -> String {
        let proofs = self.visit.record.proofs.len();
        let seen = match proofs {
            0 => String::new(),
            _ => "outputs were watched at the first alarm of each circuit listed above".to_string(),
        };
        joined(["Not in scope: initiating devices only".to_string(), seen])
    }

    fn changed(&self) -> Vec<String> {
        self.entries(|body| match body {
            Body::ProgrammingChanged(of) => Some(joined([
                format!("programming changed {}", when(of.happened)),
                self.who(of.by),
                format!("affected: {}", self.tags(&of.affected)),
                of.note.map_or_else(String::new, |note| self.said(note)),
            ])),
            _ => None,
        })
    }

    fn lifts(&self) -> Vec<String> {
        let one = |said: &crate::book::visit::Said<crate::book::body::LiftCheck>| {
            let of = &said.what;
            let word = if of.good { "OK" } else { "not good" };
            joined([of.lift.clone().unwrap_or_default(), word.to_string(), when(of.happened), self.who(of.by)])
        };
        self.visit.record.lifts.iter().map(one).collect()
    }

    fn clocks(&self) -> Vec<String> {
        let one = |said: &crate::book::visit::Said<crate::book::body::ClockOffset>| {
            let of = &said.what;
            let name = of.label.clone().unwrap_or_default();
            joined([name, format!("{} s ± {} s", of.ahead_ms / 1_000, of.u_ms * 2 / 1_000), when(of.happened)])
        };
        self.visit.record.clocks.iter().map(one).collect()
    }

    fn breaks(&self) -> Vec<String> {
        let one = |of: &crate::book::visit::Break| {
            format!("{} to {}", when(of.happened), of.ended.map_or_else(|| "–".to_string(), when))
        };
        self.visit.record.breaks.iter().map(one).collect()
    }

    fn people_table(&self) -> Vec<Block> {
        let row = |of: &crate::book::body::Attendance| {
            vec![
                self.said(of.name),
                self.said_or_not(of.firm),
                self.said_or_not(of.license),
                self.said_or_not(of.contact),
            ]
        };
        let rows = self.people().into_iter().map(row).collect();
        table("people", &["Name", "Firm", "License or certificate", "Address, phone"], rows, NOT_RECORDED)
    }

    /// That positions were drawn by lot: only where the app drew them.
    fn sampled(&self) -> Vec<Block> {
        let drawn = self.entries(|body| match body {
            Body::SampleDrawn(of) => {
                let why = match of.why {
                    SampleWhy::Reacceptance => "reacceptance",
                    SampleWhy::Due => "what is due",
                    SampleWhy::Requested => "the owner's request",
                };
                Some(format!(
                    "Sample: {} of {} positions were drawn at random by this app for {why}, not hand-picked (seed {}): {}.",
                    of.drawn.len(),
                    of.from.len(),
                    of.seed,
                    self.tags(&of.drawn)
                ))
            }
            _ => None,
        });
        drawn.into_iter().map(|words| Block::text("sample", Role::Plain, words)).collect()
    }

    /// What entries of the visit that are not taken back say, in words.
    pub(super) fn entries(&self, say: impl Fn(&Body) -> Option<String>) -> Vec<String> {
        let standing = self.book.scope(Scope::Visit(self.visit.id)).filter(|entry| !self.book.is_void(entry));
        standing.filter_map(|entry| say(&entry.body)).collect()
    }
}

fn or(all: Vec<String>, nothing: &str) -> String {
    if all.is_empty() { nothing.to_string() } else { all.join("; ") }
}

/// The rules that say how often.
fn frequency(own: &[RuleSet]) -> Vec<Block> {
    let row = |rule: &RuleSet| {
        let memory = if rule.from_memory { MEMORY } else { "" };
        vec![rule.name.clone(), rule.sentence.clone(), joined([rule.source.clone(), memory.to_string()])]
    };
    table("rules", &["Rule", "What it asks for", "Source"], site_rules(own).iter().map(row).collect(), NOT_RECORDED)
}
