//! A table of figures for DEVELOPERS.md, measured in one run: `cargo bench --bench load -- --only figures --pg postgres://…`. Each figure is
//! the median of `--runs` (5), beside its floor in the same run. `--longest 10000000` adds a ledger of ten million entries (10 GB
//! of disk), `--shortest` leaves shorter ones and what needs none out.

use super::Bench;
use super::kit::args::quantile;
use super::kit::client::Client;
use super::kit::floor::{insert_loop, insert_loops};
use super::kit::preload;
use super::kit::server::{Server, binary, token};
use super::moves::{Shop, load, noop, post, set_up};
use counterclock::clock::Clock;
use counterclock::store::Db;
use counterclock::web::service::Service;
use sqlx::{AssertSqlSafe, Connection};
use std::ops::RangeInclusive;
use std::process::{Command, Stdio};
use std::rc::Rc;
use std::time::{Duration, Instant};
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;

const SHOPS: usize = 8;
const LISTENERS: usize = 500;

/// The middle one.
pub fn median(mut of: Vec<f64>) -> f64 {
    of.sort_by(f64::total_cmp);
    quantile(&of, 0.5)
}

fn row(what: &str, measured: &str, floor: &str) {
    println!("| {what} | {measured} | {floor} |");
}

/// Milliseconds of what is done `times` times: at p50 and p99.
fn spread(mut ms: Vec<f64>) -> String {
    ms.sort_by(f64::total_cmp);
    format!("p50 {:.1} ms, p99 {:.1} ms", quantile(&ms, 0.5), quantile(&ms, 0.99))
}

async fn connect(server: &Server, token: &str) -> Client {
    Client::connect(&server.address, token).await.expect("a connection")
}

async fn get(client: &mut Client, path: &str) -> f64 {
    let at = Instant::now();
    let a = client.ask("GET", path, "").await.expect("an answer");
    assert_eq!(a.status, 200, "{path}: {}", String::from_utf8_lossy(&a.body));
    at.elapsed().as_secs_f64() * 1e3
}

/// A fresh database of a PostgreSQL server with several shops in it.
pub async fn several_shops(server: &str, name: &str, shops: usize) -> String {
    let mut c = sqlx::PgConnection::connect(server).await.expect("the server");
    for text in [format!("drop database if exists {name} with (force)"), format!("create database {name}")] {
        sqlx::query(AssertSqlSafe(text)).execute(&mut c).await.expect("a database");
    }
    let url = format!("{}/{name}", server.rsplit_once('/').expect("a path").0);
    let db = Db::open(&url).await.expect("it opens");
    let service = Service::open(db.clone(), Clock::System).await.expect("a service");
    for n in 0..shops {
        let first = r#"{"kind":"site","name":"Shop","zone":"Europe/London","units":"C"}"#;
        service.add_site(&format!("shop{n}"), first).await.expect("a shop");
    }
    url
}

/// A manager's token for every shop.
pub fn token_for_all(url: &str) -> String {
    let out = Command::new(binary())
        .args(["token", "add", "--name", "load", "--role", "manager", "--all", "--db", url])
        .output();
    String::from_utf8_lossy(&out.expect("the binary runs").stdout).trim().to_owned()
}

struct Moves {
    rate: Vec<f64>,
    p50: Vec<f64>,
    p99: Vec<f64>,
    of_floor: Vec<f64>,
    floor: Vec<f64>,
    noop: Vec<f64>,
}

/// Moves from so many connections, `runs` times; the floor is measured before each.
async fn moves(
    (server, token): (&Server, &str),
    shops: &[Rc<Shop>],
    (connections, rack, runs): (usize, usize, usize),
    mut floor: impl AsyncFnMut() -> f64,
) -> Moves {
    let mut m = Moves { rate: vec![], p50: vec![], p99: vec![], of_floor: vec![], floor: vec![], noop: vec![] };
    for _ in 0..runs {
        for shop in shops {
            shop.take_out(&mut connect(server, token).await).await;
        }
        let bare = floor().await;
        m.noop.push(noop(&server.address, token, connections, 0.5).await);
        let seen = load(&server.address, token, shops, connections, 3.0, rack, None).await.take();
        assert!(seen.others.is_empty(), "{:?}", seen.others[0]);
        let mut ms = seen.ms;
        ms.sort_by(f64::total_cmp);
        let rate = (ms.len() * rack) as f64 / 3.0;
        m.rate.push(rate);
        m.p50.push(quantile(&ms, 0.5));
        m.p99.push(quantile(&ms, 0.99));
        m.of_floor.push(rate / bare);
        m.floor.push(bare);
    }
    m
}

