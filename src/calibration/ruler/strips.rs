//! The photo along a ruler: parallel rows of samples.

use crate::photo::{Mix, Photo};
use crate::point::PixelPoint;
use rayon::prelude::*;

/// How far to either side of the line between the marks rows are taken: a share of the line's length, and its bounds in px.
const REACH: (f64, f64, f64) = (0.03, 8.0, 60.0);
/// Rows are means over this many px across, taken every [`ROWS_APART`] px.
const THICK: i64 = 3;
const ROWS_APART: i64 = 2;
/// Samples a pixel along the ruler, about.
const SAMPLES_A_PX: f64 = 2.0;

/// Rows of samples beside one another along the line from the first mark to the last.
#[derive(Clone, Debug)]
pub(super) struct Strips {
    /// Each row's distance from the line in px, positive to the right of its direction, and its samples.
    pub rows: Vec<(f64, Vec<f32>)>,
    /// Samples in a row: a whole number of steps from mark to mark.
    pub samples: usize,
    /// Distance between the marks, px.
    pub length_px: f64,
    /// How far the outermost rows lie from the line, px.
    pub reach_px: f64,
    /// Direction of the line.
    along: [f64; 2],
}

impl Strips {
    /// Samples the photo from `a` to `b` and beside.
    pub fn new(photo: &Photo, a: PixelPoint, b: PixelPoint) -> Self {
        let length_px = a.distance(b);
        let along = [(b.x - a.x) / length_px, (b.y - a.y) / length_px];
        let reach = (REACH.0 * length_px).clamp(REACH.1, REACH.2) as i64;
        let samples = (length_px * SAMPLES_A_PX) as usize;
        let step = length_px / samples as f64;
        let lines: Vec<Vec<f32>> = (-reach..=reach)
            .into_par_iter()
            .map(|n| {
                let (ox, oy) = (a.x - n as f64 * along[1], a.y + n as f64 * along[0]);
                let at = |i: usize| (ox + i as f64 * step * along[0], oy + i as f64 * step * along[1]);
                (0..samples).map(|i| photo.sample(at(i).0, at(i).1, Mix::LUMA)).collect()
            })
            .collect();
        let mean = |k: usize| {
            let lines = &lines[k..k + THICK as usize];
            (0..samples).map(|i| lines.iter().map(|l| l[i]).sum::<f32>() / THICK as f32).collect()
        };
        let rows = (0..=(2 * reach + 1 - THICK) as usize)
            .step_by(ROWS_APART as usize)
            .map(|k| ((k as i64 + THICK / 2 - reach) as f64, mean(k)))
            .collect();
        Self { rows, samples, length_px, reach_px: reach as f64, along }
    }

    /// Whether the picture's own grid may show such a period along the ruler: the steps of the pixels that an edge crosses, and
    /// the blocks of eight that a JPEG is made of (ITU-T T.81, A.1.1).
    pub fn beats_with(&self, period_px: f64) -> bool {
        let steps = self.along.map(|a| 1.0 / a.abs().max(1e-9));
        let beats = |step: f64| (period_px / step - 1.0).abs() < 0.04;
        steps.iter().any(|step| beats(*step) || beats(0.5 * step) || beats(8.0 * step))
    }

    /// Pixels a sample.
    pub fn step_px(&self) -> f64 {
        self.length_px / self.samples as f64
    }
}
