//! Reading the items of a plan that keep fields they do not know.
//!
//! A reader that serde derives holds every field of an item apart until the last has come, with what to drop
//! on every way out; those of a plan's items were a tenth of the page's download. Here an item begins as it
//! is when its fields are left out, and each is set in place as it comes. What is accepted and what an error
//! says stay as serde has them.

use super::{Extra, PartShape, Point, Section};
use core::fmt;
use serde::de::{Deserialize, Deserializer, Error, MapAccess, Visitor};

/// An item with fields of a newer version; written by [`record!`].
pub(crate) trait Record: Sized {
    /// What an error calls it.
    const NAME: &'static str;
    /// Its fields, first those it cannot be without.
    const KEYS: &'static [&'static str];
    /// How many it cannot be without.
    const NEEDED: usize;
    /// As it is when all is left out; a needed field is a placeholder.
    fn blank() -> Self;
    /// Reads the field `key` of [`Self::KEYS`].
    fn read<'de, A: MapAccess<'de>>(&mut self, key: usize, map: &mut A) -> Result<(), A::Error>;
    /// Fields of a newer version.
    fn extra(&mut self) -> &mut Extra;
}

/// What stands in a needed field until it is read.
pub(crate) trait Blank {
    fn blank() -> Self;
}

impl<T: Record> Blank for T {
    fn blank() -> Self {
        Record::blank()
    }
}

impl<T> Blank for Vec<T> {
    fn blank() -> Self {
        Self::new()
    }
}

macro_rules! blank {
    ($($type:ty: $value:expr),*) => {
        $(impl Blank for $type {
            fn blank() -> Self {
                $value
            }
        })*
    };
}
blank!(f64: 0.0, u32: 0, String: Self::new(), Point: Self { x_m: 0.0, y_m: 0.0 });
blank!(Section: Self::Round { diameter_m: 0.0 }, PartShape: Self::Sheet { thickness_m: 0.0 });

/// Writes the reader of an item: the fields it cannot be without, `or` those it can, each with what it is
/// then unless its type's default; or all of them, as they are in its default. Says the same as the serde
/// attributes of the fields, by which it is written and described; a test compares the two.
macro_rules! record {
    ($name:ident { $($need:ident),* } or { $($key:ident $(= $value:expr)?),* }) => {
        $crate::plan::record::record!(@reader $name [$($need)*] [$($key)*] Self {
            $($need: $crate::plan::record::Blank::blank(),)*
            $($key: $crate::plan::record::record!(@or $($value)?),)*
            extra: $crate::plan::Extra::new(),
        });
    };
    ($name:ident as it is by default { $($key:ident),* }) => {
        $crate::plan::record::record!(@reader $name [] [$($key)*] Self::default());
    };
    (@or) => { Default::default() };
    (@or $value:expr) => { $value };
    (@reader $name:ident [$($need:ident)*] [$($key:ident)*] $blank:expr) => {
        impl $crate::plan::record::Record for $name {
            const NAME: &'static str = stringify!($name);
            const KEYS: &'static [&'static str] = &[$(stringify!($need),)* $(stringify!($key),)*];
            const NEEDED: usize = <[&str]>::len(&[$(stringify!($need)),*]);

            fn blank() -> Self {
                $blank
            }

            fn read<'de, A: serde::de::MapAccess<'de>>(&mut self, key: usize, map: &mut A) -> Result<(), A::Error> {
                #[allow(non_camel_case_types)]
                enum Key { $($need,)* $($key,)* }
                $(if key == Key::$need as usize {
                    return $crate::plan::record::set(&mut self.$need, map);
                })*
                $(if key == Key::$key as usize {
                    return $crate::plan::record::set(&mut self.$key, map);
                })*
                Ok(())
            }

            fn extra(&mut self) -> &mut $crate::plan::Extra {
                &mut self.extra
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                $crate::plan::record::read(deserializer)
            }
        }
    };
}
pub(crate) use record;

/// Reads one field. Not inlined: one copy for each type of field.
#[inline(never)]
pub(crate) fn set<'de, T: Deserialize<'de>, A: MapAccess<'de>>(
    field: &mut T,
    map: &mut A,
) -> Result<(), A::Error> {
    *field = map.next_value()?;
    Ok(())
}

