//! From [`Findings`](crate::measure::Findings) to what leaves the tool: pages, figures, workbook, schema, scale card.
//!
//! Nothing here measures or opens a file: texts and bytes come out.

pub mod figure;
pub mod html;
pub mod record;
pub mod svg;

pub use html::html;
pub use record::{Paper, Record};
