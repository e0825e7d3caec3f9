//! The pages, built from a small invented ledger and read by selecting. With `COUNTERCLOCK_PAGES` set to a folder they
//! are written there too, for looking at.

use askama::Template;
use counterclock::board::working::ComeBacks;
use counterclock::board::{Briefs, List, Wanted, page as board_page};
use counterclock::clock::Instant;
use counterclock::evaluate::Reader;
use counterclock::ledger::{Id, State};
use counterclock::people::{Actor, Role, persons};
use counterclock::web::pages::{
    Asked, Notice, Shell, board, devices, enrol, forms, item, new_item, people, problem, set_up, sign_in,
};
use counterclock::web::show::Show;
use scraper::{ElementRef, Html, Selector};

const LEDGER: &str = r#"
{"kind":"site","at":"2026-05-01T06:00:00+02:00","name":"Morgenstern & Quill","zone":"Europe/Berlin","units":"C"}
{"kind":"place","at":"2026-05-01T06:00:00+02:00","place":"walk-in","name":"Walk-in","control":"cold"}
{"kind":"place","at":"2026-05-01T06:00:00+02:00","place":"bench","name":"Bench","control":"none"}
{"kind":"place","at":"2026-05-01T06:00:00+02:00","place":"case","name":"Front case","control":"cold","use":"display"}
{"kind":"place","at":"2026-05-01T06:00:00+02:00","place":"freezer","name":"Freezer","control":"frozen"}
{"kind":"place","at":"2026-05-01T06:00:00+02:00","place":"van","name":"Van","control":"none","use":"transport"}
{"kind":"product","at":"2026-05-01T06:00:00+02:00","product":"frosting","name":"Soft-cheese frosting","rules":["sum-2h-4h"]}
{"kind":"product","at":"2026-05-01T06:00:00+02:00","product":"carrot","name":"Carrot cake","rules":["sum-2h-4h","keep-7d"]}
{"kind":"product","at":"2026-05-01T06:00:00+02:00","product":"tart","name":"Custard tart","rules":["house-2h-4h"]}
{"kind":"product","at":"2026-05-01T06:00:00+02:00","product":"slice","name":"Cream slice","rules":["us-time-4h"]}
{"kind":"item","at":"2026-05-01T15:00:00+02:00","item":"tub-1","name":"Frosting, tub 1","place":"walk-in","product":"frosting"}
{"kind":"move","at":"2026-05-01T16:00:00+02:00","item":"tub-1","place":"bench"}
{"kind":"move","at":"2026-05-01T16:40:00+02:00","item":"tub-1","place":"walk-in"}
{"kind":"move","at":"2026-05-02T05:10:00+02:00","item":"tub-1","place":"bench"}
{"kind":"item","at":"2026-05-02T05:30:00+02:00","item":"carrot-1","name":"Carrot cake","place":"bench","product":"carrot","from":["tub-1"]}
{"kind":"move","at":"2026-05-02T05:50:00+02:00","item":"carrot-1","place":"walk-in"}
{"kind":"move","at":"2026-05-02T05:55:00+02:00","item":"tub-1","place":"walk-in"}
{"kind":"move","at":"2026-05-02T08:20:20+02:00","item":"carrot-1","place":"bench"}
{"kind":"item","at":"2026-05-02T06:00:00+02:00","item":"tart-1","name":"Custard tart","place":"bench","product":"tart","count":6}
{"kind":"item","at":"2026-05-02T04:45:00+02:00","item":"tart-2","name":"Custard tart, vanilla with raspberry mirror","place":"bench","product":"tart"}
{"kind":"item","at":"2026-05-02T06:20:00+02:00","item":"slice-1","name":"Cream slice","place":"walk-in","product":"slice","count":20}
{"kind":"move","at":"2026-05-02T07:30:00+02:00","item":"slice-1","place":"case"}
{"kind":"item","at":"2026-05-02T07:15:00+02:00","item":"slice-2","name":"Cream slice, hazelnut","place":"bench","product":"slice"}
{"kind":"item","at":"2026-05-02T04:30:00+02:00","item":"tub-2","name":"Frosting, tub 2","place":"bench","product":"frosting"}
{"kind":"reading","at":"2026-05-02T07:00:00+02:00","item":"tub-2","value":"51.8","unit":"F"}
{"kind":"mark","at":"2026-05-02T07:01:00+02:00","item":"tub-2","discard_by":"2026-05-02T08:31:00+02:00","how":"written","copy":1}
{"kind":"item","at":"2026-05-02T05:00:00+02:00","item":"tub-3","name":"Frosting, tub 3","place":"bench","product":"frosting"}
{"kind":"item","at":"2026-05-02T08:34:00+02:00","item":"carrot-2","name":"Carrot cake, two tiers","place":"bench","product":"carrot","from":["tub-2"]}
{"kind":"item","at":"2026-05-01T10:00:00+02:00","item":"base-1","name":"Sponge base","place":"freezer","product":"carrot"}
{"kind":"correct","at":"2026-05-02T08:22:00+02:00","entry":26,"set":{"value":"10.5","unit":"C"},"reason":"misread"}
{"kind":"close","at":"2026-05-02T08:00:00+02:00","item":"tart-1","as":"sold","count":2}
"#;

