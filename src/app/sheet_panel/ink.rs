//! Colours and shapes of the sheet. Colours only help; a word or a shape always says the same.

use super::summary::Standing;
use crate::report::figure::Ink;
use eframe::egui::{Color32, Painter, Pos2, Shape, Stroke, Ui, vec2};

/// An ink of the figures, lightened where the paper is dark.
pub fn ink(ui: &Ui, ink: Ink) -> Color32 {
    let colour = Color32::from_hex(ink.hex()).unwrap_or(Color32::GRAY);
    if ui.visuals().dark_mode { colour.lerp_to_gamma(Color32::WHITE, 0.35) } else { colour }
}

/// What is in hand.
pub fn accent(ui: &Ui) -> Color32 {
    ink(ui, Ink::Blue)
}

/// What is wrong.
pub fn fault(ui: &Ui) -> Color32 {
    // darker on paper than in figures: 5.1 times the contrast, since it is text
    if ui.visuals().dark_mode { ink(ui, Ink::Vermilion) } else { Color32::from_rgb(176, 74, 0) }
}

/// What is to be looked at.
pub fn doubt(ui: &Ui) -> Color32 {
    if ui.visuals().dark_mode { ink(ui, Ink::Orange) } else { Color32::from_rgb(146, 96, 0) }
}

/// What is quieter than the rest, but is to be read.
pub fn quiet(ui: &Ui) -> Color32 {
    ui.visuals().weak_text_color()
}

/// Colour of a state.
pub fn of_standing(ui: &Ui, standing: Standing) -> Color32 {
    match standing {
        Standing::Missing => fault(ui),
        Standing::Doubtful => doubt(ui),
        Standing::Good => quiet(ui),
    }
}

/// Shape of a state: a ring for what is missing, a triangle for what is doubtful, a disc for what is good.
pub fn draw_standing(painter: &Painter, at: Pos2, standing: Standing, colour: Color32) {
    let r = 4.0;
    match standing {
        Standing::Missing => {
            painter.circle_stroke(at, r, Stroke::new(1.5, colour));
        }
        Standing::Doubtful => {
            let corners = [vec2(0.0, -r), vec2(r, r * 0.8), vec2(-r, r * 0.8)].map(|d| at + d);
            painter.add(Shape::convex_polygon(corners.to_vec(), colour, Stroke::NONE));
        }
        Standing::Good => {
            painter.circle_filled(at, r - 0.5, colour);
        }
    }
}
