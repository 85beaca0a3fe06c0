//! `trajet series`: several runs of one orifice together.

use super::at_once::{self, Pace};
use super::load::{self, Loaded, Named, NotLoaded};
use super::{Outcome, files, measure, say};
use crate::measure::series::{Run, SeriesFindings, analyse};
use crate::measure::{Draws, Findings};
use crate::notice::Notice;
use crate::report::{series_table, table};
use crate::sheet::Checked;
use crate::sheet::series::{self as sheets, OpenedRun, Series};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// `trajet series`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "A series (TOML) lists the sheets of its runs, states once what they share, and may tell a run by its\n\
    differences only:\n\n  \
    format = 1\n  \
    sheets = [\"c-run1.toml\", \"c-run2.toml\"]\n  \
    [shared]\n  \
    orifice = { diameter = \"10.00 mm ± 0.05 mm\", edge = \"sharp\" }\n  \
    [[run]]\n  \
    sheet = \"c-run3.toml\"\n  \
    head = { reading = \"750 mm ± 0.5 mm\" }\n\n\
    Example:\n  trajet series plate-c.toml --json > plate-c.json"
)]
pub struct Args {
    /// The series (TOML).
    #[arg(value_name = "SERIES")]
    pub series: PathBuf,
    /// Print the findings of the series as JSON.
    #[arg(long)]
    pub json: bool,
    /// Runs measured at the same time, each on one core with its photos in memory; left out, on all cores.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
    /// No notices and no progress on stderr; faults are told all the same.
    #[arg(long, short)]
    pub quiet: bool,
}

/// A run whose sheet is sound, before its photos are read.
struct Ready {
    name: String,
    sha256: String,
    sheet: Checked,
    notices: Vec<Notice>,
    folder: PathBuf,
    dry_folder: PathBuf,
}

/// What became of a series.
pub(crate) struct Analysed {
    pub found: SeriesFindings,
    /// The findings of its runs.
    pub runs: Vec<Findings>,
    /// Not [`Outcome::Done`] where a run was left out.
    pub outcome: Outcome,
}

/// Runs the command.
pub(crate) fn run(args: &Args) -> Outcome {
    let pace = Pace { jobs: args.jobs, quiet: args.quiet };
    let analysed = match analysed(&args.series, pace) {
        Ok(analysed) => analysed,
        Err(not) => {
            not.lines.iter().for_each(|l| say::line(l));
            return not.outcome;
        }
    };
    let text = if args.json {
        series_table::json(&analysed.found).map_err(|e| e.to_string())
    } else {
        Ok(series_table::text(&analysed.found, table::Paint(say::takes_colour())))
    };
    match text.and_then(|t| say::result(t.as_bytes()).map_err(|e| files::in_words(&e))) {
        Ok(()) => analysed.outcome,
        Err(e) => {
            say::line(&format!("cannot write the findings: {e}"));
            analysed.outcome.max(Outcome::Unusable)
        }
    }
}

/// Measures the runs of a series and analyses them together; runs that are left out are told on stderr.
pub(crate) fn analysed(path: &Path, pace: Pace) -> Result<Analysed, NotLoaded> {
    let (series, text, faults) = read(path, pace.quiet)?;
    let ready = open(path, &series, &text, faults)?;
    // Photos are read within, so that only those of the runs at work are in memory.
    let all = at_once::all(ready.len(), pace, |i| {
        load_run(&ready[i]).and_then(|loaded| measure::measured(loaded, Draws::None))
    });
    let mut outcome = Outcome::Done;
    let mut measured: Vec<(&str, Findings, Checked)> = Vec::new();
    for (run, result) in series.runs.iter().zip(all) {
        match result.unwrap_or_else(|| Err(NotLoaded::broken(&run.name))) {
            Ok((findings, sheet)) => {
                if !pace.quiet {
                    say::notices(&run.name, &findings.notices);
                }
                measured.push((&run.name, findings, sheet));
            }
            Err(not) => {
                not.lines.iter().for_each(|l| say::line(l));
                say::line(&format!("run {} is left out of the series", run.name));
                outcome = outcome.max(not.outcome);
            }
        }
    }
    if measured.is_empty() {
        return Err(NotLoaded { lines: Vec::new(), outcome });
    }
    let runs: Vec<Run> = measured.iter().map(|(name, findings, sheet)| Run { name, sheet, findings }).collect();
    let mut found = analyse(&load::name(path), &series.title, &runs);
    found.inputs.insert("trajet".into(), env!("CARGO_PKG_VERSION").into());
    found.inputs.insert("series sha256".into(), load::sha256(text.as_bytes()));
    if !pace.quiet {
        say::notices(&found.series, &found.notices);
    }
    Ok(Analysed { found, runs: measured.into_iter().map(|(_, findings, _)| findings).collect(), outcome })
}

