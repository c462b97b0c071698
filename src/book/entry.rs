//! One immutable line of the book: canonical JSON (RFC 8785), kept as the exact text that was hashed.

use super::body::Body;
pub use super::chain::{Chain, ChainEnd, DecisionId, FORMAT, MAX_INTEGER, Opens, Scope, Stamp};
use crate::encoding;
pub use crate::encoding::Hash;
use crate::encoding::stored::{self, Stored};
use crate::units::{Mono, Wall};
use serde_json::Value;
use std::fmt;

/// One immutable line.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// SHA-256 of `text`.
    pub hash: Hash,
    /// The exact text that was hashed.
    pub text: String,
    /// Format version it was written in.
    pub v: i64,
    /// Its chain.
    pub chain: Chain,
    /// Its place there, from 0.
    pub seq: i64,
    /// The entry before it.
    pub prev: Option<Hash>,
    /// When.
    pub stamp: Stamp,
    /// Number of its decision in its session.
    pub decision: i64,
    /// Every scope its decision wrote to, where it is more than one.
    pub scopes: Box<[Scope]>,
    /// Present in a session's first entry of this chain, and when the phone has changed hands since.
    pub opens: Option<Box<Opens>>,
    /// What it says.
    pub body: Body,
}

/// Why a text is not an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unreadable {
    /// Not JSON, or JSON that readers would take differently (duplicate keys).
    NotJson(String),
    /// Not in canonical form, so it is not the text that was hashed.
    NotCanonical,
    /// Of the format before the first release, which nothing reads any more.
    Unreleased,
    /// A field of the frame is missing or out of range.
    Frame(&'static str),
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Unreadable::NotJson(why) => write!(f, "is not JSON: {why}"),
            Unreadable::NotCanonical => f.write_str("is not in canonical form, so it was altered"),
            Unreadable::Unreleased => f.write_str("is of a test version's format, from before the first release"),
            Unreadable::Frame(field) => write!(f, "has no valid `{field}`"),
        }
    }
}

/// The fields every entry has, in no order; a body may not use their names.
pub const FRAME: [&str; 12] =
    ["v", "phone", "scope", "seq", "prev", "session", "at", "mono", "decision", "scopes", "opens", "type"];

/// What an entry says beside its body and its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// Its chain.
    pub chain: Chain,
    /// Its place there, from 0.
    pub seq: i64,
    /// The entry before it.
    pub prev: Option<Hash>,
    /// When.
    pub stamp: Stamp,
    /// Number of its decision in its session.
    pub decision: i64,
    /// Every scope its decision wrote to, where it is more than one.
    pub scopes: Vec<Scope>,
    /// What the session says of itself.
    pub opens: Option<Opens>,
}

impl Entry {
    /// Makes an entry.
    pub fn seal(frame: Frame, body: Body) -> Entry {
        let Frame { chain, seq, prev, stamp, decision, scopes, opens } = frame;
        // A clock that shows nonsense must not make an unreadable entry.
        let within = |ms: i64| ms.clamp(-MAX_INTEGER, MAX_INTEGER);
        let stamp = Stamp { mono: Mono(within(stamp.mono.0)), wall: Wall(within(stamp.wall.0)), ..stamp };
        let mut map = stored::members(body.to_value());
        map.insert("v".into(), FORMAT.into());
        map.insert("phone".into(), chain.phone.to_string().into());
        map.insert("scope".into(), chain.scope.to_string().into());
        map.insert("seq".into(), seq.into());
        map.insert("prev".into(), prev.map_or(Value::Null, |hash| hash.to_string().into()));
        map.insert("session".into(), stamp.session.to_string().into());
        map.insert("at".into(), stamp.wall.0.into());
        map.insert("mono".into(), stamp.mono.0.into());
        map.insert("decision".into(), decision.into());
        stored::put_unless_empty(&mut map, "scopes", scopes.to_value());
        stored::put(&mut map, "opens", opens.to_value());
        let text = encoding::canonical(&Value::Object(map));
        Entry {
            hash: Hash::of(text.as_bytes()),
            text,
            v: FORMAT,
            chain,
            seq,
            prev,
            stamp,
            decision,
            scopes: scopes.into(),
            opens: opens.map(Box::new),
            body,
        }
    }

    /// The decision it belongs to.
    pub fn decision(&self) -> DecisionId {
        DecisionId { phone: self.chain.phone, session: self.stamp.session, decision: self.decision }
    }

    /// What it says beside its body and its place.
    fn frame(&self) -> Frame {
        Frame {
            chain: self.chain,
            seq: self.seq,
            prev: self.prev,
            stamp: self.stamp,
            decision: self.decision,
            scopes: self.scopes.to_vec(),
            opens: self.opens.as_deref().cloned(),
        }
    }

