//! One record: of a sheet, of a series, or of findings that were kept.

use super::super::at_once::Pace;
use super::super::into::{Into, inputs_now};
use super::super::load::{self, NotLoaded, load};
use super::super::{Outcome, files, measure, series};
use super::{Kind, Report};
use crate::measure::Findings;
use crate::notice::Notice;
use crate::photo::Photo;
use crate::report::record::Document;
use crate::report::{Paper, Record, html, json, svg, xlsx};
use crate::sheet::{self, Checked, What};
use std::path::{Path, PathBuf};

/// What is to be made.
pub(super) struct Task<'a> {
    pub args: &'a Report,
    pub kind: Kind,
    pub into: Option<&'a Into>,
    pub many: bool,
    pub i: usize,
    pub path: &'a Path,
}

/// What was made.
#[derive(Default)]
pub(super) struct Made {
    /// Whether it was there already.
    pub kept: bool,
    pub notices: (String, Vec<Notice>),
    /// For the workbook of all.
    pub runs: Vec<Findings>,
    /// Not [`Outcome::Done`] where a run of a series was left out.
    pub outcome: Outcome,
}

/// Makes one record.
pub(super) fn make(task: &Task) -> Result<Made, NotLoaded> {
    if task.path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json")) {
        return of_kept(task);
    }
    let text = files::read("sheet", task.path).ok().and_then(|bytes| String::from_utf8(bytes).ok());
    match text.map(|text| sheet::what_is(&text)) {
        Some(What::Series) => of_series(task),
        _ => of_sheet(task),
    }
}

fn of_sheet(task: &Task) -> Result<Made, NotLoaded> {
    if let Some(into) = task.into
        && let Some(now) = inputs_now(task.path, task.args.draws)
        && into.done(task.i, &now, Some(task.kind.ending())).is_some()
    {
        return Ok(Made { kept: true, ..Made::default() });
    }
    let mut loaded = load(task.path)?;
    let findings = measure::findings(&mut loaded, task.args.draws)?;
    write_run(task, &findings, Some(&loaded.sheet), loaded.photos.first())?;
    if let Some(into) = task.into {
        into.write(task.i, &findings).map_err(NotLoaded::unusable)?;
    }
    Ok(made(task, findings))
}

fn made(task: &Task, findings: Findings) -> Made {
    let notices = (findings.sheet.clone(), findings.notices.clone());
    let runs = if task.kind == Kind::Xlsx { vec![findings] } else { Vec::new() };
    Made { notices, runs, ..Made::default() }
}

/// Of findings that were kept, by this version or an earlier one. Nothing is measured; sheet and photo are shown where
/// they lie beside the findings and are still those that were measured.
fn of_kept(task: &Task) -> Result<Made, NotLoaded> {
    let name = load::name(task.path);
    let refused = |line: String| NotLoaded { lines: vec![format!("{name}: {line}")], outcome: Outcome::Refused };
    let bytes = files::read("findings", task.path).map_err(NotLoaded::unusable)?;
    let text = String::from_utf8(bytes).map_err(|_| refused("these are no findings: not text (UTF-8)".into()))?;
    let all = json::read(&text).map_err(|e| {
        refused(format!("these are no findings of a sheet: {e}\n  hint: `trajet measure SHEET --json` writes them"))
    })?;
    if let Some(f) = all.iter().find(|f| f.format != 1) {
        return Err(refused(format!("format {} is not known here\n  hint: this version reads format 1", f.format)));
    }
    let (not_measured, measured): (Vec<Findings>, Vec<Findings>) = all.into_iter().partition(|f| !f.refused.is_empty());
    let mut all = measured;
    let named = |f: &Findings| Notice::new("sheet", format!("{} could not be measured: it is left out", f.sheet));
    let left_out: Vec<Notice> = not_measured.iter().map(named).collect();
    if let (true, Some(one)) = (all.is_empty(), not_measured.first()) {
        return Err(refused(format!("nothing was measured: {}", one.refused.join("\n"))));
    }
    if task.kind == Kind::Xlsx {
        return Ok(Made { runs: all, notices: (name, left_out), ..Made::default() });
    }
    let (Some(findings), true) = (all.pop(), all.is_empty()) else {
        return Err(refused("one record holds the findings of one sheet; write .xlsx for several".into()));
    };
    let folder = task.path.parent().unwrap_or(Path::new(""));
    // a name from a file is no path
    let beside = Path::new(&findings.sheet).file_name().map(|name| folder.join(name));
    let loaded = beside.filter(|path| path.is_file()).and_then(|path| load(&path).ok());
    let same = |key: &str| loaded.as_ref().is_some_and(|l| l.inputs.get(key) == findings.inputs.get(key));
    let known = loaded.as_ref().filter(|_| same("sheet sha256"));
    let photo = known.filter(|_| same("photo sha256")).and_then(|l| l.photos.first());
    let mut notices = left_out;
    if known.is_none() {
        let says =
            "the sheet is not beside the findings, or was changed since: the record shows neither sheet nor photo";
        notices.push(Notice::new("sheet", says).hint(format!("put {} beside them as it was", findings.sheet)));
    } else if photo.is_none() {
        notices.push(Notice::new("photo", "the photo was changed since it was measured: the record does not show it"));
    }
    write_run(task, &findings, known.map(|l| &l.sheet), photo)?;
    Ok(Made { notices: (name, notices), ..Made::default() })
}

