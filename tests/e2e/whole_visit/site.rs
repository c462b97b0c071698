//! The site of the visit, as a file.

use std::fs;
use std::path::{Path, PathBuf};

use soakbook::book::body::{Area, Circuit, Site};
use soakbook::book::command::{Command, PutPosition};
use soakbook::handover::{Made, Select, bundle_of};
use soakbook::trade::detector::{Access, AreaConditions, Make, Marking, Place};
use soakbook::trade::heater::{Cycle, Metrology};

use crate::kit::{self, HAND_HEATER, MORNING, World, c, id, k};

/// What the alarm of P-01 stops.
pub(crate) const BELT: &str = "Packing belt stop";
/// Tags in the hall, on the loop whose points the panel shows, and in the packing room, on a zone.
pub(crate) const HALL: [&str; 9] = ["D-01", "D-02", "D-03", "D-04", "D-05", "D-06", "D-07", "D-08", "D-09"];
pub(crate) const PACKING: [&str; 3] = ["P-01", "P-02", "P-03"];

/// The three heaters, each switched by hand, so that no clock of theirs runs ahead of the hand.
pub(crate) const HEATERS: [&str; 3] = ["Heater A", "Heater B", "Heater C"];
const FIRST_HEATER: u8 = HAND_HEATER;

const LOOP: u8 = 30;
const ZONE: u8 = 31;
const FIRST_POSITION: u8 = 60;
/// Who made the site: a third phone.
const MAKER: u8 = 199;

/// 80 °C, −4 K / +4 K: what a heater of 94 °C makes sure of in a soak.
fn marking() -> Marking {
    Marking { rating: Some(c(80)), ..kit::marking() }
}

fn circuit(name: &str, shows_point: bool) -> Circuit {
    Circuit { site: id(kit::SITE), ..kit::circuit(name, shows_point) }
}

/// Set to 90 °C it goes up to 94 °C; calibrated to 0.3 K, coupled to 0.4 K.
fn heater(n: u8, name: &str) -> Command {
    let mut heating = kit::manual();
    heating.settings = vec![c(90)];
    heating.overshoot = Some(k(4));
    heating.cycle = Cycle::Manual { heat_up_cold_ms: None, heat_up_again_ms: None };
    kit::put_heater_with(n, heating, |of, metrology| {
        let tenths = |value| Some(soakbook::units::Difference { value, scale: -1, ..k(0) });
        of.name = name.into();
        *metrology = Metrology {
            calibration_u: tenths(3),
            fit_u: tenths(4),
            fit_from: Some("own comparison".into()),
            ..Metrology::default()
        };
    })
}

/// Writes the file: two areas, two circuits, twelve positions, three heaters.
pub(crate) fn write(into: &Path) -> PathBuf {
    let mut world = World::empty();
    world.act(kit::put_person(MAKER));
    world.phone.who = Some(id(MAKER));
    let site = Site { name: "Invented mill".into(), address: None, invented: true };
    world.act(Command::PutSite { site: id(kit::SITE), now: site });
    for (area, name) in [(kit::HALL, "Hall"), (kit::STORE, "Packing")] {
        let now = Area { site: id(kit::SITE), name: name.into() };
        world.act(Command::PutArea { area: id(area), now, conditions: AreaConditions::default() });
    }
    world.act(Command::PutCircuit { circuit: id(LOOP), now: circuit("Loop 2", true) });
    world.act(Command::PutCircuit { circuit: id(ZONE), now: circuit("Zone 1", false) });
    let hall = HALL.map(|tag| (tag, kit::HALL, LOOP));
    let packing = PACKING.map(|tag| (tag, kit::STORE, ZONE));
    for (n, (tag, area, circuit)) in (FIRST_POSITION..).zip(hall.into_iter().chain(packing)) {
        let place = Place {
            tag: tag.into(),
            area: id(area),
            circuit: Some(id(circuit)),
            point: Some(format!("{:03}", n - FIRST_POSITION + 1)),
            ..Place::default()
        };
        world.act(Command::PutPosition(Box::new(PutPosition {
            position: id(n),
            detector: id(n + 30),
            place,
            access: Access::default(),
            duty: if tag == "P-01" { kit::releases(&[BELT]) } else { kit::no_duty() },
            marking: marking(),
            make: Make::default(),
        })));
    }
    for (n, name) in (FIRST_HEATER..).zip(HEATERS) {
        world.act(heater(n, name));
    }
    let made = Made { at: MORNING, app: "0.1.0".into(), phone: world.phone.id };
    let file = into.join("mill.json");
    fs::write(&file, bundle_of(&world.book, Select::Everything, &made).unwrap().text).unwrap();
    file
}
