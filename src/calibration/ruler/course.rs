//! A smooth course through divisions seen at many places of a ruler.

use crate::statistics;
use nalgebra::{DMatrix, DVector};

/// Terms of the course along the ruler: a cubic bears perspective and what a lens bends between the ends.
const MOST_TERMS: usize = 4;
/// Places along the ruler needed for each number of terms.
const PLACES_FOR_TERMS: [(usize, usize); 3] = [(9, 4), (6, 3), (4, 2)];
/// Tukey's biweight: 95 % efficient for normal scatter (P. W. Holland and R. E. Welsch, 1977, Comm. Statist. A6:813).
const TUKEY: f64 = 4.685;
/// Places nearer than this share of the weight of the common one are not counted as seen.
const SEEN: f64 = 0.05;

/// Divisions seen at one place: how far they lie beyond even spacing between the end marks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Sighting {
    /// Which place along the ruler it belongs to; sightings of one place lie across from one another.
    pub place: usize,
    /// Place along the ruler, -1 at the first mark to 1 at the last.
    pub t: f64,
    /// Distance from the line between the marks, px.
    pub across_px: f64,
    /// Beyond even spacing, px.
    pub shift_px: f64,
    /// Weight.
    pub weight: f64,
    /// +1 and -1 by turns where edges of blocks are seen, which gamma moves by turns to and fro; 0 for lines.
    pub side: f64,
}

/// Where the divisions lie against even spacing between the end marks.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Course {
    length_px: f64,
    terms: Vec<f64>,
    /// Lean of the lines against square to the ruler, at its middle and its change from there to the end: px along by px across.
    lean: [f64; 2],
    /// Robust scatter of the places about the course, px.
    pub scatter_px: f64,
    /// Standard uncertainty, from that scatter, of the distance between the ends.
    pub ends_u_px: f64,
    /// Places along the ruler at which divisions are seen, in their order: t, and the shift there, px.
    pub places: Vec<(f64, f64)>,
    /// Share of the places tried at which they are seen.
    pub seen: f64,
}

impl Course {
    /// How far beyond even spacing the divisions lie at `s_px` along the line and `across_px` beside it.
    pub fn shift_px(&self, s_px: f64, across_px: f64) -> f64 {
        let t = self.t(s_px);
        powers(&self.terms, t) + across_px * self.lean_at(t)
    }

    /// px along by px across that a line of the graduation leans at `t`.
    pub fn lean_at(&self, t: f64) -> f64 {
        self.lean[0] + self.lean[1] * t
    }

    /// Derivative of the shift by the place along the line.
    pub fn slope(&self, s_px: f64) -> f64 {
        let t = self.t(s_px);
        let slope: f64 = (1..self.terms.len()).map(|j| j as f64 * self.terms[j] * t.powi(j as i32 - 1)).sum();
        slope * 2.0 / self.length_px
    }

    fn t(&self, s_px: f64) -> f64 {
        2.0 * s_px / self.length_px - 1.0
    }

