//! The one reader of a plan's items: goes by what they say of themselves (`record.rs`).

use super::record::{Choice, Fields, Held, List, Maybe, Seat, Shape, Unknown};
use super::{Extra, SectionFields};
use core::fmt;
use serde::de::{Deserialize, DeserializeSeed, Deserializer, EnumAccess, Error, IgnoredAny, MapAccess};
use serde::de::{SeqAccess, VariantAccess, Visitor};
use serde_json::Value;

/// Reads an item.
pub(crate) fn read<'de, T: Held, D: Deserializer<'de>>(deserializer: D) -> Result<T, D::Error> {
    let mut item = T::blank();
    item.seat().deserialize(deserializer)?;
    Ok(item)
}

impl<'de> DeserializeSeed<'de> for Seat<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        match self {
            Seat::Number(place) => *place = f64::deserialize(from)?,
            Seat::Pair(place) => *place = <[f64; 2]>::deserialize(from)?,
            Seat::Whole(place) => *place = u32::deserialize(from)?,
            Seat::Small(place) => *place = u8::deserialize(from)?,
            Seat::Flag(place) => *place = bool::deserialize(from)?,
            Seat::Text(place) => *place = String::deserialize(from)?,
            Seat::Section(place) => {
                let mut fields = SectionFields::default();
                from.deserialize_map(Filling(&mut fields))?;
                *place = fields.try_into().map_err(D::Error::custom)?;
            }
            Seat::Choice(choice) => match choice.words() {
                (words, Some(tag)) => tagged(choice, words, tag, Extra::deserialize(from)?)?,
                (words, None) => from.deserialize_enum("", words, Choosing(choice))?,
            },
            Seat::Item(fields) => from.deserialize_map(Filling(fields))?,
            Seat::Maybe(maybe) => from.deserialize_option(Perhaps(maybe))?,
            Seat::List(list) => from.deserialize_seq(Listing(list))?,
        }
        Ok(())
    }
}

struct Filling<'a>(&'a mut dyn Fields);

impl<'de> Visitor<'de> for Filling<'_> {
    type Value = ();

    fn expecting(&self, to: &mut fmt::Formatter) -> fmt::Result {
        to.write_str("struct ")?;
        to.write_str(self.0.shape().name)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let Self(fields) = self;
        let &Shape { keys, needed, .. } = fields.shape();
        let refused = matches!(fields.unknown(), Unknown::Refused);
        let name = Naming { words: keys, other: if refused { Other::UnknownField } else { Other::Kept } };
        let mut seen = 0_u64;
        while let Some(key) = map.next_key_seed(name)? {
            match key {
                Ok(place) if seen >> place & 1 == 1 => return Err(A::Error::duplicate_field(keys[place])),
                Ok(place) => {
                    seen |= 1 << place;
                    map.next_value_seed(fields.field(place))?;
                }
                Err(key) => match fields.unknown() {
                    Unknown::Kept(extra) => drop(extra.insert(key, map.next_value()?)),
                    _ => drop(map.next_value::<IgnoredAny>()?),
                },
            }
        }
        match (0..needed).find(|place| seen >> place & 1 == 0) {
            Some(place) => Err(A::Error::missing_field(keys[place])),
            None => Ok(()),
        }
    }
}

/// Reads a word to its number among `words`, or as it stands where that is no error.
#[derive(Clone, Copy)]
struct Naming {
    words: &'static [&'static str],
    other: Other,
}

/// What another word is.
#[derive(Clone, Copy)]
enum Other {
    Kept,
    UnknownField,
    UnknownVariant,
}

impl<'de> DeserializeSeed<'de> for Naming {
    type Value = Result<usize, String>;
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Self::Value, D::Error> {
        from.deserialize_identifier(self)
    }
}

