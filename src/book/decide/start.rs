//! What has to be right before heat goes on a detector.

use super::super::Id;
use super::super::body::{Body, FrozenDetector, FrozenHeater, Started, What};
use super::super::command::{At, StartTest};
use super::super::entry::Scope;
use super::super::kit::Kit;
use super::super::log::Book;
use super::super::profile_run::{going_on, profile_of};
use super::super::refusal::Refusal;
use super::super::register::{Detector, Register};
use super::super::seal::Draft;
use super::super::test::Test;
use super::super::visit::{Permit, Visit};
use super::visit::open_visit;
use super::{draft, fields};
use crate::order;
use crate::trade::conditions::IndicatedBy;
use crate::trade::detector::{LimitsFrom, Marking};
use crate::trade::heater::{Cycle, HeaterName, Heating};
use crate::trade::heating::{Heat, NONRESTORABLE_MARGIN, may_heat};
use crate::trade::procedure::{Procedure, Template};
use crate::units::Reading;
use chrono::{DateTime, Duration, NaiveDate};
use std::sync::Arc;

/// Starts a test and marks heat on: one tap, one transaction.
pub(super) fn start(book: &Book, at: At, start: StartTest) -> Result<Vec<Draft>, Refusal> {
    let visit = open_visit(book, start.visit)?;
    let started = ready(book, at, &visit, &start)?;
    let (scope, test) = (Scope::Visit(start.visit), start.test);
    Ok(vec![draft(scope, Body::TestStarted(Arc::new(started))), draft(scope, Body::Mark { test, what: What::HeatOn })])
}

/// What a test would start with now, frozen; for the screen that asks before "start".
///
/// # Errors
/// The first refusal, as [`decide`](super::decide) would give it.
pub fn would_start(book: &Book, at: At, start: &StartTest) -> Result<Started, Refusal> {
    let visit = open_visit(book, start.visit)?;
    ready(book, at, &visit, start)
}

fn ready(book: &Book, at: At, visit: &Visit, start: &StartTest) -> Result<Started, Refusal> {
    if !at.durable {
        return Err(Refusal::NotDurable);
    }
    if book.test_origins(start.test).next().is_some() {
        return Err(Refusal::TestStarted);
    }
    let register = Register::of(book);
    let kit = Kit::of(book);
    let detector = register.detectors.get(&start.detector).ok_or(Refusal::UnknownDetector)?;
    let frozen = freeze_detector(start.detector, detector)?;
    let mut heater = freeze_heater(&kit, start.heater, start.setting, start.mode.as_ref())?;
    let FrozenHeater { name, heating, metrology, .. } = &heater;
    let procedure =
        kit.procedures.get(&start.procedure).and_then(|group| group.now()).ok_or(Refusal::UnknownProcedure)?;

    if let Some(ambient) = &start.ambient {
        fields::temperature("Ambient temperature", ambient, fields::AMBIENT)?;
    }
    fields::seconds("Lag", start.indication.lag_ms, (0, 120))?;
    fields::seconds("Lag, standard uncertainty", start.indication.lag_u_ms, (0, 120))?;
    if !procedure.confirmed {
        return Err(Refusal::NotConfirmed);
    }
    may_it_be_heated(&frozen.marking, procedure, heating, start)?;
    cycle_fits(heating, procedure)?;
    duty_allows(at, std::slice::from_ref(visit), detector, name)?;
    if procedure.template == Template::SetPoint {
        let due = metrology.due.as_ref().filter(|due| fields::day(due).is_some_and(|day| day < today(at)));
        if let Some(due) = due {
            return Err(Refusal::CalibrationOverdue { due: due.clone() });
        }
    }
    side_by_side(&register, visit, start, &frozen)?;
    beside_profile_runs(book, at, &register, start, &frozen)?;

    heater.profile = profile_of(book, start.heater, start.mode.as_ref());
    let follows = visit.tests_of(start.detector).last().map(|test| test.id);
    Ok(Started {
        test: start.test,
        follows,
        detector: frozen,
        heater,
        procedure: procedure.clone(),
        indication: start.indication,
        display_read: start.display_read,
        ambient: start.ambient,
        air: start.air,
        heater_warmth: start.heater_warmth,
        detector_warmth: start.detector_warmth,
        visual: start.visual,
    })
}

/// The heater with this setting and mode, with no profile yet.
pub(super) fn freeze_heater(
    kit: &Kit,
    of: Id,
    setting: Reading,
    mode: Option<&String>,
) -> Result<FrozenHeater, Refusal> {
    let heater = kit.heaters.get(&of).ok_or(Refusal::UnknownHeater)?;
    let (Some(name), Some(heating)) = (heater.name.now(), heater.heating.now()) else {
        return Err(Refusal::UnknownHeater);
    };
    if !heating.settings.contains(&setting) || mode.is_some_and(|mode| !heating.modes.contains(mode)) {
        return Err(Refusal::NoSuchSetting);
    }
    Ok(FrozenHeater {
        of,
        name: name.clone(),
        heating: heating.clone(),
        metrology: heater.metrology.now().cloned().unwrap_or_default(),
        setting,
        mode: mode.cloned(),
        profile: Vec::new(),
    })
}

