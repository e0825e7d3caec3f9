//! A browser: it keeps cookies, sends forms, and reads pages by selecting.

use super::actor::{Actor, Answer};
use super::house::House;
use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::request::Builder;
use scraper::{Html, Selector};
use std::collections::BTreeMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex};

/// A browser of its own, at an address of its own.
#[derive(Clone)]
pub struct Browser {
    house: House,
    jar: Arc<Mutex<BTreeMap<String, String>>>,
    peer: IpAddr,
    by_itself: bool,
}

impl Actor for Browser {
    fn house(&self) -> &House {
        &self.house
    }

    fn dress(&self, request: Builder) -> Builder {
        let jar = self.jar.lock().expect("not poisoned");
        let cookies: Vec<String> = jar.iter().map(|(name, value)| format!("{name}={value}")).collect();
        let request = request
            .extension(ConnectInfo(SocketAddr::new(self.peer, 40_000)))
            .header("sec-fetch-dest", if self.by_itself { "empty" } else { "document" });
        if cookies.is_empty() { request } else { request.header("cookie", cookies.join("; ")) }
    }
}

/// What a browser got.
pub struct Page(pub Answer);

impl Page {
    /// Its status.
    pub fn status(&self) -> u16 {
        self.0.status.as_u16()
    }

    /// Where it leads on to.
    pub fn to(&self) -> &str {
        self.0.header("location")
    }

    /// The texts of what is selected.
    pub fn texts(&self, css: &str) -> Vec<String> {
        let html = Html::parse_document(self.0.text());
        let css = Selector::parse(css).expect("a selector");
        let found = html.select(&css);
        found.map(|e| e.text().collect::<Vec<_>>().join(" ").split_whitespace().collect::<Vec<_>>().join(" ")).collect()
    }

    /// The first text of what is selected; empty if there is nothing.
    pub fn text(&self, css: &str) -> String {
        self.texts(css).into_iter().next().unwrap_or_default()
    }

    /// An attribute of all that is selected.
    pub fn attributes(&self, css: &str, name: &str) -> Vec<String> {
        let html = Html::parse_document(self.0.text());
        let css = Selector::parse(css).expect("a selector");
        let found = html.select(&css);
        found.filter_map(|e| e.value().attr(name).map(str::to_owned)).collect()
    }

    /// What the page's first form would send as it stands, but for its buttons.
    pub fn form(&self) -> Vec<(String, String)> {
        let html = Html::parse_document(self.0.text());
        let css = Selector::parse("main form:first-of-type :is(input, select, textarea)").expect("a selector");
        let chosen = Selector::parse("option[selected]").expect("a selector");
        let mut fields = Vec::new();
        for e in html.select(&css) {
            let attribute = |name: &str| e.value().attr(name).unwrap_or_default().to_owned();
            let value = match (e.value().name(), e.value().attr("type")) {
                (_, Some("checkbox" | "radio")) if e.value().attr("checked").is_none() => continue,
                ("select", _) => {
                    let option = e.select(&chosen).next();
                    option.and_then(|o| o.value().attr("value")).unwrap_or_default().to_owned()
                }
                ("textarea", _) => e.text().collect(),
                _ => attribute("value"),
            };
            fields.push((attribute("name"), value));
        }
        fields
    }

    /// It has that status and says that.
    #[track_caller]
    pub fn says(self, status: u16, part: &str) -> Page {
        assert_eq!(self.status(), status, "{}", self.0.text());
        let said = self.text("[role=alert]:not([hidden])");
        assert!(said.contains(part), "{said:?} doesn't say {part:?}");
        self
    }

    /// It leads on to there.
    #[track_caller]
    pub fn goes(self, to: &str) -> Page {
        assert!(self.status() == 303 && self.to() == to, "{} {} {}", self.status(), self.to(), self.0.text());
        self
    }
}

impl Browser {
    /// The same browser, led to another server.
    pub fn led_to(&self, house: &House) -> Browser {
        Browser { house: house.clone(), ..self.clone() }
    }

    /// A fresh one.
    pub fn new(house: &House) -> Browser {
        Browser { house: house.clone(), jar: Arc::default(), peer: [192, 0, 2, 7].into(), by_itself: false }
    }

    /// The same browser at another address.
    pub fn at(&self, peer: [u8; 4]) -> Browser {
        Browser { peer: peer.into(), ..self.clone() }
    }

    /// The same browser, asking without anybody having done anything.
    pub fn by_itself(&self) -> Browser {
        Browser { by_itself: true, ..self.clone() }
    }

    /// What a cookie of it carries.
    pub fn cookie(&self, name: &str) -> Option<String> {
        self.jar.lock().expect("not poisoned").get(name).cloned()
    }

    /// Puts a cookie there.
    pub fn put(&self, name: &str, value: &str) {
        self.jar.lock().expect("not poisoned").insert(name.to_owned(), value.to_owned());
    }

    fn keep(&self, answer: Answer) -> Page {
        let mut jar = self.jar.lock().expect("not poisoned");
        for cookie in answer.headers.get_all("set-cookie") {
            let cookie = cookie.to_str().expect("a plain header");
            let (pair, rest) = cookie.split_once(';').expect("attributes");
            let (name, value) = pair.split_once('=').expect("a pair");
            assert!(rest.contains("Path=/"), "{cookie}");
            // What a browser refuses to keep, it refuses to let go of too.
            assert_eq!(name.starts_with("__Host-"), rest.contains("Secure"), "{cookie}");
            if value.is_empty() || rest.contains("Max-Age=0") {
                jar.remove(name);
            } else {
                assert!(rest.contains("HttpOnly") && rest.contains("SameSite=Lax"), "{cookie}");
                jar.insert(name.to_owned(), value.to_owned());
            }
        }
        drop(jar);
        Page(answer)
    }

    /// Opens an address and keeps no cookie it is given.
    pub async fn look(&self, path: &str) -> Answer {
        self.send("GET", path, &[], Body::empty()).await
    }

    /// Opens an address.
    pub async fn open(&self, path: &str) -> Page {
        self.keep(self.send("GET", path, &[], Body::empty()).await)
    }

    /// Opens an address with headers.
    pub async fn open_with(&self, path: &str, headers: &[(&str, &str)]) -> Page {
        self.keep(self.send("GET", path, headers, Body::empty()).await)
    }

    /// Sends a form.
    pub async fn submit(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        self.submit_with(path, fields, &[]).await
    }

    /// Sends a form with headers.
    pub async fn submit_with(&self, path: &str, fields: &[(&str, &str)], headers: &[(&str, &str)]) -> Page {
        let mut all = vec![("content-type", "application/x-www-form-urlencoded")];
        all.extend_from_slice(headers);
        let body = fields.iter().map(|(n, v)| format!("{}={}", escaped(n), escaped(v))).collect::<Vec<_>>().join("&");
        self.keep(self.send("POST", path, &all, body).await)
    }
}

fn escaped(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
        .collect()
}
