//! What stands at the head of a record: whose it is, of which dates, what was left out, where the ledger ended. Pure.

use crate::clock::Instant;
use crate::lang;
use crate::ledger::chain;
use crate::show::Show;

/// The head of a record.
#[derive(Clone, Debug)]
pub struct Cover {
    /// The shop.
    pub shop: String,
    /// The first date and the last, like `2026-05-02`.
    pub dates: (String, String),
    /// What it is only about, each in words: "product Layer cake".
    pub only: Vec<String>,
    /// How many items are in it.
    pub items: usize,
    /// The last entry's number and hash.
    pub head: (u64, String),
    /// When it was made.
    pub made_at: Instant,
}

impl Cover {
    /// Its title.
    pub fn title(&self) -> String {
        match &self.dates {
            (from, to) if from == to => lang::record_of_day(from),
            (from, to) => lang::record_of(from, to),
        }
    }

    /// Where the ledger ended: stands at the foot of every sheet, so that it is known outside the shop.
    pub fn ledger(&self) -> String {
        lang::record_ledger(chain::digits(&self.head.1), &self.head.0.to_string())
    }

    /// What is said under the title.
    pub fn lines(&self, show: Show) -> Vec<String> {
        let mut lines = vec![lang::record_shop(&self.shop, show.zone.name())];
        if !self.only.is_empty() {
            lines.push(lang::record_only(&self.only.join("; ")));
        }
        lines.push(lang::record_made(chain::digits(&self.head.1), &self.head.0.to_string(), &show.stamp(self.made_at)));
        lines.push(lang::record_items(self.items as i64));
        lines.push(lang::footer_guidance().to_owned());
        lines
    }
}
