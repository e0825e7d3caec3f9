//! A fuzz, a stage of its own in `tests/all.sh`: spoiled entries and spoiled ledgers are read or refused, never a panic, and what is accepted is
//! written and read back the same. `COUNTERCLOCK_FUZZ` says how many rounds, or `COUNTERCLOCK_FUZZ_SECONDS` how long; the
//! seed is printed.

use counterclock::clock::{Instant, Zone};
use counterclock::evaluate::{Options, Reader, standings};
use counterclock::ledger::{From, parse};
use std::time::{Duration, UNIX_EPOCH};

struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % below.max(1) as u64) as usize
    }
}

fn seed() -> u64 {
    let given = std::env::var("COUNTERCLOCK_FUZZ_SEED").ok().and_then(|s| s.parse().ok());
    let now = std::time::SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or(Duration::ZERO).as_nanos() as u64;
    let seed = given.unwrap_or(now) | 1;
    println!("COUNTERCLOCK_FUZZ_SEED={seed}");
    seed
}

/// The `of`th part of as many rounds as `COUNTERCLOCK_FUZZ` says; or as many as fit into `COUNTERCLOCK_FUZZ_SECONDS`, and
/// then it says how many that were.
fn rounds(of: usize) -> impl Iterator<Item = usize> {
    let said = |name: &str| std::env::var(name).ok().and_then(|s| s.parse::<u64>().ok());
    let until = said("COUNTERCLOCK_FUZZ_SECONDS").map(|s| std::time::Instant::now() + Duration::from_secs(s));
    let most = if until.is_some() { usize::MAX } else { said("COUNTERCLOCK_FUZZ").unwrap_or(20_000) as usize / of };
    (0..most).take_while(move |n| {
        let more = until.is_none_or(|end| std::time::Instant::now() < end);
        if !more {
            println!("{n} rounds");
        }
        more
    })
}

/// Lines of a ledger that is right.
fn lines() -> Vec<String> {
    let now = Instant::parse("2026-05-02T15:20:00Z").expect("a time");
    counterclock::demo::entries(now, Zone::UTC)
        .into_iter()
        .flat_map(|(_, mut e)| {
            // One entry an item, as a ledger holds them.
            let items = e.as_object_mut().and_then(|m| m.remove("items"));
            let items: Vec<_> = items.and_then(|i| i.as_array().cloned()).unwrap_or_default();
            if items.is_empty() {
                return vec![e];
            }
            items.into_iter().map(|item| with(&e, item)).collect()
        })
        .map(|e| e.to_string())
        .collect()
}

fn with(entry: &serde_json::Value, item: serde_json::Value) -> serde_json::Value {
    let mut entry = entry.clone();
    entry["item"] = item;
    entry
}

