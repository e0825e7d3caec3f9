//! The board: what is out, what is cold, most urgent first; one tap moves a thing.

use super::tile::Tile;
use super::{Asked, Shell, span_patterns};
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::State;
use crate::rules::{Phase, Verdict};
use crate::web::show::Show;
use askama::Template;
use std::cmp::Reverse;

/// The page.
#[derive(Template)]
#[template(path = "board.html")]
pub struct Board {
    shell: Shell,
    groups: Vec<Group>,
    counts: String,
    today: String,
    week_ago: String,
    patterns: [String; 3],
}

struct Group {
    id: &'static str,
    title: &'static str,
    tiles: Vec<Tile>,
}

/// Builds it.
pub fn build(state: &State, now: Instant, asked: &Asked) -> Board {
    let show = Show::of(state, now);
    let fold = Fold::new(state, now, show.zone);
    let mut tiles: Vec<Tile> = state
        .items
        .iter()
        .filter(|(_, item)| item.end().is_none_or(|e| e.at > now))
        .filter_map(|(id, _)| Tile::of(&fold, id, show, false))
        .collect();
    tiles.sort_by(|a, b| urgency(a).cmp(&urgency(b)));
    let count = |p: Phase| tiles.iter().filter(|t| t.standing.state == p).count() as i64;
    let counts = lang::board_counts(
        &count(Phase::Cold).to_string(),
        &count(Phase::Frozen).to_string(),
        &count(Phase::Out).to_string(),
    );
    let mut groups = [
        Group { id: "act", title: lang::group_act(), tiles: Vec::new() },
        Group { id: "out", title: lang::group_out(), tiles: Vec::new() },
        Group { id: "cold", title: lang::group_cold(), tiles: Vec::new() },
        Group { id: "frozen", title: lang::group_frozen(), tiles: Vec::new() },
    ];
    for tile in tiles {
        let at = match (tile.standing.verdict, tile.standing.state) {
            (Verdict::Within, Phase::Out) => 1,
            (Verdict::Within, Phase::Cold) => 2,
            (Verdict::Within, _) => 3,
            _ => 0,
        };
        groups[at].tiles.push(tile);
    }
    let today = show.zone.day(now);
    Board {
        shell: Shell::of(state, now, asked),
        groups: groups.into_iter().filter(|g| !g.tiles.is_empty()).collect(),
        counts,
        today: Zone::date_text(today),
        week_ago: Zone::date_text(today - 6),
        patterns: span_patterns(),
    }
}

/// Verdict, out before cold, what is left, id.
fn urgency(t: &Tile) -> impl Ord + '_ {
    let s = &t.standing;
    (Reverse(s.verdict), s.state != Phase::Out, s.left_ms.unwrap_or(i64::MAX), &t.id)
}
