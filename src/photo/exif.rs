//! What the metadata of a photo says of how it was taken (Exif 2.32, CIPA DC-008-2019).
//!
//! Many real files carry a faulty tag among good ones, so what can be read is taken and the rest
//! left out. A value that no camera can mean (zero, negative, infinite, absurd) is as good as none.

use super::Metadata;
use exif::{Context, Exif, In, Reader, Tag, Value};
use std::io::Cursor;

/// What the tags of a file tell, beyond its metadata.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Tags {
    /// What is kept of them.
    pub metadata: Metadata,
    /// An orientation tag with a value other than 1 to 8.
    pub odd_orientation: Option<u32>,
    /// Whether the file is a raw file in a TIFF's clothes: it carries a DNG version, or its first picture is a preview.
    pub is_raw: bool,
    /// Width and height that a TIFF states, in pixels.
    pub tiff_size: Option<(usize, usize)>,
    /// Whether a TIFF holds further pictures.
    pub has_more_pages: bool,
}

/// The tags of the file `bytes`; empty where it has none.
pub(super) fn tags(bytes: &[u8], is_tiff: bool) -> Tags {
    let read = Reader::new()
        .continue_on_error(true)
        .read_from_container(&mut Cursor::new(bytes))
        .or_else(|e| e.distill_partial_result(|_| ()));
    let Ok(exif) = read else { return Tags::default() };
    let whole = |tag| exif.get_field(tag, In::PRIMARY).and_then(|f| f.value.get_uint(0));
    let dng_version = Tag(Context::Tiff, 0xc612);
    // TIFF 6.0 NewSubfileType bit 0: a reduced copy of another picture in this file. Raw files begin with one.
    let first_is_preview = whole(Tag(Context::Tiff, 0x00fe)).is_some_and(|kind| kind & 1 == 1);
    let orientation = whole(Tag::Orientation);
    Tags {
        metadata: metadata(&exif),
        odd_orientation: orientation.filter(|o| !(1..=8).contains(o)),
        is_raw: is_tiff && (exif.get_field(dng_version, In::PRIMARY).is_some() || first_is_preview),
        tiff_size: whole(Tag::ImageWidth)
            .zip(whole(Tag::ImageLength))
            .filter(|_| is_tiff)
            .map(|(w, h)| (w as usize, h as usize)),
        has_more_pages: is_tiff && exif.fields().any(|f| f.ifd_num != In::PRIMARY),
    }
}

fn metadata(exif: &Exif) -> Metadata {
    let value = |tag| exif.get_field(tag, In::PRIMARY).map(|f| &f.value);
    let within = |tag, low: f64, high: f64| value(tag).and_then(number).filter(|v| *v >= low && *v <= high);
    let words = |tag| value(tag).and_then(text);
    Metadata {
        orientation: value(Tag::Orientation)
            .and_then(|v| v.get_uint(0))
            .and_then(|o| u8::try_from(o).ok())
            .filter(|o| (1..=8).contains(o)),
        taken: words(Tag::DateTimeOriginal).or_else(|| words(Tag::DateTime)).and_then(|t| date(&t)),
        camera: camera(words(Tag::Make), words(Tag::Model)),
        // A phone's ultra-wide lens is near 1.5 mm; the longest telescopes sold stay below 10 m.
        focal_length_mm: within(Tag::FocalLength, 0.1, 1e4),
        focal_length_35mm: within(Tag::FocalLengthIn35mmFilm, 1.0, 1e4),
        exposure_s: within(Tag::ExposureTime, 1e-7, 1e5),
        // The tag writes "infinity" as 0xffffffff over something, which the upper bound drops.
        subject_distance_m: within(Tag::SubjectDistance, 1e-3, 1e5),
        latitude_deg: latitude(exif),
        altitude_m: altitude(exif),
    }
}

