//! A position's own page: what is to be known before going up, and its past.

mod past;
mod years;

pub(super) use past::came;

use super::before::marking;
use super::conflicts::conflict;
use super::forms::{Known, height_text};
use super::page::sign::{Look, Says, Shape};
use super::page::{Action, Block, Button, Empty, Kind, Page, Role, Row};
use super::photos;
use super::route::{Form, Route};
use super::visit::{ItemRow, item_row};
use super::words;
use crate::book::Id;
use crate::book::acts::About;
use crate::book::command::Command;
use crate::book::refusal::Refusal;
use crate::book::register::{Position, Register};
use crate::book::versions::Versions;
use crate::book::visit::{Visit, open_items};
use crate::findings::history::Done;
use crate::trade::detector::{Access, Marking, Reach};
use crate::trade::detector_type::DetectorType;
use crate::trade::heating::{Heat, may_heat};
use crate::trade::procedure::ProcedureKind;
use crate::trade::temperature_class::{CEILING_MARGIN, class_of, is_near_ceiling};
use crate::units::{Degree, Kelvin, Reading, Wall};

/// How many results are shown at first.
const RESULTS: usize = 5;

/// Heading of the last results.
const LAST: &str = "Last results";
/// Heading of all of them.
const ALL: &str = "Results in full";
/// Said where there is none.
const NEVER: &str = "No result on this phone yet.";
/// Heading of what is still to be dealt with.
const OPEN: &str = "Open items";
/// Key that leads to the questions before heat.
const TEST_IT: &str = "Test it";
/// Key that leads to the form.
const EDIT: &str = "Edit";
/// Key that records a replacement.
const PUT_IN: &str = "New detector put in";
/// Key that makes another one like it, where it has no tag.
const ANOTHER: &str = "Another like it";
/// Keys that record a look and a repair in the visit.
const VISUAL: &str = "Visual check";
const REPAIR: &str = "Repair";
/// Word of a notice on why no heat goes on.
const NO_HEAT: &str = "No heat";
/// Key that answers what the alarm releases.
const RELEASES_NOTHING: &str = "Releases nothing";
/// Key that leads to the form, to enter it.
const RELEASES_SOMETHING: &str = "Enter what it releases";
const RELEASES_UNKNOWN: &str = "What its alarm releases is not answered. No heat until it is.";
/// A position that is not settled: word, sentence, key.
const PROVISIONAL: (&str, &str, &str) =
    ("Provisional", "Added on the lift. Give it a tag no other position has; its tests stay.", "Enter its tag");
/// A detector that was put in and not proven: word and sentence.
const NOT_PROVEN: (&str, &str) = ("New detector", "No passed test of this detector is on record.");
/// Before a ceiling that is nearly as hot as the rating.
const NEAR_CEILING: &str = "Ceiling";
/// Shown where the position is not known: title and words.
const UNKNOWN: (&str, &str) = ("Not on this phone", "Load the visit file of the phone that has it.");

/// What the page is made from.
#[derive(Clone, Copy)]
pub struct Shown<'a> {
    /// Register, kit and book.
    pub known: Known<'a>,
    /// Which position.
    pub id: Id,
    /// What was done there, in the order of time.
    pub done: &'a [Done],
    /// Whether every visit has been read.
    pub whole: bool,
    /// When it is due and by which rule, where that is worked out.
    pub due: Option<&'a str>,
    /// Where it leads back to.
    pub from: Route,
    /// The unit of the screen.
    pub unit: Degree,
    /// Local time minus UTC at a wall clock time, minutes.
    pub offset: &'a dyn Fn(Wall) -> i64,
}

impl std::fmt::Debug for Shown<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Shown").field("id", &self.id).finish_non_exhaustive()
    }
}

