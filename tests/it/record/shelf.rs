//! Which version is in force when, as pure figures.
//!
//! Guards against S-25 of SAFETY.md.

use counterclock::clock::{Instant, Zone};
use counterclock::ledger::{Body, Entry, Id, Meta};
use counterclock::record::procedure::{Due, Shelf, Version, approved_as, due, hash, reference, what};
use std::sync::Arc;

fn at(text: &str) -> Instant {
    Instant::parse(text).expect("a time")
}

fn version(version: u32, made_at: &str, review_on: &str) -> Version {
    Version { version, hash: hash(&version.to_string()), review_on: review_on.into(), made_at: at(made_at) }
}

fn approval(version: u32, seq: u64, when: &str) -> Arc<Entry> {
    let reference = Some(reference(&hash(&version.to_string())).into());
    let body = Body::Approve { what: Id::new(&what(version)).expect("an id"), reference };
    Arc::new(Entry { at: at(when), note: None, body, meta: Meta { seq, by: Id::new("p-1"), ..Meta::default() } })
}

#[test]
fn the_latest_approval_is_in_force() {
    let versions =
        vec![version(1, "2026-05-01T08:00:00Z", "2026-11-01"), version(2, "2026-05-02T08:00:00Z", "2027-05-01")];
    // Back to the first after two days; the second is said to have been approved before it was written.
    let approvals = [
        approval(1, 3, "2026-05-01T09:00:00Z"),
        approval(2, 4, "2026-05-01T10:00:00Z"),
        approval(1, 5, "2026-05-04T09:00:00Z"),
    ];
    let shelf = Shelf::new(versions, &approvals);
    let in_force = |when: &str| shelf.at(at(when)).map(|p| (p.version, p.seq));
    for (when, expected) in [
        ("2026-05-01T08:59:59.999Z", None),
        ("2026-05-01T09:00:00Z", Some((1, 3))),
        ("2026-05-02T07:59:59.999Z", Some((1, 3))),
        ("2026-05-02T08:00:00Z", Some((2, 4))),
        ("2026-05-04T09:00:00Z", Some((1, 5))),
    ] {
        assert_eq!(in_force(when), expected, "{when}");
    }
    // A date is a local one: 3 May in Auckland ends at noon in UTC.
    let auckland = Zone::named("Pacific/Auckland").expect("a zone");
    let on = |zone, date: &str| {
        let day = Zone::parse_date(date).expect("a date");
        shelf.on(zone, day).iter().map(|p| p.version).collect::<Vec<_>>()
    };
    assert_eq!(on(Zone::UTC, "2026-04-30"), Vec::<u32>::new());
    assert_eq!(on(Zone::UTC, "2026-05-02"), [1, 2]);
    assert_eq!(on(Zone::UTC, "2026-05-03"), [2]);
    assert_eq!(on(auckland, "2026-05-02"), [1, 2]);
    assert_eq!(on(auckland, "2026-05-03"), [2]);
    assert_eq!(on(auckland, "2026-05-04"), [2, 1], "09:00 in UTC is 21:00 there");
    assert!(shelf.is_approved(2) && !shelf.is_approved(3));
    // Due on the day itself.
    let waits = |when: &str| due(&shelf, at(when), Zone::UTC);
    assert_eq!(waits("2026-04-30T12:00:00Z"), Some(Due::NoneInForce));
    assert_eq!(waits("2026-10-31T23:59:59Z"), None);
    assert_eq!(waits("2026-11-01T00:00:00Z"), Some(Due::Review("2026-11-01".into())));
    assert_eq!(due(&shelf, at("2026-10-31T11:00:00Z"), auckland), Some(Due::Review("2026-11-01".into())));
}

#[test]
fn an_approval_of_another_text_counts_for_nothing() {
    let other = Version { hash: hash("another text"), ..version(1, "2026-05-01T08:00:00Z", "2027-05-01") };
    let shelf = Shelf::new(vec![other], &[approval(1, 3, "2026-05-01T09:00:00Z")]);
    assert_eq!(shelf.periods, []);
    let says = |what: &str, reference: Option<&str>| {
        let body = Body::Approve { what: Id::new(what).expect("an id"), reference: reference.map(Into::into) };
        approved_as(&Entry { at: Instant(0), note: None, body, meta: Meta::default() }).map(|a| a.version)
    };
    let sealed = reference(&hash("1"));
    assert_eq!(says("procedure-12", Some(&sealed)), Some(12));
    for (what, reference) in [
        ("procedure-1", None),
        ("procedure-1", Some("By word of mouth")),
        ("procedure-1", Some("sha256:0123")),
        ("procedure-1", Some(&*format!("sha256:{}é", "0".repeat(63)))),
        ("procedure-x", Some(&*sealed)),
        ("sum-2h-4h", Some(&*sealed)),
    ] {
        assert_eq!(says(what, reference), None, "{what} {reference:?}");
    }
    // The SHA-256 of "abc", as FIPS 180-4's examples print it.
    assert_eq!(hash("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

#[test]
fn an_approval_said_to_be_older_counts_from_when_it_was_recorded() {
    let mut late = approval(1, 3, "2026-05-02T09:00:00Z");
    Arc::make_mut(&mut late).meta.recorded_at = Some(at("2026-06-20T10:00:00Z"));
    let shelf = Shelf::new(vec![version(1, "2026-05-01T08:00:00Z", "2027-05-01")], &[late]);
    assert_eq!(shelf.at(at("2026-06-20T09:59:59.999Z")), None);
    assert_eq!(shelf.at(at("2026-06-20T10:00:00Z")).map(|p| p.version), Some(1));
}
