//! A burst: several photos of one steady jet, laid on the first.
//!
//! The mean and the spread are evidence of where the stream is; measuring is done in each photo as it was
//! taken, at points carried over by [`Movement::transform_from_first`].

use super::register::{Movement, NoMatch, register};
use super::{Mix, Photo, Plate};
use crate::point::PixelPoint;
use rayon::prelude::*;
use thiserror::Error;

/// A burst laid on its first photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Stack {
    /// How each photo lies on the first, in the order given; the first is unmoved.
    pub movements: Vec<Movement>,
    /// Robust mean of the grey values, in the first photo's exposure, reduced by `factor`.
    pub mean: Plate,
    /// Standard deviation of the grey values from photo to photo: noise, and what moves on its own.
    pub spread: Plate,
    /// How many pixels of the photo are one of the plates' a side.
    pub factor: usize,
}

/// Why a burst could not be laid on its first photo.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum NoStack {
    /// One photo makes no burst.
    #[error("a burst needs two photos or more, this one has {count}; name a single photo under file")]
    TooFew {
        /// How many there are.
        count: usize,
    },
    /// One photo does not match the first.
    #[error("photo {number} of the burst does not match the first: {reason}")]
    Photo {
        /// Its number, from 1.
        number: usize,
        /// Why.
        reason: NoMatch,
    },
}

/// Lays the photos of a burst on the first; mean and spread come reduced by `factor` as [`Photo::reduced`] does.
///
/// Of four photos and more the darkest and the brightest value of each pixel are left out of the mean, so that a drop or a
/// glint in one of them leaves no trace. Where a photo does not reach, at the rim, its nearest value counts.
///
/// # Errors
/// [`NoStack`] for fewer than two photos, and naming the photo of another size or view.
pub fn stack(photos: &[Photo], mix: Mix, factor: usize) -> Result<Stack, NoStack> {
    let Some((first, others)) = photos.split_first().filter(|(_, others)| !others.is_empty()) else {
        return Err(NoStack::TooFew { count: photos.len() });
    };
    let mut movements = vec![Movement::none(first.width, first.height)];
    for (i, other) in others.iter().enumerate() {
        movements.push(register(first, other, mix).map_err(|reason| NoStack::Photo { number: i + 2, reason })?);
    }
    let factor = factor.min(first.width).min(first.height).max(1);
    let plates: Vec<Plate> = photos.iter().map(|photo| photo.reduced(mix, factor)).collect();
    let small: Vec<Movement> = movements.iter().map(|m| m.reduced(factor as f64)).collect();
    let (width, height) = (plates[0].width, plates[0].height);
    let mut mean = vec![0.0_f32; width * height];
    let mut spread = mean.clone();
    mean.par_chunks_mut(width).zip(spread.par_chunks_mut(width)).enumerate().for_each(|(y, (means, spreads))| {
        let mut seen = vec![0.0_f32; plates.len()];
        for (x, (mean, spread)) in means.iter_mut().zip(spreads).enumerate() {
            let at = PixelPoint::new(x as f64 + 0.5, y as f64 + 0.5);
            for ((value, plate), movement) in seen.iter_mut().zip(&plates).zip(&small) {
                *value = in_first_exposure(plate, movement, at);
            }
            seen.sort_by(f32::total_cmp);
            (*mean, *spread) = mean_and_spread(&seen);
        }
    });
    let plate = |values| Plate { width, height, values };
    Ok(Stack { movements, mean: plate(mean), spread: plate(spread), factor })
}

/// Grey value that `plate` shows of the point `at` of the first plate, brought to the first's exposure.
pub(super) fn in_first_exposure(plate: &Plate, movement: &Movement, at: PixelPoint) -> f32 {
    let there = movement.transform_from_first(at);
    ((f64::from(plate.sample_cubic(there.x, there.y)) - movement.offset) / movement.gain) as f32
}

/// Mean, trimmed by one at either end from four values on, and standard deviation of sorted values.
fn mean_and_spread(sorted: &[f32]) -> (f32, f32) {
    let n = sorted.len();
    let inner = if n >= 4 { &sorted[1..n - 1] } else { sorted };
    let mean_of = |v: &[f32]| v.iter().sum::<f32>() / v.len() as f32;
    let mean = mean_of(sorted);
    let variance = sorted.iter().map(|v| (v - mean).powi(2)).sum::<f32>() / (n - 1) as f32;
    (mean_of(inner), variance.sqrt())
}
