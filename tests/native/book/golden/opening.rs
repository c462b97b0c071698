//! The visit up to its first heat: who, what for, the panel, what is off, permits.

use super::kit::check;
use super::writer::*;
use soakbook::book::body::{
    Attendance, Body, BreakItem, BreakKind, CheckWhen, CircuitProof, Clearing, ClockOffset, Edit, Excuse, FireWatch,
    HeaterCheck, HeldApproval, Impaired, ImpairedWhat, LeavingOff, LiftCheck, NotOurs, Notice, NotifyAnswer,
    NotifyWhen, OpenPair, OtherAlarm, OtherClock, Outputs, PanelState, PanelWhen, Permit, PhoneRef, PlannedPositions,
    Point, Restoring, Sample, SampleWhy, Secured, StationSaw, VisitPlan, VisitType, Who, Whom,
};
use soakbook::book::entry::{Hash, Scope};
use soakbook::trade::classified::{Gas, GasReading};
use std::sync::Arc;

/// Writes it; gives what is still off.
pub(super) fn write(w: &mut Writer) {
    who_and_what(w);
    w.swap();
    w.here.who = Some(id(BEN));
    let (name, invitation) = (w.words("Ben Example"), Some(invited(w)));
    let scope = Scope::Visit(id(VISIT));
    let attended =
        Body::Attended(Attendance { person: id(BEN), name, firm: None, license: None, contact: None }.into());
    w.decide(vec![(scope, Body::VisitJoined { site: id(SITE), invitation: None }), (scope, attended)]);
    w.visit(Body::VisitJoined { site: id(SITE), invitation });
    w.swap();
    notices(w);
    panel(w);
    off(w);
    permits(w);
    alarms(w);
    breaks(w);
}

fn invited(w: &Writer) -> Hash {
    w.log.iter().find(|entry| matches!(entry.body, Body::PhoneInvited { .. })).expect("an invitation").hash
}

fn who_and_what(w: &mut Writer) {
    let scope = Scope::Visit(id(VISIT));
    let (name, firm) = (w.words("Ada Example"), w.words("Example Testing Inc., 1 Nowhere Lane"));
    let (license, contact) = (w.words("INV-LIC-1"), w.words("555-0100"));
    let plan = VisitPlan {
        visit_type: VisitType::SetPoint,
        scope_of_work: None,
        edition: None,
        rule_set: None,
        not_in_scope: None,
    };
    let (firm, license, contact) = (Some(firm), Some(license), Some(contact));
    let opening = w.decide(vec![
        (scope, Body::VisitOpened { site: id(SITE) }),
        (scope, Body::VisitPlan(Edit::new(id(VISIT), vec![], plan))),
        (scope, Body::Attended(Attendance { person: id(ADA), name, firm, license, contact }.into())),
    ]);
    let plan = VisitPlan {
        visit_type: VisitType::SetPoint,
        scope_of_work: text("Hall and yard"),
        edition: text("an invented code, 2026"),
        rule_set: text("Two per circuit"),
        not_in_scope: text("Line-type detectors"),
    };
    w.visit(Body::VisitPlan(Edit::new(id(VISIT), vec![opening[1]], plan)));
    let drawn = vec![id(H3)];
    let from = vec![id(H2), id(H3)];
    let draw =
        Body::SampleDrawn(Sample { why: SampleWhy::Due, from, seed: "invented".into(), drawn: drawn.clone() }.into());
    let sample = Some(w.visit(draw));
    let why = Some(w.words("Drawn and one asked for"));
    w.visit(Body::PositionsPlanned(PlannedPositions { positions: drawn, planned: true, why, sample }.into()));
    w.visit(Body::PositionsPlanned(
        PlannedPositions { positions: vec![id(H1)], planned: true, why: None, sample: None }.into(),
    ));
    let name = w.words("Ben's phone");
    let invitation = w.visit(Body::PhoneInvited { name });
    w.visit(Body::AreaAssigned { area: id(YARD), to: PhoneRef::Invited(invitation) });
    w.visit(Body::AreaAssigned { area: id(HALL), to: PhoneRef::Phone(w.here.id) });
    let lost = w.words("Spare phone");
    let lost = PhoneRef::Invited(w.visit(Body::PhoneInvited { name: lost }));
    let (why, by) = (w.words("Left in the truck, nothing on it"), w.named("Olga Owner"));
    w.visit(Body::PhoneExcused(Excuse { of: lost, why, by, happened: at(30) }.into()));
}

