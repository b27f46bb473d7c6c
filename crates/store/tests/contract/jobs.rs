//! Jobs go in and come out.

use store::{JobId, Store, StoreError};

use crate::{Numbers, at, change, new_job};

pub fn are_kept_letter_for_letter(store: &dyn Store) {
    let mut numbers = Numbers(1);
    let every_plane: String = (0..20_000)
        .filter_map(|_| char::from_u32(numbers.below(0x11_0000) as u32))
        .filter(|&letter| letter != '\0')
        .collect();
    let four_megabytes = "[[reading]]\r\nvolts = 181.9\t# Lüfter 🌀\r\n".repeat(100_000);
    assert!(four_megabytes.len() > 4_000_000);
    let texts = [
        "",
        " ",
        "\r\n\n\r",
        "'; DROP TABLE jobs; --",
        "?1 $1 %s \\ \" ' `",
        "no end of line",
        "e\u{301} is not é",
        "\u{1}\u{7f}\u{feff}\u{202e}\u{fffe}",
        &every_plane,
        &four_megabytes,
    ];
    for text in texts {
        let title: String = text.chars().take(200).collect();
        let mut new = new_job(&title, "", text);
        new.who = title.clone();
        new.what = title.clone();
        new.at = at(0) + jiff::SignedDuration::from_micros(123_456);
        let job = store.create(&new).unwrap();
        let head = store.head(&job).unwrap();
        assert!(head.text == text, "a text of {} bytes came back otherwise", text.len());
        assert_eq!((head.number, &head.job), (1, &job));
        assert_eq!([&head.title, &head.who, &head.what], [&title; 3]);
        assert_eq!(head.at, new.at);
        assert_eq!(store.revision(&job, 1).unwrap(), head);
        assert_eq!(store.append(&job, 1, &change(&title, text, 1)).unwrap(), 2);
        assert!(store.head(&job).unwrap().text == text);
    }
}

pub fn unknown_ones_are_told(store: &dyn Store) {
    let nobody = JobId::parse("00000000-0000-4000-8000-000000000000").unwrap();
    let errors = [
        store.head(&nobody).unwrap_err(),
        store.revision(&nobody, 1).unwrap_err(),
        store.history(&nobody).unwrap_err(),
        store.append(&nobody, 1, &change("", "", 0)).unwrap_err(),
        store.set_findings(&nobody, 1, "").unwrap_err(),
        store.remove(&nobody).unwrap_err(),
        store.unremove(&nobody).unwrap_err(),
        store.photos(&nobody).unwrap_err(),
    ];
    for error in errors {
        assert!(matches!(&error, StoreError::NoSuchJob(job) if *job == nobody), "{error}");
    }
    let job = store.create(&new_job("Fan", "", "text")).unwrap();
    for number in [i64::MIN, -1, 0, 2, i64::MAX] {
        let error = store.revision(&job, number).unwrap_err();
        assert!(matches!(error, StoreError::NoSuchRevision { number: told } if told == number), "{error}");
        let error = store.set_findings(&job, number, "").unwrap_err();
        assert!(matches!(error, StoreError::NoSuchRevision { number: told } if told == number), "{error}");
    }
}

pub fn nul_is_refused(store: &dyn Store) {
    let job = store.create(&new_job("Fan", "", "text")).unwrap();
    let is_told = |result: Result<(), StoreError>| matches!(result, Err(StoreError::NulCharacter { .. }));
    assert!(is_told(store.create(&new_job("a\0", "", "")).map(drop)));
    assert!(is_told(store.create(&new_job("", "a\0", "")).map(drop)));
    assert!(is_told(store.create(&new_job("", "", "a\0")).map(drop)));
    assert!(is_told(store.append(&job, 1, &change("", "a\0", 0)).map(drop)));
    assert!(is_told(store.set_findings(&job, 1, "\0")));
    assert!(is_told(store.search("\0", None, None, 1).map(drop)));
    assert!(is_told(store.set_setting("\0", "")));
    assert!(is_told(store.set_setting_once("", "\0").map(drop)));
    assert!(is_told(store.setting("\0").map(drop)));
    assert!(is_told(store.add_session("\0", 0)));
    assert!(is_told(store.session_expires("\0").map(drop)));
    assert!(is_told(store.remove_session("\0")));
    assert_eq!(store.head(&job).unwrap().number, 1);
}