fn say(what: &str, m: Moves) {
    row(
        what,
        &format!("{:.0}/s; p50 {:.1} ms, p99 {:.1} ms", median(m.rate), median(m.p50), median(m.p99)),
        &format!(
            "bare loop {:.0} rows/s: {:.2} of it; HTTP alone {:.0}/s",
            median(m.floor),
            median(m.of_floor),
            median(m.noop)
        ),
    );
}

async fn by_connections(bench: &Bench, runs: usize) {
    let url = bench.database("figures", 0).await;
    let token = token(&url);
    let server = Server::start(&url, &[]);
    let shops = [Rc::new(set_up(&mut connect(&server, &token).await, "shop", 256 * 20).await)];
    for connections in [1, 8, 64, 256] {
        let floor = async || insert_loop(&bench.dir, connections, 0.5, false).await.expect("the floor").rows_per_s;
        let m = moves((&server, &token), &shops, (connections, 1, runs), floor).await;
        say(&format!("moves from {connections} connections, SQLite"), m);
    }
    let floor = async || insert_loop(&bench.dir, 64 * 20, 0.5, false).await.expect("the floor").rows_per_s;
    let m = moves((&server, &token), &shops, (64, 20, runs), floor).await;
    say("moves in racks of 20 from 64 connections, SQLite", m);
    drop(server);
    let Some(pg) = bench.args.text("pg") else { return };
    let url = several_shops(pg, "counterclock_bench", SHOPS).await;
    let token = token_for_all(&url);
    let server = Server::start(&url, &[]);
    let mut shops = Vec::new();
    for n in 0..SHOPS {
        shops.push(Rc::new(set_up(&mut connect(&server, &token).await, &format!("shop{n}"), 32 * 20).await));
    }
    for connections in [1, 8, 64, 256] {
        let loops = connections.min(SHOPS);
        let floor = async || insert_loops(&url, loops, connections / loops, 0.5).await.expect("the floor");
        let m = moves((&server, &token), &shops, (connections, 1, runs), floor).await;
        say(&format!("moves from {connections} connections, PostgreSQL, {SHOPS} shops"), m);
    }
}