fn ledger() -> State {
    let mut reader = Reader::default();
    for line in LEDGER.lines() {
        reader.line(line).unwrap_or_else(|e| panic!("line {}: {}", e.line, e.refusal));
    }
    reader.finish(None).unwrap_or_else(|e| panic!("line {}: {}", e.line, e.refusal)).0
}

fn now() -> Instant {
    Instant::parse("2026-05-02T08:42:10+02:00").unwrap()
}

fn id(text: &str) -> Id {
    Id::new(text).unwrap()
}

fn actor(role: Role) -> Actor {
    Actor::token(id("tok-1"), "Bench phone", role, None)
}

fn asked<'a>(viewer: &'a Actor, root: &'a str) -> Asked<'a> {
    Asked { site: "shop", root, viewer: Some(viewer), key: "00112233445566778899aabbccddeeff", ..Asked::default() }
}

fn bare() -> Asked<'static> {
    Asked { root: "./", ..Asked::default() }
}

fn face() -> sign_in::Face {
    sign_in::Face { person: id("p-1"), name: String::from("“Ada” <b>"), by_name: None }
}

fn around(state: &State) -> Shell {
    let manager = actor(Role::Manager);
    Shell::of(state, now(), &asked(&manager, "../../"))
}

fn shop(state: &State) -> Show {
    Show::of(state, now())
}

fn members() -> Vec<persons::Member> {
    let member = |n: &str, name: &str, role: Role, has_pin: bool, gone: bool| persons::Member {
        person: id(n),
        name: name.to_owned(),
        role,
        has_pin,
        has_password: role != Role::Staff,
        disabled_at: gone.then(now),
    };
    vec![
        member("p-1", "\"Ada\" <b>O'Hara</b>", Role::Staff, true, false),
        member("p-2", "شهرزاد", Role::Manager, true, false),
        member("p-3", "Ivo", Role::Inspector, false, true),
        member("p-4", "", Role::Staff, false, true),
    ]
}

fn known() -> Vec<counterclock::people::devices::Listed> {
    let device = |n: &str, waits: bool, gone: bool| counterclock::people::devices::Listed {
        device: id(n),
        name: format!("Bench {n}"),
        code_until: waits.then(|| now().plus(60_000)),
        enrolled_at: (!waits).then(now),
        revoked_at: gone.then(now),
    };
    vec![device("d-1", false, false), device("d-2", true, false), device("d-3", false, true)]
}

fn signing_in(kind: sign_in::Kind) -> String {
    sign_in::build(Shell::bare(&bare()), kind, "s/shop/").render().unwrap()
}

fn list(state: &State) -> List {
    board_page(&Briefs::default(), state, |_| 0, now(), Wanted::Open, None, 100)
}

