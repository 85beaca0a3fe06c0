//! Line 4: the orifice's centre, diameter and edge.

use crate::app::marks::MarkKind;
use crate::app::sheet_panel::field::Field;
use crate::app::sheet_panel::form::Form;
use eframe::egui::Ui;

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    form.row(ui, "centre", |form, ui| {
        form.marks(ui, MarkKind::Orifice, "mark it");
        form.tell(ui, "orifice.centre");
    });
    form.field(ui, "diameter", &Field::new("orifice.diameter", "orifice diameter", "12.00 mm ± 0.02 mm"));
    let edges = ["sharp", "rounded", "short-tube", "re-entrant", "nozzle"];
    form.choice(ui, "edge", "orifice.edge", &edges, "none chosen: sharp assumed");
    let clearance = Field::new("orifice.clearance", "distance to the nearest wall", "wide; as 60 mm");
    form.field(ui, "nearest wall", &clearance);
}
