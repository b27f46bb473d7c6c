//! Files that are too large, or not what they seem.

use crate::Bench;

/// Two by two pixels, red over blue: PNG (https://www.w3.org/TR/png-3/), its data made by zlib.
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\0\x02\0\0\0\x02\x08\x02\0\0\0\xfd\xd4\x9a\x73\
    \0\0\0\x11IDAT\x78\xda\x63\xf8\xcf\xc0\0\x44\x0c\x60\xf2\x3f\0\x1b\xf2\x03\xfd\x8e\x08\xd4\xaf\
    \0\0\0\0IEND\xae\x42\x60\x82";

/// Addresses of the photos on a job's page.
fn photos(bench: &Bench) -> Vec<String> {
    let page = bench.person.get(&bench.job).body_text();
    let links = page.split("<img src=\"").skip(1);
    links.map(|rest| rest.split('"').next().unwrap().to_owned()).collect()
}

#[test]
fn a_text_that_is_no_job_file() {
    let bench = Bench::open();
    let cases = [
        ("hello = ", "line 1"),
        ("Dear bench, the fan hums.", "That is no job file this bench can use"),
        ("[unit]\nname = \"Fan\"\n", "parts"),
        ("\u{0}\u{1}\u{2}", "That is no job file this bench can use"),
        (" \n", "There is no job file."),
        ("{\"unit\": {\"name\": \"Fan\"}}", "That is no job file this bench can use"),
    ];
    for (text, words) in cases {
        bench.person.submit("/jobs/import", &[("text", text)]).says(422, words);
    }
    let deep = format!("a = {}{}", "[".repeat(50_000), "]".repeat(50_000));
    bench.person.submit("/jobs/import", &[("text", &deep)]).says(422, "That is no job file this bench can use");
    let wrong = bench.text().replace("\"M1.run\"", "\"M1.rum\"");
    bench.person.submit("/jobs/import", &[("text", &wrong)]).says(422, "did you mean M1.run");
    let page = bench.person.get("/").body_text();
    assert_eq!(page.matches("Dough-proofing cabinet").count(), 1, "a job was made of one of them");
}

#[test]
fn texts_that_are_too_large() {
    let bench = Bench::open();
    let before = bench.text();
    let remarks = format!("{before}\n# {}\n", "a".repeat(5_000_000));
    bench.person.submit("/jobs/import", &[("text", &remarks)]).says(422, "at most 4 MB");
    let revision = crate::entries::saved_revision(&bench);
    let answer = bench.person.post(&bench.at("/text"), &[("text", &remarks), ("base", &revision)]);
    answer.says(422, "at most 4 MB");
    assert_eq!(bench.text(), before);
    let far_more = format!("text={}", "a".repeat(20_000_000));
    let answer = bench.person.raw_form("/jobs/import", "application/x-www-form-urlencoded", far_more.as_bytes());
    answer.says(413, "A job file may have 4 MB");
}

#[test]
fn a_photo_of_50_megabytes() {
    let bench = Bench::open();
    let mut form = b"--edge\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"large.jpg\"\r\n\r\n".to_vec();
    form.resize(50_000_000, 0x55);
    let answer = bench.person.raw_form(&bench.at("/photos"), "multipart/form-data; boundary=edge", &form);
    answer.says(413, "larger than 12 MB");
    answer.says(413, "lower resolution");
    assert_eq!(photos(&bench), [""; 0]);
    // A little too large is told in the same way.
    let mut large = PNG.to_vec();
    large.resize(12_000_001, 0);
    bench.person.upload(&bench.job, "large.png", &large).says(422, "12 MB at most");
}

#[test]
fn photos_are_told_by_their_content() {
    let bench = Bench::open();
    let not_photos: [(&str, &[u8]); 4] = [
        ("notes.jpg", b"The fan hums."),
        ("drawing.png", b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"),
        ("page.jpg", b"<!doctype html><script>alert(1)</script>"),
        ("empty.jpg", b""),
    ];
    for (name, bytes) in not_photos {
        bench.person.upload(&bench.job, name, bytes).says(422, "not a JPEG or PNG photo");
    }
    bench.person.upload(&bench.job, "half.png", &PNG[..50]).says(422, "damaged or incomplete");
    let mut wide = PNG.to_vec();
    wide[16..24].copy_from_slice(&[0, 0, 0x7f, 0xff, 0, 0, 0x7f, 0xff]);
    let answer = bench.person.upload(&bench.job, "wide.png", &wide);
    assert_eq!(answer.status, 422, "{}", answer.words());
    assert_eq!(photos(&bench), [""; 0]);

    // A PNG by a wrong name, with a path in it, is a photo all the same.
    let answer = bench.person.upload(&bench.job, "../../plate.exe.txt", PNG);
    assert_eq!((answer.status, answer.header("location")), (303, bench.at("#photos").as_str()));
    let kept = photos(&bench);
    assert_eq!(kept.len(), 1);
    let photo = bench.person.get(&kept[0]);
    assert_eq!((photo.status, photo.header("content-type")), (200, "image/jpeg"));
    // JPEG: start of image (ISO/IEC 10918-1, B.1.1.3).
    assert!(photo.body.starts_with(&[0xFF, 0xD8, 0xFF]));
    let page = bench.person.get(&bench.job).body_text();
    assert!(page.contains("alt=\"plate") && !page.contains(".."), "{page}");
    // Another job's photo is none of this job's.
    let other = bench.person.import(crate::DOUGH_PROOFER);
    let elsewhere = kept[0].replace(&bench.job, &other);
    assert_eq!(bench.person.get(&elsewhere).status, 404);
}
