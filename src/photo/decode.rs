//! Bytes -> [`Photo`]: the size is checked before anything is allocated, the decoder is chosen by
//! the bytes, the pixels are turned as displayed.

use super::exif::{self, Tags};
use super::format::Format;
use super::jpeg::Outline;
use super::{NoPhoto, Photo, Pixels, orient};
use crate::notice::{Notice, Warned};
use image::codecs::{bmp::BmpDecoder, jpeg::JpegDecoder, png::PngDecoder, tiff::TiffDecoder, webp::WebPDecoder};
use image::error::UnsupportedErrorKind;
use image::{DynamicImage, ImageDecoder, ImageError};
use std::io::{Cursor, ErrorKind};

/// How large a picture may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Largest number of pixels, width times height.
    pub pixels: u64,
}

impl Default for Limits {
    /// 200 megapixels: above every phone and nearly every scan, and at most 1.2 GB of 16-bit colour.
    fn default() -> Self {
        Self { pixels: 200_000_000 }
    }
}

/// Fewest pixels a side: below, nothing can be measured.
const SMALLEST_SIDE: usize = 16;
/// Room for a decoder's own tables and chunks beside the pixels.
const DECODER_ROOM: u64 = 64 << 20;
/// The field of the sheet that notices here are about.
const ABOUT: &str = "photo.file";

/// Reads a photo from the bytes of a file.
///
/// JPEG (grey, colour, four inks; baseline and progressive), PNG (1 to 16 bits, grey, colour, palette), TIFF (grey,
/// colour, four inks; 8 and 16 bits, black and white; strips and tiles), WebP, BMP, and HEIC and AVIF (8 to 12 bits) where the
/// crate has its features `heic` and `avif`. The format is told from the bytes. 8-bit files stay at 8 bits a sample, 16-bit files at 16. Pixels come out as displayed: the orientation tag is applied.
///
/// Notices tell of transparency that is left out, of further pages, and of a tag without meaning.
///
/// # Errors
/// [`NoPhoto`] says what is wrong with the file and what to do. A picture above `limits` or a header that promises more
/// pixels than the file can hold is refused before memory is asked for.
pub fn read(bytes: &[u8], limits: Limits) -> Result<Warned<Photo>, NoPhoto> {
    let format = Format::of(bytes)?;
    let tags = exif::tags(bytes, format == Format::Tiff);
    if tags.is_raw {
        return Err(NoPhoto::Foreign {
            what: "a camera raw file (DNG or the like)",
            way_out: "develop it to a 16-bit TIFF or a JPEG with the camera maker's software, with lens correction off",
        });
    }
    let mut notices = notices_of(&tags);
    let decoded = match format {
        Format::Jpeg => jpeg(bytes, limits)?,
        Format::Png => png(bytes, limits)?,
        Format::Tiff => tiff(bytes, tags.tiff_size, limits)?,
        Format::WebP => webp(bytes, limits)?,
        Format::Bmp => decode(format, bytes, limits, || BmpDecoder::new(Cursor::new(bytes)))?,
        #[cfg(feature = "heic")]
        Format::Heic => super::heic::decode(bytes, limits)?,
        #[cfg(feature = "avif")]
        Format::Avif => super::avif::decode(bytes, limits)?,
        #[cfg(not(all(feature = "heic", feature = "avif")))]
        Format::Heic | Format::Avif => {
            return Err(NoPhoto::Variant { format, reason: "this build has no decoder for it".into() });
        }
    };
    let (stored_width, stored_height) = (decoded.width() as usize, decoded.height() as usize);
    let (mut pixels, transparent) = samples(format, decoded)?;
    if transparent {
        notices.push(
            Notice::new(ABOUT, "the picture is partly transparent; its colours are measured as if it were not")
                .hint("save it without transparency if what shows there is not the photo"),
        );
    }
    // HEIC and AVIF come out of their decoders as displayed; their orientation tag tells of a turn that is already made.
    let turned = matches!(format, Format::Heic | Format::Avif);
    let orientation = tags.metadata.orientation.filter(|_| !turned).unwrap_or(1);
    let (width, height) = orient::turn(&mut pixels, stored_width, stored_height, orientation);
    Ok(Warned { value: Photo { width, height, pixels, metadata: tags.metadata }, notices })
}

fn notices_of(tags: &Tags) -> Vec<Notice> {
    let mut notices = Vec::new();
    if let Some(odd) = tags.odd_orientation {
        notices.push(
            Notice::new(ABOUT, format!("the orientation tag is {odd}, which has no meaning (1 to 8); it is left out"))
                .hint("if the photo lies on its side, turn it in a picture editor and save it"),
        );
    }
    if tags.has_more_pages {
        notices.push(
            Notice::new(ABOUT, "the TIFF file holds several pictures; the first is measured")
                .hint("save the page you mean as a file of its own"),
        );
    }
    notices
}

