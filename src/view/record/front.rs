//! The first page: what, where, when, who, how it came out, and how the system was left.

use super::lines::Count;
use super::{NOT_RECORDED, Recorded, facts, given, joined, party, table, when};
use crate::book::body::{NotifyAnswer, NotifyWhen, PanelState};
use crate::book::visit::{OffNow, State};
use crate::trade::conditions::ItemClass;
use crate::view::findings::lower;
use crate::view::forms::visit_type;
use crate::view::leaving::Leaving;
use crate::view::page::sign::Shape;
use crate::view::page::{Block, Headline, Kind};
use crate::view::words;

pub(super) const COUNTS: &str = "Results in numbers";
pub(super) const LEFT: &str = "Impairments left";
const NONE_LEFT: &str = "None. Nothing was left impaired, secured, open or on test.";
const ITEMS: &str = "Problems found";
const AT_LEAVING: &str = "System when we left";
const SIGNATURES: &str = "Signatures";

impl Recorded<'_> {
    pub(super) fn front(&self) -> Vec<Block> {
        let mut blocks = self.cautions();
        blocks.push(Block::new("result", Kind::Headline(self.headline())));
        blocks.push(facts("front", self.what_where_when()));
        blocks.push(Block::section("counts", COUNTS, vec![facts("counts", self.counts())]));
        blocks.push(Block::section("left", LEFT, self.left()));
        blocks.push(Block::section("classes", ITEMS, vec![facts("classes", self.classes())]));
        blocks.push(Block::section("at-leaving", AT_LEAVING, vec![facts("at-leaving", self.at_leaving())]));
        blocks.push(Block::section("signatures", SIGNATURES, self.signatures()));
        blocks
    }

    fn count(&self, of: fn(Count) -> bool) -> usize {
        self.lines.iter().filter(|line| of(line.count)).count()
    }

    pub(super) fn headline(&self) -> Headline {
        let all = self.lines.len();
        let passed = self.count(|count| count == Count::Passed);
        let bad = self.count(|count| count == Count::Failed);
        let mut parts = vec![match all {
            0 => "No detector in scope".to_string(),
            _ => format!("{passed} of {} passed", words::plural(all, "detector", "detectors")),
        }];
        let mut add = |count: usize, what: &str| parts.extend((count > 0).then(|| format!("{count} {what}")));
        add(bad, "failed");
        add(self.count(|count| count == Count::NotVerified), "tripped, panel or restore not verified");
        add(self.count(|count| count == Count::NotDecided), "not decided");
        add(self.count(|count| matches!(count, Count::NotTested(_))), "not tested");
        add(self.count(|count| count == Count::Running), "being tested");
        let shape = match (bad, passed == all && all > 0) {
            (0, true) => Shape::Done,
            (0, false) => Shape::Open,
            _ => Shape::Fail,
        };
        Headline { shape, words: parts.join(" · ").into(), badge: None }
    }

    fn what_where_when(&self) -> Vec<(&'static str, String)> {
        let plan = self.visit.plan.now();
        let who = self.people().into_iter().map(|of| {
            let more = [of.firm, of.license].into_iter().flatten().map(|hash| self.said(hash));
            joined([self.said(of.name)].into_iter().chain(more))
        });
        let who: Vec<String> = who.collect();
        let zone = self.opens.map_or("", |opens| opens.zone.as_str());
        let offset = self.offset();
        let sign = if offset < 0 { "−" } else { "+" };
        let utc = format!("UTC{sign}{}:{:02}", offset.abs() / 60, offset.abs() % 60);
        vec![
            ("Property", self.site_name().to_string()),
            ("Address", given(self.site().and_then(|site| site.address.as_ref()))),
            ("Opened", joined([self.wall(self.visit.opened), utc, zone.to_string()])),
            ("Closed", self.closed()),
            ("Type of visit", plan.map_or(NOT_RECORDED, |plan| visit_type(plan.visit_type)).to_string()),
            ("Code and edition asked for", given(plan.and_then(|plan| plan.edition.as_ref()))),
            ("Scope of work", given(plan.and_then(|plan| plan.scope_of_work.as_ref()))),
            ("Not in scope", given(plan.and_then(|plan| plan.not_in_scope.as_ref()))),
            ("Tested by", if who.is_empty() { NOT_RECORDED.to_string() } else { who.join("; ") }),
            ("Dates and times", "Year-month-day, 24 h, local time at the site".to_string()),
        ]
    }

    pub(super) fn closed(&self) -> String {
        let closed = self.visit.closed.iter().filter_map(|hash| self.book.get(*hash)).map(|entry| entry.stamp.wall);
        match (self.state(), closed.max()) {
            (State::Open, _) | (_, None) => "Not closed: this is a draft".to_string(),
            (State::Closed, Some(at)) => self.wall(at),
            (State::ClosedStillOff, Some(at)) => format!("{}, still off: this is a draft", self.wall(at)),
        }
    }

    pub(super) fn counts(&self) -> Vec<(&'static str, String)> {
        let mut rows = vec![
            ("In scope", self.lines.len()),
            ("Tested", self.count(Count::is_tested)),
            ("Passed", self.count(|count| count == Count::Passed)),
            ("Tripped, panel or restore not verified", self.count(|count| count == Count::NotVerified)),
            ("Failed", self.count(|count| count == Count::Failed)),
            ("Not decided", self.count(|count| count == Count::NotDecided)),
            ("Not tested", self.count(|count| matches!(count, Count::NotTested(_)))),
        ];
        let running = self.count(|count| count == Count::Running);
        rows.extend((running > 0).then_some(("Test running", running)));
        let mut rows: Vec<(&'static str, String)> =
            rows.into_iter().map(|(name, count)| (name, count.to_string())).collect();
        let mut reasons: Vec<(&'static str, usize)> = Vec::new();
        for line in &self.lines {
            let Count::NotTested(why) = line.count else { continue };
            match reasons.iter_mut().find(|(known, _)| *known == why) {
                Some((_, count)) => *count += 1,
                None => reasons.push((why, 1)),
            }
        }
        let reasons: Vec<String> = reasons.iter().map(|(why, count)| format!("{} {count}", lower(why))).collect();
        rows.extend((!reasons.is_empty()).then(|| ("Why not tested", reasons.join(", "))));
        let off = self.visit.taken_off();
        let off: Vec<_> = off.into_iter().filter(|id| !self.lines.iter().any(|line| line.position == *id)).collect();
        if !off.is_empty() {
            let why = self.visit.planned.iter().rev().find(|at| !at.change.planned).and_then(|at| at.change.why);
            rows.push((
                "Taken off the list",
                joined([self.tags(&off), why.map_or_else(String::new, |of| self.said(of))]),
            ));
        }
        rows
    }

    /// What is off, each with who accepted it.
    pub(super) fn left(&self) -> Vec<Block> {
        let off = self.visit.off_now();
        let words = self.leaving().each();
        let row = |(off, (_, what)): (&OffNow, &(_, String))| {
            let accepted = off.accepted.as_ref().map(|said| &said.what);
            let by = accepted.map_or_else(|| "Nobody".to_string(), |of| self.who(of.accepted_by));
            let until = accepted.and_then(|of| of.until).map_or_else(|| "–".to_string(), |at| self.wall(at));
            let told = accepted.and_then(|of| of.notified).map_or_else(|| "–".to_string(), |who| self.who(who));
            let note = accepted.and_then(|of| of.note).map_or_else(String::new, |note| self.said(note));
            vec![what.clone(), self.wall(off.since), by, until, told, note]
        };
        let rows = off.iter().zip(&words).map(row).collect();
        table("left", &["What", "Off since", "Accepted by", "Until", "Notified", "Note"], rows, NONE_LEFT)
    }

    /// What leaving says of what is off, when the last thing was recorded.
    pub(super) fn leaving(&self) -> Leaving<'_> {
        let (offset_min, now) = (self.offset(), self.visit.record.latest);
        Leaving { book: self.book, register: self.register, visit: self.visit, offset_min, now }
    }

    fn classes(&self) -> Vec<(&'static str, String)> {
        let items = &self.visit.items;
        let count = |class: Option<ItemClass>| {
            let of = || items.iter().filter(|item| item.class == class);
            let open = of().filter(|item| item.is_open()).count();
            format!("{}, {open} still open", of().count())
        };
        let mut rows: Vec<(&'static str, String)> = Vec::new();
        for (name, class) in [
            ("Impairments", ItemClass::Impairment),
            ("Deficiencies", ItemClass::Deficiency),
            ("Observations", ItemClass::Observation),
        ] {
            rows.push((name, count(Some(class))));
        }
        if items.iter().any(|item| item.class.is_none()) {
            rows.push(("Class not chosen", count(None)));
        }
        rows
    }

    fn at_leaving(&self) -> Vec<(&'static str, String)> {
        let panels: Vec<String> = self
            .visit
            .record
            .panels_left()
            .map(|seen| {
                let stale = if seen.stale { "something was done since" } else { "" };
                joined([self.panel(&seen.said.what), stale.to_string()])
            })
            .collect();
        let over = self.visit.notices.iter().filter(|at| at.notice.when == NotifyWhen::After);
        let over: Vec<String> = over
            .map(|at| {
                let word = match at.notice.answer {
                    NotifyAnswer::Notified => when(at.notice.happened),
                    NotifyAnswer::NotRequired => "not required".to_string(),
                    NotifyAnswer::NotMonitored => "not monitored".to_string(),
                    NotifyAnswer::GoAheadWithout => "not notified".to_string(),
                };
                format!("{} ({word})", party(at.notice.whom))
            })
            .collect();
        let or_not = |of: Vec<String>| if of.is_empty() { NOT_RECORDED.to_string() } else { of.join("; ") };
        vec![("Panel as left", or_not(panels)), ("Notified that testing is over", or_not(over))]
    }

    /// The panel as somebody saw it.
    pub(super) fn panel(&self, of: &PanelState) -> String {
        let lists = [
            ("alarms", &of.alarms),
            ("supervisories", &of.supervisories),
            ("troubles", &of.troubles),
            ("disabled", &of.disabled),
        ];
        let shows = match of.normal {
            true => "Normal".to_string(),
            false => {
                let list = |(name, lines): (&str, &Vec<String>)| format!("{name}: {}", lines.join(", "));
                let any = lists.into_iter().filter(|(_, lines)| !lines.is_empty());
                any.map(list).collect::<Vec<_>>().join("; ")
            }
        };
        let name = of.label.clone().unwrap_or_default();
        joined([name, shows, when(of.happened), self.who(of.by)])
    }
}
