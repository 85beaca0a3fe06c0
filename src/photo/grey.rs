//! Grey values of a photo: any mix of its colours, on a scale of 0 to 1 for 8 and 16 bits alike.
//!
//! Values are those that the file stores, without undoing the transfer curve of the camera. Pixel
//! coordinates are those of [`crate::point`]: pixel (0, 0) has its centre at (0.5, 0.5).

use super::{Mix, Photo, Pixels, Plate};
use rayon::prelude::*;

/// One stored sample.
trait Sample: Copy + Send + Sync {
    /// The value that is white.
    const WHITE: f32;
    /// The value as a whole number.
    fn whole(self) -> u32;
}

impl Sample for u8 {
    const WHITE: f32 = 255.0;
    #[inline]
    fn whole(self) -> u32 {
        self.into()
    }
}

impl Sample for u16 {
    const WHITE: f32 = 65535.0;
    #[inline]
    fn whole(self) -> u32 {
        self.into()
    }
}

impl Photo {
    /// Grey value of the pixel in column `ix` and row `iy`; beyond the borders that of the nearest pixel.
    ///
    /// A grey photo counts as one whose red, green and blue are equal.
    #[inline]
    pub fn value(&self, ix: usize, iy: usize, mix: Mix) -> f32 {
        let [r, g, b] = self.rgb(ix, iy);
        mix.0[0] * r + mix.0[1] * g + mix.0[2] * b
    }

    /// Red, green and blue, 0 to 1, of the pixel in column `ix` and row `iy`; beyond the borders those of the nearest pixel.
    #[inline]
    pub fn rgb(&self, ix: usize, iy: usize) -> [f32; 3] {
        let at = iy.min(self.height - 1) * self.width + ix.min(self.width - 1);
        match &self.pixels {
            Pixels::Grey8(v) => [f32::from(v[at]) / u8::WHITE; 3],
            Pixels::Grey16(v) => [f32::from(v[at]) / u16::WHITE; 3],
            Pixels::Rgb8(v) => [v[at * 3], v[at * 3 + 1], v[at * 3 + 2]].map(|s| f32::from(s) / u8::WHITE),
            Pixels::Rgb16(v) => [v[at * 3], v[at * 3 + 1], v[at * 3 + 2]].map(|s| f32::from(s) / u16::WHITE),
        }
    }

    /// Whether the file has colour.
    pub fn has_colour(&self) -> bool {
        matches!(self.pixels, Pixels::Rgb8(_) | Pixels::Rgb16(_))
    }

    /// Size of one step of the stored samples on the scale of 0 to 1: 1/255 or 1/65535.
    pub fn step(&self) -> f32 {
        match self.pixels {
            Pixels::Grey8(_) | Pixels::Rgb8(_) => 1.0 / u8::WHITE,
            Pixels::Grey16(_) | Pixels::Rgb16(_) => 1.0 / u16::WHITE,
        }
    }

    /// The whole photo in grey, at full size.
    pub fn plate(&self, mix: Mix) -> Plate {
        self.reduced(mix, 1)
    }

    /// The photo in grey, each value the mean of a block of `factor` x `factor` pixels.
    ///
    /// Columns and rows at the right and bottom that fill no whole block are dropped, so a point of the reduced plate
    /// times `factor` is the same point of the photo. A factor above the photo's shorter side is taken as that side, 0 as 1.
    pub fn reduced(&self, mix: Mix, factor: usize) -> Plate {
        let factor = factor.min(self.width).min(self.height).max(1);
        let grey = [mix.0.iter().sum()];
        match &self.pixels {
            Pixels::Grey8(v) => block_means(v, self.width, self.height, factor, grey),
            Pixels::Grey16(v) => block_means(v, self.width, self.height, factor, grey),
            Pixels::Rgb8(v) => block_means(v, self.width, self.height, factor, mix.0),
            Pixels::Rgb16(v) => block_means(v, self.width, self.height, factor, mix.0),
        }
    }

    /// Grey value at the point (`x`, `y`) in pixels, bilinear between pixel centres; beyond them that of the border.
    #[inline]
    pub fn sample(&self, x: f64, y: f64, mix: Mix) -> f32 {
        bilinear(self.width, self.height, x, y, |ix, iy| self.value(ix, iy, mix))
    }

    /// Grey value at the point (`x`, `y`) in pixels by cubic convolution; beyond the pixel centres the border goes on.
    ///
    /// Exact for quadratics away from the borders; it blurs less than bilinear, and may overshoot at a step by up to 7 %.
    /// Source: R. G. Keys, "Cubic convolution interpolation for digital image processing", IEEE Trans. ASSP 29 (1981), eq. 15.
    #[inline]
    pub fn sample_cubic(&self, x: f64, y: f64, mix: Mix) -> f32 {
        cubic(self.width, self.height, x, y, |ix, iy| self.value(ix, iy, mix))
    }
}

