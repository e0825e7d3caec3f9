//! The demo's data: an invented bakery's two days, told backwards from now. Pure: no clock, no database.

mod bench;
mod counter;
mod diary;
pub mod loggers;
pub mod procedure;
mod rounds;
mod shop;

use crate::clock::{Instant, Zone};
use diary::Diary;
use serde_json::Value;

/// The item that has exactly [`MINUTES_LEFT`] minutes until its discard-by time at the demo's now.
pub const NEAREST: &str = "gateau-1";
/// How many minutes [`NEAREST`] has left.
pub const MINUTES_LEFT: i64 = 12;

/// What is with others.
pub const WITH_OTHERS: &str = "raspberry-1";
/// Since how many minutes.
pub const HANDED_MINUTES: i64 = 25;
/// The cake that an order is planned for.
pub const PLANNED: &str = "carrot-1";

/// The version of the written procedure that is approved on the first day.
pub const PROCEDURE: &str = "procedure-1";

/// The rack of small cakes, for addresses.
pub const RACK: &str = "rack-4";
/// The same for people.
pub const RACK_NAME: &str = "Rack 4";
/// What is left of it.
pub const ON_RACK: [&str; 3] = ["small-18", "small-19", "small-20"];

/// Two days of an invented bakery up to `now`: each entry as it is posted, without the server's members, with
/// when it was recorded; in order of recording. Corrections and decisions name entries by `seq`, counted from 1
/// over one entry an item, so these are the ledger's first entries.
pub fn entries(now: Instant, zone: Zone) -> Vec<(Instant, Value)> {
    let mut diary = Diary::new(now);
    shop::set_up(&mut diary, zone);
    bench::tubs(&mut diary);
    bench::cakes(&mut diary);
    bench::rack(&mut diary);
    bench::wedding(&mut diary);
    bench::custard(&mut diary);
    bench::mascarpone(&mut diary);
    counter::nearest(&mut diary);
    counter::gateaux(&mut diary);
    counter::marble(&mut diary);
    counter::choux_and_tarts(&mut diary);
    counter::cheesecakes(&mut diary);
    counter::away(&mut diary);
    rounds::air(&mut diary);
    loggers::readings(&mut diary);
    rounds::failures(&mut diary);
    rounds::stocktakes(&mut diary);
    rounds::manager(&mut diary, zone);
    diary.finish()
}
