//! What was tapped without signal and refused by the ledger when it came: the device's side of the story.

use crate::clock::Instant;
use crate::ledger::Id;

/// One tap that wasn't taken.
#[derive(Clone, PartialEq, Debug)]
pub struct Untaken {
    /// Made once: the page's key, what its form does and to which item.
    pub tap: String,
    /// Who tapped.
    pub person: Id,
    /// The enrolled device that it came from.
    pub device: Option<Id>,
    /// The item that the form was about; it need not exist.
    pub item: Id,
    /// What the form does: `move`, `coat` …
    pub form: String,
    /// When, by the server's clock.
    pub happened_at: Instant,
    /// What the device's own clock read then.
    pub device_at: Instant,
    /// When it came.
    pub received_at: Instant,
    /// The form's fields as they were sent, JSON.
    pub fields: String,
    /// The entries that it would have written, JSON.
    pub entries: String,
    /// Why it was refused.
    pub code: String,
    /// The same in a sentence, in the language of whoever sent it.
    pub detail: String,
}
