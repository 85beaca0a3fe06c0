//! Coarse graduations, few lines or the edges of blocks: each found by itself, row by row.
//!
//! Where they are expected follows from the marks, which are taken to lie on the graduation, and from the stretch from end to
//! end that makes lines, or edges that turn from dark to light and back, stand out most. A line's place is the centroid of what
//! is darker (or lighter) than its flanks; an edge's that where a sharp step would have the same sum of grey between the
//! plateaus beside it (the step that keeps the first moment: A. J. Tabatabai and O. R. Mitchell, 1984, IEEE Trans. PAMI 6:188).

use super::course::{Sighting, median};
use super::strips::Strips;
use rayon::prelude::*;

/// What repeats along the ruler.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Lines.
    Lines,
    /// Blocks, dark and light by turns.
    Blocks,
}

/// Fewest pixels of a division, and fewest and most divisions.
pub(super) const LEAST_PERIOD_PX: f64 = 12.0;
const DIVISIONS: (f64, f64) = (4.0, 250.0);
/// Change of the scale along the ruler, and stretch of the whole, that are tried: shares, with their steps.
const CHANGE: (f64, f64) = (0.04, 0.0025);
const STRETCH: (f64, f64) = (0.008, 0.002);
/// How far to either side an edge and its plateaus, or a line and its flanks, are looked at: a share of a division, at most px.
const REACH: (f64, f64) = (0.33, 12.0);
/// Half of a line's window, px at most; rows are averaged over this many for a place each.
const LINE_HALF_PX: f64 = 5.0;
const ROWS_A_PLACE: usize = 3;
/// Contrast over its noise from which a place counts, and least contrast, of the grey scale.
const LEAST_CONTRAST: (f64, f64) = (5.0, 0.02);

/// Sightings of `divisions` between the end marks, and how many places were tried; `None` where there are none.
pub(super) fn sightings(strips: &Strips, divisions: f64, kind: Kind) -> Option<(Vec<Sighting>, usize)> {
    let period_px = strips.length_px / divisions;
    if period_px < LEAST_PERIOD_PX || !(DIVISIONS.0..=DIVISIONS.1).contains(&divisions) {
        return None;
    }
    let period = period_px / strips.step_px();
    let reach = ((REACH.0 * period_px).min(REACH.1) / strips.step_px()).round() as usize;
    let rows: Vec<Row> = strips.rows.chunks(ROWS_A_PLACE).map(|rows| Row::new(rows, reach, kind)).collect();
    let count = divisions.round() as usize;
    // a bar ends at its end marks: what lies beyond is not of the ruler
    let inside = match kind {
        Kind::Lines => 0..count + 1,
        Kind::Blocks => 1..count,
    };
    let turns = |k: usize| if kind == Kind::Blocks && k % 2 == 1 { -1.0 } else { 1.0 };
    let best = rows.par_iter().map(|row| best_stretch(row, strips, period, &inside, turns)).collect::<Vec<_>>();
    let (e1, e2) = agreed(&best)?;
    let mut sightings = Vec::new();
    for (row, best) in rows.iter().zip(&best) {
        let sign = best.sum.signum();
        for k in inside.clone() {
            let expected = place(strips, period, k, e1, e2);
            let found = match kind {
                Kind::Lines => row.line(expected, sign, reach, strips.step_px()),
                Kind::Blocks => row.edge(expected, sign * turns(k), reach),
            };
            let Some((at, contrast)) = found else { continue };
            sightings.push(Sighting {
                place: k - inside.start,
                t: 2.0 * k as f64 / divisions - 1.0,
                across_px: row.across_px,
                shift_px: (at - k as f64 * period) * strips.step_px(),
                weight: (contrast / LEAST_CONTRAST.0).min(10.0),
                side: if kind == Kind::Blocks { turns(k) } else { 0.0 },
            });
        }
    }
    Some((sightings, inside.len()))
}

/// Sample at which division `k` is expected.
fn place(strips: &Strips, period: f64, k: usize, e1: f64, e2: f64) -> f64 {
    let even = k as f64 * period;
    let t = 2.0 * even / strips.samples as f64 - 1.0;
    // the integral of a stretch e1 + e2 t, nil at the first mark
    even + 0.5 * strips.samples as f64 * (e1 * (t + 1.0) + 0.5 * e2 * (t * t - 1.0))
}

#[derive(Clone, Copy, Debug)]
struct Stretched {
    e1: f64,
    e2: f64,
    sum: f64,
}

/// The stretch under which a row answers most.
fn best_stretch(
    row: &Row,
    strips: &Strips,
    period: f64,
    inside: &std::ops::Range<usize>,
    turns: impl Fn(usize) -> f64,
) -> Stretched {
    let tried = |(most, step): (f64, f64)| {
        let count = (most / step).round() as i64;
        (-count..=count).map(move |i| i as f64 * step)
    };
    let mut best = Stretched { e1: 0.0, e2: 0.0, sum: 0.0 };
    for e1 in tried(STRETCH) {
        for e2 in tried(CHANGE) {
            let answer = |k: usize| turns(k) * row.answer(place(strips, period, k, e1, e2));
            let sum: f64 = inside.clone().map(answer).sum();
            if sum.abs() > best.sum.abs() {
                best = Stretched { e1, e2, sum };
            }
        }
    }
    best
}

/// The stretch that the strongest rows agree on.
fn agreed(rows: &[Stretched]) -> Option<(f64, f64)> {
    let most = rows.iter().map(|r| r.sum.abs()).fold(0.0, f64::max);
    let strong = || rows.iter().filter(|r| r.sum.abs() >= 0.7 * most);
    (most > 0.0).then(|| (median(strong().map(|r| r.e1)), median(strong().map(|r| r.e2))))
}

