//! One line for each position in scope: its unique ID, and a word.

use super::{NOT_RECORDED, Recorded, joined, table};
use crate::book::Id;
use crate::book::body::{Answer, Happened, Point, Who};
use crate::book::register::Position;
use crate::book::visit::OtherResult;
use crate::encoding::stored;
use crate::findings::history::{Done, DoneWhat};
use crate::findings::standing::{Came, in_scope, place_key, standing};
use crate::findings::{AtPanel, Outcome, Restored, Role, TestFindings, Tripped};
use crate::order;
use crate::trade::conditions::Visual;
use crate::trade::detector::{Make, Marking, Place};
use crate::trade::heating::{Heat, may_heat};
use crate::trade::procedure::ProcedureKind;
use crate::view::findings::lower;
use crate::view::page::{Block, Role as Say};
use crate::view::{time, words};
use std::sync::Arc;

const RESULTS: &str = "Result of each detector";
const INPUTS_ONLY: &str = "Inputs only. Heat detectors are initiating devices; horns, strobes, releases, shutdowns and other outputs were not tested for this table.";
const WHAT_PASSED_MEANS: &str =
    "Passed means all three: it tripped, the panel showed the right point, and it restored.";
const NEVER: &str = "Nonrestorable, visual check only";
const NO_POSITIONS: &str = "No detector is in scope.";
const HEAD: [&str; 9] =
    ["Detector", "Location", "Type, rating", "When, by", "Visual", "Tripped", "At panel", "Restored", "Result"];

/// Into which count of the front page a position goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Count {
    Passed,
    NotVerified,
    Failed,
    NotDecided,
    Running,
    NotTested(&'static str),
}

impl Count {
    /// Whether there is a functional result, whatever it says.
    pub(super) fn is_tested(self) -> bool {
        !matches!(self, Count::NotTested(_) | Count::Running)
    }
}

/// A position in scope.
pub(super) struct Line {
    pub(super) position: Id,
    area: Id,
    pub(super) count: Count,
    cells: Vec<String>,
    /// What the digest has in place of the cell with a name.
    by: String,
}

/// The cell with a name.
const BY: usize = 3;

impl Line {
    /// As the digest has it: as printed, but the hash of a name in its place, which stays when the name is erased.
    pub(super) fn as_bound(&self) -> String {
        let cell = |(at, cell): (usize, &String)| if at == BY { self.by.clone() } else { cell.clone() };
        self.cells.iter().enumerate().map(cell).collect::<Vec<_>>().join("\t")
    }
}

/// What a visit comes to at a position, as a count and in words.
fn said(came: Came) -> (Count, String) {
    match came {
        Came::Result(Outcome::Passed) => (Count::Passed, "Passed".into()),
        Came::Result(outcome @ Outcome::NotVerified { .. }) => (Count::NotVerified, outcome.words().into()),
        Came::Result(outcome @ Outcome::Failed(_)) => (Count::Failed, format!("Failed: {}", lower(outcome.words()))),
        Came::Result(Outcome::EarlyTrip) => {
            (Count::NotDecided, "Not decided: early trip, nobody said which detector".into())
        }
        Came::Result(Outcome::InProgress) => (Count::Running, "Test running".into()),
        Came::Result(outcome) => (Count::NotDecided, outcome.words().into()),
        Came::Electrical(outcome) => {
            let words = if outcome == Outcome::Passed { "OK".into() } else { lower(outcome.words()) };
            (Count::NotTested(words::ELECTRICAL_ONLY), format!("Not heat tested: electrical check only, {words}"))
        }
        Came::Repaired => (Count::NotDecided, "Not decided: repaired, not tested since".into()),
        Came::Replaced => (Count::NotDecided, "Not decided: replaced, not tested since".into()),
        Came::Found(found) => (Count::Failed, format!("Failed visual after its test: {}", lower(found.words()))),
        Came::NotTested(why) => {
            let why = words::not_tested(why);
            (Count::NotTested(why), format!("Not tested: {}", lower(why)))
        }
        Came::Looked(None) => (Count::NotTested("Visual check only"), "Not tested: visual check only, OK".into()),
        Came::Looked(Some(found)) => {
            let words = format!("Not tested: visual check only, {}", lower(found.words()));
            (Count::NotTested("Visual check only"), words)
        }
        Came::Nothing => (Count::NotTested("No reason given"), "Not tested: no reason given".into()),
    }
}

