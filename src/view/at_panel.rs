//! The panel's side of a visit: which point came in and when, and for which trip it is taken.

use super::forms::Known;
use super::page::sign::{Look, Says, Shape, Tone};
use super::page::{Action, Block, Button, Empty, Kind, Page, Request, Role, Row};
use super::register::MOST_AT_ONCE;
use super::route::{Form, Route};
use super::{time, words};
use crate::book::Id;
use crate::book::body::{ClockOf, PanelSighting, Point, Precision};
use crate::book::command::{At, Command};
use crate::book::entries::Book;
use crate::book::entry::{Hash, Scope};
use crate::book::register::{Position, Register};
use crate::book::sighting::Sighting;
use crate::book::visit::{Lag, Match, Visit};
use crate::units::Wall;
use std::sync::Arc;

/// The page, and the key that leads to it.
pub const TITLE: &str = "At the panel";
/// Leads there from what is to be looked at.
pub const LOOK: &str = "Show";
const CAME_IN: &str = "Point came in";
const HOW: &str = "Tap the key below the moment a point comes in, then say which one. Works on a second phone: send its visit file, and the points are matched to the trips.";
const TYPE_IT: &str = "Not on the list: type it…";
const NEXT: &str = "On today's list";
const ZONES: &str = "Zones";
const SEEN: &str = "Came in";
const IN_ALARM: &str = "In alarm";
const RESTORED: &str = "Restored";
const CHANGE: &str = "Change…";
const WHICH: &str = "Which point?";
const MATCHES: &str = "Is it this trip?";
const TAKE: &str = "Yes, this trip";
const TAKE_ALL: &str = "Yes to all";
const TAKEN: &str = "Matched to trips";
const COMPARE: &str = "Compare its clock";
const NO_OFFSET: &str = "panel's clock not compared, so no match";
const NO_LAG: &str = "clocks not compared, so no lag";
const OWN_FIGURES: &str = "± is twice the standard uncertainty. A match: same point, within 1 minute of the trip plus ± (2 minutes if the phones' clocks were not compared). Own figures.";
const NO_VISIT: &str = "No visit is open here";
const NO_VISIT_WORDS: &str = "Open a visit, or load its visit file on this phone.";
const TO_VISIT: &str = "To the Visit screen";

/// Something comes in now.
pub fn came_in(visit: Id, at: At) -> Command {
    let seen = PanelSighting {
        point: String::new(),
        label: None,
        clock: ClockOf::Phone,
        happened: at.happened(),
        restored_at: None,
        test: None,
        replaces: None,
    };
    Command::SawAtPanel { visit, seen: Box::new(seen) }
}

/// It shows normal again now; none where that entry says nothing that came in.
pub fn restored(book: &Book, saw: Hash, at: At) -> Option<Command> {
    let of = Sighting::of(book, saw)?;
    let Scope::Visit(visit) = book.get(saw)?.chain.scope else { return None };
    let seen =
        PanelSighting { restored_at: Some(at.stamp.wall), replaces: Some(of.last), ..PanelSighting::clone(&of.seen) };
    Some(Command::SawAtPanel { visit, seen: Box::new(seen) })
}

/// How many points match trips and are not taken for them yet.
pub(super) fn open(matches: &[Match]) -> usize {
    let mut saw: Vec<Hash> = matches.iter().filter(|of| of.taken.is_none()).map(|of| of.saw).collect();
    saw.dedup();
    saw.len()
}

/// Where a test says that its point did not come, and it came in at the panel about then.
pub(super) fn contradictions(register: &Register, visit: &Visit, matches: &[Match], offset_min: i64) -> Vec<String> {
    let said = |of: &Match| {
        let came_in = visit.record.sightings.iter().find(|saw| saw.hash == of.saw)?.seen.happened;
        let (tag, at) = (tag(register, of.position), clock_time(came_in.at, came_in.precision, offset_min));
        let answer = match of.answered {
            Some((Point::Wrong, _)) => words::point(Point::Wrong),
            _ => words::point(Point::NotThere),
        };
        Some(format!(
            "{tag}: the test says “{}”, but its point came in at {at}. Check which is right; the test's answer stands.",
            answer.to_lowercase()
        ))
    };
    matches.iter().filter(|of| of.contradicts()).filter_map(said).collect()
}