fn of_series(task: &Task) -> Result<Made, NotLoaded> {
    // beside others it has one core, alone all of them
    let jobs = if task.many { Some(1) } else { task.args.jobs };
    let analysed = series::analysed(task.path, Pace { jobs, quiet: task.args.quiet || task.many })?;
    let document = crate::report::series::document(&analysed.found);
    if task.kind == Kind::Xlsx {
        if task.many {
            let line = "a workbook holds one series or several sheets, not both";
            return Err(NotLoaded::unusable(format!("{line}: {}", task.path.display())));
        }
        let bytes = xlsx::of_series(&analysed.found, &analysed.runs).map_err(|e| NotLoaded::unusable(e.to_string()))?;
        files::write("workbook", &out(task), &bytes).map_err(NotLoaded::unusable)?;
    }
    write(task, document)?;
    Ok(Made { outcome: analysed.outcome, ..Made::default() })
}

fn write_run(
    task: &Task,
    findings: &Findings,
    sheet: Option<&Checked>,
    photo: Option<&Photo>,
) -> Result<(), NotLoaded> {
    write(task, Record { findings, sheet, photo }.document())
}

/// Where the record goes.
fn out(task: &Task) -> PathBuf {
    match (&task.args.output, task.into) {
        (Some(out), _) => out.clone(),
        (None, Some(into)) => into.file(task.i, task.kind.ending()),
        (None, None) => task.path.with_extension(task.kind.ending()),
    }
}

/// The record, and its figures where they are asked for.
fn write(task: &Task, document: Document) -> Result<(), NotLoaded> {
    let paper = Paper::from(task.args.paper);
    let written = match task.kind {
        Kind::Html => files::write("report", &out(task), html::page(&document, paper).as_bytes()),
        Kind::Pdf => pdf(&document, paper).and_then(|bytes| files::write("report", &out(task), &bytes)),
        Kind::Xlsx => Ok(()),
    };
    written.and_then(|()| figures(task, document)).map_err(NotLoaded::unusable)
}

fn figures(task: &Task, document: Document) -> Result<(), String> {
    let Some(folder) = &task.args.figures else { return Ok(()) };
    // of many, sheets of one name lie in folders of their own
    let below = if task.many { task.path.parent().map(super::super::into::below) } else { None };
    let folder = below.map_or_else(|| folder.clone(), |below| folder.join(below));
    let stem = task.path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    for figure in document.figures() {
        let at = |ending: &str| folder.join(format!("{stem}-{}.{ending}", figure.name));
        files::make_folder_of(&at("svg"))?;
        files::write("figure", &at("svg"), svg::svg(&figure, svg::Place::File).as_bytes())?;
        #[cfg(feature = "pdf")]
        files::write("figure", &at("png"), &crate::report::png::png(&figure).map_err(|e| e.to_string())?)?;
    }
    Ok(())
}

#[cfg(feature = "pdf")]
fn pdf(document: &Document, paper: Paper) -> Result<Vec<u8>, String> {
    crate::report::pdf::set(document, paper).map_err(|e| e.to_string())
}

#[cfg(not(feature = "pdf"))]
fn pdf(_: &Document, _: Paper) -> Result<Vec<u8>, String> {
    Err("this build makes no PDF".into())
}
