//! The small works: nine positions, two heaters, and no past.

use crate::book::Id;
use crate::book::body::{Area, Circuit, Site, VisitPlan, VisitType, What};
use crate::book::command::{Command, PutPosition, StartProfileRun};
use crate::trade::classified::Classification;
use crate::trade::conditions::Warmth;
use crate::trade::detector::{Access, AreaConditions, Duty, LimitsFrom, Make, Marking, Place, Reach};
use crate::trade::detector_type::{Class, DetectorType, Suffix};
use crate::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use crate::trade::procedure::{NumbersFrom, Procedure, ProcedureKind};
use crate::units::{Degree, Difference, Reading, Wall};

/// What makes the demonstration.
#[derive(Clone, Debug, PartialEq)]
pub struct Demo {
    /// To be given one after another; the last one opens a visit.
    pub commands: Vec<Command>,
    /// Two profile runs of the first heater, to be given before that last one, each command with how long ago it was, ms.
    pub profile_runs: Vec<(i64, Command)>,
    /// The site.
    pub site: Id,
    /// The visit that is opened.
    pub visit: Id,
}

/// How long the invented calibration is valid from now, ms.
const CALIBRATED_FOR: i64 = 200 * 24 * 3_600_000;

/// The demonstration, made with ids from `new_id` at wall clock `wall_ms`, UTC ms.
pub fn demo(mut new_id: impl FnMut() -> Id, wall_ms: Wall) -> Demo {
    let (site, visit) = (new_id(), new_id());
    let (hall, packing, store) = (new_id(), new_id(), new_id());
    let (zone_1, zone_2, loop_3) = (new_id(), new_id(), new_id());
    let name = "Nowhere Quay Jam Works (invented)".to_string();
    let mut commands = vec![Command::PutSite { site, now: Site { name, address: None, invented: true } }];
    let spirit_store = Classification {
        class: Some("Class I (invented)".to_string()),
        division: Some("Division 2".to_string()),
        ..Classification::default()
    };
    let areas =
        [(hall, "Boiling hall", None), (packing, "Packing room", None), (store, "Spirit store", Some(spirit_store))];
    commands.extend(areas.map(|(area, name, classification)| Command::PutArea {
        area,
        now: Area { site, name: name.to_string() },
        conditions: AreaConditions { ceiling: None, classification },
    }));
    let circuits = [(zone_1, "Zone 1", false), (zone_2, "Zone 2", false), (loop_3, "Loop 3", true)];
    commands.extend(circuits.map(|(circuit, name, shows_point)| Command::PutCircuit {
        circuit,
        now: Circuit {
            site,
            name: name.to_string(),
            shows_point,
            addressable: Some(shows_point),
            releasing: Some(false),
            verification: false,
        },
    }));
    let jam = Marking { minus: Some(f(-7)), plus: Some(f(9)), ..marked(DetectorType::RateCompensated, Some(194)) };
    let warm = Marking { minus: Some(f(-6)), plus: Some(f(7)), ..marked(DetectorType::FixedRestorable, Some(135)) };
    let spirit = Marking { minus: Some(f(-6)), plus: Some(f(9)), ..marked(DetectorType::RateCompensated, Some(160)) };
    let european = Marking {
        rating: Some(Reading { value: 60, scale: 0, unit: Degree::C }),
        class: Some(Class::A1),
        suffix: Some(Suffix::R),
        ..marked(DetectorType::Electronic, None)
    };
    let nothing = Duty { releases: Some(Vec::new()), monitored: Some(true), classified: false };
    let belt = Duty { releases: Some(vec!["Packing belt stop".to_string()]), ..nothing.clone() };
    let vapor = Duty { classified: true, ..nothing.clone() };
    let detectors = [
        ("J-01", hall, zone_1, jam.clone(), nothing.clone()),
        ("J-02", hall, zone_1, jam.clone(), nothing.clone()),
        ("J-03", hall, zone_1, jam.clone(), nothing.clone()),
        ("J-04", hall, zone_1, jam, nothing.clone()),
        ("J-05", hall, zone_1, marked(DetectorType::RateOfRise, None), nothing.clone()),
        ("P-01", packing, zone_2, warm, belt),
        ("P-02", packing, zone_2, european, nothing.clone()),
        ("P-03", packing, zone_2, marked(DetectorType::FixedNonrestorable, Some(165)), nothing),
        ("S-01", store, loop_3, spirit, vapor),
    ];
    for (point, (tag, area, circuit, marking, duty)) in (1..).zip(detectors) {
        let place = Place {
            tag: tag.to_string(),
            area,
            circuit: Some(circuit),
            point: Some(format!("{point:03}")),
            panel_text: Some(format!("Heat {tag}")),
            location: None,
            customer_id: None,
        };
        let hazard = duty.classified.then(|| "Spirit vapor near the floor drains (invented)".to_string());
        commands.push(Command::PutPosition(Box::new(PutPosition {
            position: new_id(),
            detector: new_id(),
            place,
            access: Access { reach: Some(Reach::ScissorLift), hazard, ..Access::default() },
            duty,
            marking: limited(marking),
            make: Make::default(),
        })));
    }
    let first_heater = new_id();
    commands.push(cycling_heater(first_heater, "A", "Invented 17", wall_ms.saturating_add(CALIBRATED_FOR)));
    commands.push(heater_b(new_id()));
    commands.extend(procedures().map(|now| Command::PutProcedure { procedure: new_id(), now: Box::new(now) }));
    let plan = VisitPlan::of(VisitType::Functional);
    commands.push(Command::OpenVisit { visit, site, plan });
    let profile_runs = profile_runs(&mut new_id, first_heater);
    Demo { commands, profile_runs, site, visit }
}

