//! Photo files: every format, depth and orientation shows the same picture; what is no photo is
//! refused with a reason and a way out.

#![allow(clippy::unwrap_used, reason = "a test ends at the first thing that is missing")]

use image::codecs::{jpeg::JpegEncoder, png::PngEncoder, webp::WebPEncoder};
use image::{DynamicImage, ExtendedColorType, ImageEncoder, ImageFormat, RgbImage};
use little_exif::{exif_tag::ExifTag, filetype::FileExtension, metadata::Metadata as Tags, rational::uR64};
use std::io::Cursor;
use trajet::photo::{Limits, Mix, NoPhoto, Photo, Pixels, read};

const WIDTH: usize = 96;
const HEIGHT: usize = 64;

/// A smooth picture without any symmetry, so that no wrong turn looks right.
fn colour(x: usize, y: usize) -> [u8; 3] {
    let (u, v) = (x as f64 / WIDTH as f64, y as f64 / HEIGHT as f64);
    let dot = 60.0 * (-((u - 0.25).powi(2) + (v - 0.3).powi(2)) / 0.02).exp();
    [40.0 + 120.0 * u + dot, 60.0 + 100.0 * v + dot, 200.0 - 80.0 * u - 50.0 * v + dot].map(|s| s as u8)
}

fn drawn() -> RgbImage {
    RgbImage::from_fn(WIDTH as u32, HEIGHT as u32, |x, y| image::Rgb(colour(x as usize, y as usize)))
}

/// The picture as a camera would store it, held so that `orientation` shows it upright. The turns are those
/// of the `image` crate, which shares no code with ours.
fn stored(orientation: u8) -> DynamicImage {
    let upright = DynamicImage::ImageRgb8(drawn());
    match orientation {
        2 => upright.fliph(),
        3 => upright.rotate180(),
        4 => upright.flipv(),
        5 => upright.rotate90().fliph(),
        6 => upright.rotate270(),
        7 => upright.rotate270().fliph(),
        8 => upright.rotate90(),
        _ => upright,
    }
}

fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut out = Cursor::new(Vec::new());
    match format {
        ImageFormat::Jpeg => picture.write_with_encoder(JpegEncoder::new_with_quality(&mut out, 97)).unwrap(),
        _ => picture.write_to(&mut out, format).unwrap(),
    }
    out.into_inner()
}

/// `jpeg` with the tags put in by another program's hand.
fn tagged(mut jpeg: Vec<u8>, tags: impl IntoIterator<Item = ExifTag>) -> Vec<u8> {
    let mut all = Tags::new();
    for tag in tags {
        all.set_tag(tag);
    }
    all.write_to_vec(&mut jpeg, FileExtension::JPEG).unwrap();
    jpeg
}

/// A TIFF-headed block of tags with an orientation alone, as PNG and WebP carry it.
fn orientation_block(orientation: u8) -> Vec<u8> {
    let mut block = b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    block.extend([orientation, 0, 0, 0, 0, 0, 0]);
    block
}

fn photo(bytes: &[u8]) -> Photo {
    read(bytes, Limits::default()).unwrap().value
}

fn refused(bytes: &[u8]) -> String {
    let said = read(bytes, Limits::default()).expect_err("refused").to_string();
    assert!(said.contains(';'), "a refusal says what to do: {said}");
    said
}

/// The largest difference to the drawn picture in any colour, on the scale of 0 to 255.
fn worst(photo: &Photo) -> f32 {
    assert_eq!((photo.width, photo.height), (WIDTH, HEIGHT));
    let mut worst: f32 = 0.0;
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            for (a, b) in photo.rgb(x, y).into_iter().zip(colour(x, y)) {
                worst = worst.max((a * 255.0 - f32::from(b)).abs());
            }
        }
    }
    worst
}

