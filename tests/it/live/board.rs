//! Boards that many look at: one rendering for all of them, filters, who knows of what is over, the wall, the day.

use crate::kit::actor::{Actor, Bearer};
use crate::kit::browser::Browser;
use crate::kit::house::{House, SITE, t};
use crate::kit::listen::open_at;
use crate::people::office;
use counterclock::people::{Role, tokens};
use serde_json::json;

both!(
    many_screens_share_one_rendering,
    a_filter_is_kept_through_a_tap,
    what_is_over_stays_on_top_until_somebody_acts,
    the_wall_is_silenced_for_one_threshold_alone,
    all_shops_on_one_page,
    the_day_over_one_axis,
    lead_times_are_the_managers,
);

async fn begun(house: &House, id: &str, at: &str, place: &str) {
    let entry = json!({"kind": "item", "at": t(at), "item": id, "rules": ["sum-2h-4h"], "name": id, "place": place});
    house.write(entry).await;
}

fn with(house: &House, role: &str) -> Browser {
    let browser = Browser::new(house);
    browser.put("counterclock", &house.role(role).1);
    browser
}

/// Guards against S-35.
async fn many_screens_share_one_rendering(house: House) {
    house.set_up().await;
    begun(&house, "tub", "11:00", "bench").await;
    let (one, other) = (with(&house, "staff"), with(&house, "manager"));
    let before = house.service().fragments_made();
    for browser in [&one, &other, &one, &other] {
        let page = browser.open("/s/shop/fragment?view=board").await;
        assert_eq!(page.0.header("now-ms"), house.now().0.to_string());
        assert_eq!(page.0.header("seq"), house.head().await.to_string());
        assert_eq!(page.texts("li.row h3"), ["tub"]);
    }
    assert_eq!(house.service().fragments_made(), before + 1, "four looks, one rendering");
    // Its own key is put in by each page: a shared one would make two people's taps one.
    assert!(one.open("/s/shop/fragment").await.0.text().contains("value=\"{key}\""));
    let keys = async || one.open("/s/shop/").await.attributes("#i-tub input[name=key]", "value");
    let (first, second) = (keys().await, keys().await);
    assert!(first[0].len() == 32 && first != second, "{first:?} {second:?}");
    // Who may not write has another, without forms.
    let reader = with(&house, "inspector").open("/s/shop/fragment").await;
    assert_eq!((reader.texts("li.row").len(), reader.texts("form").len()), (1, 0));
    // An entry makes it anew, and so does a second in which nothing happens.
    let made = house.service().fragments_made();
    begun(&house, "cake", "11:30", "bench").await;
    assert_eq!(one.open("/s/shop/fragment").await.texts("li.row h3"), ["tub", "cake"]);
    house.pass(999);
    one.open("/s/shop/fragment").await;
    assert_eq!(house.service().fragments_made(), made + 1);
    house.pass(1);
    one.open("/s/shop/fragment").await;
    assert_eq!(house.service().fragments_made(), made + 2);
    // Fifty changes a second and as many looks: four renderings a second.
    let (made, begun_at) = (house.service().fragments_made(), std::time::Instant::now());
    for n in 0..20 {
        let place = if n % 2 == 0 { "fridge" } else { "bench" };
        house.write(json!({"kind": "move", "item": "tub", "place": place})).await;
        let looks = (0..5).map(|_| {
            let one = one.clone();
            tokio::spawn(async move { one.open("/s/shop/fragment").await.text("#i-tub .where") })
        });
        for look in looks.collect::<Vec<_>>() {
            let there = look.await.expect("no panic");
            assert!(there.starts_with(place), "at least as new as when it was asked for: {there}");
        }
    }
    let gathered = begun_at.elapsed().as_millis() as u64 / 250 + 1;
    assert!(house.service().fragments_made() - made <= gathered, "{gathered}");
    // Packed for whoever can unpack it, and the same.
    let packed = one.send("GET", "/s/shop/fragment", &[("accept-encoding", "gzip")], "").await.ok();
    assert_eq!(packed.header("content-encoding"), "gzip");
    let mut text = String::new();
    std::io::Read::read_to_string(&mut flate2::read::GzDecoder::new(&packed.bytes[..]), &mut text).expect("gzip");
    assert_eq!(text, one.open("/s/shop/fragment").await.0.text());
}

