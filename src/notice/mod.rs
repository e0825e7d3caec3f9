//! The notice room: who is told what, when it is sent again, and how a webhook is signed. Pure but for the senders and their
//! worker in files of their own.

pub mod compose;
pub mod hook;
pub mod mail;
pub mod sql;
pub mod worker;

use crate::clock::{HOUR_MS, Instant, MINUTE_MS, SECOND_MS, Zone};
use crate::lang::Lang;
use crate::ledger::Id;
use serde_json::Value;

/// What somebody may be told of.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Topic {
    /// An item comes near the time it is discarded by, or reaches it.
    Discard,
    /// An item comes near any other limit.
    Limits,
    /// An item lacks its mark.
    Unmarked,
    /// A place's cold has failed, or may have.
    Cold,
    /// How the day ended.
    Closing,
}

impl Topic {
    /// Every one.
    pub const ALL: [Topic; 5] = [Topic::Discard, Topic::Limits, Topic::Unmarked, Topic::Cold, Topic::Closing];

    /// As it is kept.
    pub fn word(self) -> &'static str {
        match self {
            Topic::Discard => "discard",
            Topic::Limits => "limits",
            Topic::Unmarked => "unmarked",
            Topic::Cold => "cold",
            Topic::Closing => "closing",
        }
    }

    /// The topic of that word.
    pub fn named(word: &str) -> Option<Topic> {
        Topic::ALL.into_iter().find(|t| t.word() == word)
    }
}

/// By which way.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Way {
    /// E-mail.
    Mail,
    /// A request to an address.
    Hook,
}

impl Way {
    /// As it is kept.
    pub fn word(self) -> &'static str {
        match self {
            Way::Mail => "mail",
            Way::Hook => "webhook",
        }
    }
}

/// Somebody who is told.
#[derive(Clone, PartialEq, Debug)]
pub struct Target {
    /// Its id.
    pub target: Id,
    /// What the shop calls it.
    pub name: String,
    /// By which way.
    pub way: Way,
    /// The mail address, or the web address.
    pub address: String,
    /// What a webhook is signed with; empty for mail.
    pub secret: String,
    /// What of.
    pub topics: Vec<Topic>,
    /// Minutes before a limit at which it is told at the earliest; 0 for the limit itself alone.
    pub lead_minutes: i64,
    /// Minutes of the day from which until which nothing is sent; it comes after.
    pub quiet: Option<(i64, i64)>,
    /// The minute of the day at which it is told how the day ended.
    pub closing: Option<i64>,
    /// In which language.
    pub lang: Lang,
}

/// Something that is to be told: what happened, whatever the way.
#[derive(Clone, PartialEq, Debug)]
pub struct Notice {
    /// What makes it one thing and no other: it is told to each once.
    pub key: String,
    /// What of.
    pub topic: Topic,
    /// Minutes before a limit; 0 where it isn't about one that is to come.
    pub lead_minutes: i64,
    /// The one line.
    pub subject: String,
    /// The whole, a fact a line.
    pub text: String,
    /// The same for programs: `type`, `timestamp`, `data`.
    pub body: Value,
}

/// One notice on its way to one target.
#[derive(Clone, PartialEq, Debug)]
pub struct Sent {
    /// The shop.
    pub site: String,
    /// Its id: the same however often it is sent.
    pub notice: String,
    /// To whom.
    pub target: Target,
    /// See [`Notice`].
    pub subject: String,
    /// See [`Notice`].
    pub text: String,
    /// See [`Notice`].
    pub body: String,
    /// When it was made.
    pub made_at: Instant,
    /// How often it was tried, this time included.
    pub tries: i64,
}

/// The first wait after a failure, doubled after each: this project's choice.
const FIRST_WAIT_MS: i64 = 30 * SECOND_MS;
/// The longest.
const LONGEST_WAIT_MS: i64 = 30 * MINUTE_MS;
/// After so long it is given up, and listed as undelivered: this project's choice, three days.
pub const GIVEN_UP_MS: i64 = 72 * HOUR_MS;
/// How long one try may take before another server may try too. Longer than any sender waits.
pub const LEASE_MS: i64 = 2 * MINUTE_MS;
/// Targets a shop has at most: this project's choice.
pub const TARGETS_MOST: usize = 20;

/// When it is tried next after so many tries; none once it is given up.
pub fn again(made_at: Instant, tries: i64, now: Instant) -> Option<Instant> {
    let wait = FIRST_WAIT_MS.saturating_mul(1 << (tries.clamp(1, 20) - 1)).min(LONGEST_WAIT_MS);
    Some(now.plus(wait)).filter(|at| at.since(made_at) <= GIVEN_UP_MS)
}

/// The instant from which something may be sent: now, or the end of the quiet hours that are now.
pub fn after_quiet(quiet: Option<(i64, i64)>, zone: Zone, now: Instant) -> Instant {
    let Some((from, to)) = quiet.filter(|(from, to)| from != to) else { return now };
    let local = zone.local(now);
    let minute = i64::from(local.hour()) * 60 + i64::from(local.minute());
    let inside = if from < to { (from..to).contains(&minute) } else { minute >= from || minute < to };
    if !inside {
        return now;
    }
    // By the wall: at a change of the clocks the end is where the clock on the wall says so.
    let seconds = i64::from(local.second()) * SECOND_MS + now.0.rem_euclid(SECOND_MS);
    let end = now.plus((to - minute).rem_euclid(24 * 60) * MINUTE_MS - seconds);
    let offset_s = |t: Instant| i64::from(zone.local(t).offset().whole_seconds());
    end.plus((offset_s(now) - offset_s(end)) * SECOND_MS)
}

/// Whether a target is told of it.
pub fn told(target: &Target, notice: &Notice) -> bool {
    target.topics.contains(&notice.topic) && notice.lead_minutes <= target.lead_minutes
}
