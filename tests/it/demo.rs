//! The demo's two days, at any now: accepted one by one, every kind, verdict and deviation in them, one item
//! always twelve minutes from its discard-by time, and the same standings by `evaluate`.

use crate::kit::actor::Actor;
use crate::kit::browser::Browser;
use crate::kit::house::House;
use counterclock::clock::{Clock, HOUR_MS, Instant, MINUTE_MS, Zone};
use counterclock::demo;
use counterclock::evaluate::{Options, Reader, standings};
use counterclock::exposure::Fold;
use counterclock::ledger::{self, ByHow, Entry, From, Id, Meta, Request, State, chain};
use counterclock::people::Role;
use counterclock::record::marking::{self, Marking};
use counterclock::rules::{self, Phase, Standing};
use serde_json::value::RawValue;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::io::Write;
use std::process::{Command, Stdio};
use std::sync::Arc;

both!(posted_it_stands_as_evaluate_says, filled_it_has_its_written_procedure);

const KINDS: &[&str] = &[
    "site", "place", "rule", "product", "item", "join", "move", "reading", "lapse", "restore", "mark", "seen", "close",
    "decide", "approve", "correct", "review",
];
const CLOSES: &[&str] = &["served", "sold", "used", "handed-over", "discarded", "lost"];
const ACTIONS: &[&str] = &["acknowledge", "keep", "corrected", "dismiss"];
const VERDICTS: &[&str] = &["within", "return", "use", "discard"];
const DEVIATIONS: &[&str] = &[
    "returned-late",
    "returned-not-allowed",
    "start-warm",
    "start-unread",
    "not-cooled",
    "made-from-over",
    "served-late",
    "label-late",
    "entered-late",
];

/// Written one by one as the service would, its now being each entry's `recorded_at`.
pub fn written(posted: &[(Instant, serde_json::Value)]) -> (State, Vec<Arc<Entry>>) {
    let mut state = State::default();
    let mut all: Vec<Arc<Entry>> = Vec::new();
    let mut targets: HashMap<u64, Arc<Entry>> = HashMap::new();
    for (recorded_at, value) in posted {
        let parsed = ledger::parse(&value.to_string(), From::Caller).unwrap_or_else(|r| panic!("{value}: {r}"));
        let actor = Meta { by: Id::new("demo"), by_how: Some(ByHow::Token), ..Meta::default() };
        let request = Request {
            entries: vec![parsed],
            now: *recorded_at,
            actor,
            manager: true,
            probe: false,
            targets: targets.clone(),
        };
        let draft = ledger::accept(&state, request).unwrap_or_else(|r| panic!("{value}: {r}"));
        let items = value["items"].as_array().map_or(1, Vec::len);
        assert_eq!(draft.written.len(), items, "the demo numbers its entries itself: {value}");
        state = draft.state;
        targets.extend(draft.written.iter().map(|e| (e.meta.seq, e.clone())));
        all.extend(draft.written);
    }
    (state, all)
}

fn by_service(state: &State, now: Instant, zone: Zone) -> BTreeMap<String, Standing> {
    let fold = Fold::new(state, now, zone);
    let of = |id| rules::standing(&fold, id).map(|s| (s.item.to_string(), s));
    state.items.keys().filter_map(of).collect()
}

fn by_evaluate(entries: &[Arc<Entry>], now: Instant) -> Vec<Standing> {
    let mut reader = Reader::default();
    let mut prev = chain::START.to_owned();
    for e in entries {
        let (line, hash) = chain::seal(&prev, e);
        reader.line(&line).unwrap_or_else(|bad| panic!("{}: {}", bad.line, bad.refusal));
        prev = hash;
    }
    let (state, entries) = reader.finish(None).unwrap_or_else(|bad| panic!("{}: {}", bad.line, bad.refusal));
    let mut out = Vec::new();
    standings(&state, &entries, Options { as_of: Some(now), ..Options::default() }, |s| out.push(s));
    out
}

fn word<T: serde::Serialize>(value: &T) -> String {
    serde_json::to_value(value).unwrap().as_str().unwrap().to_owned()
}

fn members(posted: &[(Instant, serde_json::Value)], kind: &str, member: &str) -> BTreeSet<String> {
    let of_kind = posted.iter().filter(|(_, v)| v["kind"] == kind);
    of_kind.filter_map(|(_, v)| v[member].as_str().map(str::to_owned)).collect()
}

