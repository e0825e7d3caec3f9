//! Refusals: every way an entry is turned down, each with a stable code, a sentence and what to do next.

use std::fmt;

/// One row of the table of refusals.
#[derive(Debug, PartialEq, Eq)]
pub struct Code {
    /// Stable, for programs.
    pub code: &'static str,
    /// The HTTP status it is answered with.
    pub status: u16,
    /// What is wrong, in a plain sentence.
    pub title: &'static str,
    /// What to do next.
    pub next: &'static str,
}

macro_rules! codes {
    ($($name:ident $code:literal $status:literal $title:literal $next:literal)*) => {
        $(#[doc = $title] pub const $name: Code =
            Code { code: $code, status: $status, title: $title, next: $next };)*
        /// Every refusal there is; the documents' table is made from it, and a test produces each.
        pub const CODES: &[&Code] = &[$(&$name),*];
    };
}

codes! {
    MALFORMED_JSON "malformed-json" 400 "The text is not JSON." "Send one entry as a JSON object, or an array of them."
    UNKNOWN_KIND "unknown-kind" 400 "There is no such kind of entry." "Take a kind from the table of entries."
    UNKNOWN_MEMBER "unknown-member" 400 "The entry has a member its kind doesn't know." "Leave the member out or correct its name."
    DOUBLED_MEMBER "doubled-member" 400 "A member stands twice in one object." "Send each member once."
    MISSING_MEMBER "missing-member" 400 "A member is missing." "Add the member."
    BAD_MEMBER "bad-member" 400 "A member has a value it cannot have." "Correct the value."
    BAD_ID "bad-id" 400 "That is not an id." "Use letters, digits, `.`, `_`, `-`, 1 to 40 of them."
    BAD_TIME "bad-time" 400 "That is not a time." "Send RFC 3339 with an offset, like 2026-05-02T15:20:00+02:00."
    BAD_TEMPERATURE "bad-temperature" 400 "That is not a temperature of food or its surroundings." "Send a decimal with one digit after the point, and its unit."
    TOO_MANY "too-many" 400 "An array holds 1 to 500 entries." "Send the rest in another request."
    UNKNOWN_ITEM "unknown-item" 409 "There is no such item." "Check the id, or begin the item first."
    UNKNOWN_PLACE "unknown-place" 409 "There is no such place." "Check the id, or write the place first."
    UNKNOWN_RULE "unknown-rule" 409 "There is no such rule." "Take a rule from the rule book, or write the rule first."
    UNKNOWN_PRODUCT "unknown-product" 409 "There is no such product." "Check the id, or write the product first."
    UNKNOWN_ENTRY "unknown-entry" 409 "There is no entry of that number." "Check the `seq`."
    ID_USED "id-used" 409 "That id is taken; ids never change meaning." "Choose another id."
    NO_RULE "no-rule" 409 "The item would be under no rule at all." "Name a rule, or a product that has one."
    EXEMPT_UNCLEAR "exempt-unclear" 409 "A product without rules needs a reason and evidence." "Name its rules, or say in `exempt` why it needs none."
    SITE_FIXED "site-fixed" 409 "A site's zone never changes." "Change name or units only."
    PLACE_FIXED "place-fixed" 409 "A place's control and use never change." "Write a new place under a new id."
    RULE_FIXED "rule-fixed" 409 "A rule's text never changes." "Write the new text under a new id."
    BUILT_IN "built-in" 409 "That id belongs to a built-in rule with other clauses." "Choose another id for the shop's own rule."
    BEFORE_BEGINNING "before-beginning" 409 "That lies before the item's beginning." "Check the time, or correct the beginning."
    AFTER_CLOSE "after-close" 409 "The item is closed by then." "Check the item and the time, or correct the close."
    PARENT_NOT_BEGUN "parent-not-begun" 409 "What it is made from hasn't begun by then." "Check the time and the ids in `from`."
    PARENT_CLOSED "parent-closed" 409 "What it is made from is closed by then." "Check the time and the ids in `from`."
    JOINED_TO_ITSELF "joined-to-itself" 409 "An item cannot be made from itself." "Check the ids in `from`."
    ALREADY_THERE "already-there" 409 "The item is there already." "Nothing is to be done, unless the time or the place is wrong."
    LAPSE_OPEN "lapse-open" 409 "That place's lapse is still open." "End it with `restore` first."
    NO_LAPSE "no-lapse" 409 "That place has no open lapse." "Check the place and the time."
    NO_CONTROL "no-control" 409 "That place has no temperature control to lose." "Name a cold or frozen place."
    BAD_UNTIL "bad-until" 409 "A lapse ends after it begins and not in the future." "Leave `until` out while it lasts."
    IN_FUTURE "in-the-future" 409 "That is more than two minutes in the future." "Check the clock; record things when they happen."
    MORE_THAN_LEFT "more-than-left" 409 "There aren't that many left." "Check the count."
    ITEM_FULL "item-full" 409 "An item has at most 2,000 entries." "Close it and begin a new one made from it."
    TOO_MANY_PARENTS "too-many-parents" 409 "An item is made from at most 64 others." "Close it and begin a new one made from it."
    TOO_MANY_GENERATIONS "too-many-generations" 409 "That would be more than 32 generations." "Begin a fresh item."
    NOT_CORRECTABLE "not-correctable" 409 "That cannot be corrected." "Correct the original entry; a rule takes a new id."
    UPSETS_ANOTHER "upsets-another" 409 "With it, another entry would be refused." "Correct that other entry first, or both in one request."
    MANAGERS_ONLY "managers-only" 403 "Only a manager may write that." "Ask a manager."
}

