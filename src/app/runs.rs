//! Several runs of one orifice: a list to go on from, and the coefficients over head.

use std::path::{Path, PathBuf};

use eframe::egui::{Grid, Id, RichText, ScrollArea, Ui, vec2};

use super::command::{Command, FileCommand};
use super::strip;
use crate::cli::Outcome;
use crate::cli::at_once::Pace;
use crate::cli::series::analysed;
use crate::measure::Found;
use crate::measure::series::{RunRow, SeriesFindings};
use crate::quantity::{round, show};
use crate::report::figure::Figure;
use crate::report::series as figures;

/// A series that was measured.
pub struct Runs {
    /// Its file.
    pub path: PathBuf,
    /// What was found.
    pub found: SeriesFindings,
    /// The sheets of its runs, in their order; `None` for a run that has no sheet of its own.
    pub sheets: Vec<Option<PathBuf>>,
    /// Whether runs are left out, in words.
    pub left_out: Option<&'static str>,
}

/// Measures a series, on a thread of its own.
///
/// # Errors
/// What is wrong with the series or its sheets, in words.
pub fn measured(path: &Path) -> Result<Runs, String> {
    let analysed = analysed(path, Pace { jobs: None, quiet: true }).map_err(|not| not.lines.join("; "))?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let sheet = |run: &RunRow| Some(folder.join(&run.sheet)).filter(|file| file.is_file());
    let sheets = analysed.found.runs.iter().map(sheet).collect();
    let whole = analysed.outcome == Outcome::Done;
    let left_out = if whole { None } else { Some("a run is left out; `trajet series` tells why") };
    Ok(Runs { path: path.to_owned(), sheets, found: analysed.found, left_out })
}

/// The coefficients of a series: key and symbol.
const COEFFICIENTS: [(&str, &str); 3] = [("cv", "Cv"), ("cd", "Cd"), ("cc", "Cc")];

/// Shows it.
pub fn show_page(ui: &mut Ui, runs: &Runs, commands: &mut Vec<Command>) {
    ScrollArea::both().auto_shrink(false).show(ui, |ui| {
        let name = runs.path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        ui.heading(if runs.found.title.is_empty() { name } else { runs.found.title.clone() });
        table(ui, runs, commands);
        ui.horizontal(|ui| {
            if ui.button("Copy the table").clicked() {
                ui.ctx().copy_text(tab_separated(&runs.found));
            }
            if ui.button("Close the series").clicked() {
                commands.push(Command::File(FileCommand::Close));
            }
        });
        ui.add_space(8.0);
        pooled(ui, &runs.found);
        ui.add_space(8.0);
        curves(ui, &runs.found, commands);
        if let Some(line) = runs.left_out {
            ui.label(RichText::new(format!("! {line}")).strong());
        }
        for notice in &runs.found.notices {
            ui.label(format!("{}: {}", notice.about, notice.says));
            if let Some(hint) = &notice.hint {
                ui.weak(hint);
            }
        }
    });
}

const COLUMNS: [&str; 8] = ["run", "H, mm", "Re", "V, m/s", "Q, L/s", "Cv", "Cd", "Cc"];

fn numbers(run: &RunRow) -> [Option<&Found>; 7] {
    [&run.head, &run.reynolds, &run.velocity, &run.discharge, &run.cv, &run.cd, &run.cc].map(Option::as_ref)
}

fn table(ui: &mut Ui, runs: &Runs, commands: &mut Vec<Command>) {
    Grid::new("runs").striped(true).num_columns(COLUMNS.len() + 1).show(ui, |ui| {
        COLUMNS.iter().for_each(|c| drop(ui.label(RichText::new(*c).strong())));
        ui.label("");
        ui.end_row();
        for (i, run) in runs.found.runs.iter().enumerate() {
            match runs.sheets.get(i).cloned().flatten() {
                Some(sheet) => {
                    if ui.link(&run.run).on_hover_text("open this run's sheet").clicked() {
                        commands.push(Command::File(FileCommand::Open(sheet)));
                    }
                }
                None => drop(ui.label(&run.run)),
            }
            for found in numbers(run) {
                ui.label(found.map_or_else(|| "-".to_owned(), |f| show(f.value, f.u, "")));
            }
            if run.outlying.is_empty() {
                ui.label("");
            } else {
                ui.label(RichText::new(format!("outlying in {}", run.outlying.join(", "))).strong());
            }
            ui.end_row();
        }
    });
}

