//! A figure with its legend, and the ways to copy it.

use eframe::egui::{RichText, Sense, Stroke, Ui, pos2, vec2};

use super::plot;
use crate::app::command::{Command, FileCommand};
use crate::app::sheet_panel::ink;
use crate::quantity::show_plain;
use crate::report::figure::{Dash, Figure, Frame, Ink, Layer, Shape};
use crate::report::svg::{Place, svg};

/// Draws a figure with its legend in the room that is left; dimmed, with a word, where it is not of the sheet as it is
/// now.
pub fn drawn(ui: &mut Ui, figure: &Figure, current: bool) {
    ui.horizontal_wrapped(|ui| legend(ui, figure, current));
    ui.scope(|ui| {
        if !current {
            ui.multiply_opacity(0.55);
        }
        plot::plot(ui, figure);
    });
}

/// What the upright axis counts, and every layer by its shape.
fn legend(ui: &mut Ui, figure: &Figure, current: bool) {
    let Frame::Axes { x, y, .. } = &figure.frame else { return };
    ui.label(RichText::new(&y.label).small().strong());
    ui.label(RichText::new(format!("against {}", x.label)).small().strong());
    if !current {
        ui.label(RichText::new("of the sheet before").small().italics().color(ink::doubt(ui)));
    }
    for layer in &figure.layers {
        let Some(name) = layer.name() else { continue };
        sample(ui, layer);
        ui.label(RichText::new(name).small().color(ink::quiet(ui)));
    }
}

/// A piece of a layer, as it is drawn.
fn sample(ui: &mut Ui, layer: &Layer) {
    let (rect, _) = ui.allocate_exact_size(vec2(20.0, 12.0), Sense::hover());
    let painter = ui.painter_at(rect.expand(1.0));
    let colour = match plot::ink_of(layer) {
        Ink::Black => ui.visuals().text_color(),
        other => ink::ink(ui, other),
    };
    let (middle, stroke) = (rect.center(), Stroke::new(1.4, colour));
    let across = [pos2(rect.left(), middle.y), pos2(rect.right(), middle.y)];
    match layer {
        Layer::Line { dash: Dash::Solid, .. } => {
            painter.line_segment(across, stroke);
        }
        Layer::Line { dash, .. } => {
            let (on, off) = if *dash == Dash::Long { (6.0, 4.0) } else { (1.5, 3.0) };
            painter.extend(eframe::egui::Shape::dashed_line(&across, stroke, on, off));
        }
        Layer::Band { .. } => {
            painter.rect_filled(rect.shrink2(vec2(0.0, 2.0)), 0.0, colour.gamma_multiply(0.3));
        }
        Layer::Marks { shape: Shape::Disc | Shape::Bead, .. } => {
            painter.line_segment([pos2(middle.x, rect.top()), pos2(middle.x, rect.bottom())], stroke);
            painter.circle_filled(middle, 2.6, colour);
        }
        Layer::Marks { .. } => {
            painter.circle_stroke(middle, 3.2, stroke);
        }
        Layer::Bars { .. } | Layer::Label { .. } => {}
    }
}

/// Buttons that copy the figure: as a picture, as text that draws it, and its numbers.
pub fn copy(ui: &mut Ui, figure: &Figure, commands: &mut Vec<Command>) {
    let small = |text: &str| RichText::new(text).small();
    ui.label(small("copy").color(ink::quiet(ui)));
    if ui.button(small("picture")).accessible_name("copy the figure as picture").clicked() {
        commands.push(Command::File(FileCommand::CopyPicture(Box::new(figure.clone()))));
    }
    let says = "text that draws the figure at any size";
    if ui.button(small("SVG")).accessible_name("copy the figure as SVG").on_hover_text(says).clicked() {
        ui.copy_text(svg(figure, Place::File));
    }
    let says = "tab-separated, for a spreadsheet";
    if ui.button(small("numbers")).accessible_name("copy the figure's numbers").on_hover_text(says).clicked() {
        ui.copy_text(numbers(figure));
    }
}

/// Every mark as a row: across, upright, uncertainty.
pub(super) fn numbers(figure: &Figure) -> String {
    let Frame::Axes { x, y, .. } = &figure.frame else { return String::new() };
    let mut text = format!("{}\t{}\tu\tof\n", x.label, y.label);
    for layer in &figure.layers {
        let Layer::Marks { name, points, .. } = layer else { continue };
        for ([at, value], u) in points {
            let u = u.map_or_else(String::new, |u| show_plain(u, ""));
            let name = name.as_deref().unwrap_or("");
            text += &format!("{}\t{}\t{u}\t{name}\n", show_plain(*at, ""), show_plain(*value, ""));
        }
    }
    text
}