/// Every page there is, by name.
fn pages() -> Vec<(String, String)> {
    let (state, staff) = (ledger(), actor(Role::Staff));
    let top = asked(&staff, "../../");
    let moved = Notice {
        text: String::from("Carrot cake: Bench, since 08:20."),
        undo: Some((id("carrot-1"), String::from("19"))),
        ..Notice::default()
    };
    let with_notice = Asked { notice: Some(moved), ..top.clone() };
    let mut pages = vec![
        (String::from("board"), board::build(&state, now(), &list(&state), &with_notice).render().unwrap()),
        (String::from("new"), new_item::build(&state, now(), &forms::Fields::default(), &top).render().unwrap()),
        (String::from("sign-in"), signing_in(sign_in::Kind::Password { on_device: false, name: String::new() })),
        (String::from("sign-in-pin"), signing_in(sign_in::Kind::Pin(face()))),
        (
            String::from("sign-in-names"),
            signing_in(sign_in::Kind::Names { device: String::from("Bench tablet"), faces: vec![face()] }),
        ),
        (String::from("enrol"), enrol::build(&bare(), "abcd2345").render().unwrap()),
        (
            String::from("people"),
            people::build(around(&state), shop(&state), &members(), &members(), None).render().unwrap(),
        ),
        (
            String::from("devices"),
            devices::build(around(&state), shop(&state), &known(), "", Some("ABCD2345")).render().unwrap(),
        ),
        (
            String::from("problem"),
            problem::build(&top, "There is nothing at this address.", "Look on the board.", false).render().unwrap(),
        ),
    ];
    for step in set_up::STEPS {
        let said = ["code", "1", "region", "us", "name", "\"'<b>", "zone", "Europe/Berlin", "products", "a\nb"];
        let said = said.chunks(2).map(|p| (p[0].to_owned(), p[1].to_owned())).collect();
        let draft = set_up::Draft::new(forms::Fields(said), false);
        let page = set_up::build(&bare(), &draft, step, "set-up").render().unwrap();
        pages.push((format!("set-up-{}", step.word()), page));
    }
    let mut ids: Vec<&Id> = state.items.keys().collect();
    ids.sort();
    for id in ids {
        let page = item::build(&state, now(), id, &ComeBacks::new(), &asked(&staff, "../../../")).unwrap();
        pages.push((format!("item-{id}"), page.render().unwrap()));
    }
    pages
}

fn select<'a>(html: &'a Html, css: &str) -> Vec<ElementRef<'a>> {
    html.select(&Selector::parse(css).unwrap()).collect()
}

