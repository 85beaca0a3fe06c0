//! Fine graduations, many lines close together: where they lie follows from the local phase of the line that they
//! make in the spectrum.
//!
//! ```text
//! windows   of at least eight divisions along the ruler, each half over the next
//! stretch   of the divisions from end to end, as a camera askew makes it: the one that collects most power
//! chain     from window to window the phase moves on by what all rows together say
//! sightings each row of each window, its phase near the chain's, weighted by its power over the row's own noise
//! ```
//! Two windows' phases are compared row by row, so that lines that lean do not cancel.

use super::course::{Sighting, median};
use super::strips::Strips;
use rayon::prelude::*;
use std::f64::consts::{PI, TAU};

/// Divisions a window at least, and fewest windows; windows that would lie side by side along the ruler: short ones follow a scale that
/// changes, long ones see fainter lines.
const LEAST_DIVISIONS: f64 = 8.0;
const LEAST_WINDOWS: usize = 9;
pub(super) const SIDE_BY_SIDE: [f64; 2] = [30.0, 14.0];
/// Fewest and most pixels of a division.
pub(super) const LEAST_PERIOD_PX: f64 = 2.4;
const MOST_PERIOD_PX: f64 = 64.0;
/// How far the scale as a whole may be from that of the clicks, and how far it may change along the ruler to either side of
/// the middle, as shares; each with the step in which it is tried.
const STRETCH: (f64, f64) = (0.012, 0.002);
const CHANGE: (f64, f64) = (0.04, 0.005);
/// Multiples of the local frequency at which a row's own noise is read.
const BESIDE: [f64; 4] = [0.75, 0.82, 1.2, 1.3];
/// Power over the noise from which a row of a window counts.
const LEAST_POWER: f64 = 4.0;
/// Power over the noise, of the best rows of the common window, that a graduation has at least: rendered ones 60 to 890,
/// boards, tanks and noise up to 15.
const LEAST_STRENGTH: f64 = 25.0;
/// How well neighbouring windows agree over their rows, 0 to 1: rendered graduations 0.86 to 0.99, what is none up to 0.7.
const LEAST_AGREEMENT: f64 = 0.72;
/// Least amplitude of the lines, of the grey scale; and of lines as far apart as what the picture's own grid may show.
const LEAST_AMPLITUDE: (f64, f64) = (0.002, 0.02);

type Complex = (f64, f64);

/// What shows of a fine graduation.
pub(super) struct Seen {
    /// Its phases.
    pub sightings: Vec<Sighting>,
    /// Windows that were looked at.
    pub windows: usize,
    /// Mean power of each row at its period.
    pub powers: Vec<f64>,
}

