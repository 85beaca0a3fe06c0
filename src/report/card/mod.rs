//! The scale card: a sheet to print at true size and stand in the jet's plane.
//!
//! ```text
//!  +--------------------------------+
//!  | [#]   [#]   [#]   [#]   [#]    |   coded marks in a grid, every one different,
//!  | [#]   [#]   [#]   [#]   [#]    |   centres at whole centimetres of the card's own x and y
//!  | |0....|10....|20 mm ...  ruler |   a ruler along the lower edge
//!  | |<------ 100 mm ------>|  note |   the check line, and room for what it measured
//!  +--------------------------------+
//! ```
//! [`Card`] says where everything is in millimetres; [`pdf`] prints it. A mark is a black square of 6 x 6 cells with a
//! number of 16 bits in its middle 4 x 4: see [`code`].

pub mod code;
mod layout;
#[cfg(feature = "pdf")]
mod print;

pub use layout::{Card, CodedMark};
#[cfg(feature = "pdf")]
pub use print::pdf;