fn notices(w: &mut Writer) {
    let ada = Who::Person(id(ADA));
    let full = Notice {
        whom: Whom::SupervisingStation,
        label: text("Invented Monitoring"),
        when: NotifyWhen::Before,
        answer: NotifyAnswer::Notified,
        by: w.named("Pat Partner"),
        contact: Some(w.words("Night desk, 555-0101, operator 12")),
        account: text("INV-4711"),
        test_until: Some(MORNING + 8 * 3_600_000),
        happened: at(5),
        note: Some(w.words("Asks for a call back")),
    };
    let bare = Notice {
        whom: Whom::FireDepartment,
        label: None,
        answer: NotifyAnswer::NotRequired,
        by: ada,
        contact: None,
        account: None,
        test_until: None,
        note: None,
        ..full.clone()
    };
    w.visit(Body::Notified(Arc::new(full)));
    w.visit(Body::Notified(Arc::new(bare)));
}

fn panel(w: &mut Writer) {
    let ada = Who::Person(id(ADA));
    let full = PanelState {
        when: PanelWhen::Found,
        label: text("Panel 1"),
        normal: false,
        alarms: vec!["ZONE 3 WATERFLOW".into()],
        supervisories: vec!["TAMPER VALVE 2".into()],
        troubles: vec!["BATTERY LOW".into()],
        disabled: vec!["LOOP 2 / 031".into()],
        photo: Some(w.picture()),
        by: w.named("Pat Partner"),
        happened: at(6),
    };
    let nothing = Vec::new;
    let bare = PanelState {
        when: PanelWhen::Between,
        label: None,
        normal: true,
        alarms: nothing(),
        supervisories: nothing(),
        troubles: nothing(),
        disabled: nothing(),
        photo: None,
        by: ada,
        happened: at(20),
    };
    w.visit(Body::PanelState(Arc::new(full)));
    w.visit(Body::PanelState(Arc::new(bare)));
    let by = w.named("Pat Partner");
    let of = OtherClock::Panel;
    w.visit(Body::ClockOffset(
        ClockOffset { of, label: text("Panel 1"), ahead_ms: -41_000, u_ms: 500, by, happened: at(7) }.into(),
    ));
    let of = OtherClock::Phone(id(2));
    w.visit(Body::ClockOffset(
        ClockOffset { of, label: None, ahead_ms: 800, u_ms: 300, by: ada, happened: tapped(8) }.into(),
    ));
    let checked = check(ada);
    let bare = HeaterCheck { shown: None, reference_u: None, instrument: None, when: CheckWhen::AfterDrop, ..checked };
    w.visit(Body::HeaterChecked(Arc::new(bare)));
}

fn off(w: &mut Writer) {
    let ada = Who::Person(id(ADA));
    let full = Impaired {
        what: ImpairedWhat::Circuit,
        circuit: Some(id(LOOP)),
        label: text("Loop 2"),
        why: Some(w.words("Releases stay put")),
        tag: text("T-31"),
        coordinator: Some(w.named("Iris Coordinator")),
        go_ahead: Some(w.named("Olga Owner")),
        fire_watch: Some(FireWatch::Posted),
        fire_watch_by: Some(w.named("Wes Watch")),
        by: w.named("Pat Partner"),
        happened: at(11),
    };
    let bare = Impaired {
        what: ImpairedWhat::Whole,
        circuit: None,
        label: None,
        why: None,
        tag: None,
        coordinator: None,
        go_ahead: None,
        fire_watch: None,
        fire_watch_by: None,
        by: ada,
        happened: at(12),
    };
    w.visit(Body::Impaired(Arc::new(full)));
    let whole = w.visit(Body::Impaired(Arc::new(bare)));
    w.visit(Body::Restored(Restoring { ends: whole, by: ada, verified_by: None, note: None, happened: at(13) }.into()));
    let secured = Secured {
        release: "Door 7".into(),
        method: text("Magnet pinned"),
        tag: text("L-4"),
        by: w.named("Pat Partner"),
        verified_by: Some(w.named("Olga Owner")),
        happened: at(14),
    };
    w.visit(Body::Secured(Arc::new(secured)));
    let alone =
        Secured { release: "Fan 2".into(), method: None, tag: None, by: ada, verified_by: None, happened: at(15) };
    let fan = w.visit(Body::Secured(Arc::new(alone)));
    let (by, verified_by) = (w.named("Pat Partner"), Some(w.named("Olga Owner")));
    let note = Some(w.words("Runs again"));
    w.visit(Body::Restored(Restoring { ends: fan, by, verified_by, note, happened: at(17) }.into()));
    let (position, circuit, by) = (Some(id(H2)), Some(id(ZONE)), w.named("Pat Partner"));
    w.visit(Body::PairOpened(OpenPair { position, circuit, label: text("TB4-7"), by, happened: at(18) }.into()));
    let pair = w.visit(Body::PairOpened(
        OpenPair { position: None, circuit: None, label: None, by: ada, happened: at(18) }.into(),
    ));
    w.visit(Body::Restored(Restoring { ends: pair, by: ada, verified_by: None, note: None, happened: at(19) }.into()));
}

