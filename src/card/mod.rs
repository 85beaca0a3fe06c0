//! The scale card: what is printed where on a sheet of paper that stands in the jet's plane.
//!
//! ```text
//!  +--------------------------------+
//!  | | [#]   [#]   [#]   [#]   [#]  |   coded marks in a grid, every one different,
//!  | B [#]   [#]   [#]   [#]   [#]  |   a check line B along the left edge,
//!  | | |0....|10....|20 mm ...ruler |   a ruler along the lower edge,
//!  |   |<------ A: 100 mm ---->|    |   the check line A, and room for what both measured
//!  +--------------------------------+
//! ```
//! A mark is a black square of 6 x 6 cells with a word of 16 bits in its middle 4 x 4: see [`code`]. No two marks, of
//! whatever paper, bear the same word: a word tells the paper, the mark's number and its turn. White of four cells
//! lies between marks, so that each stands alone also in a blurred photo.
//!
//! The card's own coordinates are millimetres from its top left corner, x to the right, y downwards, as one looks at it.

pub mod code;
mod layout;
mod paper;

pub use layout::{Card, CodedMark};
pub use paper::Paper;