fn text(e: ElementRef) -> String {
    e.text().collect::<Vec<_>>().join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn page(name: &str) -> Html {
    let found = pages().into_iter().find(|(n, _)| n == name).unwrap().1;
    Html::parse_document(&found)
}

#[test]
fn every_page_has_title_language_and_one_main_landmark_and_never_the_forbidden_word() {
    let dir = std::env::var("COUNTERCLOCK_PAGES").ok();
    for (name, source) in pages() {
        if let Some(dir) = &dir {
            let local = source.replace("../../../static", "static").replace("../../static", "static");
            std::fs::write(format!("{dir}/{name}.html"), local.replace("./static", "static")).unwrap();
        }
        let html = Html::parse_document(&source);
        assert_eq!(html.errors, Vec::<String>::new(), "{name}");
        assert_eq!(select(&html, "html[lang=en]").len(), 1, "{name}");
        assert_eq!(select(&html, "main#main").len(), 1, "{name}");
        assert_eq!(select(&html, "h1").len(), 1, "{name}");
        assert!(text(select(&html, "title")[0]).len() > 5, "{name}");
        let words = source.to_lowercase();
        let mut words = words.split(|c: char| !c.is_alphanumeric());
        assert!(!words.any(|w| w == "safe"), "{name}");
        // The content security policy lets no inline style or script through.
        assert!(select(&html, "[style], [onclick], style, script:not([src])").is_empty(), "{name}");
        // A page may stand at the address of a refused form: all ways lead over the root.
        for e in select(&html, "[href], [action]") {
            let to = e.value().attr("href").or(e.value().attr("action")).unwrap();
            let root = if select(&html, "nav").is_empty() { "./" } else { "../" };
            assert!(to.starts_with(root) || to.starts_with('#'), "{name}: {to}");
        }
        for form in select(&html, "form") {
            let keyed = form.select(&Selector::parse("input[name=key]").unwrap()).count();
            let sign_in = form
                .value()
                .attr("action")
                .is_some_and(|a| ["sign-in", "sign-out", "language", "enrol", "set-up"].iter().any(|w| a.ends_with(w)));
            assert!(keyed == 1 || sign_in, "{name}: a form without a key");
        }
    }
}

#[test]
fn the_board_puts_the_most_urgent_first_with_one_button_a_row() {
    let html = page("board");
    let rows: Vec<_> = select(&html, ".row").iter().map(|r| r.value().attr("id").unwrap().to_owned()).collect();
    assert_eq!(
        rows,
        [
            "i-carrot-2",
            "i-tub-2",
            "i-tub-3",
            "i-tart-2",
            "i-tart-1",
            "i-carrot-1",
            "i-slice-2",
            "i-tub-1",
            "i-slice-1",
            "i-base-1"
        ]
    );
    for row in select(&html, ".row") {
        assert_eq!(row.select(&Selector::parse(".main").unwrap()).count(), 1);
    }
    let go = &select(&html, "#i-carrot-1 .go button")[0];
    assert_eq!((go.value().attr("name"), go.value().attr("value")), (Some("place"), Some("walk-in")));
    assert!(text(*go).starts_with("Back to Walk-in"));
}

#[test]
fn the_lines_of_an_item_add_up_to_its_total() {
    let html = page("item-carrot-1");
    let seconds = |t: String| t.split(':').fold(0, |sum, part| sum * 60 + part.trim().parse::<i64>().unwrap());
    let lines: Vec<_> = select(&html, ".sums tbody tr").into_iter().map(text).collect();
    let sum: i64 = select(&html, ".sums tbody td:last-child").into_iter().map(|e| seconds(text(e))).sum();
    assert_eq!(sum, seconds(text(select(&html, ".sums tfoot td")[0])));
    // 40 minutes yesterday and 20 this morning came with the tub, 20 were its own, then it stands since 08:20:20.
    assert_eq!(
        lines,
        [
            "came with Frosting, tub 1 (its stretches out) 1:00:00",
            "05:30 to 05:50, Bench 0:20:00",
            "since 08:20, Bench 0:21:50"
        ]
    );
    assert_eq!(text(select(&html, ".big")[0]), "11:00");
    assert_eq!(text(select(&html, ".item > .left")[0]), "2 h 18 min left");
}

#[test]
fn a_corrected_entry_stays_readable_with_its_correction_beside_it() {
    let html = page("item-tub-2");
    assert!(text(select(&html, ".log s")[0]).contains("51.8 °F"));
    assert!(text(select(&html, ".log ins")[0]).contains("misread"));
}

#[test]
fn who_may_only_read_gets_no_forms() {
    let (state, inspector) = (ledger(), actor(Role::Inspector));
    let html = item::build(&state, now(), &id("tub-1"), &ComeBacks::new(), &asked(&inspector, "../../../"))
        .unwrap()
        .render()
        .unwrap();
    assert!(select(&Html::parse_document(&html), "main form").is_empty());
    let html = board::build(&state, now(), &list(&state), &asked(&inspector, "../../")).render().unwrap();
    assert!(select(&Html::parse_document(&html), "main form").is_empty());
}

#[test]
fn a_wall_time_that_comes_twice_is_read_as_the_one_that_gives_less_time() {
    let shop = Show::of(&ledger(), now());
    let at = |now: &str, text: &str, earlier| {
        let show = Show { now: Instant::parse(now).unwrap(), ..shop };
        forms::wall(text, show, earlier).map(|t| t.to_string()).map_err(|r| r.code.code)
    };
    let autumn = "2026-10-25T08:00:00+01:00";
    assert_eq!(at(autumn, "02:30", true), Ok(String::from("2026-10-25T00:30:00.000Z")));
    assert_eq!(at(autumn, "02:30", false), Ok(String::from("2026-10-25T01:30:00.000Z")));
    assert_eq!(at(autumn, "2026-03-29T02:30", true), Err("bad-time"));
    // What would be in the future was yesterday.
    assert_eq!(at(autumn, "22:15", true), Ok(String::from("2026-10-24T20:15:00.000Z")));
    assert_eq!(at(autumn, "8 o'clock", true), Err("bad-time"));
}

#[test]
fn nothing_shown_lengthens_time() {
    assert_eq!((Show::left(59_999), Show::used(1)), (String::from("0 min"), String::from("1 min")));
    assert_eq!(Show::left(7_199_999), "1 h 59 min");
    assert_eq!(Show::used(7_200_001), "2 h 01 min");
    let lines = Show::lines([1_500, 1_400, 200].into_iter());
    assert_eq!((lines.iter().sum::<i64>(), lines), (4, vec![2, 1, 1]));
}
