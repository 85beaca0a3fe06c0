//! The sheet: numbered lines from the photo to the record, each with value, uncertainty, origin and state.

use eframe::egui::Ui;

use super::command::Command;
use super::line::Line;
use super::state::State;

/// What the panel remembers.
#[derive(Default)]
pub struct SheetPanel {}

impl SheetPanel {
    /// Shows it.
    pub fn show(&mut self, ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
        for line in Line::ALL {
            let text = format!("{} {}", line.number(), line.name());
            if ui.selectable_label(state.line == line, text).clicked() {
                commands.push(Command::TakeLine(line));
            }
        }
    }
}
