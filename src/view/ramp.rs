//! The guided ramp: what is asked before, and the screen while it goes on.

use super::curve::{Plot, plain_plot};
use super::{time, words};
use crate::book::body::{Body, What};
use crate::book::clock::ClockNote;
use crate::book::command::StartRamp;
use crate::book::entry::Hash;
use crate::book::kit::Kit;
use crate::book::log::Book;
use crate::book::ramp::{READINGS_AT_LEAST, Ramp, RampPhase, ramps_of};
use crate::book::register::Register;
use crate::book::{Id, round::Round};
use crate::trade::head::{Cycle, Heating};
use crate::trade::heating::{Heat, may_heat};
use crate::trade::procedure::Template;
use crate::trade::seen::Warmth;
use crate::units::{Celsius, Degree, Difference, Reading};

/// Readings of the climb that are asked for: twice the six that a choice between the two curves takes. The project's own figure.
pub const READINGS_WANTED: usize = 12;

/// Readings at the upper temperature that are asked for: two are the fewest that show what it holds.
pub const HELD_WANTED: usize = 3;

/// Readings while it cools that are asked for. The project's own figure.
pub const COOLING_WANTED: usize = 8;

/// Time between two readings where the head gives no climb time, ms.
const EVERY_MS: i64 = 15_000;

/// Below this ambient temperature, in degrees of the display, a cold head may show a minus sign.
const MINUS_BELOW: f64 = 10.0;

/// Time between two readings while it holds, ms.
const HOLD_EVERY_MS: i64 = 30_000;

/// What is asked before a ramp.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RampAnswers {
    /// Setting.
    pub setting: Option<Reading>,
    /// Mode.
    pub mode: Option<String>,
    /// The detector in place.
    pub detector: Option<Id>,
    /// Ambient temperature as dialled.
    pub ambient: Option<Reading>,
    /// Start temperature of the head.
    pub head_warmth: Warmth,
    /// Who takes it, as typed.
    pub by: String,
}

impl RampAnswers {
    /// What is offered: the setting, mode and name of the last ramp of this head; the ambient temperature is asked afresh.
    pub fn offered(book: &Book, head: Id) -> RampAnswers {
        let kit = Kit::of(book);
        let heating = kit.heads.get(&head).and_then(|head| head.heating.now());
        let last = ramps_of(book, head).into_iter().next();
        let frozen = last.map(|ramp| ramp.frozen);
        let known = |heating: &Heating, setting: &Reading| heating.settings.contains(setting);
        let setting = frozen.as_ref().map(|frozen| frozen.head.setting);
        let mode = frozen.as_ref().and_then(|frozen| frozen.head.mode.clone());
        let by = frozen.and_then(|frozen| frozen.by);
        let person = by.and_then(|by| kit.people.get(&by)).and_then(|group| group.now());
        RampAnswers {
            setting: setting
                .filter(|setting| heating.is_some_and(|heating| known(heating, setting)))
                .or_else(|| heating.and_then(|heating| heating.settings.first().copied())),
            mode: mode
                .filter(|mode| heating.is_some_and(|heating| heating.modes.contains(mode)))
                .or_else(|| heating.and_then(|heating| heating.modes.first().cloned())),
            detector: None,
            ambient: None,
            head_warmth: Warmth::Cold,
            by: person.and_then(|person| book.words(person.name)).unwrap_or_default().to_string(),
        }
    }

    /// The command; none while something is missing.
    pub fn start(&self, ramp: Id, head: Id, by: Option<Id>) -> Option<StartRamp> {
        Some(StartRamp {
            ramp,
            head,
            setting: self.setting?,
            mode: self.mode.clone(),
            detector: self.detector,
            ambient: self.ambient?,
            head_warmth: self.head_warmth,
            by,
        })
    }
}

/// The detectors that may be heated, by tag: those of the round's site, without a round those of every site.
pub fn detectors(register: &Register, round: Option<&Round>) -> Vec<(Id, String)> {
    let mut found = Vec::new();
    for (id, detector) in &register.detectors {
        let here = round.is_none_or(|round| register.site_of(*id) == Some(round.site));
        let kind = detector.marking.now().map(|marking| marking.kind);
        let heated = |kind| may_heat(kind, false, Template::SetPoint) != Heat::UsesUpElement;
        if here && !detector.retired() && kind.is_some_and(heated) {
            found.push((*id, detector.tag().to_string()));
        }
    }
    crate::order::by(found, |(id, tag)| (0, 0, format!("{tag}\0{id}")))
}

/// The step of the digits a reading is dialled in: the display's, or tenths of the screen's unit where the head has none.
pub fn step(heating: &Heating, unit: Degree) -> Difference {
    heating.resolution.unwrap_or(Difference { value: 1, scale: -1, unit })
}

/// The ramp that goes on, as a screen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RampScreen {
    /// Which.
    pub id: Id,
    /// Name of the head.
    pub head: String,
    /// Setting, mode, ambient temperature, detector.
    pub under: String,
    /// What happens now.
    pub heading: String,
    /// What to do.
    pub advice: String,
    /// Time since it began.
    pub clock: String,
    /// Whether a reading is due.
    pub due: bool,
    /// Below the word on the big key.
    pub hint: String,
    /// The marks that make sense now.
    pub marks: Vec<What>,
    /// Whether it can be ended as usable.
    pub may_end: bool,
    /// Step of the digits; none only before there is a screen.
    pub step: Option<Difference>,
    /// Whether a reading may lie below zero of its scale.
    pub below_zero: bool,
    /// The last entry, for undo, and its name.
    pub last: Option<(Hash, String)>,
    /// The last mark, to be moved, its name and its time.
    pub moves: Option<(Hash, &'static str, String)>,
    /// Notes on its time.
    pub clock_notes: Vec<String>,
    /// A sleep that is asked about.
    pub ask_sleep: Option<Hash>,
    /// The readings so far.
    pub plot: Option<Plot>,
}

