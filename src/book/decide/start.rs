//! What has to be right before heat goes on a detector.

use super::super::Id;
use super::super::body::{Body, FrozenDetector, FrozenHead, Started, What};
use super::super::command::{At, StartRun};
use super::super::entry::Scope;
use super::super::kit::Kit;
use super::super::log::Book;
use super::super::ramp::{curve_of, going_on};
use super::super::refusal::Refusal;
use super::super::register::{Detector, Register};
use super::super::round::{Permit, Round};
use super::super::run::Run;
use super::super::seal::Draft;
use super::round::open_round;
use super::{draft, fields};
use crate::order;
use crate::trade::detector::{LimitsFrom, Marking};
use crate::trade::head::{Cycle, HeadName, Heating};
use crate::trade::heating::{Heat, NONRESTORABLE_MARGIN, may_heat};
use crate::trade::procedure::{Procedure, Template};
use crate::trade::seen::Sign;
use crate::units::Reading;
use chrono::{DateTime, Duration, NaiveDate};
use std::sync::Arc;

/// Starts a run and marks heat on: one tap, one transaction.
pub(super) fn start(book: &Book, at: At, start: StartRun) -> Result<Vec<Draft>, Refusal> {
    let round = open_round(book, start.round)?;
    let started = ready(book, at, &round, &start)?;
    let (scope, run) = (Scope::Round(start.round), start.run);
    Ok(vec![draft(scope, Body::RunStarted(Arc::new(started))), draft(scope, Body::Mark { run, what: What::HeatOn })])
}

/// What a run would start with now, frozen; for the screen that asks before "start".
///
/// # Errors
/// The first refusal, as [`decide`](super::decide) would give it.
pub fn would_start(book: &Book, at: At, start: &StartRun) -> Result<Started, Refusal> {
    let round = open_round(book, start.round)?;
    ready(book, at, &round, start)
}

fn ready(book: &Book, at: At, round: &Round, start: &StartRun) -> Result<Started, Refusal> {
    if !at.durable {
        return Err(Refusal::NotDurable);
    }
    if book.run_origins(start.run).next().is_some() {
        return Err(Refusal::RunStarted);
    }
    let register = Register::of(book);
    let kit = Kit::of(book);
    let detector = register.detectors.get(&start.detector).ok_or(Refusal::UnknownDetector)?;
    let frozen = freeze_detector(start.detector, detector)?;
    let mut head = freeze_head(&kit, start.head, start.setting, start.mode.as_ref())?;
    let FrozenHead { name, heating, metrology, .. } = &head;
    let procedure =
        kit.procedures.get(&start.procedure).and_then(|group| group.now()).ok_or(Refusal::UnknownProcedure)?;

    if let Some(ambient) = &start.ambient {
        fields::temperature("Ambient temperature", ambient, fields::AMBIENT)?;
    }
    fields::seconds("Notice delay", start.seen_by.delay_ms, (0, 120))?;
    fields::seconds("Notice delay, standard uncertainty", start.seen_by.delay_u_ms, (0, 120))?;
    if !procedure.confirmed {
        return Err(Refusal::NotConfirmed);
    }
    may_it_be_heated(&frozen.marking, procedure, heating, start)?;
    cycle_fits(heating, procedure)?;
    duty_allows(at, std::slice::from_ref(round), detector, name)?;
    if procedure.template == Template::SetPoint {
        let due = metrology.due.as_ref().filter(|due| fields::day(due).is_some_and(|day| day < today(at)));
        if let Some(due) = due {
            return Err(Refusal::CalibrationOverdue { due: due.clone() });
        }
    }
    side_by_side(&register, round, start, &frozen)?;
    beside_ramps(book, at, &register, start, &frozen)?;

    head.curve = curve_of(book, start.head, start.mode.as_ref());
    let follows = round.runs_of(start.detector).last().map(|run| run.id);
    Ok(Started {
        run: start.run,
        follows,
        detector: frozen,
        head,
        procedure: procedure.clone(),
        seen_by: start.seen_by,
        display_read: start.display_read,
        ambient: start.ambient,
        air: start.air,
        head_warmth: start.head_warmth,
        detector_warmth: start.detector_warmth,
        visual: start.visual,
    })
}

/// The head with this setting and mode, with no curve yet.
pub(super) fn freeze_head(kit: &Kit, of: Id, setting: Reading, mode: Option<&String>) -> Result<FrozenHead, Refusal> {
    let head = kit.heads.get(&of).ok_or(Refusal::UnknownHead)?;
    let (Some(name), Some(heating)) = (head.name.now(), head.heating.now()) else { return Err(Refusal::UnknownHead) };
    if !heating.settings.contains(&setting) || mode.is_some_and(|mode| !heating.modes.contains(mode)) {
        return Err(Refusal::NoSuchSetting);
    }
    Ok(FrozenHead {
        of,
        name: name.clone(),
        heating: heating.clone(),
        metrology: head.metrology.now().cloned().unwrap_or_default(),
        setting,
        mode: mode.cloned(),
        curve: Vec::new(),
    })
}

