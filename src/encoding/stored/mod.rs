//! How values are written to JSON and read back, without a visitor for every type: most of what is kept is read from a
//! [`Value`] that was parsed before, and code that is generated once per type is what an app on a phone has to load.
//!
//! The shapes: a struct is an object of its fields, absent fields are left out and unknown ones ignored; an enumeration is a
//! text; an enumeration with fields is an object that names its variant in one member. `null` means absent. Anything of
//! another type, a number with a fraction among them, is not read.

mod shapes;

pub(crate) use shapes::{fields, names, settings, tagged};

use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::sync::Arc;
use uuid::Uuid;

/// A JSON object.
pub type Object = Map<String, Value>;

/// Something that is kept as JSON.
pub trait Stored: Sized {
    /// The JSON value it is written as.
    fn to_value(&self) -> Value;

    /// The value of a JSON value; `None` when it is of another shape.
    fn from_value(value: &Value) -> Option<Self>;
}

/// An enumeration with fields, whose variant is named in one member of the object it is kept as.
pub trait Tagged {
    /// The name its variant is written under; empty for the one that is never written.
    fn tag(&self) -> &'static str;
}

/// An enumeration without fields.
pub trait Named {
    /// The names its values are written by, in the order of the enumeration's list.
    const NAMES: &'static [&'static str];
}

/// The name that a value of an enumeration without fields is written by.
pub fn name(of: &impl Stored) -> String {
    of.to_value().as_str().unwrap_or_default().to_string()
}

/// The canonical text of something that is kept.
pub fn write(what: &impl Stored) -> String {
    super::canonical(&what.to_value())
}

/// Reads what [`write()`] wrote; `None` when the text is something else.
pub fn read<T: Stored>(text: &str) -> Option<T> {
    T::from_value(&super::parse_strict(text).ok()?)
}

/// Puts a field into an object; what is absent is left out.
pub fn put(object: &mut Object, name: &str, value: Value) {
    if !value.is_null() {
        object.insert(name.to_string(), value);
    }
}

/// Puts a field into an object that is left out while it is an empty list or false.
pub fn put_unless_empty(object: &mut Object, name: &str, value: Value) {
    let empty = match &value {
        Value::Bool(said) => !said,
        Value::Array(items) => items.is_empty(),
        _ => false,
    };
    if !empty {
        put(object, name, value);
    }
}

/// The field of an object; `null` when it is absent.
pub fn field<'a>(object: &'a Object, name: &str) -> &'a Value {
    static ABSENT: Value = Value::Null;
    object.get(name).unwrap_or(&ABSENT)
}

/// Reads a field that [`put`] wrote.
pub fn take<T: Stored>(object: &Object, name: &str) -> Option<T> {
    T::from_value(field(object, name))
}

/// Reads a field that [`put_unless_empty`] wrote.
pub fn take_or_empty<T: Stored + Default>(object: &Object, name: &str) -> Option<T> {
    object.get(name).map_or_else(|| Some(T::default()), T::from_value)
}

/// The members of an object, none of anything else.
pub fn members(value: Value) -> Object {
    if let Value::Object(object) = value { object } else { Object::new() }
}

/// Which of `names` a value is.
pub fn position(names: &[&str], value: &Value) -> Option<usize> {
    let text = value.as_str()?;
    names.iter().position(|name| *name == text)
}

impl Stored for bool {
    fn to_value(&self) -> Value {
        Value::Bool(*self)
    }

    fn from_value(value: &Value) -> Option<bool> {
        value.as_bool()
    }
}

/// The largest integer that survives every JSON reader, 2^53 − 1 (RFC 7493, 2.2).
const MOST: u64 = (1 << 53) - 1;

impl Stored for i64 {
    fn to_value(&self) -> Value {
        (*self).into()
    }

    fn from_value(value: &Value) -> Option<i64> {
        value.as_i64().filter(|integer| integer.unsigned_abs() <= MOST)
    }
}

macro_rules! smaller {
    ($($integer:ident),*) => {$(
        impl Stored for $integer {
            fn to_value(&self) -> Value {
                (*self).into()
            }

            fn from_value(value: &Value) -> Option<$integer> {
                value.as_i64()?.try_into().ok()
            }
        }
    )*};
}

smaller!(i8, u32, usize);

impl Stored for String {
    fn to_value(&self) -> Value {
        Value::String(self.clone())
    }

    fn from_value(value: &Value) -> Option<String> {
        value.as_str().map(str::to_string)
    }
}

impl Stored for Uuid {
    fn to_value(&self) -> Value {
        Value::String(self.to_string())
    }

    fn from_value(value: &Value) -> Option<Uuid> {
        super::read_uuid(value.as_str()?)
    }
}

impl<T: Stored> Stored for Option<T> {
    fn to_value(&self) -> Value {
        self.as_ref().map_or(Value::Null, T::to_value)
    }

    fn from_value(value: &Value) -> Option<Option<T>> {
        if value.is_null() { Some(None) } else { T::from_value(value).map(Some) }
    }
}

impl<T: Stored> Stored for Arc<T> {
    fn to_value(&self) -> Value {
        T::to_value(self)
    }

    fn from_value(value: &Value) -> Option<Arc<T>> {
        T::from_value(value).map(Arc::new)
    }
}

impl<T: Stored> Stored for Vec<T> {
    fn to_value(&self) -> Value {
        let mut items = Vec::new();
        self.iter().for_each(|item| items.push(item.to_value()));
        Value::Array(items)
    }

    fn from_value(value: &Value) -> Option<Vec<T>> {
        let mut items = Vec::new();
        for item in value.as_array()? {
            items.push(T::from_value(item)?);
        }
        Some(items)
    }
}

impl<A: Stored, B: Stored> Stored for (A, B) {
    fn to_value(&self) -> Value {
        Value::Array(vec![self.0.to_value(), self.1.to_value()])
    }

    fn from_value(value: &Value) -> Option<(A, B)> {
        let [a, b] = value.as_array()?.as_slice() else { return None };
        Some((A::from_value(a)?, B::from_value(b)?))
    }
}

impl<T: Stored> Stored for BTreeMap<String, T> {
    fn to_value(&self) -> Value {
        let mut object = Object::new();
        self.iter().for_each(|(name, value)| put(&mut object, name, value.to_value()));
        Value::Object(object)
    }

    fn from_value(value: &Value) -> Option<BTreeMap<String, T>> {
        let mut map = BTreeMap::new();
        for (name, value) in value.as_object()? {
            map.insert(name.clone(), T::from_value(value)?);
        }
        Some(map)
    }
}
