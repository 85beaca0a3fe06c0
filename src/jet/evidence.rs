//! Evidence: how strongly something as fine as the stream stands out, at reduced size.
//!
//! The photo is reduced so that the stream is about ten cells wide; there the gradient's magnitude
//! over lightness and colour, in units of the picture's own noise, is thresholded (saturated at the
//! level) and averaged down to about three cells a stream. Clear, rimmed and glinting streams leave a ridge in it;
//! dyed and aerated ones differ from both sides in lightness or colour, which the cells hold too. So do
//! rulers and stands, which the search tells apart by their path.

use super::Areas;
use super::view::View;
use crate::photo::Plate;
use crate::point::PixelPoint;
use rayon::prelude::*;

/// Cells that the stream is wide in the plate on which gradients are taken.
const CELLS_FINE: f64 = 10.0;
/// Cells that it is wide in the evidence plate.
const CELLS_COARSE: f64 = 3.0;
/// Gradients are counted in full from this many noise deviations on, where no level is set by hand.
const FULL_AT: f32 = 6.0;
/// The same at level 1.
pub(super) const FULL_AT_ONE: f32 = 24.0;
/// Rows of the evidence plate that are made together.
const STRIP: usize = 8;

/// What the search looks at: the photo at about three cells a stream.
#[derive(Clone, Debug)]
pub(crate) struct Evidence {
    cells: Vec<Cell>,
    width: usize,
    height: usize,
    /// Photo pixels a cell.
    pub factor: f64,
    per_px: f64,
}

/// One cell: the thresholded gradient, 0 to 1, and the channels in units of what is told apart in full.
pub(crate) type Cell = [f32; 4];

/// Photo pixels a cell of the plate of gradients, and such cells a cell of evidence, for a stream `width_px` wide.
pub(super) fn factors(width_px: f64) -> (usize, usize) {
    let fine = ((width_px / CELLS_FINE).floor() as usize).clamp(1, 16);
    (fine, ((width_px / fine as f64 / CELLS_COARSE).round() as usize).clamp(1, 8))
}

/// Noise deviations from which on a gradient counts in full; `level` from 0 (all is seen) to 1 (only the strongest).
pub(super) fn full_at(level: Option<f64>) -> f32 {
    level.map_or(FULL_AT, |l| (FULL_AT_ONE * l as f32).max(0.5))
}

impl Evidence {
    /// Evidence of a stream `width_px` wide; `level` from 0 (all is seen) to 1 (only the strongest), or automatic.
    pub fn new(view: View, width_px: f64, level: Option<f64>, areas: &Areas) -> Self {
        let (fine, coarse) = factors(width_px);
        let source = Source::new(view, fine);
        let full_at = full_at(level);
        let cells = strips(&source, coarse, &weights(&source), full_at, None);
        Self::of_strips(cells, (source.width / coarse, source.height / coarse), full_at, (fine * coarse) as f64, areas)
    }

    /// From cells of which the channels are not in their units yet.
    pub(super) fn of_strips(
        mut cells: Vec<Cell>,
        (width, height): (usize, usize),
        full_at: f32,
        factor: f64,
        areas: &Areas,
    ) -> Self {
        scale_channels(&mut cells, width, full_at);
        if !areas.is_everywhere() {
            for (i, cell) in cells.iter_mut().enumerate() {
                let (x, y) = ((i % width) as f64, (i / width) as f64);
                if !areas.admits(PixelPoint::new((x + 0.5) * factor, (y + 0.5) * factor)) {
                    *cell = [0.0; 4];
                }
            }
        }
        Self { cells, width, height, factor, per_px: 1.0 / factor }
    }

    /// Takes out what lies within `reach_px` of the points.
    pub fn forget(&mut self, points: &[PixelPoint], reach_px: f64) {
        let reach = reach_px * self.per_px;
        for p in points {
            let (x, y) = (p.x * self.per_px, p.y * self.per_px);
            let rows = (y - reach).max(0.0) as usize..((y + reach).max(0.0) as usize + 1).min(self.height);
            let columns = (x - reach).max(0.0) as usize..((x + reach).max(0.0) as usize + 1).min(self.width);
            for row in rows {
                self.cells[row * self.width..][columns.clone()].fill([0.0; 4]);
            }
        }
    }

