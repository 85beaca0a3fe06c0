//! [`NoPhoto`]: why the bytes of a file did not become a photo.

use super::format::Format;
use thiserror::Error;

/// Why a file did not become a photo, with the value seen and what to do.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum NoPhoto {
    /// No bytes at all.
    #[error("the file is empty (0 bytes); copy the photo again from the camera or phone")]
    Empty,
    /// The file ends before the picture does.
    #[error("the {format} file is cut short: {seen}; copy the photo again from its source")]
    Truncated {
        /// The format that the first bytes tell.
        format: Format,
        /// How far it goes.
        seen: String,
    },
    /// The file is of a kind that is known but not read here.
    #[error("this is {what}, which is not read; {way_out}")]
    Foreign {
        /// The kind, with its article: `an AVIF picture`.
        what: &'static str,
        /// How to make a photo of it.
        way_out: &'static str,
    },
    /// Nothing known begins like this.
    #[error(
        "this is no known picture format (it begins with the bytes {begins}); \
         give a JPEG, PNG, TIFF, WebP, BMP, HEIC or AVIF file"
    )]
    Unknown {
        /// The first bytes in hexadecimal.
        begins: String,
    },
    /// More pixels than the limit.
    #[error(
        "the picture says it is {width} x {height} pixels ({megapixels:.0} Mpx), more than the limit of {limit_megapixels:.0} Mpx; \
         crop it to the jet and its scale, or save it smaller",
        megapixels = mega(*width as u64 * *height as u64),
        limit_megapixels = mega(*limit)
    )]
    TooLarge {
        /// Width that the header states, in pixels.
        width: usize,
        /// Height that the header states, in pixels.
        height: usize,
        /// The limit in pixels.
        limit: u64,
    },
    /// Fewer pixels than anything can be measured in.
    #[error(
        "the picture is {width} x {height} pixels, too small to measure in (at least 16 x 16); \
         give the full photo, not its thumbnail"
    )]
    TooSmall {
        /// Width in pixels.
        width: usize,
        /// Height in pixels.
        height: usize,
    },
    /// The header promises more than the file can hold.
    #[error(
        "the {format} header says {width} x {height} pixels, but a file of {bytes} bytes cannot hold them; \
         the file is damaged or cut short: copy the photo again from its source"
    )]
    Hollow {
        /// The format that the first bytes tell.
        format: Format,
        /// Width that the header states, in pixels.
        width: usize,
        /// Height that the header states, in pixels.
        height: usize,
        /// Length of the file in bytes.
        bytes: usize,
    },
    /// A readable format in a variant that is not.
    #[error(
        "this {format} file is of a variant that is not read ({reason}); save it again as an ordinary JPEG, PNG or TIFF"
    )]
    Variant {
        /// The format that the first bytes tell.
        format: Format,
        /// What is unusual about it.
        reason: String,
    },
    /// The bytes contradict their format.
    #[error("the {format} file is damaged ({reason}); copy the photo again from its source")]
    Damaged {
        /// The format that the first bytes tell.
        format: Format,
        /// What the decoder stumbled on.
        reason: String,
    },
    /// The machine has no room for the pixels.
    #[error("the picture needs {bytes} bytes of memory, which this machine does not give; crop it or save it smaller")]
    Memory {
        /// Bytes that the pixels need.
        bytes: u64,
    },
}

/// Pixels as megapixels.
fn mega(pixels: u64) -> f64 {
    pixels as f64 / 1e6
}
