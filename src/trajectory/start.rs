//! A first curve that outliers cannot pull: least median of squares over a fixed set of triples.

use super::quadratic::Regression;
use super::{Launch, Station};

/// How many triples of stations are tried. With 30 % of stations following something else a triple
/// is clean with probability 0.34, so that 300 fail together once in 10^54; the number is for a
/// *good* clean triple, one whose noise is small against its spread.
const TRIPLES: u32 = 300;
/// Stations that judge a triple; more only cost time.
const JUDGES: usize = 300;

/// The parabola through three stations whose median squared scaled distance to all is least
/// (Rousseeuw 1984, "Least median of squares regression", J. Am. Stat. Assoc. 79, 871-880), with
/// the robust scale `1.4826 (1 + 5/(n - 3)) sqrt(median)` (Rousseeuw & Leroy 1987, "Robust
/// Regression and Outlier Detection", chapter 5). It holds while fewer than half of the stations
/// lie, however those lie.
///
/// Triples come from a fixed sequence (Knuth, The Art of Computer Programming 2, 3.3.4, table 1,
/// line 26: the 64-bit multiplier 6364136223846793005), one from each third of the stations in
/// order, or all three anywhere in turn. Returns `None` if no triple makes a curve.
pub(super) fn robust_start(sorted: &[Station], launch: Launch, x_vc: f64) -> Option<([f64; 3], f64)> {
    let n = sorted.len();
    let mut state = 0x5eed_u64;
    let mut below = |k: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) as usize) % k
    };
    let stride = n.div_ceil(JUDGES);
    let mut squares = Vec::with_capacity(n / stride + 1);
    let mut best: Option<([f64; 3], f64)> = None;
    for trial in 0..TRIPLES {
        let third = n / 3;
        let picks = match trial % 2 {
            0 => [below(third), third + below(third), 2 * third + below(n - 2 * third)],
            _ => [below(n), below(n), below(n)],
        };
        let xs = picks.map(|i| sorted[i].x_mm);
        let ys = picks.map(|i| sorted[i].y_mm);
        let ws = picks.map(|i| sorted[i].u_mm.powi(-2));
        let Some(regression) = Regression::new(&xs, &ys, &ws) else { continue };
        let curve = regression.observe(launch, x_vc).coefficients();
        squares.clear();
        squares.extend(sorted.iter().step_by(stride).map(|s| {
            let slope = curve[1] + 2.0 * curve[2] * s.x_mm;
            let off = s.y_mm - curve[0] - s.x_mm * (curve[1] + curve[2] * s.x_mm);
            off * off / ((1.0 + slope * slope) * s.u_mm * s.u_mm)
        }));
        let middle = squares.len() / 2;
        let median = *squares.select_nth_unstable_by(middle, f64::total_cmp).1;
        if median.is_finite() && best.is_none_or(|(_, least)| median < least) {
            best = Some((curve, median));
        }
    }
    let dof = n.saturating_sub(3).max(1) as f64;
    best.map(|(curve, median)| (curve, 1.4826 * (1.0 + 5.0 / dof) * median.sqrt()))
}
