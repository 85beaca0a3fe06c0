//! The one pipeline: trace (pixels, slow, once), then reduce (numbers, fast, every draw).
//!
//! ```text
//! Checked, Photo --sight--> calibration, centreline --fit--> trajectory
//!      named inputs --reduce--> velocity, Cv, ...  --budget--> Findings
//! ```
//! [`measure`] is the whole of it. Everything that is stated, clicked or assumed enters as a named input of
//! [`reduce::Model`]; the budget moves each by its standard uncertainty through that one function.

pub mod reduce;
pub mod sight;
mod findings;
mod inputs;
mod leftover;
mod paths;
mod results;
mod shape;

pub use findings::{BudgetRow, Findings, Found, StationRow};
pub use inputs::Inputs;
pub use paths::PathPoint;
pub use reduce::{Model, Output};
pub use shape::Fitted;

use crate::notice::Notice;
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
    let mut notices = job.notices.clone();
    let sight = sight::sight(job, &mut notices)?;
    let fitted = shape::fit(job.sheet, &sight, &mut notices)?;
    let inputs = Inputs::new(job.sheet, &sight, &fitted, &mut notices)?;
    let model = Model::new(job.sheet, &sight, &fitted, &inputs);
    results::findings(job, &sight, &fitted, &inputs, &model, notices)
}
