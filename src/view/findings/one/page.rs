//! One test in full as a page: every figure opens to formula, inputs and source.

use super::{
    AS_READ, CAUTION, CHANGE_READING, CORRECT, JUDGE, JudgementView, LIMIT_RESULT, LIST_RETEST, LISTED, NOT_A_TRIP,
    OneTest, RESTORE, RETEST_NOW, ResultRow, STILL_HOT, TripRow, UNKNOWN, heading,
};
use crate::book::body::{Point, RetestWhy};
use crate::book::command::Command;
use crate::findings::Flag;
use crate::units::TestTime;
use crate::view::findings::said::Said;
use crate::view::findings::{NO_PUBLISHED_TOLERANCE, TITLE};
use crate::view::heater::ENTER_FOR_NEXT;
use crate::view::page::drawing::{Drawing, Tick, Trace};
use crate::view::page::sign::{Look, Says, Shape};
use crate::view::page::{Action, Badge, Block, Button, Empty, Headline, Kind, Page, Role, Row, Undo};
use crate::view::play::heading::PLAY;
use crate::view::route::{Form, Route};
use crate::view::test::{AskAbout, LastMark};
use crate::view::words;

/// The page of a test that is not known.
pub fn unknown() -> Page {
    let empty = Empty { shape: Shape::Findings, title: UNKNOWN.0.into(), words: UNKNOWN.1.into(), buttons: Vec::new() };
    Page { name: "finding", blocks: vec![Block::new("unknown", Kind::Empty(empty))], ..Page::default() }
}

impl OneTest {
    /// The page; `end` is the end of the test while this phone can take it back.
    pub fn page(mut self, end: Option<LastMark>) -> Page {
        let mut blocks: Vec<Block> = end.map(|end| undo_end(&self, end)).into_iter().collect();
        let (shape, tone) = self.state.0.drawn();
        // What the headline says already is not said again.
        let named = self.says_state || self.headline.starts_with(self.state.1);
        let badge = (!named).then(|| Badge { key: "state", shape, tone, word: self.state.1.into() });
        let headline = Headline { shape, words: self.headline.clone().into(), badge };
        blocks.push(Block::new("headline", Kind::Headline(headline)));
        if !self.measured_line.is_empty() {
            blocks.push(Block::text("measured-line", Role::Plain, self.measured_line.clone()));
        }
        // Why it is flagged is no matter of measurement.
        let flagged = self.state.1 == Flag::Outlier.words();
        blocks.extend(said("beside", heading::BESIDE, self.beside.take_if(|_| flagged)));
        blocks.extend(self.ask_early.clone().map(early));
        let results = self.results.iter().map(result).collect();
        blocks.push(Block::section("result", heading::RESULTS, vec![Block::rows(heading::RESULTS, results)]));
        if !self.not_exercised.is_empty() {
            blocks.push(Block::text("not-exercised", Role::Soft, self.not_exercised.clone()));
        }
        blocks.extend(self.ended.then(|| Block::notice("still-hot", Says::Info, CAUTION, STILL_HOT)));
        blocks.extend(self.keys());
        blocks.extend(self.trace());
        if !self.trips.is_empty() {
            let rows = self.trips.iter().cloned().map(trip).collect();
            let rows = vec![Block::rows(heading::TRIPS, rows)];
            blocks.push(Block::numbered("trips", heading::TRIPS, self.trips.len(), rows));
        }
        blocks.extend(Block::lines("struck", heading::STRUCK, self.struck.clone()));
        let items = self.items.iter().map(ToString::to_string).collect();
        let conditions = self.conditions.iter().map(|(name, value)| ((*name).into(), value.clone().into())).collect();
        let conditions = vec![Block::new("conditions", Kind::Facts(conditions))];
        let (tag, detail) = (self.tag.clone(), self.detail.clone());
        let (notes, clock, late) = (self.notes.clone(), self.clock.clone(), self.late.clone());
        blocks.push(Block::fold("measured", heading::MEASURED, self.measured()));
        blocks.extend(Block::lines("items", heading::ITEMS, items));
        blocks.extend(Block::lines("notes", heading::NOTES, notes));
        blocks.extend(Block::lines("clock-notes", heading::CLOCK, clock));
        blocks.extend(Block::lines("late", heading::LATE, late));
        blocks.push(Block::fold("conditions-fold", heading::CONDITIONS, conditions));
        Page {
            name: "finding",
            title: tag.into(),
            detail: detail.into(),
            back: Some(Button::back(TITLE, Route::Findings)),
            menu: vec![Button::print()],
            blocks,
            ..Page::default()
        }
    }

