//! The record as CSV (RFC 4180): a line a spell, inherited time as lines of their own naming the parent; and the cold's own
//! table. Pure.

use super::account::{Account, Named, Side};
use super::cold::{Row, What};
use super::corrected::{Corrected, Did, Is};
use crate::clock::{Instant, Zone};
use crate::ledger::{Action, CloseAs, Id, Temperature};
use crate::people::Names;
use std::sync::Arc;

/// The header of the items' table.
pub const COLUMNS: [&str; 44] = [
    "site",
    "item",
    "name",
    "product",
    "product_name",
    "lot",
    "count",
    "made_from",
    "rules",
    "begun_at",
    "line",
    "inherited_from",
    "out_at",
    "temperature_out",
    "unit_out",
    "place_out",
    "out_by",
    "back_at",
    "temperature_back",
    "unit_back",
    "place_back",
    "back_by",
    "minutes_this_spell",
    "minutes_in_all",
    "ms_this_spell",
    "ms_in_all",
    "first_out",
    "verdict",
    "over_since",
    "discard_by",
    "marked_discard_by",
    "ended",
    "ended_at",
    "ended_by",
    "decided",
    "readings",
    "late_minutes",
    "late_entries",
    "corrections",
    "deviations",
    "reviewed_by",
    "reviewed_at",
    "entry",
    "hash",
];

/// The header of the cold's table.
pub const COLD: [&str; 24] = [
    "site",
    "place",
    "name",
    "control",
    "what",
    "at",
    "by",
    "value",
    "unit",
    "limit",
    "probe",
    "beside_value",
    "beside_unit",
    "beside_at",
    "beside_probe",
    "apart",
    "to",
    "to_by",
    "minutes",
    "items",
    "late_minutes",
    "corrections",
    "entry",
    "hash",
];

/// The header of the clocks' table.
pub const CLOCK: [&str; 4] = ["site", "at", "what", "ms"];

/// What every row needs besides its account.
pub struct Around<'a> {
    /// The site's id.
    pub site: &'a str,
    /// Its calendar.
    pub zone: Zone,
    /// The instant it is made at.
    pub now: Instant,
    /// The names of whoever wrote entries.
    pub names: &'a Names,
    /// Hashes by `seq`.
    pub hash: &'a (dyn Fn(u64) -> String + Sync),
}

/// Text that a spreadsheet would run as a formula gets an apostrophe before it.
pub fn guard(text: &str) -> String {
    match text.chars().next() {
        Some('=' | '+' | '-' | '@' | '\t' | '\r') => format!("'{text}"),
        _ => text.to_owned(),
    }
}

/// Minutes with two decimals, never rounded down: time used isn't made less.
pub(super) fn minutes(ms: i64) -> String {
    let hundredths = (ms * 100).div_euclid(60_000) + i64::from((ms * 100).rem_euclid(60_000) > 0);
    format!("{}.{:02}", hundredths / 100, hundredths % 100)
}

/// Local time with offset, to the millisecond.
pub(super) fn local(zone: Zone, t: Instant) -> String {
    let l = zone.local(t);
    let (h, m, _) = l.offset().as_hms();
    let sign = if l.offset().is_negative() { '-' } else { '+' };
    format!(
        "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}{sign}{:02}:{:02}",
        l.year(),
        u8::from(l.month()),
        l.day(),
        l.hour(),
        l.minute(),
        l.second(),
        l.millisecond(),
        h.abs(),
        m.abs()
    )
}

/// A header or rows as bytes.
pub fn written<R: AsRef<[T]>, T: AsRef<[u8]>>(rows: impl IntoIterator<Item = R>) -> Result<Vec<u8>, csv::Error> {
    let mut csv = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        csv.write_record(row.as_ref())?;
    }
    csv.into_inner().map_err(|e| e.into_error().into())
}

