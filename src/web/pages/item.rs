//! An item's page: until when, how long is left, one large action, and how the time is made up.

use super::live::Live;
use super::log::{self, Line};
use super::mark::{self, Marked};
use super::tile::Tile;
use super::working::{self, Hint};
use super::{Asked, Choice, Shell, moves, name_of, place_name, rule_name, undo, words};
use crate::board::working::ComeBacks;
use crate::clock::Instant;
use crate::exposure::{Fold, Spell};
use crate::lang;
use crate::ledger::{Body, Id, Item, State};
use crate::rules::{self, Demand, Phase, Rule, Standing, Verdict, book};
use crate::web::show::Show;
use crate::words::rule_name as rule_of;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "item.html")]
pub struct ItemPage {
    shell: Shell,
    tile: Tile,
    closed: Option<String>,
    why: Vec<String>,
    /// How it is to work with.
    hints: Vec<Hint>,
    /// When it may be planned to be moved next.
    plan: Option<working::Offer>,
    decides: Option<String>,
    deviations: Vec<String>,
    use_by: Option<String>,
    made_from: Vec<(Id, String)>,
    went_into: Vec<(Id, String)>,
    sums: Vec<Sum>,
    total: String,
    others: Vec<Choice>,
    /// The small pages behind this one.
    tasks: Vec<(&'static str, &'static str)>,
    /// What one touch takes back, where no notice offers it already.
    undo: Option<(String, String)>,
    marked: Marked,
    rules: Vec<RuleView>,
    log: Vec<Line>,
    unit: &'static str,
    live: String,
}

/// A line of the sum.
struct Sum {
    what: String,
    length: String,
    came: bool,
    from: Option<Id>,
}

/// A rule in words.
pub(super) struct RuleView {
    pub name: String,
    pub returns: &'static str,
    /// Whether it asks for a mark.
    pub asks: bool,
    pub clauses: Vec<String>,
    pub source: String,
}

/// Builds it; `None` if there is no such item.
pub fn build(state: &State, now: Instant, id: &Id, planned: &ComeBacks, asked: &Asked) -> Option<ItemPage> {
    let show = Show::of(state, now);
    let fold = Fold::new(state, now, show.zone);
    let (id, item) = state.items.get_key_value(id)?;
    let (entry, begin) = item.begin()?;
    let tile = Tile::of(&fold, id, show, true)?;
    let s = &tile.standing;
    let rules = state.rules_of(begin, entry.meta.seq);
    let (sums, total) = sums(state, show, &fold.spells(id), s);
    let open = s.state != Phase::Closed;
    let go_place = tile.go.as_ref().map(|g| g.value.clone());
    let others = moves::places(state, item, &s.place, s.state == Phase::Out, now);
    let shell = Shell::of(state, now, asked);
    Some(ItemPage {
        closed: (!open).then(|| ending(show, item)),
        why: why(show, &fold, id, s),
        decides: decides(show, state, &rules, s),
        hints: working::hints(&fold, id, &tile, show, planned),
        plan: working::offer(state, show, id, planned, false),
        deviations: s.deviations.iter().map(|d| words::deviation(show, state, d)).collect(),
        use_by: s.use_by.as_deref().filter(|_| s.verdict != Verdict::Discard).map(|d| show.date_of(d)),
        made_from: made_from(state, item),
        went_into: went_into(state, id, item),
        sums,
        total,
        others: others
            .iter()
            .filter(|p| Some(p.place.as_str()) != go_place.as_deref())
            .map(|p| Choice::place(p, false))
            .collect(),
        tasks: tasks(s),
        undo: undoing(state, show, id, item, asked),
        marked: mark::marked(state, show, s, false)?,
        rules: rules.iter().map(|r| rule_view(show, r)).collect(),
        log: log::lines(state, show, &asked.names, item),
        unit: show.unit(),
        live: Live::shop(&shell, state.head).of(state, std::iter::once(id.clone())).to_string(),
        shell,
        tile,
    })
}

/// What else can be done with it, most frequent first.
fn tasks(s: &Standing) -> Vec<(&'static str, &'static str)> {
    let mut tasks = vec![
        ("coat", lang::coat_title()),
        ("end", lang::end_title()),
        ("temperature", lang::temperature_title()),
        ("split", lang::split_title()),
        ("scrapings", lang::scrapings_title()),
        ("mix", lang::mix_title()),
        ("hand-over", lang::hand_title()),
        ("earlier", lang::earlier_title()),
        ("plan", lang::plan_title()),
    ];
    if matches!(s.state, Phase::Cold | Phase::Frozen) {
        tasks.push(("found", lang::found_title()));
    }
    tasks
}

fn undoing(state: &State, show: Show, id: &Id, item: &Item, asked: &Asked) -> Option<(String, String)> {
    if asked.notice.as_ref().is_some_and(|n| n.undo.is_some()) {
        return None;
    }
    let (seqs, entry) = undo::last_act(state, id, item, show.now)?;
    let seqs: Vec<String> = seqs.iter().map(u64::to_string).collect();
    Some((seqs.join(","), lang::undo_last(&log::said(state, show, &entry), &show.clock(entry.at))))
}