    /// What can be done about it.
    fn keys(&self) -> Vec<Block> {
        let (test, mut blocks) = (self.test, Vec::new());
        if let Some(trip) = self.ask_panel {
            blocks.push(Block::text("panel-showed", Role::Plain, words::PANEL_SHOWED));
            blocks.push(Block::buttons(panel_keys(trip, "").into()));
        }
        let form = |key: &'static str, label: &'static str, form: Form| {
            Button::to(key, label, Route::Form(form)).icon(Shape::Pen)
        };
        // What is not answered yet comes first.
        let asked = self.ask_panel.is_some() || self.ask_restore || self.ask_early.is_some();
        let restore = self.ask_restore.then(|| form("say-restore", RESTORE, Form::Restored(test)).look(Look::Primary));
        let mut keys: Vec<Button> = restore.into_iter().collect();
        let retest = Button::to("retest-now", RETEST_NOW, Route::Before(self.position)).icon(Shape::Test);
        keys.push(if asked { retest } else { retest.look(Look::Primary) });
        keys.push(Button::to("to-device", words::TO_POSITION, Route::Position(self.position)).icon(Shape::Detector));
        keys.extend(self.ended.then(|| Button::to("play", PLAY, Route::Play(test)).icon(Shape::Time)));
        keys.extend(self.asks.map(|place| Button::to("enter-missing", ENTER_FOR_NEXT, place).icon(Shape::Pen)));
        keys.extend(self.may_judge.then(|| form("judge", JUDGE, Form::Judge(test))));
        keys.extend(self.ended.then(|| form("correct-marking", CORRECT, Form::Marking(test))));
        if self.listed.is_none() {
            let list = Action::give(Command::ListRetest { test, why: RetestWhy::Requested });
            keys.push(Button::new("list-retest", LIST_RETEST, list).icon(Shape::Again));
        }
        blocks.push(Block::buttons(keys));
        blocks.extend(self.listed.map(|entry| {
            let action = Action::Undo(entry, LISTED.into());
            let undo = Undo { words: LISTED.into(), shape: Shape::Again, label: words::UNDO, action };
            Block::new("listed", Kind::Undo(undo))
        }));
        blocks
    }

    /// What the heater did over the test, with the trips on it.
    fn trace(&self) -> Option<Block> {
        self.bands.last()?;
        let tick = |&(at, number, counted): &(TestTime, u32, bool)| Tick { at, number, counted };
        let trace = Trace {
            label: words::trace(&self.tag, self.ticks.len()),
            bands: self.bands.clone(),
            ticks: self.ticks.iter().map(tick).collect(),
        };
        Some(Block::new("trace", Kind::Drawing(Box::new(Drawing::Trace(trace)))))
    }

    /// Everything measured, one tap below the result.
    fn measured(self) -> Vec<Block> {
        let keys = ["operating-temperature", "expanded-uncertainty", "standard-uncertainty", "range", "lag"];
        let operating = match self.operating {
            Ok(figures) => figures.into_iter().zip(keys).map(|(of, key)| Block::figure(key, of)).collect(),
            Err(why) => {
                let row = Row::new("no-operating", why, "").sign(Shape::Open);
                vec![Block::rows(heading::OPERATING, vec![row])]
            }
        };
        let mut blocks = vec![Block::section("operating", heading::OPERATING, operating)];
        blocks.extend(Block::lines("far-readings", heading::FAR, self.far));
        blocks.extend(self.judgements.into_iter().map(judgement));
        blocks.extend(said("settling", heading::SETTLING, self.settling));
        blocks.extend(said("beside", heading::BESIDE, self.beside));
        blocks.extend(said("first-trip", heading::FIRST, self.first));
        blocks.extend(Block::lines("restores", heading::RESTORES, vec![self.restores]));
        blocks
    }
}

/// What the panel showed at a trip, a key each; `of` tells them from those of other tests on the page.
pub(in crate::view) fn panel_keys(trip: crate::book::entry::Hash, of: &str) -> [Button; 3] {
    [Point::Right, Point::Wrong, Point::NotThere].map(|point| {
        let key = format!("panel-{}{of}", crate::encoding::stored::name(&point));
        Button::new(key, words::point(point), Action::give(Command::SayPanel { trip, point, said: None }))
    })
}

