//! Evidence: how strongly something as fine as the stream stands out, at reduced size.
//!
//! The photo is reduced so that the stream is about ten cells wide; there the gradient's magnitude
//! over lightness and colour, in units of the picture's own noise, is thresholded (saturated at the
//! level) and averaged down to about three cells a stream. Clear, dyed, bright, dark and glinting streams all
//! leave a ridge in it; so do rulers and stands, which the search tells apart by their path.

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

/// The evidence plate.
#[derive(Clone, Debug)]
pub(crate) struct Evidence {
    /// 0 nothing to 1 thresholded in full, at reduced size.
    pub plate: Plate,
    /// Photo pixels a cell.
    pub factor: f64,
}

impl Evidence {
    /// Evidence of a stream `width_px` wide; `level` from 0 (all is seen) to 1 (only the strongest), or automatic.
    pub fn new(view: View, width_px: f64, level: Option<f64>, areas: &Areas) -> Self {
        let fine = ((width_px / CELLS_FINE).floor() as usize).clamp(1, 16);
        let channels = view.channels(fine);
        let noise: Vec<f32> = channels.iter().map(gradient_noise).collect();
        let full_at = level.map_or(FULL_AT, |l| (24.0 * l as f32).max(0.5));
        let magnitude = gradient(&channels, &noise, full_at);
        let coarse = ((width_px / fine as f64 / CELLS_COARSE).round() as usize).clamp(1, 8);
        let mut plate = block_mean(&magnitude, coarse);
        let factor = (fine * coarse) as f64;
        if !areas.is_everywhere() {
            for (i, v) in plate.values.iter_mut().enumerate() {
                let (x, y) = ((i % plate.width) as f64, (i / plate.width) as f64);
                if !areas.admits(PixelPoint::new((x + 0.5) * factor, (y + 0.5) * factor)) {
                    *v = 0.0;
                }
            }
        }
        Self { plate, factor }
    }

    /// Evidence at a point of the photo, bilinear; `None` outside.
    #[inline]
    pub fn at(&self, x_px: f64, y_px: f64) -> Option<f32> {
        let (w, h) = (self.plate.width, self.plate.height);
        let x = (x_px / self.factor - 0.5) as f32;
        let y = (y_px / self.factor - 0.5) as f32;
        if !(x >= 0.0 && y >= 0.0 && x < (w - 1) as f32 && y < (h - 1) as f32) {
            return None;
        }
        let (ix, iy) = (x as usize, y as usize);
        let (fx, fy) = (x - ix as f32, y - iy as f32);
        let v = &self.plate.values[iy * w + ix..];
        let (a, b, c, d) = (v[0], v[1], v[w], v[w + 1]);
        Some((a + fx * (b - a)) * (1.0 - fy) + (c + fx * (d - c)) * fy)
    }
}

/// Robust standard deviation of a one-cell difference: 1.4826 x the median of its absolute value.
fn gradient_noise(plate: &Plate) -> f32 {
    let mut sample: Vec<f32> = Vec::new();
    let stride = (plate.values.len() / 40_000).max(1) | 1;
    for i in (0..plate.values.len().saturating_sub(2)).step_by(stride) {
        if i % plate.width + 2 < plate.width {
            sample.push((plate.values[i + 2] - plate.values[i]).abs());
        }
    }
    if sample.is_empty() {
        return f32::INFINITY;
    }
    let mid = sample.len() / 2;
    let (_, median, _) = sample.select_nth_unstable_by(mid, f32::total_cmp);
    // a picture without noise still has its rounding: a quarter of an 8-bit step
    (1.4826 * *median).max(0.001)
}

/// Magnitude of the gradient over all channels in units of `full_at` noise deviations, at most 1.
fn gradient(channels: &[Plate], noise: &[f32], full_at: f32) -> Plate {
    let (w, h) = (channels[0].width, channels[0].height);
    let mut values = vec![0.0f32; w * h];
    let weight: Vec<f32> = noise.iter().map(|n| 1.0 / (n * n * full_at * full_at)).collect();
    values.par_chunks_mut(w.max(1)).enumerate().for_each(|(y, out)| {
        if y == 0 || y + 1 >= h {
            return;
        }
        for (plate, weight) in channels.iter().zip(&weight) {
            let row = &plate.values[y * w..][..w];
            let above = &plate.values[(y - 1) * w..][..w];
            let below = &plate.values[(y + 1) * w..][..w];
            for x in 1..w.saturating_sub(1) {
                let gx = row[x + 1] - row[x - 1];
                let gy = below[x] - above[x];
                out[x] += (gx * gx + gy * gy) * weight;
            }
        }
        out.iter_mut().for_each(|v| *v = v.sqrt().min(1.0));
    });
    Plate { width: w, height: h, values }
}

fn block_mean(plate: &Plate, factor: usize) -> Plate {
    let (w, h) = (plate.width / factor, plate.height / factor);
    let mut values = vec![0.0f32; w * h];
    let scale = 1.0 / (factor * factor) as f32;
    for (y, out) in values.chunks_mut(w.max(1)).enumerate() {
        for dy in 0..factor {
            let row = &plate.values[(y * factor + dy) * plate.width..][..w * factor];
            for (o, block) in out.iter_mut().zip(row.chunks_exact(factor)) {
                *o += block.iter().sum::<f32>() * scale;
            }
        }
    }
    Plate { width: w, height: h, values }
}
