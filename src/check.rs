//! `check` and `verify`: recompute the chain, the rows worked out from it and the invariants, by name.

use crate::evaluate::Reader;
use crate::ledger::{Id, State, chain};
use crate::record::procedure;
use crate::store::{Conn, Db, StoreError, item_row, ledger as sql, load, rows};
use std::collections::{BTreeSet, HashSet};

/// One invariant, and what breaks it.
pub struct Finding {
    /// The invariant's name.
    pub name: &'static str,
    /// What breaks it; none if it holds.
    pub broken: Option<String>,
}

/// Ledger lines read at once.
const PAGE: u32 = 500;

const ITEM_ROWS: &str =
    "select item, begun_at, closed_at, standing, rank, left_ms from item where site = $1 order by item";
const LINKS: &str = "select parent, child from made_from where site = $1";

/// What a table's rows say of an item.
type Row = (String, i64, Option<i64>, Option<String>, i64, i64);

/// Checks every site of a database.
pub async fn database(db: &Db) -> Result<Vec<(String, Vec<Finding>)>, StoreError> {
    let mut conn = db.reader().await?;
    let mut found = Vec::new();
    for site in sql::sites(&mut conn).await? {
        conn.begin_read().await?;
        let findings = site_findings(&mut conn, &site).await?;
        conn.commit().await?;
        found.push((site, findings));
    }
    Ok(found)
}

/// Reads a site's chain from its beginning to where it ends now: what breaks it, if anything. `each` is shown every
/// line, with its number and how many there are.
pub async fn chain_of(
    conn: &mut Conn,
    site: &str,
    mut each: impl FnMut(u64, &str, u64),
) -> Result<Option<String>, StoreError> {
    let (head, hash) = sql::head(conn, site).await?.unwrap_or((0, chain::START.to_owned()));
    let (mut prev, mut seq, mut broken) = (chain::START.to_owned(), 0, None);
    while seq < head {
        let mut page = sql::tail(conn, site, seq, PAGE).await?;
        // What was written since belongs to the next time.
        page.retain(|(n, _)| *n <= head);
        if page.is_empty() {
            break;
        }
        for (n, line) in &page {
            if broken.is_none() {
                match chain::check(Some(&prev), line) {
                    _ if *n != seq + 1 => broken = Some(format!("entry {} is missing", seq + 1)),
                    Ok(hash) => prev = hash,
                    Err(why) => broken = Some(format!("entry {n}: {why}")),
                }
            }
            seq = *n;
            each(seq, line, head);
        }
        tokio::task::yield_now().await;
    }
    // Entries that were written meanwhile moved the head as well.
    let beyond = sql::tail(conn, site, head, 1).await?.pop().map(|(n, _)| n);
    let moved = sql::head(conn, site).await?.is_none_or(|h| h.0 != head);
    let end = beyond.filter(|_| !moved).unwrap_or(seq);
    if broken.is_none() && (end != head || prev != hash) {
        broken = Some(format!("the ledger ends at entry {end}, the site's head says {head}"));
    }
    Ok(broken)
}

async fn site_findings(conn: &mut Conn, site: &str) -> Result<Vec<Finding>, StoreError> {
    let (mut reader, mut unreadable) = (Reader::default(), None);
    let broken = chain_of(conn, site, |n, line, _| {
        if unreadable.is_none()
            && let Err(bad) = reader.line(line)
        {
            unreadable = Some(format!("entry {n}: {}", bad.refusal));
        }
    });
    let mut findings = vec![Finding { name: "chain", broken: broken.await? }];
    let state = match (unreadable, reader.finish(None)) {
        (None, Ok((state, _))) => Some(state),
        (Some(why), _) => return Ok(with(findings, "order of truth", Some(why))),
        (None, Err(bad)) => {
            return Ok(with(findings, "order of truth", Some(format!("{}: {}", bad.line, bad.refusal))));
        }
    };
    findings = with(findings, "order of truth", None);
    if let Some(state) = state {
        let rows: Vec<Row> = rows!(conn, Row, ITEM_ROWS, site)?;
        findings = with(findings, "items' rows", item_rows(&state, rows));
        let links: Vec<(String, String)> = rows!(conn, (String, String), LINKS, site)?;
        findings = with(findings, "made from", made_from(&state, links));
        let versions = procedure::sql::texts(conn, site).await?;
        findings = with(findings, "the written procedure", written_procedure(&state, &versions));
        let loaded = load::shop(conn, site, crate::clock::Instant::FAR).await?;
        findings = with(findings, "the fold of open items", open_items(&state, &loaded));
    }
    Ok(findings)
}

fn with(mut findings: Vec<Finding>, name: &'static str, broken: Option<String>) -> Vec<Finding> {
    findings.push(Finding { name, broken });
    findings
}

fn item_rows(state: &State, rows: Vec<Row>) -> Option<String> {
    // In the rows' order: names that are alike mostly began together, and so their entries lie together in memory.
    for row in &rows {
        let Some(fold) = Id::new(&row.0).and_then(|id| item_row(state, &id)) else {
            return Some(format!("item {} has a row and no entries", row.0));
        };
        let expected = (fold.begun_at, fold.closed_at, &fold.standing, fold.rank, fold.left_ms);
        if (row.1, row.2, &row.3, row.4, row.5) != expected {
            return Some(format!("item {}: its row differs from the fold of its entries", row.0));
        }
    }
    let known: HashSet<&str> = rows.iter().map(|r| r.0.as_str()).collect();
    let without = state.items.keys().find(|id| !known.contains(id.as_str()) && item_row(state, id).is_some())?;
    Some(format!("item {without} has no row"))
}