fn holds_at(now: Instant, zone: Zone) {
    let posted = demo::entries(now, zone);
    let said = |what: &str| format!("{what} at {now} in {}", zone.name());
    assert_eq!(posted, demo::entries(now, zone), "{}", said("pure"));
    assert!(posted.len() >= 120, "{}", said("120 entries"));
    assert!(posted.windows(2).all(|p| p[0].0 <= p[1].0), "{}", said("in order of recording"));
    let mut late = 0;
    for (recorded_at, value) in &posted {
        let at = Instant::parse(value["at"].as_str().unwrap()).unwrap();
        assert!(at <= *recorded_at && *recorded_at <= now, "{}: {value}", said("not in the future"));
        assert!(now.since(at) <= 48 * HOUR_MS, "{}: {value}", said("two days"));
        late += usize::from(recorded_at.since(at) > 2 * MINUTE_MS);
    }
    assert_eq!(late, 2 + 5, "{}", said("two late entries, and five in a burst"));

    let all = |have: BTreeSet<String>, want: &[&str], what: &str| {
        let missing: Vec<_> = want.iter().filter(|w| !have.contains(**w)).collect();
        assert!(missing.is_empty(), "{}: {missing:?}", said(what));
    };
    all(posted.iter().map(|(_, v)| v["kind"].as_str().unwrap().to_owned()).collect(), KINDS, "every kind");
    all(members(&posted, "close", "as"), CLOSES, "every way to end");
    all(members(&posted, "decide", "action"), ACTIONS, "every action");

    let (state, entries) = written(&posted);
    let standings = by_service(&state, now, zone);
    let open = standings.values().filter(|s| s.state != Phase::Closed);
    all(open.map(|s| word(&s.verdict)).collect(), VERDICTS, "every verdict among the open");
    let deviations = standings.values().flat_map(|s| &s.deviations).map(|d| d.code.to_owned()).collect();
    all(deviations, DEVIATIONS, "every deviation");

    let agreements = standings.values().filter(|s| s.state != Phase::Closed).filter_map(|s| Marking::of(&state, s));
    let agreements: BTreeSet<String> = agreements.map(|m| format!("{:?}", m.agreement)).collect();
    all(agreements, &["NoneNeeded", "Unmarked", "Late", "Agrees"], "each way a label agrees among the open");
    let marble = &state.items[&Id::new("marble-1").unwrap()];
    let copies: Vec<_> = marking::marks(marble).collect();
    let computed = rules::standing(&Fold::new(&state, copies[1].at, zone), &Id::new("marble-1").unwrap()).unwrap();
    assert!(copies[1].copy == 2 && copies[1].discard_by < copies[0].discard_by, "{}: {copies:?}", said("a new time"));
    let by = computed.discard_by.unwrap();
    assert!(
        by.since(copies[1].discard_by) < MINUTE_MS && by >= copies[1].discard_by,
        "{}: {by}",
        said("cut to the minute")
    );

    let nearest = &standings[demo::NEAREST];
    assert_eq!(nearest.discard_by, Some(now.plus(demo::MINUTES_LEFT * MINUTE_MS)), "{}", said("the nearest"));
    assert_eq!(nearest.left_ms, Some(demo::MINUTES_LEFT * MINUTE_MS), "{}", said("the nearest"));
    let open = standings.values().filter(|s| s.item.as_str() != demo::NEAREST && s.state == Phase::Out);
    assert!(
        open.filter_map(|s| s.left_ms).all(|left| left == 0 || left > demo::MINUTES_LEFT * MINUTE_MS),
        "{}",
        said("nearest first")
    );

    let in_state = |phase: Phase| standings.values().filter(|s| s.state == phase).count();
    assert!((6..=11).contains(&in_state(Phase::Out)), "{}: {}", said("out"), in_state(Phase::Out));
    assert!((10..=15).contains(&in_state(Phase::Cold)), "{}: {}", said("cold"), in_state(Phase::Cold));
    assert!(in_state(Phase::Frozen) > 0 && in_state(Phase::Closed) > 0, "{}", said("frozen and closed"));

    let evaluated = by_evaluate(&entries, now);
    assert_eq!(evaluated.len(), standings.len(), "{}", said("as many standings"));
    for s in &evaluated {
        let (a, b) = (serde_json::to_string(s).unwrap(), serde_json::to_string(&standings[s.item.as_str()]).unwrap());
        assert_eq!(a, b, "{}", said("the same by both ways"));
    }
}

/// Around both changes of the clocks of 2026 where there are any, around midnight, and on plain days.
fn nows(zone: Zone) -> Vec<Instant> {
    let first = Zone::parse_date("2026-01-01").unwrap();
    let length = |day| zone.day_starts(day + 1).since(zone.day_starts(day));
    let mut out = Vec::new();
    for day in (first..first + 365).filter(|day| length(*day) != 24 * HOUR_MS) {
        let midnight = zone.day_starts(day);
        out.extend([0, 1, 3 * HOUR_MS - 1, 14 * HOUR_MS].map(|ms| midnight.plus(ms)));
        out.push(zone.day_starts(day + 1).plus(MINUTE_MS));
    }
    for n in out.len() as i64..10 {
        out.push(zone.day_starts(first + 37 * n).plus(n * 8_640_123 % (24 * HOUR_MS)));
    }
    out
}

