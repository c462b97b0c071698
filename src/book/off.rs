//! What is recorded of the panel, of what is off, and of who knows: notices, impairments, releases, permits, alarms, breaks.

use super::Id;
use super::acts::{
    FireWatch, Happened, ImpairedWhat, NotOurs, NotifyAnswer, NotifyWhen, OtherClock, Outputs, PanelWhen, Point,
    StationSaw, Who, Whom,
};
use crate::encoding::Hash;
use crate::trade::classified::GasReading;
use crate::units::{Decimal, Wall};

/// Notice given, or why none is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// Whom.
    pub whom: Whom,
    /// What the site calls them.
    pub label: Option<String>,
    /// Before or after the tests.
    pub when: NotifyWhen,
    /// What came of it.
    pub answer: NotifyAnswer,
    /// Who did it or said so.
    pub by: Who,
    /// Attachment with name, number and operator's id.
    pub contact: Option<Hash>,
    /// The account at the supervising station.
    pub account: Option<String>,
    /// Until when the station has the system on test, UTC ms.
    pub test_until: Option<Wall>,
    /// When.
    pub happened: Happened,
    /// Attachment with the reason or a note.
    pub note: Option<Hash>,
}

/// The panel as found or left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PanelState {
    /// When in the visit.
    pub when: PanelWhen,
    /// Which panel, where the site has several.
    pub label: Option<String>,
    /// Nothing but normal.
    pub normal: bool,
    /// Alarms shown, a line each.
    pub alarms: Vec<String>,
    /// Supervisory signals.
    pub supervisories: Vec<String>,
    /// Troubles.
    pub troubles: Vec<String>,
    /// What is disabled.
    pub disabled: Vec<String>,
    /// Attachment with a photo.
    pub photo: Option<Hash>,
    /// Who looked.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// Another clock against this phone's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockOffset {
    /// Which.
    pub of: OtherClock,
    /// What it is called.
    pub label: Option<String>,
    /// That clock less this one, ms.
    pub ahead_ms: i64,
    /// Standard uncertainty of that, ms.
    pub u_ms: i64,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// Something that went out of service.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Impaired {
    /// What.
    pub what: ImpairedWhat,
    /// The circuit.
    pub circuit: Option<Id>,
    /// The label of a zone or output.
    pub label: Option<String>,
    /// Attachment with the reason.
    pub why: Option<Hash>,
    /// Number of the impairment tag.
    pub tag: Option<String>,
    /// The impairment coordinator.
    pub coordinator: Option<Who>,
    /// Who on the owner's side gave the go-ahead.
    pub go_ahead: Option<Who>,
    /// Whether a fire watch is posted.
    pub fire_watch: Option<FireWatch>,
    /// Who watches.
    pub fire_watch_by: Option<Who>,
    /// Who took it out.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// Something that the alarm would release, secured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Secured {
    /// What, by the name used in the register.
    pub release: String,
    /// How: valve shut, actuator pulled.
    pub method: Option<String>,
    /// Number of tag or lock.
    pub tag: Option<String>,
    /// Who did it.
    pub by: Who,
    /// Who verified it; absent if no second person was there, which prints.
    pub verified_by: Option<Who>,
    /// When.
    pub happened: Happened,
}

/// A pair of wires opened for a meter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenPair {
    /// The position it feeds.
    pub position: Option<Id>,
    /// The circuit.
    pub circuit: Option<Id>,
    /// What it is called.
    pub label: Option<String>,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// Something put back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Restoring {
    /// What took it off, or the permit.
    pub ends: Hash,
    /// Who did it or said so.
    pub by: Who,
    /// Who verified it; absent if it was not verified.
    pub verified_by: Option<Who>,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// When.
    pub happened: Happened,
}

/// Permit and gas test as on the paper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Permit {
    /// The area it covers; absent means the site.
    pub area: Option<Id>,
    /// Its number.
    pub number: String,
    /// From when it is valid, UTC ms.
    pub valid_from: Wall,
    /// Until when, UTC ms.
    pub valid_until: Wall,
    /// When the gas test was taken, UTC ms; absent without one, which allows no heat.
    pub gas_tested_at: Option<Wall>,
    /// What the meter showed.
    pub readings: Vec<GasReading>,
    /// The meter.
    pub instrument: Option<String>,
    /// After how many minutes the permit asks for another gas test.
    pub interval_min: Option<u32>,
    /// The most combustible gas the permit allows, % LEL; absent allows none.
    pub lel_limit: Option<Decimal>,
    /// Whether this phone is allowed in.
    pub phone_allowed: bool,
    /// Who took it.
    pub by: Who,
    /// When it was taken.
    pub happened: Happened,
}

/// A heater's approval held against an area's classification.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeldApproval {
    /// The heater.
    pub heater: Id,
    /// The area.
    pub area: Id,
    /// The approval as it stood.
    pub approval: String,
    /// The classification as it stood.
    pub classification: String,
    /// Whether it fits.
    pub fits: bool,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// An alarm that no heater of ours made, or an output that moved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherAlarm {
    /// What.
    pub what: NotOurs,
    /// Who did it or said so.
    pub by: Who,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// When.
    pub happened: Happened,
}

/// Such an alarm dealt with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clearing {
    /// The entry that it ends.
    pub ends: Hash,
    /// Who did it or said so.
    pub by: Who,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// When.
    pub happened: Happened,
}

/// The first alarm of a circuit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CircuitProof {
    /// The circuit.
    pub circuit: Id,
    /// The mark.
    pub trip: Option<Hash>,
    /// What the panel showed.
    pub point: Point,
    /// What the outputs did.
    pub outputs: Outputs,
    /// What the supervising station made of it.
    pub station: StationSaw,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// Lift and fall protection, once a shift.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LiftCheck {
    /// Which lift.
    pub lift: Option<String>,
    /// Whether lift and fall protection are good.
    pub good: bool,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// Something that was off when a break began.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BreakItem {
    /// The entry that took it off.
    pub off: Hash,
    /// Whether it was put back for the break, by a restoring of the same decision.
    pub put_back: bool,
    /// By whose word it was left off.
    pub left_off_by: Option<Who>,
}

/// Something that stays off, and who accepted it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeavingOff {
    /// The entry that took it off, or says what is wrong.
    pub off: Hash,
    /// Who accepts it.
    pub accepted_by: Who,
    /// Until when, UTC ms.
    pub until: Option<Wall>,
    /// Who was notified of it.
    pub notified: Option<Who>,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// When.
    pub happened: Happened,
}
