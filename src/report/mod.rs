//! From [`Findings`](crate::measure::Findings) to what leaves the tool: pages, figures, workbook, schema, scale card.
//!
//! Nothing here measures or opens a file: texts and bytes come out.

pub mod card;
pub mod figure;
pub mod html;
#[cfg(feature = "pdf")]
pub mod pdf;
pub mod record;
pub mod schema;
pub mod svg;
pub mod xlsx;

pub use html::html;
pub use record::{Paper, Record};
