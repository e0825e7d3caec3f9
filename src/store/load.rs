//! Reads ledger lines back into a state: the open items with all they were made from, others when asked for.

use super::{Conn, StoreError, rows};
use crate::clock::Instant;
use crate::exposure::AIR_HOLDS_MS;
use crate::ledger::{self, Body, Entry, From, Id, Record, State};
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::sync::Arc;

/// Ledger lines by `seq`.
pub type Lines = BTreeMap<u64, String>;

// The index's own list of kinds first: SQLite doesn't see that the shorter one is part of it.
const CONFIG: &str =
    "select seq, line from entry where site = $1 and kind in ('site', 'place', 'rule', 'product', 'decide', 'approve', 'review')
    and kind in ('site', 'place', 'rule', 'product') order by seq";
const NEAR: &str = "select item from item where site = $1 and (closed_at is null or closed_at >= $2)";
const NEAR_LINES: &str = "select e.seq, e.line from item i join entry e on e.site = i.site and e.item = i.item
    where i.site = $1 and (i.closed_at is null or i.closed_at >= $2)";
const ITEM_LINES: &str = "select seq, line from entry where site = $1 and item = $2";
const PLACE_LINES: &str = "select seq, line from entry where site = $1 and place is not null and air_at is null";
const AIR_CORRECTED: &str = "select e.seq, e.line from entry c join entry e on e.site = c.site and e.seq = c.target
    where c.site = $1 and c.place is not null and c.air_at is null and c.target is not null";
const AIR: &str = "select seq, line from entry where site = $1 and air_at >= $2 and air_at < $3";
const CORRECTIONS: &str = "select seq, line from entry where site = $1 and target = $2";
const ONE: &str = "select seq, line from entry where site = $1 and seq = $2";
const PARENTS: &str = "select parent from made_from where site = $1 and child = $2";
const NEAR_PARENTS: &str = "select m.parent from item i join made_from m on m.site = i.site and m.child = i.item
    where i.site = $1 and (i.closed_at is null or i.closed_at >= $2)";
const JOINS: &str = "select e.seq, e.line from made_from m join entry e on e.site = m.site and e.item = m.child
    where m.site = $1 and m.parent = $2 and e.kind in ('item', 'join', 'correct')";
const CHILDREN: &str = "select child from made_from where site = $1 and parent = $2";

/// Reads one stored line.
pub fn entry(site: &str, seq: u64, line: &str) -> Result<Entry, StoreError> {
    let unreadable = |why: String| StoreError::Unreadable { site: site.to_owned(), seq, why };
    let parsed = ledger::parse(line, From::Ledger).map_err(|r| unreadable(r.to_string()))?;
    match (parsed.at, parsed.bodies.into_iter().next()) {
        (Some(at), Some(body)) => Ok(Entry { at, note: parsed.note, body, meta: parsed.meta }),
        _ => Err(unreadable(String::from("it has no `at`"))),
    }
}

/// Puts lines into a state, corrections after what they correct. Lines already there are passed over.
pub fn put(site: &str, state: &mut State, lines: &Lines) -> Result<(), StoreError> {
    let mut entries = BTreeMap::new();
    for (seq, line) in lines {
        entries.insert(*seq, Arc::new(entry(site, *seq, line)?));
    }
    let unreadable = |seq: u64, why: String| StoreError::Unreadable { site: site.to_owned(), seq, why };
    for (seq, e) in &entries {
        let have = state.record(*seq, e).is_some();
        if !have && !matches!(e.body, Body::Correct { .. }) {
            state.insert(e.clone()).map_err(|r| unreadable(*seq, r.to_string()))?;
        }
    }
    for (seq, e) in &entries {
        let Body::Correct { entry: target, .. } = e.body else { continue };
        let Some(original) = entries.get(&target) else { continue };
        let known = state.record(target, original).is_some_and(|r| r.corrections.iter().any(|c| c.meta.seq == *seq));
        if !known {
            state.correct(original, e.clone()).map_err(|r| unreadable(*seq, r.to_string()))?;
        }
    }
    Ok(())
}

fn add(lines: &mut Lines, found: Vec<(i64, String)>) {
    lines.extend(found.into_iter().map(|(seq, line)| (seq as u64, line)));
}

/// The shop's set-up, and every place's lapses and restores, with all that was corrected there.
pub async fn setup(conn: &mut Conn, site: &str) -> Result<Lines, StoreError> {
    let mut lines = Lines::new();
    add(&mut lines, rows!(conn, (i64, String), CONFIG, site)?);
    let targets: Vec<u64> = lines.keys().copied().collect();
    for seq in targets {
        add(&mut lines, rows!(conn, (i64, String), CORRECTIONS, site, seq as i64)?);
    }
    add(&mut lines, rows!(conn, (i64, String), PLACE_LINES, site)?);
    add(&mut lines, rows!(conn, (i64, String), AIR_CORRECTED, site)?);
    Ok(lines)
}

