//! What a join does to a measure: it goes on from the worse of the item's own and each parent's.

use super::gauge::{Along, First, Gauge, Tally, earlier, slower};
use crate::clock::Instant;
use crate::rules::Measure;

impl Gauge {
    /// What was joined goes on from the worse of both. All gauges stand at `t`.
    pub(super) fn join(&mut self, parents: &[Gauge], along: &Along, t: Instant) {
        let mine = self.out().and_then(|o| o.present);
        let item_out = mine.is_some();
        if let Measure::StartTemperature { kept: true, .. } = self.measure {
            let stood = self.bad_start().filter(|f| f.at < t);
            if let Tally::Out(o) = &mut self.tally {
                let theirs = parents.iter().map(|p| p.out().and_then(|o| o.bad));
                o.bad = theirs.fold(stood, First::earlier);
            }
        }
        for parent in parents {
            match (&mut self.tally, &parent.tally) {
                (Tally::Out(o), Tally::Out(p)) => {
                    let p_start = p.present.or(p.ended.filter(|(at, _)| *at == t).map(|(_, start)| start));
                    o.total_ms = o.total_ms.max(p.total_ms);
                    o.first = First::earlier(o.first, p.first);
                    let more = u32::from(item_out && p_start.is_none());
                    o.spells = o.spells.max(p.spells + more);
                    o.longest_ms = o.longest_ms.max(p.longest_ms).max(p_start.map_or(0, |s| t.since(s)));
                    if let (Some(mine), Some(theirs)) = (o.present, p_start) {
                        o.present = Some(mine.min(theirs));
                    }
                    if let Measure::Spells { limit, .. } = self.measure {
                        self.reach = earlier(self.reach, parent.reach);
                        if more > 0 && p.spells == limit {
                            // The one too many is the item's own present stretch on top of the parent's.
                            self.reach = earlier(self.reach, mine);
                        }
                        self.over = self.reach;
                    }
                }
                (Tally::Above { total_ms }, Tally::Above { total_ms: p }) => *total_ms = (*total_ms).max(*p),
                (Tally::Food { first, over }, Tally::Food { first: p_first, over: p_over }) => {
                    *first = earlier(*first, *p_first);
                    over.extend(p_over);
                    over.sort_by_key(|(key, _)| *key);
                    over.dedup();
                }
                (Tally::Cooled { running, hot, slow }, Tally::Cooled { running: pr, hot: ph, slow: ps }) => {
                    *running = earlier(*running, *pr);
                    *hot = earlier(*hot, *ph);
                    *slow = slower(*slow, *ps);
                }
                (Tally::Day { n, date }, Tally::Day { n: p_n, date: p_date }) => {
                    let today = along.zone.day(t);
                    let (p_n, p_over) = if *p_date < today {
                        let Measure::Day { limit } = self.measure else { return };
                        (p_n + 1, parent.over.or((p_n + 1 > limit).then_some(t)))
                    } else {
                        (*p_n, parent.over)
                    };
                    if p_n > *n {
                        (*n, *date) = (p_n, today);
                    }
                    self.over = earlier(self.over, p_over);
                    self.reach = self.over.map(|over| along.zone.day_starts(along.zone.day(over)));
                }
                _ => {}
            }
        }
        // Sums and lengths reach their limit at the join that carried it over, never before.
        let carried = match (&self.tally, self.measure) {
            (Tally::Out(o), Measure::TotalOut { limit_ms, .. }) => Some((o.total_ms, limit_ms)),
            (Tally::Out(o), Measure::LongestSpell { limit_ms, .. }) => Some((o.longest_at(t), limit_ms)),
            (Tally::Above { total_ms }, Measure::OutAbove { limit_ms, .. }) => Some((*total_ms, limit_ms)),
            _ => None,
        };
        if let Some((used, limit_ms)) = carried {
            if used >= limit_ms {
                self.reach.get_or_insert(t);
            }
            if used >= self.bound(limit_ms) {
                self.over.get_or_insert(t);
            }
        }
    }
}
