//! A document in which one number may be none: JSON cannot write it, code can.

use engine::plan::Plan;
use serde::Deserialize;
use serde::de::value::{Error, MapAccessDeserializer, MapDeserializer, SeqDeserializer, StringDeserializer};
use serde::de::{Deserializer, Error as _, IntoDeserializer, Visitor};
use serde::forward_to_deserialize_any;
use serde_json::Value;

/// A value of a document.
#[derive(Clone, Debug)]
pub enum Tree {
    None,
    Truth(bool),
    Whole(u64),
    Number(f64),
    Text(String),
    List(Vec<Tree>),
    Fields(Vec<(String, Tree)>),
}

impl Tree {
    /// `value` with the number at `pointer` replaced.
    pub fn of(value: &Value, pointer: &str, number: f64) -> Self {
        fn build(value: &Value, at: &str, pointer: &str, number: f64) -> Tree {
            match value {
                _ if at == pointer => Tree::Number(number),
                Value::Null => Tree::None,
                Value::Bool(truth) => Tree::Truth(*truth),
                Value::Number(number) => {
                    number.as_u64().map_or_else(|| Tree::Number(number.as_f64().unwrap_or(0.0)), Tree::Whole)
                }
                Value::String(text) => Tree::Text(text.clone()),
                Value::Array(items) => {
                    let item = |(i, item)| build(item, &format!("{at}/{i}"), pointer, number);
                    Tree::List(items.iter().enumerate().map(item).collect())
                }
                Value::Object(fields) => {
                    let field = |(key, item): (&String, &Value)| {
                        (key.clone(), build(item, &format!("{at}/{key}"), pointer, number))
                    };
                    Tree::Fields(fields.iter().map(field).collect())
                }
            }
        }
        build(value, "", pointer, number)
    }

    /// The plan it says; none where a count is no number.
    pub fn plan(self) -> Option<Plan> {
        Plan::deserialize(self).ok()
    }
}

impl IntoDeserializer<'_, Error> for Tree {
    type Deserializer = Self;

    fn into_deserializer(self) -> Self {
        self
    }
}

impl<'de> Deserializer<'de> for Tree {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self {
            Self::None => visitor.visit_unit(),
            Self::Truth(truth) => visitor.visit_bool(truth),
            Self::Whole(whole) => visitor.visit_u64(whole),
            Self::Number(number) => visitor.visit_f64(number),
            Self::Text(text) => visitor.visit_string(text),
            Self::List(items) => visitor.visit_seq(SeqDeserializer::new(items.into_iter())),
            Self::Fields(fields) => visitor.visit_map(MapDeserializer::new(fields.into_iter())),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        if let Self::None = self { visitor.visit_none() } else { visitor.visit_some(self) }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        match self {
            Self::Text(text) => {
                let text: StringDeserializer<Error> = text.into_deserializer();
                visitor.visit_enum(text)
            }
            Self::Fields(fields) => {
                visitor.visit_enum(MapAccessDeserializer::new(MapDeserializer::new(fields.into_iter())))
            }
            _ => Err(Error::custom("neither a word nor one field")),
        }
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf
        unit unit_struct seq tuple tuple_struct map struct identifier ignored_any
    }
}
