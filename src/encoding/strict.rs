//! JSON read strictly: a name that occurs twice in one object is refused, where `serde_json` alone would silently keep
//! the last of the two. I-JSON (RFC 7493, 2.3) demands it and RFC 8785 builds on that.

use std::fmt;

use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

/// Why a text is not acceptable JSON, and where. Nesting deeper than 127 is refused too.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ParseError {
    /// Line, from 1.
    pub line: usize,
    /// Column in bytes, from 1; 0 where the line ended too early.
    pub column: usize,
    /// What is wrong there, without a full stop.
    pub reason: String,
}

impl fmt::Display for ParseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: {}", self.line, self.column, self.reason)
    }
}

impl std::error::Error for ParseError {}

/// The JSON value of `text`, or why it has none.
pub fn parse_strict(text: &str) -> Result<Value, ParseError> {
    match serde_json::from_str::<Strict>(text) {
        Ok(Strict(value)) => Ok(value),
        Err(error) => {
            let place = format!(" at line {} column {}", error.line(), error.column());
            let message = error.to_string();
            let reason = message.strip_suffix(&place).unwrap_or(&message).to_string();
            Err(ParseError { line: error.line(), column: error.column(), reason })
        }
    }
}

struct Strict(Value);

impl<'de> Deserialize<'de> for Strict {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Strict, D::Error> {
        deserializer.deserialize_any(StrictVisitor).map(Strict)
    }
}

struct StrictVisitor;

impl<'de> Visitor<'de> for StrictVisitor {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(Value::Number(value.into()))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(Value::Number(value.into()))
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Value, E> {
        Number::from_f64(value).map(Value::Number).ok_or_else(|| E::custom("number out of range"))
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(Value::String(value.to_string()))
    }

    fn visit_string<E>(self, value: String) -> Result<Value, E> {
        Ok(Value::String(value))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Value, A::Error> {
        let mut items = Vec::new();
        while let Some(Strict(item)) = access.next_element()? {
            items.push(item);
        }
        Ok(Value::Array(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Value, A::Error> {
        let mut members = Map::new();
        while let Some(name) = access.next_key::<String>()? {
            if members.contains_key(&name) {
                return Err(A::Error::custom(format_args!("the name {name:?} occurs twice in one object")));
            }
            let Strict(value) = access.next_value()?;
            members.insert(name, value);
        }
        Ok(Value::Object(members))
    }
}
