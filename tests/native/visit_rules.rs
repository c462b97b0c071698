//! Verdicts that do no harm: the rules of a visit, one test per line. A name begins with the number of its line; lines without a test
//! of their own are in [`words`].

mod before_heat;
mod evidence;
mod gas;
mod heat;
mod no_alarm;
mod reports;
mod results;
mod words;

use crate::kit::*;
use soakbook::book::command::{Command, StartTest};
use soakbook::findings::{Outcome, TestFindings, of_test};
use soakbook::trade::detector::Marking;
use soakbook::trade::heater::Metrology;
use soakbook::units::{Degree, Difference, Reading};

/// `tenths` of a kelvin.
pub(crate) fn tenths(value: i64) -> Difference {
    Difference { value, scale: -1, unit: Degree::C }
}

/// `tenths` of a degree Celsius.
pub(crate) fn shown(value: i64) -> Reading {
    Reading { value, scale: -1, unit: Degree::C }
}

/// Calibrated to 0.3 K, fit known to 0.4 K.
pub(crate) fn known() -> Metrology {
    Metrology {
        calibration_u: Some(tenths(3)),
        fit_u: Some(tenths(4)),
        fit_from: Some("own comparison".into()),
        ..Metrology::default()
    }
}

/// The kit's world with both heaters known and the first position's marking changed.
pub(crate) fn given(change: impl FnOnce(&mut Marking)) -> World {
    let mut world = World::given();
    for (heater, heating) in [(SELF_HEATER, auto()), (HAND_HEATER, manual())] {
        world.act(put_heater_with(heater, heating, |_, metrology| *metrology = known()));
    }
    let mut marking = marking();
    change(&mut marking);
    world.act(put_position(POSITION, "HD-1", marking, no_duty()));
    world.wait(SECOND);
    world
}

/// A functional test on the heater that is switched by hand, with one thing changed.
pub(crate) fn functional(change: impl FnOnce(&mut StartTest)) -> Command {
    start_with(|start| {
        (start.procedure, start.heater) = (None, id(HAND_HEATER));
        change(start);
    })
}

/// What the test of the kit says now.
pub(crate) fn found(world: &World) -> TestFindings {
    of_test(&world.book, &world.test(), world.now())
}

pub(crate) fn outcome(world: &World) -> Outcome {
    found(world).outcome
}
