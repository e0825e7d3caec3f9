//! Ahead and away: working windows, plans that are kept, what comes within the hour.

mod away;
mod history;
mod notices;
mod orders;
mod own_rules;
mod working;
