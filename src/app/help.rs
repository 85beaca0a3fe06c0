//! Help that belongs to no single line: keys, and the cautions.

use eframe::egui::{Grid, Panel, RichText, ScrollArea, Ui};

use super::command::Command;
use super::look;
use super::state::State;
use crate::report::record::CAUTIONS;

/// What the keys do.
const KEYS: [(&str, &str); 16] = [
    ("1 to 9, 0, R", "take a line of the sheet in hand; R is the record, line 11"),
    ("Tab", "into the line in hand; then the next field or button"),
    ("arrows", "move the mark in hand by 1 px; with Shift 10 px, with Ctrl 0.1 px"),
    ("Enter", "next mark; while placing, put the mark where the cross is"),
    ("Esc", "lay the mark down, stop placing"),
    ("Delete", "take the mark in hand away"),
    ("wheel", "zoom to the pointer"),
    ("drag", "move the photo; a mark, to move it"),
    ("F, P", "the whole photo; one pixel of the photo for one of the screen"),
    ("+, -", "magnify, reduce"),
    ("Ctrl+O", "open a sheet or a photo"),
    ("Ctrl+S, Ctrl+Shift+S", "save, save as"),
    ("Ctrl+Z, Ctrl+Shift+Z", "undo, redo"),
    ("Ctrl+W", "close the sheet"),
    ("Ctrl+Q", "quit"),
    ("F1", "this page"),
];

/// The page of keys and cautions, beside what is at work.
pub fn show(ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
    if !state.help {
        return;
    }
    Panel::left("help").default_size(380.0).show(ui, |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.horizontal(|ui| {
                ui.heading("Keys");
                if ui.button("Close this page").clicked() {
                    commands.push(Command::ShowHelp(false));
                }
            });
            Grid::new("keys").num_columns(2).striped(true).show(ui, |ui| {
                for (keys, does) in KEYS {
                    ui.label(RichText::new(keys).strong());
                    ui.add(eframe::egui::Label::new(does).wrap());
                    ui.end_row();
                }
            });
            ui.add_space(12.0);
            cautions(ui);
        });
    });
}

/// The cautions, the same as in every record.
pub fn cautions(ui: &mut Ui) {
    ui.label(RichText::new("Cautions").family(look::bold(ui.ctx())).strong());
    for caution in CAUTIONS {
        ui.horizontal_top(|ui| {
            ui.label("\u{2022}");
            ui.add(eframe::egui::Label::new(caution).wrap());
        });
    }
}