impl Visitor<'_> for Naming {
    type Value = Result<usize, String>;

    fn expecting(&self, to: &mut fmt::Formatter) -> fmt::Result {
        to.write_str(if matches!(self.other, Other::UnknownVariant) {
            "variant identifier"
        } else {
            "field identifier"
        })
    }

    fn visit_str<E: Error>(self, word: &str) -> Result<Self::Value, E> {
        match (self.words.iter().position(|known| *known == word), self.other) {
            (Some(number), _) => Ok(Ok(number)),
            (None, Other::Kept) => Ok(Err(word.to_owned())),
            (None, Other::UnknownField) => Err(E::unknown_field(word, self.words)),
            (None, Other::UnknownVariant) => Err(E::unknown_variant(word, self.words)),
        }
    }
}

struct Choosing<'a>(&'a mut dyn Choice);

impl<'de> Visitor<'de> for Choosing<'_> {
    type Value = ();

    fn expecting(&self, to: &mut fmt::Formatter) -> fmt::Result {
        to.write_str("one of several words")
    }

    fn visit_enum<A: EnumAccess<'de>>(self, data: A) -> Result<(), A::Error> {
        let (words, _) = self.0.words();
        let (word, rest) = data.variant_seed(Naming { words, other: Other::UnknownVariant })?;
        match word.ok().and_then(|word| self.0.choose(word)) {
            Some(fields) => rest.struct_variant(&[], Filling(fields)),
            None => rest.unit_variant(),
        }
    }
}

/// Makes a choice whose word stands beside its fields; these are figures.
fn tagged<E: Error>(
    choice: &mut dyn Choice,
    words: &'static [&'static str],
    tag: &'static str,
    mut map: Extra,
) -> Result<(), E> {
    let word = map.remove(tag).ok_or_else(|| E::missing_field(tag))?;
    let number = words.iter().position(|known| word == *known);
    let number = number.ok_or_else(|| match word.as_str() {
        Some(word) => E::unknown_variant(word, words),
        None => E::unknown_variant(&word.to_string(), words),
    })?;
    let Some(fields) = choice.choose(number) else { return Ok(()) };
    let &Shape { keys, needed, .. } = fields.shape();
    if let Some(key) = keys[..needed].iter().find(|key| !map.contains_key(**key)) {
        return Err(E::missing_field(key));
    }
    for (key, value) in map {
        let number = keys.iter().position(|known| *known == key);
        let number = number.ok_or_else(|| E::unknown_field(&key, keys))?;
        figure(fields.field(number), value).map_err(E::custom)?;
    }
    Ok(())
}

fn figure(seat: Seat<'_>, value: Value) -> Result<(), serde_json::Error> {
    match (seat, value) {
        (Seat::Number(place), value) => *place = f64::deserialize(value)?,
        (Seat::Maybe(maybe), Value::Null) => maybe.leave_out(),
        (Seat::Maybe(maybe), value) => figure(maybe.put_in(), value)?,
        _ => return Err(serde_json::Error::custom("is no figure")),
    }
    Ok(())
}

struct Perhaps<'a>(&'a mut dyn Maybe);

impl<'de> Visitor<'de> for Perhaps<'_> {
    type Value = ();

    fn expecting(&self, to: &mut fmt::Formatter) -> fmt::Result {
        to.write_str("option")
    }

    fn visit_none<E: Error>(self) -> Result<(), E> {
        self.0.leave_out();
        Ok(())
    }

    fn visit_unit<E: Error>(self) -> Result<(), E> {
        self.visit_none()
    }

    fn visit_some<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        self.0.put_in().deserialize(from)
    }
}

struct Listing<'a>(&'a mut dyn List);

impl<'de> Visitor<'de> for Listing<'_> {
    type Value = ();

    fn expecting(&self, to: &mut fmt::Formatter) -> fmt::Result {
        to.write_str("a sequence")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
        self.0.empty();
        while list.next_element_seed(Adding(self.0))?.is_some() {}
        Ok(())
    }
}

struct Adding<'a>(&'a mut dyn List);

impl<'de> DeserializeSeed<'de> for Adding<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        self.0.add().deserialize(from)
    }
}
