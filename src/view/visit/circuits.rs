//! What a visit says of circuits and of points: first alarms, and addresses that were swapped.

use crate::book::Id;
use crate::book::body::{CircuitProof, Outputs, Point, StationSaw, What, Who};
use crate::book::register::{Position, Register};
use crate::book::visit::Visit;
use crate::view::time;

/// A circuit that nobody named.
pub(in crate::view) const A_CIRCUIT: &str = "A circuit";

/// What the first alarm of a circuit did, by the circuit's name.
pub(super) fn proof_row(
    register: &Register,
    of: &CircuitProof,
    offset_min: i64,
    said: &impl Fn(Who) -> String,
) -> (String, String) {
    let point = match of.point {
        Point::Right => "right point",
        Point::Wrong => "wrong point",
        Point::NotThere => "nothing at panel",
        Point::NotChecked => "point not checked",
    };
    let outputs = match of.outputs {
        Outputs::Stayed => "outputs stayed off",
        Outputs::Moved => "an output activated",
        Outputs::None => "no outputs",
    };
    let station = match of.station {
        StationSaw::Received => "station received it",
        StationSaw::OnTest => "station received it, on test",
        StationSaw::Nothing => "station received nothing",
        StationSaw::NotChecked => "station not checked",
    };
    let time = time::of_day(of.happened.at, offset_min);
    let words = [point, outputs, station, &time, &said(of.by)].join(" · ");
    (circuit_name(register, of.circuit), words)
}

/// What a circuit is called.
pub(in crate::view) fn circuit_name(register: &Register, id: Id) -> String {
    let named = register.circuits.get(&id).and_then(|versions| versions.now());
    named.map_or_else(|| A_CIRCUIT.to_string(), |circuit| circuit.name.clone())
}

/// The circuits on which a test tripped and of whose first alarm nobody said what it did.
pub(super) fn unproved(register: &Register, visit: &Visit) -> Vec<(Id, String)> {
    let mut circuits: Vec<(Id, String)> = Vec::new();
    for test in visit.tests.iter().filter(|test| test.marks.iter().any(|mark| mark.what == What::Tripped)) {
        let Some(circuit) = test.frozen.position.place.circuit else { continue };
        let proved = visit.record.proofs.iter().any(|proof| proof.what.circuit == circuit);
        if !proved && !circuits.iter().any(|(other, _)| *other == circuit) {
            circuits.push((circuit, circuit_name(register, circuit)));
        }
    }
    circuits
}

/// Pairs of positions of which each showed the other's point at its last trip.
pub(super) fn swapped(register: &Register, visit: &Visit) -> Vec<[(Id, String); 2]> {
    let mut wrong: Vec<(Id, String)> = Vec::new();
    for test in &visit.tests {
        let trip = test.marks.iter().rfind(|mark| mark.what == What::Tripped);
        let said = trip.and_then(|trip| test.panel(trip.hash));
        let of = test.frozen.position.of;
        wrong.retain(|(other, _)| *other != of || said.is_none());
        if let Some((Point::Wrong, Some(words))) = said {
            wrong.push((of, words));
        }
    }
    let shows = |position: Id, words: &str| {
        let place = register.positions.get(&position).and_then(|position| position.place.now());
        place.is_some_and(|place| place.is_called(words))
    };
    let tag = |id: Id| (id, register.positions.get(&id).map_or("", Position::tag).to_string());
    let mut pairs = Vec::new();
    for (at, (one, said)) in wrong.iter().enumerate() {
        for (other, said_there) in &wrong[at + 1..] {
            let known = visit.items.iter().any(|item| item.found.is_swapped(*one, *other));
            if !known && one != other && shows(*other, said) && shows(*one, said_there) {
                pairs.push([tag(*one), tag(*other)]);
            }
        }
    }
    pairs
}
