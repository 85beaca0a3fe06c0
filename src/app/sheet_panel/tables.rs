//! Tables of results: made from findings, shown, and copied as text.

use super::form::Form;
use super::ink;
use crate::app::command::Units;
use crate::app::shown::{Shown, interval};
use crate::measure::{Findings, Found, SinglePointView};
use crate::quantity::{show, show_change, show_in_u, show_plain, two_digits};
use crate::report::record::{RESULTS, absent_because};
use eframe::egui::{Button, Color32, FontId, Grid, Label, RichText, Ui};

/// A table as texts, and what is to be said below it.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Table {
    /// Names of the columns.
    pub head: Vec<&'static str>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
    /// What is absent and why.
    pub below: Vec<String>,
}

impl Table {
    /// Tab-separated, the names of the columns first: what a spreadsheet takes.
    pub fn text(&self) -> String {
        let head = self.head.join("\t");
        let rows = self.rows.iter().map(|r| r.join("\t"));
        std::iter::once(head).chain(rows).map(|line| line + "\n").collect()
    }
}

/// What a result is called in a table.
const NAMES: [(&str, &str); 18] = [
    ("velocity", "V"),
    ("launch_angle", "launch angle"),
    ("head", "head H"),
    ("ideal_velocity", "ideal velocity"),
    ("discharge", "discharge Q"),
    ("cv", "Cv"),
    ("cd", "Cd"),
    ("cc", "Cc"),
    ("cc_from_width", "Cc by width"),
    ("k", "K"),
    ("head_lost", "head lost"),
    ("efficiency", "efficiency"),
    ("jet_power", "jet power"),
    ("stream_width", "stream width"),
    ("reynolds", "Reynolds"),
    ("weber", "Weber"),
    ("froude", "Froude"),
    ("head_to_diameter", "H/d"),
];

fn name(key: &str) -> &str {
    NAMES.iter().find(|(k, _)| *k == key).map_or(key, |(_, name)| name)
}

/// `Cv` of `cv`.
pub fn symbol(key: &str) -> &str {
    RESULTS.iter().find(|r| r.key == key).map_or(key, |r| r.symbol)
}

fn found<'a>(f: &'a Findings, key: &str) -> Option<&'a Found> {
    match key {
        "cc_from_width" => f.cc_from_width.as_ref(),
        "efficiency" => f.efficiency.as_ref(),
        "froude" => f.froude.as_ref(),
        "head_to_diameter" => f.head_to_diameter.as_ref(),
        key => RESULTS.iter().find(|r| r.key == key).and_then(|r| (r.of)(f)),
    }
}

/// Results with uncertainty and 95 % interval.
pub fn results(f: &Findings, keys: &[&str], units: Units) -> Table {
    let mut table = Table { head: vec!["", "value ± u", "95 % interval"], ..Table::default() };
    for key in keys {
        match found(f, key) {
            Some(found) => {
                table.rows.push(vec![name(key).to_owned(), Shown::found(found, units).text(), interval(found, units)]);
            }
            None => {
                let why = RESULTS.iter().find(|r| r.key == *key).map(|r| absent_because(f, r));
                table.below.extend(why.map(|why| format!("{}: {why}", name(key))));
            }
        }
    }
    table
}

/// How well the trajectory fits.
pub fn fit(f: &Findings, units: Units) -> Table {
    const FIT: [(&str, &str); 6] = [
        ("stations", "stations found"),
        ("stations_used", "used"),
        ("effective_stations", "worth independent ones"),
        ("rms_off", "off the trajectory, rms"),
        ("rms_off_px", "the same in the photo"),
        ("left_over", "left over beyond scatter"),
    ];
    let row = |(key, name): &(&str, &str)| {
        let found = f.fit.get(*key)?;
        let shown = Shown::new(found.value, 0.0, &found.unit, units);
        let value = if found.unit.is_empty() { shown.value.round() } else { two_digits(shown.value) };
        Some(vec![(*name).to_owned(), show_plain(value, shown.unit)])
    };
    Table { head: vec!["fit", ""], rows: FIT.iter().filter_map(row).collect(), below: Vec::new() }
}

/// Second-order corrections and what they change.
pub fn corrections(f: &Findings) -> Table {
    let change = |found: &Option<Found>, change: f64, u: f64| match found {
        Some(_) if change == 0.0 => "none".to_owned(),
        Some(_) => show_change(100.0 * change, 100.0 * u, ""),
        None => String::new(),
    };
    let row = |r: &crate::measure::CorrectionRow| {
        let name = r.correction.replace('-', " ");
        vec![
            if r.applied { format!("{name}, applied") } else { name },
            change(&r.velocity, r.velocity_change, r.velocity_change_u),
            change(&r.cv, r.cv_change, r.cv_change_u),
            change(&r.cd, r.cd_change, r.cd_change_u),
        ]
    };
    Table {
        head: vec!["changes, %", "V", "Cv", "Cd"],
        rows: f.corrections.iter().map(row).collect(),
        ..Table::default()
    }
}

/// Published values beside the results.
pub fn published(f: &Findings) -> Table {
    let row = |r: &crate::measure::PublishedRow| {
        let value = r.value.map_or_else(|| "none here".to_owned(), |v| show(v, r.u, ""));
        let beside = r.difference_in_u.map_or_else(|| "not compared".to_owned(), show_in_u);
        vec![symbol(&r.what).to_owned(), r.by.clone(), value, beside]
    };
    Table {
        head: vec!["", "published by", "value ± u", "this run"],
        rows: f.published.iter().map(row).collect(),
        ..Table::default()
    }
}

