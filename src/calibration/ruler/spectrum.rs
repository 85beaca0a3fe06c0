//! What repeats along a strip, where no usual graduation does: the strongest line of the spectrum, for the message.

use super::course::median;
use super::strips::Strips;
use rayon::prelude::*;
use std::f64::consts::TAU;

/// Fewest divisions, and fewest pixels of one.
const LEAST: (f64, f64) = (24.0, 2.6);
/// Share of the count to either side that is looked at around a line.
const AROUND: f64 = 0.25;
/// Power over the median around it from which a line is told. Rendered rulers stand out 450 times and more.
const LEAST_STRENGTH: f64 = 100.0;
/// Rows looked at: those that vary most.
const ROWS: usize = 6;

/// Divisions between the marks that stand out most; `None` where none do.
pub(super) fn strongest(strips: &Strips) -> Option<f64> {
    let (lo, hi) = (LEAST.0, strips.length_px / LEAST.1);
    if hi <= lo {
        return None;
    }
    let mut rows: Vec<(f64, Vec<f64>)> = strips
        .rows
        .iter()
        .map(|(_, row)| {
            let jumps: Vec<f64> = (4..row.len()).map(|i| f64::from(row[i] - row[i - 4])).collect();
            (median(jumps.iter().map(|j| j.abs())), jumps)
        })
        .collect();
    rows.sort_by(|a, b| b.0.total_cmp(&a.0));
    rows.truncate(ROWS);
    let found = rows.par_iter().filter_map(|(size, jumps)| of_row(jumps, *size, lo, hi)).collect::<Vec<_>>();
    let own = |(divisions, _): &(f64, f64)| !strips.beats_with(strips.length_px / divisions);
    let strong = found.into_iter().filter(own).max_by(|a, b| a.1.total_cmp(&b.1));
    strong.filter(|(_, s)| *s >= LEAST_STRENGTH).map(|(divisions, _)| divisions)
}

/// The divisions that stand out most in a row, and by how much.
fn of_row(jumps: &[f64], size: f64, lo: f64, hi: f64) -> Option<(f64, f64)> {
    // a Hann window's line is four counts wide: steps of half a count miss nothing
    const STEP: f64 = 0.5;
    let most = 6.0 * 1.4826 * size + 1e-4;
    let flat: Vec<f64> = jumps.iter().map(|j| j.clamp(-most, most)).collect();
    let (from, to) = ((1.0 - AROUND) * lo, (1.0 + AROUND) * hi);
    let steps = ((to - from) / STEP).ceil() as usize + 1;
    let power: Vec<f64> = (0..steps).map(|k| power(&flat, from + STEP * k as f64)).collect();
    let strength = |k: usize| {
        let divisions = from + STEP * k as f64;
        let reach = (AROUND * divisions / STEP) as usize;
        let own = ((0.03 * divisions).max(4.0) / STEP) as usize;
        let around = (k.saturating_sub(reach)..(k + reach + 1).min(steps)).filter(|j| j.abs_diff(k) > own);
        (divisions, power[k] / median(around.map(|j| power[j])).max(f64::MIN_POSITIVE))
    };
    (1..steps - 1)
        .filter(|k| power[*k] >= power[k - 1] && power[*k] >= power[k + 1])
        .map(strength)
        .filter(|(divisions, _)| (lo..=hi).contains(divisions))
        .max_by(|a, b| a.1.total_cmp(&b.1))
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
