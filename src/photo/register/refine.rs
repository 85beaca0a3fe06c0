//! A movement to a fraction of a pixel.
//!
//! Gauss-Newton (B. D. Lucas and T. Kanade, "An iterative image registration technique with an application to stereo
//! vision", IJCAI 1981; S. Baker and I. Matthews, "Lucas-Kanade 20 years on", IJCV 56 (2004), with a gain as further
//! unknown) over pixels with a steep gradient, as many from each cell of a grid, so that no single object leads. Each cell has
//! an offset of its own, so that shading, which stays in the frame while the bench moves in it, does not count. Residuals
//! weigh by Tukey's biweight: what moves on its own, the jet above all, drops out.

use super::Movement;
use super::level::{Hold, Level};
use nalgebra::{SMatrix, SVector};
use rayon::prelude::*;

/// Tuning constant of the biweight, for 95 % efficiency on normal residuals (common practice, no source).
pub(super) const BIWEIGHT: f64 = 4.685;
/// Fewest pixels to hold on to in the whole view.
const LEAST_HOLDS: usize = 100;
/// Correlation from which a cell agrees.
const CELL_AGREES: f64 = 0.6;
/// Most that the contrast of a cell that agrees differs from that of the whole view, as a factor.
const SLOPE_AGREES: f64 = 1.5;
/// Share of its pixels within the cut of the biweight above which a cell agrees.
const INLIERS_AGREE: f64 = 0.6;
/// Least share of a cell's pixels that lie in the other photo for the cell to count.
const LEAST_INSIDE: f64 = 0.7;
/// A cell has something in it when its grey values vary by more than this many standard deviations of what is left.
const CONTENT: f64 = 3.0;
/// Fewest cells with something in them.
pub(super) const LEAST_CELLS: usize = 6;
/// A cell whose own shift would explain more than this many times what it explains in the middle one moves on its own: for
/// normal noise (chi-squared, two degrees of freedom, median 1.386) one cell in 4000 goes beyond.
const OWN_SHIFT: f64 = 12.0;
/// A cell with a smaller share of its pixels within the cut of the biweight moves on its own and is left out.
const LEAST_INLIERS: f64 = 0.85;

/// A movement and how the cells fit it.
pub(super) struct Fit {
    /// The movement; without any hold its uncertainty is infinite.
    pub movement: Movement,
    /// How each cell fits.
    pub cells: Vec<CellFit>,
}

/// How a cell fits a movement.
#[derive(Clone, Copy)]
pub(super) struct CellFit {
    /// Whether most of it lies in the other photo.
    pub is_inside: bool,
    /// Whether there is something in it.
    pub has_content: bool,
    /// How well it correlates, not below 0; 0 where there is nothing in it.
    pub correlation: f64,
    /// Whether it shows the same thing in both photos.
    pub agrees: bool,
}

/// Turn, shift (2), gain.
const UNKNOWNS: usize = 4;

/// Sums over one cell: normal matrix, right side; variance of the grey values in either photo, correlation.
#[derive(Clone, Copy)]
struct Sums {
    normal: SMatrix<f64, UNKNOWNS, UNKNOWNS>,
    right: SVector<f64, UNKNOWNS>,
    variances: [f64; 2],
    correlation: f64,
    inliers: f64,
    /// Sum of the weights of its pixels.
    weights: f64,
    /// Share of its pixels that lie in the other photo.
    inside: f64,
    /// Grey value in the other photo for one step of grey value in the first.
    slope: f64,
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

    /// Weight of the cell: what does not look alike has nothing to say of how it lies.
    fn weight(&self) -> f64 {
        self.correlation.max(0.0).powi(2)
    }

    /// Whether the cell shows the same thing in both photos, of which the exposures differ by `gain`.
    fn agrees(&self, gain: f64) -> bool {
        self.correlation > CELL_AGREES
            && self.inliers > INLIERS_AGREE
            && (gain / SLOPE_AGREES..gain * SLOPE_AGREES).contains(&self.slope)
    }

    fn fit(&self, sd: f64, gain: f64) -> CellFit {
        let is_inside = self.inside >= LEAST_INSIDE;
        let has_content = is_inside && self.has_content(sd);
        let correlation = if has_content { self.correlation.max(0.0) } else { 0.0 };
        CellFit { is_inside, has_content, correlation, agrees: has_content && self.agrees(gain) }
    }
}

/// Each start refined at one level, in `rounds` at most; those that run into one another are one.
pub(super) fn all(level: &Level, starts: &[Movement], rounds: usize) -> Vec<Fit> {
    const ONE_PX: f64 = 0.75;
    let fits: Vec<Fit> = starts.par_iter().map(|&start| refine(level, start, rounds)).collect();
    let mut kept: Vec<Fit> = Vec::new();
    for fit in fits {
        if kept.iter().all(|k| level.apart(&k.movement, &fit.movement) > ONE_PX) {
            kept.push(fit);
        }
    }
    kept
}

