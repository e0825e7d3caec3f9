//! The chain: each entry's hash covers its canonical JSON (RFC 8785) and the hash before it.

use super::Entry;
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

/// The `prev` of a ledger's first entry.
pub const START: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// Lower-case hex SHA-256 of `prev`, a line feed, and the canonical JSON of the members without `prev` and `hash`.
pub fn hash(prev: &str, canonical: &str) -> String {
    let mut h = Sha256::new();
    h.update(prev);
    h.update("\n");
    h.update(canonical);
    hex::encode(h.finalize())
}

/// Canonical JSON of members. They are ASCII-named, sorted maps whose only numbers are integers, for which
/// compact JSON with sorted names is what RFC 8785 asks; an outside check compares it with a library for that.
pub fn canonical(members: &Map<String, Value>) -> String {
    serde_json::to_string(members).unwrap_or_default()
}

/// An entry as the ledger keeps it: its line with `prev` and `hash`, and that hash.
pub fn seal(prev: &str, entry: &Entry) -> (String, String) {
    let mut members = entry.members();
    let hash = hash(prev, &canonical(&members));
    members.insert(String::from("prev"), Value::from(prev));
    members.insert(String::from("hash"), Value::from(hash.as_str()));
    (canonical(&members), hash)
}

/// What is wrong with a line of a ledger, given the hash before it; else its own hash.
pub fn check(prev: Option<&str>, line: &str) -> Result<String, String> {
    let Ok(Value::Object(mut members)) = serde_json::from_str::<Value>(line) else {
        return Err(String::from("it is not a JSON object"));
    };
    let (Some(Value::String(said_prev)), Some(Value::String(said))) = (members.remove("prev"), members.remove("hash"))
    else {
        return Err(String::from("it has no `prev` and `hash`"));
    };
    if prev.is_some_and(|p| p != said_prev) {
        return Err(String::from("its `prev` is not the hash of the entry before"));
    }
    if hash(&said_prev, &canonical(&members)) != said {
        return Err(String::from("its `hash` is not that of its contents"));
    }
    Ok(said)
}

/// The number a line says it has.
pub fn seq(line: &str) -> Option<u64> {
    #[derive(serde::Deserialize)]
    struct Seq {
        seq: u64,
    }
    serde_json::from_str::<Seq>(line).ok().map(|s| s.seq)
}

/// Whether a line is written as the ledger writes it, byte for byte.
pub fn exact(line: &str) -> bool {
    let Ok(Value::Object(members)) = serde_json::from_str::<Value>(line) else { return false };
    canonical(&members) == line
}

/// The first digits of a hash, as paper carries them: enough to find the entry by, few enough to be typed.
pub fn digits(hash: &str) -> &str {
    hash.get(..12).unwrap_or(hash)
}
