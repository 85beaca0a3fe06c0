//! A changed [`Sheet`] back into the user's text.
//!
//! The text is edited, not printed anew: what the sheet stated before and states now are both
//! turned into a tree of values ([`wanted`]), and only where the two differ are bytes of the
//! text replaced. Whatever did not change keeps its spelling, spacing, order and comments.

mod wanted;
mod edits;
mod fresh;

use super::file::{self, tree};
use super::{ScaleCard, Sheet};
use edits::Edits;
pub(super) use fresh::quoted;
use wanted::{Wanted, wanted};

/// The section of a scale card as text.
pub(super) fn card_section(card: &ScaleCard) -> String {
    fresh::section("card", &Wanted::Table(wanted::card(card)), false)
}

/// Puts `sheet` into the text `original` that it was once read from.
///
/// The result reads back as `sheet`, and is `original` byte for byte where nothing changed.
/// Values that were faulty and are still not stated stay as they are. From an empty `original`,
/// one that is no TOML, or one whose layout cannot take the change (say, a section where a
/// list should grow), a complete fresh sheet is written: that one has no comments.
pub fn write(original: &str, sheet: &Sheet) -> String {
    edited(original, sheet).unwrap_or_else(|| fresh::text(&wanted(sheet)))
}

fn edited(original: &str, sheet: &Sheet) -> Option<String> {
    if original.trim().is_empty() {
        return None;
    }
    let root = tree::parse(original).ok()?;
    let before = file::read(original).sheet;
    if before == *sheet {
        return Some(original.to_owned());
    }
    let mut edits = Edits::new(original);
    edits.table(&root, "", &wanted(&before), &wanted(sheet))?;
    let text = edits.apply();
    (file::read(&text).sheet == *sheet).then_some(text)
}
