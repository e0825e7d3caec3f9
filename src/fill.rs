//! Fills an empty database with the demo's two days, through the same door as everything else.

use crate::clock::{Clock, Instant, Zone};
use crate::demo;
use crate::ledger::{From, Id, parse};
use crate::people::{Actor, Role};
use crate::store::{Db, ledger as sql};
use crate::web::error::Problem;
use crate::web::service::{FIRST_SITE, Fault, Service};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

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
    Ok(())
}
