//! A station placed by hand, drawn to the stream beside it.

use super::band::Band;
use super::edges::edges;
use super::rims::{Change, RimBounds, rims};
use super::stations::middles;
use super::trace::Prospect;
use super::view::View;
use super::{Path, Station};
use crate::photo::Photo;
use crate::point::PixelPoint;

/// Directions that are tried, degrees apart.
const STEP_DEG: usize = 6;
/// Stretch of the stream that is looked at, in widths, and columns in it.
const STRETCH: f64 = 1.5;
const COLUMNS: usize = 8;
/// Of two rims in full, what must show at least, less what is outside them.
const LEAST_QUALITY: f64 = 1.0;

/// The station midway between the nearest pair of edges, about one stream's width apart, within a width of `point`; `None` where
/// there is no such pair, and the station stays where it was put.
///
/// `prospect` gives the stream's width, tone and areas. The direction of the stream is found from the photo; `s_px` of the station is the
/// straight distance from the orifice.
pub fn attract(photo: &Photo, point: PixelPoint, prospect: &Prospect) -> Option<Station> {
    let width = prospect.width_px;
    let reach = (2.1 * width + 6.0).ceil() as usize;
    let half_px = 0.5 * prospect.diameter_px;
    let column_px = ((STRETCH * width) as usize / COLUMNS).max(1);
    let length = (column_px * COLUMNS) as f64;
    let side = if prospect.to_the_right == Some(false) { -1.0 } else { 1.0 };
    let mut best: Option<(f64, Station)> = None;
    for degrees in (0..180).step_by(STEP_DEG) {
        let (sin, cos) = (degrees as f64 - 87.0).to_radians().sin_cos();
        let at = |s: f64| PixelPoint::new(point.x + side * s * cos, point.y + s * sin);
        let path = Path::from_polyline(&[at(-0.5 * length), at(0.5 * length)], 1.0);
        let band = Band::new(View::Plain(photo), &path, column_px, 1, reach, &prospect.areas);
        if band.columns.is_empty() || band.columns.iter().any(|c| !c.seen) {
            continue;
        }
        let change = Change::new(&band, 1.0, 1.2 * width);
        let bounds = RimBounds {
            middle_px: width,
            half_px: (0.4 * half_px, 1.1 * half_px),
            expected_px: 0.5 * width,
            half_at: 0.0,
            tone: prospect.tone,
        }
        .adapted_to_band(&band, &change, width);
        let found = rims(&band, &change, &bounds, |_| 1.0, |_| 0.15);
        let quality = found.iter().map(|r| f64::from(r.quality)).sum::<f64>() / found.len() as f64;
        // a straight stretch along the stream has its rims in one place: what wanders lies askew
        let wander =
            found.iter().map(|r| r.first + r.second).fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
        let score = quality - (wander.1 - wander.0) / width;
        if quality < LEAST_QUALITY || best.as_ref().is_some_and(|(b, _)| score <= *b) {
            continue;
        }
        let near = ((width / 12.0).round() as usize).max(2);
        let all = edges(&band, &change, &found, near, 2.5);
        let Some(middle) = middles(&all, None, COLUMNS).first().copied() else { continue };
        let at = path.at(middle.s_px, middle.offset_px);
        let station = Station {
            at,
            normal: path.normals[path.len() / 2],
            s_px: prospect.orifice.distance(at),
            u_px: middle.u_px,
            width_px: middle.width_px,
            by_hand: true,
            sound: true,
        };
        best = Some((score, station));
    }
    best.map(|(_, station)| station)
}
