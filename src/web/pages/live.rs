//! What a page tells the script, so that it stays true without being loaded again.

use super::{Shell, span_patterns};
use crate::lang;
use crate::ledger::{Id, State};
use std::collections::BTreeSet;
use std::fmt;

/// The attributes of a page's body.
#[derive(Clone)]
pub(super) struct Live {
    now_ms: i64,
    /// What renews it around the hand that holds it, and what listens.
    scripts: [String; 2],
    key: String,
    /// The stream to listen to.
    stream: String,
    /// Where the rows alone come from; the whole page where none is named.
    fragment: Option<String>,
    /// Items it is about; none for all.
    of: Vec<Id>,
    /// Whether it is about places, and no item.
    places: bool,
    /// Seconds after which it asks by itself.
    again: u32,
}

impl Live {
    /// Of a page of one shop, as of an entry.
    pub(super) fn shop(shell: &Shell, head: u64) -> Live {
        Live::at(shell, format!("{}api/stream?after={head}", shell.board()))
    }

    /// Of a page that listens to a stream.
    pub(super) fn at(shell: &Shell, stream: String) -> Live {
        let scripts = ["still.js", "live.js"].map(|name| shell.asset(name));
        let (now_ms, key) = (shell.now_ms, shell.key.clone());
        Live { now_ms, scripts, key, stream, fragment: None, of: Vec::new(), places: false, again: 60 }
    }

    /// The rows alone come from here.
    pub(super) fn fragment(mut self, shell_board: &str, view: &str, filter: &str) -> Live {
        let more = if filter.is_empty() { String::new() } else { format!("&{filter}") };
        self.fragment = Some(format!("{shell_board}fragment?view={view}{more}"));
        self
    }

    /// It is about places: what happens to items it learns of by and by, not a whole page a move.
    pub(super) fn of_places(mut self) -> Live {
        self.places = true;
        self
    }

    /// It is about these items, and whatever went into them.
    pub(super) fn of(mut self, state: &State, items: impl Iterator<Item = Id>) -> Live {
        let (mut found, mut todo) = (BTreeSet::new(), items.collect::<Vec<Id>>());
        while let Some(id) = todo.pop() {
            let parents = state.items.get(&id).map(|i| i.truth.iter().flat_map(|e| e.parents().to_vec()));
            todo.extend(parents.into_iter().flatten().filter(|p| !found.contains(p)));
            found.insert(id);
        }
        self.of = found.into_iter().collect();
        self
    }
}

impl fmt::Display for Live {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut said = |name: &str, value: &str| {
            let escaped = value.replace('&', "&amp;").replace('"', "&quot;").replace('<', "&lt;");
            write!(f, " data-{name}=\"{escaped}\"")
        };
        let [left, m, hm] = span_patterns();
        said("now", &self.now_ms.to_string())?;
        let [still, live] = &self.scripts;
        said("still", still)?;
        said("live", live)?;
        said("key", &self.key)?;
        said("asking", lang::asking())?;
        said("adrift", lang::adrift())?;
        said("asof", &lang::as_of("{t}"))?;
        said("stale", &lang::stale("{t}"))?;
        said("left", &left)?;
        said("m", &m)?;
        said("hm", &hm)?;
        said("again", &self.again.to_string())?;
        said("stream", &self.stream)?;
        if let Some(fragment) = &self.fragment {
            said("fragment", fragment)?;
        }
        if self.places {
            // No item has that id.
            said("of", "*")?;
        } else if !self.of.is_empty() {
            said("of", &self.of.iter().map(Id::as_str).collect::<Vec<_>>().join(" "))?;
        }
        Ok(())
    }
}
