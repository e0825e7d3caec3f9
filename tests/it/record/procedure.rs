//! The written procedure through the front door: filled in, approved, read, compared; what is refused, and what `check`
//! finds when somebody changes a version behind the program's back.
//!
//! Guards against S-25 of SAFETY.md.

use super::tools::Pdf;
use crate::kit::actor::Actor;
use crate::kit::browser::{Browser, Page};
use crate::kit::house::{House, t};
use crate::people::{PASSWORD, add, device, give, office};
use counterclock::clock::HOUR_MS;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

both!(
    from_nothing_to_the_second_version,
    a_gap_is_a_draft_and_no_version,
    what_cannot_be_is_said_and_kept,
    two_managers_lose_nothing,
    only_what_was_looked_at_is_approved,
    a_version_stays_as_it_was,
    an_approval_seals_what_is_kept,
    on_paper,
);

const PAGE: &str = "/s/shop/procedure";

/// What the page's form would send, with these fields filled in otherwise.
fn filled<'a>(form: &'a [(String, String)], with: &'a [(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let other = |name: &str| with.iter().find(|(n, _)| *n == name).map(|(_, text)| *text);
    form.iter().map(|(name, text)| (name.as_str(), other(name).unwrap_or(text))).collect()
}

/// Fills in whatever is empty, and these.
async fn fill(office: &Browser, with: &[(&str, &str)]) -> Page {
    let form = office.open(&format!("{PAGE}/edit")).await.form();
    let form: Vec<(String, String)> = form
        .into_iter()
        .map(|(name, text)| {
            let text = match (name.as_str(), text.is_empty()) {
                ("review-on", true) => String::from("2027-05-04"),
                ("was", _) | (_, false) => text,
                (name, true) => format!("What is said of {name}"),
            };
            (name, text)
        })
        .collect();
    let mut fields = filled(&form, with);
    fields.push(("then", "look"));
    let page = office.submit(&format!("{PAGE}/edit"), &fields).await;
    assert_eq!(page.status(), 303, "{}", page.0.text());
    page
}

/// Approves what the draft's page shows.
async fn approve(office: &Browser) -> Page {
    let form = office.open(&format!("{PAGE}/draft")).await.form();
    office.submit(&format!("{PAGE}/approve"), &filled(&form, &[])).await
}

/// Puts it in force, with these fields filled in otherwise.
pub async fn in_force(office: &Browser, with: &[(&str, &str)]) {
    fill(office, with).await;
    approve(office).await.goes("../../../s/shop/procedure?said=approved");
}

#[track_caller]
fn in_main(page: Page, status: u16, said: &str) {
    assert_eq!(page.status(), status);
    assert!(page.text("main").contains(said), "{}", page.text("main"));
}

async fn kept(house: &House, version: u32) -> String {
    let mut aside = house.base().aside().await;
    aside.ask(&format!("select text from procedure_version where version = {version}")).await.remove(0)
}

