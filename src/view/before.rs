//! What is asked before a run, with last time's answers offered.

use crate::book::body::Started;
use crate::book::command::StartRun;
use crate::book::kit::Kit;
use crate::book::register::{Detector, Register};
use crate::book::{Id, round::Round};
use crate::encoding::stored::settings;
use crate::findings;
use crate::trade::caution;
use crate::trade::detector::Marking;
use crate::trade::head::Heating;
use crate::trade::heating::{Heat, NONRESTORABLE_MARGIN, may_heat};
use crate::trade::procedure::Template;
use crate::trade::seen::{Air, Resets, SeenBy, Sign, Visual, Warmth};
use crate::units::{Celsius, Degree, Difference, NotANumber, Reading, Seconds};
use crate::view::findings::one::sentence;
use std::cmp::Ordering;

/// The answers. Kept as a setting and offered again; the visual check is asked afresh each time, because an untouched answer
/// would claim that somebody looked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answers {
    /// The head.
    pub head: Option<Id>,
    /// Its setting.
    pub setting: Option<Reading>,
    /// Its mode.
    pub mode: Option<String>,
    /// The procedure.
    pub procedure: Option<Id>,
    /// What shows a trip.
    pub sign: Sign,
    /// Whether the panel latches.
    pub latching: bool,
    /// Whether alarm verification is on.
    pub verification: bool,
    /// Whether resets are watched.
    pub resets: Resets,
    /// Notice delay as typed, s.
    pub delay: String,
    /// Whether the display is read at each trip.
    pub display_read: bool,
    /// Ambient temperature as typed.
    pub ambient: String,
    /// Unit it was typed in.
    pub ambient_unit: Degree,
    /// Whether the air moves.
    pub air: Option<Air>,
    /// Start temperature of the head.
    pub head_warmth: Warmth,
    /// Start temperature of the detector.
    pub detector_warmth: Warmth,
    /// What the eye says.
    pub visual: Visual,
}

// `visual` is left out: it is never kept.
settings!(Answers {
    head,
    setting,
    mode,
    procedure,
    sign,
    latching,
    verification,
    resets,
    delay,
    display_read,
    ambient,
    ambient_unit,
    air,
    head_warmth,
    detector_warmth
});

impl Default for Answers {
    fn default() -> Answers {
        Answers {
            head: None,
            setting: None,
            mode: None,
            procedure: None,
            sign: Sign::OwnLamp,
            latching: false,
            verification: false,
            resets: Resets::NotWatched,
            delay: "0".to_string(),
            display_read: true,
            ambient: String::new(),
            ambient_unit: Degree::F,
            air: None,
            head_warmth: Warmth::Cold,
            detector_warmth: Warmth::Cold,
            visual: Visual::NotDone,
        }
    }
}