/// Of the air of all places, the readings of a stretch.
pub async fn air(conn: &mut Conn, site: &str, from: Instant, to: Instant, lines: &mut Lines) -> Result<(), StoreError> {
    add(lines, rows!(conn, (i64, String), AIR, site, from.0, to.0)?);
    Ok(())
}

/// From when on the air matters to the items in these lines: an earlier reading no longer holds at their beginning,
/// by whatever was ever said of when that was.
pub fn air_matters(site: &str, lines: &Lines) -> Result<Option<Instant>, StoreError> {
    let mut earliest: Option<Instant> = None;
    // Few lines do; what a person typed has its quotes escaped.
    let may = |line: &str| line.contains("\"kind\":\"item\"") || line.contains("\"kind\":\"correct\"");
    for (seq, line) in lines.iter().filter(|(_, line)| may(line)) {
        let e = entry(site, *seq, line)?;
        let at = e.corrected_at().unwrap_or(e.at).min(e.at);
        earliest = Some(earliest.map_or(at, |t| t.min(at)));
    }
    Ok(earliest.map(|t| t.plus(-AIR_HOLDS_MS)))
}

/// Brings readings of the air into a state, back to an instant.
pub async fn air_back(conn: &mut Conn, site: &str, state: &mut State, to: Instant) -> Result<(), StoreError> {
    if to < state.air_since {
        let (mut lines, head) = (Lines::new(), state.head);
        air(conn, site, to, state.air_since, &mut lines).await?;
        put(site, state, &lines)?;
        state.head = head.max(state.head);
        state.air_since = to;
    }
    Ok(())
}

/// Items with all they were made from, the set-up, and the cold and air of their time.
pub async fn with_all(conn: &mut Conn, site: &str, list: &[Id], from: Instant) -> Result<Lines, StoreError> {
    let mut lines = setup(conn, site).await?;
    ancestors(conn, site, list, &mut lines, |_| false).await?;
    let since = air_matters(site, &lines)?.unwrap_or(from).min(from);
    air(conn, site, since, Instant::FAR, &mut lines).await?;
    Ok(lines)
}

/// A shop at its start: its set-up, its open items, those closed since `since`, and all they were made from.
pub async fn shop(conn: &mut Conn, site: &str, since: Instant) -> Result<State, StoreError> {
    let mut lines = setup(conn, site).await?;
    let near: HashSet<String> = rows!(conn, (String,), NEAR, site, since.0)?.into_iter().map(|r| r.0).collect();
    add(&mut lines, rows!(conn, (i64, String), NEAR_LINES, site, since.0)?);
    let parents: BTreeSet<String> =
        rows!(conn, (String,), NEAR_PARENTS, site, since.0)?.into_iter().map(|r| r.0).collect();
    let further: Vec<Id> = parents.iter().filter(|p| !near.contains(*p)).filter_map(|p| Id::new(p)).collect();
    ancestors(conn, site, &further, &mut lines, |id| near.contains(id)).await?;
    let mut state = State { air_since: Instant::FAR, ..State::default() };
    put(site, &mut state, &lines)?;
    let needed = air_matters(site, &lines)?.unwrap_or(since).min(since);
    air_back(conn, site, &mut state, needed).await?;
    Ok(state)
}

/// The lines of items and of all they were made from, as far as `known` says they aren't at hand.
pub async fn ancestors(
    conn: &mut Conn,
    site: &str,
    items: &[Id],
    lines: &mut Lines,
    known: impl Fn(&str) -> bool,
) -> Result<(), StoreError> {
    let mut todo: Vec<String> = items.iter().map(|i| i.as_str().to_owned()).collect();
    let mut seen: HashSet<String> = HashSet::new();
    while let Some(id) = todo.pop() {
        if known(&id) || !seen.insert(id.clone()) {
            continue;
        }
        add(lines, rows!(conn, (i64, String), ITEM_LINES, site, &id)?);
        todo.extend(rows!(conn, (String,), PARENTS, site, &id)?.into_iter().map(|r| r.0));
    }
    Ok(())
}

/// Adds the lines of the items that readings and decisions name, so that they can be read with nothing unknown in them.
pub async fn named(conn: &mut Conn, site: &str, lines: &mut Lines) -> Result<(), StoreError> {
    let mut known = BTreeSet::new();
    loop {
        let mut named = BTreeSet::new();
        // Few lines do; what a person typed has its quotes escaped.
        let may = |line: &str| line.contains("\"probed\":\"") || line.contains("\"about\":\"");
        for (seq, line) in lines.iter().filter(|(_, line)| may(line)) {
            let e = entry(site, *seq, line)?;
            named.extend(e.named());
            if let Body::Correct { change, .. } = e.body {
                named.extend(change.named());
            }
        }
        let new: Vec<Id> = named.into_iter().filter(|id| known.insert(id.clone())).collect();
        if new.is_empty() {
            return Ok(());
        }
        ancestors(conn, site, &new, lines, |_| false).await?;
    }
}

