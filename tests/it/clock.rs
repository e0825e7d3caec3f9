//! The short way of reading an instant, beside the general one of the library `time`.

use counterclock::clock::{HOUR_MS, Instant, utc_ms};
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

#[test]
fn the_short_way_reads_what_the_general_one_reads() {
    let general = |text: &str| {
        let t = OffsetDateTime::parse(text, &Rfc3339).ok()?;
        Some(t.unix_timestamp_nanos().div_euclid(1_000_000) as i64)
    };
    let mut read = 0;
    for day in 0..11_000_i64 {
        let t = Instant(day * 26 * HOUR_MS + day * 61_001 + day * 91 * 24 * HOUR_MS);
        let text = t.to_string();
        for text in [text.clone(), format!("{}Z", &text[..19])] {
            if let Some(ms) = utc_ms(text.as_bytes()) {
                read += 1;
                assert_eq!(Some(ms), general(&text), "{text}");
            }
        }
    }
    assert!(read > 15_000, "{read}");
    for text in ["2026-02-30T00:00:00Z", "2026-00-01T00:00:00Z", "2026-01-01T24:00:00Z", "2026-01-01T00:00:0:Z"] {
        assert_eq!((utc_ms(text.as_bytes()), Instant::parse(text)), (None, None), "{text}");
    }
    assert_eq!(Instant::parse("2024-02-29T12:00:00Z").map(|t| t.0), general("2024-02-29T12:00:00Z"));
}
