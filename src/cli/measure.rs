//! `trajet measure`: one sheet, or many in the order given.

use super::at_once::{Pace, in_order};
use super::gather::Gathered;
use super::into::{Into, inputs_now};
use super::load::{self, NotLoaded, load};
use super::{Outcome, args, files, say, stop};
use crate::measure::{Draws, Findings, Job, measure};
use crate::notice::Notice;
use crate::report::summary::{self, Row};
use crate::report::{csv, json, table};
use crate::sheet::Checked;
use std::path::{Path, PathBuf};

/// What is kept of one sheet until it is told.
struct Done {
    row: summary::Shown,
    /// Whether it was there already.
    kept: bool,
    /// What goes to stdout.
    text: String,
    /// What goes to the table of stations.
    stations: Vec<u8>,
    notices: (String, Vec<Notice>),
}

/// Runs the command.
pub(crate) fn run(args: &args::Measure) -> Outcome {
    match begin(args) {
        Ok((gathered, into, stations)) => all(args, &gathered, into.as_ref(), stations),
        Err(line) => {
            say::line(&line);
            Outcome::Unusable
        }
    }
}

/// All that can fail before anything is measured.
fn begin(args: &args::Measure) -> Result<(Gathered, Option<Into>, Option<files::Growing>), String> {
    let gathered = args.which.gather()?;
    if let Some(out) = &args.stations
        && let Some(what) = would_be_lost(&gathered.sheets, out)
    {
        return Err(format!("--stations names {what}; choose another file: {}", out.display()));
    }
    let into = args.into.as_deref().map(|folder| Into::new(folder, &gathered.sheets)).transpose()?;
    let stations = args.stations.as_deref().map(|path| files::Growing::new("stations", path)).transpose()?;
    Ok((gathered, into, stations))
}

/// Which input `out` would be written over, if any.
fn would_be_lost(sheets: &[PathBuf], out: &Path) -> Option<&'static str> {
    if sheets.iter().any(|sheet| files::same(sheet, out)) {
        return Some("a sheet");
    }
    let mut photos = sheets.iter().flat_map(|sheet| load::photos_named_by(sheet));
    photos.any(|photo| files::same(&photo, out)).then_some("a photo of a sheet")
}

fn all(args: &args::Measure, gathered: &Gathered, into: Option<&Into>, stations: Option<files::Growing>) -> Outcome {
    let sheets = &gathered.sheets;
    stop::listen();
    let mut told = Told {
        args,
        many: gathered.many,
        stations,
        rows: Vec::new(),
        faults: Vec::new(),
        kept: 0,
        printed: 0,
        elements: 0,
        outcome: Outcome::Done,
    };
    let pace = Pace { jobs: args.jobs, quiet: args.quiet };
    let whole = in_order(
        sheets.len(),
        pace,
        |i| one(args, gathered.many, i, &sheets[i], into),
        |i, done| told.tell(&sheets[i], done.unwrap_or_else(|| Err(NotLoaded::broken(&load::name(&sheets[i]))))),
    );
    told.end(sheets.len(), whole)
}

/// One sheet: what is there already, or measured and written.
fn one(args: &args::Measure, many: bool, i: usize, path: &Path, into: Option<&Into>) -> Result<Done, NotLoaded> {
    let there = into.and_then(|into| into.done(i, &inputs_now(path, args.draws())?, None));
    let kept = there.is_some();
    let findings = match there {
        Some(findings) => findings,
        None => {
            let (findings, _) = load(path).and_then(|loaded| measured(loaded, args.draws()))?;
            if let Some(into) = into {
                into.write(i, &findings).map_err(NotLoaded::unusable)?;
            }
            findings
        }
    };
    let failed = |e: serde_json::Error| NotLoaded::unusable(format!("cannot write the findings: {e}"));
    let text = match (into, args.json) {
        (Some(_), _) => String::new(),
        (None, false) => table::text(&findings, table::Paint(say::takes_colour())),
        (None, true) if many => json::element(&findings).map_err(failed)?,
        (None, true) => json::text(std::slice::from_ref(&findings)).map_err(failed)?,
    };
    let stations = match args.stations {
        Some(_) => csv::rows(&findings).map_err(|e| NotLoaded::unusable(e.to_string()))?,
        None => Vec::new(),
    };
    Ok(Done { row: (&findings).into(), kept, text, stations, notices: (findings.sheet, findings.notices) })
}

/// Measures what was loaded, with these Monte Carlo draws; gives its sheet back.
pub(crate) fn measured(mut loaded: load::Loaded, draws: Draws) -> Result<(Findings, Checked), NotLoaded> {
    findings(&mut loaded, draws).map(|findings| (findings, loaded.sheet))
}

