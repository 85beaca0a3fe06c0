//! Several runs of one orifice, analysed together: from the findings of the runs to pooled coefficients and how they
//! go with the head.
//!
//! ```text
//! findings of each run --signal--> values + signed contributions of every input
//! sheets of the runs   --shared--> which inputs are one and the same thing in which runs
//!                      both -----> covariance -> pooled Cv, Cd, Cc | V^2 against H | Q against H | trend with H
//! ```
//! Two runs measured with one orifice of uncertain diameter err together in Cd: averaging them does not make the
//! diameter better known. So every result is had by generalised least squares (A. C. Aitken, 1935, Proc. R. Soc. Edinb.
//! 55:42) with the covariance that the shared inputs cause. Pure: no file, no clock, no random number.

mod covariance;
mod findings;
mod laws;
mod line;
mod pool;
mod shared;

pub use findings::{HeadLine, InputShare, Law, Pooled, RunRow, SeriesFindings, Test};

use super::{Findings, Found};
use crate::notice::{Notice, gravest_first};
use crate::sheet::Checked;
use covariance::Signal;
use shared::Sharing;

/// One run of a series.
#[derive(Clone, Copy, Debug)]
pub struct Run<'a> {
    /// What the run is called in tables and notices.
    pub name: &'a str,
    /// Its sheet: tells which inputs it shares with others.
    pub sheet: &'a Checked,
    /// What was found, as [`super::measure`] gave it (findings read back from JSON have lost their contributions, and
    /// would be taken for exact).
    pub findings: &'a Findings,
}

/// The coefficients that are pooled, by their keys in the findings.
pub const COEFFICIENTS: [&str; 3] = ["cv", "cd", "cc"];

/// Analyses runs of one orifice together. What cannot be told of them is `None` or missing, with a notice.
pub fn analyse(series: &str, title: &str, runs: &[Run]) -> SeriesFindings {
    let mut told = SeriesFindings {
        format: 1,
        series: series.to_owned(),
        title: title.to_owned(),
        runs: runs.iter().map(row).collect(),
        ..SeriesFindings::default()
    };
    let sharing = Sharing::of(runs.iter().map(|run| run.sheet));
    one_orifice(runs, &mut told.notices);
    for key in COEFFICIENTS {
        let Some(signal) = Signal::of(runs, key) else {
            let says = format!("no run has a {}: nothing is pooled", name(key));
            let hint = if key == "cv" { "state head.reading" } else { "state a flow" };
            told.notices.push(Notice::new(key, says).hint(hint));
            continue;
        };
        match pool::pool(key, &signal, &sharing, &mut told.notices) {
            Ok((pooled, off)) => {
                pool::tell_outlying(key, &off, &mut told);
                told.pooled.insert(key.to_owned(), pooled);
            }
            Err(reason) => told.notices.push(Notice::new(key, reason)),
        }
    }
    laws::tell(runs, &sharing, &mut told);
    gravest_first(&mut told.notices);
    told
}

/// What a coefficient is called.
fn name(key: &str) -> &'static str {
    match key {
        "cv" => "Cv",
        "cd" => "Cd",
        _ => "Cc",
    }
}

fn row(run: &Run) -> RunRow {
    let f = run.findings;
    RunRow {
        run: run.name.to_owned(),
        sheet: f.sheet.clone(),
        title: f.title.clone(),
        head: f.head.clone(),
        reynolds: f.reynolds.clone(),
        velocity: f.velocity.clone(),
        discharge: f.discharge.clone(),
        cv: f.cv.clone(),
        cd: f.cd.clone(),
        cc: f.cc.clone(),
        off: std::collections::BTreeMap::new(),
        outlying: Vec::new(),
        inputs: f.inputs.clone(),
    }
}

/// The result `key` of findings.
fn result<'a>(findings: &'a Findings, key: &str) -> Option<&'a Found> {
    match key {
        "cv" => findings.cv.as_ref(),
        "cd" => findings.cd.as_ref(),
        "cc" => findings.cc.as_ref(),
        "head" => findings.head.as_ref(),
        "discharge" => findings.discharge.as_ref(),
        _ => None,
    }
}

/// A series is of one orifice: other diameters or edges are told.
fn one_orifice(runs: &[Run], notices: &mut Vec<Notice>) {
    let Some(first) = runs.first() else { return };
    for run in &runs[1..] {
        if run.sheet.diameter.value != first.sheet.diameter.value || run.sheet.edge != first.sheet.edge {
            let says =
                format!("runs {} and {} state different orifices: they are no series of one", first.name, run.name);
            notices.push(Notice::new("orifice", says).doubt().hint("state the orifice once, under [shared]"));
            return;
        }
    }
}
