//! [`Findings`]: everything that is shown or exported starts here.

use super::PathPoint;
use crate::notice::Notice;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What was found from one sheet: the one value that table, JSON, CSV, report and window start from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Default, JsonSchema)]
pub struct Findings {
    /// Version of this format: 1.
    pub format: u32,
    /// The sheet's file name, without its folder.
    pub sheet: String,
    /// The sheet's title.
    #[serde(default)]
    pub title: String,
    /// The jet's speed at the vena contracta.
    pub velocity: Option<Found>,
    /// Launch angle at the vena contracta, upwards positive.
    pub launch_angle: Option<Found>,
    /// Coefficient of velocity.
    pub cv: Option<Found>,
    /// Coefficient of discharge.
    pub cd: Option<Found>,
    /// Coefficient of contraction.
    pub cc: Option<Found>,
    /// Coefficient of loss, 1/Cv^2 - 1.
    pub k: Option<Found>,
    /// Ideal velocity, sqrt(2 g H) (with the velocity of approach where an area is stated).
    pub ideal_velocity: Option<Found>,
    /// Head above the orifice centre.
    pub head: Option<Found>,
    /// Discharge.
    pub discharge: Option<Found>,
    /// Reynolds number of the jet.
    pub reynolds: Option<Found>,
    /// Weber number of the jet.
    pub weber: Option<Found>,
    /// Head lost.
    pub head_lost: Option<Found>,
    /// Power of the jet.
    pub jet_power: Option<Found>,
    /// Width of the stream at the vena contracta, from the photo.
    #[serde(default)]
    pub stream_width: Option<Found>,
    /// Coefficient of contraction from that width, an independent check of `cc`.
    #[serde(default)]
    pub cc_from_width: Option<Found>,
    /// Share of the head's energy that the jet carries, Cv^2.
    #[serde(default)]
    pub efficiency: Option<Found>,
    /// Froude number of the jet on its diameter, V / sqrt(g d).
    #[serde(default)]
    pub froude: Option<Found>,
    /// Head over orifice diameter.
    #[serde(default)]
    pub head_to_diameter: Option<Found>,
    /// Second-order corrections: what each would make of the result, or has made of it.
    #[serde(default)]
    pub corrections: Vec<CorrectionRow>,
    /// Published values for this kind of orifice beside the result.
    #[serde(default)]
    pub published: Vec<PublishedRow>,
    /// Whether the velocity is the same from every station, and what would explain it if not.
    #[serde(default)]
    pub single_point: Option<SinglePointView>,
    /// The results again by Monte Carlo, where it was asked for.
    #[serde(default)]
    pub monte_carlo: Option<MonteCarloTable>,
    /// The rulers whose graduation was read in the photo.
    #[serde(default)]
    pub rulers: Vec<RulerRow>,
    /// The scale card and the marks of it that were used, written in the sheet or found while measuring.
    #[serde(default)]
    pub card: Option<CardRow>,
    /// Every station of the centreline, in order from the orifice.
    pub stations: Vec<StationRow>,
    /// The fitted trajectory from the vena contracta to the last station.
    #[serde(default)]
    pub fitted: Vec<PathPoint>,
    /// The path that the ideal velocity would take from the same start; empty where no head is known.
    #[serde(default)]
    pub predicted: Vec<PathPoint>,
    /// Budget of uncertainty for each result, largest share first.
    pub budget: BTreeMap<String, Vec<BudgetRow>>,
    /// What each single input contributes to each result, with its sign (sensitivity times standard uncertainty, in the
    /// result's unit): by result, then by input; a group of marks has one number for each coordinate. It is what keeps the
    /// runs of a series correlated, and is not exported.
    #[serde(skip)]
    pub contributions: BTreeMap<String, BTreeMap<String, Vec<f64>>>,
    /// How well the trajectory fits: `stations used`, `rms`, `effective stations`, `waviness` ... as named numbers with units.
    #[serde(default)]
    pub fit: BTreeMap<String, Found>,
    /// What the user should know.
    pub notices: Vec<Notice>,
    /// What went in: hashes of photo and sheet, version, seed.
    pub inputs: BTreeMap<String, String>,
    /// Why the sheet could not be measured, fault by fault as stderr tells them; then nothing else was found. Only in the
    /// array of many sheets; without the key nothing was refused.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub refused: Vec<String>,
}

impl Findings {
    /// What stands in an array for a sheet that could not be measured.
    pub fn none(sheet: &str, refused: Vec<String>) -> Self {
        Self { format: 1, sheet: sheet.to_owned(), refused, ..Self::default() }
    }
}

/// One result with its standard uncertainty and 95 % coverage interval.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Found {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// Lower end of the 95 % coverage interval.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
    /// The unit; empty for a pure number.
    pub unit: String,
}

/// A scale card in the photo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CardRow {
    /// The paper it is printed on: `A4`, `A3` or `Letter`.
    pub paper: String,
    /// Whether its marks were found in the photo while measuring; else the sheet gives them.
    pub found: bool,
    /// Its marks, in the order of their numbers as a rule.
    pub marks: Vec<CardMarkRow>,
}

/// A mark of a scale card.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CardMarkRow {
    /// Its number on the card.
    pub number: usize,
    /// Where its middle is in the photo, px.
    pub px: [f64; 2],
    /// Standard uncertainty of both coordinates, px.
    pub u_px: f64,
    /// That place less the one where the adjusted camera puts it, px.
    pub off_px: [f64; 2],
}

