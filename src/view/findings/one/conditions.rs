//! What a test was started with, as it was frozen then.

use super::super::figure::{as_given, difference_as_given};
use super::super::lower;
use crate::book::body::TestStart;
use crate::trade::conditions::{Air, RateAnswer};
use crate::trade::heater::{Basis, Cycle};
use crate::units::Degree;
use crate::view::{time, words};

pub(super) fn yes(holds: bool) -> &'static str {
    if holds { "yes" } else { "no" }
}

pub(super) fn conditions(frozen: &TestStart, unit: Degree) -> Vec<(&'static str, String)> {
    let mut list = marking(frozen, unit);
    list.extend(heater(frozen, unit));
    let TestStart { procedure, indication, .. } = frozen;
    list.push(("Procedure", format!("{}: {}", procedure.name, words::procedure_detail(procedure))));
    list.push(("Trips seen by", indication.by.words().into()));
    let seconds = |ms: i64| format!("{}.{} s", ms / 1_000, ms % 1_000 / 100);
    list.push(("Lag", format!("{}, u = {}", seconds(indication.lag_ms), seconds(indication.lag_u_ms))));
    list.push(("Panel holds alarm (latching)", yes(indication.latching).into()));
    list.push(("Alarm verification", if indication.verification { "on" } else { "off" }.into()));
    list.push(("Restore between trips", indication.restores.words().into()));
    list.push(("Display read at trips", yes(frozen.display_read).into()));
    let not_taken = || "not measured".to_string();
    list.push(("Ambient temperature", frozen.ambient.map_or_else(not_taken, |ambient| as_given(ambient, unit))));
    let air = frozen.air.map_or("not said", |air| if air == Air::Still { "still" } else { "moving" });
    list.push(("Air", air.into()));
    list.push(("Heater at the start", frozen.heater_warmth.words().into()));
    list.push(("Detector at the start", frozen.detector_warmth.words().into()));
    let seen = |found: &Vec<crate::trade::conditions::Visual>| match found.as_slice() {
        [] => "nothing wrong".to_string(),
        found => found.iter().map(|finding| lower(finding.words())).collect::<Vec<_>>().join(", "),
    };
    list.push(("Visual check", frozen.visual.as_ref().map_or_else(|| "not checked".to_string(), seen)));
    list.extend(frozen.rate_answer.map(|answer| {
        let said = match answer {
            RateAnswer::Off => "off",
            RateAnswer::HeaterSlower => "heater slower than it",
        };
        ("Rate function", said.to_string())
    }));
    list
}

fn marking(frozen: &TestStart, unit: Degree) -> Vec<(&'static str, String)> {
    let marking = &frozen.detector.marking;
    let tolerance = |tolerance: Option<_>| {
        tolerance.map_or_else(|| "not on file".to_string(), |difference| difference_as_given(difference, unit))
    };
    let mut list = vec![
        ("Type", marking.detector_type.words().to_string()),
        ("Rating", marking.rating.map_or_else(|| "not on file".to_string(), |rating| as_given(rating, unit))),
        ("Minus tolerance", tolerance(marking.minus)),
        ("Plus tolerance", tolerance(marking.plus)),
    ];
    list.extend(marking.class.map(|class| ("EN 54-5 class", class.words().to_string())));
    list
}

pub(in crate::view) fn heater(frozen: &TestStart, unit: Degree) -> Vec<(&'static str, String)> {
    let heater = &frozen.heater;
    let top = words::degrees(heater.heating.top(&heater.setting), unit, 1);
    let unknown = || "not on file".to_string();
    let u = |difference| format!("u = {}", difference_as_given(difference, unit));
    let serial = heater.name.serial.as_ref().map_or_else(String::new, |serial| format!(", {serial}"));
    let mut list = vec![
        ("Heater", format!("{}{serial}", heater.name.name)),
        (
            "Why this heater is OK",
            match heater.name.basis {
                Basis::Listed => "listed heat source",
                Basis::DetectorInstructions => "named in the detector's instructions",
                Basis::Neither => "neither listed nor named: owner's information only",
            }
            .to_string(),
        ),
        ("Setting", format!("{}, tops out at {top}", as_given(heater.setting, unit))),
    ];
    list.extend(heater.mode.clone().map(|mode| ("Mode", mode)));
    let clock = |ms: Option<i64>| ms.map_or_else(|| "not given".to_string(), time::gone);
    list.push((
        "Heater control",
        match heater.heating.cycle {
            Cycle::Auto { hold_first_ms, hold_again_ms, off_ms, .. } => format!(
                "auto-cycling: holds {}, later {}, off {}",
                clock(hold_first_ms),
                clock(hold_again_ms),
                clock(off_ms)
            ),
            Cycle::Manual { .. } => "manual switch".into(),
        },
    ));
    list.push((
        "Display resolution",
        heater.heating.resolution.map_or_else(unknown, |step| difference_as_given(step, unit)),
    ));
    list.push(("Calibration", heater.metrology.calibration_u.map_or_else(unknown, u)));
    list.extend(heater.metrology.certificate.clone().map(|certificate| ("Certificate", certificate)));
    list.extend(heater.metrology.due.clone().map(|due| ("Calibration due", due)));
    list.push(("Fit error", heater.metrology.fit_u.map_or_else(unknown, u)));
    list
}