impl Plate {
    /// Value of the pixel in column `ix` and row `iy`; beyond the borders that of the nearest pixel.
    #[inline]
    pub fn value(&self, ix: usize, iy: usize) -> f32 {
        self.values[iy.min(self.height - 1) * self.width + ix.min(self.width - 1)]
    }

    /// Value at the point (`x`, `y`) in pixels of this plate, bilinear between pixel centres; beyond them that of the border.
    #[inline]
    pub fn sample(&self, x: f64, y: f64) -> f32 {
        bilinear(self.width, self.height, x, y, |ix, iy| self.value(ix, iy))
    }

    /// Value at the point (`x`, `y`) in pixels of this plate, by cubic convolution as [`Photo::sample_cubic`].
    #[inline]
    pub fn sample_cubic(&self, x: f64, y: f64) -> f32 {
        cubic(self.width, self.height, x, y, |ix, iy| self.value(ix, iy))
    }
}

/// Means of blocks of `factor` x `factor` pixels of `N` samples each, weighted into one value.
///
/// Columns of a band of rows are summed first, in whole numbers: that loop runs over memory in order.
fn block_means<T: Sample, const N: usize>(
    samples: &[T],
    width: usize,
    height: usize,
    factor: usize,
    weights: [f32; N],
) -> Plate {
    let (columns, rows) = (width / factor, height / factor);
    let weights = weights.map(|w| w / T::WHITE / (factor * factor) as f32);
    let weighted = |sums: [f32; N]| sums.iter().zip(&weights).map(|(s, w)| s * w).sum::<f32>();
    let mut values = vec![0.0; columns * rows];
    if factor == 1 {
        values.par_chunks_mut(columns).zip(samples.par_chunks(width * N)).for_each(|(out, row)| {
            for (value, pixel) in out.iter_mut().zip(row.as_chunks::<N>().0) {
                *value = weighted(pixel.map(|s| s.whole() as f32));
            }
        });
        return Plate { width: columns, height: rows, values };
    }
    let used = columns * factor * N;
    values.par_chunks_mut(columns).enumerate().for_each_init(
        || vec![0_u32; used],
        |sums, (block_row, out)| {
            sums.fill(0);
            for row in 0..factor {
                let start = (block_row * factor + row) * width * N;
                for (sum, sample) in sums.iter_mut().zip(&samples[start..start + used]) {
                    *sum += sample.whole();
                }
            }
            for (value, block) in out.iter_mut().zip(sums.chunks_exact(factor * N)) {
                let mut total = [0_u64; N];
                for pixel in block.as_chunks::<N>().0 {
                    for (sum, part) in total.iter_mut().zip(pixel) {
                        *sum += u64::from(*part);
                    }
                }
                *value = weighted(total.map(|s| s as f32));
            }
        },
    );
    Plate { width: columns, height: rows, values }
}

/// Column or row of the pixel centre at or before `x`, and the way from it, 0 to 1; clamped to the centres of a side of
/// `n` pixels. What is no number counts as 0.
#[inline]
fn cell(x: f64, n: usize) -> (usize, f32) {
    let from_first_centre = if x.is_nan() { 0.0 } else { (x - 0.5).clamp(0.0, (n - 1) as f64) };
    let first = from_first_centre as usize;
    (first, (from_first_centre - first as f64) as f32)
}

#[inline]
fn bilinear(width: usize, height: usize, x: f64, y: f64, value: impl Fn(usize, usize) -> f32) -> f32 {
    let ((ix, fx), (iy, fy)) = (cell(x, width), cell(y, height));
    // The pixel after the last one is never weighted: there the way is 0.
    let (jx, jy) = ((ix + 1).min(width - 1), (iy + 1).min(height - 1));
    let upper = value(ix, iy) * (1.0 - fx) + value(jx, iy) * fx;
    let lower = value(ix, jy) * (1.0 - fx) + value(jx, jy) * fx;
    upper * (1.0 - fy) + lower * fy
}

/// Weights of the four pixels around a point at the way `t` from the second to the third (Keys 1981, eq. 15, a = -1/2).
#[inline]
pub(super) fn cubic_weights(t: f32) -> [f32; 4] {
    let (t2, t3) = (t * t, t * t * t);
    [0.5 * (-t3 + 2.0 * t2 - t), 0.5 * (3.0 * t3 - 5.0 * t2 + 2.0), 0.5 * (-3.0 * t3 + 4.0 * t2 + t), 0.5 * (t3 - t2)]
}

