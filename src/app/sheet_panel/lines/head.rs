//! Line 7: the head, the tank's area, the site's gravity.

use crate::app::marks::MarkKind;
use crate::app::sheet_panel::field::Field;
use crate::app::sheet_panel::form::Form;
use crate::app::sheet_panel::tables;
use eframe::egui::Ui;

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    form.field(ui, "reading", &Field::new("head.reading[1]", "head reading", "412 mm ± 0.5 mm"));
    if form.count("head.reading") > 0 {
        form.field(
            ui,
            "at the end",
            &Field::new("head.reading[2]", "head reading at the end of the run", "the same; as 410 mm"),
        );
    }
    form.row(ui, "or surface", |form, ui| {
        form.marks(ui, MarkKind::Surface, "mark the water surface");
        if form.state.entry("head.surface").is_some() {
            form.remove(ui, "head.surface", "the mark of the water surface");
        }
        form.tell(ui, "head.surface");
    });
    form.field(ui, "area of the tank", &Field::new("head.approach_area", "area of the tank", "large; as 0.09 m^2"));
    ui.separator();
    form.field(ui, "latitude", &Field::new("site.latitude", "latitude of the site", "52.1 deg"));
    form.field(ui, "altitude", &Field::new("site.altitude", "altitude of the site", "40 m"));
    form.field(
        ui,
        "or gravity",
        &Field { width: 236.0, ..Field::new("site.gravity", "gravity of the site", "9.8120 m/s^2") },
    );
    form.tell(ui, "site");
    let Some(findings) = form.findings() else { return };
    form.results(ui, |form, ui| {
        tables::show_table(ui, "the head", &tables::results(findings, &["head", "ideal_velocity"], form.state.units));
    });
}
