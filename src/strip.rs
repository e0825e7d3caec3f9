//! The strip: an item's day as one thin bar. Solid where it was out, a hairline where it was cold, a notch where the
//! limit falls; what came with others, and what lies before the window, stands as a block at the left end.

use crate::clock::{HOUR_MS, Instant, Zone};
use crate::exposure::Spell;
use crate::lang;
use crate::ledger::Id;
use crate::record::paper::{self, Bar, Ink};
use crate::rules::{Phase, Standing};
use crate::show::Show;
use std::fmt::Write;

/// Per cent of the width kept for the block at the left end, the same on every strip so that hours line up.
const GUTTER: f64 = 14.0;

/// The stretch of time a strip shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Its left end.
    pub from: Instant,
    /// Its right end.
    pub to: Instant,
}

impl Window {
    /// The working day around an instant, 3 to 21 o'clock; the whole date where the instant lies outside of it.
    pub fn day(now: Instant, zone: Zone) -> Window {
        let day = zone.day(now);
        let (start, end) = (zone.day_starts(day), zone.day_starts(day + 1));
        let (early, late) = (start.plus(3 * HOUR_MS), start.plus(21 * HOUR_MS));
        Window { from: if now < early { start } else { early }, to: if now > late { end } else { late } }
    }

    /// The hours over the strips of one window, every third written out.
    pub fn axis(&self, show: Show) -> String {
        let mut out = String::from(r#"<svg class="strip axis" aria-hidden="true" width="100%" height="28">"#);
        let mut t = self.from;
        while t <= self.to {
            let local = show.zone.local(t);
            if local.minute() == 0 {
                let (x, far) = (self.x(t), local.hour().is_multiple_of(3));
                let top = if far { 18 } else { 23 };
                _ = write!(out, r#"<line class="tick" x1="{x:.2}%" x2="{x:.2}%" y1="{top}" y2="28" "#);
                _ = write!(out, r#"stroke="currentColor" stroke-width="1"/>"#);
                if far {
                    let anchor = if x > 97.0 { "end" } else { "middle" };
                    let class = if local.hour().is_multiple_of(6) { "hour" } else { "hour third" };
                    _ = write!(out, r#"<text class="{class}" x="{x:.2}%" y="14" text-anchor="{anchor}" "#);
                    _ = write!(out, r#"fill="currentColor">{:02}</text>"#, local.hour());
                }
            }
            // Some zones are off by half an hour, or a quarter.
            t = t.plus(HOUR_MS / 4);
        }
        out.push_str("</svg>");
        out
    }

    /// Where an instant falls, in per cent of the width; at an edge if it lies outside.
    fn x(&self, t: Instant) -> f64 {
        let t = t.0.clamp(self.from.0, self.to.0) - self.from.0;
        GUTTER + self.wide(t)
    }

    /// How wide a stretch of time is, in per cent.
    fn wide(&self, ms: i64) -> f64 {
        ms as f64 / self.to.since(self.from).max(1) as f64 * (100.0 - GUTTER)
    }
}

/// What a strip is drawn from.
pub struct Strip<'s> {
    /// The lines that add up to the time out.
    pub spells: &'s [Spell],
    /// How it stands.
    pub standing: &'s Standing,
    /// When the item began.
    pub began: Instant,
    /// What the strip shows.
    pub window: Window,
    /// How times are read.
    pub show: Show,
    /// With the hours written under it.
    pub hours: bool,
}

impl Strip<'_> {
    /// Inline SVG with a text equivalent. `name` gives an item's name.
    pub fn svg(&self, name: impl Fn(&Id) -> String) -> String {
        let label = self.text(name);
        let (class, height) = if self.hours { ("strip strip-hours", 48) } else { ("strip", 28) };
        let mut out = format!(
            r#"<svg class="{class}" role="img" aria-label="{}" width="100%" height="{height}">"#,
            escape(&label)
        );
        let o = &mut out;
        self.ticks(o);
        for (ink, a, b) in self.bars() {
            match ink {
                Ink::Out => rect(o, a, b - a),
                Ink::Cold => line(o, "cold", a, b, 1, ""),
                Ink::Came => line(o, "came", a, b, 14, r#" stroke-dasharray="2 2""#),
                Ink::Ahead => line(o, "ahead", a, b, 2, r#" stroke-dasharray="1 4""#),
            }
        }
        if let Some(x) = self.notch() {
            _ = write!(o, r#"<svg class="notch" x="{x:.2}%" overflow="visible"><path fill="currentColor" "#);
            _ = write!(o, r#"d="M-7 0H7L1 9V28H-1V9Z"/></svg>"#);
        }
        out.push_str("</svg>");
        out
    }

    /// The same for paper.
    pub fn paper(&self, name: impl Fn(&Id) -> String) -> paper::Strip {
        let part = |per_cent: f64| (per_cent / 100.0) as f32;
        let ticks = self.marked_hours().map(|(x, t, local)| {
            let written = local % 6 == 0 && x < 97.0;
            (part(x), written.then(|| self.show.time(t)))
        });
        paper::Strip {
            alt: self.text(name),
            bars: self.bars().into_iter().map(|(ink, a, b)| Bar { from: part(a), to: part(b), ink }).collect(),
            notch: self.notch().map(part),
            ticks: ticks.collect(),
        }
    }

    /// Its stretches from and to, in per cent of the width.
    fn bars(&self) -> Vec<(Ink, f64, f64)> {
        let (w, s) = (self.window, self.standing);
        let now = s.as_of;
        let mut bars = Vec::new();
        if now > w.from {
            bars.push((Ink::Cold, w.x(self.began), w.x(now)));
        }
        let (mut inherited, mut earlier) = (0, 0);
        for spell in self.spells {
            let to = spell.to.unwrap_or(now);
            if spell.inherited_from.is_some() {
                inherited += to.since(spell.from);
                continue;
            }
            earlier += to.min(w.from).since(spell.from).max(0);
            if to > w.from && spell.from < w.to {
                let (a, b) = (w.x(spell.from), w.x(to));
                bars.push((Ink::Out, a, b.max(a + 0.4)));
            }
        }
        // The block ends where the day begins; what doesn't fit is told by the text.
        let own = w.wide(earlier).min(GUTTER - 1.0);
        let theirs = w.wide(inherited).min(GUTTER - 1.0 - own);
        if earlier > 0 {
            let from = GUTTER - 0.5 - own;
            bars.push((Ink::Out, from, from + own.max(0.4)));
        }
        if inherited > 0 {
            let end = GUTTER - 0.5 - own;
            bars.push((Ink::Came, end - theirs.max(0.8), end));
        }
        if let Some(by) = s.discard_by.filter(|by| *by <= w.to && s.state == Phase::Out && *by > now) {
            bars.push((Ink::Ahead, w.x(now), w.x(by)));
        }
        bars
    }

    /// Where the limit falls, in per cent; cut to the left: a notch never stands later than its time.
    fn notch(&self) -> Option<f64> {
        let by = self.standing.discard_by.filter(|by| *by <= self.window.to)?;
        Some((self.window.x(by) * 100.0).floor() / 100.0)
    }

    /// Every third hour: where it stands, the instant, and which hour it is.
    fn marked_hours(&self) -> impl Iterator<Item = (f64, Instant, u8)> {
        let (w, zone) = (self.window, self.show.zone);
        let halves = std::iter::successors(Some(w.from), |t| Some(t.plus(HOUR_MS / 2))).take_while(move |t| *t <= w.to);
        halves.filter_map(move |t| {
            let local = zone.local(t);
            (local.minute() == 0 && local.hour() % 3 == 0).then(|| (w.x(t), t, local.hour()))
        })
    }

    fn ticks(&self, out: &mut String) {
        for (x, t, hour) in self.marked_hours() {
            _ = write!(out, r#"<line class="tick" x1="{x:.2}%" x2="{x:.2}%" y1="25" y2="28" "#);
            _ = write!(out, r#"stroke="currentColor" stroke-width="1"/>"#);
            if self.hours && hour % 6 == 0 {
                let anchor = if x > 97.0 { "end" } else { "middle" };
                _ = write!(out, r#"<text class="hour" x="{x:.2}%" y="44" text-anchor="{anchor}" "#);
                _ = write!(out, r#"fill="currentColor">{}</text>"#, self.show.time(t));
            }
        }
    }

    /// The same in words.
    pub fn text(&self, name: impl Fn(&Id) -> String) -> String {
        let show = self.show;
        let mut parts = vec![lang::strip_total(&Show::used(self.standing.total_out_ms))];
        let mut came: Vec<(&Id, i64)> = Vec::new();
        for spell in self.spells {
            let length = spell.length_ms(self.standing.as_of);
            match (&spell.inherited_from, came.last_mut()) {
                (Some(from), Some(last)) if last.0 == from => last.1 += length,
                (Some(from), _) => came.push((from, length)),
                _ => {}
            }
        }
        parts.extend(came.iter().map(|(from, ms)| lang::strip_came(&Show::used(*ms), &name(from))));
        for spell in self.spells.iter().filter(|s| s.inherited_from.is_none()) {
            let from = show.clock(spell.from);
            parts.push(match spell.to {
                Some(to) => lang::strip_spell(&from, &show.clock(to)),
                None => lang::strip_open(&from),
            });
        }
        parts.extend(self.standing.discard_by.map(|by| lang::strip_limit(&show.clock(by))));
        parts.join("; ")
    }
}

fn line(out: &mut String, class: &str, from: f64, to: f64, width: u32, more: &str) {
    _ = write!(out, r#"<line class="{class}" x1="{from:.2}%" x2="{to:.2}%" y1="16" y2="16" "#);
    _ = write!(out, r#"stroke="currentColor" stroke-width="{width}"{more}/>"#);
}

fn rect(out: &mut String, x: f64, width: f64) {
    _ = write!(out, r#"<rect class="out" x="{x:.2}%" y="9" width="{width:.2}%" height="14" fill="currentColor"/>"#);
}

/// A text as it stands in markup.
pub fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('"', "&quot;").replace('<', "&lt;").replace('>', "&gt;")
}
