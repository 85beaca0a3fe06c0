//! The strip below the photo: what belongs to the line in hand, drawn along the jet.

mod across;
mod cv;
mod filling;
mod plot;
#[cfg(test)]
mod tests;
mod units;
mod view;

use eframe::egui::{RichText, Sense, Stroke, Ui, pos2, vec2};

use super::command::Command;
use super::line::Line;
use super::sheet_panel::ink;
use super::state::State;
use crate::quantity::show_plain;
use crate::report::figure::{Dash, Figure, Frame, Ink, Layer, Shape};
use crate::report::svg::{Place, svg};
use view::View;

/// What the strip remembers.
#[derive(Default)]
pub struct Strip {
    /// What was chosen while this line was in hand.
    chosen: Option<(Line, View)>,
}

impl Strip {
    /// Shows it.
    pub fn show(&mut self, ui: &mut Ui, state: &State, _commands: &mut Vec<Command>) {
        let line = state.line;
        let mut view = match self.chosen {
            Some((of, view)) if of == line => view,
            _ => View::of(line),
        };
        let drawn =
            state.live.measured.as_ref().map(|m| view.figure(state, m).map(|f| units::in_units(f, state.units)));
        ui.add_space(2.0);
        ui.horizontal_wrapped(|ui| {
            for other in View::ALL {
                if ui.selectable_label(view == other, RichText::new(other.name()).small()).clicked() {
                    view = other;
                    self.chosen = Some((line, other));
                }
            }
            if let Some(Ok(figure)) = &drawn {
                ui.add_space(12.0);
                copy(ui, figure);
            }
        });
        match drawn {
            None => {
                ui.label(
                    RichText::new("The stations are drawn here once the sheet is measured.").color(ink::quiet(ui)),
                );
            }
            Some(Err(why)) => {
                ui.label(RichText::new(why).color(ink::quiet(ui)));
            }
            Some(Ok(figure)) => {
                ui.horizontal_wrapped(|ui| legend(ui, &figure, state.is_current()));
                ui.scope(|ui| {
                    if !state.is_current() {
                        ui.multiply_opacity(0.55);
                    }
                    plot::plot(ui, &figure);
                });
            }
        }
    }
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
        Layer::Marks { shape: Shape::Disc, .. } => {
            painter.line_segment([pos2(middle.x, rect.top()), pos2(middle.x, rect.bottom())], stroke);
            painter.circle_filled(middle, 2.6, colour);
        }
        Layer::Marks { .. } => {
            painter.circle_stroke(middle, 3.2, stroke);
        }
        Layer::Bars { .. } | Layer::Label { .. } => {}
    }
}

fn copy(ui: &mut Ui, figure: &Figure) {
    let small = |text: &str| RichText::new(text).small();
    if ui.button(small("copy figure")).on_hover_text("as SVG text").clicked() {
        ui.copy_text(svg(figure, Place::File));
    }
    if ui.button(small("copy numbers")).clicked() {
        ui.copy_text(numbers(figure));
    }
}

/// Every mark as a row: across, upright, uncertainty.
fn numbers(figure: &Figure) -> String {
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