/// Brings items, and all they were made from, into a state that lacks them. Unknown ones stay absent.
pub async fn items(conn: &mut Conn, site: &str, state: &mut State, items: &[Id]) -> Result<(), StoreError> {
    let missing: Vec<Id> = items.iter().filter(|i| !state.items.contains_key(*i)).cloned().collect();
    if missing.is_empty() {
        return Ok(());
    }
    let mut lines = Lines::new();
    let known = |id: &str| Id::new(id).is_some_and(|id| state.items.contains_key(&id));
    ancestors(conn, site, &missing, &mut lines, known).await?;
    let head = state.head;
    put(site, state, &lines)?;
    state.head = head.max(state.head);
    if let Some(since) = air_matters(site, &lines)? {
        air_back(conn, site, state, since).await?;
    }
    Ok(())
}

/// Brings everything made from an item, to any depth, into the state.
pub async fn descendants(conn: &mut Conn, site: &str, state: &mut State, of: &Id) -> Result<(), StoreError> {
    let (mut todo, mut seen) = (vec![of.as_str().to_owned()], HashSet::new());
    while let Some(id) = todo.pop() {
        for (child,) in rows!(conn, (String,), CHILDREN, site, &id)? {
            if seen.insert(child.clone()) {
                todo.push(child);
            }
        }
    }
    let ids: Vec<Id> = seen.iter().filter_map(|s| Id::new(s)).collect();
    items(conn, site, state, &ids).await
}

/// The entry of that number, and whatever it is about, into the state; the original is returned.
pub async fn target(
    conn: &mut Conn,
    site: &str,
    state: &mut State,
    seq: u64,
) -> Result<Option<Arc<Entry>>, StoreError> {
    let found = rows!(conn, (i64, String), ONE, site, seq as i64)?;
    let Some((_, line)) = found.first() else { return Ok(None) };
    let original = Arc::new(entry(site, seq, line)?);
    if let Some(item) = original.item() {
        items(conn, site, state, std::slice::from_ref(item)).await?;
    } else if state.record(seq, &original).is_none() {
        // A decision, an approval, a review, a reading of long ago: not held; its corrections come with it.
        let mut lines = Lines::from([(seq, line.clone())]);
        add(&mut lines, rows!(conn, (i64, String), CORRECTIONS, site, seq as i64)?);
        put(site, state, &lines)?;
    }
    Ok(Some(original))
}

/// An instant to look back from.
#[derive(Clone, Copy)]
pub struct Back {
    /// What happened later is left out, by all that is now known.
    pub as_of: Instant,
    /// What was recorded later is left out first.
    pub known_at: Instant,
}

fn looked_back(site: &str, lines: &Lines, back: Back) -> Result<BTreeMap<u64, Record>, StoreError> {
    let read = lines.iter().map(|(seq, line)| entry(site, *seq, line).map(Arc::new));
    let read: Vec<Arc<Entry>> = read.collect::<Result<_, _>>()?;
    let known = read.into_iter().filter(|e| e.meta.recorded_at.is_none_or(|r| r <= back.known_at));
    let mut records = ledger::records(known);
    records.retain(|_, r| r.at() <= back.as_of);
    Ok(records)
}

/// An item's own lines, corrections included.
pub async fn item_lines(conn: &mut Conn, site: &str, item: &Id, back: Back) -> Result<Lines, StoreError> {
    let mut lines = Lines::new();
    add(&mut lines, rows!(conn, (i64, String), ITEM_LINES, site, item.as_str())?);
    let records = looked_back(site, &lines, back)?;
    let kept = records.values().flat_map(|r| r.corrections.iter().chain([&r.original]));
    let kept: HashSet<u64> = kept.map(|e| e.meta.seq).collect();
    lines.retain(|seq, _| kept.contains(seq));
    Ok(lines)
}

/// What was made from an item, corrections applied, in order of their ids.
pub async fn went_into(conn: &mut Conn, site: &str, item: &Id, back: Back) -> Result<BTreeSet<Id>, StoreError> {
    let mut lines = Lines::new();
    add(&mut lines, rows!(conn, (i64, String), JOINS, site, item.as_str())?);
    let joins = looked_back(site, &lines, back)?;
    let read = joins.values().filter_map(|r| r.effective(u64::MAX).ok().flatten());
    Ok(read.filter(|e| e.parents().contains(item)).filter_map(|e| e.item().cloned()).collect())
}

/// The corrections of an entry.
pub async fn corrections(conn: &mut Conn, site: &str, seq: u64, lines: &mut Lines) -> Result<(), StoreError> {
    add(lines, rows!(conn, (i64, String), CORRECTIONS, site, seq as i64)?);
    Ok(())
}
