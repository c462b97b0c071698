//! The panel as found and left, breaks, and what is left off by name.

use super::row::{Asked, Row, ask, by, happened, row};
use super::table::{Made, Rows, Table, whole};
use super::{Answer, Wrongs, name};
use crate::book::Id;
use crate::book::body::{BreakKind, ClockOffset, LeavingOff, OtherClock, PanelState, PanelWhen, Restoring, Who};
use crate::book::command::{Command, StartBreak};
use crate::book::entry::Hash;
use crate::book::visit::PanelSeen;
use crate::encoding::stored::Stored;
use crate::trade::fields::Kind;
use crate::units::Wall;
use crate::view::leaving::Leaving;
use crate::view::route::Form;
use serde_json::{Value, json};

const NORMAL: Row = row!("panel", PanelState, "normal", "panel-normal", "The panel is")
    .words(&[("yes", "Normal", "No alarm, supervisory, trouble or disable."), ("no", "Not normal", "")])
    .needed();
const ALARMS: Row = row!("panel", PanelState, "alarms", "panel-alarms", "Alarms").help("One per line.").shown(abnormal);
const SUPERVISORIES: Row =
    row!("panel", PanelState, "supervisories", "panel-supervisories", "Supervisories").shown(abnormal);
const TROUBLES: Row = row!("panel", PanelState, "troubles", "panel-troubles", "Troubles").shown(abnormal);
const DISABLED: Row = row!("panel", PanelState, "disabled", "panel-disabled", "Disabled").shown(abnormal);
const WHICH: Row = row!("panel", PanelState, "label", "panel-label", "Which panel").help("Only if there are several.");
const CLOCK: Row = ask!("clock.shows", Kind::Moment, "panel-clock", "Panel's clock")
    .help("What it shows now. Blank if you didn't look.");

fn abnormal(asked: &Asked<'_>) -> bool {
    asked.is(&NORMAL, "no")
}

/// When the panel is looked at, by the number of the form.
fn when(form: Form) -> PanelWhen {
    match form {
        Form::Panel(0) => PanelWhen::Found,
        Form::Panel(1) => PanelWhen::Between,
        _ => PanelWhen::Left,
    }
}

pub(super) const PANEL: Table = Table {
    title: |asked| match when(asked.form) {
        PanelWhen::Found => "Panel as found".into(),
        PanelWhen::Between => "Panel now".into(),
        PanelWhen::Left => "Panel as left".into(),
    },
    parts: &[
        Rows {
            title: "",
            note: "",
            rows: &[&[
                NORMAL,
                ALARMS,
                SUPERVISORIES,
                TROUBLES,
                DISABLED,
                by!("panel", PanelState),
                happened!("panel", PanelState),
            ]],
        },
        Rows { title: "Clock, several panels", note: "", rows: &[&[CLOCK, WHICH]] },
    ],
    base: |form, known| {
        // As left it is held against what was found: of the panel that is to be seen, else of the last one that was not normal.
        let found = known.shown().filter(|_| when(form) == PanelWhen::Left).and_then(|visit| {
            let found = |seen: &&PanelSeen| seen.said.what.when == PanelWhen::Found;
            let next = visit.panels_to_see().into_iter().next();
            let of = |label: &Option<String>| {
                visit.record.panels.iter().filter(found).rfind(|seen| seen.is_of(label.as_deref()))
            };
            let abnormal = || visit.record.panels.iter().filter(found).rfind(|seen| !seen.said.what.normal);
            let of_next = next.as_ref().and_then(of).map(|seen| seen.said.what.to_value());
            let named = || next.clone().flatten().map(|label| json!({ "label": label }));
            of_next.or_else(named).or_else(|| abnormal().map(|seen| seen.said.what.to_value()))
        });
        let Some(Value::Object(mut found)) = found else { return Value::Null };
        ["normal", "by", "happened", "photo"].iter().for_each(|name| drop(found.remove(*name)));
        json!({ "panel": found })
    },
    make: see_panel,
    ..Table::PLAIN
};

/// A clock is read to the minute, so the middle of the minute is taken. Own figure.
const HALF_A_MINUTE_MS: i64 = 30_000;

fn see_panel(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let (form, at) = (made.asked.form, made.asked.known.at);
    made.put("panel.when", &when(form));
    let panel: PanelState = made.take("panel")?;
    let (by, label) = (panel.by, panel.label.clone());
    let mut commands = vec![Command::SeePanel { visit: made.visit(), panel: Box::new(panel) }];
    if let Some(shows) = made.at::<Wall>("clock.shows") {
        let ahead_ms = shows.saturating_add(HALF_A_MINUTE_MS).saturating_sub(at.stamp.wall);
        let (of, u_ms, happened) = (OtherClock::Panel, HALF_A_MINUTE_MS, at.happened());
        let offset = Box::new(ClockOffset { of, label, ahead_ms, u_ms, by, happened });
        commands.push(Command::CompareClock { visit: made.visit(), offset });
    }
    Ok(commands)
}