/// What the detector releases is secured in one of these visits, and a hazardous location has its permit there.
pub(super) fn duty_allows(at: At, visits: &[Visit], detector: &Detector, heater: &HeaterName) -> Result<(), Refusal> {
    // Where two edits of the duty stand side by side, each of them may be the right one.
    let duties = || detector.duty.versions().map(|(_, duty)| duty);
    let secured = |release: &String| visits.iter().any(|visit| visit.is_secured(release));
    let releases = order::set(duties().flat_map(|duty| &duty.releases).filter(|release| !secured(release)).cloned());
    let releases: Vec<String> = releases.into_iter().collect();
    if !releases.is_empty() {
        return Err(Refusal::NotSecured { releases });
    }
    if duties().any(|duty| duty.classified) {
        let here = detector.place.now().map(|place| place.area);
        let holds =
            |permit: &&Permit| permit.area.is_none_or(|area| Some(area) == here) && permit.until > at.stamp.wall;
        visits.iter().flat_map(|visit| &visit.permits).find(holds).ok_or(Refusal::NoPermit)?;
        heater.hazardous_approval.as_ref().ok_or(Refusal::HeaterNotApproved)?;
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
    start: &StartTest,
) -> Result<(), Refusal> {
    let verdict = may_heat(marking.detector_type, marking.class.is_some(), procedure.template);
    let top = heating.top(&start.setting);
    let rating = marking.rating.map(Reading::celsius);
    match verdict {
        Heat::UsesUpElement | Heat::NoSetPoint => return Err(Refusal::Heat(verdict)),
        Heat::BelowElement => {
            let rating = rating.ok_or(Refusal::NoRating)?;
            if top + NONRESTORABLE_MARGIN > rating {
                return Err(Refusal::TooNearElement { top, rating, margin: NONRESTORABLE_MARGIN });
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
        Some(rating) if top < rating => Err(Refusal::SettingBelowRating { top, rating }),
        None if procedure.template == Template::SetPoint => Err(Refusal::NoRating),
        _ => Ok(()),
    }
}

/// A heater that cycles by itself cannot be told by a procedure what to do.
fn cycle_fits(heating: &Heating, procedure: &Procedure) -> Result<(), Refusal> {
    match heating.cycle {
        Cycle::ByItself { hold_first_ms: hold_ms, off_ms, .. }
            if procedure.template == Template::SetPoint
                && (procedure.soak_ms != hold_ms || procedure.off_ms != off_ms) =>
        {
            Err(Refusal::HeaterCycleDiffers { hold_ms, off_ms })
        }
        _ => Ok(()),
    }
}

/// Tests that go on at the same time, on any phone.
fn side_by_side(register: &Register, visit: &Visit, start: &StartTest, frozen: &FrozenDetector) -> Result<(), Refusal> {
    // A detector's own lamp is seen at the detector; everything else is seen on the circuit.
    let by_circuit =
        |test: &Test| start.indication.by != IndicatedBy::OwnLamp || test.frozen.indication.by != IndicatedBy::OwnLamp;
    for test in visit.active() {
        let other = &test.frozen.detector;
        if other.of == start.detector {
            return Err(Refusal::DetectorBusy);
        }
        if test.frozen.heater.of == start.heater {
            return Err(Refusal::HeaterBusy { test: test.id });
        }
        if alike_at_panel(register, frozen, other) && by_circuit(test) {
            return Err(Refusal::TripsNotTellable { test: test.id });
        }
        if other.place.area == frozen.place.area {
            let release = frozen.duty.releases.iter().find(|release| other.duty.releases.contains(release));
            if let Some(release) = release {
                return Err(Refusal::SameRelease { test: test.id, release: release.clone() });
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

/// Profile runs that this phone takes at the same time.
fn beside_profile_runs(
    book: &Book,
    at: At,
    register: &Register,
    start: &StartTest,
    frozen: &FrozenDetector,
) -> Result<(), Refusal> {
    for profile_run in going_on(book, at.phone) {
        if profile_run.frozen.heater.of == start.heater {
            return Err(Refusal::HeaterInProfileRun);
        }
        let Some(heated) = &profile_run.frozen.detector else { continue };
        let not_told = alike_at_panel(register, frozen, heated) && start.indication.by != IndicatedBy::OwnLamp;
        if heated.of == start.detector || not_told {
            return Err(Refusal::DetectorInProfileRun);
        }
    }
    Ok(())
}

/// The calendar day on the phone.
fn today(at: At) -> NaiveDate {
    let local = DateTime::from_timestamp_millis(at.stamp.wall).unwrap_or_default();
    local.naive_utc().checked_add_signed(Duration::minutes(at.offset_min)).unwrap_or_default().date()
}