/// The page.
pub fn page(shown: Shown<'_>) -> Page {
    let back = Button::back(words::BACK, shown.from);
    let Some(position) = shown.known.register.positions.get(&shown.id) else { return unknown(back) };
    let mut blocks = notices(&shown, position);
    blocks.push(Block::new("facts", Kind::Facts(facts(&shown, position))));
    blocks.extend(test_it(&shown, position).map(|key| Block::buttons(vec![key])));
    // What is worked out later stands below the key, which would move under the finger.
    if shown.whole && past::is_unproven(position, shown.done) {
        blocks.push(Block::notice("not-proven", Says::Info, NOT_PROVEN.0, NOT_PROVEN.1));
    }
    blocks.extend(shown.due.map(|due| Block::new("due", Kind::Facts(vec![("Due".into(), due.to_string().into())]))));
    blocks.push(last_results(&shown));
    blocks.extend(caution(&shown, position));
    let now = shown.known.at.stamp.wall;
    let offset = (shown.offset)(now);
    let items: Vec<Row> = open_items(shown.known.book)
        .iter()
        .filter(|(of, _)| *of == shown.id)
        .map(|(_, item)| ItemRow::line(item_row(shown.known.register, item, Some((offset, now)))))
        .collect();
    if !items.is_empty() {
        blocks.push(Block::section("items", OPEN, vec![Block::rows(OPEN, items)]));
    }
    blocks.extend(results(&shown, position));
    // What a part of the past says of the years may be wrong.
    blocks.extend(shown.whole.then(|| years::section(&shown)).into_iter().flatten());
    blocks.extend(past::detectors(&shown, position));
    blocks.extend(photos::blocks(shown.known, About::Thing(shown.id)));
    blocks.push(keys(&shown, position));
    Page {
        name: "device",
        title: position.tag().to_string().into(),
        detail: detail(shown.known.register, position).into(),
        back: Some(back),
        blocks,
        ..Page::default()
    }
}

fn unknown(back: Button) -> Page {
    let empty = Empty { shape: Shape::Detector, title: UNKNOWN.0.into(), words: UNKNOWN.1.into(), buttons: vec![back] };
    Page { name: "device", blocks: vec![Block::new("unknown", Kind::Empty(empty))], ..Page::default() }
}

/// Area and place in it.
fn detail(register: &Register, position: &Position) -> String {
    let Some(place) = position.place.now() else { return String::new() };
    let area = register.areas.get(&place.area).and_then(Versions::now).map(|area| area.name.as_str());
    area.into_iter().chain(place.location.as_deref()).collect::<Vec<_>>().join(" · ")
}

/// What keeps heat off it or is unsettled, before anything else.
fn notices(shown: &Shown<'_>, position: &Position) -> Vec<Block> {
    let Known { register, .. } = shown.known;
    let edit = |label| Button::to("to-form", label, Route::Form(Form::Position(Some(shown.id))));
    let mut notices = Vec::new();
    if position.retired() {
        notices.push(Block::notice("retired", Says::Info, words::TAKEN_AWAY, words::TAKEN_AWAY_WORDS));
    }
    let detector_type = register.marking_of(position).map(|marking| marking.detector_type);
    let heat = detector_type.map(|of| may_heat(of, ProcedureKind::Functional));
    let refusal = match (position.hanging().count(), heat) {
        (0, _) => Some(Refusal::NoDetector),
        (1, None) => Some(Refusal::UnknownDetector),
        (1, Some(heat @ (Heat::UsesUpElement | Heat::TypeUnknown))) => Some(Refusal::Heat(heat)),
        (1, _) => None,
        _ => Some(Refusal::TwoDetectors),
    };
    if let Some(refusal) = refusal {
        let notice = Block::notice("no-heat", Says::Warning, NO_HEAT, words::refusal(&refusal, shown.unit));
        let for_good = refusal == Refusal::Heat(Heat::UsesUpElement);
        notices.push(if for_good { notice } else { notice.with(vec![edit(EDIT)]) });
    }
    if conflict(Form::Position(Some(shown.id)), shown.known) {
        let notice = Block::notice("conflict", Says::Warning, words::CONFLICT, words::CONFLICT_WORDS);
        notices.push(notice.with(vec![edit(words::THIS_HOLDS)]));
    } else if position.duty.now().is_none_or(|duty| duty.releases.is_none()) && !position.retired() {
        let nothing = Action::give(Command::AnswerReleases { position: shown.id, releases: Vec::new() });
        let keys = vec![Button::new("releases-nothing", RELEASES_NOTHING, nothing), edit(RELEASES_SOMETHING)];
        notices.push(Block::notice("releases-unknown", Says::Warning, NO_HEAT, RELEASES_UNKNOWN).with(keys));
    }
    if position.provisional() {
        let (word, words, key) = PROVISIONAL;
        notices.push(Block::notice("provisional", Says::Info, word, words).with(vec![edit(key)]));
    }
    notices
}

