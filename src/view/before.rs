//! What is asked before a test, with last time's answers offered.

use crate::book::body::Started;
use crate::book::command::StartTest;
use crate::book::kit::Kit;
use crate::book::register::{Detector, Register};
use crate::book::{Id, visit::Visit};
use crate::encoding::stored::settings;
use crate::findings;
use crate::trade::caution;
use crate::trade::conditions::{Air, IndicatedBy, Indication, Restores, Visual, Warmth};
use crate::trade::detector::Marking;
use crate::trade::heater::Heating;
use crate::trade::heating::{Heat, NONRESTORABLE_MARGIN, may_heat};
use crate::trade::procedure::Template;
use crate::units::{Celsius, Degree, Difference, NotANumber, Reading, Seconds};
use crate::view::findings::one::sentence;
use std::cmp::Ordering;

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
    /// The procedure.
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
    /// What the eye says.
    pub visual: Visual,
}

// `visual` is left out: it is never kept.
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
            lag: "0".to_string(),
            display_read: true,
            ambient: String::new(),
            ambient_unit: Degree::F,
            air: None,
            heater_warmth: Warmth::Cold,
            detector_warmth: Warmth::Cold,
            visual: Visual::NotDone,
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
        if !self.procedure.is_some_and(|procedure| kit.procedures.contains_key(&procedure)) {
            let all = kit.procedures_by_name();
            let set_point = all.iter().find(|(_, procedure)| procedure.template == Template::SetPoint);
            self.procedure = set_point.or(all.first()).map(|(id, _)| *id);
        }
        if heating.is_some_and(|heating| heating.resolution.is_none()) {
            self.display_read = false;
        }
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

    /// The lag, ms; none where no number from 0 to 120 s is typed.
    pub fn lag_ms(&self) -> Option<i64> {
        let seconds = Seconds::parse(&self.lag).ok()?;
        (0.0..=120.0).contains(&seconds.0).then(|| (seconds.0 * 1_000.0).round() as i64)
    }

    /// The command that starts the test; none while heater, setting or procedure are missing or ambient or lag are no number.
    pub fn start(&self, visit: Id, test: Id, detector: Id) -> Option<StartTest> {
        Some(StartTest {
            visit,
            test,
            detector,
            heater: self.heater?,
            setting: self.setting?,
            mode: self.mode.clone(),
            procedure: self.procedure?,
            indication: Indication {
                by: self.by,
                latching: self.latching,
                verification: self.verification,
                lag_ms: self.lag_ms()?,
                lag_u_ms: self.lag_ms()? / 2,
                restores: self.restores,
            },
            display_read: self.display_read,
            ambient: self.ambient_reading().ok()?,
            air: self.air,
            heater_warmth: self.heater_warmth,
            detector_warmth: self.detector_warmth,
            visual: self.visual,
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
    if may_heat(marking.detector_type, marking.class.is_some(), Template::Functional) == Heat::BelowElement {
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
        "" => "ambient not taken".to_string(),
        ambient => format!("ambient {ambient} {}", answers.ambient_unit.symbol()),
    };
    format!("Heater {}, detector {}, {ambient}{air}", heater.to_ascii_lowercase(), detector.to_ascii_lowercase())
}

/// How trips are seen in a line, above its fold.
pub fn seeing(answers: &Answers) -> String {
    let reading = if answers.display_read { "display read" } else { "display not read" };
    format!("Seen by: {} · restores {} · {reading}", answers.by.words(), answers.restores.words().to_ascii_lowercase())
}

/// What heater and limits cannot decide between them, known before the start: a sentence each.
pub fn remarks(started: &Started) -> Vec<String> {
    let (heater, marking, procedure) = (&started.heater, &started.detector.marking, &started.procedure);
    let remarks = findings::before(heater, marking, procedure);
    let mut all: Vec<String> = remarks.iter().map(|remark| sentence(&remark.to_string())).collect();
    let lacking: Vec<String> = findings::lacking(heater, marking, procedure).iter().map(ToString::to_string).collect();
    if !lacking.is_empty() {
        all.push(format!("No limit result will be possible. Missing: {}.", lacking.join("; ")));
    }
    all
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
    /// As found, or as left after which test.
    pub standing: &'static str,
}

impl Facts {
    /// The facts of a detector of this visit.
    pub fn of(register: &Register, visit: &Visit, id: Id, unit: Degree) -> Option<Facts> {
        let detector = register.detectors.get(&id)?;
        let place = detector.place.now()?;
        let name = |area: &Id| register.areas.get(area).and_then(|group| group.now()).map(|area| area.name.clone());
        let circuit =
            place.circuit.and_then(|id| register.circuits.get(&id)?.now().map(|circuit| circuit.name.clone()));
        let mut parts: Vec<String> = name(&place.area).into_iter().chain(circuit).collect();
        parts.extend(place.address.clone());
        Some(Facts {
            tag: place.tag.clone(),
            place: parts.join(" · "),
            marking: marking(detector, unit),
            warnings: warnings(detector, visit),
            standing: if visit.tests_of(id).next().is_some() {
                "This test will be as left; the one before stands."
            } else {
                "This test will be as found."
            },
        })
    }
}

/// Type, rating and tolerance in one line.
pub fn marking(detector: &Detector, unit: Degree) -> String {
    detector.marking.now().map_or_else(|| "not complete in the register".into(), |marking| marked(marking, unit))
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
            if rating.unit == unit { rating.text() } else { rating.celsius().text(unit, 0) } + " " + unit.symbol();
        let tolerance = match (&marking.minus, &marking.plus) {
            (Some(minus), Some(plus)) => {
                let symbol = if unit == Degree::C { "K" } else { "°F" };
                format!(" −{} / +{} {symbol}", size(minus), size(plus))
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
    parts.join(" · ")
}

fn warnings(detector: &Detector, visit: &Visit) -> Vec<String> {
    let Some(duty) = detector.duty.now() else { return Vec::new() };
    let secured = |release: &String| {
        let state = if visit.is_secured(release) { "secured" } else { "NOT secured" };
        format!("Releases {release}: {state}.")
    };
    let mut warnings: Vec<String> = duty.releases.iter().map(secured).collect();
    if duty.classified {
        warnings.push("Hazardous (classified) location: permit, gas test and an approved heater first.".into());
    }
    warnings.extend(duty.hazard.clone());
    warnings.extend(caution::IN_A_TEST.first().map(|caution| caution.words.to_string()));
    warnings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lag_is_seconds_with_either_decimal_sign_or_nothing() {
        // By hand: 1.5 s is 1,500 ms.
        let lag = |text: &str| Answers { lag: text.into(), ..Answers::default() }.lag_ms();
        assert_eq!(lag("1.5"), Some(1_500));
        assert_eq!(lag("1,5"), Some(1_500));
        assert_eq!(lag("0"), Some(0));
        for wrong in ["", "-1", "121", "soon", "1e9", "nan"] {
            assert_eq!(lag(wrong), None, "{wrong}");
        }
    }
}