fn tag(register: &Register, position: Id) -> String {
    register.positions.get(&position).map_or("A position", Position::tag).to_string()
}

fn clock_time(at: Wall, precision: Precision, offset_min: i64) -> String {
    match precision {
        Precision::Second => time::to_second(at, offset_min),
        Precision::Minute | Precision::Hour | Precision::Day => time::of_day(at, offset_min),
    }
}

/// The page.
pub fn page(known: Known<'_>) -> Page {
    let back = Some(Button::back(words::BACK, Route::Visit));
    let visit = known.visit.and_then(|visit| Visit::shared(known.book, visit));
    let Some(visit) = visit else {
        let buttons = vec![Button::to("to-visit", TO_VISIT, Route::Visit).look(Look::Primary).wide()];
        let empty = Empty { shape: Shape::Visit, title: NO_VISIT.into(), words: NO_VISIT_WORDS.into(), buttons };
        let blocks = vec![Block::new("no-visit", Kind::Empty(empty))];
        return Page { name: "at-panel", title: TITLE.into(), back, blocks, ..Page::default() };
    };
    let screen = Screen { known, matches: visit.matches(known.register), visit: &visit };
    let open = visit.closed.is_empty();
    let mut blocks = Vec::new();
    blocks.extend(screen.which().filter(|_| open));
    let warn = |words| Block::notice("panel-contradicts", Says::Warning, "Check", words);
    let against = contradictions(known.register, &visit, &screen.matches, known.at.offset_min);
    blocks.extend(against.into_iter().map(warn));
    blocks.extend(screen.proposed());
    if visit.record.sightings.is_empty() {
        blocks.push(Block::text("how", Role::Plain, HOW));
    }
    blocks.extend(screen.seen());
    blocks.extend(screen.taken());
    if !screen.matches.is_empty() {
        blocks.push(Block::text("own-figures", Role::Source, OWN_FIGURES));
    }
    let tap = Button::new("came-in", CAME_IN, Action::Do(Request::CameIn(visit.id))).look(Look::Primary).wide();
    Page {
        name: "at-panel",
        title: TITLE.into(),
        back,
        blocks,
        foot: if open { vec![tap.icon(Shape::Time)] } else { Vec::new() },
        ..Page::default()
    }
}

struct Screen<'a> {
    known: Known<'a>,
    visit: &'a Visit,
    matches: Vec<Match>,
}

