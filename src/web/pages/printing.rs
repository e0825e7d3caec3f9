//! Papers as answers: each is set where it keeps nobody else waiting, and only so many at once.

use crate::lang;
use crate::record::paper::Paper;
use crate::web::service::Fault;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use tokio::sync::Semaphore;

/// Set at once, and with those that wait for it.
const AT_WORK: usize = 2;
const IN_ALL: usize = 32;

static PLACES: Semaphore = Semaphore::const_new(IN_ALL);
static HANDS: Semaphore = Semaphore::const_new(AT_WORK);

/// Makes a paper and sets it. `Busy` if too many are waiting, or if it cannot be set.
pub(in crate::web) async fn set(
    make: impl FnOnce() -> Result<Paper, Fault> + Send + 'static,
) -> Result<Vec<u8>, Fault> {
    let place = PLACES.try_acquire().map_err(|_| Fault::Busy)?;
    let hand = HANDS.acquire().await.map_err(|_| Fault::Busy)?;
    // Both are kept until it is done, though whoever asked may have gone.
    let work = move || {
        let _kept = (place, hand);
        make()?.pdf().map_err(|e| {
            tracing::error!(error = %e, "a paper could not be set");
            Fault::Busy
        })
    };
    tokio::task::spawn_blocking(lang::carried(work)).await.map_err(|_| Fault::Busy)?
}

/// The bytes as an answer.
pub(in crate::web) fn answer(bytes: Vec<u8>) -> Response {
    ([(header::CONTENT_TYPE, "application/pdf"), (header::CACHE_CONTROL, "no-store")], bytes).into_response()
}
