//! The course that the rims agree on: a smooth middle, and a width that follows continuity.
//!
//! Column by column a rim may be missed: the inner side of a bright rim is taken for its outer one, a shadow or a shelf for the
//! stream's own edge. Over the whole stream the right edges agree on one smooth middle and one half width that thins
//! as continuity asks, and the wrong ones on nothing. So both are fitted at once to all edges, robustly; an edge that strays
//! from the course by more than waves do is looked for anew near it, and left out where there is none. The other rim of
//! that column still counts.

use super::curve::{Smooth, legendre, robust};
use super::stations::median;

/// Columns to either side over which the waves' size is taken.
const NEIGHBOURS: usize = 24;

/// The edges seen in one column, offsets from the curve in px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Seen {
    /// Along the curve, px.
    pub s_px: f64,
    /// The stream's width there over that at the orifice, by continuity.
    pub thinning: f64,
    /// Where its edges are; `None` where one is not seen.
    pub at: [Option<f64>; 2],
}

/// A smooth middle and a half width that follows continuity up to a slow change of scale.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Course {
    lo: f64,
    hi: f64,
    /// Offset of the middle from the curve.
    pub middle: Smooth,
    half: [f64; 2],
}

impl Course {
    /// The course of the edges of all columns, its middle a polynomial of `degree` at most; `None` where there are too few.
    pub fn fit(seen: &[Seen], degree: usize) -> Option<Self> {
        let both = || seen.iter().filter(|c| c.at[0].is_some() && c.at[1].is_some());
        let lo = both().map(|c| c.s_px).fold(f64::INFINITY, f64::min);
        let hi = both().map(|c| c.s_px).fold(f64::NEG_INFINITY, f64::max);
        if both().count() < 8 || hi <= lo {
            return None;
        }
        let terms = degree + 1;
        let (mut rows, mut values) = (Vec::new(), Vec::new());
        for c in both() {
            let t = 2.0 * (c.s_px - lo) / (hi - lo) - 1.0;
            for (side, sign) in [(0, -1.0), (1, 1.0)] {
                let Some(at) = c.at[side] else { continue };
                let mut row = legendre(t, terms);
                row.extend([sign * c.thinning, sign * c.thinning * t]);
                rows.push(row);
                values.push((at, 1.0));
            }
        }
        let mut all = robust(&rows, &values, 0.1)?;
        let half = [all[terms], all[terms + 1]];
        all.truncate(terms);
        Some(Self { lo, hi, middle: Smooth::of(lo, hi, all), half })
    }

    /// Half width where continuity thins the stream to `thinning` of that at the orifice, px.
    pub fn half(&self, s: f64, thinning: f64) -> f64 {
        thinning * (self.half[0] + self.half[1] * self.t(s))
    }

    /// Where the two edges are expected.
    pub fn edges(&self, s: f64, thinning: f64) -> [f64; 2] {
        let (middle, half) = (self.middle.at(s), self.half(s, thinning));
        [middle - half, middle + half]
    }

    /// Robust deviation of the edges from the course about each column, px: waves and what places the edges wrong by little.
    pub fn scatter(&self, seen: &[Seen]) -> Vec<f64> {
        let off: Vec<[Option<f64>; 2]> = seen
            .iter()
            .map(|c| {
                let expected = self.edges(c.s_px, c.thinning);
                [0, 1].map(|k| c.at[k].map(|at| (at - expected[k]).abs()))
            })
            .collect();
        let spread = |from: usize, to: usize| {
            let mut near: Vec<f64> = off[from..to].iter().flatten().flatten().copied().collect();
            (!near.is_empty()).then(|| 1.4826 * median(&mut near))
        };
        let usual = spread(0, off.len()).unwrap_or(0.0);
        (0..off.len())
            .map(|i| {
                let near = spread(i.saturating_sub(NEIGHBOURS), (i + NEIGHBOURS + 1).min(off.len()));
                // waves grow along the stream; a stretch with one rim missed has a scatter of its own that says nothing
                near.unwrap_or(usual).clamp(0.5 * usual, 1.5 * usual)
            })
            .collect()
    }

    /// From -1 at the first column fitted to 1 at the last; the scale is not taken to change on beyond them.
    fn t(&self, s: f64) -> f64 {
        (2.0 * (s - self.lo) / (self.hi - self.lo) - 1.0).clamp(-1.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A third of the columns have their first edge 4 px too far inside, all in one stretch.
    #[test]
    fn a_rim_missed_over_a_third_of_the_stream_bends_nothing() {
        let seen: Vec<Seen> = (0..300)
            .map(|i| {
                let s = 4.0 * i as f64;
                let thinning = 1.0 - 0.2 * s / 1200.0;
                let wave = 0.3 * (0.9 * i as f64).sin();
                let middle = 1.0 + 1e-3 * s - 1e-6 * s * s + wave;
                let missed = if (80..180).contains(&i) { 4.0 } else { 0.0 };
                Seen {
                    s_px: s,
                    thinning,
                    at: [Some(middle - 13.0 * thinning + missed), Some(middle + 13.0 * thinning)],
                }
            })
            .collect();
        let course = Course::fit(&seen, 4).unwrap();
        for c in &seen {
            let truth = 1.0 + 1e-3 * c.s_px - 1e-6 * c.s_px * c.s_px;
            assert!(
                (course.middle.at(c.s_px) - truth).abs() < 0.15,
                "{} at {}",
                course.middle.at(c.s_px) - truth,
                c.s_px
            );
            assert!((course.half(c.s_px, c.thinning) - 13.0 * c.thinning).abs() < 0.15);
        }
    }

    #[test]
    fn too_few_columns_have_no_course() {
        let one = Seen { s_px: 1.0, thinning: 1.0, at: [Some(-3.0), Some(3.0)] };
        assert!(Course::fit(&[one; 5], 4).is_none() && Course::fit(&[one; 20], 4).is_none());
    }
}
