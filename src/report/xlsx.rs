//! Stations and runs as one XLSX workbook: every number a number, units in the heads.

use super::record::{RESULTS, absent_because};
use crate::measure::series::{SeriesFindings, Test};
use crate::measure::{Findings, Found};
use rust_xlsxwriter::{Format, Workbook, Worksheet, XlsxError};

/// Why there is no workbook.
#[derive(Debug, thiserror::Error)]
#[error("the workbook could not be made: {0}")]
pub struct NoWorkbook(#[from] XlsxError);

/// One row for each run in `runs`, every station of every run in `stations`, every budget row in `budgets`, and what the
/// runs say of themselves in `notices`.
///
/// # Errors
/// [`NoWorkbook`] where a text is longer than a cell may be, or there are more rows than a sheet holds.
pub fn workbook(runs: &[Findings]) -> Result<Vec<u8>, NoWorkbook> {
    Ok(book(runs)?.save_to_buffer()?)
}

/// The same with what a series of these runs gave, in `series`.
///
/// # Errors
/// As [`workbook`].
pub fn of_series(found: &SeriesFindings, runs: &[Findings]) -> Result<Vec<u8>, NoWorkbook> {
    let mut book = book(runs)?;
    write_series(book.add_worksheet(), found)?;
    Ok(book.save_to_buffer()?)
}

fn book(runs: &[Findings]) -> Result<Workbook, XlsxError> {
    let mut book = Workbook::new();
    // the same runs give the same file: no time of making
    let epoch = rust_xlsxwriter::ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&rust_xlsxwriter::DocProperties::new().set_creation_datetime(&epoch));
    write_runs(book.add_worksheet(), runs)?;
    write_stations(book.add_worksheet(), runs)?;
    write_budgets(book.add_worksheet(), runs)?;
    write_notices(book.add_worksheet(), runs)?;
    Ok(book)
}

/// One row for each pooled coefficient and each law: value, u, the ends of its 95 % interval, and how well it holds.
fn write_series(sheet: &mut Worksheet, found: &SeriesFindings) -> Result<(), XlsxError> {
    let names = ["what", "unit", "value", "u", "lo", "hi", "chi-squared", "degrees of freedom", "probability"];
    heads(sheet, "series", &text(&names))?;
    let mut row = 0;
    let mut put = |what: &str, f: &Found, test: Option<Test>| {
        row += 1;
        sheet.write_string(row, 0, what)?.write_string(row, 1, &f.unit)?;
        for (column, value) in (2..).zip([f.value, f.u, f.lo, f.hi]) {
            sheet.write_number(row, column, value)?;
        }
        if let Some(t) = test {
            sheet.write_number(row, 6, t.chi2)?.write_number(row, 7, t.dof as f64)?.write_number(
                row,
                8,
                t.probability,
            )?;
        }
        Ok::<(), XlsxError>(())
    };
    for (key, pooled) in &found.pooled {
        put(&format!("pooled {key}"), &pooled.found, pooled.test)?;
    }
    if let Some(line) = &found.head_line {
        put("cv from the slope of V^2 against H", &line.cv, line.test)?;
        put("to be added to the heads as read", &line.datum_error, line.test)?;
    }
    if let Some(law) = &found.exponent {
        put("exponent of Q against H", &law.found, law.test)?;
    }
    for (key, law) in &found.trends {
        put(&format!("trend of {key}"), &law.found, law.test)?;
    }
    Ok(())
}

fn heads(sheet: &mut Worksheet, name: &str, heads: &[String]) -> Result<(), XlsxError> {
    sheet.set_name(name)?;
    let bold = Format::new().set_bold();
    for (column, head) in heads.iter().enumerate() {
        sheet.write_string_with_format(0, column as u16, head, &bold)?;
        sheet.set_column_width(column as u16, 2.0 + head.chars().count().max(8) as f64)?;
    }
    sheet.set_freeze_panes(1, 0)?;
    Ok(())
}

fn text(values: &[&str]) -> Vec<String> {
    values.iter().map(|v| (*v).to_owned()).collect()
}

