//! What a site goes by, and which positions are on the list of a visit.

use super::super::Id;
use super::super::body::{Body, PlannedPositions, ProgrammingChange, RuleCheck, RuleSet, Sample, SampleWhy, SiteRules};
use super::super::command::At;
use super::super::entries::Book;
use super::super::entry::{Hash, Scope};
use super::super::refusal::{Fault, Refusal};
use super::super::register::{Position, Register};
use super::super::visit::{draw, drawn_of};
use super::register::{drafts, edit};
use super::{Drafts, draft, fields, in_visit, open_visit};
use crate::order;
use std::collections::BTreeSet;

pub(super) fn put_rules(book: &Book, site: Id, now: SiteRules) -> Drafts {
    fields::check(&now)?;
    now.rules.iter().try_for_each(rule)?;
    now.notify.iter().try_for_each(fields::check)?;
    let names = order::set(now.rules.iter().map(|rule| &rule.name));
    if names.len() < now.rules.len() {
        return Err(Refusal::Field("RuleSet.name", Fault::Taken));
    }
    let register = Register::of(book);
    if !register.sites.contains_key(&site) {
        return Err(Refusal::UnknownSite);
    }
    // A change made on one of two versions would drop the other without anybody having seen it.
    if register.all_rules_of(site).is_some_and(|versions| !versions.contains(&&now)) {
        return Err(Refusal::RulesConflict);
    }
    Ok(drafts(Scope::Site(site), vec![edit(site, register.site_rules.get(&site), now).map(Body::SiteRules)]))
}

/// A rule whose words can be held against a position.
fn rule(rule: &RuleSet) -> Result<(), Refusal> {
    fields::check(rule)?;
    for (key, text) in [("RuleSet.sentence", &rule.sentence), ("RuleSet.source", &rule.source)] {
        if text.trim().is_empty() {
            return Err(Refusal::Field(key, Fault::Empty));
        }
    }
    // It lets wait for years what it covers, so it says what that is.
    if rule.check == RuleCheck::ReplaceOrSample && rule.types.is_empty() {
        return Err(Refusal::Field("RuleSet.types", Fault::Choose));
    }
    // A share without an end would let a position wait for ever.
    match (rule.least_per_circuit, rule.all_within_months) {
        (Some(_), None) => Err(Refusal::Field("RuleSet.all_within_months", Fault::Empty)),
        (None, Some(_)) => Err(Refusal::Field("RuleSet.least_per_circuit", Fault::Empty)),
        _ => Ok(()),
    }
}

pub(super) fn positions(book: &Book, id: Id, positions: Vec<Id>, planned: bool, why: Option<Hash>) -> Drafts {
    let visit = open_visit(book, id)?;
    let register = Register::of(book);
    let here = |position: &Id| {
        let retired = register.positions.get(position).is_some_and(Position::retired);
        register.site_of(*position) == Some(visit.site) && !retired
    };
    if !positions.iter().all(here) {
        return Err(Refusal::UnknownPosition);
    }
    // What was taken off the list prints with its reason.
    if !planned && why.is_none() {
        return Err(Refusal::Field("PlannedPositions.why", Fault::Empty));
    }
    let standing = visit.planned();
    let mut seen = BTreeSet::new();
    let new = |position: &Id| standing.contains(position) != planned && seen.insert(*position);
    let changed: Vec<Id> = positions.into_iter().filter(new).collect();
    if changed.is_empty() {
        return Ok(Vec::new());
    }
    in_visit(id, Body::PositionsPlanned(PlannedPositions { positions: changed, planned, why, sample: None }.into()))
}

/// All that a change of programming affects goes on the list, and of the others what is drawn. The seed is no choice of anybody's, so that
/// a draw that was undone comes out the same once more.
pub(super) fn programming(book: &Book, at: At, id: Id, change: ProgrammingChange) -> Drafts {
    let visit = open_visit(book, id)?;
    fields::check(&change)?;
    fields::happened(at, change.happened)?;
    let register = Register::of(book);
    let here = register.areas_of(visit.site).into_iter().flat_map(|(area, _)| register.positions_of(area));
    let here: Vec<Id> = here.map(|(position, _)| position).collect();
    if change.affected.is_empty() {
        return Err(Refusal::Field("ProgrammingChange.affected", Fault::Choose));
    }
    if !change.affected.iter().all(|position| here.contains(position)) {
        return Err(Refusal::UnknownPosition);
    }
    let from: Vec<Id> = here.into_iter().filter(|position| !change.affected.contains(position)).collect();
    let seed = format!("{id}-{}", visit.record.programming.len() + 1);
    let drawn = draw(&seed, &from, drawn_of(from.len()));
    let planned = visit.planned();
    let listed =
        order::set(change.affected.iter().chain(&drawn).copied().filter(|position| !planned.contains(position)));
    let positions: Vec<Id> = listed.into_iter().collect();
    let mut drafts = in_visit(id, Body::ProgrammingChanged(change.into()))?;
    if !drawn.is_empty() {
        let sample = Sample { why: SampleWhy::Reacceptance, from, seed, drawn };
        drafts.push(draft(Scope::Visit(id), Body::SampleDrawn(sample.into())));
    }
    if !positions.is_empty() {
        let planned = PlannedPositions { positions, planned: true, why: None, sample: None };
        drafts.push(draft(Scope::Visit(id), Body::PositionsPlanned(planned.into())));
    }
    Ok(drafts)
}