/// Guards against S-26.
async fn from_nothing_to_the_second_version(house: House) {
    house.set_up().await;
    let office = office(&house);
    let ada = add(&office, "Ada Öz", "staff", "4711", "").await;
    add(&office, "Ivo", "inspector", "", PASSWORD).await;
    let (bench, visit) = (device(&house, &office, "bench").await, Browser::new(&house));
    give(&bench, &ada, "4711").await.goes("./");
    let ivo = [("name", "Ivo"), ("password", PASSWORD)];
    visit.submit("/sign-in", &ivo).await.goes("./");
    for browser in [&office, &bench, &visit] {
        assert!(browser.open(PAGE).await.text(".warn").contains("No version"));
    }
    assert!(office.open("/s/shop/").await.text(".warn").contains("No version of the written procedure"));
    assert_eq!(bench.open("/s/shop/").await.text(".warn"), "", "that is the manager's");

    in_force(&office, &[("address", "4 Mill Reach\r\n<b>Wendlestone</b> \"WX9\"")]).await;
    let entry = house.tail().await.pop().expect("an entry");
    let hash: String = hex::encode(Sha256::digest(kept(&house, 1).await));
    assert_eq!((&entry["kind"], &entry["what"]), (&json!("approve"), &json!("procedure-1")));
    assert_eq!(entry["reference"], format!("sha256:{hash}"), "the chain seals the very text that is kept");
    assert_eq!(entry["at"], t("12:00"));
    assert_eq!(office.open("/s/shop/").await.text(".warn"), "");
    for browser in [&office, &bench, &visit] {
        let page = browser.open(PAGE).await;
        assert!(page.text("article").contains("Version 1, approved by manager, in force since 2026-05-04 13:00."));
        assert!(page.text("article").contains("<b>Wendlestone</b> \"WX9\""), "as it was typed");
        assert!(page.text("article").contains("Next review: 2027-05-04."));
        assert!(page.text("article").contains("Two hours, four hours, added up"), "its rules");
        assert!(page.text("article").contains("local health authority"), "whose word comes first");
        assert_eq!(browser.open(&format!("{PAGE}/1")).await.status(), 200);
        assert_eq!(browser.open(&format!("{PAGE}/versions")).await.status(), 200);
    }
    // Who has read it is for those who look after that.
    let unread = ["Ada Öz not yet"];
    for (browser, expected) in [(&office, &unread[..]), (&visit, &unread[..]), (&bench, &[])] {
        let rows: Vec<String> = browser.open(PAGE).await.texts("#readers ~ table tbody tr");
        let rows: Vec<String> = rows.iter().map(|r| r.replace(['\u{2068}', '\u{2069}'], "")).collect();
        assert_eq!(rows, expected);
    }

    // The next sign-in leads by it, whichever way somebody signs in, and bars no way.
    house.pass(HOUR_MS);
    give(&bench, &ada, "4711").await.goes("s/shop/procedure/read?next=./");
    bench
        .submit("/sign-in", &[("person", &ada), ("next", "s/shop/new")])
        .await
        .goes("s/shop/procedure/read?next=s/shop/new");
    let page = bench.open("/s/shop/procedure/read?next=s/shop/new").await;
    assert!(page.text("article").contains("Version 1 of the written procedure is in force"));
    assert_eq!(page.attributes("form a.main", "href"), ["../../../s/shop/new"], "later");
    assert_eq!(bench.open("/s/shop/new").await.status(), 200, "nothing waits for it");
    let form = page.form();
    bench.submit("/s/shop/procedure/read", &filled(&form, &[])).await.goes("../../../s/shop/new");
    // Read once, and however often it is sent.
    bench.submit("/s/shop/procedure/read", &filled(&form, &[])).await.goes("../../../s/shop/new");
    bench.submit("/sign-in", &[("person", &ada)]).await.goes("./");
    bench.open("/s/shop/procedure/read").await.goes("../../../s/shop/");
    // An inspector is asked nothing.
    visit.submit("/sign-in", &ivo).await.goes("./");
    let rows = visit.open(PAGE).await.text("#readers ~ table tbody tr");
    assert!(rows.ends_with("2026-05-04 14:00"), "{rows}");

    // The set-up changes: the version doesn't, and says that it no longer fits.
    let place = json!({"kind": "place", "place": "annex", "name": "Annex", "control": "none", "use": "work"});
    house.write(place).await;
    house
        .write(json!({"kind": "place", "place": "van", "name": "The van", "control": "none", "use": "transport"}))
        .await;
    let cake = json!({"kind": "product", "product": "cake", "name": "Cream cake", "rules": ["sum-2h-4h"]});
    house.write(cake).await;
    let page = bench.open(PAGE).await;
    let changed = ["the place “Annex”: new", "the place “The van”: changed", "the food “Cream cake”: changed"];
    assert_eq!(page.texts(".warn li"), changed);
    let draft = office.open(&format!("{PAGE}/draft")).await;
    let rows = draft.texts("#changes ~ table").join("|");
    assert!(rows.contains("Annex new"), "{rows}");

    house.pass(23 * HOUR_MS);
    in_force(&office, &[("training", "At the bench, by the manager")]).await;
    assert_eq!(bench.open(PAGE).await.texts(".warn li"), Vec::<String>::new());
    give(&bench, &ada, "4711").await.goes("s/shop/procedure/read?next=./");
    let page = bench.open("/s/shop/procedure/read").await;
    assert!(page.text("#changes").contains("since version 1"));
    assert!(page.texts("#changes ~ table tbody").join("|").contains("How people are trained changed What is said of"));

    visit.submit("/sign-in", &ivo).await.goes("./");
    let page = visit.open(&format!("{PAGE}/compare?a=1&b=2")).await;
    let rows = page.texts("table tbody");
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    assert_eq!(
        rows,
        [
            "Seven days, the day it was made being the first: Foods under it changed Cake None of the foods below; \
             single items may be put under it.",
            "Two hours, four hours, added up: Foods under it changed Cake Cream cake",
            "Cream cake: Name changed Cake Cream cake",
            "Cream cake: Rules changed Two hours, four hours, added up Seven days, the day it was made being the \
             first Two hours, four hours, added up",
            "Cream cake: Its limits changed Discard: at 4 h 00 min out in all Discard: after day 7, the day it began \
             being day 1 Discard: at 4 h 00 min out in all",
            "Annex new – nothing not cold, for work Out of temperature control: the clock runs here.",
            "The van: Name changed van The van",
            "How people are trained changed What is said of training At the bench, by the manager",
        ],
    );
    assert!(visit.open(&format!("{PAGE}/compare?a=2&b=2")).await.text("article").contains("They say the same."));
    // On any date: before the first, the day of the first, the day of the second with both.
    for (on, expected) in [
        ("2026-05-03", vec!["On 2026-05-03 no version was in force."]),
        (
            "2026-05-04",
            vec!["On 2026-05-04: Version 1, approved by manager, in force from 2026-05-04 13:00 to 2026-05-05 13:00."],
        ),
        (
            "2026-05-05",
            vec![
                "On 2026-05-05: Version 1, approved by manager, in force from 2026-05-04 13:00 to 2026-05-05 13:00.",
                "On 2026-05-05: Version 2, approved by manager, in force since 2026-05-05 13:00.",
            ],
        ),
        ("2030-01-01", vec!["On 2030-01-01: Version 2, approved by manager, in force since 2026-05-05 13:00."]),
    ] {
        assert_eq!(visit.open(&format!("{PAGE}/versions?on={on}")).await.texts(".then p"), expected);
    }
    // The review's date comes.
    house.set("2027-05-03T12:00:00Z");
    assert_eq!(office.open("/s/shop/").await.text(".warn"), "");
    house.set("2027-05-04T12:00:00Z");
    assert!(office.open("/s/shop/").await.text(".warn").contains("was due on 2027-05-04"));
    assert!(bench.open("/s/shop/").await.status() == 303, "signed out long since");
    house.checks().await;
}

