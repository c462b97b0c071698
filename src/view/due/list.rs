//! The page of what is due: how many, the proposal, and every position with the reason and its rule.

use super::{SiteDue, said};
use crate::book::Id;
use crate::book::body::{VisitPlan, VisitType};
use crate::book::command::Command;
use crate::findings::due::{PositionDue, Share};
use crate::trade::fields::LINE;
use crate::view::page::sign::{Look, Says, Shape, Tone};
use crate::view::page::{Action, Block, Button, Empty, Fold, Kind, Later, Page, Request, Role, Row, Section};
use crate::view::route::{Form, Route};
use crate::view::words::{CONFLICT_WORD, plural};
use std::sync::Arc;

/// The commands that put the proposal on the list of a visit and say which rules proposed it. What somebody took off stays off.
pub fn plans(site: &SiteDue, visit: Id) -> Vec<Command> {
    let positions = site.due.proposal().into_iter().map(|of| of.position);
    let positions = positions.filter(|of| !site.taken_off.contains(of)).collect();
    let rule_set = visit_plan(site, VisitType::Functional).rule_set;
    let plan = site.plan.clone().filter(|plan| plan.rule_set != rule_set);
    let plan = plan.map(|plan| Command::PlanVisit { visit, plan: VisitPlan { rule_set, ..plan } });
    let positions = Command::PlanPositions { visit, positions, planned: true, why: None };
    [positions].into_iter().chain(plan).collect()
}

/// The plan of a visit that its proposal opens, with the rules that proposed it.
pub fn visit_plan(site: &SiteDue, visit_type: VisitType) -> VisitPlan {
    let used = |index: &usize| site.due.positions.iter().any(|of| of.functional.rule == *index);
    let names = (0..site.due.rules.len()).filter(used).map(|index| site.due.rules[index].name.as_str());
    let names = names.collect::<Vec<_>>().join("; ");
    let rule_set = names.chars().take(LINE).collect::<String>();
    VisitPlan { rule_set: Some(rule_set).filter(|names| !names.is_empty()), ..VisitPlan::of(visit_type) }
}

/// Said where two phones' rules stand side by side.
pub(super) fn parted(site: Id) -> Block {
    let key = Button::to("settle-rules", said::SETTLE, Route::Form(Form::SiteRules(site)));
    Block::notice("rules-parted", Says::Warning, CONFLICT_WORD, said::PARTED).with(vec![key])
}

impl SiteDue {
    /// The list of what is due.
    pub fn page(self: &Arc<Self>) -> Page {
        if self.subjects.is_empty() {
            let empty = Empty {
                shape: Shape::Time,
                title: said::NOTHING.into(),
                words: said::NOTHING_WORDS.into(),
                buttons: vec![Button::to("to-register", crate::view::words::TO_REGISTER, Route::Register)],
            };
            let blocks = vec![Block::new("nothing-due", Kind::Empty(empty))];
            return self.page_of("due", said::TITLE, Route::Register, blocks);
        }
        let mut blocks = vec![self.counts(), self.ways(), self.proposal()];
        blocks.extend(self.parted.then(|| parted(self.site)));
        blocks.extend(self.due.rules.iter().any(|rule| rule.from_memory).then(|| {
            let key = Button::to("to-rules", said::RULES, Route::Rules(self.site));
            Block::notice("from-memory", Says::Warning, said::SAY_AUTHORITY, said::FROM_MEMORY).with(vec![key])
        }));
        blocks.extend(self.areas.iter().filter_map(|(area, name)| {
            let here = self.of_area(*area);
            (!here.is_empty()).then(|| self.area(name, &here))
        }));
        self.page_of("due", said::TITLE, Route::Register, blocks)
    }

    fn counts(&self) -> Block {
        let (overdue, due, not_due) = self.due.counts();
        let visual = self.due.positions.iter().filter(|of| of.visual.state.is_due()).count();
        let no_date = self.due.positions.iter().filter(|of| of.functional.why.no_date()).count();
        let fact = |name: &'static str, count: usize| (name.into(), count.to_string().into());
        let mut facts =
            vec![fact("Overdue", overdue), fact("Due now or by the next visit", due), fact(said::NOT_DUE, not_due)];
        facts.push(fact("No known date", no_date));
        facts.push(fact("Visual check due", visual));
        facts.push(("Next visit expected".into(), said::date(self.due.next_visit).into()));
        Block::new("due-counts", Kind::Facts(facts))
    }

    fn ways(&self) -> Block {
        Block::buttons(vec![
            Button::to("to-coverage", said::COVERAGE, Route::Coverage(self.site)).icon(Shape::Register),
            Button::to("to-truck", said::TRUCK, Route::Truck(self.site)).icon(Shape::Test),
            Button::to("to-rules", said::RULES, Route::Rules(self.site)).icon(Shape::Adjust),
        ])
    }

