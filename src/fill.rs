//! Fills an empty database with the demo's two days, through the same door as everything else.

use crate::clock::{Clock, Instant, Zone};
use crate::demo;
use crate::items::{Tied, sql as held};
use crate::ledger::{From, Id, parse};
use crate::people::{Actor, Role};
use crate::store::{Db, ledger as sql};
use crate::web::error::Problem;
use crate::web::service::{FIRST_SITE, Fault, Service};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

/// The demo's sheet of tags.
const SHEET: &str = "demo";

/// Writes the demo's entries, each recorded when its story says, unless there is a site already.
pub async fn fill(db: &Db, zone: Zone) -> Result<(), String> {
    let said = |e: crate::store::StoreError| e.to_string();
    let mut conn = db.reader().await.map_err(said)?;
    if !sql::sites(&mut conn).await.map_err(said)?.is_empty() {
        return Ok(());
    }
    drop(conn);
    let hand = Arc::new(AtomicI64::new(0));
    let service = Service::open(db.clone(), Clock::Fixed(hand.clone())).await.map_err(said)?;
    let told = |f: Fault| {
        let p = Problem::from(f);
        format!("the demo could not be written: {}", p.detail)
    };
    let by = Id::new("demo").ok_or("the demo has no name")?;
    let actor = Actor::token(by, "Demo", Role::Manager, None);
    for (recorded_at, entry) in demo::entries(Clock::System.now(), zone) {
        let Instant(ms) = recorded_at;
        hand.store(ms, Ordering::SeqCst);
        let text = entry.to_string();
        if service.is_empty() {
            service.add_site(FIRST_SITE, &text).await.map_err(told)?;
            continue;
        }
        let parsed = parse(&text, From::Caller).map_err(|r| r.to_string())?;
        service.write(FIRST_SITE, &actor, vec![parsed], None).await.map_err(told)?;
    }
    tag(db, (&actor.by, Clock::System.now())).await.map_err(said)
}

/// A sheet of tags, one of them on what is nearest its time and one on a rack with what is left of the rack's cakes.
async fn tag(db: &Db, by: (&Id, Instant)) -> Result<(), crate::store::StoreError> {
    let mut conn = db.writer().await?;
    let (Some(rack), Some(nearest)) = (Id::new(demo::RACK), Id::new(demo::NEAREST)) else { return Ok(()) };
    let on_it: Vec<Id> = demo::ON_RACK.iter().filter_map(|id| Id::new(id)).collect();
    held::add_rack(&mut conn, FIRST_SITE, (&rack, demo::RACK_NAME), by).await?;
    held::put(&mut conn, FIRST_SITE, &rack, (&on_it, &[]), by).await?;
    held::add_sheet(&mut conn, FIRST_SITE, SHEET, 24, by).await?;
    let tags = held::sheet(&mut conn, FIRST_SITE, SHEET).await?;
    for (tag, what) in tags.iter().zip([Tied::Item(nearest), Tied::Rack(rack)]) {
        held::tie(&mut conn, FIRST_SITE, tag, (None, Some(&what)), by).await?;
    }
    Ok(())
}