/// Reads an item.
pub(crate) fn read<'de, T: Record, D: Deserializer<'de>>(deserializer: D) -> Result<T, D::Error> {
    let mut record = T::blank();
    deserializer.deserialize_map(Filling(&mut record))?;
    Ok(record)
}

struct Filling<'a, T>(&'a mut T);

impl<'de, T: Record> Visitor<'de> for Filling<'_, T> {
    type Value = ();

    fn expecting(&self, to: &mut fmt::Formatter) -> fmt::Result {
        to.write_str("struct ")?;
        to.write_str(T::NAME)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        fill(self.0, T::KEYS, T::NEEDED, &mut map)
    }
}

/// A [`Record`] without its type.
trait Fields<'de, A: MapAccess<'de>> {
    fn read_field(&mut self, key: usize, map: &mut A) -> Result<(), A::Error>;
    fn unknown(&mut self) -> &mut Extra;
}

impl<'de, A: MapAccess<'de>, T: Record> Fields<'de, A> for T {
    fn read_field(&mut self, key: usize, map: &mut A) -> Result<(), A::Error> {
        self.read(key, map)
    }
    fn unknown(&mut self) -> &mut Extra {
        self.extra()
    }
}

#[inline(never)]
fn fill<'de, A: MapAccess<'de>>(
    fields: &mut dyn Fields<'de, A>,
    keys: &'static [&'static str],
    needed: usize,
    map: &mut A,
) -> Result<(), A::Error> {
    let mut seen = 0_u64;
    while let Some(key) = map.next_key::<String>()? {
        match keys.iter().position(|known| *known == key) {
            Some(place) if seen >> place & 1 == 1 => return Err(A::Error::duplicate_field(keys[place])),
            Some(place) => {
                seen |= 1 << place;
                fields.read_field(place, map)?;
            }
            None => {
                let value = map.next_value()?;
                fields.unknown().insert(key, value);
            }
        }
    }
    match (0..needed).find(|place| seen >> place & 1 == 0) {
        Some(place) => Err(A::Error::missing_field(keys[place])),
        None => Ok(()),
    }
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
        T: Record + Serialize + serde::de::DeserializeOwned + schemars::JsonSchema,
    {
        let schema = schemars::schema_for!(T).to_value();
        let properties = schema["properties"].as_object().expect("an item has fields");
        let described: BTreeSet<&str> = properties.keys().map(String::as_str).collect();
        assert_eq!(described, T::KEYS.iter().copied().collect(), "{}", T::NAME);
        assert_eq!(T::KEYS.len(), described.len(), "{}", T::NAME);
        assert!(T::KEYS.len() <= 64, "{} has more fields than there are bits", T::NAME);
        let needed: Vec<&str> =
            schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
        assert_eq!(needed, T::KEYS[..T::NEEDED], "{}", T::NAME);
        let blank = serde_json::to_value(T::blank()).expect("an item can be written");
        reads_each_field_into_its_own_place::<T>(properties, &blank);
        let mut compared = 0;
        for (key, field) in properties {
            if let (Some(wanted), Some(held)) = (field.get("default"), blank.get(key)) {
                assert_eq!(held, wanted, "{}.{key}", T::NAME);
                compared += 1;
            }
        }
        compared
    }

    /// Gives every number and text of an item a value of its own.
    fn reads_each_field_into_its_own_place<T: Record + Serialize + serde::de::DeserializeOwned>(
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
        let read: T = serde_json::from_value(item.clone()).expect("an item can be read");
        let written = serde_json::to_value(read).expect("an item can be written");
        for key in given {
            let told = |value: &Value| (value.as_f64(), value.as_str().map(str::to_owned));
            assert_eq!(told(&written[key]), told(&item[key]), "{}.{key}", T::NAME);
        }
    }

    #[test]
    fn readers_agree_with_the_attributes_of_the_fields() {
        macro_rules! compared {
            ($($name:ident)*) => { 0 $(+ agrees_with_its_attributes::<$name>())* };
        }
        let compared = compared!(
            AirAtPart BenchPiece BladeDamper Burner Coating Column Conveyor Duct Enclosure Enquiry Exhaust Fan
            FixedLoss FloorBuildUp Growth Heater HeaterHouse HungPart Load Models Opening PanelBuildUp Panels
            Plan ReturnOpening Safety Sensor ShopRecord Site SlotRow Tolerances Weighing Zone
        );
        assert!(compared > 60, "only {compared} defaults were compared");
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
