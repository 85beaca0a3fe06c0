//! Line 5: where the stream is.

use crate::app::command::{Command, Layer};
use crate::app::level;
use crate::app::marks::MarkKind;
use crate::app::sheet_panel::field::Field;
use crate::app::sheet_panel::form::Form;
use eframe::egui::Ui;

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    let tones = ["bright", "dark", "either"];
    form.choice(ui, "tone", "stream.tone", &tones, "none chosen: either, against what lies behind");
    threshold(ui, form);
    form.field(
        ui,
        "last x to use",
        &Field::new("stream.until", "last x of the stream to use", "to its end; as 600 mm"),
    );
    let polygon = "click corner after corner";
    area(ui, form, MarkKind::LookIn, "look only in", "stream.look_in", polygon);
    let areas = form.count("stream.leave_out");
    for n in 1..=areas {
        area(ui, form, MarkKind::LeaveOut(n), &format!("leave out {n}"), &format!("stream.leave_out[{n}]"), polygon);
    }
    form.row(ui, "leave out", |form, ui| {
        form.place(ui, MarkKind::LeaveOut(areas + 1), "mark an area");
        form.tell(ui, "stream.leave_out");
    });
    let by_hand = form.count("stream.by_hand");
    form.row(ui, "by hand", |form, ui| {
        ui.horizontal_wrapped(|ui| {
            if by_hand > 0 {
                ui.label(format!("{by_hand} stations"));
            }
            form.place(ui, MarkKind::ByHand, if by_hand == 0 { "place stations" } else { "place more" });
            if by_hand > 0 {
                form.remove(ui, "stream.by_hand", "all stations placed by hand");
            }
        });
        form.tell(ui, "stream.by_hand");
    });
}

fn threshold(ui: &mut Ui, form: &mut Form) {
    let key = "stream.level";
    let now = form.state.typed(key);
    let auto = now.is_empty() || now == "auto";
    form.row(ui, "level", |form, ui| {
        ui.horizontal_wrapped(|ui| {
            if ui.radio(auto, "auto").clicked() && !auto {
                form.put(key, "auto");
                form.ask(Command::Still);
            }
            form.edit(ui, &Field { width: 70.0, ..Field::new(key, "level of the threshold", "0 to 1") });
        });
        if let Some(plate) = &form.state.live.evidence {
            level::show(ui, plate, form.state.level(), form.commands);
            let mut shown = form.state.layers.contains(&Layer::Evidence);
            if ui.checkbox(&mut shown, "show on the photo what it cuts").changed() {
                form.ask(Command::Show(Layer::Evidence, shown));
            }
        }
        form.tell(ui, key);
    });
}

fn area(ui: &mut Ui, form: &mut Form, kind: MarkKind, label: &str, key: &str, add: &str) {
    let corners = form.count(key);
    form.row(ui, label, |form, ui| {
        ui.horizontal_wrapped(|ui| {
            if corners > 0 {
                ui.label(format!("{corners} corners"));
            }
            form.place(ui, kind, if corners == 0 { "mark an area" } else { add });
            if corners > 0 {
                form.remove(ui, key, label);
            }
        });
        form.tell(ui, key);
    });
}
