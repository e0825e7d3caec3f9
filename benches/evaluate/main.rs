//! `evaluate` on a million made entries: in order, as whole ledger lines, and with late lines out of their places.
//! `cargo bench --bench evaluate -- [--entries N] [--only plain|ledger|late] [--runs N]`.

#[path = "../kit/mod.rs"]
mod kit;

use kit::args::{Args, conditions, kept_dir, verdict};
use kit::server::binary;
use kit::story;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

fn main() {
    let args = Args::read();
    let (entries, runs) = (args.number("entries", 1_000_000), args.number("runs", 3));
    println!("{}", conditions());
    for (name, what, target_s) in [
        ("plain", "in order, as posted", 3.0),
        ("ledger", "in order, whole ledger lines", 3.0),
        ("late", "whole ledger lines, one trip in ten written down late, late lines in other places", 6.0),
    ] {
        if args.text("only").is_some_and(|o| o != name) {
            continue;
        }
        let file = kept_dir().join(format!("{name}-{entries}.jsonl"));
        if !file.exists() {
            make(name, entries, &file).expect("a made ledger");
        }
        let mb = file.metadata().map_or(0, |m| m.len()) as f64 / 1e6;
        // The floor: reading the same lines with a JSON parser that keeps nothing.
        let floor_s = floor(&file);
        println!("\nevaluate {entries} entries {what} ({mb:.0} MB); read as JSON alone: {floor_s:.2} s");
        let mut took: Vec<(f64, f64, f64, usize)> = (0..runs).map(|_| run(&file)).collect();
        took.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (wall, cpu, mb, lines) = took[took.len() / 2];
        println!("  {lines} standings; median of {runs}: {wall:.2} s, of processor time {cpu:.2} s");
        verdict("wall", wall, "s", target_s, false);
        verdict("peak memory", mb, "MB", 500.0, false);
    }
    println!("{}", conditions());
}

fn make(name: &str, entries: usize, file: &Path) -> std::io::Result<()> {
    let making = PathBuf::from(format!("{}.part", file.display()));
    let mut out = BufWriter::new(File::create(&making)?);
    match name {
        "plain" => {
            for told in story::Story::new(0).take(entries) {
                writeln!(out, "{}", told.json)?;
            }
        }
        "ledger" => {
            for (_, line, _) in story::ledger(entries, 0) {
                writeln!(out, "{line}")?;
            }
        }
        _ => {
            // A late line stands some way after its place, as a file put together from several would have it.
            let mut held: Vec<(usize, String)> = Vec::new();
            for (i, (entry, line, _)) in story::ledger(entries, 10).enumerate() {
                if entry.meta.late_ms(entry.at).is_some() {
                    held.push((i + 37 + i * 7 % 900, line));
                } else {
                    writeln!(out, "{line}")?;
                }
                held.retain(|(until, line)| *until > i || writeln!(out, "{line}").is_err());
            }
            for (_, line) in held {
                writeln!(out, "{line}")?;
            }
        }
    }
    out.into_inner()?.sync_all()?;
    std::fs::rename(making, file)
}

fn floor(file: &Path) -> f64 {
    use std::io::BufRead;
    let began = Instant::now();
    let lines = std::io::BufReader::with_capacity(1 << 16, File::open(file).expect("the file")).lines();
    for line in lines {
        let line = line.expect("a line");
        serde_json::from_str::<serde::de::IgnoredAny>(&line).expect("JSON");
    }
    began.elapsed().as_secs_f64()
}

/// Wall seconds, processor seconds, peak MB, lines out.
fn run(file: &Path) -> (f64, f64, f64, usize) {
    use std::io::BufRead;
    let report = kept_dir().join("time");
    let began = Instant::now();
    // GNU time reports what the kernel counted of the process, its peak memory included.
    let mut child = Command::new("/usr/bin/time")
        .args(["-f", "%U %S %M", "-o"])
        .arg(&report)
        .arg(binary())
        .arg("evaluate")
        .arg(file)
        .stdout(Stdio::piped())
        .spawn()
        .expect("GNU time and the binary");
    let mut out = std::io::BufReader::with_capacity(1 << 18, child.stdout.take().expect("its output"));
    let (mut lines, mut buf) = (0, Vec::new());
    while out.read_until(b'\n', &mut buf).expect("its output") > 0 {
        lines += 1;
        buf.clear();
    }
    assert!(child.wait().expect("its end").success(), "evaluate refused the made ledger");
    let wall = began.elapsed().as_secs_f64();
    let said = std::fs::read_to_string(&report).expect("its report");
    let n: Vec<f64> = said.split_whitespace().filter_map(|f| f.parse().ok()).collect();
    (wall, n[0] + n[1], n[2] / 1024.0, lines)
}
