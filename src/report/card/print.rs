//! The card as a PDF at true size.

use super::Card;
use crate::quantity::show_plain;
use crate::report::pdf::{NoPdf, POINTS_PER_MM, Pages};

/// The card as a PDF of one page.
///
/// # Errors
/// [`NoPdf`] where the file cannot be written.
pub fn pdf(card: &Card) -> Result<Vec<u8>, NoPdf> {
    let mut pages = Pages::new(card.paper, "Trajet scale card")?.without_foot();
    let pt = |p: [f64; 2]| p.map(|mm| mm * POINTS_PER_MM);
    let square =
        |[x, y]: [f64; 2], side: f64| vec![pt([x, y]), pt([x + side, y]), pt([x + side, y + side]), pt([x, y + side])];
    for mark in &card.marks {
        let corner = mark.centre_mm.map(|c| c - 0.5 * mark.side_mm);
        pages.area(square(corner, mark.side_mm), 0);
        for (cell, side) in mark.white_cells() {
            pages.area(square(cell, side), 255);
        }
    }
    ruler(&mut pages, card);
    check_line(&mut pages, card);
    pages.finish()
}

/// Strokes every millimetre, longer at 5 and 10, numbered every 10.
fn ruler(pages: &mut Pages, card: &Card) {
    let [left, edge] = card.ruler_mm;
    let pt = |p: [f64; 2]| p.map(|mm| mm * POINTS_PER_MM);
    pages.rule(pt([left, edge]), pt([left + card.ruler_length_mm, edge]), 0.4, 0);
    for i in 0..=card.ruler_length_mm as usize {
        let length = match i {
            _ if i % 10 == 0 => 8.0,
            _ if i % 5 == 0 => 6.0,
            _ => 4.0,
        };
        let x = left + i as f64;
        pages.rule(pt([x, edge]), pt([x, edge - length]), 0.4, 0);
        if i % 10 == 0 {
            let number = show_plain(i as f64, "");
            let [at, y] = pt([x, edge + 4.0]);
            let half = 0.5 * pages.regular.width(&number, 8.0);
            pages.text([at - half, y], &number, 8.0, false, 0);
        }
    }
    let [x, y] = pt([left, edge - 10.0]);
    pages.text([x, y], "millimetres", 8.0, false, 0);
}

fn check_line(pages: &mut Pages, card: &Card) {
    let [left, y] = card.check_mm;
    let pt = |p: [f64; 2]| p.map(|mm| mm * POINTS_PER_MM);
    pages.rule(pt([left, y]), pt([left + card.check_length_mm, y]), 0.6, 0);
    for x in [left, left + card.check_length_mm] {
        pages.rule(pt([x, y - 3.0]), pt([x, y + 3.0]), 0.4, 0);
    }
    let wanted = show_plain(card.check_length_mm, "mm");
    let lines = [
        format!("measure me: {wanted}"),
        "Measured: ................ mm with a steel rule. Print at 100 %, never \"fit to page\".".to_owned(),
        "State what you measured, not what should be: all distances on this card go with it.".to_owned(),
        "Stick it on a flat stiff board and stand it in the jet's plane, upright, all of it in the photo.".to_owned(),
    ];
    for (i, line) in lines.iter().enumerate() {
        let at = pt([left, y + 7.0 + 4.6 * i as f64]);
        pages.text(at, line, 8.5, i == 0, 0);
    }
}
