//! What has to be right before heat goes on a detector.

use super::super::Id;
use super::super::body::{Body, DetectorSnapshot, Ending, HeaterSnapshot, Permit, PositionSnapshot, TestStart, What};
use super::super::command::{At, StartTest};
use super::super::entries::Book;
use super::super::entry::Scope;
use super::super::kit::Kit;
use super::super::profile_run::{ProfileRun, profile_of, profile_runs_of};
use super::super::refusal::Refusal;
use super::super::register::{Position, Register};
use super::super::test::Test;
use super::super::versions::Versions;
use super::super::visit::{ApprovalAt, Station, Visit};
use super::side_by_side::{beside_profile_runs, side_by_side};
use super::visit::{approval_words, visual_item};
use super::{Drafts, draft, fields, open_visit, open_visits};
use crate::encoding::stored::Stored;
use crate::order;
use crate::trade::classified::{GasVerdict, gas_verdict};
use crate::trade::conditions::Visual;
use crate::trade::detector::{AreaConditions, Duty, Marking, RateFunction};
use crate::trade::fields::{AMBIENT, Kind};
use crate::trade::heater::Cycle;
use crate::trade::heating::{Heat, NONRESTORABLE_MARGIN, may_heat};
use crate::trade::procedure::Procedure;
use crate::units::{Celsius, Kelvin, Reading, Wall};
use chrono::{DateTime, Duration, NaiveDate};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How long after the heater was lowered a detector that has not restored may be said to stay in alarm, ms.
///
/// Own figure: five minutes let a mass of some hundred grams cool by most of what it was heated.
pub const STAYS_AFTER_MS: i64 = 300_000;

/// How old a gas test may be where the permit names no interval, minutes. Own figure: a shift of twelve hours.
const GAS_TEST_AT_MOST_MIN: u32 = 720;

/// Starts a test and marks heat on: one tap, one transaction.
pub(super) fn start(book: &Book, at: At, start: StartTest) -> Drafts {
    let visit = open_visit(book, start.visit)?;
    let started = ready(book, at, &visit, &start)?;
    let (scope, of) = (Scope::Visit(start.visit), start.test);
    let found = started.visual.clone().unwrap_or_default();
    let mut drafts =
        vec![draft(scope, Body::TestStarted(Arc::new(started))), draft(scope, Body::Mark { of, what: What::HeatOn })];
    drafts.extend(visual_item(at, start.visit, start.position, Some(of), found));
    Ok(drafts)
}

/// What a test would start with now, frozen; for the screen that asks before "heat on".
///
/// # Errors
/// The first refusal, as [`decide`](super::decide) would give it.
pub fn would_start(book: &Book, at: At, start: &StartTest) -> Result<TestStart, Refusal> {
    let visit = open_visit(book, start.visit)?;
    ready(book, at, &visit, start)
}

fn ready(book: &Book, at: At, visit: &Visit, start: &StartTest) -> Result<TestStart, Refusal> {
    if !at.durable {
        return Err(Refusal::NotDurable);
    }
    let by = at.who.ok_or(Refusal::NoPerson)?;
    if book.test_origins(start.test).next().is_some() {
        return Err(Refusal::TestStarted);
    }
    if super::visit::alarm_stands(book) {
        return Err(Refusal::AlarmNotCleared);
    }
    if visit.record.on_break().is_some() {
        return Err(Refusal::OnBreak);
    }
    match visit.station(at.stamp.wall) {
        Station::Answered => {}
        Station::Open => return Err(Refusal::StationNotNotified),
        Station::Lapsed { at } => return Err(Refusal::StationLapsed { at }),
    }
    let register = Register::of(book);
    let kit = Kit::of(book);
    let position = register.positions.get(&start.position).ok_or(Refusal::UnknownPosition)?;
    let frozen = freeze_position(start.position, position)?;
    // The notification is for its own site's station only.
    if register.site_of(start.position).is_some_and(|site| site != visit.site) {
        return Err(Refusal::UnknownPosition);
    }
    let detector = freeze_detector(&register, position)?;
    let mut heater = freeze_heater(&kit, start.heater, start.setting, start.mode.as_ref())?;
    let procedure = match start.procedure {
        None => Procedure::functional(),
        Some(id) => kit.procedures.get(&id).and_then(Versions::now).cloned().ok_or(Refusal::UnknownProcedure)?,
    };

    if let Some(ambient) = &start.ambient {
        fields::check_one("TestStart.ambient", Kind::Temperature(AMBIENT.0, AMBIENT.1), &ambient.to_value())?;
    }
    fields::check(&start.indication)?;
    looks_allow(visit, start)?;
    may_it_be_heated(book, &detector.marking, &procedure, &heater, start)?;
    numbers_fit(&heater, &procedure)?;
    duty_allows(&register, &kit, at, std::slice::from_ref(visit), position, start.heater)?;
    if procedure.is_set_point() {
        let due = heater.metrology.due.as_ref();
        if let Some(due) = due.filter(|due| fields::day(due).is_some_and(|day| day < today(at))) {
            return Err(Refusal::CalibrationOverdue { due: due.clone() });
        }
    }
    side_by_side(book, &register, visit, start, &frozen)?;
    beside_profile_runs(book, at, &register, start, &frozen)?;

    heater.profile = profile_of(book, start.heater, start.mode.as_ref());
    let (follows, after) = before(visit, start.position);
    Ok(TestStart {
        test: start.test,
        by,
        follows,
        after,
        position: frozen,
        detector,
        heater,
        procedure,
        indication: start.indication,
        display_read: start.display_read,
        ambient: start.ambient,
        air: start.air,
        heater_warmth: start.heater_warmth,
        detector_warmth: start.detector_warmth,
        visual: start.visual.clone(),
        rate_answer: start.rate_answer,
    })
}

