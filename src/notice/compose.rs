//! What a notice says: of an item that comes near a limit or lacks its mark, of a place's cold, of how the day ended. Pure.
//! Times stand with their dates, never how long until then: held in quiet hours or late, it is read on another day too.

use super::{Notice, Topic};
use crate::board::due::{Turn, What, ahead};
use crate::board::others::with_others;
use crate::clock::{Instant, MINUTE_MS, Zone};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{Body, Entry, Id, State};
use crate::record::account::Named;
use crate::rules::{Phase, Verdict, standing};
use crate::show::Show;
use serde_json::{Value, json};

/// Items named in the closing notice at most.
const NAMED: usize = 20;

fn body(kind: &str, at: Instant, data: &Value) -> Value {
    json!({"type": kind, "timestamp": at, "data": data})
}

fn foot(show: Show) -> String {
    format!("{}\n{}", lang::as_of(&show.dated(show.now)), lang::footer_guidance())
}

fn verdict(v: Verdict) -> &'static str {
    match v {
        Verdict::Within => lang::affected_within(),
        Verdict::Return => lang::verdict_return(),
        Verdict::Use => lang::verdict_use(),
        Verdict::Discard => lang::verdict_discard(),
    }
}

/// What time has brought to an item or a place; `None` where it is no longer there to be told of.
pub fn due(state: &State, site: &str, subject: &Id, turn: Turn, now: Instant) -> Option<Notice> {
    let show = Show::of(state, now);
    let key = format!("{}:{subject}:{}", turn.what, turn.at);
    if let What::Lapse(why) = turn.what {
        let place = Named::place(state, subject).name;
        let subject_line = lang::notice_cold(&place, &show.dated(turn.at));
        let text = format!("{subject_line}\n{}\n{}", lang::notice_cold_do(), foot(show));
        let data = json!({"site": site, "place": subject, "name": place, "code": why.code(), "at": turn.at});
        let body = body("place.cold", turn.at, &data);
        return Some(Notice { key, topic: Topic::Cold, lead_minutes: 0, subject: subject_line, text, body });
    }
    let (id, item) = state.items.get_key_value(subject)?;
    // What is with others isn't the shop's to move or to bin.
    if with_others(state, item) {
        return None;
    }
    let s = standing(&Fold::new(state, now, show.zone), id).filter(|s| s.state != Phase::Closed)?;
    let (name, place) = (Named::item(state, id).name, Named::place(state, &s.place).name);
    let facts = |more: Value| {
        let mut data = json!({"site": site, "item": id, "name": name, "place": s.place, "place_name": place,
            "verdict": s.verdict, "discard_by": s.discard_by, "total_out_ms": s.total_out_ms});
        if let (Some(data), Value::Object(more)) = (data.as_object_mut(), more) {
            data.extend(more);
        }
        data
    };
    let where_ = lang::notice_where(&place, &Show::used(s.total_out_ms));
    let (topic, lead_minutes, subject, data, kind) = match turn.what {
        What::Limit(t) => {
            let at = turn.at.plus(t.minutes * MINUTE_MS);
            // Put back a moment ago, it comes near nothing any more.
            let comes = ahead(&s, &[]).iter().any(|d| d.threshold.verdict == t.verdict && d.at == at);
            if !comes && s.verdict < t.verdict {
                return None;
            }
            let topic = if t.verdict == Verdict::Discard { Topic::Discard } else { Topic::Limits };
            let said = match t.minutes {
                0 => lang::notice_reached(&name, &show.dated(at), verdict(t.verdict)),
                _ => lang::notice_soon(&name, &show.dated(at), verdict(t.verdict)),
            };
            let data = facts(json!({"limit": t.verdict, "limit_at": at, "minutes": t.minutes}));
            (topic, t.minutes, said, data, "item.limit")
        }
        _ => {
            (Topic::Unmarked, 0, lang::notice_unmarked(&name), facts(json!({"unmarked_at": turn.at})), "item.unmarked")
        }
    };
    let text = format!("{subject}\n{where_}\n{}", foot(show));
    Some(Notice { key, topic, lead_minutes, body: body(kind, turn.at, &data), subject, text })
}

