//! Marks: the time an item carries, what is written or printed next, and the words for whether that agrees with the log.

use super::forms::{self, Fields};
use super::task::{Ctx, Head};
use super::{Shell, words};
use crate::clock::{Instant, Zone};
use crate::lang;
use crate::ledger::refusal::{BAD_MEMBER, BAD_TIME, Refusal};
use crate::ledger::{Id, State};
use crate::record::marking::{self, Agreement, Mark, Marking, NoMark};
use crate::rules::Standing;
use crate::web::show::Show;
use askama::Template;
use serde_json::{Value, json};

/// The two actions: it is written on it, or a label is printed.
#[derive(Clone)]
pub struct Offer {
    /// The item.
    pub id: Id,
    /// The time to be written or printed.
    pub time: String,
    /// That time for the form to say which one it showed: the mark itself is the server's.
    pub shown: String,
    /// Whether the form leads back to the board.
    pub to_board: bool,
}

/// What an item's page says of its mark.
pub(super) struct Marked {
    /// The alarm, in words, and its class.
    pub label: Option<Label>,
    /// What it carries.
    pub last: Option<String>,
    /// What holds the next mark back, or why none is made, and the earlier mark in question.
    pub why: Option<String>,
    /// The earlier mark's entry, where that may be struck out.
    pub held_by: Option<u64>,
    /// What is new about the next.
    pub next: Option<String>,
    pub offer: Option<Offer>,
}

/// A label that is missing or wrong, told by its word and its pattern.
#[derive(Clone)]
pub(super) struct Label {
    pub class: &'static str,
    pub text: String,
    /// Whether marking it anew puts it right.
    pub may_mark: bool,
}

/// The page.
#[derive(Template)]
#[template(path = "mark.html")]
pub(super) struct MarkPage {
    shell: Shell,
    head: Head,
    marked: Marked,
    f: Fields,
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<MarkPage> {
    let s = c.standing(c.id)?;
    Some(MarkPage {
        shell: c.shell(),
        head: c.head("mark", lang::mark_title())?,
        marked: marked(c.state, c.show, &s, true)?,
        f: c.fields.clone(),
    })
}

/// The alarm about what an item carries, if there is one.
pub(super) fn label(show: Show, m: &Marking) -> Option<Label> {
    let (class, text) = match (m.agreement, &m.last) {
        (Agreement::Late, Some(last)) => ("late", lang::label_late(&show.clock(last.discard_by))),
        (Agreement::Unmarked, _) => ("unmarked", lang::label_unmarked().to_owned()),
        _ => return None,
    };
    Some(Label { class, text, may_mark: m.next.is_ok() })
}

/// What there is to say and to do. In the cold there is nothing to write, unless the mark is wrong or it is `asked` for.
pub(super) fn marked(state: &State, show: Show, s: &Standing, asked: bool) -> Option<Marked> {
    let m = Marking::of(state, s)?;
    let wanted = asked || marking::runs(s) || m.agreement == Agreement::Late;
    let (why, held_by) = match &m.next {
        Ok(next) => (next.held_by.as_ref().map(|h| lang::mark_held(&show.clock(h.discard_by))), next.held_by.as_ref()),
        Err(NoMark::Held(h)) => (Some(lang::mark_passed(&show.clock(h.discard_by))), Some(h)),
        Err(why @ (NoMark::NoLimit | NoMark::Cold)) => (Some(no_mark(show, why)), None),
        Err(_) => (None, None),
    };
    let copy = m.copy.to_string();
    let next = m.next.as_ref().ok().filter(|_| m.copy > 1);
    let next = next.map(|n| if n.new_time { lang::mark_next_new(&copy) } else { lang::mark_next(&copy) });
    Some(Marked {
        label: label(show, &m),
        last: m.last.as_ref().map(|l| said(show, l)),
        why: why.filter(|_| wanted),
        held_by: held_by.filter(|_| wanted).map(|h| h.seq),
        next: next.filter(|_| wanted),
        offer: offer(show, s, &m).filter(|_| wanted),
    })
}

/// A mark in a sentence.
pub(super) fn said(show: Show, m: &Mark) -> String {
    lang::mark_said(&show.clock(m.discard_by), &m.copy.to_string(), words::marked(m.how), &show.clock(m.at))
}

/// The two actions, if a mark may be made.
pub(super) fn offer(show: Show, s: &Standing, m: &Marking) -> Option<Offer> {
    let next = m.next.as_ref().ok()?;
    let (time, shown) = (show.clock(next.discard_by), next.discard_by.to_string());
    Some(Offer { id: s.item.clone(), time, shown, to_board: false })
}

/// The entry that a touch of one of the two means. Its time is the server's; what the page `shown` is only compared, since
/// that is what stands on the box.
pub(super) fn entry(show: Show, s: &Standing, m: &Marking, f: &Fields, shown: Option<&str>) -> Result<Value, Refusal> {
    let how = f.get("how").filter(|how| matches!(*how, "written" | "printed"));
    let how = how.ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::form_unknown()))?;
    let next = m.next.as_ref().map_err(|why| Refusal::form(&BAD_MEMBER, &no_mark(show, why)))?;
    let other = shown.and_then(Instant::parse).is_some_and(|t| t != next.discard_by);
    if how == "written" && other {
        return Err(Refusal::form(&BAD_MEMBER, &lang::mark_changed(&show.clock(next.discard_by))));
    }
    Ok(json!({"kind": "mark", "item": s.item, "discard_by": next.discard_by, "how": how, "copy": m.copy}))
}

