//! The pair of rims, about one stream's width apart, that the band bears best.
//!
//! A rim is where the band changes across the stream, by lightness or colour, whichever way. Of all
//! ways along the band that keep a middle and a half width which change slowly, dynamic programming
//! finds the one with the strongest rims on both sides and the quietest surroundings outside them; the
//! latter makes the *outermost* edges win over glints and the inner sides of dark or bright rims.

use super::band::Band;
use crate::sheet::Tone;
use rayon::prelude::*;

/// Change across the stream below this many noise deviations never counts for more than half.
const LEAST_HALF_AT: f32 = 3.5;
/// Cost of a step of one px in the middle, and in the half width, from a column to the next.
const BEND_COST: f32 = 0.12;
const SWELL_COST: f32 = 0.16;
/// What change outside the rims costs.
const OUTSIDE_COST: f32 = 0.22;
/// Cost of a half width one spread away from what continuity expects.
const ODD_COST: f32 = 0.06;
/// A change of the wrong sign for the stated tone counts this much.
const WRONG_TONE: f32 = 0.6;

/// Strength of the change across the stream in each cell, in noise deviations.
pub(crate) struct Change {
    /// Column after column.
    pub strength: Vec<Vec<f32>>,
    /// Signed change of lightness in noise deviations, column after column.
    pub lightness: Vec<Vec<f32>>,
}

/// The two rims in one column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rims {
    /// Cell offset of the first edge (negative side) in px from the curve.
    pub first: f64,
    /// Cell offset of the second edge.
    pub second: f64,
    /// How well the two rims stand out: 0 not at all to 2 both in full, less what is outside.
    pub quality: f32,
}

/// Derivative of a Gaussian of deviation `sigma` px, so scaled that a unit step answers 1 at its place.
fn derivative_kernel(sigma: f64) -> Vec<f32> {
    let radius = (3.0 * sigma).ceil() as i64;
    let mut k: Vec<f64> = (-radius..=radius).map(|i| i as f64 * (-0.5 * (i as f64 / sigma).powi(2)).exp()).collect();
    // response to a unit step at 0: the sum of the positive half
    let positive: f64 = k.iter().filter(|v| **v > 0.0).sum();
    k.iter_mut().for_each(|v| *v /= positive);
    k.into_iter().map(|v| v as f32).collect()
}

impl Change {
    /// Change across the band at the scale `sigma` px; noise from the band's outer parts, beyond `quiet_px` from the curve.
    pub fn new(band: &Band, sigma: f64, quiet_px: f64) -> Self {
        let kernel = derivative_kernel(sigma);
        let radius = kernel.len() / 2;
        let cells = band.cells();
        let derive = |cells_of: &[f32]| -> Vec<f32> {
            let mut out = vec![0.0f32; cells];
            for j in radius..cells - radius {
                out[j] = kernel.iter().zip(&cells_of[j - radius..]).map(|(k, v)| k * v).sum();
            }
            out
        };
        let derived: Vec<Vec<Vec<f32>>> =
            band.columns.par_iter().map(|column| column.cells.chunks_exact(cells).map(derive).collect()).collect();
        let quiet = quiet_px as i64;
        let mut noise: Vec<f32> = (0..band.channels)
            .map(|c| {
                let mut sample: Vec<f32> = Vec::new();
                for (column, d) in band.columns.iter().zip(&derived) {
                    if column.seen {
                        let d = &d[c];
                        sample.extend(
                            (radius..cells - radius)
                                .filter(|&j| (j as i64 - band.reach as i64).abs() > quiet)
                                .map(|j| d[j].abs()),
                        );
                    }
                }
                if sample.is_empty() {
                    return f32::INFINITY;
                }
                // the lower quartile rather than the median: half of a cluttered background may be edges
                let quarter = sample.len() / 4;
                let (_, quartile, _) = sample.select_nth_unstable_by(quarter, f32::total_cmp);
                (*quartile / 0.3186).max(0.0006)
            })
            .collect();
        // colour is stored at half the size or less in most files: its noise is smoothed away and its edges bleed,
        // so that it never counts more than twice as much as lightness
        for c in 1..noise.len() {
            noise[c] = noise[c].max(0.5 * noise[0]);
        }
        let strength = derived
            .iter()
            .map(|d| {
                (0..cells).map(|j| d.iter().zip(&noise).map(|(d, n)| (d[j] / n).powi(2)).sum::<f32>().sqrt()).collect()
            })
            .collect();
        let lightness = derived.iter().map(|d| d[0].iter().map(|v| v / noise[0]).collect()).collect();
        Self { strength, lightness }
    }
}

/// What the search for the rims keeps to.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RimBounds {
    /// The middle stays within this of the curve, px.
    pub middle_px: f64,
    /// Half width at the orifice: least and most, px.
    pub half_px: (f64, f64),
    /// Half width expected at the orifice, px.
    pub expected_px: f64,
    /// Change that counts half, in noise deviations: below the usual strength of this stream's rims, so that what is
    /// much weaker than they are (tails of their own blur, clutter) hardly counts, and what is stronger no more than they.
    pub half_at: f32,
    /// The stream's tone.
    pub tone: Tone,
}

