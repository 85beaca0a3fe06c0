//! What the stream is looked for in: a photo, or what it shows beyond its dry photo.

use crate::photo::{Beyond, Photo, Plate};

/// A photo as the extraction reads it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum View<'a> {
    /// The photo as it is.
    Plain(&'a Photo),
    /// Less what stands on the bench without the jet.
    Beyond(&'a Beyond<'a>),
}

impl View<'_> {
    pub fn photo(&self) -> &Photo {
        match self {
            Self::Plain(photo) => photo,
            Self::Beyond(beyond) => beyond.photo,
        }
    }

    /// See [`Photo::channels`].
    pub fn channels(&self, factor: usize) -> Vec<Plate> {
        match self {
            Self::Plain(photo) => photo.channels(factor),
            Self::Beyond(beyond) => beyond.channels(factor),
        }
    }

    /// See [`Photo::channels_near`].
    #[inline]
    pub fn channels_near(&self, x: f64, y: f64) -> [f32; 3] {
        match self {
            Self::Plain(photo) => photo.channels_near(x, y),
            Self::Beyond(beyond) => beyond.channels_near(x, y),
        }
    }

    /// See [`Photo::channels_at`].
    #[inline]
    pub fn channels_at(&self, x: f64, y: f64) -> [f32; 3] {
        match self {
            Self::Plain(photo) => photo.channels_at(x, y),
            Self::Beyond(beyond) => beyond.channels_at(x, y),
        }
    }
}