const ACCEPTED: Row = row!("leaving", LeavingOff, "accepted_by", "accepted-by", "Accepted by")
    .other(name!("accepted-name", "Name of who accepts it"))
    .help("Who answers for it: usually the owner's representative.")
    .needed();
const UNTIL: Row = row!("leaving", LeavingOff, "until", "left-until", "Until").needed();
const NOTIFIED: Row = row!("leaving", LeavingOff, "notified", "left-notified", "Who was notified")
    .other(name!("left-notified-name", "Name of who was notified"))
    .help("e.g. the AHJ, the fire department.")
    .needed();
const LEFT_NOTE: Row = row!("leaving", LeavingOff, "note", "note", "Note");

pub(super) const LEAVE_OFF: Table = Table {
    title: |_| "Leave it off".into(),
    lead: "Stays on record with these names.",
    save: "Left off",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[ACCEPTED, UNTIL, NOTIFIED, happened!("leaving", LeavingOff), LEFT_NOTE]],
    }],
    opens: |typed, _, _, _| {
        // Who holds the phone rarely is who answers for it.
        typed.put(ACCEPTED.name, super::table::OTHER);
        typed.put(NOTIFIED.name, super::table::OTHER);
    },
    make: |mut made| {
        let Form::LeaveOff(off) = made.asked.form else { return Ok(Vec::new()) };
        made.put("leaving.off", &off);
        Ok(vec![Command::LeaveOff { visit: made.visit(), leaving: Box::new(made.take("leaving")?) }])
    },
    ..Table::PLAIN
};

const KIND: Row = ask!("break.kind", Kind::Line, "break-kind", "Which")
    .words(&[("day", "Break", ""), ("night", "Overnight", "")])
    .needed();
const BACK: Row = ask!("break.back", Kind::List(&Kind::OneOf(&[])), "put-back", "Check off what is back to normal")
    .asked(everything_off)
    .help("After the break, set each one up again.");
const LEFT_BY: Row = ask!("break.left_by", Kind::Who, "left-by", "Who OKs the rest staying off")
    .other(name!("left-by-name", "Name of who lets it stay off"))
    .shown(|asked| left(asked).next().is_some())
    .needed();

/// Everything that is off, by the entry that took it off.
fn everything_off(asked: &Asked<'_>) -> Vec<Answer> {
    let (known, register) = (asked.known, asked.known.register);
    let Some(visit) = known.shown() else { return Vec::new() };
    let (offset_min, now) = (known.at.offset_min, known.at.stamp.wall);
    let leaving = Leaving { book: known.book, register, visit: &visit, offset_min, now };
    leaving.each().into_iter().map(|(entry, what)| Answer::new(entry, what)).collect()
}

fn ticked<'a>(asked: &Asked<'a>) -> impl Iterator<Item = Hash> + use<'a> {
    asked.typed.get(BACK.name.key).split(',').filter_map(|hash| hash.trim().parse().ok())
}

fn left(asked: &Asked<'_>) -> impl Iterator<Item = Hash> {
    let back: Vec<Hash> = ticked(asked).collect();
    let off = asked.known.shown().map(|visit| visit.off_now()).unwrap_or_default();
    off.into_iter().map(|off| off.entry).filter(move |entry| !back.contains(entry))
}

pub(super) const BREAK: Table = Table {
    title: |_| "Break".into(),
    lead: "Everything that is off: back in place now, or left off with a named person's OK.",
    save: "Start the break",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[KIND, BACK, LEFT_BY, by!("restored", Restoring), happened!("restored", Restoring)]],
    }],
    opens: |typed, _, _, _| {
        typed.put(KIND.name, "day");
        typed.put(LEFT_BY.name, super::table::OTHER);
    },
    make: |made| {
        let kind = if made.asked.is(&KIND, "night") { BreakKind::Night } else { BreakKind::Day };
        let left_by: Option<Who> = made.at("break.left_by");
        let left_off = left(&made.asked).filter_map(|off| Some((off, left_by?))).collect();
        let (by, happened) = whole(made.at("restored.by").zip(made.at("restored.happened")))?;
        let (visit, put_back): (Id, Vec<Hash>) = (made.visit(), ticked(&made.asked).collect());
        Ok(vec![Command::StartBreak(Box::new(StartBreak { visit, kind, put_back, left_off, by, happened }))])
    },
    ..Table::PLAIN
};
