//! Photos, settings, sessions.

use std::io::Cursor;
use std::thread;

use image::{ImageFormat, RgbImage};
use jiff::Timestamp;
use store::{Photo, PhotoId, Store, StoreError};

use crate::new_job;

fn photo(name: &str) -> Photo {
    let mut png = Cursor::new(Vec::new());
    RgbImage::from_fn(40, 30, |x, y| image::Rgb([x as u8 * 6, y as u8 * 8, 90]))
        .write_to(&mut png, ImageFormat::Png)
        .unwrap();
    Photo::from_upload(name, png.get_ref()).unwrap()
}

pub fn photos_come_back(store: &dyn Store) {
    let job = store.create(&new_job("Fan", "", "")).unwrap();
    let other = store.create(&new_job("Fan", "", "")).unwrap();
    assert!(store.photos(&job).unwrap().is_empty());
    let before = Timestamp::now();
    let ids = [photo("plate.png"), photo("rear 风扇.png")].map(|photo| store.add_photo(&job, &photo).unwrap());
    let entries = store.photos(&job).unwrap();
    assert_eq!(entries.iter().map(|entry| entry.id.clone()).collect::<Vec<_>>(), ids);
    let (first, kept) = (&entries[0], photo("plate.png"));
    assert_eq!((first.name.as_str(), first.width, first.height), ("plate.jpg", 40, 30));
    assert_eq!(first.bytes as usize, kept.jpeg().len());
    assert!((first.at.as_second() - before.as_second()).abs() <= 60);
    assert_eq!(store.photo(&job, &ids[0]).unwrap(), kept);
    assert_eq!(store.photo(&job, &ids[1]).unwrap().name(), "rear 风扇.jpg");

    // A photo is its own job's only.
    let none = PhotoId::parse("00000000-0000-4000-8000-000000000000").unwrap();
    for (job, id) in [(&other, &ids[0]), (&job, &none)] {
        assert!(matches!(store.photo(job, id), Err(StoreError::NoSuchPhoto(told)) if told == *id));
        assert!(matches!(store.remove_photo(job, id), Err(StoreError::NoSuchPhoto(told)) if told == *id));
    }
    let nobody = store::JobId::parse(none.as_str()).unwrap();
    assert!(matches!(store.add_photo(&nobody, &kept), Err(StoreError::NoSuchJob(_))));
    assert!(matches!(store.photo(&nobody, &ids[0]), Err(StoreError::NoSuchJob(_))));
    assert!(matches!(store.remove_photo(&nobody, &ids[0]), Err(StoreError::NoSuchJob(_))));

    store.remove_photo(&job, &ids[0]).unwrap();
    assert!(matches!(store.photo(&job, &ids[0]), Err(StoreError::NoSuchPhoto(_))));
    assert_eq!(store.photos(&job).unwrap().len(), 1);
}

pub fn settings_are_kept(store: &dyn Store) {
    assert_eq!(store.setting("language").unwrap(), None);
    store.set_setting("language", "en").unwrap();
    store.set_setting("language", "de").unwrap();
    assert_eq!(store.setting("language").unwrap().as_deref(), Some("de"));
    assert_eq!(store.setting("Language").unwrap(), None);
    assert!(!store.set_setting_once("language", "fr").unwrap());
    assert_eq!(store.setting("language").unwrap().as_deref(), Some("de"));
    store.set_setting("", "").unwrap();
    assert_eq!(store.setting("").unwrap().as_deref(), Some(""));

    // Of several first starts, one sets the pass-phrase.
    let firsts = thread::scope(|scope| {
        let threads: Vec<_> =
            (0..4).map(|_| scope.spawn(|| store.set_setting_once("pass-phrase", "secret").unwrap())).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).filter(|first| *first).count()
    });
    assert_eq!(firsts, 1);
}

pub fn sessions_expire(store: &dyn Store) {
    assert_eq!(store.session_expires("a").unwrap(), None);
    for (hash, expires) in [("a", 100), ("b", 200), ("c", 300)] {
        store.add_session(hash, expires).unwrap();
    }
    assert_eq!(store.session_expires("a").unwrap(), Some(100));
    store.add_session("a", 400).unwrap();
    assert_eq!(store.session_expires("a").unwrap(), Some(400));
    store.purge_sessions(200).unwrap();
    let expires = ["a", "b", "c"].map(|hash| store.session_expires(hash).unwrap());
    assert_eq!(expires, [Some(400), None, Some(300)]);
    store.remove_session("a").unwrap();
    store.remove_session("a").unwrap();
    assert_eq!(store.session_expires("a").unwrap(), None);
    store.purge_sessions(i64::MAX).unwrap();
    assert_eq!(store.session_expires("c").unwrap(), None);
}
