//! Shifts and turns that might be, by how well the texture of each cell correlates.

use super::Movement;
use super::level::{Hold, Level};
use crate::photo::Plate;
use rayon::prelude::*;

/// Turns that the search begins with, in rad.
const TURNS_RAD: [f64; 3] = [0.0, -0.025, 0.025];
/// Share of the shorter side that the search reaches to.
const REACH: f64 = 0.125;
/// How far around a movement each level looks for others that fit, in pixels of the level.
const NEAR: i32 = 4;
/// Most movements that are followed.
const MOST: usize = 12;
/// Most movements around one that fitted in the coarser level.
const MOST_OF_A_START: usize = 4;
/// Share of the best score from which a movement is followed.
const WORTH_FOLLOWING: f64 = 0.5;
/// Longest shorter side of a level that is searched; in finer ones movements are only refined.
const MOST_SEARCHED_SIDE: usize = 500;

/// Movements that might be, out of all within reach of `still`.
pub(super) fn everywhere(level: &Level, still: Movement) -> Vec<Movement> {
    let reach = (REACH * level.plates[0].width.min(level.plates[0].height) as f64).ceil() as i32;
    let starts = TURNS_RAD.map(|angle_rad| Movement { angle_rad, ..still });
    best(level, &starts, reach, MOST)
}

/// Movements that might be, at and around those that fit one level coarser.
pub(super) fn near(level: &Level, coarser: &[Movement]) -> Vec<Movement> {
    if level.plates[0].width.min(level.plates[0].height) > MOST_SEARCHED_SIDE {
        return coarser.to_vec();
    }
    best(level, coarser, NEAR, MOST_OF_A_START)
}

/// The best local maxima of the score within `reach` of each start, and the starts themselves.
fn best(level: &Level, starts: &[Movement], reach: i32, most_of_a_start: usize) -> Vec<Movement> {
    let textures = [texture(&level.plates[0]), texture(&level.plates[1])];
    let side = (2 * reach + 1) as usize;
    let mut found: Vec<(f64, Movement)> = Vec::new();
    for start in starts {
        let shift = |i: usize| ((i % side) as i32 - reach, (i / side) as i32 - reach);
        let cells = probes(level, &textures[0], start);
        let scores: Vec<f64> =
            (0..side * side).into_par_iter().map(|i| score(&cells, &textures[1], shift(i))).collect();
        let is_best_around = |i: &usize| {
            let (x, y) = (i % side, i / side);
            let mut around = (y.saturating_sub(1)..(y + 2).min(side))
                .flat_map(|v| (x.saturating_sub(1)..(x + 2).min(side)).map(move |u| v * side + u));
            shift(*i) == (0, 0) || around.all(|j| scores[j] <= scores[*i])
        };
        let mut of_start: Vec<usize> = (0..side * side).filter(is_best_around).collect();
        of_start.sort_by(|&i, &j| scores[j].total_cmp(&scores[i]));
        let moved = |&i: &usize| {
            let ([sx, sy], (dx, dy)) = (start.shift_px, shift(i));
            let shift_px = [sx + f64::from(dx) * level.factor, sy + f64::from(dy) * level.factor];
            (scores[i], Movement { shift_px, ..*start })
        };
        found.extend(of_start.iter().take(most_of_a_start).map(moved));
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let worth = WORTH_FOLLOWING * found.first().map_or(0.0, |f| f.0);
    let mut kept: Vec<Movement> = Vec::new();
    for (score, movement) in found {
        if kept.len() < MOST && score >= worth && kept.iter().all(|k| level.apart(k, &movement) > 0.75) {
            kept.push(movement);
        }
    }
    kept
}

/// A pixel to compare: its texture in the first photo, and where a movement puts it in the other.
struct Probe {
    texture: f32,
    at: [i32; 2],
}

/// The holds of each cell as `movement` puts them.
fn probes(level: &Level, texture: &Plate, movement: &Movement) -> Vec<Vec<Probe>> {
    let (sin, cos) = movement.angle_rad.sin_cos();
    let [mx, my] = movement.middle_px.map(|m| m / level.factor);
    let [sx, sy] = movement.shift_px.map(|s| s / level.factor);
    let probe = |hold: &Hold| {
        let (x, y) = (f64::from(hold.at[0]) - mx, f64::from(hold.at[1]) - my);
        let there = [cos * x - sin * y + mx + sx, sin * x + cos * y + my + sy];
        let texture = texture.values[hold.at[1] as usize * texture.width + hold.at[0] as usize];
        Probe { texture, at: there.map(|v| v.floor() as i32) }
    };
    level.holds.iter().map(|cell| cell.iter().map(probe).collect()).collect()
}

/// How well the textures agree with all probes shifted by whole pixels of the level: over the cells inside the mean of the
/// squared correlation, of those that correlate at all. A cell that agrees well counts for many that do by chance.
fn score(cells: &[Vec<Probe>], b: &Plate, (dx, dy): (i32, i32)) -> f64 {
    const LEAST_INSIDE: f32 = 0.7;
    let (width, height) = (b.width as i32, b.height as i32);
    let (mut total, mut inside) = (0.0, 0.0);
    for cell in cells {
        let [mut ab, mut aa, mut bb, mut count] = [0.0_f32, 1e-6, 1e-6, 0.0];
        for probe in cell {
            let (u, v) = (probe.at[0] + dx, probe.at[1] + dy);
            if (0..width).contains(&u) && (0..height).contains(&v) {
                let (p, q) = (probe.texture, b.values[(v * width + u) as usize]);
                ab += p * q;
                aa += p * p;
                bb += q * q;
                count += 1.0;
            }
        }
        if count >= LEAST_INSIDE * cell.len() as f32 {
            inside += 1.0;
            total += f64::from(ab.max(0.0).powi(2) / (aa * bb));
        }
    }
    if inside > 0.0 { total / inside } else { 0.0 }
}

/// A plate less its own mean over 9 x 9 pixels, limited: edges of all strengths count alike, noise less.
fn texture(plate: &Plate) -> Plate {
    const HALF: usize = 4;
    const OF_NOISE: f32 = 4.0;
    let (width, height) = (plate.width, plate.height);
    let mut along = vec![0.0_f32; width * height];
    along.par_chunks_mut(width).zip(plate.values.par_chunks(width)).for_each(|(out, row)| {
        let mut sum: f32 = row[..HALF.min(width)].iter().sum();
        for (x, mean) in out.iter_mut().enumerate() {
            sum += row.get(x + HALF).copied().unwrap_or(0.0);
            if x > HALF {
                sum -= row[x - HALF - 1];
            }
            *mean = sum / ((x + HALF + 1).min(width) - x.saturating_sub(HALF)) as f32;
        }
    });
    let mut values = vec![0.0_f32; width * height];
    values.par_chunks_mut(width).enumerate().for_each(|(y, out)| {
        let rows = y.saturating_sub(HALF)..(y + HALF + 1).min(height);
        let share = 1.0 / rows.len() as f32;
        for v in rows {
            for (value, part) in out.iter_mut().zip(&along[v * width..]) {
                *value += share * part;
            }
        }
        for (value, own) in out.iter_mut().zip(&plate.values[y * width..]) {
            *value = own - *value;
        }
    });
    let mut sizes: Vec<f32> = values.iter().step_by(7).map(|v| v.abs()).collect();
    let middle = sizes.len() / 2;
    let limit = OF_NOISE * *sizes.select_nth_unstable_by(middle, f32::total_cmp).1 + 1e-6;
    values.par_iter_mut().for_each(|v| *v /= v.abs() + limit);
    Plate { width, height, values }
}
