//! How a camera moved between two photos of one bench: shift, small turn, exposure.
//!
//! Method: a coarse search over shifts by normalised correlation, then Gauss-Newton on a pyramid (B. D. Lucas and
//! T. Kanade, "An iterative image registration technique with an application to stereo vision", IJCAI 1981; S. Baker and
//! I. Matthews, "Lucas-Kanade 20 years on", IJCV 56 (2004), with gain and offset as further unknowns). It holds on to pixels with a
//! steep gradient, as many from each cell of a grid, so that no single object leads. Residuals weigh by Tukey's
//! biweight: what moves on its own, the jet above all, drops out.
//!
//! Points are transformed; the photos themselves stay as they are.

use super::{Mix, Photo, Plate};
use crate::point::PixelPoint;
use nalgebra::{SMatrix, SVector};
use rayon::prelude::*;
use thiserror::Error;

/// Why two photos could not be brought onto one another.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum NoMatch {
    /// Sizes differ.
    #[error(
        "it is {width} x {height} pixels, the other {of_width} x {of_height}; \
         use photos of one camera at one setting, neither cropped nor scaled"
    )]
    Size {
        /// Width in pixels.
        width: usize,
        /// Height in pixels.
        height: usize,
        /// Width of the photo it is laid on.
        of_width: usize,
        /// Height of the photo it is laid on.
        of_height: usize,
    },
    /// The pictures do not agree anywhere near each other.
    #[error(
        "it does not show the same view: after the best shift and turn {:.0} % of it agree ({:.0} % are needed); \
         use photos taken from one tripod, with the same zoom, of an unmoved bench",
        agreement * 100.0, needed * 100.0
    )]
    Scene {
        /// Share of the parts of the picture that agree after registration.
        agreement: f64,
        /// The least that is taken for the same view.
        needed: f64,
    },
    /// The view has nothing to hold on to.
    #[error(
        "the view has too little in it to tell how the camera moved; \
         keep something with sharp edges in view that stands still, such as a ruler"
    )]
    Featureless {
        /// Standard uncertainty of the shift in pixels; infinite where nothing is known.
        u_px: f64,
    },
}

/// How one photo lies on the first: turn about the middle, then shift; and how its exposure differs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Movement {
    /// Turn about the middle of the photo in rad; positive from x towards y, clockwise as displayed.
    pub angle_rad: f64,
    /// Shift to the right and downwards in pixels.
    pub shift_px: [f64; 2],
    /// Middle of the photo in pixels.
    pub middle_px: [f64; 2],
    /// Standard uncertainty of the shift, the larger of the two directions, in pixels.
    pub u_px: f64,
    /// Grey value in this photo for one step of grey value in the first.
    pub gain: f64,
    /// Grey value in this photo where the first has 0.
    pub offset: f64,
    /// Share of the parts of the picture, among those with something in them, that agree with the first.
    pub agreement: f64,
}

/// Share of agreeing cells below which two photos are taken for different views. Drawn views of one bench gave 0.73 and
/// more, also when one lacked the jet; unrelated ones that share a ruler and a jet 0.13 to 0.15.
const LEAST_AGREEMENT: f64 = 0.5;
/// Correlation from which a cell agrees.
const CELL_AGREES: f64 = 0.7;
/// A cell has something in it when its grey values vary by more than this many standard deviations of what is left.
const CONTENT: f64 = 3.0;
/// Fewest cells with something in them.
const LEAST_CELLS: usize = 6;
/// A cell whose own shift would explain more than this many times what it explains in the middle one moves on its own: for
/// normal noise (chi-squared, two degrees of freedom, median 1.386) one cell in 4000 goes beyond.
const OWN_SHIFT: f64 = 12.0;
/// A cell with a smaller share of its pixels within the cut of the biweight moves on its own and is left out.
const LEAST_INLIERS: f64 = 0.85;
/// Uncertainty of the shift above which the view is called featureless, in pixels.
const MOST_U_PX: f64 = 0.25;
/// Cells of the grid across and down.
const CELLS: [usize; 2] = [16, 12];
/// Most pixels that a cell gives.
const MOST_OF_A_CELL: usize = 300;
/// Fewest pixels to hold on to in the whole view.
const LEAST_HOLDS: usize = 100;
/// Shorter side in pixels that the coarse search works at, about.
const COARSE_SIDE: usize = 40;
/// Tuning constant of the biweight, for 95 % efficiency on normal residuals (common practice, no source).
const BIWEIGHT: f64 = 4.685;

