//! A start on a long ledger, and what the service takes when nobody asks anything.

use super::Bench;
use super::kit::args::verdict;
use super::kit::client::Client;
use super::kit::server::{Server, token};
use serde_json::Value;
use std::time::{Duration, Instant};

async fn ready(server: &Server) -> Option<Value> {
    let mut client = Client::connect(&server.address, "none").await.ok()?;
    let a = client.ask("GET", "/readyz", "").await.ok()?;
    (a.status == 200).then(|| serde_json::from_slice(&a.body).ok())?
}

/// Waits until the ledger is verified; what readyz said last, and how long after the start.
pub async fn settle(server: &Server) -> (Value, f64) {
    loop {
        if let Some(said) = ready(server).await
            && said["verified"] == said["of"]
            && said["sites"].as_u64() > Some(0)
        {
            return (said, server.since_start().as_secs_f64());
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

pub async fn on_a_long_ledger(bench: &Bench) {
    let entries = bench.args.number("ledger", 1_000_000);
    let url = bench.database("start", entries).await;
    let token = token(&url);
    println!("\nstart on a ledger of {entries} entries");
    let server = Server::start(&url, &[]);
    let listening = server.since_start();
    let Some(said) = ready(&server).await else { panic!("it isn't ready") };
    let answered = server.since_start();
    println!("  listening after {:.0} ms; readyz said {said}", listening.as_secs_f64() * 1e3);
    verdict("until readyz answers", answered.as_secs_f64(), "s", 1.0, false);
    println!("  VmRSS then {:.1} MB", server.memory_mb("VmRSS"));
    let (said, after) = settle(&server).await;
    println!("  the whole chain read after {after:.1} s: {said}");
    let mut client = Client::connect(&server.address, &token).await.expect("a connection");
    let at = Instant::now();
    let a = client.ask("GET", "/s/shop/api/items?limit=200", "").await.expect("an answer");
    println!("  first list {} in {:.1} ms", a.status, at.elapsed().as_secs_f64() * 1e3);
    let quiet = quiet(&server).await;
    println!("  quiet after {quiet:.1} s, VmHWM {:.1} MB", server.memory_mb("VmHWM"));
    verdict("idle VmRSS", server.memory_mb("VmRSS"), "MB", 40.0, false);
}

/// Waits until it uses no processor time for two seconds.
async fn quiet(server: &Server) -> f64 {
    loop {
        let before = server.cpu_s();
        tokio::time::sleep(Duration::from_secs(2)).await;
        if server.cpu_s() - before < 0.02 {
            return server.since_start().as_secs_f64();
        }
    }
}

pub async fn idle(bench: &Bench) {
    println!("\nidle, on the demo and on a made ledger of 1,000 entries");
    let demo = bench.database("demo", 0).await;
    let made = bench.database("made", 1_000).await;
    for (name, url, more) in [("demo", demo, &["--demo"][..]), ("1,000 entries", made, &[][..])] {
        let server = Server::start(&url, more);
        tokio::time::sleep(Duration::from_secs(10)).await;
        verdict(&format!("VmRSS after 10 s, {name}"), server.memory_mb("VmRSS"), "MB", 40.0, false);
    }
}
