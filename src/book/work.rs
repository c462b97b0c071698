//! What is recorded of people and positions in a visit beside heat: plans, checks, items, work, and what leaves the phone.

use super::Id;
use super::acts::{
    About, Answer, CheckWhen, ClockOf, DeliveredHow, DeliveredWhat, Happened, ItemClosed, ItemWhat, Method,
    NotTestedWhy, PhoneRef, Point, RemovedWhy, SampleWhy, Signed, Signer, Who, Work,
};
use super::chain::ChainEnd;
use crate::encoding::Hash;
use crate::trade::conditions::{ItemClass, Visual};
use crate::units::{Difference, Reading, Wall};

/// A person who takes part, as name and license stand then.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attendance {
    /// Which.
    pub person: Id,
    /// Attachment with the name, as it stood then.
    pub name: Hash,
    /// Attachment with the firm.
    pub firm: Option<Hash>,
    /// Attachment with the number of license or certificate.
    pub license: Option<Hash>,
    /// Attachment with address and phone, where the record is to show them.
    pub contact: Option<Hash>,
}

/// Positions that go on the list of a visit, or off it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlannedPositions {
    /// Which.
    pub positions: Vec<Id>,
    /// On the list, or off it.
    pub planned: bool,
    /// Attachment with the reason.
    pub why: Option<Hash>,
    /// The draw they are from.
    pub sample: Option<Hash>,
}

/// Positions drawn by the app.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sample {
    /// Why.
    pub why: SampleWhy,
    /// What was drawn from.
    pub from: Vec<Id>,
    /// What the draw follows from: of `from` the positions with the lowest SHA-256 of this and their id.
    pub seed: String,
    /// What was drawn.
    pub drawn: Vec<Id>,
}

/// A phone that closing does not wait for, and who excused it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Excuse {
    /// Which.
    pub of: PhoneRef,
    /// Attachment with the reason.
    pub why: Hash,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// A heater held against a reference.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeaterCheck {
    /// The heater.
    pub heater: Id,
    /// Its setting.
    pub setting: Reading,
    /// What its display showed; absent without one.
    pub shown: Option<Reading>,
    /// What the reference showed.
    pub reference: Reading,
    /// Standard uncertainty of the reference.
    pub reference_u: Option<Difference>,
    /// The reference: thermometer or detector.
    pub instrument: Option<String>,
    /// When in the visit.
    pub when: CheckWhen,
    /// Who did it.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// What the eye found at a position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VisualCheck {
    /// The position.
    pub position: Id,
    /// The detector.
    pub detector: Option<Id>,
    /// What the eye found; empty where nothing is wrong.
    pub found: Vec<Visual>,
    /// Who did it or said so.
    pub by: Who,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// Attachment with a photo.
    pub photo: Option<Hash>,
    /// When.
    pub happened: Happened,
}

/// A reading that was entered wrongly, or is none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadingCorrection {
    /// The reading.
    pub reading: Hash,
    /// What it should have been; absent where it is none.
    pub now: Option<Reading>,
    /// Attachment with the reason.
    pub why: Option<Hash>,
}

/// Whether a detector restored, beside the marks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RestoreWord {
    /// The test.
    pub test: Id,
    /// Whether it did.
    pub restored: Answer,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// A functional result by a method without a temperature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherMethod {
    /// The test.
    pub test: Id,
    /// The position.
    pub position: Id,
    /// The detector in it.
    pub detector: Option<Id>,
    /// How.
    pub method: Method,
    /// On what basis.
    pub basis: Option<String>,
    /// Whether it tripped.
    pub tripped: Answer,
    /// What the panel showed.
    pub point: Point,
    /// What the panel said instead.
    pub said: Option<String>,
    /// Whether it restored.
    pub restored: Answer,
    /// Who did it.
    pub by: Who,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// When.
    pub happened: Happened,
}

/// A position that was not tested.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotTested {
    /// The position.
    pub position: Id,
    /// Why.
    pub why: NotTestedWhy,
    /// Who did not allow it.
    pub not_allowed_by: Option<Who>,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// Attachment with a photo.
    pub photo: Option<Hash>,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// What another phone saw at the panel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PanelSighting {
    /// The point as the panel shows it.
    pub point: String,
    /// Which panel, where there are several: each has a clock of its own.
    pub label: Option<String>,
    /// By whose clock the times are.
    pub clock: ClockOf,
    /// When.
    pub happened: Happened,
    /// When the panel showed normal again, UTC ms.
    pub restored_at: Option<Wall>,
    /// The test it seems to be of.
    pub test: Option<Id>,
    /// The entry of the same phone that this one says anew: with its point, a time, or its restore.
    pub replaces: Option<Hash>,
}

