//! Somebody who listens to a shop's stream, and reads it as the HTML standard has it (section 9.2.6, "Interpreting an
//! event stream").

use super::actor::Actor;
use axum::body::{Body, BodyDataStream};
use axum::http::{HeaderMap, Request, StatusCode};
use futures_util::StreamExt;
use serde_json::Value;
use std::collections::VecDeque;
use std::time::Duration;
use tower::ServiceExt;

/// How long anything is waited for before the test fails.
pub const WAIT: Duration = Duration::from_secs(20);

/// An event that arrived.
#[derive(Clone, Debug)]
pub struct Event {
    /// Its name: `message` where it has none.
    pub name: String,
    /// Its own `id:`, empty where it has none.
    pub id: String,
    /// Its data.
    pub data: Value,
}

/// Turns text as it arrives into events.
#[derive(Default)]
pub struct Reader {
    text: String,
    /// The last `id:`.
    pub last: String,
    /// Comments so far.
    pub comments: usize,
}

impl Reader {
    /// The events of some more text.
    pub fn read(&mut self, more: &str) -> Vec<Event> {
        self.text.push_str(more);
        let mut found = Vec::new();
        while let Some(end) = self.text.find("\n\n") {
            let block: String = self.text.drain(..end + 2).collect();
            let (mut name, mut id, mut data) = (String::from("message"), String::new(), Vec::new());
            for line in block.lines().filter(|l| !l.is_empty()) {
                let (field, value) = line.split_once(':').unwrap_or((line, ""));
                let value = value.strip_prefix(' ').unwrap_or(value);
                match field {
                    "" => self.comments += 1,
                    "id" => (self.last, id) = (value.to_owned(), value.to_owned()),
                    "event" => name = value.to_owned(),
                    "data" => data.push(value.to_owned()),
                    "retry" => assert!(value.parse::<u32>().is_ok(), "{value}"),
                    other => panic!("a field {other}"),
                }
            }
            if !data.is_empty() {
                let data = serde_json::from_str(&data.join("\n")).expect("data is JSON");
                found.push(Event { name, id, data });
            }
        }
        found
    }
}

/// An open stream.
pub struct Listening {
    body: BodyDataStream,
    /// What the answer said of itself.
    pub headers: HeaderMap,
    /// Its text, read.
    pub reader: Reader,
    ready: VecDeque<Event>,
    /// The number of the last entry that was taken.
    pub last: String,
}

/// Opens the shop's stream; the status where that isn't 200.
pub async fn open(who: &impl Actor, query: &str, last: Option<&str>) -> Result<Listening, StatusCode> {
    open_at(who, &format!("/s/shop/api/stream{query}"), last).await
}

/// Opens a stream by its address.
pub async fn open_at(who: &impl Actor, address: &str, last: Option<&str>) -> Result<Listening, StatusCode> {
    let mut request = Request::builder().uri(address).header("host", "shop.test");
    if let Some(last) = last {
        request = request.header("last-event-id", last);
    }
    let request = who.dress(request.header("accept-encoding", "gzip")).body(Body::empty()).expect("a request");
    let answer = who.house().router().oneshot(request).await.expect("the router always answers");
    if answer.status() != 200 {
        return Err(answer.status());
    }
    let headers = answer.headers().clone();
    let body = answer.into_body().into_data_stream();
    Ok(Listening { body, headers, reader: Reader::default(), ready: VecDeque::new(), last: String::new() })
}

/// Opens it; that must go well.
pub async fn listen(who: &impl Actor, query: &str, last: Option<&str>) -> Listening {
    open(who, query, last).await.expect("the stream opens")
}

impl Listening {
    /// The next piece of text; `None` at the end.
    pub async fn more(&mut self) -> Option<Vec<Event>> {
        let piece = tokio::time::timeout(WAIT, self.body.next()).await.expect("something comes in time")?;
        let text = String::from_utf8(piece.expect("the stream doesn't break off").to_vec()).expect("UTF-8");
        Some(self.reader.read(&text))
    }

    /// The next event.
    pub async fn next(&mut self) -> Event {
        let begun = std::time::Instant::now();
        while self.ready.is_empty() {
            // That it says that it is there is not what is waited for.
            assert!(begun.elapsed() < WAIT, "no event came");
            self.ready = self.more().await.expect("the stream goes on").into();
        }
        let event = self.ready.pop_front().expect("there is one");
        if !event.id.is_empty() {
            self.last.clone_from(&event.id);
        }
        event
    }

    /// The next so many entries, by number.
    pub async fn entries(&mut self, count: usize) -> Vec<u64> {
        let mut seqs = Vec::new();
        while seqs.len() < count {
            let event = self.next().await;
            if event.name != "message" {
                continue;
            }
            assert_eq!(event.id, event.data["seq"].to_string(), "the id is the entry's number");
            seqs.push(event.data["seq"].as_u64().expect("a number"));
        }
        seqs
    }

    /// The next of what time alone brings: `tub discard-15 13:45`, `tub unmarked 12:15`, `fridge air-above 12:40`.
    pub async fn due(&mut self) -> String {
        loop {
            let event = self.next().await;
            if event.name == "due" {
                let d = &event.data;
                assert_eq!(event.id, "", "it has no id of its own");
                let at = &d["at"].as_str().expect("a time")[11..16];
                return match (&d["item"], &d["verdict"], &d["place"]) {
                    (Value::String(item), Value::String(verdict), _) => {
                        format!("{item} {verdict}-{} {at}", d["minutes"])
                    }
                    (Value::String(item), ..) => {
                        assert_eq!(d["unmarked"], true, "{d}");
                        format!("{item} unmarked {at}")
                    }
                    (_, _, Value::String(place)) => format!("{place} {} {at}", d["lapse"].as_str().expect("a lapse")),
                    _ => panic!("{d}"),
                };
            }
        }
    }

    /// It ends.
    pub async fn ends(&mut self) {
        while self.more().await.is_some() {}
    }
}
