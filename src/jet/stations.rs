//! Edges -> stations: the middle between the edges over short stretches of the stream, with uncertainty.

use super::edges::{Edge, Edges};
use crate::point::PixelPoint;

/// One measured point of the stream's centreline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Where it is.
    pub at: PixelPoint,
    /// Unit normal of the stream there.
    pub normal: [f64; 2],
    /// Along the stream from the orifice, px.
    pub s_px: f64,
    /// Standard uncertainty across the stream, px.
    pub u_px: f64,
    /// The stream's width across its own direction, px; `None` for a station placed by hand.
    pub width_px: Option<f64>,
    /// Whether it was placed by hand.
    pub by_hand: bool,
    /// Whether it keeps to the smooth course of its neighbours; a station that does not is told and left out of the fit.
    pub sound: bool,
}

/// Why the stations end where they do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The stream leaves the photo.
    Frame,
    /// The stream is broken up, hidden or too faint from there on.
    Lost,
    /// A left-out area, or the edge of the only one looked in.
    LeftOut,
    /// `stream.until`.
    Until,
    /// Stations placed by hand only.
    ByHand,
}

/// Least standard uncertainty of a station, px.
const LEAST_U_PX: f64 = 0.02;

/// A station before it is placed: offset of the middle from the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Middle {
    pub s_px: f64,
    pub offset_px: f64,
    /// `None` where only one rim is seen.
    pub width_px: Option<f64>,
    pub u_px: f64,
}

/// Robust means over groups of `group` columns; groups with fewer than half of their columns seen are left out.
///
/// Where `expected` tells both edges of each column, a column with one edge counts too, unless enough have both: waves move
/// the middle and the half width alike (all modes of a surface's waves move either rim on its own), so that the best guess of
/// how far the middle is off is half of what the rim is off.
pub(crate) fn middles(edges: &[Edges], expected: Option<&[[f64; 2]]>, group: usize) -> Vec<Middle> {
    let group = group.max(1);
    let mut found = Vec::new();
    for (k, chunk) in edges.chunks(group).enumerate() {
        let seen: Vec<(f64, [Edge; 2])> = chunk.iter().filter_map(|e| Some((e.s_px, e.both()?))).collect();
        if seen.len() * 2 >= chunk.len() {
            found.push(of_both(&seen));
        } else if let Some(expected) = expected {
            found.extend(of_either(chunk, &expected[k * group..]));
        }
    }
    found
}

/// The middle between both edges of each column.
fn of_both(seen: &[(f64, [Edge; 2])]) -> Middle {
    let count = seen.len() as f64;
    let middle: Vec<f64> = seen.iter().map(|(_, [a, b])| 0.5 * (a.at + b.at)).collect();
    let width: Vec<f64> = seen.iter().map(|(_, [a, b])| b.at - a.at).collect();
    let (offset_px, scatter) = robust_mean(&middle);
    let (width_px, _) = robust_mean(&width);
    // the matched filter's bound for one column, from the weaker edge's strength: the noise of the middle of two edges
    let strength = seen.iter().map(|(_, [a, b])| a.strength.min(b.strength)).sum::<f64>() / count;
    let bound = 1.2 / strength.max(1.0);
    let u_px = (scatter.max(bound) / count.sqrt()).max(LEAST_U_PX);
    let s_px = seen.iter().map(|(s, _)| s).sum::<f64>() / count;
    Middle { s_px, offset_px, width_px: Some(width_px), u_px }
}

/// The middle from whichever edges are seen.
fn of_either(chunk: &[Edges], expected: &[[f64; 2]]) -> Option<Middle> {
    let (mut middle, mut s_px, mut strength) = (Vec::new(), 0.0, 0.0);
    for (edges, expected) in chunk.iter().zip(expected) {
        let off: Vec<f64> =
            edges.sides.iter().zip(expected).filter_map(|(e, expected)| Some(e.as_ref()?.at - expected)).collect();
        if off.is_empty() {
            continue;
        }
        middle.push(0.5 * (expected[0] + expected[1]) + 0.5 * off.iter().sum::<f64>());
        s_px += edges.s_px;
        strength += edges.sides.iter().flatten().map(|e| e.strength).fold(f64::INFINITY, f64::min);
    }
    let count = middle.len() as f64;
    if middle.is_empty() || middle.len() * 2 < chunk.len() {
        return None;
    }
    let (offset_px, scatter) = robust_mean(&middle);
    let bound = 1.2 / (strength / count).max(1.0);
    let u_px = (scatter.max(bound) / count.sqrt()).max(LEAST_U_PX);
    Some(Middle { s_px: s_px / count, offset_px, width_px: None, u_px })
}

/// Mean without what lies more than three robust deviations from the median, and that deviation.
fn robust_mean(values: &[f64]) -> (f64, f64) {
    let middle = median(&mut values.to_vec());
    let deviation = 1.4826 * median(&mut values.iter().map(|v| (v - middle).abs()).collect::<Vec<_>>());
    let near = values.iter().filter(|v| (**v - middle).abs() <= 3.0 * deviation.max(0.05));
    let (sum, count) = near.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    (sum / count, deviation)
}

/// Median, reordering the slice; NaN for an empty one never arises: callers pass at least one value.
pub(crate) fn median(values: &mut [f64]) -> f64 {
    crate::statistics::median(values).unwrap_or(f64::NAN)
}