/// Four columns for each result: value, u, and the ends of the 95 % interval. An absent one leaves its cells blank, so that a
/// column holds numbers only; why it is absent stands in `notices`.
fn write_runs(sheet: &mut Worksheet, runs: &[Findings]) -> Result<(), XlsxError> {
    let mut names = text(&["sheet", "title"]);
    for result in RESULTS {
        let unit = runs.iter().find_map(|r| (result.of)(r)).map_or("", |f| f.unit.as_str());
        let unit = if unit.is_empty() { String::new() } else { format!(" / ({unit})") };
        for part in ["", " u", " lo", " hi"] {
            names.push(format!("{}{part}{unit}", result.key));
        }
    }
    heads(sheet, "runs", &names)?;
    for (i, run) in runs.iter().enumerate() {
        let row = i as u32 + 1;
        sheet.write_string(row, 0, &run.sheet)?;
        sheet.write_string(row, 1, &run.title)?;
        for (k, result) in RESULTS.iter().enumerate() {
            let Some(f) = (result.of)(run) else { continue };
            for (part, value) in [f.value, f.u, f.lo, f.hi].into_iter().enumerate() {
                sheet.write_number(row, (2 + 4 * k + part) as u16, value)?;
            }
        }
    }
    Ok(())
}

fn write_stations(sheet: &mut Worksheet, runs: &[Findings]) -> Result<(), XlsxError> {
    let names = [
        "sheet",
        "photo x / px",
        "photo y / px",
        "u / px",
        "x / mm",
        "drop / mm",
        "off / mm",
        "width / mm",
        "velocity / (m/s)",
        "velocity u / (m/s)",
        "cv",
        "used",
    ];
    heads(sheet, "stations", &text(&names))?;
    let all = runs.iter().flat_map(|run| run.stations.iter().map(move |s| (run, s)));
    for (i, (run, s)) in all.enumerate() {
        let row = i as u32 + 1;
        sheet.write_string(row, 0, &run.sheet)?;
        let numbers = [
            Some(s.px[0]),
            Some(s.px[1]),
            Some(s.u_px),
            Some(s.x_mm),
            Some(s.y_mm),
            Some(s.off_mm),
            s.width_mm,
            s.velocity,
            s.velocity_u,
            s.cv,
        ];
        for (k, value) in numbers.into_iter().enumerate() {
            if let Some(value) = value {
                sheet.write_number(row, k as u16 + 1, value)?;
            }
        }
        sheet.write_boolean(row, 11, s.used)?;
    }
    Ok(())
}

fn write_budgets(sheet: &mut Worksheet, runs: &[Findings]) -> Result<(), XlsxError> {
    heads(
        sheet,
        "budgets",
        &text(&["sheet", "result", "input", "value", "standard uncertainty", "sensitivity", "share"]),
    )?;
    let mut row = 0;
    for run in runs {
        for result in RESULTS {
            for b in run.budget.get(result.key).into_iter().flatten() {
                row += 1;
                for (column, value) in
                    [run.sheet.as_str(), result.key, &b.input, &b.value, &b.u].into_iter().enumerate()
                {
                    sheet.write_string(row, column as u16, value)?;
                }
                sheet.write_number(row, 5, b.sensitivity)?;
                sheet.write_number(row, 6, b.share)?;
            }
        }
    }
    Ok(())
}

fn write_notices(sheet: &mut Worksheet, runs: &[Findings]) -> Result<(), XlsxError> {
    heads(sheet, "notices", &text(&["sheet", "about", "what is the case", "what can be done"]))?;
    let mut row = 0;
    for run in runs {
        let absent = RESULTS
            .iter()
            .filter(|r| (r.of)(run).is_none())
            .map(|r| (r.key.to_owned(), absent_because(run, r), String::new()));
        let told = run.notices.iter().map(|n| (n.about.clone(), n.says.clone(), n.hint.clone().unwrap_or_default()));
        for (about, says, hint) in told.chain(absent) {
            row += 1;
            for (column, value) in [&run.sheet, &about, &says, &hint].into_iter().enumerate() {
                sheet.write_string(row, column as u16, value)?;
            }
        }
    }
    Ok(())
}