/// The first number of a value, if it is finite.
fn number(value: &Value) -> Option<f64> {
    let found = match value {
        Value::Rational(v) => v.first()?.to_f64(),
        Value::SRational(v) => v.first()?.to_f64(),
        Value::Float(v) => f64::from(*v.first()?),
        Value::Double(v) => *v.first()?,
        Value::SShort(v) => f64::from(*v.first()?),
        Value::SLong(v) => f64::from(*v.first()?),
        other => f64::from(other.get_uint(0)?),
    };
    found.is_finite().then_some(found)
}

/// The text of a value without padding and control characters; `None` if nothing is left.
fn text(value: &Value) -> Option<String> {
    let Value::Ascii(lines) = value else { return None };
    let all = String::from_utf8_lossy(lines.first()?).replace(|c: char| c.is_control(), " ");
    let trimmed = all.trim();
    (!trimmed.is_empty()).then(|| trimmed.chars().take(100).collect())
}

/// `2024:02:06 14:03:22` as `2024-02-06 14:03:22`; `None` for a clock that was never set or is no date.
fn date(stored: &str) -> Option<String> {
    let date = exif::DateTime::from_ascii(stored.as_bytes()).ok()?;
    let plausible = date.year >= 1800
        && (1..=12).contains(&date.month)
        && (1..=31).contains(&date.day)
        && date.hour <= 24
        && date.minute < 60
        && date.second <= 60;
    plausible.then(|| {
        format!(
            "{:04}-{:02}-{:02} {:02}:{:02}:{:02}",
            date.year, date.month, date.day, date.hour, date.minute, date.second
        )
    })
}

/// Make and model in one; many models repeat their make.
fn camera(make: Option<String>, model: Option<String>) -> Option<String> {
    match (make, model) {
        (Some(make), Some(model)) => {
            let repeats = make
                .split_whitespace()
                .next()
                .is_some_and(|word| model.get(..word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word)));
            Some(if repeats { model } else { format!("{make} {model}") })
        }
        (make, model) => model.or(make),
    }
}

fn latitude(exif: &Exif) -> Option<f64> {
    let Value::Rational(parts) = &exif.get_field(Tag::GPSLatitude, In::PRIMARY)?.value else { return None };
    let [degrees, minutes, seconds] = parts.get(..3)? else { return None };
    // A missing fix is written 0/0, which is not a number; seconds alone are often left so.
    let seconds = if seconds.denom == 0 { 0.0 } else { seconds.to_f64() };
    let size = degrees.to_f64() + minutes.to_f64() / 60.0 + seconds / 3600.0;
    let side = text(&exif.get_field(Tag::GPSLatitudeRef, In::PRIMARY)?.value)?;
    let signed = match side.chars().next()? {
        'N' | 'n' => size,
        'S' | 's' => -size,
        _ => return None,
    };
    (signed.is_finite() && signed.abs() <= 90.0).then_some(signed)
}

fn altitude(exif: &Exif) -> Option<f64> {
    let size = number(&exif.get_field(Tag::GPSAltitude, In::PRIMARY)?.value)?;
    let below = exif.get_field(Tag::GPSAltitudeRef, In::PRIMARY).and_then(|f| f.value.get_uint(0)) == Some(1);
    let signed = if below { -size } else { size };
    // From the shore of the Dead Sea to above every laboratory.
    (-450.0..=9000.0).contains(&signed).then_some(signed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_checked() {
        assert_eq!(date("2024:02:06 14:03:22").as_deref(), Some("2024-02-06 14:03:22"));
        for nonsense in ["0000:00:00 00:00:00", "    :  :     :  :  ", "2024:13:01 00:00:00", "yesterday"] {
            assert_eq!(date(nonsense), None, "{nonsense}");
        }
    }

    #[test]
    fn make_is_not_said_twice() {
        let say = |a: &str, b: &str| camera(Some(a.into()), Some(b.into())).unwrap();
        assert_eq!(say("Acme Optical Corp", "ACME D5"), "ACME D5");
        assert_eq!(say("Acme", "D5"), "Acme D5");
        assert_eq!(camera(None, Some("D5".into())).as_deref(), Some("D5"));
        assert_eq!(camera(None, None), None);
    }
}
