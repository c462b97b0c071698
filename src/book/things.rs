//! Things in the register and the kit, in the groups of fields that are edited together.

use super::Id;
use super::acts::Whom;
use crate::encoding::Hash;
use crate::trade::detector_type::DetectorType;
use crate::units::Degree;

/// An edit of one group of fields of one thing. It names every edit it replaces; two edits that replace the same one and
/// differ are a conflict.
#[derive(Clone, Debug, PartialEq)]
pub struct Edit<T> {
    /// The thing.
    pub of: Id,
    /// The edits it replaces; empty for the first.
    pub replaces: Vec<Hash>,
    /// The new values; boxed, so that marks, which are most entries, stay small.
    pub now: Box<T>,
}

impl<T> Edit<T> {
    /// Sets a group of fields of a thing.
    pub fn new(of: Id, replaces: Vec<Hash>, now: T) -> Edit<T> {
        Edit { of, replaces, now: Box::new(now) }
    }
}

/// A customer's premises.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Site {
    /// What it is called.
    pub name: String,
    /// Where it is.
    pub address: Option<String>,
    /// Invented for demonstration. Every screen and print of it says so.
    pub invented: bool,
}

/// A party to notify before the first test and after the last.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotifyStep {
    /// Whom.
    pub whom: Whom,
    /// What the site calls them, where [`Whom`] says too little.
    pub label: Option<String>,
    /// Whether the site asks for it.
    pub required: bool,
    /// Attachment with name and number.
    pub contact: Option<Hash>,
}

/// What a site goes by.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SiteRules {
    /// Months between visits.
    pub visit_interval_months: Option<u32>,
    /// The longest impairment in 24 h before the authority and a fire watch are asked for, minutes.
    pub impairment_limit_min: Option<u32>,
    /// Within how many hours a deficiency goes to the owner in writing.
    pub written_notice_h: Option<u32>,
    /// The rules that say what is due, as the site took them from the kit, so that they travel with the register.
    pub rules: Vec<RuleSet>,
    /// Its own list of who is notified.
    pub notify: Vec<NotifyStep>,
}

impl SiteRules {
    /// Who is notified: the site's own list, and without one the four that nearly every job has.
    pub fn notified(&self) -> Vec<NotifyStep> {
        let usual = [Whom::Owner, Whom::SupervisingStation, Whom::Occupants, Whom::FireDepartment];
        let step = |whom| NotifyStep { whom, label: None, required: false, contact: None };
        if self.notify.is_empty() { usual.into_iter().map(step).collect() } else { self.notify.clone() }
    }
}

/// A space whose detectors share conditions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Area {
    /// The site it belongs to.
    pub site: Id,
    /// What it is called.
    pub name: String,
}

/// An initiating device circuit, zone or loop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Circuit {
    /// The site it belongs to.
    pub site: Id,
    /// What it is called.
    pub name: String,
    /// Whether the panel shows the single point; otherwise only the zone.
    pub shows_point: bool,
    /// Whether its devices are addressable; absent if unknown, which no rule may take for a no.
    pub addressable: Option<bool>,
    /// Whether it serves a releasing system; absent if unknown, which no rule may take for a no.
    pub releasing: Option<bool>,
    /// Whether alarm verification is on.
    pub verification: bool,
}

/// A person who uses a phone. Name and numbers are attachments and can be erased.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// Attachment with the name.
    pub name: Hash,
    /// Attachment with the firm.
    pub firm: Option<Hash>,
    /// Attachment with the number of license or certificate.
    pub license: Option<Hash>,
    /// Attachment with phone or mail.
    pub contact: Option<Hash>,
    /// No longer offered when a phone changes hands.
    pub retired: bool,
}

/// What a phone is called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhoneName {
    /// Attachment with its name, which often is that of its owner.
    pub name: Hash,
}

/// What a rule asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RuleCheck {
    /// A functional test.
    Functional,
    /// A visual check.
    Visual,
    /// Replacement, or laboratory tests of a sample.
    ReplaceOrSample,
}

/// What a rule does not cover, whatever its types: its positions are due as those of no rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RuleExcept {
    /// Circuits that are addressable or may be.
    Addressable,
    /// Whatever releases something or may.
    Releasing,
}

/// A rule by which positions become due, as data.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleSet {
    /// What it is called.
    pub name: String,
    /// The sentence it encodes.
    pub sentence: String,
    /// Where that sentence comes from, with edition.
    pub source: String,
    /// Its wording is from memory: the authority has to be asked.
    pub from_memory: bool,
    /// What it asks for.
    pub check: RuleCheck,
    /// The types it covers; empty covers all.
    pub types: Vec<DetectorType>,
    /// What it does not cover all the same.
    pub except: Vec<RuleExcept>,
    /// Months from one to the next.
    pub every_months: u32,
    /// Months from installation to the first one.
    pub first_after_months: Option<u32>,
    /// Fewest positions per circuit and period; absent asks for every one.
    pub least_per_circuit: Option<u32>,
    /// Months within which every position has had its turn.
    pub all_within_months: Option<u32>,
    /// Detectors of a hundred that go to the laboratory.
    pub sample_per_100: Option<u32>,
}

/// Which column of a customer's sheet is which field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetColumn {
    /// The column's header in the sheet.
    pub header: String,
    /// The field, by the name it has in this format; absent for a column that is left out.
    pub field: Option<String>,
    /// The unit of temperatures in it that have none of their own.
    pub unit: Option<Degree>,
}

/// How a site's sheets were matched last time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetColumns {
    /// Every column.
    pub columns: Vec<SheetColumn>,
}

/// What a visit is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum VisitType {
    /// Functional tests.
    Functional,
    /// Set-point tests.
    SetPoint,
    /// Visual checks only.
    VisualOnly,
    /// After a change.
    Reacceptance,
    /// Of a new system.
    Acceptance,
}

/// What a visit is to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VisitPlan {
    /// What it is for.
    pub visit_type: VisitType,
    /// What is in scope, in words.
    pub scope_of_work: Option<String>,
    /// Code and edition the owner or the authority asks for.
    pub edition: Option<String>,
    /// The rule set that proposed its positions, by name.
    pub rule_set: Option<String>,
    /// What is not in scope, in words.
    pub not_in_scope: Option<String>,
}

impl VisitPlan {
    /// A plan of which only the type is known.
    pub fn of(visit_type: VisitType) -> VisitPlan {
        VisitPlan { visit_type, scope_of_work: None, edition: None, rule_set: None, not_in_scope: None }
    }
}