/// The table for a spreadsheet: value and standard uncertainty in columns of their own.
fn tab_separated(found: &SeriesFindings) -> String {
    let mut text = String::from("run");
    for column in &COLUMNS[1..] {
        let (name, unit) = column.split_once(", ").unwrap_or((column, ""));
        let unit = if unit.is_empty() { String::new() } else { format!(" ({unit})") };
        text.push_str(&format!("\t{name}{unit}\tu of {name}{unit}"));
    }
    text.push('\n');
    for run in &found.runs {
        text.push_str(&run.run.replace(['\t', '\n'], " "));
        for number in numbers(run) {
            match number {
                Some(f) => {
                    let rounded = round(f.value, f.u);
                    match rounded.u {
                        Some(u) if rounded.ten == 0 => text.push_str(&format!("\t{}\t{u}", rounded.value)),
                        _ => text.push_str(&format!("\t{}\t{}", f.value, f.u)),
                    }
                }
                None => text.push_str("\t\t"),
            }
        }
        text.push('\n');
    }
    text
}

fn pooled(ui: &mut Ui, found: &SeriesFindings) {
    for (key, name) in COEFFICIENTS {
        let Some(pooled) = found.pooled.get(key) else { continue };
        let test = pooled.test.map_or_else(String::new, |t| {
            let verdict = if t.probability < 0.05 {
                "the runs differ by more than their uncertainties"
            } else {
                "the runs agree"
            };
            format!(" chi-squared {:.1} for {} degrees of freedom: {verdict}", t.chi2, t.dof)
        });
        let of = match pooled.runs.len() {
            1 => "one run".to_owned(),
            n => format!("{n} runs together"),
        };
        ui.label(format!("{name} of {of}: {}.{test}", show(pooled.found.value, pooled.found.u, "")));
    }
    if let Some(line) = &found.head_line {
        let h0 = &line.datum_error;
        let so = if line.significant { "differs from none" } else { "none that could be told from chance" };
        ui.label(format!("datum error of the head from V\u{b2} against H: {} ({so})", show(h0.value, h0.u, &h0.unit)));
    }
    if let Some(law) = &found.exponent {
        let so = if law.significant { "0.5 lies outside" } else { "0.5 lies within" };
        ui.label(format!("Q goes with H to the power {} ({so})", show(law.found.value, law.found.u, "")));
    }
}

/// One of the series' curves, chosen by its name.
fn curves(ui: &mut Ui, found: &SeriesFindings, commands: &mut Vec<Command>) {
    let all: Vec<(&str, Figure)> = [
        ("Cv over head", figures::against_head(found, "cv")),
        ("Cd over head", figures::against_head(found, "cd")),
        ("Cc over head", figures::against_head(found, "cc")),
        ("Q over head", figures::discharge(found)),
        ("V\u{b2} over head", figures::velocity_head(found)),
        ("Cv over Re", figures::against_reynolds(found, "cv")),
        ("Cd over Re", figures::against_reynolds(found, "cd")),
    ]
    .into_iter()
    .filter_map(|(name, drawn)| Some((name, drawn.ok()?)))
    .collect();
    let id = Id::unique("curve in hand");
    let chosen: usize = ui.data(|d| d.get_temp(id)).unwrap_or(0).min(all.len().saturating_sub(1));
    ui.horizontal_wrapped(|ui| {
        for (i, (name, _)) in all.iter().enumerate() {
            if ui.selectable_label(i == chosen, RichText::new(*name).small()).clicked() {
                ui.data_mut(|d| d.insert_temp(id, i));
            }
        }
        if let Some((_, figure)) = all.get(chosen) {
            ui.add_space(12.0);
            strip::copy(ui, figure, commands);
        }
    });
    if let Some((_, figure)) = all.get(chosen) {
        let height = (ui.available_height() - 20.0).clamp(240.0, 460.0);
        ui.allocate_ui(vec2(ui.available_width().min(1100.0), height), |ui| strip::drawn(ui, figure, true));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(value: f64, u: f64) -> Option<Found> {
        Some(Found { value, u, lo: value - 2.0 * u, hi: value + 2.0 * u, unit: String::new() })
    }

    #[test]
    fn the_copied_table_has_a_column_for_each_number() {
        let run = RunRow {
            run: "run\t1".into(),
            sheet: "c-run1.toml".into(),
            title: String::new(),
            head: found(250.0, 0.6),
            reynolds: None,
            velocity: found(2.15172, 0.00498),
            discharge: None,
            cv: found(0.97171, 0.0021),
            cd: None,
            cc: None,
            off: std::collections::BTreeMap::default(),
            outlying: Vec::new(),
            inputs: std::collections::BTreeMap::default(),
        };
        let series = SeriesFindings { runs: vec![run], ..SeriesFindings::default() };
        let text = tab_separated(&series);
        let rows: Vec<Vec<&str>> = text.lines().map(|l| l.split('\t').collect()).collect();
        assert_eq!(rows[0].len(), 15);
        assert_eq!(rows[0][..3], ["run", "H (mm)", "u of H (mm)"]);
        assert_eq!(
            rows[1],
            ["run 1", "250.00", "0.60", "", "", "2.1517", "0.0050", "", "", "0.9717", "0.0021", "", "", "", ""]
        );
    }
}
