//! A dry photo: the same view without the jet, taken off the photo with it.

use super::register::{Movement, NoMatch, register};
use super::stack::in_first_exposure;
use super::{Mix, Photo, Plate};
use crate::notice::{Notice, Warned};
use crate::point::PixelPoint;
use rayon::prelude::*;

/// What a photo shows beyond its dry photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// Photo less dry photo, on the photo's own grey scale, reduced by `factor`; 0 where nothing changed.
    pub plate: Plate,
    /// How many pixels of the photo are one of the plate's a side.
    pub factor: usize,
    /// How the dry photo lies on the photo.
    pub movement: Movement,
    /// Standard deviation of the plate where nothing changed (robust, over all of it).
    pub sd: f32,
}

/// Gain beyond which the two exposures are told to differ.
const ODD_GAIN: f64 = 1.15;

/// Takes the dry photo off `photo`: camera shake is registered, gain and offset of the exposure are matched.
///
/// The plate is reduced by `factor` as [`Photo::reduced`] does.
///
/// # Errors
/// [`NoMatch`] for a dry photo of another size or another view.
pub fn difference(photo: &Photo, dry: &Photo, mix: Mix, factor: usize) -> Result<Warned<Difference>, NoMatch> {
    let movement = register(photo, dry, mix)?;
    let mut notices = Vec::new();
    if movement.gain > ODD_GAIN || movement.gain < 1.0 / ODD_GAIN {
        notices.push(
            Notice::new(
                "photo.dry",
                format!("the dry photo's contrast is {:.2} times the photo's; it was matched", movement.gain),
            )
            .hint("take both with exposure and focus locked"),
        );
    }
    let factor = factor.min(photo.width).min(photo.height).max(1);
    let (wet, dry) = (photo.reduced(mix, factor), dry.reduced(mix, factor));
    let small = movement.reduced(factor as f64);
    let mut plate = wet;
    let width = plate.width;
    plate.values.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, value) in row.iter_mut().enumerate() {
            *value -= in_first_exposure(&dry, &small, PixelPoint::new(x as f64 + 0.5, y as f64 + 0.5));
        }
    });
    let mut sizes: Vec<f32> = plate.values.iter().map(|v| v.abs()).collect();
    let middle = sizes.len() / 2;
    let sd = *sizes.select_nth_unstable_by(middle, f32::total_cmp).1 / 0.674_49;
    Ok(Warned { value: Difference { plate, factor, movement, sd }, notices })
}
