//! One function a command.

mod checks;
mod doctor;
mod keeping;
mod serve;

use crate::clock::{Clock, Instant, Zone};
use crate::config::{self, DbUrl, Given};
use crate::evaluate::Options;
use crate::ledger::Id;
use crate::people::{Role, tokens};
use crate::rules::book;
use crate::store::Db;
use crate::web::service::{FIRST_SITE, Service};
use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use tracing::Level;
use tracing_subscriber::filter::Targets;
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;

/// The program's version, and the commit it was built from where that is known.
const VERSION: &str = env!("COUNTERCLOCK_VERSION");

/// Tells a bakery how long each perishable-dairy item has been out of the cold.
#[derive(Parser)]
#[command(name = "counterclock", version = VERSION)]
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
    /// Runs the service.
    Serve(Box<Given>),
    /// Checks a database: the chain, the rows worked out from it, the invariants. Fails if one is broken.
    Check {
        #[command(flatten)]
        db: DbUrl,
        /// An earlier head, as a label or a paper carries it, like `412:0123456789ab`; may be given several times.
        #[arg(long, value_parser = head)]
        head: Vec<(u64, String)>,
        /// The site whose heads they are.
        #[arg(long, default_value = FIRST_SITE)]
        site: String,
        /// A folder of archived months to hold against the ledger.
        #[arg(long, value_name = "FOLDER")]
        archive: Option<PathBuf>,
    },
    /// Writes each closed month of every site to a file of its own that `check --archive`, `verify` and `evaluate` read.
    /// Nothing leaves the database, and no file is written over.
    Archive {
        #[command(flatten)]
        db: DbUrl,
        /// The folder; each site's months go into one of its own in it.
        #[arg(long)]
        out: PathBuf,
    },
    /// Copies a database into one file while it is in use; a PostgreSQL one too.
    Backup {
        #[command(flatten)]
        db: DbUrl,
        /// The file; one that is there is never written over.
        file: PathBuf,
    },
    /// Fills an empty database from such a file, and checks it.
    Restore {
        /// The file.
        file: PathBuf,
        #[command(flatten)]
        db: DbUrl,
    },
    /// Moves everything from one database into another, and checks it; what broke off goes on where it was.
    Move {
        /// The database that is left: `sqlite://FILE` or `postgres://…`.
        #[arg(long)]
        from: String,
        /// The empty one that is filled.
        #[arg(long)]
        to: String,
    },
    /// Looks at the clock, the disk, the database, the backups and the certificate, and says what is to be done.
    Doctor {
        #[command(flatten)]
        db: DbUrl,
        /// Where `serve --backup-dir` puts its backups.
        #[arg(long, value_name = "FOLDER")]
        backup_dir: Option<PathBuf>,
        /// The certificate that `serve` is given.
        #[arg(long, requires = "tls_key", value_name = "FILE")]
        tls_cert: Option<PathBuf>,
        /// Its key.
        #[arg(long, requires = "tls_cert", value_name = "FILE")]
        tls_key: Option<PathBuf>,
    },
    /// Checks a record in JSON Lines, with no ledger at hand.
    Verify {
        /// The file.
        file: PathBuf,
    },
    /// Makes a certificate for a shop that has none, from an authority of its own that phones are told to trust once.
    Certificate {
        /// A name or an address that phones reach the service at; may be given several times.
        #[arg(long = "host", required = true, value_name = "NAME")]
        hosts: Vec<String>,
        /// The folder for the files; an authority that is there is used again.
        #[arg(long, default_value = "certificate")]
        out: PathBuf,
    },
    /// Prints what a shell completes this program's commands by.
    Completions {
        /// Which shell.
        shell: clap_complete::Shell,
    },
    /// Prints the manual page.
    Manual,
    /// Tokens for programs and for signing in.
    Token {
        #[command(subcommand)]
        command: TokenCommand,
    },
}

