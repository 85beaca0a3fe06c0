//! One photo in every format, depth and orientation: the same stations come out of it.

use crate::support::drawn::{Drawn, measured};
use image::codecs::{jpeg::JpegEncoder, png::PngEncoder, webp::WebPEncoder};
use image::{DynamicImage, ExtendedColorType, ImageEncoder, ImageFormat, RgbImage};
use std::io::Cursor;
use std::sync::OnceLock;
use trajet::photo::{Limits, Photo, Pixels, read};
use trajet::point::PixelPoint;

fn drawn() -> Drawn {
    Drawn { size: (640, 400), orifice: PixelPoint::new(40.0, 60.0), speed_m_s: 1.9, ..Drawn::default() }
}

/// A drawn jet in 8-bit colour, tinted so that no two channels are alike.
fn tinted(photo: &Photo) -> DynamicImage {
    let Pixels::Grey16(grey) = &photo.pixels else { panic!("drawn photos are 16-bit grey") };
    let tinted = |i: usize| [0.9, 1.0, 0.8].map(|tint| (f64::from(grey[i]) / 257.0 * tint).round() as u8);
    let (w, h) = (photo.width as u32, photo.height as u32);
    DynamicImage::ImageRgb8(RgbImage::from_fn(w, h, |x, y| image::Rgb(tinted((y * w + x) as usize))))
}

fn picture() -> &'static DynamicImage {
    static PICTURE: OnceLock<DynamicImage> = OnceLock::new();
    PICTURE.get_or_init(|| tinted(&drawn().photo()))
}

/// As a camera stores it so that `orientation` shows it upright; the turns are those of the `image` crate.
fn stored(orientation: u8) -> DynamicImage {
    let upright = picture();
    match orientation {
        2 => upright.fliph(),
        3 => upright.rotate180(),
        4 => upright.flipv(),
        5 => upright.rotate90().fliph(),
        6 => upright.rotate270(),
        7 => upright.rotate270().fliph(),
        8 => upright.rotate90(),
        _ => upright.clone(),
    }
}

/// A block of tags with an orientation alone (Exif 2.32, TIFF 6.0).
fn tags(orientation: u8) -> Vec<u8> {
    let mut block = b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    block.extend([orientation, 0, 0, 0, 0, 0, 0]);
    block
}

fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut out = Cursor::new(Vec::new());
    picture.write_to(&mut out, format).unwrap();
    out.into_inner()
}

fn written(picture: &DynamicImage, orientation: u8, encode: impl Fn(&mut Vec<u8>, Vec<u8>, &DynamicImage)) -> Vec<u8> {
    let mut out = Vec::new();
    encode(&mut out, tags(orientation), picture);
    out
}

fn as_png(orientation: u8) -> Vec<u8> {
    written(&stored(orientation), orientation, |out, tags, picture| {
        let mut encoder = PngEncoder::new(out);
        encoder.set_exif_metadata(tags).unwrap();
        encoder.write_image(picture.as_bytes(), picture.width(), picture.height(), ExtendedColorType::Rgb8).unwrap();
    })
}

/// TIFF 6.0, one strip of plain colours: image width, length, bits, compression, photometric, strip, orientation, samples.
fn as_tiff(orientation: u8) -> Vec<u8> {
    let picture = stored(orientation);
    let (w, h) = (picture.width(), picture.height());
    let entries: [(u16, u16, u32, u32); 11] = [
        (256, 4, 1, w),
        (257, 4, 1, h),
        (258, 3, 3, 146),
        (259, 3, 1, 1),
        (262, 3, 1, 2),
        (273, 4, 1, 152),
        (274, 3, 1, u32::from(orientation)),
        (277, 3, 1, 3),
        (278, 4, 1, h),
        (279, 4, 1, 3 * w * h),
        (284, 3, 1, 1),
    ];
    let mut out = b"II\x2a\0\x08\0\0\0".to_vec();
    out.extend((entries.len() as u16).to_le_bytes());
    for (tag, kind, count, value) in entries {
        out.extend([tag.to_le_bytes(), kind.to_le_bytes()].concat());
        out.extend([count.to_le_bytes(), value.to_le_bytes()].concat());
    }
    out.extend([0; 4]);
    assert_eq!(out.len(), 146);
    out.extend([8_u16; 3].map(u16::to_le_bytes).concat());
    out.extend(picture.as_bytes());
    out
}