async fn a_gap_is_a_draft_and_no_version(house: House) {
    house.set_up().await;
    let office = office(&house);
    let head = house.head().await;
    let form = office.open(&format!("{PAGE}/edit")).await.form();
    let fields = filled(&form, &[("address", "4 Mill Reach"), ("making.cake", "Iced twice")]);
    office.submit(&format!("{PAGE}/edit"), &fields).await.goes("../../../s/shop/procedure/edit?said=saved");
    let page = office.open(&format!("{PAGE}/draft")).await;
    let gaps = page.texts("#missing ~ ul li");
    assert!(gaps.contains(&String::from("“Licence or registration number” is still to be filled in.")), "{gaps:?}");
    assert!(gaps.contains(&String::from("“Cake: Ingredients” is still to be filled in.")), "{gaps:?}");
    assert!(!gaps.iter().any(|g| g.contains("Address") || g.contains("Cake: How it is made")), "{gaps:?}");
    // Optional ones are no gap; nor is what no rule of the shop asks for.
    assert!(!gaps.iter().any(|g| g.contains("Owner") || g.contains("food’s temperature is watched")), "{gaps:?}");
    // By hand, with the hash of what is shown.
    let page = office.submit(&format!("{PAGE}/approve"), &[("seen", "0")]).await;
    let said = page.text("[role=alert]:not([hidden])");
    assert_eq!(page.status(), 409);
    for gap in &gaps {
        assert!(said.contains(gap), "{gap} is said: {said}");
    }
    assert_eq!(house.head().await, head, "the ledger has nothing of it");
    let versions = house.base().aside().await.ask("select hash from procedure_version").await;
    assert!(versions.is_empty());
    let form = office.open(&format!("{PAGE}/edit")).await.form();
    let typed: Vec<_> =
        form.iter().filter(|(n, v)| !v.is_empty() && n != "key" && n != "was" && n != "language").collect();
    assert_eq!(typed.len(), 2, "what was typed is there: {typed:?}");
    // A rule that asks for the food's temperature makes one more field needed.
    house.write(json!({"kind": "product", "product": "flan", "name": "Flan", "rules": ["us-time-6h"]})).await;
    let gaps = office.open(&format!("{PAGE}/draft")).await.texts("#missing ~ ul li");
    assert!(
        gaps.contains(&String::from("“How the food’s temperature is watched” is still to be filled in.")),
        "{gaps:?}"
    );
    let page = office.open(&format!("{PAGE}/draft")).await.text("article");
    assert!(page.contains("Over 70.0 °F it is discarded."), "the six-hour rule's reading: {page}");
    // A review that doesn't lie ahead.
    fill(&office, &[("review-on", "2026-05-04")]).await;
    let page = office.submit(&format!("{PAGE}/approve"), &[("seen", "0")]).await;
    page.says(409, "The next review, 2026-05-04, does not lie ahead.");
}

