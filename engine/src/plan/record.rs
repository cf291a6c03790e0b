//! What the one reader of a plan's items (`reader.rs`) has to know of each of them.
//!
//! A reader that serde derives for each item holds every field apart until the last has come, with what to
//! drop on every way out, and reads each type of field with code of its own; those of a plan were a tenth of
//! the page's download. Here an item begins as it is when its fields are left out, and says which [`Seat`] a
//! key belongs to. What is accepted and what an error says stay as serde has them.

use super::{Extra, Section};

/// A place in an item, without the item's type.
pub(crate) enum Seat<'a> {
    Number(&'a mut f64),
    Pair(&'a mut [f64; 2]),
    Whole(&'a mut u32),
    Small(&'a mut u8),
    Flag(&'a mut bool),
    Text(&'a mut String),
    Section(&'a mut Section),
    Choice(&'a mut dyn Choice),
    Item(&'a mut dyn Fields),
    Maybe(&'a mut dyn Maybe),
    List(&'a mut dyn List),
}

/// What a plan can hold.
pub(crate) trait Held {
    /// What stands in a needed field until it is read.
    fn blank() -> Self;
    /// Where it is read to.
    fn seat(&mut self) -> Seat<'_>;
}

/// The fields of an item.
pub(crate) struct Shape {
    /// What an error calls it.
    pub name: &'static str,
    /// Its fields, first those it cannot be without.
    pub keys: &'static [&'static str],
    /// How many it cannot be without.
    pub needed: usize,
}

/// An item; written by [`record!`].
pub(crate) trait Fields {
    fn shape(&self) -> &'static Shape;
    /// Where the field of this number is read to.
    fn field(&mut self, key: usize) -> Seat<'_>;
    /// Where fields it does not know go.
    fn unknown(&mut self) -> Unknown<'_>;
}

/// Fields that an item does not know.
pub(crate) enum Unknown<'a> {
    /// Those of a newer version.
    Kept(&'a mut Extra),
    Refused,
    Ignored,
}

/// One of several words, some with fields of their own; written by [`choice!`].
pub(crate) trait Choice {
    /// The words, and the key under which they stand beside the fields; without one a word with fields is
    /// itself the key of an object.
    fn words(&self) -> (&'static [&'static str], Option<&'static str>);
    /// Becomes the choice of this number; its fields, if it has any.
    fn choose(&mut self, word: usize) -> Option<&mut dyn Fields>;
}

/// What may be left out.
pub(crate) trait Maybe {
    fn leave_out(&mut self);
    fn put_in(&mut self) -> Seat<'_>;
}

/// Any number of something.
pub(crate) trait List {
    fn empty(&mut self);
    fn add(&mut self) -> Seat<'_>;
}

impl<T: Held> Maybe for Option<T> {
    fn leave_out(&mut self) {
        *self = None;
    }
    fn put_in(&mut self) -> Seat<'_> {
        self.insert(T::blank()).seat()
    }
}

impl<T: Held> List for Vec<T> {
    fn empty(&mut self) {
        self.clear();
    }
    fn add(&mut self) -> Seat<'_> {
        self.push(T::blank());
        let last = self.len() - 1;
        self[last].seat()
    }
}

macro_rules! held {
    ($([$($of:ident)?] $type:ty: $blank:expr, $seat:ident;)*) => {
        $(impl$(<$of: Held>)? Held for $type {
            fn blank() -> Self {
                $blank
            }
            fn seat(&mut self) -> Seat<'_> {
                Seat::$seat(self)
            }
        })*
    };
}
held! {
    [] f64: 0.0, Number;
    [] [f64; 2]: [0.0; 2], Pair;
    [] u32: 0, Whole;
    [] u8: 0, Small;
    [] bool: false, Flag;
    [] String: Self::new(), Text;
    [] Section: Self::Round { diameter_m: 0.0 }, Section;
    [T] Option<T>: None, Maybe;
    [T] Vec<T>: Self::new(), List;
}

/// Writes what the reader asks of an item: the fields it cannot be without, `or` those it can, each with what
/// it is then unless its type's default; or all of them, as they are in its default. A `strict` item refuses
/// fields it does not know. Says the same as the serde attributes of the fields, by which it is written and
/// described; a test compares the two.
macro_rules! record {
    (strict $name:ident { $($need:ident),* } or { $($key:ident $(= $value:expr)?),* }) => {
        $crate::plan::record::record!(@fields $name [$($need)*] [$($key)*] |_item| $crate::plan::record::Unknown::Refused, Self {
            $($need: $crate::plan::record::Held::blank(),)*
            $($key: $crate::plan::record::record!(@or $($value)?),)*
        });
    };
    (strict $name:ident as it is by default { $($key:ident),* }) => {
        $crate::plan::record::record!(@fields $name [] [$($key)*] |_item| $crate::plan::record::Unknown::Refused, Self::default());
    };
    ($name:ident { $($need:ident),* } or { $($key:ident $(= $value:expr)?),* }) => {
        $crate::plan::record::record!(@kept $name [$($need)*] [$($key)*] Self {
            $($need: $crate::plan::record::Held::blank(),)*
            $($key: $crate::plan::record::record!(@or $($value)?),)*
            extra: $crate::plan::Extra::new(),
        });
    };
    ($name:ident as it is by default { $($key:ident),* }) => {
        $crate::plan::record::record!(@kept $name [] [$($key)*] Self::default());
    };
    (@or) => { Default::default() };
    (@or $value:expr) => { $value };
    (@kept $name:ident [$($need:ident)*] [$($key:ident)*] $blank:expr) => {
        $crate::plan::record::record!(@fields $name [$($need)*] [$($key)*] |item| $crate::plan::record::Unknown::Kept(&mut item.extra), $blank);

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                $crate::plan::reader::read(deserializer)
            }
        }
    };
    (@fields $name:ident [$($need:ident)*] [$($key:ident)*] |$item:ident| $unknown:expr, $blank:expr) => {
        impl $crate::plan::record::Held for $name {
            fn blank() -> Self {
                $blank
            }
            fn seat(&mut self) -> $crate::plan::record::Seat<'_> {
                $crate::plan::record::Seat::Item(self)
            }
        }

        impl $crate::plan::record::Fields for $name {
            fn shape(&self) -> &'static $crate::plan::record::Shape {
                const {
                    &$crate::plan::record::Shape {
                        name: stringify!($name),
                        keys: &[$(stringify!($need),)* $(stringify!($key),)*],
                        needed: <[&str]>::len(&[$(stringify!($need)),*]),
                    }
                }
            }

            fn field(&mut self, key: usize) -> $crate::plan::record::Seat<'_> {
                #[allow(non_camel_case_types)]
                enum Key { $($need,)* $($key,)* }
                $(if key == Key::$need as usize {
                    return $crate::plan::record::Held::seat(&mut self.$need);
                })*
                $(if key == Key::$key as usize {
                    return $crate::plan::record::Held::seat(&mut self.$key);
                })*
                $crate::plan::record::no_such_field()
            }

            fn unknown(&mut self) -> $crate::plan::record::Unknown<'_> {
                let $item = self;
                $unknown
            }
        }
    };
}
pub(crate) use record;

