//! The walls between the rooms: what the pure ones may not name, and how long a file may be.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

fn sources(dir: &str) -> Vec<PathBuf> {
    let (mut found, mut todo) = (Vec::new(), vec![Path::new(env!("CARGO_MANIFEST_DIR")).join(dir)]);
    while let Some(dir) = todo.pop() {
        for entry in fs::read_dir(&dir).expect("a folder of sources").flatten() {
            let path = entry.path();
            if path.is_dir() {
                todo.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                found.push(path);
            }
        }
    }
    assert!(!found.is_empty(), "{dir} has no sources");
    found
}

#[test]
fn pure_rooms_know_no_database_no_web_and_no_time() {
    let rooms = ["src/ledger", "src/exposure", "src/rules", "src/board", "src/demo", "src/plan", "src/record/paper"];
    let of_people = ["mod", "secret", "commonest", "limits", "codes"].map(|f| format!("src/people/{f}.rs"));
    let of_items = ["mod", "tag"].map(|f| format!("src/items/{f}.rs"));
    let of_procedure =
        ["mod", "compare", "fields", "force", "generate", "print"].map(|f| format!("src/record/procedure/{f}.rs"));
    let names = [
        "account",
        "card",
        "cold",
        "corrected",
        "cover",
        "csv",
        "history",
        "label",
        "marking",
        "print",
        "proof",
        "recall",
        "said",
        "told",
    ];
    let of_notice = ["mod", "compose"].map(|f| format!("src/notice/{f}.rs"));
    let of_record = names.map(|f| format!("src/record/{f}.rs"));
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let files = of_people
        .iter()
        .chain(&of_items)
        .chain(&of_record)
        .chain(&of_procedure)
        .chain(&of_notice)
        .map(|f| root.join(f));
    let pure = rooms.iter().flat_map(|room| sources(room)).chain(files);
    let foreign =
        ["sqlx", "axum", "tokio", "SystemTime", "now_utc", "std::time", "Clock::", "crate::store", "crate::web"];
    for path in pure {
        let text = fs::read_to_string(&path).expect("a source");
        for name in foreign {
            let at = text.lines().position(|l| l.contains(name) && !l.trim_start().starts_with("//"));
            assert!(at.is_none(), "{}:{} names {name}", path.display(), at.unwrap_or(0) + 1);
        }
    }
}

#[test]
fn only_the_clock_room_asks_the_time() {
    for path in sources("src").iter().filter(|p| !p.ends_with("clock/mod.rs")) {
        let text = fs::read_to_string(path).expect("a source");
        for name in ["SystemTime", "now_utc", "now_local"] {
            assert!(!text.contains(name), "{} asks the time by {name}", path.display());
        }
    }
}

#[test]
fn sql_stands_in_the_store_and_in_the_rooms_own_statements() {
    let may = ["store", "people/", "items/sql.rs", "procedure/sql.rs", "notice/sql.rs", "check.rs"];
    for path in sources("src") {
        let shown = path.display().to_string();
        let text = fs::read_to_string(&path).expect("a source");
        let has = ["\"select ", "\"insert into", "\"update ", "\"delete from"].iter().any(|s| text.contains(s));
        assert!(!has || may.iter().any(|m| shown.contains(m)), "{shown} holds SQL");
    }
}

/// The library's own tests are switched off in Cargo.toml: one that stood there would never run.
#[test]
fn no_test_stands_in_the_library() {
    for path in sources("src") {
        let text = fs::read_to_string(&path).expect("a source");
        assert!(["#[test]", "::test]", "cfg(test)", "/// ```"].iter().all(|w| !text.contains(w)), "{}", path.display());
    }
}

#[test]
fn files_are_short_and_have_a_door_plate() {
    for path in sources("src").iter().chain(&sources("tests/it")) {
        let text = fs::read_to_string(path).expect("a source");
        assert!(text.starts_with("//!"), "{} has no door plate", path.display());
        let long = text.lines().count();
        assert!(long <= 400 || path.to_string_lossy().contains("tests"), "{} has {long} lines", path.display());
    }
}

/// Every hazard of SAFETY.md has a number, and a test that says that it guards against it; no test names one that isn't there.
#[test]
fn each_hazard_has_its_test() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let ids = |text: &str| -> BTreeSet<String> {
        let found = text.match_indices("S-").filter_map(|(at, _)| text.get(at..at + 4));
        found.filter(|id| id[2..].bytes().all(|b| b.is_ascii_digit())).map(str::to_owned).collect()
    };
    let safety = fs::read_to_string(root.join("SAFETY.md")).expect("SAFETY.md");
    let hazards: Vec<&str> = safety.lines().filter_map(|l| l.strip_prefix("| S-")?.split(' ').next()).collect();
    let numbers: Vec<String> = (1..=hazards.len()).map(|n| format!("{n:02}")).collect();
    assert_eq!(hazards, numbers, "the hazards are numbered in order");
    let (mut named, mut todo) = (BTreeSet::new(), vec![root.join("tests"), root.join("src")]);
    while let Some(dir) = todo.pop() {
        for entry in fs::read_dir(&dir).expect("a folder").flatten() {
            let path = entry.path();
            let foreign = ["node_modules", ".venv", "__pycache__"].iter().any(|name| path.ends_with(name));
            let read = path.extension().is_some_and(|e| ["rs", "py", "mjs"].iter().any(|kind| e == *kind));
            if path.is_dir() && !foreign {
                todo.push(path);
            } else if read {
                let text = fs::read_to_string(&path).expect("a source");
                for line in text.lines().filter(|l| l.contains("Guards against")) {
                    named.extend(ids(line));
                }
            }
        }
    }
    assert_eq!(named, hazards.iter().map(|n| format!("S-{n}")).collect(), "hazards and the tests that name them");
}

/// Every test that the security table names is there.
#[test]
fn each_defence_has_its_test() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = fs::read_to_string(root.join("operate/SECURITY.md")).expect("the table");
    let mut looked = 0;
    for name in text.split('`').skip(1).step_by(2) {
        if name.starts_with("tests/") {
            assert!(root.join(name.split(' ').next().unwrap_or(name)).exists(), "{name} is not there");
            looked += 1;
        } else if let Some((path, test)) = name.rsplit_once("::") {
            let file = root.join("tests/it").join(path.replace("::", "/"));
            let sources: Vec<PathBuf> =
                [file.with_extension("rs"), file.join("mod.rs")].into_iter().filter(|f| f.exists()).collect();
            assert!(!sources.is_empty(), "{name} is in no file");
            let there = |f: &PathBuf| fs::read_to_string(f).is_ok_and(|s| s.contains(&format!("fn {test}(")));
            assert!(test == "*" || sources.iter().any(there), "{name} is not there");
            looked += 1;
        }
    }
    assert!(looked > 60, "{looked}");
}