/// The mean of a few rows, and how strongly each sample answers to what is looked for.
struct Row {
    across_px: f64,
    values: Vec<f64>,
    answers: Vec<f64>,
    noise: f64,
}

impl Row {
    fn new(rows: &[(f64, Vec<f32>)], reach: usize, kind: Kind) -> Self {
        let n = rows[0].1.len();
        let values: Vec<f64> =
            (0..n).map(|i| rows.iter().map(|r| f64::from(r.1[i])).sum::<f64>() / rows.len() as f64).collect();
        let mut sums = vec![0.0; n + 1];
        (0..n).for_each(|i| sums[i + 1] = sums[i] + values[i]);
        let mean = |a: usize, b: usize| (sums[b] - sums[a]) / (b - a) as f64;
        let third = (reach / 3).max(1);
        let answers = (0..n)
            .map(|i| {
                let (a, b) = (i.saturating_sub(reach), (i + reach).min(n));
                if i - a < reach || b - i < reach {
                    return 0.0;
                }
                match kind {
                    Kind::Blocks => mean(i, b) - mean(a, i),
                    Kind::Lines => {
                        let (c, d) = (i - third / 2, i + third / 2 + 1);
                        0.5 * (mean(a, c) + mean(d, b)) - mean(c, d)
                    }
                }
            })
            .collect();
        // samples are denser than pixels: differences over a few of them see the whole noise
        let noise = median((4..n).map(|i| (values[i] - values[i - 4]).abs())) / 0.6745 / std::f64::consts::SQRT_2;
        let across_px = rows.iter().map(|r| r.0).sum::<f64>() / rows.len() as f64;
        Self { across_px, values, answers, noise: noise.max(1e-4) }
    }

    fn answer(&self, at: f64) -> f64 {
        let i = at.round();
        if i >= 0.0 { self.answers.get(i as usize).copied().unwrap_or(0.0) } else { 0.0 }
    }

    /// The sample of the strongest answer of this sign near `expected`, well inside the window.
    fn summit(&self, expected: f64, sign: f64, reach: usize) -> Option<usize> {
        let n = self.values.len();
        let middle = expected.round() as i64;
        let near = reach as i64;
        let (a, b) = ((middle - near).max(0) as usize, ((middle + near + 1).max(0) as usize).min(n));
        let top = (a..b).max_by(|i, j| (sign * self.answers[*i]).total_cmp(&(sign * self.answers[*j])))?;
        let inner = top > a && top + 1 < b && sign * self.answers[top] > 0.0;
        (inner && top >= reach && top + reach < n).then_some(top)
    }

    /// Place of an edge that rises (`sign` 1) or falls (-1), in samples, and its contrast over the noise.
    fn edge(&self, expected: f64, sign: f64, reach: usize) -> Option<(f64, f64)> {
        let mut at = self.summit(expected, sign, reach)? as f64;
        let n = self.values.len() as f64;
        let mut contrast = 0.0;
        for _ in 0..3 {
            let middle = at.round();
            if middle - (reach as f64) < 0.0 || middle + reach as f64 >= n {
                return None;
            }
            let (a, b) = ((middle - reach as f64) as usize, (middle + reach as f64) as usize + 1);
            let part = &self.values[a..b];
            let plateau = (part.len() / 4).max(1);
            let low = median(part[..plateau].iter().copied());
            let high = median(part[part.len() - plateau..].iter().copied());
            contrast = sign * (high - low);
            if contrast < LEAST_CONTRAST.1.max(LEAST_CONTRAST.0 * self.noise) {
                return None;
            }
            // as many samples high as the sum of grey says; sample i stands for i - 1/2 to i + 1/2
            let share = part.iter().map(|v| ((v - low) / (high - low)).clamp(-0.3, 1.3)).sum::<f64>();
            at = b as f64 - 0.5 - share;
        }
        ((at - expected).abs() <= reach as f64).then_some((at, contrast / self.noise))
    }

    /// Place of a line darker (`sign` 1) or lighter (-1) than its flanks, in samples, and its contrast over the noise.
    fn line(&self, expected: f64, sign: f64, reach: usize, step_px: f64) -> Option<(f64, f64)> {
        let top = self.summit(expected, sign, reach)?;
        let half = ((LINE_HALF_PX / step_px) as usize).min(reach * 2 / 3).max(2);
        let flanks = self.values[top - reach..top - half].iter().chain(&self.values[top + half + 1..=top + reach]);
        let ground = median(flanks.copied());
        let depth = |i: usize| (sign * (ground - self.values[i])).max(0.0);
        let contrast = (top - half..=top + half).map(depth).fold(0.0, f64::max);
        if contrast < LEAST_CONTRAST.1.max(LEAST_CONTRAST.0 * self.noise) {
            return None;
        }
        let mut at = top as f64;
        for _ in 0..3 {
            let (mut sum, mut moment) = (0.0, 0.0);
            for i in
                (at.round() as usize).saturating_sub(half)..=(at.round() as usize + half).min(self.values.len() - 1)
            {
                let d = depth(i);
                let d = if d > 0.25 * contrast { d } else { 0.0 };
                sum += d;
                moment += d * i as f64;
            }
            if sum <= 0.0 {
                return None;
            }
            at = moment / sum;
        }
        ((at - top as f64).abs() <= half as f64).then_some((at, contrast / self.noise))
    }
}
