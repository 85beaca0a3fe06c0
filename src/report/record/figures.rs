//! The photo with what was drawn on it, close-ups, and the curves.

use super::{Block, Record, figure_or_why};
use crate::quantity::Kind;
use crate::report::figure;

pub(super) fn photo(record: &Record) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Photo".into())];
    let findings = record.findings;
    let (Some(photo), Some(sheet)) = (record.photo, record.sheet) else {
        blocks.push(Block::Paragraph("No photo was at hand when this record was made.".into()));
        return blocks;
    };
    blocks.push(figure_or_why("the photo", figure::photo(photo, sheet, findings)));
    let scale = findings.fit.get("px_per_mm").map_or(1.0, |f| f.value);
    let diameter_px = 1000.0 * sheet.diameter.value.si() * scale;
    let close_up = |around: &[_], least, name: &str, what: &str| {
        figure_or_why(what, figure::close_up(photo, sheet, findings, around, least, name, what))
    };
    blocks.push(close_up(&[sheet.orifice.at], 8.0 * diameter_px, "orifice", "the orifice"));
    for (i, line) in sheet.scales.iter().enumerate() {
        let marks: Vec<_> = line.marks.iter().map(|(m, _)| m.at).collect();
        let what = if sheet.scales.len() == 1 { "the scale".to_owned() } else { format!("scale {}", i + 1) };
        blocks.push(close_up(&marks, 100.0, &format!("scale-{}", i + 1), &what));
    }
    if let Some(card) = &findings.card {
        let marks: Vec<_> = card.marks.iter().map(|m| m.px.into()).collect();
        blocks.push(close_up(&marks, 100.0, "card", "the scale card"));
    }
    blocks
}

pub(super) fn curves(record: &Record) -> Vec<Block> {
    let findings = record.findings;
    vec![
        Block::Heading("Along the jet".into()),
        figure_or_why("the residuals", figure::residuals(findings)),
        figure_or_why("the velocity from single stations", figure::velocity(findings)),
        figure_or_why("the stream's width", figure::width(findings)),
    ]
}
