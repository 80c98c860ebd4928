//! A recipe's picture or the studio's sign: what was uploaded is decoded within bounds and encoded anew, so that nothing
//! of the upload itself (its metadata, its tricks) is ever served. Bytes in, bytes out. May import: nothing of the house.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::{self, FilterType};
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits, Rgba, RgbaImage};
use thiserror::Error;

/// The largest file that is taken: 15 MB.
pub const MOST_BYTES: usize = 15_000_000;
/// The longest side that is taken.
const LONGEST_SIDE: u32 = 12_000;
/// The most pixels that are taken: a small file may unfold to a giant picture.
const MOST_PIXELS: u64 = 50_000_000;
/// What decoding may use.
const MOST_MEMORY: u64 = 400_000_000;
/// The longest side of the whole picture.
const FULL: u32 = 1_600;
/// The longest side of the small one.
const SMALL: u32 = 320;
/// The longest side of a sign: 50 mm at 400 dots an inch.
const SIGN: u32 = 800;
const JPEG_QUALITY: u8 = 85;

/// A picture as it is stored and served: two JPEGs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Width of the whole picture.
    pub width: i64,
    /// Its height.
    pub height: i64,
    /// At most 1 600 pixels a side.
    pub full: Vec<u8>,
    /// At most 320 pixels a side.
    pub small: Vec<u8>,
}

/// The studio's sign as it is stored and served: a PNG of at most 800 pixels a side, on white paper, since its lines
/// must stay sharp.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sign {
    /// Its width.
    pub width: i64,
    /// Its height.
    pub height: i64,
    /// The PNG.
    pub image: Vec<u8>,
}

/// Why a file is not taken, in a sentence for whoever chose it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum PictureError {
    /// Nothing in it.
    #[error("Choose a picture first.")]
    Empty,
    /// Too many bytes.
    #[error("This file is larger than 15 MB. Save the picture smaller, then choose it again.")]
    TooLarge,
    /// Not one of the three kinds.
    #[error("This is not a JPEG, PNG or WebP picture. Save it as one of these, then choose it again.")]
    NotAPicture,
    /// Too many pixels.
    #[error(
        "This picture is larger than 50 million pixels, or longer than 12,000 on a side. Save it smaller, then choose it again."
    )]
    TooManyPixels,
    /// It begins like a picture and cannot be read to its end.
    #[error(
        "This picture is broken: it cannot be read to its end. Open it, save it again, then choose it again."
    )]
    Broken,
}

/// Reads an uploaded file and makes both pictures of it, upright and without transparency.
///
/// # Errors
/// A file that is empty, too large, no picture, or broken.
pub fn read(file: &[u8]) -> Result<Picture, PictureError> {
    let whole = decoded(file)?;
    let full = shrunk(&whole, FULL);
    let small = shrunk(&full, SMALL);
    Ok(Picture {
        width: full.width().into(),
        height: full.height().into(),
        full: jpeg(&full)?,
        small: jpeg(&small)?,
    })
}

/// Reads an uploaded file and makes a sign of it.
///
/// # Errors
/// As for a picture.
pub fn read_sign(file: &[u8]) -> Result<Sign, PictureError> {
    let sign = shrunk(&decoded(file)?, SIGN);
    let mut image = Cursor::new(Vec::new());
    sign.write_to(&mut image, ImageFormat::Png).map_err(refusal)?;
    Ok(Sign { width: sign.width().into(), height: sign.height().into(), image: image.into_inner() })
}

fn decoded(file: &[u8]) -> Result<DynamicImage, PictureError> {
    if file.is_empty() {
        return Err(PictureError::Empty);
    }
    if file.len() > MOST_BYTES {
        return Err(PictureError::TooLarge);
    }
    let format = image::guess_format(file).map_err(|_| PictureError::NotAPicture)?;
    if !matches!(format, ImageFormat::Jpeg | ImageFormat::Png | ImageFormat::WebP) {
        return Err(PictureError::NotAPicture);
    }
    let mut reader = ImageReader::with_format(Cursor::new(file), format);
    reader.limits(limits());
    let mut decoder = reader.into_decoder().map_err(refusal)?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(PictureError::TooManyPixels);
    }
    let orientation = decoder.orientation().map_err(refusal)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(refusal)?;
    picture.apply_orientation(orientation);
    Ok(on_white(&picture))
}

fn limits() -> Limits {
    let mut limits = Limits::default();
    limits.max_image_width = Some(LONGEST_SIDE);
    limits.max_image_height = Some(LONGEST_SIDE);
    limits.max_alloc = Some(MOST_MEMORY);
    limits
}

#[expect(clippy::needless_pass_by_value, reason = "it is handed to map_err")]
fn refusal(error: image::ImageError) -> PictureError {
    match error {
        image::ImageError::Limits(_) => PictureError::TooManyPixels,
        image::ImageError::Unsupported(_) => PictureError::NotAPicture,
        _ => PictureError::Broken,
    }
}

