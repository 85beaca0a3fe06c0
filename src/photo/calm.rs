//! A photo read with less of its noise: taken off another one it then adds hardly any of its own.
//!
//! A value moves towards the mean of its neighbourhood by the share of the variance there that noise explains, so that
//! even parts become smooth and edges stay (J.-S. Lee, 1980, "Digital image enhancement and noise filtering by use of
//! local statistics", IEEE Trans. Pattern Anal. Mach. Intell. 2:165-168).

use super::channels::OPPONENT;
use super::{Mix, Photo};

/// Pixels to either side that count as the neighbourhood.
const REACH: i64 = 2;
/// A neighbourhood's variance scatters by its few pixels: up to this many times that of the noise is noise.
const STILL_NOISE: f32 = 1.5;

impl Photo {
    /// Variance of the noise of each channel of [`Photo::channels_at`].
    pub(super) fn channel_noise(&self) -> [f32; 3] {
        let mut variance = [0.0; 3];
        for (v, mix) in variance.iter_mut().zip(OPPONENT).take(self.channel_count()) {
            *v = self.noise(Mix(mix)).typical().powi(2);
        }
        variance
    }

    /// Channels at any place as [`Photo::channels_at`] reads them, with their noise smoothed away where the photo is even;
    /// `noise`: what [`Photo::channel_noise`] says.
    pub(super) fn channels_calmed(&self, x: f64, y: f64, noise: &[f32; 3]) -> [f32; 3] {
        let (ix, iy) = (x.floor() as i64, y.floor() as i64);
        let clamped = |i: i64, size: usize| i.clamp(0, size as i64 - 1) as usize;
        let (mut sum, mut squares) = ([0.0f32; 3], [0.0f32; 3]);
        for row in iy - REACH..=iy + REACH {
            for column in ix - REACH..=ix + REACH {
                let v = self.channel_values(clamped(column, self.width), clamped(row, self.height));
                for c in 0..3 {
                    sum[c] += v[c];
                    squares[c] += v[c] * v[c];
                }
            }
        }
        let count = ((2 * REACH + 1) * (2 * REACH + 1)) as f32;
        let mut value = self.channels_at(x, y);
        for c in 0..3 {
            let mean = sum[c] / count;
            let spread = (squares[c] / count - mean * mean).max(0.0);
            let noise = STILL_NOISE * noise[c];
            let kept = if spread > noise { (spread - noise) / spread } else { 0.0 };
            value[c] = mean + kept * (value[c] - mean);
        }
        value
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::{Metadata, Pixels};

    /// Even noise of 3 of 255 beside a step of 100: the noise goes, the step stays.
    #[test]
    fn noise_goes_and_edges_stay() {
        let (width, height) = (192, 160);
        let mut state = 3_u64;
        let mut even = move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        let pixels = (0..width * height).map(|i| {
            let noise = 3.0 * (even() + even() + even() + even()) * 3f64.sqrt();
            ((if i % width < 96 { 80.0 } else { 180.0 }) + noise).round() as u8
        });
        let photo = Photo { width, height, pixels: Pixels::Grey8(pixels.collect()), metadata: Metadata::default() };
        let noise = photo.channel_noise();
        assert!((noise[0].sqrt() * 255.0 - 3.0).abs() < 0.4 && noise[1] == 0.0, "{noise:?}");
        let rms = |calm: bool, from: usize, to: usize, truth: f32| {
            let all = (10..150).flat_map(|y| (from..to).map(move |x| (x as f64 + 0.5, y as f64 + 0.5)));
            let read = |(x, y)| if calm { photo.channels_calmed(x, y, &noise) } else { photo.channels_at(x, y) };
            let sum: f32 = all.map(|at| (read(at)[0] * 255.0 - truth).powi(2)).sum();
            (sum / (140 * (to - from)) as f32).sqrt()
        };
        assert!(rms(false, 10, 80, 80.0) > 2.7, "{}", rms(false, 10, 80, 80.0));
        assert!(rms(true, 10, 80, 80.0) < 1.2, "{}", rms(true, 10, 80, 80.0));
        assert!(rms(true, 95, 96, 80.0) < 3.3 && rms(true, 96, 97, 180.0) < 3.3);
    }
}