async fn what_cannot_be_is_said_and_kept(house: House) {
    house.set_up().await;
    let office = office(&house);
    let (long, edit) = ("é".repeat(2_001), format!("{PAGE}/edit"));
    let form = office.open(&edit).await.form();
    let with = [("address", long.as_str()), ("review-on", "next spring"), ("owner", " Somebody ")];
    let page = office.submit(&edit, &filled(&form, &with)).await;
    let page = page.says(400, "“Address” has 2001 characters; at most 2000 find room.");
    assert!(page.text("[role=alert]:not([hidden])").contains("“Next review” is not a date like 2026-05-02."));
    let kept = page.form();
    let of = |name: &str| kept.iter().find(|(n, _)| n == name).map(|(_, v)| v.clone()).unwrap_or_default();
    assert_eq!((of("address"), of("review-on")), (long.clone(), String::from("next spring")), "nothing typed is lost");
    assert_eq!(of("owner"), "Somebody");
    assert_eq!(page.attributes("[aria-invalid]", "name"), ["address", "review-on"]);
    assert!(house.base().aside().await.ask("select text from procedure_draft").await.is_empty());
    // To the very limit it is kept.
    let most = "é".repeat(2_000);
    let page = office.submit(&edit, &filled(&form, &[("address", &most)])).await;
    assert_eq!(page.status(), 303);

    fill(&office, &[("address", "Here")]).await;
    approve(&office).await.goes("../../../s/shop/procedure?said=approved");
    for (address, status) in [("9", 404), ("0", 404), ("-1", 404), ("one", 404), ("99999999999999999999", 404)] {
        let page = office.open(&format!("{PAGE}/{address}")).await;
        assert_eq!(page.status(), status, "{address}");
        assert!(page.text("main").contains(&format!("There is no version “{address}”")), "{}", page.text("main"));
    }
    for query in ["a=1&b=7", "a=x&b=1", "a=1&b=%3Cb%3E"] {
        let page = office.open(&format!("{PAGE}/compare?{query}")).await;
        assert_eq!(page.status(), 404, "{query}");
        assert!(page.text("main").contains("There is no version"), "{}", page.text("main"));
    }
    for on in ["yesterday", "2026-02-30", "04.05.2026", "%00"] {
        office.open(&format!("{PAGE}/versions?on={on}")).await.says(400, "That is not a date.");
    }
    for version in ["7", "", "x"] {
        let page = office.submit("/s/shop/procedure/read", &[("version", version)]).await;
        assert_eq!(page.status(), 404, "{version}");
    }
    assert_eq!(office.open(&format!("{PAGE}/compare?a=&b=")).await.status(), 200);
    // Approved once more, it says the same.
    fill(&office, &[]).await;
    approve(&office).await.says(409, "Version 1, which is in force, says the same.");
}

async fn two_managers_lose_nothing(house: House) {
    house.set_up().await;
    let (mia, mo) = (office(&house), office(&house));
    let edit = format!("{PAGE}/edit");
    let (hers, his) = (mia.open(&edit).await.form(), mo.open(&edit).await.form());
    let hers = filled(&hers, &[("address", "Mia's")]);
    mia.submit(&edit, &hers).await.goes("../../../s/shop/procedure/edit?said=saved");
    // The same again is no conflict.
    mia.submit(&edit, &hers).await.goes("../../../s/shop/procedure/edit?said=saved");
    let page = mo.submit(&edit, &filled(&his, &[("address", "Mo's")])).await.says(409, "Somebody else saved a draft");
    let his = page.form();
    assert!(his.contains(&(String::from("address"), String::from("Mo's"))), "it still stands there");
    let kept = house.base().aside().await.ask("select text from procedure_draft").await;
    assert_eq!(serde_json::from_str::<Value>(&kept[0]).expect("JSON")["address"], "Mia's");
    mo.submit(&edit, &filled(&his, &[])).await.goes("../../../s/shop/procedure/edit?said=saved");
    let kept = house.base().aside().await.ask("select text from procedure_draft").await;
    assert_eq!(serde_json::from_str::<Value>(&kept[0]).expect("JSON")["address"], "Mo's");
}

