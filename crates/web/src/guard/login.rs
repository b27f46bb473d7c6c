//! Sessions that have given the pass-phrase. The store holds hashes of their tokens, so that a copy of it opens nothing.

use crate::app::{App, hex, random_token};
use crate::guard::passphrase;
use crate::trouble::Trouble;
use jiff::Timestamp;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

/// A session ends after this long, seconds: a working day.
const LASTS_SECONDS: i64 = 12 * 3600;

/// Sessions already looked up: token hash and when it expires.
#[derive(Default)]
pub struct Login {
    known: Mutex<HashMap<String, i64>>,
}

fn hash_of(token: &str) -> String {
    hex(&Sha256::digest(token))
}

impl Login {
    /// Whether a session has given the pass-phrase and not expired.
    pub async fn is_in(&self, app: &App, token: &str) -> Result<bool, Trouble> {
        let (hash, now) = (hash_of(token), Timestamp::now().as_second());
        let known = self.known.lock().unwrap_or_else(PoisonError::into_inner).get(&hash).copied();
        if let Some(expires) = known {
            return Ok(expires > now);
        }
        let asked = hash.clone();
        let Some(expires) = app.ask(move |store| store.session_expires(&asked)).await? else { return Ok(false) };
        self.known.lock().unwrap_or_else(PoisonError::into_inner).insert(hash, expires);
        Ok(expires > now)
    }

    /// Opens a new session if the words are right; a token from before the login never becomes one.
    pub async fn open(&self, app: &App, words: &str) -> Result<Option<String>, Trouble> {
        let Some(kept) = app.ask(|store| store.setting(passphrase::SETTING)).await? else { return Ok(None) };
        let words = words.to_owned();
        let fits = tokio::task::spawn_blocking(move || passphrase::fits(&words, &kept)).await;
        if !fits.unwrap_or(false) {
            return Ok(None);
        }
        let (token, now) = (random_token(), Timestamp::now().as_second());
        let (hash, expires) = (hash_of(&token), now + LASTS_SECONDS);
        app.ask(move |store| {
            store.purge_sessions(now)?;
            store.add_session(&hash, expires)
        })
        .await?;
        Ok(Some(token))
    }

    /// Ends a session.
    pub async fn close(&self, app: &App, token: &str) -> Result<(), Trouble> {
        let hash = hash_of(token);
        self.known.lock().unwrap_or_else(PoisonError::into_inner).remove(&hash);
        app.ask(move |store| store.remove_session(&hash)).await
    }
}