impl Movement {
    /// No movement, of a photo of `width` x `height` pixels.
    pub fn none(width: usize, height: usize) -> Self {
        Self {
            angle_rad: 0.0,
            shift_px: [0.0; 2],
            middle_px: [width as f64 / 2.0, height as f64 / 2.0],
            u_px: 0.0,
            gain: 1.0,
            offset: 0.0,
            agreement: 1.0,
        }
    }

    /// The point of this photo that shows what `first` shows in the first photo.
    pub fn transform_from_first(&self, first: PixelPoint) -> PixelPoint {
        let (sin, cos) = self.angle_rad.sin_cos();
        let [mx, my] = self.middle_px;
        let (x, y) = (first.x - mx, first.y - my);
        PixelPoint::new(cos * x - sin * y + mx + self.shift_px[0], sin * x + cos * y + my + self.shift_px[1])
    }

    /// The point of the first photo that shows what `here` shows in this one.
    pub fn first_from_here(&self, here: PixelPoint) -> PixelPoint {
        let (sin, cos) = self.angle_rad.sin_cos();
        let [mx, my] = self.middle_px;
        let (x, y) = (here.x - mx - self.shift_px[0], here.y - my - self.shift_px[1]);
        PixelPoint::new(cos * x + sin * y + mx, -sin * x + cos * y + my)
    }

    /// The same movement in the pixels of plates reduced by `factor`.
    pub(super) fn reduced(mut self, factor: f64) -> Self {
        self.shift_px = self.shift_px.map(|v| v / factor);
        self.middle_px = self.middle_px.map(|v| v / factor);
        self
    }
}

/// How `other` lies on `first`, to a fraction of a pixel.
///
/// Finds shifts up to an eighth of the shorter side and turns of a few degrees.
///
/// # Errors
/// [`NoMatch`] for photos of different sizes or views, and for views with nothing to hold on to.
pub fn register(first: &Photo, other: &Photo, mix: Mix) -> Result<Movement, NoMatch> {
    if (first.width, first.height) != (other.width, other.height) {
        return Err(NoMatch::Size {
            width: other.width,
            height: other.height,
            of_width: first.width,
            of_height: first.height,
        });
    }
    let side = first.width.min(first.height);
    let finest = if first.width * first.height > 3_000_000 { 2 } else { 1 };
    let mut factor = finest;
    while side / (factor * 2) >= COARSE_SIDE {
        factor *= 2;
    }
    let mut movement = Movement::none(first.width, first.height);
    let mut is_first_level = true;
    loop {
        let (a, b) = (first.reduced(mix, factor), other.reduced(mix, factor));
        if is_first_level {
            let [x, y] = coarse_shift(&a, &b);
            movement.shift_px = [x * factor as f64, y * factor as f64];
            is_first_level = false;
        }
        movement = refine(&a, &b, movement, factor as f64);
        if factor <= finest {
            break;
        }
        factor /= 2;
    }
    if !movement.u_px.is_finite() {
        return Err(NoMatch::Featureless { u_px: movement.u_px });
    }
    if movement.agreement < LEAST_AGREEMENT {
        return Err(NoMatch::Scene { agreement: movement.agreement.max(0.0), needed: LEAST_AGREEMENT });
    }
    if movement.u_px > MOST_U_PX {
        return Err(NoMatch::Featureless { u_px: movement.u_px });
    }
    Ok(movement)
}