impl Around<'_> {
    fn local(&self, t: Instant) -> String {
        local(self.zone, t)
    }

    fn by(&self, id: Option<&Id>) -> String {
        id.map_or_else(String::new, |id| guard(self.names.of(id)))
    }

    /// Where a row says which of its item's lines it is.
    pub fn line_column(&self) -> usize {
        COLUMNS.iter().position(|c| *c == "line").unwrap_or_default()
    }

    /// An item's rows: one a line, or one alone where it never was out.
    pub fn item(&self, a: &Account) -> Vec<Vec<String>> {
        let n = a.lines.len().max(1);
        (0..n).map(|i| self.line(a, i)).collect()
    }

    fn line(&self, a: &Account, i: usize) -> Vec<String> {
        let s = &a.standing;
        let line = a.lines.get(i);
        let (out, back) = (line.map(|l| &l.out), line.and_then(|l| l.back.as_ref()));
        let own = |side: Option<&Side>| side.and_then(|s| s.stamp.as_ref()).and_then(|s| s.by.as_ref()).cloned();
        let place = |side: Option<&Side>| side.and_then(|s| s.place.as_ref()).map_or(String::new(), |p| guard(&p.name));
        let degrees = |side: Option<&Side>| side.and_then(|s| s.temperature).map_or_else(Default::default, degrees);
        let at = |t: Option<Instant>| t.map_or_else(String::new, |t| self.local(t));
        let late = [out, back].into_iter().flatten().filter_map(|s| s.stamp.as_ref()?.late_ms).max();
        let ids = |list: &[Named]| list.iter().map(|n| n.id.as_str()).collect::<Vec<_>>().join(" ");
        let rules: Vec<String> = a.rules.iter().map(rule_words).collect();
        let deviations: Vec<&str> = s.deviations.iter().map(|d| d.code).collect();
        let (end, last) = (a.end(), a.marks.last());
        let ms = line.map_or(0, |l| l.ms);
        let seq = out.and_then(|o| o.stamp.as_ref()).map_or(a.begun.seq, |s| s.seq);
        let ([out_value, out_unit], [back_value, back_unit]) = (degrees(out), degrees(back));
        vec![
            self.site.to_owned(),
            a.item.id.to_string(),
            guard(&a.item.name),
            a.product.as_ref().map_or(String::new(), |p| p.id.to_string()),
            a.product.as_ref().map_or(String::new(), |p| guard(&p.name)),
            a.lot.as_deref().map_or(String::new(), guard),
            a.count.to_string(),
            ids(&a.made_from),
            guard(&rules.join("; ")),
            self.local(a.begun.at),
            (i + 1).to_string(),
            line.and_then(|l| l.inherited_from.as_ref()).map_or(String::new(), |p| p.id.to_string()),
            at(out.map(|o| o.at)),
            out_value,
            out_unit,
            place(out),
            self.by(own(out).as_ref()),
            at(back.map(|b| b.at)),
            back_value,
            back_unit,
            place(back),
            self.by(own(back).as_ref()),
            minutes(ms),
            minutes(s.total_out_ms),
            ms.to_string(),
            s.total_out_ms.to_string(),
            at(s.first_out_at),
            s.verdict.to_string(),
            at(a.over().map(|o| o.0)),
            at(s.discard_by),
            at(last.map(|m| m.discard_by)),
            end.map_or(String::new(), |e| ended(e.how)),
            at(end.map(|e| e.stamp.at)),
            self.by(end.and_then(|e| e.stamp.by.as_ref())),
            self.decided(a),
            self.readings(a),
            late.map_or(String::new(), minutes),
            a.late
                .iter()
                .map(|(kind, s)| format!("{} {kind} {}", s.seq, minutes(s.late_ms.unwrap_or(0))))
                .collect::<Vec<_>>()
                .join("; "),
            self.corrections(&a.corrected),
            deviations.join(" "),
            self.by(a.signed.as_ref().and_then(|s| s.stamp.by.as_ref())),
            at(a.signed.as_ref().map(|s| s.stamp.at)),
            seq.to_string(),
            (self.hash)(seq),
        ]
    }

    fn decided(&self, a: &Account) -> String {
        let part = |d: &super::said::Decided| {
            let (what, by) = (acted(d.action), self.by(d.stamp.by.as_ref()));
            format!("{} {what} ({}) {by}", self.local(d.stamp.at), d.reason).trim_end().to_owned()
        };
        guard(&a.decided.iter().map(part).collect::<Vec<_>>().join(" | "))
    }

    fn readings(&self, a: &Account) -> String {
        let part = |r: &super::account::Reading| {
            let [value, unit] = degrees(r.value);
            format!("{} {value} {unit}", self.local(r.stamp.at))
        };
        a.readings.iter().map(part).collect::<Vec<_>>().join("; ")
    }

    /// Old and new of what was corrected, by whom, when, why.
    fn corrections(&self, list: &[Corrected]) -> String {
        let is = |v: &Option<Is>| match v {
            None => String::from("nothing"),
            Some(Is::Time(t)) => self.local(*t),
            Some(Is::Text(text)) => text.clone(),
        };
        let part = |c: &Corrected| {
            let what = match &c.did {
                Did::Void => String::from("void"),
                Did::Changed(list) => {
                    let each = list.iter().map(|m| format!("{} {} -> {}", m.member, is(&m.was), is(&m.now)));
                    each.collect::<Vec<_>>().join(", ")
                }
            };
            let (at, when, by) = (self.local(c.at), self.local(c.when), self.by(c.by.as_ref()));
            format!("entry {} {} at {at}: {what} ({}) {by} {when}", c.entry, c.kind, c.reason)
        };
        guard(&list.iter().map(part).collect::<Vec<_>>().join(" | "))
    }

    /// A row of the clocks' table.
    pub fn clock(&self, at: Instant, what: &str, ms: i64) -> Vec<String> {
        vec![self.site.to_owned(), self.local(at), what.to_owned(), ms.to_string()]
    }

    /// A row of the cold's table.
    pub fn cold(&self, r: &Row) -> Vec<String> {
        let ended = match &r.what {
            What::Lapse { ended, .. } => ended.as_ref(),
            _ => None,
        };
        let ([value, unit], limit, probe) = match &r.what {
            What::Read { value, probe, .. } => (degrees(*value), String::new(), probe.as_ref()),
            What::Above { warmest, limit, .. } => (degrees(*warmest), degrees(*limit).join(" "), None),
            _ => (Default::default(), String::new(), None),
        };
        // How far a reading is from a probe's beside it is in the reading's own unit.
        let [beside_value, beside_unit, beside_at, beside_probe, apart] = match &r.what {
            What::Read { value, beside: Some(b), .. } => {
                let [own, unit] = degrees(b.value);
                [own, unit, self.local(b.at), b.probe.to_string(), b.apart(*value).value()]
            }
            _ => Default::default(),
        };
        let lasts = !matches!(r.what, What::Read { .. } | What::Void);
        let items = match &r.what {
            What::Lapse { touched, .. } => touched.iter().map(|n| n.id.as_str()).collect::<Vec<_>>().join(" "),
            _ => String::new(),
        };
        let late = r.stamp.iter().chain(ended).filter_map(|s| s.late_ms).max();
        vec![
            self.site.to_owned(),
            r.place.id.to_string(),
            guard(&r.place.name),
            word(&r.control),
            r.what.code().to_owned(),
            self.local(r.at),
            self.by(r.stamp.as_ref().and_then(|s| s.by.as_ref())),
            value,
            unit,
            limit,
            probe.map_or(String::new(), Id::to_string),
            beside_value,
            beside_unit,
            beside_at,
            beside_probe,
            apart,
            r.what.to().map_or(String::new(), |t| self.local(t)),
            self.by(ended.and_then(|s| s.by.as_ref())),
            if lasts { minutes(r.what.to().unwrap_or(self.now).since(r.at)) } else { String::new() },
            items,
            late.map_or(String::new(), minutes),
            self.corrections(&r.corrected),
            r.stamp.as_ref().map_or(String::new(), |s| s.seq.to_string()),
            r.stamp.as_ref().map_or(String::new(), |s| (self.hash)(s.seq)),
        ]
    }
}

fn degrees(t: Temperature) -> [String; 2] {
    [t.value(), format!("{:?}", t.unit)]
}

pub(super) fn word<T: serde::Serialize>(value: &T) -> String {
    serde_json::to_value(value).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

pub(super) fn ended(how: CloseAs) -> String {
    word(&how)
}

fn acted(action: Action) -> String {
    word(&action)
}

fn rule_words(rule: &Arc<crate::rules::Rule>) -> String {
    match &rule.source.edition {
        Some(edition) => format!("{} ({edition})", rule.rule),
        None => rule.rule.to_string(),
    }
}
