//! How noisy a photo is, told from the photo itself, as a function of brightness.
//!
//! Method: the difference of two Laplacians of J. Immerkaer, "Fast noise variance estimation",
//! Computer Vision and Image Understanding 64 (1996), 300-302: the mask
//!
//! ```text
//!   1 -2  1
//!  -2  4 -2      answers noise of standard deviation sd with 6 sd, and planes with nothing.
//!   1 -2  1
//! ```
//!
//! Two changes. The taps stand four pixels apart: cameras and JPEG smooth neighbouring pixels, and a mask of
//! neighbours would call what is left of the noise all of it. (On two pairs of rendered 12 Mpx JPEGs of one view the
//! difference within a pair gives 1.23 and 1.82 of 255; this gives 1.20 and 1.82; taps two apart gave 0.71 for the first.)
//! And instead of averaging over the photo, many small blocks each give a robust value of their own, of which a low
//! quantile is taken among blocks of like brightness, so that texture and edges do not count as noise.
//!
//! What it cannot do: where all blocks of one brightness are textured, the texture is taken for noise;
//! and noise that is smooth over more than about eight pixels is not seen.

use super::{Mix, Photo};
use rayon::prelude::*;

/// Side of a block in pixels: large enough that its own value scatters by 5 %, small enough to fit between edges.
const BLOCK: usize = 32;
/// Way between the taps of the mask in pixels.
const REACH: usize = 4;
/// Most blocks that are looked at; they are spread evenly over the photo.
const MOST_BLOCKS: usize = 2000;
/// Fewest blocks that make a level of brightness of their own.
const BLOCKS_A_LEVEL: usize = 60;
/// Most levels of brightness.
const MOST_LEVELS: usize = 12;
/// Blocks with more than this share of black or white samples are clipped: their noise is cut off.
const CLIPPED_SHARE: f32 = 0.02;
/// Variance of a normal distribution cut at three standard deviations, in units of the whole one: 1 - 6 phi(3) / (2 Phi(3) - 1).
const VARIANCE_WITHIN_3_SD: f32 = 0.973_34;
/// Median of the absolute value of a normal variable in standard deviations.
const MEDIAN_ABSOLUTE: f32 = 0.674_49;
/// What the lower quartile of the blocks' values is short of the noise, on white noise: a block's value scatters by 5.4 %
/// (measured, 2883 blocks, three seeds: quartiles at 0.962, 0.962 and 0.960).
const QUARTILE_SHORTFALL: f32 = 0.962;

/// Standard deviation of a grey value through noise, as a function of brightness.
#[derive(Clone, Debug, PartialEq)]
pub struct Noise {
    /// Levels in ascending order, with the standard deviation at each.
    at: Vec<(f32, f32)>,
}

impl Noise {
    /// Noise that is the same at every brightness.
    pub fn even(sd: f32) -> Self {
        Self { at: vec![(0.0, sd)] }
    }

    /// Standard deviation of a pixel's grey value whose level is `level`, both on the plate's scale of 0 to 1.
    ///
    /// Straight between the levels that the photo told, level beyond them; above zero always.
    pub fn sd(&self, level: f32) -> f32 {
        let after = self.at.partition_point(|(l, _)| *l < level);
        match (after.checked_sub(1).and_then(|before| self.at.get(before)), self.at.get(after)) {
            (Some(&(l0, s0)), Some(&(l1, s1))) if l1 > l0 => s0 + (s1 - s0) * (level - l0) / (l1 - l0),
            (_, Some(&(_, sd))) | (Some(&(_, sd)), None) => sd,
            (None, None) => 0.0,
        }
    }

    /// The standard deviation in the middle of the levels: one number for the whole photo.
    pub fn typical(&self) -> f32 {
        let mut all: Vec<f32> = self.at.iter().map(|(_, sd)| *sd).collect();
        all.sort_by(f32::total_cmp);
        all.get(all.len() / 2).copied().unwrap_or(0.0)
    }
}

