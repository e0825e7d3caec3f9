//! Single moves from many connections: acknowledged a second, latencies, and the floor before and after.

use super::Bench;
use super::kit::args::{quantile, verdict};
use super::kit::client::Client;
use super::kit::floor::{fdatasync_ms, insert_loop};
use super::kit::server::{Server, cpu_s, token};
use serde_json::Value;
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::rc::Rc;
use std::time::{Duration, Instant};

/// A shop and the items in it that are moved.
pub struct Shop {
    pub site: String,
    pub ids: Vec<String>,
    /// Those that a load left in the cold.
    cold: RefCell<BTreeSet<String>>,
}

impl Shop {
    /// Takes every item out on the bench again, for the next load to begin with.
    pub async fn take_out(&self, client: &mut Client) {
        let cold: Vec<String> = self.cold.take().into_iter().collect();
        for some in cold.chunks(250) {
            let stem = some[0].split('-').next().unwrap_or("");
            let body = format!(r#"{{"kind":"move","items":["{}"],"place":"{stem}-bench"}}"#, some.join("\",\""));
            post(client, &self.site, &body).await;
        }
    }
}

/// Places, a product and `count` items in a shop, all out on the bench.
pub async fn set_up(client: &mut Client, site: &str, count: usize) -> Shop {
    let stem = format!("i{}", std::time::SystemTime::UNIX_EPOCH.elapsed().map_or(0, |d| d.as_secs() % 1_000_000));
    let (bench, cold) = (format!("{stem}-bench"), format!("{stem}-cold"));
    let first = format!(
        r#"[{{"kind":"place","place":"{bench}","name":"Bench","control":"none"}},
        {{"kind":"place","place":"{cold}","name":"Walk-in","control":"cold"}},
        {{"kind":"product","product":"{stem}-cake","name":"Cake","rules":["house-2h-4h","keep-7d"]}}]"#
    );
    post(client, site, &first).await;
    let ids: Vec<String> = (0..count).map(|i| format!("{stem}-{i}")).collect();
    for some in ids.chunks(250) {
        let items: Vec<String> = some
            .iter()
            .map(|id| {
                format!(
                    r#"{{"kind":"item","item":"{id}","name":"Cake","place":"{bench}","product":"{stem}-cake","count":6}}"#
                )
            })
            .collect();
        post(client, site, &format!("[{}]", items.join(","))).await;
    }
    Shop { site: site.to_owned(), ids, cold: RefCell::default() }
}

/// Posts what must be taken; how long that took, in ms.
pub async fn post(client: &mut Client, site: &str, body: &str) -> f64 {
    let at = Instant::now();
    let a = client.ask("POST", &format!("/s/{site}/api/entries"), body).await.expect("an answer");
    assert_eq!(a.status, 201, "{}", String::from_utf8_lossy(&a.body));
    at.elapsed().as_secs_f64() * 1e3
}

/// What the load saw: a latency in ms for each acknowledged request; refusals by status.
#[derive(Default)]
pub struct Seen {
    pub ms: Vec<f64>,
    pub others: Vec<(u16, String)>,
}

/// Asks what needs no thought from `connections` connections until `seconds` have passed: what HTTP alone takes of the
/// same cores. Answers a second.
pub async fn noop(address: &str, token: &str, connections: usize, seconds: f64) -> f64 {
    let answered = Rc::new(RefCell::new(0_u64));
    let local = tokio::task::LocalSet::new();
    let (began, until) = (Instant::now(), Instant::now() + Duration::from_secs_f64(seconds));
    for _ in 0..connections {
        let mut client = Client::connect(address, token).await.expect("a connection");
        let answered = answered.clone();
        local.spawn_local(async move {
            while Instant::now() < until {
                let a = client.ask("GET", "/healthz", "").await.expect("an answer");
                assert_eq!(a.status, 200);
                *answered.borrow_mut() += 1;
            }
        });
    }
    local.await;
    let all = *answered.borrow();
    all as f64 / began.elapsed().as_secs_f64()
}

