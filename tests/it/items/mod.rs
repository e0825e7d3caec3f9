//! Tags and racks, on both databases, as a browser meets them.

mod codes;
mod racks;
mod tags;

use crate::kit::browser::Browser;
use crate::kit::house::{House, t};
use serde_json::{Value, json};

/// A browser that is signed in by a role's token.
async fn signed_in(house: &House, role: &str) -> Browser {
    let browser = Browser::new(house);
    browser.submit("/sign-in", &[("token", &house.role(role).1)]).await.goes("./");
    browser
}

/// An item that began in the fridge this morning.
fn cake(id: &str) -> Value {
    json!({"kind": "item", "at": t("08:00"), "item": id, "name": format!("Cake {id}"), "product": "cake", "place": "fridge"})
}

/// A sheet of new tags: their codes as they stand in addresses.
async fn sheet(browser: &Browser, count: usize) -> Vec<String> {
    let made = browser.submit("/s/shop/tags", &[("count", &count.to_string())]).await;
    assert_eq!(made.status(), 303, "{}", made.0.text());
    let at = made.to().trim_start_matches("../../").to_owned();
    let codes = browser.open(&format!("/{at}")).await.texts(".sheet .code");
    assert_eq!(codes.len(), count);
    codes.iter().map(|c| c.replace('-', "")).collect()
}