/// The whole shift, in pixels of the plates, under which `b` correlates best with `a`; slow changes of brightness are
/// taken off first.
fn coarse_shift(a: &Plate, b: &Plate) -> [f64; 2] {
    let (a, b) = (without_slow(a), without_slow(b));
    let reach = (a.width.min(a.height) / 8) as isize;
    let shifts: Vec<(isize, isize)> =
        (-reach..=reach).flat_map(|dy| (-reach..=reach).map(move |dx| (dx, dy))).collect();
    let score = |&(dx, dy): &(isize, isize)| {
        let (mut ab, mut aa, mut bb) = (0.0, 1e-12, 1e-12);
        for y in 0.max(-dy)..(a.height as isize).min(a.height as isize - dy) {
            for x in 0.max(-dx)..(a.width as isize).min(a.width as isize - dx) {
                let (p, q) = (a.value(x as usize, y as usize), b.value((x + dx) as usize, (y + dy) as usize));
                ab += f64::from(p * q);
                aa += f64::from(p * p);
                bb += f64::from(q * q);
            }
        }
        ab / f64::sqrt(aa * bb)
    };
    let scores: Vec<f64> = shifts.par_iter().map(score).collect();
    let best = (0..shifts.len()).max_by(|&i, &j| scores[i].total_cmp(&scores[j])).unwrap_or(shifts.len() / 2);
    [shifts[best].0 as f64, shifts[best].1 as f64]
}

/// A plate less its own mean over 9 x 9 pixels.
fn without_slow(plate: &Plate) -> Plate {
    const HALF: usize = 4;
    let mut values = Vec::with_capacity(plate.values.len());
    for y in 0..plate.height {
        for x in 0..plate.width {
            let (mut sum, mut count) = (0.0, 0.0);
            for v in y.saturating_sub(HALF)..(y + HALF + 1).min(plate.height) {
                for u in x.saturating_sub(HALF)..(x + HALF + 1).min(plate.width) {
                    sum += plate.value(u, v);
                    count += 1.0;
                }
            }
            values.push(plate.value(x, y) - sum / count);
        }
    }
    Plate { values, ..*plate }
}

/// A pixel that registration holds on to: its centre, grey value, gradient.
#[derive(Clone, Copy)]
struct Hold {
    at: [f64; 2],
    value: f64,
    gradient: [f64; 2],
}

/// The steepest pixels of each cell of the grid.
fn holds(plate: &Plate) -> Vec<Vec<Hold>> {
    const MARGIN: usize = 3;
    let cell = |i: usize| {
        let (cx, cy) = (i % CELLS[0], i / CELLS[0]);
        let range =
            |c: usize, n: usize, cells: usize| (c * n / cells).max(MARGIN)..((c + 1) * n / cells).min(n - MARGIN);
        let mut found = Vec::new();
        for y in range(cy, plate.height, CELLS[1]) {
            for x in range(cx, plate.width, CELLS[0]) {
                let slope = |ahead: f32, behind: f32| f64::from(ahead - behind) / 2.0;
                found.push(Hold {
                    at: [x as f64 + 0.5, y as f64 + 0.5],
                    value: plate.value(x, y).into(),
                    gradient: [
                        slope(plate.value(x + 1, y), plate.value(x - 1, y)),
                        slope(plate.value(x, y + 1), plate.value(x, y - 1)),
                    ],
                });
            }
        }
        let steepness = |h: &Hold| h.gradient[0] * h.gradient[0] + h.gradient[1] * h.gradient[1];
        let kept = MOST_OF_A_CELL.min(found.len() / 2);
        if kept > 0 {
            found.select_nth_unstable_by(kept, |a, b| steepness(b).total_cmp(&steepness(a)));
        }
        found.truncate(kept);
        found
    };
    (0..CELLS[0] * CELLS[1]).into_par_iter().map(cell).collect()
}

/// Sums over one cell: normal matrix, right side; variance of the grey values in either photo, correlation, means.
#[derive(Clone, Copy)]
struct Sums {
    normal: SMatrix<f64, 5, 5>,
    right: SVector<f64, 5>,
    variances: [f64; 2],
    correlation: f64,
    means: [f64; 2],
    inliers: f64,
}

impl Sums {
    /// By how much a shift of the cell's own would lower its sum of squares.
    fn own_shift(&self) -> f64 {
        let (xx, xy, yy) = (self.normal[(1, 1)], self.normal[(1, 2)], self.normal[(2, 2)]);
        let (x, y) = (self.right[1], self.right[2]);
        // A cell of one straight edge knows one direction only; a trifle on the diagonal keeps the other at rest.
        let trifle = 1e-3 * (xx + yy) + f64::MIN_POSITIVE;
        let (xx, yy) = (xx + trifle, yy + trifle);
        (yy * x * x - 2.0 * xy * x * y + xx * y * y) / (xx * yy - xy * xy).max(f64::MIN_POSITIVE)
    }

