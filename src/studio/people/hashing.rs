//! Passphrases as argon2id hashes. Hashing costs memory and time on purpose, so it is done on threads of its own, few at once:
//! whoever tries to log in a thousand times waits, the studio does not.

use std::time::Duration;

use argon2::password_hash::phc::PasswordHash;
use argon2::{Argon2, PasswordHasher, PasswordVerifier};
use thiserror::Error;
use tokio::sync::{Semaphore, SemaphorePermit};

/// So many at once: 19 MiB each.
static AT_ONCE: Semaphore = Semaphore::const_new(2);
/// Whoever waits longer than this for a turn is sent away.
const PATIENCE: Duration = Duration::from_secs(5);
/// A hash that no passphrase has, with the parameters of all others: an unknown name takes as long as a known one.
const NOBODYS: &str =
    "$argon2id$v=19$m=19456,t=2,p=1$bm9ib2R5cyBzYWx0IGhlcmU$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";

/// Why there is no answer.
#[derive(Debug, Error)]
pub enum HashError {
    /// Too many ask at once.
    #[error("Too many people log in at this moment. Try again in some seconds.")]
    Busy,
    /// The system gave no memory or no chance.
    #[error("the passphrase could not be hashed: {0}")]
    Failed(String),
}

/// The string that the book keeps of a passphrase: argon2id (RFC 9106) with 19 MiB, two passes, one lane, a salt of 16 bytes of
/// chance. Source of the parameters: OWASP, Password Storage Cheat Sheet, "Argon2id" (m=19456, t=2, p=1); they are what
/// the library takes by itself, and a test holds it to them.
pub async fn hash(passphrase: String) -> Result<String, HashError> {
    let hash = on_its_own_thread(move || Argon2::default().hash_password(passphrase.as_bytes())).await?;
    Ok(hash.map_err(failed)?.to_string())
}

/// Whether a passphrase is the one whose hash is kept. Without a hash the answer is no, after as long a time.
pub async fn fits(passphrase: String, kept: Option<String>) -> Result<bool, HashError> {
    let known = kept.is_some();
    let kept = kept.unwrap_or_else(|| NOBODYS.to_owned());
    let fits = on_its_own_thread(move || {
        let kept = PasswordHash::new(&kept).map_err(failed)?;
        Ok(Argon2::default().verify_password(passphrase.as_bytes(), &kept).is_ok())
    });
    Ok(fits.await?? && known)
}

async fn on_its_own_thread<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, HashError> {
    let turn: SemaphorePermit<'static> = tokio::time::timeout(PATIENCE, AT_ONCE.acquire())
        .await
        .map_err(|_| HashError::Busy)?
        .map_err(failed)?;
    tokio::task::spawn_blocking(move || {
        let done = work();
        drop(turn);
        done
    })
    .await
    .map_err(failed)
}

fn failed(error: impl std::fmt::Display) -> HashError {
    HashError::Failed(error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_passphrase_fits_its_own_hash_only() {
        let kept = hash("wet moss and twine".into()).await.unwrap();
        assert!(kept.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "OWASP's parameters: {kept}");
        assert_ne!(kept, hash("wet moss and twine".into()).await.unwrap(), "each has a salt of its own");
        assert!(fits("wet moss and twine".into(), Some(kept.clone())).await.unwrap());
        assert!(!fits("wet moss and twins".into(), Some(kept)).await.unwrap());
        assert!(!fits(String::new(), None).await.unwrap());
    }

    #[test]
    fn nobodys_hash_is_worked_as_hard_as_any() {
        let nobodys = PasswordHash::new(NOBODYS).unwrap();
        assert_eq!(nobodys.params.to_string(), "m=19456,t=2,p=1");
        assert_eq!(nobodys.hash.unwrap().len(), 32);
    }
}