fn as_webp(orientation: u8) -> Vec<u8> {
    written(&stored(orientation), orientation, |out, tags, picture| {
        let mut encoder = WebPEncoder::new_lossless(out);
        encoder.set_exif_metadata(tags).unwrap();
        encoder.write_image(picture.as_bytes(), picture.width(), picture.height(), ExtendedColorType::Rgb8).unwrap();
    })
}

fn as_jpeg(orientation: u8, quality: u8) -> Vec<u8> {
    written(&stored(orientation), orientation, |out, tags, picture| {
        let mut encoder = JpegEncoder::new_with_quality(out, quality);
        encoder.set_exif_metadata(tags).unwrap();
        encoder.write_image(picture.as_bytes(), picture.width(), picture.height(), ExtendedColorType::Rgb8).unwrap();
    })
}

fn stations(bytes: &[u8]) -> Vec<PixelPoint> {
    let photo: Photo = read(bytes, Limits::default()).unwrap().value;
    let found = measured(&drawn().sheet(""), &[photo], None).unwrap();
    found.stations.iter().map(|s| s.px.into()).collect()
}

/// The largest and the root mean square distance of stations from those of the uncompressed picture; they are as many.
fn apart(bytes: &[u8]) -> (f64, f64) {
    static TRUE: OnceLock<Vec<PixelPoint>> = OnceLock::new();
    let truth = TRUE.get_or_init(|| stations(&encoded(picture(), ImageFormat::Bmp)));
    let seen = stations(bytes);
    assert!(truth.len() > 40 && seen.len() == truth.len(), "{} stations for {}", seen.len(), truth.len());
    let off: Vec<f64> = seen.iter().zip(truth).map(|(a, b)| a.distance(*b)).collect();
    let rms = (off.iter().map(|d| d * d).sum::<f64>() / off.len() as f64).sqrt();
    (off.into_iter().fold(0.0, f64::max), rms)
}

#[test]
fn every_lossless_format_and_depth_gives_the_same_stations() {
    let deep = DynamicImage::ImageRgb16(picture().to_rgb16());
    for (name, bytes) in [
        ("PNG 8", encoded(picture(), ImageFormat::Png)),
        ("PNG 16", encoded(&deep, ImageFormat::Png)),
        ("TIFF 8", encoded(picture(), ImageFormat::Tiff)),
        ("TIFF 16", encoded(&deep, ImageFormat::Tiff)),
        ("WebP", encoded(picture(), ImageFormat::WebP)),
        ("BMP", encoded(picture(), ImageFormat::Bmp)),
    ] {
        let (most, _) = apart(&bytes);
        assert!(most < 0.01, "{name}: {most:.4} px");
    }
}

/// The same photo in grey: it measures other values than the tinted one, the same in each format and depth of its own.
#[test]
fn every_grey_format_and_depth_gives_the_same_stations() {
    let grey = DynamicImage::ImageLuma8(picture().to_luma8());
    let deep = DynamicImage::ImageLuma16(grey.to_luma16());
    let truth = stations(&encoded(&grey, ImageFormat::Png));
    for (name, bytes) in [
        ("PNG 16", encoded(&deep, ImageFormat::Png)),
        ("TIFF 8", encoded(&grey, ImageFormat::Tiff)),
        ("TIFF 16", encoded(&deep, ImageFormat::Tiff)),
        ("BMP", encoded(&grey, ImageFormat::Bmp)),
    ] {
        let seen = stations(&bytes);
        assert!(truth.len() > 40 && seen.len() == truth.len(), "{name}");
        let most = seen.iter().zip(&truth).map(|(a, b)| a.distance(*b)).fold(0.0, f64::max);
        assert!(most < 0.01, "{name}: {most:.4} px");
    }
}

#[test]
fn every_orientation_gives_the_same_stations() {
    for orientation in 1..=8 {
        let (most, _) = apart(&as_png(orientation));
        assert!(most < 0.01, "PNG, orientation {orientation}: {most:.4} px");
    }
    for orientation in 1..=8 {
        let (most, _) = apart(&as_webp(orientation));
        assert!(most < 0.01, "WebP, orientation {orientation}: {most:.4} px");
        let (most, _) = apart(&as_tiff(orientation));
        assert!(most < 0.01, "TIFF, orientation {orientation}: {most:.4} px");
    }
}

