//! How the exposure of one photo differs from another's, once it is known how the one lies on the other.
//!
//! A straight line through the grey values of both, place by place over the whole view: other = gain * first + offset. Biweight
//! weights (J. W. Tukey's, as A. E. Beaton and he give it, 1974, Technometrics 16:147-185) leave out what only one of them shows,
//! the stream above all.

use super::Movement;
use super::refine::BIWEIGHT;
use crate::photo::{Mix, Photo};
use crate::point::PixelPoint;

/// Places that are compared, about.
const PLACES: usize = 40_000;
/// Grey values beyond which a sample may be clipped.
const CLIPPED: (f32, f32) = (0.01, 0.98);
const ROUNDS: usize = 12;
/// Least spread of the grey values, below which the line has no slope of its own.
const LEAST_SPREAD: f64 = 0.02;
/// Fewest places that decide.
const FEWEST: usize = 200;

/// `movement` with gain and offset from the grey values of the whole view; with the gain that it has where these are too alike to
/// tell one.
pub(super) fn matched(first: &Photo, other: &Photo, mix: Mix, movement: Movement) -> Movement {
    let factor = (((first.width * first.height) as f64 / PLACES as f64).sqrt().floor() as usize).max(1);
    let (a, b) = (first.reduced(mix, factor), other.reduced(mix, factor));
    let small = movement.reduced(factor as f64);
    let whole = |v: f32| (CLIPPED.0..CLIPPED.1).contains(&v);
    let pairs: Vec<(f64, f64)> = a
        .values
        .iter()
        .enumerate()
        .filter_map(|(i, &v)| {
            let here = PixelPoint::new((i % a.width) as f64 + 0.5, (i / a.width) as f64 + 0.5);
            let there = small.transform_from_first(here);
            let inside =
                there.x > 1.0 && there.y > 1.0 && there.x < b.width as f64 - 1.0 && there.y < b.height as f64 - 1.0;
            let seen = inside.then(|| b.sample_cubic(there.x, there.y))?;
            (whole(v) && whole(seen)).then_some((f64::from(v), f64::from(seen)))
        })
        .collect();
    let gain = movement.gain;
    let mut offsets: Vec<f64> = pairs.iter().map(|(a, b)| b - gain * a).collect();
    if offsets.len() < FEWEST {
        return movement;
    }
    let middle = offsets.len() / 2;
    let offset = *offsets.select_nth_unstable_by(middle, f64::total_cmp).1;
    let start = (gain, offset);
    let settled = (0..ROUNDS).try_fold(start, |(gain, offset), _| line(&pairs, gain, offset));
    let (gain, offset) = settled.unwrap_or(start);
    Movement { gain, offset, ..movement }
}

/// The line of one round of reweighting; `None` where the grey values bear none.
fn line(pairs: &[(f64, f64)], gain: f64, offset: f64) -> Option<(f64, f64)> {
    let left = |&(a, b): &(f64, f64)| b - gain * a - offset;
    let mut sizes: Vec<f64> = pairs.iter().map(|p| left(p).abs()).collect();
    let middle = sizes.len() / 2;
    let cut = BIWEIGHT * (*sizes.select_nth_unstable_by(middle, f64::total_cmp).1 / 0.674_49).max(1e-4);
    let weighted = pairs.iter().filter_map(|p| {
        let u = left(p) / cut;
        (u.abs() < 1.0).then(|| ((1.0 - u * u).powi(2), p.0, p.1))
    });
    let (mut n, mut sa, mut sb, mut saa, mut sab) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (w, a, b) in weighted {
        n += w;
        sa += w * a;
        sb += w * b;
        saa += w * a * a;
        sab += w * a * b;
    }
    let (a, b) = (sa / n, sb / n);
    let spread = saa / n - a * a;
    let slope = (sab / n - a * b) / spread;
    (n >= FEWEST as f64 && spread >= LEAST_SPREAD * LEAST_SPREAD && slope > 0.0).then_some((slope, b - slope * a))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::{Metadata, Pixels};

    const SIZE: (usize, usize) = (600, 450);

    /// A board that grows lighter to the right with darker shelves before it, in 16 bits; `paint` changes it.
    fn board(paint: impl Fn(f64, f64, f64) -> f64) -> Photo {
        let (width, height) = SIZE;
        let pixels = (0..width * height).map(|i| {
            let (x, y) = ((i % width) as f64, (i / width) as f64);
            let v = 0.35 + 0.0005 * x - if y % 90.0 < 12.0 { 0.08 } else { 0.0 };
            (65535.0 * paint(x, y, v).clamp(0.0, 1.0)).round() as u16
        });
        Photo { width, height, pixels: Pixels::Grey16(pixels.collect()), metadata: Metadata::default() }
    }

    /// A fifth of the view is a stream that only the first shows, and a corner of it is clipped in both.
    #[test]
    fn the_line_through_all_that_both_show() {
        let clipped = |x: f64, y: f64| x > 480.0 && y < 90.0;
        let first = board(|x, y, v| {
            if clipped(x, y) {
                1.0
            } else if (y - 0.4 * x).abs() < 45.0 {
                0.8
            } else {
                v
            }
        });
        let other = board(|x, y, v| if clipped(x, y) { 1.0 } else { 0.83 * v + 0.05 });
        let found = matched(&first, &other, Mix::LUMA, Movement::none(SIZE.0, SIZE.1));
        assert!((found.gain - 0.83).abs() < 1e-3 && (found.offset - 0.05).abs() < 5e-4, "{found:?}");
    }

    /// An even board has one grey value only: the gain stays, the offset follows.
    #[test]
    fn an_even_board_tells_no_gain() {
        let even = |level: f64| board(move |_, _, _| level);
        let known = Movement { gain: 1.1, ..Movement::none(SIZE.0, SIZE.1) };
        let found = matched(&even(0.4), &even(0.5), Mix::LUMA, known);
        assert!(found.gain == 1.1 && (found.offset - 0.06).abs() < 1e-4, "{found:?}");
        let white = matched(&even(1.0), &even(1.0), Mix::LUMA, known);
        assert_eq!(white, known, "all is clipped");
    }
}
