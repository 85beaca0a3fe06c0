//! Marks laid over the photo where a view puts them, and moved until they fit.
//!
//! A mark as the photo should show it is its black cells blurred by a Gaussian: in the mark's own coordinates u, v (in
//! cells) T(u, v) = 1 - sum over black cells of w(u - column) w(v - row), w the Gaussian's integral over one cell. The
//! photo is taken as a + b (T + e T (1 - T)) + c u + d v + f dT/d(ln blur), T shifted by du, dv: light, contrast, tone, uneven
//! light, a blur that is not quite the one assumed, and the shift. Tone: light is blurred before a camera bends its values
//! (gamma), which shifts every soft edge towards the black; cells lie not alike on both sides of a mark's middle, so an edge
//! shifted unawares would move the middle (0.08 px where the blur is 3 px). One linear least squares for each step (B. D.
//! Lucas and T. Kanade, 1981, Proc. 7th IJCAI, 674), repeated until it rests.

use super::agreed::{CardView, Seen};
use crate::card::{Card, CodedMark, code};
use crate::photo::Plate;
use crate::statistics::{normal_cdf_quick, normal_density};
use nalgebra::{SMatrix, SVector};
use rayon::prelude::*;

/// Cells a side, with the rim; white around that is looked at, in cells.
const CELLS: usize = code::SIDE + 2;
const AROUND: f64 = 0.8;
/// Samples a side.
const SAMPLES: (usize, usize) = (20, 48);
/// Steps at most, and a step that counts as rest, cells.
const MOST_STEPS: usize = 8;
const REST: f64 = 1e-3;
/// A mark farther than this from where it is expected is another thing, cells.
const FARTHEST: f64 = 1.2;
/// Least correlation of a mark with the photo; and as a share of that of good ones.
const LEAST_LIKE: f64 = 0.70;
const LEAST_OF_GOOD: f64 = 0.88;
/// Least contrast, as a share of that of good ones.
const LEAST_CONTRAST: f64 = 0.4;
/// Blurs that are tried, px, standard deviation.
const BLURS_PX: [f64; 9] = [0.4, 0.7, 1.0, 1.4, 1.9, 2.5, 3.2, 4.0, 5.0];
/// Variance that pixels and the sampling between them add, px^2: 1/12 for the box of a pixel and as much for the tent.
const SAMPLING_PX2: f64 = 1.0 / 6.0;

/// e of the model beyond which a tone would not rise from black to white.
const MOST_TONE: f64 = 0.9;

/// How one mark fits.
#[derive(Clone, Copy, Debug)]
struct Fit {
    /// Its middle, px.
    at: [f64; 2],
    /// Correlation with the photo.
    like: f64,
    /// White less black.
    contrast: f64,
}

/// The blur, px, with which the marks of these numbers fit best.
pub(super) fn blur(plate: &Plate, card: &Card, numbers: &[usize], view: &CardView) -> f64 {
    // a dozen marks tell as well as all
    let step = numbers.len().div_ceil(12).max(1);
    let marks: Vec<&CodedMark> = numbers.iter().step_by(step).filter_map(|n| card.mark(*n)).collect();
    let like = |blur_px: f64| {
        let fits = marks.par_iter().filter_map(|m| fit(plate, m, view, blur_px)).map(|f| f.like);
        let all: Vec<f64> = fits.collect();
        all.iter().sum::<f64>()
    };
    let tried: Vec<(f64, f64)> = BLURS_PX.iter().map(|b| (*b, like(*b))).collect();
    tried.into_iter().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(1.0, |b| b.0)
}

/// All marks of the card that fit where the view puts them.
pub(super) fn fitted(plate: &Plate, card: &Card, view: &CardView, blur_px: f64) -> Vec<Seen> {
    let fits: Vec<(usize, Fit)> =
        card.marks.par_iter().filter_map(|m| Some((m.number, fit(plate, m, view, blur_px)?))).collect();
    // many may be hidden: the upper quarter is of those that are not
    let good = |of: fn(&Fit) -> f64| {
        let mut all: Vec<f64> = fits.iter().map(|f| of(&f.1)).collect();
        all.sort_by(f64::total_cmp);
        all.get(3 * all.len() / 4).copied().unwrap_or(1.0)
    };
    let (like, contrast) = (good(|f| f.like), good(|f| f.contrast));
    let stands = |f: &Fit| f.like >= LEAST_LIKE.max(LEAST_OF_GOOD * like) && f.contrast >= LEAST_CONTRAST * contrast;
    fits.into_iter().filter(|(_, f)| stands(f)).map(|(number, f)| Seen { number, at: f.at }).collect()
}

