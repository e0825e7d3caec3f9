//! What people send from the pages: the fields of a form, and the times and numbers in them.

use crate::clock::{HOUR_MS, Instant, MINUTE_MS, Zone};
use crate::lang;
use crate::ledger::refusal::{BAD_MEMBER, BAD_TIME, Refusal};
use crate::web::show::Show;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

/// The fields of a form, in order; a name may come more than once. A page built with them shows again what was sent.
#[derive(Clone, Default)]
pub struct Fields(pub Vec<(String, String)>);

impl Fields {
    /// The first field of that name that isn't empty.
    pub fn get<'a>(&'a self, name: &'a str) -> Option<&'a str> {
        self.all(name).next()
    }

    /// All fields of that name that aren't empty, spaces at their ends cut.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        let named = self.0.iter().filter(move |(n, _)| n == name);
        named.map(|(_, v)| v.trim()).filter(|v| !v.is_empty())
    }

    /// The first field of that name just as it was sent: a password may begin with a space.
    pub fn raw(&self, name: &str) -> &str {
        self.0.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v)
    }

    /// Whether that value was chosen under that name.
    pub fn is(&self, name: &str, value: &str) -> bool {
        self.0.iter().any(|(n, v)| n == name && v == value)
    }

    /// Whether that name was sent at all.
    pub fn has(&self, name: &str) -> bool {
        self.0.iter().any(|(n, _)| n == name)
    }

    /// What makes a repeat of this form harmless: the page's key with what the form does, and the hash of what was
    /// sent (of the form, not of the entry: that may count what the first tap added).
    pub fn key(&self, what: &str) -> Option<(String, String)> {
        let key = self.get("key").filter(|k| k.len() == 32 && k.bytes().all(|b| b.is_ascii_hexdigit()))?;
        let sent = json!(self.0).to_string();
        let hash = hex::encode(Sha256::digest(sent.as_bytes()));
        Some((format!("{key}.{what}"), hash))
    }
}

/// A whole number, or nothing.
pub(super) fn number(text: Option<&str>) -> Result<Value, Refusal> {
    match text.map(str::parse::<u64>) {
        None => Ok(Value::Null),
        Some(Ok(n)) => Ok(json!(n)),
        Some(Err(_)) => Err(Refusal::form(&BAD_MEMBER, lang::form_bad_number())),
    }
}

/// How many minutes ago something may be said to have happened by one touch.
pub(super) const AGO: [i64; 7] = [5, 10, 15, 20, 30, 45, 60];

/// When a form says it happened: a wall time of today or yesterday, or so many minutes ago; `None` is now. `earlier` is
/// which of two is meant where the clocks go back.
pub(super) fn when(f: &Fields, show: Show, earlier: bool) -> Result<Option<Instant>, Refusal> {
    if let Some(text) = f.get("at") {
        let yesterday = f.get("yesterday").map(|_| Zone::date_text(show.zone.day(show.now) - 1));
        let text = yesterday.map_or_else(|| text.to_owned(), |date| format!("{date}T{text}"));
        return wall(&text, show, earlier).map(Some);
    }
    let Some(minutes) = f.get("ago") else { return Ok(None) };
    let minutes = minutes.parse::<i64>().ok().filter(|m| AGO.contains(m));
    let minutes = minutes.ok_or_else(|| Refusal::form(&BAD_TIME, lang::form_bad_time()))?;
    Ok(Some(show.now.plus(-minutes * MINUTE_MS)))
}

/// Why something is entered late, by one touch.
pub(super) fn late_words() -> [(&'static str, &'static str); 4] {
    [
        ("forgot", lang::why_forgot()),
        ("hands", lang::why_hands()),
        ("phone", lang::why_phone()),
        ("paper", lang::why_paper()),
    ]
}

/// Why something is taken back, by one touch.
pub(super) fn undo_words() -> [(&'static str, &'static str); 4] {
    [
        ("other", lang::undo_other()),
        ("place", lang::undo_place()),
        ("time", lang::undo_time()),
        ("never", lang::undo_never()),
    ]
}

/// Why a mark is.
pub(super) fn unmark_words() -> [(&'static str, &'static str); 2] {
    [("label-off", lang::undo_label()), ("unwritten", lang::undo_unwritten())]
}

/// Why something is entered late or taken back, in the words of the form.
pub(super) fn why(f: &Fields) -> Option<String> {
    let words = || late_words().into_iter().chain(undo_words()).chain(unmark_words());
    let Some((_, chosen)) = f.get("why").and_then(|why| words().find(|(value, _)| *value == why)) else {
        return f.get("reason").map(str::to_owned);
    };
    Some(f.get("reason").map_or_else(|| chosen.to_owned(), |more| lang::why_more(chosen, more)))
}

/// A wall time of the shop: `09:10`, the latest that isn't in the future, or `2026-05-02T09:10`.
pub fn wall(text: &str, show: Show, earlier: bool) -> Result<Instant, Refusal> {
    let bad = || Refusal::form(&BAD_TIME, lang::form_bad_time());
    let (date, time) = text.split_once('T').map_or((None, text), |(d, t)| (Some(d), t));
    let mut parts = time.split(':').map(|p| p.parse::<i64>().ok().filter(|_| p.len() == 2));
    let (Some(Some(h @ 0..24)), Some(Some(m @ 0..60))) = (parts.next(), parts.next()) else { return Err(bad()) };
    let minutes = h * 60 + m;
    let found = match date {
        Some(date) => at_wall(show.zone, Zone::parse_date(date).ok_or_else(bad)?, minutes, earlier),
        None => {
            let today = show.zone.day(show.now);
            let past = |t: &Instant| *t <= show.now.plus(2 * MINUTE_MS);
            let of = |day| at_wall(show.zone, day, minutes, earlier);
            of(today).filter(past).or_else(|| of(today - 1))
        }
    };
    found.ok_or_else(bad)
}

/// `None` where the clocks skip that time.
fn at_wall(zone: Zone, day: i64, minutes: i64, earlier: bool) -> Option<Instant> {
    let naive = (day * 24 * 60 + minutes) * MINUTE_MS;
    let mut fits: Vec<Instant> = [-24, 24]
        .into_iter()
        .map(|h| zone.local(Instant(naive + h * HOUR_MS)).offset().whole_seconds())
        .map(|offset_s| Instant(naive - i64::from(offset_s) * 1000))
        .filter(|t| {
            let local = zone.local(*t);
            zone.day(*t) == day && i64::from(local.hour()) * 60 + i64::from(local.minute()) == minutes
        })
        .collect();
    fits.sort();
    if earlier { fits.first().copied() } else { fits.last().copied() }
}