/// An observation, deficiency or impairment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemFound {
    /// What.
    pub what: ItemWhat,
    /// Severity; absent until it is chosen.
    pub class: Option<ItemClass>,
    /// The position.
    pub position: Option<Id>,
    /// The other position, of two that are swapped.
    pub other_position: Option<Id>,
    /// The circuit, where it is about one.
    pub circuit: Option<Id>,
    /// The test that showed it.
    pub test: Option<Id>,
    /// What the eye found.
    pub visual: Vec<Visual>,
    /// Attachment with the words.
    pub note: Option<Hash>,
    /// Attachment with what should be done about it.
    pub remedy: Option<Hash>,
    /// Attachment with a photo.
    pub photo: Option<Hash>,
    /// Who found it.
    pub by: Option<Who>,
    /// When.
    pub happened: Happened,
}

impl ItemFound {
    /// Whether it says that these two have each other's addresses.
    pub fn is_swapped(&self, one: Id, other: Id) -> bool {
        let both = (self.position, self.other_position);
        self.what == ItemWhat::SwappedPoints && (both == (Some(one), Some(other)) || both == (Some(other), Some(one)))
    }
}

/// A notification of an item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemTelling {
    /// The item.
    pub item: Hash,
    /// Whom.
    pub to: Who,
    /// Whether in writing.
    pub in_writing: bool,
    /// Who gave it.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// An item settled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemClosing {
    /// The item.
    pub item: Hash,
    /// How.
    pub how: ItemClosed,
    /// The test that shows it.
    pub test: Option<Id>,
    /// The entry of the work.
    pub evidence: Option<Hash>,
    /// Who closed or accepted it.
    pub by: Who,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// When.
    pub happened: Happened,
}

/// Work on a detector, short of replacing it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Repair {
    /// The position.
    pub position: Id,
    /// What was done.
    pub work: Work,
    /// The item it answers.
    pub item: Option<Hash>,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// One detector out, another in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Replaced {
    /// The position.
    pub position: Id,
    /// The detector that was taken out.
    pub removed: Id,
    /// The one that was put in; absent where none was.
    pub installed: Option<Id>,
    /// Why.
    pub why: RemovedWhy,
    /// The item it answers.
    pub item: Option<Hash>,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// Who did it.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// A detector taken out of its position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Removal {
    /// The detector.
    pub detector: Id,
    /// The entry that hung it there, or the imported rows that contain it.
    pub ends: Hash,
    /// Why.
    pub why: RemovedWhy,
    /// When; absent if unknown.
    pub happened: Option<Happened>,
}

/// Programming at the panel changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProgrammingChange {
    /// The positions it concerns.
    pub affected: Vec<Id>,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// Who did it or said so.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// A closing taken back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reopening {
    /// The entry that it ends.
    pub ends: Hash,
    /// Attachment with the reason.
    pub why: Hash,
    /// The person.
    pub by: Id,
}

/// A signature under a record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signature {
    /// Who signs.
    pub signer: Signer,
    /// How.
    pub how: Signed,
    /// Attachment with the name.
    pub name: Option<Hash>,
    /// Attachment with what was drawn.
    pub drawn: Option<Hash>,
    /// Attachment with a note, e.g. why a signature was declined.
    pub note: Option<Hash>,
    /// SHA-256 of the record's canonical data without signatures.
    pub digest: Hash,
    /// What the record was made from: all that comes later is after signing.
    pub covers: Vec<ChainEnd>,
    /// When.
    pub happened: Happened,
}

/// A revision of a record that left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Amendment {
    /// Digest of the earlier record.
    pub amends: Hash,
    /// Attachment with what changed and why.
    pub why: Hash,
    /// The person.
    pub by: Id,
}

/// What left the phone. Its entry is in the chain of what it was about, and does not count as something yet to be delivered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Delivered {
    /// What.
    pub what: DeliveredWhat,
    /// How.
    pub how: DeliveredHow,
    /// Attachment with where to.
    pub to: Option<Hash>,
    /// SHA-256 of the file.
    pub digest: Hash,
    /// What was in it.
    pub covers: Vec<ChainEnd>,
    /// When.
    pub happened: Happened,
}

/// A photo of a thing or an act.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// What it is of.
    pub about: About,
    /// Attachment with a photo.
    pub photo: Hash,
    /// Attachment with its caption.
    pub caption: Option<Hash>,
}