/// The test that this one follows, a mistake not counted, and the work since then: what no earlier test came after.
fn before(visit: &Visit, position: Id) -> (Option<Id>, Option<crate::book::entry::Hash>) {
    let of = |test: &&Test| !matches!(test.ended, Some((Ending::Mistake, _)));
    let tests: Vec<&Test> = visit.tests_of(position).filter(of).collect();
    let used = order::set(tests.iter().filter_map(|test| test.frozen.after));
    // Work before the last test was for that one.
    let since = tests.last().map_or(Wall::MIN, |test| test.started_wall);
    let work =
        visit.work.iter().rfind(|work| work.position == position && work.wall >= since && !used.contains(&work.hash));
    (tests.last().map(|test| test.id), work.map(|work| work.hash))
}

/// The heater with this setting and mode, with no profile yet.
pub(super) fn freeze_heater(
    kit: &Kit,
    of: Id,
    setting: Reading,
    mode: Option<&String>,
) -> Result<HeaterSnapshot, Refusal> {
    let heater = kit.heaters.get(&of).ok_or(Refusal::UnknownHeater)?;
    let (Some(name), Some(heating)) = (heater.name.now(), heater.heating.now()) else {
        return Err(Refusal::UnknownHeater);
    };
    if !heating.settings.contains(&setting) || mode.is_some_and(|mode| !heating.modes.contains(mode)) {
        return Err(Refusal::NoSuchSetting);
    }
    Ok(HeaterSnapshot {
        of,
        name: name.clone(),
        heating: heating.clone(),
        metrology: heater.metrology.now().cloned().unwrap_or_default(),
        setting,
        mode: mode.cloned(),
        profile: Vec::new(),
    })
}

pub(super) fn freeze_position(of: Id, position: &Position) -> Result<PositionSnapshot, Refusal> {
    let place = position.place.now().filter(|_| !position.retired()).ok_or(Refusal::UnknownPosition)?;
    Ok(PositionSnapshot { of, place: place.clone(), duty: position.duty.now().cloned().unwrap_or_default() })
}

pub(super) fn freeze_detector(register: &Register, position: &Position) -> Result<DetectorSnapshot, Refusal> {
    let mut hanging = position.hanging();
    let of = hanging.next().ok_or(Refusal::NoDetector)?.detector;
    if hanging.next().is_some() {
        return Err(Refusal::TwoDetectors);
    }
    let detector = register.detectors.get(&of).ok_or(Refusal::UnknownDetector)?;
    if detector.marking.conflict() {
        return Err(Refusal::Conflict);
    }
    match (detector.marking.now(), detector.marking.edit()) {
        (Some(marking), Some(marked_by)) => Ok(DetectorSnapshot {
            of,
            marking: marking.clone(),
            marked_by,
            make: detector.make.now().cloned().unwrap_or_default(),
        }),
        _ => Err(Refusal::UnknownDetector),
    }
}