/// A refusal: its row of the table, and what it is about this time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// Its row.
    pub code: &'static Code,
    /// A sentence with the particulars.
    pub detail: String,
    /// The entry of the request it is about, counted from 0.
    pub index: Option<usize>,
}

impl Refusal {
    /// A refusal with its particulars.
    pub fn new(code: &'static Code, detail: impl Into<String>) -> Refusal {
        Refusal { code, detail: detail.into(), index: None }
    }

    /// A bad value.
    pub fn member(detail: &str) -> Refusal {
        Refusal::coded(if detail.contains('|') { detail.to_owned() } else { format!("bad-member|{detail}") }.as_str())
    }

    /// A missing member.
    pub fn missing(name: &str) -> Refusal {
        Refusal::new(&MISSING_MEMBER, format!("`{name}` is missing."))
    }

    /// A kind nobody knows.
    pub fn unknown_kind(kind: &str) -> Refusal {
        let kind: String = kind.chars().take(40).collect();
        Refusal::new(&UNKNOWN_KIND, format!("There is no kind of entry called `{kind}`."))
    }

    /// A member nobody knows.
    pub fn unknown_member(detail: &str) -> Refusal {
        Refusal::new(&UNKNOWN_MEMBER, format!("{detail}."))
    }

    /// From `code|sentence`, the form in which readers of single members say what is wrong.
    pub fn coded(text: &str) -> Refusal {
        let (code, detail) = text.split_once('|').unwrap_or(("bad-member", text));
        let row = CODES.iter().find(|c| c.code == code).copied().unwrap_or(&BAD_MEMBER);
        let mut detail = detail.to_owned();
        if !detail.ends_with('.') {
            detail.push('.');
        }
        Refusal::new(row, detail)
    }

    /// From what the JSON reader says.
    pub fn from_json(e: &serde_json::Error) -> Refusal {
        let text = e.to_string();
        if !e.is_data() {
            return Refusal::new(&MALFORMED_JSON, format!("The text is not JSON: {text}."));
        }
        // The reader adds where it stood; an entry is one short line, so that says nothing.
        let said = text.split(" at line ").next().unwrap_or(&text).to_owned();
        if CODES.iter().any(|c| said.strip_prefix(c.code).is_some_and(|rest| rest.starts_with('|'))) {
            return Refusal::coded(&said);
        }
        let row = match said.split(" `").next() {
            Some("unknown field") => &UNKNOWN_MEMBER,
            Some("duplicate field") => &DOUBLED_MEMBER,
            Some("missing field") => &MISSING_MEMBER,
            _ => &BAD_MEMBER,
        };
        Refusal::new(row, format!("{}.", said.replace("field", "member")))
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} {}", self.code.code, self.detail, self.code.next)
    }
}
