//! The notice of deficiencies, at any time of the visit.

use super::problems::class;
use super::{NOT_RECORDED, NOTICE, Recorded, facts, given, joined, page, table};
use crate::book::body::ItemWhat;
use crate::book::visit::{Item, State};
use crate::trade::conditions::Visual;
use crate::view::page::{Block, Page, Role};
use crate::view::words;

const NOTHING: &str = "No open item.";
const ITEMS: &str = "What was found, and what to do";
const IMPAIRED: &str = "Impaired or still off";
const CORRECTED: &str = "Found and already corrected";
const REPLY: &str = "Reply slip";
const REPLY_WORDS: &str = "Please fill in, sign and return to the firm above.";
const HEAD: [&str; 8] = ["No.", "What", "Where", "Class", "What to do", "Found", "Told to", "In writing"];
/// Lines of the slip that are left to be filled in where there is no item.
const TO_FILL: &str = "";

impl Recorded<'_> {
    pub(super) fn notice(&self) -> Page {
        let numbered: Vec<(usize, &Item)> = self.visit.items.iter().enumerate().collect();
        let (open, closed): (Vec<_>, Vec<_>) = numbered.into_iter().partition(|(_, item)| item.is_open());
        let mut blocks = self.cautions();
        blocks.push(facts("front", self.heading(open.len())));
        let rows = open.iter().map(|(at, item)| self.notice_row(*at, item)).collect();
        blocks.push(Block::section("items", ITEMS, table("items", &HEAD, rows, NOTHING)));
        let off = self.leaving().each();
        if !off.is_empty() {
            let since = self.visit.off_now();
            let row = |((_, what), off): (&(_, String), &crate::book::visit::OffNow)| {
                vec![what.clone(), self.wall(off.since)]
            };
            let rows = off.iter().zip(&since).map(row).collect();
            blocks.push(Block::section("impaired", IMPAIRED, table("impaired", &["What", "Since"], rows, "")));
        }
        if !closed.is_empty() {
            let row = |(at, item): &(usize, &Item)| {
                let how = item.closed.last().map_or("", |(how, _)| words::item_closed(*how));
                vec![(at + 1).to_string(), self.what(item), self.where_found(item), how.to_string()]
            };
            let rows = closed.iter().map(row).collect();
            let head = ["No.", "What", "Where", "How"];
            blocks.push(Block::section("corrected", CORRECTED, table("corrected", &head, rows, "")));
        }
        blocks.push(Block::section("reply", REPLY, self.reply(&open)));
        Page {
            detail: self.under_title().into(),
            running: Some(self.running(NOTICE)),
            ..page("notice", NOTICE, blocks)
        }
    }

    fn heading(&self, open: usize) -> Vec<(&'static str, String)> {
        let from: Vec<String> = self
            .people()
            .into_iter()
            .map(|of| {
                let more = [of.firm, of.license, of.contact].into_iter().flatten().map(|hash| self.said(hash));
                joined([self.said(of.name)].into_iter().chain(more))
            })
            .collect();
        let plan = self.visit.plan.now();
        let latest = self.wall(self.visit.record.latest.max(self.visit.opened));
        let edition = plan.and_then(|plan| plan.edition.clone());
        let edition = edition.unwrap_or_else(|| "edition asked for: not recorded".to_string());
        let mut rows = vec![
            ("Property", self.site_name().to_string()),
            ("Address", given(self.site().and_then(|site| site.address.as_ref()))),
            ("From", if from.is_empty() { NOT_RECORDED.to_string() } else { from.join("; ") }),
            ("Visit", self.days()),
            (
                "As of",
                match self.state() {
                    State::Open => format!("{latest}, visit still open"),
                    _ => latest,
                },
            ),
            ("Reference", joined(["NFPA 72, chapter 14".to_string(), edition])),
            ("Open items", open.to_string()),
        ];
        let within = self.register.rules_of(self.visit.site).written_notice_h;
        rows.extend(
            within.map(|hours| ("Written notice", format!("the site asks for it within {hours} h of finding"))),
        );
        rows
    }

    fn notice_row(&self, at: usize, item: &Item) -> Vec<String> {
        let to_do = item.found.remedy.map_or_else(|| to_do(item).to_string(), |remedy| self.said(remedy));
        vec![
            (at + 1).to_string(),
            self.what(item),
            self.where_found(item),
            class(item).to_string(),
            to_do,
            self.found(item),
            self.told(item, false),
            self.told(item, true),
        ]
    }

    fn reply(&self, open: &[(usize, &Item)]) -> Vec<Block> {
        let empty = || TO_FILL.to_string();
        let mut blocks = vec![Block::text("reply-words", Role::Plain, REPLY_WORDS)];
        if !open.is_empty() {
            let row = |(at, _): &(usize, &Item)| vec![(at + 1).to_string(), empty(), empty(), empty()];
            let rows = open.iter().map(row).collect();
            blocks.extend(table("to-fill", &["No.", "What is or will be done", "By whom", "By when"], rows, ""));
        }
        let rows = vec![vec!["Received by".to_string(), empty(), empty(), empty()]];
        blocks.extend(table("to-sign", &["", "Name", "Signature", "Date"], rows, ""));
        blocks
    }
}

/// What to do about it, where the technician wrote nothing. Own words.
fn to_do(item: &Item) -> &'static str {
    match item.found.what {
        ItemWhat::OperationNotProven => "Retest, hotter or by another method. Replace it if it does not operate.",
        ItemWhat::StaysInAlarm => "Replace the detector, then test the new one.",
        ItemWhat::WrongPoint => "Correct address or panel text, then test again.",
        ItemWhat::NotAtPanel => "Find the fault between detector and panel, repair, then test again.",
        ItemWhat::SwappedPoints => "Swap the two addresses or panel texts, then test both.",
        ItemWhat::Removed => "Install a detector of the right type and rating, then test it.",
        ItemWhat::OutsideLimits => "Owner's limits: retest, or replace as the owner decides.",
        ItemWhat::Visual if item.found.visual.contains(&Visual::Missing) => {
            "Install a detector of the right type and rating, then test it."
        }
        ItemWhat::Visual if item.found.visual.iter().any(|found| found.refuses_heat()) => {
            "Replace the detector, then test the new one. Do not clean off paint."
        }
        ItemWhat::Visual => "Correct it, then test again.",
        ItemWhat::Other => "As agreed with the owner.",
    }
}