/// A ruler whose graduation was read in the photo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RulerRow {
    /// Which scale of the sheet, from 1.
    pub scale: usize,
    /// `lines`, or `blocks` of a bar.
    pub kind: String,
    /// From line to line, or the length of a block, as it stands on rulers.
    pub graduation: String,
    /// The same in mm.
    pub graduation_mm: f64,
    /// Divisions between the end marks as the picture counts them.
    pub divisions: f64,
    /// Mean scale between the end marks, px/mm.
    pub px_per_mm: f64,
    /// Change of the scale from the first mark to the last, as a share.
    pub change: f64,
    /// Standard uncertainty of the distance between the end marks, px.
    pub u_px: f64,
    /// How far each mark was clicked from its line, along the ruler, px; what all have in common is left out.
    pub off_px: Vec<f64>,
}

/// One station of the stream's centreline.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StationRow {
    /// Where it is in the photo.
    pub px: [f64; 2],
    /// Bench x in mm.
    pub x_mm: f64,
    /// Drop in mm.
    pub y_mm: f64,
    /// Standard uncertainty across the stream, in pixels.
    pub u_px: f64,
    /// Width of the stream in mm.
    pub width_mm: Option<f64>,
    /// Signed distance from the fitted trajectory in mm, positive below it.
    pub off_mm: f64,
    /// Whether the fit used it.
    pub used: bool,
    /// Velocity that this station alone gives, m/s.
    pub velocity: Option<f64>,
    /// Its standard uncertainty, m/s.
    #[serde(default)]
    pub velocity_u: Option<f64>,
    /// Cv that this station alone gives.
    pub cv: Option<f64>,
}

/// One row of a budget of uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BudgetRow {
    /// Name of the input: `scale.length`.
    pub input: String,
    /// Its value as text with unit.
    pub value: String,
    /// Its standard uncertainty as text with unit.
    pub u: String,
    /// Derivative of the result by the input, in result unit per input unit.
    pub sensitivity: f64,
    /// Share of the variance, 0 to 1.
    pub share: f64,
}

/// One second-order correction: what it would make of the result, or, where applied, has made of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct CorrectionRow {
    /// Its word in the sheet: `surface-tension`; or `small-head`, which the sheet cannot apply.
    pub correction: String,
    /// Whether it is in the results.
    pub applied: bool,
    /// The velocity with it.
    pub velocity: Option<Found>,
    /// Cv with it.
    pub cv: Option<Found>,
    /// Cd with it.
    pub cd: Option<Found>,
    /// Relative change of the velocity.
    pub velocity_change: f64,
    /// Standard uncertainty of that change.
    pub velocity_change_u: f64,
    /// Relative change of Cv.
    pub cv_change: f64,
    /// Standard uncertainty of that change.
    pub cv_change_u: f64,
    /// Relative change of Cd.
    pub cd_change: f64,
    /// Standard uncertainty of that change.
    pub cd_change_u: f64,
}

/// One published value beside the result.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PublishedRow {
    /// Which coefficient: `cv`, `cd`, `cc`.
    pub what: String,
    /// Who found it.
    pub by: String,
    /// The text it was read in, with its edition.
    pub source: String,
    /// Section, table or equation there.
    pub place: String,
    /// `experiment` or `theory`.
    pub basis: String,
    /// For what it holds.
    pub range: String,
    /// Its value under this run's conditions; `None` where it does not apply.
    pub value: Option<f64>,
    /// Its standard uncertainty; 0 for theory.
    pub u: f64,
    /// The result less the value, over their combined standard uncertainty.
    pub difference_in_u: Option<f64>,
    /// Why it does not apply.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub why_not: Option<String>,
}

/// Drift of the velocities that single stations give.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SinglePointView {
    /// Launch angle that the stations were read with, in degrees; their origin is the marked orifice.
    pub launch_deg: f64,
    /// Relative rise from the first station to the last.
    pub rise: f64,
    /// Its standard uncertainty from the stations' own scatter.
    pub rise_u: f64,
    /// First and last station, bench x in mm from the vena contracta.
    pub x_mm: [f64; 2],
    /// Whether it stands out of that scatter.
    pub significant: bool,
    /// Possible causes, the likeliest first.
    pub causes: Vec<CauseRow>,
}

/// A possible cause of a drift with the size that would explain it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct CauseRow {
    /// `launch`, `vertical`, `origin along`, `origin height`, `lens`, `air drag`, `surface tension`.
    pub cause: String,
    /// The cause with its size in words.
    pub says: String,
    /// Share of the variation that it explains, 0 to 1.
    pub explains: f64,
    /// Whether a size like this can be.
    pub can_be: bool,
}

/// Results by Monte Carlo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MonteCarloTable {
    /// Draws made.
    pub draws: usize,
    /// Draws that gave no result.
    pub refused: usize,
    /// Names the random numbers: the same seed gives the same table.
    pub seed: u64,
    /// Whether two digits of every standard uncertainty were stable when the draws ended.
    pub stable: bool,
    /// One row for each result, by its key.
    pub results: BTreeMap<String, DrawnRow>,
}

/// One result by Monte Carlo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DrawnRow {
    /// Mean of the draws.
    pub mean: f64,
    /// Their standard deviation; `None` where an input of two or fewer degrees of freedom leaves it without a limit.
    pub u: Option<f64>,
    /// Lower end of the 95 % interval, 2.5 % of the draws below it.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
    /// Unit of all of them.
    pub unit: String,
    /// `u` over what the linear budget leads to expect (its u, with Student's t as wide as it is).
    pub u_over_linear: Option<f64>,
    /// `agrees`, `differs` or `unsettled` (JCGM 101:2008, clause 8, to one digit of u).
    pub verdict: String,
    /// The same in words.
    pub says: String,
}