impl RimBounds {
    /// With the strength that counts half set from what the band holds within `within_px` of the curve.
    pub fn adapted_to_band(mut self, band: &Band, change: &Change, within_px: f64) -> Self {
        let mut strongest: Vec<f64> = band
            .columns
            .iter()
            .zip(&change.strength)
            .filter(|(c, _)| c.seen)
            .map(|(_, s)| {
                let (lo, hi) = (band.reach as f64 - within_px, band.reach as f64 + within_px);
                let (lo, hi) = (lo.max(0.0) as usize, (hi as usize).min(s.len() - 1));
                f64::from(s[lo..=hi].iter().copied().fold(0.0, f32::max))
            })
            .collect();
        if !strongest.is_empty() {
            self.half_at = (0.3 * super::stations::median(&mut strongest) as f32).max(LEAST_HALF_AT);
        }
        self
    }

    /// With the strength that counts half set from the rims that were found.
    pub fn adapted_to_rims(mut self, band: &Band, change: &Change, found: &[Rims]) -> Self {
        let at = |i: usize, o: f64| {
            let j = (o + band.reach as f64).round() as usize;
            let s = &change.strength[i];
            f64::from(s[j.saturating_sub(1)..(j + 2).min(s.len())].iter().copied().fold(0.0, f32::max))
        };
        let mut strength: Vec<f64> = (0..found.len())
            .filter(|&i| band.columns[i].seen)
            .map(|i| at(i, found[i].first).min(at(i, found[i].second)))
            .collect();
        if !strength.is_empty() {
            self.half_at = (0.5 * super::stations::median(&mut strength) as f32).max(LEAST_HALF_AT);
        }
        self
    }
}

/// The best pair of rims in each column. `thinning(s)` is the stream's width there over that at the orifice.
pub(crate) fn rims(
    band: &Band,
    change: &Change,
    bounds: &RimBounds,
    thinning: impl Fn(f64) -> f64,
    spread: impl Fn(usize) -> f64,
) -> Vec<Rims> {
    let pool = ((bounds.half_px.1 / 8.0).floor() as usize).clamp(1, 2);
    let middles = (bounds.middle_px / pool as f64).round() as i64;
    let (h0, h1) =
        ((bounds.half_px.0 / pool as f64).floor().max(1.0) as i64, (bounds.half_px.1 / pool as f64).ceil() as i64);
    let (nc, nh) = ((2 * middles + 1) as usize, (h1 - h0 + 1) as usize);
    let states = nc * nh;
    let cells = band.cells() as i64 / pool as i64 / 2;
    let outer = ((0.7 * bounds.half_px.1 / pool as f64).round() as i64).max(2);
    let mut total = vec![0.0f32; states];
    let mut next = vec![0.0f32; states];
    let mut half_way = vec![(0.0f32, 0u16); states];
    let mut from: Vec<Vec<u16>> = Vec::with_capacity(band.columns.len());
    let mut quality: Vec<Vec<f32>> = Vec::with_capacity(band.columns.len());
    let (bend, swell) = (BEND_COST * pool as f32, SWELL_COST * pool as f32);
    for (i, column) in band.columns.iter().enumerate() {
        let (first, second) = pooled(band, change, i, pool, bounds);
        let prefix: Vec<f32> = std::iter::once(0.0)
            .chain(first.iter().zip(&second).scan(0.0, |sum, (a, b)| {
                *sum += a.max(*b);
                Some(*sum)
            }))
            .collect();
        let thin = thinning(column.s_px);
        let expected = thin * bounds.expected_px / pool as f64;
        let spread = (spread(i) * expected).max(0.7);
        let own: Vec<f32> = (0..states)
            .map(|state| {
                if !column.seen {
                    return 0.0;
                }
                let (c, h) = ((state / nh) as i64 - middles, (state % nh) as i64 + h0);
                let (u, l) = (c - h + cells, c + h + cells);
                if u < outer || l + outer >= first.len() as i64 {
                    return -1.0;
                }
                let outside = prefix[(u - 1) as usize] - prefix[(u - outer) as usize] + prefix[(l + outer) as usize]
                    - prefix[(l + 2) as usize];
                let odd = ((h as f64 - expected) / spread) as f32;
                first[u as usize] + second[l as usize]
                    - (OUTSIDE_COST * outside).min(1.2)
                    - ODD_COST * (odd * odd).min(9.0)
            })
            .collect();
        // a step costs by middle and by half width separately, so the best step is found in two passes
        let mut came = vec![0u16; states];
        for c in 0..nc {
            for h in 0..nh {
                let state = c * nh + h;
                let (mut best, mut best_from) = (total[state], state);
                if c > 0 && total[state - nh] - bend > best {
                    (best, best_from) = (total[state - nh] - bend, state - nh);
                }
                if c + 1 < nc && total[state + nh] - bend > best {
                    (best, best_from) = (total[state + nh] - bend, state + nh);
                }
                half_way[state] = (best, best_from as u16);
            }
        }
        for c in 0..nc {
            for h in 0..nh {
                let state = c * nh + h;
                let (mut best, mut best_from) = half_way[state];
                if h > 0 && half_way[state - 1].0 - swell > best {
                    (best, best_from) = (half_way[state - 1].0 - swell, half_way[state - 1].1);
                }
                if h + 1 < nh && half_way[state + 1].0 - swell > best {
                    (best, best_from) = (half_way[state + 1].0 - swell, half_way[state + 1].1);
                }
                next[state] = best + own[state];
                came[state] = best_from;
            }
        }
        std::mem::swap(&mut total, &mut next);
        from.push(came);
        quality.push(own);
    }
    let mut state = (0..states).max_by(|a, b| total[*a].total_cmp(&total[*b])).unwrap_or(0);
    let mut found = Vec::with_capacity(band.columns.len());
    for i in (0..band.columns.len()).rev() {
        let (c, h) = ((state / nh) as i64 - middles, (state % nh) as i64 + h0);
        let place = |v: i64| (v * pool as i64) as f64;
        found.push(Rims { first: place(c - h), second: place(c + h), quality: quality[i][state] });
        state = usize::from(from[i][state]);
    }
    found.reverse();
    found
}

