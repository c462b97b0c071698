//! The kit of the first phone: people, heaters, procedures, rule sets, profile runs.

use super::writer::*;
use soakbook::book::body::{
    Body, CheckWhen, Edit, HeaterCheck, HeaterSnapshot, Person, PhoneName, ProfileRunStart, ReadingCorrection,
    RuleCheck, RuleExcept, RuleSet, What, Who,
};
use soakbook::book::entry::Hash;
use soakbook::trade::classified::Classification;
use soakbook::trade::conditions::Warmth;
use soakbook::trade::detector::{Agreed, LimitsFrom, Marking, RateFunction};
use soakbook::trade::detector_type::{Class, DetectorType, Suffix};
use soakbook::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use soakbook::trade::procedure::{NumbersFrom, OwnLimits, Procedure, ProcedureKind};
use std::sync::Arc;

pub(super) fn classification() -> Classification {
    Classification {
        class: text("Class I"),
        division: text("Division 2"),
        group: text("D"),
        temperature_code: text("T3"),
    }
}

pub(super) fn heater_name() -> HeaterName {
    HeaterName {
        name: "Grüne Glocke".into(),
        serial: text("INV-0001"),
        basis: Basis::DetectorInstructions,
        approval: Some(classification()),
    }
}

pub(super) fn heating() -> Heating {
    Heating {
        settings: vec![f(190, 0), f(135, 0)],
        overshoot: Some(df(8, 0)),
        modes: vec!["steady".into()],
        cycle: Cycle::Auto {
            heat_up_cold_ms: Some(90_000),
            heat_up_again_ms: Some(30_000),
            hold_first_ms: Some(300_000),
            hold_again_ms: Some(0),
            off_ms: Some(45_000),
        },
        resolution: Some(df(1, -1)),
        lamp: text("amber: heating; green: at top temp"),
        timeout_ms: Some(3_600_000),
    }
}

pub(super) fn metrology() -> Metrology {
    Metrology {
        calibration_u: Some(k(5, -1)),
        certificate: text("INV-C-7"),
        due: text("2026-12-31"),
        fit_u: Some(k(8, -1)),
        fit_from: text("ten repeats, removed and put back"),
    }
}

/// Every field of a marking.
pub(super) fn marking(agreed_by: Hash) -> Marking {
    Marking {
        detector_type: DetectorType::Electronic,
        rating: Some(f(190, 0)),
        minus: Some(df(-8, 0)),
        plus: Some(df(8, 0)),
        limits_from: Some(LimitsFrom::Owner),
        agreed: Some(Agreed { by: agreed_by, on: text("2026-02-20") }),
        class: Some(Class::C),
        suffix: Some(Suffix::R),
        rate_function: Some(RateFunction::Off),
    }
}

/// Only what every marking has.
pub(super) fn bare_marking() -> Marking {
    Marking {
        detector_type: DetectorType::FixedRestorable,
        rating: None,
        minus: None,
        plus: None,
        limits_from: None,
        agreed: None,
        class: None,
        suffix: None,
        rate_function: None,
    }
}

pub(super) fn procedure(agreed_by: Hash) -> Procedure {
    Procedure {
        name: "Five trips".into(),
        kind: ProcedureKind::SetPoint,
        trips: 5,
        not_averaged: 1,
        soak_ms: Some(300_000),
        off_ms: Some(45_000),
        extra_trips: 2,
        limits: Some(OwnLimits {
            minus: df(-10, 0),
            plus: df(10, 0),
            agreed: Some(Agreed { by: agreed_by, on: None }),
        }),
        numbers_from: Some(NumbersFrom::Owner),
    }
}

pub(super) fn rule_set() -> RuleSet {
    RuleSet {
        name: "Two per circuit".into(),
        sentence: "Two or more per circuit a year, different ones, all within five years".into(),
        source: "an invented code, 2026".into(),
        from_memory: true,
        check: RuleCheck::Functional,
        types: vec![DetectorType::FixedRestorable],
        except: vec![RuleExcept::Addressable, RuleExcept::Releasing],
        every_months: 12,
        first_after_months: Some(180),
        least_per_circuit: Some(2),
        all_within_months: Some(60),
        sample_per_100: Some(2),
    }
}

/// Only what every rule set has.
pub(super) fn bare_rule_set() -> RuleSet {
    RuleSet {
        name: "Yearly".into(),
        sentence: "Every position every year".into(),
        from_memory: false,
        types: Vec::new(),
        except: Vec::new(),
        first_after_months: None,
        least_per_circuit: None,
        all_within_months: None,
        sample_per_100: None,
        ..rule_set()
    }
}

/// The heater as a test with all its fields has it.
pub(super) fn heater(profile: Vec<Hash>) -> HeaterSnapshot {
    HeaterSnapshot {
        of: id(HEATER),
        name: heater_name(),
        heating: heating(),
        metrology: metrology(),
        setting: f(190, 0),
        mode: text("steady"),
        profile,
    }
}

/// Only what every heater has.
pub(super) fn bare_heater() -> HeaterSnapshot {
    HeaterSnapshot {
        of: id(SPARE),
        name: HeaterName { name: "Spare".into(), serial: None, basis: Basis::Neither, approval: None },
        heating: bare_heating(Cycle::MANUAL),
        metrology: Metrology::default(),
        setting: f(190, 0),
        mode: None,
        profile: Vec::new(),
    }
}

