//! Uploads of every kind: small, upright, without metadata, or refused.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::io::Cursor;
use std::time::Instant;

use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage, Rgba, RgbaImage};
use store::{LONGEST_SIDE, MOST_PIXELS, MOST_UPLOAD_BYTES, Photo, PhotoError};

const RED: Rgb<u8> = Rgb([220, 30, 30]);
const BLUE: Rgb<u8> = Rgb([30, 30, 220]);

/// Left half red, right half blue.
fn two_halves(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, _| if x < width / 2 { RED } else { BLUE })
}

fn jpeg(picture: &RgbImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 90).encode_image(picture).unwrap();
    bytes
}

fn png(picture: impl Into<DynamicImage>) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.into().write_to(&mut bytes, ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// The picture of a kept photo, decoded by the image library.
fn picture(photo: &Photo) -> RgbImage {
    let picture = image::load_from_memory_with_format(photo.jpeg(), ImageFormat::Jpeg).unwrap().to_rgb8();
    assert_eq!(picture.dimensions(), (photo.width(), photo.height()));
    picture
}

fn is_near(found: Rgb<u8>, expected: Rgb<u8>) -> bool {
    (0..3).all(|channel| found.0[channel].abs_diff(expected.0[channel]) < 25)
}

/// What no kept photo may hold.
const SECRETS: [&[u8]; 5] = [b"Exif", b"SECRET-PLACE", b"SECRET-OWNER", b"SECRET-COMMENT", b"http://ns.adobe.com"];

fn holds(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}

/// A TIFF structure (Exif 2.32, section 4.5-4.6): orientation, owner, and a GPS directory with a latitude of
/// 12 34' 56" and an area name.
fn exif(orientation: u8) -> Vec<u8> {
    let mut tiff = b"MM\0\x2a\0\0\0\x08".to_vec();
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [&tag.to_be_bytes()[..], &kind.to_be_bytes(), &count.to_be_bytes(), &value].concat()
    };
    let (owner, area) = (b"SECRET-OWNER\0", b"SECRET-PLACE\0");
    let owner_at = 8 + 2 + 3 * 12 + 4_u32;
    let gps_at = owner_at + owner.len() as u32;
    let latitude_at = gps_at + 2 + 2 * 12 + 4;
    let area_at = latitude_at + 24;
    tiff.extend(3_u16.to_be_bytes());
    tiff.extend(entry(0x0112, 3, 1, [0, orientation, 0, 0]));
    tiff.extend(entry(0x013B, 2, owner.len() as u32, owner_at.to_be_bytes()));
    tiff.extend(entry(0x8825, 4, 1, gps_at.to_be_bytes()));
    tiff.extend([0; 4]);
    tiff.extend(owner);
    tiff.extend(2_u16.to_be_bytes());
    tiff.extend(entry(0x0002, 5, 3, latitude_at.to_be_bytes()));
    tiff.extend(entry(0x001C, 7, area.len() as u32, area_at.to_be_bytes()));
    tiff.extend([0; 4]);
    for number in [12_u32, 1, 34, 1, 56, 1] {
        tiff.extend(number.to_be_bytes());
    }
    tiff.extend(area);
    tiff
}

/// The segments of metadata that phones write, put behind the start of a JPEG.
fn with_metadata(jpeg: &[u8], orientation: u8) -> Vec<u8> {
    let segment =
        |marker: u8, content: &[u8]| [&[0xFF, marker][..], &(content.len() as u16 + 2).to_be_bytes(), content].concat();
    let exif = segment(0xE1, &[b"Exif\0\0", &exif(orientation)[..]].concat());
    let xmp = segment(0xE1, b"http://ns.adobe.com/xap/1.0/\0<x>SECRET-PLACE</x>");
    let iptc = segment(0xED, b"Photoshop 3.0\0SECRET-OWNER");
    let comment = segment(0xFE, b"SECRET-COMMENT");
    [&jpeg[..2], &exif, &xmp, &iptc, &comment, &jpeg[2..]].concat()
}

#[test]
fn metadata_goes_and_orientation_is_applied() {
    // By Exif 2.32, section 4.6.4 (Orientation): where the first row and column of the file are to be seen; so the red
    // half, left in the file, is then at the ...
    let (left, right, top, bottom) = ((0.25, 0.5), (0.75, 0.5), (0.5, 0.25), (0.5, 0.75));
    for (orientation, red_at, blue_at, is_turned) in [
        (1, left, right, false),
        (2, right, left, false),
        (3, right, left, false),
        (4, left, right, false),
        (5, top, bottom, true),
        (6, top, bottom, true),
        (7, bottom, top, true),
        (8, bottom, top, true),
    ] {
        let upload = with_metadata(&jpeg(&two_halves(320, 200)), orientation);
        assert!(SECRETS.iter().all(|secret| holds(&upload, secret)));
        let photo = Photo::from_upload("a.jpg", &upload).unwrap();
        for secret in SECRETS {
            assert!(!holds(photo.jpeg(), secret), "{} stayed", String::from_utf8_lossy(secret));
        }
        let picture = picture(&photo);
        assert_eq!(picture.dimensions(), if is_turned { (200, 320) } else { (320, 200) }, "orientation {orientation}");
        let at = |(x, y): (f32, f32)| {
            *picture.get_pixel((picture.width() as f32 * x) as u32, (picture.height() as f32 * y) as u32)
        };
        assert!(is_near(at(red_at), RED) && is_near(at(blue_at), BLUE), "orientation {orientation}");
    }
}