fn made_from(state: &State, links: Vec<(String, String)>) -> Option<String> {
    let known: BTreeSet<(String, String)> = links.into_iter().collect();
    for (child, item) in &state.items {
        for parent in item.truth.iter().flat_map(|e| e.parents()) {
            if !known.contains(&(parent.to_string(), child.to_string())) {
                return Some(format!("{child} was made from {parent}, and no row says so"));
            }
        }
    }
    None
}

/// Each version still has the text whose hash was kept with it and sealed into the chain by its approval.
fn written_procedure(state: &State, versions: &[(u32, String, String)]) -> Option<String> {
    for (n, (version, hash, text)) in (1..).zip(versions) {
        if *version != n {
            return Some(format!("version {n} is missing"));
        }
        if procedure::hash(text) != *hash || procedure::Document::read(text).is_none() {
            return Some(format!("version {version} no longer has the text it was written with"));
        }
    }
    let approvals = state.others.values().filter_map(|r| procedure::approved_as(&r.original));
    for a in approvals {
        let of = versions.iter().find(|(version, ..)| *version == a.version);
        if of.is_none_or(|(_, hash, _)| *hash != a.hash) {
            return Some(format!("entry {} approves version {} with another text than is kept", a.seq, a.version));
        }
    }
    None
}

fn open_items(state: &State, loaded: &State) -> Option<String> {
    let open = |s: &State| -> BTreeSet<Id> {
        s.items.iter().filter(|(_, i)| i.begin().is_some() && i.end().is_none()).map(|(id, _)| id.clone()).collect()
    };
    let (all, memory) = (open(state), open(loaded));
    if let Some(id) = all.symmetric_difference(&memory).next() {
        return Some(format!("item {id} is open by the ledger or by the rows, not by both"));
    }
    let zone = state.site.as_ref().map_or(crate::clock::Zone::UTC, |s| s.zone);
    let at = state.recorded_at?;
    let fold = crate::exposure::Fold::new(state, at, zone);
    let other = crate::exposure::Fold::new(loaded, at, zone);
    for id in &all {
        let (a, b) = (state.items.get_key_value(id)?, loaded.items.get_key_value(id)?);
        if crate::rules::standing(&fold, a.0) != crate::rules::standing(&other, b.0) {
            return Some(format!("item {id}: what a server folds differs from the whole ledger's fold"));
        }
    }
    None
}

/// Checks a record on its own: each entry's hash, the links between neighbours, and that it can be evaluated.
pub fn record(text: &str) -> Vec<Finding> {
    let mut reader = Reader::default();
    let (mut broken, mut unreadable, mut last, mut count) = (None, None, None::<(u64, String)>, 0_u64);
    // Not by `lines`, which passes over what stands before a line's end: each byte counts.
    for (i, line) in text.split('\n').enumerate().filter(|(_, l)| !l.is_empty()) {
        count += 1;
        if !chain::exact(line) {
            _ = broken.get_or_insert_with(|| format!("line {}: it is not written as the ledger writes it", i + 1));
        }
        let seq = chain::seq(line);
        let prev = last.as_ref().filter(|(n, _)| Some(n + 1) == seq).map(|(_, hash)| hash.as_str());
        match chain::check(prev, line) {
            Ok(hash) => last = seq.map(|n| (n, hash)),
            Err(why) => _ = broken.get_or_insert_with(|| format!("line {}: {why}", i + 1)),
        }
        if unreadable.is_none()
            && let Err(bad) = reader.line(line)
        {
            unreadable = Some(format!("line {}: {}", bad.line, bad.refusal));
        }
    }
    if count == 0 {
        broken = Some(String::from("there is no entry in it"));
    }
    let findings = vec![Finding { name: "chain", broken }];
    let truth = unreadable.or_else(|| reader.finish(None).err().map(|b| format!("line {}: {}", b.line, b.refusal)));
    with(findings, "order of truth", truth)
}

/// The digits of a hash as they stand on a label or a paper: 12 or more. `None` if they aren't any.
pub fn digits(text: &str) -> Option<String> {
    let hex: String = text.trim().to_ascii_lowercase();
    let fit = (12..=64).contains(&hex.len()) && hex.bytes().all(|b| b.is_ascii_hexdigit());
    fit.then_some(hex)
}

/// What is wrong with an earlier head of a ledger, as a label or a paper carries it, if anything: a chain that was cut off
/// or made anew holds in itself, and not against what is outside the shop.
pub async fn head(conn: &mut Conn, site: &str, seq: u64, digits: &str) -> Result<Option<String>, StoreError> {
    #[derive(serde::Deserialize)]
    struct Hash {
        hash: String,
    }
    let Ok(before) = i64::try_from(seq.saturating_sub(1)) else { return Ok(Some(format!("entry {seq} is not there"))) };
    let found = sql::tail(conn, site, before as u64, 1).await?.pop().filter(|(n, _)| *n == seq);
    let Some((_, line)) = found else {
        return Ok(Some(format!("entry {seq} is not there")));
    };
    let hash = serde_json::from_str::<Hash>(&line).map(|h| h.hash).unwrap_or_default();
    Ok((!hash.starts_with(digits)).then(|| format!("entry {seq} has another hash: {}", chain::digits(&hash))))
}