async fn by_length(bench: &Bench, runs: usize, lengths: &RangeInclusive<usize>) {
    for entries in [0, 100_000, 1_000_000, 10_000_000].into_iter().filter(|n| lengths.contains(n)) {
        let url = bench.database("figures", entries).await;
        let token = token(&url);
        let server = Server::start(&url, &[]);
        let listening = server.since_start();
        super::start::settle(&server).await;
        let shops = [Rc::new(set_up(&mut connect(&server, &token).await, "shop", 64 * 20).await)];
        let floor = async || insert_loop(&bench.dir, 64, 0.5, false).await.expect("the floor").rows_per_s;
        let m = moves((&server, &token), &shops, (64, 1, runs), floor).await;
        say(&format!("moves from 64 connections on a ledger of {entries}, SQLite"), m);
        let mut client = connect(&server, &token).await;
        let (mut read, mut moved) = (Vec::new(), Vec::new());
        for id in shops[0].ids.iter().take(runs * 20) {
            moved.push(
                post(&mut client, "shop", &format!(r#"{{"kind":"reading","item":"{id}","value":4.5,"unit":"C"}}"#))
                    .await,
            );
            read.push(get(&mut client, &format!("/s/shop/api/items/{id}")).await);
        }
        row(&format!("one item on a ledger of {entries}: read"), &spread(read), "");
        row(&format!("one item on a ledger of {entries}: its temperature written down"), &spread(moved), "");
        let memory = server.memory_mb("VmRSS");
        row(
            &format!("the service on {entries} entries"),
            &format!("listens after {:.0} ms; {memory:.0} MB after the moves", listening.as_secs_f64() * 1e3),
            "",
        );
    }
}

async fn boards(bench: &Bench, runs: usize) {
    for items in [100, 1_000, 10_000] {
        let url = bench.database("figures", 0).await;
        let token = token(&url);
        let server = Server::start(&url, &[]);
        let mut client = connect(&server, &token).await;
        set_up(&mut client, "shop", items).await;
        for (what, path) in [("board, the page", "/s/shop/"), ("first 200 as JSON", "/s/shop/api/items?limit=200")] {
            let mut ms = Vec::new();
            for _ in 0..runs * 20 {
                ms.push(get(&mut client, path).await);
            }
            row(&format!("{what}, {items} open items"), &spread(ms), "");
        }
        if items == 10_000 {
            row("memory with 10,000 open items", &format!("{:.0} MB", server.memory_mb("VmRSS")), "");
        }
    }
}

/// One item's operations with a hundred and a thousand entries; a tub's correction with 500 made from it; a lapse over 5,000.
async fn one_item(bench: &Bench, runs: usize) {
    let url = bench.database("figures", 0).await;
    let token = token(&url);
    let server = Server::start(&url, &[]);
    let mut client = connect(&server, &token).await;
    let shop = set_up(&mut client, "shop", 5_000).await;
    let stem = shop.ids[0].rsplit_once('-').expect("a stem").0.to_owned();
    // What so many new items will be due for is still being written.
    tokio::time::sleep(Duration::from_secs(5)).await;
    drop(client);
    let mut client = connect(&server, &token).await;
    let mut took = Vec::new();
    for (name, entries) in [("short", 100), ("long", 1_000)] {
        let item = format!(
            r#"{{"kind":"item","item":"{stem}-{name}","name":"Tub","place":"{stem}-bench","product":"{stem}-cake"}}"#
        );
        post(&mut client, "shop", &item).await;
        let to = |n: usize| {
            format!(r#"{{"kind":"move","item":"{stem}-{name}","place":"{stem}-{}"}}"#, ["cold", "bench"][n % 2])
        };
        let all: Vec<String> = (0..entries).map(to).collect();
        for some in all.chunks(500) {
            post(&mut client, "shop", &format!("[{}]", some.join(","))).await;
        }
        let (mut read, mut moved) = (Vec::new(), Vec::new());
        for n in 0..runs * 20 {
            read.push(get(&mut client, &format!("/s/shop/api/items/{stem}-{name}")).await);
            moved.push(post(&mut client, "shop", &to(n)).await);
        }
        took.push((median(read.clone()), median(moved.clone())));
        row(&format!("an item of {entries} entries and more: read"), &spread(read), "");
        row(&format!("an item of {entries} entries and more: moved"), &spread(moved), "");
    }
    let times = format!("read {:.2}, moved {:.2}", took[1].0 / took[0].0, took[1].1 / took[0].1);
    row("ten times the entries of one item", &times, "");
    let tub =
        format!(r#"{{"kind":"item","item":"{stem}-tub","name":"Tub","place":"{stem}-bench","product":"{stem}-cake"}}"#);
    post(&mut client, "shop", &tub).await;
    let moved = format!(r#"{{"kind":"move","item":"{stem}-tub","place":"{stem}-cold"}}"#);
    let answer = client.ask("POST", "/s/shop/api/entries", &moved).await.expect("an answer");
    let answer: serde_json::Value = serde_json::from_slice(&answer.body).expect("JSON");
    let (seq, when) = (answer["entries"][0]["seq"].clone(), answer["entries"][0]["at"].clone());
    let cakes: Vec<String> = (0..500)
        .map(|n| format!(r#"{{"kind":"item","item":"{stem}-c{n}","name":"Cake","place":"{stem}-cold","product":"{stem}-cake","from":["{stem}-tub"]}}"#))
        .collect();
    post(&mut client, "shop", &format!("[{}]", cakes.join(","))).await;
    let mut ms = Vec::new();
    for n in 0..runs {
        let set = if n % 2 == 0 { format!(r#"{{"note":"run {n}"}}"#) } else { format!(r#"{{"at":{when}}}"#) };
        ms.push(
            post(
                &mut client,
                "shop",
                &format!(r#"{{"kind":"correct","entry":{seq},"set":{set},"reason":"measured"}}"#),
            )
            .await,
        );
    }
    row("a correction of a tub with 500 made from it", &spread(ms), "");
    let racks: Vec<String> =
        shop.ids.iter().map(|id| format!(r#"{{"kind":"move","item":"{id}","place":"{stem}-cold"}}"#)).collect();
    for some in racks.chunks(500) {
        post(&mut client, "shop", &format!("[{}]", some.join(","))).await;
    }
    let mut ms = Vec::new();
    for _ in 0..runs {
        ms.push(post(&mut client, "shop", &format!(r#"{{"kind":"lapse","place":"{stem}-cold"}}"#)).await);
        post(&mut client, "shop", &format!(r#"{{"kind":"restore","place":"{stem}-cold"}}"#)).await;
    }
    row("a lapse over 5,500 items", &spread(ms), "");
}

/// A command's seconds.
fn timed(args: &[&str]) -> f64 {
    let at = Instant::now();
    let done = Command::new(binary()).args(args).stdout(Stdio::null()).status().expect("the binary runs");
    assert!(done.success(), "{args:?}");
    at.elapsed().as_secs_f64()
}

async fn whole_ledgers(bench: &Bench, runs: usize, lengths: &RangeInclusive<usize>) {
    for entries in [100_000, 1_000_000, 10_000_000].into_iter().filter(|n| lengths.contains(n)) {
        let made = preload::sqlite(&bench.dir, entries).await.expect("a made ledger");
        let url = preload::copy(&made, &bench.dir.join("figures.db")).expect("a copy");
        let token = token(&url);
        let server = Server::start(&url, &[]);
        super::start::settle(&server).await;
        let all = bench.dir.join("figures.jsonl");
        for name in ["record.jsonl", "record.csv"] {
            let address = format!("http://{}/s/shop/api/{name}?from=1970-01-01&to=9999-12-31", server.address);
            let mut s = Vec::new();
            for _ in 0..runs {
                let at = Instant::now();
                let done = Command::new("curl")
                    .args(["-fsS", "-H", &format!("Authorization: Bearer {token}"), "-o"])
                    .arg(&all)
                    .arg(&address)
                    .status();
                assert!(done.expect("curl runs").success());
                s.push(at.elapsed().as_secs_f64());
            }
            row(
                &format!("{name} of {entries} entries"),
                &format!("{:.2} s", median(s)),
                &format!("{:.0} MB at most", server.memory_mb("VmHWM")),
            );
            if name == "record.jsonl" {
                let file = all.display().to_string();
                let s = (0..runs).map(|_| timed(&["evaluate", &file])).collect();
                row(&format!("`evaluate` of {entries} entries"), &format!("{:.2} s", median(s)), "");
            }
        }
        drop(server);
        let s = (0..runs).map(|_| timed(&["check", "--db", &url])).collect();
        row(&format!("`check` of {entries} entries"), &format!("{:.2} s", median(s)), "");
        _ = std::fs::remove_file(all);
    }
}

/// How long after a move is asked for each of 500 listeners has heard of it.
async fn fan_out(bench: &Bench, runs: usize) {
    let url = bench.database("figures", 0).await;
    let token = token(&url);
    let server = Server::start(&url, &[]);
    let mut client = connect(&server, &token).await;
    let shop = set_up(&mut client, "shop", 1).await;
    let stem = shop.ids[0].rsplit_once('-').expect("a stem").0.to_owned();
    let (tell, mut told) = tokio::sync::mpsc::unbounded_channel();
    let local = tokio::task::LocalSet::new();
    for _ in 0..LISTENERS {
        let stream = TcpStream::connect(&server.address).await.expect("a connection");
        let (read, mut write) = stream.into_split();
        let request = format!(
            "GET /s/shop/api/stream HTTP/1.1\r\nHost: {}\r\nAuthorization: Bearer {token}\r\n\r\n",
            server.address
        );
        write.write_all(request.as_bytes()).await.expect("asked");
        let tell = tell.clone();
        local.spawn_local(async move {
            let _kept = write;
            let mut lines = BufReader::new(read).lines();
            while let Ok(Some(line)) = lines.next_line().await {
                if line.starts_with("data:") && line.contains(r#""kind":"move""#) && tell.send(Instant::now()).is_err()
                {
                    return;
                }
            }
        });
    }
    let (mut first, mut last) = (Vec::new(), Vec::new());
    local
        .run_until(async {
            tokio::time::sleep(Duration::from_secs(1)).await;
            for n in 0..runs * 10 {
                let (at, place) = (Instant::now(), ["cold", "bench"][n % 2]);
                post(&mut client, "shop", &format!(r#"{{"kind":"move","item":"{stem}-0","place":"{stem}-{place}"}}"#))
                    .await;
                let mut ms = Vec::new();
                while ms.len() < LISTENERS {
                    ms.push(told.recv().await.expect("listeners").duration_since(at).as_secs_f64() * 1e3);
                }
                ms.sort_by(f64::total_cmp);
                first.push(quantile(&ms, 0.5));
                last.push(ms[LISTENERS - 1]);
            }
        })
        .await;
    row(
        &format!("heard by {LISTENERS} listeners of one stream"),
        &format!("the median one after {:.1} ms, the last after {:.1} ms", median(first), median(last)),
        "",
    );
}

pub async fn run(bench: &Bench) {
    let (runs, longest) = (bench.args.number("runs", 5), bench.args.number("longest", 1_000_000));
    let lengths = bench.args.number("shortest", 0)..=longest;
    println!("\n| what | measured | floor in the same run |\n| --- | --- | --- |");
    if lengths.contains(&0) {
        by_connections(bench, runs).await;
        boards(bench, runs).await;
        one_item(bench, runs).await;
        fan_out(bench, runs).await;
    }
    by_length(bench, runs, &lengths).await;
    whole_ledgers(bench, runs, &lengths).await;
}