    /// Whether the cell shows more than is left over after registration, of standard deviation `sd`.
    fn has_content(&self, sd: f64) -> bool {
        self.variances[0].max(self.variances[1]) > (CONTENT * sd).powi(2)
    }

    fn agrees(&self) -> bool {
        self.correlation > CELL_AGREES
    }
}

/// Gauss-Newton at one level of the pyramid, plates reduced by `factor`. The unknowns: turn, shift (2), gain, offset.
fn refine(a: &Plate, b: &Plate, start: Movement, factor: f64) -> Movement {
    const MOST_ROUNDS: usize = 15;
    const STILL_PX: f64 = 1e-3;
    /// From here on what differs is not the registration any more: parts that move on their own are told.
    const NEAR_PX: f64 = 0.2;
    let holds = holds(a);
    let mut movement = start.reduced(factor);
    let reach = (a.width as f64).hypot(a.height as f64) / 2.0;
    let mut is_near = false;
    let mut exposure = None;
    for _ in 0..MOST_ROUNDS {
        let cells: Vec<Vec<(Hold, f64)>> = holds.par_iter().map(|cell| residuals(cell, b, &movement)).collect();
        let mut sizes: Vec<f64> = cells.iter().flatten().map(|(_, r)| r.abs()).collect();
        if sizes.len() < LEAST_HOLDS {
            movement.u_px = f64::INFINITY;
            break;
        }
        let middle = sizes.len() / 2;
        let sd = (*sizes.select_nth_unstable_by(middle, f64::total_cmp).1 / 0.674_49).max(1e-6);
        let sums: Vec<Sums> = cells.par_iter().map(|cell| sums_of(cell, &movement, BIWEIGHT * sd)).collect();
        let content: Vec<&Sums> = sums.iter().filter(|s| s.has_content(sd)).collect();
        let agreeing = content.iter().filter(|s| s.agrees()).count();
        movement.agreement = if content.len() < LEAST_CELLS { 0.0 } else { agreeing as f64 / content.len() as f64 };
        let kept = if is_near { still(&sums, sd) } else { sums.iter().collect() };
        let normal = kept.iter().fold(SMatrix::<f64, 5, 5>::zeros(), |all, s| all + s.normal);
        let right = kept.iter().fold(SVector::<f64, 5>::zeros(), |all, s| all + s.right);
        // A view without any slope in one direction leaves the matrix singular: nothing is learnt there.
        let Some(inverse) = normal.try_inverse() else {
            movement.u_px = f64::INFINITY;
            break;
        };
        let step = -(inverse * right);
        if !step.iter().all(|v| v.is_finite()) {
            movement.u_px = f64::INFINITY;
            break;
        }
        movement.angle_rad += step[0];
        movement.shift_px[0] += step[1];
        movement.shift_px[1] += step[2];
        movement.gain += step[3];
        movement.offset += step[4];
        // Neighbouring pixels share their noise: each cell counts as one observation (clustered sandwich estimate).
        let between = kept.iter().fold(SMatrix::<f64, 5, 5>::zeros(), |all, s| all + s.right * s.right.transpose());
        let covariance = inverse * between * inverse;
        movement.u_px = covariance[(1, 1)].max(covariance[(2, 2)]).sqrt() * factor;
        let agreeing: Vec<&Sums> = kept.into_iter().filter(|s| s.has_content(sd) && s.agrees()).collect();
        if is_near {
            exposure = exposure_of(&agreeing);
        }
        let moved = step[1].hypot(step[2]) + reach * step[0].abs();
        if is_near && moved < STILL_PX {
            break;
        }
        is_near |= moved < NEAR_PX;
    }
    (movement.gain, movement.offset) = exposure.unwrap_or((movement.gain, movement.offset));
    let fine = movement.reduced(1.0 / factor);
    Movement { middle_px: start.middle_px, ..fine }
}

/// The cells that do not move on their own.
fn still(sums: &[Sums], sd: f64) -> Vec<&Sums> {
    let mut own: Vec<f64> = sums.iter().filter(|s| s.has_content(sd)).map(Sums::own_shift).collect();
    own.sort_by(f64::total_cmp);
    let limit = OWN_SHIFT * own.get(own.len() / 2).copied().unwrap_or(0.0).max(sd * sd);
    sums.iter().filter(|s| s.inliers >= LEAST_INLIERS && s.own_shift() <= limit).collect()
}