impl Photo {
    /// The noise of the photo's grey values in `mix`.
    ///
    /// Never below what rounding to whole steps alone makes (a step over the square root of 12). A photo without a block
    /// that is free of clipping gets that floor at every level.
    pub fn noise(&self, mix: Mix) -> Noise {
        let weight = mix.0.iter().map(|w| w * w).sum::<f32>().sqrt();
        let floor = (self.step() * weight / 12.0_f32.sqrt()).max(f32::MIN_POSITIVE);
        let (columns, rows) = (self.width / BLOCK, self.height / BLOCK);
        let stride = ((columns * rows) as f32 / MOST_BLOCKS as f32).sqrt().max(1.0);
        let spread = |n: usize| {
            let taken = (n as f32 / stride).ceil() as usize;
            (0..taken).map(move |i| i * n / taken * BLOCK)
        };
        let corners: Vec<_> = spread(rows).flat_map(|y| spread(columns).map(move |x| (x, y))).collect();
        let mut blocks: Vec<(f32, f32)> = corners.par_iter().filter_map(|&(x, y)| block(self, x, y, mix)).collect();
        blocks.sort_by(|a, b| a.0.total_cmp(&b.0));
        let count = blocks.len();
        if count == 0 {
            return Noise::even(floor);
        }
        let levels = (count / BLOCKS_A_LEVEL).clamp(1, MOST_LEVELS);
        let at = (0..levels).map(|i| {
            let of_level = &mut blocks[i * count / levels..(i + 1) * count / levels];
            let level = of_level[of_level.len() / 2].0;
            let (_, quartile, _) = of_level.select_nth_unstable_by(of_level.len() / 4, |a, b| a.1.total_cmp(&b.1));
            (level, (quartile.1 / QUARTILE_SHORTFALL).max(floor))
        });
        Noise { at: at.collect() }
    }
}

/// Level and standard deviation of the block whose top-left pixel is (`left`, `top`); `None` where it is clipped.
fn block(photo: &Photo, left: usize, top: usize, mix: Mix) -> Option<(f32, f32)> {
    let mut grey = [0.0_f32; BLOCK * BLOCK];
    let mut clipped = 0;
    for (i, value) in grey.iter_mut().enumerate() {
        let [r, g, b] = photo.rgb(left + i % BLOCK, top + i / BLOCK);
        clipped += usize::from(r.max(g).max(b) >= 1.0 || r.min(g).min(b) <= 0.0);
        *value = mix.0[0] * r + mix.0[1] * g + mix.0[2] * b;
    }
    if clipped as f32 > CLIPPED_SHARE * grey.len() as f32 {
        return None;
    }
    let level = grey.iter().sum::<f32>() / grey.len() as f32;
    const INNER: usize = BLOCK - 2 * REACH;
    let mut answers = [0.0_f32; INNER * INNER];
    for (i, answer) in answers.iter_mut().enumerate() {
        let at = i / INNER * BLOCK + i % INNER;
        let line = |at: usize| grey[at] - 2.0 * grey[at + REACH] + grey[at + 2 * REACH];
        *answer = (line(at) - 2.0 * line(at + REACH * BLOCK) + line(at + 2 * REACH * BLOCK)).abs();
    }
    Some((level, robust_sd(&mut answers) / 6.0))
}

