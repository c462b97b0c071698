//! What has to be right before heat goes on a detector.

use super::super::Id;
use super::super::body::{Body, FrozenDetector, FrozenHead, Started, What};
use super::super::command::{At, StartRun};
use super::super::entry::Scope;
use super::super::kit::Kit;
use super::super::log::Book;
use super::super::refusal::Refusal;
use super::super::register::{Detector, Register};
use super::super::round::Round;
use super::super::run::Run;
use super::super::seal::Draft;
use super::round::open_round;
use super::{draft, fields};
use crate::order;
use crate::trade::detector::{LimitsFrom, Marking};
use crate::trade::head::{Cycle, Heating};
use crate::trade::heating::{Heat, NONRESTORABLE_MARGIN, may_heat};
use crate::trade::procedure::{Procedure, Template};
use crate::trade::seen::Sign;
use crate::units::Reading;
use chrono::{DateTime, Duration, NaiveDate};

/// Starts a run and marks heat on: one tap, one transaction.
pub(super) fn start(book: &Book, at: At, start: StartRun) -> Result<Vec<Draft>, Refusal> {
    let round = open_round(book, start.round)?;
    let started = ready(book, at, &round, &start)?;
    let (scope, run) = (Scope::Round(start.round), start.run);
    Ok(vec![draft(scope, Body::RunStarted(Box::new(started))), draft(scope, Body::Mark { run, what: What::HeatOn })])
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
    let register = Register::of(book);
    let kit = Kit::of(book);
    let detector = register.detectors.get(&start.detector).ok_or(Refusal::UnknownDetector)?;
    let frozen = freeze_detector(start.detector, detector)?;
    let head = kit.heads.get(&start.head).ok_or(Refusal::UnknownHead)?;
    let (Some(name), Some(heating)) = (head.name.now(), head.heating.now()) else { return Err(Refusal::UnknownHead) };
    let metrology = head.metrology.now().cloned().unwrap_or_default();
    let procedure =
        kit.procedures.get(&start.procedure).and_then(|group| group.now()).ok_or(Refusal::UnknownProcedure)?;

    if !heating.settings.contains(&start.setting)
        || start.mode.as_ref().is_some_and(|mode| !heating.modes.contains(mode))
    {
        return Err(Refusal::NoSuchSetting);
    }
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
    // Where two edits of the duty stand side by side, each of them may be the right one.
    let duties = || detector.duty.versions().map(|(_, duty)| duty);
    let releases =
        order::set(duties().flat_map(|duty| &duty.releases).filter(|release| !round.is_secured(release)).cloned());
    let releases: Vec<String> = releases.into_iter().collect();
    if !releases.is_empty() {
        return Err(Refusal::NotSecured { releases });
    }
    if duties().any(|duty| duty.classified) {
        let holds = |permit: &&super::super::round::Permit| {
            permit.area.is_none_or(|area| area == frozen.place.area) && permit.until > at.stamp.wall
        };
        round.permits.iter().find(holds).ok_or(Refusal::NoPermit)?;
        name.hazardous_approval.as_ref().ok_or(Refusal::HeadNotApproved)?;
    }
    if procedure.template == Template::SetPoint {
        let due = metrology.due.as_ref().filter(|due| fields::day(due).is_some_and(|day| day < today(at)));
        if let Some(due) = due {
            return Err(Refusal::CalibrationOverdue { due: due.clone() });
        }
    }
    side_by_side(&register, round, start, &frozen)?;

    let follows = round.runs_of(start.detector).last().map(|run| run.id);
    Ok(Started {
        run: start.run,
        follows,
        detector: frozen,
        head: FrozenHead {
            of: start.head,
            name: name.clone(),
            heating: heating.clone(),
            metrology,
            setting: start.setting,
            mode: start.mode.clone(),
            curve: Vec::new(),
        },
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

fn freeze_detector(of: Id, detector: &Detector) -> Result<FrozenDetector, Refusal> {
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
    let tells_apart = |circuit: Id| {
        register.circuits.get(&circuit).and_then(|group| group.now()).is_some_and(|circuit| circuit.tells_apart)
    };
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
        let shared = frozen.place.circuit.filter(|circuit| other.place.circuit == Some(*circuit));
        if shared.is_some_and(|circuit| !tells_apart(circuit)) && by_circuit(run) {
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

/// The calendar day on the phone.
fn today(at: At) -> NaiveDate {
    let local = DateTime::from_timestamp_millis(at.stamp.wall).unwrap_or_default();
    local.naive_utc().checked_add_signed(Duration::minutes(at.offset_min)).unwrap_or_default().date()
}