/// Moves each item of the shops to and fro from `connections` connections, each in one shop, until `seconds` have passed.
/// `rack`: so many go in one request. `pace`: at most so many requests a second from all of them together.
pub async fn load(
    address: &str,
    token: &str,
    shops: &[Rc<Shop>],
    connections: usize,
    seconds: f64,
    rack: usize,
    pace: Option<f64>,
) -> Rc<RefCell<Seen>> {
    let seen = Rc::new(RefCell::new(Seen::default()));
    let local = tokio::task::LocalSet::new();
    let until = Instant::now() + Duration::from_secs_f64(seconds);
    for c in 0..connections {
        let shop = shops[c % shops.len()].clone();
        let Shop { site, ids, .. } = &*shop;
        let each = connections.div_ceil(shops.len());
        let mine: Vec<String> = ids.iter().skip(c / shops.len()).step_by(each).cloned().collect();
        let path = format!("/s/{site}/api/entries");
        let mut client = Client::connect(address, token).await.expect("a connection");
        let seen = seen.clone();
        let pause = pace.map(|p| Duration::from_secs_f64(connections as f64 / p));
        local.spawn_local(async move {
            let mut cold = true;
            // `i…-17` lives between `i…-bench` and `i…-cold`.
            let stem = mine[0].split('-').next().unwrap_or("").to_owned();
            loop {
                for some in mine.chunks(rack) {
                    let began = Instant::now();
                    if began >= until {
                        return;
                    }
                    let place = if cold { "cold" } else { "bench" };
                    let body = match some {
                        [id] => format!(r#"{{"kind":"move","item":"{id}","place":"{stem}-{place}"}}"#),
                        ids => {
                            let ids = ids.join("\",\"");
                            format!(r#"{{"kind":"move","items":["{ids}"],"place":"{stem}-{place}"}}"#)
                        }
                    };
                    let a = client.ask("POST", &path, &body).await.expect("an answer");
                    let ms = began.elapsed().as_secs_f64() * 1e3;
                    if a.status == 201 {
                        let mut there = shop.cold.borrow_mut();
                        for id in some {
                            if cold {
                                there.insert(id.clone())
                            } else {
                                there.remove(id)
                            };
                        }
                        seen.borrow_mut().ms.push(ms);
                    } else {
                        seen.borrow_mut().others.push((a.status, String::from_utf8_lossy(&a.body).into_owned()));
                    }
                    if let Some(pause) = pause {
                        tokio::time::sleep(pause.saturating_sub(began.elapsed())).await;
                    }
                }
                cold = !cold;
            }
        });
    }
    local.await;
    seen
}

pub async fn run(bench: &Bench, entries: usize) {
    let args = &bench.args;
    let (connections, seconds) = (args.number("connections", 64), args.number("seconds", 10) as f64);
    let items = args.number("items", 2_000);
    let url = bench.database("moves", entries).await;
    let sqlite = url.starts_with("sqlite");
    let rack = args.number("rack", 1);
    // Racks of one size: every request moves as many.
    let items = items.div_ceil(connections * rack) * connections * rack;
    println!(
        "\nmoves: {connections} connections, {items} items, {rack} a request, {seconds} s, on a ledger of {entries} entries"
    );
    let bare = insert_loop(&bench.dir, connections, seconds / 3.0, false).await.expect("the floor");
    let whole = insert_loop(&bench.dir, connections, seconds / 3.0, true).await.expect("the floor");
    let sync_ms = fdatasync_ms(&bench.dir).expect("the disk");
    let token = token(&url);
    let server = Server::start(&url, &[]);
    if args.has("settled") {
        // The ledger is verified in the background after a start; this waits for its end.
        super::start::settle(&server).await;
    }
    let mut client = Client::connect(&server.address, &token).await.expect("a connection");
    let shops = [Rc::new(set_up(&mut client, "shop", items).await)];
    let nothing = noop(&server.address, &token, connections, seconds / 3.0).await;
    let (mine, theirs) = (cpu_s("self"), server.cpu_s());
    let seen = load(&server.address, &token, &shops, connections, seconds, rack, None).await;
    let (mine, theirs) = (cpu_s("self") - mine, server.cpu_s() - theirs);
    let mut seen = seen.take();
    let done = (seen.ms.len() * rack) as f64;
    seen.ms.sort_by(f64::total_cmp);
    let (p50, p99) = (quantile(&seen.ms, 0.5), quantile(&seen.ms, 0.99));
    let rate = done / seconds;
    if let Some((status, body)) = seen.others.first() {
        println!("  {} answers weren't 201, the first {status}: {body}", seen.others.len());
    }
    println!(
        "  p50 {p50:.2} ms; floor {:.0} rows/s bare, {:.0} with indexes and triggers",
        bare.rows_per_s, whole.rows_per_s
    );
    println!(
        "  HTTP alone: {nothing:.0} answers a second to GET /healthz, {:.2} of the bare floor",
        nothing / bare.rows_per_s
    );
    println!("  median fdatasync {sync_ms:.2} ms, median commit of the floor {:.2} ms", bare.commit_ms);
    println!("  processor a move: service {:.0} µs, load generator {:.0} µs", theirs / done * 1e6, mine / done * 1e6);
    println!("  service VmRSS {:.0} MB", server.memory_mb("VmRSS"));
    verdict("acknowledged", rate, "/s", 4_000.0, true);
    if sqlite {
        verdict("of the bare floor", rate / bare.rows_per_s, "", 0.4, true);
    }
    verdict("p99", p99, "ms", 8.0 * sync_ms + 20.0, false);
    // Anew: a connection that was quiet all the while has been closed.
    let mut client = Client::connect(&server.address, &token).await.expect("a connection");
    check(&mut client, items as u64 + done as u64).await;
}

/// What was acknowledged is there.
async fn check(client: &mut Client, entries: u64) {
    let head = client.ask("GET", "/s/shop/api/entries?after=0&limit=1", "").await.expect("an answer");
    let head: Value = serde_json::from_slice(&head.body).expect("JSON");
    assert!(head["head"].as_u64().unwrap_or(0) >= entries, "acknowledged and not there: {head}");
}