type Fact = (super::page::Words, super::page::Words);

/// In few lines what one wants to know before going up.
fn facts(shown: &Shown<'_>, position: &Position) -> Vec<Fact> {
    let Known { register, .. } = shown.known;
    let mut facts: Vec<Fact> = vec![("Type".into(), marking(register, position, shown.unit).into())];
    let class = register.marking_of(position).and_then(class_words);
    facts.extend(class.map(|class| ("Class".into(), class.into())));
    facts.push(("Access".into(), position.access.now().map_or_else(|| "Not known".into(), access).into()));
    let releases = match position.duty.now().and_then(|duty| duty.releases.as_ref()) {
        None => "Not known".to_string(),
        Some(releases) if releases.is_empty() => "Nothing".to_string(),
        Some(releases) => releases.join(", "),
    };
    facts.push(("Releases".into(), releases.into()));
    if position.duty.now().is_some_and(|duty| duty.classified) {
        facts.push(("Location".into(), "Hazardous (classified)".into()));
    }
    facts.push(("Panel".into(), panel(register, position).into()));
    facts
}

/// The temperature class of a rating; of one with an EN 54-5 class that is its class.
fn class_words(marking: &Marking) -> Option<String> {
    let classed = marking.detector_type.has_set_point() && marking.class.is_none();
    let class = class_of(marking.rating.filter(|_| classed)?)?;
    let what = match marking.detector_type {
        DetectorType::CombinationRestorable | DetectorType::CombinationNonrestorable => " (fixed element)",
        _ => "",
    };
    Some(format!("{}{what}, NFPA 72", class.words))
}

fn access(access: &Access) -> String {
    let reach = access.reach.map(|reach| match reach {
        Reach::Floor => "From the floor",
        Reach::Ladder => "Ladder",
        Reach::ScissorLift => "Scissor lift",
        Reach::BoomLift => "Boom lift",
        Reach::Scaffold => "Scaffold",
    });
    let height = access.height.map(height_text);
    let mut parts: Vec<String> = reach.map(str::to_string).into_iter().chain(height).collect();
    parts.extend(access.shutdown.then(|| "SHUTDOWN first".to_string()));
    parts.extend(access.hazard.clone());
    if parts.is_empty() { "Not known".into() } else { parts.join(" · ") }
}

fn panel(register: &Register, position: &Position) -> String {
    let Some(place) = position.place.now() else { return String::new() };
    let circuit = place.circuit.and_then(|id| register.circuits.get(&id)?.now()).map(|circuit| circuit.name.clone());
    let point = place.point.as_ref().map(|point| format!("point {point}"));
    let text = place.panel_text.as_ref().map(|text| format!("“{text}”"));
    let monitored = position.duty.now().is_some_and(|duty| duty.monitored == Some(false));
    let parts = circuit.into_iter().chain(point).chain(text).chain(monitored.then(|| "not monitored".to_string()));
    let parts: Vec<String> = parts.collect();
    if parts.is_empty() { "Not known".into() } else { parts.join(" · ") }
}