fn bare_heating(cycle: Cycle) -> Heating {
    Heating {
        settings: vec![f(190, 0)],
        overshoot: None,
        modes: Vec::new(),
        cycle,
        resolution: None,
        lamp: None,
        timeout_ms: None,
    }
}

pub(super) fn check(by: Who) -> HeaterCheck {
    HeaterCheck {
        heater: id(HEATER),
        setting: f(190, 0),
        shown: Some(f(1982, -1)),
        reference: c(922, -1),
        reference_u: Some(k(2, -1)),
        instrument: text("block thermometer INV-T-1"),
        when: CheckWhen::Start,
        by,
        happened: at(10),
    }
}

/// Writes it; gives the end of the usable profile run, which tests name.
pub(super) fn write(w: &mut Writer) -> Vec<Hash> {
    let (name, firm) = (w.words("Ada Example"), w.words("Example Testing Inc."));
    let (license, contact) = (w.words("INV-LIC-1"), w.words("1 Nowhere Lane, 555-0100"));
    let ada = Person { name, firm: Some(firm), license: Some(license), contact: Some(contact), retired: false };
    w.kit(Body::Person(Edit::new(id(ADA), vec![], ada)));
    w.kit(Body::PhoneHanded { to: id(ADA) });
    w.here.who = Some(id(ADA));
    let name = w.words("Lift 1");
    w.kit(Body::PhoneName(Edit::new(w.here.id, vec![], PhoneName { name })));
    let ben = Person { name: w.words("Ben Example"), firm: None, license: None, contact: None, retired: false };
    let first = w.kit(Body::Person(Edit::new(id(BEN), vec![], ben.clone())));
    w.kit(Body::Person(Edit::new(id(BEN), vec![first], Person { retired: true, ..ben })));

    w.kit(Body::HeaterName(Edit::new(id(HEATER), vec![], heater_name())));
    w.kit(Body::HeaterHeating(Edit::new(id(HEATER), vec![], heating())));
    w.kit(Body::HeaterMetrology(Edit::new(id(HEATER), vec![], metrology())));
    let spare = bare_heater();
    w.kit(Body::HeaterName(Edit::new(id(SPARE), vec![], spare.name)));
    w.kit(Body::HeaterMetrology(Edit::new(id(SPARE), vec![], spare.metrology)));
    let mut before = vec![];
    let times = Cycle::Manual { heat_up_cold_ms: Some(120_000), heat_up_again_ms: Some(40_000) };
    for cycle in [Cycle::AUTO, times, Cycle::MANUAL] {
        before = vec![w.kit(Body::HeaterHeating(Edit::new(id(SPARE), before, bare_heating(cycle))))];
    }
    let by = w.named("Cal Example");
    let checked = check(by);
    w.kit(Body::HeaterChecked(Arc::new(checked)));

    let owner = w.words("Olga Owner");
    let bare =
        Procedure { limits: Some(OwnLimits { minus: k(0, 0), plus: k(5, 0), agreed: None }), ..procedure(owner) };
    let first = w.kit(Body::Procedure(Edit::new(id(SET_POINT), vec![], bare)));
    w.kit(Body::Procedure(Edit::new(id(SET_POINT), vec![first], procedure(owner))));
    w.kit(Body::Procedure(Edit::new(id(FUNCTIONAL), vec![], Procedure::functional())));
    w.kit(Body::RuleSet(Edit::new(id(RULES), vec![], rule_set())));
    w.kit(Body::RuleSet(Edit::new(id(RULES + 1), vec![], bare_rule_set())));
    let profile = run(w, owner);
    short_run(w);
    profile
}

fn run(w: &mut Writer, owner: Hash) -> Vec<Hash> {
    let start = ProfileRunStart {
        run: id(RUN),
        heater: heater(Vec::new()),
        position: Some(id(H1)),
        marking: Some(marking(owner)),
        ambient: f(70, 0),
        heater_warmth: Warmth::Cold,
        by: Some(id(ADA)),
    };
    let of = id(RUN);
    w.kit(Body::ProfileRunStarted(Arc::new(start)));
    let heat_on = w.kit(Body::Mark { of, what: What::HeatOn });
    let (to_session, to_mono) = (w.last().stamp.session, w.last().stamp.mono - 200);
    w.kit(Body::Moved { mark: heat_on, to_session, to_mono });
    for value in [1015, 1340, 1655, 1801, 1888] {
        w.wait(14_000);
        w.kit(Body::ReadingTaken { of, reading: f(value, -1), trip: None });
    }
    let slip = w.kit(Body::ReadingTaken { of, reading: f(8881, -1), trip: None });
    w.kit(Body::ReadingCorrected(ReadingCorrection { reading: slip, now: Some(f(1888, -1)), why: None }.into()));
    w.kit(Body::Mark { of, what: What::HeaterOff });
    vec![w.kit(Body::ProfileRunEnded { run: of, usable: true })]
}

fn short_run(w: &mut Writer) {
    let of = id(SHORT_RUN);
    let start = ProfileRunStart {
        run: of,
        heater: bare_heater(),
        position: None,
        marking: None,
        ambient: c(21, 0),
        heater_warmth: Warmth::Warm,
        by: None,
    };
    w.kit(Body::ProfileRunStarted(Arc::new(start)));
    w.kit(Body::Mark { of, what: What::HeatOn });
    let lamp = w.kit(Body::Mark { of, what: What::AtTop });
    w.kit(Body::MarkStruck { mark: lamp, why: None });
    w.kit(Body::ProfileRunEnded { run: of, usable: false });
}
