//! Where the divisions lie along a strip: local phases and a smooth course through them.

use super::spectrum::without_slow;
use nalgebra::{SMatrix, SVector};
use std::f64::consts::{PI, TAU};

/// Terms of the course: a cubic bears perspective and what a lens bends between the ends.
const TERMS: usize = 4;
/// Divisions a window at least, and windows along the ruler at most.
const WINDOW: (f64, f64) = (6.0, 40.0);
/// Fewest windows.
const LEAST_WINDOWS: usize = 10;

/// How the divisions lie against even spacing between the ends.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Course {
    length_px: f64,
    terms: [f64; TERMS],
    /// Robust scatter of the windows about the course, px.
    pub scatter_px: f64,
    /// Standard uncertainty, from that scatter, of the distance between the ends.
    pub ends_u_px: f64,
}

impl Course {
    /// How far beyond even spacing the divisions lie at `s_px` along the strip.
    pub fn shift_px(&self, s_px: f64) -> f64 {
        basis(2.0 * s_px / self.length_px - 1.0).iter().zip(&self.terms).map(|(b, t)| b * t).sum()
    }

    /// Derivative of the shift by the place along the strip.
    pub fn slope(&self, s_px: f64) -> f64 {
        let t = 2.0 * s_px / self.length_px - 1.0;
        (self.terms[1] + 2.0 * t * self.terms[2] + 3.0 * t * t * self.terms[3]) * 2.0 / self.length_px
    }
}

fn basis(t: f64) -> [f64; TERMS] {
    [1.0, t, t * t, t * t * t]
}

/// The course of `divisions` along a strip of `length_px`; `None` where too few windows show them.
pub(super) fn course(strip: &[f64], divisions: f64, length_px: f64) -> Option<Course> {
    let n = strip.len();
    let flat = without_slow(strip, divisions);
    let period = n as f64 / divisions;
    let width = (WINDOW.0.max(divisions / WINDOW.1) * period).round() as usize;
    let step = (width / 2).max(1);
    let samples_a_px = n as f64 / length_px;
    let (mut points, mut last) = (Vec::new(), None::<f64>);
    for start in (0..n.saturating_sub(width)).step_by(step) {
        let (mut re, mut im) = (0.0, 0.0);
        for (i, v) in flat[start..start + width].iter().enumerate() {
            let hann = 1.0 - (TAU * (i as f64 + 0.5) / width as f64).cos();
            let turn = TAU * (start + i) as f64 / period;
            re += hann * v * turn.cos();
            im += hann * v * turn.sin();
        }
        let mut phase = im.atan2(re);
        if let Some(before) = last {
            phase -= TAU * ((phase - before) / TAU).round();
        }
        last = Some(phase);
        let t = 2.0 * (start as f64 + 0.5 * width as f64) / n as f64 - 1.0;
        points.push((t, phase * period / samples_a_px / (2.0 * PI), re.hypot(im)));
    }
    if points.len() < LEAST_WINDOWS {
        return None;
    }
    let mut weights: Vec<f64> = points.iter().map(|p| p.2).collect();
    let (mut terms, mut scatter_px, mut inverse) = ([0.0; TERMS], 0.0, SMatrix::<f64, TERMS, TERMS>::zeros());
    for _ in 0..8 {
        let mut normal = SMatrix::<f64, TERMS, TERMS>::zeros();
        let mut right = SVector::<f64, TERMS>::zeros();
        for ((t, shift, _), w) in points.iter().zip(&weights) {
            let b = SVector::from(basis(*t));
            normal += *w * b * b.transpose();
            right += *w * *shift * b;
        }
        inverse = normal.try_inverse()?;
        let solved = inverse * right;
        terms = solved.into();
        let left = |t: f64, shift: f64| shift - basis(t).iter().zip(&terms).map(|(b, c)| b * c).sum::<f64>();
        let mut sizes: Vec<f64> = points.iter().map(|p| left(p.0, p.1).abs()).collect();
        sizes.sort_unstable_by(f64::total_cmp);
        scatter_px = 1.4826 * sizes[sizes.len() / 2];
        let cut = 4.685 * scatter_px.max(1e-3);
        for (w, p) in weights.iter_mut().zip(&points) {
            let u = (left(p.0, p.1) / cut).powi(2);
            *w = if u < 1.0 { p.2 * (1.0 - u).powi(2) } else { 0.0 };
        }
    }
    // weights are relative: scaled so that they sum to the count of windows
    let scale = weights.iter().sum::<f64>() / points.len() as f64;
    let ends = SVector::from(basis(1.0)) - SVector::from(basis(-1.0));
    let ends_u_px = scatter_px * ((ends.transpose() * inverse * ends)[0] * scale).max(0.0).sqrt();
    Some(Course { length_px, terms, scatter_px, ends_u_px })
}
