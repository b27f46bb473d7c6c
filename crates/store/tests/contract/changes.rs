//! Revisions follow each other; none is lost.

use std::sync::Barrier;
use std::thread;

use store::{JobId, Store, StoreError};

use crate::{at, change, new_job};

pub fn follow_each_other(store: &dyn Store) {
    let job = store.create(&new_job("Fan", "", "first")).unwrap();
    assert_eq!(store.append(&job, 1, &change("Fan hums", "second", 60)).unwrap(), 2);
    assert_eq!(store.append(&job, 2, &change("Fan hums", "third", 120)).unwrap(), 3);
    assert_eq!(store.head(&job).unwrap().text, "third");
    for (number, text) in [(1, "first"), (2, "second"), (3, "third")] {
        assert_eq!(store.revision(&job, number).unwrap().text, text);
    }
    let history = store.history(&job).unwrap();
    assert_eq!(history.iter().map(|entry| entry.number).collect::<Vec<_>>(), [3, 2, 1]);
    assert_eq!((history[2].title.as_str(), history[2].who.as_str(), history[2].at), ("Fan", "Ada", at(0)));
    assert_eq!(
        (history[0].title.as_str(), history[0].what.as_str(), history[0].at),
        ("Fan hums", "reading added", at(120))
    );
}

pub fn never_overwrite_another(store: &dyn Store) {
    let job = store.create(&new_job("Fan", "", "first")).unwrap();
    store.append(&job, 1, &change("Fan", "second", 1)).unwrap();
    for base in [i64::MIN, -1, 0, 1, 3, i64::MAX] {
        let error = store.append(&job, base, &change("other title", "lost?", 2)).unwrap_err();
        assert!(matches!(error, StoreError::Conflict { head: 2 }), "{error}");
    }
    let head = store.head(&job).unwrap();
    assert_eq!((head.number, head.text.as_str(), head.title.as_str()), (2, "second", "Fan"));
    assert_eq!(store.history(&job).unwrap().len(), 2);
}

const THREADS: usize = 4;

pub fn of_many_threads_are_all_kept(store: &dyn Store) {
    compete(&[store; THREADS], 25);
}

/// Threads, each on its store, append until each has had its way `rounds` times; then everything must be there.
pub fn compete(stores: &[&dyn Store], rounds: usize) {
    let job = &stores[0].create(&new_job("Fan", "", "first")).unwrap();
    let competitor = |thread: usize, store: &dyn Store| {
        let mut won = Vec::new();
        while won.len() < rounds {
            let base = store.head(job).unwrap().number;
            let text = format!("thread {thread}, change {}", won.len());
            match store.append(job, base, &change("Fan", &text, 0)) {
                Ok(number) => won.push((number, text)),
                Err(StoreError::Conflict { head }) => assert!(head > base),
                Err(error) => panic!("{error}"),
            }
        }
        won
    };
    let mut won: Vec<(i64, String)> = thread::scope(|scope| {
        let threads: Vec<_> =
            stores.iter().enumerate().map(|(thread, store)| scope.spawn(move || competitor(thread, *store))).collect();
        threads.into_iter().flat_map(|thread| thread.join().unwrap()).collect()
    });
    won.sort();
    let numbers: Vec<i64> = won.iter().map(|(number, _)| *number).collect();
    assert_eq!(numbers, (2..=(stores.len() * rounds) as i64 + 1).collect::<Vec<_>>());
    for (number, text) in won {
        assert_eq!(stores[0].revision(job, number).unwrap().text, text);
    }
}

pub fn one_thread_wins_each_revision(store: &dyn Store) {
    win_once(&[store; THREADS]);
}

/// Threads, each on its store, append to the same revision at the same moment: one of them does.
pub fn win_once(stores: &[&dyn Store]) {
    const ROUNDS: i64 = 25;
    let job = &stores[0].create(&new_job("Fan", "", "first")).unwrap();
    let barrier = &Barrier::new(stores.len());
    let results: Vec<Vec<bool>> = thread::scope(|scope| {
        let competitor = |store: &dyn Store| {
            (1..=ROUNDS)
                .map(|base| {
                    barrier.wait();
                    match store.append(job, base, &change("Fan", "text", base)) {
                        Ok(number) => number == base + 1,
                        Err(StoreError::Conflict { head }) if head == base + 1 => false,
                        other => panic!("{other:?}"),
                    }
                })
                .collect()
        };
        let threads: Vec<_> = stores.iter().map(|store| scope.spawn(move || competitor(*store))).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    for round in 0..ROUNDS as usize {
        assert_eq!(results.iter().filter(|won| won[round]).count(), 1, "round {round}");
    }
    assert_eq!(stores[0].history(job).unwrap().len() as i64, ROUNDS + 1);
}

pub fn heads_are_told_for_many(store: &dyn Store) {
    let mut jobs: Vec<JobId> = (0..3).map(|_| store.create(&new_job("Fan", "", "text")).unwrap()).collect();
    store.append(&jobs[1], 1, &change("Fan", "text", 1)).unwrap();
    jobs.push(JobId::parse("00000000-0000-4000-8000-000000000000").unwrap());
    let mut heads = store.heads(&jobs).unwrap();
    heads.sort();
    let mut expected = vec![(jobs[0].clone(), 1), (jobs[1].clone(), 2), (jobs[2].clone(), 1)];
    expected.sort();
    assert_eq!(heads, expected);
    assert!(store.heads(&[]).unwrap().is_empty());
    // More than one statement takes.
    let many = vec![jobs[0].clone(); 1201];
    assert!(store.heads(&many).unwrap().iter().all(|head| *head == (jobs[0].clone(), 1)));
}
