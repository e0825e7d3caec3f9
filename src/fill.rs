//! Fills an empty database with the demo's two days, through the same door as everything else.

use crate::board::working::{ComeBack, since};
use crate::clock::{Clock, HOUR_MS, Instant, MINUTE_MS, Zone};
use crate::demo;
use crate::demo::loggers::LOGGERS;
use crate::items::{Tied, sql as held};
use crate::ledger::{ByHow, From, Id, parse};
use crate::people::{Actor, Role, hashing, persons};
use crate::plan::kept::Kept;
use crate::record::procedure::{self, sql as papers};
use crate::store::{Db, come_back, ledger as sql, plans};
use crate::web::error::Problem;
use crate::web::procedures::Procedures;
use crate::web::service::{FIRST_SITE, Fault, Service};
use serde_json::json;
use std::collections::HashMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

/// The demo's sheet of tags.
const SHEET: &str = "demo";
/// The demo's people: id, name, role. They are invented.
const PEOPLE: [(&str, &str, Role); 3] = [
    ("p-demo-early", "Odalys", Role::Staff),
    ("p-demo-late", "Bramwell", Role::Staff),
    ("p-demo-manager", "Ishbel", Role::Manager),
];
/// The PIN of all of them: nobody's secret is kept in a demo.
const PIN: &str = "2580";
/// When the late shift takes over, hours and minutes of the shop's clock as one number of minutes.
const LATE_SHIFT: i64 = 13 * 60;

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
    let manager = Id::new(PEOPLE[2].0).ok_or("the demo has no people")?;
    let mut approved = Clock::System.now();
    let mut loggers: HashMap<&str, Actor> = HashMap::new();
    for (recorded_at, mut entry) in demo::entries(Clock::System.now(), zone) {
        let Instant(ms) = recorded_at;
        hand.store(ms, Ordering::SeqCst);
        if entry["what"] == demo::PROCEDURE {
            let hash = first_version(&service, (&manager, recorded_at), zone).await.map_err(told)?;
            entry["reference"] = json!(procedure::reference(&hash));
            approved = recorded_at;
        }
        let text = entry.to_string();
        if service.is_empty() {
            service.add_site(FIRST_SITE, &text).await.map_err(told)?;
            people(db, recorded_at).await.map_err(said)?;
            continue;
        }
        let known = LOGGERS.iter().find(|(probe, ..)| entry["probe"] == *probe && !entry["place"].is_null());
        let actor = match known {
            Some(logger) if !loggers.contains_key(logger.0) => {
                let actor = tie(&service, logger).await.map_err(told)?;
                loggers.entry(logger.0).or_insert(actor).clone()
            }
            Some((probe, ..)) => loggers[probe].clone(),
            None => by(&entry, recorded_at, zone).ok_or("the demo has no people")?,
        };
        let parsed = parse(&text, From::Caller).map_err(|r| r.to_string())?;
        service.write(FIRST_SITE, &actor, vec![parsed], None).await.map_err(told)?;
    }
    let now = Clock::System.now();
    read(db, &manager, approved, zone).await.map_err(said)?;
    tag(db, (&manager, now)).await.map_err(said)?;
    ahead(&service, (&manager, now)).await.map_err(told)
}

/// An order planned for the evening, and the gateau that is meant to go back soon.
async fn ahead(service: &Service, (manager, now): (&Id, Instant)) -> Result<(), Fault> {
    let look = service.look(FIRST_SITE, &[]).await?;
    let (Some(cake), Some(nearest), Some(plan)) = (Id::new(demo::PLANNED), Id::new(demo::NEAREST), Id::new("pl-demo"))
    else {
        return Ok(());
    };
    let minutes = |n: i64| now.plus(n * MINUTE_MS);
    let moved = |at: Instant, place: &str| json!({"kind": "move", "at": at, "item": cake, "place": place});
    let steps = vec![moved(minutes(200), "van"), moved(minutes(210), "hall")];
    let (name, serve_at, head) = (String::from("Anniversary, order 44"), minutes(220), look.state.head);
    let kept = Kept { plan, name, item: Some(cake.clone()), steps, serve_at, head };
    let mut conn = service.db().writer().await?;
    plans::add(&mut conn, FIRST_SITE, &kept, manager.as_str(), now).await?;
    let brought = look.state.items.get(&nearest).and_then(|item| Some(since(item)?.meta.seq));
    if let Some(entry) = brought {
        let plan = ComeBack { entry, at: now.plus(8 * MINUTE_MS) };
        come_back::put(&mut conn, FIRST_SITE, &nearest, &plan, (manager.as_str(), now, now)).await?;
    }
    Ok(())
}

