//! Edges -> stations: the middle between the edges over short stretches of the stream, with uncertainty.

use super::edges::Edges;
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

/// A station before it is placed: offset of the middle from the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Middle {
    pub s_px: f64,
    pub offset_px: f64,
    pub width_px: f64,
    pub u_px: f64,
}

/// Robust means over groups of `group` columns; groups with fewer than half of their columns seen are left out.
pub(crate) fn middles(edges: &[Option<Edges>], group: usize) -> Vec<Middle> {
    let mut found = Vec::new();
    for chunk in edges.chunks(group.max(1)) {
        let seen: Vec<&Edges> = chunk.iter().flatten().collect();
        if seen.len() * 2 < chunk.len().max(1) || seen.is_empty() {
            continue;
        }
        let middle: Vec<f64> = seen.iter().map(|e| 0.5 * (e.first + e.second)).collect();
        let width: Vec<f64> = seen.iter().map(|e| e.second - e.first).collect();
        let (offset_px, scatter) = robust_mean(&middle);
        let (width_px, _) = robust_mean(&width);
        // the matched filter's bound for one column, from the edges' strength: the noise of the middle of two edges
        let strength = seen.iter().map(|e| e.strength).sum::<f64>() / seen.len() as f64;
        let bound = 1.2 / strength.max(1.0);
        let u_px = (scatter.max(bound) / (seen.len() as f64).sqrt()).max(0.02);
        let s_px = seen.iter().map(|e| e.s_px).sum::<f64>() / seen.len() as f64;
        found.push(Middle { s_px, offset_px, width_px, u_px });
    }
    found
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
    let mid = values.len() / 2;
    let odd = values.len() % 2 == 1;
    let (below, &mut m, _) = values.select_nth_unstable_by(mid, f64::total_cmp);
    if odd { m } else { 0.5 * (m + below.iter().copied().fold(f64::NEG_INFINITY, f64::max)) }
}