fn ending(show: Show, item: &Item) -> String {
    match item.end().map(|e| (e.at, &e.body)) {
        Some((at, Body::Close { r#as, .. })) => lang::closed_at(words::closed(*r#as), &show.clock(at)),
        _ => String::new(),
    }
}

/// The lines that add up to the total: own stays, and what came with each parent as one line.
fn sums(state: &State, show: Show, spells: &[Spell], s: &Standing) -> (Vec<Sum>, String) {
    let lengths = Show::lines(spells.iter().map(|spell| spell.length_ms(s.as_of)));
    let mut sums: Vec<(Sum, i64, i64)> = Vec::new();
    for (spell, seconds) in spells.iter().zip(&lengths) {
        if let (Some(from), Some((last, sum, count))) = (&spell.inherited_from, sums.last_mut())
            && last.from.as_ref() == Some(from)
        {
            *sum += seconds;
            *count += 1;
            continue;
        }
        let (place, from) = (place_name(state, &spell.place), show.clock(spell.from));
        let what = match spell.to {
            _ if spell.inherited_from.is_some() => String::new(),
            Some(to) => lang::sum_spell(&from, &place, &show.clock(to)),
            None => lang::sum_open(&from, &place),
        };
        let (came, from) = (spell.inherited_from.is_some(), spell.inherited_from.clone());
        sums.push((Sum { what, length: String::new(), came, from }, *seconds, 1));
    }
    let finish = |(sum, seconds, count): (Sum, i64, i64)| {
        let what = sum.from.as_ref().map_or(sum.what, |id| lang::sum_came(count, &name_of(state, id)));
        Sum { what, length: Show::seconds(seconds), ..sum }
    };
    (sums.into_iter().map(finish).collect(), Show::seconds(lengths.iter().sum()))
}

/// A sentence for each breached clause, and for what went in over its time.
fn why<'a>(show: Show, fold: &Fold<'a>, id: &'a Id, s: &Standing) -> Vec<String> {
    let Some(exposure) = fold.exposure(id) else { return Vec::new() };
    let clauses = exposure.rules.iter().flat_map(|r| r.clauses.iter().map(move |c| (r, c)));
    let mut breached: Vec<_> = clauses
        .zip(&exposure.now)
        .filter(|((_, c), gauge)| gauge.breached(s.as_of) && (c.demand != Demand::Return || s.state == Phase::Out))
        .collect();
    breached.sort_by_key(|((_, c), _)| std::cmp::Reverse(c.demand.verdict()));
    let mut why: Vec<String> = breached
        .into_iter()
        .map(|((rule, c), gauge)| words::reason(show, &rule_of(rule), c, &gauge.used(s.as_of)))
        .collect();
    if let Some(doom) = &exposure.doom {
        let over = over_parents(fold.state(), show, id);
        why.insert(0, lang::why_made_from(&rule_name(fold.state(), &doom.rule), &show.clock(doom.reach), &over));
    }
    why
}

/// The parents that were over when they went in.
fn over_parents(state: &State, show: Show, id: &Id) -> String {
    let Some(item) = state.items.get(id) else { return String::new() };
    let mut over = Vec::new();
    for (at, parent) in item.truth.iter().flat_map(|e| e.parents().iter().map(|p| (e.at, p))) {
        let fold = Fold::new(state, at, show.zone);
        if rules::standing(&fold, parent).is_some_and(|s| s.verdict == Verdict::Discard) {
            over.push(parent.clone());
        }
    }
    words::names(state, &over)
}

/// Whose the time is, in words.
pub(super) fn decides(show: Show, state: &State, rules: &[std::sync::Arc<Rule>], s: &Standing) -> Option<String> {
    let d = s.decides.as_ref()?;
    let own = rules.iter().find(|r| r.rule == d.rule);
    let clause = own.and_then(|r| {
        let mut named = r.clauses.iter().filter(|c| c.measure.name() == d.measure && c.demand == Demand::Discard);
        named.next()
    });
    Some(match clause {
        Some(c) => lang::decides(&rule_name(state, &d.rule), &words::measure(show, c)),
        None => lang::decides_inherited(&rule_name(state, &d.rule)),
    })
}

pub(super) fn made_from(state: &State, item: &Item) -> Vec<(Id, String)> {
    let mut ids: Vec<&Id> = item.truth.iter().flat_map(|e| e.parents()).collect();
    let mut seen = std::collections::BTreeSet::new();
    ids.retain(|id| seen.insert(*id));
    ids.into_iter().map(|id| (id.clone(), name_of(state, id))).collect()
}

/// `children` also names what a correction took back; those are left out where that can be seen.
pub(super) fn went_into(state: &State, id: &Id, item: &Item) -> Vec<(Id, String)> {
    let still = |child: &&Id| state.items.get(*child).is_none_or(|c| c.truth.iter().any(|e| e.parents().contains(id)));
    item.children.iter().filter(still).map(|c| (c.clone(), name_of(state, c))).collect()
}

pub(super) fn rule_view(show: Show, rule: &Rule) -> RuleView {
    let s = &rule.source;
    let parts = [Some(&s.title), s.edition.as_ref(), s.section.as_ref(), Some(&s.basis)];
    let source: Vec<&str> = parts.into_iter().flatten().map(|t| &**t).collect();
    RuleView {
        name: rule_of(rule),
        returns: words::returns(rule.returns),
        asks: rule.asks_for_mark(),
        clauses: rule.clauses.iter().map(|c| words::clause(show, c)).collect(),
        source: source.join("; "),
    }
}