/// JPEG has no transparency: what lies behind is white paper.
fn on_white(picture: &DynamicImage) -> DynamicImage {
    if !picture.color().has_alpha() {
        return DynamicImage::ImageRgb8(picture.to_rgb8());
    }
    let mut paper = RgbaImage::from_pixel(picture.width(), picture.height(), Rgba([255; 4]));
    imageops::overlay(&mut paper, &picture.to_rgba8(), 0, 0);
    DynamicImage::ImageRgb8(DynamicImage::ImageRgba8(paper).to_rgb8())
}

/// Never enlarges.
fn shrunk(picture: &DynamicImage, side: u32) -> DynamicImage {
    if picture.width().max(picture.height()) <= side {
        return picture.clone();
    }
    picture.resize(side, side, FilterType::CatmullRom)
}

fn jpeg(picture: &DynamicImage) -> Result<Vec<u8>, PictureError> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, JPEG_QUALITY).encode_image(picture).map_err(refusal)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn png(width: u32, height: u32, pixel: Rgba<u8>) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        DynamicImage::ImageRgba8(RgbaImage::from_pixel(width, height, pixel))
            .write_to(&mut bytes, ImageFormat::Png)
            .unwrap();
        bytes.into_inner()
    }

    fn size(jpeg: &[u8]) -> (u32, u32) {
        assert_eq!(image::guess_format(jpeg).unwrap(), ImageFormat::Jpeg);
        let picture = image::load_from_memory(jpeg).unwrap();
        (picture.width(), picture.height())
    }

    #[test]
    fn a_picture_is_made_anew_in_two_sizes() {
        let picture = read(&png(2_000, 1_000, Rgba([10, 200, 30, 255]))).unwrap();
        assert_eq!((picture.width, picture.height), (1_600, 800));
        assert_eq!((size(&picture.full), size(&picture.small)), ((1_600, 800), (320, 160)));
        let little = read(&png(20, 10, Rgba([0, 0, 0, 255]))).unwrap();
        assert_eq!((size(&little.full), size(&little.small)), ((20, 10), (20, 10)));
    }

    #[test]
    fn a_sign_stays_sharp() {
        let sign = read_sign(&png(1_600, 400, Rgba([20, 20, 20, 255]))).unwrap();
        assert_eq!((sign.width, sign.height), (800, 200));
        assert_eq!(image::guess_format(&sign.image).unwrap(), ImageFormat::Png);
        assert_eq!(image::load_from_memory(&sign.image).unwrap().to_rgb8().get_pixel(5, 5).0, [20; 3]);
        assert_eq!(read_sign(b"<svg/>"), Err(PictureError::NotAPicture));
    }

    #[test]
    fn what_is_transparent_is_white() {
        let picture = read(&png(8, 8, Rgba([0, 0, 0, 0]))).unwrap();
        let pixel = image::load_from_memory(&picture.full).unwrap().to_rgb8().get_pixel(4, 4).0;
        assert!(pixel.iter().all(|part| *part > 250), "{pixel:?}");
    }

    #[test]
    fn an_upright_shot_stands_upright() {
        // A JPEG with an EXIF orientation of 6: turned a quarter to the right when shown.
        let mut jpeg = Vec::new();
        let wide = DynamicImage::ImageRgb8(image::RgbImage::new(40, 20));
        JpegEncoder::new(&mut jpeg).encode_image(&wide).unwrap();
        let exif =
            b"\xff\xe1\x00\x22Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0";
        let turned = [&jpeg[..2], exif, &jpeg[2..]].concat();
        let picture = read(&turned).unwrap();
        assert_eq!((picture.width, picture.height), (20, 40));
    }

    #[test]
    fn hostile_and_broken_files_are_refused() {
        assert_eq!(read(b""), Err(PictureError::Empty));
        assert_eq!(read(b"<svg onload=alert(1)>"), Err(PictureError::NotAPicture));
        assert_eq!(read(b"GIF89a\x01\x00\x01\x00"), Err(PictureError::NotAPicture));
        assert_eq!(read(&vec![0xff; MOST_BYTES + 1]), Err(PictureError::TooLarge));
        let whole = png(64, 64, Rgba([1, 2, 3, 255]));
        assert_eq!(read(&whole[..whole.len() / 2]), Err(PictureError::Broken));
        assert_eq!(read(&bomb(30_000, 30_000)), Err(PictureError::TooManyPixels));
        assert_eq!(read(&bomb(11_000, 11_000)), Err(PictureError::TooManyPixels));
    }

    /// The head of a PNG that promises a giant.
    fn bomb(width: u32, height: u32) -> Vec<u8> {
        let mut png = png(1, 1, Rgba([0; 4]));
        png[16..20].copy_from_slice(&width.to_be_bytes());
        png[20..24].copy_from_slice(&height.to_be_bytes());
        let check = crc(&png[12..29]);
        png[29..33].copy_from_slice(&check.to_be_bytes());
        png
    }

    fn crc(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(!0_u32, |sum, byte| {
            (0..8)
                .fold(sum ^ u32::from(*byte), |sum, _| (sum >> 1) ^ (0xedb8_8320 & (sum & 1).wrapping_neg()))
        })
    }
}
