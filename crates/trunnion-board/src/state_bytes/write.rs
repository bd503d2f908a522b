//! The writer.

use serde::ser::{self, Serialize, Serializer};

use super::NoState;

/// Gives the bytes of a value, a number at a time.
///
/// # Errors
///
/// [`NoState`]: a series without a known length or with more than 65 535 elements, or a choice behind the 256th.
pub fn write<T: Serialize + ?Sized>(value: &T, take: impl FnMut(&[u8])) -> Result<(), NoState> {
    value.serialize(&mut Writer(take))
}

/// Number of bytes of a value; 0 for one that has none.
pub fn size<T: Serialize + ?Sized>(value: &T) -> u32 {
    let mut bytes = 0_u32;
    write(value, |more| bytes = bytes.saturating_add(more.len() as u32)).map_or(0, |()| bytes)
}

struct Writer<F>(F);

impl<F: FnMut(&[u8])> Writer<F> {
    fn all(&mut self, bytes: &[u8]) -> Result<(), NoState> {
        (self.0)(bytes);
        Ok(())
    }

    fn length(&mut self, length: usize) -> Result<(), NoState> {
        self.all(&u16::try_from(length).map_err(|_| NoState)?.to_le_bytes())
    }

    fn place(&mut self, variant: u32) -> Result<(), NoState> {
        self.all(&[u8::try_from(variant).map_err(|_| NoState)?])
    }
}

macro_rules! numbers {
    ($($method:ident $number:ty),+) => {
        $(
            fn $method(self, value: $number) -> Result<(), NoState> {
                self.all(&value.to_le_bytes())
            }
        )+
    };
}

impl<F: FnMut(&[u8])> Serializer for &mut Writer<F> {
    type Ok = ();
    type Error = NoState;
    type SerializeSeq = Self;
    type SerializeTuple = Self;
    type SerializeTupleStruct = Self;
    type SerializeTupleVariant = Self;
    type SerializeMap = Self;
    type SerializeStruct = Self;
    type SerializeStructVariant = Self;

    numbers!(
        serialize_i8 i8, serialize_i16 i16, serialize_i32 i32, serialize_i64 i64, serialize_i128 i128,
        serialize_u8 u8, serialize_u16 u16, serialize_u32 u32, serialize_u64 u64, serialize_u128 u128,
        serialize_f32 f32, serialize_f64 f64
    );

    fn serialize_bool(self, value: bool) -> Result<(), NoState> {
        self.all(&[u8::from(value)])
    }

    fn serialize_char(self, value: char) -> Result<(), NoState> {
        self.serialize_u32(value.into())
    }

    fn serialize_str(self, value: &str) -> Result<(), NoState> {
        self.serialize_bytes(value.as_bytes())
    }

    fn serialize_bytes(self, value: &[u8]) -> Result<(), NoState> {
        self.length(value.len())?;
        self.all(value)
    }

    fn serialize_none(self) -> Result<(), NoState> {
        self.all(&[0])
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), NoState> {
        self.all(&[1])?;
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<(), NoState> {
        Ok(())
    }

    fn serialize_unit_struct(self, _: &'static str) -> Result<(), NoState> {
        Ok(())
    }

    fn serialize_unit_variant(self, _: &'static str, variant: u32, _: &'static str) -> Result<(), NoState> {
        self.place(variant)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), NoState> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
        value: &T,
    ) -> Result<(), NoState> {
        self.place(variant)?;
        value.serialize(self)
    }

    fn serialize_seq(self, length: Option<usize>) -> Result<Self, NoState> {
        self.length(length.ok_or(NoState)?)?;
        Ok(self)
    }

    fn serialize_tuple(self, _: usize) -> Result<Self, NoState> {
        Ok(self)
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Self, NoState> {
        Ok(self)
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, NoState> {
        self.place(variant)?;
        Ok(self)
    }

    fn serialize_map(self, length: Option<usize>) -> Result<Self, NoState> {
        self.serialize_seq(length)
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Self, NoState> {
        Ok(self)
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, NoState> {
        self.place(variant)?;
        Ok(self)
    }

    fn collect_str<T: core::fmt::Display + ?Sized>(self, _: &T) -> Result<(), NoState> {
        Err(NoState)
    }

    fn is_human_readable(&self) -> bool {
        false
    }
}

macro_rules! elements {
    ($($kind:ident $method:ident),+) => {
        $(
            impl<F: FnMut(&[u8])> ser::$kind for &mut Writer<F> {
                type Ok = ();
                type Error = NoState;

                fn $method<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), NoState> {
                    value.serialize(&mut **self)
                }

                fn end(self) -> Result<(), NoState> {
                    Ok(())
                }
            }
        )+
    };
}

elements!(
    SerializeSeq serialize_element, SerializeTuple serialize_element,
    SerializeTupleStruct serialize_field, SerializeTupleVariant serialize_field
);

macro_rules! fields {
    ($($kind:ident),+) => {
        $(
            impl<F: FnMut(&[u8])> ser::$kind for &mut Writer<F> {
                type Ok = ();
                type Error = NoState;

                fn serialize_field<T: Serialize + ?Sized>(
                    &mut self,
                    _: &'static str,
                    value: &T,
                ) -> Result<(), NoState> {
                    value.serialize(&mut **self)
                }

                fn end(self) -> Result<(), NoState> {
                    Ok(())
                }
            }
        )+
    };
}

fields!(SerializeStruct, SerializeStructVariant);

impl<F: FnMut(&[u8])> ser::SerializeMap for &mut Writer<F> {
    type Ok = ();
    type Error = NoState;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Result<(), NoState> {
        key.serialize(&mut **self)
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), NoState> {
        value.serialize(&mut **self)
    }

    fn end(self) -> Result<(), NoState> {
        Ok(())
    }
}