async fn only_what_was_looked_at_is_approved(house: House) {
    house.set_up().await;
    let office = office(&house);
    fill(&office, &[]).await;
    let form = office.open(&format!("{PAGE}/draft")).await.form();
    let approve = async || office.submit(&format!("{PAGE}/approve"), &filled(&form, &[])).await;
    // Between looking and approving a product comes under another rule.
    house.write(json!({"kind": "product", "product": "mousse", "name": "Mousse", "rules": ["sum-2h-4h"]})).await;
    approve().await.says(409, "has changed since you looked at it");
    assert!(house.base().aside().await.ask("select hash from procedure_version").await.is_empty());
    let form = office.open(&format!("{PAGE}/draft")).await.form();
    let approve = async || office.submit(&format!("{PAGE}/approve"), &filled(&form, &[])).await;
    approve().await.goes("../../../s/shop/procedure?said=approved");
    let head = house.head().await;
    // A double tap.
    approve().await.goes("../../../s/shop/procedure?said=approved");
    assert_eq!(house.head().await, head);
    assert_eq!(house.base().aside().await.ask("select hash from procedure_version").await.len(), 1);
    let page = office.submit(&format!("{PAGE}/approve"), &[("seen", &form[1].1)]).await;
    page.says(409, "No draft has been saved.");
    // A void approval puts nothing in force.
    house.write(json!({"kind": "correct", "entry": head, "void": true, "reason": "Too soon"})).await;
    assert!(office.open(PAGE).await.text(".warn").contains("No version"));
    assert!(office.open(&format!("{PAGE}/1")).await.text(".warn").contains("Never approved"));
    house.checks().await;
}

async fn a_version_stays_as_it_was(house: House) {
    house.set_up().await;
    let office = office(&house);
    let zoe = add(&office, "Zoë", "staff", "4711", "").await;
    in_force(&office, &[]).await;
    let shown = office.open(&format!("{PAGE}/1")).await.text("#s-foods ~ dl");
    assert!(office.open(PAGE).await.text("article").contains("Zoë"));
    // No product, no person, no restart changes it.
    house.write(json!({"kind": "product", "product": "cake", "name": "Gateau", "rules": ["two-hour"]})).await;
    office.submit(&format!("/s/shop/people/{zoe}/erase"), &[("sure", "yes")]).await;
    house.restart().await;
    assert_eq!(office.open(&format!("{PAGE}/1")).await.text("#s-foods ~ dl"), shown);
    assert!(!office.open(PAGE).await.text("article").contains("Zoë"), "a name can be erased");
    assert!(!kept(&house, 1).await.contains("Zoë"));
    house.checks().await;
    let mut aside = house.base().aside().await;
    for change in [
        "update procedure_version set text = '{}'",
        "update procedure_version set hash = 'x'",
        "delete from procedure_version",
    ] {
        let said = aside.run(change).await.expect_err(change);
        assert!(said.contains("a version is never"), "{said}");
    }
}

async fn an_approval_seals_what_is_kept(house: House) {
    house.set_up().await;
    let office = office(&house);
    in_force(&office, &[]).await;
    // Nobody seals what isn't there.
    let none = format!("sha256:{}", "0".repeat(64));
    for what in ["procedure-1", "procedure-2"] {
        let entry = json!({"kind": "approve", "what": what, "reference": none});
        let answer = house.manager().post(&entry).await;
        assert!(
            answer.json()["detail"].as_str().is_some_and(|said| said.contains("of that hash")),
            "{}",
            answer.text()
        );
        answer.refused(400, "bad-member");
    }
    // An approval that seals nothing puts nothing in force.
    house.write(json!({"kind": "approve", "what": "procedure-9", "reference": "By word of mouth"})).await;
    assert!(office.open(PAGE).await.text("article").contains("Version 1, approved by"));
    house.checks().await;
    // Changed behind the program's back, with the hash or without, it shows.
    let text = kept(&house, 1).await.replace("What is said of address", "Elsewhere");
    let hash: String = hex::encode(Sha256::digest(&text));
    let mut aside = house.base().aside().await;
    let unlock = match house.base().kind {
        crate::kit::base::Kind::Sqlite => "drop trigger procedure_stays; drop trigger procedure_remains",
        crate::kit::base::Kind::Postgres => "alter table procedure_version disable trigger all",
    };
    aside.must(unlock).await;
    let quoted = text.replace('\'', "''");
    aside.must(&format!("update procedure_version set text = '{quoted}'")).await;
    let said = house.broken().await;
    assert_eq!(said, ["the written procedure: version 1 no longer has the text it was written with"]);
    aside.must(&format!("update procedure_version set hash = '{hash}'")).await;
    let said = house.broken().await;
    assert!(said.len() == 1 && said[0].contains("approves version 1 with another text than is kept"), "{said:?}");
    assert!(office.open(PAGE).await.text(".warn").contains("No version"), "what nobody approved is in force nowhere");
    aside.must("delete from procedure_read; delete from procedure_version").await;
    let said = house.broken().await;
    assert!(said.len() == 1 && said[0].starts_with("the written procedure: entry"), "{said:?}");
}

