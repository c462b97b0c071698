//! Who was notified, and what was off: panel, impairments, releases, opened pairs, permits, alarms that were not ours.

use super::{NOT_RECORDED, Recorded, joined, party, table, when};
use crate::book::body::{FireWatch, Happened, NotOurs, NotifyAnswer, NotifyWhen, PanelWhen, Who};
use crate::book::visit::{NoticeAt, Off};
use crate::trade::classified::{Gas, GasReading};
use crate::view::page::{Block, Role};
use crate::view::words;

const NOTICES: &str = "Notifications";
const OFF: &str = "Panel, impairments, releases, permits";
const NONE: &str = "None recorded.";
const ALONE: &str = "alone, nobody verified";

impl Recorded<'_> {
    pub(super) fn notices(&self) -> Block {
        let row = |at: &NoticeAt| {
            let notice = &at.notice;
            let answer = match notice.answer {
                NotifyAnswer::Notified => "Notified",
                NotifyAnswer::NotRequired => "Not required",
                NotifyAnswer::NotMonitored => "Not monitored",
                NotifyAnswer::GoAheadWithout => "Went ahead without",
            };
            let account = notice.account.as_ref().map_or_else(String::new, |of| format!("account {of}"));
            let until = notice.test_until.map_or_else(String::new, |at| format!("on test until {}", self.wall(at)));
            let contact = notice.contact.map_or_else(String::new, |of| self.said(of));
            let note = notice.note.map_or_else(String::new, |of| self.said(of));
            let whom = joined([party(notice.whom).to_string(), notice.label.clone().unwrap_or_default()]);
            vec![
                match notice.when {
                    NotifyWhen::Before => "Testing starts",
                    NotifyWhen::After => "Testing is over",
                }
                .to_string(),
                whom,
                answer.to_string(),
                or_not(joined([contact, account])),
                when(notice.happened),
                self.wall(at.wall),
                self.who(notice.by),
                joined([until, note]),
            ]
        };
        let rows = self.visit.notices.iter().map(row).collect();
        let head = ["About", "Who", "Answer", "Contact", "Happened", "Recorded", "By", "More"];
        Block::section("notices", NOTICES, table("notices", &head, rows, NONE))
    }

    pub(super) fn off(&self) -> Block {
        let mut blocks = Vec::new();
        let mut add = |title: &'static str, rows: Vec<Block>| {
            blocks.push(Block::text("part", Role::Heading, title));
            blocks.extend(rows);
        };
        add("Panel", self.panels());
        add("Impairments", self.impairments());
        add("Releases secured", self.secured());
        add("Wires lifted for a meter", self.pairs());
        add("Permits and gas tests", self.permits());
        add("First alarm of each circuit", self.proofs());
        if !self.visit.alarms.is_empty() {
            add("Alarms that were not ours", self.alarms());
        }
        Block::section("off", OFF, blocks)
    }

    fn panels(&self) -> Vec<Block> {
        let row = |seen: &crate::book::visit::PanelSeen| {
            let word = match seen.said.what.when {
                PanelWhen::Found => "As found",
                PanelWhen::Between => "Between",
                PanelWhen::Left => "As left",
            };
            vec![word.to_string(), self.panel(&seen.said.what)]
        };
        let rows = self.visit.record.panels.iter().map(row).collect();
        table("panel", &["When", "What it showed"], rows, NONE)
    }

    /// Until when and by whom it was put back.
    fn back<T>(&self, off: &Off<T>) -> String {
        match off.restored {
            Some((by, happened)) => joined([when(happened), self.who(by)]),
            None => "Still off".to_string(),
        }
    }

    fn from(&self, by: Who, happened: Happened) -> String {
        joined([when(happened), self.who(by)])
    }

    fn impairments(&self) -> Vec<Block> {
        let row = |off: &Off<_>| {
            let of: &std::sync::Arc<crate::book::body::Impaired> = &off.what;
            let who = |who: Option<Who>| who.map_or_else(|| NOT_RECORDED.to_string(), |who| self.who(who));
            let watch = match of.fire_watch {
                Some(FireWatch::Posted) => {
                    joined(["posted".to_string(), of.fire_watch_by.map_or_else(String::new, |by| self.who(by))])
                }
                Some(FireWatch::NotRequired) => "not required".to_string(),
                None => NOT_RECORDED.to_string(),
            };
            vec![
                self.leaving().impaired(of),
                self.said_or_not(of.why),
                self.from(of.by, of.happened),
                self.back(off),
                or_not(of.tag.clone().unwrap_or_default()),
                who(of.coordinator),
                who(of.go_ahead),
                watch,
            ]
        };
        let rows = self.visit.impaired.iter().map(row).collect();
        let head = ["What", "Why", "From", "Back in service", "Tag", "Coordinator", "Owner's go-ahead", "Fire watch"];
        table("impaired", &head, rows, NONE)
    }

    fn secured(&self) -> Vec<Block> {
        let row = |off: &Off<std::sync::Arc<crate::book::body::Secured>>| {
            let of = &off.what;
            vec![
                of.release.clone(),
                or_not(joined([of.method.clone().unwrap_or_default(), of.tag.clone().unwrap_or_default()])),
                self.from(of.by, of.happened),
                of.verified_by.map_or_else(|| ALONE.to_string(), |by| self.who(by)),
                self.back(off),
            ]
        };
        let rows = self.visit.secured.iter().map(row).collect();
        table("secured", &["What", "How, tag or lock", "Secured", "Verified by", "Restored"], rows, NONE)
    }

    fn pairs(&self) -> Vec<Block> {
        let row = |off: &Off<std::sync::Arc<crate::book::body::OpenPair>>| {
            let of = &off.what;
            vec![self.leaving().pair(of), self.from(of.by, of.happened), self.back(off)]
        };
        let rows = self.visit.pairs.iter().map(row).collect();
        table("pairs", &["Where", "Lifted", "Reconnected"], rows, NONE)
    }

    fn permits(&self) -> Vec<Block> {
        let gas = |of: &GasReading| {
            let gas = if of.gas == Gas::Lel { "LEL" } else { "O₂" };
            format!("{}% {gas}", of.percent.text())
        };
        let row = |at: &crate::book::visit::PermitAt| {
            let of = &at.permit;
            let tested = of.gas_tested_at.map_or_else(String::new, |at| self.wall(at));
            let readings = of.readings.iter().map(gas).collect::<Vec<_>>().join(", ");
            vec![
                of.number.clone(),
                of.area.map_or_else(|| "Whole site".to_string(), |area| self.area_name(area).to_string()),
                format!("{} to {}", self.wall(of.valid_from), self.wall(of.valid_until)),
                or_not(joined([readings, tested, of.instrument.clone().unwrap_or_default()])),
                self.who(of.by),
                if at.in_hand { "Not closed out" } else { "Closed out or renewed" }.to_string(),
            ]
        };
        let rows = self.visit.permits.iter().map(row).collect();
        let mut blocks = table("permits", &["Permit", "Area", "Valid", "Gas test", "By", "State"], rows, NONE);
        let held = |at: &crate::book::visit::ApprovalAt| {
            let of = &at.held;
            let heater = self.visit.tests.iter().find(|test| test.frozen.heater.of == of.heater);
            let heater = heater.map_or_else(String::new, |test| test.frozen.heater.name.name.clone());
            let fits = if of.fits { "fits" } else { "does not fit" };
            vec![
                heater,
                of.approval.clone(),
                joined([self.area_name(of.area).to_string(), of.classification.clone()]),
                fits.to_string(),
                self.from(of.by, of.happened),
            ]
        };
        let rows: Vec<Vec<String>> = self.visit.approvals.iter().map(held).collect();
        if !rows.is_empty() {
            blocks.extend(table("approvals", &["Heater", "Approved for", "Area", "Checked", "By"], rows, NONE));
        }
        blocks
    }

    fn proofs(&self) -> Vec<Block> {
        use crate::book::body::{Outputs, StationSaw};
        let row = |said: &crate::book::visit::Said<crate::book::body::CircuitProof>| {
            let of = &said.what;
            let outputs = match of.outputs {
                Outputs::Stayed => "stayed put",
                Outputs::Moved => "one moved",
                Outputs::None => "none there",
            };
            let station = match of.station {
                StationSaw::Received => "received it",
                StationSaw::OnTest => "had it on test",
                StationSaw::Nothing => "received nothing",
                StationSaw::NotChecked => "not checked",
            };
            vec![
                self.circuit_name(of.circuit).to_string(),
                words::point(of.point).to_string(),
                outputs.to_string(),
                station.to_string(),
                self.from(of.by, of.happened),
            ]
        };
        let rows = self.visit.record.proofs.iter().map(row).collect();
        table("proofs", &["Circuit", "Panel", "Outputs", "Supervising station", "When, by"], rows, NONE)
    }

    fn alarms(&self) -> Vec<Block> {
        let row = |alarm: &crate::book::visit::Alarm| {
            let what = match alarm.what {
                NotOurs::Alarm => "An alarm that wasn't ours",
                NotOurs::OutputMoved => "An output activated",
            };
            let cleared = alarm.cleared.map_or_else(|| "Not cleared".to_string(), |(by, at)| self.from(by, at));
            vec![what.to_string(), self.from(alarm.by, alarm.happened), cleared]
        };
        let rows = self.visit.alarms.iter().map(row).collect();
        table("alarms", &["What", "When, by", "Cleared"], rows, NONE)
    }
}

fn or_not(words: String) -> String {
    if words.is_empty() { NOT_RECORDED.to_string() } else { words }
}
