//! What a chart of a place's air shows, as a table: the newest first, many readings gathered, a gap as a line of its own.

use crate::clock::{HOUR_MS, Instant, MINUTE_MS};
use crate::lang;
use crate::ledger::Temperature;
use crate::web::chart::Chart;

/// Readings up to this number have a line each.
const EACH: usize = 120;

/// A line.
pub(super) struct Row {
    pub when: String,
    pub value: String,
    pub note: String,
}

/// The lines of a chart.
pub(super) fn rows(c: &Chart) -> Vec<Row> {
    let shown: Vec<(Instant, Temperature)> = c.readings.iter().filter(|(at, _)| *at >= c.from).copied().collect();
    let wide = match (shown.len() > EACH, c.days) {
        (false, _) => 1,
        (true, false) => 15 * MINUTE_MS,
        (true, true) => HOUR_MS,
    };
    let mut rows: Vec<(Instant, Row)> = shown
        .chunk_by(|a, b| a.0.0.div_euclid(wide) == b.0.0.div_euclid(wide))
        .filter_map(|part| row(c, part))
        .collect();
    for (from, to) in c.gaps().into_iter().filter(|_| !shown.is_empty()) {
        let when = lang::air_from_to(&c.show.clock(from), &c.show.clock(to));
        let note = notes(c, from, to, false);
        rows.push((from, Row { when, value: lang::air_none().to_owned(), note }));
    }
    rows.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
    rows.into_iter().map(|(_, row)| row).collect()
}

fn row(c: &Chart, part: &[(Instant, Temperature)]) -> Option<(Instant, Row)> {
    let show = c.show;
    let (first, last) = (part.first()?.0, part.last()?.0);
    let by = |r: &&(Instant, Temperature)| r.1.exact();
    let (low, high) = (part.iter().min_by_key(by)?.1, part.iter().max_by_key(by)?.1);
    let above = c.limit.is_some_and(|limit| high.exact() > limit.exact());
    let when = match part.len() {
        1 => show.clock(first),
        _ => lang::air_from_to(&show.clock(first), &show.time(last)),
    };
    let value = match (part.len(), low.exact() == high.exact()) {
        (1, _) => show.degrees(high),
        (n, true) => lang::air_of(&n.to_string(), &show.degrees(high)),
        (n, false) => lang::air_of(&n.to_string(), &lang::air_range(&show.degrees(high), &show.degrees(low))),
    };
    // It holds for a moment at least.
    let note = notes(c, first, last.plus(1), above);
    Some((first, Row { when, value, note }))
}

fn notes(c: &Chart, from: Instant, to: Instant, above: bool) -> String {
    let lapsed = c.lapses.iter().any(|(since, until)| *since < to && until.is_none_or(|until| until > from));
    let notes = [above.then(lang::air_is_above), lapsed.then(lang::air_is_lapse)];
    notes.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
