//! The marks of a scale card that the sheet does not give: found in the photo.

use super::sight::Sight;
use super::{CardMarkRow, CardRow, Refused};
use crate::calibration::Mark;
use crate::calibration::card::{self, FoundCard, LEAST_MARKS};
use crate::notice::Notice;
use crate::photo::Photo;
use crate::sheet::{Checked, Placed};
use std::borrow::Cow;

/// The card that the sheet names without its marks, found in the photo; `None` where there is nothing to find.
///
/// # Errors
/// [`Refused`] where the photo does not show it.
pub(super) fn found(sheet: &Checked, photo: &Photo, notices: &mut Vec<Notice>) -> Result<Option<FoundCard>, Refused> {
    let Some(stated) = sheet.card.as_ref().filter(|c| c.marks.is_empty()) else { return Ok(None) };
    let name = stated.paper.name();
    let Some(found) = card::find(photo, Some(stated.paper)) else {
        let hint = format!(
            "is it the {name} card? {LEAST_MARKS} of its marks have to be seen, each cell of a mark 3 px or more wide; \
             or mark a ruler under [scale]"
        );
        return Err(Refused::because("card.paper", format!("no {name} scale card is found in the photo"), hint));
    };
    let says = format!("{} of the card's marks are found in the photo", found.marks.len());
    notices.push(Notice::new("card.marks", says).hint("`trajet new` and the window write down where, to be looked at"));
    Ok(Some(found))
}

/// The sheet with the marks that were found.
pub(super) fn placed<'a>(sheet: &'a Checked, found: Option<&FoundCard>) -> Cow<'a, Checked> {
    let (Some(found), Some(_)) = (found, &sheet.card) else { return Cow::Borrowed(sheet) };
    let mut sheet = sheet.clone();
    if let Some(card) = sheet.card.as_mut().filter(|c| c.marks.is_empty()) {
        card.marks = found.marks.iter().map(|m| (m.number, Placed { at: m.at, u_px: found.u_px })).collect();
    }
    Cow::Owned(sheet)
}

/// The card for the findings: its marks, and how far each lies from where the adjusted camera puts it.
pub(super) fn row(sheet: &Checked, sight: &Sight) -> Option<CardRow> {
    let placed = placed(sheet, sight.card.as_ref());
    let card = placed.card.as_ref()?;
    let residuals = sight.calibration.mark_residuals();
    let row = |(mark, (number, at)): (usize, &(usize, Placed))| {
        let off = residuals.iter().find(|r| r.mark == Mark::Card { mark });
        CardMarkRow {
            number: *number,
            px: at.at.into(),
            u_px: at.u_px,
            off_px: off.map_or([0.0; 2], |r| r.residual_px),
        }
    };
    let marks = card.marks.iter().enumerate().map(row).collect();
    Some(CardRow { paper: card.paper.name().to_owned(), found: sight.card.is_some(), marks })
}
