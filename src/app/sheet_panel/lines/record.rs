//! Line 11: record, workbook, tables.

use crate::app::command::{Command, Export, FileCommand};
use crate::app::sheet_panel::form::Form;
use eframe::egui::Ui;

const EXPORTS: [(Export, &str, &str); 5] = [
    (Export::RecordPdf, "Record as PDF...", "to print and sign: photo, results, budgets, sources"),
    (Export::RecordHtml, "Record as HTML...", "the same as one page that needs nothing beside it"),
    (Export::Workbook, "Workbook...", "all tables with their units"),
    (Export::Stations, "Stations as CSV...", "every station with its uncertainty"),
    (Export::Json, "Findings as JSON...", "everything, for other programs"),
];

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    let whole = form.findings().is_some() && form.state.is_current();
    if !whole {
        form.remark(ui, "They are written from the findings of the sheet as it is now: there are none yet.");
    }
    ui.add_enabled_ui(whole, |ui| {
        ui.horizontal_wrapped(|ui| {
            if ui.button("Copy the photo").clicked() {
                form.ask(Command::File(FileCommand::CopyPhoto));
            }
            form.remark(ui, "as a picture, with its marks, stations and trajectory");
        });
    });
    for (export, name, says) in EXPORTS {
        ui.add_enabled_ui(whole, |ui| {
            ui.horizontal_wrapped(|ui| {
                if ui.button(name).clicked() {
                    form.ask(Command::File(FileCommand::AskExport(export)));
                }
                form.remark(ui, says);
            });
        });
    }
}