/// Shows a table and a button that copies it.
pub fn show_table(ui: &mut Ui, name: &str, table: &Table) {
    Grid::new(("table", name)).num_columns(table.head.len()).striped(true).spacing([10.0, 3.0]).show(ui, |ui| {
        ui.spacing_mut().interact_size.y = 16.0;
        for (i, head) in table.head.iter().enumerate() {
            ui.horizontal(|ui| {
                if !head.is_empty() {
                    ui.label(RichText::new(*head).small().color(ink::quiet(ui)));
                }
                if i == 0 && !table.rows.is_empty() {
                    copy_as_text(ui, name, || table.text());
                }
            });
        }
        ui.end_row();
        let before: Vec<Vec<f32>> =
            table.rows.iter().map(|r| r.iter().map(|c| before_point(ui, c)).collect()).collect();
        let most = |i: usize| before.iter().filter_map(|r| r.get(i)).copied().fold(0.0, f32::max);
        for (row, before) in table.rows.iter().zip(&before) {
            for (i, (cell, before)) in row.iter().zip(before).enumerate() {
                // values stand with their decimal points one below the other
                cell_of(ui, i, cell, if i > 0 && *before > 0.0 { most(i) - before } else { 0.0 });
            }
            ui.end_row();
        }
    });
    for below in &table.below {
        ui.add(Label::new(RichText::new(below).small().color(ink::quiet(ui))).wrap());
    }
}

/// A quiet button that copies a table.
pub fn copy_as_text(ui: &mut Ui, name: &str, text: impl FnOnce() -> String) {
    let button = Button::new(RichText::new("copy").small().color(ink::quiet(ui))).frame(false);
    let says = "tab-separated, for a spreadsheet";
    if ui.add(button).accessible_name(format!("copy {name} as text")).on_hover_text(says).clicked() {
        ui.copy_text(text());
    }
}

/// Size of the text in tables.
const SIZE: f32 = 11.5;

/// Width of what stands before the decimal point; 0 where a text is no single number, as an interval.
fn before_point(ui: &Ui, cell: &str) -> f32 {
    let number = cell.split(' ').next().unwrap_or("");
    if number.parse::<f64>().is_err() || cell.contains(" to ") {
        return 0.0;
    }
    let whole = number.split('.').next().unwrap_or("").to_owned();
    ui.painter().layout_no_wrap(whole, FontId::proportional(SIZE), Color32::PLACEHOLDER).size().x
}

/// The value strong, its uncertainty quieter, `in_from` the left.
fn cell_of(ui: &mut Ui, column: usize, cell: &str, in_from: f32) {
    let small = |text: &str| RichText::new(text).size(SIZE);
    match cell.split_once(" ± ") {
        Some((value, u)) if column > 0 => {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 0.0;
                ui.add_space(in_from);
                ui.label(small(value).strong());
                ui.label(small(&format!(" ± {u}")).color(ink::quiet(ui)));
            });
        }
        _ => {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 0.0;
                ui.add_space(in_from);
                ui.label(small(cell));
            });
        }
    }
}

/// Whether the velocity is the same from every station.
pub fn single_point(ui: &mut Ui, view: &SinglePointView) {
    let rise = show_change(100.0 * view.rise, 100.0 * view.rise_u, "%");
    let says = if view.significant {
        format!("V from single stations changes by {rise} along the jet, more than they scatter. It could be:")
    } else {
        format!("V from single stations changes by {rise} along the jet: no more than they scatter.")
    };
    ui.add(Label::new(RichText::new(says).small()).wrap());
    if view.significant {
        for cause in view.causes.iter().filter(|c| c.can_be) {
            ui.add(Label::new(RichText::new(format!("\u{2022} {}", cause.says)).small().color(ink::quiet(ui))).wrap());
        }
    }
}

impl Form<'_> {
    /// Results below what is stated; dimmed, with a word, while they are not those of the sheet as it is now.
    pub fn results(&mut self, ui: &mut Ui, inside: impl FnOnce(&mut Self, &mut Ui)) {
        ui.separator();
        let current = self.state.is_current();
        if !current {
            let says =
                if self.state.live.busy { "of the sheet before; being measured anew" } else { "of the sheet before" };
            ui.label(RichText::new(says).italics().color(ink::doubt(ui)));
        }
        ui.scope(|ui| {
            if !current {
                ui.multiply_opacity(0.55);
            }
            inside(self, ui);
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_copied_with_its_columns() {
        let v = Found { value: 2.8865, u: 0.0051, lo: 2.8766, hi: 2.8965, unit: "m/s".into() };
        let f = Findings { velocity: Some(v), ..Findings::default() };
        let table = results(&f, &["velocity", "cd"], Units::Si);
        assert_eq!(table.text(), "\tvalue ± u\t95 % interval\nV\t2.8865 m/s ± 0.0051 m/s\t2.8766 to 2.8965 m/s\n");
        assert_eq!(table.below.len(), 1, "Cd is absent, and that is said");
        let us = results(&f, &["velocity"], Units::UsCustomary);
        // 2.8865 m/s over 0.3048 m, exact by definition
        assert_eq!(us.rows[0][1], "9.470 ft/s ± 0.017 ft/s");
    }
}