async fn a_filter_is_kept_through_a_tap(house: House) {
    house.set_up().await;
    begun(&house, "tub", "11:00", "bench").await;
    begun(&house, "pie", "11:00", "shelf").await;
    house
        .write(json!({"kind": "item", "at": t("11:00"), "item": "cake", "product": "cake", "name": "cake", "place": "bench"}))
        .await;
    let staff = with(&house, "staff");
    let names = async |query: &str| {
        let mut names = staff.open(&format!("/s/shop/{query}")).await.texts("li.row h3");
        names.sort();
        names
    };
    assert_eq!(names("").await, ["cake", "pie", "tub"]);
    assert_eq!(names("?place=bench").await, ["cake", "tub"]);
    assert_eq!(names("?product=cake").await, ["cake"]);
    assert_eq!(names("?place=bench&product=cake").await, ["cake"]);
    assert_eq!(names("?place=shelf&product=cake").await, Vec::<String>::new());
    // A place that isn't there has nothing in it; what isn't an id is none.
    assert_eq!(names("?place=moon").await, Vec::<String>::new());
    assert_eq!(names("?place=%3Cb%3E").await, ["cake", "pie", "tub"]);
    let page = staff.open("/s/shop/?place=bench&product=cake").await;
    assert!(page.text(".only").starts_with("Only bench, Cake"), "{}", page.text(".only"));
    assert_eq!(page.text(".counts"), "1 out, 0 cold, 0 frozen");
    let filter = page.attributes("#i-cake form.go input[name=filter]", "value");
    assert_eq!(filter, ["place=bench&product=cake"]);
    let moved = staff
        .submit("/s/shop/items/cake/move", &[("place", "fridge"), ("back", "board"), ("filter", &filter[0])])
        .await;
    assert!(moved.to().starts_with("../../../../s/shop/?said=move&"), "{}", moved.to());
    assert!(moved.to().ends_with("&place=bench&product=cake"), "{}", moved.to());
    // What was put into the form by somebody else leads nowhere else.
    let odd = [("place", "bench"), ("back", "board"), ("filter", "//evil.test/&place=x y&product=cake")];
    let moved = staff.submit("/s/shop/items/cake/move", &odd).await;
    assert!(moved.to().ends_with("&product=cake") && !moved.to().contains("evil"), "{}", moved.to());
}

async fn what_is_over_stays_on_top_until_somebody_acts(house: House) {
    house.set_up().await;
    begun(&house, "tub", "07:00", "bench").await;
    begun(&house, "near", "08:30", "bench").await;
    let staff = with(&house, "staff");
    let group = async |id: &str| staff.open("/s/shop/").await.texts(&format!("#s-{id} h3"));
    assert_eq!(group("act").await, ["tub", "near"]);
    assert_eq!(group("known").await, Vec::<String>::new());
    let page = staff.open("/s/shop/").await;
    assert_eq!(page.attributes("#i-tub .know button", "value"), ["discard-0"]);
    let known = [("threshold", "discard-0"), ("back", "board"), ("filter", "place=bench")];
    house.set("12:05");
    staff.submit("/s/shop/items/tub/known", &known).await.goes("../../../../s/shop/?place=bench");
    let entry = house.tail().await.pop().expect("an entry");
    assert_eq!(
        (&entry["kind"], &entry["about"], &entry["action"]),
        (&json!("decide"), &json!("tub"), &json!("acknowledge"))
    );
    assert_eq!(
        (&entry["reason"], &entry["note"]),
        (&json!("discard-0: seen on the board"), &json!(format!("over {}", t("12:05"))))
    );
    // What is decided of something else of an item is not said of this.
    let other = json!({"kind": "decide", "about": "near", "action": "acknowledge", "reason": "r", "note": format!("start-warm {}", t("08:30"))});
    house.write(other).await;
    assert_eq!((group("act").await, group("known").await), (vec![String::from("near")], vec![String::from("tub")]));
    assert_eq!(staff.open("/s/shop/").await.text("#i-tub .known"), "staff knows, 13:05: seen on the board");
    // It isn't away: only throwing it away is that.
    assert_eq!(house.standing("tub").await["verdict"], "discard");
    // What was said of the milder verdict doesn't hold for the worse.
    staff.submit("/s/shop/items/near/known", &[("threshold", "use-0")]).await;
    assert_eq!(group("act").await, Vec::<String>::new());
    house.set("12:30");
    assert_eq!(group("act").await, ["near"]);
    // Said in error, it is taken back as any entry is.
    let seq = entry["seq"].clone();
    house.write(json!({"kind": "correct", "entry": seq, "void": true, "reason": "wrong tub"})).await;
    assert_eq!(group("act").await, ["near", "tub"]);
    house.write(json!({"kind": "decide", "about": "tub", "action": "keep", "reason": "asked the manager"})).await;
    assert_eq!(staff.open("/s/shop/").await.text("#i-tub .known"), "manager knows, 13:30: asked the manager");
    staff.submit("/s/shop/items/tub/end", &[("as", "discarded")]).await;
    assert_eq!(group("known").await, Vec::<String>::new());
    // Nothing is written of what is no threshold, or of no item.
    let head = house.head().await;
    for threshold in ["", "discard", "gone-5", "discard-9999"] {
        assert_eq!(staff.submit("/s/shop/items/near/known", &[("threshold", threshold)]).await.status(), 400);
    }
    assert_eq!(staff.submit("/s/shop/items/nothing/known", &[("threshold", "use-0")]).await.status(), 404);
    assert_eq!(house.head().await, head);
}

