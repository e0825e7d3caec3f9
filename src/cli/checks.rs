//! The commands that read a ledger, check it and keep copies of it; and the certificate.

use super::{fail, said, there};
use crate::archive::{self, Kept};
use crate::check::Finding;
use crate::clock::Clock;
use crate::evaluate::{BadInput, Options, Reader, standings};
use crate::store::{Db, ledger as sql};
use std::io::{BufRead, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Makes a certificate, and says what to do with it.
pub(super) fn certificate(hosts: &[String], out: &Path) -> ExitCode {
    let made = match crate::tls::certificate(hosts, out, Clock::System.now()) {
        Ok(made) => made,
        Err(said) => return fail(&said),
    };
    println!("{}: for phones to trust, once", made.authority.display());
    println!("its SHA-256: {}", made.fingerprint);
    println!(
        "{} and {}: for serve --tls-cert and --tls-key, good until {}",
        made.cert.display(),
        made.key.display(),
        made.ends
    );
    println!(
        "Keep authority.key elsewhere than this machine: it makes next year's certificate, and needs nothing else."
    );
    ExitCode::SUCCESS
}

/// Writes the closed months.
pub(super) async fn archive(url: String, out: PathBuf) -> Result<ExitCode, String> {
    there(&url)?;
    let db = Db::open(&url).await.map_err(said)?;
    let mut conn = db.reader().await.map_err(said)?;
    let sites = sql::sites(&mut conn).await.map_err(said)?;
    drop(conn);
    let mut print = std::io::stdout();
    for site in sites {
        let kept = archive::write(&db, &site, &out, Clock::System.now()).await.map_err(said)?;
        for file in &kept {
            _ = match file {
                Kept::Written(path) => writeln!(print, "{}: written", path.display()),
                Kept::There(path) => writeln!(print, "{}: there already, and the same", path.display()),
            };
        }
        if kept.is_empty() {
            _ = writeln!(print, "{site}: no month is closed yet");
        }
    }
    db.close().await;
    Ok(ExitCode::SUCCESS)
}

/// Checks a database, and what is outside it against that.
pub(super) async fn check(
    url: String,
    heads: Vec<(u64, String)>,
    site: String,
    archive: Option<PathBuf>,
) -> Result<ExitCode, String> {
    there(&url)?;
    let db = Db::open(&url).await.map_err(said)?;
    let mut found = crate::check::database(&db).await.map_err(said)?;
    let mut against = Vec::new();
    for (seq, digits) in &heads {
        let mut conn = db.reader().await.map_err(said)?;
        let broken = crate::check::head(&mut conn, &site, *seq, digits).await.map_err(said)?;
        against.push(Finding { name: "an earlier head", broken });
    }
    if let Some(folder) = &archive {
        let mut conn = db.reader().await.map_err(said)?;
        let sites: Vec<&String> = found.iter().map(|(site, _)| site).filter(|s| folder.join(s).is_dir()).collect();
        let mut held = Vec::new();
        for site in sites {
            let broken = archive::held(&mut conn, site, folder).await.map_err(said)?;
            held.push((site.clone(), vec![Finding { name: "the archive", broken }]));
        }
        if held.is_empty() {
            return Err(format!("{} has no folder of a site of this database.", folder.display()));
        }
        found.extend(held);
    }
    if !against.is_empty() {
        found.push((site, against));
    }
    let codes: Vec<ExitCode> = found.iter().map(|(site, findings)| report(site, findings)).collect();
    db.close().await;
    Ok(if codes.iter().all(|c| *c == ExitCode::SUCCESS) { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// Prints each finding and says whether all hold.
pub(super) fn report(site: &str, findings: &[Finding]) -> ExitCode {
    let mut out = std::io::stdout();
    for f in findings {
        let broken = f.broken.as_deref().map_or(String::from("holds"), |b| format!("BROKEN: {b}"));
        let site = if site.is_empty() { String::new() } else { format!("{site}: ") };
        _ = writeln!(out, "{site}{}: {broken}", f.name);
    }
    if findings.iter().all(|f| f.broken.is_none()) { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// Prints standings of a file of entries.
pub(super) fn evaluate(options: Options, file: &std::path::Path) -> ExitCode {
    let input: Box<dyn BufRead> = if file.as_os_str() == "-" {
        Box::new(std::io::stdin().lock())
    } else {
        match std::fs::File::open(file) {
            Ok(f) => Box::new(std::io::BufReader::with_capacity(1 << 16, f)),
            Err(e) => return fail(&format!("{}: {e}", file.display())),
        }
    };
    let reader = match Reader::all(input) {
        Ok(reader) => reader,
        Err(BadInput::Line(bad)) => return fail(&format!("line {}: {}", bad.line, bad.refusal)),
        Err(BadInput::Io(e)) => return fail(&format!("the input cannot be read: {e}")),
    };
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
    let code = match written.and_then(|()| out.flush()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(e) => fail(&format!("the output cannot be written: {e}")),
    };
    // The process ends here: taking a million entries apart one by one would only take time.
    std::mem::forget((state, entries));
    code
}