/// That the ceiling may get nearly as hot as the rating.
fn caution(shown: &Shown<'_>, position: &Position) -> Option<Block> {
    let Known { register, .. } = shown.known;
    let conditions = register.area_conditions.get(&position.place.now()?.area)?.now()?;
    let (ceiling, marking) = (conditions.ceiling?, register.marking_of(position)?);
    let rating = marking.rating.filter(|_| marking.detector_type.has_set_point())?;
    is_near_ceiling(rating, ceiling).then(|| {
        let given = |reading: Reading| words::degrees(reading.celsius(), shown.unit, 0);
        let margin = words::difference(CEILING_MARGIN, shown.unit, 0);
        let (ceiling, rating) = (given(ceiling), given(rating));
        let words = format!("Up to {ceiling} here, rated {rating}. NFPA 72 17.6.2.3 asks for {margin} between.");
        Block::notice("near-ceiling", Says::Warning, NEAR_CEILING, words)
    })
}

/// The visit on screen, where it is open and of this site.
fn open_visit(shown: &Shown<'_>) -> bool {
    let Known { register, book, visit, .. } = shown.known;
    let site = register.site_of(shown.id);
    let visit = visit.and_then(|visit| Visit::shared(book, visit));
    visit.is_some_and(|visit| visit.closed.is_empty() && Some(visit.site) == site)
}

/// The key that leads on to the questions before heat.
fn test_it(shown: &Shown<'_>, position: &Position) -> Option<Button> {
    let key = Button::to("test-it", TEST_IT, Route::Before(shown.id)).look(Look::Primary).icon(Shape::Test).wide();
    let may = shown.known.register.may_be_heated(position);
    (open_visit(shown) && !position.retired() && may).then_some(key)
}

/// The last ones, a line each: everything before heat is on one screen.
fn last_results(shown: &Shown<'_>) -> Block {
    let mut blocks = Vec::new();
    blocks.extend((!shown.whole).then(|| Block::text("still-reading", Role::Soft, words::STILL_READING)));
    let lines: Vec<Fact> = past::lines(shown, RESULTS);
    let never = (lines.is_empty() && shown.whole).then(|| Block::text("never", Role::Soft, NEVER));
    blocks.extend(never);
    blocks.extend((!lines.is_empty()).then(|| Block::new("last-results", Kind::Facts(lines))));
    Block::section("last", LAST, blocks)
}

/// Every one in full.
fn results(shown: &Shown<'_>, position: &Position) -> Option<Block> {
    let rows = past::rows(shown, position);
    let title = format!("{ALL}: {}", rows.len());
    (!rows.is_empty()).then(|| Block::fold("results", title, vec![Block::rows(ALL, rows)]))
}

/// What can be done with it.
fn keys(shown: &Shown<'_>, position: &Position) -> Block {
    let id = shown.id;
    let form = |key: &'static str, label: &'static str, form: Form, icon: Shape| {
        Button::to(key, label, Route::Form(form)).icon(icon)
    };
    let retire = |label, retired| {
        Button::new("take-away", label, Action::give(Command::RetirePosition { position: id, retired }))
    };
    let mut keys = vec![form("edit", EDIT, Form::Position(Some(id)), Shape::Pen)];
    if open_visit(shown) && !position.retired() {
        keys.push(form("visual", VISUAL, Form::Visual(id), Shape::Warning));
        keys.push(form("repair", REPAIR, Form::Repair(id), Shape::Adjust));
    }
    if position.retired() {
        keys.push(retire(words::PUT_BACK_UP, false));
    } else {
        keys.push(form("put-in", PUT_IN, Form::Replace(id), Shape::Detector));
        let has_tag = position.place.now().is_some_and(|place| !place.tag.is_empty());
        let like = if has_tag { words::another_like(position.tag()) } else { ANOTHER.into() };
        keys.push(Button::to("another", like, Route::Form(Form::PositionLike(id))).icon(Shape::Clone));
        keys.push(retire(words::TAKE_AWAY, true).look(Look::Danger));
    }
    Block::buttons(keys)
}

/// A difference per year in the unit of the screen, with its sign.
fn signed(value: Kelvin, unit: Degree) -> String {
    let text = super::locale::decimal(value.text(unit, 1));
    if value > Kelvin(0.0) { format!("+{text}") } else { text }
}