#[test]
fn the_demo_holds_at_any_now() {
    let zones = ["Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu"];
    for name in zones {
        let zone = Zone::named(name).unwrap();
        let nows = nows(zone);
        assert!(nows.len() >= 10, "{name}");
        nows.into_iter().for_each(|now| holds_at(now, zone));
    }
}

#[derive(serde::Deserialize)]
struct Page<'a> {
    #[serde(borrow)]
    entries: Vec<&'a RawValue>,
}

#[derive(serde::Deserialize)]
struct Whole<'a> {
    #[serde(borrow)]
    standing: &'a RawValue,
}

/// What the program's own `evaluate` prints of these lines.
fn program(lines: &str, as_of: Instant) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_counterclock"));
    command.args(["evaluate", "--as-of", &as_of.to_string()]).stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = command.spawn().expect("the program runs");
    child.stdin.take().expect("an input").write_all(lines.as_bytes()).expect("it reads");
    let done = child.wait_with_output().expect("it ends");
    assert!(done.status.success());
    String::from_utf8(done.stdout).expect("UTF-8")
}

/// Every entry in a request of its own, when its story says; then each item, open or closed, to the byte.
async fn posted_it_stands_as_evaluate_says(house: House) {
    let now = Instant::parse("2026-05-06T15:20:00Z").expect("a time");
    let posted = demo::entries(now, Zone::named("Europe/London").expect("a zone"));
    // The house has its first entry already, and the demo counts on its own being the first.
    assert_eq!(posted[0].1["kind"], "site");
    let manager = house.manager();
    for (recorded_at, entry) in &posted[1..] {
        house.set(&recorded_at.to_string());
        manager.post(entry).await.ok();
    }
    house.set(&now.to_string());
    let mut lines = String::new();
    loop {
        let answer = manager.get(&format!("entries?limit=1000&after={}", lines.lines().count())).await.ok();
        let page: Page = serde_json::from_str(answer.text()).expect("a page");
        if page.entries.is_empty() {
            break;
        }
        page.entries.iter().for_each(|e| lines += &format!("{e}\n"));
    }
    let text = program(&lines, now);
    let mut closed = 0;
    for line in text.lines() {
        let standing: serde_json::Value = serde_json::from_str(line).expect("JSON");
        let path = format!("items/{}", standing["item"].as_str().expect("an id"));
        let answer = manager.get(&path).await.ok();
        let whole: Whole = serde_json::from_str(answer.text()).expect("an item");
        assert_eq!(whole.standing.get(), line);
        closed += usize::from(standing["state"] == "closed");
    }
    let begun = posted.iter().filter(|(_, e)| e["kind"] == "item").count();
    assert_eq!(text.lines().count(), begun, "every item there is");
    assert!(closed > 0 && closed < begun, "open and closed ones: {closed} of {begun}");
    house.agrees().await;
}

/// The demo's database: an approved procedure, a draft with a gap, and one of three who hasn't read it.
async fn filled_it_has_its_written_procedure(house: House) {
    house.empty().await;
    let service = house.service();
    counterclock::fill::fill(service.db(), Zone::named("Europe/London").expect("a zone")).await.expect("it is filled");
    house.restart().await;
    house.set(&Clock::System.now().to_string());
    let token = house.service().add_token("shop", "m", Role::Manager).await.expect("a token");
    let manager = Browser::new(&house);
    manager.put("counterclock", &token);
    let page = manager.open("/s/shop/procedure").await;
    assert!(page.text("article").contains("Version 1, approved by Ishbel, in force since"), "{}", page.text("article"));
    assert_eq!(page.texts(".warn li"), ["the place “Walk-in cooler”: changed"], "it is told what it no longer says");
    let unread = page.texts("#readers ~ table tbody tr");
    assert_eq!(unread.iter().filter(|r| r.ends_with("not yet")).collect::<Vec<_>>(), ["Bramwell not yet"]);
    assert_eq!(unread.len(), 3);
    assert_eq!(manager.open("/s/shop/").await.text("p.warn"), "");
    let draft = manager.open("/s/shop/procedure/draft").await;
    assert_eq!(draft.texts("#missing ~ ul li"), ["“How people are trained” is still to be filled in."]);
    assert_eq!(draft.texts("table.changes").len(), 4, "what changes with it");
    house.checks().await;
}
