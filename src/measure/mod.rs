//! The one pipeline: trace (pixels, slow, once), then reduce (numbers, fast, every draw).
//!
//! ```text
//! Checked, Photo --sight--> calibration, centreline --fit--> trajectory
//!      named inputs --reduce--> velocity, Cv, ...  --budget--> Findings
//! ```
//! [`measure`] is the whole of it. Everything that is stated, clicked or assumed enters as a named input of
//! [`reduce::Model`]; the budget moves each by its standard uncertainty through that one function.

mod burst;
mod card;
mod dry;
pub mod reduce;
pub mod sight;
pub mod series;
mod advice;
mod corrections;
mod coverage;
mod draws;
mod findings;
mod inputs;
mod leftover;
mod published;
mod owned;
mod paths;
mod results;
mod rulers;
mod shape;
mod simulated;
mod single_point;

pub use burst::Burst;
pub use corrections::Effect;
pub use draws::Draws;
pub use findings::{
    BudgetRow, CardMarkRow, CardRow, CauseRow, CorrectionRow, DrawnRow, Findings, Found, MonteCarloTable, PublishedRow,
    RulerRow, SinglePointView, StationRow,
};
pub use inputs::Inputs;
pub use paths::PathPoint;
pub use reduce::{Model, Output};
pub use rulers::RulerRead;
pub use shape::Fitted;

use crate::notice::{Notice, gravest_first};
use crate::photo::Photo;
use crate::sheet::Checked;
use std::collections::BTreeMap;

/// All that one measurement works from.
#[derive(Clone, Debug)]
pub struct Job<'a> {
    /// The sheet's file name, without its folder.
    pub sheet_name: &'a str,
    /// The sheet, checked.
    pub sheet: &'a Checked,
    /// Its photos, in the sheet's order; at least one.
    pub photos: &'a [Photo],
    /// The dry photo.
    pub dry: Option<&'a Photo>,
    /// Notices that arose so far.
    pub notices: Vec<Notice>,
    /// What went in, as the findings tell it: hashes, version.
    pub inputs: BTreeMap<String, String>,
    /// Seed of everything that is drawn.
    pub seed: u64,
    /// How many draws a Monte Carlo makes, if any.
    pub draws: Draws,
}

/// Why nothing could be measured: every reason at once.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", .reasons.iter().map(|r| format!("{}: {}", r.about, r.says)).collect::<Vec<_>>().join("\n"))]
pub struct Refused {
    /// The reasons, as notices: which field, what, what to do.
    pub reasons: Vec<Notice>,
}

impl Refused {
    pub(crate) fn because(about: &str, says: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { reasons: vec![Notice::new(about, says).hint(hint)] }
    }
}

/// Measures one sheet: calibration, centreline, trajectory, coefficients, budget.
///
/// # Errors
/// [`Refused`] where the sheet and the photo do not bear a velocity: marks outside the photo, marks that no camera
/// sees so, no stream, too few stations, a path that does not fall.
pub fn measure(job: &Job) -> Result<Findings, Refused> {
    reduce_seen(job, &see(job)?)
}

/// What the photos gave, with what there was to say until then: the slow half, kept while numbers of the sheet change.
#[derive(Clone, Debug)]
pub struct Seen {
    /// Calibration and centreline.
    pub sight: sight::Sight,
    /// The job's notices and those of the calibration and the trace.
    pub notices: Vec<Notice>,
}

/// The pixel half of [`measure`].
///
/// # Errors
/// [`Refused`] for marks outside the photo or that no camera sees so, and where there is no stream.
pub fn see(job: &Job) -> Result<Seen, Refused> {
    let mut notices = job.notices.clone();
    let sight = sight::sight(job, &mut notices)?;
    Ok(Seen { sight, notices })
}

/// Like [`see`], with what is kept of the job's photo from one level to the next: the same result sooner. `kept` belongs to one
/// photo: another one begins with an empty one.
///
/// # Errors
/// As [`see`].
pub fn see_keeping(job: &Job, kept: &mut sight::Kept) -> Result<Seen, Refused> {
    let mut notices = job.notices.clone();
    let sight = sight::sight_keeping(job, Some(kept), &mut notices)?;
    Ok(Seen { sight, notices })
}

/// Whether the stream that was seen is still the one about it at the job's level: its stations hold then.
pub fn still_there(job: &Job, seen: &Seen, kept: &sight::Kept) -> bool {
    let prospect = sight::prospect_of(job.sheet, &seen.sight);
    kept.ground.as_ref().is_some_and(|ground| {
        ground.suits(prospect.width_px) && crate::jet::still_there(ground, &prospect, &seen.sight.trace)
    })
}

/// The number half of [`measure`], from what was seen before.
///
/// # Errors
/// [`Refused`] for too few stations, or a path that does not fall.
pub fn reduce_seen(job: &Job, seen: &Seen) -> Result<Findings, Refused> {
    let mut notices = seen.notices.clone();
    let fitted = shape::fit(job.sheet, &seen.sight, &mut notices)?;
    let inputs = Inputs::new(job.sheet, &seen.sight, &fitted, &mut notices)?;
    conclude(job, &seen.sight, &fitted, inputs, notices)
}

/// What was seen with the job's marks instead of those it was seen with: the camera anew, the same stations. A preview
/// while a mark moves; the stream itself is looked for again by [`see`].
///
/// # Errors
/// [`Refused`] as [`see`], but for the stream.
pub fn see_again(job: &Job, seen: &Seen) -> Result<Seen, Refused> {
    let mut notices = job.notices.clone();
    let sight = sight::again(job, &seen.sight, &mut notices)?;
    Ok(Seen { sight, notices })
}

/// The number half: corrections, results, budget, draws, and what there is to say about them.
fn conclude(
    job: &Job,
    sight: &sight::Sight,
    fitted: &Fitted,
    mut inputs: Inputs,
    mut notices: Vec<Notice>,
) -> Result<Findings, Refused> {
    let run = corrections::run(job.sheet, fitted, &inputs, &Model::new(job.sheet, sight, fitted, &inputs));
    let offered = corrections::offered(job.sheet, run.as_ref());
    corrections::apply(job.sheet, &offered, &mut inputs, &mut notices);
    let model = Model::new(job.sheet, sight, fitted, &inputs);
    let results = results::Results::of(&inputs, &model)?;
    let mut findings = results::findings(job, sight, fitted, &inputs, &results, notices);
    findings.corrections = corrections::rows(job.sheet, &offered, &findings);
    corrections::record(&offered, &mut findings);
    findings.published = published::rows(job.sheet, &findings);
    findings.single_point = single_point::view(job.sheet, fitted, run.as_ref(), &mut findings);
    advice::give(job.sheet, fitted, &results, &mut findings);
    findings.monte_carlo = draws::table(job, &inputs, &model, &results, &mut findings.notices);
    gravest_first(&mut findings.notices);
    Ok(findings)
}
