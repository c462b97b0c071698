//! What is asked before a test, with last time's answers offered; `questions` has the questions as tables.

mod questions;

pub use questions::{Asking, OfHeater};

use crate::book::body::{Ending, TestStart};
use crate::book::command::StartTest;
use crate::book::decide::fault;
use crate::book::kit::Kit;
use crate::book::register::{Position, Register};
use crate::book::versions::Versions;
use crate::book::{Id, test::Test, visit::Visit};
use crate::encoding::stored::settings;
use crate::findings;
use crate::trade::caution;
use crate::trade::conditions::{Air, IndicatedBy, Indication, RateAnswer, Restores, Warmth};
use crate::trade::detector::Marking;
use crate::trade::fields::{Described, Fact, fact};
use crate::trade::heater::Heating;
use crate::trade::heating::{Heat, NONRESTORABLE_MARGIN, may_heat};
use crate::trade::procedure::ProcedureKind;
use crate::units::{Celsius, Degree, Difference, NotANumber, Reading, Seconds, Wall};
use crate::view::findings::one::sentence;
use crate::view::heater::{ENTER, asks, gap_of};
use crate::view::route::Route;
use crate::view::words;
use std::cmp::Ordering;

/// For how long after a test heater and detector are offered as hot, ms: half an hour. Own figure; the technician changes it by a tap.
const STAYS_WARM_MS: i64 = 1_800_000;

/// The answers. Kept as a setting and offered again; the visual check is asked afresh each time, because an untouched answer
/// would claim that somebody looked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answers {
    /// The heater.
    pub heater: Option<Id>,
    /// Its setting.
    pub setting: Option<Reading>,
    /// Its mode.
    pub mode: Option<String>,
    /// The procedure; none is the functional test.
    pub procedure: Option<Id>,
    /// What shows a trip.
    pub by: IndicatedBy,
    /// Whether the panel latches.
    pub latching: bool,
    /// Whether alarm verification is on.
    pub verification: bool,
    /// Whether restores are watched.
    pub restores: Restores,
    /// Lag as typed, s.
    pub lag: String,
    /// Its standard uncertainty as typed, s.
    pub lag_u: String,
    /// Whether the display is read at each trip.
    pub display_read: bool,
    /// Ambient temperature as typed.
    pub ambient: String,
    /// Unit it was typed in.
    pub ambient_unit: Degree,
    /// Whether the air moves.
    pub air: Option<Air>,
    /// Start temperature of the heater.
    pub heater_warmth: Warmth,
    /// Start temperature of the detector.
    pub detector_warmth: Warmth,
    /// Whether somebody looked and nothing is wrong. What is wrong goes into a visual check.
    pub looks_good: bool,
    /// Of an electronic detector: why its rate function cannot trip it first.
    pub rate_answer: Option<RateAnswer>,
}

// `looks_good` and `rate_answer` are left out: they are about one detector and asked anew.
settings!(Answers {
    heater,
    setting,
    mode,
    procedure,
    by,
    latching,
    verification,
    restores,
    lag,
    lag_u,
    display_read,
    ambient,
    ambient_unit,
    air,
    heater_warmth,
    detector_warmth
});

impl Default for Answers {
    fn default() -> Answers {
        Answers {
            heater: None,
            setting: None,
            mode: None,
            procedure: None,
            by: IndicatedBy::OwnLamp,
            latching: false,
            verification: false,
            restores: Restores::NotWatched,
            lag: seconds_text(IndicatedBy::OwnLamp.usual_lag_ms().0),
            lag_u: seconds_text(IndicatedBy::OwnLamp.usual_lag_ms().1),
            display_read: true,
            ambient: String::new(),
            ambient_unit: Degree::F,
            air: None,
            heater_warmth: Warmth::Cold,
            detector_warmth: Warmth::Cold,
            looks_good: false,
            rate_answer: None,
        }
    }
}

