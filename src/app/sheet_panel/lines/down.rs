//! Line 2: a plumb line, a level line, or the photo's own vertical.

use crate::app::command::Command;
use crate::app::marks::MarkKind;
use crate::app::sheet_panel::form::Form;
use eframe::egui::Ui;

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    let any = form.count("vertical.plumb") + form.count("vertical.level");
    if any == 0 {
        form.remark(ui, "Two marks on a plumb line, or on anything that was set upright or level with a level. The longer, the better.");
    }
    line(ui, form, MarkKind::Plumb, "vertical.plumb", "plumb line");
    line(ui, form, MarkKind::Level, "vertical.level", "level line");
    form.tell(ui, "vertical");
}

fn line(ui: &mut Ui, form: &mut Form, kind: MarkKind, key: &str, name: &str) {
    let count = form.count(key);
    form.row(ui, name, |form, ui| {
        form.marks(ui, kind, if count == 0 { "mark it" } else { "mark the second" });
        if count > 0 {
            ui.horizontal(|ui| {
                if ui.small_button("place again").accessible_name(format!("place the {name} again")).clicked() {
                    form.ask(Command::Remove(key.to_owned()));
                    form.ask(Command::Place(Some(kind)));
                }
                form.remove(ui, key, &format!("the {name}"));
            });
        }
        form.tell(ui, key);
    });
}
