//! A notice as a request to an address, by the Standard Webhooks specification: an id that stays, a time, a signature over
//! both and the body. It follows no redirect, and reaches no address of a private network unless that was allowed by name.
//!
//! Guards against S-62 of SAFETY.md.

use super::Sent;
use crate::clock::Instant;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use hmac::{Hmac, KeyInit, Mac};
use reqwest::dns::{Addrs, Name, Resolve, Resolving};
use reqwest::redirect::Policy;
use reqwest::{Client, StatusCode, Url};
use sha2::Sha256;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

/// How long an address may take to answer, for all of it.
const PATIENCE: Duration = Duration::from_secs(15);
/// What a secret begins with; the rest is base64.
const PREFIX: &str = "whsec_";

/// Why one wasn't delivered.
#[derive(Debug, PartialEq)]
pub enum Undelivered {
    /// It is tried again.
    Failed(String),
    /// The receiver says that it is there no more.
    Gone,
}

/// Sends requests.
pub struct Hooks {
    client: Client,
    allowed: Arc<Vec<String>>,
}

/// Looks names up, and leaves out what is not to be reached.
struct Guard(Arc<Vec<String>>);

impl Resolve for Guard {
    fn resolve(&self, name: Name) -> Resolving {
        let allowed = self.0.clone();
        Box::pin(async move {
            let host = name.as_str().to_owned();
            let free = allowed.iter().any(|a| a.eq_ignore_ascii_case(&host));
            let found = tokio::net::lookup_host((host.as_str(), 0)).await?;
            let reached: Vec<SocketAddr> = found.filter(|a| free || public(a.ip())).collect();
            if reached.is_empty() {
                return Err(format!("`{host}` leads into a private network").into());
            }
            Ok(Box::new(reached.into_iter()) as Addrs)
        })
    }
}

/// Whether an address is one of the open internet (the registries of special addresses of IANA, RFC 6890 and after).
pub fn public(ip: IpAddr) -> bool {
    match ip {
        IpAddr::V4(v4) => {
            let [a, b, c, _] = v4.octets();
            let special = v4.is_loopback()
                || v4.is_private()
                || v4.is_link_local()
                || v4.is_documentation()
                || v4.is_multicast()
                || a == 0
                || a >= 240
                || (a == 100 && (64..128).contains(&b))
                || (a == 192 && b == 0 && c == 0)
                || (a == 198 && (18..20).contains(&b));
            !special
        }
        IpAddr::V6(v6) => {
            let s = v6.segments();
            if let Some(v4) = v6.to_ipv4_mapped() {
                return public(IpAddr::V4(v4));
            }
            // What carries an address of the old kind in itself is judged by that.
            let inner = |a: u16, b: u16| {
                let ([p, q], [r, t]) = (a.to_be_bytes(), b.to_be_bytes());
                public(IpAddr::V4(Ipv4Addr::new(p, q, r, t)))
            };
            if s[..6] == [0x64, 0xff9b, 0, 0, 0, 0] {
                return inner(s[6], s[7]);
            }
            if s[0] == 0x2002 {
                return inner(s[1], s[2]);
            }
            // Of what is given out: the rest is reserved, local, for examples or for many.
            (s[0] & 0xe000) == 0x2000 && !(s[0] == 0x2001 && (s[1] == 0x0db8 || s[1] < 0x0200)) && s[0] != 0x3fff
        }
    }
}

/// The signature: `v1,` and base64 of HMAC-SHA-256 over id, time and body. `None` for what is no secret.
pub fn signature(secret: &str, id: &str, seconds: i64, body: &str) -> Option<String> {
    let key = STANDARD.decode(secret.strip_prefix(PREFIX)?).ok()?;
    let mut mac = Hmac::<Sha256>::new_from_slice(&key).ok()?;
    mac.update(format!("{id}.{seconds}.{body}").as_bytes());
    Some(format!("v1,{}", STANDARD.encode(mac.finalize().into_bytes())))
}

/// A new secret: 32 random bytes.
pub fn secret() -> Result<String, getrandom::Error> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes)?;
    Ok(format!("{PREFIX}{}", STANDARD.encode(bytes)))
}

impl Hooks {
    /// With hosts of private networks that are allowed by name.
    pub fn new(allowed: Vec<String>) -> Result<Hooks, String> {
        let allowed = Arc::new(allowed);
        // The one provider in the tree; who comes second finds it there.
        _ = rustls::crypto::ring::default_provider().install_default();
        let client = Client::builder()
            .redirect(Policy::none())
            .no_proxy()
            .timeout(PATIENCE)
            .connect_timeout(PATIENCE)
            .pool_max_idle_per_host(0)
            .user_agent("counterclock")
            .dns_resolver(Arc::new(Guard(allowed.clone())))
            .build();
        Ok(Hooks { client: client.map_err(|e| e.to_string())?, allowed })
    }

    /// What is wrong with an address; it is looked at again whenever something is sent there.
    pub fn wrong(&self, address: &str) -> Option<&'static str> {
        // A reader of addresses passes over these, a database doesn't.
        if address.chars().any(char::is_control) {
            return Some("that is no web address");
        }
        let Ok(url) = Url::parse(address) else { return Some("that is no web address") };
        let Some(host) = url.host_str() else { return Some("that is no web address") };
        let bare = host.trim_matches(['[', ']']);
        let free = self.allowed.iter().any(|a| a.eq_ignore_ascii_case(bare));
        if !url.username().is_empty() || url.password().is_some() {
            return Some("an address with a password in it would show it");
        }
        match (url.scheme(), bare.parse::<IpAddr>()) {
            ("https", _) | ("http", _) if free => None,
            ("https", Ok(ip)) if !public(ip) => Some("that leads into a private network"),
            ("https", _) => None,
            ("http", _) => Some("without TLS anybody on the way could read it: give an https address"),
            _ => Some("that is no web address"),
        }
    }

    /// Sends one.
    pub async fn send(&self, s: &Sent, now: Instant) -> Result<(), Undelivered> {
        let failed = |why: String| Undelivered::Failed(why.chars().filter(|c| !c.is_control()).take(200).collect());
        if let Some(why) = self.wrong(&s.target.address) {
            return Err(failed(why.to_owned()));
        }
        let id = format!("msg_{}", s.notice);
        let seconds = now.0.div_euclid(1000);
        let signed = signature(&s.target.secret, &id, seconds, &s.body);
        let signed = signed.ok_or_else(|| failed(String::from("its secret cannot be read")))?;
        let request = self
            .client
            .post(&s.target.address)
            .header("content-type", "application/json")
            .header("webhook-id", &id)
            .header("webhook-timestamp", seconds.to_string())
            .header("webhook-signature", signed)
            .body(s.body.clone());
        let answer = match request.send().await {
            Ok(answer) => answer,
            Err(e) if e.is_timeout() => return Err(failed(String::from("it did not answer in time"))),
            Err(e) => return Err(failed(reason(&e))),
        };
        // What it answers besides is not read.
        match answer.status() {
            ok if ok.is_success() => Ok(()),
            StatusCode::GONE => Err(Undelivered::Gone),
            moved if moved.is_redirection() => Err(failed(format!("it redirects ({moved}), and that is not followed"))),
            other => Err(failed(format!("it answered {other}"))),
        }
    }
}

/// The innermost of what went wrong, without the address.
fn reason(e: &reqwest::Error) -> String {
    let mut deepest: &dyn std::error::Error = e;
    while let Some(source) = deepest.source() {
        deepest = source;
    }
    let text = deepest.to_string();
    if text.is_empty() { String::from("it could not be reached") } else { text }
}