/// What the position releases is secured in one of these visits, and a hazardous (classified) location has its permit there.
pub(super) fn duty_allows(
    register: &Register,
    kit: &Kit,
    at: At,
    visits: &[Visit],
    position: &Position,
    heater: Id,
) -> Result<(), Refusal> {
    // Where two edits of the duty stand side by side, each of them may be the right one.
    let duties: Vec<&Duty> = position.duty.versions().map(|(_, duty)| duty).collect();
    if duties.is_empty() || duties.iter().any(|duty| duty.releases.is_none()) {
        return Err(Refusal::ReleasesUnknown);
    }
    let secured = |release: &String| visits.iter().any(|visit| visit.is_secured(release));
    let releases = duties.iter().flat_map(|duty| duty.releases.iter().flatten());
    let open = order::set(releases.filter(|release| !secured(release)).cloned());
    let releases: Vec<String> = open.into_iter().collect();
    if !releases.is_empty() {
        return Err(Refusal::NotSecured { releases });
    }
    let classified = |area: &Id| {
        register.area_conditions.get(area).is_some_and(|versions| {
            let of = |conditions: &AreaConditions| conditions.classification.as_ref().is_some_and(|of| !of.is_empty());
            versions.versions().any(|(_, conditions)| of(conditions))
        })
    };
    // Where two edits of the place stand side by side, it may hang in either area.
    let areas: Vec<Id> = position.place.versions().map(|(_, place)| place.area).collect();
    let hazardous = areas.iter().copied().find(classified);
    let area = hazardous.or(position.place.now().map(|place| place.area));
    if hazardous.is_some() || duties.iter().any(|duty| duty.classified) {
        classified_allows(register, kit, at, visits, area, heater)?;
    }
    Ok(())
}

fn classified_allows(
    register: &Register,
    kit: &Kit,
    at: At,
    visits: &[Visit],
    area: Option<Id>,
    heater: Id,
) -> Result<(), Refusal> {
    let now = at.stamp.wall;
    let covers = |permit: &Permit| permit.area.is_none() || permit.area == area;
    let valid = |permit: &Permit| permit.valid_from <= now && now < permit.valid_until;
    let permits = visits.iter().flat_map(|visit| &visit.permits).map(|permit| &*permit.permit);
    // The newest gas test counts, whichever phone recorded it: an older one that was better is out of date.
    let there = permits.filter(|permit| covers(permit) && valid(permit));
    let permit = there.max_by_key(|permit| permit.gas_tested_at).ok_or(Refusal::NoPermit)?;
    let longest_ms = i64::from(permit.interval_min.unwrap_or(GAS_TEST_AT_MOST_MIN)) * 60_000;
    if permit.gas_tested_at.is_some_and(|tested| tested > now || now - tested > longest_ms) {
        return Err(Refusal::GasTestTooOld);
    }
    // Without a test there is no reading, which the verdict refuses; a reading without its time is as good as none.
    if permit.gas_tested_at.is_none() && !permit.readings.is_empty() {
        return Err(Refusal::GasTestTooOld);
    }
    match gas_verdict(&permit.readings, permit.lel_limit) {
        GasVerdict::Clear => {}
        verdict => return Err(Refusal::Gas(verdict)),
    }
    if !permit.phone_allowed {
        return Err(Refusal::PhoneNotAllowed);
    }
    let approved = kit.heaters.get(&heater).and_then(|heater| heater.name.now()?.approval.as_ref());
    approved.filter(|approval| !approval.is_empty()).ok_or(Refusal::HeaterNotApproved)?;
    let area = area.ok_or(Refusal::AreaNotClassified)?;
    let words = approval_words(kit, register, heater, area).ok_or(Refusal::AreaNotClassified)?;
    let about = |at: &&ApprovalAt| {
        let held = &at.held;
        held.heater == heater && held.area == area && (&held.approval, &held.classification) == (&words.0, &words.1)
    };
    // Each phone's last word, and a no of any of them.
    let mut last: BTreeMap<Id, bool> = BTreeMap::new();
    for at in visits.iter().flat_map(|visit| &visit.approvals).filter(about) {
        last.insert(at.phone, at.held.fits);
    }
    match last.values().min() {
        Some(true) => Ok(()),
        Some(false) => Err(Refusal::HeaterNotApproved),
        None => Err(Refusal::ApprovalNotHeld),
    }
}

