//! How many divisions lie along a strip.

use rayon::prelude::*;
use std::f64::consts::TAU;

/// A graduation's line in the spectrum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    /// Which strip shows it.
    pub strip: usize,
    /// Divisions along the strip.
    pub divisions: f64,
    /// Power over the median power around it.
    pub strength: f64,
}

/// Share of the count to either side that is looked at around a line.
const AROUND: f64 = 0.25;

/// The line that stands out most from what lies around it, between `lo` and `hi` divisions a strip.
pub(super) fn strongest(strips: &[Vec<f64>], lo: f64, hi: f64) -> Option<Line> {
    // a Hann window's line is four counts wide: steps of half a count miss nothing
    const STEP: f64 = 0.5;
    let (from, to) = ((1.0 - AROUND) * lo, (1.0 + AROUND) * hi);
    let steps = ((to - from) / STEP).ceil() as usize + 1;
    strips
        .par_iter()
        .enumerate()
        .filter_map(|(strip, values)| {
            let flat = without_slow(values, lo);
            let power: Vec<f64> = (0..steps).map(|k| power(&flat, from + STEP * k as f64)).collect();
            let mut best: Option<Line> = None;
            for (k, &p) in power.iter().enumerate() {
                let divisions = from + STEP * k as f64;
                let top = power[k.saturating_sub(1)..(k + 2).min(steps)].iter().all(|q| *q <= p);
                if divisions < lo || divisions > hi || !top {
                    continue;
                }
                let reach = (AROUND * divisions / STEP) as usize;
                let own = ((0.03 * divisions).max(4.0) / STEP) as usize;
                let mut around: Vec<f64> = (k.saturating_sub(reach)..(k + reach + 1).min(steps))
                    .filter(|j| j.abs_diff(k) > own)
                    .map(|j| power[j])
                    .collect();
                if around.len() < 8 {
                    continue;
                }
                around.sort_unstable_by(f64::total_cmp);
                let strength = p / around[around.len() / 2].max(f64::MIN_POSITIVE);
                if best.is_none_or(|b| strength > b.strength) {
                    best = Some(Line { strip, divisions, strength });
                }
            }
            best
        })
        .max_by(|a, b| a.strength.total_cmp(&b.strength))
}

/// Without what changes more slowly than one and a half of the longest divisions, and without what stands out by far.
pub(super) fn without_slow(values: &[f64], least_divisions: f64) -> Vec<f64> {
    let n = values.len();
    let half = ((0.75 * n as f64 / least_divisions) as usize).max(1);
    let sums: Vec<f64> = std::iter::once(0.0)
        .chain(values.iter().scan(0.0, |s, v| {
            *s += v;
            Some(*s)
        }))
        .collect();
    let mut flat: Vec<f64> = (0..n)
        .map(|i| {
            let (a, b) = (i.saturating_sub(half), (i + half + 1).min(n));
            values[i] - (sums[b] - sums[a]) / (b - a) as f64
        })
        .collect();
    let mut sizes: Vec<f64> = flat.iter().map(|v| v.abs()).collect();
    sizes.sort_unstable_by(f64::total_cmp);
    let most = 6.0 * 1.4826 * sizes.get(n / 2).copied().unwrap_or(0.0) + 1e-4;
    flat.iter_mut().for_each(|v| *v = v.clamp(-most, most));
    flat
}

/// Power at `divisions` a strip under a Hann window.
fn power(flat: &[f64], divisions: f64) -> f64 {
    let n = flat.len() as f64;
    let rotate = |turns: f64| ((TAU * turns / n).cos(), (TAU * turns / n).sin());
    let ((cr, ci), (hr, hi)) = (rotate(divisions), rotate(1.0));
    let (mut zr, mut zi, mut wr, mut wi) = (1.0, 0.0, 1.0, 0.0);
    let (mut re, mut im) = (0.0, 0.0);
    for v in flat {
        let w = v * (1.0 - wr);
        re += w * zr;
        im += w * zi;
        (zr, zi) = (zr * cr - zi * ci, zr * ci + zi * cr);
        (wr, wi) = (wr * hr - wi * hi, wr * hi + wi * hr);
    }
    re * re + im * im
}
