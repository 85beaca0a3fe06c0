//! Photos that are none, or show no jet.

use super::{refused, untouched};
use crate::support::drawn::{Drawn, Lots};
use crate::support::laid_out::{LaidOut, sheet_for};
use trajet::photo::{Metadata, Photo, Pixels};

/// `trajet measure` and `trajet new` on a photo of these bytes.
fn both_refuse(file: &str, bytes: &[u8], says: &[&str]) {
    let bench = LaidOut::new();
    bench.put(file, bytes).put("run.toml", sheet_for(file));
    let told = untouched(&bench, &["measure", "run.toml"]);
    refused(&told, 1, says);
    refused(&told, 1, &["run.toml", file]);
    let told = untouched(&bench, &["new", file]);
    refused(&told, 1, says);
    refused(&told, 1, &[file]);
}

#[test]
fn a_truncated_jpeg_is_told_with_how_far_it_goes() {
    let whole = include_bytes!("../../photos/progressive.jpg");
    let cut = &whole[..whole.len() / 2];
    both_refuse("cut.jpg", cut, &["cut short", &format!("{} bytes", cut.len()), "copy the photo again"]);
}

#[test]
fn an_empty_file_is_told() {
    both_refuse("empty.jpg", b"", &["the file is empty (0 bytes)", "copy the photo again"]);
}

#[test]
fn a_text_named_jpg_is_told() {
    both_refuse("notes.jpg", b"run 2, head 412 mm, water warm\n", &["this is text", "give the photo itself"]);
}

/// CRC-32 of PNG chunks (W3C Portable Network Graphics, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { 0xEDB8_8320 ^ (c >> 1) } else { c >> 1 })
    })
}

#[test]
fn a_png_header_of_60000_x_60000_is_refused_before_memory_is_asked_for() {
    let mut header = b"IHDR".to_vec();
    header.extend(60_000u32.to_be_bytes());
    header.extend(60_000u32.to_be_bytes());
    header.extend([8, 2, 0, 0, 0]);
    let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
    png.extend(13u32.to_be_bytes());
    png.extend(&header);
    png.extend(crc(&header).to_be_bytes());
    both_refuse("huge.png", &png, &["60000 x 60000", "limit of 200 Mpx", "crop it"]);
}

#[test]
fn a_tiff_header_of_60000_x_60000_is_refused_before_memory_is_asked_for() {
    // TIFF 6.0, section 2: tag, type (3 short, 4 long), count, value
    let entries: [(u16, u16, u32); 9] = [
        (256, 4, 60_000),
        (257, 4, 60_000),
        (258, 3, 8),
        (259, 3, 1),
        (262, 3, 1),
        (273, 4, 8),
        (277, 3, 1),
        (278, 4, 60_000),
        (279, 4, 3_600_000_000),
    ];
    let mut tiff = b"II*\0\x08\0\0\0".to_vec();
    tiff.extend((entries.len() as u16).to_le_bytes());
    for (tag, kind, value) in entries {
        tiff.extend(tag.to_le_bytes());
        tiff.extend(kind.to_le_bytes());
        tiff.extend(1u32.to_le_bytes());
        tiff.extend(value.to_le_bytes());
    }
    tiff.extend([0; 4]);
    both_refuse("huge.tif", &tiff, &["60000 x 60000", "limit of 200 Mpx", "crop it"]);
}

#[test]
fn a_photo_without_a_jet_is_refused() {
    let Drawn { size: (width, height), background, .. } = Drawn::default();
    let mut lots = Lots::new(20_260_301);
    let pixels = (0..width * height).map(|_| {
        let grey = background + 0.02 * lots.normal();
        (65535.0 * grey.clamp(0.0, 1.0)).round() as u16
    });
    let noise = Photo { width, height, pixels: Pixels::Grey16(pixels.collect()), metadata: Metadata::default() };
    let bench = LaidOut::new();
    bench.put_photo("noise.png", &noise).put("run.toml", sheet_for("noise.png"));
    refused(&untouched(&bench, &["measure", "run.toml"]), 1, &["run.toml: stream: ", "hint: "]);
}

#[test]
fn marks_outside_the_photo_are_all_told() {
    let bench = LaidOut::new();
    let text = super::altered(&[("[1100.0, 800.0]", "[1201.0, 800.0]"), ("[50.0, 850.0]", "[50.0, 901.0]")]);
    bench.put_jet("run.toml").put("run.toml", text);
    let told = untouched(&bench, &["measure", "run.toml"]);
    refused(
        &told,
        1,
        &[
            "run.toml: scale.marks: the mark at (1201.0, 800.0) px lies outside the photo of 1200 x 900 px",
            "run.toml: vertical.plumb: the mark at (50.0, 901.0) px lies outside",
            "hint: ",
        ],
    );
}
