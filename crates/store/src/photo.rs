//! Photos: made small, turned upright, freed of everything but the picture.
//!
//! A phone writes place, time and owner into its photos. None of that is wanted in a record that is handed over, so a
//! photo is decoded to its pixels and encoded anew; nothing else of the upload is kept, colour profiles included.

use std::fmt;
use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits, Rgb, RgbImage};
use jiff::Timestamp;

use crate::PhotoId;

/// Largest upload, bytes: more than phones make of one photo, little enough for an old laptop.
pub const MOST_UPLOAD_BYTES: usize = 12_000_000;

/// Most pixels of an upload: a little over the 8192 x 6144 of a phone's "50 megapixels".
pub const MOST_PIXELS: u64 = 52_000_000;

/// Longer side of a kept photo, pixels: a nameplate stays readable.
pub const LONGEST_SIDE: u32 = 1600;

/// No side of an upload is longer, pixels.
const LONGEST_UPLOAD_SIDE: u32 = 16_384;

/// JPEG quality of kept photos, of 100: engineering judgement, no blocks to be seen around small print.
const QUALITY: u8 = 82;

/// Most memory that decoding may take, bytes: [`MOST_PIXELS`] with four channels, and as much again to spare.
const MOST_DECODED_BYTES: u64 = 8 * MOST_PIXELS;

/// Longest name of a photo, characters.
const LONGEST_NAME: usize = 80;

/// What is wrong with an upload.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// Neither JPEG nor PNG, going by its first bytes.
    #[error("this is not a JPEG or PNG photo; set the camera to JPEG (\"most compatible\"), or save it as JPEG first")]
    NotAPhoto,
    /// More bytes than [`MOST_UPLOAD_BYTES`].
    #[error("the photo is too large ({} MB, {} MB at most); send it in a smaller size", bytes.div_ceil(1_000_000), MOST_UPLOAD_BYTES / 1_000_000)]
    TooManyBytes {
        /// Its size.
        bytes: usize,
    },
    /// More pixels than [`MOST_PIXELS`], or a side too long.
    #[error("the picture is too large ({width} x {height} pixels); send it in a smaller size")]
    TooManyPixels {
        /// Width, pixels.
        width: u32,
        /// Height, pixels.
        height: u32,
    },
    /// More memory than decoding may take.
    #[error("the picture takes too much memory to open; send it in a smaller size")]
    TooMuchMemory,
    /// It cannot be decoded.
    #[error("the photo is damaged or incomplete ({0}); send it again")]
    Damaged(String),
    /// It cannot be encoded.
    #[error("the photo could not be made smaller ({0}); send it in another size")]
    NotEncoded(String),
}

/// A photo as it is kept: a JPEG without metadata.
#[derive(Clone, PartialEq, Eq)]
pub struct Photo {
    name: String,
    width: u32,
    height: u32,
    jpeg: Vec<u8>,
}

/// A photo without its picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoEntry {
    /// Which photo.
    pub id: PhotoId,
    /// Its cleaned name.
    pub name: String,
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
    /// Size of the JPEG, bytes.
    pub bytes: i64,
    /// When it was added.
    pub at: Timestamp,
}

impl Photo {
    /// Makes a kept photo of an upload. What it is, is told by its content, not by its name.
    ///
    /// The longer side becomes [`LONGEST_SIDE`] at most; a smaller photo keeps its size. The orientation that the camera
    /// noted is applied; transparent parts become white.
    ///
    /// # Errors
    /// [`PhotoError`]; sizes are refused before anything is decoded.
    pub fn from_upload(name: &str, bytes: &[u8]) -> Result<Self, PhotoError> {
        if bytes.len() > MOST_UPLOAD_BYTES {
            return Err(PhotoError::TooManyBytes { bytes: bytes.len() });
        }
        let format = match image::guess_format(bytes) {
            Ok(format @ (ImageFormat::Jpeg | ImageFormat::Png)) => format,
            _ => return Err(PhotoError::NotAPhoto),
        };
        let picture = decode(bytes, format)?;
        let (width, height) = picture.dimensions();
        let mut jpeg = Vec::new();
        JpegEncoder::new_with_quality(&mut jpeg, QUALITY)
            .encode_image(&picture)
            .map_err(|error| PhotoError::NotEncoded(error.to_string()))?;
        Ok(Self { name: clean_name(name), width, height, jpeg })
    }

