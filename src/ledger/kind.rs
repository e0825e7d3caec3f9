//! The kinds of entries, by their names.

use serde::{Deserialize, Deserializer};

macro_rules! kinds {
    ($($kind:ident $name:literal)*) => {
        /// What an entry says it is.
        #[derive(Clone, Copy, PartialEq, Eq)]
        pub(super) enum Kind {
            $($kind,)*
        }

        impl Kind {
            /// The kind of that name.
            pub(super) fn named(name: &str) -> Option<Kind> {
                match name {
                    $($name => Some(Kind::$kind),)*
                    _ => None,
                }
            }
        }
    };
}

kinds! {
    Move "move"
    Reading "reading"
    Item "item"
    Close "close"
    Mark "mark"
    Join "join"
    Seen "seen"
    Correct "correct"
    Decide "decide"
    Lapse "lapse"
    Restore "restore"
    Review "review"
    Approve "approve"
    Site "site"
    Place "place"
    Rule "rule"
    Product "product"
}

/// The kind that the text seems to be of: what stands after the first `"kind"`. The entry, read whole, has the last word.
pub(super) fn likely(json: &str) -> Option<Kind> {
    let (_, rest) = json.split_once("\"kind\":\"")?;
    Kind::named(rest.split_once('"')?.0)
}

impl<'de> Deserialize<'de> for Kind {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Kind, D::Error> {
        struct V;
        impl serde::de::Visitor<'_> for V {
            type Value = Kind;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a kind of entry")
            }
            fn visit_str<E: serde::de::Error>(self, s: &str) -> Result<Kind, E> {
                Kind::named(s).ok_or_else(|| E::custom("no such kind"))
            }
        }
        d.deserialize_str(V)
    }
}