#[test]
fn every_orientation_shows_the_same_picture_in_every_format() {
    for orientation in 1..=8 {
        let picture = stored(orientation);
        let (w, h) = (picture.width(), picture.height());
        let jpeg =
            photo(&tagged(encoded(&picture, ImageFormat::Jpeg), [ExifTag::Orientation(vec![orientation.into()])]));
        // Quality 97 with full colour resolution: measured 3 of 255 at most.
        assert!(worst(&jpeg) <= 4.0, "JPEG {orientation}: {}", worst(&jpeg));

        let mut png = Vec::new();
        let mut encoder = PngEncoder::new(&mut png);
        encoder.set_exif_metadata(orientation_block(orientation)).unwrap();
        encoder.write_image(picture.as_bytes(), w, h, ExtendedColorType::Rgb8).unwrap();
        let png = photo(&png);
        assert_eq!(worst(&png), 0.0, "PNG {orientation}");

        let mut webp = Vec::new();
        let mut encoder = WebPEncoder::new_lossless(&mut webp);
        encoder.set_exif_metadata(orientation_block(orientation)).unwrap();
        encoder.write_image(picture.as_bytes(), w, h, ExtendedColorType::Rgb8).unwrap();
        let webp = photo(&webp);
        assert_eq!(worst(&webp), 0.0, "WebP {orientation}");

        let tiff = photo(&tiff_file(&picture.to_rgb8(), Some(orientation)));
        assert_eq!(worst(&tiff), 0.0, "TIFF {orientation}");

        for photo in [jpeg, png, webp, tiff] {
            assert_eq!(photo.metadata.orientation, Some(orientation));
        }
    }
}

/// One entry of a TIFF directory: tag, kind, count, value.
type Entry = (u16, u16, u32, u32);

/// A TIFF written by hand: `data` from byte 8 on, then the directory.
fn tiff_of(data: &[u8], entries: &[Entry]) -> Vec<u8> {
    let mut out = b"II\x2a\0".to_vec();
    out.extend((8 + data.len() as u32).to_le_bytes());
    out.extend(data);
    out.extend((entries.len() as u16).to_le_bytes());
    for (tag, kind, count, value) in entries {
        out.extend([tag.to_le_bytes(), kind.to_le_bytes()].concat());
        out.extend([count.to_le_bytes(), value.to_le_bytes()].concat());
    }
    out.extend([0; 4]);
    out
}

/// A plain TIFF: one strip, 8-bit colour, with an orientation tag.
fn tiff_file(picture: &RgbImage, orientation: Option<u8>) -> Vec<u8> {
    let strip = picture.as_raw().len() as u32;
    let data = [picture.as_raw().as_slice(), &[8, 0, 8, 0, 8, 0]].concat();
    let mut entries: Vec<Entry> = vec![
        (256, 4, 1, picture.width()),
        (257, 4, 1, picture.height()),
        (258, 3, 3, 8 + strip),
        (259, 3, 1, 1),
        (262, 3, 1, 2),
        (273, 4, 1, 8),
        (277, 3, 1, 3),
        (278, 4, 1, picture.height()),
        (279, 4, 1, strip),
    ];
    if let Some(orientation) = orientation {
        entries.insert(6, (274, 3, 1, orientation.into()));
    }
    tiff_of(&data, &entries)
}

#[test]
fn every_lossless_format_and_depth_gives_the_same_values() {
    let rgb8 = DynamicImage::ImageRgb8(drawn());
    let rgb16 = DynamicImage::ImageRgb16(rgb8.to_rgb16());
    let rgba8 = DynamicImage::ImageRgba8(rgb8.to_rgba8());
    let rgba16 = DynamicImage::ImageRgba16(rgb8.to_rgba16());
    for (picture, formats) in [
        (&rgb8, &[ImageFormat::Png, ImageFormat::Tiff, ImageFormat::WebP, ImageFormat::Bmp][..]),
        (&rgb16, &[ImageFormat::Png, ImageFormat::Tiff]),
        (&rgba8, &[ImageFormat::Png, ImageFormat::Tiff, ImageFormat::WebP, ImageFormat::Bmp]),
        (&rgba16, &[ImageFormat::Png, ImageFormat::Tiff]),
    ] {
        for &format in formats {
            let read = read(&encoded(picture, format), Limits::default()).unwrap();
            assert!(worst(&read.value) < 1e-3, "{format:?} {:?}", picture.color());
            assert_eq!(read.notices, [], "{format:?} {:?}", picture.color());
            let deep = matches!(read.value.pixels, Pixels::Rgb16(_));
            assert_eq!(deep, matches!(picture, DynamicImage::ImageRgb16(_) | DynamicImage::ImageRgba16(_)));
        }
    }
}