/// Makes a logger's token, when it first says something; who it is. Nobody keeps the token.
async fn tie(service: &Service, (_, name, place): &(&str, &str, &str)) -> Result<Actor, Fault> {
    let places: Vec<Id> = Id::new(place).into_iter().collect();
    let token = service.add_probe(FIRST_SITE, name, &places).await?;
    service.who(&token, false).await?.pop().ok_or(Fault::Forbidden)
}

/// Keeps the first version of the written procedure, which the entry about to be written approves; its hash.
async fn first_version(service: &Service, by: (&Id, Instant), zone: Zone) -> Result<String, Fault> {
    let look = service.look(FIRST_SITE, &[]).await?;
    let mut conn = service.db().writer().await?;
    let (shelf, approved) = papers::shelf(&mut conn, FIRST_SITE).await?;
    let members = persons::of_site(&mut conn, FIRST_SITE).await?;
    let typed = demo::procedure::first(zone.day(by.1));
    let document = Procedures { shelf, approved, members }.document(&look.state, &typed);
    let (text, hash) = document.sealed();
    papers::add(&mut conn, FIRST_SITE, (&text, document.review_on().unwrap_or_default()), by).await?;
    Ok(hash)
}

/// The manager and the early shift have read it, the late shift hasn't; the next version is being written.
async fn read(db: &Db, manager: &Id, approved: Instant, zone: Zone) -> Result<(), crate::store::StoreError> {
    let mut conn = db.writer().await?;
    papers::note_read(&mut conn, FIRST_SITE, 1, (manager, approved)).await?;
    if let Some(early) = Id::new(PEOPLE[0].0) {
        papers::note_read(&mut conn, FIRST_SITE, 1, (&early, approved.plus(15 * HOUR_MS))).await?;
    }
    let draft = demo::procedure::next(zone.day(approved)).json();
    papers::save(&mut conn, FIRST_SITE, &draft, None, (manager, approved.plus(40 * HOUR_MS))).await?;
    Ok(())
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

async fn people(db: &Db, now: Instant) -> Result<(), crate::store::StoreError> {
    let pin = hashing::hash(PIN).await.ok();
    let mut conn = db.writer().await?;
    for (id, name, role) in PEOPLE {
        let new = persons::New { name, sign_in: None, password: None, pin: pin.clone() };
        persons::add(&mut conn, FIRST_SITE, id, role, &new, now).await?;
    }
    Ok(())
}

/// Whose shift it was; what only managers write the manager wrote.
fn by(entry: &serde_json::Value, at: Instant, zone: Zone) -> Option<Actor> {
    let of_bench = ["item", "join", "move", "reading", "mark", "seen", "close", "lapse", "restore", "correct"];
    let local = zone.local(at);
    let minutes = i64::from(local.hour()) * 60 + i64::from(local.minute());
    let which = match of_bench.iter().any(|kind| entry["kind"] == *kind) {
        true if minutes < LATE_SHIFT => 0,
        true => 1,
        false => 2,
    };
    let (id, name, _) = PEOPLE[which];
    let how = if which == 2 { ByHow::Password } else { ByHow::Pin };
    Some(Actor { how, ..Actor::token(Id::new(id)?, name, Role::Manager, None) })
}