/// What shows of `divisions` between the end marks; `None` where nothing does.
pub(super) fn seen(strips: &Strips, divisions: f64, side_by_side: f64) -> Option<Seen> {
    let period_px = strips.length_px / divisions;
    if !(LEAST_PERIOD_PX..=MOST_PERIOD_PX).contains(&period_px) {
        return None;
    }
    let n = strips.samples;
    let period = n as f64 / divisions;
    let divisions_a_window = LEAST_DIVISIONS.max(divisions / side_by_side);
    let width = (divisions_a_window * period).round() as usize;
    let starts: Vec<usize> = (0..(n + 1).saturating_sub(width)).step_by((width / 2).max(1)).collect();
    if starts.len() < LEAST_WINDOWS {
        return None;
    }
    let rows: Vec<Vec<f64>> = strips.rows.par_iter().map(|(_, row)| without_slow(row, 0.75 * period)).collect();
    let t: Vec<f64> = starts.iter().map(|s| 2.0 * (*s as f64 + 0.5 * width as f64) / n as f64 - 1.0).collect();
    let at = |cycles: &[f64]| demodulated(&rows, &starts, width, cycles);
    let even = vec![1.0 / period; starts.len()];

    let local = stretch(&even, &t, divisions_a_window, &at);
    let seen = at(&local);
    let noise: Vec<f64> = {
        let beside: Vec<_> = BESIDE.iter().map(|m| at(&local.iter().map(|c| c * m).collect::<Vec<_>>())).collect();
        let of_row = |r: usize| median(beside.iter().flat_map(|b| b.iter().map(move |w| power(w[r]))));
        (0..rows.len()).map(|r| of_row(r).max(1e-12)).collect()
    };
    let strengths = |w: &[Complex]| -> Vec<f64> { w.iter().zip(&noise).map(|(z, n)| power(*z) / n).collect() };
    let best = |values: &[f64]| {
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(|a, b| b.total_cmp(a));
        let most = (rows.len() / 12).max(3).min(sorted.len());
        sorted[..most].iter().sum::<f64>() / most as f64
    };
    let strength = median(seen.iter().map(|w| best(&strengths(w))));
    let amplitude = median(seen.iter().map(|w| best(&w.iter().map(|z| power(*z)).collect::<Vec<_>>()).sqrt()));
    let least = if strips.beats_with(period_px) { LEAST_AMPLITUDE.1 } else { LEAST_AMPLITUDE.0 };
    if strength < LEAST_STRENGTH || amplitude < least {
        return None;
    }

    // the chain: phase beyond even spacing at each window, common to its rows
    let middle: Vec<f64> = starts.iter().map(|s| *s as f64 + 0.5 * width as f64 - 0.5).collect();
    let (mut beyond, mut agreement) = (vec![0.0], Vec::new());
    for k in 1..starts.len() {
        let (mut sum, mut before, mut after) = ((0.0, 0.0), 0.0, 0.0);
        for r in 0..rows.len() {
            let (a, b) = (seen[k - 1][r], seen[k][r]);
            let step = times(b, (a.0, -a.1));
            sum = (sum.0 + step.0 / noise[r], sum.1 + step.1 / noise[r]);
            before += power(a) / noise[r];
            after += power(b) / noise[r];
        }
        agreement.push(power(sum).sqrt() / (before * after).sqrt());
        let expected = TAU * (middle[k] - middle[k - 1]) * 0.5 * (local[k] + local[k - 1]);
        let even_step = TAU * (middle[k] - middle[k - 1]) / period;
        let moved = wrapped(sum.1.atan2(sum.0) - expected) + expected - even_step;
        beyond.push(beyond[k - 1] + moved);
    }
    if median(agreement.into_iter()) < LEAST_AGREEMENT {
        return None;
    }

    // what is left of each row's phase, less a lean common to all
    let turned = |k: usize, r: usize, lean: f64| {
        let angle = -(TAU * middle[k] / period + beyond[k]) - lean * strips.rows[r].0;
        times(seen[k][r], (angle.cos(), angle.sin()))
    };
    let mut across = (0.0, 0.0);
    for k in 0..starts.len() {
        for r in 1..rows.len() {
            let (a, b) = (turned(k, r - 1, 0.0), turned(k, r, 0.0));
            let step = times(b, (a.0, -a.1));
            let w = (noise[r] * noise[r - 1]).sqrt();
            across = (across.0 + step.0 / w, across.1 + step.1 / w);
        }
    }
    let apart = strips.rows.get(1)?.0 - strips.rows[0].0;
    let lean = across.1.atan2(across.0) / apart;
    let mut sum = (0.0, 0.0);
    for k in 0..starts.len() {
        for (r, n) in noise.iter().enumerate() {
            let z = turned(k, r, lean);
            let w = power(z).sqrt() / n;
            sum = (sum.0 + w * z.0, sum.1 + w * z.1);
        }
    }
    let base = sum.1.atan2(sum.0);
    let mut sightings = Vec::new();
    for (k, row_powers) in seen.iter().map(|w| strengths(w)).enumerate() {
        for (r, strength) in row_powers.iter().enumerate().filter(|(_, s)| **s > LEAST_POWER) {
            let z = turned(k, r, lean);
            let across_px = strips.rows[r].0;
            let phase = beyond[k] + lean * across_px + base + wrapped(z.1.atan2(z.0) - base);
            let over = strength - LEAST_POWER;
            sightings.push(Sighting {
                place: k,
                t: t[k],
                across_px,
                shift_px: -phase * period_px / TAU,
                weight: over / (1.0 + over / 50.0),
                side: 0.0,
            });
        }
    }
    let windows = starts.len();
    let mean = |r: usize| seen.iter().map(|w| power(w[r])).sum::<f64>() / windows as f64;
    Some(Seen { sightings, windows, powers: (0..rows.len()).map(mean).collect() })
}

