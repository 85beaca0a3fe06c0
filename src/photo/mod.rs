//! Bytes -> pixels as displayed, with what the metadata says and how noisy they are.
//!
//! [`read`] is the one way in: it tells the format from the bytes, refuses what is no photo with a
//! reason and a way out ([`NoPhoto`]), turns the pixels as the orientation tag asks, and keeps them
//! in the depth of the file. Grey values are made when they are asked for ([`Mix`]).

#[cfg(feature = "avif")]
mod avif;
mod calm;
mod decode;
mod exif;
mod format;
mod grey;
#[cfg(feature = "heic")]
mod heic;
mod jpeg;
mod no_photo;
mod noise;
mod orient;
mod register;
mod stack;
mod dry;

pub use decode::{Limits, read};
pub use dry::{Beyond, Difference, difference};
pub use format::EXTENSIONS;
pub use no_photo::NoPhoto;
pub use noise::Noise;
pub use register::{Movement, NoMatch, register};
pub use stack::{NoStack, Stack, stack};

mod channels;

/// A photo as displayed (EXIF orientation applied).
#[derive(Clone, Debug)]
pub struct Photo {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// The samples.
    pub pixels: Pixels,
    /// What the file says of how it was taken.
    pub metadata: Metadata,
}

/// Samples of a photo, row by row from the top left; colour samples interleaved R, G, B.
#[derive(Clone, Debug)]
pub enum Pixels {
    /// 8-bit grey.
    Grey8(Vec<u8>),
    /// 8-bit colour.
    Rgb8(Vec<u8>),
    /// 16-bit grey.
    Grey16(Vec<u16>),
    /// 16-bit colour.
    Rgb16(Vec<u16>),
}

/// What a photo's file says of how it was taken; `None` where it says nothing or nonsense.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Metadata {
    /// The orientation tag, 1 to 8, as stored (already applied to the pixels).
    pub orientation: Option<u8>,
    /// When it was taken, as stored: `2024-02-06 14:03:22`.
    pub taken: Option<String>,
    /// Make and model of the camera.
    pub camera: Option<String>,
    /// Focal length in mm.
    pub focal_length_mm: Option<f64>,
    /// Focal length in mm as it would be on a 36 mm x 24 mm frame.
    pub focal_length_35mm: Option<f64>,
    /// Exposure time in s.
    pub exposure_s: Option<f64>,
    /// Subject distance in m.
    pub subject_distance_m: Option<f64>,
    /// Latitude and longitude in degrees, altitude in m, where the photo was taken.
    pub latitude_deg: Option<f64>,
    /// Altitude in m.
    pub altitude_m: Option<f64>,
}

/// Weights that make one grey value of red, green and blue; they sum to 1 in absolute value or not
/// at all: any direction of colour may be asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mix(pub [f32; 3]);

impl Mix {
    /// Luma of ITU-R BT.709.
    pub const LUMA: Self = Self([0.2126, 0.7152, 0.0722]);
}

/// One grey picture, row by row, 0 black to 1 white for [`Mix::LUMA`].
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Values.
    pub values: Vec<f32>,
}