/// JPEG loses something, so its stations lie a little off. Measured over all eight orientations, single stations at
/// most and all together (rms): quality 100 0.0146 and 0.0054 px, quality 90 0.0340 and 0.0101 px.
#[test]
fn every_orientation_of_a_jpeg_gives_the_same_stations_but_for_its_loss() {
    for orientation in 1..=8 {
        let (most, rms) = apart(&as_jpeg(orientation, 100));
        eprintln!("JPEG 100, orientation {orientation}: {most:.4} px at most, {rms:.4} px rms");
        assert!(most < 0.02 && rms < 0.01, "orientation {orientation}: {most:.4}, {rms:.4} px");
    }
    let (most, rms) = apart(&as_jpeg(6, 90));
    eprintln!("JPEG 90: {most:.4} px at most, {rms:.4} px rms");
    assert!(most < 0.05 && rms < 0.015, "{most:.4}, {rms:.4} px");
}

/// A file of `tests/photos`.
#[cfg(any(feature = "heic", feature = "avif"))]
fn shipped(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/photos/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// How far a photo is from the drawn picture of `tests/photos`, its formula as in `photo.rs`, at most, of 255.
#[cfg(any(feature = "heic", feature = "avif"))]
fn off_the_formula(photo: &Photo) -> f64 {
    let colour = |x: usize, y: usize| {
        let (u, v) = (x as f64 / photo.width as f64, y as f64 / photo.height as f64);
        let dot = 60.0 * (-((u - 0.25).powi(2) + (v - 0.3).powi(2)) / 0.02).exp();
        [40.0 + 120.0 * u + dot, 60.0 + 100.0 * v + dot, 200.0 - 80.0 * u - 50.0 * v + dot]
    };
    let mut worst: f64 = 0.0;
    for (x, y) in (0..photo.width * photo.height).map(|i| (i % photo.width, i / photo.width)) {
        for (seen, drawn) in photo.rgb(x, y).into_iter().zip(colour(x, y)) {
            worst = worst.max((f64::from(seen) * 255.0 - drawn).abs());
        }
    }
    worst
}

/// Cut or with bytes changed at random, a file is read or refused with a reason and a way out.
#[cfg(any(feature = "heic", feature = "avif"))]
fn refused_without_a_panic(whole: &[u8]) {
    for part in [0.02, 0.1, 0.3, 0.6, 0.9, 0.99] {
        let cut = &whole[..(whole.len() as f64 * part) as usize];
        let said = read(cut, Limits::default()).expect_err("cut").to_string();
        assert!(said.contains(';'), "{part}: {said}");
    }
    let mut state = 20_240_206_u64;
    let mut next = move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize
    };
    for _ in 0..200 {
        let mut bytes = whole.to_vec();
        for _ in 0..1 + next() % 4 {
            let at = next() % bytes.len();
            bytes[at] = next() as u8;
        }
        if let Err(refusal) = read(&bytes, Limits { pixels: 1_000_000 }) {
            assert!(!refusal.to_string().is_empty());
        }
    }
}

#[cfg(feature = "heic")]
mod heic {
    use super::*;

    /// Written by another library, plain and lying on its side with the turn in the container and in the tags: both
    /// upright, with the metadata. Half the colour resolution and quality 95: measured 4.5, 3.8 and 2.9 of 255 at most.
    #[test]
    fn what_another_library_wrote_is_upright_once() {
        for name in ["plain.heic", "turned.heic", "plain10.heic"] {
            let read = read(&shipped(name), Limits::default()).unwrap();
            assert_eq!(read.notices, [], "{name}");
            let photo = read.value;
            assert_eq!((photo.width, photo.height), (96, 64), "{name}");
            assert_eq!(matches!(photo.pixels, Pixels::Rgb16(_)), name == "plain10.heic", "{name}");
            let worst = off_the_formula(&photo);
            eprintln!("{name}: {worst:.1} of 255");
            assert!(worst < 6.0, "{name}: {worst}");
            if name == "turned.heic" {
                let tags = &photo.metadata;
                assert_eq!((tags.camera.as_deref(), tags.focal_length_35mm), (Some("Acme P7"), Some(26.0)));
                assert_eq!(tags.taken.as_deref(), Some("2024-02-06 14:03:22"));
            }
        }
    }

