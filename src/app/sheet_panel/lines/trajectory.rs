//! Line 6: launch and corrections; velocity, fit and budget.

use crate::app::command::Command;
use crate::app::sheet_panel::budget::budget;
use crate::app::sheet_panel::field::Field;
use crate::app::sheet_panel::form::{Form, put};
use crate::app::sheet_panel::tables;
use eframe::egui::Ui;

const CORRECTIONS: [(&str, &str); 3] =
    [("surface-tension", "surface tension"), ("air-drag", "air drag"), ("air-buoyancy", "buoyancy of the air")];

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    launch(ui, form);
    corrections(ui, form);
    let Some(findings) = form.findings() else { return };
    form.results(ui, |form, ui| {
        tables::show_table(
            ui,
            "the trajectory",
            &tables::results(findings, &["velocity", "launch_angle"], form.state.units),
        );
        tables::show_table(ui, "the fit", &tables::fit(findings, form.state.units));
        budget(ui, findings, "velocity", "V", form.commands);
        if let Some(single) = &findings.single_point {
            tables::single_point(ui, single);
        }
        if !findings.corrections.is_empty() {
            tables::show_table(ui, "corrections considered", &tables::corrections(findings));
        }
    });
}

fn launch(ui: &mut Ui, form: &mut Form) {
    let key = "trajectory.launch";
    let now = form.state.typed(key);
    let chosen = match now.as_str() {
        "" | "free" => "free",
        "level" => "level",
        _ => "stated",
    };
    form.row(ui, "launch", |form, ui| {
        ui.horizontal_wrapped(|ui| {
            for (word, typed) in [("free", "free"), ("level", "level"), ("stated", "0 deg")] {
                if ui.radio(chosen == word, word).clicked() && chosen != word {
                    form.put(key, typed);
                    form.ask(Command::Still);
                }
            }
        });
        if chosen == "stated" {
            form.bare_field(ui, &Field::new(key, "launch angle, upwards positive", "5.0 deg ± 0.3 deg"));
        }
        form.tell(ui, key);
    });
}

/// Corrections are listed in the order in which they were chosen.
fn corrections(ui: &mut Ui, form: &mut Form) {
    let list = "trajectory.corrections";
    let count = form.count(list);
    let at = |i: usize| format!("{list}[{i}]");
    let listed: Vec<String> = (1..=count).map(|i| form.state.typed(&at(i))).collect();
    form.row(ui, "correct for", |form, ui| {
        for (word, name) in CORRECTIONS {
            let place = listed.iter().position(|w| w == word);
            let mut on = place.is_some();
            if ui.checkbox(&mut on, name).changed() {
                match place {
                    Some(i) => form.ask(Command::Remove(at(i + 1))),
                    None => form.ask(put(&at(count + 1), word)),
                }
                form.ask(Command::Still);
            }
        }
        form.tell(ui, list);
        (1..=count).for_each(|i| form.tell(ui, &at(i)));
    });
}