/// Local frequencies under the stretch that collects most power over all windows and rows.
fn stretch(even: &[f64], t: &[f64], divisions_a_window: f64, at: &impl Fn(&[f64]) -> Vec<Vec<Complex>>) -> Vec<f64> {
    // a Hann window's line is four counts wide: quarters of a count miss nothing
    let step = 0.25 / divisions_a_window;
    let most = STRETCH.0 + CHANGE.0;
    let steps = (most / step).ceil() as i64;
    let powers: Vec<Vec<f64>> = (-steps..=steps)
        .map(|e| {
            let cycles: Vec<f64> = even.iter().map(|c| c * (1.0 + step * e as f64)).collect();
            at(&cycles).iter().map(|w| w.iter().map(|z| power(*z)).sum()).collect()
        })
        .collect();
    let collected = |e1: f64, e2: f64| -> f64 {
        t.iter()
            .enumerate()
            .map(|(k, t)| {
                let place = ((e1 + e2 * t) / step + steps as f64).clamp(0.0, (powers.len() - 1) as f64);
                let (i, part) = (place as usize, place.fract());
                let next = (i + 1).min(powers.len() - 1);
                powers[i][k] * (1.0 - part) + powers[next][k] * part
            })
            .sum()
    };
    let tried = |(most, step): (f64, f64)| {
        let count = (most / step).round() as i64;
        (-count..=count).map(move |i| i as f64 * step)
    };
    let mut best = (f64::NEG_INFINITY, 0.0, 0.0);
    for e1 in tried(STRETCH) {
        for e2 in tried(CHANGE) {
            let sum = collected(e1, e2);
            if sum > best.0 {
                best = (sum, e1, e2);
            }
        }
    }
    even.iter().zip(t).map(|(c, t)| c * (1.0 + best.1 + best.2 * t)).collect()
}

/// Amplitude and phase, under a Hann window about its middle, of each window at its own `cycles` a sample: by window, by row.
fn demodulated(rows: &[Vec<f64>], starts: &[usize], width: usize, cycles: &[f64]) -> Vec<Vec<Complex>> {
    starts
        .par_iter()
        .zip(cycles)
        .map(|(start, cycles)| {
            let wave: Vec<Complex> = (0..width)
                .map(|i| {
                    let hann = (1.0 - (TAU * (i as f64 + 0.5) / width as f64).cos()) / width as f64;
                    let turn = -TAU * cycles * (i as f64 - 0.5 * width as f64 + 0.5);
                    (hann * turn.cos(), hann * turn.sin())
                })
                .collect();
            let of = |row: &Vec<f64>| {
                let part = &row[*start..*start + width];
                part.iter().zip(&wave).fold((0.0, 0.0), |z, (v, w)| (z.0 + v * w.0, z.1 + v * w.1))
            };
            rows.iter().map(of).collect()
        })
        .collect()
}

/// Without what changes more slowly than over `half` samples to either side, and without what stands out by far.
fn without_slow(values: &[f32], half: f64) -> Vec<f64> {
    let (n, half) = (values.len(), (half as usize).max(1));
    let sums: Vec<f64> = std::iter::once(0.0)
        .chain(values.iter().scan(0.0, |s, v| {
            *s += f64::from(*v);
            Some(*s)
        }))
        .collect();
    let mut flat: Vec<f64> = (0..n)
        .map(|i| {
            let (a, b) = (i.saturating_sub(half), (i + half + 1).min(n));
            f64::from(values[i]) - (sums[b] - sums[a]) / (b - a) as f64
        })
        .collect();
    let most = 6.0 * 1.4826 * median(flat.iter().map(|v| v.abs())) + 1e-4;
    flat.iter_mut().for_each(|v| *v = v.clamp(-most, most));
    flat
}

fn power(z: Complex) -> f64 {
    z.0 * z.0 + z.1 * z.1
}

fn times(a: Complex, b: Complex) -> Complex {
    (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0)
}

/// An angle between -pi and pi.
fn wrapped(angle: f64) -> f64 {
    angle - TAU * ((angle + PI) / TAU).floor()
}
