//! Dark patches with four straight sides.

use crate::photo::Plate;
use rayon::prelude::*;

/// Half the side of the square whose mean is the local light, px.
const AROUND: usize = 30;
/// A pixel is dark below this share of the local mean (less a hundredth, for black pictures): lines of a mark that blur
/// has filled to half still count.
const DARK: f32 = 0.92;
const DARKER: f32 = 0.01;
/// Sides of the box around a patch, px: what is larger is found in the photo reduced.
const SIDES: (usize, usize) = (10, 110);
/// Least share of its box that a patch fills: a mark on its corner seen askew.
const LEAST_FILL: f64 = 0.15;
/// The hull of a patch may exceed its four corners by this share: blur rounds them.
const MOST_ROUND: f64 = 1.30;
/// Shortest side, px, and how many times longer the longest may be.
const LEAST_EDGE_PX: f64 = 7.0;
const MOST_UNEVEN: f64 = 3.5;
/// Rows of a band that is searched on its own.
const BAND: usize = 128;

/// Four corners in the order in which they follow each other around, clockwise as seen.
pub(super) type Quad = [[f64; 2]; 4];

/// Dark pixels side by side in one row.
struct Run {
    row: u32,
    from: u32,
    to: u32,
}

/// All quads of the plate, sides fitted to a fraction of a pixel.
pub(super) fn quads(plate: &Plate) -> Vec<Quad> {
    let runs = runs(plate);
    let patches = patches(&runs);
    patches.par_iter().filter_map(|rows| corners(rows)).map(|quad| sharpened(plate, quad).unwrap_or(quad)).collect()
}

/// Runs of pixels darker than the light around them, row by row.
fn runs(plate: &Plate) -> Vec<Run> {
    let bands: Vec<usize> = (0..plate.height).step_by(BAND).collect();
    bands.par_iter().flat_map_iter(|top| runs_of_band(plate, *top, (top + BAND).min(plate.height))).collect()
}

fn runs_of_band(plate: &Plate, top: usize, bottom: usize) -> Vec<Run> {
    let (width, height) = (plate.width, plate.height);
    let row = |y: usize| &plate.values[y * width..(y + 1) * width];
    let mut columns = vec![0.0_f32; width];
    for y in top.saturating_sub(AROUND)..(top + AROUND).min(height) {
        columns.iter_mut().zip(row(y)).for_each(|(c, v)| *c += v);
    }
    let mut runs = Vec::new();
    for y in top..bottom {
        if y + AROUND < height {
            columns.iter_mut().zip(row(y + AROUND)).for_each(|(c, v)| *c += v);
        }
        if y > AROUND && y > top {
            columns.iter_mut().zip(row(y - AROUND - 1)).for_each(|(c, v)| *c -= v);
        }
        let rows = (y + AROUND + 1).min(height) - y.saturating_sub(AROUND);
        let values = row(y);
        let mut sum: f32 = columns[..AROUND.min(width)].iter().sum();
        let mut start = None;
        for x in 0..width {
            if x + AROUND < width {
                sum += columns[x + AROUND];
            }
            if x > AROUND {
                sum -= columns[x - AROUND - 1];
            }
            let count = rows * ((x + AROUND + 1).min(width) - x.saturating_sub(AROUND));
            let is_dark = (values[x] + DARKER) * (count as f32) < DARK * sum;
            match (is_dark, start) {
                (true, None) => start = Some(x),
                (false, Some(from)) => {
                    runs.push(Run { row: y as u32, from: from as u32, to: x as u32 });
                    start = None;
                }
                _ => {}
            }
        }
        if let Some(from) = start {
            runs.push(Run { row: y as u32, from: from as u32, to: width as u32 });
        }
    }
    runs
}

/// What one patch of connected runs spans.
#[derive(Clone, Copy)]
struct Extent {
    left: u32,
    right: u32,
    top: u32,
    bottom: u32,
    area: u32,
}

impl Extent {
    fn may_be_a_mark(&self) -> bool {
        let (w, h) = ((self.right - self.left) as usize, (self.bottom + 1 - self.top) as usize);
        let fits = |side: usize| (SIDES.0..=SIDES.1).contains(&side);
        fits(w) && fits(h) && f64::from(self.area) >= LEAST_FILL * (w * h) as f64
    }
}