    /// The nearest cell; `None` outside.
    #[inline]
    pub fn nearest(&self, x_px: f64, y_px: f64) -> Option<Cell> {
        let (x, y) = (x_px * self.per_px, y_px * self.per_px);
        if !(x >= 0.0 && y >= 0.0 && x < self.width as f64 && y < self.height as f64) {
            return None;
        }
        Some(self.cells[y as usize * self.width + x as usize])
    }

    /// Evidence at a point of the photo, bilinear; `None` outside.
    #[inline]
    pub fn at(&self, x_px: f64, y_px: f64) -> Option<Cell> {
        let w = self.width;
        let x = (x_px * self.per_px - 0.5) as f32;
        let y = (y_px * self.per_px - 0.5) as f32;
        if !(x >= 0.0 && y >= 0.0 && x < (w - 1) as f32 && y < (self.height - 1) as f32) {
            return None;
        }
        let (ix, iy) = (x as usize, y as usize);
        let (fx, fy) = (x - ix as f32, y - iy as f32);
        let v = &self.cells[iy * w + ix..];
        let (a, b, c, d) = (&v[0], &v[1], &v[w], &v[w + 1]);
        Some(std::array::from_fn(|k| (a[k] + fx * (b[k] - a[k])) * (1.0 - fy) + (c[k] + fx * (d[k] - c[k])) * fy))
    }
}

/// The photo reduced by `fine`: read strip by strip where it is a photo as it is, held whole where it is a difference.
pub(super) struct Source<'a> {
    view: View<'a>,
    fine: usize,
    pub width: usize,
    pub height: usize,
    whole: Option<Vec<Plate>>,
}

impl<'a> Source<'a> {
    pub fn new(view: View<'a>, fine: usize) -> Self {
        let whole = match view {
            View::Plain(_) => None,
            View::Beyond(_) => Some(view.channels(fine)),
        };
        let photo = view.photo();
        let (width, height) = (photo.width / fine, photo.height / fine);
        Self { view, fine, width, height, whole }
    }

    /// Channels of the rows `from..to`.
    fn rows(&self, from: usize, to: usize) -> Vec<Plate> {
        let Some(whole) = &self.whole else { return self.view.photo().channels_of_rows(self.fine, from, to) };
        let part = |p: &Plate| p.values[from * p.width..to * p.width].to_vec();
        whole.iter().map(|p| Plate { width: p.width, height: to - from, values: part(p) }).collect()
    }

    /// Channels of one cell.
    fn cell(&self, x: usize, y: usize) -> [f32; 3] {
        match &self.whole {
            None => self.view.photo().block_channels(x, y, self.fine),
            Some(whole) => std::array::from_fn(|c| whole.get(c).map_or(0.0, |p| p.values[y * p.width + x])),
        }
    }
}

/// Channels in units in which a difference of 1 counts in full: `full_at` robust deviations of the difference between
/// cells two apart. Colour counts at most twice as much as lightness, as it does at the rims.
fn scale_channels(cells: &mut [Cell], width: usize, full_at: f32) {
    let mut scale = [0.0f32; 3];
    let stride = (cells.len() / 20_000).max(1) | 1;
    for (c, scale) in scale.iter_mut().enumerate() {
        let mut sample: Vec<f32> = (0..cells.len().saturating_sub(2))
            .step_by(stride)
            .filter(|i| i % width.max(1) + 2 < width)
            .map(|i| (cells[i + 2][c + 1] - cells[i][c + 1]).abs())
            .collect();
        if sample.is_empty() {
            continue;
        }
        let mid = sample.len() / 2;
        let (_, median, _) = sample.select_nth_unstable_by(mid, f32::total_cmp);
        *scale = (1.4826 * *median).max(0.002);
    }
    for c in 1..3 {
        scale[c] = scale[c].max(0.5 * scale[0]);
    }
    for cell in cells {
        for c in 0..3 {
            cell[c + 1] = if scale[c] > 0.0 { cell[c + 1] / (full_at * scale[c]) } else { 0.0 };
        }
    }
}

/// Weight of each channel's squared gradient: 1 over the variance of its noise.
pub(super) fn weights(source: &Source) -> Vec<f32> {
    gradient_noise(source).iter().map(|n| 1.0 / (n * n)).collect()
}

