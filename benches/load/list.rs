//! The first 200 of 10,000 open items, while moves go on.

use super::Bench;
use super::kit::args::{quantile, verdict};
use super::kit::client::Client;
use super::kit::server::{Server, token};
use super::moves::{load, set_up};
use std::rc::Rc;
use std::time::{Duration, Instant};

pub async fn run(bench: &Bench) {
    let (items, seconds) = (bench.args.number("items", 10_000), bench.args.number("seconds", 10) as f64);
    let url = bench.database("list", 0).await;
    let token = token(&url);
    let server = Server::start(&url, &[]);
    let mut client = Client::connect(&server.address, &token).await.expect("a connection");
    println!("\nlist: the first 200 of {items} open items");
    let shops = [Rc::new(set_up(&mut client, "shop", items).await)];
    println!("  service VmRSS {:.0} MB", server.memory_mb("VmRSS"));
    let pace = bench.args.number("pace", 200) as f64;
    for (said, pace) in
        [(format!("{pace:.0} moves/s going on"), Some(pace)), (String::from("64 connections moving"), None)]
    {
        // Anew: a connection that was quiet for ten seconds has been closed.
        let mut client = Client::connect(&server.address, &token).await.expect("a connection");
        shops[0].take_out(&mut client).await;
        let (address, mine) = (server.address.clone(), token.clone());
        // On a thread of its own, so that what is measured is not the load generator's own queue.
        let asking = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
            runtime.block_on(ask(&address, &mine, seconds))
        });
        let moved = load(&server.address, &token, &shops, 64, seconds, 1, pace).await;
        let mut ms = asking.join().expect("the list's answers");
        ms.sort_by(f64::total_cmp);
        let moved = moved.take();
        assert!(moved.others.is_empty(), "{:?}", moved.others[0]);
        let moved = moved.ms.len() as f64 / seconds;
        println!("  {said} ({moved:.0}/s): {} lists, p50 {:.2} ms", ms.len(), quantile(&ms, 0.5));
        verdict("p99", quantile(&ms, 0.99), "ms", 20.0, false);
    }
}

async fn ask(address: &str, token: &str, seconds: f64) -> Vec<f64> {
    let mut client = Client::connect(address, token).await.expect("a connection");
    let (began, mut ms) = (Instant::now(), Vec::new());
    while began.elapsed().as_secs_f64() < seconds {
        let at = Instant::now();
        let a = client.ask("GET", "/s/shop/api/items?limit=200", "").await.expect("an answer");
        ms.push(at.elapsed().as_secs_f64() * 1e3);
        assert_eq!(a.status, 200);
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    ms
}