/// One direction of the template: for each sample, and each cell, how much of the blurred cell is there, its slope, and its
/// change with the logarithm of the blur.
struct Axis {
    weight: Vec<[f64; CELLS]>,
    slope: Vec<[f64; CELLS]>,
    softer: Vec<[f64; CELLS]>,
}

impl Axis {
    fn new(places: &[f64], blur_cells: f64) -> Self {
        let edges = |u: f64| -> [f64; CELLS + 1] { std::array::from_fn(|i| (u - i as f64) / blur_cells) };
        let weight = |u: &f64| {
            let e = edges(*u);
            std::array::from_fn(|i| normal_cdf_quick(e[i]) - normal_cdf_quick(e[i + 1]))
        };
        let slope = |u: &f64| {
            let e = edges(*u);
            std::array::from_fn(|i| (normal_density(e[i]) - normal_density(e[i + 1])) / blur_cells)
        };
        let softer = |u: &f64| {
            let e = edges(*u).map(|e| e * normal_density(e));
            std::array::from_fn(|i| e[i + 1] - e[i])
        };
        Self {
            weight: places.iter().map(weight).collect(),
            slope: places.iter().map(slope).collect(),
            softer: places.iter().map(softer).collect(),
        }
    }
}

/// Lays one mark over the photo; `None` where it is out of the photo, or nothing like it is there.
fn fit(plate: &Plate, mark: &CodedMark, view: &CardView, blur_px: f64) -> Option<Fit> {
    let cell_mm = mark.side_mm / CELLS as f64;
    let half = 0.5 * CELLS as f64;
    let pixel = |u: f64, v: f64| {
        view.pixel([mark.centre_mm[0] + (u - half) * cell_mm, mark.centre_mm[1] + (v - half) * cell_mm])
    };
    let at = pixel(half, half)?;
    let (right, down) = (pixel(half + 0.5, half)?, pixel(half, half + 0.5)?);
    let (left, up) = (pixel(half - 0.5, half)?, pixel(half, half - 0.5)?);
    // pixels per cell, and cells per pixel
    let j = [[right[0] - left[0], down[0] - up[0]], [right[1] - left[1], down[1] - up[1]]];
    let det = j[0][0] * j[1][1] - j[0][1] * j[1][0];
    if det <= 1.0 {
        return None;
    }
    let blur = (blur_px * blur_px + SAMPLING_PX2).sqrt();
    let (blur_u, blur_v) = (blur * j[1][1].hypot(j[0][1]) / det, blur * j[0][0].hypot(j[1][0]) / det);
    let count = |size: f64| (((CELLS as f64 + 2.0 * AROUND) * size).ceil() as usize).clamp(SAMPLES.0, SAMPLES.1);
    let places = |n: usize| -> Vec<f64> {
        let span = CELLS as f64 + 2.0 * AROUND;
        (0..n).map(|i| -AROUND + span * (i as f64 + 0.5) / n as f64).collect()
    };
    let (us, vs) = (places(count(j[0][0].hypot(j[1][0]))), places(count(j[0][1].hypot(j[1][1]))));
    let grid: Vec<[f64; 2]> = vs.iter().flat_map(|v| us.iter().map(|u| pixel(*u, *v))).collect::<Option<_>>()?;
    let (width, height) = (plate.width as f64, plate.height as f64);
    if grid.iter().any(|p| !(p[0] >= 1.0 && p[1] >= 1.0 && p[0] <= width - 1.0 && p[1] <= height - 1.0)) {
        return None;
    }
    let template = template(mark.word, &Axis::new(&us, blur_u), &Axis::new(&vs, blur_v));
    let (mut du, mut dv, mut tone) = (0.0, 0.0, 0.0);
    for _ in 0..MOST_STEPS {
        let move_px = [j[0][0] * du + j[0][1] * dv, j[1][0] * du + j[1][1] * dv];
        let value = |i: usize| f64::from(plate.sample(grid[i][0] + move_px[0], grid[i][1] + move_px[1]));
        let step = step(&us, &vs, &template, tone, value)?;
        tone = step.tone;
        du += step.shift[0];
        dv += step.shift[1];
        if du.hypot(dv) > FARTHEST || (du + dv).is_nan() {
            return None;
        }
        if step.shift[0].hypot(step.shift[1]) < REST {
            let at = [at[0] + j[0][0] * du + j[0][1] * dv, at[1] + j[1][0] * du + j[1][1] * dv];
            return (step.contrast > 0.0).then_some(Fit { at, like: step.like, contrast: step.contrast });
        }
    }
    None
}