fn spoil(text: &str, dice: &mut Dice) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=dice.roll(3) {
        let at = dice.roll(bytes.len());
        match dice.roll(6) {
            0 => bytes[at] = dice.roll(256) as u8,
            1 => drop(bytes.remove(at)),
            2 => bytes.insert(at, b"\"\\{}[]:,0-9.eE+nulltrue\0"[dice.roll(23)]),
            3 => {
                let piece = bytes[at..(at + dice.roll(40)).min(bytes.len())].to_vec();
                bytes.splice(at..at, piece);
            }
            4 => bytes.truncate(at.max(1)),
            _ => {
                let n: &[u8] = [&b"null"[..], b"-1", b"99999999999999999999", b"1e400", b"\"\"", b"[]", b"{\"a\":{}}"]
                    [dice.roll(7)];
                if let Some(colon) = bytes[at..].iter().position(|b| *b == b':') {
                    let from = at + colon + 1;
                    let to = bytes[from..].iter().position(|b| *b == b',').map_or(bytes.len(), |c| from + c);
                    bytes.splice(from..to, n.iter().copied());
                }
            }
        }
        if bytes.is_empty() {
            bytes.push(b'{');
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

#[test]
#[ignore = "the fuzz is a stage of its own"]
fn spoiled_entries_are_read_or_refused() {
    let (mut dice, lines) = (Dice(seed()), lines());
    let (mut read, mut refused) = (0, 0);
    for _ in rounds(1) {
        let text = spoil(&lines[dice.roll(lines.len())], &mut dice);
        let Ok(parsed) = parse(&text, From::Caller) else {
            refused += 1;
            continue;
        };
        read += 1;
        for body in parsed.bodies {
            let at = parsed.at.unwrap_or(Instant(0));
            let entry = counterclock::ledger::Entry { at, note: parsed.note.clone(), body, meta: Default::default() };
            let written = serde_json::Value::Object(entry.posted()).to_string();
            let again = parse(&written, From::Caller).unwrap_or_else(|r| panic!("{text}\nwritten as {written}\n{r}"));
            assert_eq!(again.bodies, [entry.body], "{text}\nwritten as {written}");
        }
    }
    assert!(read > 0 && refused > 0, "the fuzz spoils too much or too little: {read} read, {refused} refused");
}

#[test]
#[ignore = "the fuzz is a stage of its own"]
fn spoiled_ledgers_are_read_or_refused() {
    let (mut dice, lines) = (Dice(seed()), lines());
    let (mut read, mut refused) = (0, 0);
    for _ in rounds(100) {
        let mut ledger = lines.clone();
        for _ in 0..dice.roll(3) {
            let (a, b) = (dice.roll(ledger.len()), dice.roll(ledger.len()));
            match dice.roll(3) {
                0 => ledger.swap(a, b),
                1 => drop(ledger.remove(a)),
                _ => ledger[a] = spoil(&ledger[a], &mut dice),
            }
        }
        let mut reader = Reader::default();
        let mut bad = ledger.iter().find_map(|l| reader.line(l).err());
        if bad.is_none() {
            match reader.finish(None) {
                Ok((state, entries)) => standings(&state, &entries, Options::default(), |s| {
                    assert!(!serde_json::to_string(&s).unwrap_or_default().is_empty());
                }),
                Err(b) => bad = Some(b),
            }
        }
        if let Some(bad) = bad {
            assert!((1..=ledger.len()).contains(&bad.line), "{bad:?}");
            refused += 1;
        } else {
            read += 1;
        }
    }
    assert!(read > 0 && refused > 0, "the fuzz spoils too much or too little: {read} read, {refused} refused");
}

/// What comes from outside in other forms than entries: messages of probes, addresses, secrets, codes, times of a form.
#[test]
#[ignore = "a fuzz: `sh tests/all.sh fuzz`"]
fn spoiled_input_of_other_kinds_is_read_or_refused() {
    use counterclock::ledger::Unit;
    use counterclock::notice::hook::{Hooks, signature};
    use counterclock::people::codes;
    use counterclock::web::mqtt::{self, Broker, Topic};
    let hooks = Hooks::new(vec![String::from("hooks.inside")]).expect("a client");
    let (mut dice, now) = (Dice(seed()), Instant::parse("2026-05-02T15:20:00Z").expect("a time"));
    let right = [
        "3.26",
        r#"{"value": "3.2", "unit": "F", "at": "2026-05-02T15:10:00Z"}"#,
        "mqtt://name:password@[::1]:1883",
        "cellar/t1=annex/walk-in:F",
        "https://hooks.example:8443/in?x=1",
        "http://[::ffff:10.0.0.1]/",
        "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
        "4T7K-9QWM",
    ];
    let mut read = 0;
    for _ in rounds(10) {
        let text = spoil(right[dice.roll(right.len())], &mut dice);
        let heard = mqtt::read(text.as_bytes(), Unit::C, dice.roll(2) == 0, now);
        if let Ok(heard) = &heard {
            assert!(heard.at.is_none_or(|at| now.since(at) <= 3_600_000), "{text}");
            read += 1;
        }
        _ = (Broker::read(&text), signature(&text, "id", 0, "body"));
        assert!(codes::meant(&text).len() <= 16, "{text}");
        if let Some(topic) = Topic::read(&text) {
            assert_eq!(Topic::read(&text), Some(topic));
        }
        if hooks.wrong(&text).is_none() {
            assert!(text.trim().to_ascii_lowercase().starts_with("http"), "{text}");
            assert!(!text.contains("10.0.0.1") || !text.contains("[::ffff:10.0.0.1]"), "{text}");
        }
    }
    assert!(read > 0, "none of them was still a reading");
}

/// Texts of one line: each by its own reader, which takes what it takes whole and the same again.
#[test]
#[ignore = "a fuzz: `sh tests/all.sh fuzz`"]
fn spoiled_texts_are_read_or_refused() {
    use counterclock::items::Tag;
    use counterclock::ledger::Id;
    use counterclock::record::csv;
    use counterclock::rules::parse_duration;
    use time::OffsetDateTime;
    use time::format_description::well_known::Rfc3339;
    let corpus = |text: &'static str| text.lines().map(str::to_owned).collect::<Vec<_>>();
    let [times, durations, ids, tags, cells] = [
        include_str!("../corpus/times.txt"),
        include_str!("../corpus/durations.txt"),
        include_str!("../corpus/ids.txt"),
        include_str!("../corpus/tags.txt"),
        include_str!("../corpus/cells.txt"),
    ]
    .map(corpus);
    let mut dice = Dice(seed());
    let (mut read, mut refused) = (0, 0);
    let mut count = |taken: bool| if taken { read += 1 } else { refused += 1 };
    for _ in rounds(5) {
        // RFC 3339, beside the library's own reader.
        let text = spoil(&times[dice.roll(times.len())], &mut dice);
        let theirs =
            OffsetDateTime::parse(&text, &Rfc3339).ok().map(|t| t.unix_timestamp_nanos().div_euclid(1_000_000));
        let ours = Instant::parse(&text);
        assert!(ours.is_none_or(|t| theirs == Some(i128::from(t.0))), "{text}: {ours:?}, not {theirs:?}");
        assert!(ours.is_some() || theirs.is_none_or(|t| !(0..221_845_392_000_000).contains(&t)), "{text} is a time");
        count(ours.is_some());
        // ISO 8601 durations, beside their meaning.
        let text = spoil(&durations[dice.roll(durations.len())], &mut dice);
        if let Some(ms) = parse_duration(&text) {
            let (h, m, s) = (ms / 3_600_000, ms / 60_000 % 60, ms / 1_000 % 60);
            // More hours than it reads may come of many minutes.
            let again = parse_duration(&format!("PT{h}H{m}M{s}S"));
            assert!(again == Some(ms) || h > 9_999_999, "{text}");
            assert!(ms > 0 && text.starts_with("PT"), "{text}");
        }
        let text = spoil(&ids[dice.roll(ids.len())], &mut dice);
        let id = Id::new(&text);
        let plain = |b: u8| b.is_ascii_alphanumeric() || b"._-".contains(&b);
        assert_eq!(id.is_some(), (1..=40).contains(&text.len()) && text.bytes().all(plain), "{text}");
        let text = spoil(&tags[dice.roll(tags.len())], &mut dice);
        if let Some(tag) = Tag::read(&text) {
            assert_eq!(Tag::read(tag.as_str()).as_ref(), Some(&tag), "{text}");
            assert_eq!(tag.as_str().len(), 10, "{text}");
        }
        // A cell comes back from a reader as it was, but for the apostrophe before what a spreadsheet would run.
        let text = spoil(&cells[dice.roll(cells.len())], &mut dice);
        let kept = csv::guard(&text);
        assert!(kept == text || kept == format!("'{text}"), "{text}");
        assert!(!kept.starts_with(['=', '+', '-', '@', '\t', '\r']), "{kept}");
        let line = csv::written([[kept.as_str(), "end"]]).expect("a line");
        let mut cells = ::csv::ReaderBuilder::new().has_headers(false).from_reader(&*line);
        let back = cells.records().next().expect("a record").expect("readable");
        assert_eq!((&back[0], &back[1], back.len()), (&*kept, "end", 2), "{text}");
    }
    assert!(read > 0 && refused > 0, "the fuzz spoils too much or too little: {read} read, {refused} refused");
}

/// A spoiled copy of a record verifies only if it is the same to the byte, or a copy that ends earlier.
#[test]
#[ignore = "a fuzz: `sh tests/all.sh fuzz`"]
fn a_spoiled_copy_never_verifies() {
    use counterclock::check;
    use counterclock::ledger::{Entry, Meta, chain};
    let (mut prev, mut copy) = (chain::START.to_owned(), Vec::new());
    for (n, line) in (1..).zip(lines()) {
        let parsed = parse(&line, From::Caller).expect("an entry");
        for body in parsed.bodies {
            let at = parsed.at.unwrap_or(Instant(0));
            let meta = Meta { seq: n, recorded_at: Some(Instant(1_900_000_000_000)), ..Meta::default() };
            let (sealed, hash) = chain::seal(&prev, &Entry { at, note: parsed.note.clone(), body, meta });
            copy.push(sealed);
            prev = hash;
        }
    }
    let whole = copy.join("\n") + "\n";
    let holds = |text: &str| check::record(text).iter().all(|f| f.broken.is_none());
    assert!(holds(&whole), "{:?}", check::record(&whole).into_iter().find_map(|f| f.broken));
    let mut dice = Dice(seed());
    let mut found = 0;
    for _ in rounds(1_000) {
        let spoiled = spoil(&whole, &mut dice);
        let cut = whole.starts_with(&spoiled) && whole.as_bytes().get(spoiled.len()).is_none_or(|b| *b == b'\n')
            || whole.starts_with(spoiled.trim_end_matches('\n')) && spoiled.ends_with('\n');
        if spoiled != whole && !cut {
            assert!(!holds(&spoiled), "a copy that was changed verifies");
            found += 1;
        }
    }
    assert!(found > 0, "nothing was spoiled");
}

/// Cookies as a stranger sends them: never a fault, never a way in.
#[test]
#[ignore = "a fuzz: `sh tests/all.sh fuzz`"]
fn spoiled_cookies_let_nobody_in() {
    crate::kit::base::run(crate::kit::base::Kind::Sqlite, cookies);
}

async fn cookies(house: crate::kit::house::House) {
    use axum::http::{HeaderValue, Request};
    use tower::ServiceExt;
    let corpus: Vec<String> = include_str!("../corpus/cookies.txt").lines().map(str::to_owned).collect();
    let mut dice = Dice(seed());
    for _ in rounds(200) {
        let text = spoil(&corpus[dice.roll(corpus.len())], &mut dice);
        let Ok(value) = HeaderValue::from_bytes(text.as_bytes()) else { continue };
        for path in ["/s/shop/", "/s/shop/api/items", "/sign-in"] {
            let request =
                Request::get(path).header("cookie", value.clone()).body(axum::body::Body::empty()).expect("it");
            let answer = house.router().oneshot(request).await.expect("an answer").status().as_u16();
            assert!(
                [200, 303, 401].contains(&answer) && (answer != 200 || path == "/sign-in"),
                "{text:?}: {path}: {answer}"
            );
        }
    }
}
