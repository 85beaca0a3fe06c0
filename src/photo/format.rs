//! Which format the bytes are, told from the bytes: names lie, first bytes seldom.
//!
//! Kinds of file that people hand over by mistake, or that a phone makes by default, are
//! recognised too, so that the refusal can say how to go on.

use super::NoPhoto;
use std::fmt;

/// A format that is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// JPEG (ITU-T T.81), baseline or progressive.
    Jpeg,
    /// Portable Network Graphics.
    Png,
    /// Tagged Image File Format 6.0.
    Tiff,
    /// WebP, lossy or lossless.
    WebP,
    /// Windows bitmap.
    Bmp,
    /// HEIF with HEVC pictures, as phones make it.
    Heic,
    /// HEIF with AV1 pictures.
    Avif,
}

/// Endings of file names that photos usually have, for choosing files; the format itself is told from the bytes.
pub const EXTENSIONS: &[&str] = &["jpg", "jpeg", "png", "tif", "tiff", "webp", "bmp", "heic", "heif", "avif"];

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
            Self::Tiff => "TIFF",
            Self::WebP => "WebP",
            Self::Bmp => "BMP",
            Self::Heic => "HEIC",
            Self::Avif => "AVIF",
        })
    }
}

const PHONE: &str = "open it on the phone or computer and export it as JPEG, at full size and without edits \
                     (or set the phone's camera to its \"most compatible\" format)";
const RAW: &str = "develop it to a 16-bit TIFF or a JPEG with the camera maker's software, with lens correction off";
const SAVE_AS: &str = "save it as PNG or TIFF from a picture editor, at the same size";
const VIDEO: &str = "save single frames of it as PNG, and give several of them as a burst";

impl Format {
    /// The format of `bytes`, or why they are none that is read.
    pub(super) fn of(bytes: &[u8]) -> Result<Self, NoPhoto> {
        if bytes.is_empty() {
            return Err(NoPhoto::Empty);
        }
        if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            return Ok(Self::Jpeg);
        }
        if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            return Ok(Self::Png);
        }
        if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
            return Ok(Self::WebP);
        }
        if cfg!(feature = "heic") && brands(bytes).is_some_and(is_heic) {
            return Ok(Self::Heic);
        }
        if cfg!(feature = "avif") && brands(bytes).is_some_and(is_avif) {
            return Ok(Self::Avif);
        }
        if let Some((what, way_out)) = foreign(bytes) {
            return Err(NoPhoto::Foreign { what, way_out });
        }
        let tiff: [&[u8]; 4] = [b"II\x2a\0", b"MM\0\x2a", b"II\x2b\0", b"MM\0\x2b"];
        if tiff.iter().any(|magic| bytes.starts_with(magic)) {
            return Ok(Self::Tiff);
        }
        if bytes.starts_with(b"BM") && is_bitmap_header(bytes) {
            return Ok(Self::Bmp);
        }
        if let Some((what, way_out)) = text(bytes) {
            return Err(NoPhoto::Foreign { what, way_out });
        }
        let begins = bytes.iter().take(8).map(|b| format!("{b:02x}")).collect::<Vec<_>>().join(" ");
        Err(NoPhoto::Unknown { begins })
    }
}

/// Whether what follows `BM` is a bitmap's header and not a word: the length of the second header is one of the few
/// in use (12 to 124 bytes), little-endian at offset 14.
fn is_bitmap_header(bytes: &[u8]) -> bool {
    matches!(bytes.get(14..18), Some(&[12..=124, 0, 0, 0]))
}

/// Binary kinds that are known and not read: what it is, how to go on.
fn foreign(bytes: &[u8]) -> Option<(&'static str, &'static str)> {
    if let Some(brands) = brands(bytes) {
        return Some(boxed(brands));
    }
    const KINDS: &[(&[u8], &str, &str)] = &[
        (b"%PDF", "a PDF document", "export the page's picture as PNG or TIFF, at its own resolution"),
        (b"%!PS", "a PostScript document", "export the page's picture as PNG or TIFF, at its own resolution"),
        (b"GIF8", "a GIF picture", SAVE_AS),
        (b"8BPS", "a layered picture of an editor (PSD)", SAVE_AS),
        (b"\0\0\0\x0cjP  ", "a JPEG 2000 picture", SAVE_AS),
        (b"\xff\x4f\xff\x51", "a JPEG 2000 picture", SAVE_AS),
        (b"\0\0\0\x0cJXL ", "a JPEG XL picture", SAVE_AS),
        (b"\xff\x0a", "a JPEG XL picture", SAVE_AS),
        (b"\x76\x2f\x31\x01", "an OpenEXR picture", SAVE_AS),
        (b"FUJIFILMCCD-RAW", "a camera raw file", RAW),
        (b"IIRO", "a camera raw file", RAW),
        (b"IIRS", "a camera raw file", RAW),
        (b"MMOR", "a camera raw file", RAW),
        (b"IIU\0", "a camera raw file", RAW),
        (b"\x1a\x45\xdf\xa3", "a video (Matroska or WebM)", VIDEO),
        (b"\0\0\x01\xba", "a video (MPEG)", VIDEO),
        (b"\0\0\x01\xb3", "a video (MPEG)", VIDEO),
        (b"OggS", "a video or sound file (Ogg)", VIDEO),
        (b"PK\x03\x04", "an archive or office document (zip)", "take the photo out of it first"),
        (b"\x1f\x8b", "a compressed file (gzip)", "decompress it first"),
        (b"7z\xbc\xaf", "an archive (7z)", "take the photo out of it first"),
        (b"SQLite format 3", "a database", "give the photo itself"),
        (b"\x7fELF", "a program", "give the photo itself"),
    ];
    if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"AVI ") {
        return Some(("a video (AVI)", VIDEO));
    }
    if (bytes.starts_with(b"II\x2a\0") || bytes.starts_with(b"MM\0\x2a")) && bytes.get(8..10) == Some(b"CR") {
        return Some(("a camera raw file", RAW));
    }
    if bytes.len() >= 64 && bytes.iter().all(|&b| b == 0) {
        return Some(("a file of nothing but zeros", "the copy failed: copy the photo again from its source"));
    }
    KINDS.iter().find(|(magic, ..)| bytes.starts_with(magic)).map(|&(_, what, way_out)| (what, way_out))
}

