//! HEIC, the format that phones make by default: HEVC pictures (ITU-T H.265) in the HEIF container (ISO/IEC 23008-12).
//!
//! The container's own crop, rotation and mirror are part of the picture and applied by the decoder. The orientation
//! tag in the metadata repeats them and is left alone: HEIF 6.5.10 and 6.5.12 make the container's word the one that counts.

use super::decode::{Limits, ask_memory, check_size};
use super::format::Format;
use super::no_photo::NoPhoto;
use heifer::heifer_isobmff::{self as container, HeifFile, ItemId};
use heifer::{Error, Options};
use image::{DynamicImage, ImageBuffer};

/// Bytes of a decoded pixel with the decoder's own planes beside it: four samples of 16 bits, and three of the planes.
const BYTES_A_PIXEL: u64 = 14;

/// The picture of the file `bytes` as displayed: its main one, where it holds several.
pub(super) fn decode(bytes: &[u8], limits: Limits) -> Result<DynamicImage, NoPhoto> {
    let length = bytes.len();
    let file = HeifFile::parse(bytes).map_err(|e| refusal(length, e.into()))?;
    let main = file.primary_id;
    let stated = file.image_size(main).map_err(|e| refusal(length, e.into()))?;
    let (width, height) = stated.ok_or_else(|| damaged("the size of the picture is missing"))?;
    check_size(Format::Heic, (width as usize, height as usize), length, limits)?;
    ask_memory(u64::from(width) * u64::from(height) * BYTES_A_PIXEL)?;
    let options = Options { max_pixels: limits.pixels, ..Options::default() };
    let lost = || damaged("the picture has fewer samples than its size says");
    if is_deep(&file, main) {
        let picture = heifer::decode_with_options(bytes, &options).map_err(|e| refusal(length, e))?;
        let most = u32::from(picture.max_value().max(1));
        let full = |v: u16| ((u32::from(v.min(picture.max_value())) * 65535 + most / 2) / most) as u16;
        let samples = picture.data.iter().map(|v| full(*v)).collect();
        let all = ImageBuffer::from_raw(picture.width, picture.height, samples).ok_or_else(lost)?;
        return Ok(DynamicImage::ImageRgba16(all));
    }
    let picture = heifer::decode_rgba8(bytes, &options).map_err(|e| refusal(length, e))?;
    let all = ImageBuffer::from_raw(picture.width, picture.height, picture.data).ok_or_else(lost)?;
    Ok(DynamicImage::ImageRgba8(all))
}

/// Whether the picture, or the first of its tiles, has more than 8 bits a sample.
fn is_deep(file: &HeifFile, item: ItemId) -> bool {
    let first_tile = file.referenced_items(item, b"dimg").first().copied();
    let config = |id| file.hevc_config(id).ok().flatten();
    let found = config(item).or_else(|| first_tile.and_then(config));
    found.is_some_and(|c| c.bit_depth_luma > 8)
}

fn damaged(reason: &str) -> NoPhoto {
    NoPhoto::Damaged { format: Format::Heic, reason: reason.to_owned() }
}

/// The decoder's error in words for the user.
fn refusal(bytes: usize, error: Error) -> NoPhoto {
    let format = Format::Heic;
    match error {
        Error::Container(container::Error::UnexpectedEof) => {
            NoPhoto::Truncated { format, seen: format!("it ends after {bytes} bytes, before the picture does") }
        }
        Error::Container(container::Error::Unimplemented(what)) => NoPhoto::Variant { format, reason: what.to_owned() },
        Error::Unsupported(reason) => NoPhoto::Variant { format, reason },
        other => NoPhoto::Damaged { format, reason: other.to_string().replace('\n', " ") },
    }
}