/// That somebody wrote down that a place's cold had failed.
pub fn lapse(state: &State, site: &str, entry: &Entry, now: Instant) -> Option<Notice> {
    let Body::Lapse { place, until } = &entry.body else { return None };
    let show = Show::of(state, now);
    let name = Named::place(state, place).name;
    let subject = match until {
        None => lang::notice_lapse(&name, &show.dated(entry.at)),
        Some(until) => lang::notice_lapse_ended(&show.dated(entry.at), &name, &show.dated(*until)),
    };
    let there = state.items.values().filter(|i| i.end().is_none() && i.place() == Some(place)).count();
    let text = format!("{subject}\n{}\n{}", lang::notice_stands_there(there as i64), foot(show));
    let data = json!({"site": site, "place": place, "name": name, "from": entry.at, "until": until,
        "entry": entry.meta.seq, "items": there});
    let key = format!("lapse:{}", entry.meta.seq);
    let body = body("place.lapse", entry.at, &data);
    Some(Notice { key, topic: Topic::Cold, lead_minutes: 0, subject, text, body })
}

/// How the day ended: what is open, what is over, and where the ledger ends.
pub fn closing(state: &State, site: &str, hash: &str, day: i64, now: Instant) -> Notice {
    let show = Show::of(state, now);
    let fold = Fold::new(state, now, show.zone);
    let mut counts = [0_usize; 3];
    let (mut over, mut others) = (Vec::new(), 0);
    for (id, item) in state.items.iter().filter(|(_, i)| i.end().is_none()) {
        let Some(s) = standing(&fold, id) else { continue };
        if with_others(state, item) {
            others += 1;
            continue;
        }
        if let Some(count) = counts.get_mut(s.state as usize) {
            *count += 1;
        }
        if s.verdict >= Verdict::Use {
            over.push((id.clone(), Named::item(state, id).name, s.verdict));
        }
    }
    over.sort();
    let date = Zone::date_text(day);
    let shop = state.site.as_ref().map_or_else(|| site.to_owned(), |s| s.name.to_string());
    let [out, cold, frozen] = counts.map(|n| n.to_string());
    let subject = lang::notice_closing(&show.date_of(&date), &shop);
    let mut lines = vec![lang::board_counts(&cold, &frozen, &out)];
    if others > 0 {
        lines.push(lang::board_others(others));
    }
    lines.extend(over.iter().take(NAMED).map(|(_, name, v)| format!("{}: {name}", verdict(*v))));
    if over.len() > NAMED {
        lines.push(lang::away_more(&(over.len() - NAMED).to_string()));
    }
    lines.push(lang::notice_head(hash, &state.head.to_string()));
    let over: Vec<Value> = over.iter().map(|(id, name, v)| json!({"item": id, "name": name, "verdict": v})).collect();
    let data = json!({"site": site, "date": date, "out": counts[0], "cold": counts[1], "frozen": counts[2],
        "with_others": others, "over": over, "head": {"seq": state.head, "hash": hash}});
    let text = format!("{subject}\n{}\n{}", lines.join("\n"), foot(show));
    let body = body("day.closing", now, &data);
    Notice { key: format!("closing:{date}"), topic: Topic::Closing, lead_minutes: 0, subject, text, body }
}

/// A try of a target that a manager asked for.
pub fn trial(state: &State, site: &str, key: &str, now: Instant) -> Notice {
    let show = Show::of(state, now);
    let shop = state.site.as_ref().map_or_else(|| site.to_owned(), |s| s.name.to_string());
    let subject = lang::notice_trial(&shop);
    let text = format!("{subject}\n{}", foot(show));
    let body = body("notice.trial", now, &json!({"site": site}));
    Notice { key: format!("trial:{key}"), topic: Topic::Closing, lead_minutes: 0, subject, text, body }
}
