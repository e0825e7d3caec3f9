//! Stricter than the JSON reader: objects where objects are meant, no member twice at any depth, no `null` for nothing.

use serde::de::value::MapAccessDeserializer;
use serde::de::{Error, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::{Map, Value};
use std::fmt;
use std::marker::PhantomData;

/// A struct written as an object; a derived reader alone takes an array of its members' values too.
pub struct Object<T>(pub T);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Object<T> {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Object<T>, D::Error> {
        struct V<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for V<T> {
            type Value = Object<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Object<T>, A::Error> {
                T::deserialize(MapAccessDeserializer::new(map)).map(Object)
            }
        }
        d.deserialize_map(V(PhantomData))
    }
}

/// Reads a member that may be left out, not written as `null`: for `deserialize_with`, beside `default`.
pub fn given<'de, D: Deserializer<'de>, T: Deserialize<'de>>(d: D) -> Result<Option<T>, D::Error> {
    let value = Option::<T>::deserialize(d)?;
    if value.is_none() {
        return Err(D::Error::custom("bad-member|a member is left out, not written as `null`"));
    }
    Ok(value)
}

/// Any JSON in which no object has a member twice.
pub(super) struct Single(pub Value);

impl<'de> Deserialize<'de> for Single {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Single, D::Error> {
        d.deserialize_any(SingleVisitor).map(Single)
    }
}

struct SingleVisitor;

impl<'de> Visitor<'de> for SingleVisitor {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }
    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }
    fn visit_bool<E: Error>(self, v: bool) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_i64<E: Error>(self, v: i64) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_u64<E: Error>(self, v: u64) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_f64<E: Error>(self, v: f64) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_str<E: Error>(self, v: &str) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(Single(v)) = seq.next_element()? {
            list.push(v);
        }
        Ok(Value::Array(list))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Value, A::Error> {
        let mut members = Map::new();
        while let Some(name) = map.next_key::<String>()? {
            let Single(value) = map.next_value()?;
            if members.contains_key(&name) {
                return Err(A::Error::custom(format_args!("duplicate field `{name}`")));
            }
            members.insert(name, value);
        }
        Ok(Value::Object(members))
    }
}
