//! The rulers of a sheet, read in the photo where the sheet asks for it.

use super::findings::RulerRow;
use crate::calibration::ruler::{Graduation, Kind, NoGraduation, graduation, pitch_text};
use crate::notice::{Notice, Warned};
use crate::photo::Photo;
use crate::point::PixelPoint;
use crate::quantity::Kind as _;
use crate::sheet::{Checked, Pitch, ScaleLine};

/// What a ruler of the sheet was asked, and what the photo answered.
#[derive(Clone, Debug)]
pub struct RulerRead {
    marks: Vec<(PixelPoint, f64)>,
    pitch_mm: Option<f64>,
    /// The graduation, or why there is none.
    pub found: Result<Warned<Graduation>, NoGraduation>,
}

/// Reads the rulers that ask for it, in the sheet's order; those that were read `before` with the same marks are kept.
pub(super) fn read(photo: &Photo, sheet: &Checked, before: &[Option<RulerRead>]) -> Vec<Option<RulerRead>> {
    let one = |(i, scale): (usize, &ScaleLine)| {
        let pitch_mm = match scale.graduation? {
            Pitch::Auto => None,
            Pitch::Stated(pitch) => Some(1e3 * pitch.value.si()),
        };
        let marks: Vec<_> = scale.marks.iter().map(|(m, at)| (m.at, 1e3 * at.value.si())).collect();
        let same = |b: &&RulerRead| b.marks == marks && b.pitch_mm == pitch_mm;
        if let Some(known) = before.get(i).and_then(Option::as_ref).filter(same) {
            return Some(known.clone());
        }
        let u_px = scale.marks.iter().map(|(m, _)| m.u_px).fold(0.0, f64::max);
        let found = graduation(photo, &marks, u_px, pitch_mm);
        Some(RulerRead { marks, pitch_mm, found })
    };
    sheet.scales.iter().enumerate().map(one).collect()
}

/// The graduations for the calibration.
pub(super) fn graduations(rulers: &[Option<RulerRead>]) -> Vec<Option<Graduation>> {
    let found = |r: &Option<RulerRead>| Some(r.as_ref()?.found.as_ref().ok()?.value.clone());
    rulers.iter().map(found).collect()
}

/// What was found, where the sheet left it open; and why nothing was.
pub(super) fn tell(rulers: &[Option<RulerRead>], notices: &mut Vec<Notice>) {
    for (i, ruler) in rulers.iter().enumerate() {
        let Some(ruler) = ruler else { continue };
        let about = if rulers.len() > 1 { format!("scale[{}].graduation", i + 1) } else { "scale.graduation".into() };
        match &ruler.found {
            Ok(found) => {
                let pitch = pitch_text(found.value.pitch_mm);
                if ruler.pitch_mm.is_none() {
                    let what = match found.value.kind {
                        Kind::Lines => format!("a graduation of {pitch}"),
                        Kind::Blocks => format!("blocks of {pitch}"),
                    };
                    let says = format!("{what} is read: {:.1} divisions between the end marks", found.value.divisions);
                    let hint = format!("state it if that is right: graduation = \"{pitch}\"");
                    notices.push(Notice::new(&about, says).hint(hint));
                }
                notices.extend(found.notices.iter().cloned().map(|n| Notice { about: about.clone(), ..n }));
            }
            Err(no) => {
                let says = format!("{}; the marks count as clicked", no.reason);
                notices.push(Notice::new(&about, says).hint(no.hint));
            }
        }
    }
}

/// The rulers that were read, for the findings.
pub(super) fn rows(rulers: &[Option<RulerRead>]) -> Vec<RulerRow> {
    let row = |(i, ruler): (usize, &Option<RulerRead>)| {
        let found = &ruler.as_ref()?.found.as_ref().ok()?.value;
        Some(RulerRow {
            scale: i + 1,
            kind: if found.kind == Kind::Blocks { "blocks" } else { "lines" }.to_owned(),
            graduation: pitch_text(found.pitch_mm),
            graduation_mm: found.pitch_mm,
            divisions: found.divisions,
            px_per_mm: found.mean_px_per_mm(),
            change: found.change(),
            u_px: found.u_px,
            off_px: found.off_px.clone(),
        })
    };
    rulers.iter().enumerate().filter_map(row).collect()
}