/// Gauss-Newton at one level.
fn refine(level: &Level, start: Movement, most_rounds: usize) -> Fit {
    const STILL_PX: f64 = 1e-3;
    /// From here on what differs is not the registration any more: parts that move on their own are told.
    const NEAR_PX: f64 = 0.2;
    /// How far off the movement may be in the first round, how this shrinks from round to round, and to what.
    const FIRST_OFF_PX: f64 = 0.6;
    const SHRINKS: f64 = 0.7;
    const LAST_OFF_PX: f64 = 0.05;
    /// A movement that fits so much worse in the end than in the beginning has strayed.
    const STRAYED: f64 = 0.9;
    let mut movement = start.reduced(level.factor);
    let reach = level.reach();
    let mut is_near = false;
    let mut off_px = FIRST_OFF_PX;
    let mut fits = Vec::new();
    let mut at_start = None;
    for _ in 0..most_rounds {
        let cells: Vec<Cell> = level.holds.par_iter().map(|cell| Cell::new(cell, level, &movement)).collect();
        let mut sizes: Vec<f32> = cells.iter().flat_map(|c| &c.left).map(|left| left.abs()).collect();
        if sizes.len() < LEAST_HOLDS {
            movement.u_px = f64::INFINITY;
            break;
        }
        let middle = sizes.len() / 2;
        let sd = f64::from(*sizes.select_nth_unstable_by(middle, f32::total_cmp).1 / 0.674_49).max(1e-6);
        let sums: Vec<Sums> = cells.par_iter().map(|cell| cell.sums(&movement, sd, off_px)).collect();
        fits = sums.iter().map(|s| s.fit(sd, movement.gain)).collect();
        if at_start.is_none() {
            at_start = Some((score(&fits), fits.clone()));
        }
        let kept = if is_near { still(&sums, sd, movement.gain) } else { sums.iter().collect() };
        let normal =
            kept.iter().fold(SMatrix::<f64, UNKNOWNS, UNKNOWNS>::zeros(), |all, s| all + s.normal * s.weight());
        let right = kept.iter().fold(SVector::<f64, UNKNOWNS>::zeros(), |all, s| all + s.right * s.weight());
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
        // Neighbouring pixels share their noise: each cell counts as one observation (clustered sandwich estimate).
        let between = kept.iter().fold(SMatrix::<f64, UNKNOWNS, UNKNOWNS>::zeros(), |all, s| {
            all + s.right * s.right.transpose() * s.weight().powi(2)
        });
        let covariance = inverse * between * inverse;
        movement.u_px = covariance[(1, 1)].max(covariance[(2, 2)]).sqrt() * level.factor;
        if is_mostly_noise(&kept, &normal, movement.gain * sd) {
            movement.u_px = f64::INFINITY;
        }
        let moved = step[1].hypot(step[2]) + reach * step[0].abs();
        if is_near && moved < STILL_PX {
            break;
        }
        off_px = (SHRINKS * off_px).max(LAST_OFF_PX);
        is_near |= moved < NEAR_PX && off_px < NEAR_PX;
    }
    if let Some((_, cells)) = at_start.filter(|(at_start, _)| score(&fits) < STRAYED * at_start) {
        return Fit { movement: start, cells };
    }
    let fine = movement.reduced(1.0 / level.factor);
    let agreement = level.parts_that_agree(&fits);
    Fit { movement: Movement { middle_px: start.middle_px, agreement, ..fine }, cells: fits }
}

/// Whether in some direction the gradients are hardly more than those of noise: stripes say nothing of a shift along them.
///
/// What is left has the noise of both photos, and a difference over two pixels halves the variance once more.
fn is_mostly_noise(kept: &[&Sums], normal: &SMatrix<f64, UNKNOWNS, UNKNOWNS>, sd: f64) -> bool {
    const LEAST_OVER_NOISE: f64 = 2.0;
    let (xx, xy, yy) = (normal[(1, 1)], normal[(1, 2)], normal[(2, 2)]);
    let least = (xx + yy) / 2.0 - ((xx - yy) / 2.0).hypot(xy);
    let of_noise = kept.iter().map(|s| s.weight() * s.weights).sum::<f64>() * sd * sd / 4.0;
    least < LEAST_OVER_NOISE * of_noise
}

/// How well the cells correlate in all: a cell that agrees well counts for many that do by chance.
///
/// Cells that lie outside do not count against it: else the smaller of two shifts would win.
pub(super) fn score(cells: &[CellFit]) -> f64 {
    let inside = cells.iter().filter(|c| c.is_inside).count().max(1);
    cells.iter().map(|c| c.correlation * c.correlation).sum::<f64>() / inside as f64
}

/// The cells that do not move on their own.
fn still(sums: &[Sums], sd: f64, gain: f64) -> Vec<&Sums> {
    let mut own: Vec<f64> = sums.iter().filter(|s| s.has_content(sd) && s.agrees(gain)).map(Sums::own_shift).collect();
    own.sort_by(f64::total_cmp);
    let limit = OWN_SHIFT * own.get(own.len() / 2).copied().unwrap_or(0.0).max(sd * sd);
    sums.iter().filter(|s| s.agrees(gain) && s.inliers >= LEAST_INLIERS && s.own_shift() <= limit).collect()
}

