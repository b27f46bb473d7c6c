//! The promises on SQLite.

use store::{Place, open};

use crate::{change, every_promise, new_job, together};

#[test]
fn a_file_keeps_every_promise() {
    let folder = tempfile::tempdir().unwrap();
    every_promise(&*open(&Place::File(folder.path().join("bench.sqlite"))).unwrap());
}

#[test]
fn memory_keeps_every_promise() {
    every_promise(&*open(&Place::Memory).unwrap());
}

#[test]
fn several_programs_share_a_file() {
    for _ in 0..10 {
        let folder = tempfile::tempdir().unwrap();
        together::open_at_once_and_compete(&Place::File(folder.path().join("bench.sqlite")));
    }
    let folder = tempfile::tempdir().unwrap();
    together::another_bench_is_noticed(&Place::File(folder.path().join("bench.sqlite")));
}

#[test]
fn what_was_kept_is_there_when_opened_again() {
    let folder = tempfile::tempdir().unwrap();
    let place = Place::File(folder.path().join("bench.sqlite"));
    let store = open(&place).unwrap();
    let job = store.create(&new_job("Fan", "motor", "first")).unwrap();
    store.append(&job, 1, &change("Fan hums", "second", 1)).unwrap();
    store.set_setting("language", "en").unwrap();
    drop(store);
    let store = open(&place).unwrap();
    assert_eq!(store.revision(&job, 1).unwrap().text, "first");
    assert_eq!(store.head(&job).unwrap().text, "second");
    assert_eq!(store.search("hums", None, None, 10).unwrap().len(), 1);
    assert_eq!(store.setting("language").unwrap().as_deref(), Some("en"));
    drop(store);
    // Closed, the file is all there is to copy.
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}