/// Guards against S-38.
async fn the_wall_is_silenced_for_one_threshold_alone(house: House) {
    house.set_up().await;
    begun(&house, "tub", "12:00", "bench").await;
    house.set("12:05");
    begun(&house, "near", "12:05", "bench").await;
    let staff = with(&house, "staff");
    let calls = async || staff.open("/s/shop/fragment?view=wall").await.attributes("li[data-call]", "data-call");
    let ids = async || staff.open("/s/shop/wall").await.attributes(".far li", "id");
    let know = async |id: &str, threshold: &str| {
        let fields = [("threshold", threshold), ("back", "wall")];
        staff.submit(&format!("/s/shop/items/{id}/known"), &fields).await.goes("../../../../s/shop/wall");
    };
    house.set("13:44");
    assert_eq!(calls().await, Vec::<String>::new());
    house.set("13:46");
    assert_eq!(calls().await, ["use-15"]);
    assert_eq!(staff.open("/s/shop/wall").await.text("#w-tub .soon"), "in 15 min: Use it now");
    know("tub", "use-15").await;
    assert_eq!(calls().await, Vec::<String>::new());
    assert!(staff.open("/s/shop/wall").await.text("#w-tub .known").starts_with("staff knows, 14:46"));
    // The other item, and the next threshold, are heard.
    house.set("13:51");
    assert_eq!(calls().await, ["use-15"]);
    house.set("13:55");
    assert_eq!(calls().await, ["use-5", "use-15"]);
    house.set("14:00");
    assert_eq!(calls().await, ["use-0", "use-5"]);
    know("tub", "use-0").await;
    assert_eq!(calls().await, ["use-5"]);
    // Whoever answers late answers what they saw.
    house.set("15:45");
    know("tub", "use-0").await;
    assert_eq!(calls().await, ["discard-15", "use-0"]);
    house.set("16:00");
    assert_eq!(calls().await, ["discard-0", "discard-5"]);
    assert_eq!(ids().await, ["w-tub", "w-near"]);
    // Who only reads hears it too, and has nothing to touch.
    let reader = with(&house, "inspector").open("/s/shop/wall").await;
    assert_eq!((reader.texts("li[data-call]").len(), reader.texts("main form").len()), (2, 0));
    // Six rows: what is beyond is counted.
    for n in 0..7 {
        begun(&house, &format!("i{n}"), "15:00", "bench").await;
    }
    let page = staff.open("/s/shop/wall").await;
    assert_eq!((page.texts(".far li").len(), page.text(".more")), (6, String::from("3 more")));
}