#[test]
fn grey_stays_grey_at_its_depth() {
    let grey8 = DynamicImage::ImageRgb8(drawn()).to_luma8();
    let grey16 = DynamicImage::ImageLuma8(grey8.clone()).to_luma16();
    let check = |picture: DynamicImage, format, tolerance: f32| {
        let photo = photo(&encoded(&picture, format));
        assert!(!photo.has_colour(), "{format:?}");
        for (x, y, pixel) in grey8.enumerate_pixels() {
            let value = photo.value(x as usize, y as usize, Mix::LUMA) * 255.0;
            assert!((value - f32::from(pixel.0[0])).abs() <= tolerance, "{format:?}");
        }
    };
    check(grey8.clone().into(), ImageFormat::Jpeg, 3.0);
    for format in [ImageFormat::Png, ImageFormat::Tiff] {
        check(grey8.clone().into(), format, 1e-3);
        check(grey16.clone().into(), format, 1e-3);
        check(DynamicImage::ImageLuma8(grey8.clone()).to_luma_alpha8().into(), ImageFormat::Png, 1e-3);
        check(DynamicImage::ImageLuma8(grey8.clone()).to_luma_alpha16().into(), ImageFormat::Png, 1e-3);
    }
}

/// The bytes of a file of `tests/photos`.
fn shipped(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/photos/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// Grey of the drawn picture as the library that wrote `tests/photos` makes it: BT.601 in 16-bit fractions.
fn shipped_grey(x: usize, y: usize) -> f32 {
    let [r, g, b] = colour(x, y).map(u32::from);
    ((r * 19595 + g * 38470 + b * 7471 + 0x8000) >> 16) as f32
}

#[test]
fn variants_written_by_another_library_show_the_same_colours() {
    for (name, tolerance) in [
        ("lzw.tif", 0.01),
        ("deflate.tif", 0.01),
        ("packbits.tif", 0.01),
        ("progressive.jpg", 4.0),
        ("restart.jpg", 4.0),
        // Half the colour resolution, or quality 75 within TIFF: measured 4.
        ("half.jpg", 6.0),
        ("lossy.webp", 6.0),
        ("jpeg.tif", 6.0),
        // Four inks without a profile: measured 1 and 0.
        ("four_inks.jpg", 2.0),
        ("four_inks.tif", 0.01),
    ] {
        let photo = photo(&shipped(name));
        assert!(worst(&photo) <= tolerance, "{name}: {}", worst(&photo));
    }
}

#[test]
fn variants_written_by_another_library_show_the_same_greys() {
    for (name, is_cut) in [
        ("grey_lzw.tif", false),
        ("grey16_deflate.tif", false),
        ("palette.png", false),
        ("bw.png", true),
        ("bw_g4.tif", true),
    ] {
        let photo = photo(&shipped(name));
        for y in 0..HEIGHT {
            for x in 0..WIDTH {
                let grey = shipped_grey(x, y);
                let truth = if is_cut { f32::from(grey > 120.0) * 255.0 } else { grey };
                let value = photo.value(x, y, Mix::LUMA) * 255.0;
                assert!((value - truth).abs() < 0.01, "{name} at {x}, {y}: {value} for {truth}");
            }
        }
    }
}

#[test]
fn tiled_tiff_is_put_together() {
    let picture = drawn();
    let (tile_w, tile_h) = (48_u32, 48_u32);
    let (mut data, mut offsets) = (Vec::new(), Vec::new());
    for (left, top) in [(0, 0), (48, 0), (0, 48), (48, 48)] {
        offsets.push(8 + data.len() as u32);
        for (x, y) in (0..tile_w * tile_h).map(|i| (left + i % tile_w, top + i / tile_w)) {
            data.extend(if y < picture.height() { picture.get_pixel(x, y).0 } else { [7; 3] });
        }
    }
    let tables = 8 + data.len() as u32;
    data.extend([8_u16, 8, 8, 0].map(u16::to_le_bytes).concat());
    offsets.iter().for_each(|offset| data.extend(offset.to_le_bytes()));
    data.extend([(tile_w * tile_h * 3).to_le_bytes(); 4].concat());
    let entries = [
        (256, 4, 1, picture.width()),
        (257, 4, 1, picture.height()),
        (258, 3, 3, tables),
        (259, 3, 1, 1),
        (262, 3, 1, 2),
        (277, 3, 1, 3),
        (322, 4, 1, tile_w),
        (323, 4, 1, tile_h),
        (324, 4, 4, tables + 8),
        (325, 4, 4, tables + 24),
    ];
    assert_eq!(worst(&photo(&tiff_of(&data, &entries))), 0.0);
}

#[test]
fn variants_that_are_not_read_say_so() {
    let float = DynamicImage::ImageRgb32F(DynamicImage::ImageRgb8(drawn()).to_rgb32f());
    let said = refused(&encoded(&float, ImageFormat::Tiff));
    assert!(said.contains("variant") && said.contains("32"), "{said}");
    let mut jpeg = encoded(&stored(1), ImageFormat::Jpeg);
    let frame = jpeg.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    jpeg[frame + 4] = 12;
    assert!(refused(&jpeg).contains("12 bits"));
    jpeg[frame + 1] = 0xc9;
    assert!(refused(&jpeg).contains("arithmetic"));
}

#[test]
fn transparency_is_left_out_and_told() {
    let mut picture = DynamicImage::ImageRgb8(drawn()).to_rgba8();
    picture.get_pixel_mut(5, 5).0[3] = 10;
    let read = read(&encoded(&picture.into(), ImageFormat::Png), Limits::default()).unwrap();
    assert_eq!(worst(&read.value), 0.0);
    assert!(read.notices[0].says.contains("transparent"), "{:?}", read.notices);
}

#[test]
fn metadata_is_read_and_nonsense_dropped() {
    let ratio = |nominator, denominator| vec![uR64 { nominator, denominator }];
    let jpeg = encoded(&stored(1), ImageFormat::Jpeg);
    let good = photo(&tagged(
        jpeg.clone(),
        [
            ExifTag::Make("Acme".into()),
            ExifTag::Model("Acme P7".into()),
            ExifTag::DateTimeOriginal("2024:02:06 14:03:22".into()),
            ExifTag::FocalLength(ratio(570, 100)),
            ExifTag::FocalLengthIn35mmFormat(vec![26]),
            ExifTag::ExposureTime(ratio(1, 500)),
            ExifTag::SubjectDistance(ratio(18, 10)),
            ExifTag::GPSLatitudeRef("S".into()),
            ExifTag::GPSLatitude([ratio(52, 1), ratio(6, 1), ratio(0, 0)].concat()),
            ExifTag::GPSAltitudeRef(vec![1]),
            ExifTag::GPSAltitude(ratio(40, 10)),
        ],
    ))
    .metadata;
    assert_eq!(good.camera.as_deref(), Some("Acme P7"));
    assert_eq!(good.taken.as_deref(), Some("2024-02-06 14:03:22"));
    assert_eq!((good.focal_length_mm, good.focal_length_35mm), (Some(5.7), Some(26.0)));
    assert_eq!((good.exposure_s, good.subject_distance_m), (Some(0.002), Some(1.8)));
    assert_eq!((good.latitude_deg, good.altitude_m), (Some(-52.1), Some(-4.0)));

    let odd = read(
        &tagged(
            jpeg,
            [
                ExifTag::Orientation(vec![9]),
                ExifTag::DateTimeOriginal("0000:00:00 00:00:00".into()),
                ExifTag::FocalLength(ratio(0, 0)),
                ExifTag::FocalLengthIn35mmFormat(vec![0]),
                ExifTag::ExposureTime(ratio(0, 1)),
                ExifTag::SubjectDistance(ratio(u32::MAX, 1)),
                ExifTag::GPSLatitudeRef("N".into()),
                ExifTag::GPSLatitude([ratio(952, 1), ratio(6, 1), ratio(0, 1)].concat()),
                ExifTag::GPSAltitude(ratio(1, 0)),
            ],
        ),
        Limits::default(),
    )
    .unwrap();
    assert_eq!(odd.value.metadata, Default::default());
    assert!(odd.notices[0].says.contains("orientation tag is 9"), "{:?}", odd.notices);
    assert!(worst(&odd.value) <= 4.0);
}

#[test]
fn what_is_no_photo_is_refused_with_a_way_out() {
    assert!(refused(b"").contains("empty"));
    assert!(refused(b"this is only named plate.jpg\n").contains("text"));
    assert!(refused(&[0x13; 40]).contains("13 13 13"));
    assert!(refused(b"\xff\xd8\xff\xd9").contains("before the size"));
    let thumbnail = DynamicImage::new_rgb8(15, 200);
    assert!(refused(&encoded(&thumbnail, ImageFormat::Png)).contains("15 x 200"));
}

#[test]
fn truncated_files_say_how_far_they_go() {
    for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::Tiff, ImageFormat::WebP, ImageFormat::Bmp] {
        let whole = encoded(&stored(1), format);
        for part in [0.02, 0.1, 0.3, 0.6, 0.9, 0.99] {
            let cut = &whole[..(whole.len() as f64 * part) as usize];
            let said = refused(cut);
            assert!(!said.contains("panicked"), "{format:?} {part}: {said}");
            if format == ImageFormat::Jpeg && part > 0.5 {
                assert!(said.contains("of 64"), "{said}");
            }
        }
    }
}

