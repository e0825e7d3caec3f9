//! argon2id, off the request's threads and only so many at once: each takes 19 MiB and some tens of milliseconds.

use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use std::sync::LazyLock;
use tokio::sync::Semaphore;

/// At work at once, and with those that wait for it.
const AT_WORK: usize = 2;
const IN_ALL: usize = 64;

static PLACES: Semaphore = Semaphore::const_new(IN_ALL);
static HANDS: Semaphore = Semaphore::const_new(AT_WORK);

/// Compared with where there is no such person, so that it takes as long.
static NOBODY: LazyLock<String> = LazyLock::new(|| made("nobody has this").unwrap_or_default());

/// Too many are waiting, or the machine has no randomness.
#[derive(Debug)]
pub struct NotNow;

fn made(secret: &str) -> Option<String> {
    Some(Argon2::default().hash_password(secret.as_bytes()).ok()?.to_string())
}

fn fits(secret: &str, hash: &str) -> bool {
    let argon2 = Argon2::default();
    PasswordHash::new(hash).is_ok_and(|hash| argon2.verify_password(secret.as_bytes(), &hash).is_ok())
}

async fn apart<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, NotNow> {
    let place = PLACES.try_acquire().map_err(|_| NotNow)?;
    let hand = HANDS.acquire().await.map_err(|_| NotNow)?;
    // Both are kept until it is done, though whoever asked may have gone.
    let work = move || {
        let _kept = (place, hand);
        work()
    };
    tokio::task::spawn_blocking(work).await.map_err(|_| NotNow)
}

/// The hash of a PIN or password, as it is kept.
pub async fn hash(secret: &str) -> Result<String, NotNow> {
    let secret = secret.to_owned();
    apart(move || made(&secret)).await?.ok_or(NotNow)
}

/// Whether it is the secret of that hash; never, and just as slowly, where there is none.
pub async fn is(secret: &str, hash: Option<String>) -> Result<bool, NotNow> {
    let secret = secret.to_owned();
    apart(move || match hash {
        Some(hash) => fits(&secret, &hash),
        None => {
            fits(&secret, &NOBODY);
            false
        }
    })
    .await
}
