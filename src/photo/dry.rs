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

/// A photo beside its dry photo, point by point: both stay as they were taken, the dry one is read at the moved place.
#[derive(Clone, Copy, Debug)]
pub struct Beyond<'a> {
    /// The photo with the jet.
    pub photo: &'a Photo,
    /// The same view without it.
    pub dry: &'a Photo,
    /// How the dry photo lies on the photo, and how its exposure differs.
    pub movement: Movement,
    /// Variance of the dry photo's noise, channel by channel.
    noise: [f32; 3],
}

impl<'a> Beyond<'a> {
    /// Lays `dry` on `photo`.
    ///
    /// # Errors
    /// [`NoMatch`] for a dry photo of another size or another view.
    pub fn new(photo: &'a Photo, dry: &'a Photo) -> Result<Warned<Self>, NoMatch> {
        let movement = register(photo, dry, Mix::LUMA)?;
        let notices = exposure_told(&movement).into_iter().collect();
        Ok(Warned { value: Self { photo, dry, movement, noise: dry.channel_noise() }, notices })
    }

    /// Lightness (and two colour differences) beyond the dry photo's, averaged as [`Photo::channels`] does.
    pub fn channels(&self, factor: usize) -> Vec<Plate> {
        let (mut wet, dry) = (self.photo.channels(factor), self.dry.channels(factor));
        let small = self.movement.reduced(factor.max(1) as f64);
        for (channel, (wet, dry)) in wet.iter_mut().zip(&dry).enumerate() {
            let width = wet.width.max(1);
            wet.values.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
                for (x, value) in row.iter_mut().enumerate() {
                    let there = small.transform_from_first(PixelPoint::new(x as f64 + 0.5, y as f64 + 0.5));
                    *value -= self.matched(channel, dry.sample_cubic(there.x, there.y));
                }
            });
        }
        wet
    }

    /// Channels beyond the dry photo's at any place of the photo, read as [`Photo::channels_at`] does; the dry photo's noise is
    /// smoothed away where it is even, so that before an even board the difference is as good as the photo.
    #[inline]
    pub fn channels_at(&self, x: f64, y: f64) -> [f32; 3] {
        let there = self.movement.transform_from_first(PixelPoint::new(x, y));
        self.less(self.photo.channels_at(x, y), self.dry.channels_calmed(there.x, there.y, &self.noise))
    }

    /// The same in a hurry, read as [`Photo::channels_near`] does.
    #[inline]
    pub fn channels_near(&self, x: f64, y: f64) -> [f32; 3] {
        let there = self.movement.transform_from_first(PixelPoint::new(x, y));
        self.less(self.photo.channels_near(x, y), self.dry.channels_near(there.x, there.y))
    }

    #[inline]
    fn less(&self, mut wet: [f32; 3], dry: [f32; 3]) -> [f32; 3] {
        for (channel, (wet, dry)) in wet.iter_mut().zip(dry).enumerate() {
            *wet -= self.matched(channel, dry);
        }
        wet
    }

    /// A value of the dry photo in the photo's exposure; only lightness has an offset.
    #[inline]
    fn matched(&self, channel: usize, dry: f32) -> f32 {
        let offset = if channel == 0 { self.movement.offset as f32 } else { 0.0 };
        (dry - offset) / self.movement.gain as f32
    }
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
    let notices = exposure_told(&movement).into_iter().collect();
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

/// What to tell where the two exposures differ much.
fn exposure_told(movement: &Movement) -> Option<Notice> {
    (movement.gain > ODD_GAIN || movement.gain < 1.0 / ODD_GAIN).then(|| {
        Notice::new(
            "photo.dry",
            format!("the dry photo's contrast is {:.2} times the photo's; it was matched", movement.gain),
        )
        .hint("take both with exposure and focus locked")
    })
}