/// Beside the picture a kept JPEG has only the segments that decoding needs (ITU-T T.81, table B.1): JFIF, tables,
/// frame, scan.
#[test]
fn nothing_but_the_picture_is_kept() {
    let photo = Photo::from_upload("a.jpg", &with_metadata(&jpeg(&two_halves(64, 48)), 6)).unwrap();
    let bytes = photo.jpeg();
    assert_eq!(bytes[..2], [0xFF, 0xD8]);
    let mut place = 2;
    loop {
        assert_eq!(bytes[place], 0xFF);
        let marker = bytes[place + 1];
        assert!(matches!(marker, 0xE0 | 0xDB | 0xC0 | 0xC4 | 0xDA), "segment {marker:#x}");
        if marker == 0xDA {
            break;
        }
        place += 2 + usize::from(u16::from_be_bytes([bytes[place + 2], bytes[place + 3]]));
    }
}

#[test]
fn a_png_is_treated_alike() {
    let chunk = |kind: &[u8; 4], content: &[u8]| {
        let body = [&kind[..], content].concat();
        [&(content.len() as u32).to_be_bytes()[..], &body, &crc(&body).to_be_bytes()].concat()
    };
    let plain = png(two_halves(320, 200));
    let metadata = [chunk(b"eXIf", &exif(6)), chunk(b"tEXt", b"Comment\0SECRET-COMMENT Exif")].concat();
    // After the signature and the header chunk (PNG specification, third edition, 5.2 and 11.2.1).
    let upload = [&plain[..33], &metadata, &plain[33..]].concat();
    assert!(holds(&upload, b"SECRET-PLACE") && holds(&upload, b"SECRET-COMMENT"));
    let photo = Photo::from_upload("a.png", &upload).unwrap();
    assert_eq!((photo.width(), photo.height(), photo.name()), (200, 320, "a.jpg"));
    assert!(SECRETS.iter().all(|secret| !holds(photo.jpeg(), secret)));
}

/// CRC-32 of PNG (specification, annex D), bit by bit.
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| if crc & 1 == 1 { 0xEDB8_8320 ^ (crc >> 1) } else { crc >> 1 })
    })
}

#[test]
fn large_photos_are_scaled_and_small_ones_are_not() {
    for (width, height, expected) in [
        (4000, 3000, (LONGEST_SIDE, 1200)),
        (3000, 4000, (1200, LONGEST_SIDE)),
        (1601, 1601, (1600, 1600)),
        (1600, 900, (1600, 900)),
        (7, 3, (7, 3)),
        (1, 1, (1, 1)),
        (10_000, 1, (1600, 1)),
        (1, 10_000, (1, 1600)),
    ] {
        let photo = Photo::from_upload("a.jpg", &jpeg(&two_halves(width, height))).unwrap();
        assert_eq!(picture(&photo).dimensions(), expected, "{width} x {height}");
    }
}

#[test]
fn every_kind_of_pixel_is_taken() {
    let grey = image::GrayImage::from_pixel(50, 40, image::Luma([77]));
    let kept = picture(&Photo::from_upload("a", &png(grey)).unwrap());
    assert!(is_near(*kept.get_pixel(20, 20), Rgb([77; 3])));
    let deep = image::ImageBuffer::<Rgb<u16>, _>::from_pixel(50, 40, Rgb([0x8000, 0x2000, 0xE000]));
    let kept = picture(&Photo::from_upload("a", &png(deep)).unwrap());
    assert!(is_near(*kept.get_pixel(20, 20), Rgb([0x80, 0x20, 0xE0])));
    // What is transparent is seen as on white paper; half of blue on white is light blue.
    for (alpha, expected) in [(0, Rgb([255; 3])), (255, BLUE), (128, Rgb([142, 142, 237]))] {
        let clear = RgbaImage::from_pixel(50, 40, Rgba([BLUE[0], BLUE[1], BLUE[2], alpha]));
        let kept = picture(&Photo::from_upload("a", &png(clear)).unwrap());
        assert!(is_near(*kept.get_pixel(20, 20), expected), "{alpha}");
    }
}

