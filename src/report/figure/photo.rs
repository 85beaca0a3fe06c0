//! The photo with what was marked, found and fitted drawn on it.

use super::{Dash, Figure, Frame, Ink, Layer, Picture, Shape, named};
use crate::measure::{Findings, PathPoint};
use crate::photo::{Photo, Pixels};
use crate::point::PixelPoint;
use crate::quantity::show_plain;
use crate::sheet::Checked;
use image::codecs::jpeg::JpegEncoder;
use image::{RgbImage, imageops};

/// Longest side of the whole photo in a report, px.
const PHOTO_SIDE: u32 = 1600;
/// Longest side of a close-up, px.
const CLOSE_UP_SIDE: u32 = 900;
/// Largest height of the whole photo and of a close-up, points.
const PHOTO_PT: f64 = 460.0;
const CLOSE_UP_PT: f64 = 270.0;
/// Quality of the pictures: differences from the photo cannot be seen.
const QUALITY: u8 = 82;

/// The whole photo with marks, stations, fitted trajectory and the path of a jet without loss.
///
/// # Errors
/// Where the photo cannot be made into a picture.
pub fn photo(photo: &Photo, sheet: &Checked, findings: &Findings) -> super::Drawn {
    let cut = [0.0, 0.0, photo.width as f64, photo.height as f64];
    let mut layers = Vec::new();
    let path = |points: &[PathPoint]| points.iter().map(|p| p.px).collect::<Vec<_>>();
    if !findings.predicted.is_empty() {
        layers.push(Layer::Line {
            name: named("path without loss, √(2gH)"),
            points: path(&findings.predicted),
            ink: Ink::Orange,
            dash: Dash::Long,
        });
    }
    layers.push(Layer::Line {
        name: named("fitted trajectory"),
        points: path(&findings.fitted),
        ink: Ink::Blue,
        dash: Dash::Solid,
    });
    let stations =
        |used| findings.stations.iter().filter(move |s| s.used == used).map(|s| (s.px, None)).collect::<Vec<_>>();
    for (points, name, shape, ink) in [
        (stations(true), "station", Shape::Disc, Ink::Sky),
        (stations(false), "left out of the fit", Shape::Ring, Ink::Vermilion),
    ] {
        if !points.is_empty() {
            layers.push(Layer::Marks { name: named(name), points, shape, ink });
        }
    }
    layers.extend(marks(sheet, findings));
    let used = findings.stations.iter().filter(|s| s.used).count();
    let (width, height) = (show_plain(photo.width as f64, ""), show_plain(photo.height as f64, "px"));
    let which = match sheet.photos.len() {
        0 | 1 => "The photo".to_owned(),
        n => format!("The first of {n} photos"),
    };
    let without_loss = if findings.predicted.is_empty() {
        ""
    } else {
        " The path without loss is the one that a jet of the ideal velocity would take from the same start."
    };
    Ok(Figure {
        name: "photo".into(),
        caption: format!(
            "{which} ({width} × {height}) with the marks of the sheet, the stations and the fitted trajectory.{without_loss}"
        ),
        description: format!(
            "The photo with {} marks of scale, plane and card, {used} used stations along the stream, and the trajectory \
             fitted through them from the orifice to the last station.",
            sheet.plane.len()
                + sheet.scales.iter().map(|s| s.marks.len()).sum::<usize>()
                + findings.card.as_ref().map_or(0, |c| c.marks.len())
        ),
        frame: Frame::Photo { cut, picture: picture(photo, cut, PHOTO_SIDE)?, tallest_pt: PHOTO_PT },
        layers,
    })
}

/// The photo around some points, with the sheet's marks and the fitted trajectory; at least `least_px` wide and high.
///
/// # Errors
/// Where no point lies in the photo.
pub fn close_up(
    photo: &Photo,
    sheet: &Checked,
    findings: &Findings,
    around: &[PixelPoint],
    least_px: f64,
    name: &str,
    what: &str,
) -> super::Drawn {
    let cut = cut_around(around, least_px, [photo.width as f64, photo.height as f64])
        .ok_or_else(|| format!("no mark of {what} lies in the photo"))?;
    let mut layers = vec![Layer::Line {
        name: None,
        points: findings.fitted.iter().map(|p| p.px).collect(),
        ink: Ink::Blue,
        dash: Dash::Solid,
    }];
    layers.extend(marks(sheet, findings));
    let inside = |p: &[f64; 2]| p[0] >= cut[0] && p[1] >= cut[1] && p[0] <= cut[0] + cut[2] && p[1] <= cut[1] + cut[3];
    layers.retain(|layer| match layer {
        Layer::Line { points, .. } => points.iter().any(inside),
        Layer::Marks { points, .. } => points.iter().any(|(p, _)| inside(p)),
        Layer::Band { .. } | Layer::Bars { .. } | Layer::Label { .. } => true,
    });
    let text = format!("Close-up of {what}, as marked.");
    Ok(Figure {
        name: name.to_owned(),
        caption: text.clone(),
        description: text,
        frame: Frame::Photo { cut, picture: picture(photo, cut, CLOSE_UP_SIDE)?, tallest_pt: CLOSE_UP_PT },
        layers,
    })
}