    /// Robust least squares through `sightings` of `tried` places; `None` where they are too few or say too little.
    ///
    /// Unknowns are the powers of t, the lean of the lines with its change along the ruler, and how far edges of blocks
    /// are displaced by turns. The scatter is that of whole places, each the mean across its sightings: noise of one
    /// picture line averages, what bends a place does not.
    pub fn through(sightings: &[Sighting], tried: usize, length_px: f64, reach_px: f64) -> Option<Self> {
        let terms = PLACES_FOR_TERMS.iter().find(|(places, _)| tried >= *places).map(|(_, terms)| *terms)?;
        let blocks = sightings.iter().any(|s| s.side != 0.0);
        let columns = terms + 2 + usize::from(blocks);
        if sightings.len() < 2 * columns {
            return None;
        }
        let row = |s: &Sighting| {
            let mut row = [0.0; MOST_TERMS + 3];
            (0..terms).for_each(|j| row[j] = s.t.powi(j as i32));
            row[terms] = s.across_px / reach_px;
            row[terms + 1] = s.across_px / reach_px * s.t;
            row[terms + 2] = s.side;
            row
        };
        let rows: Vec<_> = sightings.iter().map(row).collect();
        let mut weights: Vec<f64> = sightings.iter().map(|s| s.weight).collect();
        let mut left = vec![0.0; sightings.len()];
        let mut solved = DVector::zeros(columns);
        for _ in 0..12 {
            let mut normal = DMatrix::<f64>::zeros(columns, columns);
            let mut right = DVector::<f64>::zeros(columns);
            for ((row, s), w) in rows.iter().zip(sightings).zip(&weights) {
                for i in 0..columns {
                    right[i] += w * row[i] * s.shift_px;
                    (0..=i).for_each(|j| normal[(i, j)] += w * row[i] * row[j]);
                }
            }
            normal.fill_upper_triangle_with_lower_triangle();
            // rows at one distance say nothing of the lean: a hair of stiffness keeps it at zero
            let stiff = 1e-9 * normal.trace();
            (0..columns).for_each(|i| normal[(i, i)] += stiff);
            solved = normal.cholesky()?.solve(&right);
            for ((l, row), s) in left.iter_mut().zip(&rows).zip(sightings) {
                *l = s.shift_px - (0..columns).map(|i| row[i] * solved[i]).sum::<f64>();
            }
            let scatter = weighted_median(&left, sightings) * 1.4826;
            for ((w, s), l) in weights.iter_mut().zip(sightings).zip(&left) {
                let u = (l / (TUKEY * scatter.max(1e-3))).powi(2);
                *w = if u < 1.0 { s.weight * (1.0 - u).powi(2) } else { 0.0 };
            }
        }
        let polynomial: Vec<f64> = solved.iter().take(terms).copied().collect();
        let lean = [solved[terms] / reach_px, solved[terms + 1] / reach_px];
        let whole = places(sightings, &weights, &left);
        let common = median(whole.iter().map(|p| p.2));
        let kept: Vec<_> = whole.iter().filter(|p| p.2 > SEEN * common).collect();
        if kept.len() <= terms {
            return None;
        }
        let free = kept.len() as f64 / (kept.len() - terms) as f64;
        let scatter_px = 1.4826 * median(kept.iter().map(|p| p.1.abs())) * free.sqrt();
        let basis = |t: f64| DVector::from_iterator(terms, (0..terms).map(|j| t.powi(j as i32)));
        let normal = kept.iter().fold(DMatrix::<f64>::zeros(terms, terms), |sum, p| {
            let b = basis(p.0);
            sum + &b * b.transpose()
        });
        let ends = basis(1.0) - basis(-1.0);
        let ends_u_px = scatter_px * (ends.dot(&normal.cholesky()?.solve(&ends))).max(0.0).sqrt();
        Some(Self {
            length_px,
            lean,
            scatter_px,
            ends_u_px,
            places: kept.iter().map(|p| (p.0, powers(&polynomial, p.0) + p.1)).collect(),
            seen: kept.len() as f64 / tried as f64,
            terms: polynomial,
        })
    }
}

fn powers(terms: &[f64], t: f64) -> f64 {
    terms.iter().rev().fold(0.0, |sum, c| sum * t + c)
}

/// Of each place: t, its mean residual, and its weight.
fn places(sightings: &[Sighting], weights: &[f64], left: &[f64]) -> Vec<(f64, f64, f64)> {
    let count = sightings.iter().map(|s| s.place + 1).max().unwrap_or(0);
    let mut sums = vec![(0.0, 0.0, 0.0); count];
    for ((s, w), l) in sightings.iter().zip(weights).zip(left) {
        let sum = &mut sums[s.place];
        *sum = (sum.0 + w * s.t, sum.1 + w * l, sum.2 + w);
    }
    sums.into_iter().filter(|s| s.2 > 0.0).map(|(t, l, w)| (t / w, l / w, w)).collect()
}

/// Median; 0 of nothing.
pub(super) fn median(values: impl Iterator<Item = f64>) -> f64 {
    statistics::median(&mut values.collect::<Vec<_>>()).unwrap_or(0.0)
}

/// Median of the residuals' sizes, each counted by its sighting's weight.
fn weighted_median(left: &[f64], sightings: &[Sighting]) -> f64 {
    let mut sizes: Vec<(f64, f64)> = left.iter().zip(sightings).map(|(l, s)| (l.abs(), s.weight)).collect();
    sizes.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let half = 0.5 * sizes.iter().map(|s| s.1).sum::<f64>();
    let mut sum = 0.0;
    for (size, weight) in sizes {
        sum += weight;
        if sum >= half {
            return size;
        }
    }
    0.0
}