fn jpeg(bytes: &[u8], limits: Limits) -> Result<DynamicImage, NoPhoto> {
    let format = Format::Jpeg;
    let outline = Outline::of(bytes);
    let truncated = |seen| NoPhoto::Truncated { format, seen };
    let Some((width, height)) = outline.size else {
        return Err(truncated(format!("it ends after {} bytes, before the size of the picture", bytes.len())));
    };
    // Before the decoder sees it: the decoder refuses sizes with words of its own.
    check_size(format, (width, height), bytes.len(), limits)?;
    let variant = match outline.process {
        0xc0..=0xc2 if outline.bits == 8 => None,
        0xc0..=0xc2 => Some(format!("{} bits a sample", outline.bits)),
        0xc3 => Some("lossless coding".into()),
        0xc5..=0xc7 => Some("hierarchical coding".into()),
        _ => Some("arithmetic coding".into()),
    };
    if let Some(reason) = variant {
        return Err(NoPhoto::Variant { format, reason });
    }
    if !outline.has_scan {
        return Err(truncated(format!("it ends after {} bytes, before the picture itself", bytes.len())));
    }
    if !outline.has_end && outline.process == 0xc2 {
        // A progressive file gets sharper to its very end: what is missing cannot be seen, only its loss of detail.
        return Err(truncated(format!("it ends after {} bytes without an end mark", bytes.len())));
    }
    let picture = decode(format, bytes, limits, || JpegDecoder::new(Cursor::new(bytes)))?;
    if !outline.has_end {
        let arrived = height - filler_rows(&picture);
        return Err(truncated(format!("it ends after {} bytes, at about row {arrived} of {height}", bytes.len())));
    }
    Ok(picture)
}

/// Rows at the bottom that hold nothing but the decoder's filler for missing data, middle grey.
fn filler_rows(picture: &DynamicImage) -> usize {
    let row_bytes = picture.as_bytes().len() / picture.height().max(1) as usize;
    picture.as_bytes().rchunks_exact(row_bytes.max(1)).take_while(|row| row.iter().all(|&b| b == 128)).count()
}

fn png(bytes: &[u8], limits: Limits) -> Result<DynamicImage, NoPhoto> {
    // The header chunk comes first and has a fixed place (PNG, W3C 2003, 11.2.2).
    if let (Some(b"IHDR"), Some(&[w3, w2, w1, w0, h3, h2, h1, h0])) = (bytes.get(12..16), bytes.get(16..24)) {
        let side = |b| u32::from_be_bytes(b) as usize;
        check_size(Format::Png, (side([w3, w2, w1, w0]), side([h3, h2, h1, h0])), bytes.len(), limits)?;
    }
    let mut room = image::Limits::no_limits();
    room.max_alloc = Some(DECODER_ROOM);
    decode(Format::Png, bytes, limits, || PngDecoder::with_limits(Cursor::new(bytes), room))
}

fn tiff(bytes: &[u8], stated: Option<(usize, usize)>, limits: Limits) -> Result<DynamicImage, NoPhoto> {
    if let Some(size) = stated {
        // Before the decoder sees it: it stumbles over the strips of a lying header first, with words of its own.
        check_size(Format::Tiff, size, bytes.len(), limits)?;
    }
    decode(Format::Tiff, bytes, limits, || {
        let mut decoder = TiffDecoder::new(Cursor::new(bytes))?;
        let mut room = image::Limits::no_limits();
        // Four inks take more than the colours they become, and one strip may be the whole picture.
        room.max_alloc = Some(decoder.total_bytes().saturating_mul(3).saturating_add(DECODER_ROOM));
        decoder.set_limits(room)?;
        Ok(decoder)
    })
}

fn webp(bytes: &[u8], limits: Limits) -> Result<DynamicImage, NoPhoto> {
    if let Some(&[a, b, c, d]) = bytes.get(4..8) {
        let stated = u64::from(u32::from_le_bytes([a, b, c, d])) + 8;
        // Some writers leave out the last byte of padding.
        if (bytes.len() as u64) + 1 < stated {
            let seen = format!("it has {} of {stated} bytes", bytes.len());
            return Err(NoPhoto::Truncated { format: Format::WebP, seen });
        }
    }
    decode(Format::WebP, bytes, limits, || WebPDecoder::new(Cursor::new(bytes)))
}

/// Opens a decoder, checks the size, decodes.
fn decode<D: ImageDecoder>(
    format: Format,
    bytes: &[u8],
    limits: Limits,
    open: impl FnOnce() -> image::ImageResult<D>,
) -> Result<DynamicImage, NoPhoto> {
    let reason = |e| refusal(format, bytes.len(), e);
    let decoder = open().map_err(reason)?;
    let (width, height) = decoder.dimensions();
    check_size(format, (width as usize, height as usize), bytes.len(), limits)?;
    ask_memory(decoder.total_bytes())?;
    DynamicImage::from_decoder(decoder).map_err(reason)
}

