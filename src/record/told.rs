//! An account in words, for whoever reads it on a page or on paper: the same facts, lines and sums on both. Pure.

use super::account::{Account, Closed, Reading, Side, Stamp};
use super::cold::{Row, What};
use super::corrected::{Corrected, Did, Is};
use super::said::{Day, Decided, Signed};
use crate::clock::{Instant, Zone};
use crate::lang;
use crate::ledger::{Id, chain};
use crate::people::Names;
use crate::rules::{Rule, Verdict};
use crate::show::Show;
use crate::words;

/// How it is told.
pub struct Telling<'a> {
    /// How times and temperatures are read.
    pub show: Show,
    /// The names of whoever wrote entries.
    pub names: &'a Names,
    /// Hashes by `seq`.
    pub hash: &'a (dyn Fn(u64) -> String + Sync),
}

/// An account in words.
pub struct Told {
    /// The item.
    pub id: Id,
    /// Its name.
    pub name: String,
    /// How it stands.
    pub verdict: &'static str,
    /// Since when it was past its time, and what became of it.
    pub over: Option<String>,
    /// What is said of it, each with what it is.
    pub facts: Vec<(&'static str, String)>,
    /// The lines that add up.
    pub lines: Vec<[String; 7]>,
    /// Their sum, as the last line has it.
    pub total: String,
    /// What was corrected.
    pub struck: Vec<Struck>,
}

/// A correction: what was struck, what stands beside it.
pub struct Struck {
    /// Which entry, by whom, when, why.
    pub said: String,
    /// Which member, what it was, what it is.
    pub changes: Vec<(String, String, String)>,
}

/// What stands over the columns of [`Told::lines`].
pub fn heads() -> [&'static str; 7] {
    [
        lang::record_col_line(),
        lang::record_col_out(),
        lang::record_col_where(),
        lang::record_col_back(),
        lang::record_col_where(),
        lang::record_col_span(),
        lang::record_col_sum(),
    ]
}

/// What stands over the columns of [`Telling::cold`].
pub fn cold_heads() -> [&'static str; 5] {
    [
        lang::record_col_place(),
        lang::record_col_when(),
        lang::record_col_what(),
        lang::record_col_by(),
        lang::record_col_corrected(),
    ]
}

/// What the record does not know.
pub fn unknown() -> [&'static str; 7] {
    [
        lang::record_unknown_moves(),
        lang::record_unknown_warmth(),
        lang::record_unknown_cold(),
        lang::record_unknown_labels(),
        lang::record_unknown_who(),
        lang::record_unknown_clock(),
        lang::record_unknown_true(),
    ]
}

/// A verdict in a word.
pub fn verdict(v: Verdict) -> &'static str {
    match v {
        Verdict::Within => lang::record_within(),
        Verdict::Return => lang::verdict_return(),
        Verdict::Use => lang::verdict_use(),
        Verdict::Discard => lang::verdict_discard(),
    }
}