impl Answers {
    /// Last time's answers, mended where they do not fit the kit or this detector: the setting is offered by its rating, what
    /// there is only one of is taken.
    pub fn offered(mut self, kit: &Kit, marking: Option<&Marking>) -> Answers {
        if !self.heater.is_some_and(|heater| kit.heaters.contains_key(&heater)) {
            self.heater = kit.heaters_by_name().first().map(|(id, _)| *id);
        }
        let heating = self.heater.and_then(|heater| kit.heaters.get(&heater)).and_then(|heater| heater.heating.now());
        let settings = heating.map(|heating| heating.settings.as_slice()).unwrap_or_default();
        let by_rating = heating.zip(marking).and_then(|(heating, marking)| fitting(heating, marking));
        if by_rating.is_some() || !self.setting.is_some_and(|setting| settings.contains(&setting)) {
            self.setting = by_rating.or(settings.first().copied());
        }
        let modes = heating.map(|heating| heating.modes.as_slice()).unwrap_or_default();
        if !self.mode.as_ref().is_some_and(|mode| modes.contains(mode)) {
            self.mode = modes.first().cloned();
        }
        // The functional test is the default, and what a detector cannot be tested by is not offered to it.
        let kind = |id: Id| kit.procedures.get(&id).and_then(Versions::now).map(|procedure| procedure.kind);
        let allowed = |kind: ProcedureKind| {
            let verdict = marking.map(|marking| may_heat(marking.detector_type, kind));
            verdict
                .is_none_or(|verdict| matches!(verdict, Heat::Allowed | Heat::RateFunctionAsked | Heat::BelowElement))
        };
        self.procedure = self.procedure.filter(|id| kind(*id).is_some_and(allowed));
        if heating.is_some_and(|heating| heating.resolution.is_none()) {
            self.display_read = false;
        }
        self
    }

    /// The same with the one heater that is free, where last time's is in a test: two heaters take turns. Of several somebody chooses.
    #[must_use]
    pub fn with_free_heater(mut self, kit: &Kit, visit: &Visit) -> Answers {
        let busy: Vec<Id> = visit.active().map(|test| test.frozen.heater.of).collect();
        let mut free = kit.heaters.keys().filter(|heater| !busy.contains(heater));
        if let (true, Some(one), None) = (self.heater.is_some_and(|of| busy.contains(&of)), free.next(), free.next()) {
            self.heater = Some(*one);
        }
        self
    }

    /// The same with heater and detector as warm as the tests of this visit left them.
    pub fn after(mut self, visit: &Visit, position: Id, now_wall: Wall) -> Answers {
        let hot = |test: &&Test| {
            let ended = test.ended.map_or(0, |(_, at)| at.since_heat_on());
            now_wall.saturating_sub(test.started_wall.saturating_add(ended)) < STAYS_WARM_MS
        };
        let just = |fits: &dyn Fn(&Test) -> bool| visit.tests.iter().filter(hot).any(fits);
        let warmth = |hot: bool| if hot { Warmth::Hot } else { Warmth::Cold };
        self.heater_warmth = warmth(just(&|test| Some(test.frozen.heater.of) == self.heater));
        self.detector_warmth = warmth(just(&|test| test.frozen.position.of == position));
        self
    }

    /// The ambient temperature; none while the field is empty.
    ///
    /// # Errors
    /// When it is not a number.
    pub fn ambient_reading(&self) -> Result<Option<Reading>, NotANumber> {
        if self.ambient.trim().is_empty() {
            return Ok(None);
        }
        Reading::parse(&self.ambient, self.ambient_unit).map(Some)
    }

    /// Takes another indication, with its usual lag.
    pub fn indicate(&mut self, by: IndicatedBy) {
        let (lag, u) = by.usual_lag_ms();
        (self.by, self.lag, self.lag_u) = (by, seconds_text(lag), seconds_text(u));
    }

    /// The lag and its standard uncertainty, ms; none where one of them is no number in range.
    pub fn lag_ms(&self) -> Option<(i64, i64)> {
        const LAG: Fact = fact(Indication::FACTS, "lag_ms");
        const LAG_U: Fact = fact(Indication::FACTS, "lag_u_ms");
        let ms = |text: &str, of: Fact| {
            let ms = (Seconds::parse(text).ok()?.0 * 1_000.0).round() as i64;
            fault(of.kind, &ms.into()).is_none().then_some(ms)
        };
        ms(&self.lag, LAG).zip(ms(&self.lag_u, LAG_U))
    }

    /// The command that starts the test; none while heater, setting or procedure are missing or ambient or lag are no number.
    pub fn start(&self, visit: Id, test: Id, position: Id) -> Option<StartTest> {
        let (lag_ms, lag_u_ms) = self.lag_ms()?;
        Some(StartTest {
            visit,
            test,
            position,
            heater: self.heater?,
            setting: self.setting?,
            mode: self.mode.clone(),
            procedure: self.procedure,
            indication: Indication {
                by: self.by,
                latching: self.latching,
                verification: self.verification,
                lag_ms,
                lag_u_ms,
                restores: self.restores,
            },
            display_read: self.display_read,
            ambient: self.ambient_reading().ok()?,
            air: self.air,
            heater_warmth: self.heater_warmth,
            detector_warmth: self.detector_warmth,
            visual: self.looks_good.then(Vec::new),
            rate_answer: self.rate_answer,
        })
    }
}

