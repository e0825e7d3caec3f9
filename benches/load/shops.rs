//! Many shops on one PostgreSQL and two servers, a Saturday in a minute: `cargo bench --bench load -- --only shops --pg
//! postgres://… [--most 64] [--day SECONDS]`. How long entries take from when they were due, and how long the site's row was waited for.

use super::Bench;
use super::figures::{median, several_shops, token_for_all};
use super::kit::args::quantile;
use super::kit::client::Client;
use super::kit::server::Server;
use super::moves::{Shop, set_up};
use sqlx::Connection;
use std::cell::RefCell;
use std::rc::Rc;
use std::time::{Duration, Instant};

/// Entries of people in each hour of a Saturday, in hundredths of the day's: invented, with a quarter in the busiest hour.
const SATURDAY: [u32; 24] = [0, 0, 0, 1, 3, 5, 8, 12, 25, 14, 10, 7, 5, 4, 3, 2, 1, 0, 0, 0, 0, 0, 0, 0];
/// A shop's entries on it, as in the budget of DEVELOPERS.md.
const ENTRIES: u32 = 900;

/// When a shop's entries are due, seconds after the day began; the shops' are spread, so that they don't come at once.
fn due(shop: usize, day_s: f64) -> Vec<f64> {
    let hour_s = day_s / 24.0;
    let hours = SATURDAY.iter().enumerate().flat_map(|(hour, share)| {
        let count = ENTRIES * share / 100;
        (0..count).map(move |n| (hour as f64 + (f64::from(n) + 0.37 * shop as f64 % 1.0) / f64::from(count)) * hour_s)
    });
    hours.collect()
}

struct Day {
    ms: Vec<f64>,
    busiest_ms: Vec<f64>,
    waiting: Vec<f64>,
}

async fn day(url: &str, servers: &[Server], token: &str, shops: &[Shop], day_s: f64) -> Day {
    let seen = Rc::new(RefCell::new((Vec::new(), Vec::new())));
    let local = tokio::task::LocalSet::new();
    // Everybody is connected by then.
    let begun = Instant::now() + Duration::from_secs(1);
    for (n, shop) in shops.iter().enumerate() {
        for (half, server) in servers.iter().enumerate() {
            let mut client = Client::connect(&server.address, token).await.expect("a connection");
            let (seen, times) = (seen.clone(), due(n, day_s));
            let (path, ids) = (format!("/s/{}/api/entries", shop.site), shop.ids.clone());
            let stem = ids[0].rsplit_once('-').expect("a stem").0.to_owned();
            local.spawn_local(async move {
                // Each server's clerk has items of its own.
                let mine: Vec<&String> = ids.iter().skip(half).step_by(2).collect();
                for (k, at) in times.iter().skip(half).step_by(2).enumerate() {
                    let due = begun + Duration::from_secs_f64(*at);
                    tokio::time::sleep_until(due.into()).await;
                    let (item, place) = (mine[k % mine.len()], ["cold", "bench"][k / mine.len() % 2]);
                    let body = format!(r#"{{"kind":"move","item":"{item}","place":"{stem}-{place}"}}"#);
                    let a = client.ask("POST", &path, &body).await.expect("an answer");
                    assert_eq!(a.status, 201, "{}", String::from_utf8_lossy(&a.body));
                    // From when it was due: whoever is late makes the next one late.
                    let ms = due.elapsed().as_secs_f64() * 1e3;
                    let busiest = (8.0..9.0).contains(&(at / (day_s / 24.0)));
                    let mut seen = seen.borrow_mut();
                    seen.0.push(ms);
                    if busiest {
                        seen.1.push(ms);
                    }
                }
            });
        }
    }
    let looking = url.to_owned();
    let looker = std::thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
        runtime.block_on(async {
            let mut c = sqlx::PgConnection::connect(&looking).await.expect("the server");
            let text =
                "select count(*) from pg_stat_activity where datname = current_database() and wait_event_type = 'Lock'";
            let mut waiting = Vec::new();
            while begun.elapsed().as_secs_f64() < day_s {
                let now: i64 = sqlx::query_scalar(text).fetch_one(&mut c).await.expect("an answer");
                waiting.push(now as f64);
                tokio::time::sleep(Duration::from_millis(25)).await;
            }
            waiting
        })
    });
    local.await;
    let waiting = looker.join().expect("what was seen");
    let (ms, busiest_ms) = seen.take();
    Day { ms, busiest_ms, waiting }
}

pub async fn run(bench: &Bench) {
    let pg = bench.args.text("pg").expect("--pg postgres://…");
    let day_s = bench.args.number("day", 60) as f64;
    println!("\n{ENTRIES} entries a shop in {day_s} s, two servers; hundredths of the day by hour: {SATURDAY:?}");
    println!(
        "| shops | entries | at the busiest | p50 | p99 | p99 of the busiest hour | waiting for a site's row, an entry |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- |");
    for shops in [8, 16, 32, 64].into_iter().filter(|n| *n <= bench.args.number("most", 64)) {
        let url = several_shops(pg, "counterclock_bench_shops", shops).await;
        let token = token_for_all(&url);
        let servers = [Server::start(&url, &[]), Server::start(&url, &[])];
        let mut made = Vec::new();
        for n in 0..shops {
            let mut client = Client::connect(&servers[0].address, &token).await.expect("a connection");
            made.push(set_up(&mut client, &format!("shop{n}"), 20).await);
        }
        let Day { mut ms, mut busiest_ms, waiting } = day(&url, &servers, &token, &made, day_s).await;
        let entries = ms.len();
        let busiest = busiest_ms.len() as f64 / (day_s / 24.0);
        // By Little's law: how many wait on average, over how many come in a second.
        let mean = waiting.iter().sum::<f64>() / waiting.len() as f64;
        let row_ms = mean * day_s / entries as f64 * 1e3;
        ms.sort_by(f64::total_cmp);
        busiest_ms.sort_by(f64::total_cmp);
        println!(
            "| {shops} | {entries} | {busiest:.0}/s | {:.1} ms | {:.1} ms | {:.1} ms | {row_ms:.2} ms |",
            median(ms.clone()),
            quantile(&ms, 0.99),
            quantile(&busiest_ms, 0.99)
        );
    }
}