impl Telling<'_> {
    /// An account in words.
    pub fn told(&self, a: &Account) -> Told {
        let spans = Show::lines(a.lines.iter().map(|l| l.ms));
        let mut sum = 0;
        let mut lines = Vec::new();
        for (l, span) in a.lines.iter().zip(spans) {
            sum += span;
            let (back_at, back) = match &l.back {
                Some(side) => (self.show.stamp(side.at), self.side(side, a)),
                None => (lang::record_still_out().to_owned(), String::new()),
            };
            let out = match &l.inherited_from {
                Some(from) => lang::record_came(&from.name, l.out.place.as_ref().map_or("", |p| &p.name)),
                None => self.side(&l.out, a),
            };
            let (n, at) = (l.n.to_string(), self.show.stamp(l.out.at));
            lines.push([n, at, out, back_at, back, Show::seconds(span), Show::seconds(sum)]);
        }
        Told {
            id: a.item.id.clone(),
            name: a.item.name.clone(),
            verdict: verdict(a.standing.verdict),
            over: a.over().map(|(since, rule)| self.over(a, since, rule)),
            facts: self.facts(a, &Show::seconds(sum)),
            lines,
            total: Show::seconds(sum),
            struck: a.corrected.iter().map(|c| self.struck(c)).collect(),
        }
    }

    fn facts(&self, a: &Account, total: &str) -> Vec<(&'static str, String)> {
        let show = self.show;
        let join = |list: Vec<String>| list.join("; ");
        let names =
            |list: &[super::account::Named]| list.iter().map(|n| n.name.as_str()).collect::<Vec<_>>().join(", ");
        let mut facts: Vec<(&'static str, String)> = Vec::new();
        let mut say = |what, text: String| {
            if !text.is_empty() {
                facts.push((what, text));
            }
        };
        say(lang::record_total(), total.to_owned());
        say(lang::record_product(), a.product.as_ref().map_or(String::new(), |p| p.name.clone()));
        say(lang::record_lot(), a.lot.as_deref().unwrap_or_default().to_owned());
        say(lang::record_count(), if a.count > 1 { a.count.to_string() } else { String::new() });
        say(lang::record_made_from(), names(&a.made_from));
        say(lang::record_rules(), join(a.rules.iter().map(|r| rule(r)).collect()));
        say(lang::record_begun(), lang::record_at_in_by(&self.by(&a.begun), &a.begun_in.name, &self.when(&a.begun)));
        say(lang::record_first_out(), a.standing.first_out_at.map_or(String::new(), |t| show.stamp(t)));
        say(lang::record_discard_by(), a.standing.discard_by.map_or(String::new(), |t| show.stamp(t)));
        let mark = |m: &super::marking::Mark| {
            let stamp = Stamp { at: m.at, by: m.by.clone(), seq: m.seq, late_ms: None };
            let (by, copy) = (self.by(&stamp), m.copy.to_string());
            lang::record_mark(&show.stamp(m.at), &by, &copy, words::marked(m.how), &show.stamp(m.discard_by))
        };
        say(lang::record_marked(), join(a.marks.iter().map(mark).collect()));
        say(lang::record_readings(), join(a.readings.iter().map(|r| self.reading(r)).collect()));
        say(lang::record_ended(), join(a.closed.iter().map(|c| self.closed(c)).collect()));
        let deviation = |d: &crate::rules::Deviation| lang::dev_line(&show.stamp(d.at), words::deviated(d.code));
        say(lang::record_deviations(), join(a.standing.deviations.iter().map(deviation).collect()));
        say(lang::record_decided(), join(a.decided.iter().map(|d| self.decided(d)).collect()));
        let late = |(kind, s): &(&'static str, Stamp)| {
            lang::record_late(&self.by(s), kind, &s.seq.to_string(), &Show::used(s.late_ms.unwrap_or(0)))
        };
        say(lang::record_lates(), join(a.late.iter().map(late).collect()));
        let signed = a.signed.as_ref().map_or_else(|| lang::record_unsigned().to_owned(), |s| self.signed(s));
        say(lang::record_reviewed(), signed);
        let hash = (self.hash)(a.begun.seq);
        say(lang::record_entry(), lang::record_entry_hash(chain::digits(&hash), &a.begun.seq.to_string()));
        facts
    }

    fn by(&self, s: &Stamp) -> String {
        s.by.as_ref().map_or_else(|| lang::log_nobody().to_owned(), |id| Names::isolated(self.names.of(id)))
    }

    fn when(&self, s: &Stamp) -> String {
        self.show.stamp(s.at)
    }

    /// Where it came to, by whom, how warm it was, how late that was written.
    fn side(&self, side: &Side, a: &Account) -> String {
        let mut parts: Vec<String> = side.place.iter().map(|p| p.name.clone()).collect();
        if let Some(stamp) = &side.stamp {
            if let Some(end) = a.end().filter(|e| e.stamp.seq == stamp.seq) {
                parts.push(words::closed(end.how).to_owned());
            }
            parts.push(self.by(stamp));
        }
        parts.extend(side.temperature.map(|t| self.show.degrees(t)));
        parts.extend(side.stamp.as_ref().and_then(|s| s.late_ms).map(|ms| lang::record_entered_late(&Show::used(ms))));
        parts.join(", ")
    }

    fn over(&self, a: &Account, since: Instant, by: Option<&Id>) -> String {
        let rule = a.rules.iter().find(|r| Some(&r.rule) == by).map_or_else(String::new, |r| r.name.to_string());
        let became = match (a.end(), a.decided.last()) {
            (Some(end), _) => self.closed(end),
            (None, Some(d)) => self.decided(d),
            (None, None) => lang::record_nothing_became().to_owned(),
        };
        lang::record_over(&became, &rule, &self.show.stamp(since))
    }

    fn reading(&self, r: &Reading) -> String {
        let (value, when, by) = (self.show.degrees(r.value), self.when(&r.stamp), self.by(&r.stamp));
        match &r.probed {
            Some(other) => lang::record_reading_rack(&by, &other.name, &value, &when),
            None => lang::record_reading(&by, &value, &when),
        }
    }

    fn closed(&self, c: &Closed) -> String {
        let (how, when, by) = (words::closed(c.how), self.when(&c.stamp), self.by(&c.stamp));
        let what = match c.count {
            Some(n) => lang::record_closed_some(&by, &n.to_string(), how, &when),
            None => lang::record_closed(&by, how, &when),
        };
        c.reason.as_ref().map_or(what.clone(), |why| lang::said_because(&what, why))
    }

    /// What was decided.
    pub fn decided(&self, d: &Decided) -> String {
        lang::record_decision(&self.by(&d.stamp), &d.reason, words::action(d.action), &self.when(&d.stamp))
    }

    /// That a day was signed.
    pub fn signed(&self, s: &Signed) -> String {
        lang::record_signed(&self.by(&s.stamp), &self.when(&s.stamp))
    }

    /// A day, and who signed it.
    pub fn day(&self, d: &Day) -> (String, String) {
        let signed: Vec<String> = d.signed.iter().map(|s| self.signed(s)).collect();
        let said = if signed.is_empty() { lang::record_unsigned().to_owned() } else { signed.join("; ") };
        (Zone::date_text(d.day), said)
    }

    /// A correction.
    pub fn struck(&self, c: &Corrected) -> Struck {
        let by = c.by.as_ref().map_or(lang::log_nobody(), |id| self.names.of(id));
        let (seq, at, when) = (c.entry.to_string(), self.show.stamp(c.at), self.show.stamp(c.when));
        let said = lang::record_struck(&at, &Names::isolated(by), c.kind, &c.reason, &seq, &when);
        let is = |v: &Option<Is>| match v {
            None => lang::record_nothing().to_owned(),
            Some(Is::Time(t)) => self.show.stamp(*t),
            Some(Is::Text(text)) => text.clone(),
        };
        let changes = match &c.did {
            Did::Void => vec![(c.kind.to_owned(), at, lang::record_void().to_owned())],
            Did::Changed(list) => list.iter().map(|m| (m.member.clone(), is(&m.was), is(&m.now))).collect(),
        };
        Struck { said, changes }
    }

    /// A correction in one sentence.
    pub fn struck_line(&self, c: &Corrected) -> String {
        let s = self.struck(c);
        let changes: Vec<String> =
            s.changes.iter().map(|(what, was, now)| lang::record_change(now, was, what)).collect();
        format!("{} {}", s.said, changes.join("; "))
    }

    /// A line of the cold's table.
    pub fn cold(&self, r: &Row) -> [String; 5] {
        let stamp = |t: Option<Instant>| t.map_or_else(|| lang::record_still().to_owned(), |t| self.show.stamp(t));
        let what = match &r.what {
            What::Read { value, beside: None, .. } => self.show.degrees(*value),
            What::Read { value, beside: Some(b), .. } => {
                let (read, own) = (self.show.degrees(*value), self.show.degrees(b.value));
                lang::record_beside(
                    &Show::apart(b.apart(*value)),
                    b.probe.as_str(),
                    &own,
                    &read,
                    &self.show.stamp(b.at),
                )
            }
            What::Lapse { to, touched, .. } => {
                let items: Vec<&str> = touched.iter().map(|n| n.name.as_str()).collect();
                match items.is_empty() {
                    true => lang::record_lapse_none(&stamp(*to)),
                    false => lang::record_lapse(&items.join(", "), &stamp(*to)),
                }
            }
            What::Above { to, warmest, limit } => {
                lang::record_above(&self.show.limit(*limit), &stamp(*to), &self.show.degrees(*warmest))
            }
            What::Unread { to } => lang::record_unread(&stamp(*to)),
            What::Void => lang::record_void().to_owned(),
        };
        let ended = match &r.what {
            What::Lapse { ended, .. } => ended.as_ref(),
            _ => None,
        };
        let mut by: Vec<String> = r.stamp.iter().chain(ended).map(|s| self.by(s)).collect();
        by.dedup();
        let late = r.stamp.iter().chain(ended).filter_map(|s| s.late_ms).max();
        by.extend(late.map(|ms| lang::record_entered_late(&Show::used(ms))));
        let corrected: Vec<String> = r.corrected.iter().map(|c| self.struck_line(c)).collect();
        [r.place.name.clone(), self.show.stamp(r.at), what, by.join(", "), corrected.join("; ")]
    }
}

fn rule(r: &Rule) -> String {
    match &r.source.edition {
        Some(edition) => format!("{} ({edition})", words::rule_name(r)),
        None => words::rule_name(r),
    }
}
