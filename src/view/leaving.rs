//! What is still off, on every screen and as a page of its own, and what closing waits for.

use super::page::sign::{Look, Says, Shape, Tone};
use super::page::{Action, Block, Button, Page, Role, Row};
use super::route::{Form, Route};
use super::visit::who_words;
use super::{time, words};
use crate::book::Id;
use crate::book::body::{Impaired, ImpairedWhat, NotOurs, NotifyWhen, OpenPair, Whom};
use crate::book::command::Command;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::register::{Position, Register};
use crate::book::visit::{
    ImpairedTime, Missing, Near, Off, OffNow, State, StillOff, Visit, headings, impaired_limit_ms, impaired_times,
};

/// The card's and the page's heading.
pub const STILL_OFF: &str = "Still off";
/// The same of a visit that is closed.
pub const CLOSED_STILL_OFF: &str = "Closed, still off";
/// What that means.
pub const CLOSED_STILL_OFF_WORDS: &str =
    "A file from another phone shows something still off. Put it back, or have a named person accept it.";
/// The page on which a visit is closed.
pub const CLOSE: &str = "Close visit";
/// Leads there from the visit.
pub const TO_CLOSING: &str = "Check and close";
const LEAVE_OFF: &str = "Leave off…";
const NOTHING_OFF: &str = "Nothing is off.";
const READY: &str = "Everything is back to normal, everyone is notified, every position is accounted for.";
const WAITS: &str = "Finish these before closing. Tap a button to go there.";
const BREAK: &str = "Take a break…";
const END_BREAK: &str = "End the break";
const ON_BREAK: &str = "On a break. No heat until it is ended.";
const AGAIN: &str = "Off again after the break";
const AGAIN_WORDS: &str = "The break put these back to normal. Do each one again, then tap it.";
const TICK: &str = "Off again";
const LEFT: &str = "Left off";

/// Visits opened within this time may have impaired something within the last 24 h, ms: a week, own figure.
const LATELY_MS: i64 = 7 * 24 * 3_600_000;

/// What pages about leaving are made from.
#[derive(Clone, Copy, Debug)]
pub struct Leaving<'a> {
    /// Names of people.
    pub book: &'a Book,
    /// Names of things.
    pub register: &'a Register,
    /// The visit.
    pub visit: &'a Visit,
    /// Local time minus UTC, minutes.
    pub offset_min: i64,
    /// Now, UTC ms.
    pub now: i64,
}

/// One thing on the card.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What is off.
    pub what: String,
    /// For how long.
    pub minutes: String,
}

/// What is still off, for every screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Card {
    /// Its heading.
    pub title: &'static str,
    /// Everything that is off.
    pub lines: Vec<Line>,
    /// Limits that are near or passed, and what to do.
    pub alerts: Vec<String>,
}

