//! Refusals: every way an entry is turned down, each with a stable code, a sentence and what to do next.

use super::Id;
use crate::clock::Instant;
use crate::lang;
use std::fmt;

/// One row of the table of refusals.
#[derive(Debug)]
pub struct Code {
    /// Stable, for programs.
    pub code: &'static str,
    /// The HTTP status it is answered with.
    pub status: u16,
    /// What is wrong, in a plain sentence of the language in force.
    pub title: fn() -> &'static str,
    /// What to do next.
    pub next: fn() -> &'static str,
}

impl PartialEq for Code {
    fn eq(&self, other: &Code) -> bool {
        self.code == other.code
    }
}

impl Eq for Code {}

macro_rules! codes {
    ($($name:ident $code:literal $status:literal $title:ident $next:ident)*) => {
        $(#[doc = concat!("The refusal `", $code, "`.")]
        pub const $name: Code =
            Code { code: $code, status: $status, title: lang::$title, next: lang::$next };)*
        /// Every refusal there is; the documents' table is made from it, and a test produces each.
        pub const CODES: &[&Code] = &[$(&$name),*];
    };
}

codes! {
    MALFORMED_JSON "malformed-json" 400 refused_malformed_json refused_malformed_json_next
    UNKNOWN_KIND "unknown-kind" 400 refused_unknown_kind refused_unknown_kind_next
    UNKNOWN_MEMBER "unknown-member" 400 refused_unknown_member refused_unknown_member_next
    DOUBLED_MEMBER "doubled-member" 400 refused_doubled_member refused_doubled_member_next
    MISSING_MEMBER "missing-member" 400 refused_missing_member refused_missing_member_next
    BAD_MEMBER "bad-member" 400 refused_bad_member refused_bad_member_next
    BAD_ID "bad-id" 400 refused_bad_id refused_bad_id_next
    BAD_TIME "bad-time" 400 refused_bad_time refused_bad_time_next
    BAD_TEMPERATURE "bad-temperature" 400 refused_bad_temperature refused_bad_temperature_next
    TOO_MANY "too-many" 400 refused_too_many refused_too_many_next
    UNKNOWN_ITEM "unknown-item" 409 refused_unknown_item refused_unknown_item_next
    UNKNOWN_PLACE "unknown-place" 409 refused_unknown_place refused_unknown_place_next
    UNKNOWN_RULE "unknown-rule" 409 refused_unknown_rule refused_unknown_rule_next
    UNKNOWN_PRODUCT "unknown-product" 409 refused_unknown_product refused_unknown_product_next
    UNKNOWN_ENTRY "unknown-entry" 409 refused_unknown_entry refused_unknown_entry_next
    ID_USED "id-used" 409 refused_id_used refused_id_used_next
    NO_RULE "no-rule" 409 refused_no_rule refused_no_rule_next
    EXEMPT_UNCLEAR "exempt-unclear" 409 refused_exempt_unclear refused_exempt_unclear_next
    SITE_FIXED "site-fixed" 409 refused_site_fixed refused_site_fixed_next
    PLACE_FIXED "place-fixed" 409 refused_place_fixed refused_place_fixed_next
    RULE_FIXED "rule-fixed" 409 refused_rule_fixed refused_rule_fixed_next
    BUILT_IN "built-in" 409 refused_built_in refused_built_in_next
    BEFORE_BEGINNING "before-beginning" 409 refused_before_beginning refused_before_beginning_next
    AFTER_CLOSE "after-close" 409 refused_after_close refused_after_close_next
    PARENT_NOT_BEGUN "parent-not-begun" 409 refused_parent_not_begun refused_parent_not_begun_next
    PARENT_CLOSED "parent-closed" 409 refused_parent_closed refused_parent_closed_next
    JOINED_TO_ITSELF "joined-to-itself" 409 refused_joined_to_itself refused_joined_to_itself_next
    ALREADY_THERE "already-there" 409 refused_already_there refused_already_there_next
    LAPSE_OPEN "lapse-open" 409 refused_lapse_open refused_lapse_open_next
    NO_LAPSE "no-lapse" 409 refused_no_lapse refused_no_lapse_next
    BEFORE_LEDGER "before-ledger" 409 refused_before_ledger refused_before_ledger_next
    AIR_JUMP "air-jump" 409 refused_air_jump refused_air_jump_next
    NO_CONTROL "no-control" 409 refused_no_control refused_no_control_next
    BAD_UNTIL "bad-until" 409 refused_bad_until refused_bad_until_next
    IN_FUTURE "in-the-future" 409 refused_in_the_future refused_in_the_future_next
    MORE_THAN_LEFT "more-than-left" 409 refused_more_than_left refused_more_than_left_next
    ITEM_FULL "item-full" 409 refused_item_full refused_item_full_next
    TOO_MANY_PARENTS "too-many-parents" 409 refused_too_many_parents refused_too_many_parents_next
    TOO_MANY_GENERATIONS "too-many-generations" 409 refused_too_many_generations refused_too_many_generations_next
    NOT_CORRECTABLE "not-correctable" 409 refused_not_correctable refused_not_correctable_next
    UPSETS_ANOTHER "upsets-another" 409 refused_upsets_another refused_upsets_another_next
    MANAGERS_ONLY "managers-only" 403 refused_managers_only refused_managers_only_next
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
    /// The same for a person who doesn't know ids.
    pub told: Told,
}

/// What a person is told besides the sentence of the table; `detail` is for programs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Told {
    /// Nothing more: the particulars are about how the entry is written.
    Nothing,
    /// `detail` is a page's own sentence, and says all.
    Words,
    /// Since when this item is as it is.
    Since(Id, Instant),
    /// How many of it are left.
    Left(Id, u32),
}

impl Refusal {
    /// A refusal with its particulars.
    pub fn new(code: &'static Code, detail: impl Into<String>) -> Refusal {
        Refusal { code, detail: detail.into(), index: None, told: Told::Nothing }
    }

    /// A form's own sentence, for whoever filled it in.
    pub fn form(code: &'static Code, sentence: &str) -> Refusal {
        Refusal { told: Told::Words, ..Refusal::new(code, sentence) }
    }

    /// With since when the item is as it is.
    pub fn since(self, item: &Id, at: Instant) -> Refusal {
        Refusal { told: Told::Since(item.clone(), at), ..self }
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
        write!(f, "{}: {} {}", self.code.code, self.detail, (self.code.next)())
    }
}
