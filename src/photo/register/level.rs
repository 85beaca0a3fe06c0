//! Pyramids of two photos, and in each level what registration holds on to.

use super::Movement;
use super::refine::{CellFit, LEAST_CELLS};
use crate::photo::Plate;
use rayon::prelude::*;

/// Cells of the grid across and down, at most.
const MOST_CELLS: [usize; 2] = [32, 24];
/// Least side of a cell in pixels of the level.
const LEAST_CELL_SIDE: usize = 9;
/// Most pixels that a cell gives in the finest level, and in the others.
const MOST_OF_A_CELL: [usize; 2] = [80, 40];

/// Parts of the picture that are asked whether they agree, across and down.
const PARTS: [usize; 2] = [4, 3];
/// A part agrees when this share of its cells does, and as many.
const SHARE_OF_PART: f64 = 0.2;
const CELLS_OF_PART: usize = 3;

/// Both photos at one size.
pub(super) struct Level {
    /// The first photo and the other.
    pub plates: [Plate; 2],
    /// How many pixels of the photo are one of the plates' a side.
    pub factor: f64,
    /// How many cells stand side by side.
    pub across: usize,
    /// Cell by cell, the pixels of the first photo to hold on to.
    pub holds: Vec<Vec<Hold>>,
}

/// A pixel that registration holds on to: where it is, its grey value, its gradient.
#[derive(Clone, Copy)]
pub(super) struct Hold {
    pub at: [f32; 2],
    pub value: f32,
    pub gradient: [f32; 2],
}

impl Level {
    /// Farthest that a point lies from the middle, in pixels of the level.
    pub fn reach(&self) -> f64 {
        (self.plates[0].width as f64).hypot(self.plates[0].height as f64) / 2.0
    }

    /// Of the parts of the picture with something in them the share where enough cells agree; 0 where there is hardly anything.
    ///
    /// Parts, not cells: one thing that two views share, a ruler along the top, is many cells of few parts, while splash
    /// before one and the same bench leaves some cells of every part.
    pub fn parts_that_agree(&self, cells: &[CellFit]) -> f64 {
        let (across, down) = (self.across, cells.len() / self.across.max(1));
        let mut counts = [[0_usize; 2]; PARTS[0] * PARTS[1]];
        for (i, cell) in cells.iter().enumerate().filter(|(_, cell)| cell.has_content) {
            let part = i / across * PARTS[1] / down * PARTS[0] + i % across * PARTS[0] / across;
            counts[part][0] += 1;
            counts[part][1] += usize::from(cell.agrees);
        }
        let with_content: Vec<&[usize; 2]> = counts.iter().filter(|[all, _]| *all >= CELLS_OF_PART).collect();
        let agree = |[all, good]: &&&[usize; 2]| *good >= CELLS_OF_PART && *good as f64 >= SHARE_OF_PART * *all as f64;
        if counts.iter().map(|c| c[0]).sum::<usize>() < LEAST_CELLS || with_content.is_empty() {
            return 0.0;
        }
        with_content.iter().filter(agree).count() as f64 / with_content.len() as f64
    }

    /// How far apart two movements put a point at worst, in pixels of the level.
    pub fn apart(&self, a: &Movement, b: &Movement) -> f64 {
        let (x, y) = (a.shift_px[0] - b.shift_px[0], a.shift_px[1] - b.shift_px[1]);
        x.hypot(y) / self.factor + self.reach() * (a.angle_rad - b.angle_rad).abs()
    }
}

/// All levels, the finest first; the coarsest has a shorter side of `coarse_side` to twice that.
pub(super) fn levels(finest: [Plate; 2], factor: usize, coarse_side: usize) -> Vec<Level> {
    let mut pyramid = vec![finest];
    while let Some([a, b]) = pyramid.last().filter(|[a, _]| a.width.min(a.height) >= 2 * coarse_side) {
        let halves = [halved(a), halved(b)];
        pyramid.push(halves);
    }
    let level = |(i, plates): (usize, [Plate; 2])| {
        let (across, holds) = holds(&plates[0], MOST_OF_A_CELL[usize::from(i > 0)]);
        Level { plates, factor: (factor << i) as f64, across, holds }
    };
    pyramid.into_iter().enumerate().map(level).collect()
}

