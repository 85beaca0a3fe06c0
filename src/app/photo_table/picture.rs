//! A photo's samples as colours for the screen.

use crate::photo::{Photo, Pixels};
use eframe::egui::{Color32, ColorImage};
use rayon::prelude::*;

/// Longest side of the small picture of the whole photo.
pub const OVERVIEW_SIDE: usize = 2048;

/// The whole photo, small: what is shown at once, and behind tiles that are still to come.
#[derive(Clone, Debug)]
pub struct Overview {
    /// The picture.
    pub image: ColorImage,
    /// Photo pixels for one of its own.
    pub factor: usize,
    /// The sample that is shown white.
    pub white: u16,
}

impl Overview {
    /// The overview of a photo.
    pub fn new(photo: &Photo) -> Self {
        let white = white(photo);
        let factor = photo.width.max(photo.height).div_ceil(OVERVIEW_SIDE).max(1);
        let image = part(photo, white, [0, 0], [photo.width, photo.height], factor);
        Self { image, factor, white }
    }
}

/// The part of a photo from `from` of `size` pixels, averaged over blocks of `factor`; the blocks at the right and
/// lower border are smaller where it does not divide.
pub fn part(photo: &Photo, white: u16, from: [usize; 2], size: [usize; 2], factor: usize) -> ColorImage {
    let sized = [size[0].div_ceil(factor), size[1].div_ceil(factor)];
    let pixels = match &photo.pixels {
        Pixels::Grey8(v) => blocks::<_, 1>(v, photo.width, from, size, factor, f32::from(u8::MAX)),
        Pixels::Rgb8(v) => blocks::<_, 3>(v, photo.width, from, size, factor, f32::from(u8::MAX)),
        Pixels::Grey16(v) => blocks::<_, 1>(v, photo.width, from, size, factor, f32::from(white)),
        Pixels::Rgb16(v) => blocks::<_, 3>(v, photo.width, from, size, factor, f32::from(white)),
    };
    ColorImage::new(sized, pixels)
}

/// The sample that is shown white: 255, or for 16 bits the end of the depth that is in use, so that 10, 12 or 14 bits
/// in a 16-bit file are not black.
fn white(photo: &Photo) -> u16 {
    match &photo.pixels {
        Pixels::Grey8(_) | Pixels::Rgb8(_) => u16::from(u8::MAX),
        Pixels::Grey16(v) | Pixels::Rgb16(v) => {
            let most = v.par_iter().copied().max().unwrap_or(u16::MAX).max(u16::from(u8::MAX));
            u16::MAX >> most.leading_zeros()
        }
    }
}

/// Samples of either depth, `N` to a pixel.
fn blocks<T: Copy + Sync + Into<u32>, const N: usize>(
    v: &[T],
    width: usize,
    from: [usize; 2],
    size: [usize; 2],
    factor: usize,
    white: f32,
) -> Vec<Color32> {
    let columns = size[0].div_ceil(factor);
    let rows = size[1].div_ceil(factor);
    let mut out = vec![Color32::BLACK; columns * rows];
    out.par_chunks_mut(columns.max(1)).enumerate().for_each(|(j, line)| {
        let mut sums = vec![[0u32; N]; columns];
        let (first, last) = (j * factor, ((j + 1) * factor).min(size[1]));
        for y in first..last {
            let row = &v[((from[1] + y) * width + from[0]) * N..][..size[0] * N];
            for (sum, block) in sums.iter_mut().zip(row.chunks(factor * N)) {
                for pixel in block.chunks_exact(N) {
                    for (s, p) in sum.iter_mut().zip(pixel) {
                        *s += (*p).into();
                    }
                }
            }
        }
        for (i, (o, sum)) in line.iter_mut().zip(&sums).enumerate() {
            let across = ((i + 1) * factor).min(size[0]) - i * factor;
            let scale = 255.0 / (white * (across * (last - first)) as f32);
            let shown = |c: usize| (sum[c.min(N - 1)] as f32 * scale + 0.5).min(255.0) as u8;
            *o = Color32::from_rgb(shown(0), shown(1), shown(2));
        }
    });
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Metadata;

    fn photo(width: usize, height: usize, pixels: Pixels) -> Photo {
        Photo { width, height, pixels, metadata: Metadata::default() }
    }

    #[test]
    fn parts_are_the_photo_itself_or_its_average() {
        let samples: Vec<u8> = (0..5 * 3 * 3).map(|i| i as u8).collect();
        let p = photo(5, 3, Pixels::Rgb8(samples));
        let one = part(&p, 255, [2, 1], [2, 2], 1);
        assert_eq!(one.pixels[3], Color32::from_rgb(39, 40, 41), "pixel (3, 2)");
        let all = part(&p, 255, [0, 0], [5, 3], 2);
        assert_eq!(all.size, [3, 2]);
        // pixels (0, 0), (1, 0), (0, 1), (1, 1): red 0, 3, 15, 18
        assert_eq!(all.pixels[0].r(), 9);
        assert_eq!(all.pixels[5], Color32::from_rgb(42, 43, 44), "a border block is smaller");
    }

    #[test]
    fn twelve_bits_in_sixteen_are_not_black() {
        let p = photo(2, 1, Pixels::Grey16(vec![0, 4000]));
        let seen = Overview::new(&p);
        assert_eq!((seen.white, seen.factor), (4095, 1));
        assert_eq!(seen.image.pixels[1], Color32::from_gray(249));
        assert_eq!(Overview::new(&photo(1, 1, Pixels::Grey16(vec![60_000]))).white, u16::MAX);
        assert_eq!(Overview::new(&photo(1, 1, Pixels::Grey16(vec![9]))).white, 255, "a black photo stays black");
    }

    #[test]
    fn the_overview_of_a_large_photo_is_small() {
        let p = photo(6000, 30, Pixels::Grey8(vec![7; 180_000]));
        let seen = Overview::new(&p);
        assert_eq!((seen.factor, seen.image.size), (3, [2000, 10]));
        assert!(seen.image.pixels.iter().all(|c| *c == Color32::from_gray(7)));
    }
}