/// Standard deviation of normal values with outliers, from their absolute values: the median starts, values within three
/// standard deviations finish (a median of whole steps would itself be a whole step).
fn robust_sd(absolute: &mut [f32]) -> f32 {
    let middle = absolute.len() / 2;
    let (_, median, _) = absolute.select_nth_unstable_by(middle, f32::total_cmp);
    let mut sd = *median / MEDIAN_ABSOLUTE;
    for _ in 0..2 {
        let (mut sum, mut count) = (0.0, 0.0_f32);
        for value in absolute.iter().filter(|v| **v <= 3.0 * sd) {
            sum += value * value;
            count += 1.0;
        }
        sd = (sum / count.max(1.0) / VARIANCE_WITHIN_3_SD).sqrt();
    }
    sd
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::{Metadata, Pixels};

    /// Normal numbers by Box and Muller over a linear congruential generator of stated seed.
    fn normal(seed: u64) -> impl FnMut() -> f64 {
        let mut state = seed;
        let mut uniform = move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((state >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
        };
        move || (-2.0 * uniform().ln()).sqrt() * (std::f64::consts::TAU * uniform()).cos()
    }

    /// A bench scene of grey 0 to 255: a gradient, a striped ruler, a bright slanted stream, a textured corner; plus noise.
    fn scene(noise: impl Fn(f64) -> f64, seed: u64) -> Photo {
        let (width, height) = (720, 480);
        let mut draw = normal(seed);
        let pixels = (0..width * height).map(|i| {
            let (x, y) = ((i % width) as f64, (i / width) as f64);
            let mut v = 50.0 + 140.0 * x / width as f64;
            if (60.0..90.0).contains(&y) {
                v = if x % 14.0 < 7.0 { 40.0 } else { 200.0 };
            }
            let off = y - 120.0 - 0.001 * x * x;
            v += 30.0 * (-(off / 8.0).powi(2)).exp();
            if x > 500.0 && y > 330.0 {
                v += 15.0 * (x * 1.3).sin() * (y * 1.7).cos();
            }
            (v + noise(v) * draw()).round().clamp(0.0, 255.0) as u8
        });
        Photo { width, height, pixels: Pixels::Grey8(pixels.collect()), metadata: Metadata::default() }
    }

    #[test]
    fn even_noise_is_found_within_ten_percent_beside_texture_and_edges() {
        for (sd, seed) in [(0.6, 1), (1.0, 2), (2.0, 3), (5.0, 4), (10.0, 5)] {
            let noise = scene(|_| sd, seed).noise(Mix::LUMA);
            // Rounding to whole steps adds its own 1/12 to the variance.
            let truth = (sd * sd + 1.0 / 12.0_f64).sqrt();
            for level in [0.25, 0.4, 0.6, 0.7] {
                let ratio = f64::from(noise.sd(level)) * 255.0 / truth;
                assert!((ratio - 1.0).abs() < 0.10, "sd {sd} at {level}: ratio {ratio:.3}");
            }
            let ratio = f64::from(noise.typical()) * 255.0 / truth;
            assert!((ratio - 1.0).abs() < 0.05, "sd {sd}: typical ratio {ratio:.3}");
        }
    }

    #[test]
    fn noise_that_grows_with_brightness_is_told_apart() {
        let truth = |v: f64| (v * 0.06).sqrt();
        let noise = scene(truth, 6).noise(Mix::LUMA);
        for grey in [70.0, 110.0, 150.0, 180.0] {
            let ratio = f64::from(noise.sd(grey as f32 / 255.0)) * 255.0 / (truth(grey).powi(2) + 1.0 / 12.0).sqrt();
            assert!((ratio - 1.0).abs() < 0.10, "grey {grey}: ratio {ratio:.3}");
        }
    }

    #[test]
    fn photos_without_noise_or_without_unclipped_blocks_keep_the_rounding() {
        let floor = 1.0 / 255.0 / 12.0_f32.sqrt();
        for value in [0, 90, 255] {
            let pixels = Pixels::Grey8(vec![value; 64 * 64]);
            let noise = Photo { width: 64, height: 64, pixels, metadata: Metadata::default() }.noise(Mix::LUMA);
            assert!((0.7 * floor..1.01 * floor).contains(&noise.sd(0.5)), "{value}: {}", noise.sd(0.5));
            assert!(noise.sd(f32::NAN) > 0.0);
        }
        let tiny = Photo { width: 16, height: 16, pixels: Pixels::Grey8(vec![9; 256]), metadata: Metadata::default() };
        assert!(tiny.noise(Mix::LUMA).typical() > 0.0);
    }
}