/// What is marked, by the sheet and on a scale card, group by group.
fn marks(sheet: &Checked, findings: &Findings) -> Vec<Layer> {
    let place = |p: PixelPoint| (<[f64; 2]>::from(p), None);
    let scale: Vec<_> = sheet.scales.iter().flat_map(|s| s.marks.iter().map(|(m, _)| place(m.at))).collect();
    let plane: Vec<_> = sheet.plane.iter().map(|(m, _)| place(m.at)).collect();
    let card: Vec<_> = findings.card.iter().flat_map(|c| &c.marks).map(|m| (m.px, None)).collect();
    let surface: Vec<_> = sheet.surface.iter().map(|m| place(m.at)).collect();
    let mut layers = Vec::new();
    for (name, marks) in [("plumb line", &sheet.plumb), ("level line", &sheet.level)] {
        if let Some([a, b]) = marks {
            let points = vec![a.at.into(), b.at.into()];
            layers.push(Layer::Line { name: named(name), points, ink: Ink::Purple, dash: Dash::Dots });
        }
    }
    let mut unnamed = named("straight edge");
    for edge in &sheet.straight {
        let points = edge.iter().map(|m| m.at.into()).collect();
        layers.push(Layer::Line { name: unnamed.take(), points, ink: Ink::Yellow, dash: Dash::Dots });
    }
    for (name, points, shape, ink) in [
        ("scale mark", scale, Shape::Plus, Ink::Vermilion),
        ("plane mark", plane, Shape::Square, Ink::Green),
        ("mark of the scale card", card, Shape::Ring, Ink::Green),
        ("water surface", surface, Shape::Diamond, Ink::Green),
        ("orifice centre", vec![place(sheet.orifice.at)], Shape::Cross, Ink::Vermilion),
    ] {
        if !points.is_empty() {
            layers.push(Layer::Marks { name: named(name), points, shape, ink });
        }
    }
    layers
}

/// The box about the points with room of a sixth of it, at least `least` wide and high, within the photo.
fn cut_around(points: &[PixelPoint], least: f64, [width, height]: [f64; 2]) -> Option<[f64; 4]> {
    let inside = points.iter().filter(|p| p.x >= 0.0 && p.y >= 0.0 && p.x <= width && p.y <= height);
    let far = f64::INFINITY;
    let [x0, y0, x1, y1] =
        inside.fold([far, far, -far, -far], |b, p| [b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)]);
    if x0 > x1 {
        return None;
    }
    let longer = (x1 - x0).max(y1 - y0);
    let side = |lo: f64, hi: f64, end: f64| {
        let want = ((hi - lo) + longer / 3.0).max(least).min(end);
        let from = (0.5 * (lo + hi - want)).clamp(0.0, end - want).floor();
        (from, want.ceil().min(end - from))
    };
    let ((left, w), (top, h)) = (side(x0, x1, width), side(y0, y1, height));
    (w >= 1.0 && h >= 1.0).then_some([left, top, w, h])
}

/// A cut of the photo, reduced to at most `longest` px a side, as a JPEG.
fn picture(photo: &Photo, [left, top, w, h]: [f64; 4], longest: u32) -> Result<Picture, String> {
    let (left, top, w, h) = (left as usize, top as usize, w as usize, h as usize);
    let mut rgb = Vec::with_capacity(3 * w * h);
    for y in top..top + h {
        let row = y * photo.width + left..y * photo.width + left + w;
        let colour = 3 * row.start..3 * row.end;
        match &photo.pixels {
            Pixels::Grey8(v) => v[row].iter().for_each(|&g| rgb.extend([g; 3])),
            Pixels::Grey16(v) => v[row].iter().for_each(|&g| rgb.extend([(g >> 8) as u8; 3])),
            Pixels::Rgb8(v) => rgb.extend_from_slice(&v[colour]),
            Pixels::Rgb16(v) => rgb.extend(v[colour].iter().map(|&c| (c >> 8) as u8)),
        }
    }
    let failed = |why: String| format!("the photo could not be made into a picture: {why}");
    let whole = RgbImage::from_raw(w as u32, h as u32, rgb).ok_or_else(|| failed("its size is wrong".to_owned()))?;
    let shrink = f64::from(longest) / w.max(h) as f64;
    let small = if shrink < 1.0 {
        let side = |n: usize| ((n as f64 * shrink).round() as u32).max(1);
        imageops::thumbnail(&whole, side(w), side(h))
    } else {
        whole
    };
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY).encode_image(&small).map_err(|e| failed(e.to_string()))?;
    Ok(Picture { jpeg, width: small.width(), height: small.height() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cut_stays_in_the_photo_and_has_its_least_size() {
        let p = PixelPoint::new;
        assert_eq!(cut_around(&[p(5.0, 95.0)], 40.0, [200.0, 100.0]), Some([0.0, 60.0, 40.0, 40.0]));
        assert_eq!(cut_around(&[p(20.0, 50.0), p(80.0, 50.0)], 10.0, [200.0, 100.0]), Some([10.0, 40.0, 80.0, 20.0]));
        assert_eq!(cut_around(&[p(-5.0, 5.0)], 10.0, [200.0, 100.0]), None);
        assert_eq!(cut_around(&[], 10.0, [200.0, 100.0]), None);
    }
}