async fn all_shops_on_one_page(house: House) {
    house.set_up().await;
    begun(&house, "tub", "11:00", "bench").await;
    let service = house.service();
    service.add_site("annex", &SITE.replace("Anvil & Rye", "Annex")).await.expect("another shop");
    service.add_site("third", SITE).await.expect("a third");
    let all = Browser::new(&house);
    all.put("counterclock", &service.add_token(tokens::ALL, "n", Role::Manager).await.expect("a token"));
    let page = all.open("/boards").await;
    assert_eq!(page.texts(".shop-board > h2"), ["Annex", "Anvil & Rye", "Anvil & Rye"]);
    assert_eq!(page.attributes("#shop-shop li.row", "id"), ["shop-i-tub"]);
    assert_eq!(page.attributes("#shop-shop li.row form.go", "action"), ["./s/shop/items/tub/move"]);
    // One line for all of them, which says that something happened and not what.
    assert_eq!(page.attributes("body", "data-stream"), ["./boards/stream"]);
    service.follow_all();
    let every = Bearer(house.clone(), service.add_token(tokens::ALL, "m", Role::Manager).await.expect("a token"));
    let mut line = open_at(&every, "/boards/stream", None).await.expect("it opens");
    for _ in 0..3 {
        assert_eq!((line.next().await.data, line.last.as_str()), (json!({}), ""));
    }
    let more = json!([{"kind": "place", "place": "shed", "name": "Shed", "control": "none"}]);
    every.send("POST", "/s/annex/api/entries", &[("content-type", "application/json")], more.to_string()).await.ok();
    assert_eq!(line.next().await.data, json!({}));
    begun(&house, "bun", "11:00", "bench").await;
    assert_eq!(line.next().await.data, json!({}));
    assert_eq!(all.open("/s/shop/").await.attributes("nav a[href$=boards]", "href"), ["../../boards"]);
    // Whoever has one shop sees that one, and isn't shown the way.
    let staff = with(&house, "staff");
    assert_eq!(staff.open("/boards").await.attributes(".shop-board", "id"), ["shop-shop"]);
    assert!(staff.open("/s/shop/").await.texts("nav a[href$=boards]").is_empty());
    assert_eq!(with(&house, "probe").open("/boards").await.status(), 403);
    assert!(Browser::new(&house).open("/boards").await.to().ends_with("sign-in?next=boards"));
}

async fn the_day_over_one_axis(house: House) {
    house.set_up().await;
    begun(&house, "long", "-1 22:00", "bench").await;
    house.write(json!({"kind": "move", "at": t("-1 23:30"), "item": "long", "place": "fridge"})).await;
    begun(&house, "short", "09:00", "bench").await;
    house.write(json!({"kind": "close", "at": t("10:00"), "item": "short", "as": "sold"})).await;
    house.set("+1 08:00");
    begun(&house, "new", "+1 07:30", "bench").await;
    let reader = with(&house, "inspector");
    let rows = async |on: &str| reader.open(&format!("/s/shop/day{on}")).await.texts(".days tbody th a");
    assert_eq!(rows("").await, ["long", "new"]);
    assert_eq!(rows("?on=2026-05-05").await, ["long", "new"]);
    assert_eq!(rows("?on=2026-05-04").await, ["long", "short"]);
    assert_eq!(rows("?on=2026-05-03").await, ["long"]);
    assert_eq!(rows("?on=2026-05-02").await, Vec::<String>::new());
    let page = reader.open("/s/shop/day?on=2026-05-04").await;
    // London is an hour ahead of UTC in May.
    assert_eq!(page.texts(".days .told")[1], "out 1 h 00 min in all; out 10:00 to 11:00; limit at 14:00");
    assert_eq!(page.texts(".axis text"), ["00", "03", "06", "09", "12", "15", "18", "21", "00"]);
    assert_eq!(page.attributes(".days td svg", "aria-label").len(), 2, "each strip says in words what it shows");
    assert_eq!(page.texts(".days tbody small")[1], "closed 11:00");
    // As it stood at the end of that day, not as it stands now.
    assert!(
        reader
            .open("/s/shop/day?on=2026-05-03")
            .await
            .text(".days .told")
            .starts_with("out 1 h 00 min in all; out since")
    );
    for bad in ["?on=2026-05-06", "?on=yesterday", "?on=2026-02-30"] {
        assert_eq!(reader.open(&format!("/s/shop/day{bad}")).await.status(), 400, "{bad}");
    }
}

async fn lead_times_are_the_managers(house: House) {
    house.set_up().await;
    let office = office(&house);
    let shown = async || office.open("/s/shop/shop").await.attributes(".leads input", "value");
    assert_eq!(shown().await, ["15", "5", "", ""], "this project's own, until the shop says otherwise");
    let set = async |minutes: &[&str]| {
        let fields: Vec<(&str, &str)> = minutes.iter().map(|m| ("minutes", *m)).collect();
        office.submit("/s/shop/shop/leads", &fields).await
    };
    set(&["10", "30", "", "10"]).await.goes("../../../s/shop/shop?said=done");
    assert_eq!(shown().await, ["30", "10", "", ""]);
    for bad in [&["0"][..], &["241"], &["x"], &["-5"], &["1.5"], &[], &["1", "2", "3", "4", "5"]] {
        set(bad).await.says(400, "whole numbers of minutes");
        assert_eq!(shown().await, ["30", "10", "", ""], "{bad:?}");
    }
    begun(&house, "tub", "12:00", "bench").await;
    house.set("13:31");
    let wall = with(&house, "staff").open("/s/shop/wall").await;
    assert_eq!(wall.attributes("li[data-call]", "data-call"), ["use-30"]);
}
