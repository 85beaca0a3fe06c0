//! AVIF: AV1 pictures (AOM, AV1 Image File Format 1.1) in the HEIF container (ISO/IEC 23008-12).
//!
//! ```text
//! container   main item, or the tiles of its grid      AV1 decoder: planes of 8, 10 or 12 bits
//! planes      chroma brought to every pixel, then the matrix of ITU-T H.273 to red, green, blue
//! transforms  crop, rotation, mirror of the container, in this order: the picture as displayed
//! ```
//! The orientation tag in the metadata repeats the container's turn and is left alone, as in HEIC.

use super::decode::{Limits, ask_memory, check_size};
use super::format::Format;
use super::no_photo::NoPhoto;
use heifer::heifer_isobmff::boxes::{ColorInfo, Property};
use heifer::heifer_isobmff::{self as container, HeifFile, ItemId};
use image::{DynamicImage, GenericImage, ImageBuffer, imageops};
use re_rav1d::dav1d::{Decoder, Error, Picture, PixelLayout, PlanarImageComponent as Plane, Settings, pixel};

/// Bytes of a decoded pixel with the decoder's own planes beside it: three samples of 16 bits, and three of the planes.
const BYTES_A_PIXEL: u64 = 12;

/// The picture of the file `bytes` as displayed: its main one, where it holds several.
pub(super) fn decode(bytes: &[u8], limits: Limits) -> Result<DynamicImage, NoPhoto> {
    let contained = |e: container::Error| match e {
        container::Error::UnexpectedEof => NoPhoto::Truncated {
            format: Format::Avif,
            seen: format!("it ends after {} bytes, before the picture does", bytes.len()),
        },
        other => damaged(other.to_string().replace('\n', " ")),
    };
    let file = HeifFile::parse(bytes).map_err(contained)?;
    let main = file.primary_id;
    let stated = file.image_size(main).map_err(contained)?;
    let (width, height) = stated.ok_or_else(|| damaged("the size of the picture is missing"))?;
    check_size(Format::Avif, (width as usize, height as usize), bytes.len(), limits)?;
    ask_memory(u64::from(width) * u64::from(height) * BYTES_A_PIXEL)?;
    let is_grid = file.item(main).map_err(contained)?.item_type.0 == *b"grid";
    let stored = if is_grid {
        let grid = file.grid(main).map_err(contained)?;
        let tiles = file.referenced_items(main, b"dimg");
        let (columns, rows) = (u32::from(grid.columns), u32::from(grid.rows));
        if tiles.len() < (columns * rows) as usize {
            return Err(damaged(format!("{} tiles of {}", tiles.len(), columns * rows)));
        }
        if (grid.output_width, grid.output_height) != (width, height) {
            return Err(damaged("the grid of tiles is not of the picture's size"));
        }
        let mut whole: Option<DynamicImage> = None;
        for (i, tile) in (0..columns * rows).zip(tiles) {
            let tile = item(&file, *tile, limits, contained)?;
            let whole = whole.get_or_insert_with(|| DynamicImage::new(width, height, tile.color()));
            let (x, y) = (i % columns * tile.width(), i / columns * tile.height());
            let (w, h) = (tile.width().min(width.saturating_sub(x)), tile.height().min(height.saturating_sub(y)));
            whole
                .copy_from(&tile.crop_imm(0, 0, w, h), x.min(width), y.min(height))
                .map_err(|e| damaged(e.to_string()))?;
        }
        whole.ok_or_else(|| damaged("a grid without tiles"))?
    } else {
        item(&file, main, limits, contained)?
    };
    if !is_grid && (stored.width(), stored.height()) != (width, height) {
        return Err(damaged(format!(
            "the picture has {} x {} px where the container says {width} x {height}",
            stored.width(),
            stored.height()
        )));
    }
    as_displayed(&file, main, stored)
}

/// One coded item as red, green and blue, or grey.
fn item(
    file: &HeifFile<'_>,
    id: ItemId,
    limits: Limits,
    contained: impl Fn(container::Error) -> NoPhoto,
) -> Result<DynamicImage, NoPhoto> {
    let coded = file.item_data(id).map_err(&contained)?.into_owned();
    if coded.is_empty() {
        return Err(damaged("a coded picture without data"));
    }
    let picture = av1(coded, limits)?;
    let nclx = file.item_properties(id).map_err(contained)?.find_map(|p| match p {
        Property::Color(ColorInfo::Nclx { matrix, full_range, .. }) => Some((*matrix, *full_range)),
        _ => None,
    });
    colours(&picture, nclx)
}

