//! Several runs of one orifice: a list to go on from, and the coefficients over head.

use std::path::{Path, PathBuf};

use eframe::egui::{self, Color32, Grid, RichText, ScrollArea, Ui};
use egui_plot::{Legend, Line, MarkerShape, Plot, Points};

use super::command::{Command, FileCommand};
use crate::cli::Outcome;
use crate::cli::at_once::Pace;
use crate::cli::series::analysed;
use crate::measure::Found;
use crate::measure::series::{RunRow, SeriesFindings};
use crate::quantity::{round, show};

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

/// One coefficient: its key, its name, and how it looks in the figure. Shapes differ as well as colours, which are
/// those of Okabe and Ito (2008).
const COEFFICIENTS: [(&str, &str, MarkerShape, Color32); 3] = [
    ("cv", "Cv", MarkerShape::Circle, Color32::from_rgb(0, 114, 178)),
    ("cd", "Cd", MarkerShape::Square, Color32::from_rgb(213, 94, 0)),
    ("cc", "Cc", MarkerShape::Up, Color32::from_rgb(0, 158, 115)),
];

fn coefficient<'a>(run: &'a RunRow, key: &str) -> Option<&'a Found> {
    match key {
        "cv" => run.cv.as_ref(),
        "cd" => run.cd.as_ref(),
        _ => run.cc.as_ref(),
    }
}

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
        over_head(ui, &runs.found);
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
    for (key, name, ..) in COEFFICIENTS {
        let Some(pooled) = found.pooled.get(key) else { continue };
        let test = pooled.test.map_or_else(String::new, |t| {
            let verdict = if t.probability < 0.05 {
                "the runs differ by more than their uncertainties"
            } else {
                "the runs agree"
            };
            format!(" chi-squared {:.1} for {} degrees of freedom: {verdict}", t.chi2, t.dof)
        });
        let of = pooled.runs.len();
        ui.label(format!("{name} of {of} runs together: {}.{test}", show(pooled.found.value, pooled.found.u, "")));
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

/// Cv, Cd and Cc against head, with 95 % intervals.
fn over_head(ui: &mut Ui, found: &SeriesFindings) {
    let height = (ui.available_height() - 20.0).clamp(220.0, 420.0);
    Plot::new("over head")
        .height(height)
        .width(ui.available_width().min(900.0))
        .x_axis_label("head, mm")
        .y_axis_label("coefficient")
        .legend(Legend::default())
        .allow_scroll(false)
        .show(ui, |plot| {
            for (key, name, shape, colour) in COEFFICIENTS {
                let at: Vec<(f64, &Found)> = found
                    .runs
                    .iter()
                    .filter_map(|run| Some((run.head.as_ref()?.value, coefficient(run, key)?)))
                    .collect();
                for (head, f) in &at {
                    plot.line(Line::new(name, vec![[*head, f.lo], [*head, f.hi]]).color(colour).width(1.5));
                }
                let points: Vec<[f64; 2]> = at.iter().map(|(head, f)| [*head, f.value]).collect();
                if !points.is_empty() {
                    plot.points(Points::new(name, points).shape(shape).radius(5.0).color(colour));
                }
            }
        })
        .response
        .widget_info(|| {
            egui::WidgetInfo::labeled(egui::Role::Image, true, "coefficients over head, with 95 % intervals")
        });
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
