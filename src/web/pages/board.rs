//! The board: what is out, what is cold, most urgent first; one tap moves a thing.

use super::tile::Tile;
use super::{Asked, Shell, span_patterns};
use crate::board::List;
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::State;
use crate::record::procedure::Due;
use crate::rules::{Phase, Verdict};
use crate::web::show::Show;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "board.html")]
pub struct Board {
    shell: Shell,
    groups: Vec<Group>,
    counts: String,
    /// How many labels are wrong or missing.
    labels: Option<String>,
    due: Option<String>,
    /// How many decisions wait, for a manager.
    decisions: Option<String>,
    more: Option<String>,
    today: String,
    week_ago: String,
    patterns: [String; 3],
}

struct Group {
    id: &'static str,
    title: &'static str,
    tiles: Vec<Tile>,
}

/// Builds it from the list, most urgent first: only what is shown is worked out.
pub fn build(state: &State, now: Instant, list: &List, asked: &Asked) -> Board {
    let show = Show::of(state, now);
    let fold = Fold::new(state, now, show.zone);
    let ids = list.standings.iter().filter_map(|s| state.items.get_key_value(&s.item));
    let tiles: Vec<Tile> = ids.filter_map(|(id, _)| Tile::of(&fold, id, show, false)).collect();
    let [out, cold, frozen] = list.counts.map(|n| n.to_string());
    let counts = lang::board_counts(&cold, &frozen, &out);
    let shown = tiles.len();
    let [late, unmarked] = list.labels.map(|n| n as i64);
    let labels = [(late > 0).then(|| lang::board_late(late)), (unmarked > 0).then(|| lang::board_unmarked(unmarked))];
    let labels: Vec<String> = labels.into_iter().flatten().collect();
    let mut groups = [
        Group { id: "act", title: lang::group_act(), tiles: Vec::new() },
        Group { id: "labels", title: lang::group_labels(), tiles: Vec::new() },
        Group { id: "out", title: lang::group_out(), tiles: Vec::new() },
        Group { id: "cold", title: lang::group_cold(), tiles: Vec::new() },
        Group { id: "frozen", title: lang::group_frozen(), tiles: Vec::new() },
    ];
    for tile in tiles {
        let late = tile.label.as_ref().is_some_and(|l| l.class == "late");
        let at = match (tile.standing.verdict, tile.standing.state) {
            (Verdict::Within, _) if late => 1,
            (Verdict::Within, Phase::Out) => 2,
            (Verdict::Within, Phase::Cold) => 3,
            (Verdict::Within, _) => 4,
            _ => 0,
        };
        groups[at].tiles.push(tile);
    }
    let today = show.zone.day(now);
    Board {
        shell: Shell::of(state, now, asked),
        groups: groups.into_iter().filter(|g| !g.tiles.is_empty()).collect(),
        counts,
        labels: (!labels.is_empty()).then(|| labels.join(", ")),
        due: None,
        decisions: None,
        more: list.last.as_ref().map(|_| lang::board_more(&(list.counts.iter().sum::<usize>() - shown).to_string())),
        today: Zone::date_text(today),
        week_ago: Zone::date_text(today - 6),
        patterns: span_patterns(),
    }
}

impl Board {
    /// The same with what about the written procedure waits for a manager, and how many decisions do.
    pub fn with(self, due: Option<&Due>, decisions: Option<i64>) -> Board {
        Board { due: due.map(waits), decisions: decisions.map(lang::board_decisions), ..self }
    }
}

fn waits(due: &Due) -> String {
    match due {
        Due::NoneInForce => lang::procedure_board_none().to_owned(),
        Due::Review(date) => lang::procedure_board_review(date),
    }
}
