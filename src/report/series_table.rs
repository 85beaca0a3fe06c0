//! The findings of a series: a table to read in a terminal, and JSON.

use super::table::Paint;
use crate::measure::Found;
use crate::measure::series::{HeadLine, Law, Pooled, SeriesFindings, Test};
use crate::quantity::{round, show_interval, show_plain, show_value, two_digits};
use std::fmt::Write as _;

/// How many rows of a pooled budget are shown.
const LARGEST: usize = 4;

/// The whole of the findings as JSON; ends in a line feed.
///
/// # Errors
/// A number that JSON cannot hold: findings never hold one.
pub fn json(f: &SeriesFindings) -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(f)? + "\n")
}

/// The table of one series; notices are not in it.
pub fn text(f: &SeriesFindings, paint: Paint) -> String {
    let mut out = String::new();
    let title = if f.title.is_empty() { f.series.clone() } else { format!("{} ({})", f.title, f.series) };
    let _ = writeln!(out, "{}", paint.strong(&super::printable(&title)));
    runs(&mut out, f, paint);
    for (key, label) in [("cv", "Cv"), ("cd", "Cd"), ("cc", "Cc")] {
        if let Some(pooled) = f.pooled.get(key) {
            tell_pooled(&mut out, label, pooled, paint);
        }
    }
    if let Some(line) = &f.head_line {
        tell_line(&mut out, line);
    }
    if let Some(law) = &f.exponent {
        let beside = if law.significant { "0.5 lies outside" } else { "0.5 lies within" };
        let _ = writeln!(out, "  Q goes with H to the power {}{}", with_interval(&law.found), left(law, beside));
    }
    for (key, label) in [("cv", "Cv"), ("cd", "Cd"), ("cc", "Cc")] {
        if let Some(law) = f.trends.get(key) {
            let beside = if law.significant { "significant" } else { "none that could be told from chance" };
            let _ = writeln!(out, "  trend of {label} with H {}{}", with_interval(&law.found), left(law, beside));
        }
    }
    out
}

/// One row for each run; columns as wide as they need.
fn runs(out: &mut String, f: &SeriesFindings, paint: Paint) {
    let mut rows = vec![["run", "H, mm", "Re", "V, m/s", "Q, L/s", "Cv", "Cd", "Cc"].map(str::to_owned)];
    for run in &f.runs {
        let outlying = |key: &str, text: String| {
            if run.outlying.iter().any(|k| k == key) { format!("{text} *") } else { text }
        };
        rows.push([
            run.run.clone(),
            cell(run.head.as_ref()),
            cell(run.reynolds.as_ref()),
            cell(run.velocity.as_ref()),
            cell(run.discharge.as_ref()),
            outlying("cv", cell(run.cv.as_ref())),
            outlying("cd", cell(run.cd.as_ref())),
            outlying("cc", cell(run.cc.as_ref())),
        ]);
    }
    columns(out, &rows, paint);
    if f.runs.iter().any(|r| !r.outlying.is_empty()) {
        let _ = writeln!(out, "  {}", paint.quiet("* outlying: the other runs do not bear it out"));
    }
}

/// Rows of cells, each column as wide as it needs; the first row names the columns.
pub(super) fn columns<const N: usize>(out: &mut String, rows: &[[String; N]], paint: Paint) {
    let wide = |column: usize| rows.iter().map(|r| r[column].chars().count()).max().unwrap_or(0);
    let widths: [usize; N] = std::array::from_fn(wide);
    for (i, row) in rows.iter().enumerate() {
        let mut line = String::from(" ");
        for (text, width) in row.iter().zip(&widths) {
            let _ = write!(line, " {text}{} ", " ".repeat(width - text.chars().count()));
        }
        let line = line.trim_end();
        let _ = writeln!(out, "{}", if i == 0 { paint.quiet(line) } else { line.to_owned() });
    }
}

/// A result in a table whose head names the unit; a dash for none.
pub(super) fn cell(found: Option<&Found>) -> String {
    found.map_or_else(|| "-".to_owned(), show_value_and_u)
}

/// `0.9712 ± 0.0031`: the unit stands in the heading.
fn show_value_and_u(found: &Found) -> String {
    let rounded = round(found.value, found.u);
    let power = if rounded.ten == 0 { String::new() } else { format!("e{}", rounded.ten) };
    match rounded.u {
        Some(u) => format!("{} ± {u}{power}", rounded.value),
        None => format!("{}{power}", rounded.value),
    }
}

fn with_interval(found: &Found) -> String {
    let value = show_value_and_u(found);
    let unit = if found.unit.is_empty() { String::new() } else { format!(" {}", found.unit) };
    format!("{value}{unit}, 95 %: {}", show_interval(found.lo, found.hi, ""))
}

fn tell_pooled(out: &mut String, label: &str, pooled: &Pooled, paint: Paint) {
    let n = pooled.runs.len();
    let runs = if n == 1 { "run" } else { "runs" };
    let _ = writeln!(out, "  {label} of {n} {runs}: {}{}", with_interval(&pooled.found), chance(pooled.test));
    for row in pooled.budget.iter().take(LARGEST).filter(|r| r.share.abs() >= 0.0005) {
        let shared = if row.shared { "shared by runs" } else { "" };
        let _ = writeln!(out, "    {:>5.1} %  {:<20} {}", 100.0 * row.share, row.input, paint.quiet(shared));
    }
}

fn tell_line(out: &mut String, line: &HeadLine) {
    let _ = writeln!(out, "  V^2 against H: Cv from the slope {}{}", with_interval(&line.cv), chance(line.test));
    let datum = &line.datum_error;
    let word = if line.significant { "differs from 0" } else { "0 lies within" };
    let _ = writeln!(
        out,
        "    datum error of the head: {} to be added, 95 %: {}; {word}",
        show_value(datum.value, datum.u, "mm"),
        show_interval(datum.lo, datum.hi, "mm")
    );
}

fn left(law: &Law, beside: &str) -> String {
    format!("; {beside}{}", chance(law.test))
}

/// How well the runs agree.
fn chance(test: Option<Test>) -> String {
    let Some(t) = test else { return String::new() };
    let chance = if t.probability < 1e-3 { "below 0.1".to_owned() } else { format!("{:.1}", 100.0 * t.probability) };
    format!("; chi-squared {} of {}, chance {chance} %", show_plain(two_digits(t.chi2), ""), t.dof)
}
