//! `trajet report`: records as HTML or PDF, figures, and workbooks, of sheets, of a series, of findings that were kept.

mod make;

use super::at_once::{Pace, in_order};
use super::gather::{Gathered, Which};
use super::into::Into;
use super::load::{self, NotLoaded};
use super::{Outcome, files, say, stop};
use crate::measure::{Draws, Findings};
use crate::report::{Paper, xlsx};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// `trajet report`
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    trajet report plate-c-run2.toml                        writes plate-c-run2.html beside it\n  \
    trajet report plate-c-run2.toml -o run2.pdf --paper letter\n  \
    trajet report run*.toml -o runs.xlsx                   stations and runs, numbers as numbers\n  \
    trajet report plate-c-run2.toml --figures figures      also each figure as SVG and PNG\n  \
    trajet report plate-c.toml -o plate-c.pdf              a series: its curves over the head\n  \
    trajet report run2.json -o run2.html                   findings that were kept, measured again by nobody\n  \
    trajet report runs --into records --as pdf             a record and findings for every sheet below runs\n\n\
    With --into, what is there already of the same sheet, photos and version is skipped.")]
pub struct Report {
    /// What to report: sheets, and by name also a series (TOML) or findings that were kept (JSON).
    #[command(flatten)]
    pub which: Which,
    /// Where to write it: the ending says what, .html, .pdf or .xlsx. Without it, a record beside each sheet.
    #[arg(long, short, value_name = "OUT", conflicts_with_all = ["into", "kind"])]
    pub output: Option<PathBuf>,
    /// Write the record of each sheet into this folder, with its findings as JSON, and skip what is there already.
    #[arg(long, value_name = "FOLDER")]
    pub into: Option<PathBuf>,
    /// What records are written as where -o does not say.
    #[arg(long = "as", value_enum, default_value_t = Kind::Html, value_name = "KIND")]
    pub kind: Kind,
    /// The paper to print on.
    #[arg(long, value_enum, default_value_t = OnPaper::A4)]
    pub paper: OnPaper,
    /// Also write every figure into this folder.
    #[arg(long, value_name = "FOLDER")]
    pub figures: Option<PathBuf>,
    /// Draws of the Monte Carlo (JCGM 101) beside the budget; `auto`: until two digits of every standard uncertainty are
    /// stable, at most 1000000.
    #[arg(long, value_name = "N", default_value = "20000", value_parser = super::args::draws)]
    pub draws: Draws,
    /// Sheets measured at the same time, each on one core with its photos in memory; left out, on all cores.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
    /// No notices and no progress on stderr; they are in the record all the same.
    #[arg(long, short)]
    pub quiet: bool,
}

/// Paper as it is typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum OnPaper {
    /// 210 mm x 297 mm.
    A4,
    /// 297 mm x 420 mm.
    A3,
    /// 8.5 in x 11 in.
    Letter,
}

impl From<OnPaper> for Paper {
    fn from(paper: OnPaper) -> Self {
        match paper {
            OnPaper::A4 => Self::A4,
            OnPaper::A3 => Self::A3,
            OnPaper::Letter => Self::Letter,
        }
    }
}

/// What a record is written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// A page that needs no other file.
    Html,
    /// Pages to print.
    Pdf,
    /// A workbook; named by the ending of -o.
    #[value(skip)]
    Xlsx,
}

impl Kind {
    fn ending(self) -> &'static str {
        match self {
            Self::Html => "html",
            Self::Pdf => "pdf",
            Self::Xlsx => "xlsx",
        }
    }
}

/// Runs the command.
pub(crate) fn run(args: &Report) -> Outcome {
    match begin(args) {
        Ok((gathered, kind, into)) => all(args, &gathered, kind, into.as_ref()),
        Err(line) => {
            say::line(&line);
            Outcome::Unusable
        }
    }
}

/// All that can fail before anything is measured.
fn begin(args: &Report) -> Result<(Gathered, Kind, Option<Into>), String> {
    let gathered = args.which.gather()?;
    let kind = kind(args, gathered.many)?;
    if let Some(out) = &args.output
        && let Some(sheet) = gathered.sheets.iter().find(|s| files::same(s, out))
    {
        return Err(format!("-o names a sheet; choose another file: {}", sheet.display()));
    }
    let into = args.into.as_deref().map(|folder| Into::new(folder, &gathered.sheets)).transpose()?;
    Ok((gathered, kind, into))
}

/// What the ending of the output asks for, else `--as`.
fn kind(args: &Report, many: bool) -> Result<Kind, String> {
    let kind = match &args.output {
        None => args.kind,
        Some(out) => match out.extension().and_then(|e| e.to_str()).map(str::to_lowercase).as_deref() {
            Some("html" | "htm") => Kind::Html,
            Some("pdf") => Kind::Pdf,
            Some("xlsx") => Kind::Xlsx,
            _ => return Err(format!("the ending says what to write, .html, .pdf or .xlsx: {}", out.display())),
        },
    };
    if kind == Kind::Pdf && !cfg!(feature = "pdf") {
        return Err("this build makes no PDF; write .html and print it to PDF".into());
    }
    if kind != Kind::Xlsx && many && args.output.is_some() {
        return Err("one record holds one sheet; leave out -o to write one beside each, or write .xlsx".into());
    }
    Ok(kind)
}

fn all(args: &Report, gathered: &Gathered, kind: Kind, into: Option<&Into>) -> Outcome {
    let sheets = &gathered.sheets;
    stop::listen();
    let mut outcome = Outcome::Done;
    let mut runs: Vec<Findings> = Vec::new();
    let (mut faults, mut told, mut kept) = (Vec::new(), 0, 0);
    let pace = Pace { jobs: args.jobs, quiet: args.quiet };
    let whole = in_order(
        sheets.len(),
        pace,
        |i| make::make(&make::Task { args, kind, into, many: gathered.many, i, path: &sheets[i] }),
        |i, made| {
            told += 1;
            match made.unwrap_or_else(|| Err(NotLoaded::broken(&load::name(&sheets[i])))) {
                Ok(mut made) => {
                    kept += usize::from(made.kept);
                    outcome = outcome.max(made.outcome);
                    if !args.quiet && into.is_none() {
                        say::notices(&made.notices.0, &made.notices.1);
                    }
                    runs.append(&mut made.runs);
                }
                Err(not) => {
                    outcome = outcome.max(not.outcome);
                    faults.push(not.lines);
                }
            }
        },
    );
    faults.iter().flatten().for_each(|line| say::line(line));
    if let (Kind::Xlsx, Some(out), false, true) = (kind, &args.output, runs.is_empty(), whole) {
        let book = xlsx::workbook(&runs).map_err(|e| e.to_string());
        if let Err(line) = book.and_then(|bytes| files::write("workbook", out, &bytes)) {
            say::line(&line);
            outcome = Outcome::Unusable;
        }
    }
    if !args.quiet && gathered.many {
        let (count, failed) = (sheets.len(), faults.len());
        let parts = [
            (told - failed - kept, "reported"),
            (kept, "already there"),
            (failed, "not reported"),
            (count - told, "not begun"),
        ];
        let parts: Vec<String> = parts.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
        say::line(&format!("{count} {}: {}", if count == 1 { "sheet" } else { "sheets" }, parts.join(", ")));
    }
    if whole { outcome } else { Outcome::Stopped }
}
