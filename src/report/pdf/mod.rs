//! The record as PDF: the same blocks as the HTML, set on pages of A4, A3 or Letter.
//!
//! The text is in a font that is shipped with the tool, embedded and selectable; figures stay vectors; what is drawn comes in
//! reading order, and a tree beside it says what is a heading, a table, a figure and what that shows. No clock is read: the file of one record is the same whenever it is made.

mod page;
mod setting;
mod structure;
mod typeface;

pub(super) use page::{POINTS_PER_MM, Pages};
use structure::{Role, Structure};
pub use typeface::Typeface;
pub(super) use typeface::figure_fonts;

use super::record::{Document, Record};
use crate::card::Paper;

/// Why there is no PDF.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("the PDF could not be made: {0}")]
pub struct NoPdf(pub(super) String);

/// The record as a PDF file.
///
/// # Errors
/// [`NoPdf`] where a figure or the file cannot be written: a fault of ours, not of the record.
pub fn pdf(record: &Record, paper: Paper) -> Result<Vec<u8>, NoPdf> {
    set(&record.document(), paper)
}

/// A document as a PDF file.
///
/// # Errors
/// As [`pdf`].
pub fn set(document: &Document, paper: Paper) -> Result<Vec<u8>, NoPdf> {
    let mut pages = Pages::new(paper, &document.title)?.with_keywords(document.hashes.clone());
    setting::kind(&mut pages, document.kind);
    setting::title(&mut pages, &document.title);
    setting::blocks(&mut pages, &document.blocks);
    pages.finish()
}
