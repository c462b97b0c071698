//! What the app cannot say of a heater until an answer is there, in words, and the way to the field that asks for it.

use super::page::sign::Shape;
use super::page::{Block, Role, Row};
use super::route::{Form, Route};
use crate::book::Id;
use crate::book::kit::Kit;
use crate::findings::{Missing, NotProven, TestFindings, Unknown};
pub use crate::trade::heater_gaps::Gap;
use crate::trade::heater_gaps::{Unsaid, cannot_say};

const TITLE: &str = "Not possible yet with this heater";
const LEAD: &str = "Each needs data that isn't entered yet. Tap to enter it.";
/// The key that leads to the field.
pub const ENTER: &str = "Enter it now";
/// The same after a test, which stays as it is.
pub const ENTER_FOR_NEXT: &str = "Enter heater data for the retest";

/// What is not possible.
fn unsaid(of: Unsaid) -> &'static str {
    match of {
        Unsaid::LimitResult => "No limit results",
        Unsaid::NoAlarm => "“No trip” decides nothing",
        Unsaid::Estimate => "No temperature between readings",
        Unsaid::TopTime => "No time to top temperature: you mark it",
        Unsaid::BelowElement => "Not for combination detectors with a nonrestorable element",
        Unsaid::Hazardous => "Not for hazardous (classified) locations",
    }
}

/// An answer, as it is missed.
fn gap(of: Gap) -> &'static str {
    match of {
        Gap::Display => "display",
        Gap::Overshoot => "overshoot",
        Gap::HeatUp => "heat-up times",
        Gap::Calibration => "calibration uncertainty",
        Gap::Due => "calibration due date",
        Gap::Fit => "fit error",
        Gap::FitFrom => "where the fit error is from",
        Gap::Approval => "approval",
    }
}

/// Why an answer is asked, where its field was come to because of it.
pub fn why(of: Gap) -> &'static str {
    match of {
        Gap::Display => "Needed for readings: without them no limit result and no heater profile.",
        Gap::Overshoot => "Needed to stay below a nonrestorable element.",
        Gap::HeatUp => "Needed to say when the heater is at top temperature. Without it you mark that.",
        Gap::Calibration => "Needed for limit results, and for “no trip” to decide anything.",
        Gap::Due => "The calibration has expired. A set-point test needs a valid one.",
        Gap::Fit => "Needed for limit results, and for “no trip” to decide anything.",
        Gap::FitFrom => "Needed for limit results.",
        Gap::Approval => "Needed for hazardous (classified) locations. Blank: the heater stays out.",
    }
}

/// The form of a heater, at the field that asks for an answer.
pub fn asks(heater: Id, gap: Gap) -> Route {
    Route::Form(Form::HeaterAsks(heater, gap))
}

/// The answer about the heater that is missing where a part of the uncertainty is.
pub fn gap_of(unknown: Unknown) -> Option<Gap> {
    match unknown {
        Unknown::Calibration => Some(Gap::Calibration),
        Unknown::Fit => Some(Gap::Fit),
        Unknown::FitSource => Some(Gap::FitFrom),
        Unknown::Resolution => Some(Gap::Display),
        Unknown::Lag | Unknown::Spread => None,
    }
}

/// Where the answer is entered for want of which a test decided nothing. What it was judged by stays frozen into it: it serves the next.
pub fn asked_after(found: &TestFindings, heater: Id) -> Option<Route> {
    let proof = found.not_proven().and_then(|why| match why {
        NotProven::CalibrationUnknown => Some(Gap::Calibration),
        NotProven::FitUnknown => Some(Gap::Fit),
        _ => None,
    });
    let missing = || found.holding().iter().filter_map(|judgement| judgement.limit_result.as_ref().err()).flatten();
    let part = || {
        missing().find_map(|missing| match missing {
            Missing::Part(unknown) => gap_of(*unknown),
            _ => None,
        })
    };
    proof.or_else(part).map(|gap| asks(heater, gap))
}

/// Why no profile can be taken of a heater, and where that is put right: its readings make it.
pub fn profile_needs(kit: &Kit, id: Id) -> Option<(&'static str, Route)> {
    let heating = kit.heaters.get(&id)?.heating.now()?;
    heating.resolution.is_none().then(|| (why(Gap::Display), asks(id, Gap::Display)))
}

/// What is not possible yet with a heater; nothing where everything is.
pub fn not_possible(kit: &Kit, id: Id) -> Vec<Block> {
    let Some(heater) = kit.heaters.get(&id) else { return Vec::new() };
    let (Some(name), Some(heating)) = (heater.name.now(), heater.heating.now()) else { return Vec::new() };
    let metrology = heater.metrology.now().cloned().unwrap_or_default();
    let row = |(of, gaps): (Unsaid, Vec<Gap>)| {
        let names: Vec<&str> = gaps.iter().map(|of| gap(*of)).collect();
        let first = gaps.first().copied().unwrap_or(Gap::Calibration);
        let row = Row::new(format!("asks-{}", first.name()), unsaid(of), format!("Not entered: {}", names.join(", ")));
        row.sign(Shape::Open).to(asks(id, first))
    };
    let rows: Vec<Row> = cannot_say(name, heating, &metrology).into_iter().map(row).collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let lead = Block::text("not-possible-lead", Role::Soft, LEAD);
    vec![Block::section("not-possible", TITLE, vec![lead, Block::rows(TITLE, rows)])]
}