    /// Fields that this app did not understand and would not write itself, by name. Costs as much as reading the entry, so
    /// it is asked on import and by "check my data", not at every start. A body of a newer type is not looked into.
    pub fn not_understood(&self) -> Vec<String> {
        if matches!(self.body, Body::Newer { .. }) {
            return Vec::new();
        }
        let again = Entry::seal(self.frame(), self.body.clone());
        // The text of an older format is not what today's app writes; what was lifted was understood.
        if again.text == self.text || self.v != FORMAT {
            return Vec::new();
        }
        let parse = |text: &str| encoding::parse_strict(text).unwrap_or_default();
        let mut names = Vec::new();
        differences(&parse(&self.text), &parse(&again.text), "", &mut names);
        names
    }

    /// Reads an entry back from its text.
    ///
    /// # Errors
    /// When the text is not canonical JSON or its frame is not whole. A body of a newer app is no error: it is kept as
    /// [`Body::Newer`].
    pub fn read(text: &str) -> Result<Entry, Unreadable> {
        let value = encoding::parse_strict(text).map_err(|why| Unreadable::NotJson(why.to_string()))?;
        let canonical = encoding::canonical(&value);
        if canonical != text {
            return Err(Unreadable::NotCanonical);
        }
        Entry::of(&value, canonical)
    }

    /// Reads an entry from a value that another program may have laid out in its own way.
    ///
    /// # Errors
    /// When its frame is not whole.
    pub fn from_value(value: &Value) -> Result<Entry, Unreadable> {
        let text = encoding::canonical(value);
        // 1.0 is canonically 1, and only that is read as an integer.
        if is_integral(value) { Entry::of(value, text) } else { Entry::read(&text) }
    }

    fn of(value: &Value, text: String) -> Result<Entry, Unreadable> {
        let Value::Object(map) = value else { return Err(Unreadable::Frame("type")) };
        let id = |name: &'static str| {
            map.get(name).and_then(Value::as_str).and_then(encoding::read_uuid).ok_or(Unreadable::Frame(name))
        };
        let number = |name: &'static str, least: i64| {
            let value = map.get(name).and_then(Value::as_i64).ok_or(Unreadable::Frame(name))?;
            if (least..=MAX_INTEGER).contains(&value) { Ok(value) } else { Err(Unreadable::Frame(name)) }
        };
        let v = number("v", 1)?;
        if v < FORMAT {
            return Err(Unreadable::Unreleased);
        }
        let scope = map.get("scope").and_then(Value::as_str).and_then(|text| text.parse().ok());
        let chain = Chain { scope: scope.ok_or(Unreadable::Frame("scope"))?, phone: id("phone")? };
        let seq = number("seq", 0)?;
        let prev = match map.get("prev") {
            Some(Value::Null) => None,
            Some(Value::String(text)) => Some(text.parse().map_err(|_| Unreadable::Frame("prev"))?),
            _ => return Err(Unreadable::Frame("prev")),
        };
        if (seq == 0) != prev.is_none() {
            return Err(Unreadable::Frame("prev"));
        }
        let stamp = Stamp {
            session: id("session")?,
            mono: Mono(number("mono", -MAX_INTEGER)?),
            wall: Wall(number("at", -MAX_INTEGER)?),
        };
        let decision = number("decision", 0)?;
        let scopes = match map.get("scopes") {
            None => Vec::new(),
            Some(value) => Vec::from_value(value).ok_or(Unreadable::Frame("scopes"))?,
        };
        let opens = match map.get("opens") {
            None => None,
            Some(value) => Some(Opens::from_value(value).map(Box::new).ok_or(Unreadable::Frame("opens"))?),
        };
        if !map.get("type").is_some_and(Value::is_string) {
            return Err(Unreadable::Frame("type"));
        }
        let body = Body::read(v, value);
        Ok(Entry {
            hash: Hash::of(text.as_bytes()),
            text,
            v,
            chain,
            seq,
            prev,
            stamp,
            decision,
            scopes: scopes.into(),
            opens,
            body,
        })
    }
}

/// Whether its canonical text has every number as it was written.
fn is_integral(value: &Value) -> bool {
    match value {
        Value::Number(number) => number.as_i64().is_some_and(|number| (-MAX_INTEGER..=MAX_INTEGER).contains(&number)),
        Value::Array(items) => items.iter().all(is_integral),
        Value::Object(members) => members.values().all(is_integral),
        Value::Null | Value::Bool(_) | Value::String(_) => true,
    }
}

/// Names of the members of `there` that `here` lacks or writes in another way.
fn differences(there: &Value, here: &Value, path: &str, names: &mut Vec<String>) {
    match (there, here) {
        (Value::Object(there), Value::Object(here)) => {
            for (name, value) in there {
                let path = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
                match here.get(name) {
                    Some(own) => differences(value, own, &path, names),
                    None => names.push(path),
                }
            }
        }
        (Value::Array(there), Value::Array(here)) if there.len() == here.len() => {
            there.iter().zip(here).for_each(|(value, own)| differences(value, own, path, names));
        }
        _ if there == here => {}
        _ => names.push(path.to_string()),
    }
}
