//! The record as a PDF: gathered a slice at a time, and only as much as a sheet of paper is good for.

use super::{cover, strip, telling};
use crate::lang;
use crate::record::account::Named;
use crate::record::paper::Size;
use crate::record::print::{Sheets, print};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use crate::web::pages::printing;
use crate::web::records::{Asks, Opened, SLICE};
use crate::web::service::Fault;
use crate::web::show::Show;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use tokio::sync::Semaphore;

/// Items on paper at most: some six hundred sheets. A thousand items take about 250 MB while they are set.
const ITEMS: usize = 1_200;
/// Lines of the cold's table on paper at most.
const COLD: usize = 5_000;

/// One at a time, for that reason.
static HAND: Semaphore = Semaphore::const_new(1);

/// The record as a PDF, as it is asked for.
pub async fn pdf(reads: &Reads, asks: &Asks, size: Option<&str>) -> Result<Response, Problem> {
    let size = size.filter(|text| !text.is_empty()).map_or(Some(Size::A4), Size::parse);
    let Some(size) = size.filter(|size| !matches!(size, Size::Roll { .. })) else {
        return Err(Problem::of("bad-query", lang::procedure_bad_size()));
    };
    let opened = reads.record(asks).await?;
    let _hand = HAND.acquire().await.map_err(|_| Fault::Busy)?;
    let sheets = sheets(&opened, size).await?;
    let bytes = printing::set(move || Ok(print(sheets))).await?;
    let name = "inline; filename=\"record.pdf\"";
    Ok(([(header::CONTENT_DISPOSITION, name)], printing::answer(bytes)).into_response())
}

/// What goes on paper. What is longer is refused, with what makes it shorter.
async fn sheets(opened: &Opened, size: Size) -> Result<Sheets, Problem> {
    if opened.chosen.len() > ITEMS {
        let (most, are) = (ITEMS.to_string(), opened.chosen.len().to_string());
        return Err(Problem::of("bad-query", &lang::record_pdf_items(&are, &most)));
    }
    let show = Show { zone: opened.zone, units: opened.units(), now: opened.now };
    let (mut items, mut cold) = (Vec::new(), Vec::new());
    for some in opened.slices(SLICE) {
        let slice = opened.slice(some).await?;
        let (of, some) = (opened.clone(), some.to_vec());
        let told = move || {
            let hash = |seq| slice.hash(seq);
            let telling = telling(&of, show, &hash);
            let accounts = of.accounts(&slice, &some);
            let one = |a| (telling.told(a), strip(a, show, of.dates).paper(|id| Named::item(&slice.state, id).name));
            accounts.iter().map(one).collect::<Vec<_>>()
        };
        items.extend(
            tokio::task::spawn_blocking(lang::carried(told)).await.map_err(|_| Problem::of("not-recorded", ""))?,
        );
    }
    let none = |_| String::new();
    let telling = telling(opened, show, &none);
    let mut walk = opened.cold();
    while let Some((rows, _)) = walk.next().await? {
        cold.extend(rows.iter().map(|r| telling.cold(r)));
        if cold.len() > COLD {
            return Err(Problem::of("bad-query", &lang::record_pdf_cold(&COLD.to_string())));
        }
    }
    let days = opened.days().iter().map(|d| telling.day(d)).collect();
    let setup = opened.setup_corrected().iter().map(|c| telling.struck(c)).collect();
    let clocks = super::clocks(opened, show);
    Ok(Sheets { cover: cover(opened), show, size, items, cold, days, clocks, setup })
}
