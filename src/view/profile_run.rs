//! The profile run: what is asked before, and the screen while it goes on.

use super::profile::{Plot, plain_plot};
use super::test::LastMark;
use super::{time, words};
use crate::book::body::{Body, What};
use crate::book::clock::ClockNote;
use crate::book::command::StartProfileRun;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::kit::Kit;
use crate::book::profile_run::{ProfileRun, ProfileRunPhase, READINGS_AT_LEAST, profile_runs_of};
use crate::book::register::Register;
use crate::book::{Id, visit::Visit};
use crate::trade::conditions::Warmth;
use crate::trade::heater::{Cycle, Heating};
use crate::trade::heating::{Heat, may_heat};
use crate::trade::procedure::ProcedureKind;
use crate::units::{Celsius, Degree, Difference, Reading, TestTime};

/// Readings of the heat-up that are asked for: twice the six that a choice between the two profiles takes. The project's own figure.
pub const READINGS_WANTED: usize = 12;

/// Readings at the top temperature that are asked for: two are the fewest that show what it holds.
pub const HELD_WANTED: usize = 3;

/// Readings while it cools that are asked for. The project's own figure.
pub const COOLING_WANTED: usize = 8;

/// Time between two readings where the heater gives no heat-up time, ms.
const EVERY_MS: i64 = 15_000;

/// Below this ambient temperature, in degrees of the display, a cold heater may show a minus sign.
const MINUS_BELOW: f64 = 10.0;

/// Time between two readings while it holds, ms.
const HOLD_EVERY_MS: i64 = 30_000;

/// What is asked before a profile run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProfileRunAnswers {
    /// Setting.
    pub setting: Option<Reading>,
    /// Mode.
    pub mode: Option<String>,
    /// The position of the detector in place.
    pub position: Option<Id>,
    /// Ambient temperature as dialled.
    pub ambient: Option<Reading>,
    /// Start temperature of the heater.
    pub heater_warmth: Warmth,
}

impl ProfileRunAnswers {
    /// What is offered: the setting and mode of the last profile run of this heater; the ambient temperature is asked afresh.
    pub fn offered(book: &Book, heater: Id) -> ProfileRunAnswers {
        let kit = Kit::of(book);
        let heating = kit.heaters.get(&heater).and_then(|heater| heater.heating.now());
        let last = profile_runs_of(book, heater).into_iter().next();
        let frozen = last.map(|profile_run| profile_run.frozen);
        let known = |heating: &Heating, setting: &Reading| heating.settings.contains(setting);
        let setting = frozen.as_ref().map(|frozen| frozen.heater.setting);
        let mode = frozen.as_ref().and_then(|frozen| frozen.heater.mode.clone());
        ProfileRunAnswers {
            setting: setting
                .filter(|setting| heating.is_some_and(|heating| known(heating, setting)))
                .or_else(|| heating.and_then(|heating| heating.settings.first().copied())),
            mode: mode
                .filter(|mode| heating.is_some_and(|heating| heating.modes.contains(mode)))
                .or_else(|| heating.and_then(|heating| heating.modes.first().cloned())),
            position: None,
            ambient: None,
            heater_warmth: Warmth::Cold,
        }
    }

    /// The command; none while something is missing.
    pub fn start(&self, run: Id, heater: Id) -> Option<StartProfileRun> {
        Some(StartProfileRun {
            run,
            heater,
            setting: self.setting?,
            mode: self.mode.clone(),
            position: self.position,
            ambient: self.ambient?,
            heater_warmth: self.heater_warmth,
        })
    }
}

/// The positions whose detectors may be heated, by tag: those of the visit's site, without a visit those of every site.
pub fn positions(register: &Register, visit: Option<&Visit>) -> Vec<(Id, String)> {
    let mut found = Vec::new();
    for (id, position) in &register.positions {
        let here = visit.is_none_or(|visit| register.site_of(*id) == Some(visit.site));
        let detector_type = register.marking_of(position).map(|marking| marking.detector_type);
        let heated = |of| !matches!(may_heat(of, ProcedureKind::Functional), Heat::UsesUpElement | Heat::TypeUnknown);
        if here && !position.retired() && detector_type.is_some_and(heated) {
            found.push((*id, position.tag().to_string()));
        }
    }
    crate::order::by(found, |(id, tag)| (0, 0, format!("{tag}\0{id}")))
}

/// The step of the digits a reading is dialled in: the display's, or tenths of the screen's unit where the heater has none.
pub fn step(heating: &Heating, unit: Degree) -> Difference {
    heating.resolution.unwrap_or(Difference { value: 1, scale: -1, unit })
}

/// The profile run that goes on, as a screen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ProfileRunScreen {
    /// Which.
    pub id: Id,
    /// Name of the heater.
    pub heater: String,
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
    /// The last entry, for undo.
    pub last: Option<LastMark>,
    /// The last mark, to be moved, its name and its time.
    pub moves: Option<(Hash, &'static str, String)>,
    /// Notes on its time.
    pub clock_notes: Vec<String>,
    /// A sleep that is asked about.
    pub ask_sleep: Option<Hash>,
    /// The readings so far.
    pub plot: Option<Plot>,
}