/// The size against the limits, and against what a file of `bytes` can hold.
pub(super) fn check_size(
    format: Format,
    (width, height): (usize, usize),
    bytes: usize,
    limits: Limits,
) -> Result<(), NoPhoto> {
    let pixels = width as u64 * height as u64;
    if pixels > limits.pixels {
        return Err(NoPhoto::TooLarge { width, height, limit: limits.pixels });
    }
    if width < SMALLEST_SIDE || height < SMALLEST_SIDE {
        return Err(NoPhoto::TooSmall { width, height });
    }
    if pixels > most_pixels_a_byte(format).saturating_mul(bytes as u64) {
        return Err(NoPhoto::Hollow { format, width, height, bytes });
    }
    Ok(())
}

/// Upper bound on the pixels that one byte of a file can stand for.
///
/// JPEG: a block of 8 x 8 takes at least one bit (T.81 F.1.2.1: the code of its DC difference), 512 pixels a byte.
/// PNG: deflate expands at most 1032 times (258 bytes from two bits, RFC 1951), and a byte holds 8 pixels of one bit.
/// TIFF: LZW beside it: a code of 12 bits stands for at most 4096 bytes, 2731 a byte. WebP, run-length BMP, HEVC and AV1 code even
/// areas in next to nothing: no bound.
fn most_pixels_a_byte(format: Format) -> u64 {
    match format {
        Format::Jpeg => 512,
        Format::Png => 1032 * 8,
        Format::Tiff => 2731 * 8,
        Format::WebP | Format::Bmp | Format::Heic | Format::Avif => u64::MAX,
    }
}

/// Asks for the memory and gives it back: the decoder's own asking would end the program where there is none.
pub(super) fn ask_memory(bytes: u64) -> Result<(), NoPhoto> {
    let refused = NoPhoto::Memory { bytes };
    let Ok(wanted) = usize::try_from(bytes) else { return Err(refused) };
    Vec::<u8>::new().try_reserve_exact(wanted).map_err(|_| refused)
}

/// The decoder's error in words for the user.
fn refusal(format: Format, bytes: usize, error: ImageError) -> NoPhoto {
    let one_line = |e: &dyn std::error::Error| e.to_string().replace('\n', " ");
    match error {
        ImageError::IoError(e) if e.kind() == ErrorKind::UnexpectedEof => {
            NoPhoto::Truncated { format, seen: format!("it ends after {bytes} bytes, before the picture does") }
        }
        ImageError::Unsupported(e) => {
            let reason = match e.kind() {
                UnsupportedErrorKind::Color(color) => format!("samples of kind {color:?}"),
                UnsupportedErrorKind::GenericFeature(what) => what.clone(),
                _ => one_line(&e),
            };
            NoPhoto::Variant { format, reason }
        }
        ImageError::Decoding(e) => {
            let cause = std::error::Error::source(&e).map_or_else(|| one_line(&e), one_line);
            NoPhoto::Damaged { format, reason: cause }
        }
        other => NoPhoto::Damaged { format, reason: one_line(&other) },
    }
}

/// The samples of a decoded picture without its transparency, and whether there was any.
fn samples(format: Format, picture: DynamicImage) -> Result<(Pixels, bool), NoPhoto> {
    Ok(match picture {
        DynamicImage::ImageLuma8(p) => (Pixels::Grey8(p.into_raw()), false),
        DynamicImage::ImageRgb8(p) => (Pixels::Rgb8(p.into_raw()), false),
        DynamicImage::ImageLuma16(p) => (Pixels::Grey16(p.into_raw()), false),
        DynamicImage::ImageRgb16(p) => (Pixels::Rgb16(p.into_raw()), false),
        DynamicImage::ImageLumaA8(p) => {
            let (v, transparent) = without_alpha::<_, 2>(p.into_raw(), u8::MAX);
            (Pixels::Grey8(v), transparent)
        }
        DynamicImage::ImageRgba8(p) => {
            let (v, transparent) = without_alpha::<_, 4>(p.into_raw(), u8::MAX);
            (Pixels::Rgb8(v), transparent)
        }
        DynamicImage::ImageLumaA16(p) => {
            let (v, transparent) = without_alpha::<_, 2>(p.into_raw(), u16::MAX);
            (Pixels::Grey16(v), transparent)
        }
        DynamicImage::ImageRgba16(p) => {
            let (v, transparent) = without_alpha::<_, 4>(p.into_raw(), u16::MAX);
            (Pixels::Rgb16(v), transparent)
        }
        other => {
            return Err(NoPhoto::Variant { format, reason: format!("samples of kind {:?}", other.color()) });
        }
    })
}

/// Samples of `N` channels closed up to `N - 1` in place, and whether any pixel was not opaque.
fn without_alpha<T: Copy + PartialEq, const N: usize>(mut samples: Vec<T>, opaque: T) -> (Vec<T>, bool) {
    let pixels = samples.len() / N;
    let mut transparent = false;
    for pixel in 0..pixels {
        transparent |= samples[pixel * N + N - 1] != opaque;
        samples.copy_within(pixel * N..pixel * N + N - 1, pixel * (N - 1));
    }
    samples.truncate(pixels * (N - 1));
    samples.shrink_to_fit();
    (samples, transparent)
}
