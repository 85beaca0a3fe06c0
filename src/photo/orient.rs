//! Pixels turned as the orientation tag asks, so that they stand as displayed.
//!
//! Orientation values are those of Exif 2.32 (CIPA DC-008-2019), tag 0x0112: which sides of the
//! picture the stored row 0 and column 0 are.
//!
//! Mirrors and the half turn work in place. Quarter turns need a second buffer for as long as
//! they last; they go block by block so that reads and writes both stay in the cache.

use super::Pixels;
use rayon::prelude::*;

/// Side of the blocks of a quarter turn: 64 x 64 pixels of 6 bytes are 24 kB, inside a common 32 kB first-level cache.
const BLOCK: usize = 64;

/// `pixels` of `width` x `height` turned by `orientation` (1 to 8; others leave them); returns the size as displayed.
pub(super) fn turn(pixels: &mut Pixels, width: usize, height: usize, orientation: u8) -> (usize, usize) {
    match pixels {
        Pixels::Grey8(v) => turn_samples::<_, 1>(v, width, height, orientation),
        Pixels::Rgb8(v) => turn_samples::<_, 3>(v, width, height, orientation),
        Pixels::Grey16(v) => turn_samples::<_, 1>(v, width, height, orientation),
        Pixels::Rgb16(v) => turn_samples::<_, 3>(v, width, height, orientation),
    }
    if (5..=8).contains(&orientation) { (height, width) } else { (width, height) }
}

fn turn_samples<T: Copy + Default + Send + Sync, const N: usize>(
    samples: &mut Vec<T>,
    width: usize,
    height: usize,
    orientation: u8,
) {
    if width == 0 || height == 0 {
        return;
    }
    let row = width * N;
    match orientation {
        2 => samples.par_chunks_mut(row).for_each(|row| row.as_chunks_mut::<N>().0.reverse()),
        3 => samples.as_chunks_mut::<N>().0.reverse(),
        4 => {
            let (upper, lower) = samples.split_at_mut(height / 2 * row);
            upper.par_chunks_mut(row).zip(lower.par_rchunks_mut(row)).for_each(|(a, b)| a.swap_with_slice(b));
        }
        5..=8 => *samples = quarter::<T, N>(samples, width, height, orientation),
        _ => {}
    }
}

/// The quarter turns and the two mirrors at a diagonal.
fn quarter<T: Copy + Default + Send + Sync, const N: usize>(
    samples: &[T],
    width: usize,
    height: usize,
    orientation: u8,
) -> Vec<T> {
    let source = samples.as_chunks::<N>().0;
    // Stored row 0 is the right side (6, 7) or the left (5, 8); stored column 0 the bottom (7, 8) or the top (5, 6).
    let from_right = matches!(orientation, 6 | 7);
    let from_bottom = matches!(orientation, 7 | 8);
    let mut out = vec![T::default(); samples.len()];
    out.par_chunks_mut(BLOCK * height * N).enumerate().for_each(|(band, out)| {
        let rows = out.len() / (height * N);
        for left in (0..height).step_by(BLOCK) {
            let right = (left + BLOCK).min(height);
            for row in 0..rows {
                let y = band * BLOCK + row;
                let column = if from_bottom { width - 1 - y } else { y };
                let line = &mut out[(row * height + left) * N..(row * height + right) * N];
                for (x, pixel) in (left..right).zip(line.as_chunks_mut::<N>().0) {
                    let stored_row = if from_right { height - 1 - x } else { x };
                    *pixel = source[stored_row * width + column];
                }
            }
        }
    });
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The letter F, stored so that each orientation displays it upright.
    #[test]
    fn every_orientation_displays_the_same_letter() {
        let upright = ["####", "#...", "###.", "#...", "#...", "#..."];
        let stored: [&[&str]; 8] = [
            &["####", "#...", "###.", "#...", "#...", "#..."],
            &["####", "...#", ".###", "...#", "...#", "...#"],
            &["...#", "...#", "...#", ".###", "...#", "####"],
            &["#...", "#...", "#...", "###.", "#...", "####"],
            &["######", "#.#...", "#.#...", "#....."],
            &["#.....", "#.#...", "#.#...", "######"],
            &[".....#", "...#.#", "...#.#", "######"],
            &["######", "...#.#", "...#.#", ".....#"],
        ];
        let bytes = |rows: &[&str]| rows.concat().into_bytes();
        for (i, rows) in stored.iter().enumerate() {
            let mut pixels = Pixels::Grey8(bytes(rows));
            let size = turn(&mut pixels, rows[0].len(), rows.len(), i as u8 + 1);
            assert_eq!(size, (4, 6), "orientation {}", i + 1);
            let Pixels::Grey8(shown) = pixels else { panic!("the kind changed") };
            assert_eq!(shown, bytes(&upright), "orientation {}", i + 1);
        }
    }

    /// Sizes that do not divide by the block, in colour, against the definition pixel by pixel.
    #[test]
    fn blocks_and_ragged_edges_agree_with_the_definition() {
        let (w, h) = (150, 67);
        let stored: Vec<u16> = (0..w * h * 3).map(|i| i as u16).collect();
        for orientation in 1..=8 {
            let mut pixels = Pixels::Rgb16(stored.clone());
            let (shown_w, _) = turn(&mut pixels, w, h, orientation);
            let Pixels::Rgb16(shown) = pixels else { panic!("the kind changed") };
            for sy in 0..h {
                for sx in 0..w {
                    let (x, y) = match orientation {
                        1 => (sx, sy),
                        2 => (w - 1 - sx, sy),
                        3 => (w - 1 - sx, h - 1 - sy),
                        4 => (sx, h - 1 - sy),
                        5 => (sy, sx),
                        6 => (h - 1 - sy, sx),
                        7 => (h - 1 - sy, w - 1 - sx),
                        _ => (sy, w - 1 - sx),
                    };
                    let (a, b) = ((sy * w + sx) * 3, (y * shown_w + x) * 3);
                    assert_eq!(stored[a..a + 3], shown[b..b + 3], "orientation {orientation} at {sx}, {sy}");
                }
            }
        }
    }
}
