//! The shapes of structs and enumerations in JSON, as macros that name fields and variants.

/// Keeps a struct as an object of the fields named; those after the `;` are left out while they are empty or false.
macro_rules! fields {
    ($type:ident { $($field:ident),* $(; $($spare:ident),*)? }) => {
        impl $crate::encoding::stored::Stored for $type {
            fn to_value(&self) -> serde_json::Value {
                use $crate::encoding::stored;
                let mut object = stored::Object::new();
                $(stored::put(&mut object, stringify!($field), self.$field.to_value());)*
                $($(stored::put_unless_empty(&mut object, stringify!($spare), self.$spare.to_value());)*)?
                serde_json::Value::Object(object)
            }

            fn from_value(value: &serde_json::Value) -> Option<$type> {
                use $crate::encoding::stored;
                let object = value.as_object()?;
                Some($type {
                    $($field: stored::take(object, stringify!($field))?,)*
                    $($($spare: stored::take_or_empty(object, stringify!($spare))?,)*)?
                })
            }
        }
    };
}

/// Keeps a struct of settings as an object of the fields named. A field that is absent, as in a text that an older app wrote, is
/// that of the default.
macro_rules! settings {
    ($type:ident { $($field:ident),* }) => {
        impl $crate::encoding::stored::Stored for $type {
            fn to_value(&self) -> serde_json::Value {
                use $crate::encoding::stored;
                let mut object = stored::Object::new();
                $(stored::put(&mut object, stringify!($field), self.$field.to_value());)*
                serde_json::Value::Object(object)
            }

            fn from_value(value: &serde_json::Value) -> Option<$type> {
                use $crate::encoding::stored::Stored;
                let object = value.as_object()?;
                let mut read = $type::default();
                $(if let Some(value) = object.get(stringify!($field)) {
                    read.$field = Stored::from_value(value)?;
                })*
                Some(read)
            }
        }
    };
}

/// Keeps an enumeration without fields as the texts given.
macro_rules! names {
    ($type:ident { $($variant:ident = $name:literal),* }) => {
        impl $crate::encoding::stored::Named for $type {
            const NAMES: &'static [&'static str] = &[$($name),*];
        }

        impl $crate::encoding::stored::Stored for $type {
            fn to_value(&self) -> serde_json::Value {
                let name = match self { $($type::$variant => $name),* };
                serde_json::Value::String(name.to_string())
            }

            fn from_value(value: &serde_json::Value) -> Option<$type> {
                const ALL: &[$type] = &[$($type::$variant),*];
                let at = $crate::encoding::stored::position(<$type as $crate::encoding::stored::Named>::NAMES, value)?;
                ALL.get(at).copied()
            }
        }
    };
}

/// Keeps an enumeration with fields as an object that holds, beside the fields, the variant's name in the member `$tag`. A
/// variant `(of)` has the members of what it holds; the variant after `never` is neither written nor read.
macro_rules! tagged {
    ($type:ident by $tag:literal {
        $($variant:ident = $name:literal $(($of:ident))? $({ $($field:ident),* })?),*
    } $(never $never:ident)?) => {
        impl $crate::encoding::stored::Tagged for $type {
            fn tag(&self) -> &'static str {
                match self {
                    $($type::$variant { .. } => $name,)*
                    $($type::$never { .. } => "",)?
                }
            }
        }

        impl $crate::encoding::stored::Stored for $type {
            fn to_value(&self) -> serde_json::Value {
                use $crate::encoding::stored::{self, Tagged};
                let mut object = match self {
                    $($type::$variant $(($of))? $({ $($field),* })? => {
                        $(let object = stored::members($of.to_value());)?
                        $(
                            #[allow(unused_mut, reason = "a variant may have no field")]
                            let mut object = stored::Object::new();
                            $(stored::put(&mut object, stringify!($field), $field.to_value());)*
                        )?
                        object
                    })*
                    $($type::$never { .. } => return serde_json::Value::Object(stored::Object::new()),)?
                };
                stored::put(&mut object, $tag, serde_json::Value::String(self.tag().to_string()));
                serde_json::Value::Object(object)
            }

            fn from_value(value: &serde_json::Value) -> Option<$type> {
                use $crate::encoding::stored;
                let object = value.as_object()?;
                match stored::field(object, $tag).as_str()? {
                    $($name => Some($type::$variant
                        $(({ let $of = stored::Stored::from_value(value)?; $of }))?
                        $({ $($field: stored::take(object, stringify!($field))?),* })?
                    ),)*
                    _ => None,
                }
            }
        }
    };
}