impl Screen<'_> {
    fn is_own(&self, of: &Sighting) -> bool {
        of.phone == self.known.at.phone
    }

    fn at(&self, of: &Sighting) -> String {
        clock_time(of.seen.happened.at, of.seen.happened.precision, self.known.at.offset_min)
    }

    /// Asks which point the oldest tap was that nobody named.
    fn which(&self) -> Option<Block> {
        let of = self.visit.record.sightings.iter().find(|of| self.is_own(of) && !of.is_named())?;
        let name = |key: String, title: String, detail: String, point: &str| {
            let (point, replaces) = (point.to_string(), Some(of.last));
            let seen = PanelSighting { point, replaces, ..PanelSighting::clone(&of.seen) };
            Row::new(key, title, detail)
                .action(Action::give(Command::SawAtPanel { visit: self.visit.id, seen: Box::new(seen) }))
        };
        let register = self.known.register;
        let row = |(_, position): &(Id, &Position)| {
            let place = position.place.now()?;
            let text = place.panel_text.as_deref().filter(|text| *text != place.at_panel());
            let detail: Vec<&str> =
                [Some(place.name()), text, place.location.as_deref()].into_iter().flatten().collect();
            Some(name(
                format!("point-{}", place.name()),
                place.at_panel().to_string(),
                detail.join(" · "),
                place.at_panel(),
            ))
        };
        // Those of a panel that shows no more than the zone are its zone.
        let shown = |position: &Position| {
            let circuit = position.place.now().and_then(|place| place.circuit);
            let of = circuit.and_then(|circuit| register.circuits.get(&circuit)).and_then(|of| of.now());
            of.is_none_or(|circuit| circuit.shows_point)
        };
        let areas: Vec<(String, Vec<(Id, &Position)>)> = register
            .areas_of(self.visit.site)
            .into_iter()
            .map(|(id, area)| (area.name.clone(), register.positions_of(id)))
            .map(|(name, here)| (name, here.into_iter().filter(|(_, position)| shown(position)).collect()))
            .collect();
        let zones = register.circuits_of(self.visit.site).into_iter().filter(|(_, circuit)| !circuit.shows_point);
        let zones: Vec<Row> = zones
            .map(|(_, circuit)| {
                name(format!("zone-{}", words::slug(&circuit.name)), circuit.name.clone(), String::new(), &circuit.name)
            })
            .collect();
        let planned = self.visit.planned();
        let came = |position: &Position| {
            let place = position.place.now();
            self.visit.record.sightings.iter().any(|saw| place.is_some_and(|place| place.is_called(&saw.seen.point)))
        };
        let all = || areas.iter().flat_map(|(_, here)| here);
        let next: Vec<Row> =
            all().filter(|(id, position)| planned.contains(id) && !came(position)).filter_map(row).collect();
        let many = all().count() > MOST_AT_ONCE || !next.is_empty();
        let mut blocks = Vec::new();
        blocks.extend((!zones.is_empty()).then(|| Block::rows(ZONES, zones)));
        blocks.extend((!next.is_empty()).then(|| Block::rows(NEXT, next)));
        for (name, here) in areas.iter().filter(|(_, here)| !here.is_empty()) {
            let rows = Block::rows(name.clone(), here.iter().filter_map(row).collect());
            blocks.push(match many {
                true => Block::fold(name.clone(), name.clone(), vec![rows]),
                false => rows,
            });
        }
        let undo = Action::Undo(of.last, CAME_IN.into());
        blocks.push(Block::buttons(vec![
            Button::to("type-point", TYPE_IT, Route::Form(Form::PanelPoint(of.hash))).icon(Shape::Pen),
            Button::new("undo-came-in", words::UNDO, undo).icon(Shape::Undo),
        ]));
        Some(Block::section("which", format!("{}: which point?", self.at(of)), blocks))
    }

    /// Everything that came in and is no trip's yet, the newest first.
    fn seen(&self) -> Option<Block> {
        let taken = |of: &Sighting| self.matches.iter().any(|found| found.saw == of.hash && found.taken.is_some());
        let rows: Vec<Row> =
            self.visit.record.sightings.iter().rev().filter(|of| !taken(of)).map(|of| self.line(of)).collect();
        (!rows.is_empty()).then(|| Block::section("seen", SEEN, vec![Block::rows(SEEN, rows)]))
    }

    fn line(&self, of: &Sighting) -> Row {
        let seen: &Arc<PanelSighting> = &of.seen;
        let title = if of.is_named() { seen.point.clone() } else { WHICH.to_string() };
        let offset_min = self.known.at.offset_min;
        let mut parts = vec![self.at(of)];
        let back = seen.restored_at.map(|at| clock_time(at, seen.happened.precision, offset_min));
        parts.extend(back.map(|at| format!("restored {at}")));
        parts.extend((seen.clock == ClockOf::Panel).then(|| "panel's clock".to_string()));
        parts.extend(seen.label.clone());
        let by_panel = seen.clock == ClockOf::Panel;
        let matched = || self.matches.iter().any(|found| found.saw == of.hash);
        let uncompared = by_panel && of.is_named() && !matched();
        parts.extend(uncompared.then(|| NO_OFFSET.to_string()));
        let mut buttons = Vec::new();
        if self.is_own(of) && self.visit.closed.is_empty() {
            let form = Route::Form(Form::PanelPoint(of.hash));
            let restored = match by_panel {
                false => Button::new("panel-restored", RESTORED, Action::Do(Request::PanelRestored(of.hash))),
                true => Button::to("panel-restored", RESTORED, form),
            };
            buttons.extend(seen.restored_at.is_none().then(|| restored.look(Look::Primary)));
            buttons.push(Button::to("change-point", CHANGE, form));
            buttons.push(Button::new("undo-point", words::UNDO, Action::Undo(of.last, title.clone().into())));
        }
        buttons.extend(uncompared.then(|| Button::to("compare-clock", COMPARE, Route::Form(Form::Panel(1)))));
        let row = Row::new("saw", title, parts.join(" · "));
        let row = match seen.restored_at {
            Some(_) => row.badge(Shape::Done, Tone::Good, RESTORED),
            None => row.badge(Shape::Alarm, Tone::Warn, IN_ALARM),
        };
        Row { buttons, ..row }
    }

    fn found(&self, of: &Match) -> Option<Row> {
        let saw = self.visit.record.sightings.iter().find(|saw| saw.hash == of.saw)?;
        let detail = format!("{} at {}, {}", saw.seen.point, self.at(saw), of.lag.map_or_else(|| NO_LAG.into(), lag));
        Some(Row::new("match", tag(self.known.register, of.position), detail))
    }

    /// The trips that what came in may be of, each taken by a tap on the test's own phone.
    fn proposed(&self) -> Option<Block> {
        let open: Vec<&Match> = self.matches.iter().filter(|of| of.taken.is_none()).collect();
        let mine = |of: &Match| of.keeper == self.known.at.phone;
        let take = |of: Vec<(Hash, Hash)>| Action::give(Command::TakeSightings { visit: self.visit.id, of });
        let row = |of: &&Match| {
            let key = Button::new("take", TAKE, take(vec![(of.saw, of.trip)])).look(Look::Primary);
            Some(Row { buttons: if mine(of) { vec![key] } else { Vec::new() }, ..self.found(of)? })
        };
        let rows: Vec<Row> = open.iter().filter_map(row).collect();
        // Where a point may be of two trips, or a trip has two, somebody looks at each.
        let alone = |of: &&&Match| {
            let others = |other: &&&Match| other.saw == of.saw || other.trip == of.trip;
            mine(of) && !of.contradicts() && open.iter().filter(others).count() == 1
        };
        let sure: Vec<(Hash, Hash)> = open.iter().filter(alone).map(|of| (of.saw, of.trip)).collect();
        let mut blocks = vec![Block::rows(MATCHES, rows)];
        blocks.extend((sure.len() > 1).then(|| {
            Block::buttons(vec![Button::new("take-all", format!("{TAKE_ALL} {}", sure.len()), take(sure)).wide()])
        }));
        (!open.is_empty()).then(|| Block::section("matches", MATCHES, blocks))
    }

    /// What was taken for a trip, and how long after it the point came in.
    fn taken(&self) -> Option<Block> {
        let row = |of: &Match| {
            let entry = of.taken?;
            let undo = Button::new("undo-take", words::UNDO, Action::Undo(entry, TAKEN.into()));
            let buttons = if of.keeper == self.known.at.phone { vec![undo] } else { Vec::new() };
            Some(Row { buttons, ..self.found(of)?.sign(Shape::Done) })
        };
        let rows: Vec<Row> = self.matches.iter().filter_map(row).collect();
        (!rows.is_empty()).then(|| Block::section("taken", TAKEN, vec![Block::rows(TAKEN, rows)]))
    }
}

/// A lag in words, to the second: what is beyond twice its uncertainty.
fn lag(of: Lag) -> String {
    let seconds = |ms: i64| (ms.saturating_abs().saturating_add(500)) / 1_000;
    let side = if of.after_ms < 0 { "before" } else { "after" };
    let u = of.u_ms.saturating_mul(2).saturating_add(999) / 1_000;
    format!("{} s ± {u} s {side} your tap", seconds(of.after_ms))
}
