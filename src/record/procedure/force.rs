//! Which version is in force when: what the ledger's approvals say of the versions that are kept.

use crate::clock::{Instant, Zone};
use crate::ledger::{Body, Entry, Id};
use std::sync::Arc;

/// What a version's id in the ledger begins with.
const STEM: &str = "procedure-";
/// What the hash in an approval's reference begins with.
const SEAL: &str = "sha256:";

/// A version that is kept, without its text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Version {
    /// 1, 2, 3 … per shop.
    pub version: u32,
    /// The SHA-256 of its text, in lower-case hex.
    pub hash: String,
    /// When it is to be looked through again, as a date.
    pub review_on: String,
    /// When it was written down.
    pub made_at: Instant,
}

/// An approval of a version, as the ledger has it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Approval {
    /// Which version.
    pub version: u32,
    /// The hash of the text that was approved.
    pub hash: String,
    /// From when.
    pub at: Instant,
    /// The entry's number.
    pub seq: u64,
    /// Who approved it.
    pub by: Option<Id>,
}

/// The id under which the ledger approves a version.
pub fn what(version: u32) -> String {
    format!("{STEM}{version}")
}

/// The reference that ties an approval to a version's text.
pub fn reference(hash: &str) -> String {
    format!("{SEAL}{hash}")
}

/// The version an approval is of and the hash it seals; nothing where it approves something else or seals nothing.
pub fn approved_as(entry: &Entry) -> Option<Approval> {
    let Body::Approve { what, reference: Some(reference) } = &entry.body else { return None };
    let version = what.as_str().strip_prefix(STEM)?.parse().ok()?;
    let hash = reference.strip_prefix(SEAL)?.get(..64)?;
    let hash = hash.bytes().all(|b| b.is_ascii_hexdigit()).then(|| hash.to_owned())?;
    let (seq, by) = (entry.meta.seq, entry.meta.by.clone());
    Some(Approval { version, hash, at: entry.at, seq, by })
}

/// A stretch of time in which a version was in force.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Period {
    /// Which version.
    pub version: u32,
    /// From this instant.
    pub from: Instant,
    /// To before this one; none while it is in force.
    pub until: Option<Instant>,
    /// Who approved it.
    pub by: Option<Id>,
    /// The approving entry's number.
    pub seq: u64,
}

/// All versions and what puts them in force.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Shelf {
    /// In order of their numbers.
    pub versions: Vec<Version>,
    /// The stretches in which one was in force, in order.
    pub periods: Vec<Period>,
}

impl Shelf {
    /// From the versions and the ledger's approvals as they read now. An approval counts only for the very text whose
    /// hash it carries, and never from before that was written or the approval recorded: no one makes it so afterwards.
    pub fn new<'a>(versions: Vec<Version>, approvals: impl IntoIterator<Item = &'a Arc<Entry>>) -> Shelf {
        let period = |e: &Arc<Entry>| {
            let a = approved_as(e)?;
            let recorded = e.meta.recorded_at.unwrap_or(a.at);
            let of = versions.iter().find(|v| v.version == a.version && v.hash == a.hash)?;
            Some(Period {
                version: a.version,
                from: a.at.max(of.made_at).max(recorded),
                until: None,
                by: a.by,
                seq: a.seq,
            })
        };
        let mut periods: Vec<Period> = approvals.into_iter().filter_map(period).collect();
        periods.sort_by_key(|p| (p.from, p.seq));
        for i in 1..periods.len() {
            periods[i - 1].until = Some(periods[i].from);
        }
        Shelf { versions, periods }
    }

    /// What was in force at an instant.
    pub fn at(&self, t: Instant) -> Option<&Period> {
        self.periods.iter().rev().find(|p| p.from <= t)
    }

    /// What was in force on a local date, one after the other.
    pub fn on(&self, zone: Zone, day: i64) -> Vec<&Period> {
        let (from, to) = (zone.day_starts(day), zone.day_starts(day + 1));
        let within = |p: &&Period| p.from < to && p.until.is_none_or(|until| until > from);
        self.periods.iter().filter(within).collect()
    }

    /// A version that is kept.
    pub fn version(&self, version: u32) -> Option<&Version> {
        self.versions.iter().find(|v| v.version == version)
    }

    /// Whether a version was ever approved.
    pub fn is_approved(&self, version: u32) -> bool {
        self.periods.iter().any(|p| p.version == version)
    }
}

/// What about the procedure waits for a manager.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Due {
    /// No version is in force.
    NoneInForce,
    /// The review's date, `2026-05-02`, has come or passed.
    Review(String),
}

/// What about the procedure waits for a manager now.
pub fn due(shelf: &Shelf, now: Instant, zone: Zone) -> Option<Due> {
    let Some(version) = shelf.at(now).and_then(|p| shelf.version(p.version)) else { return Some(Due::NoneInForce) };
    let day = Zone::parse_date(&version.review_on);
    day.is_none_or(|day| day <= zone.day(now)).then(|| Due::Review(version.review_on.clone()))
}