fn text_of(what: &str, path: &Path) -> Result<String, NotLoaded> {
    let bytes = files::read(what, path).map_err(|line| NotLoaded { lines: vec![line], outcome: Outcome::Unusable })?;
    String::from_utf8(bytes).map_err(|_| NotLoaded {
        lines: vec![format!("{}: this is no {what}: not text (UTF-8)", load::name(path))],
        outcome: Outcome::Refused,
    })
}

/// The series' own text, with the faults of how it lists its sheets.
fn read(path: &Path, quiet: bool) -> Result<(Series, String, Vec<String>), NotLoaded> {
    let text = text_of("series", path)?;
    let name = load::name(path);
    let read = sheets::read(&text, &name);
    if !quiet {
        say::notices(&name, &read.notices);
    }
    let lines = read.faults.iter().map(|f| format!("{name}: {f}")).collect();
    match read.series {
        Some(series) => Ok((series, text, lines)),
        None => Err(NotLoaded { lines, outcome: Outcome::Refused }),
    }
}

/// Every sheet of the series, or every fault of all of them after those of the series itself, each told once.
fn open(path: &Path, series: &Series, text: &str, mut lines: Vec<String>) -> Result<Vec<Ready>, NotLoaded> {
    let folder = path.parent().unwrap_or(Path::new(""));
    let series_name = load::name(path);
    let mut ready = Vec::new();
    let mut told = BTreeSet::new();
    let mut outcome = Outcome::Refused;
    let mut real = BTreeSet::new();
    for (i, run) in series.runs.iter().enumerate().filter(|(_, run)| !run.faulty) {
        let at = run.sheet.as_ref().map(|sheet| folder.join(sheet));
        // What the text could not tell: links, other spellings, a sheet that is not there.
        if let Some(at) = &at {
            let says = match at.canonicalize() {
                Err(e) => Some(format!("cannot read the sheet: {}: {}", files::in_words(&e), at.display())),
                Ok(_) if files::same(at, path) => Some("the series lists itself".to_owned()),
                Ok(file) if !real.insert(file.clone()) => {
                    Some("this sheet is listed twice, by another name".to_owned())
                }
                Ok(_) => None,
            };
            if let Some(says) = says {
                if !at.exists() {
                    outcome = Outcome::Unusable;
                }
                let fault = series.fault(i, says, "list each sheet once, by its path relative to the series");
                lines.push(format!("{series_name}: {fault}"));
                continue;
            }
        }
        let sheet_text = match at.as_deref().map(|at| text_of("sheet", at)).transpose() {
            Ok(text) => text,
            Err(not) => {
                lines.extend(not.lines);
                outcome = outcome.max(not.outcome);
                continue;
            }
        };
        let opened = series.open_run(i, sheet_text.as_deref());
        let sheet_name = at.as_deref().map_or_else(|| run.name.clone(), load::name);
        for told_fault in &opened.faults {
            let file = if told_fault.in_series { &series_name } else { &sheet_name };
            let line = format!("{file}: {}", told_fault.fault);
            if told.insert(line.clone()) {
                lines.push(line);
            }
        }
        let sheet_folder = at.as_deref().and_then(Path::parent).unwrap_or(folder);
        let stated = format!("{}{text}", sheet_text.unwrap_or_default());
        ready.extend(ready_run(opened, sheet_name, &stated, folder, sheet_folder));
    }
    if lines.is_empty() { Ok(ready) } else { Err(NotLoaded { lines, outcome }) }
}

fn ready_run(opened: OpenedRun, name: String, stated: &str, series: &Path, sheet: &Path) -> Option<Ready> {
    let folder = |by_series: bool| if by_series { series } else { sheet }.to_owned();
    Some(Ready {
        name,
        sha256: load::sha256(stated.as_bytes()),
        folder: folder(opened.photos_by_series),
        dry_folder: folder(opened.dry_by_series),
        sheet: opened.opened.checked?,
        notices: opened.opened.notices,
    })
}

fn load_run(run: &Ready) -> Result<Loaded, NotLoaded> {
    let named =
        Named { name: run.name.clone(), sha256: run.sha256.clone(), folder: &run.folder, dry_folder: &run.dry_folder };
    load::photos(&named, run.sheet.clone(), run.notices.clone())
}