pub(super) fn profile_runs(new_id: &mut impl FnMut() -> Id, heater: Id) -> Vec<(i64, Command)> {
    PROFILE_RUNS.iter().flat_map(|invented| invented.commands(new_id(), heater)).collect()
}

pub(super) fn f(value: i64) -> Difference {
    Difference { value, scale: 0, unit: Degree::F }
}

pub(super) fn at(value: i64) -> Reading {
    Reading { value, scale: 0, unit: Degree::F }
}

pub(super) fn marked(detector_type: DetectorType, rating: Option<i64>) -> Marking {
    Marking::new(detector_type, rating.map(at))
}

pub(super) fn limited(marking: Marking) -> Marking {
    Marking { limits_from: marking.minus.map(|_| LimitsFrom::Marking), ..marking }
}

/// Cycles by itself, shows its temperature, is calibrated until `due_ms`, UTC.
pub(super) fn cycling_heater(heater: Id, letter: &str, certificate: &str, due_ms: Wall) -> Command {
    let due = chrono::DateTime::from_timestamp_millis(due_ms.0);
    Command::PutHeater {
        heater,
        name: HeaterName {
            name: format!("Heater {letter} (invented)"),
            serial: None,
            basis: Basis::Listed,
            approval: None,
        },
        heating: Box::new(Heating {
            settings: vec![at(201), at(167), at(143)],
            overshoot: Some(f(5)),
            modes: Vec::new(),
            cycle: Cycle::Auto {
                heat_up_cold_ms: Some(213_000),
                heat_up_again_ms: Some(47_000),
                hold_first_ms: Some(183_000),
                hold_again_ms: Some(11_000),
                off_ms: Some(43_000),
            },
            resolution: Some(f(1)),
            lamp: Some("Lit while it heats, dark while it is off".to_string()),
            timeout_ms: Some(2_820_000),
        }),
        metrology: Metrology {
            calibration_u: Some(Difference { value: 6, scale: -1, unit: Degree::F }),
            certificate: Some(certificate.to_string()),
            due: due.map(|due| due.date_naive().to_string()),
            fit_u: Some(Difference { value: 8, scale: -1, unit: Degree::F }),
            fit_from: Some("Invented, for demonstration".to_string()),
        },
    }
}

/// A profile run that nobody took: seconds since heat on, and the display in °F.
struct Invented {
    ago_ms: i64,
    ambient: i64,
    top_s: i64,
    off_s: i64,
    end_s: i64,
    readings: &'static [(i64, i64)],
}

