//! An invented bakery's days, as long as wanted: three tubs, forty-five cakes filled from them, hourly air, a weekly
//! lapse, marks, readings, now and then a correction. The same lines for the same arguments, always accepted.

use counterclock::clock::{HOUR_MS, Instant, MINUTE_MS, SECOND_MS};
use counterclock::ledger::{ByHow, Entry, From, Id, Meta, chain, parse};
use counterclock::rules::book;

/// One entry on its way into a ledger.
pub struct Told {
    /// What is posted, `at` included.
    pub json: String,
    pub by: &'static str,
    pub recorded_at: i64,
}

/// 1979-01-01T05:00:00Z: even ten million entries, 632 a day, end before today. What closes later stays in memory.
const START: i64 = 284_014_800_000;
const DAY: i64 = 24 * HOUR_MS;
const CAKES: usize = 45;

/// Makes the days one after the other. `late_in_100` of the trips out are written down 20 to 90 minutes late.
pub struct Story {
    day: i64,
    late_in_100: u64,
    rng: u64,
    seq: u64,
    /// A reading to be corrected the next morning.
    misread: Option<u64>,
    today: std::vec::IntoIter<Told>,
}

struct Day<'s> {
    story: &'s mut Story,
    told: Vec<(i64, Told)>,
}

impl Story {
    pub fn new(late_in_100: u64) -> Story {
        let mut story =
            Story { day: 0, late_in_100, rng: 0x9e37_79b9_7f4a_7c15, seq: 0, misread: None, today: vec![].into_iter() };
        story.today = set_up().into_iter();
        story
    }

    fn roll(&mut self, below: u64) -> u64 {
        self.rng ^= self.rng << 13;
        self.rng ^= self.rng >> 7;
        self.rng ^= self.rng << 17;
        self.rng % below
    }
}

impl Iterator for Story {
    type Item = Told;

