//! Who calls the service: nobody, a token, a browser with a cookie. They may use only the public API.

use super::house::House;
use axum::body::{Body, to_bytes};
use axum::http::request::Builder;
use axum::http::{HeaderMap, Request, StatusCode};
use serde_json::Value;
use tower::ServiceExt;

/// What the service answered, checked for what every answer has to have.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Its status.
    pub status: StatusCode,
    /// Its headers.
    pub headers: HeaderMap,
    /// Its body.
    pub bytes: Vec<u8>,
    asked: String,
}

impl Answer {
    /// One header as text, empty if it isn't there.
    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |v| v.to_str().expect("a plain header"))
    }

    /// The body as text.
    pub fn text(&self) -> &str {
        std::str::from_utf8(&self.bytes).expect("UTF-8")
    }

    /// The body as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes).unwrap_or_else(|e| panic!("{}: {e}: {}", self.asked, self.text()))
    }

    /// The code of a problem.
    pub fn code(&self) -> String {
        self.json()["code"].as_str().unwrap_or_default().to_owned()
    }

    /// It went well.
    #[track_caller]
    pub fn ok(self) -> Answer {
        assert!(self.status.is_success(), "{}: {} {}", self.asked, self.status, self.text());
        self
    }

    /// It was turned down, for this reason.
    #[track_caller]
    pub fn refused(self, status: u16, code: &str) -> Answer {
        let got = (self.status.as_u16(), self.text());
        assert!(got.0 == status && self.code() == code, "{}: {got:?} is not {status} {code}", self.asked);
        self
    }

    /// What every answer has to have.
    #[track_caller]
    fn check(self) -> Answer {
        let asked = &self.asked;
        let policy = self.header("content-security-policy");
        assert!(
            policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"),
            "{asked}: {policy}"
        );
        assert!(!policy.contains("unsafe-"), "{asked}: {policy}");
        assert_eq!(self.header("x-content-type-options"), "nosniff", "{asked}");
        assert_eq!(self.header("referrer-policy"), "same-origin", "{asked}");
        // Only what is the same for everybody may be kept anywhere.
        if !asked.contains(" /static/") {
            assert_eq!(self.header("cache-control"), "no-store", "{asked}");
        }
        let status = self.status.as_u16();
        assert!(status < 500 || status == 503, "{asked}: {status} {}", self.text());
        // Pages say it in HTML, to people.
        if status >= 400 && asked.contains("/api") && !asked.starts_with("HEAD ") {
            self.check_problem();
        }
        self
    }

    #[track_caller]
    fn check_problem(&self) {
        assert_eq!(self.header("content-type"), "application/problem+json", "{}: {}", self.asked, self.text());
        let p = self.json();
        let code = p["code"].as_str().expect("a code");
        assert_eq!(p["type"], format!("urn:counterclock:problem:{code}"));
        assert_eq!(p["status"], self.status.as_u16());
        for name in ["title", "detail", "next"] {
            let said = p[name].as_str().unwrap_or_default();
            assert!(said.ends_with('.') && said.len() > 5, "{}: `{name}` is {said:?}", self.asked);
            // What a database or a library says is for the log.
            for inner in ["sqlx", "SQLITE", "sqlite", "panicked", "Error(", "relation \"", "no such table"] {
                assert!(!said.contains(inner), "{}: `{name}` shows {inner}: {said}", self.asked);
            }
        }
        let known = ["type", "title", "status", "code", "detail", "next", "entry"];
        assert!(p.as_object().expect("an object").keys().all(|k| known.contains(&k.as_str())), "{p}");
    }
}

/// Somebody who calls the service.
pub trait Actor {
    /// The house called at.
    fn house(&self) -> &House;
    /// Adds what says who they are.
    fn dress(&self, request: Builder) -> Builder;

    /// Sends any request.
    async fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: impl Into<Body>) -> Answer {
        let mut request = Request::builder().method(method).uri(path).header("host", "shop.test");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let request = self.dress(request).body(body.into()).expect("a request");
        let answer = self.house().router().oneshot(request).await.expect("the router always answers");
        let (parts, body) = answer.into_parts();
        let bytes = to_bytes(body, usize::MAX).await.expect("a whole body").to_vec();
        Answer { status: parts.status, headers: parts.headers, bytes, asked: format!("{method} {path}") }.check()
    }

    /// Reads an address of the shop's own API, like `items?limit=2`.
    async fn get(&self, path: &str) -> Answer {
        self.send("GET", &format!("/s/shop/api/{path}"), &[], Body::empty()).await
    }

    /// Writes entries.
    async fn post(&self, entries: &Value) -> Answer {
        self.post_text(&entries.to_string(), &[]).await
    }

    /// Writes entries under an idempotency key.
    async fn post_keyed(&self, key: &str, entries: &Value) -> Answer {
        self.post_text(&entries.to_string(), &[("idempotency-key", key)]).await
    }

    /// Sends any text where entries are expected.
    async fn post_text(&self, text: &str, headers: &[(&str, &str)]) -> Answer {
        let mut all = vec![("content-type", "application/json")];
        all.extend_from_slice(headers);
        self.send("POST", "/s/shop/api/entries", &all, text.to_owned()).await
    }
}

/// Nobody.
#[derive(Clone)]
pub struct Anonymous(pub House);

/// A program with a bearer token.
#[derive(Clone)]
pub struct Bearer(pub House, pub String);

/// A browser whose cookie carries the token.
#[derive(Clone)]
pub struct Cookie(pub House, pub String);

impl Actor for Anonymous {
    fn house(&self) -> &House {
        &self.0
    }
    fn dress(&self, request: Builder) -> Builder {
        request
    }
}

impl Actor for Bearer {
    fn house(&self) -> &House {
        &self.0
    }
    fn dress(&self, request: Builder) -> Builder {
        request.header("authorization", format!("Bearer {}", self.1))
    }
}

impl Actor for Cookie {
    fn house(&self) -> &House {
        &self.0
    }
    fn dress(&self, request: Builder) -> Builder {
        request.header("cookie", format!("counterclock={}", self.1))
    }
}