/// The first picture of an AV1 stream.
fn av1(coded: Vec<u8>, limits: Limits) -> Result<Picture, NoPhoto> {
    let failed = |e: Error| match e {
        Error::UnsupportedBitstream => NoPhoto::Variant {
            format: Format::Avif,
            reason: "a kind of AV1 stream that the decoder does not know".into(),
        },
        Error::Again => NoPhoto::Truncated { format: Format::Avif, seen: "the coded picture is not whole".into() },
        other => damaged(other.to_string()),
    };
    let mut settings = Settings::new();
    // on one thread the same bytes always take the same way
    settings.set_n_threads(1);
    settings.set_max_frame_delay(1);
    settings.set_frame_size_limit(u32::try_from(limits.pixels).unwrap_or(u32::MAX));
    let mut decoder = Decoder::with_settings(&settings).map_err(failed)?;
    match decoder.send_data(coded, None, None, None) {
        Ok(()) | Err(Error::Again) => {}
        Err(e) => return Err(failed(e)),
    }
    decoder.get_picture().map_err(failed)
}

/// Weights of red and blue in the luma of a matrix of ITU-T H.273, table 4; `None` for one that is not linear in them.
fn luma_weights(matrix: u16) -> Option<(f64, f64)> {
    match matrix {
        1 => Some((0.2126, 0.0722)),
        // 2: not stated; what cameras and encoders take then
        2 | 5 | 6 => Some((0.299, 0.114)),
        9 => Some((0.2627, 0.0593)),
        _ => None,
    }
}

/// Planes to colours: H.273 equations for narrow and full range, chroma brought to every pixel by linear interpolation between
/// samples that lie amid the pixels they stand for.
fn colours(picture: &Picture, nclx: Option<(u16, bool)>) -> Result<DynamicImage, NoPhoto> {
    let unknown = |reason: String| NoPhoto::Variant { format: Format::Avif, reason };
    let bits = picture.bits_per_component().map_or(8, |b| b.0);
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let most = ((1_u32 << bits) - 1) as f64;
    let (matrix, full) =
        nclx.unwrap_or((picture.matrix_coefficients() as u16, picture.color_range() == pixel::YUVRange::Full));
    let unit = (1_u32 << (bits - 8)) as f64;
    let (black, luma_span, chroma_span) =
        if full { (0.0, most, most) } else { (16.0 * unit, 219.0 * unit, 224.0 * unit) };
    let luma = Samples::of(picture, Plane::Y, bits);
    let grey = |x: usize, y: usize| (luma.at(x, y) - black) / luma_span;
    let layout = picture.pixel_layout();
    if layout == PixelLayout::I400 {
        return packed(width, height, bits, 1, |x, y| [grey(x, y); 3]);
    }
    let (u, v) = (Samples::of(picture, Plane::U, bits), Samples::of(picture, Plane::V, bits));
    let (half_x, half_y) = (layout != PixelLayout::I444, layout == PixelLayout::I420);
    if matrix == 0 {
        // the planes are green, blue and red themselves
        if half_x {
            return Err(unknown("colours stored as they are, at half resolution".into()));
        }
        let plain = |p: &Samples, x, y| (p.at(x, y) - black) / luma_span;
        return packed(width, height, bits, 3, |x, y| [plain(&v, x, y), grey(x, y), plain(&u, x, y)]);
    }
    let (red, blue) = luma_weights(matrix).ok_or_else(|| unknown(format!("colours coded by matrix {matrix}")))?;
    let middle = (1_u32 << (bits - 1)) as f64;
    let chroma = |p: &Samples, x: usize, y: usize| (p.between(x, y, half_x, half_y) - middle) / chroma_span;
    packed(width, height, bits, 3, |x, y| {
        let (y_, cb, cr) = (grey(x, y), chroma(&u, x, y), chroma(&v, x, y));
        let (r, b) = (y_ + 2.0 * (1.0 - red) * cr, y_ + 2.0 * (1.0 - blue) * cb);
        [r, (y_ - red * r - blue * b) / (1.0 - red - blue), b]
    })
}

/// One plane of a picture.
struct Samples {
    values: Vec<u16>,
    stride: usize,
    width: usize,
    height: usize,
}

impl Samples {
    fn of(picture: &Picture, plane: Plane, bits: usize) -> Self {
        let (stride_bytes, height) = picture.plane_data_geometry(plane);
        let layout = picture.pixel_layout();
        let halved = plane != Plane::Y && matches!(layout, PixelLayout::I420 | PixelLayout::I422);
        let width = (picture.width() as usize).div_ceil(if halved { 2 } else { 1 });
        let bytes = picture.plane(plane);
        let values: Vec<u16> = if bits == 8 {
            bytes.iter().map(|b| u16::from(*b)).collect()
        } else {
            bytes.as_chunks::<2>().0.iter().map(|b| u16::from_ne_bytes(*b)).collect()
        };
        let stride = stride_bytes as usize / if bits == 8 { 1 } else { 2 };
        Self { values, stride, width, height: height as usize }
    }

    fn at(&self, x: usize, y: usize) -> f64 {
        f64::from(self.values[y.min(self.height - 1) * self.stride + x.min(self.width - 1)])
    }