impl Recorded<'_> {
    /// The positions in scope, by area and walking order.
    pub(super) fn positions(&self) -> Vec<Line> {
        let ids = in_scope(self.book, self.register, self.visit, self.done.keys().copied());
        let lines = ids.into_iter().map(|id| self.line(id)).collect();
        order::by(lines, |line| {
            let tag = line.cells.first().map_or("", String::as_str);
            place_key(self.register, line.position, line.area, tag)
        })
    }

    fn line(&self, id: Id) -> Line {
        let done = self.done.get(&id).map_or(&[][..], Vec::as_slice);
        let stands = standing(self.visit, id, done);
        let known = self.register.positions.get(&id);
        let tested = stands.last.iter().max_by_key(|one| one.at).or(stands.earlier.last()).copied();
        let frozen = |one: &Done| match &one.what {
            DoneWhat::Test(test) => Some(Arc::clone(&test.frozen)),
            _ => None,
        };
        // A test that was a mistake says at least what hung there.
        let frozen = tested.and_then(frozen).or_else(|| done.iter().rev().find_map(frozen));
        let frozen = frozen.as_ref();
        let detector = frozen.map(|frozen| frozen.detector.of).or_else(|| known.and_then(Position::detector));
        let registered = detector.and_then(|detector| self.register.detectors.get(&detector));
        let place = frozen.map(|frozen| &frozen.position.place).or_else(|| known.and_then(|of| of.place.now()));
        let marking = frozen
            .map(|frozen| &frozen.detector.marking)
            .or_else(|| registered.and_then(|detector| detector.marking.now()));
        let make =
            frozen.map(|frozen| &frozen.detector.make).or_else(|| registered.and_then(|detector| detector.make.now()));
        let never =
            marking.is_some_and(|of| may_heat(of.detector_type, ProcedureKind::Functional) == Heat::UsesUpElement);
        let (count, word) = match stands.came {
            Came::Looked(found) if never => {
                let found = found.map_or("OK".to_string(), |found| lower(found.words()));
                (Count::NotTested(NEVER), format!("Not tested: {}, {found}", lower(NEVER)))
            }
            came => said(came),
        };
        let [tripped, panel, restored] = tested.map_or_else(|| ["–"; 3].map(String::from), |one| self.three(one));
        let by = |name: &dyn Fn(Who) -> String| {
            tested.or(done.last()).map_or_else(|| "–".to_string(), |one| self.when_by(one, name))
        };
        let hash = |who| self.visit.name(who).map_or_else(String::new, |name| name.to_string());
        let (by, bound) = (by(&|who| self.who(who)), by(&hash));
        let result = joined([word, self.before(&stands.earlier), how(&stands.last)]);
        let cells = vec![
            place.map_or_else(|| "No tag".to_string(), |place| place.name().to_string()),
            place.map_or_else(|| NOT_RECORDED.to_string(), |place| self.where_is(place)),
            marking.map_or_else(|| NOT_RECORDED.to_string(), |marking| self.what_is(marking, make)),
            by,
            visual(done),
            tripped,
            panel,
            restored,
            result,
        ];
        Line { position: id, area: place.map_or_else(Id::nil, |place| place.area), count, cells, by: bound }
    }

    fn where_is(&self, place: &Place) -> String {
        let circuit = place.circuit.map_or("", |circuit| self.circuit_name(circuit));
        let id = place.customer_id.as_ref().filter(|id| **id != place.tag).map(|id| format!("ID {id}"));
        let point = place.point.as_ref().map(|point| format!("point {point}"));
        let location = place.location.clone().unwrap_or_default();
        let parts = joined([location, circuit.to_string()].into_iter().chain(point).chain(id));
        if parts.is_empty() { NOT_RECORDED.to_string() } else { parts }
    }

    fn what_is(&self, marking: &Marking, make: Option<&Make>) -> String {
        let rating = marking.rating.map_or_else(
            || if marking.detector_type.has_set_point() { "rating not recorded".to_string() } else { String::new() },
            |rating| words::setting(&rating, self.unit),
        );
        let serial = make.and_then(|make| make.serial.as_ref()).map_or_else(String::new, |of| format!("serial {of}"));
        let class = marking.class.map_or_else(String::new, |class| format!("EN 54-5 class {}", class.words()));
        joined([marking.detector_type.words().to_string(), rating, class, serial])
    }

    fn when_by(&self, done: &Done, name: &dyn Fn(Who) -> String) -> String {
        let said = |happened: Happened, by: Who| format!("{} · {}", super::when(happened), name(by));
        match &done.what {
            DoneWhat::Test(test) => {
                let by = name(Who::Person(test.frozen.by));
                format!("{} · {by}", self.wall(done.at))
            }
            DoneWhat::Other(of, _) => said(of.happened, of.by),
            DoneWhat::NotTested(of) => said(of.happened, of.by),
            DoneWhat::Visual(_) | DoneWhat::Repaired(_) => self.wall(done.at),
        }
    }

    /// Tripped, at panel, restored.
    fn three(&self, done: &Done) -> [String; 3] {
        match &done.what {
            DoneWhat::Test(test) => {
                let found = self.found.tests.iter().find(|found| found.test == test.test);
                found.map_or_else(|| ["–"; 3].map(String::from), of_test)
            }
            DoneWhat::Other(of, _) => {
                let other = self.visit.record.other_methods.iter().find(|other| other.said.hash == done.entry);
                let panel = match &of.said {
                    Some(said) => format!("{}: {said}", words::point(of.point)),
                    None => words::point(of.point).to_string(),
                };
                [answer(of.tripped), panel, answer(other.map_or(of.restored, OtherResult::restored))]
            }
            _ => ["–"; 3].map(String::from),
        }
    }

    /// What came before, where it says something else.
    fn before(&self, earlier: &[&Done]) -> String {
        let one = |done: &&Done| {
            let role = match &done.what {
                DoneWhat::Test(test) => lower(crate::view::findings::role(Role::of(&test.frozen))),
                _ if done.is_electrical_only() => "electrical check".to_string(),
                _ => "before".to_string(),
            };
            done.outcome().map(|outcome| format!("{role}: {}", lower(outcome.words())))
        };
        earlier.iter().filter_map(one).collect::<Vec<_>>().join("; ")
    }

    /// One line for each position, by area.
    pub(super) fn results(&self) -> Block {
        let mut blocks = vec![
            Block::text("inputs-only", Say::Plain, INPUTS_ONLY),
            Block::text("passed-means", Say::Soft, WHAT_PASSED_MEANS),
        ];
        if self.lines.is_empty() {
            blocks.push(Block::text("no-positions", Say::Plain, NO_POSITIONS));
        }
        for of_area in self.lines.chunk_by(|one, other| one.area == other.area) {
            let rows = of_area.iter().map(|line| line.cells.clone()).collect();
            let name = of_area.first().map_or("", |line| self.area_name(line.area)).to_string();
            blocks.push(Block::section(name.clone(), name, table("results", &HEAD, rows, NO_POSITIONS)));
        }
        Block::section("results", RESULTS, blocks)
    }
}