/// Patches of a mark's size, each as the first and last dark pixel of its rows: (row, from, to).
fn patches(runs: &[Run]) -> Vec<Vec<(u32, u32, u32)>> {
    let mut parent: Vec<u32> = (0..runs.len() as u32).collect();
    fn root(parent: &mut [u32], mut i: u32) -> u32 {
        while parent[i as usize] != i {
            parent[i as usize] = parent[parent[i as usize] as usize];
            i = parent[i as usize];
        }
        i
    }
    // runs are in the order of rows: two fingers, one on the row above
    let mut above = 0;
    for i in 0..runs.len() {
        let run = &runs[i];
        while above < i
            && (runs[above].row + 1 < run.row || (runs[above].row + 1 == run.row && runs[above].to <= run.from))
        {
            above += 1;
        }
        let mut k = above;
        while k < i && runs[k].row + 1 == run.row && runs[k].from < run.to {
            let (a, b) = (root(&mut parent, k as u32), root(&mut parent, i as u32));
            // the smaller index stands for both, so the result does not depend on the way there
            parent[a.max(b) as usize] = a.min(b);
            k += 1;
        }
    }
    let mut extents: Vec<Option<Extent>> = Vec::new();
    extents.resize_with(runs.len(), || None);
    for (i, run) in runs.iter().enumerate() {
        let at = root(&mut parent, i as u32) as usize;
        let e =
            extents[at].get_or_insert(Extent { left: run.from, right: run.to, top: run.row, bottom: run.row, area: 0 });
        e.left = e.left.min(run.from);
        e.right = e.right.max(run.to);
        e.bottom = run.row;
        e.area += run.to - run.from;
    }
    let mut place = vec![u32::MAX; runs.len()];
    let mut patches: Vec<Vec<(u32, u32, u32)>> = Vec::new();
    for (i, run) in runs.iter().enumerate() {
        let at = root(&mut parent, i as u32) as usize;
        if !extents[at].is_some_and(|e| e.may_be_a_mark()) {
            continue;
        }
        if place[at] == u32::MAX {
            place[at] = patches.len() as u32;
            patches.push(Vec::new());
        }
        let rows = &mut patches[place[at] as usize];
        match rows.last_mut() {
            Some(last) if last.0 == run.row => last.2 = run.to,
            _ => rows.push((run.row, run.from, run.to)),
        }
    }
    patches
}

fn cross(o: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
}

/// Twice the area of a polygon, positive when its corners run clockwise as seen (y downwards).
fn twice_area(points: &[[f64; 2]]) -> f64 {
    (0..points.len()).map(|i| cross([0.0; 2], points[i], points[(i + 1) % points.len()])).sum()
}

/// The convex hull of a patch, clockwise as seen (A. M. Andrew, 1979, Inf. Process. Lett. 9:216).
fn hull(rows: &[(u32, u32, u32)]) -> Vec<[f64; 2]> {
    let mut points: Vec<[f64; 2]> = Vec::with_capacity(4 * rows.len());
    for (row, from, to) in rows {
        for y in [*row, row + 1] {
            points.push([f64::from(*from), f64::from(y)]);
            points.push([f64::from(*to), f64::from(y)]);
        }
    }
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    points.dedup();
    let mut hull: Vec<[f64; 2]> = Vec::new();
    let mut half = |points: &mut dyn Iterator<Item = [f64; 2]>| {
        let start = hull.len();
        for p in points {
            while hull.len() >= start + 2 && cross(hull[hull.len() - 2], hull[hull.len() - 1], p) <= 0.0 {
                hull.pop();
            }
            hull.push(p);
        }
        hull.pop();
    };
    half(&mut points.iter().copied());
    half(&mut points.iter().rev().copied());
    hull
}

/// The four points of a patch's hull that hold most of its area, where they hold nearly all.
fn corners(rows: &[(u32, u32, u32)]) -> Option<Quad> {
    let hull = hull(rows);
    let n = hull.len();
    if n < 4 {
        return None;
    }
    let distance = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let far = |from: usize| {
        (0..n).max_by(|a, b| distance(hull[from], hull[*a]).total_cmp(&distance(hull[from], hull[*b]))).unwrap_or(from)
    };
    let a = far(0);
    let c = far(a);
    let side = |i: usize, k: usize, sign: f64| {
        (0..n).max_by(|p, q| {
            (sign * cross(hull[i], hull[k], hull[*p])).total_cmp(&(sign * cross(hull[i], hull[k], hull[*q])))
        })
    };
    let mut quad = [a, side(a, c, -1.0)?, c, side(a, c, 1.0)?];
    // each corner in turn to the point farthest from its neighbours' line, until none gains
    for _ in 0..8 {
        let before = quad;
        for i in 0..4 {
            let (left, right) = (quad[(i + 3) % 4], quad[(i + 1) % 4]);
            quad[i] = side(left, right, -1.0)?;
        }
        if quad == before {
            break;
        }
    }
    let quad = quad.map(|i| hull[i]);
    let edges: Vec<f64> = (0..4).map(|i| distance(quad[i], quad[(i + 1) % 4])).collect();
    let (short, long) = edges.iter().fold((f64::INFINITY, 0.0_f64), |(s, l), e| (s.min(*e), l.max(*e)));
    let (whole, held) = (twice_area(&hull), twice_area(&quad));
    let is_quad = held > 0.0 && whole <= MOST_ROUND * held && short >= LEAST_EDGE_PX && long <= MOST_UNEVEN * short;
    is_quad.then_some(quad)
}