/// A PNG header that claims a size, with its checksum, and nothing behind it.
fn png_claiming(width: u32, height: u32) -> Vec<u8> {
    let mut chunk = b"IHDR".to_vec();
    chunk.extend(width.to_be_bytes());
    chunk.extend(height.to_be_bytes());
    chunk.extend([8, 2, 0, 0, 0]);
    let crc = !chunk.iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |c, _| if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 })
    });
    let mut out = b"\x89PNG\r\n\x1a\n\0\0\0\x0d".to_vec();
    out.extend(chunk);
    out.extend(crc.to_be_bytes());
    out
}

#[test]
fn headers_that_claim_too_much_are_refused_before_memory_is_asked_for() {
    let huge = png_claiming(60_000, 60_000);
    assert_eq!(
        refused(&huge),
        "the picture says it is 60000 x 60000 pixels (3600 Mpx), more than the limit of 200 Mpx; \
         crop it to the jet and its scale, or save it smaller"
    );
    assert!(matches!(read(&png_claiming(u32::MAX, u32::MAX), Limits::default()), Err(NoPhoto::TooLarge { .. })));
    assert!(refused(&png_claiming(14_000, 14_000)).contains("cannot hold"));

    let mut jpeg = encoded(&stored(1), ImageFormat::Jpeg);
    let frame = jpeg.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0xea, 0x60, 0xea, 0x60]);
    assert!(refused(&jpeg).contains("60000 x 60000"));
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0x27, 0x10, 0x27, 0x10]);
    assert!(refused(&jpeg).contains("cannot hold"));

    let mut tiff = tiff_file(&drawn(), None);
    let end = tiff.len();
    for tag in [256_u16, 257] {
        let at = (0..end - 12).rev().find(|&i| tiff[i..i + 4] == [tag as u8, 1, 4, 0]).unwrap();
        tiff[at + 8..at + 12].copy_from_slice(&60_000_u32.to_le_bytes());
    }
    assert!(refused(&tiff).contains("60000 x 60000"));

    let small = Limits { pixels: 96 * 64 - 1 };
    let said = read(&encoded(&stored(1), ImageFormat::Png), small).unwrap_err();
    assert_eq!(said, NoPhoto::TooLarge { width: 96, height: 64, limit: 6143 });
    assert!(read(&encoded(&stored(1), ImageFormat::Png), Limits { pixels: 96 * 64 }).is_ok());
}

/// Bytes changed at random, from a stated seed: whatever comes of it, no panic.
#[test]
fn damaged_bytes_never_panic() {
    let mut state = 20_240_206_u64;
    let mut next = move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize
    };
    let limits = Limits { pixels: 1_000_000 };
    for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::Tiff, ImageFormat::WebP, ImageFormat::Bmp] {
        let whole = encoded(&stored(1), format);
        for round in 0..120 {
            let mut bytes = whole.clone();
            let reach = if round % 2 == 0 { bytes.len() } else { bytes.len().min(600) };
            for _ in 0..1 + next() % 4 {
                let at = next() % reach;
                bytes[at] = next() as u8;
            }
            if let Err(refusal) = read(&bytes, limits) {
                assert!(!refusal.to_string().is_empty());
            }
        }
    }
}
