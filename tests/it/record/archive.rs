//! Closed months as files: each read alone by `verify` and `evaluate`, held against the ledger by `check`.
//!
//! Guards against S-30 of SAFETY.md.

use super::renderings::month;
use crate::kit::house::{House, t};
use counterclock::archive::{self, Kept, Stopped};
use counterclock::check;
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};

both!(closed_months_stand_by_themselves);

fn written(kept: &[Kept]) -> (Vec<String>, usize) {
    let name = |p: &PathBuf| p.file_name().expect("a name").to_string_lossy().into_owned();
    let new = kept.iter().filter_map(|k| if let Kept::Written(p) = k { Some(name(p)) } else { None });
    (new.collect(), kept.iter().filter(|k| matches!(k, Kept::There(_))).count())
}

async fn held(house: &House, out: &Path) -> Option<String> {
    let mut conn = house.service().db().reader().await.expect("a connection");
    archive::held(&mut conn, "shop", out).await.expect("the files are read")
}

async fn closed_months_stand_by_themselves(house: House) {
    house.set_up().await;
    let out = std::env::temp_dir().join(format!("counterclock-archive-{}-{:?}", std::process::id(), house.base().kind));
    _ = fs::remove_dir_all(&out);
    let db = house.service().db().clone();
    // May, June, and the first of July in London, which is still June by UTC; items live over the end of a month.
    month(&house, 7, &[0, 1, 26, 27, 28, 29]).await;
    house.set("+57 23:30");
    let late = json!({"kind": "item", "item": "july", "product": "cake", "name": "July’s", "place": "bench"});
    house.write(late).await;
    // Written in July about May: it is July's.
    let about = json!({"kind": "correct", "entry": house.head().await - 3, "set": {"note": "told late"}, "reason": "forgotten"});
    house.write(about).await;
    let (new, _) = written(&archive::write(&db, "shop", &out, house.now()).await.expect("it is written"));
    assert_eq!(new, ["2026-05.jsonl", "2026-06.jsonl"], "July isn't over");
    house.set("+92 12:00");
    let (new, there) = written(&archive::write(&db, "shop", &out, house.now()).await.expect("it is written"));
    assert_eq!(
        (new, there),
        (vec![String::from("2026-07.jsonl")], 2),
        "what was there is the same, whatever came since"
    );
    assert_eq!(held(&house, &out).await, None);

    // Each alone: whole, and every item in it stands as it stood by what was recorded up to the month's end.
    let all = house.tail().await;
    let recorded = |e: &Value| e["recorded_at"].as_str().expect("a time").to_owned();
    let mut own = 0;
    for (name, end) in [("05", "+27 23:00"), ("06", "+57 23:00"), ("07", "+88 23:00")] {
        let text = fs::read_to_string(out.join(format!("shop/2026-{name}.jsonl"))).expect("a file");
        let broken: Vec<_> = check::record(&text).into_iter().filter_map(|f| f.broken).collect();
        assert_eq!(broken, Vec::<String>::new(), "{name}");
        let entries: Vec<Value> = text.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
        let known: Vec<Value> = all.iter().filter(|e| recorded(e) < t(end)).cloned().collect();
        let (own_standings, whole) = (
            House::evaluate(&entries, crate::kit::house::instant(end), None),
            House::evaluate(&known, crate::kit::house::instant(end), None),
        );
        assert!(!own_standings.is_empty());
        for (item, s) in &own_standings {
            assert_eq!(whole.get(item), Some(s), "{item} by the file of {name}");
        }
        // No more than the month and what it needs.
        assert!(name != "07" || entries.len() < known.len() / 2, "{name}: {} of {}", entries.len(), known.len());
        own += entries.len();
    }
    assert!(own >= all.len(), "each entry is in a file");

    // One changed byte, a line left out, a month that is missing; and nothing is written over.
    let june = out.join("shop/2026-06.jsonl");
    let text = fs::read_to_string(&june).expect("a file");
    let spoilt = text.replacen("told", "tale", 1).replacen("\"mousse\"", "\"mouse_\"", 1);
    assert_ne!(spoilt, text);
    fs::write(&june, &spoilt).expect("it is written");
    assert!(held(&house, &out).await.is_some_and(|why| why.contains("its `hash` is not that of its contents")));
    let refused = archive::write(&db, "shop", &out, house.now()).await;
    assert!(matches!(refused, Err(Stopped::Differs(path)) if path == june));
    assert_eq!(fs::read_to_string(&june).expect("a file"), spoilt, "what differs is kept");
    let last = text.trim_end().rfind('\n').expect("a line");
    fs::write(&june, &text[..=last]).expect("it is written");
    assert!(
        held(&house, &out)
            .await
            .is_some_and(|why| why.ends_with(&format!("is in no file of {}", out.join("shop").display())))
    );
    fs::remove_file(&june).expect("it is removed");
    let (new, there) = written(&archive::write(&db, "shop", &out, house.now()).await.expect("it is written"));
    assert_eq!((new, there, held(&house, &out).await), (vec![String::from("2026-06.jsonl")], 2, None));
    fs::remove_dir_all(&out).expect("it is removed");
}
