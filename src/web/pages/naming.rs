//! Names the server makes, so that nobody types with wet hands: `Layer cake, Sat 3`.

use crate::lang;
use crate::ledger::{Id, State};
use crate::web::show::Show;

/// A name for a new item of a product: the product's, the day, and the first number that nothing at hand bears.
pub(super) fn of_product(state: &State, show: Show, product: &Id) -> Option<String> {
    let name = state.product(product, u64::MAX)?.name.to_string();
    let day = show.weekday(show.now);
    let number = |n: u32| lang::made_name(day, &n.to_string(), &name);
    Some(first_free(state, 1, number))
}

/// A name for what is split off an item.
pub(super) fn of_part(state: &State, name: &str) -> String {
    first_free(state, 2, |n| lang::made_part(&n.to_string(), name))
}

fn first_free(state: &State, from: u32, name: impl Fn(u32) -> String) -> String {
    let today: std::collections::HashSet<&str> =
        state.items.values().filter_map(|i| i.begin()).map(|(_, b)| &*b.name).collect();
    let mut names = (from..).map(name);
    names.find(|n| !today.contains(n.as_str())).unwrap_or_default()
}