/// Writes what the reader asks of a choice: its words, and what has fields of its own with those it cannot be
/// without, `or` those it can; `by` the key that its word stands under. A test compares it with the attributes.
macro_rules! choice {
    ($name:ident $(by $tag:literal)? { $($variant:ident = $word:literal $({ $($need:ident),* } $(or { $($key:ident),* })?)?),* }) => {
        impl $crate::plan::record::Held for $name {
            #[allow(unreachable_code)] // the first it is
            fn blank() -> Self {
                $(return Self::$variant { $($($need: $crate::plan::record::Held::blank(),)* $($($key: None,)*)?)? };)*
            }
            fn seat(&mut self) -> $crate::plan::record::Seat<'_> {
                $crate::plan::record::Seat::Choice(self)
            }
        }

        impl $crate::plan::record::Choice for $name {
            fn words(&self) -> (&'static [&'static str], Option<&'static str>) {
                let tag: &[&str] = &[$($tag)?];
                (&[$($word),*], tag.first().copied())
            }

            fn choose(&mut self, word: usize) -> Option<&mut dyn $crate::plan::record::Fields> {
                enum Word { $($variant),* }
                $(if word == Word::$variant as usize {
                    *self = Self::$variant { $($($need: $crate::plan::record::Held::blank(),)* $($($key: None,)*)?)? };
                })*
                (!$crate::plan::record::Fields::shape(self).keys.is_empty()).then_some(self as _)
            }
        }

        impl $crate::plan::record::Fields for $name {
            fn shape(&self) -> &'static $crate::plan::record::Shape {
                match self {
                    $(Self::$variant { .. } => const {
                        &$crate::plan::record::Shape {
                            name: stringify!($name),
                            keys: &[$($(stringify!($need),)* $($(stringify!($key),)*)?)?],
                            needed: <[&str]>::len(&[$($(stringify!($need),)*)?]),
                        }
                    }),*
                }
            }

            fn field(&mut self, key: usize) -> $crate::plan::record::Seat<'_> {
                match self {
                    $(Self::$variant { $($($need,)* $($($key,)*)?)? } => {
                        let seats: [$crate::plan::record::Seat<'_>; _] =
                            [$($($crate::plan::record::Held::seat($need),)* $($($crate::plan::record::Held::seat($key),)*)?)?];
                        seats.into_iter().nth(key).unwrap_or_else(|| $crate::plan::record::no_such_field())
                    })*
                }
            }

            fn unknown(&mut self) -> $crate::plan::record::Unknown<'_> {
                $crate::plan::record::Unknown::Ignored
            }
        }
    };
}
pub(crate) use choice;