/// The template, its slopes along u and v, and its change with the logarithm of the blur, row by row.
fn template(word: u16, u: &Axis, v: &Axis) -> Vec<[f64; 4]> {
    let black = |row: usize, column: usize| {
        let coded = |i: usize| (1..=code::SIDE).contains(&i);
        !(coded(row) && coded(column) && code::is_white(word, row - 1, column - 1))
    };
    let blacks: Vec<(usize, usize)> =
        (0..CELLS * CELLS).map(|i| (i / CELLS, i % CELLS)).filter(|(r, c)| black(*r, *c)).collect();
    let mut out = Vec::with_capacity(u.weight.len() * v.weight.len());
    for ((wv, sv), bv) in v.weight.iter().zip(&v.slope).zip(&v.softer) {
        for ((wu, su), bu) in u.weight.iter().zip(&u.slope).zip(&u.softer) {
            let mut value = [1.0, 0.0, 0.0, 0.0];
            for &(row, column) in &blacks {
                value[0] -= wv[row] * wu[column];
                value[1] -= wv[row] * su[column];
                value[2] -= sv[row] * wu[column];
                value[3] -= wv[row] * bu[column] + bv[row] * wu[column];
            }
            out.push(value);
        }
    }
    out
}

/// One step of the shift.
struct Step {
    shift: [f64; 2],
    like: f64,
    contrast: f64,
    /// e of the model.
    tone: f64,
}

/// Unknowns of a step.
const UNKNOWNS: usize = 8;

/// value(u, v) = a + b T - b (1 + e (1 - 2 T)) (T_u du + T_v dv) + c u + d v + b e T (1 - T) + f dT/d(ln blur), solved for all
/// eight; the e beside the shift is that of the step before, `tone`.
fn step(us: &[f64], vs: &[f64], template: &[[f64; 4]], tone: f64, value: impl Fn(usize) -> f64) -> Option<Step> {
    let middle = 0.5 * CELLS as f64;
    // plain arrays: a matrix library's update by a vector costs ten times as much where it is not optimised
    let (mut normal, mut right) = ([[0.0; UNKNOWNS]; UNKNOWNS], [0.0; UNKNOWNS]);
    let (mut sum, mut squares) = (0.0, 0.0);
    for (i, t) in template.iter().enumerate() {
        let (u, v) = (us[i % us.len()] - middle, vs[i / us.len()] - middle);
        let steeper = 1.0 + tone * (1.0 - 2.0 * t[0]);
        let row = [1.0, t[0], steeper * t[1], steeper * t[2], u, v, t[0] * (1.0 - t[0]), t[3]];
        let value = value(i);
        for (j, a) in row.iter().enumerate() {
            for (k, b) in row.iter().enumerate().take(j + 1) {
                normal[j][k] += a * b;
            }
            right[j] += a * value;
        }
        sum += value;
        squares += value * value;
    }
    let normal = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::from_fn(|j, k| normal[j.max(k)][j.min(k)]);
    let right = SVector::<f64, UNKNOWNS>::from(right);
    let x = normal.cholesky()?.solve(&right);
    let n = template.len() as f64;
    // share of the variance that the template explains, light that changes along the mark included
    let whole = squares - sum * sum / n;
    let left = squares - x.dot(&right);
    let like = (1.0 - left / whole).max(0.0).sqrt();
    let contrast = x[1];
    let tone = (x[6] / contrast).clamp(-MOST_TONE, MOST_TONE);
    let shift = [-x[2] / contrast, -x[3] / contrast];
    (contrast.abs() > 1e-3).then_some(Step { shift, like, contrast, tone })
}
