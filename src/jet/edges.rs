//! Each rim to a fraction of a pixel.
//!
//! The edge is where the change across the stream, taken with a derivative of Gaussian about as wide as
//! the photo's own blur, is greatest. For a step blurred by a Gaussian this matched filter is the estimator of
//! least variance (J. Canny, 1986, IEEE Trans. Pattern Anal. Mach. Intell. 8:679, sec. II-III), and it does
//! not ask how bright the core behind the edge is. The peak is Gaussian in shape, so a parabola through the
//! logarithms of its three highest cells gives its place without a sub-pixel bias.

use super::band::Band;
use super::rims::{Change, Rims};

/// One edge of one column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Edge {
    /// Offset from the curve, px.
    pub at: f64,
    /// Strength in noise deviations.
    pub strength: f64,
    /// Mean square width of the peak, px^2: the blur's and the derivative's together.
    pub spread: f64,
}

/// The edges of one column, first and second; `None` where one is not seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Edges {
    /// Along the curve, px.
    pub s_px: f64,
    /// The edges.
    pub sides: [Option<Edge>; 2],
}

impl Edges {
    /// Both edges, where both are seen.
    pub fn both(&self) -> Option<[Edge; 2]> {
        Some([self.sides[0]?, self.sides[1]?])
    }
}

/// Edges of each column near its rims; `None` where a rim has no peak nearby or is weaker than `least` noise deviations.
pub(crate) fn edges(band: &Band, change: &Change, rims: &[Rims], near_px: usize, least: f32) -> Vec<Edges> {
    let reach = band.reach as f64;
    let columns = band.columns.iter().zip(&change.strength).zip(rims);
    columns
        .map(|((column, strength), rims)| {
            let side = |at: f64| {
                let found = peak(strength, at + reach, near_px).filter(|_| column.seen)?;
                (found.strength >= f64::from(least)).then_some(Edge { at: found.at - reach, ..found })
            };
            Edges { s_px: column.s_px, sides: [side(rims.first), side(rims.second)] }
        })
        .collect()
}

/// In each column the outermost peaks of `least` noise deviations or more: those that lie farthest out from where the edges are
/// `expected`, no more than `beyond_px` outside of it and `within_px` inside.
pub(crate) fn outermost(
    band: &Band,
    change: &Change,
    expected: &[[f64; 2]],
    beyond_px: &[f64],
    within_px: &[f64],
    least: f32,
) -> Vec<Edges> {
    let reach = band.reach as f64;
    let columns = band.columns.iter().zip(&change.strength).enumerate();
    columns
        .map(|(i, (column, strength))| {
            let side = |outward: f64, expected: f64| {
                if !column.seen {
                    return None;
                }
                let (from, to) = (beyond_px[i], -within_px[i]);
                let steps = (from - to).ceil() as i64;
                (0..=steps)
                    .map(|k| ((expected + reach + outward * from).round() as i64) - outward as i64 * k)
                    .filter_map(|j| top(strength, j))
                    .find(|e| e.strength >= f64::from(least))
                    .map(|e| Edge { at: e.at - reach, ..e })
            };
            Edges { s_px: column.s_px, sides: [side(-1.0, expected[i][0]), side(1.0, expected[i][1])] }
        })
        .collect()
}