/// Keys are numbered by the shape of the same item.
#[cold]
pub(crate) fn no_such_field() -> ! {
    unreachable!("a field or word beyond the last")
}

#[cfg(all(test, feature = "schema"))]
mod tests {
    use super::*;
    use crate::plan::*;
    use serde::Serialize;
    use serde_json::Value;
    use std::collections::BTreeSet;

    /// The schema goes by the attributes of the fields.
    fn agrees_with_its_attributes<T>() -> usize
    where
        T: Held + Fields + Serialize + schemars::JsonSchema,
    {
        let item = T::blank();
        let &Shape { name, keys, needed } = item.shape();
        let schema = schemars::schema_for!(T).to_value();
        let properties = schema["properties"].as_object().expect("an item has fields");
        let described: BTreeSet<&str> = properties.keys().map(String::as_str).collect();
        assert_eq!(described, keys.iter().copied().collect(), "{name}");
        assert_eq!(keys.len(), described.len(), "{name}");
        assert!(keys.len() <= 64, "{name} has more fields than there are bits");
        let required: Vec<&str> =
            schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
        assert_eq!(required, keys[..needed], "{name}");
        let blank = serde_json::to_value(&item).expect("an item can be written");
        reads_each_field_into_its_own_place::<T>(properties, &blank);
        let mut compared = 0;
        for (key, field) in properties {
            if let (Some(wanted), Some(held)) = (field.get("default"), blank.get(key)) {
                assert_eq!(held, wanted, "{name}.{key}");
                compared += 1;
            }
        }
        compared
    }

    /// Gives every number and text of an item a value of its own.
    fn reads_each_field_into_its_own_place<T: Held + Fields + Serialize>(
        properties: &serde_json::Map<String, Value>,
        blank: &Value,
    ) {
        let mut item = blank.clone();
        let mut given = Vec::new();
        for (key, field) in properties {
            let is = |word: &str| match &field["type"] {
                Value::Array(types) => types.iter().any(|one| one == word),
                one => one == word,
            };
            let number = 100 + given.len();
            if is("number") || is("integer") {
                item[key] = number.into();
            } else if is("string") {
                item[key] = format!("text {number}").into();
            } else {
                continue;
            }
            given.push(key);
        }
        let read: T = reader::read(item.clone()).expect("an item can be read");
        let written = serde_json::to_value(read).expect("an item can be written");
        for key in given {
            let told = |value: &Value| (value.as_f64(), value.as_str().map(str::to_owned));
            assert_eq!(told(&written[key]), told(&item[key]), "{}.{key}", T::blank().shape().name);
        }
    }