/// The same quad with its sides laid through the steepest rise from dark to light across them.
fn sharpened(plate: &Plate, quad: Quad) -> Option<Quad> {
    let mut lines = [([0.0; 2], [0.0; 2]); 4];
    for (i, line) in lines.iter_mut().enumerate() {
        *line = side_line(plate, quad[i], quad[(i + 1) % 4])?;
    }
    let mut out = quad;
    for i in 0..4 {
        let ((p, d), (q, e)) = (lines[(i + 3) % 4], lines[i]);
        let across = d[0] * e[1] - d[1] * e[0];
        if across.abs() < 0.2 {
            return None;
        }
        let t = ((q[0] - p[0]) * e[1] - (q[1] - p[1]) * e[0]) / across;
        out[i] = [p[0] + t * d[0], p[1] + t * d[1]];
        let edge = (quad[(i + 1) % 4][0] - quad[i][0]).hypot(quad[(i + 1) % 4][1] - quad[i][1]);
        if (out[i][0] - quad[i][0]).hypot(out[i][1] - quad[i][1]) > 0.25 * edge + 1.0 {
            return None;
        }
    }
    Some(out)
}

/// A point of the line along one side, and its direction.
fn side_line(plate: &Plate, a: [f64; 2], b: [f64; 2]) -> Option<([f64; 2], [f64; 2])> {
    const POINTS: usize = 9;
    const STEP: f64 = 0.5;
    let length = (b[0] - a[0]).hypot(b[1] - a[1]);
    let along = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
    // outwards of a clockwise quad
    let out = [along[1], -along[0]];
    let reach = (0.12 * length).max(1.5);
    let steps = (2.0 * reach / STEP) as usize + 1;
    let mut found: Vec<(f64, f64)> = Vec::with_capacity(POINTS);
    for k in 0..POINTS {
        let s = length * (0.15 + 0.7 * k as f64 / (POINTS - 1) as f64);
        let at = |i: usize| {
            let n = -reach + STEP * i as f64;
            f64::from(plate.sample(a[0] + s * along[0] + n * out[0], a[1] + s * along[1] + n * out[1]))
        };
        let values: Vec<f64> = (0..steps).map(at).collect();
        let rise: Vec<f64> = values.windows(2).map(|v| v[1] - v[0]).collect();
        let Some(best) = (0..rise.len()).max_by(|p, q| rise[*p].total_cmp(&rise[*q])) else { continue };
        if rise[best] <= 0.0 {
            continue;
        }
        let near = |i: isize| rise.get((best as isize + i) as usize).copied().unwrap_or(0.0).max(0.0);
        let (before, here, after) = (if best == 0 { 0.0 } else { near(-1) }, near(0), near(1));
        let bend = before - 2.0 * here + after;
        let off = if bend < 0.0 { 0.5 * (before - after) / bend } else { 0.0 };
        found.push((s, -reach + STEP * (best as f64 + 0.5 + off)));
    }
    // the middle of what three quarters of the points say, twice
    for _ in 0..2 {
        if found.len() < 5 {
            return None;
        }
        let line = fitted(&found);
        let mut off: Vec<f64> = found.iter().map(|(s, n)| (n - line.0 - line.1 * s).abs()).collect();
        off.sort_by(f64::total_cmp);
        let limit = 2.0 * off[off.len() / 2] + 0.2;
        found.retain(|(s, n)| (n - line.0 - line.1 * s).abs() <= limit);
    }
    if found.len() < 4 {
        return None;
    }
    let (n0, slope) = fitted(&found);
    let point = [a[0] + n0 * out[0], a[1] + n0 * out[1]];
    let way = [along[0] + slope * out[0], along[1] + slope * out[1]];
    let size = way[0].hypot(way[1]);
    Some((point, [way[0] / size, way[1] / size]))
}

/// Offset and slope of the least-squares line.
fn fitted(points: &[(f64, f64)]) -> (f64, f64) {
    let n = points.len() as f64;
    let (sx, sy) = points.iter().fold((0.0, 0.0), |(x, y), p| (x + p.0, y + p.1));
    let (mx, my) = (sx / n, sy / n);
    let (xx, xy) = points.iter().fold((0.0, 0.0), |(a, b), p| (a + (p.0 - mx).powi(2), b + (p.0 - mx) * (p.1 - my)));
    let slope = if xx > 0.0 { xy / xx } else { 0.0 };
    (my - slope * mx, slope)
}