impl RampScreen {
    /// Shapes a ramp at `now`, ms since heat on.
    pub fn of(book: &Book, ramp: &Ramp, now: i64, unit: Degree) -> RampScreen {
        let frozen = &ramp.frozen;
        let heating = &frozen.head.heating;
        let phase = ramp.phase();
        let since = match phase {
            RampPhase::Heating { since } | RampPhase::Holding { since } | RampPhase::Cooling { since } => since,
            RampPhase::Ended { at, .. } => at,
        };
        let here = ramp.readings.iter().filter(|reading| reading.at >= since);
        let (count, last) = (here.clone().count(), here.map(|reading| reading.at).max());
        let left = last.unwrap_or(since).saturating_add(every(phase, heating)).saturating_sub(now);
        let (heading, advice, marks) = said(phase, heating, count, now);
        let tag = frozen.detector.as_ref().map(|detector| detector.place.tag.clone());
        let ambient = format!("ambient {} {}", frozen.ambient.text(), frozen.ambient.unit.symbol());
        let upper = words::climbs_to(&words::degrees(heating.upper(&frozen.head.setting), unit, 0));
        let under = [Some(upper), frozen.head.mode.clone(), Some(ambient), tag];
        RampScreen {
            id: ramp.id,
            head: frozen.head.name.name.clone(),
            under: under.into_iter().flatten().collect::<Vec<_>>().join(" · "),
            heading,
            advice,
            clock: time::gone(now.saturating_sub(since)),
            due: last.is_some() && left <= 0,
            hint: words::reading_due(count, if last.is_some() { left } else { 0 }),
            marks,
            may_end: matches!(phase, RampPhase::Cooling { .. }) && ramp.while_heating().len() >= READINGS_AT_LEAST,
            step: Some(step(heating, unit)),
            below_zero: frozen.ambient.celsius() < Celsius::from_degrees(MINUS_BELOW, step(heating, unit).unit),
            last: ramp.last.filter(|hash| *hash != ramp.start).and_then(|hash| Some((hash, name_of(book, hash)?))),
            moves: ramp.marks.last().map(|mark| (mark.hash, words::what(mark.what), time::gone(mark.at))),
            clock_notes: ramp.clock_notes.iter().map(|(_, note)| words::clock_note(note)).collect(),
            ask_sleep: ramp.clock_notes.iter().find_map(|(_, note)| match note {
                ClockNote::Asleep { answered: false, gap, .. } => Some(*gap),
                _ => None,
            }),
            plot: (!ramp.readings.is_empty()).then(|| plain_plot(ramp, unit)),
        }
    }
}

/// Time between two readings, ms: as many as are asked for in the head's own climb, while cooling twice as far apart.
fn every(phase: RampPhase, heating: &Heating) -> i64 {
    let climb = heating.cycle.climb_ms(1).map(|ms| ms / READINGS_WANTED as i64);
    let every = climb.map_or(EVERY_MS, |ms| (ms / 5_000 * 5_000).clamp(5_000, 60_000));
    match phase {
        RampPhase::Holding { .. } => HOLD_EVERY_MS,
        RampPhase::Cooling { .. } => every.saturating_mul(2),
        RampPhase::Heating { .. } | RampPhase::Ended { .. } => every,
    }
}

fn said(phase: RampPhase, heating: &Heating, count: usize, now: i64) -> (String, String, Vec<What>) {
    let often = time::gone(every(phase, heating));
    let more = |wanted: usize| wanted.saturating_sub(count);
    let asked = |wanted: usize, then: &str| match more(wanted) {
        0 => then.to_string(),
        more => words::more_readings(more, &often),
    };
    match phase {
        RampPhase::Heating { .. } => {
            let advice = asked(READINGS_WANTED, "Enough; go on until the upper temperature and mark it.");
            ("Heating".into(), advice, vec![What::AtUpper, What::HeadOff])
        }
        RampPhase::Holding { .. } => {
            let then = match heating.cycle {
                Cycle::ByItself { .. } => "Mark when it goes off; then keep it off.",
                Cycle::ByHand { .. } => "Switch the head off and mark it.",
            };
            ("At upper temperature".into(), asked(HELD_WANTED, then), vec![What::HeadOff])
        }
        RampPhase::Cooling { since } => {
            // A head that cycles by itself heats again while nobody keeps it off.
            let on_again = match heating.cycle {
                Cycle::ByItself { off_ms, .. } if now.saturating_sub(since).saturating_add(ON_AGAIN_MS) >= off_ms => {
                    true
                }
                Cycle::ByItself { .. } | Cycle::ByHand { .. } => false,
            };
            let advice = match (on_again, count) {
                (true, _) if more(COOLING_WANTED) > 0 => {
                    format!("Keep it off: it comes on again by itself. {}", asked(COOLING_WANTED, ""))
                }
                _ => asked(COOLING_WANTED, "Enough; end it, or go on until it is half way to ambient."),
            };
            ("Cooling".into(), advice, Vec::new())
        }
        RampPhase::Ended { .. } => (words::END_RAMP.into(), String::new(), Vec::new()),
    }
}

/// How long before a head comes on by itself that is said, ms.
const ON_AGAIN_MS: i64 = 20_000;

fn name_of(book: &Book, hash: Hash) -> Option<String> {
    Some(match &book.get(hash)?.body {
        Body::Mark { what, .. } => words::what(*what).to_string(),
        Body::ReadingTaken { reading, .. } => format!("reading {} {}", reading.text(), reading.unit.symbol()),
        Body::RampEnded { .. } => words::END_RAMP.to_string(),
        _ => return None,
    })
}
