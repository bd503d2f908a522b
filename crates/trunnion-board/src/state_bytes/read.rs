//! The reader.

use serde::de::value::U32Deserializer;
use serde::de::{
    Deserialize, DeserializeSeed, Deserializer, EnumAccess, IntoDeserializer, MapAccess, SeqAccess,
    VariantAccess, Visitor,
};

use super::NoState;

/// Reads a value from the beginning of `bytes`, and gives what follows it.
///
/// # Errors
///
/// [`NoState`]: the bytes end early, or are none of such a value.
pub fn read<'de, T: Deserialize<'de>>(bytes: &'de [u8]) -> Result<(T, &'de [u8]), NoState> {
    let mut reader = Reader(bytes);
    let value = T::deserialize(&mut reader)?;
    Ok((value, reader.0))
}

struct Reader<'de>(&'de [u8]);

impl<'de> Reader<'de> {
    fn next<const N: usize>(&mut self) -> Result<[u8; N], NoState> {
        let (bytes, rest) = self.0.split_first_chunk().ok_or(NoState)?;
        self.0 = rest;
        Ok(*bytes)
    }

    fn length(&mut self) -> Result<usize, NoState> {
        Ok(u16::from_le_bytes(self.next()?).into())
    }

    fn slice(&mut self) -> Result<&'de [u8], NoState> {
        let length = self.length()?;
        let (bytes, rest) = self.0.split_at_checked(length).ok_or(NoState)?;
        self.0 = rest;
        Ok(bytes)
    }

    fn level(&mut self) -> Result<bool, NoState> {
        match self.next()? {
            [0] => Ok(false),
            [1] => Ok(true),
            _ => Err(NoState),
        }
    }
}

macro_rules! numbers {
    ($($method:ident $visit:ident $number:ty),+) => {
        $(
            fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
                visitor.$visit(<$number>::from_le_bytes(self.next()?))
            }
        )+
    };
}

impl<'de> Deserializer<'de> for &mut Reader<'de> {
    type Error = NoState;

    numbers!(
        deserialize_i8 visit_i8 i8, deserialize_i16 visit_i16 i16, deserialize_i32 visit_i32 i32,
        deserialize_i64 visit_i64 i64, deserialize_i128 visit_i128 i128,
        deserialize_u8 visit_u8 u8, deserialize_u16 visit_u16 u16, deserialize_u32 visit_u32 u32,
        deserialize_u64 visit_u64 u64, deserialize_u128 visit_u128 u128,
        deserialize_f32 visit_f32 f32, deserialize_f64 visit_f64 f64
    );

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, NoState> {
        Err(NoState)
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, NoState> {
        Err(NoState)
    }

    fn deserialize_identifier<V: Visitor<'de>>(self, _: V) -> Result<V::Value, NoState> {
        Err(NoState)
    }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        visitor.visit_bool(self.level()?)
    }

    fn deserialize_char<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        let number = u32::from_le_bytes(self.next()?);
        visitor.visit_char(char::from_u32(number).ok_or(NoState)?)
    }

    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        visitor.visit_borrowed_str(core::str::from_utf8(self.slice()?).map_err(|_| NoState)?)
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        self.deserialize_str(visitor)
    }

    fn deserialize_bytes<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        visitor.visit_borrowed_bytes(self.slice()?)
    }

    fn deserialize_byte_buf<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        self.deserialize_bytes(visitor)
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        if self.level()? { visitor.visit_some(self) } else { visitor.visit_none() }
    }

    fn deserialize_unit<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        visitor.visit_unit()
    }

    fn deserialize_unit_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, NoState> {
        visitor.visit_unit()
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, NoState> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        let left = self.length()?;
        visitor.visit_seq(Elements { reader: self, left })
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, length: usize, visitor: V) -> Result<V::Value, NoState> {
        visitor.visit_seq(Elements { reader: self, left: length })
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        length: usize,
        visitor: V,
    ) -> Result<V::Value, NoState> {
        self.deserialize_tuple(length, visitor)
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, NoState> {
        let left = self.length()?;
        visitor.visit_map(Elements { reader: self, left })
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, NoState> {
        self.deserialize_tuple(fields.len(), visitor)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, NoState> {
        visitor.visit_enum(self)
    }

    fn is_human_readable(&self) -> bool {
        false
    }
}

struct Elements<'a, 'de> {
    reader: &'a mut Reader<'de>,
    left: usize,
}

impl<'de> SeqAccess<'de> for Elements<'_, 'de> {
    type Error = NoState;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, NoState> {
        let Some(left) = self.left.checked_sub(1) else { return Ok(None) };
        self.left = left;
        seed.deserialize(&mut *self.reader).map(Some)
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.left)
    }
}

impl<'de> MapAccess<'de> for Elements<'_, 'de> {
    type Error = NoState;

    fn next_key_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, NoState> {
        self.next_element_seed(seed)
    }

    fn next_value_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<T::Value, NoState> {
        seed.deserialize(&mut *self.reader)
    }
}

impl<'de> EnumAccess<'de> for &mut Reader<'de> {
    type Error = NoState;
    type Variant = Self;

    fn variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<(T::Value, Self), NoState> {
        let [place] = self.next()?;
        let place: U32Deserializer<NoState> = u32::from(place).into_deserializer();
        Ok((seed.deserialize(place)?, self))
    }
}

impl<'de> VariantAccess<'de> for &mut Reader<'de> {
    type Error = NoState;

    fn unit_variant(self) -> Result<(), NoState> {
        Ok(())
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, NoState> {
        seed.deserialize(self)
    }

    fn tuple_variant<V: Visitor<'de>>(self, length: usize, visitor: V) -> Result<V::Value, NoState> {
        self.deserialize_tuple(length, visitor)
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, NoState> {
        self.deserialize_tuple(fields.len(), visitor)
    }
}