#[inline]
fn cubic(width: usize, height: usize, x: f64, y: f64, value: impl Fn(usize, usize) -> f32) -> f32 {
    let ((ix, fx), (iy, fy)) = (cell(x, width), cell(y, height));
    let (wx, wy) = (cubic_weights(fx), cubic_weights(fy));
    let mut sum = 0.0;
    for (row, weight_y) in wy.iter().enumerate() {
        let sy = (iy + row).saturating_sub(1).min(height - 1);
        let mut line = 0.0;
        for (column, weight_x) in wx.iter().enumerate() {
            line += weight_x * value((ix + column).saturating_sub(1).min(width - 1), sy);
        }
        sum += weight_y * line;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Metadata;

    fn photo(width: usize, height: usize, pixels: Pixels) -> Photo {
        Photo { width, height, pixels, metadata: Metadata::default() }
    }

    fn drawn(width: usize, height: usize, value: impl Fn(f64, f64) -> f64) -> Plate {
        let at = |i: usize| ((i % width) as f64 + 0.5, (i / width) as f64 + 0.5);
        let values = (0..width * height).map(|i| value(at(i).0, at(i).1) as f32).collect();
        Plate { width, height, values }
    }

    #[test]
    fn depths_share_one_scale() {
        let eight: Vec<u8> = (0..48).map(|i| i * 5).collect();
        let sixteen: Vec<u16> = eight.iter().map(|&v| u16::from(v) * 257).collect();
        let (a, b) = (photo(4, 4, Pixels::Rgb8(eight.clone())), photo(4, 4, Pixels::Rgb16(sixteen.clone())));
        let (c, d) = (photo(8, 6, Pixels::Grey8(eight)), photo(8, 6, Pixels::Grey16(sixteen)));
        let mix = Mix([0.5, -0.25, 1.0]);
        for i in 0..16 {
            assert!((a.value(i % 4, i / 4, mix) - b.value(i % 4, i / 4, mix)).abs() < 1e-6);
            assert!((a.plate(mix).values[i] - a.value(i % 4, i / 4, mix)).abs() < 1e-6);
        }
        assert!((c.value(3, 2, mix) - 1.25 * 95.0 / 255.0).abs() < 1e-6);
        assert!((d.value(3, 2, mix) - c.value(3, 2, mix)).abs() < 1e-6);
        assert!((c.plate(mix).values[19] - c.value(3, 2, mix)).abs() < 1e-6);
    }

    #[test]
    fn reduced_is_the_mean_of_whole_blocks() {
        let (w, h) = (23, 17);
        let p = photo(w, h, Pixels::Rgb8((0..w * h * 3).map(|i| (i * 7919 % 251) as u8).collect()));
        for factor in [1, 2, 3, 5, 17, 99, 0] {
            let plate = p.reduced(Mix::LUMA, factor);
            let f = factor.clamp(1, 17);
            assert_eq!((plate.width, plate.height), (w / f, h / f));
            for (i, value) in plate.values.iter().enumerate() {
                let (x, y) = (i % plate.width * f, i / plate.width * f);
                let block = (0..f * f).map(|k| p.value(x + k % f, y + k / f, Mix::LUMA)).sum::<f32>();
                assert!((value - block / (f * f) as f32).abs() < 1e-5, "factor {factor}");
            }
        }
    }

    #[test]
    fn sampling_puts_centres_at_halves() {
        let plate = drawn(9, 7, |x, y| 0.3 + 0.1 * x - 0.05 * y);
        let p = photo(9, 7, Pixels::Grey16(plate.values.iter().map(|v| (v * 30000.0) as u16).collect()));
        let grey = Mix::LUMA;
        assert!((p.sample(0.5, 0.5, grey) - p.value(0, 0, grey)).abs() < 1e-6);
        assert!((p.sample_cubic(3.5, 2.5, grey) - p.value(3, 2, grey)).abs() < 1e-6);
        assert!((p.sample(4.0, 2.5, grey) - 0.5 * (p.value(3, 2, grey) + p.value(4, 2, grey))).abs() < 1e-6);
        for (x, y) in [(0.5, 0.5), (3.3, 4.9), (8.5, 6.5), (6.123, 1.77)] {
            assert!((f64::from(plate.sample(x, y)) - (0.3 + 0.1 * x - 0.05 * y)).abs() < 1e-6);
        }
        for (x, y) in [(-5.0, -1e9), (f64::NAN, 3.0), (1e300, 2.0), (9.0, 7.0)] {
            assert!(plate.sample(x, y).is_finite() && plate.sample_cubic(x, y).is_finite(), "{x}, {y}");
        }
        assert!((plate.sample(1e9, 1e9) - plate.value(8, 6)).abs() < 1e-6);
        assert!((plate.sample_cubic(1e9, 1e9) - plate.value(8, 6)).abs() < 1e-6);
    }

    /// Keys 1981 proves third-order convergence: quadratics are met exactly.
    #[test]
    fn cubic_convolution_meets_quadratics() {
        let f = |x: f64, y: f64| 0.2 + 0.03 * x - 0.01 * y + 0.004 * x * x + 0.002 * x * y - 0.003 * y * y;
        let plate = drawn(12, 12, f);
        for (x, y) in [(4.2, 5.9), (6.5, 3.1), (9.99, 2.01)] {
            assert!((f64::from(plate.sample_cubic(x, y)) - f(x, y)).abs() < 2e-6, "{x}, {y}");
        }
    }
}
