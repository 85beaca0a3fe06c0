//! The strip below the photo: what belongs to the line in hand, drawn along the jet.

mod across;
mod cv;
mod drawn;
mod filling;
mod plot;
#[cfg(test)]
mod tests;
mod units;
mod view;

pub use drawn::{copy, drawn};

use eframe::egui::{RichText, Ui};

use super::command::Command;
use super::line::Line;
use super::sheet_panel::ink;
use super::state::State;
use view::View;

/// What the strip remembers.
#[derive(Default)]
pub struct Strip {
    /// What was chosen while this line was in hand.
    chosen: Option<(Line, View)>,
}

impl Strip {
    /// Shows it.
    pub fn show(&mut self, ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
        let line = state.line;
        let mut view = match self.chosen {
            Some((of, view)) if of == line => view,
            _ => View::of(line),
        };
        let figure =
            state.live.measured.as_ref().map(|m| view.figure(state, m).map(|f| units::in_units(f, state.units)));
        ui.add_space(2.0);
        ui.horizontal_wrapped(|ui| {
            for other in View::ALL {
                if ui.selectable_label(view == other, RichText::new(other.name()).small()).clicked() {
                    view = other;
                    self.chosen = Some((line, other));
                }
            }
            if let Some(Ok(figure)) = &figure {
                ui.add_space(12.0);
                copy(ui, figure, commands);
            }
        });
        match figure {
            None => {
                ui.label(
                    RichText::new("The stations are drawn here once the sheet is measured.").color(ink::quiet(ui)),
                );
            }
            Some(Err(why)) => {
                ui.label(RichText::new(why).color(ink::quiet(ui)));
            }
            Some(Ok(figure)) => drawn(ui, &figure, state.is_current()),
        }
    }
}