impl Answers {
    /// Last time's answers, mended where they do not fit the kit or this detector: the setting is offered by its rating, what
    /// there is only one of is taken.
    pub fn offered(mut self, kit: &Kit, marking: Option<&Marking>) -> Answers {
        if !self.head.is_some_and(|head| kit.heads.contains_key(&head)) {
            self.head = kit.heads_by_name().first().map(|(id, _)| *id);
        }
        let heating = self.head.and_then(|head| kit.heads.get(&head)).and_then(|head| head.heating.now());
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

    /// The notice delay, ms; none where no number from 0 to 120 s is typed.
    pub fn delay_ms(&self) -> Option<i64> {
        let seconds = Seconds::parse(&self.delay).ok()?;
        (0.0..=120.0).contains(&seconds.0).then(|| (seconds.0 * 1_000.0).round() as i64)
    }

    /// The command that starts the run; none while head, setting or procedure are missing or ambient or delay are no number.
    pub fn start(&self, round: Id, run: Id, detector: Id) -> Option<StartRun> {
        Some(StartRun {
            round,
            run,
            detector,
            head: self.head?,
            setting: self.setting?,
            mode: self.mode.clone(),
            procedure: self.procedure?,
            seen_by: SeenBy {
                sign: self.sign,
                latching: self.latching,
                verification: self.verification,
                delay_ms: self.delay_ms()?,
                delay_u_ms: self.delay_ms()? / 2,
                resets: self.resets,
            },
            display_read: self.display_read,
            ambient: self.ambient_reading().ok()?,
            air: self.air,
            head_warmth: self.head_warmth,
            detector_warmth: self.detector_warmth,
            visual: self.visual,
        })
    }
}

/// The setting for a detector: the lowest that reaches its upper limit, or at least its rating. Under a nonrestorable element
/// it is the highest that stays the margin below.
fn fitting(heating: &Heating, marking: &Marking) -> Option<Reading> {
    let rating = marking.rating?.celsius();
    let upper = |setting: &&Reading| heating.upper(setting);
    let lowest = |from: Celsius| {
        let reach = heating.settings.iter().filter(|setting| upper(setting) >= from);
        reach.min_by(|a, b| upper(a).partial_cmp(&upper(b)).unwrap_or(Ordering::Equal)).copied()
    };
    if may_heat(marking.kind, marking.class.is_some(), Template::Response) == Heat::BelowElement {
        let below = heating.settings.iter().filter(|setting| upper(setting) + NONRESTORABLE_MARGIN <= rating);
        return below.max_by(|a, b| upper(a).partial_cmp(&upper(b)).unwrap_or(Ordering::Equal)).copied();
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
    let (head, detector) = (answers.head_warmth.words(), answers.detector_warmth.words());
    let ambient = match answers.ambient.trim() {
        "" => "ambient not taken".to_string(),
        ambient => format!("ambient {ambient} {}", answers.ambient_unit.symbol()),
    };
    format!("Head {}, detector {}, {ambient}{air}", head.to_ascii_lowercase(), detector.to_ascii_lowercase())
}

/// How trips are seen in a line, above its fold.
pub fn seeing(answers: &Answers) -> String {
    let reading = if answers.display_read { "display read" } else { "display not read" };
    format!("Seen by: {} · resets {} · {reading}", answers.sign.words(), answers.resets.words().to_ascii_lowercase())
}

/// What head and limits cannot decide between them, known before the start: a sentence each.
pub fn remarks(started: &Started) -> Vec<String> {
    let (head, marking, procedure) = (&started.head, &started.detector.marking, &started.procedure);
    let remarks = findings::before(head, marking, procedure);
    let mut all: Vec<String> = remarks.iter().map(|remark| sentence(&remark.to_string())).collect();
    let lacking: Vec<String> = findings::lacking(head, marking, procedure).iter().map(ToString::to_string).collect();
    if !lacking.is_empty() {
        all.push(format!("No statement will be possible. Missing: {}.", lacking.join("; ")));
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
    /// Kind, rating and tolerance.
    pub marking: String,
    /// What to know before going up: each a sentence.
    pub warnings: Vec<String>,
    /// As found, or as left after which run.
    pub standing: &'static str,
}

impl Facts {
    /// The facts of a detector of this round.
    pub fn of(register: &Register, round: &Round, id: Id, unit: Degree) -> Option<Facts> {
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
            warnings: warnings(detector, round),
            standing: if round.runs_of(id).next().is_some() {
                "This run will be as left; the one before stands."
            } else {
                "This run will be as found."
            },
        })
    }
}

/// Kind, rating and tolerance in one line.
pub fn marking(detector: &Detector, unit: Degree) -> String {
    detector.marking.now().map_or_else(|| "not complete in the register".into(), |marking| marked(marking, unit))
}

/// Kind, rating, tolerance and class. What was marked in the unit of the screen keeps its digits.
pub fn marked(marking: &Marking, unit: Degree) -> String {
    let size = |limit: &Difference| {
        let text = if limit.unit == unit { limit.text() } else { limit.kelvin().text(unit, 1) };
        text.trim_start_matches(['-', '−']).to_string()
    };
    let mut parts = vec![marking.kind.words().to_string()];
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
            crate::trade::kind::Suffix::R => "R",
            crate::trade::kind::Suffix::S => "S",
        });
        parts.push(format!("EN 54-5 class {}{suffix}", class.words()));
    }
    parts.join(" · ")
}

fn warnings(detector: &Detector, round: &Round) -> Vec<String> {
    let Some(duty) = detector.duty.now() else { return Vec::new() };
    let secured = |release: &String| {
        let state = if round.is_secured(release) { "secured" } else { "NOT secured" };
        format!("Releases {release}: {state}.")
    };
    let mut warnings: Vec<String> = duty.releases.iter().map(secured).collect();
    if duty.classified {
        warnings.push("Hazardous (classified) location: permit, gas test and an approved head first.".into());
    }
    warnings.extend(duty.hazard.clone());
    warnings.extend(caution::IN_A_RUN.first().map(|caution| caution.words.to_string()));
    warnings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_delay_is_seconds_with_either_decimal_sign_or_nothing() {
        // By hand: 1.5 s is 1,500 ms.
        let delay = |text: &str| Answers { delay: text.into(), ..Answers::default() }.delay_ms();
        assert_eq!(delay("1.5"), Some(1_500));
        assert_eq!(delay("1,5"), Some(1_500));
        assert_eq!(delay("0"), Some(0));
        for wrong in ["", "-1", "121", "soon", "1e9", "nan"] {
            assert_eq!(delay(wrong), None, "{wrong}");
        }
    }
}
