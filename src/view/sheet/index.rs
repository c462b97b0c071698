//! Which position a row is about: by the customer's own ID, else by its panel point, else by its tag within its area.

use crate::book::Id;
use crate::book::register::{Position, Register};
use crate::book::versions::Versions;
use std::collections::BTreeMap;

/// What a row says that could tell which position it is about.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Names {
    /// The customer's own ID.
    pub id: String,
    /// Address or point at the panel.
    pub point: String,
    /// The circuit, where the row names one.
    pub circuit: String,
    /// The tag.
    pub tag: String,
    /// The area, where the row names one.
    pub area: String,
}

/// By what a row was matched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// The customer's own ID.
    Id,
    /// The panel point.
    Point,
    /// The tag.
    Tag,
}

/// The positions of a site that are in use, by what they are known by.
#[derive(Debug, Default)]
pub struct Index {
    by_id: BTreeMap<String, Vec<Id>>,
    by_point: BTreeMap<String, Vec<Id>>,
    by_tag: BTreeMap<String, Vec<Id>>,
}

impl Index {
    /// Takes a position in.
    pub fn add(&mut self, id: Id, position: &Position) {
        let Some(place) = position.place.now() else { return };
        let put = |map: &mut BTreeMap<String, Vec<Id>>, key: &str| {
            if !key.is_empty() {
                map.entry(key.to_string()).or_default().push(id);
            }
        };
        put(&mut self.by_id, place.customer_id.as_deref().unwrap_or_default());
        put(&mut self.by_point, place.point.as_deref().unwrap_or_default());
        put(&mut self.by_tag, &place.tag);
    }

    /// The position that a row is about; none where there is none, or where what it says fits several.
    pub fn find(&self, names: &Names, register: &Register) -> Option<(Id, By)> {
        if let Some(id) = only(self.by_id.get(&names.id)) {
            return Some((id, By::Id));
        }
        let on_circuit = |id: &Id| names.circuit.is_empty() || same(circuit(register, *id), &names.circuit);
        let point: Vec<Id> = of(self.by_point.get(&names.point)).filter(on_circuit).collect();
        if let [only] = point[..] {
            return Some((only, By::Point));
        }
        let in_area = |id: &Id| names.area.is_empty() || same(area(register, *id), &names.area);
        let tag: Vec<Id> = of(self.by_tag.get(&names.tag)).filter(in_area).collect();
        if let [only] = tag[..] { Some((only, By::Tag)) } else { None }
    }
}

fn of(ids: Option<&Vec<Id>>) -> impl Iterator<Item = Id> {
    ids.into_iter().flatten().copied()
}

fn only(ids: Option<&Vec<Id>>) -> Option<Id> {
    match ids.map(Vec::as_slice) {
        Some([only]) => Some(*only),
        _ => None,
    }
}

/// Names that differ only in capitals are one.
pub(super) fn same(one: &str, other: &str) -> bool {
    one.to_lowercase() == other.to_lowercase()
}

/// The name of a position's area.
pub(super) fn area(register: &Register, id: Id) -> &str {
    let place = register.positions.get(&id).and_then(|position| position.place.now());
    place.and_then(|place| register.areas.get(&place.area)?.now()).map_or("", |area| &area.name)
}

/// The name of a position's circuit.
pub(super) fn circuit(register: &Register, id: Id) -> &str {
    let place = register.positions.get(&id).and_then(|position| position.place.now());
    let circuit = place.and_then(|place| place.circuit);
    circuit.and_then(|id| register.circuits.get(&id)).and_then(Versions::now).map_or("", |circuit| &circuit.name)
}
