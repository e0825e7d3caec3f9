//! Errors as RFC 9457 problems with a stable code, a plain sentence and what to do next.

use super::service::Fault;
use crate::lang::{self, Lang};
use crate::ledger::Refusal;
use crate::ledger::refusal::Code;
use crate::store::health;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;

/// What went wrong, for a program and for a person.
#[derive(Clone, Debug)]
pub struct Problem {
    /// Stable, for programs.
    pub code: &'static str,
    /// The HTTP status.
    pub status: u16,
    /// In a plain sentence.
    pub title: Text,
    /// The particulars.
    pub detail: String,
    /// What to do next.
    pub next: Text,
    /// The entry of the request it is about, counted from 0.
    pub entry: Option<usize>,
}

impl Serialize for Problem {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeMap;
        let mut m = s.serialize_map(None)?;
        m.serialize_entry("type", &format_args!("urn:counterclock:problem:{}", self.code))?;
        // A program reads it in one language, whoever asks.
        let (title, next) = lang::within(Lang::En, || ((self.title)(), (self.next)()));
        m.serialize_entry("title", title)?;
        m.serialize_entry("status", &self.status)?;
        m.serialize_entry("code", self.code)?;
        m.serialize_entry("detail", &self.detail)?;
        m.serialize_entry("next", next)?;
        if let Some(entry) = self.entry {
            m.serialize_entry("entry", &entry)?;
        }
        m.end()
    }
}

/// A text in the language in force.
pub type Text = fn() -> &'static str;

/// Problems that aren't refusals of an entry: code, status, sentence, what to do next.
pub const PROBLEMS: &[(&str, u16, Text, Text)] = &[
    ("bad-query", 400, lang::problem_bad_query, lang::problem_bad_query_next),
    ("malformed", 400, lang::problem_malformed, lang::problem_malformed_next),
    ("bad-plan", 400, lang::problem_bad_plan, lang::problem_bad_plan_next),
    ("not-signed-in", 401, lang::problem_not_signed_in, lang::problem_not_signed_in_next),
    ("not-allowed", 403, lang::problem_not_allowed, lang::problem_not_allowed_next),
    ("cross-site", 403, lang::problem_cross_site, lang::problem_cross_site_next),
    ("not-found", 404, lang::problem_not_found, lang::problem_not_found_next),
    ("wrong-method", 405, lang::problem_wrong_method, lang::problem_wrong_method_next),
    ("too-large", 413, lang::problem_too_large, lang::problem_too_large_next),
    ("not-json", 415, lang::problem_not_json, lang::problem_not_json_next),
    ("another-person", 409, lang::problem_another_person, lang::problem_another_person_next),
    ("key-reused", 422, lang::problem_key_reused, lang::problem_key_reused_next),
    ("busy", 503, lang::problem_busy, lang::problem_busy_next),
    ("not-recorded", 503, lang::problem_not_recorded, lang::problem_not_recorded_next),
    ("unknown-outcome", 503, lang::problem_unknown_outcome, lang::problem_unknown_outcome_next),
];

/// Every code with its status, what it means and what to do next, as a Markdown table.
pub fn table() -> String {
    let mut text = String::from("| Code | Status | What is wrong | What to do next |\n| --- | --- | --- | --- |\n");
    let problems = PROBLEMS.iter().copied();
    let refusals = crate::ledger::refusal::CODES.iter().map(|c| (c.code, c.status, c.title, c.next));
    for (code, status, title, next) in problems.chain(refusals) {
        let (title, next) = lang::within(Lang::En, || (title(), next()));
        text.push_str(&format!("| `{code}` | {status} | {title} | {next} |\n"));
    }
    text
}

impl Problem {
    /// A problem by its code, with the particulars.
    pub fn of(code: &str, detail: &str) -> Problem {
        let row = PROBLEMS.iter().find(|p| p.0 == code).unwrap_or(&PROBLEMS[1]);
        let detail = if detail.is_empty() { row.2() } else { detail }.to_owned();
        Problem { code: row.0, status: row.1, title: row.2, detail, next: row.3, entry: None }
    }
}

impl From<Refusal> for Problem {
    fn from(r: Refusal) -> Problem {
        let Code { code, status, title, next } = *r.code;
        Problem { code, status, title, detail: r.detail, next, entry: r.index }
    }
}

impl From<Fault> for Problem {
    fn from(f: Fault) -> Problem {
        match f {
            Fault::Refused(r) => r.into(),
            Fault::NotFound(what) => Problem::of("not-found", &format!("There is no such {what}.")),
            Fault::Forbidden => Problem::of("not-allowed", ""),
            Fault::Busy => Problem::of("busy", ""),
            Fault::NotRecorded => Problem::of("not-recorded", ""),
            Fault::Broken(at) => Problem::of("not-recorded", &lang::fault_broken_at(&at, health::BROKEN)),
            Fault::UnknownOutcome => Problem::of("unknown-outcome", ""),
            Fault::KeyReused => Problem::of("key-reused", ""),
        }
    }
}

impl From<crate::store::StoreError> for Problem {
    fn from(e: crate::store::StoreError) -> Problem {
        Fault::from(e).into()
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::SERVICE_UNAVAILABLE);
        let body = serde_json::to_string(&self).unwrap_or_default();
        let mut r = (status, [(header::CONTENT_TYPE, "application/problem+json")], body).into_response();
        let extra = match self.status {
            401 => Some((header::WWW_AUTHENTICATE, "Bearer")),
            503 => Some((header::RETRY_AFTER, "1")),
            _ => None,
        };
        if let Some((name, value)) = extra {
            r.headers_mut().insert(name, axum::http::HeaderValue::from_static(value));
        }
        r
    }
}
