//! The pass-phrase of a bench on a network: only its Argon2id hash is kept.

use argon2::Argon2;
use argon2::password_hash::rand_core::OsRng;
use argon2::password_hash::{PasswordHash, PasswordHasher, PasswordVerifier, SaltString};
use store::StoreError;

/// Name of the setting that holds the hash.
pub const SETTING: &str = "pass-phrase";
/// Shorter pass-phrases are refused (NIST SP 800-63B-4, section 3.1.1.2: 15 characters where nothing else is asked for).
pub const SHORTEST_PASSPHRASE: usize = 15;
const LONGEST: usize = 200;

/// Why a pass-phrase was not taken.
#[derive(Debug, thiserror::Error)]
pub enum PassphraseError {
    /// Fewer characters than [`SHORTEST_PASSPHRASE`], or far too many.
    #[error("the pass-phrase must have {SHORTEST_PASSPHRASE} to {LONGEST} characters; four or five words will do")]
    Length,
    /// It could not be hashed.
    #[error("the pass-phrase could not be hashed: {0}")]
    Hash(argon2::password_hash::Error),
    /// The store did not take it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Hashes a pass-phrase with a fresh salt; slow on purpose.
pub fn hash(words: &str) -> Result<String, PassphraseError> {
    if !(SHORTEST_PASSPHRASE..=LONGEST).contains(&words.chars().count()) {
        return Err(PassphraseError::Length);
    }
    let salt = SaltString::generate(&mut OsRng);
    let hash = Argon2::default().hash_password(words.as_bytes(), &salt).map_err(PassphraseError::Hash)?;
    Ok(hash.to_string())
}

/// Whether a pass-phrase is the one that was hashed; slow on purpose.
pub fn fits(words: &str, hash: &str) -> bool {
    let Ok(hash) = PasswordHash::new(hash) else { return false };
    words.chars().count() <= LONGEST && Argon2::default().verify_password(words.as_bytes(), &hash).is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_right_words_fit() {
        let kept = hash("copper brush window tide").unwrap();
        assert!(kept.starts_with("$argon2id$"));
        assert!(!kept.contains("copper"));
        assert!(fits("copper brush window tide", &kept));
        assert!(!fits("copper brush window tides", &kept));
        assert!(!fits("", &kept));
        assert!(!fits("copper brush window tide", "nonsense"));
        assert!(matches!(hash("short"), Err(PassphraseError::Length)));
    }
}