/// The brands of a file in the ISO base media container (ISO/IEC 14496-12, 4.3): major, minor version, compatible ones.
fn brands(bytes: &[u8]) -> Option<&[u8]> {
    let (Some(&[a, b, c, d]), Some(b"ftyp")) = (bytes.get(..4), bytes.get(4..8)) else { return None };
    let stated = u32::from_be_bytes([a, b, c, d]) as usize;
    bytes.get(8..stated.clamp(8, 256).min(bytes.len()))
}

fn has(brands: &[u8], any: &[&[u8; 4]]) -> bool {
    // The minor version, the second four bytes, is no brand; a wrong hit on it is harmless.
    brands.chunks_exact(4).any(|brand| any.iter().any(|b| brand == *b))
}

fn is_avif(brands: &[u8]) -> bool {
    has(brands, &[b"avif", b"avis"])
}

/// Whether HEVC is in the container (ISO/IEC 23008-12, B.4), or something in it that names no coding.
fn is_heic(brands: &[u8]) -> bool {
    !is_avif(brands) && has(brands, &[b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1"])
}

/// Kinds inside the ISO base media container that are not read.
fn boxed(brands: &[u8]) -> (&'static str, &'static str) {
    if is_avif(brands) {
        ("an AVIF picture, for which this build has no decoder", PHONE)
    } else if is_heic(brands) {
        ("a HEIC picture, for which this build has no decoder", PHONE)
    } else if has(brands, &[b"crx "]) {
        ("a camera raw file", RAW)
    } else {
        ("a video (MP4 or QuickTime)", VIDEO)
    }
}

/// Kinds of text.
fn text(bytes: &[u8]) -> Option<(&'static str, &'static str)> {
    let head = &bytes[..bytes.len().min(1024)];
    if head.starts_with(&[0xff, 0xfe]) || head.starts_with(&[0xfe, 0xff]) {
        return Some(("text", "give the photo itself"));
    }
    let utf8 = match std::str::from_utf8(head) {
        Ok(s) => s,
        // A character cut in two by the end of `head` is still text.
        Err(e) if e.error_len().is_none() && e.valid_up_to() > 0 => {
            std::str::from_utf8(&head[..e.valid_up_to()]).ok()?
        }
        Err(_) => return None,
    };
    if utf8.chars().any(|c| c.is_control() && !c.is_whitespace()) {
        return None;
    }
    let lower = utf8.trim_start_matches('\u{feff}').trim_start().to_ascii_lowercase();
    Some(if lower.contains("<svg") {
        ("an SVG drawing", "a measurement needs the photo: give a JPEG, PNG or TIFF file")
    } else if lower.starts_with("<!doctype html") || lower.starts_with("<html") {
        ("a web page", "the page was saved instead of the photo: save the picture itself")
    } else {
        ("text", "give the photo itself; a bench sheet names its photo under [photo] file")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn what(bytes: &[u8]) -> String {
        Format::of(bytes).unwrap_err().to_string()
    }

    #[test]
    fn kinds_are_told_from_their_first_bytes() {
        for (bytes, word) in [
            (&b"\0\0\0\x18ftypcrx \0\0\0\x01crx isom"[..], "raw"),
            (b"\0\0\0\x14ftypqt  \0\0\0\0qt  ", "video"),
            (b"\0\0\0\x18ftyp", "video"),
            (b"II\x2a\0\x10\0\0\0CR\x02\0", "raw"),
            (b"%PDF-1.7", "PDF"),
            (b"RIFF\0\0\0\0AVI LIST", "AVI"),
            (b"<?xml version=\"1.0\"?>\n<svg xmlns=\"\">", "SVG"),
            (b"<!DOCTYPE html><html>", "web page"),
            (b"BMW is a word, and this is text", "text"),
            ("L\u{e4}nge 500 mm".as_bytes(), "text"),
            (&[0u8; 100], "zeros"),
            (&[0xde, 0xad, 0xbe, 0xef], "de ad be ef"),
            (b"", "empty"),
        ] {
            let said = what(bytes);
            assert!(said.contains(word), "{word}: {said}");
            assert!(said.contains(';'), "says what to do: {said}");
        }
    }

    #[test]
    fn avif_is_told_from_its_brands() {
        let bytes = b"\0\0\0\x1cftypmif1\0\0\0\0mif1avifmiaf";
        if cfg!(feature = "avif") {
            assert_eq!(Format::of(bytes), Ok(Format::Avif));
        } else {
            let said = what(bytes);
            assert!(said.contains("AVIF") && said.contains("JPEG"), "{said}");
        }
    }

    #[test]
    fn heic_is_told_from_its_brands() {
        for bytes in [&b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"[..], b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic"] {
            if cfg!(feature = "heic") {
                assert_eq!(Format::of(bytes), Ok(Format::Heic));
            } else {
                let said = what(bytes);
                assert!(said.contains("HEIC") && said.contains("JPEG"), "{said}");
            }
        }
    }

    #[test]
    fn a_text_cut_inside_a_character_is_still_text() {
        let long = "\u{e4}".repeat(600);
        assert!(what(&long.as_bytes()[..1023]).contains("text"));
    }
}