#[test]
fn content_counts_and_not_the_name() {
    let as_jpeg = jpeg(&two_halves(20, 20));
    assert!(Photo::from_upload("report.pdf", &as_jpeg).is_ok());
    let gif =
        b"GIF89a\x01\0\x01\0\x80\0\0\0\0\0\xff\xff\xff!\xf9\x04\x01\0\0\0\0,\0\0\0\0\x01\0\x01\0\0\x02\x02D\x01\0;";
    let contents: [&[u8]; 8] = [
        b"",
        b"\xFF",
        b"\x89PNG",
        gif,
        b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>",
        b"RIFF\x24\0\0\0WEBPVP8 ",
        b"%PDF-1.7",
        b"<html><script>alert(1)</script>",
    ];
    for content in contents {
        assert_eq!(Photo::from_upload("photo.jpg", content), Err(PhotoError::NotAPhoto));
    }
}

#[test]
fn too_large_an_upload_is_refused() {
    let mut bytes = jpeg(&two_halves(20, 20));
    bytes.resize(MOST_UPLOAD_BYTES, 0);
    assert!(Photo::from_upload("a", &bytes).is_ok());
    bytes.push(0);
    assert_eq!(Photo::from_upload("a", &bytes), Err(PhotoError::TooManyBytes { bytes: MOST_UPLOAD_BYTES + 1 }));
}

/// A JPEG or PNG says its size in a few bytes; these say more than there is.
#[test]
fn bombs_are_refused_before_they_are_decoded() {
    let plain = jpeg(&two_halves(20, 20));
    let frame = plain.windows(2).position(|two| two == [0xFF, 0xC0]).unwrap();
    let begun = Instant::now();
    for (width, height) in [(65_535_u16, 65_535_u16), (20_000, 20), (8_000, 8_000)] {
        let mut bomb = plain.clone();
        bomb[frame + 5..][..2].copy_from_slice(&height.to_be_bytes());
        bomb[frame + 7..][..2].copy_from_slice(&width.to_be_bytes());
        let refused = PhotoError::TooManyPixels { width: width.into(), height: height.into() };
        assert_eq!(Photo::from_upload("a", &bomb), Err(refused));
    }
    for (width, height) in [(2_000_000_000_u32, 2_000_000_000_u32), (1, 1 << 30), (8_000, 8_000)] {
        let mut bomb = png(two_halves(20, 20));
        bomb[16..20].copy_from_slice(&width.to_be_bytes());
        bomb[20..24].copy_from_slice(&height.to_be_bytes());
        let header_crc = crc(&bomb[12..29]);
        bomb[29..33].copy_from_slice(&header_crc.to_be_bytes());
        let refused = Photo::from_upload("a", &bomb).unwrap_err();
        assert!(
            matches!(refused, PhotoError::TooManyPixels { .. } | PhotoError::TooMuchMemory),
            "{width} x {height}: {refused}"
        );
    }
    assert!(begun.elapsed().as_secs() < 5);
    // A size that is allowed, and hardly any picture behind it.
    let (width, height) = (7_200_u16, 7_200_u16);
    assert!(u64::from(width) * u64::from(height) < MOST_PIXELS);
    let mut hollow = plain;
    hollow[frame + 5..][..2].copy_from_slice(&height.to_be_bytes());
    hollow[frame + 7..][..2].copy_from_slice(&width.to_be_bytes());
    if let Ok(photo) = Photo::from_upload("a", &hollow) {
        assert_eq!((photo.width(), photo.height()), (LONGEST_SIDE, LONGEST_SIDE));
    }
}

/// Bytes changed, cut, repeated at random: a photo or an error, never a panic.
#[test]
fn damaged_uploads_never_panic() {
    let sound = [
        with_metadata(&jpeg(&two_halves(60, 40)), 6),
        png(two_halves(60, 40)),
        png(RgbaImage::from_pixel(30, 20, Rgba([1, 2, 3, 4]))),
    ];
    let mut random = 2_463_534_242_u64;
    let mut below = |end: usize| {
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        (random >> 16) as usize % end
    };
    let mut refused = 0;
    for round in 0..3000 {
        let mut bytes = sound[round % sound.len()].clone();
        for _ in 0..=below(6) {
            let place = below(bytes.len());
            match below(4) {
                0 => bytes.truncate(place.max(1)),
                1 => bytes[place] = 0xFF,
                _ => bytes[place] = below(256) as u8,
            }
        }
        refused += usize::from(Photo::from_upload("a", &bytes).is_err());
    }
    assert!(refused > 250 && refused < 2950, "{refused}");
    for upload in &sound {
        for length in 0..upload.len() {
            let _ = Photo::from_upload("a", &upload[..length]);
        }
    }
}