/// Gain and offset from the mean grey values of the cells that agree; `None` where these are too alike to tell.
///
/// Single pixels would pull the gain down, by noise and by interpolation at steep edges: by 1 % to 3 % on the drawn scenes.
fn exposure_of(agreeing: &[&Sums]) -> Option<(f64, f64)> {
    const LEAST_SPREAD: f64 = 0.02;
    let n = agreeing.len() as f64;
    let mean = |k: usize| agreeing.iter().map(|s| s.means[k]).sum::<f64>() / n;
    let (a, b) = (mean(0), mean(1));
    let about = |k: usize| agreeing.iter().map(|s| (s.means[0] - a) * (s.means[k] - mean(k))).sum::<f64>() / n;
    if agreeing.len() < LEAST_CELLS || about(0) < LEAST_SPREAD * LEAST_SPREAD {
        return None;
    }
    let gain = about(1) / about(0);
    (gain > 0.0).then_some((gain, b - gain * a))
}

/// The pixels of a cell that lie inside `b`, with what is left of them: b(T(p)) - gain a(p) - offset.
fn residuals(cell: &[Hold], b: &Plate, movement: &Movement) -> Vec<(Hold, f64)> {
    let (w, h) = (b.width as f64, b.height as f64);
    let inside = |p: PixelPoint| p.x > 2.0 && p.y > 2.0 && p.x < w - 2.0 && p.y < h - 2.0;
    cell.iter()
        .filter_map(|hold| {
            let there = movement.transform_from_first(hold.at.into());
            let seen = f64::from(b.sample_cubic(there.x, there.y));
            inside(there).then_some((*hold, seen - movement.gain * hold.value - movement.offset))
        })
        .collect()
}

/// The sums of a cell over its pixels that are within `cut`.
fn sums_of(cell: &[(Hold, f64)], movement: &Movement, cut: f64) -> Sums {
    let mut sums = Sums {
        normal: SMatrix::zeros(),
        right: SVector::zeros(),
        variances: [0.0; 2],
        correlation: 0.0,
        means: [0.0; 2],
        inliers: 0.0,
    };
    if cell.is_empty() {
        return sums;
    }
    let count = cell.len() as f64;
    let mean = cell.iter().map(|(hold, _)| hold.value).sum::<f64>() / count;
    let mean_left = cell.iter().map(|(_, left)| left).sum::<f64>() / count;
    let [mut pq, mut pp, mut qq, mut inliers] = [0.0; 4];
    for (hold, left) in cell {
        let (p, q) = (hold.value - mean, movement.gain * (hold.value - mean) + left - mean_left);
        pq += p * q;
        pp += p * p;
        qq += q * q;
        inliers += f64::from(left.abs() < cut);
    }
    sums.variances = [pp / count, qq / count];
    sums.means = [mean, movement.gain * mean + movement.offset + mean_left];
    sums.correlation = pq / (pp * qq).sqrt().max(f64::MIN_POSITIVE);
    sums.inliers = inliers / count;
    let (sin, cos) = movement.angle_rad.sin_cos();
    let [mx, my] = movement.middle_px;
    for (hold, left) in cell.iter().filter(|(_, left)| left.abs() < cut) {
        // The gradient of the other photo there is that of the first, turned and scaled: steadier than to differentiate anew.
        let [gx, gy] = hold.gradient.map(|g| movement.gain * g);
        let (gx, gy) = (cos * gx - sin * gy, sin * gx + cos * gy);
        let (x, y) = (hold.at[0] - mx, hold.at[1] - my);
        let by_angle = gx * (-sin * x - cos * y) + gy * (cos * x - sin * y);
        let row = [by_angle, gx, gy, -hold.value, -1.0];
        let weight = (1.0 - (left / cut).powi(2)).powi(2);
        for i in 0..5 {
            sums.right[i] += weight * left * row[i];
            for j in 0..=i {
                sums.normal[(i, j)] += weight * row[i] * row[j];
            }
        }
    }
    sums.normal.fill_upper_triangle_with_lower_triangle();
    sums
}