impl Leaving<'_> {
    /// The card; none while nothing is off.
    pub fn card(self) -> Option<Card> {
        let off = self.visit.off_now();
        if off.is_empty() {
            return None;
        }
        let closed = self.visit.state() == State::ClosedStillOff;
        let line = |off: &OffNow| Line { what: self.what(&off.what), minutes: time::minutes(off.for_ms(self.now)) };
        let title = if closed { CLOSED_STILL_OFF } else { STILL_OFF };
        Some(Card { title, lines: off.iter().map(line).collect(), alerts: self.alerts() })
    }

    /// Limits that are near or passed, each with what to do.
    fn alerts(&self) -> Vec<String> {
        let mut alerts: Vec<String> = Vec::new();
        let mut visits = Vec::new();
        if self.visit.impaired.iter().any(Off::is_off) {
            visits.push(self.visit.clone());
            // What another visit at the site took out within the day counts, too.
            let site = self.visit.site;
            let others =
                headings(self.book).into_iter().filter(|other| other.site == site && other.id != self.visit.id);
            let lately = others.filter(|other| other.opened > self.now.saturating_sub(LATELY_MS));
            visits.extend(lately.filter_map(|other| Visit::of(self.book, other.id)));
        }
        // The limit that comes first is said, of the system or of an item.
        let times = impaired_times(&visits, impaired_limit_ms(self.register, self.visit.site), self.now);
        let first = times.iter().filter(|time| time.near() > Near::Far).min_by_key(|time| time.left_ms());
        alerts.extend(first.map(|time| self.impaired_alert(time)));
        if let Some(window) = self.visit.window(self.now).filter(|window| window.near > Near::Far) {
            let until = time::of_day(window.until, self.offset_min);
            alerts.push(match window.near {
                Near::Over => format!("Station's time on test ended {until}. Call them before the next heat."),
                _ => {
                    let left = time::minutes(window.left_ms.saturating_add(59_999));
                    format!("Station's time on test ends {until}, in {left}. Call and extend it, or finish.")
                }
            });
        }
        alerts
    }

    fn impaired_alert(&self, of: &ImpairedTime) -> String {
        let what = of.item.as_ref().map_or_else(|| "The system".to_string(), |item| self.impaired(item));
        let (gone, limit) = (time::minutes(of.in_24_h_ms), time::minutes(of.limit_ms));
        match of.near() {
            Near::Over => {
                format!(
                    "{what}: impaired {gone} in 24 h, limit {limit}. Notify the AHJ; fire watch or evacuate. Local rules first."
                )
            }
            _ => format!(
                "{what}: impaired {gone} in 24 h, limit {limit}. Put it back, or call the AHJ and post a fire watch."
            ),
        }
    }

    fn tag(&self, position: Id) -> &str {
        self.register.positions.get(&position).map_or("A position", Position::tag)
    }

    fn circuit(&self, circuit: Option<Id>) -> String {
        let named = circuit.and_then(|id| self.register.circuits.get(&id)?.now());
        named.map_or_else(|| "A circuit".to_string(), |circuit| circuit.name.clone())
    }

    fn impaired(&self, of: &Impaired) -> String {
        match of.what {
            ImpairedWhat::Whole => "Whole system".to_string(),
            ImpairedWhat::Circuit => self.circuit(of.circuit),
            ImpairedWhat::Zone | ImpairedWhat::Output => of.label.clone().unwrap_or_default(),
        }
    }

    fn pair(&self, of: &OpenPair) -> String {
        match (of.position, of.circuit, &of.label) {
            (Some(position), ..) => self.tag(position).to_string(),
            (_, Some(circuit), _) => self.circuit(Some(circuit)),
            (.., label) => label.clone().unwrap_or_default(),
        }
    }

    fn what(&self, off: &StillOff) -> String {
        match off {
            StillOff::Impaired(of) => format!("{} impaired", self.impaired(of)),
            StillOff::Secured(of) => format!("{} secured", of.release),
            StillOff::Opened(of) => format!("{}: wires lifted", self.pair(of)),
            StillOff::OnTest { whom: Whom::SupervisingStation, .. } => "Station on test".to_string(),
            StillOff::OnTest { whom: Whom::Owner, .. } => "Owner: not notified that it's over".to_string(),
            StillOff::OnTest { whom, .. } => format!("{}: not notified that it's over", words::whom(*whom)),
            StillOff::Permit(of) => format!("Permit {} not closed out", of.number),
            StillOff::Unrestored { position, .. } => format!("{}: restore not seen", self.tag(*position)),
            StillOff::NotOurs(NotOurs::Alarm) => "Alarm not ours".to_string(),
            StillOff::NotOurs(NotOurs::OutputMoved) => "An output activated".to_string(),
        }
    }

    /// Everything that is off, by its entry, in words.
    pub fn each(&self) -> Vec<(Hash, String)> {
        self.visit.off_now().into_iter().map(|off| (off.entry, self.what(&off.what))).collect()
    }

    /// Where something that is off is put right, and the words of the key.
    fn remedy(off: &OffNow) -> (&'static str, Route) {
        let form = |label, form| (label, Route::Form(form));
        match off.what {
            StillOff::Impaired(_) => form("Back in service", Form::Restore(off.entry)),
            StillOff::Secured(_) => form("Restore", Form::Restore(off.entry)),
            StillOff::Opened(_) => form("Reconnected", Form::Restore(off.entry)),
            StillOff::Permit(_) => form("Closed out", Form::Restore(off.entry)),
            StillOff::OnTest { whom, .. } => {
                form("Notify: it's over", Form::Notify(super::forms::step_number(whom, NotifyWhen::After)))
            }
            StillOff::Unrestored { test, .. } => form("Did it restore?", Form::Restored(test)),
            StillOff::NotOurs(_) => form("Clear it", Form::ClearAlarm(off.entry)),
        }
    }

    fn off_row(&self, off: &OffNow) -> Row {
        let since = time::wall(off.since, self.offset_min);
        let minutes = time::minutes(off.for_ms(self.now));
        let mut detail = format!("{minutes} · since {since}");
        let accepted = off.accepted.as_ref().map(|accepted| {
            let until = accepted.what.until.map(|until| format!(" until {}", time::wall(until, self.offset_min)));
            let by = who_words(self.book, self.visit, accepted.what.accepted_by);
            format!(" · accepted by {by}{}", until.unwrap_or_default())
        });
        detail.push_str(&accepted.unwrap_or_default());
        let (label, place) = Leaving::remedy(off);
        let row = Row::new("off", self.what(&off.what), detail);
        let row = match off.counts(self.now) {
            true => row.sign(Shape::Warning),
            false => row.badge(Shape::Info, Tone::Note, LEFT),
        };
        Row { buttons: vec![Button::to("put-right", label, place).look(Look::Primary)], ..row }
    }

    /// Everything that is off, with its key; breaks.
    pub fn page(self) -> Page {
        let off = self.visit.off_now();
        let mut blocks: Vec<Block> = Vec::new();
        let alert = |words| Block::notice("limit", Says::Alarm, "Limit", words);
        blocks.extend(self.alerts().into_iter().map(alert));
        let open = self.visit.state() == State::Open;
        let on_break = self.visit.record.on_break().is_some();
        if on_break {
            let end = Action::give(Command::EndBreak { visit: self.visit.id });
            let end = Button::new("end-break", END_BREAK, end).look(Look::Primary).wide();
            blocks.push(Block::notice("on-break", Says::Warning, "Break", ON_BREAK).with(vec![end]));
        }
        if off.is_empty() {
            blocks.push(Block::notice("nothing-off", Says::Done, STILL_OFF, NOTHING_OFF));
        } else {
            blocks.push(Block::rows(STILL_OFF, off.iter().map(|off| self.off_row(off)).collect()));
        }
        let again = self.visit.off_again();
        if open && !on_break && !again.is_empty() {
            let rows = again.into_iter().map(|off| self.again(off)).collect();
            let again = vec![Block::text("again", Role::Soft, AGAIN_WORDS), Block::rows(AGAIN, rows)];
            blocks.push(Block::section("again", AGAIN, again));
        }
        if open && !on_break {
            let keys = vec![
                Button::to("break", BREAK, Route::Form(Form::Break)),
                Button::to("to-closing", TO_CLOSING, Route::Closing),
            ];
            blocks.push(Block::buttons(keys));
        }
        Page {
            name: "still-off",
            title: if open { STILL_OFF } else { CLOSED_STILL_OFF }.into(),
            back: Some(Button::back(words::BACK, Route::Visit)),
            blocks,
            ..Page::default()
        }
    }

    /// Something that was off before the break.
    fn again(&self, off: Hash) -> Row {
        let visit = self.visit;
        let secured = visit.secured.iter().find(|of| of.hash == off).map(|of| of.what.release.clone());
        let impaired = || visit.impaired.iter().find(|of| of.hash == off).map(|of| self.impaired(&of.what));
        let pair = || visit.pairs.iter().find(|of| of.hash == off).map(|of| self.pair(&of.what));
        let notice = visit.notices.iter().find(|of| of.hash == off).map(|of| of.notice.whom);
        let key = match notice {
            Some(whom) => {
                let step = super::forms::step_number(whom, NotifyWhen::Before);
                Button::to("notify-again", "Notify", Route::Form(Form::Notify(step)))
            }
            None => Button::new("off-again", TICK, Action::give(Command::OffAgain { off })),
        };
        let named = notice.map(|whom| words::whom(whom).to_string());
        let what = named.or(secured).or_else(impaired).or_else(pair).unwrap_or_default();
        Row { buttons: vec![key], ..Row::new("again", what, "").sign(Shape::Open) }
    }

    /// What closing waits for, each with its way out.
    pub fn closing(self) -> Page {
        let missing = self.visit.missing(self.now);
        let mut blocks = Vec::new();
        if self.visit.state() == State::Closed {
            blocks.push(Block::notice("closed", Says::Done, words::CLOSED, words::VISIT_CLOSED));
        } else if missing.is_empty() {
            let close = Action::give(Command::CloseVisit { visit: self.visit.id }).then(Action::Go(Route::Visit));
            let close = Button::new("close-visit", CLOSE, close).look(Look::Primary).wide();
            let ready = Block::notice("ready", Says::Done, "Ready", READY);
            let open = self.visit.state() == State::Open;
            blocks.push(if open { ready.with(vec![close]) } else { ready });
        } else {
            blocks.push(Block::text("waits", Role::Plain, WAITS));
            blocks.push(Block::rows(CLOSE, missing.iter().map(|missing| self.missing(missing)).collect()));
        }
        let open = self.visit.items.iter().filter(|item| item.is_open()).count();
        let items = words::plural(open, "item is", "items are");
        blocks.extend((open > 0).then(|| {
            Block::text("items", Role::Soft, format!("{items} still open and print on the notice of deficiencies."))
        }));
        let left = self.visit.off_now().into_iter().filter(|off| !off.counts(self.now));
        let left: Vec<Row> = left.map(|off| self.off_row(&off)).collect();
        if !left.is_empty() {
            blocks.push(Block::section("left", LEFT, vec![Block::rows(LEFT, left)]));
        }
        Page {
            name: "closing",
            title: CLOSE.into(),
            back: Some(Button::back(words::BACK, Route::Visit)),
            blocks,
            ..Page::default()
        }
    }

    fn missing(&self, missing: &Missing) -> Row {
        let to = |key: &'static str, label: &'static str, place| Button::to(key, label, place);
        let left = Form::Panel(2);
        let (row, mut keys) = match missing {
            Missing::Off(off) => (self.off_row(off), Vec::new()),
            Missing::Test(test) => {
                let position = self.visit.tests.iter().find(|other| other.id == *test).map(|of| of.frozen.position.of);
                let tag = position.map_or("A test", |position| self.tag(position));
                let row = Row::new("test", format!("{tag}: test in progress"), "");
                (row, vec![to("to-test", "Go to the test", Route::Test(Some(*test)))])
            }
            Missing::PanelNotSeen => {
                let row = Row::new("panel", "Panel as left", "Not recorded, or something was done since.");
                (row, vec![to("panel-left", "Look and record", Route::Form(left))])
            }
            Missing::PanelDiffers(_) => {
                let row = Row::new(
                    "panel",
                    "Panel is neither normal nor as found",
                    "Clear it, or have a named person accept it.",
                );
                (row, vec![to("panel-left", "Check again", Route::Form(left))])
            }
            Missing::Untested(position) => {
                let row = Row::new("untested", format!("{}: no result, no reason", self.tag(*position)), "");
                let keys = vec![
                    to("to-before", "Test it", Route::Before(*position)),
                    to("not-tested", NOT_TESTED, Route::Form(Form::NotTested(*position))),
                ];
                (row, keys)
            }
            Missing::Phone(invitation) => {
                let invited = self.visit.record.invited.iter().find(|invited| invited.hash == *invitation);
                let name = invited.and_then(|invited| self.book.words(invited.name)).unwrap_or("A phone");
                let row = Row::new("phone", format!("{name}: its visit file is not here"), "");
                let excuse = to("excuse", "Close without it…", Route::Form(Form::Excuse(*invitation)));
                (row, vec![to("to-load", "Load its file", Route::Handover), excuse])
            }
        };
        let leave = missing.can_be_left();
        keys.extend(leave.map(|off| to("leave-off", LEAVE_OFF, Route::Form(Form::LeaveOff(off)))));
        let buttons = row.buttons.iter().cloned().chain(keys).collect();
        Row { buttons, sign: Some(row.sign.unwrap_or(Shape::Open)), ..row }
    }
}

/// The key that says why a position is not tested.
pub const NOT_TESTED: &str = "Not tested…";
/// The key that gives a result by another method.
pub const OTHER_METHOD: &str = "Other method…";
