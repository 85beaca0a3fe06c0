//! Line 10: published values beside the result.

use crate::app::sheet_panel::form::Form;
use crate::app::sheet_panel::tables;
use eframe::egui::Ui;

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    let Some(findings) = form.findings() else {
        form.remark(ui, "They follow from the lines above.");
        return;
    };
    form.results(ui, |form, ui| {
        tables::show_table(ui, "published values", &tables::published(findings));
        form.remark(ui, "The last column is the result less the published value, in their combined standard uncertainty u: beyond 2 u they differ by more than both explain.");
        for row in &findings.published {
            let mut says = format!("{}: {}, {}, {} ({}), {}", row.by, tables::symbol(&row.what), row.source, row.place, row.basis, row.range);
            if let Some(why) = &row.why_not {
                says = format!("{says}; does not apply: {why}");
            }
            form.remark(ui, &says);
        }
    });
}