/// Read back by other people's tools.
async fn on_paper(house: House) {
    house.set_up().await;
    let office = office(&house);
    let zoe = add(&office, "Zoë שרה", "staff", "4711", "").await;
    in_main(office.open("/s/shop/procedure.pdf").await, 404, "No version");
    in_force(&office, &[("address", "4 Mill Reach\nΑθήνα, Київ 中\nالقاهرة 🧁")]).await;
    let (entry, bench) = (house.tail().await.pop().expect("an entry"), device(&house, &office, "bench").await);
    give(&bench, &zoe, "4711").await;
    let foot = format!("ledger to entry {}, {}", entry["seq"], &entry["hash"].as_str().expect("a hash")[..12]);
    for (query, size) in [("", "A4"), ("?size=a4", "A4"), ("?size=letter&version=1", "letter")] {
        let answer = office.open(&format!("/s/shop/procedure.pdf{query}")).await.0;
        assert_eq!((answer.status.as_u16(), answer.header("content-type")), (200, "application/pdf"), "{query}");
        assert!(answer.header("content-disposition").contains("written-procedure-1.pdf"));
        let pdf = Pdf::new(&answer.bytes);
        assert!(pdf.check().contains("No syntax or stream encoding errors found"), "{query}");
        let info = pdf.info(&[]);
        assert!(info.contains("Tagged:          yes") && info.contains(&format!("({size})")), "{info}");
        assert!(pdf.fonts().lines().skip(2).all(|l| l.contains(" yes yes ")), "embedded: {}", pdf.fonts());
        assert!(answer.bytes.windows(8).any(|w| w == b"/Lang(en"), "its language");
        let text = pdf.text("-layout");
        let pages = text.matches("page 1 of ").count();
        assert_eq!(pages, 1, "{text}");
        let of = text.split("page 1 of ").nth(1).expect("a foot").split_whitespace().next().expect("a number");
        assert_eq!(text.matches(&format!(" of {of}\n")).count().to_string(), of, "on each page: {text}");
        assert_eq!(text.matches(&foot).count().to_string(), of, "{foot} on each page: {text}");
        let plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for said in [
            "Version 1, approved by manager, in force since 2026-05-04 13:00.",
            "Next review: 2027-05-04.",
            "Guidance only: the local health authority's code",
            "What is said of making.mousse",
            "Standard 3.2.2 clause 25",
            "Αθήνα, Київ [U+4E2D]",
        ] {
            assert!(plain.contains(said), "{said}: {plain}");
        }
        // Every answer of the page is on paper too; what turns about, its letters alone.
        let page = office.open(&format!("{PAGE}/1")).await;
        let squeezed = |text: &str| text.chars().filter(char::is_ascii_alphanumeric).collect::<String>();
        let raw = squeezed(&pdf.text("-raw"));
        for answer in page.texts(".asked dd") {
            let answer = squeezed(&answer);
            assert!(raw.contains(&answer), "{answer}");
        }
        assert!(plain.contains("not yet"), "who has read it");
    }
    let theirs = Pdf::new(&bench.open("/s/shop/procedure.pdf").await.0.bytes).text("-layout");
    assert!(!theirs.contains("Who has read it") && !theirs.contains("the set-up has changed"));
    let place = json!({"kind": "place", "place": "annex", "name": "Annex", "control": "none", "use": "work"});
    house.write(place).await;
    let behind = Pdf::new(&bench.open("/s/shop/procedure.pdf").await.0.bytes).text("-layout");
    assert!(behind.contains("the set-up has changed") && behind.contains("the place “Annex”: new"), "{behind}");
    in_main(office.open("/s/shop/procedure.pdf?size=a3").await, 400, "Paper is “a4” or “letter”.");
    in_main(office.open("/s/shop/procedure.pdf?version=2").await, 404, "There is no version “2”");
}
