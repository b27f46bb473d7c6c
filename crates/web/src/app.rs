//! Everything a request needs.

use crate::assessment::Assessment;
use crate::desk::Desk;
use crate::experience::InUse;
use crate::guard::login::Login;
use crate::guard::passphrase::{self, PassphraseError};
use crate::guard::precautions::Precautions;
use crate::guard::rate::Rate;
use crate::layouts::Layouts;
use crate::live::Live;
use crate::plan_view::PlanView;
use crate::trouble::Trouble;
use crate::weighing::LongWork;
use sha2::{Digest, Sha256};
use std::ops::Deref;
use std::sync::Arc;
use store::{Store, StoreError};
use tokio::sync::Semaphore;

/// From where the bench may be reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// This machine only; no pass-phrase.
    Loopback,
    /// Everyone on the network who knows the pass-phrase.
    Network,
}

/// The bench; clones are the same one.
#[derive(Clone)]
pub struct App(Arc<Inner>);

/// What all requests share.
pub struct Inner {
    pub(crate) store: Arc<dyn Store>,
    pub(crate) reach: Reach,
    pub(crate) names: Vec<String>,
    pub(crate) live: Live,
    pub(crate) desk: Desk,
    pub(crate) layouts: Layouts,
    pub(crate) weighing: LongWork<Assessment>,
    pub(crate) planning: LongWork<PlanView>,
    /// What the shop has learnt, if rankings use it.
    pub(crate) experience: InUse,
    /// One long work at a time: each uses all processors by itself.
    pub(crate) turn: Semaphore,
    pub(crate) precautions: Precautions,
    pub(crate) login: Login,
    pub(crate) rate: Rate,
    form_key: String,
}

impl Deref for App {
    type Target = Inner;

    fn deref(&self) -> &Inner {
        &self.0
    }
}

const FORM_KEY: &str = "form-key";

impl App {
    /// A bench on a store; `names` are host names it goes by besides those that are always its own. Blocks.
    ///
    /// # Errors
    /// If the store cannot be used.
    pub fn new(store: Box<dyn Store>, reach: Reach, names: Vec<String>) -> Result<Self, StoreError> {
        let store: Arc<dyn Store> = store.into();
        // Kept, so that a form that was open when the program stopped still counts after it starts again.
        store.set_setting_once(FORM_KEY, &random_token())?;
        let form_key = store.setting(FORM_KEY)?.unwrap_or_else(random_token);
        let experience = InUse::kept(&*store)?;
        Ok(App(Arc::new(Inner {
            store,
            reach,
            names,
            live: Live::default(),
            desk: Desk::default(),
            layouts: Layouts::default(),
            weighing: LongWork::default(),
            planning: LongWork::default(),
            experience,
            turn: Semaphore::new(1),
            precautions: Precautions::default(),
            login: Login::default(),
            rate: Rate::default(),
            form_key,
        })))
    }

    /// Whether a pass-phrase has been set. Blocks.
    ///
    /// # Errors
    /// If the store cannot be read.
    pub fn has_passphrase(&self) -> Result<bool, StoreError> {
        Ok(self.store.setting(passphrase::SETTING)?.is_some())
    }

    /// Sets the pass-phrase, over the old one. Blocks.
    ///
    /// # Errors
    /// If it is too short, or the store cannot be written.
    pub fn set_passphrase(&self, words: &str) -> Result<(), PassphraseError> {
        let hash = passphrase::hash(words)?;
        self.store.set_setting(passphrase::SETTING, &hash)?;
        Ok(())
    }

    /// Asks the store, on a thread that may wait.
    pub(crate) async fn ask<R: Send + 'static>(
        &self,
        question: impl FnOnce(&dyn Store) -> Result<R, StoreError> + Send + 'static,
    ) -> Result<R, Trouble> {
        let store = self.store.clone();
        let answer = tokio::task::spawn_blocking(move || question(&*store)).await;
        Ok(answer.map_err(|_| Trouble::internal())??)
    }

    /// The token that forms of a session carry: only pages of this bench know it.
    pub(crate) fn form_token(&self, session: &str) -> String {
        hex(&Sha256::digest(format!("{}:{session}", self.form_key)))
    }
}

/// 32 random bytes in hexadecimal.
pub(crate) fn random_token() -> String {
    hex(&rand::random::<[u8; 32]>())
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
