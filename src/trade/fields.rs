//! What each field of a stored fact may hold. One description, beside the line that stores the field, from which come the rules,
//! the forms, the columns of a sheet and the check of the schema.

use crate::units::Celsius;

/// What one field may hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// Nothing that is typed: made by the app, or given by what is around it.
    Made,
    /// A name: where there is one it is not blank and has at most [`NAME`] characters.
    Name,
    /// A text of at most [`LINE`] characters.
    Line,
    /// A text of at most so many characters that is kept beside the log, where it can be erased.
    Attached(usize),
    /// A drawing that is kept beside the log.
    Drawn,
    /// A temperature, from and to.
    Temperature(Celsius, Celsius),
    /// A temperature difference, from and to, K.
    Difference(f64, f64),
    /// A standard uncertainty, up to so many K and never zero.
    Uncertainty(f64),
    /// A number with a decimal sign, from and to, with its unit.
    Decimal(i64, i64, &'static str),
    /// A length of time in ms, from and to in s.
    Seconds(i64, i64),
    /// A whole number, from and to, with its unit.
    Whole(i64, i64, &'static str),
    /// One of a closed list, by the names it is stored by.
    OneOf(&'static [&'static str]),
    /// Yes or no. An optional one may also be unknown.
    Flag,
    /// A calendar day, `YYYY-MM-DD`.
    Day,
    /// A wall clock time, UTC ms.
    Moment,
    /// A length with its unit.
    Height,
    /// Another thing, by its id.
    Thing,
    /// A person, or somebody else by name.
    Who,
    /// When something happened.
    Happened,
    /// Any number of these.
    List(&'static Kind),
    /// An object with fields of its own.
    Shape(&'static [Fact]),
}

/// Most characters of a name.
pub const NAME: usize = 80;

/// Most characters of a line.
pub const LINE: usize = 400;

/// Ratings that can be stored, °C: no spot heat detector is rated outside.
///
/// Source: NFPA 72 table 17.6.2.1 runs from 39 to 302 °C; the range leaves room on both sides.
pub const RATING: (Celsius, Celsius) = (Celsius(30.0), Celsius(350.0));

/// Temperatures of a heater that can be stored, °C: the ratings with room for the overshoot above them.
pub const TEMPERATURE: (Celsius, Celsius) = (Celsius(30.0), Celsius(400.0));

/// Ambient temperatures that can be stored, °C.
pub const AMBIENT: (Celsius, Celsius) = (Celsius(-40.0), Celsius(90.0));

/// Widest tolerance that can be stored, K.
pub const TOLERANCE: f64 = 60.0;

/// The smallest uncertainty that can be stored, K: nothing is known better, and zero is no uncertainty.
pub const LEAST_U: f64 = 0.001;

/// One field of a stored fact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fact {
    /// Its type and name, such as `Make.model`: by this a refusal names it.
    pub key: &'static str,
    /// The name it is stored by.
    pub name: &'static str,
    /// What it may hold.
    pub kind: Kind,
}

/// A stored fact whose fields are described.
pub trait Described {
    /// Its fields.
    const FACTS: &'static [Fact];
}

/// The description of one field. A name that is not among the fields does not compile in a constant.
///
/// # Panics
/// When there is no such field.
pub const fn fact(facts: &'static [Fact], name: &str) -> Fact {
    let mut at = 0;
    while at < facts.len() {
        if same(facts[at].name.as_bytes(), name.as_bytes()) {
            return facts[at];
        }
        at += 1;
    }
    panic!("no such field")
}

const fn same(a: &[u8], b: &[u8]) -> bool {
    let mut at = 0;
    while at < a.len() && at < b.len() && a[at] == b[at] {
        at += 1;
    }
    at == a.len() && at == b.len()
}

/// Describes the fields of a type; those without a kind are not typed by anybody.
macro_rules! facts {
    ($type:ident { $($field:ident $(: $kind:expr)?),* $(,)? }) => {
        impl $crate::trade::fields::Described for $type {
            const FACTS: &'static [$crate::trade::fields::Fact] = &[$($crate::trade::fields::Fact {
                key: concat!(stringify!($type), ".", stringify!($field)),
                name: stringify!($field),
                kind: $crate::trade::fields::kind!($($kind)?),
            }),*];
        }
    };
}

macro_rules! kind {
    () => {
        $crate::trade::fields::Kind::Made
    };
    ($kind:expr) => {
        $kind
    };
}

/// Stores a struct by its fields, as `fields!` does, and describes them.
macro_rules! described {
    ($type:ident { $($field:ident $(: $kind:expr)?),* $(; $($spare:ident $(: $spare_kind:expr)?),*)? }) => {
        $crate::encoding::stored::fields!($type { $($field),* $(; $($spare),*)? });
        $crate::trade::fields::facts!($type {
            $($field $(: $kind)?,)* $($($spare $(: $spare_kind)?),*)?
        });
    };
}

pub(crate) use {described, facts, kind};