/// What the eye found, now or at the last check of the visit, does not refuse heat.
fn looks_allow(visit: &Visit, start: &StartTest) -> Result<(), Refusal> {
    let checked = visit.visual_of(start.position).map(|check| &check.found);
    let found: Option<&Vec<Visual>> = start.visual.as_ref().or(checked);
    match found.into_iter().flatten().find(|finding| finding.refuses_heat()) {
        Some(finding) => Err(Refusal::FailedVisual(*finding)),
        None => Ok(()),
    }
}

fn may_it_be_heated(
    book: &Book,
    marking: &Marking,
    procedure: &Procedure,
    heater: &HeaterSnapshot,
    start: &StartTest,
) -> Result<(), Refusal> {
    let verdict = may_heat(marking.detector_type, procedure.kind);
    let top = heater.heating.top(&start.setting);
    let rating = marking.rating.map(Reading::celsius);
    match verdict {
        Heat::UsesUpElement | Heat::NoSetPoint | Heat::RateElementFirst | Heat::TypeUnknown => {
            return Err(Refusal::Heat(verdict));
        }
        Heat::BelowElement => {
            let rating = rating.ok_or(Refusal::NoRating)?;
            let hottest = hottest(book, heater)?;
            if hottest + NONRESTORABLE_MARGIN > rating {
                return Err(Refusal::TooNearElement { hottest, rating, margin: NONRESTORABLE_MARGIN });
            }
            return Ok(());
        }
        Heat::RateFunctionAsked => {
            if marking.rate_function != Some(RateFunction::Off) && start.rate_answer.is_none() {
                return Err(Refusal::Heat(verdict));
            }
        }
        Heat::Allowed => {}
    }
    if marking.detector_type.has_rate_element() {
        return Ok(());
    }
    match rating {
        Some(rating) if top < rating => Err(Refusal::SettingBelowRating { top, rating }),
        None => Err(Refusal::NoRating),
        _ => Ok(()),
    }
}

/// The most this heater may reach: its top temperature with its expanded uncertainty, or the most that its profile runs showed
/// where that is more.
fn hottest(book: &Book, heater: &HeaterSnapshot) -> Result<Celsius, Refusal> {
    heater.heating.overshoot.ok_or(Refusal::OvershootUnknown)?;
    let u = heater.metrology.calibration_u.ok_or(Refusal::CalibrationUnknown)?.kelvin().abs();
    let top = heater.heating.top(&heater.setting);
    let of_setting = |run: &ProfileRun| run.frozen.heater.setting == heater.setting;
    let runs = profile_runs_of(book, heater.of);
    let in_runs = runs.iter().filter(|run| of_setting(run)).flat_map(|run| &run.readings);
    let visits: Vec<Visit> = open_visits(book).collect();
    let same = |test: &&Test| test.frozen.heater.of == heater.of && test.frozen.heater.setting == heater.setting;
    let in_tests = visits.iter().flat_map(|visit| &visit.tests).filter(same).flat_map(|test| &test.readings);
    let seen = in_runs.map(|reading| reading.reading).chain(in_tests.map(|reading| reading.reading));
    let seen = seen.map(|reading| reading.celsius().0).fold(top.0, f64::max);
    // Twice the standard uncertainty, as a coverage of 95 % (GUM G.6.6).
    Ok(Celsius(seen) + Kelvin(2.0 * u.0))
}

/// A set-point test needs its numbers, and a procedure cannot set the cycle of a heater that cycles on its own.
fn numbers_fit(heater: &HeaterSnapshot, procedure: &Procedure) -> Result<(), Refusal> {
    if !procedure.is_set_point() {
        return Ok(());
    }
    let (Some(soak_ms), Some(own_off_ms), Some(_)) = (procedure.soak_ms, procedure.off_ms, procedure.numbers_from)
    else {
        return Err(Refusal::NumbersMissing);
    };
    match heater.heating.cycle {
        Cycle::Auto { hold_first_ms, off_ms, .. }
            if hold_first_ms.is_some_and(|hold_ms| hold_ms != soak_ms)
                || off_ms.is_some_and(|off_ms| off_ms != own_off_ms) =>
        {
            Err(Refusal::HeaterCycleDiffers {
                hold_ms: hold_first_ms.unwrap_or(soak_ms),
                off_ms: off_ms.unwrap_or(own_off_ms),
            })
        }
        _ => Ok(()),
    }
}

/// The calendar day on the phone.
fn today(at: At) -> NaiveDate {
    let local = DateTime::from_timestamp_millis(at.stamp.wall.0).unwrap_or_default();
    local.naive_utc().checked_add_signed(Duration::minutes(at.offset_min)).unwrap_or_default().date()
}
