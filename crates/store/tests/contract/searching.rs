//! Jobs are found again.

use store::{JobId, MOST_WORDS, Store, StoreError};

use crate::{at, change, new_job};

/// Titles found, so that a test reads easily; other tests' jobs have other titles.
fn found(store: &dyn Store, words: &str) -> Vec<String> {
    store.search(words, None, None, 1000).unwrap().into_iter().map(|job| job.title).collect()
}

fn is_found(store: &dyn Store, words: &str, job: &JobId) -> bool {
    store.search(words, None, None, 1000).unwrap().iter().any(|found| found.job == *job)
}

pub fn finds_every_word(store: &dyn Store) {
    store.create(&new_job("Zephyr air curtain runs weak", "Zephyr-M1 motor 230V", "")).unwrap();
    store.create(&new_job("Zephyr heater quits", "thermal cutout 90C", "")).unwrap();
    assert_eq!(found(store, "zephyr curtain"), ["Zephyr air curtain runs weak"]);
    assert_eq!(found(store, "ZEPHYR\tMoToR"), ["Zephyr air curtain runs weak"]);
    assert_eq!(found(store, "zephyr cut"), ["Zephyr heater quits"]);
    assert_eq!(found(store, "eph 90c"), ["Zephyr heater quits"]);
    assert_eq!(found(store, "zephyr").len(), 2);
    assert!(found(store, "zephyr kettle").is_empty());
    // A word does not reach from the title into the parts.
    assert!(found(store, "weakzephyr").is_empty());
    // The text of a job is not searched, and what a change took out is no longer found.
    let job = store.create(&new_job("Sirocco", "oldmotor", "sirocco-in-text")).unwrap();
    assert!(found(store, "sirocco-in-text").is_empty());
    assert!(is_found(store, "oldmotor", &job));
    store.append(&job, 1, &change("Sirocco turns", "", 1)).unwrap();
    assert!(!is_found(store, "oldmotor", &job));
    assert_eq!(found(store, "sirocco"), ["Sirocco turns"]);
}

