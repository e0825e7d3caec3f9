//! The published grid for after a power cut, in the reader's own unit.

use crate::board::outage::{FROM, SELL, UP_TO, row};
use crate::lang;
use crate::web::show::Show;

/// The table.
pub(super) struct Grid {
    pub caption: String,
    pub columns: [String; 3],
    /// How long without power, whether it is so long by now, and whether it may be sold.
    pub rows: Vec<(&'static str, bool, [bool; 3])>,
}

/// With the row marked that a time without power, in milliseconds, falls in.
pub(super) fn of(show: Show, out_ms: Option<i64>) -> Grid {
    let [first, second] = UP_TO.map(|t| show.up_to(t));
    let titles = [lang::grid_rows_first(), lang::grid_rows_second(), lang::grid_rows_third()];
    let here = out_ms.map(row);
    Grid {
        caption: lang::grid_caption(&show.up_to(FROM)),
        columns: [
            lang::grid_column_first(&first),
            lang::grid_column_second(&first, &second),
            lang::grid_column_third(&second),
        ],
        rows: titles.into_iter().zip(SELL).enumerate().map(|(n, (t, sell))| (t, here == Some(n), sell)).collect(),
    }
}