/// The same, and what was loaded stays.
pub(crate) fn findings(loaded: &mut load::Loaded, draws: Draws) -> Result<Findings, NotLoaded> {
    let mut inputs = std::mem::take(&mut loaded.inputs);
    inputs.extend(draws.stated().map(|n| ("draws".to_owned(), n)));
    let job = Job {
        sheet_name: &loaded.name,
        sheet: &loaded.sheet,
        photos: &loaded.photos,
        dry: loaded.dry.as_ref(),
        notices: std::mem::take(&mut loaded.notices),
        inputs,
        seed: loaded.seed,
        draws,
    };
    measure(&job).map_err(|refused| {
        let line = |r: &Notice| {
            let hint = r.hint.as_ref().map_or(String::new(), |h| format!("\n  hint: {h}"));
            format!("{}: {}: {}{hint}", loaded.name, r.about, r.says)
        };
        NotLoaded { lines: refused.reasons.iter().map(line).collect(), outcome: Outcome::Refused }
    })
}

/// What was told so far, and what is told at the end.
struct Told<'a> {
    args: &'a args::Measure,
    many: bool,
    stations: Option<files::Growing>,
    rows: Vec<Row>,
    faults: Vec<String>,
    kept: usize,
    /// Sheets whose findings were told, and elements of the array of many.
    printed: usize,
    elements: usize,
    outcome: Outcome,
}

impl Told<'_> {
    /// Tells one sheet; the others follow.
    fn tell(&mut self, sheet: &Path, done: Result<Done, NotLoaded>) {
        let row = |found| Row { sheet: sheet.display().to_string(), found };
        let done = match done {
            Ok(done) => done,
            Err(not) => {
                self.rows.push(row(None));
                if self.args.json && self.many && self.args.into.is_none() {
                    self.element(&json::element(&Findings::none(&load::name(sheet), not.lines.clone())));
                }
                self.faults.extend(not.lines);
                self.outcome = self.outcome.max(not.outcome);
                return;
            }
        };
        self.rows.push(row(Some(done.row)));
        self.kept += usize::from(done.kept);
        // with --into they stand in the files
        if !self.args.quiet && self.args.into.is_none() {
            say::notices(&done.notices.0, &done.notices.1);
        }
        match (self.args.into.is_none(), self.args.json && self.many) {
            (true, true) => self.element(&Ok(done.text)),
            (true, false) => self.print(&format!("{}{}", if self.printed == 0 { "" } else { "\n" }, done.text)),
            (false, _) => {}
        }
        let mut grown = Ok(());
        if let Some(growing) = &mut self.stations {
            let head = if self.printed == 0 { csv::head().map_err(|e| e.to_string()) } else { Ok(Vec::new()) };
            grown = head.and_then(|head| growing.add(&head)).and_then(|()| growing.add(&done.stations));
        }
        if let Err(line) = grown {
            self.fault(line);
            self.stations = None;
        }
        self.printed += 1;
    }

    /// One more element of the array of many sheets.
    fn element(&mut self, text: &Result<String, serde_json::Error>) {
        let before = if self.elements == 0 { json::OPEN } else { json::BETWEEN };
        match text {
            Ok(text) => {
                self.print(&format!("{before}{text}"));
                self.elements += 1;
            }
            Err(e) => self.fault(format!("cannot write the findings: {e}")),
        }
    }

    /// The end: the summary of many, every fault, and the files that grew.
    fn end(mut self, count: usize, whole: bool) -> Outcome {
        let args = self.args;
        if args.json && self.many {
            self.print(if self.elements == 0 { json::EMPTY } else { json::CLOSE });
        } else if self.many || args.into.is_some() {
            let text = summary::text(&self.rows, table::Paint(say::takes_colour()));
            let before = if self.printed > 0 && args.into.is_none() { "\n" } else { "" };
            self.print(&format!("{before}{text}"));
        }
        match self.stations.take() {
            Some(growing) if whole && self.printed > 0 => {
                if let Err(line) = growing.finish() {
                    self.fault(line);
                }
            }
            Some(_) if !whole => self.faults.push("the table of stations is not written: not all was measured".into()),
            _ => {}
        }
        self.faults.iter().for_each(|line| say::line(line));
        if !args.quiet && self.rows.len() > 1 {
            say::line(&self.counts(count));
        }
        if whole { self.outcome } else { Outcome::Stopped }
    }

    /// `200 sheets: 150 measured, 48 already there, 2 not measured`.
    fn counts(&self, count: usize) -> String {
        let failed = self.rows.iter().filter(|r| r.found.is_none()).count();
        let left = count - self.rows.len();
        let parts = [
            (self.rows.len() - failed - self.kept, "measured"),
            (self.kept, "already there"),
            (failed, "not measured"),
            (left, "not begun"),
        ];
        let told: Vec<String> = parts.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
        format!("{count} sheets: {}", told.join(", "))
    }

    fn print(&mut self, text: &str) {
        if let Err(e) = say::result(text.as_bytes()) {
            self.fault(format!("cannot write the findings: {}", files::in_words(&e)));
        }
    }

    fn fault(&mut self, line: String) {
        self.faults.push(line);
        self.outcome = self.outcome.max(Outcome::Unusable);
    }
}
