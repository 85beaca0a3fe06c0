//! From the rims to the stream's outline: in each column the edges that agree with all others on one course.
//!
//! The rims were chosen by how strongly the photo changes there, and inner sides of bright or dark rims often change more than
//! the silhouette itself. But the silhouette is the *outermost* change beside a quiet background, column after column at the
//! same distance from the course, while clutter outside lies anywhere. So the outermost edges are asked where most of
//! them agree, the course is fitted anew to these, and each column keeps the outermost edge that is no farther from it
//! than waves carry one.

use super::band::Band;
use super::course::{Course, Seen};
use super::edges::{Edges, edges, nearer, outermost};
use super::rims::{Change, Rims};
use super::stations::{Middle, median, middles};

/// Scatters of the edges from which on one strays.
const STRAYING: f64 = 3.0;
/// Least strength of an edge in noise deviations where one is expected, and where none is.
const LEAST: f32 = 2.5;
const LEAST_OUTER: f32 = 5.0;
/// The same as a share of the rims' usual strength: what sharpening and compression leave beside a strong edge is weaker.
const LEAST_SHARE: f64 = 0.1;
/// How far beyond the first course, and within it, outermost edges are looked for, in widths.
const BEYOND: f64 = 0.3;
const WITHIN: f64 = 0.12;
/// Edges agree that lie within this of one another, in widths.
const AGREE: f64 = 0.03;
/// The outermost edges decide where at least this share of the columns agrees on them.
const ENOUGH: f64 = 0.25;

/// The edges of each column, and the course that they agree on.
pub(crate) struct Outline {
    /// Edges, column by column.
    pub edges: Vec<Edges>,
    /// Their course; `None` where there are too few.
    pub course: Option<Course>,
    /// Where the course expects both edges of each column; `None` without a course.
    pub expected: Option<Vec<[f64; 2]>>,
}

impl Outline {
    /// The outline near `rims` in the columns `range`; `near_px`: how far an edge may lie from its rim at least.
    pub fn new(
        band: &Band,
        change: &Change,
        rims: &[Rims],
        thinning: &[f64],
        range: std::ops::RangeInclusive<usize>,
        (near_px, width_px, degree): (usize, f64, usize),
    ) -> Self {
        let mut all = edges(band, change, rims, near_px, LEAST);
        let only = |all: &mut [Edges]| {
            all.iter_mut().enumerate().filter(|(i, _)| !range.contains(i)).for_each(|(_, e)| e.sides = [None; 2]);
        };
        only(&mut all);
        let Some(first) = Course::fit(&seen(&all, thinning), degree) else {
            return Self { edges: all, course: None, expected: None };
        };
        let mut strength: Vec<f64> = all.iter().flat_map(|e| e.sides).flatten().map(|e| e.strength).collect();
        let least = LEAST_OUTER.max((LEAST_SHARE * median(&mut strength)) as f32);
        let expected = expected(&first, &all, thinning);
        let beyond = |px: f64| vec![px; all.len()];
        let mut outer =
            outermost(band, change, &expected, &beyond(BEYOND * width_px), &beyond(WITHIN * width_px), least);
        only(&mut outer);
        let bandwidth = (AGREE * width_px).max(0.7);
        let shift = [0, 1].map(|side| agreed(&outer, &expected, side, range.clone().count(), bandwidth));
        let mut settled = all.clone();
        for ((e, outer), at) in settled.iter_mut().zip(&outer).zip(&expected) {
            for (side, outward) in [(0, -1.0), (1, 1.0)] {
                let Some(shift) = shift[side] else { continue };
                let at = at[side] + outward * shift;
                e.sides[side] = outer.sides[side].filter(|e| (e.at - at).abs() <= 2.5 * bandwidth);
            }
        }
        let course = Course::fit(&seen(&settled, thinning), degree).unwrap_or(first);
        let expected = self::expected(&course, &all, thinning);
        let gate: Vec<f64> = course
            .scatter(&seen(&settled, thinning))
            .iter()
            .map(|s| (STRAYING * s).clamp(bandwidth.max(1.5), (0.15 * width_px).max(2.0)))
            .collect();
        let mut edges = outermost(band, change, &expected, &gate, &gate, least);
        only(&mut edges);
        for (e, found) in edges.iter_mut().zip(&all) {
            for (side, _) in shift.iter().enumerate().filter(|(_, s)| s.is_none()) {
                e.sides[side] = found.sides[side];
            }
        }
        nearer(band, change, &mut edges[range.clone()], &expected, *range.start(), &gate, LEAST);
        Self { edges, course: Some(course), expected: Some(expected) }
    }

    /// How far the middle of each column with both edges lies from `course`, with the column's number.
    pub fn columns(&self, course: impl Fn(f64) -> f64) -> Vec<(usize, f64)> {
        let one = |(i, e): (usize, &Edges)| {
            let [a, b] = e.both()?;
            Some((i, 0.5 * (a.at + b.at) - course(e.s_px)))
        };
        self.edges.iter().enumerate().filter_map(one).collect()
    }

    /// Middles over groups of `group` columns.
    pub fn middles(&self, group: usize) -> Vec<Middle> {
        middles(&self.edges, self.expected.as_deref(), group)
    }
}

fn seen(edges: &[Edges], thinning: &[f64]) -> Vec<Seen> {
    let one = |(e, t): (&Edges, &f64)| Seen { s_px: e.s_px, thinning: *t, at: e.sides.map(|e| e.map(|e| e.at)) };
    edges.iter().zip(thinning).map(one).collect()
}

fn expected(course: &Course, edges: &[Edges], thinning: &[f64]) -> Vec<[f64; 2]> {
    edges.iter().zip(thinning).map(|(e, t)| course.edges(e.s_px, *t)).collect()
}

/// How far outward of where they are expected most edges of one side agree to lie, px; `None` where too few do.
fn agreed(edges: &[Edges], expected: &[[f64; 2]], side: usize, columns: usize, bandwidth: f64) -> Option<f64> {
    let outward = if side == 0 { -1.0 } else { 1.0 };
    let mut off: Vec<f64> =
        edges.iter().zip(expected).filter_map(|(e, at)| Some(outward * (e.sides[side]?.at - at[side]))).collect();
    off.sort_unstable_by(f64::total_cmp);
    let mass = |at: f64| off.iter().map(|o| (-0.5 * ((o - at) / bandwidth).powi(2)).exp()).sum::<f64>();
    let (lo, hi) = (*off.first()?, *off.last()?);
    let steps = ((hi - lo) / (0.25 * bandwidth)).ceil().max(1.0) as usize;
    let best =
        (0..=steps).map(|i| lo + (hi - lo) * i as f64 / steps as f64).max_by(|a, b| mass(*a).total_cmp(&mass(*b)))?;
    (mass(best) >= ENOUGH * columns as f64).then_some(best)
}