    #[test]
    fn stations_of_a_heic_lie_within_its_loss() {
        let rgb = picture().to_rgb8();
        for (quality, most_allowed, rms_allowed) in HEIC {
            let options = heifer::EncodeOptions { quality, ..Default::default() };
            let bytes = heifer::encode_rgb8(rgb.width(), rgb.height(), rgb.as_raw(), &options).unwrap();
            let (most, rms) = apart(&bytes);
            eprintln!("HEIC {quality}: {most:.4} px at most, {rms:.4} px rms");
            assert!(most < most_allowed && rms < rms_allowed, "{quality}: {most:.4}, {rms:.4} px");
        }
    }

    /// Quality, largest distance and rms in px. Measured 0.0211 and 0.0075 px, 0.0737 and 0.0268 px.
    const HEIC: [(u8, f64, f64); 2] = [(95, 0.03, 0.012), (75, 0.1, 0.04)];

    #[test]
    fn too_large_cut_or_damaged_is_refused_without_a_panic() {
        let whole = shipped("turned.heic");
        let small = Limits { pixels: 96 * 64 - 1 };
        let said = read(&whole, small).unwrap_err().to_string();
        assert!(said.contains("64 x 96") || said.contains("96 x 64"), "{said}");
        refused_without_a_panic(&whole);
    }
}

#[cfg(feature = "avif")]
mod avif {
    use super::*;

    /// Written by another library: 8 and 10 bits, colour whole, halved along x and both ways, in tiles, turned and mirrored in the
    /// container and in the tags, all upright. Measured 5.0, 1.5, 3.7, 3.6 and 2.7 of 255 at most.
    #[test]
    fn what_another_library_wrote_is_upright_once() {
        for (name, allowed) in [
            ("plain.avif", 6.0),
            ("plain10.avif", 3.0),
            ("turned.avif", 6.0),
            ("mirrored.avif", 6.0),
            ("grid.avif", 6.0),
        ] {
            let read = read(&shipped(name), Limits::default()).unwrap();
            assert_eq!(read.notices, [], "{name}");
            let photo = read.value;
            let size = if name == "grid.avif" { (256, 128) } else { (96, 64) };
            assert_eq!((photo.width, photo.height), size, "{name}");
            assert_eq!(matches!(photo.pixels, Pixels::Rgb16(_)), name == "plain10.avif", "{name}");
            let worst = off_the_formula(&photo);
            eprintln!("{name}: {worst:.1} of 255");
            assert!(worst < allowed, "{name}: {worst}");
            if name == "turned.avif" {
                let tags = &photo.metadata;
                assert_eq!((tags.camera.as_deref(), tags.focal_length_35mm), (Some("Acme P7"), Some(26.0)));
                assert_eq!(tags.taken.as_deref(), Some("2024-02-06 14:03:22"));
            }
        }
        let grey = read(&shipped("grey.avif"), Limits::default()).unwrap().value;
        assert!(matches!(grey.pixels, Pixels::Grey8(_)) && (grey.width, grey.height) == (96, 64));
    }

    /// `jet.avif` is the drawn jet of this file, without noise, coded without loss by another encoder.
    #[test]
    fn a_lossless_avif_gives_the_same_stations() {
        let truth = stations(&encoded(&tinted(&Drawn { noise: 0.0, ..drawn() }.photo()), ImageFormat::Png));
        let seen = stations(&shipped("jet.avif"));
        assert!(truth.len() > 40 && seen.len() == truth.len(), "{} stations for {}", seen.len(), truth.len());
        let most = seen.iter().zip(&truth).map(|(a, b)| a.distance(*b)).fold(0.0, f64::max);
        eprintln!("AVIF without loss: {most:.4} px");
        assert!(most < 0.01, "{most:.4} px");
    }

    #[test]
    fn too_large_cut_or_damaged_is_refused_without_a_panic() {
        let whole = shipped("turned.avif");
        let said = read(&whole, Limits { pixels: 96 * 64 - 1 }).unwrap_err().to_string();
        assert!(said.contains("64 x 96") || said.contains("96 x 64"), "{said}");
        refused_without_a_panic(&whole);
    }
}