    /// The value at a pixel of the whole picture, of a plane at half its resolution along x, or along both.
    fn between(&self, x: usize, y: usize, half_x: bool, half_y: bool) -> f64 {
        // pixel 2k lies a quarter of a sample before sample k, pixel 2k + 1 a quarter after it
        let near = |i: usize, half: bool| match (half, i % 2) {
            (false, _) => (i, i, 0.0),
            (true, 0) => (i / 2, (i / 2).saturating_sub(1), 0.25),
            (true, _) => (i / 2, i / 2 + 1, 0.25),
        };
        let ((x0, x1, fx), (y0, y1, fy)) = (near(x, half_x), near(y, half_y));
        let row = |y: usize| self.at(x0, y) * (1.0 - fx) + self.at(x1, y) * fx;
        row(y0) * (1.0 - fy) + row(y1) * fy
    }
}

/// Pixels of `channels` each, 0 to 1, as 8 or 16 bits.
fn packed(
    width: usize,
    height: usize,
    bits: usize,
    channels: usize,
    at: impl Fn(usize, usize) -> [f64; 3],
) -> Result<DynamicImage, NoPhoto> {
    let lost = || damaged("the picture has fewer samples than its size says");
    let (w, h) = (width as u32, height as u32);
    let all = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
    if bits == 8 {
        let byte = |v: f64| (255.0 * v.clamp(0.0, 1.0)).round() as u8;
        let samples: Vec<u8> = all.flat_map(|(x, y)| at(x, y).into_iter().take(channels).map(byte)).collect();
        return match channels {
            1 => ImageBuffer::from_raw(w, h, samples).map(DynamicImage::ImageLuma8),
            _ => ImageBuffer::from_raw(w, h, samples).map(DynamicImage::ImageRgb8),
        }
        .ok_or_else(lost);
    }
    let word = |v: f64| (65535.0 * v.clamp(0.0, 1.0)).round() as u16;
    let samples: Vec<u16> = all.flat_map(|(x, y)| at(x, y).into_iter().take(channels).map(word)).collect();
    match channels {
        1 => ImageBuffer::from_raw(w, h, samples).map(DynamicImage::ImageLuma16),
        _ => ImageBuffer::from_raw(w, h, samples).map(DynamicImage::ImageRgb16),
    }
    .ok_or_else(lost)
}

/// Crop, rotation and mirror of the container: ISO/IEC 23008-12, 6.5.9, 6.5.10 and 6.5.12, in the order of MIAF (ISO/IEC 23000-22).
fn as_displayed(file: &HeifFile<'_>, main: ItemId, stored: DynamicImage) -> Result<DynamicImage, NoPhoto> {
    let properties: Vec<&Property> = file.item_properties(main).map_err(|e| damaged(e.to_string()))?.collect();
    let mut picture = stored;
    for property in &properties {
        if let Property::CleanAperture { width, height, horiz_offset, vert_offset } = property {
            picture = cropped(&picture, (*width, *horiz_offset), (*height, *vert_offset))?;
        }
    }
    for property in &properties {
        if let Property::Rotation(quarters) = property {
            picture = match quarters {
                1 => picture.rotate270(),
                2 => picture.rotate180(),
                3 => picture.rotate90(),
                _ => picture,
            };
        }
    }
    for property in &properties {
        match property {
            Property::Mirror(true) => imageops::flip_vertical_in_place(&mut picture),
            Property::Mirror(false) => imageops::flip_horizontal_in_place(&mut picture),
            _ => {}
        }
    }
    Ok(picture)
}

type Fraction<T> = (T, u32);

/// The part about the picture's middle that the container shows, in whole pixels.
fn cropped(
    picture: &DynamicImage,
    (width, right): (Fraction<u32>, Fraction<i32>),
    (height, down): (Fraction<u32>, Fraction<i32>),
) -> Result<DynamicImage, NoPhoto> {
    let side = |whole: u32, kept: Fraction<u32>, off: Fraction<i32>| -> Option<(u32, u32)> {
        let (kept, off) = (f64::from(kept.0) / f64::from(kept.1), f64::from(off.0) / f64::from(off.1));
        let from = (0.5 * (f64::from(whole) - kept) + off).round();
        let sound = kept >= 1.0 && from >= 0.0 && from + kept.round() <= f64::from(whole);
        sound.then_some((from as u32, kept.round() as u32))
    };
    let (x, y) = side(picture.width(), width, right)
        .zip(side(picture.height(), height, down))
        .ok_or_else(|| damaged("the container crops more than there is"))?;
    Ok(picture.crop_imm(x.0, y.0, x.1, y.1))
}

fn damaged(reason: impl Into<String>) -> NoPhoto {
    NoPhoto::Damaged { format: Format::Avif, reason: reason.into() }
}