fn no_mark(show: Show, why: &NoMark) -> String {
    match why {
        NoMark::Closed => lang::mark_closed().to_owned(),
        NoMark::Over => lang::mark_over().to_owned(),
        NoMark::NoLimit => lang::mark_no_limit().to_owned(),
        NoMark::Cold => lang::mark_cold().to_owned(),
        NoMark::Held(h) => lang::mark_passed(&show.clock(h.discard_by)),
    }
}

/// The entry that a touch for a whole rack means for one thing on it.
pub(super) fn on_rack(state: &State, show: Show, id: &Id, f: &Fields) -> Result<Value, Refusal> {
    let unknown = || Refusal::form(&BAD_MEMBER, lang::mark_closed());
    let s = super::task::standing(state, show, id).ok_or_else(unknown)?;
    let m = Marking::of(state, &s).ok_or_else(unknown)?;
    let shown = f.all("shown").filter_map(|t| t.split_once(' ')).find(|(item, _)| *item == id.as_str());
    entry(show, &s, &m, f, shown.map(|(_, t)| t))
}

/// The mark that a form about one item means.
pub(super) fn of_form(c: &Ctx) -> Result<Value, Refusal> {
    let s = c.standing(c.id).ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::mark_closed()))?;
    let m = Marking::of(c.state, &s).ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::mark_closed()))?;
    if c.fields.has("time") {
        return Ok(json!({
            "kind": "mark", "item": c.id, "discard_by": typed(c, &s)?, "how": "written", "copy": m.copy,
        }));
    }
    entry(c.show, &s, &m, c.fields, c.fields.get("shown"))
}

/// What was found written on it: a time of the day that is meant by whoever wrote it, which without a date is the nearest
/// to the time it should say. If it may as well be one that has come since the item began, the date is asked for: an old
/// label is not to be read as today's. Where the clocks go back and it comes twice, the later is taken: that one is told of.
fn typed(c: &Ctx, s: &Standing) -> Result<Instant, Refusal> {
    let text = c.fields.get("time").ok_or_else(|| Refusal::form(&BAD_TIME, lang::form_bad_time()))?;
    if let Some(date) = c.fields.get("date") {
        return forms::wall(&format!("{date}T{text}"), c.show, false);
    }
    let (zone, near) = (c.show.zone, s.discard_by.unwrap_or(c.show.now));
    let day = zone.day(near);
    let on = |day| forms::wall(&format!("{}T{text}", Zone::date_text(day)), c.show, false);
    let found = [day - 1, day, day + 1].map(on);
    let nearest = found.iter().flatten().min_by_key(|t| (t.since(near).abs(), t.0)).copied();
    let nearest = nearest.ok_or_else(|| Refusal::form(&BAD_TIME, lang::form_bad_time()))?;
    let began = c.item.begin().map(|(e, _)| e.at);
    let past = forms::wall(text, c.show, false).ok().filter(|t| *t <= c.show.now && began.is_some_and(|b| *t >= b));
    match past.filter(|t| *t != nearest) {
        Some(t) => Err(Refusal::form(&BAD_TIME, &lang::mark_which_day(&c.show.date(nearest), &c.show.date(t)))),
        None => Ok(nearest),
    }
}