/// A test ends by the same mark as everything else, so its end is taken back by the same tap.
fn undo_end(of: &OneTest, LastMark { entry, name, .. }: LastMark) -> Block {
    let words = words::recorded(&name).into();
    let action = Action::Undo(entry, name.into()).then(Action::Go(Route::Test(Some(of.test))));
    Block::new("undo-end", Kind::Undo(Undo { words, shape: Shape::Done, label: words::UNDO, action }))
}

/// An early trip: this detector's, or another one's.
fn early(asked: AskAbout) -> Block {
    let AskAbout { of: trip, words } = asked;
    let say = |this_detector| Action::give(Command::AnswerEarlyTrip { trip, this_detector });
    Block::notice("asked-early", Says::Warning, words::EARLY_WORD, words).with(vec![
        Button::new("this-detector", words::THIS_DETECTOR, say(true)),
        Button::new("not-this-detector", words::NOT_THIS_ONE, say(false)),
    ])
}

/// Tripped, alarm at panel, restored.
fn result(row: &ResultRow) -> Row {
    let (shape, tone) = row.sign.drawn();
    let key = match row.name {
        "tripped" => "answer-tripped",
        "panel" => "answer-panel",
        "restored" => "answer-restored",
        _ => "answer-judged",
    };
    let badge = Badge { key, shape, tone, word: row.answer.clone().into() };
    Row { badges: vec![badge], ..Row::new(format!("result-{}", row.name), row.title, row.why.clone()) }
}

fn trip(row: TripRow) -> Row {
    let TripRow { number, time, detail, reading, reading_of, mark } = row;
    let small = |key: String, label: &'static str, icon: Shape, form: Form| {
        Button::to(key, label, Route::Form(form)).look(Look::Plain).icon(icon)
    };
    let change = reading_of
        .map(|reading| small(format!("change-reading-{number}"), CHANGE_READING, Shape::Pen, Form::Reading(reading)));
    let not_one = small(format!("not-a-trip-{number}"), NOT_A_TRIP, Shape::Close, Form::Strike(mark));
    let title = format!("Trip {number} · {time}");
    let figure = reading.map(|mut shown| {
        shown.label = format!("{title} · {detail}");
        Box::new(shown)
    });
    Row {
        at: number.to_string().into(),
        figure,
        buttons: change.into_iter().chain([not_one]).collect(),
        ..Row::new(format!("found-trip-{number}"), title, detail)
    }
}

fn judgement(one: JudgementView) -> Block {
    let JudgementView { title, reason, limits_from, limits, as_read, limit_result, missing, remarks } = one;
    let badged = |key: &'static str,
                  (title, detail): (&'static str, &'static str),
                  sign: super::Sign,
                  word: &'static str| {
        let (shape, tone) = sign.drawn();
        Row { badges: vec![Badge { key, shape, tone, word: word.into() }], ..Row::new("", title, detail).sign(shape) }
    };
    let mut blocks = Vec::new();
    if !reason.is_empty() {
        blocks.push(Block::text("reason", Role::Plain, reason));
    }
    let as_read = as_read.map(|(sign, word)| badged("as-read", AS_READ, sign, word));
    let (stated, p) = limit_result
        .map(|(sign, word, p)| (badged("limit-result", LIMIT_RESULT, sign, word), Block::figure("conformance", p)))
        .unzip();
    let rows: Vec<Row> = as_read.into_iter().chain(stated).collect();
    blocks.extend((!rows.is_empty()).then(|| Block::rows(title, rows)));
    blocks.extend(p);
    if !missing.is_empty() {
        let head = Row::new("missing", heading::MISSING, "").sign(Shape::Open);
        let lines = missing.into_iter().map(|line| Row::new("missing-line", "", line));
        blocks.push(Block::rows(heading::MISSING, [head].into_iter().chain(lines).collect()));
    }
    blocks.extend(limits.into_iter().map(|of| Block::figure("limit", of)));
    blocks.push(Block::text("limits-from", Role::Plain, limits_from));
    for (words, of) in remarks {
        blocks.push(Block::notice("remark", Says::Warning, CAUTION, words));
        blocks.push(Block::figure("remark-figure", of));
    }
    blocks.push(Block::text("no-tolerance", Role::Soft, NO_PUBLISHED_TOLERANCE));
    Block::section(title, title, blocks)
}

fn said(key: &'static str, title: &'static str, said: Option<Said>) -> Option<Block> {
    let Said { words, figure, soft } = said?;
    let role = if soft { Role::Soft } else { Role::Plain };
    let figure = figure.map(|of| Block::figure(format!("{key}-figure"), of));
    Some(Block::section(title, title, [Block::text(key, role, words)].into_iter().chain(figure).collect()))
}
