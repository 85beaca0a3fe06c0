//! Line 9: coefficients, losses, numbers of the flow.

use crate::app::sheet_panel::budget::budget;
use crate::app::sheet_panel::form::Form;
use crate::app::sheet_panel::tables;
use eframe::egui::{Id, Ui};

/// What is listed, in this order.
const LISTED: [&str; 14] = [
    "cv",
    "cd",
    "cc",
    "cc_from_width",
    "k",
    "head_lost",
    "efficiency",
    "jet_power",
    "ideal_velocity",
    "stream_width",
    "reynolds",
    "weber",
    "froude",
    "head_to_diameter",
];

/// Results whose budget can be looked at.
const BUDGETS: [(&str, &str); 4] = [("cv", "Cv"), ("cd", "Cd"), ("cc", "Cc"), ("k", "K")];

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    let Some(findings) = form.findings() else {
        form.remark(ui, "They follow from the lines above.");
        return;
    };
    form.results(ui, |form, ui| {
        tables::show_table(ui, "coefficients and numbers", &tables::results(findings, &LISTED, form.state.units));
        let id = Id::unique("budget in hand");
        let mut chosen: &'static str = ui.data(|d| d.get_temp(id)).unwrap_or("cv");
        let there: Vec<_> = BUDGETS.iter().filter(|(key, _)| findings.budget.contains_key(*key)).collect();
        if !there.iter().any(|(key, _)| *key == chosen) {
            chosen = there.first().map_or("cv", |(key, _)| key);
        }
        ui.horizontal_wrapped(|ui| {
            ui.label("uncertainty of");
            for (key, symbol) in &there {
                if ui.selectable_label(chosen == *key, *symbol).accessible_name(format!("budget of {symbol}")).clicked()
                {
                    ui.data_mut(|d| d.insert_temp(id, *key));
                }
            }
        });
        if let Some((key, symbol)) = there.iter().find(|(key, _)| *key == chosen) {
            budget(ui, findings, key, symbol, form.commands);
        }
        if !findings.corrections.is_empty() {
            tables::show_table(ui, "corrections considered", &tables::corrections(findings));
        }
    });
}
