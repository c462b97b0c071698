//! Faults of a bundle sorted, with their places, for an auditor.

use super::fault::BundleFault;
use crate::book::entry::Chain;

/// What an auditor sorts faults by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FaultKind {
    /// It is not there.
    Missing,
    /// It is not what was written.
    Altered,
    /// It is there twice.
    Duplicate,
    /// It cannot be taken.
    Refused,
    /// The list of chains is not that of the entries.
    List,
    /// The file is no bundle that can be read.
    Unreadable,
}

impl FaultKind {
    /// Its name in what `soakbook evaluate` writes.
    pub fn name(self) -> &'static str {
        match self {
            FaultKind::Missing => "missing",
            FaultKind::Altered => "altered",
            FaultKind::Duplicate => "duplicate",
            FaultKind::Refused => "refused",
            FaultKind::List => "list",
            FaultKind::Unreadable => "unreadable",
        }
    }
}

/// Where in the chains a fault lies: chain, first and last place, as far as it names them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Place {
    /// The chain.
    pub chain: Option<Chain>,
    /// First place.
    pub from: Option<i64>,
    /// Last place.
    pub to: Option<i64>,
    /// Number in the file's list, from 1.
    pub number: Option<usize>,
}

impl BundleFault {
    /// What an auditor sorts it by.
    pub fn kind(&self) -> FaultKind {
        match self {
            BundleFault::Missing { .. } => FaultKind::Missing,
            BundleFault::Count { listed, found, .. } if i64::try_from(*found).is_ok_and(|found| found < *listed) => {
                FaultKind::Missing
            }
            BundleFault::BrokenLink { .. } | BundleFault::Last { .. } | BundleFault::Attachment { .. } => {
                FaultKind::Altered
            }
            BundleFault::Duplicate { .. } | BundleFault::AttachmentTwice { .. } => FaultKind::Duplicate,
            BundleFault::Entry { .. } => FaultKind::Refused,
            // The entries are there, only what is said of them cannot be held against them.
            BundleFault::Member { name } if name.starts_with("findings") => FaultKind::Refused,
            BundleFault::Count { .. }
            | BundleFault::NoGap { .. }
            | BundleFault::ChainRow { .. }
            | BundleFault::NotListedOnce { .. } => FaultKind::List,
            _ => FaultKind::Unreadable,
        }
    }

    /// Where it lies.
    pub fn place(&self) -> Place {
        let span = |chain: &Chain, from, to| Place { chain: Some(*chain), from, to, number: None };
        match self {
            BundleFault::Entry { at, .. } | BundleFault::Duplicate { at } => {
                Place { chain: at.chain(), from: at.seq, to: at.seq, number: Some(at.number) }
            }
            BundleFault::Missing { chain, from, to } | BundleFault::NoGap { chain, from, to } => {
                span(chain, Some(*from), Some(*to))
            }
            BundleFault::BrokenLink { chain, seq, holds } => {
                let before = seq.saturating_sub(1);
                span(chain, Some(before), Some(if *holds { before } else { *seq }))
            }
            BundleFault::Count { chain, listed, tip, .. } if self.kind() == FaultKind::Missing => {
                let next = tip.map_or(0, |tip| tip.saturating_add(1));
                // With forks or gaps elsewhere the number says nothing of the last place.
                span(chain, Some(next), (next < *listed).then_some(listed.saturating_sub(1)))
            }
            BundleFault::Last { chain, tip } => span(chain, Some(*tip), Some(*tip)),
            BundleFault::Count { chain, .. } | BundleFault::NotListedOnce { chain } => span(chain, None, None),
            BundleFault::ChainRow { number }
            | BundleFault::Attachment { number }
            | BundleFault::AttachmentTwice { number } => Place { number: Some(*number), ..Place::default() },
            _ => Place::default(),
        }
    }
}