    #[test]
    fn readers_agree_with_the_attributes_of_the_fields() {
        macro_rules! compared {
            ($($name:ident)*) => { 0 $(+ agrees_with_its_attributes::<$name>())* };
        }
        let compared = compared!(
            Accepted AirAtPart BayExchange BenchPiece BladeDamper Burner Carried Coating Column ConductivityPoint
            Conveyor CurePoint Duct Enclosure Enquiry Exhaust Fan FanPoint FixedLoss FloorBuildUp FloorGap Growth
            Heater HeaterHouse HungPart Joints LeakageTest Load Models Modulation Opening PanelBuildUp Panels
            Plan Point ReturnOpening Safety SectionFields Sensor ShopRecord Site SizeStep Slab SlotReading SlotRow
            Solvent SpeedLimit Tolerances Weighing Zone
        );
        assert!(compared > 60, "only {compared} defaults were compared");
    }

    /// Every choice as serde writes it is read to itself, and what serde refuses is refused.
    fn chooses_as_serde_does<T>()
    where
        T: Held + Choice + Fields + Serialize + serde::de::DeserializeOwned + PartialEq + core::fmt::Debug,
    {
        let (words, tag) = T::blank().words();
        for (number, word) in words.iter().enumerate() {
            let mut choice = T::blank();
            let has_fields = choice.choose(number).is_some();
            let text = serde_json::to_string(&choice).expect("a choice can be written");
            assert!(text.contains(&format!("\"{word}\"")), "{text} is not {word}");
            assert_eq!(has_fields, !choice.shape().keys.is_empty());
            let mut texts = vec![text.clone(), text.replace("0.0", "7.5"), text.replace("0.0", "\"x\"")];
            texts.extend([text.replace("0.0", "null"), text.replace(word, "none of them")]);
            texts.extend(choice.shape().keys.iter().map(|key| text.replace(key, "another")));
            texts.extend(tag.map(|tag| text.replace(tag, "another")));
            texts.extend(["1".to_owned(), "{}".to_owned(), "[]".to_owned(), "null".to_owned()]);
            for text in texts {
                let ours: Option<T> = reader::read(&mut serde_json::Deserializer::from_str(&text)).ok();
                assert_eq!(ours, serde_json::from_str(&text).ok(), "{text}");
            }
        }
    }

    #[test]
    fn choices_are_read_as_serde_reads_them() {
        macro_rules! compared {
            ($($name:ident)*) => { $(chooses_as_serde_does::<$name>();)* };
        }
        compared!(
            Blades BuildStyle Drive DuctRole ElbowStyle Face Fuel LeakageClass Material PanelBasis PartShape
            PressureBasis SafetyDevice SensorKind SlotModel SlotVelocity
        );
    }

    #[test]
    fn errors_are_those_of_serde() {
        let told = |text: &str| serde_json::from_str::<Column>(text).unwrap_err().to_string();
        let at = r#""at":{"x_m":1,"y_m":2}"#;
        assert_eq!(told("[]"), "invalid type: sequence, expected struct Column at line 1 column 0");
        assert_eq!(told(r#"{"id":"a"}"#), "missing field `at` at line 1 column 10");
        assert_eq!(told(r#"{"id":"a","id":"b"}"#), "duplicate field `id` at line 1 column 14");
        assert_eq!(
            told(&format!(r#"{{"id":"a",{at},"width_m":"x"}}"#)),
            "invalid type: string \"x\", expected f64 at line 1 column 46"
        );
        let kept: Column =
            serde_json::from_str(&format!(r#"{{"id":"a",{at},"new":[1],"width_m":1,"depth_m":2}}"#)).unwrap();
        assert_eq!(kept.extra["new"], serde_json::json!([1]));
        assert_eq!((kept.width_m, kept.depth_m), (1.0, 2.0));
    }
}
