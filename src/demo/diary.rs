//! A diary of lines told by the clock of a day that stands at 14:00 now, put in order of recording at the end.

use crate::clock::{HOUR_MS, Instant, MINUTE_MS};
use serde_json::{Map, Value, json};
use std::collections::HashMap;

/// Day, hour and minute: now is 14:00 on day 2, whatever the real clock says. Days 1 and 2 are told in full;
/// of day 0 only its end, when the shop was set up.
pub type When = (i64, i64, i64);

/// One line of the diary: an entry before it has its number.
pub struct Line {
    at: Instant,
    recorded: Instant,
    members: Map<String, Value>,
    name: Option<&'static str>,
    points: Option<(&'static str, &'static str)>,
}

impl Line {
    /// Adds a member.
    pub fn with(&mut self, member: &str, value: impl Into<Value>) -> &mut Line {
        self.members.insert(member.to_owned(), value.into());
        self
    }

    /// Adds a note.
    pub fn note(&mut self, text: &str) -> &mut Line {
        self.with("note", text)
    }

    /// Gives the line a name by which a later one can point at it.
    pub fn named(&mut self, name: &'static str) -> &mut Line {
        self.name = Some(name);
        self
    }

    /// It was written down that many minutes after it happened.
    pub fn late_by(&mut self, minutes: i64) -> &mut Line {
        self.recorded = self.at.plus(minutes * MINUTE_MS);
        self
    }

    /// Sets a member to the number of the line of that name.
    fn pointing(&mut self, member: &'static str, name: &'static str) -> &mut Line {
        self.points = Some((member, name));
        self
    }

    /// One entry an item.
    fn entries(&self) -> u64 {
        self.members.get("items").and_then(Value::as_array).map_or(1, |items| items.len() as u64)
    }
}

/// The lines, in the order the stories tell them.
pub struct Diary {
    now: Instant,
    lines: Vec<Line>,
}

impl Diary {
    /// An empty diary that ends at `now`.
    pub fn new(now: Instant) -> Diary {
        Diary { now, lines: Vec::new() }
    }

    /// The instant the diary ends at.
    pub fn now(&self) -> Instant {
        self.now
    }

    /// The instant the diary's clock shows. Nobody taps on the full minute: some seconds go off, the same for
    /// the same minute.
    pub fn at(&self, (day, hour, minute): When) -> Instant {
        let ago = (2 - day) * 24 * 60 + (14 - hour) * 60 - minute;
        self.now.plus(-ago * MINUTE_MS - ago * 23_457 % 50_000)
    }

    /// Writes a line that happened at an instant.
    pub fn put_at(&mut self, at: Instant, members: Value) -> &mut Line {
        let Value::Object(mut members) = members else { unreachable!("an entry is an object") };
        members.insert(String::from("at"), json!(at));
        let i = self.lines.len();
        self.lines.push(Line { at, recorded: at, members, name: None, points: None });
        &mut self.lines[i]
    }

    /// Writes a line by the diary's clock.
    pub fn put(&mut self, when: When, members: Value) -> &mut Line {
        self.put_at(self.at(when), members)
    }

    /// An item begins.
    pub fn item(&mut self, when: When, id: &str, name: &str, place: &str, product: &str, from: &[&str]) -> &mut Line {
        let line = json!({"kind": "item", "item": id, "name": name, "place": place, "product": product});
        let line = self.put(when, line);
        if from.is_empty() { line } else { line.with("from", from) }
    }

    /// Another coat, another layer.
    pub fn join(&mut self, when: When, id: &str, from: &str) -> &mut Line {
        self.put(when, json!({"kind": "join", "item": id, "from": [from]}))
    }

    /// An item goes somewhere.
    pub fn go(&mut self, when: When, id: &str, place: &str) -> &mut Line {
        self.put(when, json!({"kind": "move", "item": id, "place": place}))
    }

    /// Several go somewhere together.
    pub fn go_together(&mut self, when: When, ids: &[&str], place: &str) -> &mut Line {
        self.put(when, json!({"kind": "move", "items": ids, "place": place}))
    }

    /// A food reading in Celsius.
    pub fn food(&mut self, when: When, id: &str, value: &str) -> &mut Line {
        self.put(when, json!({"kind": "reading", "item": id, "value": value, "unit": "C", "probe": "probe-1"}))
    }

    /// An air reading in Celsius.
    pub fn air(&mut self, when: When, place: &str, value: &str) -> &mut Line {
        self.put(when, json!({"kind": "reading", "place": place, "value": value, "unit": "C"}))
    }

    /// A label, printed or written, by the time given cut to the minute, as a label shows it.
    pub fn mark(&mut self, at: Instant, id: &str, discard_by: Instant, how: &str) -> &mut Line {
        let shown = Instant(discard_by.0 - discard_by.0.rem_euclid(MINUTE_MS));
        self.put_at(at, json!({"kind": "mark", "item": id, "discard_by": shown, "how": how, "copy": 1}))
    }

    /// An item ends.
    pub fn close(&mut self, when: When, id: &str, how: &str) -> &mut Line {
        self.put(when, json!({"kind": "close", "item": id, "as": how}))
    }

    /// What a person did about an item or a place.
    pub fn decide(&mut self, when: When, about: &str, action: &str, reason: &str) -> &mut Line {
        self.put(when, json!({"kind": "decide", "about": about, "action": action, "reason": reason}))
    }

    /// What a person did about the line of that name.
    pub fn decide_line(&mut self, when: When, name: &'static str, action: &str, reason: &str) -> &mut Line {
        self.put(when, json!({"kind": "decide", "action": action, "reason": reason})).pointing("about", name)
    }

    /// The line of that name is to be read otherwise.
    pub fn correct(&mut self, when: When, name: &'static str, set: Value, reason: &str) -> &mut Line {
        self.put(when, json!({"kind": "correct", "set": set, "reason": reason})).pointing("entry", name)
    }

    /// The line of that name counts as not written.
    pub fn void(&mut self, when: When, name: &'static str, reason: &str) -> &mut Line {
        self.put(when, json!({"kind": "correct", "void": true, "reason": reason})).pointing("entry", name)
    }

    /// When what had been out for `used` reaches four hours, if it stays out from then on.
    pub fn four_hours(&self, out: Instant, used: i64) -> Instant {
        out.plus(4 * HOUR_MS - used)
    }

    /// Time between pairs of the diary's clock, in milliseconds.
    pub fn between(&self, spells: &[(When, When)]) -> i64 {
        spells.iter().map(|(from, to)| self.at(*to).since(self.at(*from))).sum()
    }

    /// Puts the lines in order of recording, numbers them, and fills in the numbers pointed at.
    pub fn finish(mut self) -> Vec<(Instant, Value)> {
        self.lines.sort_by_key(|line| line.recorded);
        let (mut seq, mut numbers) = (1, HashMap::new());
        for line in &self.lines {
            numbers.extend(line.name.map(|name| (name, seq)));
            seq += line.entries();
        }
        let number = |mut line: Line| {
            if let Some((member, name)) = line.points {
                line.with(member, numbers[name]);
            }
            (line.recorded, Value::Object(line.members))
        };
        self.lines.into_iter().map(number).collect()
    }
}
