//! An invented site to try everything on. No such place, heaters or numbers exist; every screen and print of it says so.

use crate::book::Id;
use crate::book::body::{Area, Circuit, Site, What};
use crate::book::command::{Command, StartProfileRun};
use crate::trade::conditions::Warmth;
use crate::trade::detector::{Duty, LimitsFrom, Marking, Place};
use crate::trade::detector_type::{Class, DetectorType, Suffix};
use crate::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use crate::trade::procedure::{Procedure, Template};
use crate::units::{Degree, Difference, Reading};

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
pub fn demo(mut new_id: impl FnMut() -> Id, wall_ms: i64) -> Demo {
    let (site, visit) = (new_id(), new_id());
    let (hall, packing, store) = (new_id(), new_id(), new_id());
    let (zone_1, zone_2, loop_3) = (new_id(), new_id(), new_id());
    let name = "Nowhere Quay Jam Works (invented)".to_string();
    let mut commands = vec![Command::PutSite { site, now: Site { name, address: None, invented: true } }];
    let areas = [(hall, "Boiling hall"), (packing, "Packing room"), (store, "Spirit store")];
    commands.extend(areas.map(|(area, name)| Command::PutArea { area, now: Area { site, name: name.to_string() } }));
    let circuits = [(zone_1, "Zone 1", false), (zone_2, "Zone 2", false), (loop_3, "Loop 3", true)];
    commands.extend(circuits.map(|(circuit, name, tells_apart)| Command::PutCircuit {
        circuit,
        now: Circuit { site, name: name.to_string(), tells_apart },
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
    let belt = Duty { releases: vec!["Packing belt stop".to_string()], ..Duty::default() };
    let vapour = Duty {
        classified: true,
        hazard: Some("Spirit vapour near the floor drains (invented)".to_string()),
        ..Duty::default()
    };
    let detectors = [
        ("J-01", hall, zone_1, jam.clone(), Duty::default()),
        ("J-02", hall, zone_1, jam.clone(), Duty::default()),
        ("J-03", hall, zone_1, jam.clone(), Duty::default()),
        ("J-04", hall, zone_1, jam, Duty::default()),
        ("J-05", hall, zone_1, marked(DetectorType::RateOfRise, None), Duty::default()),
        ("P-01", packing, zone_2, warm, belt),
        ("P-02", packing, zone_2, european, Duty::default()),
        ("P-03", packing, zone_2, marked(DetectorType::FixedNonrestorable, Some(165)), Duty::default()),
        ("S-01", store, loop_3, spirit, vapour),
    ];
    for (point, (tag, area, circuit, marking, duty)) in (1..).zip(detectors) {
        let place = Place {
            tag: tag.to_string(),
            area,
            circuit: Some(circuit),
            address: Some(format!("{point:03}")),
            label: Some(format!("Heat {tag}")),
        };
        commands.push(Command::PutDetector { detector: new_id(), place, marking: Box::new(limited(marking)), duty });
    }
    let first_heater = new_id();
    commands.push(heater_a(first_heater, wall_ms));
    commands.push(heater_b(new_id()));
    commands.extend(procedures().map(|now| Command::PutProcedure { procedure: new_id(), now: Box::new(now) }));
    commands.push(Command::OpenVisit { visit, site });
    let mut profile_runs = Vec::new();
    for invented in &PROFILE_RUNS {
        profile_runs.extend(invented.commands(new_id(), first_heater));
    }
    Demo { commands, profile_runs, site, visit }
}

fn f(value: i64) -> Difference {
    Difference { value, scale: 0, unit: Degree::F }
}

fn at(value: i64) -> Reading {
    Reading { value, scale: 0, unit: Degree::F }
}

fn marked(detector_type: DetectorType, rating: Option<i64>) -> Marking {
    Marking {
        detector_type,
        rating: rating.map(at),
        minus: None,
        plus: None,
        limits_from: None,
        class: None,
        suffix: None,
    }
}

fn limited(marking: Marking) -> Marking {
    Marking { limits_from: marking.minus.map(|_| LimitsFrom::Marking), ..marking }
}

/// Cycles by itself, shows its temperature, is calibrated.
fn heater_a(heater: Id, wall_ms: i64) -> Command {
    let due = chrono::DateTime::from_timestamp_millis(wall_ms.saturating_add(CALIBRATED_FOR));
    Command::PutHeater {
        heater,
        name: HeaterName {
            name: "Heater A (invented)".to_string(),
            serial: None,
            basis: Basis::Listed,
            hazardous_approval: None,
        },
        heating: Box::new(Heating {
            settings: vec![at(200), at(165), at(140)],
            above: f(6),
            modes: Vec::new(),
            cycle: Cycle::ByItself {
                heat_up_cold_ms: Some(210_000),
                heat_up_again_ms: Some(50_000),
                hold_first_ms: 180_000,
                hold_again_ms: 0,
                off_ms: 40_000,
            },
            resolution: Some(f(1)),
            lamp: Some("Lit while it heats, dark while it is off".to_string()),
            timeout_ms: Some(2_700_000),
        }),
        metrology: Metrology {
            calibration_u: Some(Difference { value: 6, scale: -1, unit: Degree::F }),
            certificate: Some("Invented 17".to_string()),
            due: due.map(|due| due.date_naive().to_string()),
            fit_u: Some(Difference { value: 8, scale: -1, unit: Degree::F }),
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
    fn commands(&self, profile_run: Id, heater: Id) -> Vec<(i64, Command)> {
        let start = StartProfileRun {
            profile_run,
            heater,
            setting: at(200),
            mode: None,
            detector: None,
            ambient: at(self.ambient),
            heater_warmth: Warmth::Cold,
            by: None,
        };
        let mark = |second, what| (second, Command::Mark { test: profile_run, what });
        let read = |(second, shown): &(i64, i64)| {
            (*second, Command::Read { test: profile_run, reading: at(*shown), trip: None })
        };
        let (before, after) = (|second: i64| second <= self.top_s, |second: i64| second > self.off_s);
        let part =
            |fits: &dyn Fn(i64) -> bool| self.readings.iter().filter(|r| fits(r.0)).map(read).collect::<Vec<_>>();
        let mut timed = vec![(0, Command::StartProfileRun(Box::new(start)))];
        timed.extend(part(&before));
        timed.push(mark(self.top_s, What::AtTop));
        timed.extend(part(&|second| !before(second) && !after(second)));
        timed.push(mark(self.off_s, What::HeaterOff));
        timed.extend(part(&after));
        timed.push((self.end_s, Command::EndProfileRun { profile_run, usable: true }));
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
            hazardous_approval: Some("Invented approval, for demonstration".to_string()),
        },
        heating: Box::new(Heating {
            settings: vec![at(150), at(180), at(210)],
            above: f(0),
            modes: Vec::new(),
            cycle: Cycle::ByHand { heat_up_cold_ms: None, heat_up_again_ms: None },
            resolution: None,
            lamp: Some("Lit below its setting, dark at it".to_string()),
            timeout_ms: None,
        }),
        metrology: Metrology::default(),
    }
}

/// The demonstration's own numbers, which differ from the templates so that nobody takes them for practice.
fn procedures() -> [Procedure; 2] {
    let set_point = Procedure {
        name: "Demonstration set-point test".to_string(),
        soak_ms: 180_000,
        off_ms: 40_000,
        appended_at_most: 1,
        confirmed: true,
        ..Procedure::set_point_template()
    };
    let functional = Procedure {
        name: "Demonstration functional test".to_string(),
        template: Template::Functional,
        soak_ms: 180_000,
        off_ms: 40_000,
        confirmed: true,
        ..Procedure::functional_template()
    };
    [set_point, functional]
}
