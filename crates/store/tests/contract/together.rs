//! Several stores on one database: several programs at once.

use std::thread;

use store::{Place, Store, StoreError, open};

use crate::{change, changes, new_job};

const STORES: usize = 4;

/// Stores that are opened at the same moment, so that each may find the tables half made, and compete then.
pub fn open_at_once_and_compete(place: &Place) {
    let stores: Vec<Box<dyn Store>> = thread::scope(|scope| {
        let threads: Vec<_> = (0..STORES).map(|_| scope.spawn(|| open(place).unwrap())).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    let stores: Vec<&dyn Store> = stores.iter().map(|store| &**store).collect();
    changes::compete(&stores, 15);
    changes::win_once(&stores);
    let firsts = thread::scope(|scope| {
        let threads: Vec<_> =
            stores.iter().map(|store| scope.spawn(|| store.set_setting_once("once", "x").unwrap())).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).filter(|first| *first).count()
    });
    assert_eq!(firsts, 1);
}

/// What one bench does, another one notices.
pub fn another_bench_is_noticed(place: &Place) {
    let (here, there) = (open(place).unwrap(), open(place).unwrap());
    let job = here.create(&new_job("Fan", "", "first")).unwrap();
    assert_eq!(there.heads(std::slice::from_ref(&job)).unwrap(), [(job.clone(), 1)]);
    there.append(&job, 1, &change("Fan", "second", 1)).unwrap();
    assert_eq!(here.heads(std::slice::from_ref(&job)).unwrap(), [(job.clone(), 2)]);
    assert!(matches!(here.append(&job, 1, &change("Fan", "other", 1)), Err(StoreError::Conflict { head: 2 })));
    assert_eq!(here.head(&job).unwrap().text, "second");
}
