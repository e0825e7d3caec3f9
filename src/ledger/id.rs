//! Ids: `[A-Za-z0-9._-]{1,40}`; they never change meaning.

use compact_str::CompactString;
use serde::{Deserialize, Deserializer, Serialize};
use std::fmt;

/// The id of an item, place, rule, product, person or device.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Id(CompactString);

impl Id {
    /// The id of that text, if it is one.
    pub fn new(text: &str) -> Option<Id> {
        let fits = (1..=40).contains(&text.len())
            && text.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'.' | b'_' | b'-'));
        fits.then(|| Id(CompactString::new(text)))
    }

    /// Its text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl fmt::Debug for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl<'de> Deserialize<'de> for Id {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Id, D::Error> {
        struct V;
        impl serde::de::Visitor<'_> for V {
            type Value = Id;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an id")
            }
            fn visit_str<E: serde::de::Error>(self, s: &str) -> Result<Id, E> {
                Id::new(s).ok_or_else(|| {
                    E::custom(format_args!(
                        "bad-id|`{}` is not an id: letters, digits, `.`, `_`, `-`, 1 to 40 of them",
                        s.chars().take(40).collect::<String>()
                    ))
                })
            }
        }
        d.deserialize_str(V)
    }
}
