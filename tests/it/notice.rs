//! Where notices may go: mail servers' and webhooks' addresses, and what stands in a header.

use counterclock::notice::hook::{Hooks, public};
use counterclock::notice::mail::{Mailer, one_line, with_tls};

#[test]
fn tls_is_asked_for_unless_the_server_is_here() {
    for (given, meant) in [
        ("smtp://mail.example:587", "smtp://mail.example:587?tls=required"),
        ("smtp://a:b@mail.example", "smtp://a:b@mail.example?tls=required"),
        ("smtp://127.0.0.1:25", "smtp://127.0.0.1:25"),
        ("smtp://[::1]:25", "smtp://[::1]:25"),
        ("smtp://localhost", "smtp://localhost"),
        ("smtps://mail.example", "smtps://mail.example"),
        ("smtp://mail.example?tls=opportunistic", "smtp://mail.example?tls=opportunistic"),
    ] {
        assert_eq!(with_tls(given), meant);
    }
    assert!(Mailer::new("nonsense", "a@b.example").is_err() && Mailer::new("smtp://h", "nobody").is_err());
}

#[test]
fn no_name_begins_another_header() {
    assert_eq!(one_line("Cake\r\nBcc: x@y.example"), "Cake  Bcc: x@y.example");
}

/// Addresses of IANA's special registries, and some that are not of them.
#[test]
fn private_networks_are_told_from_the_open_one() {
    for ip in [
        "127.0.0.1",
        "10.1.2.3",
        "172.16.0.1",
        "192.168.1.1",
        "169.254.169.254",
        "0.0.0.0",
        "100.64.0.1",
        "192.0.0.8",
        "198.18.0.1",
        "224.0.0.1",
        "255.255.255.255",
        "192.0.2.1",
        "::1",
        "::",
        "fe80::1",
        "fc00::1",
        "fd12::1",
        "ff02::1",
        "::ffff:10.0.0.1",
        "64:ff9b::a00:1",
        "2002:7f00:1::",
        "2001:db8::1",
        "::7f00:1",
    ] {
        assert!(!public(ip.parse().expect("an address")), "{ip}");
    }
    for ip in ["8.8.8.8", "1.1.1.1", "100.128.0.1", "172.32.0.1", "2606:4700::1", "2001:4860::8888", "64:ff9b::808:808"]
    {
        assert!(public(ip.parse().expect("an address")), "{ip}");
    }
}

#[test]
fn an_address_is_judged_before_it_is_reached() {
    let hooks = Hooks::new(vec![String::from("hooks.local")]);
    let Ok(hooks) = hooks else { return assert!(hooks.is_ok()) };
    for odd in [
        "",
        "nonsense",
        "ftp://a.example/",
        "http://a.example/",
        "https://10.0.0.1/",
        "https://[::1]/",
        "https://u:p@a.example/",
    ] {
        assert!(hooks.wrong(odd).is_some(), "{odd}");
    }
    for fine in ["https://a.example/x", "http://hooks.local:9000/x", "https://8.8.8.8/"] {
        assert_eq!(hooks.wrong(fine), None, "{fine}");
    }
}
