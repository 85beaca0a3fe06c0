//! Line 8: the discharge, by one of three ways; the water's temperature.

use crate::app::command::Command;
use crate::app::sheet_panel::budget::budget;
use crate::app::sheet_panel::field::Field;
use crate::app::sheet_panel::form::{Form, put};
use crate::app::sheet_panel::tables;
use eframe::egui::Ui;

/// Key and word of each way.
const WAYS: [(&str, &str); 3] =
    [("flow.timed", "timed fillings"), ("flow.running", "one filling, read as it fills"), ("flow.discharge", "known")];

pub(super) fn show(ui: &mut Ui, form: &mut Form) {
    let there: Vec<&str> = WAYS.iter().map(|(key, _)| *key).filter(|key| form.state.entry(key).is_some()).collect();
    let now = there.first().copied().unwrap_or("");
    form.row(ui, "measured by", |form, ui| {
        for (key, word) in WAYS {
            if ui.radio(now == key, word).clicked() && now != key {
                form.ask(change(form, &there, key));
            }
        }
        if now.is_empty() {
            form.remark(ui, "none: no Cd and no Cc");
        }
        form.tell(ui, "flow");
    });
    match now {
        "flow.discharge" => {
            form.field(ui, "discharge", &Field::new(now, "discharge", "0.236 L/s ± 0.001 L/s"));
            form.row(ui, "", |form, ui| form.remove(ui, now, "the discharge"));
        }
        "" => {}
        list => fillings(ui, form, list),
    }
    form.field(ui, "water", &Field::new("water.temperature", "water temperature", "18.5 degC"));
    let Some(findings) = form.findings().filter(|f| f.discharge.is_some()) else { return };
    form.results(ui, |form, ui| {
        tables::show_table(ui, "the discharge", &tables::results(findings, &["discharge"], form.state.units));
        budget(ui, findings, "discharge", "Q", form.commands);
    });
}

fn fillings(ui: &mut Ui, form: &mut Form, list: &str) {
    let count = form.count(list);
    let (one, add) = match list {
        "flow.timed" => ("filling", "add a filling"),
        _ => ("mark", "add a mark"),
    };
    for i in 1..=count {
        let row = format!("{list}[{i}]");
        let weighed = form.state.entry(&format!("{row}.mass")).is_some();
        let what = if weighed { "mass" } else { "volume" };
        form.row(ui, &format!("{one} {i}"), |form, ui| {
            let caught = format!("{row}.{what}");
            let time = format!("{row}.time");
            ui.horizontal(|ui| {
                let (width, example) = (110.0, if weighed { "9.98 kg" } else { "10 L" });
                form.edit(ui, &Field { width, ..Field::new(&caught, &format!("{what} of {one} {i}"), example) });
                ui.label("in");
                form.edit(ui, &Field { width, ..Field::new(&time, &format!("time of {one} {i}"), "42.3 s") });
            });
            ui.horizontal_wrapped(|ui| {
                form.read_back(ui, &caught);
                form.read_back(ui, &time);
                let other = if weighed { "volume" } else { "mass" };
                if ui.small_button(format!("by {other}")).accessible_name(format!("{one} {i} by {other}")).clicked() {
                    let to = put(&format!("{row}.{other}"), "");
                    form.ask(Command::Together(vec![to, Command::Remove(caught.clone())]));
                }
                form.remove(ui, &row, &format!("{one} {i}"));
            });
            for key in [&row, &caught, &time] {
                form.tell(ui, key);
            }
        });
    }
    form.row(ui, "", |form, ui| {
        if ui.button(add).clicked() {
            let weighed = form.state.entry(&format!("{list}[{count}].mass")).is_some();
            let row = format!("{list}[{}]", count + 1);
            let caught = put(&format!("{row}.{}", if weighed { "mass" } else { "volume" }), "");
            form.ask(Command::Together(vec![caught, put(&format!("{row}.time"), "")]));
        }
        form.tell(ui, list);
    });
}

/// From one way to another as one step; rows are kept between the two ways that have rows.
fn change(form: &Form, there: &[&str], to: &str) -> Command {
    let mut steps: Vec<Command> = there.iter().map(|key| Command::Remove((*key).to_owned())).collect();
    let from = there.iter().find(|key| **key != "flow.discharge");
    match (from, to) {
        (_, "flow.discharge") => steps.push(put("flow.discharge", "0 L/s")),
        (Some(from), _) => {
            for i in 1..=form.count(from) {
                for what in ["volume", "mass", "time"] {
                    if form.state.entry(&format!("{from}[{i}].{what}")).is_some() {
                        let typed = form.state.typed(&format!("{from}[{i}].{what}"));
                        steps.push(put(&format!("{to}[{i}].{what}"), &typed));
                    }
                }
            }
        }
        (None, _) => steps.extend(["volume", "time"].map(|what| put(&format!("{to}[1].{what}"), ""))),
    }
    Command::Together(steps)
}
