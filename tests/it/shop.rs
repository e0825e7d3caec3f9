//! What the shop is set up with, read by all and changed by managers, through the page's own forms.

use crate::kit::browser::Browser;
use crate::kit::house::House;
use crate::people::{add, device, give, office};
use serde_json::{Value, json};

both!(a_manager_changes_the_set_up, whoever_else_may_only_read_it);

/// The last entry of the ledger.
async fn last(house: &House) -> Value {
    house.tail().await.pop().expect("an entry")
}

async fn a_manager_changes_the_set_up(house: House) {
    house.set_up().await;
    let office = office(&house);
    let send = async |what: &str, fields: &[(&str, &str)]| office.submit(&format!("/s/shop/shop/{what}"), fields).await;
    let page = office.open("/s/shop/shop").await;
    assert!(page.text("#main").contains("local health authority"), "the rules defer");
    assert!(page.texts("section[aria-labelledby=rules] .source").iter().all(|s| s.starts_with("Source: ")));
    let done = "../../../s/shop/shop?said=done";

    send("site", &[("name", "Corner \"Bakehouse\""), ("units", "F")]).await.goes(done);
    let e = last(&house).await;
    assert_eq!((&e["kind"], &e["name"], &e["units"]), (&json!("site"), &json!("Corner \"Bakehouse\""), &json!("F")));

    send("place", &[("name", "Cave à crème"), ("kind", "cold.store")]).await.goes(done);
    let e = last(&house).await;
    assert_eq!((&e["place"], &e["control"], &e["use"]), (&json!("cave-cr-me"), &json!("cold"), &json!("store")));
    send("place", &[("id", "cave-cr-me"), ("name", "Cream cellar")]).await.goes(done);
    let e = last(&house).await;
    assert_eq!(
        (&e["place"], &e["name"], &e["control"]),
        (&json!("cave-cr-me"), &json!("Cream cellar"), &json!("cold"))
    );
    // Another of the same name is another place.
    send("place", &[("name", "Cave à crème"), ("kind", "none.work")]).await.goes(done);
    assert_eq!(last(&house).await["place"], "cave-cr-me-2");

    send("rule", &[("rule", "us-time-4h")]).await.goes(done);
    assert_eq!(last(&house).await["rule"], "us-time-4h");
    let fields = [("name", "Eclair"), ("rule", "us-time-4h"), ("chill", "15"), ("soft", "40"), ("firm", "20")];
    send("product", &fields).await.goes(done);
    let e = last(&house).await;
    assert_eq!((&e["product"], &e["rules"]), (&json!("eclair"), &json!(["us-time-4h"])));
    assert_eq!((&e["chill_ms"], &e["soft_ms"], &e["firm_ms"]), (&json!(900_000), &json!(2_400_000), &json!(1_200_000)));
    let page = office.open("/s/shop/shop").await;
    let shown = page.text("section[aria-labelledby=products]");
    assert!(shown.contains("15 min until cold again; soft after 40 min; firm after 20 min"), "{shown}");
    let fields = [("id", "eclair"), ("name", "Éclair"), ("rule", "us-time-4h"), ("rule", "keep-7d")];
    send("product", &fields).await.goes(done);
    assert_eq!(last(&house).await["rules"], json!(["us-time-4h", "keep-7d"]));
    let fields = [("name", "Meringue"), ("reason", "dry"), ("evidence", "water activity 0.30, measured")];
    send("product", &fields).await.goes(done);
    assert_eq!(last(&house).await["exempt"]["reason"], "dry");

    // What is refused writes nothing, and what was typed comes back.
    let head = house.head().await;
    let bad = send("product", &[("name", "Flan"), ("chill", "5")]).await;
    assert_eq!(bad.attributes("form.begin input[name=name]", "value")[1], "Flan");
    assert_eq!(bad.status(), 409, "without a rule and without evidence");
    send("product", &[("name", "Flan"), ("rule", "keep-7d"), ("chill", "-5")]).await.says(400, "not a whole number");
    send("product", &[("name", "Flan"), ("rule", "nobody-knows")]).await.says(409, "There is no such rule.");
    send("product", &[("name", "Flan"), ("rule", "keep-7d")]).await.says(400, "None of these limits all");
    send("place", &[("name", "Attic")]).await.says(400, "Say what the place is.");
    send("place", &[("name", ""), ("kind", "cold.store")]).await.says(400, "1 to 200 characters");
    send("rule", &[("rule", "house-rule")]).await.says(400, "Touch the rule");
    send("nonsense", &[]).await.says(400, "no such form");
    assert_eq!(house.head().await, head);
    house.agrees().await;
}

async fn whoever_else_may_only_read_it(house: House) {
    house.set_up().await;
    let office = office(&house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let phone = device(&house, &office, "bench").await;
    give(&phone, &ada, "4711").await.goes("./");
    let page = phone.open("/s/shop/shop").await;
    assert_eq!(page.status(), 200);
    assert!(page.texts("main form").is_empty());
    assert!(page.text("section[aria-labelledby=places]").contains("walk-in cold, for storage"));
    let head = house.head().await;
    assert_eq!(phone.submit("/s/shop/shop/place", &[("name", "Attic"), ("kind", "none.work")]).await.status(), 403);
    assert_eq!(house.head().await, head);
    assert_eq!(Browser::new(&house).open("/s/shop/shop").await.to(), "../../sign-in?next=s/shop/shop");
}
