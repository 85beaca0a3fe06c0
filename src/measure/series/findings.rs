//! [`SeriesFindings`]: everything that is shown or exported of a series starts here.

use crate::measure::Found;
use crate::notice::Notice;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What was found from several runs of one orifice.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Default)]
pub struct SeriesFindings {
    /// Version of this format: 1.
    pub format: u32,
    /// The series' file name, without its folder.
    pub series: String,
    /// Its title.
    pub title: String,
    /// The runs, in the series' order.
    pub runs: Vec<RunRow>,
    /// Pooled coefficients: `cv`, `cd`, `cc`.
    pub pooled: BTreeMap<String, Pooled>,
    /// The line of V^2/(2g) against the head.
    pub head_line: Option<HeadLine>,
    /// Exponent of the discharge against the head; 0.5 for a constant Cd.
    pub exponent: Option<Law>,
    /// How each coefficient goes with the head, per 100 mm of it.
    pub trends: BTreeMap<String, Law>,
    /// What the user should know.
    pub notices: Vec<Notice>,
    /// What went in besides the runs: hash of the series, version.
    #[serde(default)]
    pub inputs: BTreeMap<String, String>,
}

/// One run of the series.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunRow {
    /// What it is called.
    pub run: String,
    /// File name of its sheet.
    pub sheet: String,
    /// The sheet's title.
    pub title: String,
    /// Head above the orifice centre.
    pub head: Option<Found>,
    /// Reynolds number of the jet.
    pub reynolds: Option<Found>,
    /// The jet's speed at the vena contracta.
    pub velocity: Option<Found>,
    /// Discharge.
    pub discharge: Option<Found>,
    /// Coefficient of velocity.
    pub cv: Option<Found>,
    /// Coefficient of discharge.
    pub cd: Option<Found>,
    /// Coefficient of contraction.
    pub cc: Option<Found>,
    /// How far each coefficient lies from what the other runs give, in standard uncertainties of that difference.
    pub off: BTreeMap<String, f64>,
    /// Coefficients in which it is outlying.
    pub outlying: Vec<String>,
    /// What went into its findings: hashes of photo and sheet, version, seed.
    #[serde(default)]
    pub inputs: BTreeMap<String, String>,
}

/// A coefficient pooled over runs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pooled {
    /// The pooled value.
    #[serde(flatten)]
    pub found: Found,
    /// Runs that have the coefficient, by their places in [`SeriesFindings::runs`] from 0.
    pub runs: Vec<usize>,
    /// Weight of each of them; they sum to 1, and none is negative.
    pub weights: Vec<f64>,
    /// Whether the runs agree within their uncertainties; `None` for one run.
    pub test: Option<Test>,
    /// Standard deviation between runs beyond their uncertainties, included in `u`; 0 where they agree.
    pub between_runs: f64,
    /// What the pooled variance comes from, largest first.
    pub budget: Vec<InputShare>,
}

/// A chi-squared test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Test {
    /// Sum of squares left over, weighted by the inverse covariance.
    pub chi2: f64,
    /// Degrees of freedom.
    pub dof: usize,
    /// Probability that chance leaves more over.
    pub probability: f64,
}

/// Share of one input in a pooled variance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct InputShare {
    /// The input's name: `orifice.diameter`.
    pub input: String,
    /// Share of the variance; correlations between runs can make one negative.
    pub share: f64,
    /// Whether at least two runs share the input, so that more runs do not average it out.
    pub shared: bool,
}

/// V^2/(2g) = Cv^2 (H + h0) fitted to the runs: the line of V^2 against H, divided by 2g so that gravity, which all runs
/// share, drops out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeadLine {
    /// Slope, Cv^2.
    pub slope: Found,
    /// Cv from the slope: independent of a datum error of the head.
    pub cv: Found,
    /// h0: what must be added to the heads as read so that V^2 is proportional to them, mm.
    pub datum_error: Found,
    /// Whether the line holds; `None` for two runs.
    pub test: Option<Test>,
    /// Whether h0 differs from 0 at 95 %.
    pub significant: bool,
}

/// One number of a law in the head.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Law {
    /// The number.
    #[serde(flatten)]
    pub found: Found,
    /// The number that no law would give: 0.5 for the exponent, 0 for a trend.
    pub expected: f64,
    /// The fitted line at zero: a coefficient at no head; for the exponent, ln of the discharge in L/s at 1 mm of head.
    #[serde(default)]
    pub at_zero: f64,
    /// Whether `expected` lies outside the 95 % interval.
    pub significant: bool,
    /// Whether the law holds; `None` for two runs.
    pub test: Option<Test>,
}