fn answer(of: Answer) -> String {
    match of {
        Answer::Yes => "Yes",
        Answer::No => "No",
        Answer::NotChecked => "Not checked",
    }
    .to_string()
}

fn of_test(found: &TestFindings) -> [String; 3] {
    let tripped = match &found.tripped {
        Tripped::Yes { first_at } => format!("Yes, {}", time::gone(first_at.since_heat_on())),
        Tripped::No(_) => "No".to_string(),
        Tripped::NotYet => "Not yet".to_string(),
        Tripped::NotDecided(_) => "Not decided".to_string(),
    };
    let panel = match &found.panel {
        AtPanel::Right => words::point(Point::Right).to_string(),
        AtPanel::Wrong(Some(said)) => format!("{}: {said}", words::point(Point::Wrong)),
        AtPanel::Wrong(None) => words::point(Point::Wrong).to_string(),
        AtPanel::NotThere => words::point(Point::NotThere).to_string(),
        AtPanel::NotChecked => words::point(Point::NotChecked).to_string(),
    };
    let restored = match found.restored {
        Restored::Yes => "Yes",
        Restored::No => "No",
        // Without a trip there is nothing to restore.
        Restored::Pending | Restored::NotChecked if !matches!(found.tripped, Tripped::Yes { .. }) => "–",
        Restored::Pending | Restored::NotChecked => "Not checked",
    };
    [tripped, panel, restored.to_string()]
}

/// What else is to be known of the results: another method, what was not exercised.
fn how(last: &[&Done]) -> String {
    let method = |done: &&Done| match &done.what {
        DoneWhat::Other(of, _) if !done.is_electrical_only() => {
            Some(format!("by {}", stored::name(&of.method).replace('_', " ")))
        }
        _ => None,
    };
    let mut parts: Vec<String> = last.iter().filter_map(method).collect();
    parts.extend((last.len() > 1).then(|| format!("worst of {} phones", last.len())));
    parts.join(", ")
}

/// The last visual check.
fn visual(done: &[Done]) -> String {
    let look = done.iter().rev().find_map(|one| match &one.what {
        DoneWhat::Visual(found) => Some(found.as_slice()),
        DoneWhat::Test(test) => test.frozen.visual.as_deref(),
        _ => None,
    });
    look.map_or_else(|| "Not recorded".to_string(), seen)
}

/// What the eye found.
pub(super) fn seen(found: &[Visual]) -> String {
    if found.is_empty() {
        return "OK".to_string();
    }
    found.iter().map(|finding| finding.words()).collect::<Vec<_>>().join(", ")
}
