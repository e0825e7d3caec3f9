//! The pure core: a standing of items of many sizes, a page of the list, one entry read and sealed.

#[path = "kit/story.rs"]
#[allow(dead_code, reason = "only parts of the story are needed here")]
mod story;

use counterclock::board::{self, Briefs, Wanted};
use counterclock::clock::{Instant, MINUTE_MS, Zone};
use counterclock::exposure::Fold;
use counterclock::ledger::{ByHow, Entry, From, Id, Meta, Request, State, accept, chain, parse};
use counterclock::rules::standing;
use criterion::{Criterion, criterion_group, criterion_main};
use std::collections::HashMap;
use std::hint::black_box;
use std::sync::Arc;

const START: i64 = 1_777_000_000_000;

fn add(state: &mut State, minute: i64, rest: &str) {
    let at = Instant(START + minute * MINUTE_MS);
    let parsed = parse(&format!(r#"{{"at":"{at}",{rest}}}"#), From::Caller).expect("an entry");
    for body in parsed.bodies {
        let meta = Meta { seq: state.head + 1, recorded_at: Some(at), by: Id::new("t-1"), ..Meta::default() };
        state.insert(Arc::new(Entry { at, note: None, body, meta })).expect("an entry that fits");
    }
}

fn shop() -> State {
    let mut s = State::default();
    add(&mut s, 0, r#""kind":"site","name":"Shop","zone":"Europe/London","units":"C""#);
    add(&mut s, 0, r#""kind":"place","place":"bench","name":"Bench","control":"none""#);
    add(&mut s, 0, r#""kind":"place","place":"cold","name":"Cold","control":"cold""#);
    add(&mut s, 0, r#""kind":"product","product":"cake","name":"Cake","rules":["house-2h-4h","keep-7d"]"#);
    s
}

fn item(state: &mut State, id: &str, minute: i64, entries: i64, from: &str) {
    add(state, minute, &format!(r#""kind":"item","item":"{id}","name":"Cake","place":"bench","product":"cake"{from}"#));
    for n in 1..entries {
        let place = if n % 2 == 1 { "cold" } else { "bench" };
        add(state, minute + n, &format!(r#""kind":"move","item":"{id}","place":"{place}""#));
    }
}

fn id(state: &State, id: &str) -> Id {
    state.items.keys().find(|k| k.as_str() == id).cloned().expect("the item")
}

fn standings(c: &mut Criterion) {
    let mut group = c.benchmark_group("standing");
    for n in [20, 200, 2_000] {
        let mut state = shop();
        item(&mut state, "cake-1", 1, n, "");
        let (id, at) = (id(&state, "cake-1"), Instant(START + (n + 10) * MINUTE_MS));
        group.bench_function(format!("{n} entries"), |b| {
            b.iter(|| standing(&Fold::new(&state, at, Zone::UTC), black_box(&id)));
        });
    }
    let mut state = shop();
    item(&mut state, "tub-1", 1, 10, "");
    item(&mut state, "tub-2", 3, 14, "");
    item(&mut state, "cake-1", 30, 20, r#","from":["tub-1","tub-2"]"#);
    let (id, at) = (id(&state, "cake-1"), Instant(START + 80 * MINUTE_MS));
    group.bench_function("a cake with two tubs", |b| {
        b.iter(|| standing(&Fold::new(&state, at, Zone::UTC), black_box(&id)));
    });
    group.finish();
}

fn list(c: &mut Criterion) {
    let mut state = shop();
    for n in 0..10_000 {
        item(&mut state, &format!("cake-{n}"), 1 + n % 100, 10, "");
    }
    let at = Instant(START + 130 * MINUTE_MS);
    let briefs = Briefs::default();
    let mut group = c.benchmark_group("first 200 of 10,000");
    group.bench_function("known before", |b| {
        b.iter(|| board::page(&briefs, &state, |_| 1, at, Wanted::Open, None, 200));
    });
    group.sample_size(10).bench_function("from nothing", |b| {
        b.iter(|| board::page(&Briefs::default(), &state, |_| 1, at, Wanted::Open, None, 200));
    });
    group.bench_function("200 as JSON", |b| {
        let standings = board::page(&briefs, &state, |_| 1, at, Wanted::Open, None, 200).standings;
        b.iter(|| serde_json::to_string(black_box(&standings)));
    });
    group.finish();
}

fn entries(c: &mut Criterion) {
    let told = story::Story::new(0).skip(400).find(|t| t.json.contains(r#""kind":"move""#)).expect("a move");
    let entry = story::kept(&told, 400);
    let (line, _) = chain::seal(chain::START, &entry);
    let mut group = c.benchmark_group("entry");
    group.bench_function("parse a posted move", |b| b.iter(|| parse(black_box(&told.json), From::Caller)));
    group.bench_function("parse a ledger line", |b| b.iter(|| parse(black_box(&line), From::Ledger)));
    group.bench_function("seal", |b| b.iter(|| chain::seal(chain::START, black_box(&entry))));
    group.bench_function("check", |b| b.iter(|| chain::check(None, black_box(&line))));
    let mut state = shop();
    for n in 0..2_000 {
        item(&mut state, &format!("cake-{n}"), 1 + n % 100, 20, "");
    }
    let ask = r#"{"kind":"move","item":"cake-77","place":"bench"}"#;
    group.bench_function("accept a move among 2,000 items", |b| {
        b.iter(|| {
            let actor = Meta { by: Id::new("t-1"), by_how: Some(ByHow::Token), ..Meta::default() };
            let request = Request {
                entries: vec![parse(ask, From::Caller).expect("an entry")],
                now: Instant(START + 200 * MINUTE_MS),
                actor,
                manager: true,
                probe: false,
                targets: HashMap::new(),
            };
            accept(black_box(&state), request).map(|d| d.written.len())
        });
    });
    group.finish();
}

criterion_group!(benches, standings, list, entries);
criterion_main!(benches);
