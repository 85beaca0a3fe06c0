//! `trajet measure`: several sheets at once, results in the order given.

use super::load::{self, load};
use super::{Outcome, args, files, say};
use crate::measure::{Findings, Job, measure};
use crate::report::{csv, json, table};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Most sheets at once where `--jobs` does not say: each holds its photos in memory, and one alone uses all cores part of the time.
const MOST_JOBS: usize = 4;

/// What became of one sheet.
enum Measured {
    Found(Box<Findings>),
    Not { lines: Vec<String>, outcome: Outcome },
}

/// Runs the command.
pub(crate) fn run(args: &args::Measure) -> Outcome {
    if let Some(out) = &args.stations
        && let Some(sheet) = args.sheets.iter().find(|s| files::same(s, out))
    {
        say::line(&format!("--stations names a sheet; choose another file: {}", sheet.display()));
        return Outcome::Unusable;
    }
    let all = measure_all(args);
    let mut outcome = Outcome::Done;
    let mut found = Vec::new();
    for measured in all {
        match measured {
            Measured::Found(f) => {
                if !args.quiet {
                    say::notices(&f.sheet, &f.notices);
                }
                found.push(*f);
            }
            Measured::Not { lines, outcome: o } => {
                lines.iter().for_each(|l| say::line(l));
                outcome = outcome.max(o);
            }
        }
    }
    outcome.max(print(args, &found)).max(stations(args, &found))
}

/// Measures every sheet, `--jobs` at a time.
fn measure_all(args: &args::Measure) -> Vec<Measured> {
    let count = args.sheets.len();
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let jobs = args.jobs.map_or(cores.min(MOST_JOBS), usize::from).min(count);
    let bar = progress(count as u64, args.quiet);
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<Option<Measured>>> = Mutex::new((0..count).map(|_| None).collect());
    std::thread::scope(|scope| {
        for _ in 0..jobs {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    let Some(path) = args.sheets.get(i) else { break };
                    let measured = one(path);
                    if let Ok(mut done) = done.lock() {
                        done[i] = Some(measured);
                    }
                    bar.inc(1);
                }
            });
        }
    });
    bar.finish_and_clear();
    let done = done.into_inner().unwrap_or_default();
    done.into_iter().flatten().collect()
}

fn one(path: &Path) -> Measured {
    let loaded = match load(path) {
        Ok(loaded) => loaded,
        Err(not) => return Measured::Not { lines: not.lines, outcome: not.outcome },
    };
    let job = Job {
        sheet_name: &loaded.name,
        sheet: &loaded.sheet,
        photos: &loaded.photos,
        dry: loaded.dry.as_ref(),
        notices: loaded.notices,
        inputs: loaded.inputs,
        seed: loaded.seed,
    };
    match measure(&job) {
        Ok(findings) => Measured::Found(Box::new(findings)),
        Err(refused) => {
            let line = |r: &crate::notice::Notice| {
                let hint = r.hint.as_ref().map_or(String::new(), |h| format!("\n  hint: {h}"));
                format!("{}: {}: {}{hint}", load::name(path), r.about, r.says)
            };
            Measured::Not { lines: refused.reasons.iter().map(line).collect(), outcome: Outcome::Refused }
        }
    }
}

fn progress(count: u64, quiet: bool) -> ProgressBar {
    if quiet || count < 2 || !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(count), ProgressDrawTarget::stderr());
    if let Ok(style) = ProgressStyle::with_template("{bar:32} {pos} of {len} sheets, {eta} left") {
        bar.set_style(style);
    }
    bar
}

fn print(args: &args::Measure, found: &[Findings]) -> Outcome {
    let text = if args.json {
        // several sheets asked for are an array even where one only was measured
        match found {
            [] if args.sheets.len() == 1 => return Outcome::Done,
            [one] if args.sheets.len() > 1 => json::array(std::slice::from_ref(one)),
            [] => Ok("[]\n".to_owned()),
            some => json::text(some),
        }
    } else {
        let paint = table::Paint(say::takes_colour());
        Ok(found.iter().map(|f| table::text(f, paint)).collect::<Vec<_>>().join("\n"))
    };
    let told = text.map_err(|e| e.to_string()).and_then(|t| say::result(t.as_bytes()).map_err(|e| files::in_words(&e)));
    match told {
        Ok(()) => Outcome::Done,
        Err(e) => {
            say::line(&format!("cannot write the findings: {e}"));
            Outcome::Unusable
        }
    }
}

fn stations(args: &args::Measure, found: &[Findings]) -> Outcome {
    let Some(path) = &args.stations else { return Outcome::Done };
    if found.is_empty() {
        return Outcome::Done;
    }
    let told = csv::stations(found).map_err(|e| e.to_string()).and_then(|bytes| files::write("stations", path, &bytes));
    match told {
        Ok(()) => Outcome::Done,
        Err(e) => {
            say::line(&e);
            Outcome::Unusable
        }
    }
}