/// A plate at half the size, smoothed both ways so that fine patterns fade instead of turning into coarse ones.
///
/// The kernel is (1, 3, 3, 1) by every other one of (1, 2, 1): it passes nothing at the finest wave that the half plate can
/// hold, where gradients would be worth nothing. It lies evenly about the middle of each block of 2 x 2, so points keep
/// their places (times two).
fn halved(plate: &Plate) -> Plate {
    const KERNEL: [f32; 8] =
        [1.0 / 32.0, 3.0 / 32.0, 5.0 / 32.0, 7.0 / 32.0, 7.0 / 32.0, 5.0 / 32.0, 3.0 / 32.0, 1.0 / 32.0];
    let (width, height) = (plate.width / 2, plate.height / 2);
    let at = |i: usize, tap: usize, n: usize| (2 * i + tap).saturating_sub(3).min(n - 1);
    let mut values = vec![0.0; width * height];
    values.par_chunks_mut(width).enumerate().for_each_init(
        || vec![0.0_f32; plate.width],
        |column_means, (y, out)| {
            column_means.fill(0.0);
            for (tap, weight) in KERNEL.iter().enumerate() {
                let row = &plate.values[at(y, tap, plate.height) * plate.width..][..plate.width];
                for (mean, value) in column_means.iter_mut().zip(row) {
                    *mean += weight * value;
                }
            }
            for (x, value) in out.iter_mut().enumerate() {
                *value = if x >= 2 && 2 * x + 5 <= plate.width {
                    KERNEL.iter().zip(&column_means[2 * x - 3..2 * x + 5]).map(|(k, m)| k * m).sum()
                } else {
                    (0..8).map(|tap| KERNEL[tap] * column_means[at(x, tap, plate.width)]).sum()
                };
            }
        },
    );
    Plate { width, height, values }
}

/// The steepest pixels of each cell of the grid.
fn holds(plate: &Plate, most: usize) -> (usize, Vec<Vec<Hold>>) {
    const MARGIN: usize = 3;
    let across = (plate.width / LEAST_CELL_SIDE).clamp(1, MOST_CELLS[0]);
    let down = (plate.height / LEAST_CELL_SIDE).clamp(1, MOST_CELLS[1]);
    let range = |c: usize, n: usize, cells: usize| {
        (c * n / cells).max(MARGIN)..((c + 1) * n / cells).min(n.saturating_sub(MARGIN))
    };
    let cell = |i: usize| {
        let (rows, columns) = (range(i / across, plate.height, down), range(i % across, plate.width, across));
        let gradient = |at: usize| {
            let v = &plate.values;
            [(v[at + 1] - v[at - 1]) / 2.0, (v[at + plate.width] - v[at - plate.width]) / 2.0]
        };
        let mut found: Vec<(f32, usize)> = Vec::with_capacity(rows.len() * columns.len());
        for y in rows {
            found.extend(columns.clone().map(|x| {
                let at = y * plate.width + x;
                let [gx, gy] = gradient(at);
                (gx * gx + gy * gy, at)
            }));
        }
        let kept = most.min(found.len() / 2);
        if kept > 0 {
            found.select_nth_unstable_by(kept, |a, b| b.0.total_cmp(&a.0));
        }
        found.truncate(kept);
        found.sort_unstable_by_key(|(_, at)| *at);
        let hold = |&(_, at): &(f32, usize)| Hold {
            at: [(at % plate.width) as f32 + 0.5, (at / plate.width) as f32 + 0.5],
            value: plate.values[at],
            gradient: gradient(at),
        };
        found.iter().map(hold).collect()
    };
    (across, (0..across * down).into_par_iter().map(cell).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_a_plate_keeps_places_and_drops_what_is_too_fine() {
        let (width, height) = (41, 30);
        let plate = |value: &dyn Fn(f64, f64) -> f64| {
            let at = |i: usize| ((i % width) as f64 + 0.5, (i / width) as f64 + 0.5);
            let values = (0..width * height).map(|i| value(at(i).0, at(i).1) as f32).collect();
            Plate { width, height, values }
        };
        let slope = halved(&plate(&|x, y| 0.1 + 0.01 * x - 0.02 * y));
        assert_eq!((slope.width, slope.height), (20, 15));
        // a wave of four pixels is the finest that the half plate could hold
        let wave = halved(&plate(&|x, _| (std::f64::consts::TAU * (x + 0.3) / 4.0).sin()));
        for (u, v) in [(3, 3), (10, 7), (16, 11)] {
            let (x, y) = (2.0 * u as f32 + 1.0, 2.0 * v as f32 + 1.0);
            assert!((slope.value(u, v) - (0.1 + 0.01 * x - 0.02 * y)).abs() < 1e-5);
            assert!(wave.value(u, v).abs() < 1e-5, "{}", wave.value(u, v));
        }
    }
}