/// What the detector releases is secured in one of these rounds, and a hazardous location has its permit there.
pub(super) fn duty_allows(at: At, rounds: &[Round], detector: &Detector, head: &HeadName) -> Result<(), Refusal> {
    // Where two edits of the duty stand side by side, each of them may be the right one.
    let duties = || detector.duty.versions().map(|(_, duty)| duty);
    let secured = |release: &String| rounds.iter().any(|round| round.is_secured(release));
    let releases = order::set(duties().flat_map(|duty| &duty.releases).filter(|release| !secured(release)).cloned());
    let releases: Vec<String> = releases.into_iter().collect();
    if !releases.is_empty() {
        return Err(Refusal::NotSecured { releases });
    }
    if duties().any(|duty| duty.classified) {
        let here = detector.place.now().map(|place| place.area);
        let holds =
            |permit: &&Permit| permit.area.is_none_or(|area| Some(area) == here) && permit.until > at.stamp.wall;
        rounds.iter().flat_map(|round| &round.permits).find(holds).ok_or(Refusal::NoPermit)?;
        head.hazardous_approval.as_ref().ok_or(Refusal::HeadNotApproved)?;
    }
    Ok(())
}

pub(super) fn freeze_detector(of: Id, detector: &Detector) -> Result<FrozenDetector, Refusal> {
    if detector.marking.conflict() {
        return Err(Refusal::Conflict);
    }
    match (detector.place.now(), detector.marking.now(), detector.marking.edit()) {
        (Some(place), Some(marking), Some(marked_by)) if !detector.retired() => Ok(FrozenDetector {
            of,
            place: place.clone(),
            marking: marking.clone(),
            duty: detector.duty.now().cloned().unwrap_or_default(),
            marked_by,
        }),
        _ => Err(Refusal::UnknownDetector),
    }
}

fn may_it_be_heated(
    marking: &Marking,
    procedure: &Procedure,
    heating: &Heating,
    start: &StartRun,
) -> Result<(), Refusal> {
    let verdict = may_heat(marking.kind, marking.class.is_some(), procedure.template);
    let upper = heating.upper(&start.setting);
    let rating = marking.rating.map(Reading::celsius);
    match verdict {
        Heat::UsesUpElement | Heat::NoSetPoint => return Err(Refusal::Heat(verdict)),
        Heat::BelowElement => {
            let rating = rating.ok_or(Refusal::NoRating)?;
            if upper + NONRESTORABLE_MARGIN > rating {
                return Err(Refusal::TooNearElement { upper, rating, margin: NONRESTORABLE_MARGIN });
            }
            return Ok(());
        }
        Heat::WithOwnerLimits => {
            let owner = marking.limits_from == Some(LimitsFrom::Owner) && marking.minus.is_some();
            if !owner && procedure.limits.is_none() {
                return Err(Refusal::Heat(verdict));
            }
        }
        Heat::Allowed => {}
    }
    match rating {
        Some(rating) if upper < rating => Err(Refusal::SettingBelowRating { upper, rating }),
        None if procedure.template == Template::SetPoint => Err(Refusal::NoRating),
        _ => Ok(()),
    }
}

/// A head that cycles by itself cannot be told by a procedure what to do.
fn cycle_fits(heating: &Heating, procedure: &Procedure) -> Result<(), Refusal> {
    match heating.cycle {
        Cycle::ByItself { hold_first_ms: hold_ms, off_ms, .. }
            if procedure.template == Template::SetPoint
                && (procedure.soak_ms != hold_ms || procedure.off_ms != off_ms) =>
        {
            Err(Refusal::HeadCycleDiffers { hold_ms, off_ms })
        }
        _ => Ok(()),
    }
}

/// Runs that go on at the same time, on any phone.
fn side_by_side(register: &Register, round: &Round, start: &StartRun, frozen: &FrozenDetector) -> Result<(), Refusal> {
    // A detector's own lamp is seen at the detector; everything else is seen on the circuit.
    let by_circuit = |run: &Run| start.seen_by.sign != Sign::OwnLamp || run.frozen.seen_by.sign != Sign::OwnLamp;
    for run in round.active() {
        let other = &run.frozen.detector;
        if other.of == start.detector {
            return Err(Refusal::DetectorBusy);
        }
        if run.frozen.head.of == start.head {
            return Err(Refusal::HeadBusy { run: run.id });
        }
        if alike_at_panel(register, frozen, other) && by_circuit(run) {
            return Err(Refusal::TripsNotTellable { run: run.id });
        }
        if other.place.area == frozen.place.area {
            let release = frozen.duty.releases.iter().find(|release| other.duty.releases.contains(release));
            if let Some(release) = release {
                return Err(Refusal::SameRelease { run: run.id, release: release.clone() });
            }
        }
    }
    Ok(())
}

/// Whether the panel could not tell two detectors apart.
pub(super) fn alike_at_panel(register: &Register, one: &FrozenDetector, other: &FrozenDetector) -> bool {
    let tells_apart =
        |circuit| register.circuits.get(&circuit).and_then(|group| group.now()).is_some_and(|now| now.tells_apart);
    one.place.circuit.is_some_and(|circuit| other.place.circuit == Some(circuit) && !tells_apart(circuit))
}

/// Ramps that this phone takes at the same time.
fn beside_ramps(
    book: &Book,
    at: At,
    register: &Register,
    start: &StartRun,
    frozen: &FrozenDetector,
) -> Result<(), Refusal> {
    for ramp in going_on(book, at.phone) {
        if ramp.frozen.head.of == start.head {
            return Err(Refusal::HeadInRamp);
        }
        let Some(heated) = &ramp.frozen.detector else { continue };
        let not_told = alike_at_panel(register, frozen, heated) && start.seen_by.sign != Sign::OwnLamp;
        if heated.of == start.detector || not_told {
            return Err(Refusal::DetectorInRamp);
        }
    }
    Ok(())
}

/// The calendar day on the phone.
fn today(at: At) -> NaiveDate {
    let local = DateTime::from_timestamp_millis(at.stamp.wall).unwrap_or_default();
    local.naive_utc().checked_add_signed(Duration::minutes(at.offset_min)).unwrap_or_default().date()
}
