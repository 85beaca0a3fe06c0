//! The scale card as a PDF at true size.

use super::pdf::{NoPdf, POINTS_PER_MM, Pages};
use crate::card::Card;
use crate::quantity::show_plain;

/// Grey of the small numbers between the marks: to be read from near, lost in a photo.
const FAINT: u8 = 120;

/// The card as a PDF of one page.
///
/// # Errors
/// [`NoPdf`] where the file cannot be written.
pub fn pdf(card: &Card) -> Result<Vec<u8>, NoPdf> {
    let mut pages = Pages::new(card.paper, "Trajet scale card")?.without_foot();
    let square =
        |[x, y]: [f64; 2], side: f64| vec![pt([x, y]), pt([x + side, y]), pt([x + side, y + side]), pt([x, y + side])];
    for mark in &card.marks {
        let corner = mark.centre_mm.map(|c| c - 0.5 * mark.side_mm);
        pages.area(square(corner, mark.side_mm), 0);
        for (cell, side) in mark.white_cells() {
            pages.area(square(cell, side), 255);
        }
        let [x, y] = pt([mark.centre_mm[0] + 0.5 * card.pitch_mm, mark.centre_mm[1]]);
        let number = mark.number.to_string();
        let half = 0.5 * pages.regular.width(&number, 5.5);
        pages.text([x - half, y], &number, 5.5, false, FAINT);
    }
    ruler(&mut pages, card);
    check_lines(&mut pages, card);
    pages.finish()
}

fn pt(p: [f64; 2]) -> [f64; 2] {
    p.map(|mm| mm * POINTS_PER_MM)
}

/// Strokes every millimetre, longer at 5 and 10, numbered every 10.
fn ruler(pages: &mut Pages, card: &Card) {
    let [left, edge] = card.ruler_mm;
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

/// Line A lies level, line B stands upright: printers seldom stretch both ways alike.
fn check_lines(pages: &mut Pages, card: &Card) {
    let ([left, y], [x, top], length) = (card.level_mm, card.upright_mm, card.check_length_mm);
    pages.rule(pt([left, y]), pt([left + length, y]), 0.6, 0);
    for end in [left, left + length] {
        pages.rule(pt([end, y - 3.0]), pt([end, y + 3.0]), 0.4, 0);
    }
    pages.rule(pt([x, top]), pt([x, top + length]), 0.6, 0);
    for end in [top, top + length] {
        pages.rule(pt([x - 3.0, end]), pt([x + 3.0, end]), 0.4, 0);
    }
    let wanted = show_plain(length, "mm");
    pages.text(pt([left + length + 2.0, y + 1.0]), "A", 8.5, true, 0);
    pages.text(pt([left + length + 6.0, y + 1.0]), &format!("measure me: {wanted}"), 8.5, false, 0);
    pages.text(pt([x - 1.0, top - 2.0]), "B", 8.5, true, 0);
    foot(pages, card, &wanted);
}

/// What the card is, room for what its lines measured, and what to do with it.
fn foot(pages: &mut Pages, card: &Card, wanted: &str) {
    let [left, line] = card.level_mm;
    pages.text(pt([left, line + 9.0]), &format!("Trajet scale card, {}", card.paper.name()), 11.0, true, 0);
    let y = line + 15.0;
    let asked = format!("Measured with a steel rule, A and B (left edge, {wanted} as well):");
    pages.text(pt([left, y]), &asked, 8.5, false, 0);
    let mut x = left + pages.regular.width(&asked, 8.5) / POINTS_PER_MM + 4.0;
    for name in ["A", "B"] {
        pages.text(pt([x, y]), name, 8.5, true, 0);
        pages.rule(pt([x + 3.0, y + 0.8]), pt([x + 21.0, y + 0.8]), 0.4, 0);
        pages.text(pt([x + 22.0, y]), "mm", 8.5, false, 0);
        x += 34.0;
    }
    let steps = [
        "Print at 100 %, never \"fit to page\". State what A and B measured (check_line, upright_line): all distances go with it.",
        "Stick it on a flat stiff board and stand it in the jet's plane, upright, as much of it as you can in the photo.",
    ];
    for (i, step) in steps.iter().enumerate() {
        pages.text(pt([left, y + 5.2 + 4.6 * i as f64]), step, 8.5, false, 0);
    }
}
