//! The statements of tags and racks. Whoever changes something holds the site's row, so that two hands with one tag
//! come one after the other.

use super::{RACK_ITEMS, RACKS, Rack, SHEET_TAGS, Sheet, Tag, Tie, Tied};
use crate::clock::Instant;
use crate::ledger::Id;
use crate::store::{Conn, StoreError, exec, ledger, rows};
use std::collections::HashMap;

const ADD_TAG: &str = "insert into tag (site, tag, sheet, made_at, made_by) values ($1, $2, $3, $4, $5)";
const SHEETS: &str = "select t.sheet, min(t.made_at), count(t.tag), count(i.tag) from tag t
    left join tie i on i.site = t.site and i.tag = t.tag and i.untied_at is null
    where t.site = $1 group by t.sheet order by min(t.made_at) desc, t.sheet limit 100";
const SHEET: &str = "select tag from tag where site = $1 and sheet = $2 order by tag";
const SITE_OF: &str = "select site from tag where tag = $1";
const TIES: &str =
    "select item, rack, tied_at, tied_by, untied_at from tie where site = $1 and tag = $2 order by n desc limit 20";
const NOW: &str = "select item, rack from tie where site = $1 and tag = $2 and untied_at is null";
const LAST: &str = "select coalesce(max(n), 0) from tie where site = $1 and tag = $2";
const UNTIE: &str = "update tie set untied_at = $3 where site = $1 and tag = $2 and untied_at is null";
const TIE: &str = "insert into tie (site, tag, n, item, rack, tied_at, tied_by) values ($1, $2, $3, $4, $5, $6, $7)";
const ON_ITEM: &str = "select tag from tie where site = $1 and item = $2 and untied_at is null order by tied_at, tag";
const ON_ITEMS: &str =
    "select item, tag from tie where site = $1 and item is not null and untied_at is null order by tied_at, tag";
const ON_RACK: &str = "select tag from tie where site = $1 and rack = $2 and untied_at is null order by tied_at, tag";

const ADD_RACK: &str = "insert into rack (site, rack, name, made_at, made_by) values ($1, $2, $3, $4, $5)
    on conflict (site, rack) do nothing";
const RACKS_OF: &str = "select rack, name from rack where site = $1 order by rack";
const STANDS: &str = "select rack, item from on_rack where site = $1 and taken_at is null order by put_at, item";
const LAST_PUT: &str = "select coalesce(max(n), 0) from on_rack where site = $1 and item = $2";
const PUT: &str = "insert into on_rack (site, item, n, rack, put_at, put_by) values ($1, $2, $3, $4, $5, $6)";
const TAKE: &str = "update on_rack set taken_at = $3 where site = $1 and item = $2 and taken_at is null";

fn id(text: Option<String>) -> Option<Id> {
    text.and_then(|t| Id::new(&t))
}

fn tied((item, rack): (Option<String>, Option<String>)) -> Option<Tied> {
    id(item).map(Tied::Item).or_else(|| id(rack).map(Tied::Rack))
}

fn tags(found: Vec<(String,)>) -> Vec<Tag> {
    found.into_iter().filter_map(|(t,)| Tag::read(&t)).collect()
}

/// Makes a sheet of new tags, unless there is a sheet of that id.
pub async fn add_sheet(
    conn: &mut Conn,
    site: &str,
    sheet: &str,
    count: usize,
    (by, now): (&Id, Instant),
) -> Result<(), StoreError> {
    conn.begin().await?;
    ledger::lock(conn, site).await?;
    if rows!(conn, (String,), SHEET, site, sheet)?.is_empty() {
        for _ in 0..count.min(SHEET_TAGS) {
            let mut random = [0_u8; 7];
            getrandom::fill(&mut random).map_err(|e| StoreError::Open(format!("no randomness: {e}")))?;
            exec!(conn, ADD_TAG, site, Tag::from_random(random).as_str(), sheet, now.0, by.as_str())?;
        }
    }
    Ok(conn.commit().await?)
}

/// The latest sheets.
pub async fn sheets(conn: &mut Conn, site: &str) -> Result<Vec<Sheet>, StoreError> {
    let found = rows!(conn, (String, i64, i64, i64), SHEETS, site)?;
    let sheet = |(sheet, made_at, tags, tied)| Sheet {
        sheet,
        made_at: Instant(made_at),
        tags: tags as usize,
        tied: tied as usize,
    };
    Ok(found.into_iter().map(sheet).collect())
}

/// The tags of a sheet.
pub async fn sheet(conn: &mut Conn, site: &str, sheet: &str) -> Result<Vec<Tag>, StoreError> {
    Ok(tags(rows!(conn, (String,), SHEET, site, sheet)?))
}

/// Whose tag it is.
pub async fn site_of(conn: &mut Conn, tag: &Tag) -> Result<Option<String>, StoreError> {
    Ok(rows!(conn, (String,), SITE_OF, tag.as_str())?.pop().map(|r| r.0))
}

/// What a tag is on.
pub async fn on(conn: &mut Conn, site: &str, tag: &Tag) -> Result<Option<Tied>, StoreError> {
    Ok(rows!(conn, (Option<String>, Option<String>), NOW, site, tag.as_str())?.pop().and_then(tied))
}

/// What a tag has been on, the latest first.
pub async fn ties(conn: &mut Conn, site: &str, tag: &Tag) -> Result<Vec<Tie>, StoreError> {
    type Row = (Option<String>, Option<String>, i64, String, Option<i64>);
    let tie = |(item, rack, from, by, until): Row| {
        let (from, until) = (Instant(from), until.map(Instant));
        Some(Tie { what: tied((item, rack))?, from, by: Id::new(&by)?, until })
    };
    Ok(rows!(conn, Row, TIES, site, tag.as_str())?.into_iter().filter_map(tie).collect())
}