pub(crate) use {fields, names, settings, tagged};

#[cfg(test)]
mod tests {
    use super::super::{Stored, read, write};

    #[derive(Clone, Copy, Debug, PartialEq)]
    enum Colour {
        Red,
        DarkBlue,
    }
    names!(Colour { Red = "red", DarkBlue = "dark_blue" });

    #[derive(Debug, Default, PartialEq)]
    struct Parcel {
        width: u32,
        label: Option<String>,
        holes: Vec<i64>,
        open: bool,
    }
    fields!(Parcel { width, label; holes, open });

    #[derive(Debug, PartialEq)]
    enum Act {
        Packed(Parcel),
        Painted { colour: Colour, again: Option<bool> },
        Left {},
    }
    tagged!(Act by "act" { Packed = "packed" (of), Painted = "painted" { colour, again }, Left = "left" {} });

    #[derive(Debug, PartialEq)]
    struct Chosen {
        colour: Colour,
        sound: bool,
    }
    impl Default for Chosen {
        fn default() -> Chosen {
            Chosen { colour: Colour::DarkBlue, sound: true }
        }
    }
    settings!(Chosen { colour, sound });

    // Every text by hand, from the shapes at the head of this file.
    #[track_caller]
    fn both_ways<T: Stored + PartialEq + std::fmt::Debug>(what: T, text: &str) {
        assert_eq!(write(&what), text);
        assert_eq!(read::<T>(text), Some(what));
    }

    #[test]
    fn what_is_absent_empty_or_false_is_left_out() {
        both_ways(Parcel { width: 3, ..Parcel::default() }, r#"{"width":3}"#);
        let full = Parcel { width: 3, label: Some("a".into()), holes: vec![-1, 2], open: true };
        both_ways(full, r#"{"holes":[-1,2],"label":"a","open":true,"width":3}"#);
    }

    #[test]
    fn a_variant_is_named_beside_its_fields() {
        both_ways(Act::Packed(Parcel::default()), r#"{"act":"packed","width":0}"#);
        both_ways(Act::Painted { colour: Colour::DarkBlue, again: None }, r#"{"act":"painted","colour":"dark_blue"}"#);
        both_ways(Act::Left {}, r#"{"act":"left"}"#);
        both_ways(vec![(Colour::Red, 7_usize)], r#"[["red",7]]"#);
    }

    #[test]
    fn unknown_fields_are_ignored_and_other_shapes_are_not_read() {
        assert_eq!(read(r#"{"act":"left","why":[1.5]}"#), Some(Act::Left {}));
        assert_eq!(read(r#"{"width":1,"label":null}"#), Some(Parcel { width: 1, ..Parcel::default() }));
        for text in [
            "{}",
            "[1]",
            r#"{"width":null}"#,
            r#"{"width":1.0}"#,
            r#"{"width":-1}"#,
            r#"{"width":4294967296}"#,
            r#"{"width":"1"}"#,
            r#"{"width":1,"label":2}"#,
            r#"{"width":1,"holes":null}"#,
            r#"{"width":1,"holes":[0.5]}"#,
            r#"{"width":1,"open":0}"#,
        ] {
            assert_eq!(read::<Parcel>(text), None, "{text}");
        }
        for text in
            [r#"{"act":"right"}"#, r#"{"act":7}"#, r#"{"act":"painted"}"#, r#"{"act":"painted","colour":"Red"}"#]
        {
            assert_eq!(read::<Act>(text), None, "{text}");
        }
    }

    #[test]
    fn a_setting_that_is_absent_is_the_default_and_a_broken_one_is_not_read() {
        both_ways(Chosen { colour: Colour::Red, sound: false }, r#"{"colour":"red","sound":false}"#);
        assert_eq!(read("{}"), Some(Chosen::default()));
        assert_eq!(read(r#"{"sound":false,"volume":3}"#), Some(Chosen { sound: false, ..Chosen::default() }));
        assert_eq!(read::<Chosen>(r#"{"sound":1}"#), None);
    }
}