/// Robust standard deviation, channel by channel, of the difference between cells two apart in the photo reduced by
/// `fine`: 1.4826 x the median of its absolute value, over a sample of places.
fn gradient_noise(source: &Source) -> Vec<f32> {
    let (w, h) = (source.width, source.height);
    let channels = source.view.photo().channel_count();
    let mut sample: Vec<Vec<f32>> = vec![Vec::new(); channels];
    let stride = ((w * h) as f64 / 20_000.0).sqrt().max(1.0) as usize;
    for y in (0..h).step_by(stride) {
        for x in (0..w.saturating_sub(2)).step_by(stride) {
            let (a, b) = (source.cell(x, y), source.cell(x + 2, y));
            for (c, s) in sample.iter_mut().enumerate() {
                s.push((a[c] - b[c]).abs());
            }
        }
    }
    sample
        .iter_mut()
        .map(|s| {
            if s.is_empty() {
                return f32::INFINITY;
            }
            let mid = s.len() / 2;
            let (_, median, _) = s.select_nth_unstable_by(mid, f32::total_cmp);
            // a picture without noise still has its rounding: a quarter of an 8-bit step
            (1.4826 * *median).max(0.001)
        })
        .collect()
}

/// Cells of `coarse` x `coarse` cells of the source: the magnitude of the gradient over all channels (each
/// weighed by `weight`), of which `full_at` counts as 1 and more as no more, and the channels themselves, averaged. Strip by
/// strip, so that no reduced photo is held as a whole. `keep` is given the magnitudes themselves, row by row.
pub(super) fn strips(
    source: &Source,
    coarse: usize,
    weight: &[f32],
    full_at: f32,
    keep: Option<&mut Vec<f32>>,
) -> Vec<Cell> {
    let (w, h) = (source.width, source.height);
    let (cw, ch) = (w / coarse, h / coarse);
    let mut cells = vec![[0.0f32; 4]; cw * ch];
    let scale = 1.0 / (coarse * coarse) as f32;
    let mut nowhere = Vec::new();
    let keep = keep.unwrap_or(&mut nowhere);
    let mut kept = keep.chunks_mut(w.max(1) * STRIP * coarse);
    let work: Vec<_> = cells.chunks_mut(cw.max(1) * STRIP).map(|out| (out, kept.next())).collect();
    work.into_par_iter().enumerate().for_each(|(strip, (out, mut kept))| {
        // the strip's rows and one more on either side, where the photo has them
        let first = strip * STRIP * coarse;
        let end = first + out.len() / cw.max(1) * coarse;
        let (from, to) = (first.saturating_sub(1), (end + 1).min(h));
        let rows = source.rows(from, to);
        let mut magnitude = vec![0.0f32; w];
        for y in first..end {
            magnitude.fill(0.0);
            let line = &mut out[(y - first) / coarse * cw..][..cw];
            for (c, (plate, weight)) in rows.iter().zip(weight).enumerate() {
                let at = |row: usize| &plate.values[(row - from) * w..][..w];
                let row = at(y);
                for (o, block) in line.iter_mut().zip(row.chunks_exact(coarse)) {
                    o[c + 1] += block.iter().sum::<f32>() * scale;
                }
                if y > from && y + 1 < to {
                    let (above, below) = (at(y - 1), at(y + 1));
                    for x in 1..w.saturating_sub(1) {
                        let gx = row[x + 1] - row[x - 1];
                        let gy = below[x] - above[x];
                        magnitude[x] += (gx * gx + gy * gy) * weight;
                    }
                }
            }
            magnitude.iter_mut().for_each(|m| *m = m.sqrt());
            thresholded(line, &magnitude, coarse, full_at);
            if let Some(kept) = &mut kept {
                kept[(y - first) * w..][..w].copy_from_slice(&magnitude);
            }
        }
    });
    cells
}

/// Adds one row of magnitudes to the row of cells that it belongs to.
pub(super) fn thresholded(line: &mut [Cell], magnitude: &[f32], coarse: usize, full_at: f32) {
    let scale = 1.0 / (coarse * coarse) as f32;
    for (o, block) in line.iter_mut().zip(magnitude.chunks_exact(coarse)) {
        o[0] += block.iter().map(|m| (m / full_at).min(1.0)).sum::<f32>() * scale;
    }
}