fn permits(w: &mut Writer) {
    let ada = Who::Person(id(ADA));
    let gas = |gas, percent| GasReading { gas, percent };
    let full = Permit {
        area: Some(id(HALL)),
        number: "P-17".into(),
        valid_from: MORNING,
        valid_until: MORNING + 8 * 3_600_000,
        gas_tested_at: Some(MORNING + 20 * 60_000),
        readings: vec![gas(Gas::Lel, number(0, 0)), gas(Gas::Oxygen, number(209, -1))],
        instrument: text("Meter INV-G-1"),
        interval_min: Some(120),
        lel_limit: Some(number(5, 0)),
        phone_allowed: true,
        by: w.named("Sid Safety"),
        happened: at(21),
    };
    let bare = Permit {
        area: None,
        number: "HW-3".into(),
        gas_tested_at: None,
        readings: Vec::new(),
        instrument: None,
        interval_min: None,
        lel_limit: None,
        phone_allowed: false,
        by: ada,
        ..full.clone()
    };
    w.visit(Body::PermitTaken(Arc::new(full)));
    let hot_work = w.visit(Body::PermitTaken(Arc::new(bare)));
    w.visit(Body::Restored(
        Restoring { ends: hot_work, by: ada, verified_by: None, note: None, happened: at(22) }.into(),
    ));
    let (heater, area, by) = (id(HEATER), id(HALL), w.named("Sid Safety"));
    let (approval, classification) = ("Class I, Division 2, D, T3".to_string(), "Class I, Division 2, D, T3".into());
    w.visit(Body::ApprovalHeld(
        HeldApproval { heater, area, approval, classification, fits: true, by, happened: at(23) }.into(),
    ));
}

fn alarms(w: &mut Writer) {
    let ada = Who::Person(id(ADA));
    let (by, note) = (w.named("Pat Partner"), Some(w.words("Zone 3 by itself")));
    let alarm = w.visit(Body::AlarmNotOurs(OtherAlarm { what: NotOurs::Alarm, by, note, happened: at(24) }.into()));
    let (by, note) = (w.named("Olga Owner"), Some(w.words("Fire department was there")));
    w.visit(Body::AlarmCleared(Clearing { ends: alarm, by, note, happened: at(29) }.into()));
    let moved =
        Body::AlarmNotOurs(OtherAlarm { what: NotOurs::OutputMoved, by: ada, note: None, happened: tapped(29) }.into());
    let moved = w.visit(moved);
    w.visit(Body::AlarmCleared(Clearing { ends: moved, by: ada, note: None, happened: at(29) }.into()));
    let (circuit, by) = (id(ZONE), ada);
    let (point, outputs, station) = (Point::NotChecked, Outputs::None, StationSaw::NotChecked);
    w.visit(Body::CircuitProved(
        CircuitProof { circuit, trip: None, point, outputs, station, by, happened: at(29) }.into(),
    ));
    let (note, by) = (Some(w.words("Harness hook worn, changed")), w.named("Pat Partner"));
    w.visit(Body::LiftChecked(LiftCheck { lift: text("Lift 1"), good: false, note, by, happened: at(9) }.into()));
    w.visit(Body::LiftChecked(LiftCheck { lift: None, good: true, note: None, by: ada, happened: at(10) }.into()));
}

/// What `taken` says took off in the visit.
fn off_by(w: &Writer, taken: fn(&Body) -> bool) -> Hash {
    w.log.iter().find(|entry| taken(&entry.body)).expect("something off").hash
}

fn breaks(w: &mut Writer) {
    let scope = Scope::Visit(id(VISIT));
    let ada = Who::Person(id(ADA));
    let loop_2 = off_by(w, |body| matches!(body, Body::Impaired(what) if what.what == ImpairedWhat::Circuit));
    let door = off_by(w, |body| matches!(body, Body::Secured(what) if what.release == "Door 7"));
    let pair = off_by(w, |body| matches!(body, Body::PairOpened(_)));
    let left_off_by = Some(w.named("Olga Owner"));
    let items = vec![
        BreakItem { off: pair, put_back: true, left_off_by: None },
        BreakItem { off: loop_2, put_back: false, left_off_by },
        BreakItem { off: door, put_back: false, left_off_by },
    ];
    let restored =
        Body::Restored(Restoring { ends: pair, by: ada, verified_by: None, note: None, happened: at(31) }.into());
    let started = Body::BreakStarted { kind: BreakKind::Day, items, happened: at(31) };
    let ends = w.decide(vec![(scope, restored), (scope, started)])[1];
    w.visit(Body::BreakEnded { ends, happened: at(50) });
    let (accepted_by, notified) = (w.named("Olga Owner"), Some(w.named("Iris Coordinator")));
    let note = Some(w.words("Until the spare is here"));
    let until = Some(MORNING + 86_400_000);
    w.visit(Body::LeftOff(LeavingOff { off: loop_2, accepted_by, until, notified, note, happened: at(51) }.into()));
    w.visit(Body::LeftOff(
        LeavingOff { off: door, accepted_by: ada, until: None, notified: None, note: None, happened: at(51) }.into(),
    ));
}
