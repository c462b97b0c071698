//! What is still off, on every screen and as a page of its own, and what closing waits for.

use super::page::sign::{Look, Says, Shape, Tone};
use super::page::{Action, Block, Button, Empty, Kind, Page, Role, Row};
use super::route::{Form, Route};
use super::visit::{A_CIRCUIT, circuit_name, who_words};
use super::{time, words};
use crate::book::Id;
use crate::book::body::{Impaired, ImpairedWhat, NotOurs, NotifyWhen, OpenPair, Whom};
use crate::book::command::Command;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::register::{Position, Register};
use crate::book::visit::{
    ImpairedTime, Missing, Near, Off, OffNow, State, StillOff, Visit, impaired_lately, impaired_limit_ms,
    impaired_times,
};
use crate::units::Wall;

/// The card's and the page's heading.
pub const STILL_OFF: &str = "Still off";
/// The same of a visit that is closed.
pub const CLOSED_STILL_OFF: &str = "Closed, still off";
/// What that means.
pub const CLOSED_STILL_OFF_WORDS: &str =
    "Something is still off with nobody's OK, or the OK ran out. Put it back, or have a named person accept it.";
/// Leads from the card of the visit on screen to that of another one.
pub const ALSO_ELSEWHERE: &str = "Also off in another visit";
/// The card's heading where it is of another visit than the one on screen.
pub const OFF_ELSEWHERE: &str = "Still off in another visit";
/// The page on which a visit is closed.
pub const CLOSE: &str = "Close visit";
/// Leads there from the visit.
pub const TO_CLOSING: &str = "Check and close";
const LEAVE_OFF: &str = "Leave off…";
const NOTHING_OFF: &str = "Nothing is off.";
const NO_VISIT: &str = "No visit is open here";
const NO_VISIT_NOTHING_OFF: &str = "Nothing is off in any open visit. Open a visit or pick one on the Visit screen.";
const NO_VISIT_OFF: &str = "Something is off in another visit. Tap it at the top of the screen.";
const NO_VISIT_TO_CLOSE: &str = "There is nothing to close. Open a visit or pick one on the Visit screen.";
const TO_VISIT: &str = "To the Visit screen";
const READY: &str = "Nothing is off. Every planned position has a result or a reason.";
const READY_UNPLANNED: &str = "Nothing is off. No positions were planned: those without a result stay due.";
const READY_BUT: &str = "Nothing left to do. What stays off is listed below.";
const WAITS: &str = "Finish these before closing. Tap a button to go there.";
const BREAK: &str = "Take a break…";
const END_BREAK: &str = "End the break";
const ON_BREAK: &str = "On a break. No heat until it is ended.";
const AGAIN: &str = "Off again after the break";
const AGAIN_WORDS: &str = "Do each one again, or check that it is still off, then tap it.";
const TICK: &str = "Off again";
const LEFT: &str = "Left off";
const PANEL_LEFT: &str = "Panel as left";

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
    pub now: Wall,
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
        let closed = self.visit.state(self.now) == State::ClosedStillOff;
        let line = |off: &OffNow| Line { what: self.what(&off.what), minutes: time::minutes(off.for_ms(self.now)) };
        let title = if closed { CLOSED_STILL_OFF } else { STILL_OFF };
        Some(Card { title, lines: off.iter().map(line).collect(), alerts: self.alerts() })
    }

    /// Limits that are near or passed, each with what to do.
    fn alerts(&self) -> Vec<String> {
        let mut alerts: Vec<String> = Vec::new();
        // What another visit at the site took out within the day counts, too.
        let visits = match self.visit.impaired.iter().any(Off::is_off) {
            true => impaired_lately(self.book, self.visit.site, self.now),
            false => Vec::new(),
        };
        // The limit that comes first is said, of the system or of an item.
        let times = impaired_times(
            visits.iter().map(|visit| &**visit),
            impaired_limit_ms(self.register, self.visit.site),
            self.now,
        );
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
        circuit.map_or_else(|| A_CIRCUIT.to_string(), |id| circuit_name(self.register, id))
    }

    pub(super) fn impaired(&self, of: &Impaired) -> String {
        match of.what {
            ImpairedWhat::Whole => "Whole system".to_string(),
            ImpairedWhat::Circuit => self.circuit(of.circuit),
            ImpairedWhat::Zone | ImpairedWhat::Output => of.label.clone().unwrap_or_default(),
        }
    }

    pub(super) fn pair(&self, of: &OpenPair) -> String {
        match (of.position, of.circuit, &of.label) {
            (Some(position), ..) => self.tag(position).to_string(),
            (_, Some(circuit), _) => self.circuit(Some(circuit)),
            (.., label) => label.clone().unwrap_or_default(),
        }
    }

    fn panel(label: Option<&str>) -> String {
        label.map_or_else(|| PANEL_LEFT.to_string(), |label| format!("{PANEL_LEFT}, {label}:"))
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
            StillOff::Panel(of) => format!("{} not normal", Leaving::panel(of.label.as_deref())),
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
            StillOff::Panel(_) => form("Check again", Form::Panel(2)),
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
        let state = self.visit.state(self.now);
        let open = state == State::Open;
        let on_break = self.visit.record.on_break().is_some();
        if on_break {
            let end = Action::give(Command::EndBreak { visit: self.visit.id });
            let end = Button::new("end-break", END_BREAK, end).look(Look::Primary).wide();
            blocks.push(Block::notice("on-break", Says::Warning, "Break", ON_BREAK).with(vec![end]));
        }
        if off.is_empty() {
            blocks.push(Block::notice("nothing-off", Says::Done, STILL_OFF, NOTHING_OFF));
        } else {
            // Before a closing the way out is among what closing waits for.
            let row = |off: &OffNow| {
                let mut row = self.off_row(off);
                let leave = Missing::Off(off.clone()).can_be_left().filter(|_| !open);
                row.buttons.extend(leave.map(leave_off));
                row
            };
            blocks.push(Block::rows(STILL_OFF, off.iter().map(row).collect()));
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
            title: if state == State::ClosedStillOff { CLOSED_STILL_OFF } else { STILL_OFF }.into(),
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
        let state = self.visit.state(self.now);
        let mut off = self.visit.off_now();
        if state == State::Open {
            off.extend(self.visit.panels_off());
        }
        let left = off.into_iter().filter(|off| !off.counts(self.now));
        let left: Vec<Row> = left.map(|off| self.off_row(&off)).collect();
        if state == State::Closed {
            blocks.push(Block::notice("closed", Says::Done, words::CLOSED, words::VISIT_CLOSED));
        } else if missing.is_empty() {
            let close = Action::give(Command::CloseVisit { visit: self.visit.id }).then(Action::Go(Route::Visit));
            let close = Button::new("close-visit", CLOSE, close).look(Look::Primary).wide();
            let unplanned = self.visit.planned().is_empty();
            let says = if unplanned { READY_UNPLANNED } else { READY };
            let ready = Block::notice("ready", Says::Done, "Ready", if left.is_empty() { says } else { READY_BUT });
            blocks.push(if state == State::Open { ready.with(vec![close]) } else { ready });
        } else {
            blocks.push(Block::text("waits", Role::Plain, WAITS));
            blocks.push(Block::rows(CLOSE, missing.iter().map(|missing| self.missing(missing)).collect()));
        }
        let open = self.visit.items.iter().filter(|item| item.is_open()).count();
        let items = words::plural(open, "item is", "items are");
        blocks.extend((open > 0).then(|| Block::text("items", Role::Soft, format!("{items} still open."))));
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

    /// Another position on a circuit whose detector may be heated.
    fn other_on(&self, circuit: Id, but: Option<Id>) -> Option<(Id, String)> {
        let register = self.register;
        let here = register.areas_of(self.visit.site).into_iter().flat_map(|(area, _)| register.positions_of(area));
        let fits = |(id, position): &(Id, &Position)| {
            let on = position.place.now().is_some_and(|place| place.circuit == Some(circuit));
            on && Some(*id) != but && register.may_be_heated(position)
        };
        here.into_iter().find(fits).map(|(id, position)| (id, position.tag().to_string()))
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
            Missing::PanelNotSeen(label) => {
                let named = label.as_ref().map_or_else(|| PANEL_LEFT.into(), |label| format!("{PANEL_LEFT}: {label}"));
                let row = Row::new("panel", named, "Not recorded, or something was done since.");
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
                let why = self.visit.reacceptance(*position).map_or("", |(why, _)| words::reaccepted(why));
                let row = Row::new("untested", format!("{}: no result, no reason", self.tag(*position)), why);
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
            Missing::Circuit { item, circuit, position } => {
                let out = position.map_or("a detector", |position| self.tag(position));
                let title = format!("{}: {out} was taken out", self.circuit(Some(*circuit)));
                let row = Row::new("circuit", title, "Operate another detector on this circuit, or close the item.");
                let other = self
                    .other_on(*circuit, *position)
                    .map(|(id, tag)| Button::to("to-before", format!("Test {tag}"), Route::Before(id)));
                let close = to("to-item", "To the item", Route::Form(Form::Item(*item)));
                (row, other.into_iter().chain([close]).collect())
            }
        };
        let leave = missing.can_be_left();
        keys.extend(leave.map(leave_off));
        let buttons = row.buttons.iter().cloned().chain(keys).collect();
        Row { buttons, sign: Some(row.sign.unwrap_or(Shape::Open)), ..row }
    }
}

/// What still off says while no visit is on screen, with a way back; `elsewhere` where something is off in another visit.
pub fn off_without_visit(elsewhere: bool) -> Page {
    let words = if elsewhere { NO_VISIT_OFF } else { NO_VISIT_NOTHING_OFF };
    without_visit("still-off", STILL_OFF, words)
}

/// What the page on which a visit is closed says while none is on screen, with a way back.
pub fn closing_without_visit() -> Page {
    without_visit("closing", CLOSE, NO_VISIT_TO_CLOSE)
}

fn without_visit(name: &'static str, title: &'static str, said: &'static str) -> Page {
    let buttons = vec![Button::to("to-visit", TO_VISIT, Route::Visit).look(Look::Primary).wide()];
    let empty = Empty { shape: Shape::Visit, title: NO_VISIT.into(), words: said.into(), buttons };
    Page {
        name,
        title: title.into(),
        back: Some(Button::back(words::BACK, Route::Visit)),
        blocks: vec![Block::new("no-visit", Kind::Empty(empty))],
        ..Page::default()
    }
}

fn leave_off(off: Hash) -> Button {
    Button::to("leave-off", LEAVE_OFF, Route::Form(Form::LeaveOff(off)))
}

/// The key that says why a position is not tested.
pub const NOT_TESTED: &str = "Not tested…";
/// The key that gives a result by another method.
pub const OTHER_METHOD: &str = "Other method…";