    fn proposal(&self) -> Block {
        let proposed = self.due.proposal();
        let open = |of: &&&PositionDue| !self.planned.contains(&of.position) && !self.taken_off.contains(&of.position);
        let missing = proposed.iter().filter(open).count();
        let count = plural(proposed.len(), "position", "positions");
        let mut blocks = Vec::new();
        if proposed.is_empty() {
            blocks.push(Block::text("none-due", Role::Plain, said::NONE_DUE));
        } else {
            let words = format!("{count} of {}: all that is due, and each circuit's minimum.", self.subjects.len());
            blocks.push(Block::text("proposed", Role::Plain, words));
            let label = if self.open.is_some() { said::PLAN } else { said::PLAN_NEW };
            let key = Button::new("plan-due", label, Action::Do(Request::PlanDue(self.site)));
            blocks.push(match missing {
                0 => Block::text("all-planned", Role::Soft, said::ALL_PLANNED),
                _ => Block::buttons(vec![key.look(Look::Primary).icon(Shape::Plus).wide()]),
            });
        }
        blocks.extend(self.shown.then(|| Block::text("by-hand", Role::Soft, said::BY_HAND)));
        if !self.by_hand.is_empty() {
            let change = |(tags, on, why): &(String, bool, String)| {
                let (sign, word) = if *on { (Shape::Plus, "on the list") } else { (Shape::Minus, "off the list") };
                Row::new("by-hand-line", tags.clone(), format!("{word}: {why}")).sign(sign)
            };
            blocks.push(Block::text("by-hand-title", Role::Heading, said::CHANGED));
            blocks.push(Block::rows(said::CHANGED, self.by_hand.iter().map(change).collect()));
        }
        if !self.due.shares.is_empty() {
            let rows = self.due.shares.iter().map(|share| self.share(share)).collect();
            blocks.push(Block::new(
                "shares",
                Kind::Fold(Fold {
                    title: said::SHARES.into(),
                    open: false,
                    blocks: vec![Block::rows(said::SHARES, rows)],
                }),
            ));
        }
        let at = proposed.len().to_string().into();
        let title = said::PROPOSAL.into();
        Block::new("proposal", Kind::Section(Section { title, at, blocks, ..Section::default() }))
    }

    fn share(&self, share: &Share) -> Row {
        let name = self.circuits.get(&share.circuit).cloned().unwrap_or_default();
        let mut parts = vec![format!("{} of {} in this visit", share.wanted, share.of)];
        parts.extend((share.done > 0).then(|| format!("{} done", share.done)));
        parts.extend((share.repeats > 0).then(|| format!("{} tested last time too: too few others", share.repeats)));
        Row::new(format!("share-{name}"), name, parts.join(" · "))
    }

    fn area(self: &Arc<Self>, name: &str, here: &[usize]) -> Block {
        let due = |index: &&usize| self.due.positions[**index].functional.state.is_due();
        let (now, later): (Vec<usize>, Vec<usize>) = here.iter().partition(|index| due(index));
        let end = format!("{} of {} due", now.len(), here.len());
        let mut blocks = Vec::new();
        blocks.extend((!now.is_empty()).then(|| self.rows_later("due-rows", name, now)));
        if !later.is_empty() {
            let title = format!("{}: {}", said::NOT_DUE, later.len());
            let rows = self.rows_later("not-due-rows", name, later);
            blocks
                .push(Block::new("not-due", Kind::Fold(Fold { title: title.into(), open: false, blocks: vec![rows] })));
        }
        let title = name.to_string().into();
        Block::new(name.to_string(), Kind::Section(Section { title, end: end.into(), blocks, ..Section::default() }))
    }

    fn rows_later(self: &Arc<Self>, key: &'static str, name: &str, which: Vec<usize>) -> Block {
        let (site, label) = (Arc::clone(self), name.to_string());
        let shape = move || vec![Block::rows(label.clone(), which.iter().map(|index| site.row(*index)).collect())];
        Block::new(key, Kind::Later(Later::new(shape)))
    }

    /// What is due at a position, why, and by which rule.
    pub fn line(&self, position: Id) -> Option<String> {
        let PositionDue { functional, visual, .. } = self.due.positions.iter().find(|of| of.position == position)?;
        let rule = &self.due.rules[functional.rule].name;
        let state = format!("{}: {}", said::state(functional.state), said::why(functional.why));
        let visual = visual.state.is_due().then(|| said::VISUAL_DUE.to_string());
        Some([state, rule.clone()].into_iter().chain(visual).collect::<Vec<_>>().join(" · "))
    }

    fn row(&self, index: usize) -> Row {
        let (of, tag) = (&self.due.positions[index], &self.tags[index]);
        let PositionDue { functional, visual, .. } = of;
        let rule = &self.due.rules[functional.rule];
        let mut parts = vec![said::upper(&said::why(functional.why)), rule.name.clone()];
        parts.extend(visual.state.is_due().then(|| said::VISUAL_DUE.to_string()));
        let (shape, tone) = said::sign(functional.state);
        let by_hand = self.shown.then_some(Route::Form(Form::PlanPosition(of.position)));
        let to = by_hand.unwrap_or(Route::Position(of.position));
        let row = Row::new(format!("due-{tag}"), tag.clone(), parts.join(" · ")).to(to);
        let row = row.badge(shape, tone, said::state(functional.state));
        match (self.planned.contains(&of.position), self.taken_off.contains(&of.position)) {
            (true, _) => row.badge(Shape::Tick, Tone::Note, said::PLANNED),
            (false, true) => row.badge(Shape::Minus, Tone::Warn, said::TAKEN_OFF),
            (false, false) => row,
        }
    }
}