/// Drawn from a first-order heat-up and cooling of an invented heater with invented scatter, the second on a weaker supply.
const PROFILE_RUNS: [Invented; 2] = [
    Invented {
        ago_ms: 50 * 3_600_000,
        ambient: 70,
        top_s: 209,
        off_s: 392,
        end_s: 630,
        readings: &[
            (12, 83),
            (30, 102),
            (51, 122),
            (70, 137),
            (92, 153),
            (110, 163),
            (131, 176),
            (150, 184),
            (171, 194),
            (190, 200),
            (207, 206),
            (240, 206),
            (300, 205),
            (420, 191),
            (450, 176),
            (482, 163),
            (520, 150),
            (560, 138),
            (610, 125),
        ],
    },
    Invented {
        ago_ms: 48 * 3_600_000,
        ambient: 67,
        top_s: 234,
        off_s: 420,
        end_s: 655,
        readings: &[
            (10, 79),
            (31, 100),
            (50, 117),
            (72, 134),
            (90, 146),
            (112, 159),
            (130, 169),
            (151, 179),
            (172, 187),
            (191, 194),
            (211, 200),
            (230, 206),
            (270, 207),
            (330, 206),
            (452, 189),
            (480, 174),
            (510, 161),
            (551, 146),
            (590, 135),
            (640, 120),
        ],
    },
];

impl Invented {
    fn commands(&self, run: Id, heater: Id) -> Vec<(i64, Command)> {
        let start = StartProfileRun {
            run,
            heater,
            setting: at(201),
            mode: None,
            position: None,
            ambient: at(self.ambient),
            heater_warmth: Warmth::Cold,
        };
        let mark = |second, what| (second, Command::Mark { of: run, what });
        let read = |(second, shown): &(i64, i64)| (*second, Command::Read { of: run, reading: at(*shown), trip: None });
        let (before, after) = (|second: i64| second <= self.top_s, |second: i64| second > self.off_s);
        let part =
            |fits: &dyn Fn(i64) -> bool| self.readings.iter().filter(|r| fits(r.0)).map(read).collect::<Vec<_>>();
        let mut timed = vec![(0, Command::StartProfileRun(Box::new(start)))];
        timed.extend(part(&before));
        timed.push(mark(self.top_s, What::AtTop));
        timed.extend(part(&|second| !before(second) && !after(second)));
        timed.push(mark(self.off_s, What::HeaterOff));
        timed.extend(part(&after));
        timed.push((self.end_s, Command::EndProfileRun { run, usable: true }));
        timed.into_iter().map(|(second, command)| (self.ago_ms - second * 1_000, command)).collect()
    }
}

/// Switched by hand, shows nothing, may go into the spirit store.
fn heater_b(heater: Id) -> Command {
    Command::PutHeater {
        heater,
        name: HeaterName {
            name: "Heater B (invented)".to_string(),
            serial: None,
            basis: Basis::Neither,
            approval: Some(Classification {
                class: Some("Class I (invented)".to_string()),
                division: Some("Division 2".to_string()),
                ..Classification::default()
            }),
        },
        heating: Box::new(Heating {
            settings: vec![at(153), at(184), at(212)],
            overshoot: None,
            modes: Vec::new(),
            cycle: Cycle::Manual { heat_up_cold_ms: None, heat_up_again_ms: None },
            resolution: None,
            lamp: Some("Lit below its setting, dark at it".to_string()),
            timeout_ms: None,
        }),
        metrology: Metrology::default(),
    }
}

/// Invented numbers of an invented owner: nobody's instructions say so.
fn procedures() -> [Procedure; 1] {
    [Procedure {
        name: "Set-point test (invented numbers)".to_string(),
        kind: ProcedureKind::SetPoint,
        trips: 4,
        not_averaged: 1,
        soak_ms: Some(183_000),
        off_ms: Some(43_000),
        extra_trips: 2,
        limits: None,
        numbers_from: Some(NumbersFrom::Owner),
    }]
}
