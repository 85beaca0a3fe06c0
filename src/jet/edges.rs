//! Each rim to a fraction of a pixel.
//!
//! The edge is where the change across the stream, taken with a derivative of Gaussian about as wide as
//! the photo's own blur, is greatest. For a step blurred by a Gaussian this matched filter is the estimator of
//! least variance (J. Canny, 1986, IEEE Trans. Pattern Anal. Mach. Intell. 8:679, sec. II-III), and it does
//! not ask how bright the core behind the edge is. The peak is Gaussian in shape, so a parabola through the
//! logarithms of its three highest cells gives its place without a sub-pixel bias.

use super::band::Band;
use super::rims::{Change, Rims};

/// Both edges of one column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Edges {
    /// Along the curve, px.
    pub s_px: f64,
    /// Offset of the first edge from the curve, px.
    pub first: f64,
    /// Offset of the second edge, px.
    pub second: f64,
    /// The weaker edge's strength in noise deviations.
    pub strength: f64,
    /// Mean square width of the two peaks, px^2: the blur's and the derivative's together.
    pub spread: f64,
}

/// Edges of each column near its rims; `None` where a rim has no peak nearby or is weaker than `least` noise deviations.
pub(crate) fn edges(band: &Band, change: &Change, rims: &[Rims], near_px: usize, least: f32) -> Vec<Option<Edges>> {
    band.columns
        .iter()
        .enumerate()
        .map(|(i, column)| {
            if !column.seen {
                return None;
            }
            let strength = &change.strength[i];
            let (first, a, wide) = peak(strength, rims[i].first + band.reach as f64, near_px)?;
            let (second, b, wide_too) = peak(strength, rims[i].second + band.reach as f64, near_px)?;
            (a.min(b) >= least).then(|| Edges {
                s_px: column.s_px,
                first: first - band.reach as f64,
                second: second - band.reach as f64,
                strength: f64::from(a.min(b)),
                spread: 0.5 * (wide + wide_too),
            })
        })
        .collect()
}

/// Blur of the photo at the stream's edges, px: what the peaks' width has over the derivative's own `sigma`. Rims that are
/// lines rather than steps look sharper than they are, which keeps the derivative narrow there.
pub(crate) fn blur_px(edges: &[Option<Edges>], sigma: f64) -> Option<f64> {
    let mut spread: Vec<f64> = edges.iter().flatten().map(|e| e.spread).collect();
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

/// Place, height and variance of the highest peak within `near` of `at`, refined through its neighbours.
fn peak(strength: &[f32], at: f64, near: usize) -> Option<(f64, f32, f64)> {
    let middle = at.round() as i64;
    let lo = (middle - near as i64).max(1);
    let hi = (middle + near as i64).min(strength.len() as i64 - 2);
    let best = (lo..=hi).max_by(|a, b| strength[*a as usize].total_cmp(&strength[*b as usize]))? as usize;
    let [a, b, c] = [strength[best - 1], strength[best], strength[best + 1]].map(|v| f64::from(v.max(1e-6)).ln());
    let bend = a - 2.0 * b + c;
    if !(b >= a && b >= c && bend < 0.0) {
        return None;
    }
    Some((best as f64 + 0.5 * (a - c) / bend, strength[best], -1.0 / bend))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gaussian_peak_is_placed_exactly() {
        for k in 0..20 {
            let at = 10.0 + 0.05 * k as f64;
            let v: Vec<f32> = (0..24).map(|i| (50.0 * (-0.5 * ((i as f64 - at) / 1.4).powi(2)).exp()) as f32).collect();
            let (place, _, spread) = peak(&v, 10.0, 3).unwrap();
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