/// Half width at the orifice that most columns agree on after the thinning is taken out: the mode of a density
/// with a relative bandwidth of 4 %. A wrong edge lies anywhere; the right ones agree.
pub(crate) fn common_half_width(band: &Band, found: &[Rims], thinning: impl Fn(f64) -> f64) -> Option<f64> {
    let mut halves: Vec<(f64, f64)> = band
        .columns
        .iter()
        .zip(found)
        .filter(|(c, r)| c.seen && r.quality > 0.3)
        .map(|(c, r)| ((0.5 * (r.second - r.first) / thinning(c.s_px)).max(0.5).ln(), f64::from(r.quality)))
        .collect();
    halves.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let (lo, hi) = (halves.first()?.0, halves.last()?.0);
    let density = |at: f64| halves.iter().map(|(h, q)| q * (-0.5 * ((h - at) / 0.05).powi(2)).exp()).sum::<f64>();
    let steps = ((hi - lo) / 0.01).ceil().max(1.0) as usize;
    (0..=steps)
        .map(|i| lo + (hi - lo) * i as f64 / steps as f64)
        .max_by(|a, b| density(*a).total_cmp(&density(*b)))
        .map(f64::exp)
}

/// Where the half width strays from continuity over a long stretch: the running median, over about `stretch` columns, of
/// ln(half width / expected). Waves swell and thin the stream within a few widths; a wrong edge does so for long.
pub(crate) fn strays(band: &Band, found: &[Rims], expected: impl Fn(f64) -> f64, stretch: usize) -> Vec<f64> {
    let deviation: Vec<f64> = band
        .columns
        .iter()
        .zip(found)
        .map(|(c, r)| (0.5 * (r.second - r.first) / expected(c.s_px)).max(0.1).ln())
        .collect();
    (0..deviation.len())
        .map(|i| {
            let lo = i.saturating_sub(stretch / 2);
            let mut window = deviation[lo..(i + stretch / 2 + 1).min(deviation.len())].to_vec();
            super::stations::median(&mut window)
        })
        .collect()
}

/// Saturated change, best of `pool` cells, for the first and for the second edge (they differ where a tone is stated).
fn pooled(band: &Band, change: &Change, i: usize, pool: usize, bounds: &RimBounds) -> (Vec<f32>, Vec<f32>) {
    let half = (band.cells() / pool / 2) as i64;
    let half_at2 = bounds.half_at * bounds.half_at;
    let sign = match bounds.tone {
        Tone::Bright => 1.0,
        Tone::Dark => -1.0,
        Tone::Either => 0.0,
    };
    let side = |direction: f32| -> Vec<f32> {
        (-half..=half)
            .map(|k| {
                let middle = k * pool as i64 + band.reach as i64;
                let (a, b) = (middle - pool as i64 / 2, middle - pool as i64 / 2 + pool as i64);
                (a.max(0)..b.min(band.cells() as i64))
                    .map(|j| {
                        let (all, lightness) = (change.strength[i][j as usize], change.lightness[i][j as usize]);
                        // only lightness has a tone: what colour tells counts whichever way
                        let wrong = sign * direction * lightness < 0.0;
                        let less = if wrong { (1.0 - WRONG_TONE * WRONG_TONE) * lightness * lightness } else { 0.0 };
                        let power = (all * all - less).max(0.0);
                        power / (power + half_at2)
                    })
                    .fold(0.0, f32::max)
            })
            .collect()
    };
    if sign == 0.0 {
        let both = side(0.0);
        (both.clone(), both)
    } else {
        (side(1.0), side(-1.0))
    }
}
