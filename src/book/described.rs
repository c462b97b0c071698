//! How the facts that people fill in are written to JSON, and what each field may hold. Fields and names are never renamed.

use super::acts::*;
use super::off::*;
use super::snapshot::{ProfileRunStart, TestStart};
use super::things::*;
use super::work::*;
use crate::encoding::stored::Named;
use crate::trade::conditions::{Air, ItemClass, RateAnswer, Visual, Warmth};
use crate::trade::detector_type::DetectorType;
use crate::trade::fields::{AMBIENT, Kind, LINE, NAME, TEMPERATURE, described};

/// Months of a rule: up to fifty years. Own figure.
const MONTHS: Kind = Kind::Whole(1, 600, "months");

described!(Site { name: Kind::Name, address: Kind::Line; invented });
described!(Area { site: Kind::Thing, name: Kind::Name });
described!(Circuit {
    site: Kind::Thing,
    name: Kind::Name,
    addressable: Kind::Flag,
    releasing: Kind::Flag;
    shows_point: Kind::Flag,
    verification: Kind::Flag
});
described!(Person {
    name: Kind::Attached(NAME),
    firm: Kind::Attached(LINE),
    license: Kind::Attached(LINE),
    contact: Kind::Attached(LINE);
    retired: Kind::Flag
});
described!(SiteRules {
    visit_interval_months: MONTHS,
    impairment_limit_min: Kind::Whole(1, 1_440, "min"),
    written_notice_h: Kind::Whole(1, 720, "h");
    rules,
    notify
});
described!(NotifyStep { whom, label: Kind::Line, contact: Kind::Attached(LINE); required: Kind::Flag });
described!(RuleSet {
    name: Kind::Name,
    sentence: Kind::Line,
    source: Kind::Line,
    check: Kind::OneOf(RuleCheck::NAMES),
    every_months: MONTHS,
    first_after_months: MONTHS,
    least_per_circuit: Kind::Whole(1, 100, "positions"),
    all_within_months: MONTHS,
    sample_per_100: Kind::Whole(1, 100, "of 100");
    from_memory: Kind::Flag,
    types: Kind::List(&Kind::OneOf(DetectorType::NAMES)),
    except: Kind::List(&Kind::OneOf(RuleExcept::NAMES))
});
described!(PlannedPositions { positions, planned, why: Kind::Attached(LINE), sample });
described!(PhoneName { name: Kind::Attached(NAME) });
described!(VisitPlan {
    visit_type: Kind::OneOf(VisitType::NAMES),
    scope_of_work: Kind::Line,
    edition: Kind::Line,
    rule_set: Kind::Line,
    not_in_scope: Kind::Line
});
described!(Notice {
    whom,
    label: Kind::Line,
    when,
    answer: Kind::OneOf(NotifyAnswer::NAMES),
    by: Kind::Who,
    contact: Kind::Attached(LINE),
    account: Kind::Line,
    test_until: Kind::Moment,
    happened: Kind::Happened,
    note: Kind::Attached(LINE)
});
described!(Impaired {
    what: Kind::OneOf(ImpairedWhat::NAMES),
    circuit: Kind::Thing,
    label: Kind::Name,
    why: Kind::Attached(LINE),
    tag: Kind::Line,
    coordinator: Kind::Who,
    go_ahead: Kind::Who,
    fire_watch: Kind::OneOf(FireWatch::NAMES),
    fire_watch_by: Kind::Who,
    by: Kind::Who,
    happened: Kind::Happened
});
described!(Secured {
    release: Kind::Name,
    method: Kind::Line,
    tag: Kind::Line,
    by: Kind::Who,
    verified_by: Kind::Who,
    happened: Kind::Happened
});
described!(Permit {
    area,
    number: Kind::Name,
    valid_from: Kind::Moment,
    valid_until: Kind::Moment,
    gas_tested_at: Kind::Moment,
    readings,
    instrument: Kind::Line,
    interval_min: Kind::Whole(1, 1_440, "min"),
    lel_limit: Kind::Decimal(0, 100, "% LEL"),
    phone_allowed: Kind::Flag,
    by: Kind::Who,
    happened: Kind::Happened
});
described!(ItemFound {
    what,
    class: Kind::OneOf(ItemClass::NAMES),
    position,
    other_position,
    circuit,
    test,
    note,
    remedy,
    photo,
    by,
    happened;
    visual
});
described!(Replaced {
    position,
    removed,
    installed,
    why: Kind::OneOf(RemovedWhy::NAMES),
    item,
    note: Kind::Attached(LINE),
    by: Kind::Who,
    happened: Kind::Happened
});
described!(Restoring {
    ends,
    by: Kind::Who,
    verified_by: Kind::Who,
    note: Kind::Attached(LINE),
    happened: Kind::Happened
});
described!(HeldApproval { heater: Kind::Thing, area, approval, classification, fits: Kind::Flag, by, happened });
described!(Clearing { ends, by: Kind::Who, note: Kind::Attached(LINE), happened });
described!(VisualCheck {
    position,
    detector,
    found: Kind::List(&Kind::OneOf(Visual::NAMES)),
    by,
    note,
    photo,
    happened
});
described!(ReadingCorrection { reading, now: Kind::Temperature(AMBIENT.0, TEMPERATURE.1), why: Kind::Attached(LINE) });
described!(RestoreWord { test, restored: Kind::OneOf(Answer::NAMES), by, happened: Kind::Happened });
described!(ItemTelling { item, to: Kind::Who, in_writing: Kind::Flag, by, happened: Kind::Happened });
described!(ItemClosing {
    item,
    how: Kind::OneOf(ItemClosed::NAMES),
    test,
    evidence,
    by: Kind::Who,
    note: Kind::Attached(LINE),
    happened: Kind::Happened
});
described!(Repair {
    position,
    work: Kind::OneOf(Work::NAMES),
    item,
    note: Kind::Attached(LINE),
    by,
    happened: Kind::Happened
});
described!(Photo { about, photo, caption: Kind::Attached(LINE) });
described!(Reopening { ends, why: Kind::Attached(LINE), by });
described!(TestStart {
    test,
    by,
    follows,
    after,
    position,
    detector,
    heater,
    procedure,
    indication,
    display_read: Kind::Flag,
    ambient: Kind::Temperature(AMBIENT.0, AMBIENT.1),
    air: Kind::OneOf(Air::NAMES),
    heater_warmth: Kind::OneOf(Warmth::NAMES),
    detector_warmth: Kind::OneOf(Warmth::NAMES),
    visual,
    rate_answer: Kind::OneOf(RateAnswer::NAMES)
});
described!(ProfileRunStart {
    run,
    heater,
    position,
    marking,
    ambient: Kind::Temperature(AMBIENT.0, AMBIENT.1),
    heater_warmth: Kind::OneOf(Warmth::NAMES),
    by
});
described!(PanelState {
    when,
    label: Kind::Line,
    normal: Kind::Flag,
    photo,
    by: Kind::Who,
    happened: Kind::Happened;
    alarms: Kind::List(&Kind::Line),
    supervisories: Kind::List(&Kind::Line),
    troubles: Kind::List(&Kind::Line),
    disabled: Kind::List(&Kind::Line)
});
described!(ClockOffset { of, label: Kind::Line, ahead_ms, u_ms, by: Kind::Who, happened: Kind::Happened });
described!(PanelSighting {
    point: Kind::Line,
    label: Kind::Line,
    clock: Kind::OneOf(ClockOf::NAMES),
    happened: Kind::Happened,
    restored_at: Kind::Moment,
    test,
    replaces
});
described!(ProgrammingChange {
    affected: Kind::List(&Kind::Thing),
    note: Kind::Attached(LINE),
    by: Kind::Who,
    happened: Kind::Happened
});
described!(OpenPair {
    position: Kind::Thing,
    circuit: Kind::Thing,
    label: Kind::Line,
    by: Kind::Who,
    happened: Kind::Happened
});
described!(CircuitProof {
    circuit: Kind::Thing,
    trip,
    point: Kind::OneOf(Point::NAMES),
    outputs: Kind::OneOf(Outputs::NAMES),
    station: Kind::OneOf(StationSaw::NAMES),
    by: Kind::Who,
    happened: Kind::Happened
});
described!(LiftCheck {
    lift: Kind::Line,
    good: Kind::Flag,
    note: Kind::Attached(LINE),
    by: Kind::Who,
    happened: Kind::Happened
});
described!(LeavingOff {
    off,
    accepted_by: Kind::Who,
    until: Kind::Moment,
    notified: Kind::Who,
    note: Kind::Attached(LINE),
    happened: Kind::Happened
});
described!(NotTested {
    position,
    why: Kind::OneOf(NotTestedWhy::NAMES),
    not_allowed_by: Kind::Who,
    note: Kind::Attached(LINE),
    photo,
    by: Kind::Who,
    happened: Kind::Happened
});
described!(OtherMethod {
    test,
    position,
    detector,
    method: Kind::OneOf(Method::NAMES),
    basis: Kind::Line,
    tripped: Kind::OneOf(Answer::NAMES),
    point: Kind::OneOf(Point::NAMES),
    said: Kind::Line,
    restored: Kind::OneOf(Answer::NAMES),
    by: Kind::Who,
    note: Kind::Attached(LINE),
    happened: Kind::Happened
});
described!(Excuse { of, why: Kind::Attached(LINE), by: Kind::Who, happened: Kind::Happened });