#[derive(Subcommand)]
enum TokenCommand {
    /// Makes a bearer token and prints it alone on one line; it cannot be shown again.
    Add {
        /// Whose or what it is.
        #[arg(long)]
        name: String,
        /// What it may do.
        #[arg(long, value_parser = role)]
        role: Role,
        /// The site it is for.
        #[arg(long, default_value = FIRST_SITE, conflicts_with = "all")]
        site: String,
        /// For all sites.
        #[arg(long)]
        all: bool,
        /// A place whose air a probe measures; may be given several times. Without it a probe may write the air of every
        /// place of its site.
        #[arg(long = "place", value_name = "PLACE", value_parser = id, conflicts_with = "all")]
        places: Vec<Id>,
        #[command(flatten)]
        db: DbUrl,
        /// The IANA time zone of the first site, if this is what makes it.
        #[arg(long, value_parser = zone)]
        site_zone: Option<Zone>,
    },
}

fn id(text: &str) -> Result<Id, String> {
    Id::new(text).ok_or_else(|| String::from("an id has letters, digits, `.`, `_`, `-`, 1 to 40 of them"))
}

fn role(text: &str) -> Result<Role, String> {
    Role::named(text).ok_or_else(|| String::from("a role is staff, manager, inspector or probe"))
}

fn head(text: &str) -> Result<(u64, String), String> {
    let read = text.split_once(':').and_then(|(seq, hex)| Some((seq.parse().ok()?, crate::check::digits(hex)?)));
    read.ok_or_else(|| String::from("give an entry's number and 12 digits of its hash, like 412:0123456789ab"))
}

fn instant(text: &str) -> Result<Instant, String> {
    Instant::parse(text).ok_or_else(|| String::from("give RFC 3339 with an offset, like 2026-05-02T15:20:00+02:00"))
}

fn zone(text: &str) -> Result<Zone, String> {
    Zone::named(text).ok_or_else(|| String::from("give an IANA time zone, like Europe/London"))
}

/// Runs the command line.
pub fn run() -> ExitCode {
    let (matches, file) = match config::layered(Cli::command()) {
        Ok(layered) => layered,
        Err(said) => return fail(&said),
    };
    let cli = Cli::from_arg_matches(&matches).unwrap_or_else(|e| e.exit());
    match cli.command {
        Command::Evaluate { as_of, known_at, zone, file } => checks::evaluate(Options { as_of, known_at, zone }, &file),
        Command::Rules => rules(),
        Command::Serve(given) if given.print_config => {
            let serve = matches.subcommand_matches("serve").unwrap_or(&matches);
            print!("{}", config::shown(&Cli::command(), serve, &file));
            given.read().map_or_else(|wrong| fail(&wrong.join("\n")), |_| ExitCode::SUCCESS)
        }
        Command::Serve(given) => match given.read() {
            Ok(config) => {
                let json = config.json;
                run_logged(serve::run(config), json)
            }
            Err(wrong) => fail(&wrong.join("\n")),
        },
        Command::Check { db, head, site, archive } => run_async(checks::check(db.url, head, site, archive)),
        Command::Archive { db, out } => run_async(checks::archive(db.url, out)),
        Command::Verify { file } => match std::fs::read_to_string(&file) {
            Ok(text) => checks::report("", &crate::check::record(&text)),
            Err(e) => fail(&format!("{}: {e}", file.display())),
        },
        Command::Backup { db, file } => run_async(keeping::backup(db.url, file)),
        Command::Restore { file, db } => run_async(keeping::restore(file, db.url)),
        Command::Move { from, to } => run_async(keeping::moved(from, to)),
        Command::Doctor { db, backup_dir, tls_cert, tls_key } => {
            let also = doctor::Also { backups: backup_dir, tls: tls_cert.zip(tls_key) };
            run_async(doctor::run(db.url, also))
        }
        Command::Completions { shell } => {
            clap_complete::generate(shell, &mut Cli::command(), "counterclock", &mut std::io::stdout());
            ExitCode::SUCCESS
        }
        Command::Manual => manual(),
        Command::Certificate { hosts, out } => checks::certificate(&hosts, &out),
        Command::Token { command } => run_async(token(command)),
    }
}

/// The manual: the program's page, then each command's.
fn manual() -> ExitCode {
    fn pages(command: &clap::Command, out: &mut impl Write) -> std::io::Result<()> {
        clap_mangen::Man::new(command.clone()).render(out)?;
        command.get_subcommands().filter(|c| c.get_name() != "help").try_for_each(|c| pages(c, out))
    }
    let mut command = Cli::command();
    command.build();
    match pages(&command, &mut std::io::stdout().lock()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(e) => fail(&e.to_string()),
    }
}