/// The pixels of a cell that lie inside the other photo.
struct Cell {
    holds: Vec<Hold>,
    /// What the other photo shows there.
    seen: Vec<f32>,
    /// What is left of it beyond gain times the first photo, less the median over the cell.
    left: Vec<f32>,
    /// Share of the cell's pixels that lie inside.
    inside: f64,
}

impl Cell {
    fn new(cell: &[Hold], level: &Level, movement: &Movement) -> Self {
        let b = &level.plates[1];
        let (w, h) = (b.width as f64, b.height as f64);
        let (sin, cos) = movement.angle_rad.sin_cos();
        let [mx, my] = movement.middle_px;
        let [sx, sy] = movement.shift_px;
        let gain = movement.gain as f32;
        let mut seen = Vec::with_capacity(cell.len());
        let mut left = Vec::with_capacity(cell.len());
        let mut holds = Vec::with_capacity(cell.len());
        for hold in cell {
            let (x, y) = (f64::from(hold.at[0]) - mx, f64::from(hold.at[1]) - my);
            let (u, v) = (cos * x - sin * y + mx + sx, sin * x + cos * y + my + sy);
            if u > 2.0 && v > 2.0 && u < w - 2.0 && v < h - 2.0 {
                let value = b.sample_cubic(u, v);
                holds.push(*hold);
                seen.push(value);
                left.push(value - gain * hold.value);
            }
        }
        if !left.is_empty() {
            let middle = left.len() / 2;
            let median = *left.clone().select_nth_unstable_by(middle, f32::total_cmp).1;
            left.iter_mut().for_each(|v| *v -= median);
        }
        let inside = holds.len() as f64 / cell.len().max(1) as f64;
        Self { holds, seen, left, inside }
    }

    /// The sums over the pixels of which what is left is noise of standard deviation `sd` or comes from being off by about
    /// `off_px`. Where little of a view has edges, the noise alone would shut out every edge that is not yet in place.
    fn sums(&self, movement: &Movement, sd: f64, off_px: f64) -> Sums {
        let mut sums = Sums {
            normal: SMatrix::zeros(),
            right: SVector::zeros(),
            variances: [0.0; 2],
            correlation: 0.0,
            inliers: 0.0,
            weights: 0.0,
            inside: self.inside,
            slope: 0.0,
        };
        if self.holds.is_empty() {
            return sums;
        }
        let count = self.holds.len() as f64;
        let mean = self.holds.iter().map(|hold| f64::from(hold.value)).sum::<f64>() / count;
        let mean_seen = self.seen.iter().map(|&v| f64::from(v)).sum::<f64>() / count;
        let [mut pq, mut pp, mut qq] = [0.0; 3];
        for (hold, &seen) in self.holds.iter().zip(&self.seen) {
            let (p, q) = (f64::from(hold.value) - mean, f64::from(seen) - mean_seen);
            pq += p * q;
            pp += p * p;
            qq += q * q;
        }
        sums.variances = [pp / count, qq / count];
        sums.correlation = pq / (pp * qq).sqrt().max(f64::MIN_POSITIVE);
        sums.slope = pq / pp.max(f64::MIN_POSITIVE);
        let (sin, cos) = movement.angle_rad.sin_cos();
        let [mx, my] = movement.middle_px;
        // Weighted sums of the rows, of what is left, of the weights: the cell's own offset is taken out of all of them.
        let (mut rows, mut lefts, mut weights, mut inliers) = (SVector::<f64, UNKNOWNS>::zeros(), 0.0, 0.0, 0.0);
        for (hold, &left) in self.holds.iter().zip(&self.left) {
            let left = f64::from(left);
            // The gradient of the other photo there is that of the first, turned and scaled: steadier than to differentiate anew.
            let [gx, gy] = hold.gradient.map(|g| movement.gain * f64::from(g));
            let cut = BIWEIGHT * (sd * sd + off_px * off_px * (gx * gx + gy * gy)).sqrt();
            if left.abs() >= cut {
                continue;
            }
            inliers += 1.0;
            let (gx, gy) = (cos * gx - sin * gy, sin * gx + cos * gy);
            let (x, y) = (f64::from(hold.at[0]) - mx, f64::from(hold.at[1]) - my);
            let by_angle = gx * (-sin * x - cos * y) + gy * (cos * x - sin * y);
            let row = SVector::<f64, UNKNOWNS>::new(by_angle, gx, gy, mean - f64::from(hold.value));
            let weight = (1.0 - (left / cut).powi(2)).powi(2);
            let weighted = row * weight;
            sums.right += weighted * left;
            sums.normal += weighted * row.transpose();
            rows += weighted;
            lefts += weight * left;
            weights += weight;
        }
        sums.inliers = inliers / count;
        sums.weights = weights;
        if weights > 0.0 {
            sums.right -= rows * (lefts / weights);
            sums.normal -= rows * rows.transpose() / weights;
        }
        sums
    }
}
