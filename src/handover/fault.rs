//! Why a bundle is refused, each fault with its place and what can be done.

use crate::book::Id;
use crate::book::entry::{Chain, Unreadable};
use std::fmt;

/// The position of an entry in a bundle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Position {
    /// Its number in the list of entries, from 1.
    pub number: usize,
    /// The scope it names, where it names one.
    pub scope: String,
    /// The phone it names, where it names one.
    pub phone: String,
    /// The place in its chain that it names, where it names one.
    pub seq: Option<i64>,
}

impl Position {
    /// The chain it names, where it names one.
    pub fn chain(&self) -> Option<Chain> {
        Some(Chain { scope: self.scope.parse().ok()?, phone: Id::try_parse(&self.phone).ok()? })
    }
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "entry number {}", self.number)?;
        match self.seq {
            Some(seq) => write!(f, " (place {seq} of {}, phone {})", self.scope, self.phone),
            None => Ok(()),
        }
    }
}

/// Why a bundle is refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BundleFault {
    /// Larger than any bundle.
    TooLarge,
    /// Nothing in it.
    Empty,
    /// It ends too early.
    CutShort,
    /// Not JSON.
    NotJson(String),
    /// JSON of something else.
    NotABundle,
    /// Written in a later format.
    NeedsNewerApp {
        /// That format.
        v: i64,
    },
    /// Written by a test version before the first release.
    Unreleased,
    /// A member of the bundle is missing or of the wrong form.
    Member {
        /// Its name.
        name: &'static str,
    },
    /// A row of the list of chains cannot be read.
    ChainRow {
        /// Its number, from 1.
        number: usize,
    },
    /// An entry cannot be read.
    Entry {
        /// Where.
        at: Position,
        /// Why.
        why: Unreadable,
    },
    /// The same entry twice.
    Duplicate {
        /// The second one.
        at: Position,
    },
    /// Places of a chain are missing.
    Missing {
        /// The chain.
        chain: Chain,
        /// First missing place.
        from: i64,
        /// Last missing place.
        to: i64,
    },
    /// The list of chains names places that the maker does not have, and they are there, or behind the last one.
    NoGap {
        /// The chain.
        chain: Chain,
        /// First place.
        from: i64,
        /// Last place.
        to: i64,
    },
    /// An entry does not name the one before it.
    BrokenLink {
        /// The chain.
        chain: Chain,
        /// The place of the later one.
        seq: i64,
        /// Whether the later one is as it was written, which leaves only the earlier one.
        holds: bool,
    },
    /// A chain's number of entries is not the one in the list of chains.
    Count {
        /// The chain.
        chain: Chain,
        /// What the list says.
        listed: i64,
        /// What is there.
        found: usize,
        /// The last place that is there.
        tip: Option<i64>,
    },
    /// A chain's last entry is not the one in the list of chains.
    Last {
        /// The chain.
        chain: Chain,
        /// Its place.
        tip: i64,
    },
    /// A chain is not in the list of chains, or twice.
    NotListedOnce {
        /// The chain.
        chain: Chain,
    },
    /// An attachment is not what its hash says, or cannot be read.
    Attachment {
        /// Its number, from 1.
        number: usize,
    },
    /// An attachment is there twice.
    AttachmentTwice {
        /// Number of the second one, from 1.
        number: usize,
    },
    /// There are more faults than are listed.
    AndMore,
}

impl fmt::Display for BundleFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let of = |chain: &Chain| format!("{}, phone {}", chain.scope, chain.phone);
        match self {
            BundleFault::TooLarge => write!(f, "the file is larger than {} MiB: no visit file is", super::bundle::MAX_BYTES >> 20),
            BundleFault::Empty => f.write_str("the file is empty: send it again"),
            BundleFault::CutShort => f.write_str("the file ends too early: send or download it again"),
            BundleFault::NotJson(why) => write!(f, "the file is not JSON: {why}"),
            BundleFault::NotABundle => f.write_str("the file is not a Soakbook visit file: choose one made under Send"),
            BundleFault::NeedsNewerApp { v } => {
                write!(f, "the file has format {v} and needs a newer app: this one reads up to {}", super::FORMAT)
            }
            BundleFault::Unreleased => f.write_str(
                "the file is from a test version before the first release, which no app reads: make it again with this version",
            ),
            BundleFault::Member { name } => write!(f, "the file has no valid `{name}`"),
            BundleFault::ChainRow { number } => write!(f, "row {number} of the list of chains cannot be read"),
            BundleFault::Entry { at, why } => write!(f, "{at} {why}"),
            BundleFault::Duplicate { at } => write!(f, "{at} is there twice"),
            BundleFault::Missing { chain, from, to } if from == to => {
                write!(f, "the entry at place {from} of {} is missing", of(chain))
            }
            BundleFault::Missing { chain, from, to } => {
                write!(f, "the entries at places {from} to {to} of {} are missing", of(chain))
            }
            BundleFault::NoGap { chain, from, to } => {
                write!(f, "places {from} to {to} of {} are no gap, as the list of chains says", of(chain))
            }
            BundleFault::BrokenLink { chain, seq, holds: true } => {
                let before = seq.saturating_sub(1);
                write!(f, "the entry at place {before} of {} was altered: the next one names another", of(chain))
            }
            BundleFault::BrokenLink { chain, seq, holds: false } => {
                let before = seq.saturating_sub(1);
                write!(f, "the entry at place {before} or {seq} of {} was altered: they do not link", of(chain))
            }
            BundleFault::Count { chain, listed, found, tip } => {
                write!(f, "{} has {found} entries and should have {listed}", of(chain))?;
                match tip {
                    Some(tip) => write!(f, "; the last one here is at place {tip}"),
                    None => Ok(()),
                }
            }
            BundleFault::Last { chain, tip } => {
                write!(f, "the last entry of {}, at place {tip}, was altered or is missing", of(chain))
            }
            BundleFault::NotListedOnce { chain } => {
                write!(f, "{} does not stand in the list of chains exactly once", of(chain))
            }
            BundleFault::Attachment { number } => {
                write!(f, "attachment {number} was altered: it is not what its hash says")
            }
            BundleFault::AttachmentTwice { number } => write!(f, "attachment {number} is there twice"),
            BundleFault::AndMore => f.write_str("and more"),
        }
    }
}

impl std::error::Error for BundleFault {}

/// Faults as they are found, up to a limit.
pub(super) struct Faults {
    pub(super) list: Vec<BundleFault>,
    pub(super) most: usize,
}

impl Faults {
    pub(super) fn add(&mut self, fault: BundleFault) {
        if self.list.len() <= self.most {
            self.list.push(fault);
        }
    }

    pub(super) fn unless(&mut self, holds: bool, fault: BundleFault) {
        if !holds {
            self.add(fault);
        }
    }

    pub(super) fn finish(mut self) -> Vec<BundleFault> {
        if self.list.len() > self.most {
            self.list.truncate(self.most);
            self.list.push(BundleFault::AndMore);
        }
        self.list
    }
}