fn run_async(work: impl Future<Output = Result<ExitCode, String>>) -> ExitCode {
    run_logged(work, false)
}

/// Runs on as many threads as there are cores; what fails is said in one sentence.
fn run_logged(work: impl Future<Output = Result<ExitCode, String>>, json: bool) -> ExitCode {
    let wanted = std::env::var("RUST_LOG").ok().and_then(|text| text.parse().ok());
    let log = tracing_subscriber::registry().with(wanted.unwrap_or_else(|| Targets::new().with_default(Level::INFO)));
    let lines = tracing_subscriber::fmt::layer().with_writer(std::io::stderr);
    if json {
        log.with(lines.json()).init();
    } else {
        log.with(lines).init();
    }
    // As an event like others: else it would stand between them as several lines of another form.
    std::panic::set_hook(Box::new(|info| {
        let at = info.location().map(tracing::field::display);
        tracing::error!(at, said = info.payload_as_str(), "a fault in the program");
    }));
    let runtime = match tokio::runtime::Builder::new_multi_thread().enable_all().build() {
        Ok(r) => r,
        Err(e) => return fail(&format!("the program cannot start its threads: {e}")),
    };
    match runtime.block_on(work) {
        Ok(code) => code,
        Err(said) => {
            eprintln!("{said}");
            ExitCode::FAILURE
        }
    }
}

/// Whether there is a database at all: to look at one that isn't would make it.
fn there(url: &str) -> Result<(), String> {
    match url.strip_prefix("sqlite://").map(std::path::Path::new) {
        Some(file) if !file.exists() => Err(format!("There is no database {}; check --db.", file.display())),
        _ => Ok(()),
    }
}

fn said(e: impl std::fmt::Display) -> String {
    e.to_string()
}

/// Opens the service; the first start makes a site named `shop`.
async fn open(db: Db, zone: Option<Zone>, clock: Clock) -> Result<Service, String> {
    let service = Service::open(db, clock).await.map_err(said)?;
    if service.is_empty() {
        if zone.is_none() {
            tracing::warn!("no --site-zone was given: the shop's calendar days are those of UTC, and stay so");
        }
        let zone = zone.unwrap_or(Zone::UTC).name();
        let first = format!(r#"{{"kind":"site","name":"Shop","zone":"{zone}","units":"C"}}"#);
        service.add_site(FIRST_SITE, &first).await.map_err(fault)?;
    }
    Ok(service)
}

fn fault(f: crate::web::service::Fault) -> String {
    let p = crate::web::error::Problem::from(f);
    format!("{} {}", p.detail, (p.next)())
}

async fn token(command: TokenCommand) -> Result<ExitCode, String> {
    let TokenCommand::Add { name, role, site, all, places, db, site_zone } = command;
    if role != Role::Probe && !places.is_empty() {
        return Err(String::from("Only a probe is limited to places: leave `--place` out, or give `--role probe`."));
    }
    let db = Db::open(&db.url).await.map_err(said)?;
    let service = open(db.clone(), site_zone, Clock::of_env()).await?;
    if !all && !service.has(&site) {
        return Err(format!("There is no site `{site}`; there are: {}.", service.sites().join(", ")));
    }
    let site = if all { tokens::ALL } else { &site };
    let token = match places.is_empty() {
        true => service.add_token(site, &name, role).await,
        false => {
            let state = service.look(site, &[]).await.map_err(fault)?.state;
            if let Some(unknown) = places.iter().find(|p| !state.places.contains_key(*p)) {
                let known: Vec<&str> = state.places.keys().map(Id::as_str).collect();
                let known = if known.is_empty() { "none yet" } else { &known.join(", ") };
                return Err(format!("There is no place `{unknown}`; there are: {known}."));
            }
            service.add_probe(site, &name, &places).await
        }
    };
    let token = token.map_err(fault)?;
    _ = writeln!(std::io::stdout(), "{token}");
    db.close().await;
    Ok(ExitCode::SUCCESS)
}

fn fail(said: &str) -> ExitCode {
    eprintln!("{said}");
    ExitCode::from(2)
}

fn rules() -> ExitCode {
    let mut out = std::io::stdout().lock();
    let mut print = || -> std::io::Result<()> {
        writeln!(out, "{}", book::defers())?;
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