pub fn takes_wildcards_literally(store: &dyn Store) {
    for title in [
        r"Wild 50% load",
        "Wild 500 load",
        "Wild a_b",
        "Wild axb",
        r"Wild c\d",
        "Wild 'q' \"r\"",
        "Wild ?1 $2 [a-z]* ^!",
    ] {
        store.create(&new_job(title, "", "")).unwrap();
    }
    assert_eq!(found(store, "wild 50%"), ["Wild 50% load"]);
    assert_eq!(found(store, "wild %"), ["Wild 50% load"]);
    assert_eq!(found(store, "a_b"), ["Wild a_b"]);
    assert_eq!(found(store, r"wild \"), [r"Wild c\d"]);
    assert_eq!(found(store, "wild 'q'"), ["Wild 'q' \"r\""]);
    assert_eq!(found(store, "wild ' \""), ["Wild 'q' \"r\""]);
    for word in ["?1", "$2", "[a-z]*", "^!", "*"] {
        assert_eq!(found(store, &format!("wild {word}")), ["Wild ?1 $2 [a-z]* ^!"], "{word}");
    }
}

pub fn knows_small_letters_of_all_scripts(store: &dyn Store) {
    let job = store.create(&new_job("LÜFTER Ærø МОТОР ΚΙΝΗΤΉΡΑΣ 风扇 ẞ", "", "")).unwrap();
    for words in ["lüfter", "Lüfter", "ÆRØ", "мотор", "Мотор", "κινητήρας", "ΚΙΝΗΤΉΡΑΣ", "扇", "ß"]
    {
        assert!(is_found(store, words, &job), "{words}");
    }
    // What does not hold: accents count, and one letter never stands for two.
    for words in ["lufter", "aero", "ss"] {
        assert!(!is_found(store, words, &job), "{words}");
    }
}

pub fn keeps_to_days_order_and_limit(store: &dyn Store) {
    const DAY: i64 = 86_400;
    let jobs: Vec<JobId> = (0..3)
        .map(|number| {
            let mut new = new_job(&format!("Calendar {number}"), "", "");
            new.at = at(number * 10 * DAY);
            store.create(&new).unwrap()
        })
        .collect();
    // Last changed on 2025-03-28, 2025-04-07, 2025-04-17; two days of margin serve every time zone.
    let between = |from: Option<&str>, to: Option<&str>, limit: i64| -> Vec<String> {
        store.search("calendar", from, to, limit).unwrap().into_iter().map(|job| job.title).collect()
    };
    assert_eq!(between(None, None, 9), ["Calendar 2", "Calendar 1", "Calendar 0"]);
    assert_eq!(between(Some("2025-04-05"), None, 9), ["Calendar 2", "Calendar 1"]);
    assert_eq!(between(None, Some("2025-04-09"), 9), ["Calendar 1", "Calendar 0"]);
    assert_eq!(between(Some("2025-04-05"), Some("2025-04-09"), 9), ["Calendar 1"]);
    assert!(between(Some("2025-04-09"), Some("2025-04-05"), 9).is_empty());
    assert_eq!(between(Some("0000-01-01"), Some("9999-12-31"), 9).len(), 3);
    assert_eq!(between(None, None, 2), ["Calendar 2", "Calendar 1"]);
    assert!(between(None, None, 0).is_empty());
    assert!(between(None, None, -1).is_empty());
    assert_eq!(between(None, None, i64::MAX).len(), 3);
    // The last change counts.
    store.append(&jobs[0], 1, &change("Calendar 0", "", 30 * DAY)).unwrap();
    assert_eq!(between(None, None, 1), ["Calendar 0"]);
    let summary = store.search("calendar", None, None, 1).unwrap().remove(0);
    assert_eq!((summary.head, summary.created, summary.changed), (2, at(0), at(30 * DAY)));
    assert_eq!((summary.job, summary.who.as_str()), (jobs[0].clone(), "Bo"));
    // No words: all jobs.
    assert!(store.search(" ", None, None, 1000).unwrap().len() >= 3);
}

pub fn hides_removed_jobs(store: &dyn Store) {
    let job = store.create(&new_job("Removable", "", "kept")).unwrap();
    store.remove(&job).unwrap();
    store.remove(&job).unwrap();
    assert!(found(store, "removable").is_empty());
    assert!(store.removed(1000).unwrap().iter().any(|removed| removed.job == job));
    assert_eq!(store.head(&job).unwrap().text, "kept");
    assert_eq!(store.append(&job, 1, &change("Removable", "still", 1)).unwrap(), 2);
    assert!(found(store, "removable").is_empty());
    store.unremove(&job).unwrap();
    assert_eq!(found(store, "removable"), ["Removable"]);
    assert!(store.removed(1000).unwrap().iter().all(|removed| removed.job != job));
}

pub fn finds_findings(store: &dyn Store) {
    let job = store.create(&new_job("Mistral", "", "")).unwrap();
    store.append(&job, 1, &change("Mistral", "", 1)).unwrap();
    store.append(&job, 2, &change("Mistral", "", 2)).unwrap();
    store.set_findings(&job, 2, "M1: Section OPEN").unwrap();
    assert!(is_found(store, "mistral open", &job));
    // Too late: those of a later revision are noted.
    store.set_findings(&job, 1, "capacitor low").unwrap();
    assert!(!is_found(store, "capacitor", &job));
    assert_eq!(store.search("mistral", None, None, 1).unwrap()[0].findings, "M1: Section OPEN");
    // The same revision again, and a later one, replace them.
    store.set_findings(&job, 2, "cutout").unwrap();
    assert!(is_found(store, "mistral cutout", &job) && !is_found(store, "mistral open", &job));
    store.set_findings(&job, 3, "cord").unwrap();
    assert!(is_found(store, "mistral cord", &job) && !is_found(store, "mistral cutout", &job));
    // They are a remark on a revision, not a change.
    assert_eq!(store.search("mistral", None, None, 1).unwrap()[0].changed, at(2));
}

pub fn refuses_what_it_cannot_do(store: &dyn Store) {
    let many: String = (0..=MOST_WORDS).map(|word| format!("w{word} ")).collect();
    assert!(matches!(store.search(&many, None, None, 1), Err(StoreError::TooManyWords)));
    let most: String = (0..MOST_WORDS).map(|word| format!("w{word} ")).collect();
    assert!(store.search(&most, None, None, 1).unwrap().is_empty());
    assert!(store.search(&"long".repeat(250_000), None, None, 1).unwrap().is_empty());
    for day in ["today", "2025-02-30", "28/03/2025", ""] {
        assert!(matches!(store.search("", Some(day), None, 1), Err(StoreError::NotADate(_))), "{day}");
        assert!(matches!(store.search("", None, Some(day), 1), Err(StoreError::NotADate(_))), "{day}");
    }
}
