//! The photo along a curve, straightened: columns follow one another along it, cells lie across.
//!
//! Only the band is read, by cubic convolution; the photo itself is never resampled as a whole.

use super::view::View;
use super::{Areas, Path};
use rayon::prelude::*;

/// Samples along normals of a curve.
#[derive(Clone, Debug)]
pub(crate) struct Band {
    /// Cells lie at -reach ..= reach px across.
    pub reach: usize,
    /// Channels a cell.
    pub channels: usize,
    /// Columns.
    pub columns: Vec<Column>,
}

/// One column: the mean of the photo over `column_px` along the curve.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    /// Middle of the column along the curve in px.
    pub s_px: f64,
    /// Cells, channel after channel.
    pub cells: Vec<f32>,
    /// Whether its middle and its flanks lie in the photo and in no left-out area.
    pub seen: bool,
}

impl Band {
    /// Samples `view` along `path`, `reach` px to either side; a column is the mean over `column_px` px along the curve,
    /// of which every `stride`-th is read: by cubic convolution with stride 1, else in a hurry, linearly.
    pub fn new(view: View, path: &Path, column_px: usize, stride: usize, reach: usize, areas: &Areas) -> Self {
        let photo = view.photo();
        let channels = photo.channel_count();
        let cells = 2 * reach + 1;
        let count = path.len() / column_px;
        let (w, h) = (photo.width as f64, photo.height as f64);
        let columns = (0..count)
            .into_par_iter()
            .map(|i| {
                let mut sum = vec![0.0f32; cells * channels];
                let mut seen = true;
                let mut read = 0.0f32;
                for k in (i * column_px + stride / 2..(i + 1) * column_px).step_by(stride) {
                    read += 1.0;
                    let (p, n) = (path.points[k], path.normals[k]);
                    for j in 0..cells {
                        let o = j as f64 - reach as f64;
                        let (x, y) = (p.x + o * n[0], p.y + o * n[1]);
                        let v = if stride > 1 { view.channels_near(x, y) } else { view.channels_at(x, y) };
                        for c in 0..channels {
                            sum[c * cells + j] += v[c];
                        }
                    }
                    let flank = 0.55 * reach as f64;
                    for o in [-flank, 0.0, flank] {
                        let (x, y) = (p.x + o * n[0], p.y + o * n[1]);
                        seen &= x > 1.0 && y > 1.0 && x < w - 1.0 && y < h - 1.0;
                        seen &= areas.is_everywhere() || areas.admits(crate::point::PixelPoint::new(x, y));
                    }
                }
                let scale = 1.0 / read.max(1.0);
                sum.iter_mut().for_each(|v| *v *= scale);
                Column { s_px: (i as f64 + 0.5) * column_px as f64 - 0.5 * path.step_px, cells: sum, seen }
            })
            .collect();
        Self { reach, channels, columns }
    }

    /// Cells a column has in one channel.
    pub fn cells(&self) -> usize {
        2 * self.reach + 1
    }
}
