//! One function a command.

use crate::clock::{Instant, Zone};
use crate::evaluate::{Options, Reader, standings};
use crate::rules::book;
use clap::{Parser, Subcommand};
use std::io::{BufRead, Write};
use std::path::PathBuf;
use std::process::ExitCode;

/// Tells a bakery how long each perishable-dairy item has been out of the cold.
#[derive(Parser)]
#[command(name = "counterclock", version)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Reads entries as JSON Lines and prints one standing a line. Needs no database.
    Evaluate {
        /// The instant the standings are of; the greatest `at` if left out.
        #[arg(long, value_parser = instant)]
        as_of: Option<Instant>,
        /// Drops what was recorded later than this.
        #[arg(long, value_parser = instant)]
        known_at: Option<Instant>,
        /// The IANA time zone for calendar days; the `site` entry's, or UTC, if left out.
        #[arg(long, value_parser = zone)]
        zone: Option<Zone>,
        /// A file of entries, `-` for standard input.
        #[arg(default_value = "-")]
        file: PathBuf,
    },
    /// Prints the built-in rule book with its sources.
    Rules,
}

fn instant(text: &str) -> Result<Instant, String> {
    Instant::parse(text).ok_or_else(|| String::from("give RFC 3339 with an offset, like 2026-05-02T15:20:00+02:00"))
}

fn zone(text: &str) -> Result<Zone, String> {
    Zone::named(text).ok_or_else(|| String::from("give an IANA time zone, like Europe/London"))
}

/// Runs the command line.
pub fn run() -> ExitCode {
    match Cli::parse().command {
        Command::Evaluate { as_of, known_at, zone, file } => evaluate(Options { as_of, known_at, zone }, &file),
        Command::Rules => rules(),
    }
}

fn evaluate(options: Options, file: &std::path::Path) -> ExitCode {
    let input: Box<dyn BufRead> = if file.as_os_str() == "-" {
        Box::new(std::io::stdin().lock())
    } else {
        match std::fs::File::open(file) {
            Ok(f) => Box::new(std::io::BufReader::with_capacity(1 << 16, f)),
            Err(e) => return fail(&format!("{}: {e}", file.display())),
        }
    };
    let mut reader = Reader::default();
    let mut input = input;
    let mut line = String::new();
    loop {
        line.clear();
        match input.read_line(&mut line) {
            Ok(0) => break,
            Ok(_) => {
                if let Err(bad) = reader.line(&line) {
                    return fail(&format!("line {}: {}", bad.line, bad.refusal));
                }
            }
            Err(e) => return fail(&format!("the input cannot be read: {e}")),
        }
    }
    let (state, entries) = match reader.finish(options.known_at) {
        Ok(read) => read,
        Err(bad) => return fail(&format!("line {}: {}", bad.line, bad.refusal)),
    };
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut written = Ok(());
    standings(&state, &entries, options, |s| {
        if written.is_ok() {
            written = serde_json::to_writer(&mut out, &s).map_err(Into::into).and_then(|()| out.write_all(b"\n"));
        }
    });
    match written.and_then(|()| out.flush()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(e) => fail(&format!("the output cannot be written: {e}")),
    }
}

fn fail(said: &str) -> ExitCode {
    eprintln!("{said}");
    ExitCode::from(2)
}

fn rules() -> ExitCode {
    let mut out = std::io::stdout().lock();
    let mut print = || -> std::io::Result<()> {
        writeln!(out, "{}", book::DEFERS)?;
        for rule in book::all() {
            let s = &rule.source;
            writeln!(out, "\n{}: {} (may go back: {})", rule.rule, rule.name, word(&rule.returns))?;
            for c in &rule.clauses {
                writeln!(out, "  {}", word(&c.text))?;
            }
            let place = [s.edition.as_deref(), s.section.as_deref()];
            let place: Vec<&str> = place.into_iter().flatten().collect();
            writeln!(out, "  source: {} [{}]; {}", s.title, place.join("; "), s.basis)?;
        }
        Ok(())
    };
    // A reader that closes the pipe early has read enough.
    _ = print();
    ExitCode::SUCCESS
}

fn word<T: serde::Serialize>(value: &T) -> String {
    serde_json::to_string(value).unwrap_or_default().trim_matches('"').to_owned()
}