/// The tags on an item or a rack.
pub async fn tags_on(conn: &mut Conn, site: &str, what: &Tied) -> Result<Vec<Tag>, StoreError> {
    Ok(tags(match what {
        Tied::Item(item) => rows!(conn, (String,), ON_ITEM, site, item.as_str())?,
        Tied::Rack(rack) => rows!(conn, (String,), ON_RACK, site, rack.as_str())?,
    }))
}

/// The first tag on each item that has one.
pub async fn tags_on_items(conn: &mut Conn, site: &str) -> Result<HashMap<Id, Tag>, StoreError> {
    let mut first = HashMap::new();
    for (item, tag) in rows!(conn, (Option<String>, String), ON_ITEMS, site)? {
        if let (Some(item), Some(tag)) = (id(item), Tag::read(&tag)) {
            first.entry(item).or_insert(tag);
        }
    }
    Ok(first)
}

/// Ties a tag that is on `was` to something else, or to nothing. If it is on something else by now, it stays there and
/// that is returned.
pub async fn tie(
    conn: &mut Conn,
    site: &str,
    tag: &Tag,
    (was, to): (Option<&Tied>, Option<&Tied>),
    (by, now): (&Id, Instant),
) -> Result<Option<Tied>, StoreError> {
    conn.begin().await?;
    ledger::lock(conn, site).await?;
    let is = on(conn, site, tag).await?;
    if is.as_ref() == to {
        conn.rollback().await?;
        return Ok(None);
    }
    if is.as_ref() != was {
        conn.rollback().await?;
        return Ok(is);
    }
    exec!(conn, UNTIE, site, tag.as_str(), now.0)?;
    let (item, rack) = match to {
        Some(Tied::Item(id)) => (Some(id.as_str()), None),
        Some(Tied::Rack(id)) => (None, Some(id.as_str())),
        None => (None, None),
    };
    if to.is_some() {
        let (last,) = rows!(conn, (i64,), LAST, site, tag.as_str())?.pop().unwrap_or_default();
        exec!(conn, TIE, site, tag.as_str(), last + 1, item, rack, now.0, by.as_str())?;
    }
    conn.commit().await?;
    Ok(None)
}

/// Makes a rack, unless there is one of that id or there are too many; says whether it is there now.
pub async fn add_rack(
    conn: &mut Conn,
    site: &str,
    (rack, name): (&Id, &str),
    (by, now): (&Id, Instant),
) -> Result<bool, StoreError> {
    conn.begin().await?;
    ledger::lock(conn, site).await?;
    let known = rows!(conn, (String, String), RACKS_OF, site)?;
    let there = known.iter().any(|(id, _)| id == rack.as_str());
    if !there && known.len() < RACKS {
        exec!(conn, ADD_RACK, site, rack.as_str(), name, now.0, by.as_str())?;
    }
    conn.commit().await?;
    Ok(there || known.len() < RACKS)
}

/// Every rack and what stands on it, by name.
pub async fn racks(conn: &mut Conn, site: &str) -> Result<Vec<Rack>, StoreError> {
    let found = rows!(conn, (String, String), RACKS_OF, site)?;
    let rack = |(rack, name): (String, String)| Some(Rack { rack: Id::new(&rack)?, name, items: Vec::new() });
    let mut racks: Vec<Rack> = found.into_iter().filter_map(rack).collect();
    racks.sort_by(|a, b| (&a.name, &a.rack).cmp(&(&b.name, &b.rack)));
    for (rack, item) in rows!(conn, (String, String), STANDS, site)? {
        if let Some(rack) = racks.iter_mut().find(|r| r.rack.as_str() == rack) {
            rack.items.extend(Id::new(&item));
        }
    }
    Ok(racks)
}

/// Puts items on a rack, each from the one it was on, after taking off what is named; says how many had no room.
pub async fn put(
    conn: &mut Conn,
    site: &str,
    rack: &Id,
    (items, off): (&[Id], &[Id]),
    (by, now): (&Id, Instant),
) -> Result<usize, StoreError> {
    conn.begin().await?;
    ledger::lock(conn, site).await?;
    for item in off {
        exec!(conn, TAKE, site, item.as_str(), now.0)?;
    }
    let stands = rows!(conn, (String, String), STANDS, site)?;
    let here = |item: &Id| stands.iter().any(|(r, i)| r == rack.as_str() && i == item.as_str());
    let room = RACK_ITEMS.saturating_sub(stands.iter().filter(|(r, _)| r == rack.as_str()).count());
    let new: Vec<&Id> = items.iter().filter(|i| !here(i)).collect();
    for item in new.iter().take(room) {
        exec!(conn, TAKE, site, item.as_str(), now.0)?;
        let (last,) = rows!(conn, (i64,), LAST_PUT, site, item.as_str())?.pop().unwrap_or_default();
        exec!(conn, PUT, site, item.as_str(), last + 1, rack.as_str(), now.0, by.as_str())?;
    }
    conn.commit().await?;
    Ok(new.len().saturating_sub(room))
}

/// Takes items off the racks they stand on.
pub async fn take(conn: &mut Conn, site: &str, items: &[Id], now: Instant) -> Result<(), StoreError> {
    conn.begin().await?;
    ledger::lock(conn, site).await?;
    for item in items {
        exec!(conn, TAKE, site, item.as_str(), now.0)?;
    }
    Ok(conn.commit().await?)
}
