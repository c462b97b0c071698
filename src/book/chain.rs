//! The position of an entry: its chain, its decision and its time.

use super::Id;
use crate::encoding::stored::Stored;
use crate::encoding::{self, Hash};
use crate::units::{Mono, Wall};
use serde_json::Value;
use std::fmt;
use std::str::FromStr;

/// The format this build writes, the first that was released. What called itself 1 never was: it is refused as such.
pub const FORMAT: i64 = 2;

/// The largest integer that survives every JSON reader, 2^53 − 1.
pub const MAX_INTEGER: i64 = 9_007_199_254_740_991;

/// What a chain is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Scope {
    /// A phone's heaters, profile runs, people, procedures and rule sets.
    Kit,
    /// One site's register.
    Site(Id),
    /// One visit.
    Visit(Id),
}

impl fmt::Display for Scope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Scope::Kit => f.write_str("kit"),
            Scope::Site(id) => write!(f, "site:{id}"),
            Scope::Visit(id) => write!(f, "visit:{id}"),
        }
    }
}

impl Stored for Scope {
    fn to_value(&self) -> Value {
        Value::String(self.to_string())
    }

    fn from_value(value: &Value) -> Option<Scope> {
        value.as_str()?.parse().ok()
    }
}

impl FromStr for Scope {
    type Err = &'static str;

    fn from_str(text: &str) -> Result<Scope, &'static str> {
        const SHAPE: &str = "a scope is `kit`, `site:` or `visit:` and a lower-case id";
        if text == "kit" {
            return Ok(Scope::Kit);
        }
        let (kind, id) = text.split_once(':').ok_or(SHAPE)?;
        let id = encoding::read_uuid(id).ok_or(SHAPE)?;
        match kind {
            "site" => Ok(Scope::Site(id)),
            "visit" => Ok(Scope::Visit(id)),
            _ => Err(SHAPE),
        }
    }
}

/// One phone's line of entries about one scope.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Chain {
    /// What it is about.
    pub scope: Scope,
    /// Whose it is.
    pub phone: Id,
}

/// When something happened, by both clocks of the phone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// The app start it belongs to.
    pub session: Id,
    /// Milliseconds since that start.
    pub mono: Mono,
    /// Wall clock, UTC, ms since 1970, for people to read.
    pub wall: Wall,
}

/// All that one tap decided: the entries of a session that share a number. Undo takes back a decision.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DecisionId {
    /// The phone.
    pub phone: Id,
    /// The app start.
    pub session: Id,
    /// Its number in that session, from 0.
    pub decision: i64,
}

/// Where a chain ends, as far as the one who says so has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChainEnd {
    /// What it is about.
    pub scope: Scope,
    /// Whose it is.
    pub phone: Id,
    /// Number of its entries.
    pub count: i64,
    /// The last of them.
    pub last: Hash,
}

/// What a session says of itself in the first entry it writes to a chain, and again when the phone has changed hands since.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opens {
    /// Version of the app.
    pub app: String,
    /// Time zone by its IANA name, or empty when the phone does not say.
    pub zone: String,
    /// Local time minus UTC, minutes.
    pub offset: i64,
    /// Person who uses it. Absent only in the kit, before there is any person.
    pub who: Option<Id>,
}