/// The setting for a detector: the lowest that reaches its upper limit, or at least its rating. Under a nonrestorable element
/// it is the highest that stays the margin below.
fn fitting(heating: &Heating, marking: &Marking) -> Option<Reading> {
    let rating = marking.rating?.celsius();
    let top = |setting: &&Reading| heating.top(setting);
    let lowest = |from: Celsius| {
        let reach = heating.settings.iter().filter(|setting| top(setting) >= from);
        reach.min_by(|a, b| top(a).partial_cmp(&top(b)).unwrap_or(Ordering::Equal)).copied()
    };
    if may_heat(marking.detector_type, ProcedureKind::Functional) == Heat::BelowElement {
        let below = heating.settings.iter().filter(|setting| top(setting) + NONRESTORABLE_MARGIN <= rating);
        return below.max_by(|a, b| top(a).partial_cmp(&top(b)).unwrap_or(Ordering::Equal)).copied();
    }
    let limit = marking.plus.map(|plus| rating + plus.kelvin());
    limit.and_then(lowest).or_else(|| lowest(rating))
}

/// The conditions in a line, above their fold.
pub fn conditions(answers: &Answers) -> String {
    let air = answers.air.map_or("", |air| match air {
        Air::Still => ", still air",
        Air::Moving => ", moving air",
    });
    let (heater, detector) = (answers.heater_warmth.words(), answers.detector_warmth.words());
    let ambient = match answers.ambient.trim() {
        "" => "ambient not measured".to_string(),
        ambient => format!("ambient {ambient} {}", answers.ambient_unit.symbol()),
    };
    format!("Heater {}, detector {}, {ambient}{air}", heater.to_ascii_lowercase(), detector.to_ascii_lowercase())
}

/// How trips are seen in a line, above its fold.
pub fn seeing(answers: &Answers) -> String {
    let reading = if answers.display_read { "display read" } else { "display not read" };
    format!(
        "{} · lag {} ± {} s · restore {} · {reading}",
        answers.by.words(),
        answers.lag,
        answers.lag_u,
        answers.restores.words().to_ascii_lowercase()
    )
}

/// What heater and limits cannot decide between them, known before the start: a sentence each.
pub fn remarks(started: &TestStart) -> Vec<String> {
    let (heater, marking, procedure) = (&started.heater, &started.detector.marking, &started.procedure);
    let remarks = findings::before(heater, marking, procedure);
    let mut all: Vec<String> = remarks.iter().map(|remark| sentence(&remark.to_string())).collect();
    let lacking: Vec<String> = findings::lacking(heater, marking, procedure).iter().map(ToString::to_string).collect();
    if !lacking.is_empty() {
        all.push(format!("No limit result possible. Missing: {}.", lacking.join("; ")));
    }
    all.extend(started.indication.verification.then(|| words::VERIFICATION_REMARK.to_string()));
    all
}

/// Where the first answer is entered that a limit result lacks.
pub fn remarks_remedy(started: &TestStart) -> Option<(&'static str, Route)> {
    let (heater, marking, procedure) = (&started.heater, &started.detector.marking, &started.procedure);
    let gap = findings::lacking(heater, marking, procedure).into_iter().find_map(gap_of);
    gap.map(|gap| (ENTER, asks(heater.of, gap)))
}

/// What the screen says of the detector above the questions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Facts {
    /// Its tag.
    pub tag: String,
    /// Area, and circuit where it has one.
    pub place: String,
    /// Type, rating and tolerance.
    pub marking: String,
    /// What to know before going up: each a sentence.
    pub warnings: Vec<String>,
    /// As found, retest or as left.
    pub standing: &'static str,
}

impl Facts {
    /// The facts of a detector of this visit.
    pub fn of(register: &Register, visit: &Visit, id: Id, unit: Degree) -> Option<Facts> {
        let position = register.positions.get(&id)?;
        let place = position.place.now()?;
        let name = |area: &Id| register.areas.get(area).and_then(|group| group.now()).map(|area| area.name.clone());
        let circuit = place.circuit.and_then(|id| register.circuits.get(&id)?.now());
        let mut parts: Vec<String> =
            name(&place.area).into_iter().chain(circuit.map(|circuit| circuit.name.clone())).collect();
        parts.extend(place.point.clone());
        parts.extend(place.location.clone());
        Some(Facts {
            tag: place.name().to_string(),
            place: parts.join(" · "),
            marking: marking(register, position, unit),
            warnings: warnings(position, visit)
                .into_iter()
                .chain(circuit.filter(|circuit| circuit.verification).map(|_| words::VERIFICATION_REMARK.to_string()))
                .collect(),
            standing: standing(visit, id),
        })
    }
}

