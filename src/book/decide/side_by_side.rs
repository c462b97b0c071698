//! Heats at the same time, on any phone, and alarms that are not restored yet.

use super::super::body::{Answer, PositionSnapshot, What};
use super::super::command::{At, StartTest};
use super::super::entries::Book;
use super::super::profile_run::going_on;
use super::super::refusal::Refusal;
use super::super::register::Register;
use super::super::test::{MarkAt, Test};
use super::super::versions::Versions;
use super::super::visit::Visit;
use super::open_visits;
use crate::book::Id;
use crate::units::TestTime;

/// Tests in progress beside this one, and alarms before it that the panel may still show.
pub(super) fn side_by_side(
    book: &Book,
    register: &Register,
    visit: &Visit,
    start: &StartTest,
    frozen: &PositionSnapshot,
) -> Result<(), Refusal> {
    // A detector's own lamp or a meter is seen at the detector; everything else is seen on the circuit.
    let local = start.indication.by.is_local();
    // Another open visit may be at the same panel.
    let visits: Vec<Visit> = open_visits(book).filter(|other| other.id != visit.id).collect();
    for test in visits.iter().chain([visit]).flat_map(Visit::active) {
        let other = &test.frozen.position;
        if other.of == start.position {
            return Err(Refusal::PositionBusy);
        }
        if test.frozen.heater.of == start.heater {
            return Err(Refusal::HeaterBusy { test: test.id });
        }
        let by_circuit = !local || !test.frozen.indication.by.is_local();
        if alike_at_panel(register, frozen.place.circuit, other.place.circuit) && by_circuit {
            return Err(Refusal::TripsNotTellable { test: test.id });
        }
        if other.place.area == frozen.place.area {
            let of = |position: &PositionSnapshot| position.duty.releases.clone().unwrap_or_default();
            let releases = of(other);
            if let Some(release) = of(frozen).into_iter().find(|release| releases.contains(release)) {
                return Err(Refusal::SameRelease { test: test.id, release });
            }
        }
    }
    let pending = |test: &&Test| {
        let other = &test.frozen.position.place;
        test.ended.is_some()
            && alike_at_panel(register, frozen.place.circuit, other.circuit)
            && !alarm_is_gone(test)
            && !was_reset(book, register, visit, test)
    };
    match visit.tests.iter().find(pending) {
        Some(test) if !local => Err(Refusal::LastAlarmNotRestored { test: test.id }),
        _ => Ok(()),
    }
}

/// Whether the panel was reset after the last alarm of a test, as a mark of any test on its circuit says: a reset covers them all.
/// Only within one phone's chain it is known what came after what.
fn was_reset(book: &Book, register: &Register, visit: &Visit, test: &Test) -> bool {
    let circuit = test.frozen.position.place.circuit;
    // Another detector's alarm stays there as well.
    let struck = test.struck.iter().filter(|mark| test.early.get(&mark.hash) == Some(&false));
    let trips = test.marks.iter().filter(|mark| mark.what == What::Tripped).chain(struck);
    let trip = trips.max_by_key(|mark| mark.at).and_then(|trip| book.get(trip.hash));
    let Some(trip) = trip else { return true };
    let beside =
        visit.tests.iter().filter(|other| alike_at_panel(register, circuit, other.frozen.position.place.circuit));
    let resets = beside.flat_map(|other| &other.marks).filter(|mark| mark.what == What::PanelReset);
    resets.filter_map(|reset| book.get(reset.hash)).any(|reset| reset.chain == trip.chain && reset.seq > trip.seq)
}

/// Whether the panel could not tell two positions apart: on one circuit that it shows only as a zone.
pub(super) fn alike_at_panel(register: &Register, one: Option<Id>, other: Option<Id>) -> bool {
    let shows_point =
        |circuit| register.circuits.get(&circuit).and_then(Versions::now).is_some_and(|now| now.shows_point);
    one.is_some_and(|circuit| other == Some(circuit) && !shows_point(circuit))
}

/// Profile runs that this phone takes at the same time.
pub(super) fn beside_profile_runs(
    book: &Book,
    at: At,
    register: &Register,
    start: &StartTest,
    frozen: &PositionSnapshot,
) -> Result<(), Refusal> {
    for run in going_on(book, at.phone) {
        if run.frozen.heater.of == start.heater {
            return Err(Refusal::HeaterInProfileRun);
        }
        let Some(heated) = run.frozen.position else { continue };
        let circuit = circuit_of(register, heated);
        let not_told = alike_at_panel(register, frozen.place.circuit, circuit) && !start.indication.by.is_local();
        if heated == start.position || not_told {
            return Err(Refusal::DetectorInProfileRun);
        }
    }
    Ok(())
}

/// The circuit of a position.
pub(super) fn circuit_of(register: &Register, position: Id) -> Option<Id> {
    register.positions.get(&position)?.place.now()?.circuit
}

/// Whether the last alarm of a test is known to be gone from the panel.
fn alarm_is_gone(test: &Test) -> bool {
    // Another detector's alarm stays at the panel until the panel is reset.
    let reset = test.marks.iter().rfind(|mark| mark.what == What::PanelReset).map_or(TestTime::MIN, |mark| mark.at);
    let another = |mark: &&MarkAt| test.early.get(&mark.hash) == Some(&false) && mark.at > reset;
    if test.struck.iter().any(|mark| another(&mark)) {
        return false;
    }
    let Some(trip) = test.marks.iter().rfind(|mark| mark.what == What::Tripped) else { return true };
    let since = |mark: &&MarkAt| mark.at >= trip.at;
    let marked = test.marks.iter().filter(since).any(|mark| matches!(mark.what, What::Restored | What::PanelReset));
    marked || test.restored_word() == Some(Answer::Yes)
}