    /// A photo that was kept before.
    pub(crate) fn kept(name: String, width: u32, height: u32, jpeg: Vec<u8>) -> Self {
        Self { name, width, height, jpeg }
    }

    /// Its name: no path, at most 80 characters, ending in `.jpg`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Width, pixels.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Height, pixels.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// The picture, a JPEG file.
    pub fn jpeg(&self) -> &[u8] {
        &self.jpeg
    }
}

impl fmt::Debug for Photo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Photo({:?}, {} x {}, {} bytes)", self.name, self.width, self.height, self.jpeg.len())
    }
}

fn decode(bytes: &[u8], format: ImageFormat) -> Result<RgbImage, PhotoError> {
    let damaged = |error: ImageError| match error {
        ImageError::Limits(_) => PhotoError::TooMuchMemory,
        error => PhotoError::Damaged(error.to_string()),
    };
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_DECODED_BYTES);
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(damaged)?;
    let (width, height) = decoder.dimensions();
    let pixels = u64::from(width) * u64::from(height);
    if pixels > MOST_PIXELS || width.max(height) > LONGEST_UPLOAD_SIDE || decoder.total_bytes() > MOST_DECODED_BYTES {
        return Err(PhotoError::TooManyPixels { width, height });
    }
    let orientation = decoder.orientation().map_err(damaged)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(damaged)?;
    if width.max(height) > LONGEST_SIDE {
        picture = picture.resize(LONGEST_SIDE, LONGEST_SIDE, FilterType::Triangle);
    }
    picture.apply_orientation(orientation);
    Ok(on_white(picture))
}

/// JPEG knows no transparency.
fn on_white(picture: DynamicImage) -> RgbImage {
    if !picture.color().has_alpha() {
        return picture.into_rgb8();
    }
    let picture = picture.into_rgba8();
    RgbImage::from_fn(picture.width(), picture.height(), |x, y| {
        let [red, green, blue, alpha] = picture.get_pixel(x, y).0.map(u32::from);
        Rgb([red, green, blue].map(|colour| {
            // At most 255, the mean of two bytes weighted by alpha.
            u8::try_from((colour * alpha + 255 * (255 - alpha) + 127) / 255).unwrap_or(u8::MAX)
        }))
    })
}

/// The last part of a path, without what is no letter of a name, ending in `.jpg`.
fn clean_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let letters: String = last.chars().filter(|&letter| !is_unfit(letter)).collect();
    let stem = match letters.rsplit_once('.') {
        Some((stem, ending)) if ending.len() <= 4 => stem,
        _ => &letters,
    };
    let stem: String =
        stem.trim_matches(|c: char| c == '.' || c.is_whitespace()).chars().take(LONGEST_NAME - 4).collect();
    let stem = stem.trim_end();
    format!("{}.jpg", if stem.is_empty() { "photo" } else { stem })
}

/// Control characters, what file systems forbid, and invisible letters that turn or hide others.
fn is_unfit(letter: char) -> bool {
    letter.is_control()
        || "<>:\"|?*".contains(letter)
        || matches!(letter, '\u{061C}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_cleaned() {
        for (given, cleaned) in [
            ("IMG_0042.JPG", "IMG_0042.jpg"),
            ("nameplate.png", "nameplate.jpg"),
            ("../../etc/passwd", "passwd.jpg"),
            (r"C:\Users\me\fan.jpeg", "fan.jpg"),
            ("Lüfter 风扇.jpg", "Lüfter 风扇.jpg"),
            ("a<script>\"b\u{0}\n.jpg", "ascriptb.jpg"),
            ("gpj\u{202E}exe.png", "gpjexe.jpg"),
            ("motor no. 2 rear", "motor no. 2 rear.jpg"),
            ("", "photo.jpg"),
            ("...", "photo.jpg"),
            (".jpg", "photo.jpg"),
            ("/", "photo.jpg"),
            (" . .jpg", "photo.jpg"),
        ] {
            assert_eq!(clean_name(given), cleaned, "{given:?}");
        }
        assert_eq!(clean_name(&"ü".repeat(5000)).chars().count(), LONGEST_NAME);
    }
}
