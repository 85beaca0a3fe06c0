//! `trajet report`: the record as HTML or PDF, figures, and a workbook of several runs.

use super::load::{Loaded, load};
use super::{Outcome, files, say};
use crate::measure::{Findings, Job, measure};
use crate::report::{Paper, Record, html, svg, xlsx};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// `trajet report`
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    trajet report plate-c-run2.toml                        writes plate-c-run2.html beside it\n  \
    trajet report plate-c-run2.toml -o run2.pdf --paper letter\n  \
    trajet report run*.toml -o runs.xlsx                   stations and runs, numbers as numbers\n  \
    trajet report plate-c-run2.toml --figures figures      also each figure as SVG and PNG")]
pub struct Report {
    /// Bench sheets (TOML); several only for a workbook, or without -o.
    #[arg(required = true, value_name = "SHEET")]
    pub sheets: Vec<PathBuf>,
    /// Where to write it: the ending says what, .html, .pdf or .xlsx. Without it, HTML beside each sheet.
    #[arg(long, short, value_name = "OUT")]
    pub output: Option<PathBuf>,
    /// The paper to print on.
    #[arg(long, value_enum, default_value_t = OnPaper::A4)]
    pub paper: OnPaper,
    /// Also write every figure into this folder.
    #[arg(long, value_name = "FOLDER")]
    pub figures: Option<PathBuf>,
    /// No notices on stderr; they are in the record all the same.
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

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Html,
    Pdf,
    Xlsx,
}

/// Runs the command.
pub(crate) fn run(args: &Report) -> Outcome {
    let kind = match kind(args) {
        Ok(kind) => kind,
        Err(line) => return unusable(&line),
    };
    if let Some(out) = &args.output
        && let Some(sheet) = args.sheets.iter().find(|s| files::same(s, out))
    {
        return unusable(&format!("-o names a sheet; choose another file: {}", sheet.display()));
    }
    let mut outcome = Outcome::Done;
    let mut runs = Vec::new();
    for path in &args.sheets {
        match one(args, path, kind) {
            Ok(findings) => runs.push(findings),
            Err((lines, o)) => {
                lines.iter().for_each(|l| say::line(l));
                outcome = outcome.max(o);
            }
        }
    }
    if let (Kind::Xlsx, Some(out), false) = (kind, &args.output, runs.is_empty()) {
        let told = xlsx::workbook(&runs).map_err(|e| e.to_string()).and_then(|b| files::write("workbook", out, &b));
        if let Err(line) = told {
            return unusable(&line);
        }
    }
    outcome
}

fn unusable(line: &str) -> Outcome {
    say::line(line);
    Outcome::Unusable
}

/// What the ending of the output asks for.
fn kind(args: &Report) -> Result<Kind, String> {
    let Some(out) = &args.output else { return Ok(Kind::Html) };
    let kind = match out.extension().and_then(|e| e.to_str()).map(str::to_lowercase).as_deref() {
        Some("html" | "htm") => Kind::Html,
        Some("pdf") if cfg!(feature = "pdf") => Kind::Pdf,
        Some("pdf") => return Err("this build makes no PDF; write .html and print it to PDF".into()),
        Some("xlsx") => Kind::Xlsx,
        _ => return Err(format!("the ending says what to write, .html, .pdf or .xlsx: {}", out.display())),
    };
    if kind != Kind::Xlsx && args.sheets.len() > 1 {
        return Err("one record holds one sheet; leave out -o to write one beside each, or write .xlsx".into());
    }
    Ok(kind)
}

type Failed = (Vec<String>, Outcome);

fn one(args: &Report, path: &Path, kind: Kind) -> Result<Findings, Failed> {
    let mut loaded = load(path).map_err(|not| (not.lines, not.outcome))?;
    let job = Job {
        sheet_name: &loaded.name,
        sheet: &loaded.sheet,
        photos: &loaded.photos,
        dry: loaded.dry.as_ref(),
        notices: std::mem::take(&mut loaded.notices),
        inputs: std::mem::take(&mut loaded.inputs),
        seed: loaded.seed,
        draws: crate::measure::Draws::Fixed(20_000),
    };
    let refused = |line: String| (line.lines().map(|l| format!("{}: {l}", loaded.name)).collect(), Outcome::Refused);
    let findings = measure(&job).map_err(|e| refused(e.to_string()))?;
    if !args.quiet {
        say::notices(&findings.sheet, &findings.notices);
    }
    write(args, path, kind, &loaded, &findings).map_err(|line| (vec![line], Outcome::Unusable))?;
    Ok(findings)
}

fn write(args: &Report, path: &Path, kind: Kind, loaded: &Loaded, findings: &Findings) -> Result<(), String> {
    let record = Record { findings, sheet: &loaded.sheet, photo: loaded.photos.first() };
    let out = args.output.clone().unwrap_or_else(|| path.with_extension("html"));
    match kind {
        Kind::Html => files::write("report", &out, html(&record, args.paper.into()).as_bytes())?,
        Kind::Pdf => files::write("report", &out, &pdf(&record, args.paper.into())?)?,
        Kind::Xlsx => {}
    }
    let Some(folder) = &args.figures else { return Ok(()) };
    std::fs::create_dir_all(folder)
        .map_err(|e| format!("cannot make the folder: {}: {}", files::in_words(&e), folder.display()))?;
    let stem = path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    for figure in record.figures() {
        let at = |ending: &str| folder.join(format!("{stem}-{}.{ending}", figure.name));
        files::write("figure", &at("svg"), svg::svg(&figure, svg::Place::File).as_bytes())?;
        #[cfg(feature = "pdf")]
        files::write("figure", &at("png"), &crate::report::png::png(&figure).map_err(|e| e.to_string())?)?;
    }
    Ok(())
}

#[cfg(feature = "pdf")]
fn pdf(record: &Record, paper: Paper) -> Result<Vec<u8>, String> {
    crate::report::pdf::pdf(record, paper).map_err(|e| e.to_string())
}

#[cfg(not(feature = "pdf"))]
fn pdf(_: &Record, _: Paper) -> Result<Vec<u8>, String> {
    Err("this build makes no PDF".into())
}
