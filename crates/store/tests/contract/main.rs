//! What every store promises, held on SQLite and on PostgreSQL alike.
//!
//! PostgreSQL is tested where `FAULTWRIGHT_TEST_POSTGRES` names a server (`tools/postgres-for-tests.sh`), in databases
//! that the tests make and drop.

#![allow(clippy::unwrap_used, clippy::panic)]

mod broken_commit;
mod changes;
mod jobs;
mod others;
mod postgresql;
mod searching;
mod server;
mod sqlite;
mod together;

use jiff::Timestamp;
use store::{Change, NewJob, Store};

/// Every promise that one store can show.
fn every_promise(store: &dyn Store) {
    jobs::are_kept_letter_for_letter(store);
    jobs::unknown_ones_are_told(store);
    jobs::nul_is_refused(store);
    changes::follow_each_other(store);
    changes::never_overwrite_another(store);
    changes::of_many_threads_are_all_kept(store);
    changes::one_thread_wins_each_revision(store);
    changes::heads_are_told_for_many(store);
    searching::finds_every_word(store);
    searching::takes_wildcards_literally(store);
    searching::knows_small_letters_of_all_scripts(store);
    searching::keeps_to_days_order_and_limit(store);
    searching::hides_removed_jobs(store);
    searching::finds_findings(store);
    searching::refuses_what_it_cannot_do(store);
    others::photos_come_back(store);
    others::settings_are_kept(store);
    others::sessions_expire(store);
}

/// A time in the middle of 28 March 2025, `seconds` later.
fn at(seconds: i64) -> Timestamp {
    Timestamp::from_second(1_743_163_200 + seconds).unwrap()
}

fn new_job(title: &str, parts: &str, text: &str) -> NewJob {
    NewJob {
        title: title.to_owned(),
        parts: parts.to_owned(),
        text: text.to_owned(),
        who: "Ada".to_owned(),
        what: "job begun".to_owned(),
        at: at(0),
    }
}

fn change(title: &str, text: &str, seconds: i64) -> Change {
    Change {
        title: title.to_owned(),
        parts: String::new(),
        text: text.to_owned(),
        who: "Bo".to_owned(),
        what: "reading added".to_owned(),
        at: at(seconds),
    }
}

/// xorshift64* (Vigna, "An experimental exploration of Marsaglia's xorshift generators, scrambled", 2016): the same
/// numbers in every run.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) as usize % end
    }
}