    fn next(&mut self) -> Option<Told> {
        loop {
            if let Some(told) = self.today.next() {
                self.seq += 1;
                if self.misread.is_none()
                    && told.json.contains(r#""kind":"reading","item""#)
                    && self.seq.is_multiple_of(7)
                {
                    self.misread = Some(self.seq);
                }
                return Some(told);
            }
            let (day, misread) = (self.day, self.misread.take());
            let mut d = Day { story: self, told: Vec::new() };
            d.all(day, misread);
            let mut told = d.told;
            told.sort_by_key(|(recorded, _)| *recorded);
            self.today = told.into_iter().map(|(_, t)| t).collect::<Vec<_>>().into_iter();
            self.day += 1;
        }
    }
}

fn set_up() -> Vec<Told> {
    let at = Instant(START - HOUR_MS);
    let say = |rest: String| Told { json: format!(r#"{{"at":"{at}",{rest}}}"#), by: "t-manager", recorded_at: at.0 };
    let mut told = vec![say(String::from(r#""kind":"site","name":"Bench","zone":"Europe/London","units":"C""#))];
    for (place, control, r#use) in [
        ("walk-in", "cold", "store"),
        ("freezer", "frozen", "store"),
        ("case", "cold", "display"),
        ("bench", "none", "work"),
        ("counter", "none", "display"),
    ] {
        told.push(say(format!(
            r#""kind":"place","place":"{place}","name":"{place}","control":"{control}","use":"{use}""#
        )));
    }
    for id in ["house-2h-4h", "keep-7d", "two-hour"] {
        let rule = Id::new(id).and_then(|id| book::built_in(&id)).expect("a built-in rule");
        let text = serde_json::to_string(&*rule).expect("a rule is JSON");
        told.push(say(format!(r#""kind":"rule",{}"#, &text[1..text.len() - 1])));
    }
    told.push(say(String::from(
        r#""kind":"product","product":"cream","name":"Cream","rules":["house-2h-4h"],"chill_ms":900000"#,
    )));
    told.push(say(String::from(
        r#""kind":"product","product":"cake","name":"Cake","rules":["house-2h-4h","keep-7d"]"#,
    )));
    told.push(say(String::from(r#""kind":"product","product":"slice","name":"Slice","rules":["two-hour","keep-7d"]"#)));
    told
}

impl Day<'_> {
    fn say(&mut self, at: i64, late_ms: i64, by: &'static str, rest: &str) {
        let recorded_at = at + late_ms + (self.story.roll(20) as i64) * SECOND_MS;
        let json = format!(r#"{{"at":"{}",{rest}}}"#, Instant(at));
        // Recorded at one instant they keep their order, and nothing is recorded before the day's set-up.
        self.told.push((recorded_at, Told { json, by, recorded_at }));
    }

    fn all(&mut self, day: i64, misread: Option<u64>) {
        let base = START + day * DAY;
        if let Some(entry) = misread {
            let what = format!(
                r#""kind":"correct","entry":{entry},"set":{{"value":"3.9","unit":"C"}},"reason":"read off wrongly""#
            );
            self.say(base, 0, "t-manager", &what);
        }
        for hour in 0..16 {
            for place in ["walk-in", "case", "freezer"] {
                let tenths = if place == "freezer" { -180 } else { 31 } + self.story.roll(9) as i64;
                let (sign, n) = (if tenths < 0 { "-" } else { "" }, tenths.abs());
                let what = format!(
                    r#""kind":"reading","place":"{place}","value":"{sign}{}.{}","unit":"C","probe":"p-{place}""#,
                    n / 10,
                    n % 10
                );
                self.say(base + hour * HOUR_MS, 0, "t-probe", &what);
            }
        }
        if day % 7 == 3 {
            let at = base + 11 * HOUR_MS;
            self.say(at, 0, "t-staff", r#""kind":"lapse","place":"walk-in""#);
            self.say(at + 40 * MINUTE_MS, 0, "t-staff", r#""kind":"restore","place":"walk-in""#);
        }
        for tub in 0..3 {
            let id = format!("cream-{day}-{tub}");
            let at = base + tub * 9 * MINUTE_MS;
            let what = format!(r#""kind":"item","item":"{id}","name":"Cream {tub}","place":"bench","product":"cream""#);
            self.say(at, 0, "t-staff", &what);
            self.item(&id, at, 4, "used");
        }
        for cake in 0..CAKES {
            let id = format!("cake-{day}-{cake}");
            let at = base + 2 * HOUR_MS + cake as i64 * 3 * MINUTE_MS;
            let product = if cake % 5 == 0 { "slice" } else { "cake" };
            let tub = cake % 3;
            let what = format!(
                r#""kind":"item","item":"{id}","name":"Cake {cake}","place":"bench","product":"{product}","from":["cream-{day}-{tub}"]"#
            );
            self.say(at, 0, "t-staff", &what);
            if cake % 4 == 0 {
                let other = (tub + 1) % 3;
                let what = format!(r#""kind":"join","item":"{id}","from":["cream-{day}-{other}"]"#);
                self.say(at + 30 * MINUTE_MS + 7_000, 0, "t-staff", &what);
            }
            self.item(&id, at, 4, if cake % 11 == 0 { "discarded" } else { "sold" });
        }
    }

    /// Into the cold, then some trips out and back, a mark, a reading, the end.
    fn item(&mut self, id: &str, begun: i64, trips: i64, end: &str) {
        let mut at = begun + (10 + self.story.roll(20) as i64) * MINUTE_MS;
        let go = |place: &str| format!(r#""kind":"move","item":"{id}","place":"{place}""#);
        self.say(at, 0, "t-staff", &go("walk-in"));
        if self.story.roll(2) == 0 {
            let by = Instant(begun + 9 * HOUR_MS);
            let what = format!(r#""kind":"mark","item":"{id}","discard_by":"{by}","how":"printed","copy":1"#);
            self.say(at + MINUTE_MS, 0, "t-staff", &what);
        }
        for trip in 0..trips {
            at += (15 + self.story.roll(50) as i64) * MINUTE_MS;
            let late_ms = if self.story.roll(100) < self.story.late_in_100 {
                (20 + self.story.roll(70) as i64) * MINUTE_MS
            } else {
                0
            };
            let out_ms = (4 + self.story.roll(20) as i64) * MINUTE_MS;
            let place = if trip == 2 { "counter" } else { "bench" };
            self.say(at, late_ms, "t-staff", &go(place));
            if trip == 1 && self.story.roll(5) < 2 {
                let value = 40 + self.story.roll(40);
                let what = format!(
                    r#""kind":"reading","item":"{id}","value":"{}.{}","unit":"C","probe":"p-hand""#,
                    value / 10,
                    value % 10
                );
                self.say(at + 61_000, late_ms, "t-staff", &what);
            }
            at += out_ms;
            // Both ways are written down at once if they are late.
            let late_ms = if late_ms > 0 { late_ms + 20 * SECOND_MS } else { 0 };
            self.say(at, late_ms, "t-staff", &go("walk-in"));
        }
        let at = at.max(begun + 5 * HOUR_MS) + 30 * MINUTE_MS;
        self.say(at, 0, "t-staff", &format!(r#""kind":"close","item":"{id}","as":"{end}""#));
    }
}

/// The entry as a ledger keeps it.
pub fn kept(told: &Told, seq: u64) -> Entry {
    let parsed = parse(&told.json, From::Caller).unwrap_or_else(|r| panic!("{}: {r}", told.json));
    let body = parsed.bodies.into_iter().next().expect("one body");
    let meta = Meta {
        seq,
        by: Id::new(told.by),
        by_how: Some(ByHow::Token),
        device: None,
        recorded_at: Some(Instant(told.recorded_at)),
    };
    Entry { at: parsed.at.expect("an instant"), note: parsed.note, body, meta }
}

/// Whole ledger lines with their chain.
pub fn ledger(entries: usize, late_in_100: u64) -> impl Iterator<Item = (Entry, String, String)> {
    let mut prev = chain::START.to_owned();
    Story::new(late_in_100).take(entries).enumerate().map(move |(i, told)| {
        let entry = kept(&told, i as u64 + 1);
        let (line, hash) = chain::seal(&prev, &entry);
        prev.clone_from(&hash);
        (entry, line, hash)
    })
}
