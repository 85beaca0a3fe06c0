//! From [`Findings`](crate::measure::Findings) to what leaves the program: JSON, CSV, a table to read, pages, figures, a
//! workbook, schemas; and the scale card.
//!
//! Every exporter starts from the findings; none of them measures or opens a file: texts and bytes come out.

mod beside;
#[cfg(feature = "pdf")]
pub mod card;
pub mod csv;
pub mod figure;
pub mod html;
pub mod json;
#[cfg(feature = "pdf")]
pub mod pdf;
#[cfg(feature = "pdf")]
pub mod png;
pub mod record;
pub mod schema;
pub mod series;
pub mod svg;
pub mod table;
pub mod series_table;
pub mod summary;
pub mod xlsx;

pub use crate::card::Paper;
pub use html::html;
pub use record::Record;

/// Text of the user's as a terminal may show it: control characters other than the line feed are replaced.
pub fn printable(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\n' { '\u{fffd}' } else { c }).collect()
}
