//! Who acts: signing in, guessing, looking after people and devices. By browsers, through the front door.

mod first_run;
mod guessing;
mod inspecting;
mod managing;
mod publishing;
mod secrets;
mod signing_in;

use crate::kit::browser::{Browser, Page};
use crate::kit::house::House;

/// A password that nobody guesses first.
pub const PASSWORD: &str = "rye bread on a tin roof";

/// A browser that is signed in with the manager's token.
pub fn office(house: &House) -> Browser {
    let office = Browser::new(house);
    office.put("counterclock", &house.manager().1);
    office
}

/// Adds somebody; their id.
pub async fn add(office: &Browser, name: &str, role: &str, pin: &str, password: &str) -> String {
    let fields = [("name", name), ("role", role), ("pin", pin), ("password", password)];
    let page = office.submit("/s/shop/people", &fields).await;
    let (front, id) = page.to().rsplit_once("person=").unwrap_or_else(|| panic!("{}", page.0.text()));
    assert!(front.ends_with("/s/shop/people?said=added&"), "{front}");
    id.to_owned()
}

/// The code for a new device.
pub async fn code(office: &Browser, name: &str) -> String {
    let page = office.submit("/s/shop/devices", &[("name", name)]).await;
    assert_eq!(page.status(), 200);
    page.text("#the-code")
}

/// Fills in the page's form and sends it: a field given replaces all of that name, `-name` takes one value away.
pub async fn fill_at(browser: &Browser, at: &str, page: &Page, given: &[(&str, &str)]) -> Page {
    let mut fields = page.form();
    fields.retain(|(name, value)| {
        !given.iter().any(|(g, v)| g == name || (g.strip_prefix('-') == Some(name) && v == value))
    });
    let added = given.iter().filter(|(n, _)| !n.starts_with('-'));
    fields.extend(added.map(|(n, v)| ((*n).to_owned(), (*v).to_owned())));
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    browser.submit(at, &fields).await
}

/// A browser on a device that is enrolled.
pub async fn device(house: &House, office: &Browser, name: &str) -> Browser {
    let browser = Browser::new(house);
    browser.submit("/enrol", &[("code", &code(office, name).await)]).await.goes("sign-in");
    browser
}

/// Gives a PIN.
pub async fn give(browser: &Browser, person: &str, pin: &str) -> Page {
    browser.submit("/sign-in", &[("person", person), ("pin", pin)]).await
}