/// Edges not seen, or farther than their column's gate from where they are expected, give way to the best peak within it or to
/// none: of several the stronger, less what is far from there. `edges` begin with column `first`.
pub(crate) fn nearer(
    band: &Band,
    change: &Change,
    edges: &mut [Edges],
    expected: &[[f64; 2]],
    first: usize,
    gate_px: &[f64],
    least: f32,
) {
    let reach = band.reach as f64;
    for (k, edges) in edges.iter_mut().enumerate() {
        let i = first + k;
        if !band.columns[i].seen {
            continue;
        }
        let (strength, gate) = (&change.strength[i], gate_px[i]);
        for (side, &expected) in edges.sides.iter_mut().zip(&expected[i]) {
            if side.is_some_and(|e| (e.at - expected).abs() <= gate) {
                continue;
            }
            let (lo, hi) = ((expected - gate + reach).floor() as i64, (expected + gate + reach).ceil() as i64);
            let likely = |e: &Edge| e.strength * (-2.0 * ((e.at - expected) / gate).powi(2)).exp();
            *side = (lo..=hi)
                .filter_map(|j| top(strength, j))
                .map(|e| Edge { at: e.at - reach, ..e })
                .filter(|e| e.strength >= f64::from(least) && (e.at - expected).abs() <= gate)
                .max_by(|a, b| likely(a).total_cmp(&likely(b)));
        }
    }
}

/// Blur of the photo at the stream's edges, px: what the peaks' width has over the derivative's own `sigma`. Rims that are
/// lines rather than steps look sharper than they are, which keeps the derivative narrow there.
pub(crate) fn blur_px(edges: &[Edges], sigma: f64) -> Option<f64> {
    let mut spread: Vec<f64> = edges.iter().filter_map(Edges::both).map(|[a, b]| 0.5 * (a.spread + b.spread)).collect();
    if spread.is_empty() {
        return None;
    }
    Some((super::stations::median(&mut spread) - sigma * sigma).max(0.0).sqrt())
}

/// Width of the derivative that places a step of blur `blur_px` with least variance.
///
/// The zero crossing of a second derivative of Gaussian of width d has the standard deviation
/// (n/A) sqrt(3 / (8 sqrt(pi) d^5)) sqrt(2 pi) (d^2 + s^2)^(3/2) at a step A of blur s in white noise n, least at
/// d = sqrt(5) s, where it is 1.20 times the Cramer-Rao bound (own derivation; Canny 1986 gives the general form).
pub(crate) fn best_sigma(blur_px: f64, width_px: f64) -> f64 {
    (5f64.sqrt() * blur_px).clamp(1.0, (width_px / 8.0).max(1.0))
}

/// The highest peak within `near` cells of `at`.
fn peak(strength: &[f32], at: f64, near: usize) -> Option<Edge> {
    let middle = at.round() as i64;
    let lo = (middle - near as i64).max(1);
    let hi = (middle + near as i64).min(strength.len() as i64 - 2);
    let best = (lo..=hi).max_by(|a, b| strength[*a as usize].total_cmp(&strength[*b as usize]))?;
    top(strength, best)
}

/// The peak of which cell `j` is the top, refined through its neighbours; `None` where it is not one.
fn top(strength: &[f32], j: i64) -> Option<Edge> {
    if j < 1 || j + 1 >= strength.len() as i64 {
        return None;
    }
    let j = j as usize;
    let [a, b, c] = [strength[j - 1], strength[j], strength[j + 1]].map(|v| f64::from(v.max(1e-6)).ln());
    let bend = a - 2.0 * b + c;
    if !(b >= a && b >= c && bend < 0.0) {
        return None;
    }
    Some(Edge { at: j as f64 + 0.5 * (a - c) / bend, strength: f64::from(strength[j]), spread: -1.0 / bend })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gaussian_peak_is_placed_exactly() {
        for k in 0..20 {
            let at = 10.0 + 0.05 * k as f64;
            let v: Vec<f32> = (0..24).map(|i| (50.0 * (-0.5 * ((i as f64 - at) / 1.4).powi(2)).exp()) as f32).collect();
            let Edge { at: place, spread, .. } = peak(&v, 10.0, 3).unwrap();
            assert!((place - at).abs() < 1e-4, "{place} for {at}");
            assert!((spread - 1.96).abs() < 1e-3, "{spread}");
        }
    }

    #[test]
    fn a_slope_without_a_peak_is_no_edge() {
        let v: Vec<f32> = (0..24).map(|i| i as f32).collect();
        assert!(peak(&v, 10.0, 3).is_none());
    }
}