impl ProfileRunScreen {
    /// Shapes a profile run at `now`, ms since heat on.
    pub fn of(book: &Book, profile_run: &ProfileRun, now: TestTime, unit: Degree) -> ProfileRunScreen {
        let frozen = &profile_run.frozen;
        let heating = &frozen.heater.heating;
        let phase = profile_run.phase();
        let since = match phase {
            ProfileRunPhase::Heating { since }
            | ProfileRunPhase::Holding { since }
            | ProfileRunPhase::Cooling { since } => since,
            ProfileRunPhase::Ended { at, .. } => at,
        };
        let here = profile_run.readings.iter().filter(|reading| reading.at >= since);
        let (count, last) = (here.clone().count(), here.map(|reading| reading.at).max());
        let left = last.unwrap_or(since).saturating_add(every(phase, heating)).saturating_sub(now);
        let (heading, advice, marks) = said(phase, heating, count, now);
        let ambient = format!("ambient {}", words::as_displayed(&frozen.ambient));
        let top = words::tops_out_at(&words::degrees(heating.top(&frozen.heater.setting), unit, 0));
        let under = [Some(top), frozen.heater.mode.clone(), Some(ambient)];
        ProfileRunScreen {
            id: profile_run.id,
            heater: frozen.heater.name.name.clone(),
            under: under.into_iter().flatten().collect::<Vec<_>>().join(" · "),
            heading,
            advice,
            clock: time::gone(now.saturating_sub(since)),
            due: last.is_some() && left <= 0,
            hint: words::reading_due(count, if last.is_some() { left } else { 0 }),
            marks,
            may_end: matches!(phase, ProfileRunPhase::Cooling { .. })
                && profile_run.while_heating().len() >= READINGS_AT_LEAST,
            step: Some(step(heating, unit)),
            below_zero: frozen.ambient.celsius() < Celsius::from_degrees(MINUS_BELOW, step(heating, unit).unit),
            last: profile_run
                .last
                .filter(|hash| *hash != profile_run.start)
                .and_then(|entry| Some(LastMark { entry, name: name_of(book, entry)?, whole_test: false })),
            moves: profile_run
                .marks
                .last()
                .map(|mark| (mark.hash, words::what(mark.what), time::gone(mark.at.since_heat_on()))),
            clock_notes: profile_run.clock_notes.iter().map(|(_, note)| words::clock_note(note)).collect(),
            ask_sleep: profile_run.clock_notes.iter().find_map(|(_, note)| match note {
                ClockNote::Asleep { answered: false, gap, .. } => Some(*gap),
                _ => None,
            }),
            plot: (!profile_run.readings.is_empty()).then(|| plain_plot(profile_run, unit)),
        }
    }
}

/// Time between two readings, ms: as many as are asked for in the heater's own heat-up, while cooling twice as far apart.
fn every(phase: ProfileRunPhase, heating: &Heating) -> i64 {
    let heat_up = heating.cycle.heat_up_ms(1).map(|ms| ms / READINGS_WANTED as i64);
    let every = heat_up.map_or(EVERY_MS, |ms| (ms / 5_000 * 5_000).clamp(5_000, 60_000));
    match phase {
        ProfileRunPhase::Holding { .. } => HOLD_EVERY_MS,
        ProfileRunPhase::Cooling { .. } => every.saturating_mul(2),
        ProfileRunPhase::Heating { .. } | ProfileRunPhase::Ended { .. } => every,
    }
}

fn said(phase: ProfileRunPhase, heating: &Heating, count: usize, now: TestTime) -> (String, String, Vec<What>) {
    let often = time::gone(every(phase, heating));
    let more = |wanted: usize| wanted.saturating_sub(count);
    let asked = |wanted: usize, then: &str| match more(wanted) {
        0 => then.to_string(),
        more => words::more_readings(more, &often),
    };
    match phase {
        ProfileRunPhase::Heating { .. } => {
            let advice = asked(READINGS_WANTED, "Enough. Continue to top temp and mark it.");
            ("Heating".into(), advice, vec![What::AtTop, What::HeaterOff])
        }
        ProfileRunPhase::Holding { .. } => {
            let then = match heating.cycle {
                Cycle::Auto { .. } => "Mark when it shuts off. Then keep it off.",
                Cycle::Manual { .. } => "Switch the heat off and mark it.",
            };
            ("At top temp".into(), asked(HELD_WANTED, then), vec![What::HeaterOff])
        }
        ProfileRunPhase::Cooling { since } => {
            // A heater that cycles by itself heats again while nobody keeps it off.
            let on_again = match heating.cycle {
                Cycle::Auto { off_ms: Some(off_ms), .. } => {
                    now.saturating_sub(since).saturating_add(ON_AGAIN_MS) >= off_ms
                }
                Cycle::Auto { .. } | Cycle::Manual { .. } => false,
            };
            let advice = match (on_again, count) {
                (true, _) if more(COOLING_WANTED) > 0 => {
                    format!("Keep it off: it restarts by itself. {}", asked(COOLING_WANTED, ""))
                }
                _ => asked(COOLING_WANTED, "Enough. End it, or continue until halfway to ambient."),
            };
            ("Cooling".into(), advice, Vec::new())
        }
        ProfileRunPhase::Ended { .. } => (words::END_PROFILE_RUN.into(), String::new(), Vec::new()),
    }
}

/// How long before a heater comes on by itself that is said, ms.
const ON_AGAIN_MS: i64 = 20_000;

fn name_of(book: &Book, hash: Hash) -> Option<String> {
    Some(match &book.get(hash)?.body {
        Body::Mark { what, .. } => words::what(*what).to_string(),
        Body::ReadingTaken { reading, .. } => format!("Reading {}", words::as_displayed(reading)),
        Body::ProfileRunEnded { .. } => words::END_PROFILE_RUN.to_string(),
        _ => return None,
    })
}
