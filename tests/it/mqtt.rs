//! What a probe may say over MQTT, and how brokers and topics are named.

use counterclock::clock::Instant;
use counterclock::ledger::Unit;
use counterclock::web::mqtt::{Broker, Topic, read};

fn heard(payload: &str, kept: bool) -> Result<(String, Option<Instant>), &'static str> {
    read(payload.as_bytes(), Unit::C, kept, Instant(1_800_000_000_000)).map(|h| (h.value.value(), h.at))
}

#[test]
fn a_message_is_a_decimal_or_says_more() {
    let recent = r#"{"value": "3.26", "unit": "C", "at": "2027-01-15T07:30:00Z"}"#;
    assert_eq!(heard(recent, true), Ok(("3.3".into(), Instant::parse("2027-01-15T07:30:00Z"))));
    for (payload, value) in [
        ("3", "3.0"),
        ("3.2", "3.2"),
        ("3.20", "3.2"),
        ("3.21", "3.3"),
        ("-18.49", "-18.4"),
        ("-0.05", "0.0"),
        (" 4.0\n", "4.0"),
        (r#"{"value": 4.25, "battery": 80}"#, "4.3"),
    ] {
        assert_eq!(heard(payload, false), Ok((value.into(), None)), "{payload}");
    }
}

#[test]
fn what_is_no_reading_of_now_is_refused() {
    for payload in
        ["", "warm", "1e3", "NaN", "--3", "3.", "999", "{", "{}", r#"{"value": null}"#, "99999999999999999999"]
    {
        assert!(heard(payload, false).is_err(), "{payload}");
    }
    assert!(heard("3.0", true).is_err(), "kept by the broker since nobody knows when");
    assert!(heard(r#"{"value": "3.0", "at": "2026-01-15T07:30:00Z"}"#, true).is_err(), "last year's");
    assert!(read(&[0xff, 0xfe], Unit::C, false, Instant(0)).is_err());
}

#[test]
fn brokers_and_topics_are_read() {
    let broker = Broker::read("mqtt://a:b@192.0.2.7:2883");
    assert!(broker.is_some_and(|b| b.port == 2883 && b.account == Some(("a".into(), "b".into()))));
    assert!(Broker::read("mqtt://broker").is_some_and(|b| b.port == 1883 && b.account.is_none()));
    assert!(["", "http://a", "mqtt://", "mqtt://a:port"].iter().all(|t| Broker::read(t).is_none()));
    let topic = Topic::read("cellar/t1=annex/walk-in:F");
    assert!(topic.is_some_and(|t| t.site == "annex" && t.place.as_str() == "walk-in" && t.unit == Unit::F));
    assert!(["", "a", "a=", "=b", "a/+=b", "#=b", "a=b:K"].iter().all(|t| Topic::read(t).is_none()));
}