/// What the next test of a position will be among those of the visit.
fn standing(visit: &Visit, id: Id) -> &'static str {
    let mut tests = visit.tests_of(id).filter(|test| !matches!(test.ended, Some((Ending::Mistake, _))));
    let after: Vec<_> = visit.tests_of(id).filter_map(|test| test.frozen.after).collect();
    if visit.work.iter().any(|work| work.position == id && !after.contains(&work.hash)) {
        "As left: after the repair or replacement."
    } else if tests.next().is_some() {
        "Retest. The first result stays on record."
    } else {
        "As found."
    }
}

fn seconds_text(ms: i64) -> String {
    let text = format!("{}.{}", ms / 1_000, ms % 1_000 / 100);
    text.trim_end_matches(".0").to_string()
}

/// Type, rating and tolerance of what hangs in a position, in one line.
pub fn marking(register: &Register, position: &Position, unit: Degree) -> String {
    match (register.marking_of(position), position.hanging().count()) {
        (Some(marking), _) => marked(marking, unit),
        (None, 0) => "no detector".into(),
        (None, 1) => "device data incomplete".into(),
        (None, _) => "two detectors, from two phones".into(),
    }
}

/// Type, rating, tolerance and class. What was marked in the unit of the screen keeps its digits.
pub fn marked(marking: &Marking, unit: Degree) -> String {
    let size = |limit: &Difference| {
        let text = if limit.unit == unit { limit.text() } else { limit.kelvin().text(unit, 1) };
        text.trim_start_matches(['-', '−']).to_string()
    };
    let mut parts = vec![marking.detector_type.words().to_string()];
    if let Some(rating) = marking.rating {
        let rating =
            if rating.unit == unit { rating.text() } else { rating.celsius().text(unit, 0) } + "\u{a0}" + unit.symbol();
        let tolerance = match (&marking.minus, &marking.plus) {
            (Some(minus), Some(plus)) => {
                format!(" −{}\u{a0}/\u{a0}+{}\u{a0}{}", size(minus), size(plus), unit.symbol())
            }
            _ => String::new(),
        };
        parts.push(rating + &tolerance);
    }
    if let Some(class) = marking.class {
        let suffix = marking.suffix.map_or("", |suffix| match suffix {
            crate::trade::detector_type::Suffix::R => "R",
            crate::trade::detector_type::Suffix::S => "S",
        });
        parts.push(format!("EN 54-5 class {}{suffix}", class.words()));
    }
    crate::view::locale::decimal(parts.join(" · "))
}

fn warnings(position: &Position, visit: &Visit) -> Vec<String> {
    let Some(duty) = position.duty.now() else {
        return vec!["Releases: not known. No heat until that is entered.".into()];
    };
    let secured = |release: &String| {
        let state = if visit.is_secured(release) { "secured" } else { "NOT secured" };
        format!("Releases {release}: {state}.")
    };
    let mut warnings: Vec<String> = match &duty.releases {
        Some(releases) => releases.iter().map(secured).collect(),
        None => vec!["Releases: not known. No heat until that is entered.".into()],
    };
    if duty.classified {
        warnings.push("Hazardous (classified) location: permit, gas test and an approved heater first.".into());
    }
    warnings.extend(position.access.now().and_then(|access| access.hazard.clone()));
    warnings.extend(caution::IN_A_TEST.first().map(|caution| caution.words.to_string()));
    warnings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lag_is_seconds_with_either_decimal_sign_or_nothing() {
        // By hand: 1.5 s is 1,500 ms.
        let lag = |text: &str| Answers { lag: text.into(), ..Answers::default() }.lag_ms().map(|(lag, _)| lag);
        assert_eq!(lag("1.5"), Some(1_500));
        assert_eq!(lag("1,5"), Some(1_500));
        assert_eq!(lag("0.1"), Some(100));
        for wrong in ["", "0", "-1", "121", "soon", "1e9", "nan"] {
            assert_eq!(lag(wrong), None, "{wrong}");
        }
    }
}
