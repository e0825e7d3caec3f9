//! The service under load, beside what the disk and SQLite give by themselves:
//! `cargo bench --bench load -- [--only moves|list|start|idle|figures|shops] [--ledger N] [--seconds S] [--connections C]
//! [--items N] [--rack MOVES_A_REQUEST] [--db postgres://…] [--pace MOVES_A_SECOND]`.
//! `--only figures [--runs 5] [--pg postgres://…] [--shortest 0] [--longest 1000000]` measures a whole table of figures,
//! `--only shops --pg postgres://… [--most 64] [--day 60]` many shops on one database and two servers.

mod figures;
#[path = "../kit/mod.rs"]
mod kit;
mod list;
mod moves;
mod shops;
mod start;

use kit::args::{Args, conditions, kept_dir};
use kit::preload;
use std::path::PathBuf;

/// What a run works on.
pub struct Bench {
    pub args: Args,
    pub dir: PathBuf,
}

impl Bench {
    /// A database with `--ledger` entries, or the address given with `--db` as it is.
    pub async fn database(&self, name: &str, entries: usize) -> String {
        if let Some(url) = self.args.text("db") {
            return url.to_owned();
        }
        let file = self.dir.join(format!("{name}.db"));
        if entries > 0 {
            let made = preload::sqlite(&self.dir, entries).await.expect("a made ledger");
            return preload::copy(&made, &file).expect("a copy of it");
        }
        for end in ["", "-wal", "-shm"] {
            _ = std::fs::remove_file(format!("{}{end}", file.display()));
        }
        format!("sqlite://{}", file.display())
    }
}

fn main() {
    let bench = Bench { args: Args::read(), dir: kept_dir() };
    // One thread: the cores are the service's.
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    println!("{}", conditions());
    runtime.block_on(async {
        let only = bench.args.text("only");
        let wanted = |what: &str| only.is_none_or(|o| o == what);
        if wanted("moves") {
            moves::run(&bench, bench.args.number("ledger", 0)).await;
            if only.is_none() && bench.args.text("db").is_none() {
                moves::run(&bench, 1_000_000).await;
            }
        }
        if wanted("list") {
            list::run(&bench).await;
        }
        if wanted("start") {
            start::on_a_long_ledger(&bench).await;
        }
        if wanted("idle") {
            start::idle(&bench).await;
        }
        match only {
            Some("figures") => figures::run(&bench).await,
            Some("shops") => shops::run(&bench).await,
            _ => {}
        }
    });
    println!("{}", conditions());
}
